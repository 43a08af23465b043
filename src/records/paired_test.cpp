// SPDX-License-Identifier: Apache-2.0
#include "records/paired.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "math/statistics.hpp"

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

std::vector<OrderedReading> in_order(const std::string& order, const std::vector<double>& values) {
  std::vector<OrderedReading> out;
  for (std::size_t i = 0; i < order.size(); ++i) out.push_back({std::string(1, order[i]), values[i], static_cast<double>(i)});
  return out;
}

// A - B = 3 with a drift of 0.5 a run: 10, 7.5, 8, 11.5. The pairs differ by 2.5 and 3.5; their mean is free of the drift.
TEST(Paired, ASteadyDriftCancelsFromAbba) {
  const auto d = paired_difference(in_order("ABBA", {10, 7.5, 8, 11.5}));
  ASSERT_TRUE(d);
  EXPECT_NEAR(d->difference.value, 3, 1e-12);
  EXPECT_NEAR(*d->drift, 0.5, 1e-12);
  EXPECT_TRUE(d->balanced);
  EXPECT_EQ(d->note, "");
  EXPECT_FALSE(d->difference.average_ground);  // two pairs: no scatter left
}

// By hand, four pairs of A-B-B-A-A-B-B-A: d = 2, 4, 1, 5, s = +, -, +, -. delta = 3, gamma = (1.5 - 4.5) / 2 = -1.5, residuals 0.5, -0.5, -0.5, 0.5: s^2 = 1 / 2,
// t(0.975, 2) = 4.30265: +/- 4.30265 x sqrt(0.5 / 4) = 1.52122.
TEST(Paired, TheIntervalIsStudentsOverPairsWithTheDriftTakenOut) {
  const auto d = paired_difference(in_order("ABBAABBA", {2, 0, 0, 4, 1, 0, 0, 5}));
  ASSERT_TRUE(d && d->difference.average_ground);
  EXPECT_NEAR(d->difference.value, 3, 1e-12);
  EXPECT_NEAR(*d->drift, 1.5, 1e-12);
  EXPECT_NEAR(d->difference.average_ground->hi - 3, 1.52122, 1e-5);
  EXPECT_NEAR(d->difference.next_point->hi - 3, 4.30265 * std::sqrt(0.5 * 1.25), 1e-5);
  EXPECT_EQ(d->difference.n, 4u);
}

TEST(Paired, OrdersThatAreNotBalancedSaySo) {
  const auto always = paired_difference(in_order("ABABAB", {3, 1, 3.5, 1, 4, 1}));
  ASSERT_TRUE(always);
  EXPECT_FALSE(always->balanced || always->drift);
  EXPECT_THAT(always->note, HasSubstr("every pair began with A"));
  EXPECT_NEAR(always->difference.value, 2.5, 1e-12);
  const auto mostly = paired_difference(in_order("ABABBA", {3, 1, 3.5, 1, 1, 4}));
  EXPECT_THAT(mostly->note, HasSubstr("not balanced: 2 began with A, 1 with B"));
  EXPECT_TRUE(mostly->drift);
}

TEST(Paired, RepeatsOfOneAreLeftOverAndGapsMakeNoPairs) {
  const auto d = paired_difference(in_order("AABBBA", {1, 2, 0, 0, 0, 3}));
  EXPECT_EQ(d->pairs, 2u);
  EXPECT_EQ(d->left_over, 2u);
  std::vector<OrderedReading> apart{{"A", 1, 0}, {"B", 2, 100}, {"B", 2, 200}, {"A", 3, 203}};
  const auto near = paired_difference(apart, 0.95, 10);
  EXPECT_EQ(near->pairs, 1u);
  EXPECT_EQ(near->left_over, 2u);
}

TEST(Paired, NothingWithoutTwoKindsOrPairs) {
  EXPECT_FALSE(paired_difference({}));
  EXPECT_FALSE(paired_difference(in_order("AAAA", {1, 2, 3, 4})));
  EXPECT_FALSE(paired_difference(in_order("ABCA", {1, 2, 3, 4})));
  EXPECT_FALSE(paired_difference({{"A", std::nan(""), 0}, {"B", 1, 1}}));
}

// Whatever the difference, the drift and the number of A-B-B-A blocks: both come back.
RC_GTEST_PROP(Paired, DifferenceAndDriftComeBack, (int a, int b, unsigned char blocks)) {
  const double delta = a % 1000 / 10.0, drift = b % 1000 / 100.0;
  const std::size_t n = 1 + blocks % 8;
  std::vector<OrderedReading> readings;
  for (std::size_t i = 0; i < 4 * n; ++i) {
    const bool is_a = i % 4 == 0 || i % 4 == 3;
    readings.push_back({is_a ? "A" : "B", 50 + (is_a ? delta : 0) + drift * static_cast<double>(i), static_cast<double>(i)});
  }
  const auto d = paired_difference(readings);
  RC_ASSERT(d && d->balanced && d->left_over == 0 && d->pairs == 2 * n);
  RC_ASSERT(std::abs(d->difference.value - delta) < 1e-9);
  RC_ASSERT(std::abs(*d->drift - drift) < 1e-9);
}

}  // namespace
}  // namespace hardpan::records
