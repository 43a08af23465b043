// SPDX-License-Identifier: Apache-2.0
#include "validation/finding.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "math/distributions.hpp"
#include "math/random.hpp"

namespace hardpan::validation {
namespace {

// Average soils N(mu, s), points N(average, t): the share of points above a threshold is
// Phi((average - threshold) / t), so the confidence is P(average >= threshold + t z_p).
TEST(ShareShown, AgreesWithTheNormalClosedForm) {
  const math::Stream a(7, 1), b(7, 2);
  std::vector<double> average, next;
  for (std::size_t k = 0; k < 20000; ++k) {
    average.push_back(10 + 1.0 * a.normal(k));
    next.push_back(average.back() + 2.0 * b.normal(k));
  }
  const Shown s = share_shown(average, next, 6.0, Sense::at_least, 0.9);
  const double confidence = 1 - math::normal_cdf((6.0 + 2.0 * 1.2815515655446004 - 10.0) / 1.0);
  EXPECT_NEAR(s.confidence, confidence, 0.015);  // 3 binomial standard errors and the quantile's own
  EXPECT_NEAR(s.probability, math::normal_cdf(4.0 / std::sqrt(5.0)), 0.01);
  // The mirrored question gives the mirrored answer.
  for (double& v : average) v = -v;
  for (double& v : next) v = -v;
  const Shown m = share_shown(average, next, -6.0, Sense::at_most, 0.9);
  EXPECT_NEAR(m.confidence, s.confidence, 1e-12);
}

TEST(ShareShown, ImmobilisedDrawsCountAgainstAndLostOnesAreLeftOut) {
  const double inf = std::numeric_limits<double>::infinity(), nan = std::nan("");
  EXPECT_EQ(share_shown({1, 1, inf, 1}, {1, inf, inf, 1}, 2, Sense::at_most, 0.5).probability, 0.5);
  EXPECT_EQ(share_shown({1, nan}, {1, nan}, 2, Sense::at_most, 0.5).probability, 1.0);
  EXPECT_EQ(share_shown({}, {}, 2, Sense::at_most, 0.5).confidence, 0.0);
}

TEST(Guard, TellsInsideTwiceAndBeyondApart) {
  const performance::UsedRange used{.pressure_pa = {10e3, 30e3}, .sinkage_m = {0.01, 0.03}, .normal_stress_pa = {5e3, 40e3},
                                    .shear_travel_m = {0.01, 0.05}, .width_m = {0.16, 0.16}, .slip_ratio = 0.2};
  records::TestedRange tested;
  tested.pressure_pa = math::Interval{1e3, 60e3};
  tested.sinkage_m = math::Interval{0.002, 0.02};
  tested.normal_stress_pa = math::Interval{5e3, 15e3};
  tested.plate_width_m = math::Interval{0.05, 0.1};
  const auto rows = extrapolation_guard(used, tested, std::nullopt);
  ASSERT_EQ(rows.size(), 6u);
  EXPECT_EQ(rows[0].level, GuardLevel::inside);
  EXPECT_EQ(rows[1].level, GuardLevel::up_to_twice);   // 0.03 against 0.02
  EXPECT_EQ(rows[2].level, GuardLevel::beyond);        // 40 kPa against 15 kPa
  EXPECT_EQ(rows[3].level, GuardLevel::not_tested);
  EXPECT_EQ(rows[4].level, GuardLevel::up_to_twice);
  EXPECT_EQ(worst(rows), GuardLevel::not_tested);
}

// A wheel at 34.5 mm and 16.2 kPa used to read "inside" of a law that holds below 40 mm and was read from 20 to 82 kPa.
TEST(Guard, DoesNotReadAsInsideAboveTheWindowUnderACrust) {
  performance::UsedRange used{.pressure_pa = {15e3, 16.2e3}, .sinkage_m = {0.0345, 0.0345}, .normal_stress_pa = {5e3, 40e3},
                              .shear_travel_m = {0.01, 0.05}, .width_m = {0.16, 0.16}, .slip_ratio = 0.2};
  records::TestedRange tested;
  tested.pressure_pa = math::Interval{20e3, 82e3};
  tested.sinkage_m = math::Interval{0.040, 0.120};
  const auto level = [&](std::size_t row) { return extrapolation_guard(used, tested, std::nullopt)[row].level; };
  // A range that starts above zero for another reason (a first reading, a window of the user) stays as it was.
  EXPECT_EQ(level(0), GuardLevel::inside);
  EXPECT_EQ(level(1), GuardLevel::inside);
  tested.law_starts_below_layer = true;
  EXPECT_EQ(level(0), GuardLevel::up_to_twice);
  EXPECT_EQ(level(1), GuardLevel::up_to_twice);
  used.sinkage_m = {0.019, 0.050};  // one axle under half of 40 mm
  EXPECT_EQ(level(1), GuardLevel::beyond);
  used.sinkage_m = {0.045, 0.050};
  used.pressure_pa = {21e3, 24e3};
  EXPECT_EQ(level(0), GuardLevel::inside);
  EXPECT_EQ(level(1), GuardLevel::inside);
  // Pressed less than the weakest crust carried: it may not break at all.
  tested.weakest_crust_pa = 25e3;
  EXPECT_EQ(level(0), GuardLevel::beyond);
  EXPECT_EQ(level(1), GuardLevel::beyond);
  tested.weakest_crust_pa = 23e3;
  EXPECT_EQ(level(0), GuardLevel::inside);
  EXPECT_EQ(level(1), GuardLevel::inside);
}

Requirement slope_requirement() {
  Requirement r;
  r.vehicle = "v";
  r.zone = "z";
  r.threshold_si = 0.2;
  r.method = Method::demonstration;
  return r;
}

records::DrawbarResult with_trials(int go, int no_go) {
  records::SlopeLimits s;
  s.vehicle = "v";
  s.zone = "z";
  for (int i = 0; i < go + no_go; ++i) {
    records::TrialReading t;
    t.file = "slopes.csv";
    t.line = static_cast<std::size_t>(i + 2);
    t.angle_rad = i < go ? 0.21 : 0.19;
    t.outcome = i < go ? records::TrialOutcome::go : records::TrialOutcome::no_go;
    t.bound = i < go ? records::TrialBound::at_least : records::TrialBound::below;
    s.trials.push_back(t);
  }
  records::DrawbarResult d;
  d.slopes.push_back(s);
  return d;
}

// Binomial demonstration arithmetic: 90 % at 90 % confidence needs 22 of 22, or 38 with one failure.
TEST(Judge, DemonstratesWithTwentyTwoOfTwentyTwoOrThirtyEightWithOneFailure) {
  vehicle::Vehicle v;
  const auto verdict = [&](int go, int no_go) {
    const auto d = with_trials(go, no_go);
    return judge(slope_requirement(), {.vehicle = &v, .drawbar = &d}).verdict;
  };
  EXPECT_EQ(verdict(21, 0), Verdict::not_shown);
  EXPECT_EQ(verdict(22, 0), Verdict::met);
  EXPECT_EQ(verdict(36, 1), Verdict::not_shown);
  EXPECT_EQ(verdict(37, 1), Verdict::met);
  EXPECT_EQ(verdict(2, 6), Verdict::not_met);
  EXPECT_EQ(verdict(0, 0), Verdict::not_shown);
}

TEST(Judge, NamesTheRecordsThatCarryATrialAnswer) {
  vehicle::Vehicle v;
  const auto d = with_trials(1, 1);
  const Finding f = judge(slope_requirement(), {.vehicle = &v, .drawbar = &d});
  EXPECT_EQ(f.records, (std::vector<std::string>{"slopes.csv:2", "slopes.csv:3"}));
  ASSERT_FALSE(f.would_change.empty());
}

TEST(Judge, SaysNotShownWithoutASoil) {
  vehicle::Vehicle v;
  Requirement r;
  r.method = Method::analysis;
  const Finding f = judge(r, {.vehicle = &v});
  EXPECT_EQ(f.verdict, Verdict::not_shown);
  EXPECT_FALSE(f.would_change.empty());
}

bool says(const Finding& f, const std::string& words) {
  return std::any_of(f.reasons.begin(), f.reasons.end(), [&](const std::string& r) { return r.find(words) != std::string::npos; });
}

// A vehicle on two soils: what is judged on the second stands beside what was judged on the first.
performance::Placed on_sand(double tan_phi, std::size_t draws, std::optional<double> peak_torque_n_m = {}) {
  vehicle::Vehicle v;
  v.id = "carrier";
  v.bodies = {{.mass_kg = 300, .cg_x_m = 0.62, .cg_z_m = 0.5}};
  for (const double x : {0.0, 1.3}) v.axles.push_back({.name = x == 0 ? "rear" : "front", .position_x_m = x, .track_width_m = 1, .wheel = {.radius_m = 0.3, .width_m = 0.12}});
  for (auto& a : v.axles) a.drive.peak_torque_n_m = peak_torque_n_m;
  soil::SoilDistribution d;
  d.centre.bearing = soil::bekker(1.0, 2e3, 9e5);
  d.centre.shear = soil::Shear{.cohesion_pa = 1200, .tan_phi = tan_phi, .shear_modulus_m = 0.018};
  d.bearing_dof = d.shear_dof = 6;
  d.sampling[4][4] = d.between_points[4][4] = 1e-4;
  base::Problems problems;
  auto p = performance::place_vehicle(v, {.zone = "sand", .centre = d.centre, .distribution = d, .loose = false},
                                      {.gravity_m_s2 = 9.81, .count = draws, .model_form_part = false, .threads = 1}, {}, problems);
  EXPECT_TRUE(p);
  return *p;
}

performance::Prediction prediction_inside() {
  performance::Prediction p;
  p.used = {.pressure_pa = {1, 2}, .sinkage_m = {0.01, 0.02}, .normal_stress_pa = {1, 2}, .shear_travel_m = {0.01, 0.02}, .width_m = {0.1, 0.1}, .slip_ratio = 0.2};
  return p;
}

records::ZoneGround tested_inside() {
  records::ZoneGround g;
  g.zone = "sand";
  g.tested.pressure_pa = g.tested.normal_stress_pa = math::Interval{0.5, 3};
  g.tested.sinkage_m = g.tested.shear_travel_m = math::Interval{0.001, 0.1};
  g.tested.plate_width_m = math::Interval{0.05, 0.2};
  return g;
}

// A measured difference is one of traction: where the drives give out first it must not be taken off what they give.
// (It used to be: a slope limited by torque at 13 deg was told as 4 deg.)
TEST(Judge, TakesTheMeasuredDifferenceOffTractionAndNotOffTheTorqueLimit) {
  const performance::Placed any = on_sand(0.75, 60);
  const auto wheels = performance::gradient_outcome(any, 0.2).centre_state.wheel;
  const performance::Placed weak = on_sand(0.75, 60, 0.8 * std::max(wheels[0].torque_n_m, wheels[1].torque_n_m));
  const double limited = performance::gradient_outcome(weak, 0.2).centre, free = performance::gradient_outcome(any, 0.2).centre;
  ASSERT_GT(limited, 0.1);
  ASSERT_LT(limited, 0.95 * free);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Comparison pull{.readings = {{.slip_ratio = 0}, {.slip_ratio = 0.5}}};
  pull.bias_claimed = true;
  Requirement r;
  r.method = Method::analysis;
  r.slip_ratio = 0.2;
  const auto value = [&](double difference) {
    pull.bias.value = difference;
    return judge(r, {.placed = &weak, .prediction = &prediction, .vehicle = &v, .pull = &pull}).value.value;
  };
  // Small: the drives decide. Large: traction does, tan a = tan(free) + difference.
  EXPECT_NEAR(value(-0.01), limited, 1e-12);
  EXPECT_NEAR(value(-0.4), std::atan(std::tan(free) - 0.4), 1e-9);
}

TEST(Judge, HeedsASlopeThatWasDrivenAgainstThePrediction) {
  const performance::Placed placed = on_sand(0.4, 60);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Requirement r;
  r.vehicle = "carrier";
  r.zone = "sand";
  r.method = Method::analysis;
  r.slip_ratio = 0.2;
  r.threshold_si = 0.45;
  records::DrawbarResult drawbar;
  drawbar.slopes.push_back({.vehicle = "carrier", .zone = "sand"});
  const Evidence e{.placed = &placed, .prediction = &prediction, .vehicle = &v, .drawbar = &drawbar};
  ASSERT_EQ(judge(r, e).verdict, Verdict::not_met);
  drawbar.slopes[0].bracket.go_rad = 0.5;
  const Finding f = judge(r, e);
  EXPECT_EQ(f.verdict, Verdict::not_shown);
  EXPECT_TRUE(std::any_of(f.reasons.begin(), f.reasons.end(), [](const std::string& s) { return s.find("Contradicted by the trials: 28.6 deg was driven") == 0; }));
}

// Ruts measured deeper than predicted used to leave "sinkage at most" met.
TEST(Judge, AddsAClaimedBiasOfTheRequiredQuantityWhereItGoesAgainstTheVehicle) {
  const performance::Placed placed = on_sand(0.75, 60);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Requirement r;
  r.quantity = Quantity::sinkage;
  r.sense = Sense::at_most;
  r.method = Method::analysis;
  std::vector<Comparison> comparisons{{.quantity = "torque of all driven wheels"}, {.quantity = "sinkage"}};
  const records::ZoneGround ground = tested_inside();
  const Evidence e{.placed = &placed, .prediction = &prediction, .vehicle = &v, .ground = &ground, .comparisons = &comparisons};
  const double predicted = judge(r, e).value.value;
  r.threshold_si = predicted + 0.005;
  ASSERT_EQ(judge(r, e).verdict, Verdict::met);
  comparisons[1].bias.value = 0.02;
  EXPECT_EQ(judge(r, e).value.value, predicted);  // not claimed
  comparisons[1].bias_claimed = true;
  const Finding f = judge(r, e);
  EXPECT_NEAR(f.value.value, predicted + 0.02, 1e-12);
  EXPECT_EQ(f.verdict, Verdict::not_met);
  EXPECT_TRUE(says(f, "+20.0 mm"));
  EXPECT_TRUE(says(f, "without a hitch pull"));
  comparisons[1].bias.value = -0.02;  // shallower than predicted: the prediction stands
  EXPECT_EQ(judge(r, e).value.value, predicted);
  comparisons[0].bias.value = 5;
  comparisons[0].bias_claimed = true;  // of another quantity
  EXPECT_EQ(judge(r, e).verdict, Verdict::met);
  // Torque is required of one wheel and compared as the sum over the driven ones.
  v.axles.resize(2);
  for (auto& a : v.axles) a.wheels = 2;
  r.quantity = Quantity::torque_per_wheel;
  comparisons[0].bias_claimed = false;
  const double one_wheel = judge(r, e).value.value;
  comparisons[0].bias_claimed = true;
  EXPECT_NEAR(judge(r, e).value.value, one_wheel + 5.0 / 4, 1e-9);
}

// A slip stated with a sinkage or a torque used to be left aside in silence.
TEST(Judge, TakesSinkageAndTorqueAtTheSlipStated) {
  const performance::Placed placed = on_sand(0.75, 60);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Requirement r;
  r.sense = Sense::at_most;
  r.method = Method::analysis;
  r.threshold_si = 1000;
  const Evidence e{.placed = &placed, .prediction = &prediction, .vehicle = &v};
  performance::Workspace space;
  performance::State s;
  performance::states_at_slip({&placed.centre, 1}, 0.4, 0, {&s, 1}, space);
  ASSERT_TRUE(s.balanced());
  for (const Quantity q : {Quantity::sinkage, Quantity::torque_per_wheel}) {
    r.quantity = q;
    r.slip_ratio.reset();
    const Finding travelling = judge(r, e);
    r.slip_ratio = 0.4;
    const Finding at_slip = judge(r, e);
    EXPECT_NEAR(at_slip.value.value, q == Quantity::sinkage ? s.deepest_m() : std::max(s.wheel[0].torque_n_m, s.wheel[1].torque_n_m), 1e-9);
    EXPECT_GT(at_slip.value.value, travelling.value.value);
    EXPECT_TRUE(says(at_slip, "At the slip asked for, 40 %"));
  }
  r.quantity = Quantity::energy_per_metre;
  EXPECT_TRUE(says(judge(r, e), "is not used"));
}

// Brakes may hold where the ground does not: tan phi 0.75 is 36.9 deg.
TEST(Judge, ShowsNoDescentSteeperThanTheGroundsOwnFriction) {
  const performance::Placed placed = on_sand(0.75, 60);
  const performance::Prediction prediction = prediction_inside();
  const records::ZoneGround ground = tested_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Requirement r;
  r.method = Method::analysis;
  r.quantity = Quantity::maximum_gradient_down;
  r.probability = 0.5;
  r.confidence = 0.5;
  const Evidence e{.placed = &placed, .prediction = &prediction, .vehicle = &v, .ground = &ground};
  ASSERT_GT(performance::descent_outcome(placed).centre, std::atan(0.75) + 0.02);
  r.threshold_si = std::atan(0.75) - 0.02;
  EXPECT_EQ(judge(r, e).verdict, Verdict::met);
  r.threshold_si = std::atan(0.75) + 0.01;
  const Finding f = judge(r, e);
  EXPECT_EQ(f.verdict, Verdict::not_shown);
  EXPECT_TRUE(says(f, "36.9 deg"));
}

TEST(Judge, ShowsNoSinkageWhereTheVehiclePullsLessThanPredicted) {
  const performance::Placed placed = on_sand(0.75, 60);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Comparison pull{.readings = {{.slip_ratio = 0}, {.slip_ratio = 0.5}}};
  pull.bias.value = -0.1;
  Requirement r;
  r.quantity = Quantity::sinkage;
  r.sense = Sense::at_most;
  r.method = Method::analysis;
  r.threshold_si = 1;
  const records::ZoneGround ground = tested_inside();
  const Evidence e{.placed = &placed, .prediction = &prediction, .vehicle = &v, .ground = &ground, .pull = &pull};
  ASSERT_EQ(judge(r, e).verdict, Verdict::met);
  pull.bias_claimed = true;
  EXPECT_EQ(judge(r, e).verdict, Verdict::not_shown);
}

// Pull by test is judged at the slip and on the gradient asked for, with the calibration of the load cell in its interval. (A pull at
// 5 % slip used to be judged by the one at the working slip, and a gradient was ignored.)
TEST(Judge, TakesPullByTestAtTheSlipAndOnTheGradientAsked) {
  vehicle::Vehicle v;
  v.id = "carrier";
  v.working_slip = 0.2;
  records::DrawbarGroup g{.vehicle = "carrier", .zone = "sand"};
  g.weight_n = 1000;
  g.curve.parameters = {.relation = records::PullSlipRelation::exponential, .reference_slip = 0.02, .base = 0.1, .rise = 0.4, .scale = 0.1};
  g.curve.slip_lo = 0.02;
  g.curve.slip_hi = 0.3;
  for (const double slip : {0.02, 0.1, 0.2, 0.3}) {
    const double mu = g.curve.at(slip);
    g.curve.band.push_back({slip, {.value = mu, .average_ground = math::Interval{mu - 0.01, mu + 0.01}, .next_point = math::Interval{mu - 0.03, mu + 0.03}, .n = 5, .status = "ok"}});
  }
  records::DrawbarResult drawbar;
  drawbar.groups.push_back(g);
  Requirement r;
  r.vehicle = "carrier";
  r.zone = "sand";
  r.quantity = Quantity::drawbar_pull;
  r.method = Method::test;
  const Evidence e{.vehicle = &v, .drawbar = &drawbar};
  EXPECT_NEAR(judge(r, e).value.value, 1000 * g.curve.at(0.2), 1e-9);
  r.slip_ratio = 0.1;
  r.threshold_si = 1000 * g.curve.at(0.1) - 20;
  const Finding at = judge(r, e);
  EXPECT_NEAR(at.value.value, 1000 * g.curve.at(0.1), 1e-9);
  EXPECT_EQ(at.verdict, Verdict::not_shown);  // the interval of the next run reaches 30 N below
  ASSERT_TRUE(at.probability);
  // Student's t with 4 degrees of freedom: t(0.975) = 2.776, so 20 N are 1.851 scales; F = 0.931 (tables).
  EXPECT_NEAR(*at.probability, 0.931, 0.001);
  r.gradient_rad = 0.14;
  EXPECT_NEAR(judge(r, e).value.value, 1000 * (g.curve.at(0.1) * std::cos(0.14) - std::sin(0.14)), 1e-9);
  r.gradient_rad.reset();
  drawbar.groups[0].curve.gain_relative_sd = 0.15;
  const Finding wide = judge(r, e);
  const double mu = g.curve.at(0.1), more = 1.959963984540054 * 0.15 * mu;
  EXPECT_NEAR(wide.value.next_point->lo, 1000 * (mu - std::hypot(0.03, more)), 1e-6);
  r.slip_ratio = 0.5;
  const Finding out = judge(r, e);
  EXPECT_EQ(out.verdict, Verdict::not_shown);
  EXPECT_NE(out.reasons.back().find("not at 50 %"), std::string::npos) << out.reasons.back();
}

// The band about the working slip may deny the mean over all slips.
TEST(Judge, LeavesAMeanDifferenceAsideThatTheSlipsInQuestionDeny) {
  const performance::Placed placed = on_sand(0.75, 60);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Comparison pull{.readings = {{.slip_ratio = 0}, {.slip_ratio = 0.5}}};
  pull.bias.value = -0.05;
  pull.bias_claimed = true;
  Requirement r;
  r.method = Method::analysis;
  r.slip_ratio = 0.2;
  const Evidence e{.placed = &placed, .prediction = &prediction, .vehicle = &v, .pull = &pull};
  const Finding applied = judge(r, e);
  ASSERT_TRUE(applied.value_without_measured_difference);
  EXPECT_TRUE(says(applied, "on average over the slips tested"));
  EXPECT_NE(applied.reasons.front().find("no plain go"), std::string::npos) << applied.reasons.front();  // what keeps it from being shown comes first
  pull.bands.push_back({.lo = 0.1, .hi = 0.25, .difference = {.value = -0.002, .average_ground = math::Interval{-0.02, 0.016}}});
  EXPECT_FALSE(judge(r, e).value_without_measured_difference);
  pull.bands.front().difference.average_ground = math::Interval{-0.06, 0.056};  // too wide to deny it
  EXPECT_TRUE(judge(r, e).value_without_measured_difference);
}

TEST(Judge, TakesTheDeepestRutAsTheTestOfSinkage) {
  vehicle::Vehicle v;
  v.id = "carrier";
  Requirement r;
  r.vehicle = "carrier";
  r.zone = "sand";
  r.quantity = Quantity::sinkage;
  r.sense = Sense::at_most;
  r.method = Method::test;
  r.threshold_si = 0.06;
  records::DrawbarResult drawbar;
  for (const double depth : {0.03, 0.05, 0.04}) {
    drawbar.ruts.groups.push_back({.vehicle = "carrier", .zone = "sand", .depth_loaded_m = math::estimate_from_points(std::vector<double>{depth - 0.001, depth, depth + 0.001}), .places = {{"ruts.csv", 3}}});
  }
  const Finding f = judge(r, {.vehicle = &v, .drawbar = &drawbar});
  EXPECT_EQ(f.value.value, 0.05);
  EXPECT_EQ(f.verdict, Verdict::met);
  EXPECT_EQ(f.records, std::vector<std::string>{"ruts.csv:3"});
}

TEST(Judge, SaysThatNoSpeedLimitIsStated) {
  const performance::Placed placed = on_sand(0.6, 60);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  Requirement r;
  r.quantity = Quantity::speed;
  r.method = Method::analysis;
  r.threshold_si = 1;
  const Finding f = judge(r, {.placed = &placed, .prediction = &prediction, .vehicle = &v});
  EXPECT_EQ(f.verdict, Verdict::not_shown);
  EXPECT_FALSE(f.probability);
  EXPECT_TRUE(std::isnan(f.value.value));
}

TEST(JudgeAfterLearning, KeepsTheFindingBeforeBesideAndStandsByItWhereNoHeldOutRunBearsTheUpdateOut) {
  const performance::Placed before = on_sand(0.5, 60), after = on_sand(0.75, 60);
  const performance::Prediction prediction = prediction_inside();
  vehicle::Vehicle v;
  v.id = "carrier";
  records::ZoneGround ground;
  ground.tested = {.pressure_pa = math::Interval{0, 1e9}, .sinkage_m = math::Interval{0, 10}, .plate_width_m = math::Interval{0, 10},
                   .normal_stress_pa = math::Interval{0, 1e9}, .shear_travel_m = math::Interval{0, 10}};
  Comparison towed{.readings = {{.slip_ratio = 0}, {.slip_ratio = 0.5}}};
  Learning learning{.status = LearningStatus::updated, .records = {"tow-a"}, .validated = true, .statement = "Updated."};
  learning.shape = {.shown = true, .statement = "Discrepancy of shape."};
  Requirement r;
  r.method = Method::analysis;
  r.slip_ratio = 0.2;
  r.threshold_si = 0.5 * (performance::gradient_outcome(before, 0.2).centre + performance::gradient_outcome(after, 0.2).centre);
  const Comparison none_held_out;
  const Evidence first{.placed = &before, .prediction = &prediction, .vehicle = &v, .ground = &ground, .pull = &towed};
  const Evidence second{.placed = &after, .prediction = &prediction, .vehicle = &v, .ground = &ground, .pull = &none_held_out, .learning = &learning, .pull_that_taught = &towed};
  const Finding borne_out = judge_after_learning(r, first, second);
  EXPECT_EQ(borne_out.verdict, Verdict::met);
  EXPECT_EQ(borne_out.verdict_before_learning, Verdict::not_met);
  EXPECT_EQ(borne_out.value_before_learning->value, judge(r, first).value.value);
  EXPECT_EQ(std::count(borne_out.reasons.begin(), borne_out.reasons.end(), "Discrepancy of shape."), 1);
  // Two runs that teach cannot show a discrepancy of shape that all runs together do: it is said all the same.
  learning.shape.shown = false;
  towed.shape = {.shown = true, .statement = "All of them fall."};
  EXPECT_EQ(std::count_if(borne_out.reasons.begin(), borne_out.reasons.end(), [](const std::string& x) { return x.ends_with("All of them fall."); }), 0);
  const Finding of_all = judge_after_learning(r, first, second);
  EXPECT_EQ(std::count_if(of_all.reasons.begin(), of_all.reasons.end(), [](const std::string& x) { return x.ends_with("All of them fall."); }), 1);
  for (const bool contradicted : {false, true}) {
    learning.validated = false;
    learning.contradicted = contradicted;
    const Finding stands = judge_after_learning(r, first, second);
    EXPECT_EQ(stands.verdict, Verdict::not_met);
    EXPECT_EQ(stands.value.value, judge(r, first).value.value);
    EXPECT_NE(stands.reasons.back().find(contradicted ? "contradict" : "not validated by held-out tests"), std::string::npos);
  }
  // What rests on trials alone is not touched.
  r.method = Method::demonstration;
  EXPECT_FALSE(judge_after_learning(r, first, second).verdict_before_learning);
}

}  // namespace
}  // namespace hardpan::validation
