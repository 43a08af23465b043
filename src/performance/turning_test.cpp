// SPDX-License-Identifier: Apache-2.0
#include "performance/turning.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <string>

namespace hardpan::performance {
namespace {

using vehicle::SteeringKind;
constexpr double kDeg = std::numbers::pi / 180;
constexpr double kInfinity = std::numeric_limits<double>::infinity();

// Two axles; wheels thin enough that outlines are their planes where a test wants that.
vehicle::Vehicle car(double wheelbase, double track, vehicle::Steering steering, double radius = 0.2, double width = 0.1) {
  vehicle::Vehicle v;
  v.bodies = {{.mass_kg = 400, .cg_x_m = 0.5 * wheelbase, .cg_z_m = 0.5}};
  vehicle::Axle axle{.name = "rear", .track_width_m = track};
  axle.wheel = {.radius_m = radius, .width_m = width};
  v.axles = {axle, axle};
  v.axles[1].name = "front";
  v.axles[1].position_x_m = wheelbase;
  v.steering = std::move(steering);
  return v;
}
vehicle::Steering front_steered(double largest = 40 * kDeg) { return {.kind = SteeringKind::ackermann, .largest_angle_rad = largest, .steered_axles = {"front"}}; }
vehicle::Steering frame(double joint, double largest = 40 * kDeg) { return {.kind = SteeringKind::frame, .largest_angle_rad = largest, .joint_x_m = joint}; }

// Farm machinery question bank: wheelbase 2.743 m, pivots 1.065 m, track 1.217 m, inside lock 40 deg. It prints 32.4 deg (exact 32.33),
// 3.18 m for the inner rear wheel (exact 3.19) and, with the outer angle rounded to 32 deg, 5.25 m for the outer front one.
TEST(Turning, GivesThePublishedAnglesAndRadiiOfACorrectSteeringGear) {
  vehicle::Vehicle v = car(2.743, 1.217, front_steered());
  v.steering.pivot_width_m = 1.065;
  const Turn t = turn_at(v, smallest_radius_m(v));
  EXPECT_TRUE(t.steerable);
  EXPECT_NEAR(t.inner_angle_rad / kDeg, 40, 1e-9);
  EXPECT_NEAR(t.outer_angle_rad / kDeg, 32.33, 0.05);
  EXPECT_NEAR(t.inner_wheel_radius_m, 3.19, 0.01);
  EXPECT_NEAR(t.outer_wheel_radius_m, 2.743 / std::sin(t.outer_angle_rad) + 0.076, 1e-12);
  const Turn rounded = turn_at(v, 2.743 / std::tan(32 * kDeg) - 0.5325);
  EXPECT_NEAR(rounded.outer_angle_rad / kDeg, 32, 1e-9);
  EXPECT_NEAR(rounded.outer_wheel_radius_m, 5.25, 0.01);
}

// Question site (inputs seen, answer derived): wheelbase 2.6 m, pivots 1.5 m, inner wheel 28 deg, outer 22.14 deg.
TEST(Turning, GivesTheOuterAngleToAnInnerOne) {
  const vehicle::Vehicle v = car(2.6, 1.5, front_steered(28 * kDeg));
  EXPECT_NEAR(turn_at(v, smallest_radius_m(v)).outer_angle_rad / kDeg, 22.14, 0.02);
}

TEST(Turning, RefusesWhatIsBeyondTheStop) {
  const vehicle::Vehicle v = car(2.6, 1.5, front_steered(28 * kDeg));
  EXPECT_TRUE(turn_at(v, 1.0001 * smallest_radius_m(v)).steerable);
  EXPECT_FALSE(turn_at(v, 0.9999 * smallest_radius_m(v)).steerable);
  EXPECT_FALSE(turn_at(v, 0).steerable);
  const vehicle::Vehicle bent = car(2.0, 1.2, frame(0.7, 35 * kDeg));
  EXPECT_TRUE(turn_at(bent, 1.0001 * smallest_radius_m(bent)).steerable);
  EXPECT_FALSE(turn_at(bent, 0.9999 * smallest_radius_m(bent)).steerable);
  EXPECT_FALSE(turn_at(bent, 0).steerable);
}

// Both axles steered opposite: the centre lies on the middle line, so the radius is half that of one steered axle about the
// same angle: L / 2 / tan(d) + track / 2.
TEST(Turning, TurnsOnHalfTheRadiusWithBothAxlesSteered) {
  vehicle::Steering both = front_steered(30 * kDeg);
  both.steered_axles = {"front", "rear"};
  const vehicle::Vehicle v = car(2, 1, both);
  EXPECT_NEAR(smallest_radius_m(v), 1 / std::tan(30 * kDeg) + 0.5, 1e-12);
  const Turn t = turn_at(v, 4);
  EXPECT_DOUBLE_EQ(t.centre_x_m, 1);
  EXPECT_NEAR(t.wheels[0].steer_rad, -t.wheels[2].steer_rad, 1e-15);
}

// Every steered wheel's axle line passes through the turning centre, and so does each half's of a frame.
TEST(Turning, WheelsPointSquareToTheTurningCentre) {
  vehicle::Vehicle v = car(2.2, 1.2, front_steered());
  v.steering.pivot_width_m = 0.9;
  const vehicle::Vehicle bent = car(2.2, 1.2, frame(0.8));
  for (const vehicle::Vehicle& one : {v, bent}) {
    for (const double radius : {-9.0, -4.0, 3.5, 20.0}) {
      const Turn t = turn_at(one, radius);
      for (const WheelPlace& w : t.wheels) {
        const double along = (w.x_m - t.centre_x_m) * std::cos(w.steer_rad) + (w.y_m - radius) * std::sin(w.steer_rad);
        EXPECT_NEAR(along, 0, 1e-12) << radius;
      }
    }
  }
}

// Joint in the middle: both halves run on one radius R = a / tan(g / 2). Not in the middle: textbook triangle, R_rear = (b + a cos g) /
// sin g and R_front = (a + b cos g) / sin g.
TEST(Turning, FrameSteeringMeetsTheHandTriangle) {
  vehicle::Vehicle v = car(2.4, 1.4, frame(1.2));
  EXPECT_NEAR(smallest_radius_m(v), 1.2 / std::tan(20 * kDeg), 1e-12);
  v.steering.joint_x_m = 0.7;
  const double rear = (1.7 + 0.7 * std::cos(40 * kDeg)) / std::sin(40 * kDeg), front = (0.7 + 1.7 * std::cos(40 * kDeg)) / std::sin(40 * kDeg);
  EXPECT_NEAR(smallest_radius_m(v), rear, 1e-12);
  const Turn t = turn_at(v, rear);
  EXPECT_NEAR(t.inner_angle_rad / kDeg, 40, 1e-9);
  EXPECT_NEAR(t.outer_wheel_radius_m, rear + 0.7, 1e-12);
  EXPECT_NEAR(t.inner_wheel_radius_m, front - 0.7, 1e-12);
}

TEST(Turning, SkidTurnsOnTheSpotWithinItsDiagonal) {
  const vehicle::Vehicle v = car(1.2, 1.0, {}, 0.25, 0.2);
  EXPECT_EQ(smallest_radius_m(v), 0);
  const Turn t = turn_at(v, 0);
  EXPECT_TRUE(t.steerable);
  EXPECT_NEAR(t.outer_wheel_radius_m, std::hypot(0.6, 0.5), 1e-12);
  EXPECT_NEAR(t.outermost_m, std::hypot(0.6 + 0.25, 0.5 + 0.1), 1e-12);
  EXPECT_NEAR(t.swept_width_m, t.outermost_m, 1e-12);  // the centre lies under it
  EXPECT_NEAR(t.cg_radius_m, 0, 1e-12);
  // At 5 m the inner edge is the body's side beside the centre, not a wheel: 5 - 0.5 - 0.1.
  EXPECT_NEAR(turn_at(v, 5).swept_width_m, std::hypot(5.6, 0.85) - 4.4, 1e-12);
}

// A rectangle 2.6 m by 1.3 m over all (wheelbase 2, track 1.2, radius 0.3, width 0.1) with the wheels turned by d on their spots: the width
// of the wheel centres' rectangle, 1.2 cos d + 2 sin d, and half a tyre on either side.
TEST(Turning, CrabSweepsWhatItsRectangleShowsSideways) {
  const vehicle::Vehicle v = car(2.0, 1.2, {.kind = SteeringKind::crab, .largest_angle_rad = 30 * kDeg}, 0.3, 0.1);
  const CrabTravel c = crab_travel(v, 25 * kDeg);
  EXPECT_TRUE(c.steerable);
  EXPECT_NEAR(c.swept_width_m, 1.2 * std::cos(25 * kDeg) + 2 * std::sin(25 * kDeg) + 0.1, 1e-12);
  EXPECT_NEAR(c.sideways_per_m, std::tan(25 * kDeg), 1e-12);
  EXPECT_DOUBLE_EQ(crab_travel(v, -25 * kDeg).swept_width_m, c.swept_width_m);
  EXPECT_NEAR(crab_travel(v, 0).swept_width_m, turn_at(v, kInfinity).swept_width_m, 1e-12);
  EXPECT_FALSE(crab_travel(v, 31 * kDeg).steerable);
  EXPECT_EQ(smallest_radius_m(v), kInfinity);
  EXPECT_FALSE(turn_at(v, 100).steerable);
  EXPECT_TRUE(turn_at(v, kInfinity).steerable);
}

TEST(Turning, RightIsTheMirrorOfLeft) {
  vehicle::Vehicle offset = car(2.2, 1.2, front_steered());
  offset.steering.pivot_width_m = 1.0;
  for (const vehicle::Vehicle& v : {offset, car(2.2, 1.2, frame(0.8)), car(2.2, 1.2, {})}) {
    const Turn left = turn_at(v, 4), right = turn_at(v, -4);
    EXPECT_NEAR(left.inner_angle_rad, right.inner_angle_rad, 1e-14);
    EXPECT_NEAR(left.outer_angle_rad, right.outer_angle_rad, 1e-14);
    EXPECT_NEAR(left.swept_width_m, right.swept_width_m, 1e-12);
    EXPECT_NEAR(left.cg_radius_m, right.cg_radius_m, 1e-12);
    for (std::size_t i = 0; i < 4; ++i) {
      const WheelPlace &l = left.wheels[i], &r = right.wheels[i ^ 1];  // left and right of one axle
      EXPECT_NEAR(l.x_m, r.x_m, 1e-14);
      EXPECT_NEAR(l.y_m, -r.y_m, 1e-14);
      EXPECT_NEAR(l.steer_rad, -r.steer_rad, 1e-14);
    }
  }
}

TEST(Turning, StraightAheadIsTheLimitOfALargeRadius) {
  for (const vehicle::Steering& s : {front_steered(), frame(0.8), vehicle::Steering{}}) {
    const vehicle::Vehicle v = car(2.2, 1.2, s);
    const Turn far = turn_at(v, 1e7), straight = turn_at(v, kInfinity);
    EXPECT_NEAR(far.swept_width_m, straight.swept_width_m, 2e-6);
    EXPECT_EQ(straight.inner_angle_rad, 0);
    EXPECT_LT(far.inner_angle_rad, 1e-6);
  }
}

// Bent, the weight moves inward; straight it is the file's.
TEST(Turning, CentreOfGravityBendsWithTheFrame) {
  vehicle::Vehicle v = car(2.0, 1.2, frame(1.0));
  v.bodies[0].cg_x_m = 0.8;
  EXPECT_NEAR(centre_of_gravity(v, wheel_places(v, 0)).x_m, 0.8, 1e-12);
  const auto places = wheel_places(v, 0.3);
  const double g = places[2].steer_rad;
  // 40 % of the weight over the front axle, 1 m ahead of the joint.
  EXPECT_NEAR(centre_of_gravity(v, places).x_m, 0.4 * (1 + std::cos(g)), 1e-12);
  EXPECT_NEAR(centre_of_gravity(v, places).y_m, 0.4 * std::sin(g), 1e-12);
}

// A car ahead of a trailer of one axle, 1.8 m behind a hitch 0.6 m behind the car's rear axle; places from the trailer's axle.
vehicle::Vehicle followed(vehicle::Steering steering, double behind_hitch = 1.8, double hitch = 0.6) {
  vehicle::Vehicle v = car(2.6, 1.5, std::move(steering));
  for (auto& a : v.axles) a.position_x_m += behind_hitch + hitch, a.body = 1;
  v.bodies[0].cg_x_m += behind_hitch + hitch;
  vehicle::Axle trailer = v.axles[0];
  trailer.name = "trailer";
  trailer.body = 0;
  trailer.position_x_m = 0;
  v.axles.insert(v.axles.begin(), trailer);
  v.bodies.insert(v.bodies.begin(), vehicle::Body{.name = "trailer", .mass_kg = 100, .cg_x_m = 0.1, .cg_z_m = 0.5});
  v.joints = {{.x_m = behind_hitch, .z_m = 0.4, .yaw = {.freedom = vehicle::Freedom::free}}};
  return v;
}

// By hand: 6 m for the rear axle puts the hitch on sqrt(36 + 0.36) = 6.0299 m and the trailer's axle on sqrt(36.36 - 3.24) = 5.7550 m; the car's nose is turned against it by
// atan(0.6 / 6) + atan(1.8 / 5.7550).
TEST(Trailers, RunOnTheCircleByHand) {
  const vehicle::Vehicle v = followed(front_steered());
  ASSERT_TRUE(follows(v));
  EXPECT_STREQ(why_not_followed(v), "");
  for (const double side : {1.0, -1.0}) {
    const Turn t = turn_at(v, 6 * side);
    ASSERT_TRUE(t.steerable);
    ASSERT_EQ(t.followers.size(), 1u);
    EXPECT_NEAR(t.followers[0].radius_m, std::sqrt(36.36 - 3.24), 1e-12);
    EXPECT_NEAR(t.followers[0].angle_rad, side * (std::atan(0.1) + std::atan(1.8 / std::sqrt(33.12))), 1e-12);
    EXPECT_NEAR(t.inner_wheel_radius_m, std::sqrt(33.12) - 0.75, 1e-12);   // the trailer's inner wheel
    EXPECT_NEAR(t.centre_x_m, 2.4, 1e-12);
    // The car by itself, steered as before.
    const Turn alone = turn_at(car(2.6, 1.5, front_steered()), 6 * side);
    EXPECT_EQ(t.inner_angle_rad, alone.inner_angle_rad);
    EXPECT_NEAR(t.outer_wheel_radius_m, alone.outer_wheel_radius_m, 1e-12);
    EXPECT_GT(t.swept_width_m, alone.swept_width_m);
  }
  EXPECT_EQ(turn_at(v, kInfinity).followers[0].angle_rad, 0);
}

// Every wheel of a trailer rolls along its plane: that plane is square to the line to the turning centre. Three trailers, one of two axles, whose wheels scrub evenly about the middle.
TEST(Trailers, WheelPlanesAreSquareToTheLineToTheCentre) {
  vehicle::Vehicle v = followed(front_steered());
  const auto add = [&](double length, std::initializer_list<double> axles) {
    for (auto& a : v.axles) a.position_x_m += length, ++a.body;
    for (auto& b : v.bodies) b.cg_x_m += length;
    for (auto& j : v.joints) j.x_m += length;
    vehicle::Axle axle = v.axles[0];
    axle.body = 0;
    std::size_t at = 0;
    for (const double x : axles) axle.name = "more " + std::to_string(v.axles.size()), axle.position_x_m = x, v.axles.insert(v.axles.begin() + static_cast<std::ptrdiff_t>(at++), axle);
    v.bodies.insert(v.bodies.begin(), vehicle::Body{.name = "more", .mass_kg = 80, .cg_x_m = axle.position_x_m, .cg_z_m = 0.5});
    v.joints.insert(v.joints.begin(), vehicle::Joint{.x_m = length - 0.4, .z_m = 0.4, .yaw = {.freedom = vehicle::Freedom::free}});
  };
  add(2.0, {0.0});
  add(2.5, {0.0, 0.6});
  const Turn t = turn_at(v, -9);
  ASSERT_TRUE(t.steerable);
  ASSERT_EQ(t.followers.size(), 3u);
  for (const WheelPlace& w : t.wheels) {
    if (w.axle == 0 || w.axle == 1) continue;   // the two that scrub
    EXPECT_NEAR((w.x_m - t.centre_x_m) * std::cos(w.steer_rad) + (w.y_m + 9) * std::sin(w.steer_rad), 0, 1e-12) << w.axle;
  }
  for (std::size_t i = 0; i < t.wheels.size(); ++i) EXPECT_EQ(t.wheels[i].axle, i / 2);
  // Each cuts the corner a little more.
  for (std::size_t i = 1; i < 3; ++i) EXPECT_LT(t.followers[i].radius_m, t.followers[i - 1].radius_m);
}

// Followed for a while in small steps of an axle pulled along without sideways motion, the trailer comes to the angle told.
TEST(Trailers, ComeToThisAnglePulledAlong) {
  const Turn t = turn_at(followed(front_steered()), 6);
  double angle = 0;   // of the car against the trailer
  for (int i = 0; i < 60000; ++i) {   // 60 m
    // Yaw rates per metre: the car 1 / 6; the trailer's axle is pulled by a hitch that moves ahead by 1 and to the right by 0.6 / 6 in the car's frame.
    const double trailer = (std::sin(angle) - 0.1 * std::cos(angle)) / 1.8;
    angle += 1e-3 * (1.0 / 6 - trailer);
  }
  EXPECT_NEAR(angle, t.followers[0].angle_rad, 1e-6);
}

TEST(Trailers, FoldUpAndMeetStopsBeforeTheSteeringDoes) {
  // The hitch circle must be wider than the trailer is long: R^2 + 0.36 > L^2.
  const vehicle::Vehicle longer = followed(front_steered(), 6);
  const double smallest = smallest_radius_m(longer);
  EXPECT_NEAR(smallest, std::sqrt(36 - 0.36), 1e-6);
  EXPECT_TRUE(turn_at(longer, 1.0001 * smallest).steerable);
  const Turn folds = turn_at(longer, 0.9999 * smallest);
  EXPECT_FALSE(folds.steerable);
  EXPECT_FALSE(folds.followed);
  // A stop at 20 deg.
  vehicle::Vehicle stopped = followed(front_steered());
  stopped.joints[0].yaw.lowest_rad = -20 * kDeg;
  stopped.joints[0].yaw.highest_rad = 20 * kDeg;
  const double at_stop = smallest_radius_m(stopped);
  EXPECT_NEAR(turn_at(stopped, at_stop).followers[0].angle_rad, 20 * kDeg, 1e-7);
  EXPECT_FALSE(turn_at(stopped, -0.999 * at_stop).followed);
  // Short and close behind, the steering ends first.
  const vehicle::Vehicle close = followed(front_steered(), 1.2);
  EXPECT_NEAR(smallest_radius_m(close), smallest_radius_m(car(2.6, 1.5, front_steered())), 1e-12);
}

TEST(Trailers, FollowFramesAndSkidSteeredOnes) {
  vehicle::Vehicle bent = followed(frame(0));
  bent.steering.joint_x_m = 1.8 + 0.6 + 1.2;
  const Turn t = turn_at(bent, 5);
  ASSERT_EQ(t.followers.size(), 1u);
  EXPECT_NEAR(t.followers[0].radius_m, std::sqrt(25.36 - 3.24), 1e-12);
  vehicle::Vehicle skid = followed({});
  for (auto& a : skid.axles) a.drive.driven = a.body == 1;
  // About its centre of gravity, 1.3 m ahead of the rear axle: the hitch on 1.9 m, longer than the trailer. On the spot it swings round after it.
  EXPECT_TRUE(turn_at(skid, 0).steerable);
  EXPECT_NEAR(turn_at(skid, 0).followers[0].radius_m, std::sqrt(1.9 * 1.9 - 1.8 * 1.8), 1e-12);
  vehicle::Vehicle longer = followed({}, 2.2);
  for (auto& a : longer.axles) a.drive.driven = a.body == 1;
  EXPECT_NEAR(smallest_radius_m(longer), std::sqrt(2.2 * 2.2 - 1.9 * 1.9), 1e-6);
}

TEST(Trailers, WhoseGeometryIsNotComputedSayWhy) {
  vehicle::Vehicle v = followed(front_steered());
  v.joints[0].yaw = {.freedom = vehicle::Freedom::elastic, .stiffness_n_m_per_rad = 1e3};
  EXPECT_STRNE(why_not_followed(v), "");
  v = followed({.kind = SteeringKind::ackermann, .largest_angle_rad = 0.5, .steered_axles = {"trailer"}});
  EXPECT_STRNE(why_not_followed(v), "");
  v = followed(front_steered());
  v.joints[0].x_m = -0.1;
  EXPECT_STRNE(why_not_followed(v), "");
  v = followed({});
  for (auto& a : v.axles) a.drive.driven = a.body == 0;
  EXPECT_STRNE(why_not_followed(v), "");
  v = followed(front_steered());
  v.joints[0].yaw = {};
  EXPECT_FALSE(follows(v));
  EXPECT_STREQ(why_not_followed(v), "");
}

}  // namespace
}  // namespace hardpan::performance
