// SPDX-License-Identifier: Apache-2.0
#include "driving/path_following.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace hardpan::driving {
namespace {

// Images and commands so dense that only the delay is left.
SteeringRule smooth(double speed, double ahead, double delay) {
  return {.speed_m_s = speed, .look_ahead_m = ahead, .start_error_m = 0.01,
          .link = {.delay = {.downlink_s = 0.5 * delay, .uplink_s = 0.5 * delay}, .image_interval_s = delay / 80}};
}

// The linear theory (delay.hpp) from the simulation: a small error dies away below the limit and grows above it.
TEST(PathFollowing, LosesTheStraightPathWhereTheLinearLimitSays) {
  for (const double ahead : {2.0, 5.0}) {
    const double delay = 2.0, limit = stable_speed_m_s(delay, aiming_ahead(ahead));
    const Path path = straight(60 * ahead);
    const Followed below = follow(path, smooth(0.92 * limit, ahead, delay), 1);
    const Followed above = follow(path, smooth(1.08 * limit, ahead, delay), 1);
    EXPECT_TRUE(below.arrived);
    EXPECT_LT(below.final_error_m, 0.005) << "started with 0.01 m";
    EXPECT_GT(above.final_error_m, 0.02);
  }
}

// Without delay the linear equations e'' + v kp e' + v^2 ke e = 0 with kp = 2 / L, ke = 2 / L^2 are damped with 1 / sqrt 2: the
// error overshoots by exp(-pi) = 4.3 %.
TEST(PathFollowing, WithoutDelayComesBackAsTheLinearEquationsDo) {
  SteeringRule rule = smooth(1, 2, 1e-3);
  rule.start_error_m = 0.02;
  const Followed f = follow(straight(40), rule, 1);
  EXPECT_TRUE(f.arrived);
  EXPECT_LT(f.final_error_m, 1e-6);
  // After the first look-ahead (a time L / v = 2 s): e(2)/e0 of the linear solution exp(-x)(cos x + sin x) at x = 1.
  EXPECT_NEAR(f.largest_error_m, 0.02 * std::exp(-1.0) * (std::cos(1.0) + std::sin(1.0)), 2e-4);
}

TEST(PathFollowing, HalvingTheStepQuartersTheChange) {
  // The step follows the image interval here; the slalom bends throughout.
  const Path path = slalom(40, 1, 16);
  const auto error = [&](double interval) {
    SteeringRule rule{.speed_m_s = 0.8, .look_ahead_m = 3, .link = {.delay = {0.4, 0.2, 0.4}, .image_interval_s = interval}};
    return follow(path, rule, 1).rms_error_m;
  };
  const double a = error(0.04), b = error(0.02), c = error(0.01), d = error(0.005);
  EXPECT_LT(std::abs(b - c), 0.75 * std::abs(a - b) + 1e-5);
  EXPECT_LT(std::abs(c - d), 0.75 * std::abs(b - c) + 1e-5);
  EXPECT_LT(std::abs(c - d), 0.01 * d);
}

// On a straight path entered half a metre off, where the steering is near its limit: everything that makes the view or the
// command later leaves a larger error. (On a slalom a little delay may help: it stops the driver from cutting the bends.)
TEST(PathFollowing, DelayJitterLostImagesAndSlowSteeringEachMakeItWorse) {
  const Path path = straight(60);
  const SteeringRule base{.speed_m_s = 0.7, .look_ahead_m = 3, .start_error_m = 0.5, .link = {.delay = {0.5, 0.4, 0.5}, .image_interval_s = 0.1}};
  const auto mean_error = [&](const SteeringRule& rule) {
    double sum = 0;
    for (std::uint64_t seed = 0; seed < 20; ++seed) sum += follow(path, rule, seed).rms_error_m;
    return sum / 20;
  };
  const double good = mean_error(base);
  SteeringRule later = base, jittery = base, lossy = base, slow = base, rare = base;
  later.link.delay.downlink_s = 1.0;
  jittery.link.jitter_s = 0.5;
  lossy.link.image_loss_ratio = 0.9;
  slow.curvature_rate_per_m_s = 0.05;
  rare.link.image_interval_s = 1.5;
  for (const SteeringRule& worse : {later, jittery, lossy, slow, rare}) EXPECT_GT(mean_error(worse), 1.05 * good);
}

TEST(PathFollowing, AllowingForCommandsUnderWayTakesTheDelayOut) {
  const Path path = straight(80);
  SteeringRule rule = smooth(1, 3, 2.5);   // v t / L = 0.83: well beyond the limit
  rule.link.image_interval_s = 0.1;
  EXPECT_GT(follow(path, rule, 1).final_error_m, 0.05);
  rule.anticipation_ratio = 1;
  const Followed f = follow(path, rule, 1);
  EXPECT_TRUE(f.arrived);
  EXPECT_LT(f.final_error_m, 0.005);
}

// Aiming at a point L ahead with drift angle d the steady error of a straight path is L sin d, to the side it drifts to:
// the heading then points at the target and the travel, d beside it, along the path.
TEST(PathFollowing, SideDriftLeavesASteadyError) {
  SteeringRule rule = smooth(0.6, 3, 0.2);
  rule.drift_angle_rad = 0.08;
  const Followed f = follow(straight(90), rule, 1);
  EXPECT_TRUE(f.arrived);
  EXPECT_NEAR(f.final_error_m, 3 * std::tan(0.08), 0.01);
}

TEST(PathFollowing, AVehicleThatTurnsTooWideLosesASharpSlalom) {
  SteeringRule rule{.speed_m_s = 0.5, .look_ahead_m = 2, .smallest_radius_m = 15, .link = {.delay = {0.1, 0.1, 0.1}}};
  EXPECT_GT(follow(slalom(60, 3, 15), rule, 1).largest_error_m, 2);
  rule.smallest_radius_m = 1.5;
  EXPECT_LT(follow(slalom(60, 3, 15), rule, 1).largest_error_m, 1);
}

TEST(PathFollowing, TheSameSeedIsTheSameDrive) {
  SteeringRule rule{.speed_m_s = 0.7, .look_ahead_m = 3, .link = {.delay = {0.5, 0.3, 0.5}, .jitter_s = 0.3, .image_loss_ratio = 0.3}};
  const Path path = slalom(50, 1, 20);
  EXPECT_EQ(follow(path, rule, 7).rms_error_m, follow(path, rule, 7).rms_error_m);
  EXPECT_NE(follow(path, rule, 7).rms_error_m, follow(path, rule, 8).rms_error_m);
}

TEST(LargestSpeedHeld, FallsAsTheDelayGrowsAndNamesItsEnds) {
  const Path path = slalom(60, 1, 20);
  const Corridor corridor{.half_width_m = 0.6, .fastest_m_s = 3, .runs = 2};
  double before = 1e9;
  for (const double delay : {0.1, 0.5, 1.0, 3.0}) {
    SteeringRule rule{.look_ahead_m = 3, .smallest_radius_m = 1, .link = {.delay = {0.5 * delay, 0, 0.5 * delay}}};
    const SpeedHeld held = largest_speed_held(path, rule, corridor, 1);
    ASSERT_NE(held.status, HeldStatus::not_held) << delay;
    EXPECT_LE(held.speed_m_s, before * 1.02) << delay;
    EXPECT_LE(held.largest_error_m, corridor.half_width_m);
    before = held.speed_m_s;
  }
  const SteeringRule quick{.look_ahead_m = 3, .link = {.delay = {0.01, 0, 0.01}}};
  EXPECT_EQ(largest_speed_held(straight(60), quick, corridor, 1).status, HeldStatus::held_at_fastest);
  EXPECT_EQ(largest_speed_held(path, quick, {.half_width_m = 0.001, .fastest_m_s = 3, .runs = 1}, 1).status, HeldStatus::not_held);
}

}  // namespace
}  // namespace hardpan::driving
