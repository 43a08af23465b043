// SPDX-License-Identifier: Apache-2.0
// [Cameron2008] A. C. Cameron, J. B. Gelbach, D. L. Miller, Review of Economics and Statistics 90 (2008)
//   414-427: pairs cluster bootstrap, wild cluster bootstrap.
// [Webb2013] M. D. Webb, Reworking wild bootstrap based inference for clustered errors, Queen's Economics
//   Department working paper 1315, 2013: six-point weights (from memory).
#include "fitting/bootstrap.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "base/assertion.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting {

std::vector<std::size_t> resampled_groups(std::size_t groups, std::uint64_t seed, std::uint64_t replicate) {
  const math::Stream stream(seed, math::stream_id("bootstrap over groups"));
  std::vector<std::size_t> out(groups);
  for (std::size_t g = 0; g < groups; ++g) {
    out[g] = static_cast<std::size_t>(stream.below(replicate * groups + g, groups));
  }
  return out;
}

std::vector<double> wild_factors(std::size_t groups, WildWeights weights, std::uint64_t seed,
                                 std::uint64_t replicate) {
  static const std::array<double, 6> kSixPoint{-std::sqrt(1.5), -1, -std::sqrt(0.5), std::sqrt(0.5), 1, std::sqrt(1.5)};
  const math::Stream stream(seed, math::stream_id("wild bootstrap"));
  std::vector<double> out(groups);
  for (std::size_t g = 0; g < groups; ++g) {
    const std::uint64_t index = replicate * groups + g;
    out[g] = weights == WildWeights::signs ? (stream.below(index, 2) == 0 ? -1.0 : 1.0)
                                           : kSixPoint[stream.below(index, 6)];
  }
  return out;
}

Bootstrap bootstrap_groups(const BootstrapSettings& settings, const GroupStatistic& statistic) {
  const std::size_t groups = settings.groups;
  Bootstrap out{.asked = settings.replicates};
  if (groups < 2) {
    out.status = fmt::format("no bootstrap: {}", groups == 1 ? "one group" : "no groups");
    return out;
  }
  std::vector<std::size_t> all(groups);
  for (std::size_t g = 0; g < groups; ++g) all[g] = g;
  const auto whole = statistic(all);
  if (!whole) {
    out.status = "no bootstrap: the groups taken together give no answer";
    return out;
  }
  for (const double value : *whole) out.parameters.push_back({.value = value});
  for (std::size_t k = 0; k < settings.replicates; ++k) {
    const auto answer = statistic(resampled_groups(groups, settings.seed, k));
    if (!answer) {
      ++out.failed;
      continue;
    }
    HARDPAN_ASSERT(answer->size() == whole->size());
    for (std::size_t j = 0; j < answer->size(); ++j) out.parameters[j].replicates.push_back((*answer)[j]);
  }
  // Replicates that fail are not a random part of all, so a large share spoils the spread.
  if (5 * out.failed > settings.replicates || settings.replicates - out.failed < 2) {
    out.status = fmt::format("no bootstrap errors: {} of {} replicates gave no answer", out.failed, settings.replicates);
    return out;
  }
  const auto count = static_cast<double>(groups);
  const double t = math::student_t_quantile(0.5 + settings.level / 2, count - 1);
  for (BootstrapParameter& p : out.parameters) {
    const double error = std::sqrt(math::variance(p.replicates) * count / (count - 1));
    p.standard_error = error;
    p.interval = math::Interval{p.value - t * error, p.value + t * error};
  }
  out.status = math::kStatusOk;
  return out;
}

}  // namespace hardpan::fitting
