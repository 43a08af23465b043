// SPDX-License-Identifier: Apache-2.0
#include "records/slope_trial.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;
constexpr double kDegree = std::numbers::pi / 180;

SlopeTrial trial(double degrees, TrialOutcome outcome, std::size_t line = 2) {
  SlopeTrial t;
  t.source = {.id = "t" + std::to_string(line), .file = "slopes.csv", .zone = "foredune"};
  t.conditions = {.vehicle = "dunlin", .weight_n = 4120};
  t.line = line;
  t.angle_rad = {(degrees - 0.2) * kDegree, degrees * kDegree, (degrees + 0.2) * kDegree};
  t.outcome = outcome;
  return t;
}

SlopeLimits only_group(const std::vector<SlopeTrial>& trials, const SlopeTrialSettings& settings = {}) {
  base::Problems problems;
  const auto groups = reduce_slope_trials(trials, settings, problems);
  EXPECT_EQ(groups.size(), 1u);
  return groups.front();
}

TEST(SlopeTrials, GoAt18AndNoGoAt20BracketTheLimit) {
  const SlopeLimits g =
      only_group({trial(15, TrialOutcome::go), trial(18, TrialOutcome::go, 3), trial(20, TrialOutcome::no_go, 4)});
  EXPECT_NEAR(*g.bracket.go_rad, 18 * kDegree, 1e-12);
  EXPECT_NEAR(*g.bracket.no_go_rad, 20 * kDegree, 1e-12);
  EXPECT_FALSE(g.bracket.overlap);
  EXPECT_FALSE(g.median_rad);  // separated: no width, so no curve
  EXPECT_THAT(g.curve_note, HasSubstr("every go lies below every no-go"));
  EXPECT_EQ(g.bracket.text, "between 18.0 degrees (go) and 20.0 degrees (no-go)");
}

TEST(SlopeTrials, OneSidedOutcomesGiveABoundAndNoMore) {
  const SlopeLimits up = only_group({trial(15, TrialOutcome::go), trial(22, TrialOutcome::go, 3)});
  EXPECT_NEAR(*up.bracket.go_rad, 22 * kDegree, 1e-12);
  EXPECT_FALSE(up.bracket.no_go_rad);
  EXPECT_THAT(up.bracket.text, HasSubstr("no trial failed"));
  EXPECT_EQ(up.curve_note, "no probability curve: all trials that count ended in a go");
  const SlopeLimits down = only_group({trial(15, TrialOutcome::no_go)});
  EXPECT_FALSE(down.bracket.go_rad);
  EXPECT_THAT(down.bracket.text, HasSubstr("no trial passed"));
  EXPECT_EQ(down.curve_note, "no probability curve: all trials that count ended in a no-go");
}

TEST(SlopeTrials, AbortedAndSledLimitedRunsStayAsBounds) {
  SlopeTrial aborted = trial(19, TrialOutcome::aborted, 5);
  aborted.length_climbed_m = 2.5, aborted.why_stopped = "wheel hop";
  SlopeTrial at_once = trial(24, TrialOutcome::aborted, 6);
  const SlopeLimits g = only_group({trial(18, TrialOutcome::go), trial(20, TrialOutcome::no_go, 3),
                                    trial(17, TrialOutcome::sled_limited, 4), aborted, at_once});
  ASSERT_EQ(g.trials.size(), 5u);
  EXPECT_EQ(g.trials[2].bound, TrialBound::at_least);
  EXPECT_EQ(g.trials[3].bound, TrialBound::at_least);
  EXPECT_EQ(g.trials[2].why, "stopped by the sled, not by the slope");
  EXPECT_EQ(g.trials[3].why, "aborted: wheel hop");
  EXPECT_THAT(g.bracket.text, HasSubstr("aborted, or stopped by the sled and not by the slope, had climbed 19.0 degrees"));
  EXPECT_EQ(g.trials[4].bound, TrialBound::either);
  EXPECT_NEAR(*g.bracket.at_least_rad, 19 * kDegree, 1e-12);
  EXPECT_NEAR(*g.bracket.go_rad, 18 * kDegree, 1e-12);  // an abort never counts as a go
  std::size_t counted = 0;
  for (const TestedAngle& a : g.angles) counted += a.go + a.no_go + a.aborted + a.sled_limited;
  EXPECT_EQ(counted, 5u);
}

