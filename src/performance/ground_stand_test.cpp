// SPDX-License-Identifier: Apache-2.0
#include "performance/ground_stand.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

soil::Soil ground(double cohesion_pa, std::optional<double> density) {
  soil::Soil s;
  s.shear = soil::Shear{.cohesion_pa = cohesion_pa, .tan_phi = std::tan(33 * kDeg)};
  s.density_kg_m3 = density;
  return s;
}

// Loose sand stands at about 33 deg (common practice, no source).
TEST(GroundStand, SaysThatNoSteadyClimbExistsAtTheAngleOfRepose) {
  EXPECT_TRUE(ground_stand(ground(0, std::nullopt), 33 * kDeg, 9.81).no_steady_climb);
  const GroundStand flatter = ground_stand(ground(0, std::nullopt), 20 * kDeg, 9.81);
  EXPECT_FALSE(flatter.no_steady_climb);
  ASSERT_EQ(flatter.sheets.size(), 1u);
  EXPECT_NEAR(flatter.sheets[0].safety_factor, std::tan(33 * kDeg) / std::tan(20 * kDeg), 1e-12);
}

// Fresh rubble slopes stand at 25 to 35 deg (common practice, no source): rubble without cohesion stands at its own angle of friction and no steeper, and a slope that
// stands at it is not climbed steadily, whatever its angle.
TEST(GroundStand, SaysTheSameOfFreshRubble) {
  for (const double stands : {25.0, 30.0, 35.0}) {
    soil::Soil rubble = ground(0, 1700);
    rubble.shear->tan_phi = std::tan(stands * kDeg);
    const auto at = [&](double deg) { return ground_stand(rubble, deg * kDeg, 9.81); };
    EXPECT_TRUE(at(stands).no_steady_climb);
    EXPECT_TRUE(at(stands + 2).no_steady_climb);
    EXPECT_FALSE(at(stands - 2).no_steady_climb);
    EXPECT_NEAR(at(stands).friction_rad, stands * kDeg, 1e-12);
    EXPECT_LT(at(stands + 2).sheets.front().safety_factor, 1);
    EXPECT_GT(at(stands - 2).sheets.front().safety_factor, 1);
  }
}

// By hand: (c + g rho z cos^2 a tan phi) / (g rho z sin a cos a).
TEST(GroundStand, TellsTheFactorAgainstDepth) {
  const double a = 38 * kDeg, gamma = 1600 * 9.81;
  const GroundStand g = ground_stand(ground(500, 1600), a, 9.81);
  ASSERT_EQ(g.sheets.size(), 3u);
  for (const StandingSheet& s : g.sheets) {
    const double z = s.vertical_depth_m;
    EXPECT_NEAR(s.safety_factor, (500 + gamma * z * std::cos(a) * std::cos(a) * std::tan(33 * kDeg)) / (gamma * z * std::sin(a) * std::cos(a)), 1e-12);
  }
  EXPECT_FALSE(g.no_steady_climb);
  ASSERT_TRUE(g.critical_vertical_depth_m);
  EXPECT_NEAR(*g.critical_vertical_depth_m, 500 / (gamma * std::cos(a) * std::cos(a) * (std::tan(a) - std::tan(33 * kDeg))), 1e-9);
  EXPECT_TRUE(ground_stand(ground(500, std::nullopt), a, 9.81).sheets.empty());
}

}  // namespace
}  // namespace hardpan::performance
