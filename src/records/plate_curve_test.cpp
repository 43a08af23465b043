// SPDX-License-Identifier: Apache-2.0
#include "records/plate_curve.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "math/random.hpp"

namespace hardpan::records {
namespace {

PlateTest sheet(std::vector<double> sinkage_m, std::vector<double> load_n) {
  PlateTest test;
  test.source = {.id = "t", .file = "t.csv", .point = "P1", .zone = "z"};
  test.plate = {.id = "small", .shape = PlateShape::circle, .radius_m = 0.05};
  test.sinkage_m = std::move(sinkage_m);
  test.load_n = std::move(load_n);
  for (std::size_t i = 0; i < test.sinkage_m.size(); ++i) test.line.push_back(i + 2);
  return test;
}

// A logger's push: 2 mm of free travel, then load = 5e5 N/m x depth, noise of 2 N and 5 um.
PlateTest logger_push(double zero_n, std::uint64_t seed) {
  const math::Stream noise(seed, 1);
  std::vector<double> z, f;
  for (std::size_t i = 0; i < 800; ++i) {
    const double raw = 0.0001 * static_cast<double>(i);
    z.push_back(raw + 5e-6 * noise.normal(2 * i));
    f.push_back(zero_n + std::max(0.0, raw - 0.002) * 5e4 + 2 * noise.normal(2 * i + 1));
  }
  return sheet(z, f);
}

TEST(PlateCurve, SinkageZeroIsTheLastUnloadedRowOfASheet) {
  const PlateCurve curve = clean_plate(sheet({0, 0.004, 0.010, 0.020, 0.040}, {0, 0, 100, 180, 300}), nullptr, {});
  EXPECT_DOUBLE_EQ(curve.depth_zero_m, 0.004);
  EXPECT_EQ(curve.mark[0], Mark::before_contact);
  EXPECT_EQ(curve.mark[1], Mark::before_contact);
  EXPECT_DOUBLE_EQ(curve.depth_m[2], 0.006);
  EXPECT_DOUBLE_EQ(curve.pressure_pa[2], 100 / (std::numbers::pi * 0.0025));
}

TEST(PlateCurve, ContactOfALoggerRecordIsFoundWithinItsNoise) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const PlateCurve curve = clean_plate(logger_push(35, seed), nullptr, {});
    // Four noises over the span of 4 rows are 4 N, which the load of 5e4 N/m reaches after 0.1 mm.
    EXPECT_NEAR(curve.depth_zero_m, 0.002, 0.0005) << seed;
    EXPECT_NEAR(curve.load_zero_n, 35, 2) << seed;
    EXPECT_NEAR(curve.noise_pa * std::numbers::pi * 0.0025, 2, 1.2) << seed;
  }
}

TEST(PlateCurve, FrameComplianceIsTakenOffTheSinkage) {
  Instrument press{.id = "p"};
  press.frame_stiffness_n_per_m = 1e5;
  const PlateCurve curve = clean_plate(sheet({0, 0.010, 0.020}, {0, 200, 400}), &press, {});
  // z = z_raw - F / k_frame: 200 N over 1e5 N/m is 2 mm.
  EXPECT_TRUE(curve.frame_corrected);
  EXPECT_NEAR(curve.depth_m[1], 0.008, 1e-12);
  EXPECT_NEAR(curve.depth_m[2], 0.016, 1e-12);
}

TEST(PlateCurve, InstrumentSignsAreApplied) {
  Instrument press{.id = "p"};
  press.load_sign = -1;
  press.depth_sign = -1;
  const PlateCurve curve = clean_plate(sheet({0, -0.010, -0.020}, {0, -200, -400}), &press, {});
  EXPECT_NEAR(curve.depth_m[2], 0.020, 1e-12);
  EXPECT_GT(curve.pressure_pa[2], 0);
}

TEST(PlateCurve, LoopIsVirginAgainOnlyBeyondTheDepthOfReversal) {
  const PlateCurve curve = clean_plate(sheet({0, 0.010, 0.020, 0.030, 0.026, 0.022, 0.028, 0.030, 0.034, 0.050},
                                             {0, 100, 180, 250, 60, 5, 200, 248, 280, 380}),
                                       nullptr, {});
  const std::vector<Mark> expected = {Mark::before_contact, Mark::kept, Mark::kept, Mark::kept, Mark::loop,
                                      Mark::loop,           Mark::loop, Mark::loop, Mark::kept, Mark::kept};
  EXPECT_EQ(curve.mark, expected);
  ASSERT_EQ(curve.loops.size(), 1u);
  EXPECT_DOUBLE_EQ(curve.loops[0].depth_m, 0.030);
  EXPECT_DOUBLE_EQ(curve.loops[0].back_to_m, 0.022);
  EXPECT_NEAR(curve.loops[0].stiffness_pa_per_m, (250.0 - 5.0) / (std::numbers::pi * 0.0025) / 0.008, 1);
}

