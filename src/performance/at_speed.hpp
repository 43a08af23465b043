// SPDX-License-Identifier: Apache-2.0
// What a vehicle does on possible soils while it drives at a stated speed.
//
// The wheel model has no speed in it; the drives have: at speed v a wheel of slip s turns at v / (r (1 - s)), which its drive must reach, and its torque times that may not exceed
// the peak power. Gradients at a speed are the steepest that both let, at no more than a slip; below the speed at which either acts they are those of travel.hpp.
// Energy on the level counts idle loads for the time a metre takes. Accuracy: slip to 1e-4 of the slip asked.
//
//   const Outcome g = gradient_at_speed_outcome(placed, 0.2, 3.0);
//   say(g.centre, speed_limited_by(placed, g));
#pragma once

#include "performance/possible_runs.hpp"

namespace hardpan::performance {

// The steepest climb at the speed with slip up to slip_ratio (absent: to the largest over slip). kNoGradient where it is not held even downhill (the drives do not turn
// so fast); negative where power lets it go downhill only.
void gradients_at_speed(std::span<const OnSoil> on, std::optional<double> slip_ratio, double speed_m_s, std::span<Gradient> out, Workspace& space);

[[nodiscard]] Outcome gradient_at_speed_outcome(const Placed& placed, std::optional<double> slip_ratio, double speed_m_s);
// J/m out of the battery on the level; infinite where it does not go, or not so fast. Without a speed: as fast as drives and power allow.
[[nodiscard]] Outcome energy_at_speed_outcome(const Placed& placed, std::optional<double> speed_m_s);

// What limits the best-estimate soil of these, in words: as of travel.hpp, "power" or "speed of the drives" (both are LimitingFactor::power).
[[nodiscard]] std::string speed_limited_by(const Placed& placed, const Outcome& outcome);

// Whether a gradient, or energy on the level, can change with speed: a drive states peak power or a speed limit, or for energy idle loads run.
[[nodiscard]] bool speed_limits_gradient(const vehicle::Vehicle& vehicle);
[[nodiscard]] bool speed_changes_energy(const vehicle::Vehicle& vehicle);

}  // namespace hardpan::performance
