// SPDX-License-Identifier: Apache-2.0
// What must hold of any vehicle, tried on random ones: loads and weight, mirror images, wheelbase, friction, flat ground, points of a profile, rigid limits,
// bodies split by a rigid joint. Properties of one part on its own stand in that part's test; every vehicle here is invented.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "math/random.hpp"
#include "performance/any_heading.hpp"
#include "performance/clearance.hpp"
#include "performance/crossing.hpp"
#include "performance/test_carrier.hpp"
#include "performance/tip_over.hpp"
#include "performance/travel.hpp"
#include "performance/turn_on_soil.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180, kGravity = 9.81;

// Numbers of the n-th vehicle of a property; a failure prints n.
class Numbers {
 public:
  Numbers(const char* property, std::uint64_t n) : stream_(20261128, math::stream_id(property)), next_(n * 1000) {}
  double between(double low, double high) { return low + (high - low) * stream_.uniform(next_++); }
  std::size_t one_of(std::size_t count) { return std::min(count - 1, static_cast<std::size_t>(between(0, static_cast<double>(count)))); }
  bool happens(double chance) { return between(0, 1) < chance; }

 private:
  math::Stream stream_;
  std::uint64_t next_;
};

// Two to four axles, wheels alike within 2 % (they run at one angular speed), springs under some, payload anywhere over them.
vehicle::Vehicle any_vehicle(Numbers& u, std::size_t axles) {
  vehicle::Vehicle v;
  v.id = "random";
  const double size = u.between(0.15, 0.4);
  double x = 0, radius = 0;
  for (std::size_t k = 0; k < axles; ++k) {
    vehicle::Axle a{.name = std::to_string(k)};
    a.wheel = {.radius_m = size * u.between(0.98, 1.02), .width_m = u.between(0.1, 0.25)};
    if (k > 0) x += radius + a.wheel.radius_m + u.between(0.05, 0.8);
    radius = a.wheel.radius_m;
    a.position_x_m = x;
    a.track_width_m = u.between(0.7, 1.4);
    if (u.happens(0.5)) a.suspension_n_per_m = u.between(2e4, 2e5);
    v.axles.push_back(a);
  }
  v.bodies = {{.mass_kg = u.between(100, 900), .cg_x_m = x * u.between(0.35, 0.65), .cg_y_m = u.between(-0.1, 0.1), .cg_z_m = u.between(0.25, 0.7)}};
  if (u.happens(0.5)) v.payload = {{.name = "load", .mass_kg = u.between(5, 100), .x_m = x * u.between(0.3, 0.7), .y_m = u.between(-0.2, 0.2), .z_m = u.between(0.2, 0.8)}};
  return v;
}
vehicle::Vehicle mirror_image(vehicle::Vehicle v) {
  for (vehicle::Body& b : v.bodies) b.cg_y_m = -b.cg_y_m;
  for (vehicle::Payload& p : v.payload) p.y_m = -p.y_m;
  return v;
}
// The same vehicle as two bodies, the second from `first` axles on, that a rigid joint holds; masses and centres add up to the one body's.
vehicle::Vehicle split_in_two(const vehicle::Vehicle& one, std::size_t first, Numbers& u) {
  vehicle::Vehicle v = one;
  const vehicle::Body whole = one.bodies[0];
  const double share = u.between(0.3, 0.7), dx = u.between(0.05, 0.3), dy = u.between(-0.1, 0.1), dz = u.between(-0.1, 0.1);
  vehicle::Body behind = whole, ahead = whole;
  behind.mass_kg = share * whole.mass_kg, ahead.mass_kg = (1 - share) * whole.mass_kg;
  behind.cg_x_m -= (1 - share) * dx, ahead.cg_x_m += share * dx;
  behind.cg_y_m -= (1 - share) * dy, ahead.cg_y_m += share * dy;
  behind.cg_z_m -= (1 - share) * dz, ahead.cg_z_m += share * dz;
  v.bodies = {behind, ahead};
  v.joints = {{.x_m = 0.5 * (one.axles[first - 1].position_x_m + one.axles[first].position_x_m), .z_m = u.between(0.2, 0.5)}};
  for (std::size_t k = first; k < v.axles.size(); ++k) v.axles[k].body = 1;
  for (vehicle::Payload& p : v.payload) p.body = u.one_of(2);
  return v;
}
Profile profile(const std::vector<ProfilePoint>& points) {
  base::Problems problems;
  return *Profile::from_points(points, {}, problems);
}
TurningMachine turning(const vehicle::Vehicle& v, const soil::Soil& s = test::sand()) {
  base::Problems problems;
  auto m = make_turning_machine(v, s, kGravity, soil::SlipSinkage::none, {}, problems);
  if (!m) throw std::logic_error(problems.list().front().text());
  return std::move(*m);
}

