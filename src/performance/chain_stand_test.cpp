// SPDX-License-Identifier: Apache-2.0
// Standing loads and settled tip-over of vehicles of several bodies.
#include "performance/detail/chain_stand.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <random>

#include "base/problems.hpp"
#include "performance/test_chains.hpp"
#include "performance/tip_over_joints.hpp"

namespace hardpan::performance {
namespace {

using vehicle::Freedom;
using vehicle::JointAxis;
constexpr double kDeg = std::numbers::pi / 180, kGravity = 9.81;

JointAxis elastic(double n_m_per_rad) { return {.freedom = Freedom::elastic, .stiffness_n_m_per_rad = n_m_per_rad}; }

// The trailer's springs as given, the carrier's as stiff as it takes to settle alike: standing, nothing pitches.
vehicle::Vehicle sprung(JointAxis roll, double trailer_n_per_m, Freedom pitch = Freedom::free) {
  vehicle::Vehicle v = test::with_trailer(Freedom::free, pitch);
  v.joints[0].roll = roll;
  const std::vector<double> loads{981.0, 4120.2 * (1.3 - 0.62) / 1.3, 4120.2 * 0.62 / 1.3};
  for (std::size_t k = 0; k < v.axles.size(); ++k) v.axles[k].suspension_n_per_m = trailer_n_per_m * loads[k] / loads[0];
  return v;
}

TEST(ChainStand, ABodyCutInTwoAndJoinedRigidlyStandsAsTheOneBody) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> u(0, 1);
  for (const double suspension : {0.0, 2e5, 2e4}) {
    const vehicle::Vehicle one = test::long_carrier(suspension), two = test::cut(one);
    const Stance s = stance_of(one, kGravity), t = stance_of(two, kGravity);
    ASSERT_TRUE(s.bodies.empty());
    ASSERT_EQ(t.bodies.size(), 2u);
    for (int i = 0; i < 60; ++i) {
      const double slope = 0.8 * u(random), fall = 2 * std::numbers::pi * u(random);
      std::vector<double> lower;
      for (std::size_t w = 0; w < s.supports.size(); ++w) lower.push_back(suspension > 0 ? 0.002 * u(random) : 0);
      const auto a = standing_loads_n(s, slope, fall, lower), b = standing_loads_n(t, slope, fall, lower);
      ASSERT_EQ(a.has_value(), b.has_value()) << suspension << " " << slope << " " << fall;
      for (std::size_t w = 0; a && w < a->size(); ++w) EXPECT_NEAR((*a)[w], (*b)[w], 1e-9 * s.weight_n / (suspension > 0 ? 1 : 1e-3)) << suspension << " " << slope << " " << fall;
      const Settling rut{.low_side_rut_m = suspension > 0 ? 0.002 : 0};
      const SettledTipOver tip = settled_tip_over(s, fall, rut), of_two = settled_tip_over(t, fall, rut);
      EXPECT_NEAR(tip.tip.angle_rad, of_two.tip.angle_rad, 1e-7);   // m over m that rigid wheels settle
      EXPECT_NEAR(tip.lean_at_tip_rad, of_two.lean_at_tip_rad, 1e-6);
      EXPECT_FALSE(of_two.body);
    }
  }
}

// In deep ruts the chain gives up now and then where the one body finds a set of wheels that stands: never later, seldom earlier.
TEST(ChainStand, InARutUnderRigidWheelsItSeldomFallsBeforeTheOneBody) {
  std::mt19937 random(4);
  std::uniform_real_distribution<double> u(0, 1);
  const Stance s = stance_of(test::long_carrier(), kGravity), t = stance_of(test::cut(test::long_carrier()), kGravity);
  int earlier = 0;
  for (int i = 0; i < 200; ++i) {
    const Settling rut{.low_side_rut_m = 0.04 * u(random)};
    const double fall = 2 * std::numbers::pi * u(random), one = settled_tip_over(s, fall, rut).tip.angle_rad, two = settled_tip_over(t, fall, rut).tip.angle_rad;
    EXPECT_LE(two, one + 1e-7) << rut.low_side_rut_m << " " << fall;
    earlier += two < one - 1e-7 ? 1 : 0;
  }
  EXPECT_LE(earlier, 5);
}

// By hand, across the slope: each by itself carries W cos a / 2 +- W sin a h / t on the wheels of a side.
TEST(ChainStand, AFreeRollJointLeavesEachBodyItsOwnSides) {
  const Stance s = stance_of(test::with_trailer(Freedom::free), kGravity);
  const double slope = 20 * kDeg;
  const auto loads = standing_loads_n(s, slope, kFallLeft);
  ASSERT_TRUE(loads);
  const auto side = [&](double mass, double height, double sign) { return mass * kGravity * (0.5 * std::cos(slope) + sign * std::sin(slope) * height); };
  EXPECT_NEAR((*loads)[0], side(100, 0.8, 1), 1e-4);   // within what 1e-8 rad of lean moves
  EXPECT_NEAR((*loads)[1], side(100, 0.8, -1), 1e-4);
  EXPECT_NEAR((*loads)[2] + (*loads)[4], side(420, 0.55, 1), 1e-4);
  EXPECT_NEAR((*loads)[3] + (*loads)[5], side(420, 0.55, -1), 1e-4);
  // Rigid wheels: atan(0.5 / 0.8), and it is the trailer.
  const SettledTipOver tip = settled_tip_over(s, kFallLeft, {});
  EXPECT_NEAR(tip.tip.angle_rad, std::atan(0.5 / 0.8), 1e-6);
  EXPECT_EQ(tip.body, std::optional<std::size_t>(0));
  EXPECT_EQ(tip.tip.about, TipEdge::left);
}

// By hand: its low spring carries all of it, which leans it by W cos a / (k t); then a + lean reach the edge: tan a = (t / 2 - h lean) / h.
TEST(ChainStand, ATrailerOnSpringsTipsEarlierByItsOwnLean) {
  const SettledTipOver tip = settled_tip_over(stance_of(sprung({.freedom = Freedom::free}, 3e4), kGravity), kFallRight, {});
  const double lean = 981 * std::cos(tip.tip.angle_rad) / 3e4;
  EXPECT_NEAR(std::tan(tip.tip.angle_rad), (0.5 - 0.8 * lean) / 0.8, 1e-6);
  EXPECT_NEAR(std::tan(tip.lean_at_tip_rad), lean, 1e-6);
  EXPECT_LT(tip.tip.angle_rad, std::atan(0.5 / 0.8) - 0.01);
  EXPECT_EQ(tip.tip.about, TipEdge::right);
  EXPECT_TRUE(tip.stands_settled);
}

// Softer than the weight's own lever: k t^2 / 2 against W h = 785 N m.
TEST(ChainStand, ATrailerOnSpringsTooSoftForItsOwnLeverFallsOverOnTheLevel) {
  for (const double k : {1500.0, 1650.0}) {
    EXPECT_EQ(settled_tip_over(stance_of(sprung({.freedom = Freedom::free}, k, Freedom::rigid), kGravity), kFallRight, {}).stands_settled, k > 2 * 784.8) << k;
    EXPECT_TRUE(settled_tip_over(stance_of(sprung({}, k, Freedom::rigid), kGravity), kFallRight, {}).stands_settled) << k;
  }
}

TEST(ChainStand, StifferRollJointsApproachTheRigidOne) {
  const auto tip_of = [](JointAxis roll) { return settled_tip_over(stance_of(sprung(roll, 3e4), kGravity), kFallLeft, {}).tip.angle_rad; };
  const double rigid = tip_of({});
  double before = tip_of({.freedom = Freedom::free});
  for (const double k : {100.0, 300.0, 1e3, 3e3, 1e4, 1e5, 1e7}) {
    const double now = tip_of(elastic(k));
    EXPECT_GT(now, before) << k;
    EXPECT_LE(now, rigid + 1e-9) << k;
    before = now;
  }
  EXPECT_NEAR(before, rigid, 1e-4);
}

TEST(ChainStand, LoadsSumToTheNormalWeightAndAMirrorImageCarriesTheMirroredLoads) {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> u(0, 1);
  int stood = 0;
  for (int i = 0; i < 400; ++i) {
    vehicle::Vehicle v = test::random_chain(random, 0.1, 0.6);
    for (auto& a : v.axles) a.suspension_n_per_m = 1e4 + 1e5 * u(random);
    base::Problems problems;
    vehicle::check_vehicle(v, kGravity, {}, problems);
    if (problems.refused()) continue;
    for (auto& j : v.joints) {
      if (j.roll.freedom == Freedom::free && u(random) < 0.5) j.roll = elastic(1e3);
    }
    vehicle::Vehicle image = v;
    for (auto& b : image.bodies) b.cg_y_m = -b.cg_y_m;
    const Stance s = stance_of(v, kGravity);
    const double slope = 0.5 * u(random), fall = 2 * std::numbers::pi * u(random);
    const auto loads = standing_loads_n(s, slope, fall), mirrored = standing_loads_n(stance_of(image, kGravity), slope, -fall);
    ASSERT_EQ(loads.has_value(), mirrored.has_value());
    if (!loads) continue;
    ++stood;
    double sum = 0;
    std::size_t w = 0;
    for (const auto& a : v.axles) {
      for (int k = 0; k < a.wheels; ++k) {
        EXPECT_GE((*loads)[w + static_cast<std::size_t>(k)], 0);
        sum += (*loads)[w + static_cast<std::size_t>(k)];
        EXPECT_NEAR((*loads)[w + static_cast<std::size_t>(k)], (*mirrored)[w + static_cast<std::size_t>(a.wheels - 1 - k)], 1e-9 * s.weight_n);
      }
      w += static_cast<std::size_t>(a.wheels);
    }
    EXPECT_NEAR(sum, s.weight_n * std::cos(slope), 1e-9 * s.weight_n);
  }
  EXPECT_GT(stood, 150);
}

// Straight up or down the side view tells the same: share_along, told the grip that these loads have, gives these loads back.
TEST(ChainStand, StraightUpAndDownItIsTheChainInSideView) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> u(0, 1);
  int compared = 0;
  for (int i = 0; i < 300; ++i) {
    vehicle::Vehicle v = test::random_chain(random, 0.1, 0.6);
    for (auto& b : v.bodies) b.cg_y_m = 0;
    base::Problems problems;
    vehicle::check_vehicle(v, kGravity, {}, problems);
    if (problems.refused()) continue;
    const double slope = 0.4 * u(random), fall = u(random) < 0.5 ? kFallAhead : kFallBehind, forward = std::cos(fall);
    const Stance s = stance_of(v, kGravity);
    const auto loads = standing_loads_n(s, slope, fall);
    if (!loads) continue;
    const vehicle::Chain chain = vehicle::chain_of(v);
    vehicle::ChainForce force;
    for (std::size_t b = 0; b < v.bodies.size(); ++b) {
      const double weight = v.bodies[b].mass_kg * kGravity;
      force.add_force(chain, b, v.bodies[b].cg_x_m, v.bodies[b].cg_z_m, forward * weight * std::sin(slope), weight * std::cos(slope));
    }
    std::vector<vehicle::ChainSupport> support;
    for (std::size_t k = 0; k < v.axles.size(); ++k) {
      const double load = (*loads)[2 * k] + (*loads)[2 * k + 1];
      force.add_force(chain, v.axles[k].body, v.axles[k].position_x_m, 0, -forward * std::tan(slope) * load, 0);
      support.push_back({.x_m = v.axles[k].position_x_m, .body = v.axles[k].body, .compliance_m_per_n = 0.5e-11});
    }
    const vehicle::ChainShare share = vehicle::share_along(chain, force, support);
    ASSERT_TRUE(share.stands);
    ++compared;
    for (std::size_t k = 0; k < v.axles.size(); ++k) EXPECT_NEAR((*loads)[2 * k] + (*loads)[2 * k + 1], share.load_n[k], 1e-5 * s.weight_n);
  }
  EXPECT_GT(compared, 100);
}

