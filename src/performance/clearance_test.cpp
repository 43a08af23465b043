// SPDX-License-Identifier: Apache-2.0
#include "performance/clearance.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = 0.017453292519943295;

// By hand, wheels of 0.3 m: a bumper at 0.35 m, 0.5 m ahead of the front axle: atan2(0.05, 0.5) + asin(0.3 / 0.502494) = 5.711 + 36.656 deg.
TEST(Clearances, TellTheRampAWheelAndABumperTouchTogether) {
  vehicle::Vehicle v = test::carrier();
  v.bodies[0].underbody = {{-0.4, 0.30}, {0.65, 0.25}, {1.8, 0.35}};
  const Clearances c = clearances(v, 9.81);
  ASSERT_TRUE(c.approach && c.departure && c.break_over && c.belly);
  EXPECT_NEAR(c.approach->angle_rad / kDeg, 42.367, 0.002);
  EXPECT_NEAR(c.approach->at_x_m, 1.8, 1e-12);
  // Tail at axle height, 0.4 m behind: asin(0.3 / 0.4).
  EXPECT_NEAR(c.departure->angle_rad / kDeg, 48.590, 0.001);
  EXPECT_NEAR(c.belly->at_z_m, 0.25, 1e-12);
}

// By hand: the middle of 1.30 m at 0.25 m: 2 (atan2(-0.05, 0.65) + asin(0.3 / 0.651920)) = 2 x 22.996 deg.
TEST(Clearances, TellTheRidgeTheMiddleTouches) {
  vehicle::Vehicle v = test::carrier();
  v.bodies[0].underbody = {{0.65, 0.25}};
  const Clearances c = clearances(v, 9.81);
  ASSERT_TRUE(c.break_over);
  EXPECT_NEAR(c.break_over->angle_rad / kDeg, 45.99, 0.01);
  EXPECT_FALSE(c.approach);
  EXPECT_FALSE(c.departure);
}

TEST(Clearances, StandLowerOnSoftTyres) {
  vehicle::Vehicle v = test::carrier();
  v.bodies[0].clearance_m = 0.25;
  for (auto& a : v.axles) a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 50e3};
  const Clearances c = clearances(v, 9.81);
  const double mean = 420 * 9.81 / 4 / 50e3;  // of equal stiffness: the mean deflection is that of the mean load
  EXPECT_NEAR(c.belly->at_z_m, 0.25 - mean, 1e-9);
  EXPECT_NEAR(c.settled_m, mean, 1e-9);
}

TEST(Clearances, SayNothingOfAnUnderbodyThatIsNotGiven) {
  const Clearances c = clearances(test::carrier(), 9.81);
  EXPECT_FALSE(c.belly || c.approach || c.departure || c.break_over);
}

// The ramp found really is touched: no outline point lies below the two ramps that meet at the wheels, and one lies on them.
RC_GTEST_PROP(Clearances, NoPointOfTheOutlineLiesUnderTheRampFound, ()) {
  const auto between = [](double lo, double hi) { return lo + (hi - lo) * *rc::gen::resize(100, rc::gen::inRange(0, 100001)) / 1e5; };
  vehicle::Vehicle v = test::carrier();
  v.bodies[0].underbody = {{1.3 + between(0.31, 0.6), between(0.1, 0.5)}, {2.0, between(0.2, 0.6)}, {2.3, between(0.2, 0.9)}};
  const Clearances c = clearances(v, 9.81);
  RC_ASSERT(c.approach.has_value());
  const double a = c.approach->angle_rad;
  // Line through the wheel's tangent point at a: points p with (p - centre) . (-sin a, cos a) = -r.
  double closest = 1e9;
  for (const auto& p : v.bodies[0].underbody) closest = std::min(closest, -(p.x_m - 1.3) * std::sin(a) + (p.z_m - 0.3) * std::cos(a) + 0.3);
  RC_ASSERT(closest >= -1e-9);
  const double touching = -(c.approach->at_x_m - 1.3) * std::sin(a) + (c.approach->at_z_m - 0.3) * std::cos(a) + 0.3;
  RC_ASSERT(std::abs(touching) <= 1e-9);
}

}  // namespace
}  // namespace hardpan::performance
