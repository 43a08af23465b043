// SPDX-License-Identifier: Apache-2.0
#include "performance/tip_over.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kInfinity = std::numeric_limits<double>::infinity();

// By hand: 4,120 N, wheelbase 1.30 m, centre of gravity 0.62 m ahead of the rear axle and 0.55 m high, track width 1.0 m.
Stance carrier(double stiffness = kInfinity) {
  return {.supports = {{0, 0.5, stiffness}, {0, -0.5, stiffness}, {1.3, 0.5, stiffness}, {1.3, -0.5, stiffness}},
          .cg_x_m = 0.62, .cg_z_m = 0.55, .weight_n = 4120};
}

TEST(TipOver, HandValuesOfACarrierOnHardGround) {
  const Stance s = carrier();
  EXPECT_NEAR(tip_over(s, kFallBehind).angle_rad / kDeg, 48.4, 0.05);
  EXPECT_EQ(tip_over(s, kFallBehind).about, TipEdge::rearward);
  EXPECT_NEAR(tip_over(s, kFallAhead).angle_rad / kDeg, 51.0, 0.05);
  EXPECT_EQ(tip_over(s, kFallAhead).about, TipEdge::forward);
  EXPECT_NEAR(tip_over(s, kFallLeft).angle_rad / kDeg, 42.3, 0.05);
  EXPECT_EQ(tip_over(s, kFallLeft).about, TipEdge::left);
  EXPECT_EQ(tip_over(s, kFallRight).about, TipEdge::right);
}

TEST(TipOver, HandValuesOfAxleLoads) {
  const auto level = standing_loads_n(carrier(), 0, 0), up = standing_loads_n(carrier(), 25 * kDeg, kFallBehind);
  ASSERT_TRUE(level && up);
  EXPECT_NEAR((*level)[2] + (*level)[3], 1965, 0.5);
  EXPECT_NEAR((*up)[2] + (*up)[3], 1044, 0.5);
}

// "Vehicle standing on a slope" (Automobile engineering text, Example 31.6): overturns rearward at 33.69 deg.
TEST(TipOver, OverturnsWhereTheTextbookSays) {
  const Stance s{.supports = {{0, 0.7}, {0, -0.7}, {2.25, 0.7}, {2.25, -0.7}}, .cg_x_m = 1.0, .cg_z_m = 1.5, .weight_n = 49050};
  EXPECT_NEAR(tip_over(s, kFallBehind).angle_rad / kDeg, 33.69, 0.005);
}

// Rail cars and trikes: three supports, the centre of gravity between them; the edge from the single wheel to a rear one has its own normal.
TEST(TipOver, ATricycleTipsOverItsSlantedEdge) {
  const Stance s{.supports = {{0, 0.5}, {0, -0.5}, {1.2, 0}}, .cg_x_m = 0.4, .cg_z_m = 0.5, .weight_n = 1000};
  // Distance to the line from (0, 0.5) to (1.2, 0): (0.6 - 0.5 * 0.4) / hypot(0.5, 1.2) = 0.3077; straight to the left the slant adds 1.3 / 1.2.
  EXPECT_NEAR(std::tan(tip_over(s, kFallLeft).angle_rad), 0.4 / 1.3 * (1.3 / 1.2) / 0.5, 1e-12);
  EXPECT_NEAR(std::tan(tip_over(s, std::atan2(1.2, 0.5)).angle_rad), 0.4 / 1.3 / 0.5, 1e-12);
}

TEST(TipOver, AMirrorImageTipsTheSameToTheOtherSide) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> u(0, 1);
  for (int i = 0; i < 200; ++i) {
    Stance s{.supports = {{0, 0.4 + 0.2 * u(random)}, {0, -0.5}, {1 + u(random), 0.45}, {1.1, -0.4 - 0.3 * u(random)}}, .cg_x_m = 0.3 + 0.4 * u(random),
             .cg_y_m = 0.2 * (u(random) - 0.5), .cg_z_m = 0.3 + 0.5 * u(random), .weight_n = 500 + 5000 * u(random)};
    Stance mirrored = s;
    for (Support& p : mirrored.supports) p.y_m = -p.y_m;
    mirrored.cg_y_m = -s.cg_y_m;
    const double fall = 2 * std::numbers::pi * u(random);
    EXPECT_NEAR(tip_over(s, fall).angle_rad, tip_over(mirrored, -fall).angle_rad, 1e-12);
  }
}

TEST(TipOver, ALongerWheelbaseNeverLowersTheForeAftAngles) {
  double before_up = 0, before_down = 0;
  for (const double more : {0.0, 0.1, 0.4, 1.0}) {
    Stance s = carrier();
    for (Support& p : s.supports) p.x_m += p.x_m > 0 ? more : -more;   // either side of the centre of gravity
    EXPECT_GE(tip_over(s, kFallBehind).angle_rad, before_up);
    EXPECT_GE(tip_over(s, kFallAhead).angle_rad, before_down);
    before_up = tip_over(s, kFallBehind).angle_rad;
    before_down = tip_over(s, kFallAhead).angle_rad;
  }
}

