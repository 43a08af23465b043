// SPDX-License-Identifier: Apache-2.0
// Vehicles on ground so firm that they tip before the slip is used up: gradients by slip, travel on a gradient, slopes by heading and tip-over, four ways to one slope.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "performance/any_heading.hpp"
#include "performance/detail/turn_balance.hpp"
#include "performance/test_chains.hpp"
#include "performance/test_slopes.hpp"
#include "performance/tip_over_joints.hpp"
#include "performance/travel.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

// A stiff clay, invented.
soil::Soil clay() {
  soil::Soil s;
  s.bearing = soil::bekker(0.7, 30e3, 4e6);
  s.shear = soil::Shear{.cohesion_pa = 60e3, .tan_phi = 0.45, .shear_modulus_m = 0.012};
  return s;
}

OnSoil on_clay(const vehicle::Vehicle& v, double gravity_m_s2) {
  base::Problems problems;
  const auto on = on_soil(v, clay(), gravity_m_s2, soil::SlipSinkage::none, {}, problems);
  EXPECT_TRUE(on) << (problems.list().empty() ? "" : problems.list().front().text());
  return *on;
}

Gradient best(void (*of)(std::span<const OnSoil>, std::span<Gradient>, Workspace&), const OnSoil& on) {
  Workspace space;
  Gradient g;
  of({&on, 1}, {&g, 1}, space);
  return g;
}
Gradient up_to_20(const OnSoil& on) {
  Workspace space;
  Gradient g;
  gradients_at_slip({&on, 1}, 0.2, {&g, 1}, space);
  return g;
}
bool goes(const OnSoil& on, double gradient_rad) {
  Workspace space;
  Travel t;
  travels({&on, 1}, gradient_rad, 0, {&t, 1}, space);
  return t.goes;
}

// Two or three axles on rigid or soft wheels, or two bodies of which the rear one may be neither driven nor braked; all stand on the level.
vehicle::Vehicle random_vehicle(std::mt19937& random) {
  const auto u = [&](double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(random); };
  const bool train = u(0, 1) < 0.4;
  vehicle::Vehicle v = train ? test::with_trailer(vehicle::Freedom::free) : u(0, 1) < 0.5 ? test::long_carrier() : test::carrier();
  vehicle::Body& main = v.bodies.back();
  main.mass_kg = u(60, 600);
  main.cg_z_m = u(0.4, 1.1);
  main.cg_x_m += u(-0.25, 0.25);
  main.cg_y_m = 0;
  if (train) {
    v.bodies[0].mass_kg = u(40, 200);
    v.bodies[0].cg_z_m = u(0.3, 0.7);
    v.bodies[0].cg_x_m = u(0, 0.3);
    v.axles[0].drive.driven = u(0, 1) < 0.5;
    v.axles[0].drive.brake = v.axles[0].drive.driven || u(0, 1) < 0.5;
    if (u(0, 1) < 0.5) v.joints[0].pitch.lowest_rad = -10 * kDeg, v.joints[0].pitch.highest_rad = 10 * kDeg;
  }
  const bool soft = u(0, 1) < 0.5;
  const double stiffness = std::pow(10, u(4.3, 5.3));
  for (vehicle::Axle& a : v.axles) {
    if (soft) a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = stiffness};
  }
  return v;
}

TEST(FirmGround, FourWaysToTheSteepestSlopeAgree) {
  std::mt19937 random(20261129);
  int tipping = 0;
  for (int n = 0; n < 60; ++n) {
    const vehicle::Vehicle v = random_vehicle(random);
    const double gravity = n % 3 == 0 ? 1.62 : 9.81;
    const OnSoil on = on_clay(v, gravity);
    const Gradient slip = up_to_20(on), all = best(maximum_gradients, on), down = best(maximum_descents, on);
    SCOPED_TRACE(testing::Message() << "vehicle " << n << ": " << slip.gradient_rad / kDeg << " deg by " << name(slip.factor) << ", " << all.gradient_rad / kDeg << ", " << down.gradient_rad / kDeg);
    ASSERT_TRUE(goes(on, 0));
    // What goes on the level has a steepest slope up and down, and no bound on slip makes it steeper.
    ASSERT_GT(slip.gradient_rad, 0);
    ASSERT_LT(down.gradient_rad, 0);
    EXPECT_GE(all.gradient_rad, slip.gradient_rad - 0.02 * kDeg);
    // Travel on a gradient finds its slip up to there.
    const bool train = v.bodies.size() > 1;
    for (const double share : {0.3, 0.6, 0.9, train ? 0.95 : 0.985}) {
      EXPECT_TRUE(goes(on, share * slip.gradient_rad)) << share << " up";
      // A train on soft wheels has no numerical answer of travel down 60 deg and steeper (docs/theory/performance.md).
      if (!train || share * down.gradient_rad > -58 * kDeg) {
        EXPECT_TRUE(goes(on, share * down.gradient_rad)) << share << " down";
      }
    }
    EXPECT_FALSE(goes(on, all.gradient_rad + 0.5 * kDeg));
    // No steeper than it stands there on hard ground, still or settled on its wheels.
    const Stance stance = stance_of(v, gravity);
    const auto tips = [&](double fall) { return std::min(still_tip(v, stance, gravity, fall).tip.angle_rad, settled_tip_over(stance, fall, {}).tip.angle_rad); };
    const double up_tips = tips(kFallBehind), down_tips = tips(kFallAhead);
    EXPECT_LE(all.gradient_rad, up_tips + 0.01 * kDeg);
    EXPECT_LE(-down.gradient_rad, down_tips + 0.01 * kDeg);
    const auto by_heading = slopes_by_heading(test::turning_on(v, clay(), gravity), {.headings_rad = {0, std::numbers::pi}});
    const HeadingLimit& ahead = by_heading.front();
    EXPECT_LE(ahead.largest.gradient_rad, up_tips + 0.01 * kDeg);
    EXPECT_LE(by_heading.back().largest.gradient_rad, down_tips + 0.01 * kDeg);
    // Its lean is a little larger, and bodies that wheels of some stiffness leave it counts as falling (docs/theory/performance.md): lower, hardly higher.
    EXPECT_LE(ahead.largest.gradient_rad, all.gradient_rad + (train ? 1 : 0.1) * kDeg);
    if (!train) {
      EXPECT_GE(ahead.largest.gradient_rad, all.gradient_rad - 1.5 * kDeg);
    }
    tipping += all.factor == LimitingFactor::tip_over_rearward;
  }
  EXPECT_GT(tipping, 30);
}

