// SPDX-License-Identifier: Apache-2.0
#include "records/drift.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "math/random.hpp"
#include "records/advice.hpp"
#include "records/ground_test_campaign.hpp"

namespace hardpan::records {
namespace {

std::vector<ReferenceReading> day(double slope_per_h, double step_after_3h, std::uint64_t seed) {
  const math::Stream noise(seed, 1);
  std::vector<ReferenceReading> out;
  std::size_t i = 0;
  for (const double hour : {0.0, 1.5, 3.0, 4.5, 6.0, 7.5}) {
    for (const double width : {0.05, 0.10}) {
      const double level = 11 + (width > 0.07 ? -0.2 : 0) + slope_per_h * hour + (hour > 3.5 ? step_after_3h : 0) +
                           0.02 * noise.normal(i++);
      out.push_back({"t", hour * 3600, level, width});
    }
  }
  return out;
}

TEST(Drift, TrendOverTheScatterOfRepeatsIsShownWithItsInterval) {
  const Drift drift = find_drift(day(0.03, 0, 1));
  EXPECT_EQ(drift.verdict, DriftVerdict::trend) << drift.statement;
  ASSERT_TRUE(drift.slope_per_hour);
  EXPECT_TRUE(drift.slope_per_hour->average_ground->contains(0.03)) << drift.statement;
}

TEST(Drift, SteadyGroundIsCalledDriftingNoMoreOftenThanChance) {
  int wrong = 0;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    const DriftVerdict verdict = find_drift(day(0, 0, seed)).verdict;
    wrong += verdict != DriftVerdict::none_shown;
  }
  // Two tests at 5 % each, one of them held down by Bonferroni: not more than 10 %, plus 3 standard errors.
  EXPECT_LE(wrong, 33);
}

TEST(Drift, StepBetweenMorningAndAfternoonSplitsTheDay) {
  int steps = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const Drift drift = find_drift(day(0, 0.25, seed));
    if (drift.verdict != DriftVerdict::step) continue;
    ++steps;
    EXPECT_NEAR(*drift.split_clock_s / 3600, 3.75, 0.01);
  }
  EXPECT_GE(steps, 18);
}

TEST(Drift, TwoVisitsCannotTellATrendFromScatter) {
  const Drift drift = find_drift({{"a", 0, 11, 0.05}, {"b", 3600, 11.1, 0.05}});
  EXPECT_EQ(drift.verdict, DriftVerdict::not_judged);
  EXPECT_EQ(find_drift({}).verdict, DriftVerdict::no_reference);
}

TEST(Drift, ReductionTakesTheTrendOffThePushesOfTheZone) {
  // A campaign over ten hours in which pressure falls by 4 % an hour at every point.
  GroundRecords records =
      testing::simulate({.sd_level = 0, .sd_contrast = 0, .sd_n = 0, .push = 0.01}, {.points = 10, .shears = false});
  for (std::size_t i = 0; i < records.plates.size(); ++i) {
    PlateTest& test = records.plates[i];
    const double hour = static_cast<double>(i / 2);
    test.source.clock_s = hour * 3600;
    if (i / 2 % 3 == 0) test.source.point = "reference";
    for (double& f : test.load_n) f *= std::exp(-0.04 * hour);
  }
  records.reference_point = "reference";
  base::Problems problems;
  const GroundResult with = reduce_ground(records, {}, problems),
                     without = reduce_ground(records, {.correct_drift = false}, problems);
  EXPECT_EQ(with.drift.verdict, DriftVerdict::trend) << with.drift.statement;
  EXPECT_TRUE(with.drift.corrected);
  EXPECT_NEAR(with.drift.slope_per_hour->value, -0.04, 0.01);
  EXPECT_LT(with.zones[0].plates->between_points[0][0], 0.2 * without.zones[0].plates->between_points[0][0]);
}

TEST(Operators, PairedAtPointsTheyAreComparedByRatio) {
  std::vector<OperatorReading> readings;
  const math::Stream noise(2, 1);
  for (std::size_t g = 0; g < 6; ++g) {
    const std::string point = "P" + std::to_string(g);
    const double level = 10 + 0.3 * noise.normal(3 * g);
    readings.push_back({"A", point, level + 0.02 * noise.normal(3 * g + 1), 0.05});
    readings.push_back({"B", point, level + std::log(1.15) + 0.02 * noise.normal(3 * g + 2), 0.05});
  }
  const std::vector<OperatorPair> pairs = compare_operators(readings);
  ASSERT_EQ(pairs.size(), 1u);
  EXPECT_EQ(pairs[0].pairs, 6u);
  EXPECT_NEAR(pairs[0].ratio->value, 1.15, 0.04);
  EXPECT_NE(pairs[0].statement.find("A and B differ"), std::string::npos) << pairs[0].statement;
}

TEST(Operators, WithoutACommonPointTheyCannotBeCompared) {
  const auto pairs = compare_operators({{"A", "P1", 10, 0.05}, {"B", "P2", 10.5, 0.05}});
  ASSERT_EQ(pairs.size(), 1u);
  EXPECT_FALSE(pairs[0].ratio);
  EXPECT_NE(pairs[0].statement.find("cannot be compared"), std::string::npos);
}

// t(G-1)/sqrt(G) by the printed table of Student's t: 2.776 for 4, 2.262 for 9 degrees of freedom.
TEST(Advice, HalfWidthScalesWithStudentOverRootOfPoints) {
  EXPECT_NEAR(half_width(0.2, 0, 5, 1), 2.776 * 0.2 / std::sqrt(5.0), 1e-4);
  EXPECT_NEAR(half_width(0.2, 0, 10, 1), 2.262 * 0.2 / std::sqrt(10.0), 1e-4);
  EXPECT_TRUE(std::isinf(half_width(0.2, 0, 1, 1)));
}

TEST(Advice, InstrumentFloorIsNamedWhereMorePointsCannotHelp) {
  const Advice advice =
      advise({.quantity = "p", .value = 1, .point_sd = 0.2, .instrument_sd = 0.06, .have = 5, .target_relative = 0.10});
  EXPECT_FALSE(advice.more_for_target);
  EXPECT_NEAR(advice.floor_relative, 1.96 * 0.06, 1e-4);
  EXPECT_NE(advice.statement.find("instrument's calibration"), std::string::npos) << advice.statement;
}

TEST(Advice, PointsAskedForReachTheTargetAndOneLessDoesNot) {
  const AdviceInput input{
      .quantity = "p", .value = 1, .point_sd = 0.2, .instrument_sd = 0.02, .have = 5, .target_relative = 0.15};
  const Advice advice = advise(input);
  ASSERT_TRUE(advice.more_for_target);
  EXPECT_LE(half_width(0.2, 0.02, 5 + *advice.more_for_target, 1), 0.15);
  EXPECT_GT(half_width(0.2, 0.02, 5 + *advice.more_for_target - 1, 1), 0.15);
}

}  // namespace
}  // namespace hardpan::records
