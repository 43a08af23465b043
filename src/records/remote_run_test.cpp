// SPDX-License-Identifier: Apache-2.0
#include "records/remote_run.hpp"

#include <cmath>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "math/random.hpp"

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

RemoteRun run(const char* who, double delay_s, double speed, std::optional<double> practice = {}, RemoteOutcome outcome = RemoteOutcome::finished) {
  RemoteRun r;
  r.source = {.id = "runs/line 2", .file = "runs.csv", .zone = "bar", .operator_name = who};
  r.conditions = {.vehicle = "dunlin", .weight_n = 4120};
  r.line = 2, r.course = "slalom", r.delay_s = delay_s, r.speed_m_per_s = speed, r.practice = practice, r.outcome = outcome;
  return r;
}

RemoteCourse reduce(const std::vector<RemoteRun>& runs) {
  base::Problems problems;
  const auto out = reduce_remote_runs(runs, {}, problems);
  EXPECT_EQ(out.size(), 1u);
  return out.front();
}

// pace = a + 0.4 delay - 0.3 ln(1 + practice), exactly: levels 2 and 3 s/m.
std::vector<RemoteRun> exact(bool delay_rises_with_practice) {
  std::vector<RemoteRun> runs;
  const double mixed[] = {0.5, 3, 1.5, 0.5, 3, 1.5, 3, 0.5}, rising[] = {0.5, 0.5, 1.5, 1.5, 3, 3, 3, 3};
  for (const auto& [who, a] : {std::pair{"AB", 2.0}, std::pair{"CD", 3.0}}) {
    for (int k = 0; k < 8; ++k) {
      const double d = delay_rises_with_practice ? rising[k] : mixed[k];
      runs.push_back(run(who, d, 1 / (a + 0.4 * d - 0.3 * std::log1p(k)), k));
    }
  }
  return runs;
}

TEST(RemoteRuns, DelayAndPracticeThatWerePutInComeBackApart) {
  const RemoteCourse c = reduce(exact(false));
  ASSERT_EQ(c.pace.status, "ok");
  EXPECT_NEAR(c.pace.delay->value, 0.4, 1e-9);
  ASSERT_TRUE(c.pace.practice);
  EXPECT_NEAR(c.pace.practice->value, -0.3, 1e-9);
  EXPECT_NEAR(c.pace.level_s_per_m[0].second, 2, 1e-9);
  EXPECT_NEAR(c.pace.level_s_per_m[1].second, 3, 1e-9);
  EXPECT_FALSE(c.pace.confounded);
  EXPECT_EQ(c.pace.degrees_of_freedom, 12u);
  EXPECT_NEAR(*c.pace.speed_m_per_s(2, 3), 1 / (2.5 + 0.8 - 0.3 * std::log(4)), 1e-9);
}

// Delays driven in rising order: practice hides part of what the delay costs, and nothing can mend that.
TEST(RemoteRuns, PracticeThatRoseWithTheDelayIsSaidNotToBeTellable) {
  const RemoteCourse c = reduce(exact(true));
  EXPECT_TRUE(c.pace.confounded);
  EXPECT_FALSE(c.pace.practice);
  EXPECT_LT(c.pace.delay->value, 0.35);
  ASSERT_FALSE(c.remarks.empty());
  EXPECT_THAT(c.remarks[0], HasSubstr("cannot be told apart"));
}

// The interval of b holds the truth about 95 times in 100 (400 days of 24 runs: 361 to 395 with 99.9 %, binomial).
TEST(RemoteRuns, TheIntervalOfTheDelayHoldsAsOftenAsItSays) {
  const math::Stream s(7, math::stream_id("remote"));
  int held = 0;
  for (std::size_t day = 0; day < 400; ++day) {
    std::vector<RemoteRun> runs;
    for (std::size_t i = 0; i < 24; ++i) {
      const double delay = static_cast<double>((i * 5) % 4), practice = static_cast<double>(i / 3);
      const double pace = 2.0 + 0.3 * static_cast<double>(i % 3) + 0.4 * delay - 0.2 * std::log1p(practice) + 0.15 * s.normal(day * 24 + i);
      const char* who[] = {"AB", "CD", "EF"};
      runs.push_back(run(who[i % 3], delay, 1 / pace, practice));
    }
    const RemoteCourse c = reduce(runs);
    ASSERT_TRUE(c.pace.delay && c.pace.delay->average_ground);
    held += c.pace.delay->average_ground->contains(0.4);
  }
  EXPECT_GE(held, 361);
  EXPECT_LE(held, 395);
}

