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

// Braking at the end of each stretch used to be left out: 2.002 mph. By hand: 30 ft of sight, 3 mph, 1 g0 (0.3 cos 12 deg - sin 12 deg) = 0.8388 m/s^2, 3 s: 1.072 m of braking in
// 1.599 s after 8.072 m in 6.019 s, 9.144 m in 10.618 s: 0.8612 m/s, 1.926 mph.
TEST(RemoteSpeed, MovesAndWaitsBrakingWithinWhatIsSeen) {
  constexpr double kMph = 0.44704;
  Situation s = moon();
  s.rule.link.delay = {1, 1, 1};
  s.corridor.fastest_m_s = 3 * kMph;
  s.sensing_range_m = 9.144;
  s.gravity_m_s2 = 9.80665;
  s.braking_coefficient = 0.3;
  s.gradient_rad = -12 * 0.017453292519943295;
  s.thinking_s = 0;
  EXPECT_NEAR(remote_speed(s, 3).move_and_wait_m_s, 1.926 * kMph, 0.0005 * kMph);
}

// Whoever drives on has sight to spare while one who waits stands: at every delay the speed that stops within what is seen is the higher.
TEST(RemoteSpeed, WaitingIsNeverFasterThanWhatStopsWithinSight) {
  for (const double fastest : {0.5, 2.0, 9.0}) {
    for (const double delay : {0.0, 0.4, 3.0, 60.0}) {
      Situation s = moon();
      s.rule.link.delay = {0.5 * delay, 0, 0.5 * delay};
      s.corridor.fastest_m_s = fastest;
      s.thinking_s = 0;
      const RemoteSpeed r = remote_speed(s, 3);
      EXPECT_LE(r.move_and_wait_m_s, std::min(fastest, r.stop_limited_m_s)) << fastest << " " << delay;
      EXPECT_GT(r.move_and_wait_m_s, 0) << fastest << " " << delay;   // 9 m/s cannot stop within 12 m: driven slower
    }
  }
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
