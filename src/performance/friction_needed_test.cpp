// SPDX-License-Identifier: Apache-2.0
#include "performance/friction_needed.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace hardpan::performance {
namespace {

// Invented vehicle; one driven wheel, the other axle rolls free.
ProfileVehicle carrier(bool rear_driven) {
  return {.axles = {{.x_m = 0, .radius_m = 0.3, .centre_height_m = 0.3, .driven = rear_driven}, {.x_m = 1.3, .radius_m = 0.3, .centre_height_m = 0.3}}, .cg_x_m = rear_driven ? 0.62 : 1.0, .cg_z_m = 0.55, .weight_n = 4120};
}

// mu = sqrt(2 r h - h^2) / (r - h) where the front meets the corner (METHODS 4.6); it grows with h, so no lower step is harder.
TEST(FrictionNeeded, OfOneDrivenWheelAtAStepIsTheClosedForm) {
  const double h = 0.1, mu = std::sqrt(2 * 0.3 * h - h * h) / (0.3 - h);
  const FrictionNeeded one = friction_needed(carrier(false), Profile::step(h)), all = friction_needed_for_steps(carrier(false), h);
  ASSERT_TRUE(one.solve.converged());
  EXPECT_NEAR(one.friction, mu, 1e-6);
  EXPECT_EQ(one.stopped_by, Obstruction::friction);
  EXPECT_EQ(all.friction, one.friction);
}

TEST(FrictionNeeded, OnFlatGroundIsNone) {
  base::Problems problems;
  const auto flat = Profile::from_points({{0, 0}, {5, 0}}, {}, problems);
  const FrictionNeeded n = friction_needed(carrier(true), *flat);
  ASSERT_TRUE(n.solve.converged());
  EXPECT_NEAR(n.friction, 0, 1e-9);
  EXPECT_FALSE(n.stopped_by);
}

// No friction helps a wheel at a step of its own radius (mu would be infinite), nor a slot that swallows it.
TEST(FrictionNeeded, IsInfiniteWhereNoneWouldDo) {
  const FrictionNeeded step = friction_needed(carrier(false), Profile::step(0.3));
  EXPECT_TRUE(std::isinf(step.friction));
  ASSERT_TRUE(step.stopped_by);
  const FrictionNeeded gap = friction_needed(carrier(true), Profile::gap(0.7, 3));
  EXPECT_TRUE(std::isinf(gap.friction));
  ASSERT_TRUE(gap.stopped_by);
  EXPECT_NE(*gap.stopped_by, Obstruction::friction);
}

// What it says is enough passes, what is a little less does not; torque limits may ask for more friction than the poses, never for less.
TEST(FrictionNeeded, IsTheLeastThatPassesAlsoWithinTorqueLimits) {
  const Profile step = Profile::step(0.1);
  const FrictionNeeded free = friction_needed(carrier(true), step);
  const double torque = cross(carrier(true), step, {.friction = free.friction + 1e-6}).largest_torque_n_m;
  ASSERT_GT(torque, 0);
  bool more = false, none = false;
  for (const double share : {1.2, 0.98, 0.9, 0.8, 0.6, 0.2}) {
    ProfileVehicle v = carrier(true);
    for (ProfileAxle& a : v.axles) a.torque_limit_n_m = share * torque;
    const FrictionNeeded n = friction_needed(v, step);
    ASSERT_TRUE(n.solve.converged()) << share;
    if (std::isinf(n.friction)) {
      EXPECT_FALSE(cross(v, step, {.friction = kMostFriction}).passes);
      EXPECT_EQ(n.stopped_by, Obstruction::torque);
      none = true;
      continue;
    }
    EXPECT_GE(n.friction, free.friction - 1e-9);
    EXPECT_TRUE(cross(v, step, {.friction = n.friction + 1e-6}).passes) << share;
    EXPECT_FALSE(cross(v, step, {.friction = n.friction - 2e-4}).passes) << share;
    more |= n.stopped_by == Obstruction::torque;
  }
  EXPECT_TRUE(none);
  EXPECT_TRUE(more);
}

// The limit at the friction needed for a size is that size: both are found by crossings, in opposite directions.
TEST(FrictionNeeded, IsTheInverseOfTheHighestStepAndTheWidestGap) {
  const ProfileVehicle v = carrier(true);
  const double step = friction_needed_for_steps(v, 0.12).friction, gap = friction_needed_for_gaps(v, 0.3).friction;
  EXPECT_NEAR(highest_step(v, {.friction = step + 1e-6}, {}).passes_m, 0.12, 3e-4);
  EXPECT_NEAR(widest_gap(v, {.friction = gap + 1e-6}, {}).passes_m, 0.3, 3e-4);
}

}  // namespace
}  // namespace hardpan::performance
