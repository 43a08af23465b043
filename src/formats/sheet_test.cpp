// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/sheet.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>

namespace hardpan::formats::detail {
namespace {

using units::Dimension;

class SheetFile : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (std::filesystem::temp_directory_path() / "hardpan-sheet-XXXXXX").string();
    folder_ = mkdtemp(pattern.data());
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  SheetRequest request(const std::string& text) {
    std::ofstream(folder_ + "/s.csv", std::ios::binary) << text;
    SheetRequest q;
    q.path = folder_ + "/s.csv";
    q.file = "records/s.csv";
    q.place = {.file = "campaign.toml", .line = 7, .key = "record[1]"};
    q.roles = {{.name = "load", .dimensions = {Dimension::force}, .headings = {"load", "force"}},
               {.name = "sinkage", .dimensions = {Dimension::length}, .headings = {"sinkage", "depth"}},
               {.name = "wheel_speed", .dimensions = {Dimension::angular_speed, Dimension::speed}, .headings = {"wheel speed"}, .many = true},
               {.name = "turns", .dimensions = {Dimension::none}, .headings = {"turns"}, .count = true},
               {.name = "remark", .dimensions = {}, .headings = {"remark"}}};
    return q;
  }
  std::string refusal(const SheetRequest& q) {
    base::Problems problems;
    EXPECT_FALSE(read_sheet(q, problems));
    return problems.list().empty() ? "" : problems.list().front().text();
  }

