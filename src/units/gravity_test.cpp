// SPDX-License-Identifier: Apache-2.0
#include "units/gravity.hpp"

#include <gtest/gtest.h>

namespace hardpan::units {
namespace {

TEST(Gravity, GivesThePublishedValueAtThePole) {
  // WGS 84 derived constant, theoretical gravity at the poles (NGA.STND.0036; value from memory).
  EXPECT_NEAR(normal_gravity_mps2(Angle::from_deg(90.0), 0.0), 9.8321849378, 1e-9);
  EXPECT_NEAR(normal_gravity_mps2(Angle::from_deg(-90.0), 0.0), 9.8321849378, 1e-9);
}

TEST(Gravity, IsTheStandardValueNearFortyFiveDegrees) {
  // The standard value 9.80665 was meant for 45 deg at sea level. GRS 80 gives 9.806199203 there (Moritz 1980, table);
  // the gravity at the equator of WGS 84 is lower by 9.7803267715 - 9.7803253359, the shape the same to 1e-11.
  EXPECT_NEAR(normal_gravity_mps2(Angle::from_deg(45.0), 0.0), 9.806199203 - (9.7803267715 - 9.7803253359), 1e-8);
}

TEST(Gravity, GrowsTowardsThePolesAndFallsWithHeight) {
  EXPECT_LT(normal_gravity_mps2(Angle::from_deg(0.0), 0.0), normal_gravity_mps2(Angle::from_deg(30.0), 0.0));
  EXPECT_LT(normal_gravity_mps2(Angle::from_deg(30.0), 0.0), normal_gravity_mps2(Angle::from_deg(60.0), 0.0));
  // 2 g h / R with R = 6371 km: 1000 m take off 0.00308 m/s^2.
  EXPECT_NEAR(normal_gravity_mps2(Angle::from_deg(45.0), 0.0) - normal_gravity_mps2(Angle::from_deg(45.0), 1000.0), 2 * 9.81 * 1000 / 6371e3, 2e-5);
}

}  // namespace
}  // namespace hardpan::units
