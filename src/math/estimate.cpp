// SPDX-License-Identifier: Apache-2.0
#include "math/estimate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "math/draws.hpp"
#include "math/statistics.hpp"

namespace hardpan::math {
namespace {

// Appends to the status when an interval is missing or rests on part of the draws.
std::optional<Interval> interval_of(std::span<const double> draws, double level, const char* kind,
                                    std::string& status) {
  if (draws.empty()) return std::nullopt;
  const DrawSummary summary = summarise(draws, level);
  const auto add = [&status](const std::string& text) {
    status += (status.empty() ? "" : "; ") + text;
  };
  if (!summary.central) {
    add(fmt::format("no interval for the {}: {} of {} draws gave a number", kind, summary.finite,
                    draws.size()));
  } else if (summary.finite < draws.size()) {
    add(fmt::format("interval for the {} over the {} of {} draws that gave a number", kind,
                    summary.finite, draws.size()));
  }
  return summary.central;
}

}  // namespace

Estimate estimate_without_interval(double value, std::string_view reason, std::size_t n) {
  return {.value = value, .n = n, .status = fmt::format("no interval: {}", reason)};
}

Estimate estimate_from_draws(double value, std::span<const double> average_ground,
                             std::span<const double> next_point, const EstimateSettings& settings) {
  HARDPAN_ASSERT(settings.level > 0 && settings.level < 1);
  Estimate out{.value = value, .level = settings.level, .n = settings.n};
  out.average_ground = interval_of(average_ground, settings.level, "average ground", out.status);
  out.next_point = interval_of(next_point, settings.level, "next point", out.status);
  if (average_ground.empty() && next_point.empty()) {
    out.status = "no interval: no draws";
  } else if (out.status.empty()) {
    out.status = kStatusOk;
  }
  return out;
}

Estimate estimate_from_points(std::span<const double> values, double level) {
  HARDPAN_ASSERT(level > 0 && level < 1);
  if (values.empty()) {
    return estimate_without_interval(std::numeric_limits<double>::quiet_NaN(), "no points");
  }
  const double centre = mean(values);
  const std::size_t n = values.size();
  if (!std::isfinite(centre)) {
    return estimate_without_interval(std::numeric_limits<double>::quiet_NaN(),
                                     "a value is not a finite number", n);
  }
  if (n == 1) {
    Estimate out = estimate_without_interval(centre, "one point", 1);
    out.level = level;
    return out;
  }
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  if (*least == *most) {
    Estimate out = estimate_without_interval(centre, std::to_string(n) + " equal values: finer readings would tell their spread", n);
    out.level = level;
    return out;
  }
  const double count = static_cast<double>(n);
  const double s = std::sqrt(variance(values));
  const double t = student_t_quantile(0.5 + level / 2, count - 1);
  const double average = t * s / std::sqrt(count);
  const double next = t * s * std::sqrt(1 + 1 / count);
  return {.value = centre,
          .average_ground = Interval{centre - average, centre + average},
          .next_point = Interval{centre - next, centre + next},
          .level = level,
          .n = n,
          .status = kStatusOk};
}

}  // namespace hardpan::math
