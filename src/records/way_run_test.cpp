// SPDX-License-Identifier: Apache-2.0
#include "records/way_run.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "math/random.hpp"

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

template <class Run>
Run one(std::size_t line = 2) {
  Run r;
  r.source = {.id = "r", .file = "runs.csv", .zone = "dune"};
  r.conditions = {.vehicle = "dunlin", .weight_n = 4120};
  r.line = line;
  return r;
}

TripRun trip(TripOutcome outcome, double distance_m, std::optional<double> energy_j = {}, std::optional<double> time_s = {}) {
  TripRun r = one<TripRun>();
  r.trip = "far", r.outcome = outcome, r.distance_m = distance_m, r.energy_j = energy_j, r.time_s = time_s;
  return r;
}

// Means and Student intervals by hand: 100, 110, 120 kJ have s = 10 kJ, t(0.975, 2) = 4.303, so 110 +/- 24.84 kJ.
TEST(TripRuns, EnergyAndTimeAreMeansOverTheRunsThatArrived) {
  base::Problems problems;
  const auto groups = reduce_trip_runs({trip(TripOutcome::arrived, 2000, 100e3, 1000), trip(TripOutcome::arrived, 2000, 110e3), trip(TripOutcome::arrived, 2000, 120e3), trip(TripOutcome::battery, 1500, 130e3),
                                        trip(TripOutcome::stopped, 300)}, {}, problems);
  ASSERT_EQ(groups.size(), 1u);
  const TripRuns& g = groups[0];
  EXPECT_EQ(g.arrived, 3u);
  ASSERT_EQ(g.ended.size(), 1u);   // the run broken off is not one
  EXPECT_EQ(g.ended[0], (std::pair{TripOutcome::battery, std::size_t{1}}));
  EXPECT_NEAR(g.energy_j->value, 110e3, 1e-6);
  EXPECT_NEAR(g.energy_j->average_ground->hi - 110e3, 24.84e3, 10);
  EXPECT_EQ(g.time_s->n, 1u);
  EXPECT_FALSE(g.time_s->average_ground);
  EXPECT_THAT(g.text, HasSubstr("3 of 4 runs arrived"));
  // Clopper and Pearson (1934), 3 of 4: 0.1941 to 0.9937.
  EXPECT_NEAR(g.chance_of_arriving->lo, 0.1941, 1e-4);
  EXPECT_NEAR(g.chance_of_arriving->hi, 0.9937, 1e-4);
  EXPECT_TRUE(problems.list().empty());
}

TEST(TripRuns, WhatDiffersIsKeptApartAndARunWithoutAWeightIsRefused) {
  std::vector<TripRun> runs(4, trip(TripOutcome::arrived, 2000));
  runs[1].trip = "near";
  runs[2].conditions.weight_n = 4700;
  runs[3].conditions.weight_n = 0;
  base::Problems problems;
  EXPECT_EQ(reduce_trip_runs(runs, {}, problems).size(), 3u);
  EXPECT_EQ(problems.count(base::Severity::refusal), 1u);
}

RockRun rock(RockOutcome outcome, double distance_m) {
  RockRun r = one<RockRun>();
  r.rocks = "ridge", r.outcome = outcome, r.distance_m = distance_m;
  return r;
}

TEST(RockRuns, EveryRunCountsItsDistanceWhateverEndedIt) {
  base::Problems problems;
  const auto groups = reduce_rock_runs({rock(RockOutcome::clear, 50), rock(RockOutcome::wheel, 30), rock(RockOutcome::body, 12), rock(RockOutcome::stopped, 8)}, {}, problems);
  ASSERT_EQ(groups.size(), 1u);
  EXPECT_EQ(groups[0].distance_m, 100);
  EXPECT_EQ(groups[0].by_wheel, 1u);
  EXPECT_EQ(groups[0].by_body, 1u);
  EXPECT_NEAR(groups[0].stops_per_m.lo, 0.00242, 1e-5);   // Garwood (1936), from memory: seen as 2, a mean of 0.242 to 7.225
  EXPECT_NEAR(groups[0].stops_per_m.hi, 0.07225, 1e-5);
  EXPECT_THAT(groups[0].text, HasSubstr("stopped by a rock 2 times in 4 runs over 100 m"));
}

// Runs end at 50 m or at a rock, which come at random: distance is fixed in advance for no run, and the limits hold the rate at least as often as they say.
TEST(RockRuns, LimitsHoldTheRateOfRunsThatEndAtARockOrAtTheEnd) {
  constexpr int kDays = 2000;
  constexpr double kRate = 1 / 40.0, kLength = 50;
  const math::Stream stream(20261129, math::stream_id("rocks at random"));
  int held = 0;
  std::uint64_t at = 0;
  for (int day = 0; day < kDays; ++day) {
    std::vector<RockRun> runs;
    for (int k = 0; k < 8; ++k) {
      const double clear = -std::log(stream.uniform(at++)) / kRate;
      runs.push_back(clear >= kLength ? rock(RockOutcome::clear, kLength) : rock(RockOutcome::wheel, clear));
    }
    base::Problems problems;
    held += reduce_rock_runs(runs, {}, problems)[0].stops_per_m.contains(kRate) ? 1 : 0;
  }
  // 95 % asked for; three standard deviations of 2,000 days are 1.5 %.
  EXPECT_GE(held, 0.935 * kDays);
}

RoughRun rough(double speed, RoughOutcome outcome, std::optional<double> peak = {}) {
  RoughRun r = one<RoughRun>();
  r.ride = "track", r.speed_m_per_s = speed, r.outcome = outcome, r.peak_m_per_s2 = peak;
  return r;
}

TEST(RoughRuns, SpeedsHeldAndLiftedBracketTheLimitAndShakingIsAMeanBySpeed) {
  base::Problems problems;
  const auto groups = reduce_rough_runs({rough(1.4, RoughOutcome::lifted, 6), rough(1.0, RoughOutcome::held, 3), rough(1.02, RoughOutcome::held, 4), rough(1.2, RoughOutcome::held), rough(1.6, RoughOutcome::stopped)}, {}, problems);
  ASSERT_EQ(groups.size(), 1u);
  EXPECT_EQ(*groups[0].bracket.passed, 1.2);
  EXPECT_EQ(*groups[0].bracket.failed, 1.4);
  EXPECT_EQ(groups[0].text, "speed at which a wheel lifts: between 1.20 m/s (held) and 1.40 m/s (a wheel lifted)");
  ASSERT_EQ(groups[0].shaking.size(), 4u);
  EXPECT_NEAR(groups[0].shaking[0].speed_m_per_s, 1.01, 1e-12);
  EXPECT_EQ(groups[0].shaking[0].runs, 2u);
  EXPECT_NEAR(groups[0].shaking[0].peak_m_per_s2->value, 3.5, 1e-12);
  EXPECT_FALSE(groups[0].shaking[1].peak_m_per_s2);
  EXPECT_EQ(groups[0].shaking[2].lifted, 1u);
}

}  // namespace
}  // namespace hardpan::records
