// SPDX-License-Identifier: Apache-2.0
#include "performance/any_heading.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "performance/test_carrier.hpp"
#include "performance/test_slopes.hpp"
#include "performance/tip_over_joints.hpp"
#include "performance/travel.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

vehicle::Vehicle carrier() { return test::carrier(0.25); }   // smaller wheels
soil::Soil sand() { return test::loose_sand(); }
TurningMachine machine(const vehicle::Vehicle& v) { return test::turning_on(v); }
HeadingLimit at(const TurningMachine& m, double heading) { return slopes_by_heading(m, {.headings_rad = {heading}}).front(); }

// Another solution of the same question: straight travel by equilibrium.cpp. It counts the lean of the body beyond the level and
// with h - r, slopes from unloaded wheels and with h: some hundredths of a degree.
TEST(AnyHeading, StraightUpIsTheGradientOfStraightTravel) {
  const vehicle::Vehicle v = carrier();
  const HeadingLimit up = at(machine(v), 0);
  base::Problems problems;
  const auto on = on_soil(v, sand(), 9.81, soil::SlipSinkage::none, {}, problems);
  ASSERT_TRUE(on);
  Workspace space;
  State s;
  const Case c{.machine = &on->plain, .slip_ratio = 0.2, .question = Question::gradient};
  solve_cases({&c, 1}, {&s, 1}, space);
  ASSERT_TRUE(s.balanced());
  EXPECT_EQ(up.working.factor, HeadingFactor::working_slip);
  EXPECT_NEAR(up.working.gradient_rad, s.gradient_rad, 0.05 * kDeg);
  EXPECT_NEAR(up.working.largest_slip, 0.2, 0.002);
  EXPECT_NEAR(up.working.drift_rad, 0, 1e-6);
  EXPECT_GT(up.largest.gradient_rad, up.working.gradient_rad);
  EXPECT_EQ(up.largest.factor, HeadingFactor::traction);
}

// Heavy on its wheels it sinks by 0.4 of the radius and pulls most at a few per cent slip; slopes begun from 9 % slip met another balance, beyond that
// peak, or none: "not even the level".
TEST(AnyHeading, BeginsFromTravelOnTheLevelHoweverDeepItSinks) {
  vehicle::Vehicle v = test::carrier(0.6, 0.5);
  v.bodies = {{.mass_kg = 30e3, .cg_x_m = 2, .cg_z_m = 2}};
  v.axles[1].position_x_m = 4;
  for (vehicle::Axle& a : v.axles) a.track_width_m = 3;
  soil::Soil soft = test::sand(1000);
  soft.bearing = soil::bekker(0.8, 1000, 1.5e6);
  base::Problems problems;
  const auto on = on_soil(v, soft, 9.81, soil::SlipSinkage::none, {}, problems);
  const auto m = make_straight_machine(v, soft, 9.81, soil::SlipSinkage::none, {}, problems);
  ASSERT_TRUE(on && m);
  Workspace space;
  Gradient climbed;
  maximum_gradients({&*on, 1}, {&climbed, 1}, space);
  EXPECT_GT(climbed.state.deepest_m(), 0.2);
  EXPECT_LT(climbed.slip_ratio, 0.15);
  const HeadingLimit up = at(*m, 0);
  EXPECT_EQ(up.largest.factor, HeadingFactor::traction);
  EXPECT_NEAR(up.largest.gradient_rad, climbed.gradient_rad, 0.3 * kDeg);
  // Heavier, it does not even travel on the level: the reason is that of straight travel, not a lost search.
  v.bodies[0].mass_kg = 100e3;
  const auto heavy = make_straight_machine(v, soft, 9.81, soil::SlipSinkage::none, {}, problems);
  ASSERT_TRUE(heavy);
  EXPECT_EQ(at(*heavy, 0).largest.factor, HeadingFactor::carrying);
  EXPECT_EQ(at(*heavy, 0).largest.gradient_rad, 0);
}

// One number under one name: what tipover calls the working limit, also where soft wheels let the body lean.
TEST(AnyHeading, TheWorkingTipLimitIsThatOfTipOver) {
  vehicle::Vehicle soft = carrier();
  for (vehicle::Axle& a : soft.axles) a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 12e3};
  for (const vehicle::Vehicle& v : {carrier(), soft}) {
    const TurningMachine m = machine(v);
    const auto round = tip_over_round(v, stance_of(v, 9.81), 9.81, 4, 0);
    const auto headings = slopes_by_heading(m, {.headings_rad = {std::numbers::pi, std::numbers::pi / 2, 0}});   // the fall line lies ahead, to the left, behind
    for (std::size_t i = 0; i < headings.size(); ++i) EXPECT_NEAR(headings[i].tips_working_rad, round[i].working_rad, 1e-9) << i;
  }
  const HeadingLimit across = at(machine(soft), std::numbers::pi / 2);
  EXPECT_LT(across.tips_working_rad, kWorkingShare * across.tips_rad - 0.01);
}