// By hand: within operators 60 deg is faster than 40 deg by 0.2, 0.3 and 0.1 m/s: mean 0.2, s = 0.1, t(2) = 4.30265: +/- 0.24841.
TEST(RemoteRuns, FieldsOfViewAreComparedAsPairsWithinOperators) {
  std::vector<RemoteRun> runs;
  const auto add = [&](const char* who, double delay, double deg, double speed) {
    RemoteRun r = run(who, delay, speed);
    r.field_of_view_rad = deg * std::numbers::pi / 180;
    runs.push_back(r);
  };
  add("AB", 1, 40, 0.5), add("AB", 1, 60, 0.7), add("CD", 1, 40, 0.9), add("CD", 1, 60, 1.2), add("EF", 1, 40, 0.3), add("EF", 1, 60, 0.4);
  add("GH", 1, 60, 2.0);             // no partner
  add("AB", 3, 60, 0.4);             // another delay: no partner either
  const RemoteCourse c = reduce(runs);
  ASSERT_EQ(c.differences.size(), 1u);
  const GroupDifference& d = c.differences[0];
  EXPECT_EQ(d.what, "field of view");
  EXPECT_EQ(d.first, "40.0 deg");
  EXPECT_EQ(d.operators, 3u);
  EXPECT_NEAR(d.speed_m_per_s.value, 0.2, 1e-12);
  EXPECT_NEAR(d.speed_m_per_s.average_ground->hi, 0.2 + 0.24841, 1e-5);
  EXPECT_FALSE(d.speed_equal_practice_m_per_s);
}

// A later run is faster by practice alone; at equal practice no difference between the views is left.
TEST(RemoteRuns, EqualPracticeTakesTheGainOfPracticeOutOfADifference) {
  std::vector<RemoteRun> runs = exact(false);
  for (RemoteRun& r : runs) r.field_of_view_rad = *r.practice < 4 ? 0.7 : 1.05;
  const RemoteCourse c = reduce(runs);
  const auto& d = c.differences.front();
  ASSERT_EQ(d.what, "field of view");
  EXPECT_GT(d.speed_m_per_s.value, 0.01);
  ASSERT_TRUE(d.speed_equal_practice_m_per_s);
  EXPECT_NEAR(d.speed_equal_practice_m_per_s->value, 0, 1e-9);
  EXPECT_GT(d.practice_difference, 2);
}

TEST(RemoteRuns, RunsThatDidNotFinishCountByDelayAndHaveNoSpeed) {
  const RemoteCourse c = reduce({run("AB", 1, 0.8), run("AB", 1.05, 2.0, {}, RemoteOutcome::left_corridor), run("AB", 3, 0.3), run("AB", 3, 0.5, {}, RemoteOutcome::stopped),
                                 run("AB", 3, 0.5, {}, RemoteOutcome::struck)});
  ASSERT_EQ(c.by_delay.size(), 2u);
  EXPECT_EQ(c.by_delay[0].left_corridor, 1u);
  EXPECT_EQ(c.by_delay[1].struck, 1u);
  EXPECT_EQ(c.by_delay[1].stopped, 1u);
  // 1 of 2, Clopper and Pearson: (1 - sqrt(0.975), sqrt(0.975)).
  EXPECT_NEAR(c.by_delay[0].chance_of_finishing.hi, std::sqrt(0.975), 1e-9);
  EXPECT_NEAR(c.by_operator[0].speed_m_per_s->value, 0.8, 1e-12);
  EXPECT_EQ(c.by_operator[0].runs, 2u);
}

// 0.2 and 1.4 m/s: mean 0.8, standard error 0.6, Student at one degree of freedom 12.706, so 0.8 -/+ 7.62.
TEST(RemoteRuns, TwoFarApartReachNoSpeedBelowZero) {
  const RemoteCourse c = reduce({run("AB", 1, 0.2), run("AB", 1, 1.4)});
  ASSERT_EQ(c.by_operator.size(), 1u);
  ASSERT_TRUE(c.by_operator[0].speed_m_per_s && c.by_operator[0].speed_m_per_s->average_ground);
  EXPECT_EQ(c.by_operator[0].speed_m_per_s->average_ground->lo, 0.0);
  EXPECT_NEAR(c.by_operator[0].speed_m_per_s->average_ground->hi, 0.8 + 0.6 * 12.7062, 1e-3);
}

TEST(RemoteRuns, WhatIsMissingIsSaid) {
  EXPECT_EQ(reduce({run("AB", 1, 0.8), run("CD", 1, 0.7)}).pace.status, "all runs had one delay");
  EXPECT_EQ(reduce({run("AB", 1, 0.8, {}, RemoteOutcome::struck)}).pace.status, "no run finished");
  EXPECT_EQ(reduce({run("AB", 1, 0.8), run("CD", 2, 0.7)}).pace.status, "fewer runs than numbers looked for");
  base::Problems problems;
  EXPECT_TRUE(reduce_remote_runs({run("AB", std::nan(""), 1)}, {}, problems).empty());
  EXPECT_EQ(reduce_remote_runs({run("", 1, 1)}, {}, problems).front().runs[0].in_speed, false);
  EXPECT_EQ(problems.list().size(), 2u);
}

}  // namespace
}  // namespace hardpan::records
