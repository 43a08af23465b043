// SPDX-License-Identifier: Apache-2.0
// Radii and the smallest radius in one go from straight ahead, for many soils: coarser and some five times as fast as turns_on_soil and smallest_turn, whose way it goes.
#pragma once

#include <vector>

#include "performance/turn_on_soil.hpp"

namespace hardpan::performance::detail {

struct TurnScan {
  std::vector<TurnState> states;       // in the order asked; where the way ends before a radius, why it did
  double goes_m = 0;                   // smallest that goes, to 0.3 deg of bearing (3 % of a radius of five wheelbases); infinite: not even straight ahead
  TurnLimit limit = TurnLimit::none;   // none: goes on the spot
};
// Of a way that ended nothing is looked for beyond its end but, with skid steering, turning on the spot.
[[nodiscard]] TurnScan scan_turns(const TurningMachine& machine, const TurnCase& turn, const std::vector<double>& radii_m);

}  // namespace hardpan::performance::detail
