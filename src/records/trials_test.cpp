// SPDX-License-Identifier: Apache-2.0
// Two vehicles tested in turn: which readings belong together, and what keeps them from being paired.
#include "records/trials.hpp"

#include <cmath>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

SlopeTrial climb(const char* vehicle, std::optional<double> clock_s, double slip, double degrees = 12) {
  SlopeTrial t;
  t.source = {.id = "s", .file = "s.csv", .zone = "bar", .clock_s = clock_s};
  t.conditions = {.vehicle = vehicle, .weight_n = 4000};
  t.angle_rad = {degrees * std::numbers::pi / 180};
  t.slip_ratio = slip;
  return t;
}
TurnRun turn(const char* vehicle, double clock_s, double torque, double radius_m) {
  TurnRun t;
  t.source = {.id = "t", .file = "t.csv", .zone = "bar", .clock_s = clock_s};
  t.conditions = {.vehicle = vehicle, .weight_n = 4000};
  t.radius_m = radius_m, t.torque_n_m = torque;
  return t;
}
PullWindow pull(const char* vehicle, std::size_t line, double slip, double coefficient) {
  PullWindow w;
  w.file = "tow.csv", w.id = "tow/line " + std::to_string(line), w.zone = "bar", w.vehicle = vehicle, w.run = w.id, w.first_line = line, w.by_hand = true;
  w.slip_ratio = slip, w.coefficient = coefficient;
  return w;
}
HandPull row(std::size_t line, double clock_s) {
  HandPull p;
  p.source = {.id = "tow", .file = "tow.csv", .zone = "bar", .clock_s = clock_s};
  p.line = line;
  return p;
}

TrialResult reduce(const TrialRecords& trials, const VehicleRecords& tests, const DrawbarResult& drawbar = {}) {
  base::Problems problems;
  return reduce_trials(trials, tests, drawbar, {}, problems);
}

TEST(PairedTrials, ClimbsInTurnOnOneSlopeArePairedByTheClock) {
  VehicleRecords tests;  // in the order of the sheets, not of the day
  tests.slope_trials = {climb("dunlin", 0, 0.10), climb("dunlin", 1800, 0.13), climb("plover", 600, 0.16), climb("plover", 1200, 0.17), climb("dunlin", 2400, 0.30, 18)};
  const TrialResult r = reduce({}, tests);
  ASSERT_EQ(r.pairs.size(), 1u);
  EXPECT_EQ(r.pairs[0].quantity, "slip on a slope");
  EXPECT_EQ(r.pairs[0].condition, "12.0 deg uphill");
  EXPECT_EQ(r.pairs[0].difference.first, "dunlin");
  EXPECT_NEAR(r.pairs[0].difference.difference.value, (0.10 - 0.16 + 0.13 - 0.17) / 2, 1e-12);
  EXPECT_TRUE(r.pairs[0].difference.balanced);
  EXPECT_TRUE(r.notes.empty());
}

TEST(PairedTrials, PullsEnterByTheirSlipAndTurnsByTheirRadius) {
  VehicleRecords tests;
  tests.hand_pulls = {row(2, 100), row(3, 200), row(4, 300), row(5, 400), row(6, 150)};
  DrawbarResult d;
  d.windows = {pull("dunlin", 2, 0.2, 0.35), pull("plover", 3, 0.18, 0.30), pull("plover", 4, 0.22, 0.31), pull("dunlin", 5, 0.2, 0.37), pull("plover", 6, 0.6, 0.5)};
  TrialRecords trials;
  trials.turns = {turn("dunlin", 0, 100, 4), turn("plover", 10, 120, 4.1), turn("plover", 20, 122, 4.05), turn("dunlin", 30, 104, 4), turn("plover", 5, 60, 9)};
  const TrialResult r = reduce(trials, tests, d);
  ASSERT_EQ(r.pairs.size(), 2u);
  EXPECT_EQ(r.pairs[0].quantity, "pull coefficient");
  EXPECT_NEAR(r.pairs[0].difference.difference.value, 0.055, 1e-12);
  EXPECT_EQ(r.pairs[1].quantity, "torque in a turn");
  EXPECT_NEAR(r.pairs[1].difference.difference.value, -19, 1e-12);
}

TEST(PairedTrials, WhatKeepsTwoVehiclesFromBeingPairedIsSaid) {
  VehicleRecords no_clock, in_blocks, alone;
  no_clock.slope_trials = {climb("dunlin", 0, 0.1), climb("plover", {}, 0.2)};
  in_blocks.slope_trials = {climb("dunlin", 0, 0.1), climb("dunlin", 1, 0.1), climb("plover", 2, 0.2), climb("plover", 3, 0.2)};
  alone.slope_trials = {climb("dunlin", 0, 0.1), climb("dunlin", 1, 0.1)};
  EXPECT_THAT(reduce({}, no_clock).notes.at(0), HasSubstr("time of day"));
  EXPECT_THAT(reduce({}, in_blocks).notes.at(0), HasSubstr("not in turn"));
  EXPECT_TRUE(reduce({}, alone).empty());
  VehicleRecords days;  // the second pair is a day apart
  days.slope_trials = {climb("dunlin", 0, 0.1), climb("plover", 600, 0.2), climb("dunlin", 90000, 0.1), climb("plover", 180000, 0.2)};
  EXPECT_TRUE(reduce({}, days).pairs.empty());
}

}  // namespace
}  // namespace hardpan::records
