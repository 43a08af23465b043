// SPDX-License-Identifier: Apache-2.0
// Requirements judged by what the campaign's other questions answer, and on a heading, of an invented vehicle on invented sand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "performance/slopes_over_soils.hpp"
#include "performance/test_carrier.hpp"
#include "validation/finding.hpp"

namespace hardpan::validation {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

Requirement required(Quantity quantity, double threshold) {
  Requirement r;
  r.quantity = quantity;
  r.threshold_si = threshold;
  r.vehicle = "carrier";
  return r;
}
vehicle::Vehicle carrier() {
  vehicle::Vehicle v = performance::test::carrier(0.3, 0.2);
  v.bodies[0] = {.mass_kg = 300, .cg_x_m = 0.65, .cg_z_m = 0.5};
  return v;
}
Evidence answered(const vehicle::Vehicle& v, performance::Outcome o, GuardLevel guard = GuardLevel::inside) {
  Answered a{.outcome = std::move(o), .limiting_factor = "stopping", .population = "next points"};
  a.guard = guard;
  return {.vehicle = &v, .answered = a, .gravity_m_s2 = 9.81};
}
// 100 soils of 1.00 to 1.99 m/s.
performance::Outcome hundred_speeds() {
  performance::Outcome o{.centre = 1.5};
  for (int k = 0; k < 100; ++k) {
    o.average.push_back(1.5);
    o.next_point.push_back(1 + 0.01 * k);
  }
  return o;
}

// A bound says what is too fast; that drivers reach it only runs say.
TEST(FindingAnswered, AnUpperBoundIsMetOnlyWhereDriversReachedIt) {
  const vehicle::Vehicle v = carrier();
  const auto verdict = [&](double threshold, std::optional<math::Estimate> reached) {
    Evidence e = answered(v, hundred_speeds());
    e.answered->upper_bound = true;
    e.answered->reached = std::move(reached);
    return judge(required(Quantity::remote_speed, threshold), e).verdict;
  };
  const math::Estimate drove{.value = 0.8, .average_ground = math::Interval{0.7, 0.9}, .n = 3, .status = "ok"};
  EXPECT_EQ(verdict(0.6, drove), Verdict::met);
  EXPECT_EQ(verdict(0.75, drove), Verdict::not_shown);
  EXPECT_EQ(verdict(0.6, std::nullopt), Verdict::not_shown);
  EXPECT_EQ(verdict(0.6, math::estimate_without_interval(0.8, "one operator")), Verdict::not_shown);
  EXPECT_EQ(verdict(1.3, drove), Verdict::not_met);   // not even the bound
}

TEST(FindingAnswered, CountsTheShareOfPossibleSoilsAndTellsTheMarginAtTheRequiredProbability) {
  const vehicle::Vehicle v = carrier();
  const Finding f = judge(required(Quantity::remote_speed, 1.05), answered(v, hundred_speeds()));
  // 95 of 100 reach it; nine in ten reach the tenth lowest: 1.10, by order 0.05 above.
  EXPECT_EQ(f.verdict, Verdict::met);
  EXPECT_NEAR(f.probability.value(), 0.95, 1e-12);
  EXPECT_NEAR(f.margin_si, 0.05, 1e-9);
  EXPECT_EQ(f.limiting_factor, "stopping");
  const Finding too_fast = judge(required(Quantity::remote_speed, 1.3), answered(v, hundred_speeds()));
  EXPECT_EQ(too_fast.verdict, Verdict::not_met);
  EXPECT_NEAR(too_fast.margin_si, -0.2, 1e-9);
}

TEST(FindingAnswered, IsNoPlainGoWhereTheGroundWasNotTestedThatFarOrPullsLess) {
  const vehicle::Vehicle v = carrier();
  const Finding beyond = judge(required(Quantity::trip_distance, 1.05), answered(v, hundred_speeds(), GuardLevel::beyond));
  EXPECT_EQ(beyond.verdict, Verdict::not_shown);
  EXPECT_THAT(beyond.reasons.front(), HasSubstr("more than twice what was tested"));
  Evidence e = answered(v, hundred_speeds());
  e.answered->pulls_less = true;
  const Finding less = judge(required(Quantity::trip_distance, 1.05), e);
  EXPECT_EQ(less.verdict, Verdict::not_shown);
  EXPECT_THAT(less.reasons, Contains(HasSubstr("below the predicted pull")));
}

TEST(FindingAnswered, HoldsATipAngleToAGuardBandOfFivePercent) {
  const vehicle::Vehicle v = carrier();
  const auto of = [&](double needed) { return judge(required(Quantity::tip_angle, needed), answered(v, {.centre = 0.4, .estimate = math::estimate_without_interval(0.4, "file")})); };
  EXPECT_EQ(of(0.37).verdict, Verdict::met);          // 0.03 of margin, 0.02 asked
  EXPECT_NEAR(of(0.37).margin_si, 0.03, 1e-12);
  EXPECT_EQ(of(0.39).verdict, Verdict::not_shown);
  EXPECT_EQ(of(0.43).verdict, Verdict::not_met);
}

// What the vehicle file says of its centre of gravity takes the place of the guard band, wider or narrower.
TEST(FindingAnswered, HoldsATipAngleToItsIntervalWhereItHasOne) {
  const vehicle::Vehicle v = carrier();
  performance::Outcome tips{.centre = 0.4, .estimate = math::estimate_without_interval(0.4, "file")};
  tips.estimate.average_ground = math::Interval{0.35, 0.41};
  const auto of = [&](double needed) { return judge(required(Quantity::tip_angle, needed), answered(v, tips)); };
  EXPECT_EQ(of(0.34).verdict, Verdict::met);
  EXPECT_NEAR(of(0.34).margin_si, 0.01, 1e-12);
  EXPECT_EQ(of(0.37).verdict, Verdict::not_shown);   // met by the guard band
  EXPECT_EQ(of(0.42).verdict, Verdict::not_met);
}

TEST(FindingAnswered, TakesTheIntervalOfAMapAndNoVerdictFromALawWithoutScatter) {
  const vehicle::Vehicle v = carrier();
  performance::Outcome mapped{.centre = 0.8, .estimate = math::estimate_without_interval(0.8, "from the map")};
  mapped.estimate.average_ground = math::Interval{0.6, 0.9};
  EXPECT_EQ(judge(required(Quantity::clear_run, 0.55), answered(v, mapped)).verdict, Verdict::met);
  EXPECT_NEAR(judge(required(Quantity::clear_run, 0.55), answered(v, mapped)).margin_si, 0.05, 1e-12);
  EXPECT_EQ(judge(required(Quantity::clear_run, 0.7), answered(v, mapped)).verdict, Verdict::not_shown);
  EXPECT_EQ(judge(required(Quantity::clear_run, 0.95), answered(v, mapped)).verdict, Verdict::not_met);
  const Finding law = judge(required(Quantity::clear_run, 0.55), answered(v, {.centre = 0.8, .estimate = math::estimate_without_interval(0.8, "law")}));
  EXPECT_EQ(law.verdict, Verdict::not_shown);
  EXPECT_TRUE(law.margin_known);
  EXPECT_FALSE(law.probability);
}

TEST(FindingAnswered, SaysWhyThereIsNoAnswer) {
  const vehicle::Vehicle v = carrier();
  Evidence e = answered(v, {});
  e.answered->why_not = "the corridor is no wider than the vehicle";
  const Finding f = judge(required(Quantity::remote_speed, 1), e);
  EXPECT_EQ(f.verdict, Verdict::not_shown);
  EXPECT_FALSE(f.margin_known);
  EXPECT_THAT(f.reasons, Contains(HasSubstr("no wider than the vehicle")));
  Requirement tried = required(Quantity::remote_speed, 1);
  tried.method = Method::demonstration;
  EXPECT_THAT(judge(tried, e).reasons, Contains(HasSubstr("judged by analysis")));
}

// Across the slope the answer is that of slopes_over_soils, draw by draw, and a slope beyond the working tip limit is not shown however well it grips.
TEST(FindingAnswered, JudgesAHeadingByTheSlopesOfThatHeading) {
  const vehicle::Vehicle v = carrier();
  soil::SoilDistribution d;
  d.centre.bearing = soil::bekker(1.0, 2e3, 1.2e6);
  d.centre.shear = soil::Shear{.cohesion_pa = 800, .tan_phi = 0.65, .shear_modulus_m = 0.018};
  d.bearing_dof = d.shear_dof = 6;
  d.sampling[4][4] = 1e-4;
  d.between_points[4][4] = 1e-3;
  base::Problems problems;
  const auto placed = performance::place_vehicle(v, {.zone = "sand", .centre = d.centre, .distribution = d, .loose = false}, {.gravity_m_s2 = 9.81, .count = 40, .model_form_part = false, .threads = 1}, {}, problems);
  ASSERT_TRUE(placed);
  performance::Prediction prediction;
  prediction.used = {.pressure_pa = {1, 2}, .sinkage_m = {0.01, 0.02}, .normal_stress_pa = {1, 2}, .shear_travel_m = {0.01, 0.02}, .width_m = {0.1, 0.1}, .slip_ratio = 0.2};
  records::ZoneGround ground;
  ground.zone = "sand";
  ground.tested.pressure_pa = ground.tested.normal_stress_pa = math::Interval{0.5, 3};
  ground.tested.sinkage_m = ground.tested.shear_travel_m = math::Interval{0.001, 0.1};
  ground.tested.plate_width_m = math::Interval{0.05, 0.2};
  const Evidence e{.placed = &*placed, .prediction = &prediction, .vehicle = &v, .ground = &ground, .gravity_m_s2 = 9.81};
  const auto slopes = performance::slopes_over_soils(v, *placed, {.headings_rad = {M_PI / 2}}, 40).headings.front();
  const auto& draws = slopes.working.draws_rad;
  ASSERT_EQ(draws.size(), 40U);
  const double low = *std::min_element(draws.begin(), draws.end());
  ASSERT_GT(low, 0.05);
  Requirement r = required(Quantity::gradient_on_heading, low - 0.01);
  r.zone = "sand";
  r.heading_rad = M_PI / 2;
  const Finding f = judge(r, e);
  EXPECT_NEAR(f.value.value, slopes.limit.working.gradient_rad, 1e-12);
  EXPECT_NEAR(f.probability.value(), 1, 1e-12);
  EXPECT_GT(f.margin_si, 0.01 - 1e-9);
  EXPECT_FALSE(f.limiting_factor.empty());
  Requirement steep = r;
  steep.threshold_si = *std::max_element(draws.begin(), draws.end()) + 0.02;
  EXPECT_EQ(judge(steep, e).verdict, Verdict::not_met);
  vehicle::Vehicle tall = v;
  tall.bodies.front().cg_z_m = 2.5;   // tips sideways at 11.3 deg, works to 6.8
  Evidence of_tall = e;
  of_tall.vehicle = &tall;
  Requirement contour = r;
  contour.threshold_si = 0.13;   // 7.4 deg
  const Finding tips = judge(contour, of_tall);
  EXPECT_NE(tips.verdict, Verdict::met);
}

// Straight up a vehicle tips rearward, though it would stand much longer leaning forward: by hand 0.6 atan(0.3 / 1) = 10.0 deg against 27.0.
TEST(FindingAnswered, HoldsAHeadingToTheTipLimitOfItsOwnFallLine) {
  vehicle::Vehicle v = carrier();
  v.bodies.front().cg_x_m = 0.3, v.bodies.front().cg_z_m = 1;
  soil::SoilDistribution d;
  d.centre.bearing = soil::bekker(1.0, 2e3, 5e7);
  d.centre.shear = soil::Shear{.cohesion_pa = 5e4, .tan_phi = 0.9, .shear_modulus_m = 0.005};
  d.bearing_dof = d.shear_dof = 6;
  d.sampling[4][4] = 1e-6;
  d.between_points[4][4] = 1e-6;
  base::Problems problems;
  const auto placed = performance::place_vehicle(v, {.zone = "clay", .centre = d.centre, .distribution = d, .loose = false}, {.gravity_m_s2 = 9.81, .count = 20, .model_form_part = false, .threads = 1}, {}, problems);
  ASSERT_TRUE(placed);
  const performance::Prediction prediction;
  const Evidence e{.placed = &*placed, .prediction = &prediction, .vehicle = &v, .gravity_m_s2 = 9.81};
  Requirement r = required(Quantity::gradient_on_heading, 12 * M_PI / 180);
  r.zone = "clay";
  r.heading_rad = 0;
  const Finding f = judge(r, e);
  EXPECT_GT(f.value.value, r.threshold_si);
  EXPECT_EQ(f.verdict, Verdict::not_shown);
  EXPECT_THAT(f.reasons, Contains(HasSubstr("working tip limit on this heading (10.0 deg)")));
}

WayRuns decided(std::size_t went, std::size_t failed, double share = 0.9) {
  WayRuns runs{.share = share, .at = "2 km", .where = "2 km or further, or ended short of it,"};
  for (std::size_t k = 0; k < went + failed; ++k) runs.decided.push_back({k < went, "records/runs.csv:" + std::to_string(k + 2)});
  return runs;
}

// 0.9^22 = 0.0985: 22 runs without a failure show 90 % with 90 % confidence; of a clear run the share is its threshold, 0.5^4 = 0.0625 and 0.5^3 = 0.125.
TEST(FindingByRuns, RunsDemonstrateATripAndAChanceOfAClearRun) {
  const vehicle::Vehicle v = carrier();
  Requirement r = required(Quantity::trip_distance, 2000);
  r.method = Method::demonstration;
  const auto verdict = [&](const WayRuns& runs) { return judge(r, {.vehicle = &v, .runs = runs}).verdict; };
  EXPECT_EQ(verdict(decided(22, 0)), Verdict::met);
  EXPECT_EQ(verdict(decided(21, 0)), Verdict::not_shown);
  EXPECT_EQ(verdict(decided(2, 6)), Verdict::not_met);
  r.quantity = Quantity::clear_run;
  r.threshold_si = 0.5;
  EXPECT_EQ(verdict(decided(4, 0, 0.5)), Verdict::met);
  EXPECT_EQ(verdict(decided(3, 0, 0.5)), Verdict::not_shown);
  const Finding f = judge(r, {.vehicle = &v, .runs = decided(3, 1, 0.5)});
  EXPECT_EQ(f.trials->made, 4u);
  EXPECT_THAT(f.records, Contains("records/runs.csv:5"));
}

TEST(FindingByRuns, WithoutSuchRunsItIsSaidThatAnalysisJudges) {
  const vehicle::Vehicle v = carrier();
  Requirement r = required(Quantity::tip_angle, 0.3);
  r.method = Method::demonstration;
  const Finding f = judge(r, {.vehicle = &v});
  EXPECT_EQ(f.verdict, Verdict::not_shown);
  EXPECT_THAT(f.reasons, Contains(HasSubstr("judged by analysis")));
}

TEST(FindingByRuns, RunsBesideTheAnswerTakeItsVerdictAway) {
  const vehicle::Vehicle v = carrier();
  const auto judged = [&](std::optional<double> went_at, std::optional<double> failed_at) {
    Evidence e = answered(v, hundred_speeds());   // 1.00 to 1.99
    e.answered->outcome.estimate = {.value = 1.5, .next_point = math::Interval{1.02, 1.97}, .status = "ok"};
    e.runs = decided(0, 0);
    e.runs->went_at = went_at, e.runs->failed_at = failed_at;
    return judge(required(Quantity::trip_distance, 1.05), e);
  };
  EXPECT_EQ(judged({}, {}).verdict, Verdict::met);
  EXPECT_EQ(judged(1.5, 1.1).verdict, Verdict::met);
  const Finding short_of = judged({}, 1.0);
  EXPECT_EQ(short_of.verdict, Verdict::not_shown);
  EXPECT_THAT(short_of.reasons, Contains(HasSubstr("Contradicted by the runs: these leave 1.00 m at most")));
  EXPECT_THAT(judged(2.1, {}).reasons, Contains(HasSubstr("these reach 2.10 m")));
  EXPECT_EQ(judged(2.1, {}).verdict, Verdict::met);   // further than answered: what is met stays met
}

}  // namespace
}  // namespace hardpan::validation