// By hand: ground 0.2 m deeper under the trailer's left wheel and 0.05 m higher under its right one would roll it by 0.25 rad; at a stop of 0.1 its left wheel
// hangs. The right one carries all 981 N, 0.5 + 0.1 x 0.8 m beside its centre of gravity, which the stop passes on to the carrier's wheels 0.5 m from the middle.
TEST(ChainStand, AStopHoldsATrailerWhoseWheelHangs) {
  vehicle::Vehicle v = test::with_trailer(Freedom::free);
  v.joints[0].roll.lowest_rad = -0.4;
  v.joints[0].roll.highest_rad = 0.1;   // the carrier ahead of it, left side up
  const std::vector<double> lower{0.2, -0.05, 0, 0, 0, 0};
  const auto loads = standing_loads_n(stance_of(v, kGravity), 0, 0, lower);
  ASSERT_TRUE(loads);
  EXPECT_EQ((*loads)[0], 0);
  EXPECT_NEAR((*loads)[1], 981, 0.01);
  EXPECT_NEAR((*loads)[2] + (*loads)[4], 0.5 * (420 * kGravity + 981 * 0.58 / 0.5), 0.01);
  EXPECT_NEAR((*loads)[3] + (*loads)[5], 0.5 * (420 * kGravity - 981 * 0.58 / 0.5), 0.01);
  v.joints[0].roll.highest_rad = 0.3;   // free within: both its wheels stand
  const auto within = standing_loads_n(stance_of(v, kGravity), 0, 0, lower);
  ASSERT_TRUE(within);
  EXPECT_GT((*within)[0], 100);
  EXPECT_GT((*within)[1], 100);
}

