// SPDX-License-Identifier: Apache-2.0
#include "fitting/bootstrap.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting {
namespace {

TEST(BootstrapGroups, OfAMeanHasTheTextbookStandardErrorAndInterval) {
  // The variance of a resampled mean is (G - 1) / G^2 s^2; corrected by G / (G - 1) it is s^2 / G.
  std::vector<double> x(7);
  math::Stream(9, 9).fill_normal(0, x);
  const auto mean_of = [&](std::span<const std::size_t> chosen) -> std::optional<std::vector<double>> {
    double sum = 0;
    for (const std::size_t g : chosen) sum += x[g];
    return std::vector{sum / static_cast<double>(chosen.size())};
  };
  const Bootstrap b = bootstrap_groups({.groups = 7, .replicates = 20000, .seed = 4}, mean_of);
  ASSERT_TRUE(b.ok()) << b.status;
  const double expected = std::sqrt(math::variance(x) / 7);
  EXPECT_NEAR(*b.parameters[0].standard_error / expected, 1, 0.02);
  const math::Estimate student = math::estimate_from_points(x);
  EXPECT_NEAR(b.parameters[0].interval->lo, student.average_ground->lo, 0.02);
  EXPECT_NEAR(b.parameters[0].interval->hi, student.average_ground->hi, 0.02);
}

TEST(BootstrapGroups, CountsReplicatesWithoutAnswerAndRefusesWhenManyFail) {
  const auto fails_without_group_zero = [](std::span<const std::size_t> chosen) -> std::optional<std::vector<double>> {
    if (std::ranges::find(chosen, 0u) == chosen.end()) return std::nullopt;
    return std::vector{static_cast<double>(chosen[0])};
  };
  // (1 - 1/5)^5 = 33 % of resamples miss one group out of five.
  const Bootstrap b = bootstrap_groups({.groups = 5, .replicates = 1000, .seed = 1}, fails_without_group_zero);
  EXPECT_NEAR(static_cast<double>(b.failed), 328, 60);
  EXPECT_FALSE(b.ok());
  EXPECT_FALSE(b.parameters[0].standard_error);
}

TEST(BootstrapGroups, NeedsTwoGroups) {
  const auto one = [](std::span<const std::size_t>) { return std::optional(std::vector{1.0}); };
  EXPECT_EQ(bootstrap_groups({.groups = 1}, one).status, "no bootstrap: one group");
}

TEST(ResampledGroups, AreTheSameForTheSameSeedAndCoverAllGroups) {
  EXPECT_EQ(resampled_groups(6, 3, 17), resampled_groups(6, 3, 17));
  EXPECT_NE(resampled_groups(6, 3, 17), resampled_groups(6, 3, 18));
  std::set<std::size_t> seen;
  for (std::uint64_t k = 0; k < 20; ++k) {
    for (const std::size_t g : resampled_groups(6, 3, k)) seen.insert(g);
  }
  EXPECT_EQ(seen.size(), 6u);
  EXPECT_EQ(*seen.rbegin(), 5u);
}

TEST(WildFactors, HaveMeanZeroAndVarianceOne) {
  for (const WildWeights weights : {WildWeights::signs, WildWeights::six_point}) {
    std::vector<double> all;
    for (std::uint64_t k = 0; k < 4000; ++k) {
      for (const double f : wild_factors(5, weights, 2, k)) all.push_back(f);
    }
    EXPECT_NEAR(math::mean(all), 0, 0.02);
    EXPECT_NEAR(math::variance(all), 1, 0.02);
    const std::set<double> values(all.begin(), all.end());
    EXPECT_EQ(values.size(), weights == WildWeights::signs ? 2u : 6u);
  }
}

}  // namespace
}  // namespace hardpan::fitting