TEST(SlopeTrials, AssistedRunIsSetAsideByName) {
  SlopeTrial helped = trial(21, TrialOutcome::go, 9);
  helped.assisted = true;
  base::Problems problems;
  const auto groups = reduce_slope_trials({trial(18, TrialOutcome::go), helped}, {}, problems);
  EXPECT_EQ(groups[0].trials[1].bound, TrialBound::set_aside);
  EXPECT_NEAR(*groups[0].bracket.go_rad, 18 * kDegree, 1e-12);
  ASSERT_FALSE(problems.list().empty());
  EXPECT_THAT(problems.list().back().text(), HasSubstr("assisted slope trial is set aside"));
  EXPECT_THAT(problems.list().back().text(), HasSubstr("slopes.csv:9"));
}

// Binomial: 22 of 22 is the least that shows 90 % at 90 % confidence (0.9^22 = 0.0985 <= 0.1 < 0.9^21 = 0.1094).
TEST(SlopeTrials, TwentyTwoOfTwentyTwoDemonstrateNinetyPercent) {
  for (const auto& [n, shown] : {std::pair{22, true}, std::pair{21, false}}) {
    std::vector<SlopeTrial> trials;
    for (int i = 0; i < n; ++i) trials.push_back(trial(18, TrialOutcome::go, static_cast<std::size_t>(i) + 2));
    const SlopeLimits g = only_group(trials);
    ASSERT_EQ(g.angles.size(), 1u);
    EXPECT_EQ(*g.angles[0].demonstrated_reliability >= 0.9, shown) << n;
    EXPECT_NEAR(g.angles[0].chance_of_go->lo, std::pow(0.025, 1.0 / n),
                1e-9);  // Clopper-Pearson with no failure, closed form
    EXPECT_DOUBLE_EQ(g.angles[0].chance_of_go->hi, 1);
  }
}

// Bliss (1935), beetles killed by carbon disulphide, as tabulated by Dobson (2002) table 7.2 (from memory): here "angle" is
// log10 dose less 1.5 and a survivor is a go. Answers by an independent optimiser (SciPy 1.10 minimize and brentq on the
// profile); the printed fits are logit -60.717, 34.270 and probit -34.935, 19.728, that is medians 1.7717 and 1.7708.
TEST(SlopeTrials, ChanceCurveAgreesWithAPublishedDoseResponse) {
  const double dose[] = {1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839};
  const int number[] = {59, 60, 62, 56, 63, 59, 62, 60}, killed[] = {6, 13, 18, 28, 52, 53, 61, 60};
  std::vector<SlopeTrial> trials;
  for (int i = 0; i < 8; ++i) {
    for (int k = 0; k < number[i]; ++k) {
      SlopeTrial t = trial(0, k < killed[i] ? TrialOutcome::no_go : TrialOutcome::go, trials.size() + 2);
      t.angle_rad = {dose[i] - 1.5, dose[i] - 1.5, dose[i] - 1.5};
      trials.push_back(t);
    }
  }
  const SlopeLimits logit = only_group(trials, {.curve = ChanceCurve::logistic});
  ASSERT_TRUE(logit.median_rad && logit.median_rad->average_ground);
  EXPECT_NEAR(1 / *logit.sigma_rad, 34.270, 0.002);
  EXPECT_NEAR((logit.median_rad->value + 1.5) / *logit.sigma_rad, 60.717, 0.005);
  EXPECT_NEAR(logit.median_rad->average_ground->lo, 0.26398210, 2e-6);
  EXPECT_NEAR(logit.median_rad->average_ground->hi, 0.27918725, 2e-6);
  EXPECT_NEAR(logit.high_chance_rad->value, 0.20760647, 2e-6);
  EXPECT_NEAR(logit.high_chance_rad->average_ground->lo, 0.19211307, 2e-6);
  const SlopeLimits probit = only_group(trials);
  EXPECT_NEAR(1 / *probit.sigma_rad, 19.728, 0.002);
  EXPECT_NEAR((probit.median_rad->value + 1.5) / *probit.sigma_rad, 34.935, 0.005);
  EXPECT_NEAR(probit.median_rad->average_ground->lo, 0.26326839, 2e-6);
  EXPECT_NEAR(probit.high_chance_rad->value, 0.20589110, 2e-6);
}