TEST(PlateCurve, NoiseOfTheDepthSensorIsNoLoop) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const PlateCurve curve = clean_plate(logger_push(0, seed), nullptr, {});
    EXPECT_TRUE(curve.loops.empty()) << seed;
    EXPECT_EQ(curve.count(Mark::loop), 0u) << seed;
  }
}

// Selecting pressure maxima would bias n; cleaning must keep readings above and below alike.
TEST(PlateCurve, ReadingsAboveAndBelowTheCurveAreKeptAlike) {
  const PlateCurve curve = clean_plate(logger_push(0, 7), nullptr, {});
  std::size_t above = 0, below = 0;
  for (std::size_t i = 0; i < curve.mark.size(); ++i) {
    if (curve.mark[i] != Mark::kept) continue;
    const double expected = (curve.depth_m[i] + curve.depth_zero_m - 0.002) * 5e4 / (std::numbers::pi * 0.0025);
    (curve.pressure_pa[i] > expected ? above : below) += 1;
  }
  EXPECT_GT(above, 250u);
  EXPECT_GT(below, 250u);
}

TEST(PlateCurve, CellsWithoutANumberAreNamedByLine) {
  const PlateCurve curve = clean_plate(sheet({0, 0.01, NAN, 0.03}, {0, 100, 150, 200}), nullptr, {});
  EXPECT_EQ(curve.mark[2], Mark::not_finite);
  ASSERT_EQ(curve.set_aside.size(), 1u);
  EXPECT_EQ(curve.set_aside[0].lines, (std::vector<std::size_t>{4}));
}

TEST(PlateCurve, KnockOfALoggerIsSetAsideWithItsLine) {
  PlateTest test = logger_push(0, 3);
  test.load_n[500] *= 3;
  const PlateCurve curve = clean_plate(test, nullptr, {});
  EXPECT_EQ(curve.mark[500], Mark::spike);
  EXPECT_EQ(curve.count(Mark::spike), 1u);
}

// A spike deeper than every other reading used to be met again for ever once its loop had been closed.
TEST(PlateCurve, DepthSpikeOnTopOfAReversalEndsTheSearchWithOneLoop) {
  PlateTest test = logger_push(0, 4);
  for (std::size_t i = 400; i < 440; ++i) test.sinkage_m[i] = test.sinkage_m[399] - 5e-5 * static_cast<double>(i - 399);
  test.sinkage_m[420] = 0.079;
  const PlateCurve curve = clean_plate(test, nullptr, {});
  EXPECT_EQ(curve.mark[420], Mark::spike);
  ASSERT_EQ(curve.loops.size(), 1u);
  EXPECT_EQ(curve.mark[419], Mark::loop);
  EXPECT_EQ(curve.mark[445], Mark::kept);
}

TEST(PlateCurve, CleaningOffLeavesEveryRowAsItStands) {
  const PlateCurve curve = clean_plate(sheet({0.001, 0.01, 0.008, 0.03}, {5, 100, 90, 200}), nullptr, {.cleaning = false});
  EXPECT_EQ(curve.count(Mark::kept), 4u);
  EXPECT_EQ(curve.depth_m[0], 0.001);
}

TEST(PlateCurve, ReloadStiffnessGrowingWithDepthGivesBothConstants) {
  // ku = 2e6 + 3e8 zu exactly (Wong 1980).
  std::vector<UnloadLoop> loops;
  for (const double z : {0.02, 0.04, 0.06}) loops.push_back({.depth_m = z, .stiffness_pa_per_m = 2e6 + 3e8 * z});
  const auto law = reload_law(loops);
  ASSERT_TRUE(law);
  EXPECT_NEAR(law->k0_pa_per_m, 2e6, 1);
  EXPECT_NEAR(law->au_pa_per_m2, 3e8, 10);
  EXPECT_EQ(reload_law({loops[0]})->au_pa_per_m2, 0);
  EXPECT_FALSE(reload_law({}));
}

}  // namespace
}  // namespace hardpan::records
