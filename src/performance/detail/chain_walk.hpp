// SPDX-License-Identifier: Apache-2.0
// The way over a profile of a chain of bodies, or of wheels that flatten. For the module alone.
#pragma once

#include "performance/crossing.hpp"

namespace hardpan::performance::detail {

[[nodiscard]] Crossing cross_chain(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings);

}  // namespace hardpan::performance::detail
