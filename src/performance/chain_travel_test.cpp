// SPDX-License-Identifier: Apache-2.0
// Several bodies in straight travel on soft ground: what joints pass on between them.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "performance/equilibrium.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

using vehicle::Freedom;

vehicle::Axle axle_at(const char* name, double x_m, std::size_t body) {
  vehicle::Axle a = test::carrier().axles[0];
  a.name = name;
  a.position_x_m = x_m;
  a.body = body;
  return a;
}

// Invented: a carrier ahead that pulls a driven trailer on one axle, joint 0.9 m ahead of the trailer's axle and 0.4 m high.
vehicle::Vehicle with_trailer(vehicle::JointAxis pitch) {
  vehicle::Vehicle v;
  v.id = "train";
  v.bodies = {{.name = "trailer", .mass_kg = 180, .cg_x_m = 0.15, .cg_z_m = 0.6}, {.name = "carrier", .mass_kg = 420, .cg_x_m = 2.1, .cg_z_m = 0.55}};
  v.joints = {{.x_m = 0.9, .z_m = 0.4, .pitch = pitch}};
  v.axles = {axle_at("trailer", 0, 0), axle_at("rear", 1.5, 1), axle_at("front", 2.8, 1)};
  v.hitch = vehicle::Hitch{-0.3, 0.5};
  return v;
}

Machine machine(const vehicle::Vehicle& v) {
  base::Problems problems;
  const auto m = make_machine(v, test::sand(), 9.81, soil::SlipSinkage::none, {}, problems);
  EXPECT_TRUE(m);
  return *m;
}

State solve(const Case& c) {
  Workspace space;
  State s;
  solve_cases({&c, 1}, {&s, 1}, space);
  return s;
}

// Independent of the solver: all that acts on the trailer but the joint has no moment about a free joint. Both bodies lean as their wheels sink,
// which takes the trailer's centre of gravity, its wheels and the joint ahead by their heights.
TEST(ChainTravel, NoMomentIsLeftAboutAFreeJoint) {
  const Machine m = machine(with_trailer({.freedom = Freedom::free}));
  for (const double slip : {-0.05, 0.08, 0.3}) {
    for (const double gradient : {-0.15, 0.0, 0.12}) {
      const State s = solve({.machine = &m, .slip_ratio = slip, .gradient_rad = gradient, .line_angle_rad = 0.1});
      ASSERT_TRUE(s.balanced()) << name(s.status) << slip << " " << gradient;
      const double w = 180 * 9.81, down = s.hitch_pull_n * std::tan(0.1);
      const auto& a = s.wheel[0];
      // Nose up about (0.9, 0.4): a force (forward, up) at (x, z) turns by up * (x - 0.9) - forward * (z - 0.4).
      const double tractor = (s.wheel[2].sinkage_m - s.wheel[1].sinkage_m) / 1.3, at_joint = s.wheel[1].sinkage_m + tractor * (0.9 - 1.5), lean = (at_joint - a.sinkage_m) / 0.9;
      double moment = -w * std::cos(gradient) * (0.15 - 0.9 + (0.6 - 0.4) * lean) + w * std::sin(gradient) * (0.6 - 0.4);
      moment += 2 * a.load_n * (0 - 0.9 + (m.axle[0].arm_m - 0.4) * lean) - 2 * a.pull_n * (m.axle[0].arm_m - 0.4) + 2 * a.torque_n_m;
      moment += -down * (-0.3 - 0.9 - 0.4 * lean) + s.hitch_pull_n * (0.5 - 0.4);
      EXPECT_NEAR(moment, 0, 1e-6 * w);
      double load = 0, force = 0;
      for (std::size_t k = 0; k < 3; ++k) {
        load += 2 * s.wheel[k].load_n;
        force += 2 * s.wheel[k].pull_n;
      }
      EXPECT_NEAR(load, 600 * 9.81 * std::cos(gradient) + down, 1e-6 * w);
      EXPECT_NEAR(force, s.hitch_pull_n + 600 * 9.81 * std::sin(gradient), 1e-6 * w);
    }
  }
}

// On a shear-free firm ground nothing but weight acts; by hand the joint takes 180 x 0.15 / 0.9 = 30 kg.
TEST(ChainTravel, OnFirmGroundTheTrailersAxleKeepsWhatTheJointDoesNotTake) {
  const vehicle::Vehicle v = with_trailer({.freedom = Freedom::free});
  const std::vector<double> loads = vehicle::level_axle_loads_n(v, 9.81);
  EXPECT_NEAR(loads[0], 150 * 9.81, 1e-6);
  EXPECT_NEAR(loads[2], (420 * 0.6 - 30 * 0.6) / 1.3 * 9.81, 1e-5);
}

