// SPDX-License-Identifier: Apache-2.0
// To which side a vehicle tips and what falls, in the words of text and report alike.
#pragma once

#include <cmath>
#include <string>

#include "performance/tip_over.hpp"

namespace hardpan::campaign {

// "to the left: trailer first". The edge of several bodies is that of the body that falls, as its joints turn it: where that does not point downhill
// ("forward" with the tail downhill) it is left out. `body`: what falls, empty for the whole vehicle.
[[nodiscard]] inline std::string tips_to(performance::TipEdge about, double fall_rad, const std::string& body) {
  using performance::TipEdge;
  if (body.empty()) return performance::name(about);
  const double ahead = about == TipEdge::forward ? 1 : about == TipEdge::rearward ? -1 : 0, left = about == TipEdge::left ? 1 : about == TipEdge::right ? -1 : 0;
  const bool downhill = ahead * std::cos(fall_rad) + left * std::sin(fall_rad) > 1e-9;
  return downhill || about == TipEdge::none ? performance::name(about) + (": " + body) : body;
}

}  // namespace hardpan::campaign
