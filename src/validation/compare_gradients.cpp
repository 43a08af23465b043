// SPDX-License-Identifier: Apache-2.0
// Slope trials are interval-censored: they bound the limit from one side or both and never give it.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "validation/compare.hpp"

namespace hardpan::validation {
namespace {

constexpr double kDeg = 180 / std::numbers::pi;

// Where the trials leave the limit; infinite on a side without a bound. Where outcomes overlap the limit changes from
// trial to trial, and every value between the lowest no-go and the steepest go was met.
math::Interval where_the_limit_is(const records::AngleBracket& b) {
  constexpr double kFar = std::numeric_limits<double>::infinity();
  if (b.overlap && b.no_go_rad && b.steepest_go_rad) return {*b.no_go_rad, *b.steepest_go_rad};
  // Aborted and sled-limited runs that had climbed count as lower bounds.
  const double lo = std::max(b.go_rad.value_or(-kFar), b.at_least_rad.value_or(-kFar));
  const double hi = b.no_go_rad.value_or(kFar);
  return {std::min(lo, hi), std::max(lo, hi)};
}

GradientComparison compare_one(const performance::Prediction& prediction, const records::SlopeLimits& s) {
  GradientComparison g{.vehicle = s.vehicle, .zone = s.zone, .bracket = s.bracket,
                       .predicted_rad = prediction.gradient_maximum.estimate,
                       .predicted_working_rad = prediction.gradient_working.estimate};
  const records::AngleBracket& b = s.bracket;
  g.bracketed = b.no_go_rad && (b.go_rad || b.overlap);
  g.judged = b.go_rad || b.no_go_rad || b.at_least_rad || b.steepest_go_rad;
  const auto& next = g.predicted_rad.next_point;
  const std::string predicted =
      next ? fmt::format("Predicted largest gradient {:.1f} deg ({:.1f} to {:.1f} at the next point)", g.predicted_rad.value * kDeg,
                         next->lo * kDeg, next->hi * kDeg)
           : fmt::format("Predicted largest gradient {:.1f} deg, without an interval", g.predicted_rad.value * kDeg);
  const char* verdict = "nothing to compare with: no trial bounds the limit";
  const double lo = next ? next->lo : g.predicted_rad.value, hi = next ? next->hi : g.predicted_rad.value;
  if (std::isnan(lo) || std::isnan(hi)) {
    g.judged = false;
    verdict = "nothing to compare with: the prediction has no numerical answer";
  }
  if (g.judged) {
    const math::Interval limit = where_the_limit_is(b);
    g.consistent = lo <= limit.hi && hi >= limit.lo;
    verdict = g.consistent ? "consistent with the trials" : "contradicted by the trials";
  }
  g.statement = fmt::format("{}. {}: {}{}.", s.bracket.text, predicted, verdict,
                            g.judged && !g.bracketed ? ", which bound it from one side only" : "");
  return g;
}

}  // namespace

std::vector<GradientComparison> compare_gradients(const performance::Prediction& prediction,
                                                  const records::DrawbarResult& drawbar) {
  std::vector<GradientComparison> out;
  for (const records::SlopeLimits& s : drawbar.slopes) {
    if (s.vehicle != prediction.vehicle || s.zone != prediction.zone || s.downhill || s.heading_rad) continue;
    out.push_back(compare_one(prediction, s));
  }
  return out;
}

}  // namespace hardpan::validation