// Two methods: loads by stiffness with the bodies' motions against a linear program that asks whether loads exist. With joints close to the ground the grip does
// no work and they agree; high joints let it turn the bodies, and what could be held need not be what wheels of any stiffness settle to.
TEST(ChainStand, OnRigidWheelsItFallsWhereNoLoadsExistThatHoldEveryBody) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> u(0, 1);
  int low = 0, high = 0, earlier = 0;
  for (int i = 0; i < 300; ++i) {
    const bool on_the_ground = i % 2 == 0;
    const vehicle::Vehicle v = on_the_ground ? test::random_chain(random, 0.01, 0.02) : test::random_chain(random, 0.1, 0.2);
    base::Problems problems;
    vehicle::check_vehicle(v, kGravity, {}, problems);
    if (problems.refused()) continue;
    const double fall = 2 * std::numbers::pi * u(random);
    const auto program = tip_over_of_bodies(v, kGravity, fall);
    if (!program) continue;
    const SettledTipOver settled = settled_tip_over(stance_of(v, kGravity), fall, {});
    if (on_the_ground) {
      ++low;
      EXPECT_NEAR(settled.tip.angle_rad, program->tip.angle_rad, 1e-3) << i;
    } else {
      ++high;
      EXPECT_LE(settled.tip.angle_rad, program->tip.angle_rad + 1e-3) << i;
      earlier += settled.tip.angle_rad < program->tip.angle_rad - 1e-3 ? 1 : 0;
    }
  }
  EXPECT_GT(low, 60);
  EXPECT_GT(high, 60);
  EXPECT_LT(earlier, high / 20);
}

