// SPDX-License-Identifier: Apache-2.0
#include "formats/obstacles_reader.hpp"

#include <gtest/gtest.h>

namespace hardpan::formats {
namespace {

std::vector<campaign::ObstacleQuestion> read(const std::string& text, base::Problems& problems) {
  campaign::Campaign c;
  c.vehicles.resize(1);
  c.vehicles[0].id = "dunlin";
  c.zones.push_back({.id = "dune"});
  const io::TomlDocument doc = io::parse_toml(text, "campaign.toml", problems);
  return read_obstacles(c, doc.root(), problems);
}
std::size_t refused(const std::string& keys) {
  base::Problems problems;
  static_cast<void>(read("[[obstacle]]\n" + keys, problems));
  return problems.count(base::Severity::refusal);
}

TEST(ObstaclesReader, ReadsStepsAndGapsWithTheirFriction) {
  base::Problems problems;
  const auto q = read(R"([[obstacle]]
id = "kerb"
description = "the kerb at the hut"
vehicles = "dunlin"
step = "5 in"
friction = 0.7
[[obstacle]]
id = "ditch"
gap = "40 cm"
zone = "dune"
)", problems);
  EXPECT_FALSE(problems.refused()) << problems.list().front().text();
  ASSERT_EQ(q.size(), 2U);
  EXPECT_NEAR(*q[0].step_m, 0.127, 1e-12);
  EXPECT_EQ(q[0].vehicles, std::vector<std::string>{"dunlin"});
  EXPECT_EQ(q[0].friction, 0.7);
  EXPECT_TRUE(q[1].vehicles.empty());
  EXPECT_NEAR(*q[1].gap_m, 0.4, 1e-12);
  EXPECT_EQ(q[1].zone, "dune");
}

TEST(ObstaclesReader, RefusesEachFault) {
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 m\"\nfriction = 0.6\n"), 0U);
  EXPECT_EQ(refused("step = \"0.1 m\"\nfriction = 0.6\n"), 1U);                                   // no id
  EXPECT_EQ(refused("id = \"a\"\nfriction = 0.6\n"), 1U);                                         // no shape
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 m\"\ngap = \"0.2 m\"\nfriction = 0.6\n"), 1U);      // two shapes
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 m\"\n"), 1U);                                       // no friction
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 m\"\nfriction = 0.6\nzone = \"dune\"\n"), 1U);      // friction twice
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 m\"\nfriction = 2.5\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0 m\"\nfriction = 0.6\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\ngap = \"-0.2 m\"\nfriction = 0.6\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 m\"\nzone = \"done\"\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\nvehicles = [\"dunlim\"]\nstep = \"0.1 m\"\nfriction = 0.6\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\nprofile = \"../ditch.csv\"\nfriction = 0.6\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\nprofile = \"no/such.csv\"\nfriction = 0.6\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 kg\"\nfriction = 0.6\n"), 1U);
  EXPECT_EQ(refused("id = \"a\"\nstep = \"0.1 m\"\nfriction = 0.6\n[[obstacle]]\nid = \"a\"\nstep = \"0.1 m\"\nfriction = 0.6\n"), 1U);
}

}  // namespace
}  // namespace hardpan::formats
