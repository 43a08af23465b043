// SPDX-License-Identifier: Apache-2.0
// Resampling whole groups (points, pushes, runs), because readings inside one group depend on each
// other. Needs several groups: five or more to say anything, ten or more to be trusted; the sandwich
// in fit.hpp says the same faster where the model is nearly linear.
//
//   const Bootstrap b = bootstrap_groups({.groups = points, .replicates = 999, .seed = seed},
//       [&](std::span<const std::size_t> chosen) { return refit(chosen); });
//   if (b.ok()) show(b.parameters[0].interval);
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "math/estimate.hpp"

namespace hardpan::fitting {

// `groups` numbers out of 0 ... groups - 1, with replacement; the same for the same seed and replicate.
[[nodiscard]] std::vector<std::size_t> resampled_groups(std::size_t groups, std::uint64_t seed,
                                                        std::uint64_t replicate);

// One factor a group by which the residuals of a fit are multiplied in the wild cluster bootstrap.
enum class WildWeights {
  signs,    // -1 or 1 (Rademacher): 2^(G - 1) different outcomes
  six_point // +/- sqrt(1/2), 1, sqrt(3/2) (Webb 2013), for fewer than about ten groups
};
[[nodiscard]] std::vector<double> wild_factors(std::size_t groups, WildWeights weights, std::uint64_t seed,
                                               std::uint64_t replicate);

struct BootstrapSettings {
  std::size_t groups = 0;
  std::size_t replicates = 999;
  std::uint64_t seed = 1;
  double level = math::kIntervalLevel;
};
struct BootstrapParameter {
  double value = std::numeric_limits<double>::quiet_NaN();  // from all groups once
  // Standard deviation over replicates times sqrt(G / (G - 1)): resampling G groups sees only
  // (G - 1) / G of their variance (Cameron, Gelbach and Miller 2008).
  std::optional<double> standard_error;
  // value +/- t(G - 1) standard_error. Percentiles of the replicates are far too short for few groups.
  std::optional<math::Interval> interval;
  std::vector<double> replicates;  // of those that gave an answer, in order
};
struct Bootstrap {
  std::vector<BootstrapParameter> parameters;
  std::size_t asked = 0;
  std::size_t failed = 0;  // replicates without an answer, left out and counted
  std::string status;      // "ok", or why there are no errors; more than a fifth failed is a reason

  [[nodiscard]] bool ok() const { return status == math::kStatusOk; }
};

// The estimate from the chosen groups (numbers may repeat); absent when it has none. Always of the same length.
using GroupStatistic = std::function<std::optional<std::vector<double>>(std::span<const std::size_t>)>;
[[nodiscard]] Bootstrap bootstrap_groups(const BootstrapSettings& settings, const GroupStatistic& statistic);

}  // namespace hardpan::fitting