TEST(SlopeTrials, UndecidedRunsShowHowFarTheyCouldMoveTheMedian) {
  std::vector<SlopeTrial> trials;
  std::size_t line = 2;
  for (const double a : {16.0, 17.0, 18.0, 19.0, 21.0}) trials.push_back(trial(a, TrialOutcome::go, line++));
  for (const double a : {18.0, 20.0, 22.0, 23.0}) trials.push_back(trial(a, TrialOutcome::no_go, line++));
  const SlopeLimits without = only_group(trials);
  ASSERT_TRUE(without.median_rad);
  EXPECT_FALSE(without.median_if_undecided_rad);
  trials.push_back(trial(20.5, TrialOutcome::aborted, line++));
  const SlopeLimits with = only_group(trials);
  EXPECT_DOUBLE_EQ(with.median_rad->value, without.median_rad->value);
  ASSERT_TRUE(with.median_if_undecided_rad);
  EXPECT_LT(with.median_if_undecided_rad->lo, without.median_rad->value);
  EXPECT_GT(with.median_if_undecided_rad->hi, without.median_rad->value);
}

TEST(SlopeTrials, GoesOnlyOnSteeperSlopesGiveNoCurve) {
  const SlopeLimits g = only_group({trial(15, TrialOutcome::no_go), trial(16, TrialOutcome::no_go, 3),
                                    trial(20, TrialOutcome::go, 4), trial(21, TrialOutcome::go, 5)});
  EXPECT_TRUE(g.bracket.overlap);
  EXPECT_FALSE(g.median_rad);
  EXPECT_FALSE(g.solve.converged());
}

TEST(SlopeTrials, DirectionStartAndWeightAreKeptApart) {
  SlopeTrial down = trial(18, TrialOutcome::no_go, 3), rolling = trial(18, TrialOutcome::go, 4),
             heavy = trial(18, TrialOutcome::go, 5);
  down.downhill = true, rolling.rolling_start = true, heavy.conditions.weight_n = 5000;
  base::Problems problems;
  EXPECT_EQ(reduce_slope_trials({trial(18, TrialOutcome::go), down, rolling, heavy}, {}, problems).size(), 4u);
}

SlopeTrial on_heading(double heading_deg, double angle_deg, TrialOutcome outcome, std::size_t line, const char* why = "") {
  SlopeTrial t = trial(angle_deg, outcome, line);
  t.heading_rad = heading_deg * kDegree;
  t.why_stopped = why;
  return t;
}

