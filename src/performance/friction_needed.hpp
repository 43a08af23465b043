// SPDX-License-Identifier: Apache-2.0
// The least friction coefficient with which a vehicle gets over an obstacle, its torque limits counted: what a requirement holds against the friction there.
//
// A crossing tells the friction that its poses need with drives of any torque (crossing.hpp). Where the drives give too little at that friction, more of it lets the axles share
// the torque otherwise: the least with which the whole crossing passes is looked for up to kMostFriction. Best split of torque, descents held.
// Accuracy: that of the crossing; 1e-4 where torque decides.
//
//   const FrictionNeeded n = friction_needed(v, Profile::step(0.14));
//   if (std::isfinite(n.friction)) use(there - n.friction);
//   else say(name(*n.stopped_by));
#pragma once

#include <limits>
#include <optional>

#include "base/solve.hpp"
#include "performance/crossing.hpp"

namespace hardpan::performance {

inline constexpr double kMostFriction = 2;   // as friction may be stated

struct FrictionNeeded {
  double friction = std::numeric_limits<double>::quiet_NaN();  // infinite: none looked for would do
  std::optional<Obstruction> stopped_by;       // with less: friction or torque; where none would do, why. Absent: over without friction
  base::SolveReport solve;                     // of the first crossing without a verdict; the friction is then NaN
};
[[nodiscard]] FrictionNeeded friction_needed(const ProfileVehicle& vehicle, const Profile& profile);

// For a vertical step up, or a slot without ground within reach, of every size up to this one [m]: a smaller one may be the harder. Sixteen sizes are looked at, as limits are.
[[nodiscard]] FrictionNeeded friction_needed_for_steps(const ProfileVehicle& vehicle, double up_to_m);
[[nodiscard]] FrictionNeeded friction_needed_for_gaps(const ProfileVehicle& vehicle, double up_to_m);

}  // namespace hardpan::performance
