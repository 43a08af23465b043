// SPDX-License-Identifier: Apache-2.0
// Vehicles of several bodies on slopes of any heading and in turns, on soil.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "performance/any_heading.hpp"
#include "performance/test_chains.hpp"
#include "performance/test_slopes.hpp"
#include "performance/tip_over_joints.hpp"
#include "performance/travel.hpp"

namespace hardpan::performance {
namespace {

using vehicle::Freedom;
using vehicle::SteeringKind;
constexpr double kDeg = std::numbers::pi / 180, kGravity = 9.81;

soil::Soil sand() { return test::loose_sand(); }
TurningMachine machine(const vehicle::Vehicle& v) { return test::turning_on(v); }

vehicle::Steering front_steered() { return {.kind = SteeringKind::ackermann, .largest_angle_rad = 35 * kDeg, .steered_axles = {"front"}}; }

void expect_like(const TurnState& a, const TurnState& b, double weight_n) {
  ASSERT_TRUE(a.balanced());
  ASSERT_TRUE(b.balanced());
  ASSERT_EQ(a.wheels.size(), b.wheels.size());
  for (std::size_t w = 0; w < a.wheels.size(); ++w) EXPECT_NEAR(a.wheels[w].load_n, b.wheels[w].load_n, 1e-6 * weight_n) << w;
  EXPECT_NEAR(a.drift_rad, b.drift_rad, 1e-6);
  EXPECT_NEAR(a.largest_torque_n_m, b.largest_torque_n_m, 1e-6 * weight_n);
  if (!std::isfinite(a.steering_radius_m)) return;
  EXPECT_NEAR(a.steering_radius_m / b.steering_radius_m, 1, 1e-5);
}

TEST(ChainSlopes, ABodyCutInTwoAndJoinedRigidlyTravelsAndTurnsAsTheOneBody) {
  for (const bool steered : {false, true}) {
    vehicle::Vehicle one = test::long_carrier();
    if (steered) one.steering = front_steered();
    const TurningMachine m = machine(one), parts = machine(test::cut(one));
    ASSERT_FALSE(parts.stance.bodies.empty());
    for (const double heading : {0.0, 70.0, 150.0, 250.0}) {
      StraightOnSlopes a(m, heading * kDeg), b(parts, heading * kDeg);
      for (const double gradient : {0.05, 0.12}) expect_like(a.at(gradient), b.at(gradient), m.machine.weight_n);
    }
    for (const double radius : {8.0, -5.0}) {
      const TurnCase turn{.radius_m = radius, .gradient_rad = 0.08, .heading_rad = 0.7, .speed_m_s = 1};
      expect_like(turn_on_soil(m, turn), turn_on_soil(parts, turn), m.machine.weight_n);
    }
    const HeadingQuestion question{.headings_rad = {0.0, 110 * kDeg}};
    const auto limits = slopes_by_heading(m, question), of_parts = slopes_by_heading(parts, question);
    for (std::size_t i = 0; i < limits.size(); ++i) {
      EXPECT_NEAR(limits[i].working.gradient_rad, of_parts[i].working.gradient_rad, 1e-6);
      EXPECT_EQ(limits[i].working.factor, of_parts[i].working.factor);
      EXPECT_NEAR(limits[i].largest.gradient_rad, of_parts[i].largest.gradient_rad, 1e-6);
      EXPECT_NEAR(limits[i].tips_rad, of_parts[i].tips_rad, 1e-9);
      EXPECT_NEAR(limits[i].tips_working_rad, of_parts[i].tips_working_rad, 1e-7);
    }
  }
}

// One body that bends keeps the weight of each half over its own axle; two bodies with just these centres of gravity, joined rigidly in roll and pitch, are the same.
vehicle::Vehicle bending(Freedom roll) {
  vehicle::Vehicle v = test::carrier(0.25);
  v.steering = {.kind = SteeringKind::frame, .largest_angle_rad = 40 * kDeg, .joint_x_m = 0.65};
  const double front = 420 * 0.62 / 1.3;
  v.bodies = {{.name = "rear half", .mass_kg = 420 - front, .cg_x_m = 0, .cg_z_m = 0.7}, {.name = "front half", .mass_kg = front, .cg_x_m = 1.3}};
  v.bodies[1].cg_z_m = (420 * 0.55 - v.bodies[0].mass_kg * 0.7) / front;
  v.axles[1].body = 1;
  v.joints = {{.x_m = 0.65, .z_m = 0.4, .roll = {.freedom = roll}, .yaw = {.freedom = Freedom::elastic, .stiffness_n_m_per_rad = 1e5}}};
  return v;
}

TEST(ChainSlopes, TwoHalvesOfAFrameBendAsTheOneBodyThatBends) {
  vehicle::Vehicle one = test::carrier(0.25);
  one.steering = {.kind = SteeringKind::frame, .largest_angle_rad = 40 * kDeg, .joint_x_m = 0.65};
  const TurningMachine m = machine(one), halves = machine(bending(Freedom::rigid));
  for (const double radius : {6.0, -3.0}) {
    for (const double gradient : {0.0, 0.1}) {
      const TurnCase turn{.radius_m = radius, .gradient_rad = gradient, .heading_rad = 1.2};
      expect_like(turn_on_soil(m, turn), turn_on_soil(halves, turn), m.machine.weight_n);
    }
  }
  const auto a = smallest_turn(m, {.radius_m = 1}), b = smallest_turn(halves, {.radius_m = 1});
  EXPECT_NEAR(a.goes_m / b.goes_m, 1, 2e-3);
  EXPECT_EQ(a.limit, b.limit);
}

// By hand: bent by g, the heavy high rear half on its own axle. Its sides differ by 2 W sin a h / t less what the soil's moment moves; held in roll the whole height
// of both counts. So the rear's sides differ by more than the front's where each is left to itself, in the ratio of weight times height.
TEST(ChainSlopes, ABentFrameThatRollsFreelyLoadsEachHalfByItsOwnHeight) {
  const auto difference = [](const TurnState& s, std::size_t axle) { return s.wheels[2 * axle].load_n - s.wheels[2 * axle + 1].load_n; };
  const TurningMachine loose = machine(bending(Freedom::free)), held = machine(bending(Freedom::rigid));
  const TurnCase across{.gradient_rad = 0.1, .heading_rad = 90 * kDeg};   // downhill on the left
  const TurnState a = turn_on_soil(loose, across), b = turn_on_soil(held, across);
  ASSERT_TRUE(a.balanced());
  ASSERT_TRUE(b.balanced());
  const vehicle::Vehicle v = bending(Freedom::free);
  const auto by_hand = [&](std::size_t body) { return 2 * v.bodies[body].mass_kg * kGravity * std::sin(0.1) * v.bodies[body].cg_z_m; };
  EXPECT_NEAR(difference(a, 0), by_hand(0), 0.12 * by_hand(0));
  EXPECT_NEAR(difference(a, 1), by_hand(1), 0.12 * by_hand(1));
  // The whole is the same either way.
  EXPECT_NEAR(difference(a, 0) + difference(a, 1), difference(b, 0) + difference(b, 1), 0.02 * (by_hand(0) + by_hand(1)));
  EXPECT_LT(difference(b, 0), difference(a, 0) - 0.05 * by_hand(0));
}

TEST(ChainSlopes, LeftAndRightTurnsAreMirrorImages) {
  for (const Freedom roll : {Freedom::free, Freedom::rigid}) {
    const TurningMachine m = machine(bending(roll));
    for (const double heading : {0.0, 0.9, 2.5}) {
      const TurnState left = turn_on_soil(m, {.radius_m = 4, .gradient_rad = 0.08, .heading_rad = heading}), right = turn_on_soil(m, {.radius_m = -4, .gradient_rad = 0.08, .heading_rad = -heading});
      ASSERT_TRUE(left.balanced());
      ASSERT_TRUE(right.balanced());
      double sum = 0;
      for (std::size_t w = 0; w < 4; ++w) {
        EXPECT_NEAR(left.wheels[w].load_n, right.wheels[w ^ 1].load_n, 1e-5 * m.machine.weight_n);
        sum += left.wheels[w].load_n;
      }
      EXPECT_NEAR(sum, m.machine.weight_n * std::cos(0.08), 1e-7 * m.machine.weight_n);
      EXPECT_NEAR(left.work_j_per_m, right.work_j_per_m, 1e-4 * std::abs(left.work_j_per_m));
    }
  }
}

// Another solution of the same question, which knows every wheel's own grip and moment and no lean: straight travel up the slope.
TEST(ChainSlopes, StraightUpIsNearlyTheGradientOfStraightTravelOfTheChain) {
  for (const bool drives : {true, false}) {   // the trailer: where it rolls it pulls at the joint, 1.6 deg were told too much
    SCOPED_TRACE(drives);
    vehicle::Vehicle v = test::with_trailer(Freedom::free);
    v.axles[0].drive.driven = drives;
    for (auto& a : v.axles) a.wheel.radius_m = 0.25;
    const HeadingLimit up = slopes_by_heading(machine(v), {.headings_rad = {0}}).front();
    base::Problems problems;
    const auto on = on_soil(v, sand(), kGravity, soil::SlipSinkage::none, {}, problems);
    ASSERT_TRUE(on);
    Workspace space;
    State s;
    const Case c{.machine = &on->plain, .slip_ratio = 0.2, .question = Question::gradient};
    solve_cases({&c, 1}, {&s, 1}, space);
    ASSERT_TRUE(s.balanced());
    EXPECT_EQ(up.working.factor, HeadingFactor::working_slip);
    EXPECT_NEAR(up.working.gradient_rad, s.gradient_rad, 0.1 * kDeg);
  }
}

// By hand, as tip_over_joints_test: the trailer tips by itself at atan(0.5 / 0.8), whatever the carrier could bear.
TEST(ChainSlopes, AcrossASlopeItTipsAsTheTrailerDoes) {
  const HeadingLimit across = slopes_by_heading(machine(test::with_trailer(Freedom::free)), {.headings_rad = {90 * kDeg}}).front();
  EXPECT_NEAR(across.tips_rad, std::atan(0.5 / 0.8), 1e-5);
  EXPECT_EQ(across.tips_about, TipEdge::left);
  EXPECT_NEAR(across.tips_working_rad, kWorkingShare * across.tips_rad, 1e-5);
  EXPECT_GT(across.working.gradient_rad, 0.05);
  EXPECT_LE(across.largest.gradient_rad, across.tips_rad);
}

// A high trailer falls before the ground gives out, on wheels that settle earlier than on rigid ones. The soil's own moment, some 3 cm of the load's place, leaves
// the joint a part of the trailer to hold, which moves that slope a little.
TEST(ChainSlopes, ASlopeThatTipsATrailerEndsThere) {
  vehicle::Vehicle v = test::with_trailer(Freedom::free);
  v.bodies[0].cg_z_m = 2.2;
  const TurningMachine m = machine(v);
  const HeadingLimit across = slopes_by_heading(m, {.headings_rad = {90 * kDeg}}).front();
  EXPECT_EQ(across.largest.factor, HeadingFactor::tips_over);
  EXPECT_NEAR(across.tips_rad, std::atan(0.5 / 2.2), 1e-5);
  EXPECT_LT(across.largest.gradient_rad, across.tips_rad);
  EXPECT_NEAR(across.largest.gradient_rad, settled_tip_over(m.stance, kFallLeft, {}).tip.angle_rad, 0.01);
}

}  // namespace
}  // namespace hardpan::performance
