// SPDX-License-Identifier: Apache-2.0
#include "performance/crossing_pose.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

namespace hardpan::performance {
namespace {

// Invented: wheelbase 1.3 m, wheels of 0.3 m.
ProfileVehicle carrier() {
  return {.axles = {{.x_m = 0, .radius_m = 0.3, .centre_height_m = 0.3}, {.x_m = 1.3, .radius_m = 0.3, .centre_height_m = 0.3}},
          .cg_x_m = 0.62, .cg_z_m = 0.55, .weight_n = 4120};
}

Profile profile(const std::vector<ProfilePoint>& points) {
  base::Problems problems;
  return *Profile::from_points(points, {}, problems);
}

TEST(RestingPose, OnAStraightSlopeTheBodyTakesTheSlope) {
  for (const double grade : {-0.5, 0.0, 0.3}) {
    const auto poses = resting_poses(carrier(), profile({{0, 0}, {1, grade}}), 2);
    ASSERT_EQ(poses.size(), 1U);
    EXPECT_NEAR(poses[0].pitch_rad, std::atan(grade), 1e-12);
    EXPECT_NEAR(poses[0].height_m, 2 * grade + 0.3 * std::hypot(1, grade), 1e-12);   // distance 0.3 from the line
    EXPECT_NEAR(poses[0].climb_ratio, std::sin(std::atan(grade)), 1e-12);
    EXPECT_TRUE(poses[0].wheel[0].carries && poses[0].wheel[1].carries);
  }
}

// By hand: front wheel on the corner of a step of 0.1 m with its centre d before it stands at 0.1 + sqrt(r^2 - d^2); the rear one at r.
TEST(RestingPose, OnACornerTheWheelStandsOnItsCircle) {
  const double d = 0.15, rise = 0.1 + std::sqrt(0.09 - d * d) - 0.3, pitch = std::asin(rise / 1.3);
  const auto poses = resting_poses(carrier(), Profile::step(0.1), -d - 0.65 * std::cos(pitch));
  ASSERT_EQ(poses.size(), 1U);
  EXPECT_NEAR(poses[0].pitch_rad, pitch, 1e-12);
  EXPECT_NEAR(poses[0].wheel[1].slope_rad, std::asin(d / 0.3), 1e-11);
  EXPECT_EQ(poses[0].wheel[0].slope_rad, 0);
}

TEST(RestingPose, AWheelStandsOnAFaceHigherThanItsRadius) {
  // Front wheel on a face of 0.8 m, centre at 0.5: sin(pitch) = 0.2 / 1.3, its x is 0.3 before the face.
  const double pitch = std::asin(0.2 / 1.3);
  const auto poses = resting_poses(carrier(), Profile::step(0.8), -0.3 - 0.65 * std::cos(pitch));
  const auto on_face = std::find_if(poses.begin(), poses.end(), [&](const Pose& p) { return std::abs(p.pitch_rad - pitch) < 1e-9; });
  ASSERT_NE(on_face, poses.end());
  EXPECT_NEAR(on_face->wheel[1].centre.z_m, 0.5, 1e-9);
  EXPECT_NEAR(on_face->wheel[1].slope_rad, std::numbers::pi / 2, 1e-9);
}

TEST(RestingPose, AThirdWheelHangsOverAGap) {
  ProfileVehicle v = carrier();
  v.axles.push_back({.x_m = 2.6, .radius_m = 0.3, .centre_height_m = 0.3});
  const auto poses = resting_poses(v, Profile::gap(0.9, 5), -0.85);   // front centre at 0.45, in the middle of the gap
  const auto level = std::find_if(poses.begin(), poses.end(), [](const Pose& p) { return std::abs(p.pitch_rad) < 1e-9; });
  ASSERT_NE(level, poses.end());
  EXPECT_TRUE(level->wheel[0].carries && level->wheel[1].carries);
  EXPECT_FALSE(level->wheel[2].carries);
  EXPECT_NEAR(level->wheel[2].gap_m, std::hypot(0.45, 0.3) - 0.3, 1e-12);
}

// Crest of two slopes t either way under the middle: the ridge stands over the straight line through the contacts. By hand for wheels of
// radius r on each side at half wheelbase L/2: centres at height -t L/2 + r sqrt(1 + t^2) below the ridge's 0; body line 0.1 - r under the centres.
TEST(RestingPose, TheBellyMeetsARidge) {
  ProfileVehicle v = carrier();
  v.underbody = {{0, 0.2}, {1.3, 0.2}};
  const double t = 0.4, centre = -t * 0.65 + 0.3 * std::hypot(1, t);
  const auto poses = resting_poses(v, profile({{-1, -t}, {0, 0}, {1, -t}}), 0);
  ASSERT_EQ(poses.size(), 1U);
  EXPECT_NEAR(poses[0].belly_depth_m, -(centre - 0.1), 1e-9);
  EXPECT_NEAR(poses[0].belly_x_m, 0, 1e-12);
}

std::vector<ProfilePoint> rough() {
  std::vector<ProfilePoint> points{{-1, 0}, {0, 0}};
  for (int i = 0, n = *rc::gen::inRange(1, 10); i < n; ++i) {
    points.push_back({points.back().x_m + *rc::gen::inRange(2, 60) / 128.0, points.back().z_m + *rc::gen::inRange(-40, 41) / 256.0});
  }
  points.push_back({points.back().x_m + 1, points.back().z_m});
  return points;
}

RC_GTEST_PROP(RestingPose, NoWheelStandsInTheGroundAndTwoTouch, ()) {
  ProfileVehicle v = carrier();
  if (*rc::gen::inRange(0, 2) == 1) v.axles.push_back({.x_m = 2.2, .radius_m = 0.25, .centre_height_m = 0.25});
  const Profile ground = profile(rough());
  const double travel = *rc::gen::inRange(-300, 600) / 128.0;
  for (const Pose& p : resting_poses(v, ground, travel)) {
    int touching = 0;
    for (std::size_t k = 0; k < p.axles; ++k) {
      RC_ASSERT(p.wheel[k].gap_m >= -1e-9);
      touching += p.wheel[k].gap_m < 1e-9 ? 1 : 0;
    }
    RC_ASSERT(touching >= 2);
  }
}

RC_GTEST_PROP(RestingPose, IsTheSameInTheMirror, ()) {
  const ProfileVehicle v = carrier();
  const Profile ground = profile(rough());
  const double travel = *rc::gen::inRange(-300, 600) / 128.0 + 1e-4;
  const auto poses = resting_poses(v, ground, travel), back = resting_poses(mirrored(v), ground.mirrored(), -travel);
  RC_ASSERT(poses.size() == back.size());
  for (std::size_t i = 0; i < poses.size(); ++i) {
    RC_ASSERT(std::abs(poses[i].pitch_rad + back[back.size() - 1 - i].pitch_rad) <= 1e-8);
    RC_ASSERT(std::abs(poses[i].cg.z_m - back[back.size() - 1 - i].cg.z_m) <= 1e-8);
  }
}

TEST(ProfileVehicle, TakesTorqueLimitsAndTheUnderbodyFromTheFile) {
  vehicle::Vehicle v;
  v.bodies = {{.mass_kg = 100, .cg_x_m = 0.5, .cg_z_m = 0.4, .clearance_m = 0.2}};
  vehicle::Axle rear{.name = "rear", .position_x_m = 0, .wheels = 2};
  rear.wheel.radius_m = 0.25;
  rear.wheel.grouser_height_m = 0.02;
  rear.drive.peak_torque_n_m = 40;
  vehicle::Axle front = rear;
  front.position_x_m = 1;
  front.drive.driven = false;
  v.axles = {rear, front};
  const auto p = profile_vehicle(v, 1.62);
  ASSERT_TRUE(p);
  EXPECT_EQ(p->axles[0].radius_m, 0.27);
  EXPECT_EQ(p->axles[0].torque_limit_n_m.value(), 80);
  EXPECT_FALSE(p->axles[1].driven || p->axles[1].torque_limit_n_m);
  EXPECT_EQ(p->weight_n, 162);
  EXPECT_EQ(p->underbody, (std::vector<ProfilePoint>{{0, 0.2}, {1, 0.2}}));
  v.axles.assign(kMostAxles + 1, rear);
  EXPECT_FALSE(profile_vehicle(v, 9.81));
}

}  // namespace
}  // namespace hardpan::performance
