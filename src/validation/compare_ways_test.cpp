// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_ways.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::validation {
namespace {

namespace p = performance;
using ::testing::HasSubstr;

template <class Run>
Run one() {
  Run r;
  r.source = {.id = "r", .file = "runs.csv", .zone = "dune"};
  r.conditions = {.vehicle = "dunlin", .weight_n = 4120};
  r.line = 2;
  return r;
}

TripComparison trips(const std::vector<double>& energies_j, const p::Endurance& predicted, std::size_t failed = 0, double weight_n = 4120) {
  std::vector<records::TripRun> runs;
  for (const double e : energies_j) {
    runs.push_back(one<records::TripRun>());
    runs.back().energy_j = e, runs.back().distance_m = 1000;
  }
  for (std::size_t k = 0; k < failed; ++k) {
    runs.push_back(one<records::TripRun>());
    runs.back().outcome = records::TripOutcome::ground, runs.back().distance_m = 400;
  }
  base::Problems problems;
  const auto out = compare_trips(records::reduce_trip_runs(runs, {}, problems), [&](const records::TripRuns&) { return TripTold{.weight_n = weight_n, .endurance = &predicted}; }, units::OutputUnits::si);
  EXPECT_EQ(out.size(), 1u);
  return out.front();
}
p::Endurance predicted(double lo_j, double hi_j, double arrival = 1) {
  p::Endurance e;
  e.energy_j = {.value = 0.5 * (lo_j + hi_j), .next_point = math::Interval{lo_j, hi_j}, .status = "ok"};
  e.time_s = math::estimate_without_interval(1000, "no possible soils");
  e.arrival_ratio = arrival;
  e.draws = 200;
  return e;
}

TEST(CompareTrips, TheMeanOfTheRunsMustMeetThePredictedNextPoint) {
  const TripComparison agrees = trips({100e3, 110e3, 120e3}, predicted(130e3, 160e3));   // 110 +/- 24.8 kJ reaches 134.8
  EXPECT_TRUE(agrees.judged);
  EXPECT_TRUE(agrees.consistent) << agrees.statement;
  const TripComparison beside = trips({100e3, 110e3, 120e3}, predicted(140e3, 160e3));
  EXPECT_FALSE(beside.consistent);
  EXPECT_FALSE(*beside.energy_agrees);
  EXPECT_THAT(beside.statement, HasSubstr("predicted: contradicts"));
  EXPECT_FALSE(trips({150e3}, predicted(130e3, 140e3)).consistent);   // one run stands for itself
}

// 0 of 5 leaves at most 52 % (Clopper and Pearson 1934: 0.5218).
TEST(CompareTrips, TheShareOfSoilsThatArriveMustLieWithinTheLimitsOfTheRuns) {
  const TripComparison never = trips({}, predicted(1, 2, 0.53), 5), half = trips({}, predicted(1, 2, 0.51), 5);
  EXPECT_TRUE(never.judged && half.judged);
  EXPECT_FALSE(never.consistent) << never.statement;
  EXPECT_TRUE(half.consistent) << half.statement;
}

TEST(CompareTrips, AtAnotherWeightOrWithoutAnAnswerNothingIsJudged) {
  EXPECT_THAT(trips({100e3}, predicted(90e3, 110e3), 0, 6000).statement, HasSubstr("69 % of the weight that is predicted"));
  base::Problems problems;
  const auto runs = records::reduce_trip_runs({one<records::TripRun>()}, {}, problems);
  const auto none = compare_trips(runs, [](const records::TripRuns&) { return TripTold{.why_not = "the soil of zone x is not complete", .weight_n = 4120}; }, units::OutputUnits::si).front();
  EXPECT_FALSE(none.judged);
  EXPECT_THAT(none.statement, HasSubstr("the soil of zone x is not complete"));
}

RockComparison rocks(std::size_t stops, double distance_m, RocksTold told) {
  std::vector<records::RockRun> runs;
  for (std::size_t k = 0; k < std::max<std::size_t>(stops, 1); ++k) {
    runs.push_back(one<records::RockRun>());
    runs.back().outcome = stops == 0 ? records::RockOutcome::clear : records::RockOutcome::wheel;
    runs.back().distance_m = distance_m / static_cast<double>(std::max<std::size_t>(stops, 1));
  }
  base::Problems problems;
  told.weight_n = 4120;
  return compare_rocks(records::reduce_rock_runs(runs, {}, problems), [&](const records::RockRuns&) { return told; }, units::OutputUnits::si).front();
}

// Five stops in 100 m leave 1.623 to 11.668 of them (Garwood 1936).
TEST(CompareRocks, ThePredictedRateMustLieWithinThePoissonLimits) {
  EXPECT_TRUE(rocks(5, 100, {.hits_per_m = 0.0164, .wheel_hits_per_m = 0.0164}).consistent);
  EXPECT_FALSE(rocks(5, 100, {.hits_per_m = 0.0160, .wheel_hits_per_m = 0.0160}).consistent);
  EXPECT_TRUE(rocks(5, 100, {.hits_per_m = 0.1160}).consistent);
  EXPECT_FALSE(rocks(5, 100, {.hits_per_m = 0.1170}).consistent);
  EXPECT_TRUE(rocks(5, 100, {.hits_per_m = 0.2, .hits_interval_per_m = math::Interval{0.11, 0.3}}).consistent);   // a map knows its own
  const RockComparison none = rocks(0, 100, {.length_m = 50, .hits_per_m = 0.036});
  EXPECT_NEAR(none.clear_ratio.lo, std::exp(-0.5 * 3.689), 1e-3);
  EXPECT_EQ(none.clear_ratio.hi, 1);
  EXPECT_TRUE(none.consistent);
  EXPECT_THAT(none.statement, HasSubstr("one stop in 27.1 m or more"));   // 100 / 3.689
  EXPECT_FALSE(rocks(0, 100, {.hits_per_m = 0.04}).consistent);
}

RoughTold a_wave() {
  RoughTold t{.weight_n = 4120};
  // A point on a wave: one rigid axle on each side, so that load and acceleration are those of the ground (docs/theory/roughness.md).
  vehicle::Vehicle v;
  v.id = "dunlin";
  v.bodies = {{.mass_kg = 420, .cg_x_m = 0.65, .cg_z_m = 0.5}};
  for (const double x : {0.0, 1.3}) v.axles.push_back({.position_x_m = x, .track_width_m = 1, .wheel = {.radius_m = 0.3, .width_m = 0.2}});
  base::Problems problems;
  const auto model = p::make_ride_vehicle(v, 9.81, {}, {}, problems);
  EXPECT_TRUE(model);
  t.model = *model;
  t.grounds = {p::Wave{.length_m = 26, .amplitude_m = 0.5}};   // far longer than the vehicle
  return t;
}
RoughComparison rough(const std::vector<std::tuple<double, records::RoughOutcome, std::optional<double>>>& runs) {
  std::vector<records::RoughRun> all;
  for (const auto& [speed, outcome, peak] : runs) {
    all.push_back(one<records::RoughRun>());
    all.back().speed_m_per_s = speed, all.back().outcome = outcome, all.back().peak_m_per_s2 = peak;
  }
  base::Problems problems;
  return compare_rough(records::reduce_rough_runs(all, {}, problems), [](const records::RoughRuns&) { return a_wave(); }, units::OutputUnits::si).front();
}

// (lambda / 2 pi) sqrt(g / A) = 26 / 6.283 x sqrt(9.81 / 0.5) = 18.33 m/s for a point; a wheelbase of a twentieth of the wave leaves it within some percent.
TEST(CompareRough, TheSpeedOfLiftingMustLieInTheBracketAndShakingIsTakenOverTheComputed) {
  const double point = 26 / (2 * M_PI) * std::sqrt(9.81 / 0.5);
  const auto held = records::RoughOutcome::held, lifted = records::RoughOutcome::lifted;
  const RoughComparison agrees = rough({{0.8 * point, held, {}}, {1.2 * point, lifted, {}}});
  EXPECT_NEAR(*agrees.predicted_m_per_s, point, 0.1 * point);
  EXPECT_TRUE(agrees.consistent) << agrees.statement;
  const RoughComparison early = rough({{0.4 * point, held, {}}, {0.5 * point, lifted, {}}});
  EXPECT_FALSE(early.consistent);
  EXPECT_THAT(early.statement, HasSubstr("drive slower than computed"));
  EXPECT_THAT(rough({{1.3 * point, held, {}}}).statement, HasSubstr("wheels hold the ground at more"));
  // Of a point the acceleration is A (2 pi v / lambda)^2; the middle of a rigid vehicle follows within the same some percent.
  const double v = 5, peak = 0.5 * std::pow(2 * M_PI * v / 26, 2);
  const RoughComparison shaken = rough({{v, held, 2 * peak}, {v, held, 2.2 * peak}});
  EXPECT_NEAR(shaken.peak_ratio->value, 2.1, 0.15);
  EXPECT_EQ(shaken.peak_ratio->n, 2u);
  EXPECT_FALSE(shaken.rms_ratio);
  ASSERT_EQ(shaken.shaking.size(), 1u);
  EXPECT_NEAR(shaken.shaking[0].predicted_peak_m_per_s2, peak, 0.07 * peak);
}

// A rigid vehicle on a wave so long shakes with the square of its speed: with twice the shaking a bound is passed at 1 / sqrt(2) of the speed.
TEST(CompareRough, TheFactorOfShakingMovesTheSpeedAtWhichABoundIsPassed) {
  RoughTold told = a_wave();
  told.question.shock_m_s2 = 2;
  const auto compared = [&](std::initializer_list<double> factors) {
    std::vector<records::RoughRun> all;
    for (const double f : factors) {
      all.push_back(one<records::RoughRun>());
      all.back().speed_m_per_s = 5;
      all.back().peak_m_per_s2 = f * p::ride_at(told.model, told.grounds[0], told.question, 5).peak_m_s2;
    }
    base::Problems problems;
    return compare_rough(records::reduce_rough_runs(all, {}, problems), [&](const records::RoughRuns&) { return told; }, units::OutputUnits::si).front();
  };
  const RoughComparison as_computed = compared({1.0}), twice = compared({2.0}), scattered = compared({0.9, 1.0, 1.1});
  EXPECT_NEAR(twice.shock_speed_m_per_s->value, as_computed.shock_speed_m_per_s->value / std::sqrt(2), 0.02);
  EXPECT_FALSE(twice.shock_speed_m_per_s->next_point);   // of one run
  // s = 0.1, t(0.975, 2) = 4.303: the next ratio lies within 1 +/- 0.497, the speeds within 1 / sqrt of these.
  EXPECT_NEAR(scattered.shock_speed_m_per_s->next_point->lo, as_computed.shock_speed_m_per_s->value / std::sqrt(1.497), 0.03);
  EXPECT_NEAR(scattered.shock_speed_m_per_s->next_point->hi, as_computed.shock_speed_m_per_s->value / std::sqrt(0.503), 0.06);
  EXPECT_THAT(scattered.statement, HasSubstr("With this factor the shock bound is passed at"));
  EXPECT_FALSE(scattered.ride_speed_m_per_s);
}

TEST(CompareRough, RunsBrokenOffDecideNothing) {
  EXPECT_FALSE(rough({{3, records::RoughOutcome::stopped, {}}}).judged);
}

}  // namespace
}  // namespace hardpan::validation
