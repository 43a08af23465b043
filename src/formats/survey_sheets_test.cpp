// SPDX-License-Identifier: Apache-2.0
#include "formats/survey_sheets.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "units/constants.hpp"

namespace hardpan::formats {
namespace {

std::string written(const std::string& text) {
  const std::string path = (std::filesystem::temp_directory_path() / ("hardpan_survey_" + std::to_string(std::hash<std::string>{}(text)) + ".csv")).string();
  std::ofstream(path) << text;
  return path;
}

TEST(SurveySheets, RocksAreReadInAnyUnits) {
  base::Problems problems;
  const auto rocks = read_rocks(written("x (m),y (ft),diameter (cm),height (cm),remark\n1,10,40,,flat\n2,20,60,25,\n"), "rocks.csv", problems);
  ASSERT_TRUE(rocks) << problems.list().front().text();
  ASSERT_EQ(rocks->size(), 2u);
  EXPECT_NEAR((*rocks)[0].y_m, 3.048, 1e-12);
  EXPECT_NEAR((*rocks)[0].diameter_m, 0.4, 1e-12);
  EXPECT_FALSE((*rocks)[0].height_m);
  EXPECT_NEAR(*(*rocks)[1].height_m, 0.25, 1e-12);
}

TEST(SurveySheets, ADriveProfileCarriesItsGrounds) {
  base::Problems problems;
  const auto good = read_trip(written("name,distance (km),gradient (% grade),speed (km/h),halt (min),ground\nout,1.2,10,3.6,5,dune\nup,200 m,0,,,\n"), "trip.csv", problems);
  ASSERT_TRUE(good) << problems.list().front().text();
  EXPECT_NEAR(good->rows[0].distance_m, 1200, 1e-9);
  EXPECT_NEAR(good->rows[0].gradient_rad, std::atan(0.1), 1e-12);
  EXPECT_NEAR(*good->rows[0].speed_m_s, 1, 1e-12);
  EXPECT_NEAR(good->rows[0].halt_s, 300, 1e-9);
  EXPECT_EQ(good->grounds[0], "dune");
  EXPECT_NEAR(good->rows[1].distance_m, 200, 1e-9);   // a cell may carry a unit of its own
  EXPECT_EQ(good->grounds[1], "");
  EXPECT_FALSE(good->rows[1].speed_m_s);
}

TEST(SurveySheets, WhatIsWrongIsRefusedWithItsLine) {
  const auto line_of = [](auto&& reader, const std::string& text) {
    base::Problems problems;
    EXPECT_FALSE(reader(written(text), "sheet.csv", problems)) << text;
    EXPECT_TRUE(problems.refused());
    for (const base::Problem& p : problems.list()) {
      if (p.severity == base::Severity::refusal) return p.place.line;
    }
    return std::size_t{0};
  };
  EXPECT_EQ(line_of(read_rocks, "x (m),y (m),diameter (m)\n1,1,0.3\n2,1,-0.3\n"), 3u);
  EXPECT_EQ(line_of(read_rocks, "x (m),y (m)\n1,1\n"), 1u);
  EXPECT_EQ(line_of(read_rock_law, "diameter (m),ground per rock (m^2)\n0.1,1\n0.2,2\n0.2,5\n"), 4u);
  EXPECT_EQ(line_of(read_rock_law, "diameter (m),ground per rock (m^2)\n0.1,1\n0.2,0.5\n"), 3u);
  EXPECT_EQ(line_of(read_trip, "distance (m),gradient (deg)\n100,0\n0,0\n"), 3u);
  EXPECT_EQ(line_of(read_trip, "distance (m),gradient (deg)\n100,80\n"), 2u);
  // A row that fell out unseen would shorten the way.
  EXPECT_EQ(line_of(read_trip, "distance (m),gradient (deg)\n100,0\n,0\n50,0\n"), 3u);
  EXPECT_EQ(line_of(read_trip, "distance (m),gradient (deg),speed (m/s)\n100,0,1\n50,0,nan\n"), 3u);
  std::string heights = "x (m),z (m)\n";
  for (int i = 0; i < 40; ++i) heights += std::to_string(i == 20 ? 5 : i) + ",0.1\n";
  EXPECT_EQ(line_of(read_heights, heights), 22u);
}

}  // namespace
}  // namespace hardpan::formats
