// SPDX-License-Identifier: Apache-2.0
// Values that stand for "does not travel", so that a lower tail keeps such soils: none of them may be told as a number.
#pragma once

#include "performance/travel.hpp"
#include "validation/finding.hpp"

namespace hardpan::campaign {

// Of a pull coefficient, of the slip on a gradient, of the steepest descent held; of a gradient performance::kNoGradient.
inline constexpr double kNoPull = -1, kSlipOfNoTravel = 1, kNoDescent = 0;
inline constexpr double kAtNoTravel = 1e-9;   // numbers as near as that are meant

// A margin that was counted from there: the needed climb less the stand-in for none.
[[nodiscard]] inline bool margin_from_no_travel(const validation::Finding& f) {
  return f.margin_known && f.requirement.quantity == validation::Quantity::maximum_gradient && f.requirement.threshold_si + f.margin_si <= performance::kNoGradient + kAtNoTravel;
}

}  // namespace hardpan::campaign
