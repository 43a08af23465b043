// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_remote.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::validation {
namespace {

using ::testing::HasSubstr;

records::RemoteRun run(const char* who, double delay_s, double speed, records::RemoteOutcome outcome = records::RemoteOutcome::finished) {
  records::RemoteRun r;
  r.source = {.id = "r", .file = "r.csv", .zone = "bar", .operator_name = who};
  r.conditions = {.vehicle = "carrier", .weight_n = 4000};
  r.line = 2, r.course = "slalom", r.delay_s = delay_s, r.speed_m_per_s = speed, r.outcome = outcome;
  return r;
}
records::RemoteCourse course(const std::vector<records::RemoteRun>& runs) {
  base::Problems problems;
  return records::reduce_remote_runs(runs, {}, problems).front();
}
// Stopping in sight of 10 m with mu 0.4 on Earth: 2.96 m/s at 3 s (docs/theory/driving.md).
const std::vector<PredictedSpeed> kPredicted{{0, 3.5, "vehicle"}, {3, 2.96, "stopping"}, {6, 1.57, "stopping"}};

TEST(CompareRemote, SlowerThanPredictedIsConsistentAndTellsTheShare) {
  const RemoteComparison c = compare_remote(course({run("AB", 0, 2.8), run("CD", 0, 2.1), run("AB", 3, 1.48), run("CD", 3, 1.184), run("AB", 3, 5, records::RemoteOutcome::left_corridor)}), kPredicted, units::OutputUnits::si);
  ASSERT_EQ(c.delays.size(), 2u);
  EXPECT_TRUE(c.judged && c.consistent);
  EXPECT_NEAR(*c.most_share, 0.7, 1e-12);    // 2.45 of 3.5
  EXPECT_NEAR(*c.least_share, 0.45, 1e-12);  // 1.332 of 2.96
  EXPECT_EQ(c.delays[1].limited_by, "stopping");
  EXPECT_EQ(c.delays[1].left_corridor, 1u);
  EXPECT_EQ(c.delays[1].operators, 2u);
  EXPECT_THAT(c.statement, HasSubstr("45 to 70 % of the predicted speed over 2 delays: consistent"));
}

TEST(CompareRemote, FasterThanAnUpperBoundContradictsIt) {
  const RemoteComparison c = compare_remote(course({run("AB", 3, 3.4), run("CD", 3, 3.41), run("EF", 3, 3.42)}), kPredicted, units::OutputUnits::si);
  EXPECT_TRUE(c.judged);
  EXPECT_FALSE(c.consistent);
  EXPECT_THAT(c.statement, HasSubstr("faster than what was to be an upper bound: 3.41 m/s at a delay of 3.00 s against 2.96 m/s predicted (stopping)"));
}

TEST(CompareRemote, BetweenDelaysThePredictionIsLinearAndBeyondThemAbsent) {
  const RemoteComparison c = compare_remote(course({run("AB", 1.5, 1), run("AB", 9, 0.5)}), kPredicted, units::OutputUnits::si);
  EXPECT_NEAR(*c.delays[0].predicted_m_per_s, 3.23, 1e-12);
  EXPECT_FALSE(c.delays[1].predicted_m_per_s);
  EXPECT_FALSE(c.delays[1].within);
}

TEST(CompareRemote, WithoutAnythingInCommonNothingIsJudged) {
  EXPECT_FALSE(compare_remote(course({run("AB", 1, 1)}), {}, units::OutputUnits::si).judged);
  const RemoteComparison none = compare_remote(course({run("AB", 1, 1, records::RemoteOutcome::struck)}), kPredicted, units::OutputUnits::si);
  EXPECT_FALSE(none.judged || none.consistent);
  EXPECT_THAT(none.statement, HasSubstr("nothing is judged"));
}

}  // namespace
}  // namespace hardpan::validation
