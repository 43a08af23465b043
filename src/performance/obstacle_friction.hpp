// SPDX-License-Identifier: Apache-2.0
// What friction coefficient soft ground gives the wheels of a vehicle at an obstacle that is made of it.
//
// Crossings are judged with one coefficient (crossing.hpp). Here it is the tangent of the steepest slope that the vehicle climbs steadily on this soil with
// drives of any torque, so that a ramp is judged as travel.hpp judges the slope: shearing and slip as the wheels have them, the resistance of their ruts taken off.
// No more than the soil's own tan phi: cohesion acts over the area in touch, which the edge of an obstacle does not give. Not below 0. Neither
// the edge breaking nor a face deforming is in it; a coefficient measured on the obstacle is better. docs/theory/obstacles.md eq. 25.
//
//   const Outcome mu = obstacle_friction_outcome(*placed);
//   say(mu.centre, mu.estimate.next_point);
#pragma once

#include "performance/possible_runs.hpp"

namespace hardpan::performance {

// Coefficient on the best-estimate soil and on every possible one, to about 1e-3 (gradients to 1e-4 rad, slip of their maximum to 0.002).
[[nodiscard]] Outcome obstacle_friction_outcome(const Placed& placed);

}  // namespace hardpan::performance
