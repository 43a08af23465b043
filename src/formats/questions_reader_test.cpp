// SPDX-License-Identifier: Apache-2.0
#include "formats/questions_reader.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace hardpan::formats {
namespace {

campaign::Campaign known() {
  campaign::Campaign c;
  c.vehicles.resize(2);
  c.vehicles[0].id = "dunlin";
  c.vehicles[1].id = "knot";
  c.zones.push_back({.id = "dune"});
  return c;
}

campaign::Questions read(const std::string& text, base::Problems& problems) {
  const io::TomlDocument doc = io::parse_toml(text, "campaign.toml", problems);
  return read_questions(known(), doc.root(), problems);
}

TEST(QuestionsReader, ReadsWhatACampaignAsks) {
  base::Problems problems;
  const auto q = read(R"([remote]
sight = "10 m"
delay = "3 s"
corridor = "3 m"
image_loss = "2 %"
[[compare]]
vehicles = ["dunlin", "knot"]
zone = "dune"
[[study]]
vehicle = "knot"
zone = "dune"
vary = ["wheel diameter: 40 cm to 1 m in 5", "mass: 300 kg to 600 kg"]
quantity = "maximum gradient over slip"
[[study]]
vehicle = "knot"
zone = "dune"
vary = "speed: 1.8 km/h to 7.2 km/h in 4"
quantity = "energy"
need = "100 Wh/km"
)", problems);
  EXPECT_FALSE(problems.refused()) << problems.list().front().text();
  ASSERT_TRUE(q.remote);
  EXPECT_NEAR(q.remote->link.delay.total_s(), 3, 1e-12);
  EXPECT_NEAR(q.remote->link.image_loss_ratio, 0.02, 1e-12);
  ASSERT_EQ(q.versus.size(), 1u);
  EXPECT_EQ(q.versus[0].b, "knot");
  ASSERT_EQ(q.studies.size(), 2u);
  ASSERT_EQ(q.studies[0].variations.size(), 2u);
  EXPECT_NEAR(q.studies[0].variations[0].value(1), 0.55, 1e-12);
  EXPECT_EQ(q.studies[0].variations[1].steps, 7u);
  EXPECT_EQ(q.studies[0].quantity, performance::Studied::gradient_maximum);
  EXPECT_EQ(q.studies[0].variations[0].typed_unit, "m");
  EXPECT_NEAR(q.studies[1].variations[0].from, 0.5, 1e-12);
  EXPECT_EQ(q.studies[1].variations[0].typed_unit, "km/h");
  EXPECT_NEAR(*q.studies[1].needed, 360, 1e-9);   // J/m
}

TEST(QuestionsReader, RefusesEachFault) {
  const auto refused = [](const std::string& text) {
    base::Problems problems;
    static_cast<void>(read(text, problems));
    return problems.count(base::Severity::refusal);
  };
  EXPECT_EQ(refused("[remote]\nsight = \"10 m\"\ncorridor = \"3 m\"\n"), 1u);                                         // no delay
  EXPECT_EQ(refused("[remote]\nsight = \"0 m\"\ncorridor = \"3 m\"\ndelay = \"1 s\"\nuplink = \"1 s\"\n"), 4u);           // sight, both, downlink and reaction missing
  EXPECT_EQ(refused("[[compare]]\nvehicles = [\"dunlin\"]\nzone = \"dune\"\n"), 1u);
  EXPECT_EQ(refused("[[compare]]\nvehicles = [\"dunlin\", \"dunlim\"]\nzone = \"moon\"\n"), 2u);
  const std::string study = "[[study]]\nvehicle = \"knot\"\nzone = \"dune\"\n";
  EXPECT_EQ(refused(study), 1u);
  for (const char* vary : {"colour: 1 m to 2 m", "mass 1 kg to 2 kg", "mass: 1 m to 2 kg", "mass: 2 kg to 1 kg", "mass: 1 kg to 2 kg in many", "mass: 1 kg to 2 kg in 1000"}) {
    EXPECT_EQ(refused(study + "vary = [\"" + vary + "\"]\n"), 1u) << vary;
  }
  EXPECT_EQ(refused(study + "vary = [\"mass: 1 kg to 2 kg\", \"mass: 1 kg to 2 kg\"]\n"), 1u);
  EXPECT_EQ(refused(study + "vary = [\"mass: 100 kg to 200 kg\"]\nslip = \"120 %\"\nquantity = \"joy\"\n"), 2u);
  EXPECT_EQ(refused(study + "vary = [\"speed: 1 m/s to 2 m/s\"]\nquantity = \"pull coefficient\"\n"), 1u);      // no pull depends on speed
  EXPECT_EQ(refused(study + "vary = [\"mass: 100 kg to 200 kg\"]\nneed = \"5 kg\"\nspeed = \"3 m\"\n"), 2u);   // a gradient is an angle
}

// Dunlin's drives state a speed, Knot's none; fastest of the campaign serves both.
TEST(QuestionsReader, RemarksOnAVehicleDrivenThroughADelayWithoutATopSpeed) {
  campaign::Campaign c = known();
  for (vehicle::Vehicle& v : c.vehicles) v.axles.resize(2);
  c.vehicles[0].axles[1].drive.max_speed_rad_per_s = 6;
  const auto remarks = [&](const std::string& more) {
    base::Problems problems;
    const io::TomlDocument doc = io::parse_toml("[remote]\nsight = \"10 m\"\ncorridor = \"3 m\"\ndelay = \"3 s\"\n" + more, "campaign.toml", problems);
    static_cast<void>(read_questions(c, doc.root(), problems));
    EXPECT_FALSE(problems.refused());
    std::vector<std::string> out;
    for (const base::Problem& p : problems.list()) out.push_back(p.value);
    return out;
  };
  EXPECT_EQ(remarks(""), std::vector<std::string>{"knot"});
  EXPECT_TRUE(remarks("fastest = \"2 m/s\"\n").empty());
}

}  // namespace
}  // namespace hardpan::formats