// Standing on hard ground on any fall line, and climbing on soil with a pull at the hitch: W cos a and what the tow line bears down.
TEST(AnyVehicle, LoadsItsWheelsWithItsWeight) {
  Workspace space;
  int stood = 0, climbed = 0;
  for (std::uint64_t n = 0; n < 200; ++n) {
    Numbers u("loads", n);
    vehicle::Vehicle v = any_vehicle(u, 2 + u.one_of(3));
    const double weight = vehicle::mass_kg(v) * kGravity, slope = u.between(0, 0.35);
    if (const auto loads = standing_loads_n(stance_of(v, kGravity), slope, u.between(-3.14, 3.14))) {
      ++stood;
      double sum = 0;
      for (const double load : *loads) {
        EXPECT_GE(load, 0) << n;
        sum += load;
      }
      EXPECT_NEAR(sum, weight * std::cos(slope), 1e-9 * weight) << n;
    }
    v.hitch = vehicle::Hitch{.x_m = -u.between(0.1, 0.5), .height_m = u.between(0.2, 0.6)};
    base::Problems problems;
    const auto on = on_soil(v, test::sand(), kGravity, soil::SlipSinkage::none, {}, problems);
    ASSERT_TRUE(on) << n;
    Travel t;
    travels({&*on, 1}, 0.3 * slope, 0.05 * weight, {&t, 1}, space);
    if (!t.goes) continue;
    ++climbed;
    double sum = 0;
    for (std::size_t k = 0; k < v.axles.size(); ++k) {
      EXPECT_GE(t.state.wheel[k].load_n, 0) << n;
      sum += v.axles[k].wheels * t.state.wheel[k].load_n;
    }
    EXPECT_NEAR(sum, weight * std::cos(0.3 * slope), 1e-6 * weight) << n;
    EXPECT_NEAR(t.state.hitch_pull_n, 0.05 * weight, 1e-6 * weight) << n;
  }
  EXPECT_GT(stood, 150);
  EXPECT_GT(climbed, 100);
}

// The image in its own centre plane: turned the other way and on the other side of the fall line.
TEST(AnyVehicle, TurnsTipsAndClimbsAsItsMirrorImageDoes) {
  int turned = 0, climbed = 0;
  for (std::uint64_t n = 0; n < 28; ++n) {
    Numbers u("mirror", n);
    const vehicle::Vehicle v = any_vehicle(u, 2 + u.one_of(2)), image = mirror_image(v);
    const double fall = u.between(-3, 3);
    EXPECT_NEAR(tip_over(stance_of(v, kGravity), fall).angle_rad, tip_over(stance_of(image, kGravity), -fall).angle_rad, 1e-9) << n;
    const TurningMachine m = turning(v), other = turning(image);
    const double radius = u.between(3, 20), heading = u.between(-3, 3), slope = u.between(0, 0.1);
    const TurnState a = turn_on_soil(m, {.radius_m = radius, .gradient_rad = slope, .heading_rad = heading});
    const TurnState b = turn_on_soil(other, {.radius_m = -radius, .gradient_rad = slope, .heading_rad = -heading});
    EXPECT_EQ(a.status, b.status) << n << ' ' << name(a.status) << ' ' << name(b.status);
    if (a.balanced() && b.balanced()) {
      ++turned;
      EXPECT_NEAR(a.work_j_per_m, b.work_j_per_m, 1e-5 * (1 + std::abs(a.work_j_per_m))) << n;  // near what the ground gives, balances to 1e-8 of the weight leave so much
      EXPECT_NEAR(a.drift_rad, -b.drift_rad, 1e-7) << n;
      EXPECT_NEAR(a.largest_torque_n_m, b.largest_torque_n_m, 1e-6 * (1 + a.largest_torque_n_m)) << n;
    }
    if (n % 4 != 0) continue;
    const HeadingLimit left = slopes_by_heading(m, {.headings_rad = {heading}}).front(), right = slopes_by_heading(other, {.headings_rad = {-heading}}).front();
    EXPECT_EQ(left.working.solve.status, right.working.solve.status) << n;
    if (!left.working.solve.converged()) continue;  // n = 4 sinks by 0.6 of its wheels' radius and has no numerical answer
    ++climbed;
    EXPECT_NEAR(left.working.gradient_rad, right.working.gradient_rad, 0.02 * kDeg) << n;
    EXPECT_NEAR(left.tips_rad, right.tips_rad, 1e-9) << n;
    EXPECT_EQ(left.working.factor, right.working.factor) << n << ' ' << name(left.working.factor) << ' ' << name(right.working.factor);
  }
  EXPECT_GT(turned, 14);
  EXPECT_GT(climbed, 4);
}

