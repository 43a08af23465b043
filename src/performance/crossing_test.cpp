// SPDX-License-Identifier: Apache-2.0
#include "performance/crossing.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace hardpan::performance {
namespace {

// Invented vehicles.
ProfileVehicle carrier(bool rear_driven = true, bool front_driven = true) {
  return {.axles = {{.x_m = 0, .radius_m = 0.3, .centre_height_m = 0.3, .driven = rear_driven},
                    {.x_m = 1.3, .radius_m = 0.3, .centre_height_m = 0.3, .driven = front_driven}},
          .cg_x_m = 0.62, .cg_z_m = 0.55, .weight_n = 4120};
}
ProfileVehicle even_axles(int axles, double spacing, double radius, double cg_share) {
  ProfileVehicle v;
  for (int k = 0; k < axles; ++k) v.axles.push_back({.x_m = k * spacing, .radius_m = radius, .centre_height_m = radius});
  v.cg_x_m = cg_share * spacing * (axles - 1);
  v.cg_z_m = 0.4;
  v.weight_n = 4120;
  return v;
}
Profile profile(const std::vector<ProfilePoint>& points) {
  base::Problems problems;
  return *Profile::from_points(points, {}, problems);
}

TEST(Crossing, FlatGroundNeedsNoFriction) {
  for (const int axles : {2, 3, 4, 6}) {
    for (const TorqueSplit split : {TorqueSplit::best, TorqueSplit::equal}) {
      const Crossing c = cross(even_axles(axles, 0.7, 0.2, 0.48), profile({{0, 0}, {1, 0}}), {.split = split});
      ASSERT_TRUE(c.solve.converged());
      EXPECT_TRUE(c.passes);
      EXPECT_EQ(c.least_friction, 0);
      EXPECT_LE(c.largest_torque_n_m, 1e-6);
      EXPECT_EQ(c.drops, 0);
    }
  }
}

TEST(Crossing, ASlopeNeedsItsTangentWhateverTheAxles) {
  for (const int axles : {2, 3, 4}) {
    const Crossing up = cross(even_axles(axles, 0.7, 0.2, 0.48), profile({{0, 0}, {1, 0.4}}), {});
    ASSERT_TRUE(up.solve.converged());
    EXPECT_NEAR(up.least_friction, 0.4, 1e-8);
    EXPECT_NEAR(up.climbing.friction, 0.4, 1e-8);
    const Crossing down = cross(even_axles(axles, 0.7, 0.2, 0.48), profile({{0, 0}, {1, -0.4}}), {});
    EXPECT_NEAR(down.holding.friction, 0.4, 1e-8);
    EXPECT_EQ(down.climbing.friction, 0);
    EXPECT_EQ(cross(even_axles(axles, 0.7, 0.2, 0.48), profile({{0, 0}, {1, -0.4}}), {.friction = 0.1, .descents_held = false}).passes, true);
  }
}

// One driven wheel, the other axle rolls free: mu = sqrt(2 r h - h^2) / (r - h) where the front meets the corner (METHODS 4.6). The
// centre of gravity sits forward, so that pulling the rear over asks less.
TEST(Crossing, OneDrivenWheelAtAStepIsTheClosedFormAndSoIsTheHighestStep) {
  ProfileVehicle v = carrier(false, true);
  v.cg_x_m = 1.0;
  for (const double h : {0.03, 0.1, 0.16}) {
    const Crossing c = cross(v, Profile::step(h), {});
    ASSERT_TRUE(c.solve.converged());
    const double mu = std::sqrt(2 * 0.3 * h - h * h) / (0.3 - h);
    EXPECT_NEAR(c.least_friction, mu, 1e-7 * (1 + mu));
    EXPECT_NEAR(c.critical_m, -std::sqrt(2 * 0.3 * h - h * h) - 0.65, 1e-6);   // the front centre just before the corner
  }
  const ObstacleLimit limit = highest_step(v, {.friction = 0.7}, {});
  ASSERT_TRUE(limit.solve.converged());
  EXPECT_LE(limit.solve.residual, limit.solve.tolerance);
  const double highest = 0.3 * (1 - 1 / std::hypot(1, 0.7));
  EXPECT_LE(limit.passes_m, highest + 1e-9);
  EXPECT_GE(limit.fails_m, highest - 1e-9);
  EXPECT_EQ(limit.stopped_by, Obstruction::friction);
}

// The same wheel in a slot narrower than itself sinks until it touches both edges: tan = (w/2) / sqrt(r^2 - w^2/4) to climb out.
TEST(Crossing, OneDrivenWheelAtAGapIsTheClosedForm) {
  ProfileVehicle v = carrier(false, true);
  v.cg_x_m = 1.0;
  const double w = 0.24;
  const Crossing c = cross(v, Profile::gap(w, 3), {});
  ASSERT_TRUE(c.solve.converged());
  EXPECT_NEAR(c.climbing.friction, 0.5 * w / std::sqrt(0.09 - 0.25 * w * w), 1e-7);
}

// All wheels driven at the rear wheel's corner: at the least friction of the best split both wheels are at their limit, so the friction is where
// the moments about the centre of gravity vanish with T = mu N on both. Solved here by halving, from geometry told by hand.
TEST(Crossing, TwoDrivenAxlesAtAStepAreBothAtTheirLimit) {
  const double r = 0.3, h = 0.12, pitch = std::asin(h / 1.3);
  const ProfileVehicle v = carrier();
  const Crossing c = cross(v, Profile::step(h), {});
  ASSERT_TRUE(c.solve.converged());
  const double slope = std::acos((r - h) / r), s = std::sin(pitch), k = std::cos(pitch);
  // Rear centre at (0, r): corner at (r sin, h), front contact h above the rear one, cg from the rear centre by (0.62, 0.25) turned.
  const double cg_x = 0.62 * k - 0.25 * s, cg_z = r + 0.62 * s + 0.25 * k;
  const auto moment = [&](double mu) {
    const double rx = -std::sin(slope) + mu * std::cos(slope), rz = std::cos(slope) + mu * std::sin(slope);   // force per normal force, rear
    const double nr = v.weight_n / (rz - rx / mu), nf = -nr * rx / mu;                                           // forward forces cancel, vertical ones carry W
    return nr * ((r * std::sin(slope) - cg_x) * rz - (h - cg_z) * rx) + nf * ((1.3 * k - cg_x) - (h - cg_z) * mu);
  };
  double low = 0.3, high = 1.2;
  ASSERT_NE(moment(low) > 0, moment(high) > 0);
  while (high - low > 1e-12) {
    const double middle = 0.5 * (low + high);
    ((moment(middle) > 0) == (moment(low) > 0) ? low : high) = middle;
  }
  EXPECT_NEAR(c.least_friction, low, 1e-6);
}

TEST(Crossing, MoreFrictionNeverLowersTheStepNorNarrowsTheGap) {
  double step = 0, gap = 0;
  for (const double mu : {0.2, 0.4, 0.6, 0.8, 1.0}) {
    const ObstacleLimit s = highest_step(carrier(), {.friction = mu}, {}), g = widest_gap(carrier(), {.friction = mu}, {});
    ASSERT_TRUE(s.solve.converged() && g.solve.converged());
    EXPECT_GE(s.passes_m, step - s.solve.tolerance);
    EXPECT_GE(g.passes_m, gap - g.solve.tolerance);
    EXPECT_GT(s.fails_m, s.passes_m);
    step = s.passes_m;
    gap = g.passes_m;
  }
}

TEST(Crossing, TwoAxlesNeverCrossASlotWiderThanAWheelButFourDo) {
  EXPECT_EQ(cross(carrier(), Profile::gap(0.62, 9), {}).stopped_by, Obstruction::no_ground);
  const ProfileVehicle four = even_axles(4, 0.7, 0.2, 0.48);
  const Crossing c = cross(four, Profile::gap(0.6, 9), {});
  ASSERT_TRUE(c.solve.converged());
  EXPECT_TRUE(c.passes);
  EXPECT_LE(c.least_friction, 1e-5);   // the centre of gravity is carried throughout: nothing dips
  // Three: the rear one falls in where the centre of gravity is not over the other two.
  EXPECT_EQ(cross(even_axles(3, 0.7, 0.2, 0.48), Profile::gap(0.65, 9), {}).stopped_by, Obstruction::no_ground);
}

// A middle axle not quite in the middle stays on the ground until the slope under the front wheel, on its way over the edge, is 2.04e-6 rad. The programs there
// used to fail, and with them the whole crossing ("out of steps").
TEST(Crossing, ThreeAxlesGoOverTheEdgeOfAGap) {
  ProfileVehicle v = even_axles(3, 1, 0.2, 0.5);
  v.axles[0].radius_m = v.axles[0].centre_height_m = 0.21381560398617286;
  v.axles[1].radius_m = v.axles[1].centre_height_m = 0.21371402565811903;
  v.axles[2].radius_m = v.axles[2].centre_height_m = 0.21385297238725412;
  v.axles[1].x_m = 0.97118985737993768;
  v.axles[2].x_m = 1.9840452582579133;
  v.cg_x_m = 1.0199109333788412;
  v.cg_z_m = 0.57813789977631425;
  for (const double share : {0.01, 0.02, 0.05}) {
    const Crossing c = cross(v, Profile::gap(0.2, 9), {.step_share = share});
    ASSERT_TRUE(c.solve.converged()) << share << ' ' << base::name(c.solve.status);
    EXPECT_TRUE(c.passes);
    EXPECT_NEAR(c.least_friction, 0.0328767, 1e-5);
  }
}

TEST(Crossing, AStepDownIsTheStepUpBackward) {
  const Crossing up = cross(carrier(), Profile::step(0.12), {}), down = cross(mirrored(carrier()), Profile::step(0.12).mirrored(), {});
  EXPECT_NEAR(up.climbing.friction, down.holding.friction, 1e-7);
  EXPECT_EQ(down.climbing.friction, 0);
}

TEST(Crossing, SaysTorqueWhereFrictionWouldDo) {
  ProfileVehicle v = carrier();
  const Crossing free = cross(v, Profile::step(0.1), {.friction = 0.9});
  ASSERT_TRUE(free.passes);
  ASSERT_GT(free.largest_torque_n_m, 0);
  for (ProfileAxle& a : v.axles) a.torque_limit_n_m = 1.01 * free.largest_torque_n_m;
  EXPECT_TRUE(cross(v, Profile::step(0.1), {.friction = 0.9}).passes);
  for (ProfileAxle& a : v.axles) a.torque_limit_n_m = 0.99 * free.largest_torque_n_m;
  const Crossing held = cross(v, Profile::step(0.1), {.friction = 0.9});
  EXPECT_EQ(held.stopped_by, Obstruction::torque);
  EXPECT_NEAR(held.largest_torque_share, 1 / 0.99, 1e-6);
  EXPECT_EQ(cross(v, Profile::step(0.1), {.friction = 0.2}).stopped_by, Obstruction::friction);
}

// By hand: on a ridge of slope t the belly between the axles has the clearance c - r + r sqrt(1 + t^2) - t L/2 over it.
TEST(Crossing, HangsUpOnARidge) {
  ProfileVehicle v = carrier();
  const double t = 0.4, needed = 0.3 - 0.3 * std::hypot(1, t) + t * 0.65;
  const Profile ridge = profile({{-1, -t}, {0, 0}, {1, -t}});
  v.underbody = {{0, needed + 0.005}, {1.3, needed + 0.005}};
  EXPECT_TRUE(cross(v, ridge, {}).passes);
  v.underbody = {{0, needed - 0.005}, {1.3, needed - 0.005}};
  const Crossing c = cross(v, ridge, {});
  EXPECT_EQ(c.stopped_by, Obstruction::hang_up);
  EXPECT_TRUE(std::isnan(c.least_friction));
  EXPECT_NEAR(c.stopped_at_m, 0, 0.15);
}

TEST(Crossing, SaysWhenEvenTheLargestSizeIsCrossed) {
  const ObstacleLimit limit = highest_step(carrier(), {.friction = 1}, {.largest_m = 0.05});
  EXPECT_EQ(limit.solve.status, base::SolveStatus::out_of_range);
  EXPECT_EQ(limit.passes_m, 0.05);
  EXPECT_TRUE(std::isnan(limit.fails_m));
}

std::vector<ProfilePoint> bumps() {
  std::vector<ProfilePoint> points{{-1, 0}, {0, 0}};
  for (int i = 0, n = *rc::gen::inRange(1, 4); i < n; ++i) {
    points.push_back({points.back().x_m + *rc::gen::inRange(8, 60) / 128.0, points.back().z_m + *rc::gen::inRange(-24, 25) / 256.0});
  }
  points.push_back({points.back().x_m + 1, points.back().z_m});
  return points;
}
CrossingSettings coarse() { return {.step_share = 0.1}; }

RC_GTEST_PROP(Crossing, PointsOnAStraightPieceChangeNothing, ()) {
  const auto points = bumps();
  std::vector<ProfilePoint> more{points.front()};
  for (std::size_t i = 1; i < points.size(); ++i) {
    for (int j = 1, n = *rc::gen::inRange(1, 5); j < n; ++j) {
      const double share = static_cast<double>(j) / n;
      more.push_back({points[i - 1].x_m + share * (points[i].x_m - points[i - 1].x_m), points[i - 1].z_m + share * (points[i].z_m - points[i - 1].z_m)});
    }
    more.push_back(points[i]);
  }
  const Crossing a = cross(carrier(), profile(points), coarse()), b = cross(carrier(), profile(more), coarse());
  RC_ASSERT(a.passes == b.passes);
  RC_ASSERT(a.stopped_by == b.stopped_by);
  if (a.passes) RC_ASSERT(std::abs(a.least_friction - b.least_friction) <= 1e-7);
}

// Two axles whose poses go on without a drop: the same poses backward. Climbing and holding change places.
RC_GTEST_PROP(Crossing, BackwardOverTheMirrorImageIsTheSame, ()) {
  const Profile ground = profile(bumps());
  const Crossing a = cross(carrier(), ground, coarse()), b = cross(mirrored(carrier()), ground.mirrored(), coarse());
  RC_ASSERT(a.solve.converged() && b.solve.converged());
  if (a.drops > 0 || b.drops > 0) return;
  RC_ASSERT(a.passes == b.passes);
  if (!a.passes) return;
  RC_ASSERT(std::abs(a.climbing.friction - b.holding.friction) <= 1e-5);
  RC_ASSERT(std::abs(a.holding.friction - b.climbing.friction) <= 1e-5);
}

// Weight and size cancel: friction is a pure number.
RC_GTEST_PROP(Crossing, FrictionDoesNotKnowTheScale, ()) {
  const double scale = *rc::gen::inRange(20, 400) / 100.0;
  auto points = bumps();
  const Crossing a = cross(carrier(), profile(points), coarse());
  for (ProfilePoint& p : points) p = {scale * p.x_m, scale * p.z_m};
  ProfileVehicle v = carrier();
  for (ProfileAxle& axle : v.axles) axle = {.x_m = scale * axle.x_m, .radius_m = scale * axle.radius_m, .centre_height_m = scale * axle.centre_height_m};
  v.cg_x_m *= scale;
  v.cg_z_m *= scale;
  v.weight_n *= 7;
  const Crossing b = cross(v, profile(points), coarse());
  RC_ASSERT(a.passes == b.passes);
  if (a.passes) {
    RC_ASSERT(std::abs(a.least_friction - b.least_friction) <= 1e-6);
    RC_ASSERT(std::abs(b.largest_torque_n_m - 7 * scale * a.largest_torque_n_m) <= 1e-4 * (1 + b.largest_torque_n_m));
  }
}

// Poses whose torques are small at the least friction are passed over: no torque is missed by that, nor the first place of too much.
TEST(Crossing, TheLargestTorqueIsThatOfEveryPoseByItself) {
  for (const double limit : {30.0, 400.0}) {
    for (const TorqueSplit split : {TorqueSplit::best, TorqueSplit::equal}) {
      ProfileVehicle v = carrier();
      v.axles[0].torque_limit_n_m = limit;
      v.axles[1].torque_limit_n_m = limit;
      const Crossing c = cross(v, Profile::step(0.1), {.friction = 0.9, .split = split, .frames_every_m = 1e-12});
      ASSERT_TRUE(c.solve.converged());
      double torque = 0, first_over = std::numeric_limits<double>::infinity();
      for (const Frame& f : c.frames) {
        if (!f.forces.solve.converged() || f.forces.friction > 0.9) continue;
        const Forces t = least_torque(v, f.pose, split, 0.9);
        ASSERT_TRUE(t.solve.converged());
        torque = std::max(torque, t.torque_n_m);
        if (t.torque_share > 1 + 1e-9) first_over = std::min(first_over, f.pose.travel_m);
      }
      EXPECT_NEAR(c.largest_torque_n_m, torque, 1e-9 * torque);
      EXPECT_EQ(std::max(c.axle_torque_n_m[0], c.axle_torque_n_m[1]), c.largest_torque_n_m);
      EXPECT_EQ(c.stopped_by.has_value(), std::isfinite(first_over));
      if (c.stopped_by) { EXPECT_EQ(c.stopped_at_m, first_over); }
    }
  }
}

}  // namespace
}  // namespace hardpan::performance
