// SPDX-License-Identifier: Apache-2.0
#include "records/ground.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

#include "math/statistics.hpp"
#include "records/ground_test_campaign.hpp"

namespace hardpan::records {
namespace {

using testing::simulate;
using testing::Truth;

TEST(Ground, ZoneGivesASoilWithCentreCovariancesAndPopulation) {
  base::Problems problems;
  GroundRecords records = simulate({.gain = 0.02}, {.points = 6});
  for (PlateTest& test : records.plates) test.source.time = "2026-04-12T10:00";
  const GroundResult result = reduce_ground(records, {}, problems);
  ASSERT_EQ(result.zones.size(), 1u);
  const ZoneGround& zone = result.zones[0];
  ASSERT_TRUE(zone.soil) << zone.reason_without;
  EXPECT_TRUE(zone.reason_without.empty()) << zone.reason_without;
  EXPECT_EQ(zone.soil->bearing_dof, 5);
  EXPECT_EQ(zone.soil->shear_dof, 5);
  EXPECT_EQ(zone.soil->population, "points of zone bar, 2026-04-12");
  for (std::size_t i = 0; i < soil::kCoordinates; ++i) {
    EXPECT_GT(zone.soil->sampling[i][i], 0) << i;
    EXPECT_NEAR(zone.soil->between_points[i][i], 6 * zone.soil->sampling[i][i], 1e-9 * zone.soil->between_points[i][i])
        << i;
    for (std::size_t j = 0; j < soil::kCoordinates; ++j) EXPECT_EQ(zone.soil->sampling[i][j], zone.soil->sampling[j][i]);
  }
  EXPECT_NEAR(zone.soil->instrument[0][0], 0.02 * 0.02, 1e-12);
  EXPECT_NEAR(zone.soil->instrument[0][1], 0.02 * 0.02, 1e-12);
  EXPECT_EQ(zone.soil->instrument[2][2], 0);
}

TEST(Ground, PossibleSoilsOfTheZoneSpreadLikeItsPrintedInterval) {
  base::Problems problems;
  const GroundResult result = reduce_ground(simulate({.gain = 0.02}, {.points = 8}), {}, problems);
  const ZoneGround& zone = result.zones[0];
  const soil::PossibleSoils draws =
      soil::possible_soils(*zone.soil, {.vary = false}, {.seed = 3, .count = 4000, .stream = "bar"});
  ASSERT_TRUE(draws.reason_without.empty()) << draws.reason_without;
  for (const Parameter& p : zone.plates->parameters) {
    if (p.key != "p") continue;
    std::vector<double> values;
    for (const soil::Soil& s : draws.average)
      values.push_back(soil::depth_law(*s.bearing, *p.at_width_m)->pressure_pa(*p.at_depth_m));
    // 4000 draws know a 2.5 % quantile to about 4 % of the half-width; the sum of squares adds a little.
    const double half = 0.5 * std::log(p.estimate.average_ground->hi / p.estimate.average_ground->lo);
    EXPECT_NEAR(std::log(math::quantile(values, 0.025) / p.estimate.average_ground->lo), 0, 0.12 * half) << p.meaning;
    EXPECT_NEAR(std::log(math::quantile(values, 0.975) / p.estimate.average_ground->hi), 0, 0.12 * half) << p.meaning;
  }
}

TEST(Ground, OneRingOnlyIsAPartialSoilThatSaysWhatIsMissing) {
  base::Problems problems;
  const GroundResult result = reduce_ground(simulate({}, {.points = 4, .plates = false}), {}, problems);
  const ZoneGround& zone = result.zones[0];
  ASSERT_TRUE(zone.soil);
  EXPECT_FALSE(zone.soil->centre.bearing);
  EXPECT_TRUE(zone.soil->centre.shear);
  EXPECT_NE(zone.reason_without.find("no plate records"), std::string::npos);
}

TEST(Ground, OnePointHasValuesAndNoIntervals) {
  base::Problems problems;
  const GroundResult result = reduce_ground(simulate({}, {.points = 1}), {}, problems);
  const ZoneGround& zone = result.zones[0];
  ASSERT_TRUE(zone.soil);
  EXPECT_EQ(zone.soil->bearing_dof, 0);
  for (const Parameter& p : zone.plates->parameters) {
    EXPECT_TRUE(std::isfinite(p.estimate.value)) << p.meaning;
    EXPECT_FALSE(p.estimate.average_ground) << p.meaning;
    EXPECT_NE(p.estimate.status.find("one point"), std::string::npos) << p.estimate.status;
  }
}

TEST(Ground, EveryParameterNamesEstimatorWindowWidthAndCounts) {
  base::Problems problems;
  const GroundResult result = reduce_ground(simulate({}, {.points = 5, .shears = false}), {}, problems);
  for (const Parameter& p : result.zones[0].plates->parameters) {
    for (const char* word :
         {"joint robust weighted fit", "sinkage", "radius of a circular plate", "5 points", "10 tests", "readings"}) {
      EXPECT_NE(p.basis.find(word), std::string::npos) << p.basis;
    }
  }
}

TEST(Ground, BootstrapOverPointsStandsBesideAndAgreesRoughly) {
  base::Problems problems;
  const GroundResult result = reduce_ground(simulate({}, {.points = 10, .shears = false}), {}, problems);
  for (const Parameter& p : result.zones[0].plates->parameters) {
    ASSERT_TRUE(p.bootstrap) << p.meaning;
    EXPECT_NEAR(p.bootstrap->width() / p.average_soil_only->width(), 1, 0.35) << p.meaning;
  }
}

TEST(Ground, FailedSpanCheckAndLapsedCalibrationDowngradeByName) {
  Instrument press{.id = "press"};
  press.calibration_due = "2026-01-31";
  press.span_checks = {{.after = false, .applied_si = 500, .read_si = 502},
                       {.after = true, .applied_si = 500, .read_si = 530}};
  const auto downgrades = instrument_downgrades(press, "2026-04-12T09:00");
  ASSERT_EQ(downgrades.size(), 2u);
  EXPECT_NE(downgrades[0].find("calibration out of date"), std::string::npos);
  EXPECT_NE(downgrades[1].find("span check after the work failed (+6.0 %"), std::string::npos) << downgrades[1];
  EXPECT_TRUE(instrument_downgrades(press, "2026-01-15").size() == 1);
}

TEST(Ground, RecordWithOverAFifthOfItsRowsSetAsideIsRefused) {
  GroundRecords records = simulate({}, {.points = 2, .shears = false});
  for (std::size_t i = 1; i < 5; ++i) records.plates[0].load_n[i] = NAN;
  base::Problems problems;
  (void)reduce_ground(records, {}, problems);
  EXPECT_TRUE(problems.refused());
}

TEST(Ground, ImpossibleGeometryIsRefusedWithValueAndRemedy) {
  GroundRecords records = simulate({}, {.points = 1});
  records.plates[0].plate.radius_m = 0;
  records.shears[0].vertical_load_n = 0;
  base::Problems problems;
  (void)reduce_ground(records, {}, problems);
  EXPECT_EQ(problems.count(base::Severity::refusal), 2u);
}

TEST(Ground, PlateOfImpossibleSizeIsToldOnceWithTheCountOfItsPushes) {
  GroundRecords records = simulate({}, {.points = 3, .shears = false});
  const Plate first = records.plates[0].plate;
  std::size_t pushes = 0;
  for (PlateTest& test : records.plates) {
    if (!(test.plate == first)) continue;
    test.plate.radius_m = 1000 * first.radius_m;
    ++pushes;
  }
  ASSERT_GE(pushes, 3u);
  base::Problems problems;
  (void)reduce_ground(records, {}, problems);
  ASSERT_EQ(problems.count(base::Severity::refusal), 1u);
  const auto told = std::find_if(problems.list().begin(), problems.list().end(), [](const base::Problem& p) { return p.severity == base::Severity::refusal; });
  EXPECT_EQ(told->count, pushes);
  EXPECT_NE(told->what.find("is impossibly large"), std::string::npos) << told->what;
}

TEST(Ground, StatementsTellValuesInTheUnitsAsked) {
  const GroundRecords records = simulate({}, {.points = 4});
  base::Problems problems;
  const GroundResult si = reduce_ground(records, {.bootstrap_count = 0}, problems);
  const GroundResult us = reduce_ground(records, {.bootstrap_count = 0, .output_units = units::OutputUnits::us}, problems);
  ASSERT_TRUE(si.zones[0].plates && us.zones[0].plates && us.zones[0].shear);
  for (std::size_t k = 0; k < us.zones[0].plates->parameters.size(); ++k) {
    const Parameter &a = si.zones[0].plates->parameters[k], &b = us.zones[0].plates->parameters[k];
    EXPECT_EQ(a.estimate.value, b.estimate.value) << a.meaning;  // words only
    EXPECT_NE(a.basis.find(" mm, b = "), std::string::npos) << a.basis;
    EXPECT_EQ(b.basis.find(" mm"), std::string::npos) << b.basis;
    EXPECT_EQ(b.basis.find("Pa"), std::string::npos) << b.basis;
  }
  for (const Parameter& p : us.zones[0].shear->parameters) EXPECT_EQ(p.basis.find("Pa"), std::string::npos) << p.basis;
}

// ---- identities ------------------------------------------------------------------------------------

// Loads in another unit change every pressure by one factor and nothing else.
RC_GTEST_PROP(GroundProperty, PressureScalesWithTheUnitOfLoad, ()) {
  const int exponent = *rc::gen::inRange(-20, 20);
  const double factor = std::pow(10.0, exponent / 10.0);
  const auto seed = *rc::gen::inRange<std::uint64_t>(1, 1000);
  GroundRecords records = simulate({}, {.points = 4, .seed = seed, .shears = false});
  base::Problems problems;
  const PlateZone before = *reduce_ground(records, {.bootstrap_count = 0}, problems).zones[0].plates;
  for (PlateTest& test : records.plates) {
    for (double& f : test.load_n) f *= factor;
  }
  const PlateZone after = *reduce_ground(records, {.bootstrap_count = 0}, problems).zones[0].plates;
  RC_ASSERT(std::abs(after.chosen.n - before.chosen.n) < 1e-8);
  RC_ASSERT(std::abs(after.chosen.ln_p_first - before.chosen.ln_p_first - std::log(factor)) < 1e-8);
  RC_ASSERT(std::abs(after.sampling[0][0] / before.sampling[0][0] - 1) < 1e-6);
}

// Depths in another unit (with the depth settings): n stands, ln p at the reference depth stands.
RC_GTEST_PROP(GroundProperty, ExponentDoesNotDependOnTheUnitOfDepth, ()) {
  const double factor = std::pow(10.0, *rc::gen::inRange(-10, 10) / 10.0);
  const auto seed = *rc::gen::inRange<std::uint64_t>(1, 1000);
  GroundRecords records = simulate({}, {.points = 4, .seed = seed, .shears = false});
  base::Problems problems;
  const GroundSettings settings{.bootstrap_count = 0};
  GroundSettings scaled = settings;
  scaled.contact_offset_sd_m *= factor;
  const PlateZone before = *reduce_ground(records, settings, problems).zones[0].plates;
  for (PlateTest& test : records.plates) {
    for (double& z : test.sinkage_m) z *= factor;
  }
  const PlateZone after = *reduce_ground(records, scaled, problems).zones[0].plates;
  RC_ASSERT(std::abs(after.chosen.n - before.chosen.n) < 1e-8);
  RC_ASSERT(std::abs(after.chosen.ln_p_first - before.chosen.ln_p_first) < 1e-7);
}

RC_GTEST_PROP(GroundProperty, OrderOfTestsDoesNotMatter, ()) {
  const auto seed = *rc::gen::inRange<std::uint64_t>(1, 1000);
  GroundRecords records = simulate({}, {.points = 5, .seed = seed});
  base::Problems problems;
  const GroundResult before = reduce_ground(records, {.bootstrap_count = 0}, problems);
  const math::Stream shuffle(seed, 77);
  for (std::size_t i = records.plates.size(); i > 1; --i)
    std::swap(records.plates[i - 1], records.plates[shuffle.below(i, i)]);
  for (std::size_t i = records.shears.size(); i > 1; --i)
    std::swap(records.shears[i - 1], records.shears[shuffle.below(100 + i, i)]);
  const GroundResult after = reduce_ground(records, {.bootstrap_count = 0}, problems);
  const soil::SoilDistribution &a = *before.zones[0].soil, &b = *after.zones[0].soil;
  RC_ASSERT(std::abs(a.centre.bearing->n - b.centre.bearing->n) < 1e-9);
  RC_ASSERT(std::abs(a.centre.shear->cohesion_pa - b.centre.shear->cohesion_pa) < 1e-6);
  for (std::size_t i = 0; i < soil::kCoordinates; ++i) RC_ASSERT(std::abs(a.sampling[i][i] / b.sampling[i][i] - 1) < 1e-6);
}

}  // namespace
}  // namespace hardpan::records
