// SPDX-License-Identifier: Apache-2.0
#include "performance/obstacle_friction.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "performance/crossing.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

Placed placed(const vehicle::Vehicle& v, const soil::Soil& soil, const std::optional<soil::SoilDistribution>& about = std::nullopt) {
  base::Problems problems;
  auto out = place_vehicle(v, {.zone = "dune", .centre = soil, .distribution = about}, {.gravity_m_s2 = 9.81, .seed = 4, .count = 100}, {}, problems);
  EXPECT_TRUE(out);
  return *out;
}

// A ramp of that soil is crossed up to the gradient that straight travel climbs, and no further.
TEST(ObstacleFriction, JudgesARampAsTravelJudgesTheSlope) {
  const vehicle::Vehicle v = test::carrier();
  const Placed on = placed(v, test::sand());
  const Outcome friction = obstacle_friction_outcome(on);
  const double steepest = maximum_gradient_outcome(on).centre;   // this carrier's drives state no torque
  ASSERT_GT(steepest, 0.05);
  for (const double share : {0.99, 1.01}) {
    base::Problems problems;
    const auto ramp = Profile::from_points({{0, 0}, {10, 10 * std::tan(share * steepest)}}, {}, problems);
    const Crossing c = cross(*profile_vehicle(v, 9.81), *ramp, {.friction = friction.centre});
    ASSERT_TRUE(c.solve.converged());
    EXPECT_EQ(c.passes, share < 1) << share;
  }
}

// What the drives give is judged beside, not through the friction.
TEST(ObstacleFriction, DoesNotHangOnTheDrives) {
  vehicle::Vehicle weak = test::carrier();
  for (vehicle::Axle& a : weak.axles) a.drive.peak_torque_n_m = 20;
  EXPECT_EQ(obstacle_friction_outcome(placed(weak, test::sand())).centre, obstacle_friction_outcome(placed(test::carrier(), test::sand())).centre);
}

TEST(ObstacleFriction, CountsNoCohesionAndIsNeverBelowZero) {
  soil::Soil clay = test::sand(40e3);
  clay.shear->tan_phi = 0.1;
  EXPECT_EQ(obstacle_friction_outcome(placed(test::carrier(), clay)).centre, 0.1);   // climbs far more than its tan phi, by cohesion
  soil::Soil mire = test::sand(100);
  mire.bearing = soil::bekker(1.0, 500, 60e3);
  mire.shear->tan_phi = 0.15;
  const Outcome stuck = obstacle_friction_outcome(placed(test::carrier(), mire));
  EXPECT_LT(maximum_gradient_outcome(placed(test::carrier(), mire)).centre, 0);
  EXPECT_EQ(stuck.centre, 0);
}

TEST(ObstacleFriction, HasAnIntervalOverPossibleSoils) {
  soil::SoilDistribution about{.centre = test::sand(), .bearing_dof = 7, .shear_dof = 7, .population = "invented"};
  about.sampling[4][4] = 0.0004;
  about.between_points[4][4] = 0.002;
  const Outcome o = obstacle_friction_outcome(placed(test::carrier(), test::sand(), about));
  ASSERT_TRUE(o.estimate.average_ground && o.estimate.next_point);
  EXPECT_TRUE(o.estimate.next_point->contains(o.centre));
  EXPECT_GT(o.estimate.next_point->width(), o.estimate.average_ground->width());
  EXPECT_EQ(o.next_point.size(), 100U);
}

}  // namespace
}  // namespace hardpan::performance
