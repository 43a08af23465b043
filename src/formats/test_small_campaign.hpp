// SPDX-License-Identifier: Apache-2.0
// For tests: the small valid campaign of tests/malformed, with one record more of a kind and its sheet.
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "formats/campaign_reader.hpp"

namespace hardpan::formats::test {

class SmallCampaign : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (std::filesystem::temp_directory_path() / "hardpan-sheets-XXXXXX").string();
    folder_ = mkdtemp(pattern.data());
    std::filesystem::copy(std::string(HARDPAN_SOURCE_DIR) + "/tests/malformed/base", folder_, std::filesystem::copy_options::recursive | std::filesystem::copy_options::overwrite_existing);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  // The sheet is records/trials.csv. `keys` are those of its record, `ahead` stands before it in campaign.toml.
  campaign::Campaign read(const std::string& kind, const std::string& sheet, const std::string& keys = "", const std::string& ahead = "") {
    std::ofstream(folder_ + "/records/trials.csv", std::ios::binary) << sheet;
    std::ofstream(folder_ + "/campaign.toml", std::ios::app | std::ios::binary)
        << ahead + "\n[[record]]\nid = \"trials\"\nfile = \"records/trials.csv\"\nkind = \"" + kind + "\"\npoint = \"A1\"\nvehicle = \"carrier\"\n" + keys;
    return read_campaign(folder_, {}, problems_);
  }
  // Every problem with its place, a line each.
  [[nodiscard]] std::string told() const {
    std::string all;
    for (const base::Problem& p : problems_.list()) all += p.place.text() + ": " + p.text() + "\n";
    return all;
  }
  std::string folder_;
  base::Problems problems_;
};

}  // namespace hardpan::formats::test
