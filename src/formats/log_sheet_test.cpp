// SPDX-License-Identifier: Apache-2.0
// Logs read by blocks: as the whole reading has them up to the limit, averages beyond it.
#include <gtest/gtest.h>

#include <fmt/core.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>

#include "formats/detail/sheet.hpp"

namespace hardpan::formats::detail {
namespace {

using units::Dimension;

// A log of more than 2 MiB (smaller ones are read as tables of text), with the faults that loggers have.
std::string log_text(std::size_t rows) {
  std::mt19937 random(17);
  const auto some = [&random](unsigned one_in) { return random() % one_in == 0; };
  std::string out = "Time (ms),Pull (kN),Wheel (rpm),Ground speed (km/h),Current (A),Pitch (deg),Reading\n";
  for (std::size_t i = 0; i < rows; ++i) {
    const double t = 10 * static_cast<double>(some(400) && i > 0 ? i - 1 : i);
    const double x = static_cast<double>(random() % 100000) / 1000;
    const std::string pull = some(200) ? "nan" : fmt::format("{:.3f}", some(150) ? 100.0 : x);
    const std::string current = some(60) ? "" : fmt::format("{:.2f}", 0.1 * x);
    if (some(900)) out += "1,2,3\n";  // a cut row
    out += fmt::format("{:.1f},{},{:.3f},{:.4f},{},{:.3f},{}\n", t, pull, 60 + 0.1 * x, 3 + 0.01 * x, current, 2 + 0.001 * x, i);
  }
  return out;
}

class LogSheet : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (std::filesystem::temp_directory_path() / "hardpan-log-XXXXXX").string();
    folder_ = mkdtemp(pattern.data());
    rules_ = {.range_by_role = {{"pull", 100e3}}, .needed = {{"pull", ""}, {"wheel_speed", ""}, {"ground_speed", ""}, {"position_x", "ground_speed"}},
              .own_cells = {"current", "pitch"}};
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  SheetRequest request(const std::string& text) {
    std::ofstream(folder_ + "/s.csv", std::ios::binary) << text;
    EXPECT_GT(text.size(), 2u << 20);
    SheetRequest q;
    q.path = folder_ + "/s.csv";
    q.file = "records/s.csv";
    q.place = {.file = "campaign.toml", .line = 7, .key = "record[1]"};
    q.roles = {{.name = "time", .dimensions = {Dimension::time}, .headings = {"time"}},
               {.name = "pull", .dimensions = {Dimension::force}, .headings = {"pull"}},
               {.name = "wheel_speed", .dimensions = {Dimension::angular_speed}, .headings = {"wheel"}, .many = true},
               {.name = "ground_speed", .dimensions = {Dimension::speed}, .headings = {"ground speed"}},
               {.name = "position_x", .dimensions = {Dimension::length}, .headings = {"x"}},
               {.name = "current", .dimensions = {Dimension::current}, .headings = {"current"}, .many = true},
               {.name = "pitch", .dimensions = {Dimension::angle}, .headings = {"pitch"}},
               {.name = "remark", .dimensions = {}, .headings = {"remark"}}};
    q.made["position_x"] = {.sum = {{"Reading", 2.0}}, .unit = "mm", .place = q.place};
    return q;
  }
  std::string folder_;
  LogRules rules_;
};

std::string text_of(const base::Problems& problems) {
  std::string out;
  for (const base::Problem& p : problems.list()) out += fmt::format("{} {} x {}\n", base::name(p.severity), p.text(), p.count);
  return out;
}

void expect_same(const Sheet& a, const Sheet& b) {
  EXPECT_EQ(a.line, b.line);
  EXPECT_EQ(a.rows, b.rows);
  EXPECT_EQ(a.rows_set_aside, b.rows_set_aside);
  EXPECT_EQ(a.headings, b.headings);
  ASSERT_EQ(a.numbers.size(), b.numbers.size());
  for (const auto& [role, columns] : a.numbers) {
    ASSERT_TRUE(b.numbers.contains(role)) << role;
    const auto& others = b.numbers.at(role);
    ASSERT_EQ(columns.size(), others.size()) << role;
    for (std::size_t c = 0; c < columns.size(); ++c) {
      EXPECT_EQ(columns[c].heading, others[c].heading);
      EXPECT_EQ(columns[c].dimension, others[c].dimension);
      ASSERT_EQ(columns[c].values.size(), others[c].values.size()) << role;
      std::size_t differ = 0;
      for (std::size_t i = 0; i < others[c].values.size(); ++i) {
        const double x = columns[c].values[i], y = others[c].values[i];
        differ += !(x == y || (std::isnan(x) && std::isnan(y)));
      }
      EXPECT_EQ(differ, 0u) << role;
    }
  }
}

TEST_F(LogSheet, IsUpToTheLimitWhatReadingItWholeGives) {
  const SheetRequest q = request(log_text(60000));
  base::Problems whole_problems, block_problems;
  auto whole = read_sheet(q, whole_problems);
  auto blocks = read_sheet(q, block_problems, &rules_);
  ASSERT_TRUE(whole && blocks) << text_of(block_problems);
  EXPECT_EQ(text_of(block_problems), text_of(whole_problems));
  EXPECT_FALSE(blocks->averaged);
  EXPECT_TRUE(check_signals(*whole, q.file, rules_.range_by_role, 0.2, whole_problems));
  EXPECT_TRUE(check_signals(*blocks, q.file, rules_.range_by_role, 0.2, block_problems));
  EXPECT_TRUE(check_averaging(*blocks, q.file, rules_, 0.2, 0.25, 0.05, block_problems));
  EXPECT_EQ(text_of(block_problems), text_of(whole_problems));
  EXPECT_NE(text_of(block_problems).find("time repeats"), std::string::npos);
  EXPECT_NE(text_of(block_problems).find("end of its range"), std::string::npos);
  EXPECT_GT(blocks->rows_set_aside, 50u);
  expect_same(*blocks, *whole);
}

TEST_F(LogSheet, IsTheSameForEveryBlockSizeWhenAveraged) {
  const SheetRequest q = request(log_text(60000));
  rules_.whole_rows = 20000;
  const auto read = [&](std::size_t block, base::Problems& problems) {
    rules_.block_rows = block;
    auto sheet = read_sheet(q, problems, &rules_);
    EXPECT_TRUE(sheet);
    EXPECT_TRUE(check_signals(*sheet, q.file, rules_.range_by_role, 0.2, problems));
    EXPECT_TRUE(check_averaging(*sheet, q.file, rules_, 0.2, 0.25, 0.05, problems));
    return *sheet;
  };
  base::Problems first_problems;
  const Sheet first = read(1, first_problems);
  ASSERT_TRUE(first.averaged);
  EXPECT_EQ(first.averaged->averaged, 4u);
  EXPECT_NEAR(first.averaged->row_interval_s, 0.01, 1e-9);
  EXPECT_LE(first.line.size(), 20000u);
  for (const std::size_t block : {7u, 1000u, 100000u}) {
    base::Problems problems;
    const Sheet other = read(block, problems);
    EXPECT_EQ(text_of(problems), text_of(first_problems)) << block;
    expect_same(other, first);
    EXPECT_EQ(other.averaged->at_range_end, first.averaged->at_range_end);
  }
  const std::string told = text_of(first_problems);
  EXPECT_NE(told.find("4 consecutive rows are averaged into one, 25 readings a second remain of 100"), std::string::npos) << told;
  EXPECT_NE(told.find("rows set aside: a cell is not a finite number"), std::string::npos) << told;

  // Nothing found in the whole file is lost by averaging.
  rules_.whole_rows = 1000000;
  base::Problems whole_problems;
  const Sheet whole = read(1000, whole_problems);
  EXPECT_FALSE(whole.averaged);
  for (const base::Problem& p : whole_problems.list()) EXPECT_NE(told.find(p.text()), std::string::npos) << p.text();
  EXPECT_EQ(first.rows, whole.rows);
  std::size_t at_end = 0, without_pull = 0;
  for (const double x : whole.number("pull")->values) at_end += std::abs(x) >= 0.999 * 100e3, without_pull += std::isnan(x);
  std::size_t counted = 0;
  for (const std::uint32_t n : first.averaged->at_range_end) counted += n;
  EXPECT_EQ(counted, at_end);
  EXPECT_EQ(first.rows_set_aside, whole.rows_set_aside + without_pull);
}

TEST_F(LogSheet, RefusesALongLogOfWhichTooLittleIsLeftOrTooFewReadings) {
  const SheetRequest q = request(log_text(60000));
  rules_.whole_rows = 20000;
  base::Problems by_share;
  auto sheet = read_sheet(q, by_share, &rules_);
  ASSERT_TRUE(sheet);
  // 0.25 % of times repeat, 0.11 % of rows are cut, 0.5 % of pulls are no number: 0.86 %.
  EXPECT_TRUE(check_signals(*sheet, q.file, rules_.range_by_role, 0.006, by_share));
  EXPECT_FALSE(check_averaging(*sheet, q.file, rules_, 0.006, 0.25, 0.05, by_share));
  EXPECT_NE(text_of(by_share).find("rows had to be set aside"), std::string::npos) << text_of(by_share);

  base::Problems by_rate;
  auto slow = read_sheet(q, by_rate, &rules_);
  EXPECT_FALSE(check_averaging(*slow, q.file, rules_, 0.2, 0.039, 0.01, by_rate));
  EXPECT_NE(text_of(by_rate).find("too long for one record: averaged 4 into one, 25 readings a second would remain"), std::string::npos) << text_of(by_rate);

  base::Problems flagged;
  auto coarse = read_sheet(q, flagged, &rules_);
  EXPECT_TRUE(check_averaging(*coarse, q.file, rules_, 0.2, 0.25, 0.039, flagged));
  EXPECT_NE(text_of(flagged).find("less sharply"), std::string::npos) << text_of(flagged);
}

TEST_F(LogSheet, LeavesOutASideChannelThatIsMostlyMissingButKeepsTheRows) {
  std::string with_hole = "Time (ms),Pull (kN),Wheel (rpm),Ground speed (km/h),Current (A),Gone (deg),Reading\n";
  for (int i = 0; i < 60000; ++i) with_hole += fmt::format("{},{},60.000000000000,3.{:04},5.500000000000,{},{}\n", 10 * i, 20 + i % 7, i % 1000, i < 40000 ? "1.5" : "", i);
  SheetRequest q = request(with_hole);
  q.columns = {{"pitch", {"Gone (deg)"}}};
  rules_.whole_rows = 20000;
  base::Problems problems;
  auto sheet = read_sheet(q, problems, &rules_);
  ASSERT_TRUE(sheet) << text_of(problems);
  EXPECT_TRUE(check_averaging(*sheet, q.file, rules_, 0.2, 0.25, 0.05, problems));
  EXPECT_FALSE(sheet->number("pitch"));
  EXPECT_TRUE(sheet->number("current"));
  EXPECT_EQ(sheet->rows_set_aside, 0u);
  EXPECT_NE(text_of(problems).find("channel \"Gone (deg)\" (pitch) is left out"), std::string::npos) << text_of(problems);
}

TEST_F(LogSheet, PassesOverTextInALogLargerThanATable) {
  std::string text = "Time (s),Pull (N),Wheel (rpm),Ground speed (m/s),Reading,Remark\n";
  const std::string remark(2000, 'x');
  for (int i = 0; text.size() < (65u << 20); ++i) text += fmt::format("{:.2f},{},60,1,{},{}\n", 0.01 * i, i % 100, i, remark);
  const SheetRequest q = request(text);
  base::Problems problems;
  const auto sheet = read_sheet(q, problems, &rules_);
  ASSERT_TRUE(sheet) << text_of(problems);
  EXPECT_FALSE(sheet->has("remark"));
  EXPECT_TRUE(sheet->number("pull"));
  EXPECT_NE(text_of(problems).find("records/s.csv:1:6"), std::string::npos) << text_of(problems);
  EXPECT_EQ(sheet->number("pull")->values[5], 5);
}

}  // namespace
}  // namespace hardpan::formats::detail
