// SPDX-License-Identifier: Apache-2.0
// Sheets of runs over drive profiles, among rocks and over rough ground in a small valid campaign: read to the last cell, and slips of the pen told at their lines.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "formats/test_small_campaign.hpp"

namespace hardpan::formats {
namespace {

using ::testing::HasSubstr;

constexpr const char* kWays = R"(
[[endurance]]
vehicle = "carrier"
name = "Far nest"
battery = "2 kWh"

[[endurance.stretch]]
zone = "field"
distance = "800 m"
speed = "1 m/s"

[[boulders]]
name = "ridge"
coverage = "5 %"
step = "0.1 m"
smallest = "0.1 m"

[[ride]]
name = "track"
waves = ["3 m: 0.05 m"]
)";

class WayRunSheet : public test::SmallCampaign {
 protected:
  campaign::Campaign read(const std::string& kind, const std::string& sheet, const std::string& keys = "", const std::string& ways = kWays) { return SmallCampaign::read(kind, sheet, keys, ways); }
};

TEST_F(WayRunSheet, TripsAreReadInTheirUnitsAndAnArrivalIsTheWholeTrip) {
  const auto c = read("trip-run", "Run,Outcome,Distance (m),Energy (Wh),Time taken (min),Remark\n1,arrived,,50,20,\n2,hot drive,350,,,smelt\n", "trip = \"far nest\"\n");
  EXPECT_EQ(told(), "");
  ASSERT_EQ(c.trials.trips.size(), 2u);
  EXPECT_EQ(c.trials.trips[0].trip, "Far nest");   // as the campaign spells it
  EXPECT_NEAR(*c.trials.trips[0].energy_j, 180e3, 1e-6);
  EXPECT_NEAR(*c.trials.trips[0].time_s, 1200, 1e-9);
  EXPECT_EQ(c.trials.trips[0].distance_m, 800);
  EXPECT_EQ(c.trials.trips[1].outcome, records::TripOutcome::hot_drive);
  EXPECT_EQ(c.trials.trips[1].distance_m, 350);
  EXPECT_EQ(c.trials.trips[1].source.remark, "smelt");
  EXPECT_EQ(c.record_summaries.back().tests, 2u);
}

TEST_F(WayRunSheet, ATripThatIsNotThereIsAskedAboutByName) {
  read("trip-run", "Run,Trip,Outcome\n1,Fra nest,arrived\n2,,arrived\n");
  EXPECT_THAT(told(), HasSubstr("trials.csv:2"));
  EXPECT_THAT(told(), HasSubstr("did you mean Far nest?"));
  EXPECT_THAT(told(), HasSubstr("which [[endurance]] of this vehicle was driven is not told"));
}

TEST_F(WayRunSheet, ACampaignWithoutTheWaySaysWhatToWrite) {
  read("rough-run", "Speed (m/s),Outcome\n1,held\n", "ride = \"track\"\n", "");
  EXPECT_THAT(told(), HasSubstr("the campaign describes no [[ride]] of this name"));
  EXPECT_THAT(told(), HasSubstr("give the [[ride]] a name in campaign.toml"));
}

TEST_F(WayRunSheet, ARunThatDidNotArriveNeedsADistanceAndALongOneIsRemarkedOn) {
  read("trip-run", "Outcome,Distance (m),Energy (Wh)\nbattery,,60\narrived,1200,60\narrived,800,\n", "trip = \"Far nest\"\n");
  EXPECT_THAT(told(), HasSubstr("trials.csv:2"));
  EXPECT_THAT(told(), HasSubstr("says nothing without how far it went"));
  EXPECT_THAT(told(), HasSubstr("the distance driven is not the length of the trip"));
  EXPECT_THAT(told(), HasSubstr("a run that arrived without energy and time"));
  EXPECT_EQ(problems_.count(base::Severity::refusal), 1u) << told();
}

TEST_F(WayRunSheet, RockRunsAreReadAndSlipsNamed) {
  const auto c = read("rock-run", "Run,Outcome,Distance (m)\n1,clear,50\n2,wheel stopped,12.5\n3,body touched,30\n4,wheel,20\n5,clear,\n6,clear,-3\n", "rocks = \"ridge\"\n");
  EXPECT_THAT(told(), HasSubstr("no distance of a run"));   // -3 m is refused for the column: nothing of it is read
  EXPECT_TRUE(c.trials.rocks.empty());
}

TEST_F(WayRunSheet, ARockRunWithoutADistanceOrAKnownEndIsNamedByLine) {
  const auto c = read("rock-run", "Run,Outcome,Distance (m)\n1,clear,50\n2,wheel stoped,12.5\n3,clear,\n", "rocks = \"ridge\"\n");
  EXPECT_THAT(told(), HasSubstr("did you mean wheel stopped?"));
  EXPECT_THAT(told(), HasSubstr("trials.csv:4"));
  ASSERT_EQ(c.trials.rocks.size(), 1u);
  EXPECT_EQ(c.trials.rocks[0].distance_m, 50);
}

TEST_F(WayRunSheet, RoughRunsAreReadAndAPeakBelowItsMeanSquareIsRefused) {
  const auto c = read("rough-run", "Speed (km/h),Outcome,Peak (m/s2),RMS (m/s2)\n3.6,held,2.5,1.1\n5.4,wheel lifted,,\n7.2,held,1.0,1.4\n", "ride = \"track\"\n");
  ASSERT_EQ(c.trials.rough.size(), 2u);
  EXPECT_NEAR(c.trials.rough[0].speed_m_per_s, 1, 1e-12);
  EXPECT_NEAR(*c.trials.rough[0].peak_m_per_s2, 2.5, 1e-12);
  EXPECT_EQ(c.trials.rough[1].outcome, records::RoughOutcome::lifted);
  EXPECT_FALSE(c.trials.rough[1].peak_m_per_s2);
  EXPECT_THAT(told(), HasSubstr("trials.csv:4"));
  EXPECT_THAT(told(), HasSubstr("below the root mean square of the same"));
}

}  // namespace
}  // namespace hardpan::formats
