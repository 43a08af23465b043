// SPDX-License-Identifier: Apache-2.0
#include "driving/remote_speed.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>

namespace hardpan::driving {
namespace {

Situation moon() {
  return {.path = slalom(60, 1, 25), .rule = {.look_ahead_m = 4, .smallest_radius_m = 2, .link = {.delay = {1.3, 0.4, 1.3}, .image_interval_s = 0.2}},
          .corridor = {.half_width_m = 0.8, .fastest_m_s = 2, .runs = 2}, .sensing_range_m = 12, .gravity_m_s2 = 1.62, .braking_coefficient = 0.4,
          .thinking_s = 5};
}

TEST(RemoteSpeed, PassesThroughThreeRegimesAsTheDelayGrows) {
  const std::array<double, 6> delays{0.4, 1.0, 2.0, 3.0, 10.0, 60.0};
  const auto points = speed_against_delay(moon(), delays, 3);
  EXPECT_EQ(points.front().speed.limited_by, SpeedLimit::vehicle);
  const bool middle = std::any_of(points.begin(), points.end(), [](const DelayPoint& p) {
    return p.speed.limited_by == SpeedLimit::steering || p.speed.limited_by == SpeedLimit::stopping;
  });
  EXPECT_TRUE(middle);
  EXPECT_EQ(points.back().speed.limited_by, SpeedLimit::waiting);
  for (std::size_t i = 1; i < points.size(); ++i) EXPECT_LE(points[i].speed.speed_m_s, points[i - 1].speed.speed_m_s * 1.02) << delays[i];
}

TEST(RemoteSpeed, IsTheLeastOfItsLimitsOrMovingAndWaiting) {
  const RemoteSpeed s = remote_speed(moon(), 3);
  EXPECT_DOUBLE_EQ(s.driving_on_m_s, std::min({2.0, s.stop_limited_m_s, s.steering.speed_m_s}));
  EXPECT_DOUBLE_EQ(s.speed_m_s, std::max(s.driving_on_m_s, s.move_and_wait_m_s));
}

TEST(RemoteSpeed, StandsStillWhereItCannotStop) {
  Situation s = moon();
  s.gradient_rad = -0.5;
  const RemoteSpeed r = remote_speed(s, 3);
  EXPECT_EQ(r.speed_m_s, 0);
  EXPECT_EQ(r.limited_by, SpeedLimit::none);
}

TEST(RemoteSpeed, LongDelaysKeepTheReactionAndScaleTheLink) {
  const std::array<double, 1> one{10.0};
  const auto p = speed_against_delay(moon(), one, 3);
  const double brake = braking_deceleration_m_s2(1.62, 0.4, 0);
  EXPECT_NEAR(p[0].speed.stop_limited_m_s, stop_limited_speed_m_s(12, 10, brake), 1e-12);
}

}  // namespace
}  // namespace hardpan::driving
