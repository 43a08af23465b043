// SPDX-License-Identifier: Apache-2.0
#include "units/gravity.hpp"

#include <cmath>

#include "base/assertion.hpp"
#include "units/constants.hpp"

namespace hardpan::units {

double normal_gravity_mps2(Angle latitude, double height_m) {
  HARDPAN_ASSERT(std::abs(latitude.deg()) <= 90.0 + 1e-9);
  const double sin2 = latitude.sin() * latitude.sin();
  // Somigliana: g = g_e (1 + k sin^2) / sqrt(1 - e^2 sin^2)
  const double at_ellipsoid = kNormalGravityEquator_mps2 * (1.0 + kNormalGravityFormula * sin2) /
                              std::sqrt(1.0 - kEllipsoidEccentricitySquared * sin2);
  return at_ellipsoid - kFreeAirGradient_per_s2 * height_m;
}

}  // namespace hardpan::units