// Either end moved outward, the rest of the vehicle in its place: rigid, and settled on its springs.
TEST(AnyVehicle, NeverTipsEarlierForeAndAftOnALongerWheelbase) {
  for (std::uint64_t n = 0; n < 200; ++n) {
    Numbers u("wheelbase", n);
    const vehicle::Vehicle v = any_vehicle(u, 2 + u.one_of(3));
    const Stance s = stance_of(v, kGravity);
    Stance longer = s;
    const double front = v.axles.back().position_x_m, ahead = u.between(0, 1), behind = u.between(0, 1);
    for (Support& p : longer.supports) p.x_m += p.x_m == 0 ? -behind : p.x_m == front ? ahead : 0;
    for (const double fall : {kFallAhead, kFallBehind}) {
      EXPECT_GE(tip_over(longer, fall).angle_rad, tip_over(s, fall).angle_rad - 1e-12) << n;
      if (v.axles.size() > 2) continue;  // an axle between shares its load by stiffness: springs farther apart settle otherwise
      const SettledTipOver a = settled_tip_over(s, fall, {}), b = settled_tip_over(longer, fall, {});
      if (a.stands_settled) { EXPECT_TRUE(b.stands_settled && b.tip.angle_rad >= a.tip.angle_rad - 1e-9) << n; }
    }
  }
}

ProfileVehicle any_profile_vehicle(Numbers& u, std::size_t axles, bool some_undriven) {
  vehicle::Vehicle v = any_vehicle(u, axles);
  for (vehicle::Axle& a : v.axles) a.drive.driven = !some_undriven || u.happens(0.7);
  if (std::none_of(v.axles.begin(), v.axles.end(), [](const vehicle::Axle& a) { return a.drive.driven; })) v.axles[u.one_of(axles)].drive.driven = true;
  return *profile_vehicle(v, kGravity);
}

TEST(AnyVehicle, TakesNoLowerStepAndNoNarrowerGapWithMoreFriction) {
  for (std::uint64_t n = 0; n < 12; ++n) {
    Numbers u("friction", n);
    const ProfileVehicle v = any_profile_vehicle(u, 2 + n % 2, n % 3 == 0);
    double step = 0, gap = 0;
    for (const double mu : {0.3, 0.6, 0.9}) {
      const SearchSettings search{.tolerance_m = 1e-3, .ladder = 8};
      const CrossingSettings settings{.friction = mu, .step_share = 0.05};
      const ObstacleLimit s = highest_step(v, settings, search), g = widest_gap(v, settings, search);
      ASSERT_TRUE(s.solve.converged() || s.solve.status == base::SolveStatus::out_of_range) << n << ' ' << base::name(s.solve.status);
      ASSERT_TRUE(g.solve.converged() || g.solve.status == base::SolveStatus::out_of_range) << n << ' ' << base::name(g.solve.status);
      EXPECT_GE(s.passes_m, step - s.solve.tolerance) << n << " at " << mu;
      EXPECT_GE(g.passes_m, gap - g.solve.tolerance) << n << " at " << mu;
      step = s.passes_m;
      gap = g.passes_m;
    }
  }
}

TEST(AnyVehicle, NeedsNoFrictionOnFlatGroundAndTheTangentOfASlope) {
  for (std::uint64_t n = 0; n < 60; ++n) {
    Numbers u("flat", n);
    const ProfileVehicle v = any_profile_vehicle(u, 2 + u.one_of(3), true);
    for (const TorqueSplit split : {TorqueSplit::best, TorqueSplit::equal}) {
      const Crossing c = cross(v, profile({{0, 0}, {1, 0}}), {.split = split, .step_share = 0.1});
      ASSERT_TRUE(c.solve.converged()) << n;
      EXPECT_TRUE(c.passes) << n;
      EXPECT_EQ(c.least_friction, 0) << n;
      EXPECT_LE(c.largest_torque_n_m, 1e-6) << n;
    }
    // All axles driven: no less than the tangent, and the best split asks no more.
    ProfileVehicle driven = v;
    for (ProfileAxle& a : driven.axles) a.driven = true;
    const double slope = u.between(0.05, 0.25);
    const Crossing c = cross(driven, profile({{0, 0}, {1, slope}}), {.step_share = 0.1});
    if (c.passes) { EXPECT_NEAR(c.least_friction, slope, 1e-7) << n; }
  }
}

