// SPDX-License-Identifier: Apache-2.0
#include "records/bulk.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace hardpan::records {
namespace {

TEST(Bulk, PouredPileIsTwiceHeightOverDiameter) {
  ReposeTest test{.source = {.id = "r"}, .kind = ReposeKind::poured_pile, .height_m = 0.30, .base_diameter_m = 0.92};
  EXPECT_NEAR(std::tan(repose_angle(test).value), 2 * 0.30 / 0.92, 1e-12);
}

TEST(Bulk, ThreeAnglesOfReposeAreKeptApart) {
  const double deg = std::numbers::pi / 180;
  const ReposeTest a{.source = {.id = "a", .point = "1"}, .kind = ReposeKind::poured_pile, .angle_rad = 33 * deg};
  const ReposeTest b{.source = {.id = "b", .point = "1"}, .kind = ReposeKind::slip_face, .angle_rad = 31 * deg};
  const ReposeTest c{.source = {.id = "c", .point = "1"}, .kind = ReposeKind::slide_start, .angle_rad = 36 * deg};
  const BulkZone zone = reduce_bulk({&a, &b, &c}, {}, {});
  ASSERT_EQ(zone.parameters.size(), 3u);
  EXPECT_NEAR(zone.parameters[0].estimate.value, 33 * deg, 1e-12);
  EXPECT_NEAR(zone.parameters[1].estimate.value, 31 * deg, 1e-12);
  EXPECT_NEAR(zone.parameters[2].estimate.value, 36 * deg, 1e-12);
}

TEST(Bulk, DensityErrorAddsInSquares) {
  const BulkValue v = bulk_density(
      {.source = {.id = "d"}, .mass_kg = 1.6, .volume_m3 = 1e-3, .mass_sd_kg = 0.016, .volume_sd_m3 = 2e-5});
  EXPECT_NEAR(v.value, 1600, 1e-9);
  EXPECT_NEAR(*v.sd, 1600 * std::sqrt(0.01 * 0.01 + 0.02 * 0.02), 1e-9);
}

// Against plain differences of w = (wet - dry) / (dry - tare), one weighing at a time.
TEST(Bulk, MoistureErrorAgreesWithFiniteDifferences) {
  const auto w = [](double wet, double dry, double tare) { return (wet - dry) / (dry - tare); };
  const double h = 1e-7, s = 0.0005;
  const double wet = 0.140, dry = 0.125, tare = 0.025;
  const double expected = s * std::hypot((w(wet + h, dry, tare) - w(wet - h, dry, tare)) / (2 * h),
                                         (w(wet, dry + h, tare) - w(wet, dry - h, tare)) / (2 * h),
                                         (w(wet, dry, tare + h) - w(wet, dry, tare - h)) / (2 * h));
  const BulkValue v =
      gravimetric_moisture({.source = {.id = "m"}, .wet_kg = wet, .dry_kg = dry, .tare_kg = tare, .scale_sd_kg = s});
  EXPECT_NEAR(v.value, 0.15, 1e-12);
  EXPECT_NEAR(*v.sd / expected, 1, 1e-6);
}

TEST(Bulk, DryHeavierThanWetIsNamedAndLeftOut) {
  const MoistureTest bad{.source = {.id = "m1", .point = "1"}, .wet_kg = 0.1, .dry_kg = 0.12, .tare_kg = 0.02};
  const MoistureTest good{.source = {.id = "m2", .point = "2"}, .wet_kg = 0.11, .dry_kg = 0.10, .tare_kg = 0.0};
  const BulkZone zone = reduce_bulk({}, {}, {&bad, &good});
  ASSERT_EQ(zone.remarks.size(), 1u);
  EXPECT_NE(zone.remarks[0].find("m1: dry weighs more than wet"), std::string::npos);
  EXPECT_NEAR(*zone.moisture_ratio, 0.10, 1e-12);
}

TEST(Bulk, OnePointHasNoInterval) {
  const DensityTest test{.source = {.id = "d", .point = "1"}, .mass_kg = 1.5, .volume_m3 = 1e-3};
  const BulkZone zone = reduce_bulk({}, {&test}, {});
  EXPECT_FALSE(zone.parameters.at(0).estimate.average_ground);
}

}  // namespace
}  // namespace hardpan::records
