// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <regex>

#include "report/detail/figure_ink.hpp"
#include "report/figure.hpp"

namespace hardpan::report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

Series cells(std::vector<double> x, std::vector<double> y, double half = 0.5) {
  Series s{.kind = Kind::cells, .name = "step", .x = std::move(x), .y = std::move(y)};
  for (const double v : s.x) s.x_lo.push_back(v - half), s.x_hi.push_back(v + half);
  for (const double v : s.y) s.y_lo.push_back(v - half), s.y_hi.push_back(v + half);
  return s;
}
Figure figure(std::vector<Series> series, double columns = 2, double rows = 2) {
  Panel p{.x = {.label = "Across", .unit = "m", .min = -0.5, .max = columns - 0.5}, .y = {.label = "Up", .unit = "kg", .min = -0.5, .max = rows - 0.5}, .series = std::move(series)};
  return {.id = "f", .title = "Title", .panels = {std::move(p)}};
}
std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}
struct Rect {
  double x, y, w, h;
  std::string fill;
};
std::vector<Rect> rects(const std::string& svg) {
  std::vector<Rect> out;
  static const std::regex kCell("class=\"cell\" x=\"([0-9.-]+)\" y=\"([0-9.-]+)\" width=\"([0-9.]+)\" height=\"([0-9.]+)\" fill=\"([^\"]+)\"");
  for (std::sregex_iterator it(svg.begin(), svg.end(), kCell), end; it != end; ++it) out.push_back({std::stod((*it)[1]), std::stod((*it)[2]), std::stod((*it)[3]), std::stod((*it)[4]), (*it)[5]});
  return out;
}

// CIE L* of "#rrggbb" from the sRGB transfer (IEC 61966-2-1:1999) and CIE 15: the luminance factor's cube root.
double lightness(const std::string& ink) {
  const auto linear = [&](std::size_t at) {
    const double v = std::stoi(ink.substr(at, 2), nullptr, 16) / 255.0;
    return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
  };
  return 116 * std::cbrt(0.2126 * linear(1) + 0.7152 * linear(3) + 0.0722 * linear(5)) - 16;
}

TEST(CellsOfAFigure, MeetWithoutGapsAndFillTheFrame) {
  Series s = cells({0, 1, 0, 1}, {0, 0, 1, 1});
  s.shade = 0.5;
  s.name.clear();
  const std::string svg = to_svg(figure({s}), {640, 400});
  const auto list = rects(svg);
  ASSERT_EQ(list.size(), 4u);
  EXPECT_NEAR(list[0].x + list[0].w, list[1].x, 0.02);
  EXPECT_NEAR(list[2].y + list[2].h, list[0].y, 0.02);   // the second value lies above the first
  std::smatch m;
  ASSERT_TRUE(std::regex_search(svg, m, std::regex("data-plot=\"([0-9.]+) ([0-9.]+) ([0-9.]+) ([0-9.]+)\"")));
  EXPECT_NEAR(list[0].x, std::stod(m[1]), 0.02);
  EXPECT_NEAR(list[2].y, std::stod(m[2]), 0.02);
  EXPECT_NEAR(list[0].w + list[1].w, std::stod(m[3]), 0.04);
  EXPECT_NEAR(list[0].h + list[2].h, std::stod(m[4]), 0.04);
}

// Five steps, read in grey: 12 of L* apart, dark text on light and white on dark at 4.5 to 1 or better (W3C, WCAG 2.1, 1.4.3).
TEST(CellsOfAFigure, StepInLightnessAndKeepTheirTextReadable) {
  const auto contrast = [](double a, double b) {
    const auto y = [](double l) { return std::pow((l + 16) / 116, 3); };
    return (std::max(y(a), y(b)) + 0.05) / (std::min(y(a), y(b)) + 0.05);
  };
  for (int k = 1; k < 5; ++k) EXPECT_GE(lightness(detail::shade_ink((k - 1) / 4.0)) - lightness(detail::shade_ink(k / 4.0)), 12) << k;
  for (int steps = 2; steps <= 5; ++steps) {
    for (int k = 0; k < steps; ++k) {
      const double shade = static_cast<double>(k) / (steps - 1);
      const std::string text = detail::text_on(shade);
      EXPECT_GE(contrast(lightness(detail::shade_ink(shade)), lightness(text == "#fff" ? "#ffffff" : "#000000")), 4.5) << steps << ' ' << k;
    }
  }
}

