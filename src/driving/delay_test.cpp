// SPDX-License-Identifier: Apache-2.0
#include "driving/delay.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

namespace hardpan::driving {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kEarth = 9.81, kMoon = 1.62;
constexpr double kAtOnce = std::numeric_limits<double>::infinity();

// By hand: v = a (-t + sqrt(t^2 + 2 R / a)), R 10 m, t 3 s, mu 0.4, level: a 3.924 and 0.648 m/s^2.
TEST(Delay, StopLimitedSpeedOnEarthAndMoonAsByHand) {
  EXPECT_NEAR(stop_limited_speed_m_s(10, 3, braking_deceleration_m_s2(kEarth, 0.4, 0)), 2.96, 0.005);
  EXPECT_NEAR(stop_limited_speed_m_s(10, 3, braking_deceleration_m_s2(kMoon, 0.4, 0)), 2.15, 0.005);
}

TEST(Delay, TheStoppingDistanceOfTheLimitIsTheRange) {
  for (const double gradient : {-0.2, 0.0, 0.3}) {
    for (const double delay : {0.0, 0.4, 3.0, 1200.0}) {
      const double a = braking_deceleration_m_s2(kMoon, 0.4, gradient);
      const double v = stop_limited_speed_m_s(12, delay, a);
      EXPECT_NEAR(stopping_distance_m(v, delay, a), 12, 1e-9) << gradient << " " << delay;
    }
  }
}

TEST(Delay, ASlopeSteeperThanTheBrakingCoefficientAllowsNoSpeed) {
  const double steep = -std::atan(0.4) - 1e-6;
  EXPECT_EQ(braking_deceleration_m_s2(kEarth, 0.4, steep), 0);
  EXPECT_EQ(stop_limited_speed_m_s(10, 1, 0), 0);
  EXPECT_TRUE(std::isinf(stopping_distance_m(0.1, 1, 0)));
  EXPECT_GT(braking_deceleration_m_s2(kEarth, 0.4, steep + 2e-6), 0);
}

// Distances 384 400, 356 500 and 406 700 km (mean, perigee, apogee of the Moon) and 60 000 km (a node beyond it, Lester and
// Thronson 2011, who print 400 ms): t = 2 d / c.
TEST(Delay, LightTakesItsTimeToTheMoonAndBack) {
  EXPECT_NEAR(light_round_trip_s(384.4e6), 2.5644, 5e-4);
  EXPECT_NEAR(light_round_trip_s(356.5e6), 2.3783, 5e-4);
  EXPECT_NEAR(light_round_trip_s(406.7e6), 2.7132, 5e-4);
  EXPECT_NEAR(light_round_trip_s(60e6), 0.4003, 5e-4);
}

// The cycle's definition without braking: 1 m at 0.5 m/s with 2.6 s round trip, without and with 3 s thinking; 2 m at 1 m/s with 10 s and 5 s.
TEST(Delay, MovingAndWaitingAveragesOverTheCycle) {
  EXPECT_NEAR(move_and_wait_speed_m_s(1, 0.5, kAtOnce, 2.6, 0), 0.2174, 5e-4);
  EXPECT_NEAR(move_and_wait_speed_m_s(1, 0.5, kAtOnce, 2.6, 3), 0.1316, 5e-4);
  EXPECT_NEAR(move_and_wait_speed_m_s(2, 1, kAtOnce, 10, 5), 0.1176, 5e-4);
}

// By hand. 10 m at 2 m/s, braked at 1 m/s^2 over the last 2 m: 8 m in 4 s, 2 m in 2 s, then 3 s of delay and 2 s of thinking: 10 m in 11 s. 12 m at 2 m/s and 0.5 m/s^2: 8 m
// in 4 s, 4 m in 4 s, 2 s of delay: 12 m in 10 s.
TEST(Delay, MovingAndWaitingBrakesToRestAtTheEndOfEachStretch) {
  EXPECT_NEAR(move_and_wait_speed_m_s(10, 2, 1, 3, 2), 10.0 / 11, 1e-12);
  EXPECT_NEAR(move_and_wait_speed_m_s(12, 2, 0.5, 2, 0), 1.2, 1e-12);
}

// Ferrell 1965, Sheridan 1993 (from memory): the time of a course is that without delay and, for every move, the delay with the reaction. 40 m in 20 moves at
// 0.5 m/s, 3 s of thinking: 80 + 20 (3 + delay) s at delays of a few hundred ms, of light to the Moon and back, of lunar trials (6 to 8 s NASA 2023, 10 s Canadian
// Space Agency), of Mars at its nearest (8 min); and 3 s of link with its equipment (common practice, no source).
TEST(Delay, TheTimeOfACourseGrowsByTheMovesTimesTheDelay) {
  for (const double delay : {0.4, 2.56, 3.0, 8.0, 10.0, 480.0}) EXPECT_NEAR(40 / move_and_wait_speed_m_s(2, 0.5, kAtOnce, delay, 3), 80 + 20 * (3 + delay), 1e-9) << delay;
}

// v t / L below 0.5205 for a driver who aims ahead: w L / v = sqrt(2 + 2 sqrt 2), t w = atan(w L / v).
TEST(Delay, AimingAheadIsStableUpToHalfALookAheadOfDelay) {
  for (const double speed : {0.2, 1.0, 5.0}) {
    for (const double ahead : {1.5, 6.0}) {
      EXPECT_NEAR(stable_delay_s(speed, aiming_ahead(ahead)) * speed / ahead, 0.5205, 5e-5);
      EXPECT_NEAR(stable_speed_m_s(stable_delay_s(speed, aiming_ahead(ahead)), aiming_ahead(ahead)), speed, 1e-12);
    }
  }
  EXPECT_TRUE(std::isinf(stable_speed_m_s(0, aiming_ahead(3))));
}

// With heading feedback alone (error gain to 0) psi' = -v k psi(t - d) is stable to v k d = pi / 2.
TEST(Delay, WithoutErrorFeedbackTheLimitIsAQuarterTurn) {
  EXPECT_NEAR(stable_delay_s(2, {.error_gain_per_m2 = 1e-9, .heading_gain_per_m = 0.5}) * 2 * 0.5, 90 * kDeg, 1e-6);
}

}  // namespace
}  // namespace hardpan::driving
