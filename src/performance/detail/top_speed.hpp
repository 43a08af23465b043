// SPDX-License-Identifier: Apache-2.0
// What drives let of a state of straight travel, for searches over slip in this module.
#pragma once

#include <span>

#include "performance/travel.hpp"

namespace hardpan::performance {

// Free climbing, each soil at a slip of its own: State::gradient_rad.
void climbs(std::span<const OnSoil> on, std::span<const double> slip_ratio, std::span<State> out, Workspace& space);
// Torque over peak torque, largest of the driven wheels; 0 where no drive states one.
[[nodiscard]] double torque_use(const Machine& machine, const State& state);
// How fast the drives turn the wheels at most, and how fast their peak power lets them; infinite where not stated.
struct TopSpeed {
  double drives_m_s = 0, power_m_s = 0;
};
[[nodiscard]] TopSpeed top_speed(const Machine& machine, const State& state);

}  // namespace hardpan::performance
