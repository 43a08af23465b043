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
  EXPECT_NE(remarks.front().second.find("the rotation goes backward (found \"5\")"), std::string::npos) << remarks.front().second;
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

}  // namespace
}  // namespace hardpan::formats
