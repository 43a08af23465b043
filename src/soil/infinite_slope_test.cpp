// SPDX-License-Identifier: Apache-2.0
#include "soil/infinite_slope.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

namespace hardpan::soil {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

Shear shear(double cohesion_pa, double phi_deg) {
  return {.cohesion_pa = cohesion_pa, .tan_phi = std::tan(phi_deg * kDeg)};
}

SlopeStability stable(const Shear& s, const SlopeLayer& layer) {
  base::Problems problems;
  const auto out = infinite_slope(s, layer, {}, problems);
  EXPECT_TRUE(out && problems.list().empty());
  return out.value_or(SlopeStability{});
}

// A dry sand of 30 degrees on a slope of 40: examination question of the Indian graduate aptitude test (geology and
// geophysics), printed 0.687 and rounded 0.69; tan 30 / tan 40 = 0.68806.
TEST(InfiniteSlope, OfDrySandIsTheRatioOfTangentsAtAnyDepthAndWeight) {
  for (const LayerDepth depth : {LayerDepth::vertical, LayerDepth::normal_to_slope}) {
    for (const double z : {0.01, 0.5, 20.0}) {
      for (const double gamma : {2.4e3, 15e3}) {
        const SlopeStability s = stable(shear(0, 30), {40 * kDeg, z, depth, gamma});
        EXPECT_NEAR(s.safety_factor, 0.688, 0.005);
        EXPECT_NEAR(s.safety_factor, std::tan(30 * kDeg) / std::tan(40 * kDeg), 1e-14);
        EXPECT_EQ(s.critical_depth_m, 0.0);
      }
    }
  }
}

// Lunar soil of the Lunar Sourcebook (Carrier, Olhoeft and Mendell 1991, chapter 9; recalled), evaluated by hand: c 0.52 kPa, phi
// 42 deg, 1500 kg/m3, slope 30 deg, 0.15 m vertically. gamma z = 364.5 Pa on the Moon:
// (520 + 364.5 0.75 0.900404) / (364.5 0.433013) = 4.854; with 2207.25 Pa on Earth 2.104.
TEST(InfiniteSlope, WithCohesionGainsWhereGravityIsLower) {
  const auto at = [](double g) {
    return stable(shear(520, 42), {30 * kDeg, 0.15, LayerDepth::vertical, 1500 * g}).safety_factor;
  };
  EXPECT_NEAR(at(1.62), 4.854, 0.005);
  EXPECT_NEAR(at(9.81), 2.104, 0.005);
}

// Loose lunar soil of the same chapter: c 0.17 kPa, phi 35 deg, 1500 kg/m3; at slope 35 deg the frictional part is exactly 1
// and c / (gamma z sin a cos a) = 0.993 and 0.298 stand above it.
TEST(InfiniteSlope, OfLooseLunarSoilFallsWithDepthAndSlope) {
  const auto at = [](double slope_deg, double z) {
    return stable(shear(170, 35), {slope_deg * kDeg, z, LayerDepth::vertical, 1500 * 1.62}).safety_factor;
  };
  EXPECT_NEAR(at(35, 0.15), 1.993, 0.005);
  EXPECT_NEAR(at(35, 0.50), 1.298, 0.005);
  EXPECT_NEAR(at(20, 0.15), 3.375, 0.005);
}

TEST(InfiniteSlope, IsTheSameForOneSheetToldVerticallyOrAcross) {
  const double a = 38 * kDeg, z = 0.7;
  const SlopeStability vertical = stable(shear(900, 31), {a, z, LayerDepth::vertical, 16e3});
  const SlopeStability across = stable(shear(900, 31), {a, z * std::cos(a), LayerDepth::normal_to_slope, 16e3});
  EXPECT_NEAR(vertical.safety_factor, across.safety_factor, 1e-14);
  EXPECT_NEAR(*across.critical_depth_m, *vertical.critical_depth_m * std::cos(a), 1e-13);
  // The same number read the other way is another sheet.
  EXPECT_LT(stable(shear(900, 31), {a, z, LayerDepth::normal_to_slope, 16e3}).safety_factor, vertical.safety_factor);
  // Each relation written out: (c + gamma z cos^2 a tan phi) / (gamma z sin a cos a) and (c + gamma d cos a tan phi) / (gamma d sin a).
  const double t = std::tan(31 * kDeg), d = z * std::cos(a);
  EXPECT_NEAR(vertical.safety_factor,
              (900 + 16e3 * z * std::cos(a) * std::cos(a) * t) / (16e3 * z * std::sin(a) * std::cos(a)), 1e-13);
  EXPECT_NEAR(across.safety_factor, (900 + 16e3 * d * std::cos(a) * t) / (16e3 * d * std::sin(a)), 1e-13);
}

TEST(InfiniteSlope, StandsAtExactlyOneAtTheCriticalDepth) {
  for (const LayerDepth depth : {LayerDepth::vertical, LayerDepth::normal_to_slope}) {
    SlopeLayer layer{42 * kDeg, 1, depth, 17e3};
    const Shear s = shear(1500, 30);
    layer.depth_m = *stable(s, layer).critical_depth_m;
    EXPECT_NEAR(stable(s, layer).safety_factor, 1, 1e-12);
    layer.depth_m *= 1.01;
    EXPECT_LT(stable(s, layer).safety_factor, 1);
  }
  EXPECT_FALSE(stable(shear(1500, 30), {29.9 * kDeg, 1, LayerDepth::vertical, 17e3}).critical_depth_m);
}

TEST(InfiniteSlope, RefusesWhatIsNoSlopeByItsKey) {
  constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
  const Shear sound = shear(500, 30);
  const struct {
    Shear shear;
    SlopeLayer layer;
    const char* key;
  } cases[] = {
      {sound, {0, 1, LayerDepth::vertical, 15e3}, "cut.slope"},
      {sound, {-0.1, 1, LayerDepth::vertical, 15e3}, "cut.slope"},
      {sound, {std::numbers::pi / 2, 1, LayerDepth::vertical, 15e3}, "cut.slope"},
      {sound, {kNaN, 1, LayerDepth::vertical, 15e3}, "cut.slope"},
      {sound, {0.5, 0, LayerDepth::vertical, 15e3}, "cut.depth"},
      {sound, {0.5, -1, LayerDepth::normal_to_slope, 15e3}, "cut.depth"},
      {sound, {0.5, kNaN, LayerDepth::vertical, 15e3}, "cut.depth"},
      {sound, {0.5, 1, LayerDepth::vertical, 0}, "cut.unit_weight"},
      {{.cohesion_pa = -1, .tan_phi = 0.5}, {0.5, 1, LayerDepth::vertical, 15e3}, "cut.cohesion"},
      {{.cohesion_pa = 1, .tan_phi = kNaN}, {0.5, 1, LayerDepth::vertical, 15e3}, "cut.tan_phi"},
  };
  for (const auto& c : cases) {
    base::Problems problems;
    EXPECT_FALSE(infinite_slope(c.shear, c.layer, {.key = "cut"}, problems)) << c.key;
    ASSERT_EQ(problems.list().size(), 1u) << c.key;
    EXPECT_EQ(problems.list().front().place.key, c.key);
    EXPECT_TRUE(problems.refused());
  }
}

}  // namespace
}  // namespace hardpan::soil
