// SPDX-License-Identifier: Apache-2.0
#include "records/rut.hpp"

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

RutReading reading(const char* path, int pass, const char* run, std::optional<double> loaded, std::optional<double> after,
                   std::size_t line = 2) {
  RutReading r;
  r.source = {.id = "ruts", .file = "ruts.csv", .zone = "marsh"};
  r.conditions = {.vehicle = "dunlin", .weight_n = 4120, .run = run};
  r.line = line, r.wheel_path = path, r.pass = pass, r.depth_loaded_m = loaded, r.depth_after_m = after;
  return r;
}

// By hand: run means loaded 0.040, 0.050, 0.060 -> mean 0.050, s = 0.010, t(2) = 4.3027: +/- 0.024841.
TEST(Ruts, RunsAreTheUnitAndReboundIsTheDifference) {
  base::Problems problems;
  const RutResult r = reduce_ruts(
      {reading("left", 1, "a", 0.038, 0.030), reading("left", 1, "a", 0.042, 0.034), reading("left", 1, "b", 0.050, 0.041),
       reading("left", 1, "c", 0.060, 0.051), reading("right", 1, "a", 0.030, {})},
      {}, problems);
  ASSERT_EQ(r.groups.size(), 2u);
  const RutGroup& left = r.groups[0];
  EXPECT_EQ(left.readings, 4u);
  EXPECT_EQ(left.runs, 3u);
  EXPECT_TRUE(left.n_is_runs);
  EXPECT_NEAR(left.depth_loaded_m->value, 0.050, 1e-12);
  EXPECT_NEAR(left.depth_loaded_m->average_ground->hi, 0.050 + 0.024841, 1e-6);
  EXPECT_EQ(left.depth_loaded_m->n, 3u);
  EXPECT_NEAR(left.rebound_m->value, (0.008 + 0.009 + 0.009) / 3, 1e-12);
  EXPECT_FALSE(r.groups[1].depth_after_m);
  EXPECT_FALSE(r.groups[1].depth_loaded_m->average_ground);  // one run
}

// depth = 0.030 pass^0.5 exactly.
TEST(Ruts, GrowthOverPassesIsTheExponentOfAPowerLaw) {
  std::vector<RutReading> readings;
  for (const int pass : {1, 2, 4, 8}) readings.push_back(reading("left", pass, "a", 0.030 * std::sqrt(pass), {}));
  base::Problems problems;
  const RutResult r = reduce_ruts(readings, {}, problems);
  ASSERT_EQ(r.growth.size(), 1u);
  EXPECT_NEAR(r.growth[0].exponent.value, 0.5, 1e-12);
  EXPECT_EQ(r.growth[0].passes, 4);
  EXPECT_EQ(r.growth[0].depth_used, "loaded");
}

TEST(Ruts, ReadingsWithSlipBecomeSinkagePoints) {
  RutReading a = reading("left", 1, "a", 0.05, 0.04, 11);
  a.slip_ratio = 0.3;
  RutReading b = reading("left", 1, "a", {}, 0.04, 12);
  b.slip_ratio = 30;  // percent typed as a share
  base::Problems problems;
  const RutResult r = reduce_ruts({a, b}, {}, problems);
  ASSERT_EQ(r.sinkage.size(), 1u);
  EXPECT_DOUBLE_EQ(r.sinkage[0].sinkage_m, 0.05);
  EXPECT_EQ(r.sinkage[0].depth_kind, "loaded");
  EXPECT_THAT(problems.list().front().text(), HasSubstr("ruts.csv:12"));
}

// They used to vanish from the comparison without a word.
TEST(Ruts, ReadingsWithoutAUsableSlipAreKeptByLine) {
  RutReading slip = reading("left", 1, "a", 0.05, {}, 11), wrong = reading("left", 2, "a", 0.06, {}, 13);
  slip.slip_ratio = 0.3;
  wrong.slip_ratio = 30;
  base::Problems problems;
  const RutResult r = reduce_ruts({slip, reading("left", 1, "a", 0.05, {}, 12), wrong, reading("left", 1, "a", {}, {}, 14)}, {}, problems);
  ASSERT_EQ(r.without_slip.size(), 2u);
  EXPECT_EQ(r.without_slip[0].line, 12u);
  EXPECT_EQ(r.without_slip[1].line, 13u);
  EXPECT_EQ(r.without_slip[1].pass, 2);
}

TEST(Ruts, RemarksSpeakTheUnitsOfTheCampaign) {
  base::Problems problems;
  static_cast<void>(reduce_ruts({reading("left", 1, "a", 25.4, {}, 3)}, {.output_units = units::OutputUnits::us}, problems));
  ASSERT_EQ(problems.list().size(), 1u);
  EXPECT_THAT(problems.list().front().text(), HasSubstr("83.3 ft"));
  EXPECT_THAT(problems.list().front().text(), HasSubstr("-0.3 to 3.3 ft"));
}

TEST(Ruts, ImpossibleReadingsAreSetAsideByLine) {
  base::Problems problems;
  const RutResult r = reduce_ruts({reading("left", 1, "a", 45.0, {}, 3), reading("left", 0, "a", 0.04, {}, 4),
                                   reading("left", 1, "a", std::nan(""), {}, 5), reading("left", 1, "a", {}, {}, 6),
                                   reading("left", 1, "a", 0.03, 0.05, 7)},
                                  {}, problems);
  std::string text;
  for (const base::Problem& p : problems.list()) text += p.text() + "\n";
  for (const char* place : {"ruts.csv:3", "ruts.csv:4", "ruts.csv:5", "ruts.csv:6", "ruts.csv:7"})
    EXPECT_THAT(text, HasSubstr(place));
  ASSERT_EQ(r.groups.size(), 1u);
  EXPECT_EQ(r.groups[0].readings, 1u);
}

TEST(Ruts, OneReadingWithoutARunMakesReadingsTheUnit) {
  base::Problems problems;
  const RutResult r = reduce_ruts({reading("left", 1, "a", 0.03, {}), reading("left", 1, "", 0.05, {})}, {}, problems);
  EXPECT_FALSE(r.groups[0].n_is_runs);
  EXPECT_EQ(r.groups[0].depth_loaded_m->n, 2u);
}

}  // namespace
}  // namespace hardpan::records
