// SPDX-License-Identifier: Apache-2.0
// Slips of the pen in the invented notebook of examples/, through the campaign reader.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "formats/campaign_reader.hpp"

namespace hardpan::formats {
namespace {

namespace fs = std::filesystem;

class Notebook : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "hardpan-notebook-XXXXXX").string();
    folder_ = mkdtemp(pattern.data());
    fs::copy(std::string(HARDPAN_SOURCE_DIR) + "/examples/notebook", folder_, fs::copy_options::recursive);
  }
  void TearDown() override { fs::remove_all(folder_); }

  void replace_line(const std::string& file, std::size_t number, const std::string& text) {
    std::ifstream in(folder_ + "/" + file);
    std::string out, line;
    for (std::size_t n = 1; std::getline(in, line); ++n) out += (n == number ? text : line) + "\n";
    in.close();
    std::ofstream(folder_ + "/" + file) << out;
  }
  // Remarks on the ring sheet, by line.
  std::vector<std::pair<std::size_t, std::string>> ring_remarks() {
    base::Problems problems;
    static_cast<void>(read_campaign(folder_, {}, problems));
    std::vector<std::pair<std::size_t, std::string>> out;
    for (const base::Problem& p : problems.list()) {
      if (p.place.file == "records/ring_sheet.csv") out.emplace_back(p.place.line, p.text());
    }
    return out;
  }
  std::string folder_;
};

TEST_F(Notebook, NamesTheRowWhoseRotationAndTorqueAreExchanged) {
  const auto as_typed = ring_remarks();
  ASSERT_EQ(as_typed.size(), 1u);
  EXPECT_EQ(as_typed.front().first, 23u);
  EXPECT_NE(as_typed.front().second.find("\"Rotation (deg)\" and \"Torque (N m)\" fit the rows above and below only when exchanged"), std::string::npos)
      << as_typed.front().second;
  replace_line("records/ring_sheet.csv", 23, "3,N1,300,15,12.6,");
  EXPECT_TRUE(ring_remarks().empty());
}

TEST_F(Notebook, NamesTheRowWhereTheRotationGoesBackward) {
  replace_line("records/ring_sheet.csv", 23, "3,N1,300,5,12.6,");
  const auto remarks = ring_remarks();
  ASSERT_EQ(remarks.size(), 1u);
  EXPECT_EQ(remarks.front().first, 23u);
  EXPECT_NE(remarks.front().second.find("the rotation goes backward (found \"5 deg\")"), std::string::npos) << remarks.front().second;
}

TEST_F(Notebook, TakesARingTurnedTheOtherWayForNoFault) {
  // Rotation counted downwards throughout: that is its direction, and torque with it.
  replace_line("records/ring_sheet.csv", 23, "3,N1,300,15,12.6,");
  std::ifstream in(folder_ + "/records/ring_sheet.csv");
  std::string out, line;
  while (std::getline(in, line)) {
    std::stringstream cells(line);
    std::string cell, row;
    for (int c = 0; std::getline(cells, cell, ','); ++c) row += (c ? "," : "") + std::string(c == 3 && cell != "0" && cell != "Rotation (deg)" ? "-" : "") + cell;
    out += (line.find(',') == std::string::npos || line.front() == '#' ? line : row + ",") + "\n";
  }
  in.close();
  std::ofstream(folder_ + "/records/ring_sheet.csv") << out;
  for (const auto& [number, text] : ring_remarks()) EXPECT_EQ(text.find("goes backward"), std::string::npos) << text;
}

// The list of records used to say "Excluded 0" beside an amendment that leaves a line out.
TEST_F(Notebook, CountsLinesThatAmendmentsLeaveOutAsRowsSetAside) {
  std::ofstream(folder_ + "/amendments.csv") << "file,line,column,action,old,new,initials,time,reason\n"
                                             << "records/ring_sheet.csv,22,,exclude,,,JN,2026-03-01,slipped\n"
                                             << "records/ring_sheet.csv,22,,exclude,,,JN,2026-03-01,told twice\n";
  const auto ring = [&](bool apply) {
    base::Problems problems;
    const campaign::Campaign c = read_campaign(folder_, {.apply_amendments = apply}, problems);
    for (const auto& f : c.inputs) {
      if (f.path != "records/ring_sheet.csv") continue;
      EXPECT_EQ(f.rows_set_aside, apply ? 1u : 0u);
    }
    for (const auto& s : c.record_summaries) {
      if (s.file == "records/ring_sheet.csv") return s;
    }
    return campaign::RecordSummary{};
  };
  const auto with = ring(true), without = ring(false);
  EXPECT_GT(without.rows, 10u);
  EXPECT_EQ(with.rows, without.rows);
  EXPECT_EQ(with.rows_set_aside, 1u);
  EXPECT_EQ(without.rows_set_aside, 0u);
}

TEST_F(Notebook, TakesTheOnlyColumnOfPressureAsConeResistanceAndSaysSo) {
  const auto cones_of = [&](const std::string& heading, base::Problems& problems) {
    replace_line("records/cone_sheet.csv", 2, heading);
    return read_campaign(folder_, {}, problems).ground.cones;
  };
  base::Problems named, by_unit, two, force;
  const auto expected = cones_of("Push,Point,Depth (in),Cone index (psi),Remark", named);
  const auto found = cones_of("Push,Point,Depth (in),Cone (psi),Remark", by_unit);
  ASSERT_EQ(expected.size(), 3u);
  ASSERT_EQ(found.size(), 3u);
  EXPECT_EQ(found[0].resistance_pa, expected[0].resistance_pa);
  const auto told = [](const base::Problems& problems) {
    std::string text;
    for (const base::Problem& p : problems.list()) text += p.place.file == "records/cone_sheet.csv" ? p.text() + "\n" : "";
    return text;
  };
  EXPECT_EQ(told(named).find("is taken as"), std::string::npos);
  EXPECT_NE(told(by_unit).find("column \"Cone (psi)\" is taken as resistance"), std::string::npos) << told(by_unit);
  // Two columns with such a unit: neither is taken, and the refusal names the role and the headings.
  EXPECT_TRUE(cones_of("Push,Point,Depth (in),Cone (psi),Check (kPa)", two).empty());
  EXPECT_NE(told(two).find("needs a column for resistance or force"), std::string::npos) << told(two);
  EXPECT_NE(told(two).find("columns = { resistance = "), std::string::npos) << told(two);
  // A force stands for the resistance: a pressure beside it is something else.
  static_cast<void>(cones_of("Push,Point,Depth (in),Force (lbf),Air (psi)", force));
  EXPECT_EQ(told(force).find("is taken as"), std::string::npos) << told(force);
}

// A range on an instrument file in another unit used to be told as a bare number.
TEST_F(Notebook, QuotesAValueInTheUnitItWasTypedIn) {
  replace_line("records/cone_sheet.csv", 3, "1,N1,4000,12,");
  base::Problems problems;
  static_cast<void>(read_campaign(folder_, {}, problems));
  std::string text;
  for (const base::Problem& p : problems.list()) text += p.text() + "\n";
  EXPECT_NE(text.find("\"4000 in\""), std::string::npos) << text;
  EXPECT_NE(text.find("under 393.701 in"), std::string::npos) << text;
}

}  // namespace
}  // namespace hardpan::formats
