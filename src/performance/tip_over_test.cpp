// SPDX-License-Identifier: Apache-2.0
#include "performance/tip_over.hpp"

#include <gtest/gtest.h>

#include <array>
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

// By every set of wheels that may stand (each solved by itself, by Cramer's rule): it stands where one of them carries, pushes with none and leaves no other
// pressed into its ground, and the body would come back from a push. Rutted ground under three axles, where wheels lift and come down again on the way.
std::vector<std::vector<double>> every_stand(const Stance& s, double slope, double fall, const std::vector<double>& lower, double stiffness) {
  const std::size_t n = s.supports.size();
  const double normal = s.weight_n * std::cos(slope), down = s.weight_n * std::sin(slope);
  const std::array<double, 3> demand{normal, normal * s.cg_x_m + down * std::cos(fall) * s.cg_z_m, normal * s.cg_y_m + down * std::sin(fall) * s.cg_z_m};
  const auto det3 = [](const std::array<std::array<double, 3>, 3>& m) {
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
  };
  std::vector<std::vector<double>> out;
  for (unsigned standing = 0; standing < (1U << n); ++standing) {
    std::array<std::array<double, 3>, 3> m{};
    std::array<double, 3> b = demand;
    for (std::size_t i = 0; i < n; ++i) {
      if (!((standing >> i) & 1U)) continue;
      const std::array<double, 3> at{1, s.supports[i].x_m, s.supports[i].y_m};
      const double k = std::min(stiffness, s.supports[i].stiffness_n_per_m);
      for (std::size_t r = 0; r < 3; ++r) {
        for (std::size_t c = 0; c < 3; ++c) m[r][c] += k * at[r] * at[c];
        b[r] += k * lower[i] * at[r];
      }
    }
    m[1][1] -= normal * s.cg_z_m;
    m[2][2] -= normal * s.cg_z_m;
    const double det = det3(m), scale = m[0][0] * m[0][0] * m[0][0];
    if (!(det > 1e-9 * scale && m[0][0] * m[1][1] - m[0][1] * m[0][1] > 0)) continue;
    std::array<double, 3> w{};
    for (std::size_t c = 0; c < 3; ++c) {
      auto of = m;
      for (std::size_t r = 0; r < 3; ++r) of[r][c] = b[r];
      w[c] = det3(of) / det;
    }
    std::vector<double> load(n, 0);
    bool good = true;
    for (std::size_t i = 0; i < n; ++i) {
      const double by = std::min(stiffness, s.supports[i].stiffness_n_per_m) * (w[0] + w[1] * s.supports[i].x_m + w[2] * s.supports[i].y_m - lower[i]);
      const bool stands = (standing >> i) & 1U;
      good = good && (stands ? by >= -1e-6 * s.weight_n : by <= 1e-6 * s.weight_n);
      if (stands) load[i] = by;
    }
    if (good) out.push_back(load);
  }
  return out;
}
TEST(StandingLoads, OnRuttedGroundAreThoseOfASetOfWheelsThatStands) {
  std::mt19937 random(21);
  std::uniform_real_distribution<double> u(0, 1);
  constexpr double kRigid = 1e8;   // springs of the same size in both, stiff beside ruts of centimetres
  int stood = 0, fell = 0;
  for (int i = 0; i < 2000; ++i) {
    const double k = i % 2 == 0 ? kRigid : 3e4 + 3e5 * u(random), track = 0.8 + 0.4 * u(random);
    Stance s{.cg_x_m = 0.3 + 0.8 * u(random), .cg_y_m = 0.1 * (u(random) - 0.5), .cg_z_m = 0.3 + 0.5 * u(random), .weight_n = 4000};
    for (const double x : {0.0, 0.5 + 0.4 * u(random), 1.4}) {
      s.supports.push_back({x, track / 2, k});
      s.supports.push_back({x, -track / 2, k});
    }
    std::vector<double> lower;
    for (std::size_t w = 0; w < s.supports.size(); ++w) lower.push_back(0.04 * (u(random) - 0.5));
    const double slope = u(random);
    double fall = 2 * std::numbers::pi * u(random);
    if (i % 5 == 0) {   // wheels of an axle lift and come down together
      s.cg_y_m = 0;
      fall = fall < std::numbers::pi ? kFallAhead : kFallBehind;
      for (std::size_t w = 1; w < lower.size(); w += 2) lower[w] = lower[w - 1];
    }
    const auto loads = standing_loads_n(s, slope, fall, lower);
    const auto all = every_stand(s, slope, fall, lower, k);
    ASSERT_EQ(loads.has_value(), !all.empty()) << i << " " << slope << " " << fall;
    (loads ? stood : fell) += 1;
    if (!loads) continue;
    double nearest = kInfinity;
    for (const auto& a : all) {
      double off = 0;
      for (std::size_t w = 0; w < a.size(); ++w) off = std::max(off, std::abs(a[w] - (*loads)[w]));
      nearest = std::min(nearest, off);
    }
    EXPECT_LT(nearest, 1e-4 * s.weight_n) << i;
  }
  EXPECT_GT(stood, 500);
  EXPECT_GT(fell, 300);
}

TEST(TipOver, SaysHowItsAngleWasFound) {
  Stance s = carrier();
  EXPECT_FALSE(tip_over(s, kFallLeft).solve);  // closed form
  s.hitch = HitchForce{-0.3, 0.4, 500, 0};
  const auto searched = {tip_over(s, kFallBehind), settled_tip_over(carrier(1e5), kFallBehind, {}).tip};
  for (const TipOver& t : searched) {
    ASSERT_TRUE(t.solve);
    EXPECT_TRUE(t.solve->converged());
    EXPECT_LE(t.solve->residual, t.solve->tolerance);
    EXPECT_STREQ(t.solve->residual_unit, "rad");
    EXPECT_GT(t.solve->evaluations, t.solve->steps);  // looked at by half degrees, then halved
    EXPECT_EQ(t.solve->steps, 27);                    // of half a degree, 8.7e-3 rad, to 1e-10: 2^26 = 6.7e7, 2^27 = 1.3e8
  }
}

}  // namespace
}  // namespace hardpan::performance
