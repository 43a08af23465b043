// SPDX-License-Identifier: Apache-2.0
#include "performance/tip_over_joints.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

#include "performance/test_chains.hpp"

namespace hardpan::performance {
namespace {

using vehicle::Freedom;
constexpr double kDeg = 0.017453292519943295, kGravity = 9.81;

using test::with_trailer;

// By hand: the trailer by itself tips sideways at atan(0.5 / 0.8) = 32.005 deg, the carrier at atan(0.5 / 0.55) = 42.27.
TEST(TipOverOfBodies, ATrailerThatRollsFreelyTipsOverItsOwnWheels) {
  for (const double fall : {kFallLeft, kFallRight}) {
    const auto t = tip_over_of_bodies(with_trailer(Freedom::free), kGravity, fall);
    ASSERT_TRUE(t);
    EXPECT_NEAR(t->tip.angle_rad / kDeg, 32.005, 0.001);
    EXPECT_EQ(t->body, 0u);
    EXPECT_EQ(t->tip.about, fall == kFallLeft ? TipEdge::left : TipEdge::right);
  }
}

// By hand: held in roll, both tip together: 520 kg with its centre (100 x 0.8 + 420 x 0.55) / 520 = 0.5981 m high: atan(0.5 / 0.5981) = 39.89 deg.
TEST(TipOverOfBodies, HeldInRollTheTwoTipTogether) {
  const auto t = tip_over_of_bodies(with_trailer(Freedom::rigid), kGravity, kFallLeft);
  ASSERT_TRUE(t);
  EXPECT_NEAR(t->tip.angle_rad / kDeg, 39.89, 0.01);
}

// Halfway between two edges the digits of the angle used to decide, and 135 deg said left where 225 deg said rearward.
TEST(TipOverOfBodies, MirroredFallLinesAreCalledMirroredAlsoHalfwayBetweenTwoEdges) {
  const auto mirrored = [](TipEdge e) { return e == TipEdge::left ? TipEdge::right : e == TipEdge::right ? TipEdge::left : e; };
  vehicle::Vehicle v = with_trailer(Freedom::free);
  v.bodies[0].cg_y_m = 0;
  const Stance stance = stance_of(v, kGravity);
  for (const int directions : {8, 16, 36}) {
    const auto round = tip_over_round(v, stance, kGravity, directions, 0);
    for (int i = 1; i < directions; ++i) {
      const TipDirection &here = round[static_cast<std::size_t>(i)], &there = round[static_cast<std::size_t>(directions - i)];
      EXPECT_EQ(here.still.about, mirrored(there.still.about)) << i << " of " << directions;
      EXPECT_EQ(here.body, there.body) << i << " of " << directions;
    }
  }
  const auto half = tip_over_of_bodies(v, kGravity, 0.75 * std::numbers::pi);
  ASSERT_TRUE(half);
  EXPECT_EQ(half->tip.about, TipEdge::rearward);
}

TEST(TipOverOfBodies, SaysNothingWhereNoJointIsFree) { EXPECT_FALSE(tip_over_of_bodies(test::carrier(), kGravity, 0)); }

// Behind a trailer of next to no weight and height, the carrier tips as alone: the linear programs against the polygon of tip_over, on any fall line.
RC_GTEST_PROP(TipOverOfBodies, ATrailerOfNoWeightLeavesTheCarrierItsOwnPolygon, ()) {
  const auto between = [](double lo, double hi) { return lo + (hi - lo) * *rc::gen::resize(100, rc::gen::inRange(0, 100001)) / 1e5; };
  vehicle::Vehicle v = test::carrier();
  v.bodies[0].cg_y_m = between(-0.1, 0.1);
  v.bodies[0].cg_z_m = between(0.3, 0.9);
  const double fall = between(-3.14, 3.14);
  const TipOver alone = tip_over(stance_of(v, kGravity), fall);
  vehicle::Vehicle two = with_trailer(Freedom::free);
  two.bodies[1].cg_y_m = v.bodies[0].cg_y_m;
  two.bodies[1].cg_z_m = v.bodies[0].cg_z_m;
  two.bodies[0].cg_z_m = 0.05;   // never the first, and too light to help
  two.bodies[0].mass_kg = 1e-3;
  const auto t = tip_over_of_bodies(two, kGravity, fall);
  RC_ASSERT(t.has_value());
  RC_ASSERT(std::abs(t->tip.angle_rad - alone.angle_rad) <= 1e-4);
}

RC_GTEST_PROP(TipOverOfBodies, MirroredFallLinesTipAlike, ()) {
  const auto between = [](double lo, double hi) { return lo + (hi - lo) * *rc::gen::resize(100, rc::gen::inRange(0, 100001)) / 1e5; };
  vehicle::Vehicle v = with_trailer(Freedom::free);
  v.bodies[0].cg_x_m = between(-0.1, 0.4);
  v.joints[0].z_m = between(0.1, 0.7);
  const double fall = between(0, 3.14);
  const auto a = tip_over_of_bodies(v, kGravity, fall), b = tip_over_of_bodies(v, kGravity, -fall);
  RC_ASSERT(a && b);
  RC_ASSERT(std::abs(a->tip.angle_rad - b->tip.angle_rad) <= 1e-5);
}

}  // namespace
}  // namespace hardpan::performance
