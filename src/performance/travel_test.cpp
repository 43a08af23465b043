// SPDX-License-Identifier: Apache-2.0
#include "performance/travel.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "performance/possible_runs.hpp"
#include "performance/prediction.hpp"
#include "performance/test_carrier.hpp"
#include "performance/test_chains.hpp"

namespace hardpan::performance {
namespace {

using test::carrier;
using test::sand;
constexpr double kDeg = std::numbers::pi / 180;

OnSoil on(const vehicle::Vehicle& v, const soil::Soil& s, soil::SlipSinkage rule = soil::SlipSinkage::stretch) {
  base::Problems problems;
  const auto o = on_soil(v, s, 9.81, rule, {}, problems);
  EXPECT_TRUE(o) << (problems.list().empty() ? "" : problems.list().front().text());
  return *o;
}

Gradient at_slip(const OnSoil& o, double slip) {
  Workspace space;
  Gradient g;
  gradients_at_slip({&o, 1}, slip, {&g, 1}, space);
  return g;
}
Gradient largest(const OnSoil& o) {
  Workspace space;
  Gradient g;
  maximum_gradients({&o, 1}, {&g, 1}, space);
  return g;
}
Travel travel(const OnSoil& o, double gradient, double pull = 0) {
  Workspace space;
  Travel t;
  travels({&o, 1}, gradient, pull, {&t, 1}, space);
  return t;
}

// The oracle: dense scan of the climbed gradient over slip with the single-case solver.
TEST(Gradients, TheLargestOverSlipIsThatOfADenseScan) {
  for (const auto rule : {soil::SlipSinkage::none, soil::SlipSinkage::stretch}) {
    const OnSoil o = on(carrier(), sand(), rule);
    double best = -2;
    for (double s = 0.01; s <= 0.95; s += 0.002) {
      Workspace space;
      double low = 2;
      for (const Machine* m : {&o.plain, o.sinking ? &*o.sinking : &o.plain}) {
        const Case c{.machine = m, .slip_ratio = s, .question = Question::gradient};
        State x;
        solve_cases({&c, 1}, {&x, 1}, space);
        low = std::min(low, x.balanced() ? x.gradient_rad : -2);
      }
      best = std::max(best, low);
    }
    EXPECT_NEAR(largest(o).gradient_rad, best, 2e-5);
  }
}

// Likewise down: at every slip the soil counts that holds back less. With slip sinkage the wheels plough deeper and hold better (here by 6 deg), which is not counted on.
TEST(Gradients, TheSteepestDescentHeldCountsTheLesserHold) {
  vehicle::Vehicle v = carrier();
  v.bodies[0].cg_z_m = 0.3;   // far from tipping
  soil::Soil ground = sand(0);
  ground.bearing = soil::bekker(1.0, 2000, 4e6);
  const OnSoil o = on(v, ground);
  const auto steepest = [&](bool plain, bool sinking) {
    double best = 0;
    for (int i = 1; i <= 95; ++i) {
      Workspace space;
      double held = 2;
      for (const Machine* m : {plain ? &o.plain : nullptr, sinking ? &*o.sinking : nullptr}) {
        if (!m) continue;
        const Case c{.machine = m, .slip_ratio = -0.01 * i, .question = Question::gradient};
        State x;
        solve_cases({&c, 1}, {&x, 1}, space);
        held = std::min(held, x.balanced() ? -x.gradient_rad : 0);
      }
      best = std::max(best, held);
    }
    return -best;
  };
  Workspace space;
  Gradient g;
  maximum_descents({&o, 1}, {&g, 1}, space);
  EXPECT_NEAR(g.gradient_rad, steepest(true, true), 2e-5);
  EXPECT_NEAR(g.gradient_rad, steepest(true, false), 2e-5);
  EXPECT_LT(steepest(false, true), g.gradient_rad - 5 * kDeg);
  // And travel on a descent asks the slip that the lesser hold needs.
  const Travel t = travel(o, -18 * kDeg), alone = travel(on(v, ground, soil::SlipSinkage::none), -18 * kDeg);
  ASSERT_TRUE(t.goes && alone.goes);
  EXPECT_NEAR(t.slip_ratio, alone.slip_ratio, 1e-6);
}

TEST(Gradients, NeverAboveTheFrictionBoundOfCohesionlessGround) {
  soil::Soil s = sand();
  s.shear->cohesion_pa = 0;
  for (const double phi : {25.0, 30.0, 35.0}) {
    s.shear->tan_phi = std::tan(phi * kDeg);
    EXPECT_LT(largest(on(carrier(), s)).gradient_rad, phi * kDeg);
  }
}

TEST(Gradients, ATorqueLimitCutsAndIsNamed) {
  vehicle::Vehicle v = carrier();
  const Gradient free = at_slip(on(v, sand()), 0.2);
  ASSERT_EQ(free.factor, LimitingFactor::traction);
  const double torque = std::max(free.state.wheel[0].torque_n_m, free.state.wheel[1].torque_n_m);
  for (auto& a : v.axles) a.drive.peak_torque_n_m = 0.8 * torque;
  const Gradient cut = at_slip(on(v, sand()), 0.2);
  EXPECT_EQ(cut.factor, LimitingFactor::torque);
  EXPECT_LT(cut.gradient_rad, free.gradient_rad);
  EXPECT_NEAR(std::max(cut.state.wheel[0].torque_n_m, cut.state.wheel[1].torque_n_m), 0.8 * torque, 0.005 * torque);
}

// By hand: four wheels of radius r can push at most 4 T / r, whatever the ground lets.
TEST(Gradients, PullAtASlipStopsWhereTheDrivesDo) {
  vehicle::Vehicle v = carrier();
  const auto pull = [&](std::optional<double> peak) {
    for (auto& a : v.axles) a.drive.peak_torque_n_m = peak;
    const OnSoil o = on(v, sand());
    Workspace space;
    State s;
    states_within_torque({&o, 1}, 0.2, 0, {&s, 1}, space);
    EXPECT_TRUE(s.balanced());
    return s;
  };
  const State free = pull(std::nullopt);
  EXPECT_DOUBLE_EQ(free.slip_ratio, 0.2);
  const double torque = std::max(free.wheel[0].torque_n_m, free.wheel[1].torque_n_m);
  const State cut = pull(0.75 * torque);
  EXPECT_LT(cut.slip_ratio, 0.2);
  EXPECT_NEAR(std::max(cut.wheel[0].torque_n_m, cut.wheel[1].torque_n_m), 0.75 * torque, 1e-4 * torque);
  EXPECT_LT(cut.hitch_pull_n, 4 * 0.75 * torque / 0.3);
  EXPECT_LT(cut.hitch_pull_n, free.hitch_pull_n);
  EXPECT_DOUBLE_EQ(pull(1.01 * torque).hitch_pull_n, free.hitch_pull_n);
}

TEST(Gradients, TravelOnTheGradientOfASlipFindsThatSlipAgain) {
  const OnSoil o = on(carrier(), sand());
  const Gradient g = at_slip(o, 0.15);
  const Travel t = travel(o, g.gradient_rad);
  ASSERT_TRUE(t.goes) << name(t.factor);
  EXPECT_NEAR(t.slip_ratio, 0.15, 1e-5);
}

TEST(Travel, SaysTractionAboveTheLargestGradientAndGoesBelowIt) {
  const OnSoil o = on(carrier(), sand());
  const double a = largest(o).gradient_rad;
  EXPECT_TRUE(travel(o, a - 0.01).goes);
  const Travel stuck = travel(o, a + 0.01);
  EXPECT_FALSE(stuck.goes);
  EXPECT_EQ(stuck.factor, LimitingFactor::traction);
  EXPECT_LT(stuck.largest_pull_n, 0);
}

// Three soft axles under a tall body on mud, invented; the rear one is not driven.
OnSoil tall_on_mud() {
  vehicle::Vehicle v = test::long_carrier();
  v.bodies[0] = {.mass_kg = 1286.9, .cg_x_m = 0.638, .cg_z_m = 2.003, .clearance_m = 0.36};
  for (std::size_t k = 0; k < 3; ++k) {
    v.axles[k].position_x_m = std::array{0.0, 1.003, 2.342}[k];
    v.axles[k].wheel = {.radius_m = 0.4, .width_m = 0.24, .flex = vehicle::Flex{.stiffness_n_per_m = 27978}};
    v.axles[k].drive.driven = k > 0;
    v.axles[k].drive.brake = k > 0;
  }
  soil::Soil mud;
  mud.bearing = soil::bekker(0.5, 3000, 60000);
  mud.shear = soil::Shear{.cohesion_pa = 6e3, .tan_phi = std::tan(8 * kDeg), .shear_modulus_m = 0.02};
  return on(v, mud, soil::SlipSinkage::none);
}

// A pull at the hitch in place of what a small slip lacks presses an axle in to the belly on 24.7 deg, which was told not to go while 27.5 deg was held.
TEST(Travel, GoesDownUpToTheDescentHeldWhereAPullInsteadWouldPressAnAxleIn) {
  const OnSoil o = tall_on_mud();
  Workspace space;
  Gradient held;
  maximum_descents({&o, 1}, {&held, 1}, space);
  ASSERT_LT(held.gradient_rad, -20 * kDeg);
  for (const double share : {0.5, 0.7, 0.8, 0.9, 0.98}) {
    const Travel t = travel(o, share * held.gradient_rad);
    ASSERT_TRUE(t.goes) << share << ": " << name(t.factor);
    // The oracle: the slip told holds that gradient by itself.
    State s;
    const Case c{.machine = &o.plain, .slip_ratio = t.slip_ratio, .question = Question::gradient};
    solve_cases({&c, 1}, {&s, 1}, space);
    ASSERT_TRUE(s.balanced());
    EXPECT_NEAR(s.gradient_rad, share * held.gradient_rad, 1e-6);
  }
  EXPECT_FALSE(travel(o, 1.05 * held.gradient_rad).goes);
}

soil::Soil firm_sand() {
  soil::Soil s;
  s.bearing = soil::bekker(1.0, 1400, 820000);
  s.shear = soil::Shear{.cohesion_pa = 0, .tan_phi = std::tan(33 * kDeg), .shear_modulus_m = 0.005};
  return s;
}
vehicle::Vehicle on_small_wheels(std::initializer_list<double> axles_m, const vehicle::Body& body, const vehicle::Wheel& wheel) {
  vehicle::Vehicle v = carrier();
  v.bodies[0] = body;
  vehicle::Axle a = v.axles[0];
  a.wheel = wheel;
  v.axles.clear();
  for (const double x : axles_m) {
    a.position_x_m = x;
    v.axles.push_back(a);
  }
  return v;
}

// Small wheels under a heavy body, invented. Three per cent of slip sink them to the belly, one does not: travel goes on 5 and 15 deg, while no gradient was told.
TEST(Gradients, LessSlipThanTheLeastLookedAtMayClimb) {
  const OnSoil o = on(on_small_wheels({0, 0.897, 1.8}, {.mass_kg = 1052.8, .cg_x_m = 0.972, .cg_z_m = 1.515, .clearance_m = 0.18}, {.radius_m = 0.2, .width_m = 0.12, .flex = vehicle::Flex{.stiffness_n_per_m = 64518}}), firm_sand());
  ASSERT_EQ(largest(o).factor, LimitingFactor::belly_contact);
  for (const Gradient& g : {at_slip(o, 0.2), largest(o)}) {
    ASSERT_GT(g.gradient_rad, 0);
    EXPECT_TRUE(travel(o, 0.98 * g.gradient_rad).goes);
    EXPECT_FALSE(travel(o, g.gradient_rad + 0.5 * kDeg).goes);
  }
}

// Without slip these climb 8.7 deg; held back to travel the level they sink to the belly, so that nothing is climbed.
TEST(Gradients, WhatIsNotReachedFromTheLevelDoesNotCount) {
  const OnSoil o = on(on_small_wheels({0, 1.928}, {.mass_kg = 1143.8, .cg_x_m = 1.142, .cg_z_m = 0.674, .clearance_m = 0.177}, {.radius_m = 0.197, .width_m = 0.118, .flex = vehicle::Flex{.stiffness_n_per_m = 317882}}), firm_sand());
  ASSERT_EQ(travel(o, 0).factor, LimitingFactor::belly_contact);
  for (const Gradient& g : {at_slip(o, 0.2), largest(o)}) {
    EXPECT_EQ(g.gradient_rad, kNoGradient);
    EXPECT_EQ(g.factor, LimitingFactor::belly_contact);
  }
}

TEST(Travel, AHitchPullCostsTheSameAsTheSlopeThatNeedsIt) {
  const OnSoil o = on(carrier(), sand(), soil::SlipSinkage::none);
  const Travel level = travel(o, 0, 300);
  ASSERT_TRUE(level.goes);
  EXPECT_NEAR(level.state.hitch_pull_n, 300, 1e-4);
  EXPECT_GT(level.slip_ratio, travel(o, 0).slip_ratio);
}

// Energy: power at the axles over speed; on the level the pull is nil, so all of it is dissipated in the soil.
TEST(Travel, EnergyPerMetreIsTorqueTimesTurnsOverEfficiency) {
  vehicle::Vehicle v = carrier();
  for (auto& a : v.axles) {
    a.drive.efficiency = 0.8;
    a.drive.peak_power_w = 400;
  }
  v.idle_power_w = 50;
  const Travel t = travel(on(v, sand()), 0.05);
  ASSERT_TRUE(t.goes);
  double work = 0, speed = 1e9;
  for (std::size_t k = 0; k < 2; ++k) {
    const auto& w = t.state.wheel[k];
    const double turn = 1 / (w.torque_radius_m * (1 - w.slip_ratio));
    work += 2 * w.torque_n_m * turn / 0.8;
    speed = std::min(speed, 400 / w.torque_n_m / turn);
  }
  EXPECT_NEAR(t.speed_m_s, speed, 1e-9 * speed);
  EXPECT_NEAR(t.energy_j_per_m, work + 50 / speed, 1e-9 * work);
}

TEST(Travel, BrakesHoldADescentAndRunAwayBeyondIt) {
  const OnSoil o = on(carrier(), sand());
  Workspace space;
  Gradient g;
  maximum_descents({&o, 1}, {&g, 1}, space);
  ASSERT_LT(g.gradient_rad, 0);
  if (g.factor == LimitingFactor::run_away) {
    EXPECT_TRUE(travel(o, g.gradient_rad + 0.02).goes);
    EXPECT_FALSE(travel(o, g.gradient_rad - 0.02).goes);
  } else {
    EXPECT_EQ(g.factor, LimitingFactor::tip_over_forward);
  }
}

soil::SoilDistribution scattered() {
  soil::SoilDistribution d;
  d.centre = sand();
  d.first_width_m = 0.025;
  d.second_width_m = 0.05;
  d.reference_depth_m = 0.02;
  d.bearing_dof = 7;
  d.shear_dof = 6;
  const std::array<double, 6> sd{0.05, 0.05, 0.02, 60, 0.01, 0.08};
  for (std::size_t i = 0; i < 6; ++i) {
    d.sampling[i][i] = sd[i] * sd[i];
    d.between_points[i][i] = 8 * sd[i] * sd[i];
    d.instrument[i][i] = i < 2 ? 1e-4 : 0;
  }
  d.population = "points of a made-up zone";
  return d;
}

// With few draws and little scatter between points the ends of the next point fell inside those of the average.
TEST(Prediction, NextPointIsNeverToldNarrowerThanTheAverageGround) {
  soil::SoilDistribution d = scattered();
  for (std::size_t i = 0; i < 6; ++i) d.between_points[i][i] = 0.02 * d.sampling[i][i];
  int closer = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    base::Problems problems;
    const auto placed = place_vehicle(carrier(), {.zone = "z", .centre = sand(), .distribution = d, .source = "test"}, {.gravity_m_s2 = 9.81, .seed = seed, .count = 60, .threads = 1}, {}, problems);
    ASSERT_TRUE(placed);
    const Outcome o = gradient_outcome(*placed, 0.2);
    const math::Interval average = *o.estimate.average_ground, next = *o.estimate.next_point;
    EXPECT_LE(next.lo, average.lo);
    EXPECT_GE(next.hi, average.hi);
    closer += next.lo == average.lo || next.hi == average.hi ? 1 : 0;
  }
  EXPECT_GT(closer, 0);  // else nothing was tried
}

TEST(Prediction, SameBitsForAnyThreadCountAndAWiderNextPoint) {
  const Ground ground{.zone = "z", .centre = sand(), .distribution = scattered(), .source = "test"};
  const vehicle::Vehicle v = carrier();
  std::vector<double> first;
  for (const std::size_t threads : {1u, 2u, 5u}) {
    base::Problems problems;
    const auto placed = place_vehicle(v, ground, {.gravity_m_s2 = 9.81, .seed = 3, .count = 200, .threads = threads}, {}, problems);
    ASSERT_TRUE(placed);
    const Outcome o = gradient_outcome(*placed, 0.2);
    ASSERT_TRUE(o.estimate.average_ground && o.estimate.next_point);
    EXPECT_GT(o.estimate.next_point->width(), o.estimate.average_ground->width());
    EXPECT_TRUE(o.estimate.average_ground->contains(o.centre));
    if (first.empty()) first = o.next_point;
    EXPECT_EQ(first, o.next_point);
  }
}

TEST(Prediction, APlainKernelAgreesWithTheVectorOne) {
  const Ground ground{.zone = "z", .centre = sand(), .distribution = scattered(), .source = "test"};
  base::Problems problems;
  DrawPlan plan{.gravity_m_s2 = 9.81, .seed = 3, .count = 64};
  const auto best = place_vehicle(carrier(), ground, plan, {}, problems);
  plan.target = contact::SimdTarget::plain;
  const auto plain = place_vehicle(carrier(), ground, plan, {}, problems);
  ASSERT_TRUE(best && plain);
  const Outcome a = gradient_outcome(*best, 0.2), b = gradient_outcome(*plain, 0.2);
  for (std::size_t k = 0; k < 64; ++k) EXPECT_NEAR(a.next_point[k], b.next_point[k], 1e-8) << k;
}

TEST(Prediction, ATextbookSoilHasNoIntervalAndSaysWhy) {
  const Ground ground{.zone = "z", .centre = sand(), .textbook = true, .source = "a table"};
  base::Problems problems;
  const auto placed = place_vehicle(carrier(), ground, {.gravity_m_s2 = 9.81}, {}, problems);
  ASSERT_TRUE(placed);
  const Prediction p = predict(*placed, carrier(), ground, {});
  EXPECT_EQ(p.heading, "textbook soil, not your ground");
  EXPECT_FALSE(p.gradient_20.estimate.next_point);
  EXPECT_NE(p.gradient_20.estimate.status.find("textbook"), std::string::npos);
  EXPECT_TRUE(std::isfinite(p.gradient_20.estimate.value));
}

}  // namespace
}  // namespace hardpan::performance