// Wheels that flatten hardly, and joints that bend hardly, are the rigid ones; a rigid joint is none at all.
TEST(AnyVehicle, TendsToTheRigidOneWithItsStiffnesses) {
  for (std::uint64_t n = 0; n < 10; ++n) {
    Numbers u("rigid", n);
    const ProfileVehicle rigid = any_profile_vehicle(u, 2, false);
    const Profile ground = profile({{-1, 0}, {0, 0}, {0.5, u.between(0.02, 0.1)}, {1.2, 0}, {2, 0}});
    const Crossing exact = cross(rigid, ground, {});
    if (!exact.passes) continue;
    ProfileVehicle soft = rigid;
    for (ProfileAxle& a : soft.axles) a.deflection_load = {{0, 0}, {1, 1e9}};
    EXPECT_NEAR(cross(soft, ground, {}).least_friction, exact.least_friction, 0.01 * (0.1 + exact.least_friction)) << n;
  }
}
TEST(AnyVehicle, SplitByARigidJointTurnsTipsAndClearsAsOneBody) {
  int turned = 0;
  for (std::uint64_t n = 0; n < 30; ++n) {
    Numbers u("split", n);
    vehicle::Vehicle one = any_vehicle(u, 2 + u.one_of(2));
    one.bodies[0].clearance_m.reset();
    const vehicle::Vehicle two = split_in_two(one, 1 + u.one_of(one.axles.size() - 1), u);
    const double fall = u.between(-3, 3), weight = vehicle::mass_kg(one) * kGravity;
    const Stance s = stance_of(one, kGravity), t = stance_of(two, kGravity);
    EXPECT_NEAR(tip_over(s, fall).angle_rad, tip_over(t, fall).angle_rad, 1e-9) << n;
    EXPECT_EQ(tip_over(s, fall).about, tip_over(t, fall).about) << n;
    EXPECT_NEAR(settled_tip_over(s, fall, {}).tip.angle_rad, settled_tip_over(t, fall, {}).tip.angle_rad, 1e-7) << n;
    const TurnCase turn{.radius_m = u.between(4, 15), .gradient_rad = u.between(0, 0.08), .heading_rad = u.between(-3, 3)};
    const TurnState a = turn_on_soil(turning(one), turn), b = turn_on_soil(turning(two), turn);
    EXPECT_EQ(a.status, b.status) << n << ' ' << name(a.status) << ' ' << name(b.status);
    if (!a.balanced() || !b.balanced()) continue;
    ++turned;
    EXPECT_NEAR(a.work_j_per_m, b.work_j_per_m, 1e-6 * weight) << n;
    for (std::size_t k = 0; k < a.wheels.size(); ++k) EXPECT_NEAR(a.wheels[k].load_n, b.wheels[k].load_n, 1e-6 * weight) << n;
  }
  EXPECT_GT(turned, 15);
}

// Three bodies on flat wheels over a bump: points put in between change nothing.
TEST(AnyVehicle, CrossesTheSameGroundHoweverManyPointsTellIt) {
  for (std::uint64_t n = 0; n < 6; ++n) {
    Numbers u("points", n);
    ProfileVehicle v;
    for (std::size_t k = 0; k < 3; ++k) {
      const double x = 0.8 * static_cast<double>(k);
      v.axles.push_back({.x_m = x, .radius_m = u.between(0.2, 0.3), .driven = true, .body = k});
      v.axles.back().centre_height_m = v.axles.back().radius_m;
      if (n % 2 == 0) v.axles.back().deflection_load = {{0, 0}, {1, u.between(2e4, 1e5)}};
      v.bodies.push_back({.cg_x_m = x, .cg_z_m = u.between(0.3, 0.5), .weight_n = u.between(500, 1500)});
      if (k > 0) v.joints.push_back({.x_m = x - 0.4, .z_m = 0.3, .stiffness_n_m_per_rad = u.between(300, 2000)});
    }
    for (const ProfileBody& b : v.bodies) {
      v.weight_n += b.weight_n;
      v.cg_x_m += b.weight_n * b.cg_x_m;
      v.cg_z_m += b.weight_n * b.cg_z_m;
    }
    v.cg_x_m /= v.weight_n;
    v.cg_z_m /= v.weight_n;
    const std::vector<ProfilePoint> few{{-2, 0}, {0, 0}, {0.4, u.between(0.02, 0.1)}, {0.9, u.between(-0.05, 0.05)}, {1.5, 0}, {3, 0}};
    std::vector<ProfilePoint> many{few[0]};
    for (std::size_t i = 1; i < few.size(); ++i) {
      for (const double s : {0.25, 0.5, 0.5, 1.0}) many.push_back({few[i - 1].x_m + s * (few[i].x_m - few[i - 1].x_m), few[i - 1].z_m + s * (few[i].z_m - few[i - 1].z_m)});
    }
    const Crossing a = cross(v, profile(few), {}), b = cross(v, profile(many), {});
    EXPECT_EQ(a.passes, b.passes) << n;
    EXPECT_EQ(a.solve.status, b.solve.status) << n;
    if (a.passes && b.passes) { EXPECT_NEAR(a.least_friction, b.least_friction, 1e-9) << n; }
  }
}

}  // namespace
}  // namespace hardpan::performance