// Moment about the rear contacts: W (l cos a - h sin a) = P hp, so at 1,000 N on a hitch 0.4 m high the front lifts where
// 0.62 cos a - 0.55 sin a = 400 / 4120.
TEST(TipOver, AHitchPullTipsEarlier) {
  Stance s = carrier();
  s.hitch = HitchForce{-0.2, 0.4, 1000, 0};
  const double a = tip_over(s, kFallBehind).angle_rad;
  EXPECT_NEAR(0.62 * std::cos(a) - 0.55 * std::sin(a), 400.0 / 4120, 1e-9);
  s.hitch->pull_n = 0;
  EXPECT_NEAR(tip_over(s, kFallBehind).angle_rad, tip_over(carrier(), kFallBehind).angle_rad, 1e-9);
  s.hitch = HitchForce{-0.2, 0.4, 8000, 0};
  EXPECT_EQ(tip_over(s, kFallBehind).angle_rad, 0);
}

TEST(TipOver, TheCentreOfGravityOutsideTheWheelsStandsNowhere) {
  Stance s = carrier();
  s.cg_x_m = 1.4;
  EXPECT_EQ(tip_over(s, kFallBehind).angle_rad, 0);
  EXPECT_EQ(tip_over(s, kFallBehind).about, TipEdge::forward);
  EXPECT_FALSE(standing_loads_n(s, 0, 0));
}

// 50 mm on a track width of 1 m lean the body by 2.86 deg before anything yields: rigid supports, so it tips that much earlier in
// the limit of a low centre of gravity (the lean moves it by h tan(lean) against h tan(slope)).
TEST(SettledTipOver, ARutOnTheLowSideLeansTheBodyByItsOwnAngle) {
  const SettledTipOver settled = settled_tip_over(carrier(), kFallLeft, {.low_side_rut_m = 0.05});
  EXPECT_NEAR(settled.lean_at_tip_rad, std::atan(0.05), 1e-4);
  // tan(tip) = tan(static) - tan(lean): the zero-moment point starts h tan(lean) further down.
  EXPECT_NEAR(std::tan(settled.tip.angle_rad), 0.5 / 0.55 - 0.05, 1e-4);
  EXPECT_EQ(settled.tip.about, TipEdge::left);
}

TEST(SettledTipOver, StiffSpringsApproachTheStaticAngleAndSoftOnesTipEarlier) {
  const double rigid = tip_over(carrier(), kFallLeft).angle_rad;
  double before = 0;
  for (const double k : {2e4, 1e5, 1e6, 1e8}) {
    const SettledTipOver s = settled_tip_over(carrier(k), kFallLeft, {});
    ASSERT_TRUE(s.stands_settled);
    EXPECT_GT(s.tip.angle_rad, before);
    EXPECT_LT(s.tip.angle_rad, rigid);
    before = s.tip.angle_rad;
  }
  EXPECT_NEAR(before, rigid, 1e-4);
  // At the tip the high side is just unloaded: both low springs carry W cos a / 2, the others nothing, so the lean is that over k per track.
  // (Centre of gravity midway between the axles, so that it leans to the side alone.)
  Stance middle = carrier(1e5);
  middle.cg_x_m = 0.65;
  const SettledTipOver s = settled_tip_over(middle, kFallLeft, {});
  EXPECT_NEAR(std::tan(s.lean_at_tip_rad), 4120 * std::cos(s.tip.angle_rad) / 2 / 1e5, 1e-6);
  EXPECT_NEAR(std::tan(s.tip.angle_rad), (0.5 - 0.55 * std::tan(s.lean_at_tip_rad)) / 0.55, 1e-6);
}

TEST(SettledTipOver, SpringsTooSoftForTheWeightsOwnLeverStandOnNoSlope) {
  // Roll stiffness 4 k (t/2)^2 = k against W h = 2,266 N m.
  EXPECT_FALSE(settled_tip_over(carrier(2000), kFallLeft, {}).stands_settled);
  EXPECT_TRUE(settled_tip_over(carrier(2600), kFallLeft, {}).stands_settled);
}

// Beyond three supports: least potential energy by hand for six springs under a body that is level in the middle.
TEST(StandingLoads, SumToTheNormalWeightAndShareByStiffness) {
  Stance s{.supports = {{0, 0.5, 1e4}, {0, -0.5, 1e4}, {1, 0.5, 2e4}, {1, -0.5, 2e4}, {2, 0.5, 1e4}, {2, -0.5, 1e4}}, .cg_x_m = 1, .cg_z_m = 1e-9, .weight_n = 8000};
  const auto loads = standing_loads_n(s, 0, 0);
  ASSERT_TRUE(loads);
  // One settlement for all: k / sum k.
  EXPECT_NEAR((*loads)[0], 1000, 1e-6);
  EXPECT_NEAR((*loads)[2], 2000, 1e-6);
  s.cg_z_m = 0.5;
  for (const double fall : {0.0, 1.0, 2.5}) {
    const auto on_slope = standing_loads_n(s, 0.3, fall);
    ASSERT_TRUE(on_slope);
    double sum = 0;
    for (const double n : *on_slope) {
      EXPECT_GE(n, 0);
      sum += n;
    }
    EXPECT_NEAR(sum, 8000 * std::cos(0.3), 1e-6);
  }
}

}  // namespace
}  // namespace hardpan::performance
