// SPDX-License-Identifier: Apache-2.0
#include "performance/turn_on_soil.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "performance/equilibrium.hpp"
#include "performance/test_carrier.hpp"
#include "performance/test_slopes.hpp"

namespace hardpan::performance {
namespace {

using vehicle::DriveControl;
using vehicle::SteeringKind;
constexpr double kDeg = std::numbers::pi / 180;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kWeight = 420 * 9.81;

// An invented carrier on rigid wheels and an invented loose sand.
vehicle::Vehicle carrier(vehicle::Steering steering = {}) {
  vehicle::Vehicle v = test::carrier(0.25);
  v.steering = std::move(steering);
  return v;
}
vehicle::Steering front_steered() { return {.kind = SteeringKind::ackermann, .largest_angle_rad = 35 * kDeg, .steered_axles = {"front"}}; }
vehicle::Steering bending() { return {.kind = SteeringKind::frame, .largest_angle_rad = 40 * kDeg, .joint_x_m = 0.65}; }
soil::Soil sand() { return test::loose_sand(); }
TurningMachine machine(const vehicle::Vehicle& v, const soil::Soil& soil = sand()) { return test::turning_on(v, soil); }

// Another solution of the same balances: equilibrium.cpp, by passes over axle loads. The body leans by the difference of two sinkages, some
// 1e-3 rad, which slopes and turns count from unloaded wheels and with the whole height; hence no closer than that times the height of the centre of gravity over the wheelbase.
TEST(TurnOnSoil, StraightAheadAgreesWithTheEquilibriumOfStraightTravel) {
  const TurningMachine m = machine(carrier());
  for (const double gradient : {0.0, 5 * kDeg, 10 * kDeg}) {
    const TurnState s = turn_on_soil(m, {.gradient_rad = gradient});
    ASSERT_TRUE(s.balanced());
    Workspace space;
    State straight;
    const double slip = s.wheels[0].answer.slip_ratio;
    const Case c{.machine = &m.machine, .slip_ratio = slip, .question = Question::pull, .gradient_rad = gradient};
    solve_cases({&c, 1}, {&straight, 1}, space);
    ASSERT_TRUE(straight.balanced());
    EXPECT_NEAR(straight.hitch_pull_n, 0, 2e-4 * kWeight);
    double normal = 0, moment = 0;
    for (const WheelInTurn& w : s.wheels) {
      EXPECT_NEAR(w.load_n, straight.wheel[w.place.axle].load_n, 1e-3 * kWeight);
      EXPECT_NEAR(w.torque_n_m, straight.wheel[w.place.axle].torque_n_m, 3e-4 * kWeight * 0.25);
      EXPECT_NEAR(w.across_n, 0, 1e-4);
      EXPECT_NEAR(w.rad_per_m, 1 / (0.25 * (1 - slip)), 1e-5);
      normal += w.load_n;
      moment += w.torque_n_m - 0.25 * w.along_n;
    }
    EXPECT_NEAR(normal, kWeight * std::cos(gradient), 1e-6);
    // METHODS 4.2 by hand: N_f L = W cos a l_r - W sin a h - sum(T - DP r), but for the lean.
    const double front = (kWeight * (std::cos(gradient) * 0.62 - std::sin(gradient) * 0.55) - moment) / 1.3;
    EXPECT_NEAR(s.wheels[2].load_n + s.wheels[3].load_n, front, 2e-3 * kWeight);
    EXPECT_GT(moment / 1.3, 0.02 * kWeight);  // it counts
    EXPECT_NEAR(s.drift_rad, 0, 1e-9);
  }
}

// The soil's moments of wheels at any steering angle: taken about the foot of the weight, loads and moments leave nothing.
TEST(TurnOnSoil, LoadsBalanceWeightSlopeAndTheMomentOfTheSoil) {
  for (const vehicle::Steering& steering : {vehicle::Steering{}, front_steered()}) {
    const TurningMachine m = machine(carrier(steering));
    const double gradient = 6 * kDeg, heading = 50 * kDeg;
    const TurnState s = turn_on_soil(m, {.radius_m = 6, .gradient_rad = gradient, .heading_rad = heading});
    ASSERT_TRUE(s.balanced());
    double normal = 0, about_y = 0, about_x = 0;
    for (const WheelInTurn& w : s.wheels) {
      const double moment = w.torque_n_m - 0.25 * w.along_n;
      normal += w.load_n;
      about_y += w.load_n * (w.place.x_m - 0.62) + moment * std::cos(w.place.steer_rad);
      about_x += w.load_n * w.place.y_m + moment * std::sin(w.place.steer_rad);
    }
    const double down = kWeight * std::sin(gradient) * 0.55;
    EXPECT_NEAR(normal, kWeight * std::cos(gradient), 1e-6);
    EXPECT_NEAR(about_y, -down * std::cos(heading), 2e-3 * kWeight);  // the lean again
    EXPECT_NEAR(about_x, down * std::sin(heading), 2e-3 * kWeight);
  }
}

TEST(TurnOnSoil, AVeryLargeRadiusIsStraightTravel) {
  for (const vehicle::Steering& steering : {vehicle::Steering{}, front_steered(), bending()}) {
    const TurningMachine m = machine(carrier(steering));
    const TurnState far = turn_on_soil(m, {.radius_m = 1e6}), straight = turn_on_soil(m, {});
    ASSERT_TRUE(far.balanced() && straight.balanced());
    EXPECT_NEAR(far.work_j_per_m, straight.work_j_per_m, 1e-5 * straight.work_j_per_m);
    for (std::size_t i = 0; i < 4; ++i) EXPECT_NEAR(far.wheels[i].torque_n_m, straight.wheels[i].torque_n_m, 1e-3);
  }
}

// Right turns and the other side of the slope: everything mirrored.
TEST(TurnOnSoil, RightIsTheMirrorOfLeft) {
  for (const vehicle::Steering& steering : {vehicle::Steering{}, front_steered(), bending()}) {
    const TurningMachine m = machine(carrier(steering));
    for (const double gradient : {0.0, 6 * kDeg}) {
      const TurnState left = turn_on_soil(m, {.radius_m = 4, .gradient_rad = gradient, .heading_rad = 70 * kDeg});
      const TurnState right = turn_on_soil(m, {.radius_m = -4, .gradient_rad = gradient, .heading_rad = -70 * kDeg});
      ASSERT_TRUE(left.balanced() && right.balanced());
      EXPECT_NEAR(left.work_j_per_m, right.work_j_per_m, 1e-5 * left.work_j_per_m);
      EXPECT_NEAR(left.drift_rad, -right.drift_rad, 1e-6);
      EXPECT_NEAR(left.inner_angle_rad, right.inner_angle_rad, 1e-6);
      for (std::size_t i = 0; i < 4; ++i) {
        EXPECT_NEAR(left.wheels[i].load_n, right.wheels[i ^ 1].load_n, 1e-5);
        EXPECT_NEAR(left.wheels[i].torque_n_m, right.wheels[i ^ 1].torque_n_m, 2e-3);
        EXPECT_NEAR(left.wheels[i].across_n, -right.wheels[i ^ 1].across_n, 1e-2);
      }
    }
  }
}

// Work at the drives = work of the wheels' forces on the vehicle, which is what lifts it, + what each wheel leaves in the ground, >= 0.
// Speeds of wheel centres are taken from the turning centre told, not from the solution's own unknowns.
TEST(TurnOnSoil, TorqueTimesSpeedIsLiftAndWorkLeftInTheGround) {
  for (const DriveControl control : {DriveControl::common_speed, DriveControl::shared_torque}) {
    for (const vehicle::Steering& steering : {vehicle::Steering{}, front_steered(), bending()}) {
      vehicle::Vehicle v = carrier(steering);
      v.control = control;
      const TurningMachine m = machine(v);
      for (const double heading : {0.0, 90 * kDeg, 180 * kDeg, -90 * kDeg}) {
        const TurnState s = turn_on_soil(m, {.radius_m = 5, .gradient_rad = 5 * kDeg, .heading_rad = heading});
        ASSERT_TRUE(s.balanced()) << name(s.status);
        double drives = 0, on_vehicle = 0, normal = 0;
        for (const WheelInTurn& w : s.wheels) {
          const double c = std::cos(w.place.steer_rad), sn = std::sin(w.place.steer_rad);
          const double vx = 1 - w.place.y_m / 5, vy = (w.place.x_m - s.centre_x_m) / 5;
          const double work = (w.along_n * c - w.across_n * sn) * vx + (w.along_n * sn + w.across_n * c) * vy;
          drives += w.torque_n_m * w.rad_per_m;
          on_vehicle += work;
          normal += w.load_n;
          EXPECT_GE(w.torque_n_m * w.rad_per_m - work, 0);
        }
        EXPECT_NEAR(normal, kWeight * std::cos(5 * kDeg), 1e-6);
        EXPECT_NEAR(drives, s.work_j_per_m, 1e-9 * std::abs(drives));
        EXPECT_NEAR(on_vehicle, s.slope_work_j_per_m, 3e-8 * kWeight);
      }
      // Straight up at a drift of nothing: W sin a.
      const TurnState up = turn_on_soil(m, {.gradient_rad = 5 * kDeg});
      EXPECT_NEAR(up.slope_work_j_per_m, kWeight * std::sin(5 * kDeg), 1e-6 * kWeight);
    }
  }
}

TEST(TurnOnSoil, ALargerRadiusNeedsNoMoreTorque) {
  const TurningMachine m = machine(carrier());
  const auto states = turns_on_soil(m, {.radius_m = 1}, {1.5, 2, 3, 5, 10, 20, 50, 200, kInfinity});
  for (std::size_t i = 0; i < states.size(); ++i) {
    ASSERT_TRUE(states[i].balanced());
    if (i == 0) continue;
    EXPECT_LT(states[i].largest_torque_n_m, states[i - 1].largest_torque_n_m);
    EXPECT_LT(states[i].work_j_per_m, states[i - 1].work_j_per_m);
  }
}

// Wheels that share a torque and hardly slip follow their steering: at 20 m within 1 % of the geometry.
TEST(TurnOnSoil, FollowsItsSteeringWhereTheDriveLetsItsWheelsRoll) {
  for (const vehicle::Steering& steering : {front_steered(), bending()}) {
    vehicle::Vehicle v = carrier(steering);
    v.control = DriveControl::shared_torque;
    const TurnState s = turn_on_soil(machine(v), {.radius_m = 20});
    ASSERT_TRUE(s.balanced());
    const Turn t = turn_at(v, 20);
    EXPECT_NEAR(s.inner_angle_rad, t.inner_angle_rad, 0.01 * t.inner_angle_rad);
    EXPECT_NEAR(s.centre_x_m, t.centre_x_m, 0.02);
  }
}

TEST(TurnOnSoil, FrontWheelsAloneUndrivenRollFree) {
  vehicle::Vehicle v = carrier(front_steered());
  v.axles[1].drive.driven = false;
  const TurnState s = turn_on_soil(machine(v), {.radius_m = 8});
  ASSERT_TRUE(s.balanced());
  for (const WheelInTurn& w : s.wheels) {
    if (w.place.axle == 1) {
      EXPECT_NEAR(w.torque_n_m, 0, 1e-5);
    } else {
      EXPECT_GT(w.torque_n_m, 0);
    }
  }
}

TEST(TurnOnSoil, SmallestTurnSaysWhatStopsIt) {
  const SmallestTurn ground = smallest_turn(machine(carrier()), {.radius_m = 1});
  EXPECT_EQ(ground.limit, TurnLimit::ground);
  EXPECT_TRUE(ground.solve.converged());
  EXPECT_TRUE(ground.at_limit.goes());
  EXPECT_LT(ground.fails_m, ground.goes_m);
  EXPECT_LE(ground.goes_m - ground.fails_m, 1.001e-3 * ground.goes_m);
  // On the spot neither side drags the other along.
  EXPECT_TRUE(turn_on_soil(machine(carrier()), {.radius_m = 0}).goes());

  vehicle::Vehicle weak = carrier();
  for (vehicle::Axle& a : weak.axles) a.drive.peak_torque_n_m = 60;
  const SmallestTurn torque = smallest_turn(machine(weak), {.radius_m = 1});
  EXPECT_EQ(torque.limit, TurnLimit::torque);
  EXPECT_GT(torque.goes_m, ground.goes_m);
  EXPECT_LE(torque.at_limit.largest_torque_n_m, 60);
  EXPECT_GT(turn_on_soil(machine(weak), {.radius_m = torque.fails_m}).largest_torque_n_m, 60);
  for (vehicle::Axle& a : weak.axles) a.drive.peak_torque_n_m = 10;
  const SmallestTurn none = smallest_turn(machine(weak), {.radius_m = 1});
  EXPECT_EQ(none.limit, TurnLimit::torque);
  EXPECT_EQ(none.fails_m, kInfinity);
  EXPECT_EQ(none.solve.status, base::SolveStatus::no_solution);

  // All wheels at one speed resist the turn: it takes more radius than the steering's own geometry.
  const vehicle::Vehicle steered = carrier(front_steered());
  const SmallestTurn stop = smallest_turn(machine(steered), {.radius_m = 1});
  EXPECT_EQ(stop.limit, TurnLimit::steering);
  EXPECT_GT(stop.goes_m, smallest_radius_m(steered));
  EXPECT_NEAR(stop.at_limit.share_of_largest_angle, 1, 2e-3);
}

// The last try of a way that ended used to run out of Newton's steps instead of stalling, and the limit was then called "not converged". Upland sandy loam
// (Wong's table, recalled) with slip sinkage.
TEST(TurnOnSoil, AWayThatEndsSaysThatTheGroundGivesOut) {
  vehicle::Vehicle v = carrier();
  v.bodies[0] = {.mass_kg = 400, .cg_x_m = 0.6, .cg_z_m = 0.5};
  soil::Soil loam;
  loam.bearing = soil::bekker(1.1, 74.6e3, 2080e3);
  loam.shear = soil::Shear{.cohesion_pa = 3300, .tan_phi = std::tan(33.7 * kDeg), .shear_modulus_m = 0.02};
  base::Problems problems;
  const auto m = make_turning_machine(v, loam, 9.81, soil::SlipSinkage::stretch, {}, problems);
  ASSERT_TRUE(m);
  const SmallestTurn t = smallest_turn(*m, {});
  EXPECT_TRUE(t.solve.converged()) << base::name(t.solve.status);
  EXPECT_EQ(t.limit, TurnLimit::ground);
  EXPECT_TRUE(turn_on_soil(*m, {.radius_m = t.goes_m}).goes());
  EXPECT_EQ(turn_on_soil(*m, {.radius_m = 0.99 * t.fails_m}).status, TurnStatus::no_balance);
}

TEST(TurnOnSoil, PowerLimitCountsOnlyAtASpeed) {
  vehicle::Vehicle v = carrier();
  for (vehicle::Axle& a : v.axles) a.drive.peak_power_w = 200;
  const TurningMachine m = machine(v);
  EXPECT_EQ(turn_on_soil(m, {.radius_m = 5}).power_share, 0);
  const TurnState slow = turn_on_soil(m, {.radius_m = 5, .speed_m_s = 0.01}), fast = turn_on_soil(m, {.radius_m = 5, .speed_m_s = 1});
  EXPECT_TRUE(slow.goes());
  ASSERT_TRUE(fast.balanced());
  EXPECT_FALSE(fast.goes());
  // The outer side carries m v^2 h / (R track) more than at rest: 420 * 0.55 / 5 N.
  EXPECT_NEAR(fast.wheels[1].load_n + fast.wheels[3].load_n - 0.5 * kWeight, 420 * 0.55 / 5.0, 0.05 * 420 * 0.55 / 5.0);
}

TEST(TurnOnSoil, ASlopeTooSteepSaysSoAndGivesNoNumber) {
  const TurnState s = turn_on_soil(machine(carrier()), {.radius_m = 5, .gradient_rad = 35 * kDeg});
  EXPECT_EQ(s.status, TurnStatus::no_balance);
  EXPECT_TRUE(s.wheels.empty());
  EXPECT_TRUE(std::isnan(s.work_j_per_m));
  EXPECT_EQ(turn_on_soil(machine(carrier()), {.radius_m = 5, .gradient_rad = 60 * kDeg, .heading_rad = 90 * kDeg}).status, TurnStatus::tips_over);
  EXPECT_EQ(smallest_turn(machine(carrier()), {.radius_m = 5, .gradient_rad = 35 * kDeg}).limit, TurnLimit::ground);
}

// A ridge from the rear left to the front right wheel: these two carry more and more, to all of it.
TEST(TurnOnSoil, ACrestAcrossADiagonalLoadsItsTwoWheels) {
  const TurningMachine m = machine(carrier());
  const double line = std::atan2(-1.0, 1.3);
  double before = 0;
  for (const double fall : {0.0, 0.2 * kDeg, 0.5 * kDeg, 1 * kDeg}) {
    const TurnState s = turn_on_soil(m, {.radius_m = 30, .crest = Crest{fall, line}});
    ASSERT_TRUE(s.balanced()) << name(s.status) << fall;
    const double diagonal = s.wheels[0].load_n + s.wheels[3].load_n, other = s.wheels[1].load_n + s.wheels[2].load_n;
    EXPECT_NEAR(diagonal + other, kWeight, 1e-6);
    EXPECT_GT(diagonal, before + 1);
    before = diagonal;
  }
  EXPECT_GT(before, 0.6 * kWeight);
}

TEST(TurnOnSoil, CrabIsRefusedToTurnAndTravelsStraight) {
  base::Problems problems;
  const vehicle::Vehicle v = carrier({.kind = SteeringKind::crab, .largest_angle_rad = 0.5});
  EXPECT_FALSE(make_turning_machine(v, sand(), 9.81, soil::SlipSinkage::none, {.key = "vehicle"}, problems).has_value());
  EXPECT_TRUE(problems.refused());
  base::Problems none;
  const auto crab = make_straight_machine(v, sand(), 9.81, soil::SlipSinkage::none, {.key = "vehicle"}, none);
  ASSERT_TRUE(crab.has_value());
  // Its wheels straight, it holds a slope as the same vehicle that steers by its sides.
  const TurnState across = StraightOnSlopes(*crab, 90 * kDeg).at(8 * kDeg), skid = StraightOnSlopes(machine(carrier()), 90 * kDeg).at(8 * kDeg);
  ASSERT_TRUE(across.goes());
  EXPECT_NEAR(across.drift_rad, skid.drift_rad, 1e-9);
}

}  // namespace
}  // namespace hardpan::performance
