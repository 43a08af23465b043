// SPDX-License-Identifier: Apache-2.0
// Sheets of obstacle, turn and remote trials in a small valid campaign: read to the last cell, and slips of the pen told at their lines.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "formats/test_small_campaign.hpp"

namespace hardpan::formats {
namespace {

using ::testing::HasSubstr;

class TrialSheet : public test::SmallCampaign {};

TEST_F(TrialSheet, AnObstacleSheetIsReadCellByCell) {
  const auto c = read("obstacle-trial",
                      "Try,Obstacle,Size (mm),Approach,Outcome,Axle,Friction,Travel,Assisted,Remark\n"
                      "1,step up,80,slow,over,,0.62,forward,,\n"
                      "2,Step Up,160,slow,hung up,front,0.58,,,belly on the edge\n"
                      "3,gap,400,rolling,stopped by the driver,,,backward,,\n"
                      "4,step down,200,,tipped,rear,,,yes,\n");
  EXPECT_EQ(told(), "");
  ASSERT_EQ(c.trials.obstacles.size(), 4u);
  const auto& t = c.trials.obstacles;
  EXPECT_EQ(t[0].obstacle, records::ObstacleKind::step_up);
  EXPECT_NEAR(t[0].size_m, 0.08, 1e-15);
  EXPECT_EQ(*t[0].friction_ratio, 0.62);
  EXPECT_EQ(t[0].conditions.run, "1");
  EXPECT_EQ(t[0].source.zone, "field");
  EXPECT_NEAR(t[0].conditions.weight_n, 400 * 9.81, 1e-9);
  EXPECT_EQ(t[1].outcome, records::ObstacleOutcome::hung_up);
  EXPECT_EQ(t[1].axle, "front");
  EXPECT_EQ(t[1].source.remark, "belly on the edge");
  EXPECT_EQ(t[2].outcome, records::ObstacleOutcome::by_driver);
  EXPECT_TRUE(t[2].rolling_start && t[2].backward);
  EXPECT_FALSE(t[2].friction_ratio);
  EXPECT_EQ(t[3].obstacle, records::ObstacleKind::step_down);
  EXPECT_TRUE(t[3].assisted);
  EXPECT_EQ(c.record_summaries.back().tests, 4u);
}

TEST_F(TrialSheet, SlipsOfThePenOnAnObstacleSheetAreNamedByLine) {
  read("obstacle-trial",
       "Obstacle,Size (mm),Outcome\n"
       "step,80,over\n"
       "step up,120,ovr\n"
       "step up,,stopped\n"
       "gap,0,over\n");
  EXPECT_THAT(told(), HasSubstr("trials.csv:2"));
  EXPECT_THAT(told(), HasSubstr("step up, step down, gap"));
  EXPECT_THAT(told(), HasSubstr("did you mean over?"));
  EXPECT_THAT(told(), HasSubstr("an obstacle has a size"));
  EXPECT_GE(problems_.count(base::Severity::refusal), 4u);
}

TEST_F(TrialSheet, ImpossibleNumbersAndUnknownWordsAreToldAtOnce) {
  read("obstacle-trial", "Obstacle,Size (m),Outcome,Friction\nstep upp,0.1,over,6.2\nstep up,0.1,ovre,0.6\n");
  EXPECT_THAT(told(), HasSubstr("no friction coefficient of a wheel on ground"));
  EXPECT_THAT(told(), HasSubstr("did you mean step up?"));
  EXPECT_THAT(told(), HasSubstr("did you mean over?"));
}

TEST_F(TrialSheet, ImpossibleSizesAndFrictionsAreRefusedAndOddOnesRemarkedOn) {
  read("obstacle-trial", "Obstacle,Size (m),Outcome,Friction\nstep up,25,over,0.6\nstep up,0.1,over,6.2\n");
  EXPECT_THAT(told(), HasSubstr("no obstacle for a vehicle"));
  EXPECT_THAT(told(), HasSubstr("no friction coefficient of a wheel on ground"));
}

TEST_F(TrialSheet, AStepHigherThanTheWheelsIsAskedAbout) {
  read("obstacle-trial", "Obstacle,Size (m),Outcome,Friction\nstep up,0.8,over,0.6\n");  // wheels of 0.5 m
  EXPECT_THAT(told(), HasSubstr("a step higher than the vehicle's wheels was crossed"));
  EXPECT_EQ(problems_.count(base::Severity::refusal), 0u);
}

constexpr const char* kTwoObstacles = "\n[[obstacle]]\nid = \"kerb\"\nstep = \"-90 mm\"\nfriction = 0.6\n\n[[obstacle]]\nid = \"ditch\"\nprofile = \"records/ditch.csv\"\nfriction = 0.6\n";

TEST_F(TrialSheet, ATryMayNameAnObstacleOfTheCampaign) {
  std::ofstream(folder_ + "/records/ditch.csv") << "x (m),z (m)\n0,0\n1,-0.2\n2,0\n";
  const auto c = read("obstacle-trial", "Obstacle,Outcome,Friction\nkerb,over,0.6\nDitch,stopped,0.5\n", kTwoObstacles);
  EXPECT_EQ(problems_.count(base::Severity::refusal), 0u) << told();
  ASSERT_EQ(c.trials.obstacles.size(), 2u);
  EXPECT_EQ(c.trials.obstacles[0].obstacle, records::ObstacleKind::step_down);
  EXPECT_NEAR(c.trials.obstacles[0].size_m, 0.09, 1e-15);
  EXPECT_EQ(c.trials.obstacles[0].named, "kerb");
  EXPECT_EQ(c.trials.obstacles[1].obstacle, records::ObstacleKind::profile);
  EXPECT_EQ(c.trials.obstacles[1].named, "ditch");
  EXPECT_EQ(c.trials.obstacles[1].size_m, 0);
}

TEST_F(TrialSheet, AMeasuredSizeGoesBeforeTheCampaignsAndAProfileHasNone) {
  std::ofstream(folder_ + "/records/ditch.csv") << "x (m),z (m)\n0,0\n1,-0.2\n2,0\n";
  const auto c = read("obstacle-trial", "Obstacle,Size (mm),Outcome\nkerb,95,over\nditch,200,over\nditsh,,over\n", kTwoObstacles);
  ASSERT_EQ(c.trials.obstacles.size(), 1u);
  EXPECT_NEAR(c.trials.obstacles[0].size_m, 0.095, 1e-15);
  EXPECT_THAT(told(), HasSubstr("trials.csv:3: a profile has no size"));
  EXPECT_THAT(told(), HasSubstr("did you mean ditch?"));
}

TEST_F(TrialSheet, AColumnThatIsMissingIsAskedForByName) {
  read("obstacle-trial", "Obstacle,Outcome\nstep up,over\n");
  EXPECT_THAT(told(), HasSubstr("an obstacle-trial record needs a column for size"));
}

TEST_F(TrialSheet, SlopeTrialsTakeAHeadingAndADriftWhereTheyAreTold) {
  const auto c = read("slope-trial",
                      "Run,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Start,Heading (deg),Drift (deg),Outcome,Why stopped\n"
                      "1,10,11,12,standing,90,-4,go,\n"
                      "2,14,14,14,standing,270,,no-go,drift of 12 deg\n"
                      "3,9,9,9,standing,,,go,\n");
  EXPECT_EQ(problems_.count(base::Severity::refusal), 0u) << told();
  const auto& t = c.driving.slope_trials;
  ASSERT_GE(t.size(), 3u);
  const auto* last = &t[t.size() - 3];
  EXPECT_NEAR(*last[0].heading_rad, M_PI / 2, 1e-12);
  EXPECT_NEAR(*last[0].drift_rad, 4 * M_PI / 180, 1e-12);      // a size: left and right of the heading alike
  EXPECT_NEAR(*last[1].heading_rad, -M_PI / 2, 1e-12);         // 270 deg is across with downhill on the right
  EXPECT_FALSE(last[2].heading_rad || last[2].drift_rad);
}

TEST_F(TrialSheet, HeadingsWithoutAUnitBlankOnesAndGoesOverNoLengthAreNotPassedOver) {
  read("slope-trial", "Run,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Start,Heading,Outcome\n1,10,11,12,standing,90,go\n");
  EXPECT_THAT(told(), HasSubstr("trials.csv:2: travel is up or down"));
  EXPECT_THAT(told(), HasSubstr("says its unit"));
}

TEST_F(TrialSheet, ABlankHeadingIsAskedAboutAndAGoOverNoLengthRefused) {
  read("slope-trial", "Run,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Start,Heading (deg),Length (m),Outcome\n1,10,11,12,standing,90,10,go\n2,9,9,9,standing,,10,go\n3,9,9,9,standing,90,0,go\n");
  EXPECT_THAT(told(), HasSubstr("trials.csv:3: no heading is told in this row"));
  EXPECT_THAT(told(), HasSubstr("trials.csv:4: a go over no length"));
}

TEST_F(TrialSheet, ARunThatStandsTwiceAndAConditionThatIsNotDescribedAreRemarkedOn) {
  read("obstacle-trial", "Try,Obstacle,Size (mm),Outcome,Condition\n1,step up,80,over,\n1,step up,80,over,moist\n");
  EXPECT_THAT(told(), HasSubstr("trials.csv:3: run 1 stands in line 2 already, and counts again"));
  EXPECT_THAT(told(), HasSubstr("no condition of this id in campaign.toml"));
  EXPECT_EQ(problems_.count(base::Severity::refusal), 0u);
}

TEST_F(TrialSheet, AColumnHeadingWithoutAUnitStaysTheWayOfTravel) {
  const auto c = read("slope-trial", "Run,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Start,Heading,Outcome\n1,10,11,12,standing,down,go\n");
  EXPECT_EQ(problems_.count(base::Severity::refusal), 0u) << told();
  ASSERT_FALSE(c.driving.slope_trials.empty());
  EXPECT_TRUE(c.driving.slope_trials.back().downhill);
  EXPECT_FALSE(c.driving.slope_trials.back().heading_rad);
}

TEST_F(TrialSheet, ATravelThatDeniesItsHeadingIsRefused) {
  read("slope-trial", "Run,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Start,Travel,Heading (deg),Outcome\n1,10,11,12,standing,up,150,go\n");
  EXPECT_THAT(told(), HasSubstr("travel and heading contradict each other"));
}

TEST_F(TrialSheet, ATurnSheetIsReadCellByCell) {
  const auto c = read("turn-trial",
                      "Run,Side,Diameter (m),Radius asked (m),Measured to,Speed (km/h),Torque (N m),Power (W),Gradient (deg),Outcome,Remark\n"
                      "1,left,12.4,6,outer wheel,1.8,95,110,,turned,\n"
                      "2,right,,3,centre,,,,2,slid,front washed out\n",
                      "power_at = \"axles\"\n");
  EXPECT_EQ(told(), "");
  ASSERT_EQ(c.trials.turns.size(), 2u);
  const auto& t = c.trials.turns;
  EXPECT_NEAR(t[0].radius_m, 6.2, 1e-12);
  EXPECT_TRUE(t[0].radius_measured && t[0].power_at_axles && !t[0].right);
  EXPECT_NEAR(*t[0].speed_m_per_s, 0.5, 1e-12);
  EXPECT_EQ(*t[0].torque_n_m, 95);
  EXPECT_EQ(*t[0].power_w, 110);
  EXPECT_EQ(t[1].radius_m, 3);
  EXPECT_FALSE(t[1].radius_measured || t[1].torque_n_m);
  EXPECT_TRUE(t[1].right);
  EXPECT_EQ(t[1].path, records::RingPath::centre);
  EXPECT_EQ(t[1].outcome, records::TurnOutcome::slid);
  EXPECT_NEAR(t[1].conditions.gradient_rad, 2 * M_PI / 180, 1e-12);
}

TEST_F(TrialSheet, ARadiusWithoutWhatItIsMeasuredToIsRefused) {
  read("turn-trial", "Side,Radius (m),Outcome\nleft,6,turned\n");
  EXPECT_THAT(told(), HasSubstr("a turning radius says nothing without what it is measured to"));
}

TEST_F(TrialSheet, SlipsOfThePenOnATurnSheetAreNamedByLine) {
  read("turn-trial",
       "Side,Radius (m),Outcome,Power (W)\n"
       "lft,6,turned,100\n"
       "left,,turned,100\n"
       "left,0.3,turned,100\n"      // a track of 1 m
       "left,6,went,100\n",
       "wheel_path = \"outer wheel\"\n");
  for (const char* part : {"trials.csv:2", "did you mean left?", "a turn has a radius", "the outer wheel leaves no ring so small", "turned, stalled, slid, stopped", "where the power was measured is not stated"}) {
    EXPECT_THAT(told(), HasSubstr(part));
  }
  EXPECT_EQ(problems_.count(base::Severity::refusal), 4u);
}

TEST_F(TrialSheet, ARemoteSheetIsReadCellByCell) {
  const auto c = read("remote-run",
                      "Run,Operator,Practice,Delay (s),Field of view (deg),Image interval (ms),Speed (m/s),Largest error (cm),Corridor (m),Stops,Outcome\n"
                      "1,AB,0,2.6,60,200,0.8,35,2,1,finished\n"
                      "2,CD,4,0,,,,,2,,Left the corridor\n",
                      "course = \"slalom\"\n");
  EXPECT_EQ(told(), "");
  ASSERT_EQ(c.trials.remote.size(), 2u);
  const auto& t = c.trials.remote;
  EXPECT_EQ(t[0].source.operator_name, "AB");
  EXPECT_EQ(t[0].course, "slalom");
  EXPECT_EQ(t[0].delay_s, 2.6);
  EXPECT_NEAR(*t[0].field_of_view_rad, M_PI / 3, 1e-12);
  EXPECT_NEAR(*t[0].image_interval_s, 0.2, 1e-15);
  EXPECT_NEAR(*t[0].largest_error_m, 0.35, 1e-15);
  EXPECT_EQ(*t[0].practice, 0);
  EXPECT_EQ(*t[0].stops, 1);
  EXPECT_EQ(t[1].outcome, records::RemoteOutcome::left_corridor);
  EXPECT_FALSE(t[1].speed_m_per_s || t[1].field_of_view_rad);
}

TEST_F(TrialSheet, SlipsOfThePenOnARemoteSheetAreNamedByLine) {
  read("remote-run",
       "Operator,Practice,Delay (s),Speed (m/s),Largest error (m),Corridor (m),Outcome\n"
       "AB,0,,0.8,,,finished\n"
       "AB,1,2.6,0.8,,,finshed\n"
       "AB,2,2.6,,,,finished\n"
       "AB,3,2.6,0.8,1.4,2,finished\n");
  for (const char* part : {"a remote run has a delay", "did you mean finished?", "without a speed", "further aside than half the corridor"}) EXPECT_THAT(told(), HasSubstr(part));
  EXPECT_EQ(problems_.count(base::Severity::refusal), 2u);
}

TEST_F(TrialSheet, HalfARunOfPracticeIsRefused) {
  read("remote-run", "Operator,Practice,Delay (s),Speed (m/s),Outcome\nAB,1.5,2.6,0.8,finished\n");
  EXPECT_THAT(told(), HasSubstr("runs driven before are counted 0, 1, 2"));
}

}  // namespace
}  // namespace hardpan::formats