vehicle::Vehicle mirrored(const vehicle::Vehicle& v) {
  vehicle::Vehicle out = v;
  const double end = v.axles.back().position_x_m;
  std::reverse(out.axles.begin(), out.axles.end());
  std::reverse(out.bodies.begin(), out.bodies.end());
  std::reverse(out.joints.begin(), out.joints.end());
  for (auto& a : out.axles) a.position_x_m = end - a.position_x_m, a.body = v.bodies.size() - 1 - a.body;
  for (auto& b : out.bodies) b.cg_x_m = end - b.cg_x_m;
  for (auto& j : out.joints) j.x_m = end - j.x_m;
  return out;
}

// A chain on springs or rigid wheels, each axle driven, braked or rolling; nothing where it is no vehicle.
std::optional<vehicle::Vehicle> random_train(std::mt19937& random) {
  const auto u = [&](double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(random); };
  vehicle::Vehicle v = test::random_chain(random, 0.2, 0.7);
  const bool sprung = u(0, 1) < 0.5;
  for (auto& a : v.axles) {
    a.drive.driven = u(0, 1) < 0.5;
    a.drive.brake = a.drive.driven || u(0, 1) < 0.4;
    if (sprung) a.suspension_n_per_m = u(2e4, 2e5);
  }
  for (auto& j : v.joints) {
    if (j.pitch.freedom == Freedom::rigid && u(0, 1) < 0.7) j.pitch = elastic(u(1e3, 2e4));
  }
  base::Problems problems;
  vehicle::check_vehicle(v, kGravity, {}, problems);
  return problems.refused() ? std::nullopt : std::optional(v);
}