TEST(CellsOfAFigure, WriteAsMuchAsEveryCellHasRoomFor) {
  const auto drawn = [](int n) {
    std::vector<double> x, y;
    for (int i = 0; i < n; ++i) x.push_back(i), y.push_back(0);
    Series s = cells(x, y);
    s.shade = 0.2;
    s.text.assign(x.size(), "+1.25 a");
    return to_svg(figure({s}, n, 1), {640, 300});
  };
  EXPECT_THAT(drawn(4), HasSubstr(">+1.25 a<"));
  EXPECT_THAT(drawn(14), AllOf(HasSubstr(">+1.25<"), HasSubstr(">a<")));
  EXPECT_THAT(drawn(30), AllOf(Not(HasSubstr(">+1.25")), HasSubstr(">a<")));
  EXPECT_THAT(drawn(200), AllOf(Not(HasSubstr(">+1.25")), Not(HasSubstr(">a<"))));
}

TEST(CellsOfAFigure, MoveTheirTextOutOfTheWayOfAMarker) {
  Series s = cells({0, 1, 0, 1}, {0, 0, 1, 1});
  s.shade = 0.2;
  s.text.assign(4, "1.25");
  const Series marker{.kind = Kind::points, .x = {0}, .y = {0}};
  const std::string bare = to_svg(figure({s}), {640, 400}), marked = to_svg(figure({s, marker}), {640, 400});
  EXPECT_EQ(count(marked, ">1.25<"), 4u);
  const auto first = [](const std::string& svg) { const std::size_t end = svg.find(">1.25<"); return svg.substr(svg.rfind("<text", end), end - svg.rfind("<text", end)); };
  EXPECT_NE(first(bare), first(marked));
}

TEST(CellsOfAFigure, LieMarkedOverTheirShade) {
  Series shade = cells({0, 1}, {0, 0}), mark = cells({1}, {0}), none = cells({0}, {1});
  shade.shade = 1;
  mark.fill = Fill::hatch_up;
  mark.name = "not met & \"missed\"";
  none.fill = Fill::crossed;
  none.name = "no value";
  const std::string svg = to_svg(figure({shade, mark, none}), {640, 400});
  EXPECT_LT(svg.find(detail::shade_ink(1)), svg.find("fill=\"url(#"));
  EXPECT_EQ(count(svg, "class=\"crossed\""), 2u);   // the cell and the sample of the legend
  EXPECT_THAT(svg, HasSubstr("not met &amp; &quot;missed&quot;"));
  EXPECT_EQ(tally(figure({shade, mark, none})).drawn, 4u);
}

TEST(CellsOfAFigure, AreDigitsAndMarksOnATerminal) {
  Series light = cells({0}, {0}), dark = cells({1}, {0}), mark = cells({1}, {0}), none = cells({0, 1}, {1, 1});
  light.shade = 0, dark.shade = 1, mark.fill = Fill::hatch_up, none.fill = Fill::crossed;
  light.name = "low", dark.name = "high", mark.name = "missed", none.name = "no value";
  const std::string text = to_text(figure({light, dark, mark, none}), 60, 24, Glyphs::ascii);
  EXPECT_THAT(text, HasSubstr("111111"));
  EXPECT_THAT(text, HasSubstr("222222"));
  EXPECT_THAT(text, HasSubstr("2/2"));
  EXPECT_THAT(text, HasSubstr("xxxxxx"));
  EXPECT_THAT(text, AllOf(HasSubstr("1 low"), HasSubstr("2 high"), HasSubstr("/ missed"), HasSubstr("x no value")));
  EXPECT_LT(text.find("xxxx"), text.find("1111"));
}

TEST(CellsOfAFigure, CountWhatHasNoPlace) {
  Series s = cells({0, std::numeric_limits<double>::quiet_NaN()}, {0, 0});
  s.shade = 0;
  const Figure f = figure({s});
  EXPECT_EQ(tally(f).drawn, 1u);
  EXPECT_GE(tally(f).not_finite, 1u);
  EXPECT_EQ(rects(to_svg(f, {640, 400})).size(), 2u);   // the cell and its sample
}

// Twelve columns have no room for twelve labels in a narrow picture: every k-th is named, all have their tick.
TEST(TicksAtGivenValues, AreThinnedEvenly) {
  Axis a{.label = "Width", .unit = "m", .min = 0.05, .max = 1.25};
  for (int i = 1; i <= 12; ++i) a.at.push_back(0.1 * i);
  Series s = cells({0.1}, {0});
  s.shade = 0;
  Figure f = figure({s});
  f.panels[0].x = a;
  const std::string wide = to_svg(f, {720, 300}), narrow = to_svg(f, {300, 300});
  EXPECT_THAT(wide, HasSubstr(">0.3<"));
  EXPECT_THAT(narrow, Not(HasSubstr(">0.2<")));
  EXPECT_THAT(narrow, HasSubstr(">0.1<"));
}

}  // namespace
}  // namespace hardpan::report
