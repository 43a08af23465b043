// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <regex>
#include <sstream>
#include <string>
#include <vector>

#include "report/figure.hpp"

namespace hardpan::report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

Panel round(std::vector<Series> series) {
  return {.x = {.label = "Heading", .unit = "deg"}, .y = {.label = "Slope", .unit = "deg", .from_zero = true}, .polar = true,
          .directions = {{0, "uphill"}, {90, "left"}, {180, "downhill"}, {270, "right"}}, .series = std::move(series)};
}
Figure figure(Panel p) { return {.id = "f", .title = "Title", .panels = {std::move(p)}}; }

struct Circle {
  double x = 0, y = 0, scale = 0;
};
Circle circle(const std::string& svg) {
  std::smatch m;
  Circle c;
  if (std::regex_search(svg, m, std::regex("data-polar=\"([0-9.]+) ([0-9.]+) ([0-9.e+-]+)\""))) c = {std::stod(m[1]), std::stod(m[2]), std::stod(m[3])};
  return c;
}
// Corners of the path of a series.
std::vector<std::pair<double, double>> corners(const std::string& svg, const std::string& kind) {
  std::smatch m;
  std::vector<std::pair<double, double>> out;
  if (!std::regex_search(svg, m, std::regex("class=\"" + kind + "\" data-name=\"[^\"]*\" d=\"([^\"]*)\""))) return out;
  const std::string d = m[1];
  static const std::regex kCorner("[ML]([0-9.-]+) ([0-9.-]+)");
  for (std::sregex_iterator it(d.begin(), d.end(), kCorner), end; it != end; ++it) out.emplace_back(std::stod((*it)[1]), std::stod((*it)[2]));
  return out;
}
std::string place_of(const std::string& svg, const std::string& word, const char* axis) {
  std::smatch m;
  const std::string before = svg.substr(0, svg.find(">" + word + "<"));
  const std::string line = before.substr(before.rfind("<text"));
  return std::regex_search(line, m, std::regex(std::string(" ") + axis + "=\"([^\"]+)\"")) ? m[1].str() : "";
}

TEST(PolarFigure, PutsUphillAtTheTopAndTurnsToTheLeft) {
  const std::string svg = to_svg(figure(round({{.kind = Kind::line, .name = "limit", .x = {0, 90, 180, 270}, .y = {20, 10, 20, 10}}})), {640, 480});
  const Circle c = circle(svg);
  const auto at = corners(svg, "line");
  ASSERT_EQ(at.size(), 4u);
  EXPECT_NEAR(at[0].first, c.x, 0.02);
  EXPECT_NEAR(at[0].second, c.y - 20 * c.scale, 0.02);
  EXPECT_NEAR(at[1].first, c.x - 10 * c.scale, 0.02);  // to the left of the page
  EXPECT_NEAR(at[1].second, c.y, 0.02);
  EXPECT_NEAR(at[2].second, c.y + 20 * c.scale, 0.02);
  EXPECT_NEAR(at[3].first, c.x + 10 * c.scale, 0.02);
  EXPECT_LT(std::stod(place_of(svg, "uphill", "y")), c.y);
  EXPECT_GT(std::stod(place_of(svg, "downhill", "y")), c.y);
  EXPECT_LT(std::stod(place_of(svg, "left", "x")), c.x);
  EXPECT_GT(std::stod(place_of(svg, "right", "x")), c.x);
}

TEST(PolarFigure, HasRingsWithUnitAndNoSigns) {
  const std::string svg = to_svg(figure(round({{.kind = Kind::line, .name = "limit", .x = {0, 90, 180, 270}, .y = {31, 10, 22, 10}}})), {640, 480});
  std::size_t rings = 0;
  for (std::size_t at = svg.find("class=\"ring\""); at != std::string::npos; at = svg.find("class=\"ring\"", at + 1)) ++rings;
  EXPECT_GE(rings, 3u);
  EXPECT_THAT(svg, HasSubstr(">Slope (deg)<"));
  EXPECT_TRUE(std::regex_search(svg, std::regex(">[0-9]+ deg<"))) << "the unit stands on a ring";
  EXPECT_THAT(svg, Not(HasSubstr("\xE2\x88\x92")));
}

TEST(PolarFigure, LeavesAGapWhereNoNumberStands) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const std::vector<double> x{0, 90, 180, 270, 360};
  const std::string svg = to_svg(figure(round({{.kind = Kind::line, .name = "limit", .x = x, .y = {20, nan, 20, 10, 20}},
                                               {.kind = Kind::band, .name = "band", .x = x, .y_lo = {15, 5, nan, 5, 15}, .y_hi = {25, 15, 25, 15, 25}}})), {640, 480});
  EXPECT_EQ(corners(svg, "line").size(), 4u);
  EXPECT_EQ(corners(svg, "band").size(), 8u);  // two stretches of two headings
  EXPECT_THAT(svg, HasSubstr("Not drawn: 2 values not finite"));
}

TEST(PolarFigure, IsRoundAtEverySizeAndGrowsRatherThanShrinkingAway) {
  for (const auto& [w, h] : {std::pair{640.0, 480.0}, {360.0, 330.0}, {900.0, 300.0}, {300.0, 120.0}}) {
    const std::string svg = to_svg(figure(round({{.kind = Kind::line, .name = "largest limit on the best estimate", .x = {0, 90, 180, 270, 360}, .y = {20, 20, 20, 20, 20}}})), {w, h});
    const Circle c = circle(svg);
    EXPECT_GE(20 * c.scale, 74) << w;
    for (const auto& [x, y] : corners(svg, "line")) EXPECT_NEAR(std::hypot(x - c.x, y - c.y), 20 * c.scale, 0.03) << w;
  }
}

TEST(PolarFigure, SaysWhyItIsEmpty) {
  Panel p = round({});
  p.empty_reason = "no heading was asked for";
  EXPECT_THAT(to_svg(figure(p), {640, 480}), HasSubstr("no heading was asked for"));
}

TEST(PolarFigure, StandsOverTheDirectionOnATerminal) {
  const std::string text = to_text(figure(round({{.kind = Kind::line, .name = "limit", .x = {0, 90, 180, 270, 360}, .y = {20, 10, 20, 10, 20}}})), 80, 24, Glyphs::ascii);
  EXPECT_THAT(text, HasSubstr("0 deg: uphill; 90 deg: left; 180 deg: downhill; 270 deg: right"));
  EXPECT_THAT(text, HasSubstr("Heading (deg)"));
  EXPECT_THAT(text, HasSubstr("Slope (deg)"));
  EXPECT_THAT(text, HasSubstr("limit"));
}

}  // namespace
}  // namespace hardpan::report
