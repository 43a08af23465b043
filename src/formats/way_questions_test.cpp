// SPDX-License-Identifier: Apache-2.0
// [[ride]], [[turn]], [[boulders]], [[endurance]] and [other_gravity].
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "formats/questions_reader.hpp"

namespace hardpan::formats {
namespace {

namespace p = performance;

class WayQuestions : public testing::Test {
 protected:
  WayQuestions() : folder_(std::filesystem::temp_directory_path() / ("hardpan-way-" + std::to_string(::getpid()))) { std::filesystem::create_directories(folder_ / "site"); }
  ~WayQuestions() override {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  void file(const std::string& name, const std::string& text) { std::ofstream(folder_ / name) << text; }
  campaign::Questions read(const std::string& text, base::Problems& problems) {
    campaign::Campaign c;
    c.folder = folder_.string();
    c.vehicles.resize(2);
    c.vehicles[0].id = "dunlin";
    c.vehicles[0].battery_j = 3.6e6;
    c.vehicles[1].id = "knot";
    c.zones.push_back({.id = "dune"});
    c.zones.push_back({.id = "marsh"});
    const io::TomlDocument doc = io::parse_toml(text, "campaign.toml", problems);
    campaign::Questions q = read_questions(c, doc.root(), problems);
    doc.report_unread();
    return q;
  }
  campaign::Questions read_well(const std::string& text) {
    base::Problems problems;
    campaign::Questions q = read(text, problems);
    EXPECT_FALSE(problems.refused()) << problems.list().front().text();
    return q;
  }
  std::size_t refused(const std::string& text) {
    base::Problems problems;
    static_cast<void>(read(text, problems));
    return problems.count(base::Severity::refusal);
  }
  std::filesystem::path folder_;
};

TEST_F(WayQuestions, ReadsRoughGround) {
  const auto q = read_well(R"([[ride]]
zones = ["dune"]
waves = ["4 m: 0.1 m", "60 in: 1 in"]
shock = "5 m/s^2"
absorbed_power = "6 W"
ride = "0.8 m/s^2"
weighting = "people"
at = "30 cm"
damping = 0.3
tightest_turn = "8 m"
[[ride]]
class = "D"
)");
  ASSERT_EQ(q.rides.size(), 2u);
  ASSERT_EQ(q.rides[0].grounds.size(), 2u);
  const auto wave = std::get<p::Wave>(q.rides[0].grounds[1]);
  EXPECT_NEAR(wave.length_m, 1.524, 1e-12);   // 60 in of 25.4 mm
  EXPECT_NEAR(wave.amplitude_m, 0.0254, 1e-12);
  EXPECT_EQ(*q.rides[0].question.shock_m_s2, 5);
  EXPECT_EQ(*q.rides[0].question.absorbed_power_w, 6);
  EXPECT_EQ(q.rides[0].question.weighting, p::Weighting::whole_body_vertical);
  EXPECT_EQ(*q.rides[0].settings.damping_ratio, 0.3);
  EXPECT_EQ(*q.rides[0].tightest_turn_m, 8);
  // Class D of ISO 8608: 64 times class A's 16e-6 m^3.
  EXPECT_NEAR(std::get<p::GroundSpectrum>(q.rides[1].grounds[0]).g0_m3, 1024e-6, 1e-12);
}

TEST_F(WayQuestions, ReadsASurveyedPathAndNotesTheFile) {
  std::string rows = "x (m),z (m)\n";
  for (int i = 0; i < 64; ++i) rows += std::to_string(0.25 * i) + "," + std::to_string(0.02 * std::sin(0.9 * i)) + "\n";
  file("site/path.csv", rows);
  const auto q = read_well("[[ride]]\nprofile = \"site/path.csv\"\n");
  ASSERT_EQ(q.rides[0].grounds.size(), 1u);
  EXPECT_FALSE(std::get<p::GroundSpectrum>(q.rides[0].grounds[0]).lines.empty());
  EXPECT_EQ(q.files, std::vector<std::string>{"site/path.csv"});
}

TEST_F(WayQuestions, ReadsAWayByStretchesAndByASheet) {
  const auto q = read_well(R"([[endurance]]
vehicle = "dunlin"
and_back = true
temperature = "5 degC"
derating = ["-10 degC: 70 %", "20 degC: 100 %"]
reserve = "20 %"
[[endurance.stretch]]
zone = "dune"
distance = "60 m"
gradient = "5 deg"
[[endurance.stretch]]
zone = "marsh"
distance = "1.2 km"
speed = "1 m/s"
halt = "15 min"
)");
  ASSERT_EQ(q.endurance.size(), 1u);
  const auto& e = q.endurance[0];
  ASSERT_EQ(e.rows.size(), 4u);
  EXPECT_EQ(e.rows[2].distance_m, 1200);
  EXPECT_NEAR(e.rows[3].gradient_rad, -5 * M_PI / 180, 1e-12);
  EXPECT_EQ(e.zones, (std::vector<std::string>{"dune", "marsh"}));
  EXPECT_EQ(e.rows[3].ground, 0u);
  EXPECT_NEAR(e.derating[0].temperature_k, 263.15, 1e-9);
  EXPECT_EQ(e.reserve_ratio, 0.2);
  file("site/way.csv", "distance (m),gradient (deg),ground\n100,2,\n50,0,marsh\n");
  const auto s = read_well("[[endurance]]\nvehicle = \"dunlin\"\ntrip = \"site/way.csv\"\nzone = \"dune\"\n");
  ASSERT_EQ(s.endurance[0].rows.size(), 2u);
  EXPECT_EQ(s.endurance[0].zones, (std::vector<std::string>{"dune", "marsh"}));
}

TEST_F(WayQuestions, ReadsRocksTurnsAndAnotherGravity) {
  file("site/rocks.csv", "x (m),y (m),diameter (m)\n1,1,0.4\n9,5,0.6\n");
  const auto q = read_well(R"([[boulders]]
vehicles = ["dunlin"]
coverage = "10 %"
friction = 0.6
smallest = "0.1 m"
[[boulders]]
map = "site/rocks.csv"
plot = ["0 m", "0 m", "10 m", "6 m"]
step = "0.15 m"
start = ["0 m", "3 m"]
heading = "30 deg"
[[turn]]
zones = ["dune"]
radii = ["8 m", "0 m"]
to = "right"
gradient = "5 deg"
heading = "90 deg"
crest = "2 deg"
crest_line = "-38 deg"
[other_gravity]
gravity = "1.62 m/s^2"
self_weight_share = "50 %"
)");
  ASSERT_EQ(q.boulders.size(), 2u);
  ASSERT_TRUE(q.boulders[0].law);
  EXPECT_NEAR(*q.boulders[0].law->area_ratio(0), 0.1, 1e-12);
  EXPECT_EQ(q.boulders[1].rocks.size(), 2u);
  EXPECT_NEAR(q.boulders[1].plot->area_m2(), 60, 1e-12);
  EXPECT_NEAR(q.boulders[1].run->heading_rad, M_PI / 6, 1e-12);
  ASSERT_EQ(q.turns.size(), 1u);
  EXPECT_TRUE(q.turns[0].to_right);
  EXPECT_EQ(q.turns[0].question.turn.radius_m, -1);
  EXPECT_EQ(q.turns[0].question.radii_m, (std::vector<double>{8, 0}));
  EXPECT_NEAR(q.turns[0].question.turn.crest->line_rad, -38 * M_PI / 180, 1e-12);
  ASSERT_TRUE(q.other_gravity);
  EXPECT_EQ(*q.other_gravity->self_weight_share, 0.5);
  EXPECT_EQ(q.other_gravity->length_ratio, 1);
}

TEST_F(WayQuestions, RefusesEachFault) {
  EXPECT_EQ(refused("[[ride]]\nshock = \"5 m/s^2\"\n"), 1u);                                              // no ground
  EXPECT_EQ(refused("[[ride]]\nwaves = [\"4 m: 0.1 m\"]\nclass = \"D\"\n"), 1u);                        // two grounds
  EXPECT_EQ(refused("[[ride]]\nclass = \"J\"\n"), 1u);
  for (const char* wave : {"4 m", "4 m: 0.1", "4 s: 0.1 m", "0 m: 0.1 m", "4 m: -0.1 m"}) EXPECT_EQ(refused(std::string("[[ride]]\nwaves = [\"") + wave + "\"]\n"), 1u) << wave;
  EXPECT_EQ(refused("[[ride]]\nclass = \"D\"\nzones = [\"moon\"]\nweighting = \"cats\"\nshock = \"0 m/s^2\"\n"), 3u);
  EXPECT_GE(refused("[[ride]]\nprofile = \"site/none.csv\"\n"), 1u);
  EXPECT_EQ(refused("[[turn]]\nvehicles = [\"dunlim\"]\nradii = [\"-1 m\"]\ncrest_line = \"3 deg\"\n"), 3u);
  EXPECT_EQ(refused("[[turn]]\ngradient = \"85 deg\"\nto = \"up\"\nspeed = \"40 m/s\"\n"), 3u);
  EXPECT_EQ(refused("[[boulders]]\ncoverage = \"10 %\"\n"), 1u);                                           // no step
  EXPECT_EQ(refused("[[boulders]]\nstep = \"0.1 m\"\n"), 1u);                                              // no rocks
  EXPECT_EQ(refused("[[boulders]]\nstep = \"0.1 m\"\nfriction = 0.5\ncoverage = \"70 %\"\n"), 2u);
  EXPECT_EQ(refused("[[boulders]]\nstep = \"0.1 m\"\ncoverage = \"10 %\"\nplot = [\"0 m\", \"1 m\"]\nheading = \"3 deg\"\n"), 3u);
  const std::string way = "[[endurance]]\nvehicle = \"dunlin\"\n", stretch = "[[endurance.stretch]]\nzone = \"dune\"\ndistance = \"10 m\"\n";
  EXPECT_EQ(refused(way), 1u);                                                                               // no way
  EXPECT_EQ(refused(way + "reserve = \"50 %\"\ncharge = \"40 %\"\n" + stretch), 1u);
  EXPECT_EQ(refused(way + "temperature = \"5 degC\"\n" + stretch), 1u);
  EXPECT_EQ(refused(way + "temperature = \"50 degC\"\nderating = [\"0 degC: 80 %\", \"20 degC: 100 %\"]\n" + stretch), 1u);
  EXPECT_EQ(refused(way + "temperature = \"5 degC\"\nderating = [\"20 degC: 80 %\", \"0 degC: 100 %\"]\n" + stretch), 1u);
  EXPECT_EQ(refused("[[endurance]]\nvehicle = \"knot\"\n" + stretch), 1u);                                 // no battery
  EXPECT_EQ(refused(way + "[[endurance.stretch]]\nzone = \"moon\"\ngradient = \"80 deg\"\n"), 3u);         // and no distance
  file("site/way.csv", "distance (m),gradient (deg)\n100,2\n");
  EXPECT_EQ(refused(way + "trip = \"site/way.csv\"\n"), 1u);                                               // no zone named
  EXPECT_EQ(refused("[other_gravity]\nmass = \"400 kg\"\n"), 1u);
  EXPECT_EQ(refused("[other_gravity]\ngravity = \"0 m/s^2\"\nself_weight_share = \"120 %\"\nlength_ratio = 0\n"), 3u);
  EXPECT_EQ(refused("[other_gravity]\ngravity = \"1.62 m/s^2\"\ncolour = 3\n"), 1u);                       // nobody asks for it
}

}  // namespace
}  // namespace hardpan::formats
