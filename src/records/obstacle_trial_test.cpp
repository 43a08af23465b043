// SPDX-License-Identifier: Apache-2.0
#include "records/obstacle_trial.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

ObstacleTry one_try(double size_m, ObstacleOutcome outcome, std::size_t line = 2) {
  ObstacleTry t;
  t.source = {.id = "steps/line " + std::to_string(line), .file = "steps.csv", .zone = "yard"};
  t.conditions = {.vehicle = "dunlin", .weight_n = 4120};
  t.line = line, t.size_m = size_m, t.outcome = outcome;
  return t;
}

std::vector<ObstacleLimits> reduce(const std::vector<ObstacleTry>& tries, base::Problems& problems) { return reduce_obstacle_tries(tries, {}, problems); }

TEST(ObstacleTrials, TheLargestCrossedAndTheSmallestNotCrossedBracketTheStep) {
  ObstacleTry rubbed = one_try(0.16, ObstacleOutcome::stopped, 4);
  rubbed.axle = "rear", rubbed.friction_ratio = 0.62;
  ObstacleTry over = one_try(0.12, ObstacleOutcome::over, 3);
  over.friction_ratio = 0.55;
  base::Problems problems;
  const auto groups = reduce({one_try(0.08, ObstacleOutcome::over), over, rubbed, one_try(0.16, ObstacleOutcome::hung_up, 5), one_try(0.16, ObstacleOutcome::stopped, 6)}, problems);
  ASSERT_EQ(groups.size(), 1u);
  const ObstacleLimits& g = groups[0];
  EXPECT_EQ(*g.bracket.passed, 0.12);
  EXPECT_EQ(*g.bracket.failed, 0.16);
  EXPECT_EQ(g.text, "between 120 mm (over) and 160 mm (not over)");
  EXPECT_EQ(*g.friction, (math::Interval{0.55, 0.62}));
  EXPECT_EQ(g.friction_readings, 2u);
  EXPECT_EQ(g.tries[2].axle, "rear");
  ASSERT_EQ(g.ended.size(), 2u);
  EXPECT_EQ(g.ended[0], (std::pair{ObstacleOutcome::stopped, std::size_t{2}}));
  EXPECT_TRUE(problems.list().empty());
}

TEST(ObstacleTrials, WhatDiffersIsKeptApart) {
  std::vector<ObstacleTry> tries(6, one_try(0.1, ObstacleOutcome::over));
  tries[1].obstacle = ObstacleKind::gap;
  tries[2].rolling_start = true;
  tries[3].backward = true;
  tries[4].conditions.weight_n = 4600;   // with payload
  tries[5].conditions.weight_n = 4150;   // the same within 5 %
  base::Problems problems;
  EXPECT_EQ(reduce(tries, problems).size(), 5u);
}

TEST(ObstacleTrials, TriesAtAProfileAreCountedByObstacle) {
  std::vector<ObstacleTry> tries{one_try(0, ObstacleOutcome::over), one_try(0, ObstacleOutcome::hung_up, 3), one_try(0, ObstacleOutcome::over, 4), one_try(0, ObstacleOutcome::by_driver, 5), one_try(0, ObstacleOutcome::over, 6)};
  for (ObstacleTry& t : tries) t.obstacle = ObstacleKind::profile, t.named = t.line == 6 ? "cut" : "ditch";
  base::Problems problems;
  const auto groups = reduce(tries, problems);
  ASSERT_EQ(groups.size(), 2u);
  EXPECT_EQ(groups[0].text, "2 of 3 tries got over");
  EXPECT_EQ(group_words(groups[0]), "obstacle ditch, slow approach");
  EXPECT_FALSE(groups[0].bracket.passed || groups[0].bracket.failed);
  EXPECT_EQ(groups[0].sizes.front().undecided, 1u);
  // Clopper and Pearson (1934) for 2 of 3: 0.0943 to 0.9916, as tabulated.
  EXPECT_NEAR(groups[0].sizes.front().chance_of_passing->lo, 0.0943, 1e-4);
  EXPECT_NEAR(groups[0].sizes.front().chance_of_passing->hi, 0.9916, 1e-4);
  ASSERT_EQ(groups[0].ended.size(), 1u);
  EXPECT_EQ(groups[0].ended[0].first, ObstacleOutcome::hung_up);
  EXPECT_EQ(groups[1].text, "1 of 1 try got over");
  EXPECT_TRUE(problems.list().empty());
}

TEST(ObstacleTrials, TheDriversStopDecidesNothingAndHelpIsSetAside) {
  ObstacleTry helped = one_try(0.2, ObstacleOutcome::over, 9);
  helped.assisted = true;
  base::Problems problems;
  const auto groups = reduce({one_try(0.12, ObstacleOutcome::over), one_try(0.14, ObstacleOutcome::by_driver, 3), helped}, problems);
  EXPECT_EQ(*groups[0].bracket.hardest_passed, 0.12);
  EXPECT_FALSE(groups[0].bracket.failed);
  EXPECT_EQ(groups[0].tries[1].bound, TrialBound::either);
  EXPECT_EQ(groups[0].tries[2].bound, TrialBound::set_aside);
  ASSERT_EQ(problems.list().size(), 1u);
  EXPECT_THAT(problems.list()[0].text(), HasSubstr("steps.csv:9"));
  EXPECT_EQ(groups[0].sizes.size(), 2u);
  EXPECT_EQ(groups[0].sizes[1].undecided, 1u);
}

TEST(ObstacleTrials, WhatCannotBeIsNamed) {
  ObstacleTry weightless = one_try(0.1, ObstacleOutcome::over, 3);
  weightless.conditions.weight_n = std::nan("");
  base::Problems problems;
  EXPECT_TRUE(reduce({weightless, one_try(std::nan(""), ObstacleOutcome::over, 4), one_try(-0.1, ObstacleOutcome::over, 5)}, problems).empty());
  EXPECT_EQ(problems.count(base::Severity::refusal), 1u);
  EXPECT_EQ(problems.list().size(), 3u);
  EXPECT_TRUE(reduce({}, problems).empty());
}

}  // namespace
}  // namespace hardpan::records
