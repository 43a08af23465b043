// SPDX-License-Identifier: Apache-2.0
#include "records/turn_trial.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace hardpan::records {
namespace {

TurnRun turn(double radius_m, TurnOutcome outcome, std::optional<double> torque = {}, std::size_t line = 2) {
  TurnRun t;
  t.source = {.id = "turns/line " + std::to_string(line), .file = "turns.csv", .zone = "bar"};
  t.conditions = {.vehicle = "dunlin", .weight_n = 4120};
  t.line = line, t.radius_m = radius_m, t.radius_measured = true, t.outcome = outcome, t.torque_n_m = torque;
  return t;
}

TEST(TurnTrials, TheSmallestRadiusHeldAndTheLargestThatFailedBracketTheTurn) {
  base::Problems problems;
  const auto groups = reduce_turns({turn(6, TurnOutcome::turned), turn(4, TurnOutcome::turned), turn(3, TurnOutcome::slid), turn(3.02, TurnOutcome::slid), turn(3.05, TurnOutcome::stalled),
                                    turn(2, TurnOutcome::stopped)}, {}, problems);
  ASSERT_EQ(groups.size(), 1u);
  const TurnLimits& g = groups[0];
  EXPECT_EQ(*g.bracket.passed, 4);
  EXPECT_EQ(*g.bracket.failed, 3.05);
  EXPECT_EQ(g.text, "between 4.00 m (turned) and 3.05 m (not held)");
  ASSERT_EQ(g.ended.size(), 2u);
  EXPECT_EQ(g.ended[0], (std::pair{TurnOutcome::slid, std::size_t{2}}));
  EXPECT_EQ(g.turns.back().bound, TrialBound::either);
}

// By hand: torques 90, 100, 110 at one radius: mean 100, s = 10, t(2) = 4.30265: +/- 24.84 of the mean, sqrt(4 / 3) s t for the next: +/- 49.68.
TEST(TurnTrials, TorqueAtARadiusHasTheSpreadOfItsRepeats) {
  base::Problems problems;
  std::vector<TurnRun> turns{turn(4.0, TurnOutcome::turned, 90), turn(4.1, TurnOutcome::turned, 100), turn(4.05, TurnOutcome::turned, 110), turn(8, TurnOutcome::turned, 70),
                             turn(4.0, TurnOutcome::slid, 400)};
  turns[3].power_w = 150, turns[3].speed_m_per_s = 0.5;
  const auto g = reduce_turns(turns, {}, problems).front();
  ASSERT_EQ(g.torque.size(), 2u);
  EXPECT_NEAR(g.torque[0].radius_m, 4.05, 1e-12);
  EXPECT_NEAR(g.torque[0].torque_n_m->value, 100, 1e-12);
  EXPECT_NEAR(g.torque[0].torque_n_m->average_ground->hi, 124.841, 1e-3);
  EXPECT_NEAR(g.torque[0].torque_n_m->next_point->hi, 149.683, 1e-3);
  EXPECT_FALSE(g.torque[1].torque_n_m->average_ground);  // one turn
  EXPECT_NEAR(g.torque[1].work_j_per_m->value, 300, 1e-12);
  EXPECT_FALSE(g.power_at_axles);
}

TEST(TurnTrials, WhatDiffersIsKeptApart) {
  std::vector<TurnRun> turns(6, turn(4, TurnOutcome::turned));
  turns[1].right = true;
  turns[2].path = RingPath::inner_wheel;
  turns[3].conditions.gradient_rad = 0.1;
  turns[4].conditions.weight_n = 5000;
  turns[5].conditions.gradient_rad = 0.01;  // within a degree
  base::Problems problems;
  EXPECT_EQ(reduce_turns(turns, {}, problems).size(), 5u);
}

TEST(TurnTrials, WhatCannotBeIsNamed) {
  TurnRun weightless = turn(4, TurnOutcome::turned);
  weightless.conditions.weight_n = -1;
  base::Problems problems;
  EXPECT_TRUE(reduce_turns({weightless, turn(std::nan(""), TurnOutcome::turned), turn(-2, TurnOutcome::turned)}, {}, problems).empty());
  EXPECT_EQ(problems.count(base::Severity::refusal), 1u);
  EXPECT_EQ(problems.list().size(), 3u);
}

}  // namespace
}  // namespace hardpan::records