// Braking down a steep slope, the trailer's push at the joint lifts the rear axle of the tractor, between the two others, and the joint comes to its stop. The stop
// would catch the tractor and is not counted on (tip_over_joints.hpp): such states were told as balanced, to 7 deg beyond the slope at which the train tips.
TEST(ChainTravel, TipsWhereOnlyAStopWouldCatchABodyWhoseWheelHasLifted) {
  vehicle::Vehicle v;
  v.id = "train";
  v.bodies = {{.name = "trailer", .mass_kg = 120, .cg_x_m = 0.1, .cg_z_m = 0.5}, {.name = "tractor", .mass_kg = 330, .cg_x_m = 1.59, .cg_z_m = 0.54}};
  v.joints = {{.x_m = 0.7, .z_m = 0.4, .pitch = {.freedom = Freedom::free, .lowest_rad = -0.44, .highest_rad = 0.52}}};
  v.axles = {axle_at("rear", 0, 0), axle_at("middle", 1.2, 1), axle_at("front", 2.1, 1)};
  for (vehicle::Axle& a : v.axles) {
    a.track_width_m = 0.9;
    a.wheel.radius_m = 0.2;
    a.wheel.width_m = 0.12;
  }
  v.axles[0].drive.driven = false;
  const Machine m = machine(v);
  int tips = 0;
  for (int i = 0; i <= 60; ++i) {
    const double gradient = -0.015 * i;
    for (const double slip : {-0.9, -0.5, -0.2, -0.05}) {
      const State s = solve({.machine = &m, .slip_ratio = slip, .question = Question::pull, .gradient_rad = gradient});
      tips += s.status == StateStatus::tips_forward ? 1 : 0;
      if (!s.balanced()) continue;
      double sum = 0;
      for (std::size_t k = 0; k < 3; ++k) sum += 2 * s.wheel[k].load_n;
      EXPECT_NEAR(sum, m.weight_n * std::cos(gradient), 1e-6 * m.weight_n);
      EXPECT_GT(s.wheel[1].load_n, 1e-6 * m.weight_n);
    }
  }
  EXPECT_GT(tips, 0);
}

RC_GTEST_PROP(ChainTravel, ABodySplitInTwoByARigidJointChangesNothing, ()) {
  const auto between = [](double lo, double hi) { return lo + (hi - lo) * *rc::gen::resize(100, rc::gen::inRange(0, 100001)) / 1e5; };
  vehicle::Vehicle two = with_trailer({});
  two.bodies[0].mass_kg = between(100, 250);
  two.bodies[0].cg_x_m = between(0.0, 0.8);
  two.joints[0].x_m = between(0.5, 1.4);
  vehicle::Vehicle one = two;
  const vehicle::Body all = vehicle::loaded_body(two);
  one.bodies = {all};
  one.joints.clear();
  for (auto& a : one.axles) a.body = 0;
  const Machine m2 = machine(two), m1 = machine(one);
  const double slip = between(0.05, 0.4), gradient = between(-0.1, 0.1);
  const State a = solve({.machine = &m1, .slip_ratio = slip, .gradient_rad = gradient}), b = solve({.machine = &m2, .slip_ratio = slip, .gradient_rad = gradient});
  RC_ASSERT(a.status == b.status);
  if (!a.balanced()) return;
  for (std::size_t k = 0; k < 3; ++k) RC_ASSERT(std::abs(a.wheel[k].load_n - b.wheel[k].load_n) <= 1e-6 * m1.weight_n);
  RC_ASSERT(std::abs(a.hitch_pull_n - b.hitch_pull_n) <= 1e-6 * m1.weight_n);
}

TEST(ChainTravel, AStiffElasticJointIsTheRigidOneAndASoftOneTheFreeOne) {
  const auto pull = [](vehicle::JointAxis axis) {
    const Machine m = machine(with_trailer(axis));
    const State s = solve({.machine = &m, .slip_ratio = 0.2});
    EXPECT_TRUE(s.balanced()) << name(s.status);
    return s;
  };
  const State rigid = pull({}), free = pull({.freedom = Freedom::free});
  const State stiff = pull({.freedom = Freedom::elastic, .stiffness_n_m_per_rad = 1e10}), soft = pull({.freedom = Freedom::elastic, .stiffness_n_m_per_rad = 1e-3});
  const State between = pull({.freedom = Freedom::elastic, .stiffness_n_m_per_rad = 2e4});
  EXPECT_GT(std::abs(rigid.wheel[1].load_n - free.wheel[1].load_n), 20);
  for (std::size_t k = 0; k < 3; ++k) {
    EXPECT_NEAR(stiff.wheel[k].load_n, rigid.wheel[k].load_n, 0.01);
    EXPECT_NEAR(soft.wheel[k].load_n, free.wheel[k].load_n, 0.01);
    const double lo = std::min(rigid.wheel[k].load_n, free.wheel[k].load_n), hi = std::max(rigid.wheel[k].load_n, free.wheel[k].load_n);
    EXPECT_GT(between.wheel[k].load_n, lo);
    EXPECT_LT(between.wheel[k].load_n, hi);
  }
}

}  // namespace
}  // namespace hardpan::performance
