// SPDX-License-Identifier: Apache-2.0
// A quantity with what is known about it: a value and central intervals of two named kinds.
//
// average_ground: where the mean over the ground lies. next_point: where the next place met lies.
// An interval that could not be computed is absent and the status says why; it is never guessed.
// For samples themselves use draws.hpp.
//
//   Estimate e = estimate_from_draws(n_fit, average_draws, next_draws, {.n = 8});
//   if (e.next_point) judge(*e.next_point); else say(e.status);
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace hardpan::math {

inline constexpr double kIntervalLevel = 0.95;  // every central interval unless said otherwise
inline constexpr const char* kStatusOk = "ok";

struct Interval {
  double lo = std::numeric_limits<double>::quiet_NaN();
  double hi = std::numeric_limits<double>::quiet_NaN();

  [[nodiscard]] bool contains(double x) const { return lo <= x && x <= hi; }
  [[nodiscard]] double width() const { return hi - lo; }
  bool operator==(const Interval&) const = default;
};

struct Estimate {
  double value = std::numeric_limits<double>::quiet_NaN();
  std::optional<Interval> average_ground;
  std::optional<Interval> next_point;
  double level = kIntervalLevel;  // probability inside each interval
  std::size_t n = 0;              // independent points (or runs) behind it, never readings
  std::string status;             // "ok", or what is missing and why: "no interval: one point"

  bool operator==(const Estimate&) const = default;
};

struct EstimateSettings {
  double level = kIntervalLevel;  // in (0, 1)
  std::size_t n = 0;              // goes to Estimate::n
};

// A value alone; `reason` completes "no interval: ".
[[nodiscard]] Estimate estimate_without_interval(double value, std::string_view reason, std::size_t n = 0);

// Central intervals from draws of the average ground and of the next point; either may be empty
// (that interval is then absent). Draws that are not finite numbers are left out of an interval and counted in the
// status; fewer than 20 finite draws give no interval, because a 2.5 % tail then rests on none.
[[nodiscard]] Estimate estimate_from_draws(double value, std::span<const double> average_ground,
                                           std::span<const double> next_point,
                                           const EstimateSettings& settings = {});

// Student intervals of a sample of n values, one a point: mean +/- t s / sqrt(n) for the average
// ground, mean +/- t s sqrt(1 + 1/n) for the next point, t with n - 1 degrees of freedom. Holds for
// values scattered normally and independently; n = 1 gives no interval, nor do values that are all equal: what they were read
// to hides their spread, and an interval of no width would claim certainty.
[[nodiscard]] Estimate estimate_from_points(std::span<const double> values, double level = kIntervalLevel);

}  // namespace hardpan::math
