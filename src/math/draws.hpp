// SPDX-License-Identifier: Apache-2.0
// Joint samples ("draws") of uncertain parameters, stored by column. Draw k of one seed and stream
// is the same numbers whatever the number of draws asked for, so shared ignorance stays shared.
//
// Single random numbers: random.hpp. An interval as a user reads it: estimate.hpp.
//
//   const MultivariateT soil{.names = {"n", "c"}, .location = {...}, .scale = {...}, .dof = points - 1.0};
//   const Draws draws = draw_feasible(soil, seed, stream_id("soil"), 400, is_feasible);
//   if (!draws.ok()) say(draws.status);
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "math/estimate.hpp"

namespace hardpan::math {

// location + L z sqrt(dof / chi-square), L L' = scale: the sampling distribution of estimates whose
// variance was itself estimated. The covariance is scale * dof / (dof - 2) where dof > 2. An
// infinite dof is the normal distribution; dof <= 0 means one point or none: nothing can be drawn.
struct MultivariateT {
  std::vector<std::string> names;
  std::vector<double> location;  // one a name
  std::vector<double> scale;     // row-major; positive semidefinite (zero rows: known exactly)
  double dof = std::numeric_limits<double>::infinity();
};

struct Draws {
  std::vector<std::string> names;
  std::size_t count = 0;
  std::vector<double> values;      // draw k of column j stands at values[j * count + k]
  std::size_t infeasible = 0;      // samples thrown away and drawn again
  std::string status;              // "ok", or why there are no draws

  [[nodiscard]] bool ok() const { return status == kStatusOk; }
  [[nodiscard]] std::span<const double> column(std::size_t j) const;
  // Absent when no column has the name.
  [[nodiscard]] std::optional<std::span<const double>> column(std::string_view name) const;
  // Infeasible samples over all samples.
  [[nodiscard]] double infeasible_share() const;
};

[[nodiscard]] Draws draw(const MultivariateT& distribution, std::uint64_t seed, std::uint64_t stream,
                         std::size_t n);

// Judges one sample, in the order of the names.
using Feasible = std::function<bool(std::span<const double>)>;
inline constexpr std::size_t kMaxTriesPerDraw = 1000;

// Draws again until feasible, at most max_tries times a draw (1 ... 65,536); samples are never moved to the edge
// of the feasible set. One draw that stays infeasible gives no draws at all, with the reason.
[[nodiscard]] Draws draw_feasible(const MultivariateT& distribution, std::uint64_t seed,
                                  std::uint64_t stream, std::size_t n, const Feasible& feasible,
                                  std::size_t max_tries = kMaxTriesPerDraw);

struct DrawSummary {
  std::size_t count = 0;
  std::size_t finite = 0;               // draws that are finite numbers; the rest below is over these
  std::optional<double> mean;           // absent without finite draws
  std::optional<double> standard_deviation;  // absent below two
  std::optional<double> median;
  std::optional<Interval> central;      // absent below kFewestDrawsForInterval
};
inline constexpr std::size_t kFewestDrawsForInterval = 20;

// Central interval: type 7 quantiles at (1 - level) / 2 and (1 + level) / 2.
[[nodiscard]] DrawSummary summarise(std::span<const double> draws, double level = kIntervalLevel);

}  // namespace hardpan::math
