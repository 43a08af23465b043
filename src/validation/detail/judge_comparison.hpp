// SPDX-License-Identifier: Apache-2.0
// The verdicts on a set of compared readings: bias, coverage, slip bands, shape, and the sentence for the report.
#pragma once

#include <string>
#include <vector>

#include "validation/compare.hpp"

namespace hardpan::validation::detail {

// Measured minus predicted, [reading][possible average soil]; NaN where that soil does not carry the vehicle.
using DrawDifferences = std::vector<std::vector<double>>;

// Fills everything but names, note, readings, without_prediction and set_aside. `by_draw` belongs to the readings in their
// order, or is empty.
void judge_comparison(Comparison& comparison, const DrawDifferences& by_draw);

// Central 95 % by order statistics, so that an infinite value keeps its place in its tail; NaN left out; nothing for
// fewer than 20.
[[nodiscard]] std::optional<math::Interval> central_interval(std::vector<double> values);

// The radius [m] that the slip of the model refers to.
[[nodiscard]] double model_radius(const performance::Placed& placed);

}  // namespace hardpan::validation::detail