  std::string folder_;
  base::Problems problems_;
};

TEST_F(SheetFile, ReadsUnitsFromHeadingsUnitLinesAndTheRecord) {
  const auto by_heading = read_sheet(request("Load (lbf),Sinkage [in]\n10,3 1/4\n20,4\n"), problems_);
  ASSERT_TRUE(by_heading) << problems_.list().front().text();
  EXPECT_DOUBLE_EQ(by_heading->number("load")->values[0], 10 * 4.4482216152605);  // exact: 0.45359237 x 9.80665
  EXPECT_DOUBLE_EQ(by_heading->number("sinkage")->values[0], 3.25 * 0.0254);
  const auto by_line = read_sheet(request("Load;Depth\nkN;mm\n0,5;12,5\n0,75;20\n"), problems_);
  ASSERT_TRUE(by_line) << problems_.list().front().text();
  EXPECT_DOUBLE_EQ(by_line->number("load")->values[1], 750);
  EXPECT_DOUBLE_EQ(by_line->number("sinkage")->values[0], 0.0125);
  SheetRequest q = request("F1,z\n1,2\n3,4\n");
  q.columns = {{"load", {"F1"}}, {"sinkage", {"z"}}};
  q.unit_texts = {{"load", "kgf"}, {"sinkage", "cm"}};
  const auto stated = read_sheet(q, problems_);
  ASSERT_TRUE(stated) << problems_.list().front().text();
  EXPECT_DOUBLE_EQ(stated->number("load")->values[0], 9.80665);
  EXPECT_EQ(stated->line, (std::vector<std::size_t>{2, 3}));
}

// Quoted, a decimal comma survives a file separated by commas; among whole numbers it used to be read without a word.
TEST_F(SheetFile, NamesAQuotedDecimalComma) {
  const auto sheet = read_sheet(request("Load (N),Depth (mm)\n10,1\n20,\"12,5\"\n30,20\n"), problems_);
  ASSERT_TRUE(sheet) << problems_.list().front().text();
  EXPECT_DOUBLE_EQ(sheet->number("sinkage")->values[1], 0.0125);
  ASSERT_EQ(problems_.list().size(), 1u);
  const std::string told = problems_.list().front().text();
  EXPECT_NE(told.find("records/s.csv:3"), std::string::npos) << told;
  EXPECT_NE(told.find("decimal comma"), std::string::npos) << told;
  EXPECT_NE(told.find("12,5"), std::string::npos) << told;
  EXPECT_EQ(sheet->rows_set_aside, 0u);
  // In a file separated by semicolons they are what is expected; among decimal points they are refused.
  base::Problems none;
  ASSERT_TRUE(read_sheet(request("Load (N);Depth (mm)\n10,5;1,5\n20,5;12,5\n"), none));
  EXPECT_TRUE(none.list().empty());
  EXPECT_NE(refusal(request("Load (N),Depth (mm)\n10.5,1\n20.5,\"12,5\"\n")).find("mixed"), std::string::npos);
}

TEST_F(SheetFile, RefusesMassForForceUnlessTheRecordSaysStandardForce) {
  SheetRequest q = request("Load (lb),Depth (mm)\n10,1\n20,2\n");
  const std::string text = refusal(q);
  EXPECT_NE(text.find("records/s.csv:1"), std::string::npos) << text;
  EXPECT_NE(text.find("lbf"), std::string::npos) << text;
  q.unit_rules.mass_units_mean_standard_force = true;
  const auto sheet = read_sheet(q, problems_);
  ASSERT_TRUE(sheet);
  EXPECT_DOUBLE_EQ(sheet->number("load")->values[0], 10 * 4.4482216152605);
}

TEST_F(SheetFile, TellsLineAndColumnOfACellThatIsNoNumber) {
  const std::string text = refusal(request("Load (N),Depth (mm)\n10,1\n2?,2\n30,3\n"));
  EXPECT_NE(text.find("records/s.csv:3:1"), std::string::npos) << text;
}

TEST_F(SheetFile, SuggestsTheNearestHeading) {
  SheetRequest q = request("Load (N),Depth (mm)\n10,1\n20,2\n");
  q.columns = {{"load", {"Lod"}}};
  EXPECT_NE(refusal(q).find("campaign.toml:7: record[1].columns.load"), std::string::npos);
}

TEST_F(SheetFile, TakesTurnsAsCountsOrAsAnAngle) {
  const auto counted = read_sheet(request("Turns,Remark\n3.5,a\n4,b\n"), problems_);
  ASSERT_TRUE(counted) << problems_.list().front().text();
  EXPECT_DOUBLE_EQ(counted->number("turns")->values[0], 3.5);
  const auto as_angle = read_sheet(request("Turns (deg),Remark\n720,a\n360,b\n"), problems_);
  ASSERT_TRUE(as_angle) << problems_.list().front().text();
  EXPECT_NEAR(as_angle->number("turns")->values[0], 2, 1e-12);
}

TEST_F(SheetFile, MakesAChannelFromSeveralColumns) {
  SheetRequest q = request("a,b\n1,2\n3,5\n");
  q.made["wheel_speed"] = {.sum = {{"b", 2.0}, {"a", -1.0}}, .unit = "rpm", .place = q.place};
  const auto sheet = read_sheet(q, problems_);
  ASSERT_TRUE(sheet) << problems_.list().front().text();
  EXPECT_NEAR(sheet->number("wheel_speed")->values[1], 7 * 2 * M_PI / 60, 1e-12);
}

TEST_F(SheetFile, NamesWhatALoggerDoesWrong) {
  std::string text = "Time (s),Load (N),Depth (mm)\n";
  for (int i = 0; i < 200; ++i) {
    const int t = i == 50 ? 49 : i == 60 ? 30 : i;  // one repeat, one step back
    const double seconds = t + (i > 150 ? 100 : 0);  // a gap
    text += std::to_string(seconds) + "," + std::to_string(i < 120 ? 10 + i : 130) + "," + std::to_string(0.5 * i) + "\n";
  }
  SheetRequest q = request(text);
  q.roles.push_back({.name = "time", .dimensions = {Dimension::time}, .headings = {"time"}});
  auto sheet = read_sheet(q, problems_);
  ASSERT_TRUE(sheet);
  base::Problems signals;
  EXPECT_TRUE(check_signals(*sheet, "records/s.csv", {{"load", 130.0}}, 0.2, signals));
  std::string all;
  for (const auto& p : signals.list()) all += p.text() + "\n";
  EXPECT_NE(all.find("repeats"), std::string::npos) << all;
  EXPECT_NE(all.find("backward"), std::string::npos) << all;
  EXPECT_NE(all.find("gap in time"), std::string::npos) << all;
  EXPECT_NE(all.find("end of its range"), std::string::npos) << all;
  EXPECT_EQ(sheet->rows_set_aside, 2u);
  EXPECT_EQ(sheet->line.size(), 198u);
}

}  // namespace
}  // namespace hardpan::formats::detail