// By hand: three axles, the centre of gravity 0.6 m ahead of the rear one and 0.8 m high. The front wheels lift long before it passes the rear ones at atan(0.6 / 0.8),
// 36.87 deg, and the vehicle stands on the other two; told as tip-over, they ended the climb at 23.9 deg in a case of three equal springs.
TEST(FirmGround, AVehicleOfThreeAxlesStandsOnTwo) {
  vehicle::Vehicle v = test::long_carrier();
  v.bodies[0] = {.mass_kg = 60, .cg_x_m = 0.6, .cg_z_m = 0.8};
  for (vehicle::Axle& a : v.axles) a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 2e5};
  const OnSoil on = on_clay(v, 9.81);
  const Gradient g = best(maximum_gradients, on);
  EXPECT_EQ(g.factor, LimitingFactor::tip_over_rearward);
  EXPECT_NEAR(g.gradient_rad, std::atan(0.6 / 0.8), 1.5 * kDeg);
  EXPECT_LT(g.gradient_rad, std::atan(0.6 / 0.8));
  EXPECT_LT(g.state.wheel[2].load_n, 1e-5 * on.plain.weight_n);
  EXPECT_GT(g.state.wheel[1].load_n, 0.0);
}

// Rigid wheels on stiff soil, the middle ones not driven, invented. Driven wheels dig in where they slip and hang the middle ones, as straight travel has it; with loads shared as without slip
// slopes by heading told 29.8 deg where 28.3 goes (with slip sinkage 26.0). Wheels under a rigid body stand on one plane: their sinkages lie on a line.
TEST(FirmGround, DrivenWheelsThatDigInHangThoseBetweenThemOnAnyHeading) {
  vehicle::Vehicle v = test::long_carrier();
  v.bodies[0] = {.mass_kg = 353.7, .cg_x_m = 0.865, .cg_z_m = 0.353};
  for (std::size_t k = 0; k < 3; ++k) {
    v.axles[k].position_x_m = std::array{0.0, 0.759, 1.415}[k];
    v.axles[k].wheel = {.radius_m = 0.154, .width_m = 0.092};
    v.axles[k].drive.driven = k != 1;
  }
  soil::Soil stiff;
  stiff.bearing = soil::bekker(0.5, 1e6, 5e7);
  stiff.shear = soil::Shear{.cohesion_pa = 200e3, .tan_phi = 1, .shear_modulus_m = 0.003};
  base::Problems problems;
  const auto on = on_soil(v, stiff, 9.81, soil::SlipSinkage::none, {}, problems);
  ASSERT_TRUE(on);
  const TurningMachine m = test::turning_on(v, stiff, 9.81);
  const HeadingLimit up = slopes_by_heading(m, {.headings_rad = {0}}).front();
  EXPECT_NEAR(up.working.gradient_rad, up_to_20(*on).gradient_rad, 0.05 * kDeg);
  EXPECT_NEAR(up.largest.gradient_rad, best(maximum_gradients, *on).gradient_rad, 0.05 * kDeg);
  detail::StraightWay way(m, 0);
  const TurnState s = way.at(20 * kDeg);
  ASSERT_EQ(s.status, TurnStatus::balanced);
  std::array<double, 3> sinks{};
  for (const WheelInTurn& w : s.wheels) sinks[w.place.axle] = w.answer.sinkage_m;
  EXPECT_NEAR(sinks[1], sinks[0] + 0.759 / 1.415 * (sinks[2] - sinks[0]), 1e-6 * sinks[1]);
}

}  // namespace
}  // namespace hardpan::performance
