// SPDX-License-Identifier: Apache-2.0
#include "records/slip.hpp"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>
#include <rapidcheck.h>

namespace hardpan::records {
namespace {

// GATE (Indian graduate entrance examination), agricultural engineering: nominal radius 0.5 m, rolling radius 6 % less,
// 20 revolutions over 56 m. 5.18 % follows from the rolling radius over pi to full precision, where rounded options read 5.00.
TEST(Slip, FollowsFromTurnsDistanceAndRollingRadius) {
  const auto s = hand_slip({.turns = 20, .distance_m = 56, .rolling_radius_m = 0.5 * 0.94});
  ASSERT_TRUE(s);
  EXPECT_NEAR(100 * s->slip_ratio, 5.18, 0.02);
}

// NASA/JPL feature "Slip Sliding Away", 2004-03-09: four turns of 0.80 m, 1.60 m of real motion.
TEST(Slip, IsHalfWhenWheelsRollTwiceTheDistance) {
  EXPECT_DOUBLE_EQ(*slip_ratio({.wheel_speed_m_per_s = 3.20, .travel_speed_m_per_s = 1.60}), 0.50);
  // NASA/JPL status 2005-10-11: 44.5 % after a 5 m segment tripped a limit of 40 %.
  const double driven_m = 5.0;
  EXPECT_GT(*slip_ratio({.wheel_speed_m_per_s = driven_m, .travel_speed_m_per_s = driven_m * (1 - 0.445)}), 0.40);
}

// Encoder path, camera path and slip of twelve runs of a three-wheeled laboratory robot; data by BrOleg5,
// research-wheel-slippage, Apache-2.0 (commit b4303b4), paths in m rounded to 1 mm.
TEST(Slip, AgreesWithTwoIndependentPathsOfALaboratoryRobot) {
  struct Row {
    double encoder_m, camera_m, slip;
  };
  const Row rows[] = {{1.631, 1.449, 0.112}, {1.637, 1.469, 0.103}, {1.633, 1.461, 0.105}, {1.017, 0.810, 0.203},
                      {1.026, 0.870, 0.152}, {1.036, 0.885, 0.146}, {1.357, 0.852, 0.373}, {1.336, 0.932, 0.303},
                      {1.351, 0.989, 0.268}, {1.401, 0.317, 0.774}, {1.381, 0.529, 0.617}, {1.386, 0.760, 0.452}};
  for (const Row& r : rows) {
    // Half a millimetre in each path and half a unit of the last place of the slip.
    const double rounding = 0.0005 / r.encoder_m * (1 + r.camera_m / r.encoder_m) + 0.0005;
    EXPECT_NEAR(*slip_ratio({r.encoder_m, r.camera_m}), r.slip, rounding) << r.encoder_m;
  }
}

TEST(Slip, IsSignedAndBoundedBothWays) {
  EXPECT_DOUBLE_EQ(*slip_ratio({.wheel_speed_m_per_s = 1, .travel_speed_m_per_s = 0}), 1);
  EXPECT_DOUBLE_EQ(*slip_ratio({.wheel_speed_m_per_s = 0, .travel_speed_m_per_s = 1}), -1);  // locked wheel
  EXPECT_DOUBLE_EQ(*slip_ratio({.wheel_speed_m_per_s = 0.9, .travel_speed_m_per_s = 1}), 0.9 - 1);
}

TEST(Slip, IsAbsentWhereNothingRollsOrTheWheelTurnsAgainstItsTravel) {
  EXPECT_FALSE(slip_ratio({0, 0}));
  EXPECT_FALSE(slip_ratio({-1, 1}));
  EXPECT_FALSE(slip_ratio({1, -1}));
  EXPECT_FALSE(slip_ratio({std::nan(""), 1}));
  EXPECT_FALSE(slip_ratio({INFINITY, 1}));
}

TEST(Slip, ConvertedToAnotherRadiusIsTheSlipOfTheSameMotion) {
  rc::check("slip from both radii", [] {
    const double omega = *rc::gen::inRange(1, 10000) / 1000.0, v = *rc::gen::inRange(1, 10000) / 1000.0;
    const double r1 = *rc::gen::inRange(50, 900) / 1000.0, r2 = *rc::gen::inRange(50, 900) / 1000.0;
    const double s1 = *slip_ratio({r1 * omega, v}), s2 = *slip_ratio({r2 * omega, v});
    RC_ASSERT(std::abs(slip_with_radius(s1, r1, r2) - s2) < 1e-9);
    RC_ASSERT(std::abs(slip_with_radius(slip_with_radius(s1, r1, r2), r2, r1) - s1) < 1e-9);
  });
}

// By hand: r1 = 0.30, r2 = 0.33: q = 1 / (1 - 0.2) = 1.25, q2 = 1.375, s2 = 1 - 1 / 1.375 = 3 / 11.
TEST(Slip, ConversionMatchesAHandCalculation) {
  EXPECT_NEAR(slip_with_radius(0.2, 0.30, 0.33), 3.0 / 11, 1e-15);
  EXPECT_NEAR(slip_with_radius(-0.05, 0.30, 0.33), 1 - 1 / (0.95 * 1.1), 1e-15);  // towed point turns into driving slip
  EXPECT_DOUBLE_EQ(slip_with_radius(1, 0.30, 0.33), 1);
}

TEST(Slip, ConversionSlopeIsTheDerivative) {
  for (const double s : {-0.6, -0.1, -1e-9, 0.0, 0.04, 0.3, 0.9}) {
    const double h = 1e-7;
    const double difference = (slip_with_radius(s + h, 0.3, 0.32) - slip_with_radius(s - h, 0.3, 0.32)) / (2 * h);
    EXPECT_NEAR(slip_conversion_slope(s, 0.3, 0.32), difference, 1e-5) << s;
  }
}

// Against brute force: 200,000 readings drawn with the stated errors.
TEST(HandSlip, ErrorMatchesDrawnReadings) {
  for (const double distance : {40.0, 70.0}) {  // driving and braking
    const TurnsAndDistance reading{.turns = 20,
                                   .distance_m = distance,
                                   .rolling_radius_m = 0.47,
                                   .turns_sd = 0.1,
                                   .distance_sd_m = 0.3,
                                   .radius_sd_m = 0.002};
    const auto s = hand_slip(reading);
    double sum = 0, squares = 0;
    const int n = 200000;
    std::uint64_t state = 88172645463325252u;  // xorshift and Box-Muller, not the code under test
    const auto uniform = [&] {
      state ^= state << 13, state ^= state >> 7, state ^= state << 17;
      return (static_cast<double>(state >> 11) + 0.5) / 9007199254740992.0;
    };
    const auto normal = [&] { return std::sqrt(-2 * std::log(uniform())) * std::cos(2 * std::numbers::pi * uniform()); };
    for (int i = 0; i < n; ++i) {
      const double rolled = 2 * std::numbers::pi * (0.47 + 0.002 * normal()) * (20 + 0.1 * normal()),
                   d = distance + 0.3 * normal();
      const double v = (rolled - d) / std::max(rolled, d);
      sum += v, squares += v * v;
    }
    const double sd = std::sqrt(squares / n - sum / n * (sum / n));
    EXPECT_NEAR(s->standard_error, sd, 0.02 * sd) << distance;
  }
}

TEST(HandSlip, OfAWheelTurningOnTheSpotIsOne) {
  const auto s = hand_slip({.turns = 3, .distance_m = 0, .rolling_radius_m = 0.3, .turns_sd = 0.1, .distance_sd_m = 0.01});
  ASSERT_TRUE(s);
  EXPECT_DOUBLE_EQ(s->slip_ratio, 1);
  EXPECT_NEAR(s->standard_error, 0.01 / (2 * std::numbers::pi * 0.9), 1e-12);
}

}  // namespace
}  // namespace hardpan::records
