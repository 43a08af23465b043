// SPDX-License-Identifier: Apache-2.0
// Slips of the pen and swapped columns in a small valid campaign, each told at its line. Refusals stand in tests/malformed.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "formats/campaign_reader.hpp"

namespace hardpan::formats {
namespace {

namespace fs = std::filesystem;

std::string read(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream all;
  all << in.rdbuf();
  return all.str();
}

class SmallCampaign : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "hardpan-plausible-XXXXXX").string();
    folder_ = mkdtemp(pattern.data());
    fs::copy(std::string(HARDPAN_SOURCE_DIR) + "/tests/malformed/base", folder_, fs::copy_options::recursive | fs::copy_options::overwrite_existing);
  }
  void TearDown() override { fs::remove_all(folder_); }

  void replace(const std::string& file, const std::string& old, const std::string& with) {
    std::string text = read(folder_ + "/" + file);
    const std::size_t at = text.find(old);
    ASSERT_NE(at, std::string::npos) << file << " has no " << old;
    text.replace(at, old.size(), with);
    std::ofstream(folder_ + "/" + file, std::ios::binary) << text;
  }
  // Applies a function to the cells of every data row of a file.
  template <class Change>
  void change_rows(const std::string& file, char separator, const Change& change) {
    std::istringstream in(read(folder_ + "/" + file));
    std::string out, line;
    for (std::size_t n = 1; std::getline(in, line); ++n) {
      std::vector<std::string> cells;
      std::string cell;
      for (std::istringstream row(line); std::getline(row, cell, separator);) cells.push_back(cell);
      if (line.back() == separator) cells.push_back("");
      if (n > 1) change(cells);
      for (std::size_t c = 0; c < cells.size(); ++c) out += (c ? std::string(1, separator) : "") + cells[c];
      out += "\n";
    }
    std::ofstream(folder_ + "/" + file, std::ios::binary) << out;
  }
  std::vector<base::Problem> problems() {
    base::Problems found;
    static_cast<void>(read_campaign(folder_, {}, found));
    return found.list();
  }
  // The one message that says `part`; an empty one where none or several do.
  base::Problem one(const std::string& part) {
    base::Problem out;
    std::size_t count = 0;
    std::string all;
    for (const base::Problem& p : problems()) {
      all += p.place.text() + ": " + p.text() + "\n";
      if (p.text().find(part) == std::string::npos) continue;
      out = p;
      ++count;
    }
    EXPECT_EQ(count, 1u) << "for: " << part << "\n" << all;
    return count == 1 ? out : base::Problem{};
  }
  std::string folder_;
};

TEST_F(SmallCampaign, AsItStandsSaysNothing) {
  for (const base::Problem& p : problems()) ADD_FAILURE() << p.place.text() << ": " << p.text();
}

TEST_F(SmallCampaign, DepthInOneRowTypedNegative) {
  replace("records/plates.csv", "1,small,6,22.1,", "1,small,-6,22.1,");
  const base::Problem p = one("the sinkage goes backward while the load does not fall");
  EXPECT_EQ(p.severity, base::Severity::remark);
  EXPECT_EQ(p.place.line, 4u);
}

TEST_F(SmallCampaign, UnloadingAPlateIsNoSlip) {
  replace("records/plates.csv", "1,small,6,22.1,", "1,small,6,22.1,\n1,small,4,3,\n1,small,6,22,");
  for (const base::Problem& p : problems()) ADD_FAILURE() << p.text();
}

TEST_F(SmallCampaign, SinkageAndLoadOfAPlateExchanged) {
  // Less than a newton at tens of millimetres: softer than snow.
  change_rows("records/plates.csv", ',', [](std::vector<std::string>& c) {
    std::swap(c[2], c[3]);
    c[2] = std::to_string(2 * std::stod(c[2]));
    c[3] = std::to_string(std::stod(c[3]) / 20);
  });
  const auto all = problems();
  std::size_t soft = 0;
  for (const base::Problem& p : all) soft += p.what.find("softer than any ground") != std::string::npos ? 1 : 0;
  EXPECT_GT(soft, 0u);
}

TEST_F(SmallCampaign, DepthsOfAPlateInInchesForMillimetres) {
  replace("records/plates.csv", "Sinkage (mm)", "Sinkage (in)");
  const base::Problem p = one("deep for a plate pushed by hand");
  EXPECT_EQ(p.severity, base::Severity::remark);
  EXPECT_GT(p.count, 1u);
}

TEST_F(SmallCampaign, RotationReadAsRadians) {
  replace("records/ring.csv", "Rotation (deg)", "Rotation (rad)");
  EXPECT_EQ(one("more than a full turn").severity, base::Severity::remark);
}

TEST_F(SmallCampaign, RotationAndTorqueExchangedThroughoutTheSheet) {
  replace("records/ring.csv", "Rotation (deg);Torque (N m)", "Torque (N m);Rotation (deg)");
  EXPECT_EQ(one("rises ever faster with the rotation").severity, base::Severity::remark);
}

