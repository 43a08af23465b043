// SPDX-License-Identifier: Apache-2.0
#include "io/toml.hpp"

#include <gtest/gtest.h>

namespace hardpan::io {
namespace {

std::vector<std::string> texts(const base::Problems& problems) {
  std::vector<std::string> out;
  for (const auto& p : problems.list()) out.push_back(p.text());
  return out;
}

constexpr const char* kCampaign = R"(name = "Tern Spit"
seed = 12
date = 2024-05-12
when = 2024-05-12T10:30:00+02:00
share = 0.2
names = ["a", "b"]
limits = [1, 2.5]

[site]
gravity = "9.81 m/s^2"

[[record]]
file = "p1.csv"
unit = "kPa"
[[record]]
file = "p2.csv"
unit = 5
opertor = "B"
)";

TEST(Toml, GivesTypedValuesWithTheirPlace) {
  base::Problems problems;
  const TomlDocument doc = parse_toml(kCampaign, "campaign.toml", problems);
  const TomlTable root = doc.root();
  EXPECT_EQ(root.text("name")->value, "Tern Spit");
  EXPECT_EQ(root.integer("seed")->value, 12);
  EXPECT_EQ(root.date("date")->value, "2024-05-12");
  EXPECT_EQ(root.date("when")->value, "2024-05-12T10:30:00+02:00");
  EXPECT_EQ(root.number("share")->value, 0.2);
  EXPECT_EQ(root.number("seed")->value, 12.0) << "a whole number is a number";
  EXPECT_EQ(root.texts("names")->value, (std::vector<std::string>{"a", "b"}));
  EXPECT_EQ(root.numbers("limits")->value, (std::vector<double>{1, 2.5}));
  const auto gravity = root.table("site")->text("gravity");
  EXPECT_EQ(gravity->place.text(), "campaign.toml:10: site.gravity");
  ASSERT_EQ(root.tables("record").size(), 2u);
  EXPECT_EQ(root.tables("record")[1].place().text(), "campaign.toml:15: record[2]");
  EXPECT_FALSE(root.text("absent"));
  EXPECT_TRUE(problems.list().empty());
}

TEST(Toml, RefusesWrongTypesAndMissingKeysWithFileLineAndKey) {
  base::Problems problems;
  const TomlDocument doc = parse_toml(kCampaign, "campaign.toml", problems);
  const TomlTable second = doc.root().tables("record")[1];
  EXPECT_FALSE(second.text("unit"));
  EXPECT_FALSE(second.require_text("point"));
  EXPECT_FALSE(doc.root().number("name"));
  EXPECT_FALSE(doc.root().table("name"));
  EXPECT_TRUE(doc.root().tables("site").empty());
  EXPECT_FALSE(doc.root().texts("limits"));
  EXPECT_EQ(texts(problems),
            (std::vector<std::string>{
                "campaign.toml:17: record[2].unit: this is a whole number (found \"5\"); accepted: a text in quotes",
                "campaign.toml:15: record[2].point: this key is missing; accepted: a text in quotes",
                "campaign.toml:1: name: this is a text in quotes (found \"Tern Spit\"); accepted: a finite number",
                "campaign.toml:1: name: this is a text in quotes (found \"Tern Spit\"); accepted: a table with one pair of brackets",
                "campaign.toml:9: site: this is a table (found \"{...}\"); accepted: tables with two pairs of brackets",
                "campaign.toml:7: limits[1]: this is a whole number (found \"1\"); accepted: a text in quotes"}));
}

TEST(Toml, RefusesKeysNobodyAskedForAndNamesTheNearest) {
  base::Problems problems;
  const TomlDocument doc = parse_toml(kCampaign, "campaign.toml", problems);
  const TomlTable root = doc.root();
  for (const char* key : {"name", "seed", "date", "when", "share", "names", "limits", "site"}) (void)root.value(key);
  (void)root.table("site")->text("gravity");
  for (const TomlTable& record : root.tables("record")) {
    (void)record.text("file");
    (void)record.value("unit");
    (void)record.text("operator");
  }
  doc.report_unread();
  EXPECT_EQ(texts(problems),
            (std::vector<std::string>{"campaign.toml:18: record[2].opertor: this key is not known here (found "
                                      "\"opertor\"); accepted: file, operator, unit; did you mean operator?"}));
}

TEST(Toml, TablesOfFreeKeysAreReadWhole) {
  base::Problems problems;
  const TomlDocument doc = parse_toml("[columns]\nz = 'depth'\na = 'load'\n[other]\nx = 1\n", "a.toml", problems);
  std::string seen;
  for (const auto& [key, value] : doc.root().table("columns")->members()) seen += key + "=" + *value.text() + " ";
  EXPECT_EQ(seen, "z=depth a=load ") << "in the order of the file";
  doc.report_unread();
  ASSERT_EQ(problems.list().size(), 1u);
  EXPECT_EQ(problems.list()[0].place.text(), "a.toml:4: other");
}

TEST(Toml, RefusesWhatIsNotFiniteAsANumber) {
  base::Problems problems;
  const TomlDocument doc = parse_toml("a = nan\nb = inf\n", "a.toml", problems);
  EXPECT_FALSE(doc.root().number("a"));
  EXPECT_FALSE(doc.root().number("b"));
  EXPECT_EQ(problems.list().size(), 2u);
}

TEST(Toml, RefusesBrokenTextWithFileLineAndColumn) {
  struct Case {
    const char* text;
    const char* place;
  };
  const Case cases[] = {
      {"a = 1\nb = \n", "c.toml:2"},
      {"a = 1\nb = 2\na = 3\n", "c.toml:3"},          // key twice
      {"[t]\nx=1\n[t]\ny=2\n", "c.toml:3"},           // table twice
      {"a = 'open\n", "c.toml:1"},
      {"a = 1 b = 2\n", "c.toml:1"},
      {"a = 2024-13-01\n", "c.toml:1"},
      {"a = 99999999999999999999\n", "c.toml:1"},
      {"x = \"\xFF\"\n", "c.toml:1"},
  };
  for (const Case& c : cases) {
    base::Problems problems;
    const TomlDocument doc = parse_toml(c.text, "c.toml", problems);
    EXPECT_FALSE(doc.readable()) << c.text;
    ASSERT_EQ(problems.list().size(), 1u) << c.text;
    EXPECT_EQ(problems.list()[0].text().substr(0, 8), c.place) << problems.list()[0].text();
    EXPECT_GT(problems.list()[0].place.column, 0u);
    EXPECT_FALSE(doc.root().require_text("name"));
    doc.report_unread();
    EXPECT_EQ(problems.list().size(), 1u) << "one fault must not be followed by missing keys";
  }
}

TEST(Toml, RefusesNulBytesDeepNestingAndMissingFiles) {
  base::Problems problems;
  EXPECT_FALSE(parse_toml(std::string_view("a=1\nb\0=2\n", 9), "a.toml", problems).readable());
  EXPECT_FALSE(parse_toml("a = " + std::string(5000, '['), "a.toml", problems).readable());
  EXPECT_FALSE(load_toml("/nowhere/a.toml", problems).readable());
  ASSERT_EQ(problems.list().size(), 3u);
  EXPECT_EQ(problems.list()[0].place.line, 2u);
  EXPECT_EQ(problems.list()[2].what, "there is no such file");
}

TEST(Toml, FindsTheNearestWord) {
  const std::vector<std::string> known = {"gravity", "operator", "zone", "shear-ring", "shear-plate"};
  EXPECT_EQ(nearest_word("gravty", known), "gravity");
  EXPECT_EQ(nearest_word("Opreator", known), "operator");  // swapped neighbours
  EXPECT_EQ(nearest_word("shear_rng", known), "shear-ring");
  EXPECT_EQ(nearest_word("zones", known), "zone");
  EXPECT_FALSE(nearest_word("moisture", known));
  EXPECT_FALSE(nearest_word("", known));
}

}  // namespace
}  // namespace hardpan::io
