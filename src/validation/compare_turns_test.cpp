// SPDX-License-Identifier: Apache-2.0
// Invented turns of a vehicle on a stated soil: what was put in as predicted must agree, and what was not must not.
#include "validation/compare_turns.hpp"

#include <cmath>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "performance/test_carrier.hpp"

namespace hardpan::validation {
namespace {

using ::testing::HasSubstr;
using records::RingPath;
using records::TurnOutcome;
constexpr double kDeg = std::numbers::pi / 180, kGravity = 9.81;

vehicle::Vehicle carrier(const vehicle::Steering& steering) {
  vehicle::Vehicle v = performance::test::carrier(0.25, 0.2);
  v.steering = steering;
  return v;
}
vehicle::Steering front_steered() { return {.kind = vehicle::SteeringKind::ackermann, .largest_angle_rad = 35 * kDeg, .steered_axles = {"front"}}; }

performance::Ground ground(bool with_scatter) {
  soil::Soil s;
  s.bearing = soil::bekker(0.79, 102e3, 5301e3);
  s.shear = soil::Shear{.cohesion_pa = 1300, .tan_phi = std::tan(31.1 * kDeg)};
  s.shear->shear_modulus_m = 0.015;
  s.density_kg_m3 = 1600;
  performance::Ground g{.zone = "bar", .centre = s, .slip_sinkage = soil::SlipSinkage::none};
  if (!with_scatter) return g;
  soil::SoilDistribution d{.centre = s, .bearing_dof = 7, .shear_dof = 7, .population = "points of the bar"};
  const double sd[] = {0.15, 0.15, 0.05, 150, 0.03, 0.15};
  for (std::size_t i = 0; i < soil::kCoordinates; ++i) {
    d.between_points[i][i] = sd[i] * sd[i];
    d.sampling[i][i] = sd[i] * sd[i] / 8;
  }
  g.distribution = d;
  return g;
}

records::TurnRun turn(double radius_m, TurnOutcome outcome, std::optional<double> torque = {}) {
  records::TurnRun t;
  t.source = {.id = "t", .file = "turns.csv", .zone = "bar"};
  t.conditions = {.vehicle = "carrier", .weight_n = 420 * kGravity};
  t.line = 2, t.radius_m = radius_m, t.radius_measured = true, t.outcome = outcome, t.torque_n_m = torque;
  return t;
}

TurnComparison compare(const std::vector<records::TurnRun>& turns, const vehicle::Vehicle& v, const performance::Ground& g) {
  base::Problems problems;
  const auto limits = records::reduce_turns(turns, {}, problems);
  const auto out = compare_turns(limits, v, g, {.gravity_m_s2 = kGravity}, units::OutputUnits::si);
  EXPECT_EQ(out.size(), 1u);
  return out.front();
}

// By hand for front steering about the rear axle's line: the front outer wheel runs at hypot(L, R + t/2), the rear inner one at R - t/2.
TEST(CompareTurns, RingsBecomeRadiiOfTheVehicleByGeometry) {
  const vehicle::Vehicle v = carrier(front_steered());
  EXPECT_NEAR(vehicle_radius_m(v, RingPath::outer_wheel, std::hypot(1.3, 4.5)), 4, 1e-9);
  EXPECT_NEAR(vehicle_radius_m(v, RingPath::inner_wheel, 3.5), 4, 1e-9);
  EXPECT_EQ(vehicle_radius_m(v, RingPath::centre, 4), 4);
  EXPECT_EQ(vehicle_radius_m(v, RingPath::outer_wheel, 0.1), 0);
}

TEST(CompareTurns, TurnsAboutThePredictedLimitAgreeAndOthersContradictIt) {
  const vehicle::Vehicle v = carrier(front_steered());
  const performance::Ground g = ground(false);
  const TurnComparison about = compare({turn(5, TurnOutcome::turned)}, v, g);
  ASSERT_TRUE(about.judged) << about.statement;
  const double ring = about.predicted_m->hi;  // along the outer wheel
  EXPECT_NEAR(about.predicted_m->lo, ring, 2e-3 * ring);
  // By geometry alone 35 degrees of the inner wheel give R = L / tan 35 + t / 2; on soil the vehicle needs more.
  EXPECT_GT(ring, 0.95 * std::hypot(1.3, 1.3 / std::tan(35 * kDeg) + 1.0));
  const TurnComparison agrees = compare({turn(1.1 * ring, TurnOutcome::turned), turn(0.9 * ring, TurnOutcome::slid)}, v, g);
  EXPECT_TRUE(agrees.judged && agrees.consistent) << agrees.statement;
  const TurnComparison tighter = compare({turn(0.6 * ring, TurnOutcome::turned), turn(0.5 * ring, TurnOutcome::slid)}, v, g);
  EXPECT_FALSE(tighter.consistent) << tighter.statement;
  const TurnComparison wider = compare({turn(4 * ring, TurnOutcome::turned), turn(3 * ring, TurnOutcome::stalled)}, v, g);
  EXPECT_FALSE(wider.consistent) << wider.statement;
  EXPECT_THAT(wider.statement, HasSubstr("contradicted"));
}

TEST(CompareTurns, TorqueIsSetBesideThatOfTheSameRadius) {
  const vehicle::Vehicle v = carrier(front_steered());
  const performance::Ground g = ground(false);
  base::Problems problems;
  const auto m = performance::make_turning_machine(v, g.centre, kGravity, soil::SlipSinkage::none, {}, problems);
  const performance::TurnState s = performance::turn_on_soil(*m, {.radius_m = 6});
  double torque = 0;
  for (const auto& w : s.wheels) torque += w.torque_n_m;
  const double ring = std::hypot(1.3, 6.5);
  const TurnComparison c = compare({turn(ring, TurnOutcome::turned, torque - 2), turn(ring, TurnOutcome::turned, torque + 2)}, v, g);
  ASSERT_EQ(c.torque.size(), 1u);
  EXPECT_NEAR(c.torque[0].vehicle_radius_m, 6, 1e-9);
  EXPECT_NEAR(c.torque[0].predicted_n_m, torque, 1e-5 * std::abs(torque));
  EXPECT_FALSE(c.torque[0].consistent);   // one soil gives no interval: nothing to agree with
  const auto agrees = [&](double measured) { return compare({turn(ring, TurnOutcome::turned, measured - 2), turn(ring, TurnOutcome::turned, measured + 2)}, v, ground(true)).torque[0].consistent; };
  EXPECT_EQ(agrees(torque), true);
  EXPECT_EQ(agrees(3 * torque), false);
}

TEST(CompareTurns, PossibleSoilsTellHowManyTurnAndTheRightSideIsTheLeftMirrored) {
  const vehicle::Vehicle v = carrier({});
  const performance::Ground g = ground(true);
  std::vector<records::TurnRun> left{turn(8, TurnOutcome::turned, 100.0)}, right = left;
  for (records::TurnRun& t : right) t.right = true;
  const TurnComparison a = compare(left, v, g), b = compare(right, v, g);
  ASSERT_TRUE(a.judged) << a.statement;
  EXPECT_GT(a.soils, kTurnSoils * 3 / 4);
  ASSERT_TRUE(a.goes_at_passed);
  EXPECT_GE(*a.goes_at_passed, 0);
  EXPECT_LE(*a.goes_at_passed, 1);
  EXPECT_FALSE(a.fails_at_failed);
  EXPECT_NEAR(a.torque[0].predicted_n_m, b.torque[0].predicted_n_m, 1e-4 * std::abs(a.torque[0].predicted_n_m));
  EXPECT_NEAR(a.predicted_m->hi, b.predicted_m->hi, 1e-3 * a.predicted_m->hi);
}

TEST(CompareTurns, WhatCannotBeJudgedSaysWhy) {
  EXPECT_THAT(compare({turn(5, TurnOutcome::stopped)}, carrier({}), ground(false)).statement, HasSubstr("no turn was decided"));
  const vehicle::Vehicle crab = carrier({.kind = vehicle::SteeringKind::crab, .largest_angle_rad = 30 * kDeg});
  const TurnComparison c = compare({turn(5, TurnOutcome::turned)}, crab, ground(false));
  EXPECT_FALSE(c.judged);
  EXPECT_THAT(c.statement, HasSubstr("crab steering does not turn"));
  performance::Ground without = ground(false);
  without.centre.shear->shear_modulus_m.reset();
  EXPECT_FALSE(compare({turn(5, TurnOutcome::turned)}, carrier({}), without).judged);
}

}  // namespace
}  // namespace hardpan::validation
