// SPDX-License-Identifier: Apache-2.0
// A polar panel in pixels: direction from the top, turning to the left, distance outward.
#pragma once

#include <functional>
#include <string>

#include "report/detail/figure_plot.hpp"

namespace hardpan::report::detail {

// The drawing of one panel; fill gives the attributes of a filled series.
[[nodiscard]] std::string polar_panel(const Plot& p, std::size_t index, const std::function<std::string(const Look&)>& fill);
// Height [px] that the panel is short of for a circle that can be read.
[[nodiscard]] double polar_lacking(const Plot& p);

}  // namespace hardpan::report::detail
