// SPDX-License-Identifier: Apache-2.0
// Gravity of a place on Earth from its latitude and height: the normal gravity of the WGS 84
// ellipsoid, closed formula of Somigliana, less the free-air decrease with height.
// Holds within about 1e-4 of the local value, which rocks and relief disturb; for heights from -500 to
// 9000 m. For other bodies the campaign states the value.
#pragma once

#include "units/angle.hpp"

namespace hardpan::units {

// latitude: geodetic, within +/- 90 deg (asserted).
[[nodiscard]] double normal_gravity_mps2(Angle latitude, double height_m);

}  // namespace hardpan::units
