// SPDX-License-Identifier: Apache-2.0
#include "records/plate_layers.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "math/random.hpp"
#include "records/ground_test_campaign.hpp"

namespace hardpan::records {
namespace {

// Invented curves: p(z) in Pa with 2 % noise, 60 readings from 2 to 100 mm.
template <class Law>
PlateTest push(Law law, std::uint64_t seed, const std::string& point) {
  const math::Stream noise(seed, 1);
  PlateTest test;
  test.source = {.id = point, .file = "f.csv", .point = point, .zone = "marsh"};
  test.plate = {.id = "p", .shape = PlateShape::circle, .radius_m = 0.05};
  test.sinkage_m = {0};
  test.load_n = {0};
  test.line = {1};
  for (std::size_t i = 0; i < 58; ++i) {
    const double z = 0.002 * std::pow(50.0, static_cast<double>(i) / 57);
    test.sinkage_m.push_back(z);
    test.load_n.push_back(law(z) * (1 + 0.02 * noise.normal(i)) * test.plate.area_m2());
    test.line.push_back(i + 2);
  }
  return test;
}

double crusted(double z) {  // a crust of 40 kPa at 12 mm, 18 kPa under it, rising again
  return z < 0.012 ? 40e3 * std::pow(z / 0.012, 0.6) : 18e3 * std::pow(z / 0.018, 0.5);
}
double firm_below(double z) { return z < 0.03 ? 30e3 * std::pow(z / 0.03, 0.5) : 30e3 * std::pow(z / 0.03, 1.8); }
double plain(double z) { return 50e3 * std::pow(z / 0.03, 0.9); }

template <class Law>
GroundResult reduce(Law law, const GroundSettings& settings, base::Problems& problems) {
  GroundRecords records;
  for (std::uint64_t k = 1; k <= 4; ++k) records.plates.push_back(push(law, k, "P" + std::to_string(k)));
  return reduce_ground(records, settings, problems);
}

TEST(PlateLayers, CrustIsFoundWithItsStrengthAndDepth) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const PushLayers layers = find_layers(clean_plate(push(crusted, seed, "P"), nullptr, {}));
    ASSERT_TRUE(layers.crust) << seed;
    EXPECT_NEAR(layers.crust->strength_pa, 40e3, 3e3) << seed;
    EXPECT_NEAR(layers.crust->depth_m, 0.012, 0.002) << seed;
  }
}

TEST(PlateLayers, FirmLayerBelowIsABreakOfTheLogSlope) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const PushLayers layers = find_layers(clean_plate(push(firm_below, seed, "P"), nullptr, {}));
    ASSERT_TRUE(layers.slope_break) << seed;
    EXPECT_FALSE(layers.crust) << seed;
    EXPECT_NEAR(layers.slope_break->depth_m, 0.03, 0.005) << seed;
    EXPECT_NEAR(layers.slope_break->slope_above, 0.5, 0.1) << seed;
    EXPECT_NEAR(layers.slope_break->slope_below, 1.8, 0.1) << seed;
  }
}

TEST(PlateLayers, OnePowerLawShowsNeither) {
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    const PushLayers layers = find_layers(clean_plate(push(plain, seed, "P"), nullptr, {}));
    EXPECT_FALSE(layers.crust) << seed;
    EXPECT_FALSE(layers.slope_break) << seed;
  }
}

TEST(PlateLayers, LawIsFittedBelowABrokenCrustAndNotAcrossIt) {
  base::Problems problems;
  const GroundResult result = reduce(crusted, {}, problems);
  const PlateZone& zone = *result.zones[0].plates;
  EXPECT_TRUE(zone.layers.crust);
  EXPECT_GT(zone.chosen.window_from_m, 0.012);
  EXPECT_NEAR(zone.chosen.n, 0.5, 0.05);
  EXPECT_NE(result.zones[0].plates->layers.statement.find("crust in 4 of 4"), std::string::npos);
  // For the guard: the window's lower end is a bound, and the weakest crust is that of the pushes.
  const TestedRange& tested = result.zones[0].tested;
  EXPECT_TRUE(tested.law_starts_below_layer);
  ASSERT_TRUE(tested.weakest_crust_pa);
  double weakest = 1e300;
  for (const PushLayers& push : result.plate_layers) weakest = std::min(weakest, push.crust ? push.crust->strength_pa : 1e300);
  EXPECT_EQ(*tested.weakest_crust_pa, weakest);
  EXPECT_LE(weakest, zone.layers.crust_strength_pa->value);
}

TEST(PlateLayers, LawHoldsAboveTheFirmLayerOnly) {
  base::Problems problems;
  const GroundResult result = reduce(firm_below, {}, problems);
  const PlateZone& zone = *result.zones[0].plates;
  EXPECT_TRUE(zone.layers.layered && zone.layers.firmer_below);
  EXPECT_LT(zone.chosen.window_to_m, 0.034);
  EXPECT_NEAR(zone.chosen.n, 0.5, 0.1);
  EXPECT_FALSE(result.zones[0].tested.law_starts_below_layer);
  EXPECT_FALSE(result.zones[0].tested.weakest_crust_pa);
}

// `firm_below` breaks at 30 mm from the exponent 0.5 to 1.8.
TEST(PlateLayers, BothLayersFollowThePushesToTheirEnds) {
  base::Problems problems;
  const GroundResult result = reduce(firm_below, {.layer_by_zone = {{"marsh", LayerChoice::both}}}, problems);
  const ZoneGround& zone = result.zones[0];
  ASSERT_TRUE(zone.soil);
  const auto& below = zone.soil->centre.bearing->below;
  ASSERT_TRUE(below);
  EXPECT_NEAR(below->depth_m, 0.03, 0.003);
  EXPECT_NEAR(below->n_below, 1.8, 0.1);
  const auto law = soil::depth_law(*zone.soil->centre.bearing, 0.05);
  ASSERT_TRUE(law);
  for (const double z : {0.01, 0.02, 0.05, 0.08, 0.1}) EXPECT_NEAR(law->pressure_pa(z) / firm_below(z), 1, 0.08) << z;
  EXPECT_NEAR(zone.tested.sinkage_m->hi, 0.1, 0.002);
  EXPECT_NEAR(zone.tested.pressure_pa->hi / firm_below(0.1), 1, 0.06);
  EXPECT_FALSE(zone.tested.law_starts_below_layer);
  // Every possible soil keeps the layer below.
  const soil::PossibleSoils soils = soil::possible_soils(*zone.soil, {}, {.count = 20, .stream = "marsh", .soil_part = false});
  for (const soil::Soil& s : soils.average) EXPECT_EQ(s.bearing->below, below);
}

TEST(PlateLayers, BothLayersOfACrustAreTheGroundBelowIt) {
  base::Problems problems;
  const GroundResult both = reduce(crusted, {.layer = LayerChoice::both}, problems), weaker = reduce(crusted, {}, problems);
  EXPECT_FALSE(both.zones[0].plates->chosen.bearing.below);
  EXPECT_EQ(both.zones[0].plates->chosen.n, weaker.zones[0].plates->chosen.n);
}

TEST(PlateLayers, SettingToRefuseGivesNoSoilAcrossABreak) {
  base::Problems problems;
  const GroundResult result = reduce(crusted, {.layer = LayerChoice::refuse}, problems);
  EXPECT_NE(result.zones[0].plates->status.find("refused"), std::string::npos);
  EXPECT_FALSE(result.zones[0].soil);
}

}  // namespace
}  // namespace hardpan::records
