// SPDX-License-Identifier: Apache-2.0
#include "records/shear_zone.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "records/ground_test_campaign.hpp"

namespace hardpan::records {
namespace {

using testing::simulate;
using testing::Truth;

Truth exact() {
  return {.sd_level = 0,
          .sd_contrast = 0,
          .sd_n = 0,
          .sd_c = 0,
          .sd_tan_phi = 0,
          .sd_ln_k = 0,
          .reading = 0,
          .push = 0,
          .run = 0,
          .offset_m = 0};
}

ShearZone zone_of(const GroundRecords& records) {
  base::Problems problems;
  return *reduce_ground(records, {}, problems).zones.at(0).shear;
}

TEST(ShearZone, ExactRunsGiveTheExactLine) {
  const ShearZone zone = zone_of(simulate(exact(), {.points = 3, .plates = false}));
  ASSERT_TRUE(zone.soil_line.ok()) << zone.soil_line.status;
  EXPECT_NEAR(zone.soil_line.cohesion_pa, 2000, 1e-3);
  EXPECT_NEAR(zone.soil_line.tan_phi, 0.6, 1e-7);
  EXPECT_EQ(zone.soil_line.method, "lines point by point");
  EXPECT_EQ(zone.soil_line.dof, 2);
}

TEST(ShearZone, RunsOfOnePointArePooledWithRunsLessTwoDegreesOfFreedom) {
  const ShearZone zone =
      zone_of(simulate({}, {.points = 1, .plates = false, .normal_stress_pa = {4e3, 8e3, 15e3, 22e3, 30e3}}));
  ASSERT_TRUE(zone.soil_line.ok());
  EXPECT_EQ(zone.soil_line.dof, 3);
  EXPECT_NE(zone.soil_line.method.find("scatter between runs"), std::string::npos);
}

TEST(ShearZone, NegativeInterceptIsBoundedAtZeroAndSaysSo) {
  // Truth: c = -500 Pa, which no soil has; strengths 0.6 sigma - 500.
  Truth truth = exact();
  truth.c = -500;
  truth.run = 0.01;
  const ShearZone zone = zone_of(simulate(truth, {.points = 5, .plates = false}));
  EXPECT_TRUE(zone.soil_line.cohesion_at_zero);
  EXPECT_EQ(zone.soil_line.cohesion_pa, 0);
  const Parameter* c = testing::find(zone.parameters, "c");
  ASSERT_TRUE(c);
  EXPECT_NE(c->estimate.status.find("at its bound 0"), std::string::npos) << c->estimate.status;
  EXPECT_GT(zone.soil_line.tan_phi, 0.5);
}

TEST(ShearZone, SmoothMetalIsALineOfItsOwn) {
  GroundRecords records = simulate(exact(), {.points = 3, .plates = false});
  const std::size_t count = records.shears.size();
  for (std::size_t i = 0; i < count; ++i) {
    ShearTest metal = records.shears[i];
    metal.source.id += "/metal";
    metal.smooth_metal = true;
    for (double& effort : metal.effort) effort *= 0.5;  // ca = 1000 Pa, tan delta = 0.3
    records.shears.push_back(metal);
  }
  const ShearZone zone = zone_of(records);
  ASSERT_TRUE(zone.metal_line && zone.metal_line->ok());
  EXPECT_NEAR(zone.metal_line->cohesion_pa, 1000, 1e-3);
  EXPECT_NEAR(zone.metal_line->tan_phi, 0.3, 1e-7);
  EXPECT_NEAR(zone.soil_line.tan_phi, 0.6, 1e-7);
}

TEST(ShearZone, PooledRunsHoldTheTruthAtTheStatedRate) {
  // Independent runs that scatter by 6 % about the line, eight of them: Student with 6.
  Truth truth = exact();
  truth.run = 0.06;
  int c = 0, t = 0;
  constexpr int kSeeds = 200;
  for (int seed = 1; seed <= kSeeds; ++seed) {
    const ShearZone zone = zone_of(simulate(truth, {.points = 1, .seed = static_cast<std::uint64_t>(seed), .plates = false,
                                                    .normal_stress_pa = {4e3, 4e3, 10e3, 10e3, 20e3, 20e3, 30e3, 30e3}}));
    c += testing::find(zone.parameters, "c")->estimate.average_ground->contains(2000);
    t += testing::find(zone.parameters, "tan_phi")->estimate.average_ground->contains(0.6);
  }
  // Binomial 99 % limits of 200 at 0.95 (SciPy 1.10).
  EXPECT_GE(c, 181);
  EXPECT_GE(t, 181);
  EXPECT_LE(c, 197);
  EXPECT_LE(t, 197);
}

TEST(ShearZone, OddRunIsFlaggedWithItsReason) {
  GroundRecords records = simulate({.sd_c = 100, .sd_tan_phi = 0.01}, {.points = 5, .plates = false});
  for (double& effort : records.shears[7].effort) effort *= 2;
  const ShearZone zone = zone_of(records);
  for (const ShearRun& run : zone.runs)
    EXPECT_EQ(run.flagged, run.test == records.shears[7].source.id) << run.test << run.reason;
}

}  // namespace
}  // namespace hardpan::records