TEST_F(SmallCampaign, AMissingUnitDoesNotHideAnUnknownPoint) {
  replace("records/plates.csv", "Test,Plate,Sinkage (mm),Load (N),Remark", "Test,Plate,Sinkage (mm),Load,Point");
  replace("records/plates.csv", "1,small,4,15.2,", "1,small,4,15.2,H22");
  EXPECT_EQ(one("column \"Load\" taken as load").severity, base::Severity::refusal);
  EXPECT_EQ(one("no point of this name").place.line, 3u);
}

TEST_F(SmallCampaign, AMisspeltPlateDoesNotHideAnUnknownPoint) {
  replace("records/plates.csv", "Load (N),Remark", "Load (N),Point");
  replace("records/plates.csv", "1,small,2,7.9,", "1,smal,2,7.9,H22");
  EXPECT_EQ(one("the press has no plate of this name").place.line, 2u);
  EXPECT_EQ(one("no point of this name").value, "H22");
}

TEST_F(SmallCampaign, AFailedSpanCheckAndAnOldCalibrationWidenTheCalibration) {
  replace("instruments.toml", "read = \"503 N\"", "read = \"520 N\"");
  replace("instruments.toml", "calibration_due = \"2027-03-01\"", "calibration_due = \"2026-04-01\"");
  base::Problems found;
  const campaign::Campaign c = read_campaign(folder_, {}, found);
  ASSERT_FALSE(c.instruments.empty());
  EXPECT_NEAR(c.instruments.front().load.gain_relative_sd, 2 * std::hypot(0.01, 0.04), 1e-12);  // 1 % stated, 4 % off, twice when late
  EXPECT_EQ(c.ground.instruments.front().load.gain_relative_sd, c.instruments.front().load.gain_relative_sd);
  EXPECT_EQ(one("a span check failed by 4 %").place.key, "press");
  EXPECT_EQ(one("count twice").place.file, "instruments.toml");
}

TEST_F(SmallCampaign, LoadAboveTheRangeOfThePress) {
  replace("instruments.toml", "load_range = \"3 kN\"", "load_range = \"60 N\"");
  const auto all = problems();
  bool told = false;
  for (const base::Problem& p : all) {
    if (p.what.find("above the range of instrument \"press\"; row set aside") == std::string::npos) continue;
    told = true;
    EXPECT_EQ(p.place.file, "records/plates.csv");
    EXPECT_EQ(p.bound, "60 N");
  }
  EXPECT_TRUE(told);
}

TEST_F(SmallCampaign, GroundSpeedInKilometresAnHourUnderMetresASecond) {
  change_rows("records/log.csv", ',', [](std::vector<std::string>& c) { c[3] = std::to_string(3.6 * std::stod(c[3])); });
  const base::Problem p = one("times as fast as its wheels roll");
  EXPECT_EQ(p.severity, base::Severity::remark);
  EXPECT_EQ(p.place.file, "records/log.csv");
}

TEST_F(SmallCampaign, TurnsAndDistanceExchanged) {
  replace("records/pulls.csv", "Turns (1);Distance (m)", "Distance (m);Turns (1)");
  const auto all = problems();
  std::size_t fine = 0;
  for (const base::Problem& p : all) fine += p.what.find("turns are read finer than turns_resolution says") != std::string::npos ? 1 : 0;
  EXPECT_GT(fine, 0u);
}

TEST_F(SmallCampaign, PullAboveTheWeight) {
  replace("records/pulls.csv", "1;up;8;11.82;150;", "1;up;8;11.82;9150;");
  const base::Problem p = one("the pull is above the weight of the vehicle");
  EXPECT_EQ(p.place.line, 2u);
}

TEST_F(SmallCampaign, RollingRadiusWithoutItsCondition) {
  replace("campaign.toml", "zero_slip = \"towed on hard ground\"\nturns", "turns");
  EXPECT_EQ(one("rolling_radius is given without zero_slip").severity, base::Severity::remark);
}

TEST_F(SmallCampaign, HeadingsThatNothingReads) {
  replace("records/plates.csv", "Remark", "Weather seen");
  const base::Problem p = one("a column is not used");
  EXPECT_EQ(p.value, "Weather seen");
  EXPECT_NE(p.remedy.find("remark"), std::string::npos) << p.remedy;
}

TEST_F(SmallCampaign, RecordWithoutAPoint) {
  replace("campaign.toml", "kind = \"shear-ring\"\ninstrument = \"ring\"\npoint = \"A1\"", "kind = \"shear-ring\"\ninstrument = \"ring\"");
  EXPECT_EQ(one("no point is named for this record").place.key, "record[2].point");
}

TEST_F(SmallCampaign, CopyOfASheetUnderAnotherName) {
  fs::copy_file(folder_ + "/records/ring.csv", folder_ + "/records/ring2.csv");
  std::ofstream(folder_ + "/campaign.toml", std::ios::app) << "\n[[record]]\nid = \"again\"\nfile = \"records/ring2.csv\"\nkind = \"shear-ring\"\ninstrument = \"ring\"\npoint = \"A1\"\n";
  EXPECT_EQ(one("the same, byte for byte, as records/ring.csv").place.file, "records/ring2.csv");
}

}  // namespace
}  // namespace hardpan::formats