TEST(SlopeTrials, HeadingsFormGroupsAndThoseNearTheFallLineDoNot) {
  base::Problems problems;
  const auto groups = reduce_slope_trials({trial(18, TrialOutcome::go, 3), on_heading(7, 16, TrialOutcome::go, 4), on_heading(-174, 12, TrialOutcome::go, 5), on_heading(88, 9, TrialOutcome::go, 6),
                                           on_heading(94, 12, TrialOutcome::no_go, 7, "drift of 14 deg"), on_heading(-90, 8, TrialOutcome::go, 8), on_heading(45, 10, TrialOutcome::go, 9)}, {}, problems);
  ASSERT_EQ(groups.size(), 5u);
  EXPECT_FALSE(groups[0].heading_rad);
  EXPECT_EQ(groups[0].trials.size(), 2u);              // 7 degrees aside is up
  EXPECT_TRUE(groups[1].downhill);                     // and 174 down
  EXPECT_FALSE(groups[1].heading_rad);
  ASSERT_TRUE(groups[2].heading_rad);
  EXPECT_NEAR(*groups[2].heading_rad, 91 * kDegree, 1e-12);
  EXPECT_NEAR(*groups[2].bracket.go_rad, 9 * kDegree, 1e-12);
  EXPECT_NEAR(*groups[2].bracket.no_go_rad, 12 * kDegree, 1e-12);
  EXPECT_THAT(groups[2].ended, testing::ElementsAre(testing::Pair(HeadingEnd::drift, 1u)));
  EXPECT_EQ(heading_words(*groups[2].heading_rad), "across, downhill on the left");
  EXPECT_EQ(heading_words(*groups[3].heading_rad), "across, downhill on the right");
  EXPECT_EQ(heading_words(*groups[4].heading_rad), "45 deg left of straight uphill");
  EXPECT_THAT(groups[2].population, HasSubstr("across"));
}

TEST(SlopeTrials, FearOfTippingBoundsNothingAbove) {
  SlopeTrial stood = on_heading(90, 15, TrialOutcome::no_go, 4, "tip-over caution");
  SlopeTrial drove = on_heading(90, 14, TrialOutcome::no_go, 5, "tip-over caution: rear wheel light");
  drove.length_climbed_m = 3;
  SlopeTrial drifted = on_heading(90, 10, TrialOutcome::go, 6);
  drifted.drift_rad = 4 * kDegree;
  base::Problems problems;
  const SlopeLimits g = reduce_slope_trials({stood, drove, drifted}, {}, problems).front();
  EXPECT_FALSE(g.bracket.no_go_rad);
  EXPECT_NEAR(*g.bracket.go_rad, 10 * kDegree, 1e-12);
  EXPECT_NEAR(*g.bracket.at_least_rad, 14 * kDegree, 1e-12);
  EXPECT_EQ(g.trials[0].bound, TrialBound::either);
  EXPECT_NEAR(*g.largest_drift_rad, 4 * kDegree, 1e-12);
}

TEST(SlopeTrials, MalformedTrialsAreNamedWithTheirLine) {
  SlopeTrial no_angle = trial(18, TrialOutcome::go, 7), wild = trial(18, TrialOutcome::go, 8),
             no_weight = trial(18, TrialOutcome::go, 9);
  no_angle.angle_rad.clear();
  wild.angle_rad = {18, std::nan(""), 18 * kDegree};  // typed in degrees
  no_weight.conditions.weight_n = std::nan("");
  base::Problems problems;
  const auto groups = reduce_slope_trials({no_angle, wild, no_weight}, {}, problems);
  const auto text = [&] {
    std::string all;
    for (const base::Problem& p : problems.list()) all += p.text() + "\n";
    return all;
  }();
  EXPECT_THAT(text, HasSubstr("slopes.csv:7"));
  EXPECT_THAT(text, HasSubstr("slopes.csv:8"));
  EXPECT_THAT(text, HasSubstr("slopes.csv:9"));
  EXPECT_TRUE(problems.refused());
  ASSERT_EQ(groups.size(), 1u);
  EXPECT_NEAR(groups[0].trials[1].angle_rad, 18 * kDegree, 1e-12);
  base::Problems none;
  EXPECT_TRUE(reduce_slope_trials({}, {}, none).empty());
}

TEST(SlopeTrials, TheReasonOfANoGoIsReadInAnyCapitals) {
  for (const char* why : {"tip-over caution", "Tip-over caution", "TIP OVER", "tipover, upper wheel light"}) EXPECT_EQ(heading_end(why), HeadingEnd::tip_over) << why;
  EXPECT_EQ(heading_end("No progress at all"), HeadingEnd::no_progress);
  EXPECT_EQ(heading_end("Drift of 12 deg"), HeadingEnd::drift);
  EXPECT_EQ(heading_end("battery"), HeadingEnd::not_told);
}

}  // namespace
}  // namespace hardpan::records