TEST(AnyHeading, LeftAndRightAreMirrorImages) {
  const TurningMachine m = machine(carrier());
  for (const double heading : {40.0, 90.0, 130.0}) {
    const HeadingLimit left = at(m, heading * kDeg), right = at(m, -heading * kDeg);
    EXPECT_NEAR(left.working.gradient_rad, right.working.gradient_rad, 0.02 * kDeg) << heading;
    EXPECT_NEAR(left.largest.gradient_rad, right.largest.gradient_rad, 0.02 * kDeg) << heading;
    EXPECT_NEAR(left.working.drift_rad, -right.working.drift_rad, 0.02 * kDeg) << heading;
    EXPECT_NEAR(left.tips_rad, right.tips_rad, 1e-9) << heading;
    EXPECT_EQ(left.working.factor, right.working.factor) << heading;
  }
}

// By hand for this carrier: tips at atan(0.62 / 0.55) = 48.4 deg rearward, atan(0.68 / 0.55) = 51.0 forward, atan(0.5 / 0.55) = 42.3 sideways.
TEST(AnyHeading, TipLimitsBelongToTheFallLineSeenFromTheVehicle) {
  const TurningMachine m = machine(carrier());
  const HeadingLimit up = at(m, 0), left = at(m, 90 * kDeg), down = at(m, 180 * kDeg);
  EXPECT_NEAR(up.tips_rad, std::atan(0.62 / 0.55), 1e-9);
  EXPECT_EQ(up.tips_about, TipEdge::rearward);
  EXPECT_NEAR(down.tips_rad, std::atan(0.68 / 0.55), 1e-9);
  EXPECT_EQ(down.tips_about, TipEdge::forward);
  EXPECT_NEAR(left.tips_rad, std::atan(0.5 / 0.55), 1e-9);
  EXPECT_EQ(left.tips_about, TipEdge::left);  // heading left of uphill, the slope falls to the left
}

// Across, the drift is downhill: travel points to the low side of the heading. No slope steeper than the friction of the ground with its
// cohesion under the wheels holds a vehicle in any heading.
TEST(AnyHeading, DriftsDownhillAndStaysWithinTheFrictionOfTheGround) {
  const TurningMachine m = machine(carrier());
  for (const HeadingLimit& h : slopes_by_heading(m, {.headings_rad = evenly_round(8)})) {
    const bool level_only = h.largest.solve.status == base::SolveStatus::no_solution;
    ASSERT_FALSE(level_only) << h.heading_rad / kDeg;
    EXPECT_TRUE(h.largest.solve.converged()) << h.heading_rad / kDeg << " " << name(h.largest.factor);
    EXPECT_LE(h.working.gradient_rad, h.largest.gradient_rad + 0.01 * kDeg) << h.heading_rad / kDeg;
    EXPECT_GT(h.working.gradient_rad, 1 * kDeg) << h.heading_rad / kDeg;
    const double across = std::sin(h.heading_rad);  // positive: the slope falls to the left
    if (std::abs(across) > 0.1) { EXPECT_GT(h.largest.drift_rad * across, 0) << h.heading_rad / kDeg; }
    EXPECT_LT(h.largest.gradient_rad, 45 * kDeg) << h.heading_rad / kDeg;
  }
}

// Newton's steps that ran out beside the last slope that balances used to be told as "no numerical answer", straight up above all.
TEST(AnyHeading, NamesWhatEndsTheSteepestSlopeOfALoadOffTheMiddle) {
  vehicle::Vehicle v = test::carrier(0.28, 0.2);
  v.bodies[0] = {.mass_kg = 390, .cg_x_m = 0.62, .cg_z_m = 0.56};
  v.payload = {{.name = "mast", .mass_kg = 30, .x_m = 0.4, .y_m = 0.1, .z_m = 1.1}};
  for (vehicle::Axle& a : v.axles) {
    a.track_width_m = 1.05;
    a.wheel.grouser_height_m = 0.03;
    a.wheel.grouser_count = 16;
  }
  soil::Soil lete = sand();
  lete.density_kg_m3.reset();
  for (const soil::SlipSinkage rule : {soil::SlipSinkage::none, soil::SlipSinkage::stretch}) {
    base::Problems problems;
    const auto m = make_turning_machine(v, lete, 9.81, rule, {}, problems);
    ASSERT_TRUE(m);
    const HeadingLimit h = at(*m, 0);
    EXPECT_TRUE(h.largest.solve.converged()) << name(h.largest.factor);
    EXPECT_EQ(h.largest.factor, HeadingFactor::traction);
  }
}

TEST(AnyHeading, SaysWhereNotEvenLevelGroundIsTravelled) {
  vehicle::Vehicle v = carrier();
  v.bodies[0].mass_kg = 40000;
  const HeadingLimit h = at(machine(v), 0.3);
  EXPECT_EQ(h.largest.gradient_rad, 0);
  EXPECT_EQ(h.largest.solve.status, base::SolveStatus::no_solution);
  EXPECT_EQ(h.largest.factor, HeadingFactor::carrying);
}

}  // namespace
}  // namespace hardpan::performance