// Which end counts as the first decides nothing. Where a body snaps over a set of wheels to another, the way it goes may: one slope in a hundred.
TEST(ChainStand, TrainsTipAheadAsTheirMirrorImagesTipBehind) {
  std::mt19937 random(8);
  int compared = 0, differ = 0;
  for (int i = 0; i < 400; ++i) {
    const auto v = random_train(random);
    if (!v) continue;
    const Stance s = stance_of(*v, kGravity), image = stance_of(mirrored(*v), kGravity);
    for (const double fall : {kFallAhead, kFallBehind, 0.25 * std::numbers::pi}) {
      const double a = settled_tip_over(s, fall, {}).tip.angle_rad, b = settled_tip_over(image, std::numbers::pi - fall, {}).tip.angle_rad;
      ++compared;
      differ += std::abs(a - b) > 1e-3 * kDeg ? 1 : 0;
    }
  }
  EXPECT_GT(compared, 300);
  EXPECT_LE(differ, compared / 100);
}

// A trailer of one axle that rolls behind a tractor, on rigid wheels: what stands is decided by balances alone, as in the linear programs.
TEST(ChainStand, ATrailerThatRollsTipsItsTractorOnRigidWheelsAsItStandsStill) {
  std::mt19937 random(9);
  const auto u = [&](double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(random); };
  int compared = 0;
  for (int i = 0; i < 200; ++i) {
    vehicle::Vehicle v = test::with_trailer(Freedom::free);
    v.axles[0].drive.driven = v.axles[0].drive.brake = false;
    v.bodies[0].mass_kg = u(50, 400), v.bodies[0].cg_x_m = u(-0.05, 0.2), v.bodies[0].cg_z_m = u(0.4, 0.9);
    v.joints[0].z_m = u(0.3, 0.7);
    base::Problems problems;
    vehicle::check_vehicle(v, kGravity, {}, problems);
    if (problems.refused()) continue;
    for (const double fall : {kFallAhead, kFallBehind}) {
      const Stance s = stance_of(v, kGravity);
      ++compared;
      EXPECT_NEAR(settled_tip_over(s, fall, {}).tip.angle_rad, still_tip(v, s, kGravity, fall).tip.angle_rad, 1e-5) << i << " " << fall;
    }
  }
  EXPECT_GT(compared, 200);
}

}  // namespace
}  // namespace hardpan::performance
