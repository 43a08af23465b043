// SPDX-License-Identifier: Apache-2.0
#include "report/figure.hpp"

#include <fmt/core.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <sstream>

#include "report/detail/figure_axis.hpp"
#include "report/detail/figure_ink.hpp"
#include "report/detail/figure_place.hpp"

namespace hardpan::report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using namespace detail;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInf = std::numeric_limits<double>::infinity();

Figure one_panel(Panel p) { return {.id = "f", .title = "Title", .panels = {std::move(p)}}; }
std::string svg(const Panel& p) { return to_svg(one_panel(p), {640, 400}); }

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
  return n;
}
std::string attribute(const std::string& text, const std::string& name, std::size_t from = 0) {
  const std::size_t at = text.find(" " + name + "=\"", from) + name.size() + 3;
  return text.substr(at, text.find('"', at) - at);
}
std::vector<double> values(const Ticked& t, bool major) {
  std::vector<double> list;
  for (const Tick& k : t.ticks)
    if (k.major == major) list.push_back(k.value);
  return list;
}
bool is_round(double step) {  // 1, 2 or 5 times a power of ten
  const double m = step / std::pow(10.0, std::floor(std::log10(step) + 1e-9));
  return std::abs(m - 1) < 1e-6 || std::abs(m - 2) < 1e-6 || std::abs(m - 5) < 1e-6;
}

// --- ticks ---

RC_GTEST_PROP(LinearTicks, AreThreeToEightRoundMultiplesThatCoverTheRange, ()) {
  const double unit = std::pow(10.0, *rc::gen::inRange(-8, 9));
  const double lo = *rc::gen::inRange(-100000, 100000) * unit, span = *rc::gen::inRange(0, 100000) * unit;
  const int most = *rc::gen::inRange(5, 9);
  const Ticked t = linear_ticks(lo, lo + span, most, true, true);
  RC_ASSERT(t.lo <= lo && t.hi >= lo + span);
  RC_ASSERT(t.ticks.size() >= 3u && t.ticks.size() <= static_cast<std::size_t>(most));
  const double step = t.ticks[1].value - t.ticks[0].value;
  RC_ASSERT(is_round(step));
  RC_ASSERT(t.ticks.front().value - t.lo < step && t.hi - t.ticks.back().value < step);
  for (const Tick& k : t.ticks) {
    RC_ASSERT(t.holds(k.value));
    RC_ASSERT(std::abs(k.value / step - std::round(k.value / step)) < 1e-5);  // span >= 1e-5 of the magnitude
  }
}

RC_GTEST_PROP(LinearTicks, LeaveFixedEndsWhereTheyAre, ()) {
  const double lo = *rc::gen::inRange(-10000, 10000) / 7.0, span = *rc::gen::inRange(1, 10000) / 11.0;
  const Ticked t = linear_ticks(lo, lo + span, 8, false, false);
  RC_ASSERT(t.lo == lo && t.hi == lo + span);
  RC_ASSERT(t.ticks.size() >= 3u && t.ticks.size() <= 8u);
  for (const Tick& k : t.ticks) RC_ASSERT(t.holds(k.value));
}

TEST(LinearTicks, AreTheDoublesNearestToTheirLabels) {
  // 3 * 0.1 in floating point is not 0.3; the label would then hide a tick beside its place.
  const Ticked t = linear_ticks(0, 0.7, 8, true, true);
  EXPECT_THAT(values(t, true), testing::ElementsAre(0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7));
  EXPECT_EQ(t.ticks[3].label, "0.3");
  EXPECT_EQ(linear_ticks(-1, 1, 5, true, true).ticks[2].label, "0.0");  // not "-0.0"
}

TEST(LinearTicks, SaveBlankPaperWhereStepsAreWide) {
  const Ticked t = linear_ticks(0, 1066, 5, true, true);  // steps of 500: half a step less than 1500 covers it
  EXPECT_EQ(t.hi, 1100);
  EXPECT_THAT(values(t, true), testing::ElementsAre(0, 500, 1000));
}

RC_GTEST_PROP(LogTicks, CoverTheRangeAndGiveLabels, ()) {
  const double lo = std::pow(10.0, *rc::gen::inRange(-6000, 6000) / 1000.0);
  const double hi = lo * std::pow(10.0, *rc::gen::inRange(0, 9000) / 1000.0);
  const int most = *rc::gen::inRange(5, 9);
  const Ticked t = log_ticks(lo, hi, most, true, true);
  RC_ASSERT(t.lo <= lo && t.hi >= hi && t.lo > 0);
  RC_ASSERT(is_round(t.lo) && is_round(t.hi));
  const auto major = values(t, true);
  RC_ASSERT(major.size() >= 2u && major.size() <= static_cast<std::size_t>(most));
  RC_ASSERT(std::is_sorted(t.ticks.begin(), t.ticks.end(), [](auto& a, auto& b) { return a.value < b.value; }));
  for (const Tick& k : t.ticks) RC_ASSERT(t.holds(k.value) && k.major != k.label.empty());
}

TEST(LogTicks, LabelDecadesAndMarkTwoToNineBetween) {
  const Ticked t = log_ticks(1, 1000, 8, true, true);
  EXPECT_THAT(values(t, true), testing::ElementsAre(1, 10, 100, 1000));
  EXPECT_EQ(values(t, false).size(), 3u * 8u);
  EXPECT_THAT(values(t, false), testing::Contains(0.7 * 10));
  EXPECT_THAT(values(log_ticks(2.5, 60, 8, true, true), true), testing::ElementsAre(2, 5, 10, 20, 50, 100));
}

TEST(ClockTicks, FallOnWholeMinutesAndGoOnPastMidnight) {
  const Ticked t = clock_ticks(9.2 * 3600, 10.9 * 3600, 8, true, true);
  EXPECT_EQ(t.ticks[0].label, "09:00");
  EXPECT_EQ(t.ticks[1].label, "09:30");  // quarters would be nine ticks
  EXPECT_EQ(clock_ticks(23 * 3600, 26 * 3600, 4, true, true).ticks.back().label, "02:00");
}

// --- what is not drawn ---

TEST(Values, NotFiniteOnesAreSkippedCountedAndLeaveAGap) {
  const Panel p{.x = {.label = "x"},
                .y = {.label = "y"},
                .series = {{.name = "s", .x = {0, 1, 2, 3, 4, 5}, .y = {0, 1, kNan, 3, kInf, 5}}}};
  const Tally t = tally(one_panel(p));
  EXPECT_EQ(t.drawn, 4u);
  EXPECT_EQ(t.not_finite, 2u);
  const std::string s = svg(p);
  EXPECT_EQ(count(s, "Not drawn: 2 values not finite."), 2u) << "once for the eye, once in <desc>";
  EXPECT_THAT(s, Not(HasSubstr("nan")));
  EXPECT_THAT(s, Not(HasSubstr("inf")));
  const std::string d = attribute(s, "d", s.find("class=\"line\""));
  EXPECT_EQ(count(d, "M"), 3u) << "0-1, then 3, then 5, not joined across the gaps: " << d;
  EXPECT_THAT(to_text(one_panel(p), 60, 16), HasSubstr("Not drawn: 2 values not finite."));
}

TEST(Values, NotPositiveOnALogAxisAndOutsideAFixedRangeAreCountedApart) {
  const Panel p{.x = {.label = "x", .scale = Scale::log10, .max = 100},
                .y = {.label = "y"},
                .series = {{.kind = Kind::points, .x = {-1, 0, 1, 10, 1000}, .y = {1, 1, 1, 2, 3}}}};
  const Tally t = tally(one_panel(p));
  EXPECT_EQ(t.drawn, 2u);
  EXPECT_EQ(t.not_positive, 2u);
  EXPECT_EQ(t.outside, 1u);
  EXPECT_EQ(t.text(), "Not drawn: 2 values not positive on a log axis, 1 value outside the axis range.");
  EXPECT_EQ(count(attribute(svg(p), "data-at"), ","), 2u);
}

TEST(Values, AnIntervalEndThatIsNotFiniteLeavesThePoint) {
  const Panel p{.series = {{.kind = Kind::points, .x = {1, 2}, .y = {1, 2}, .y_lo = {0.5, kNan}, .y_hi = {1.5, 2.5}}}};
  EXPECT_EQ(tally(one_panel(p)).drawn, 2u);
  EXPECT_EQ(tally(one_panel(p)).not_finite, 1u);
}

TEST(EmptyPanel, SaysNoDataAndWhy) {
  EXPECT_THAT(svg({}), HasSubstr("no data: no series was given"));
  EXPECT_THAT(svg({.series = {{.x = {1}, .y = {kNan}}}}), HasSubstr("no data: the one value cannot be drawn"));
  EXPECT_THAT(svg({.y = {.scale = Scale::log10}, .series = {{.x = {1, 2}, .y = {0, -1}}}}),
              HasSubstr("no data: all 2 values are zero or negative"));
  EXPECT_THAT(svg({.x = {.min = 5, .max = 6}, .series = {{.kind = Kind::points, .x = {1}, .y = {1}}}}),
              HasSubstr("outside the axis range"));
  EXPECT_THAT(svg({.empty_reason = "no cone record"}), HasSubstr("no data: no cone record"));
  EXPECT_THAT(to_text(one_panel({.empty_reason = "no cone record"}), 60, 16), HasSubstr("no data: no cone record"));
  EXPECT_THAT(to_svg({.id = "f"}, {}), HasSubstr("no data: the figure has no panel"));
}

// --- SVG ---

TEST(Svg, EscapesMarkupInEveryText) {
  const std::string nasty = "a<b & \"c\">'";
  Figure f = one_panel({.heading = nasty,
                        .x = {.label = nasty, .unit = nasty},
                        .y = {.label = nasty},
                        .series = {{.name = nasty, .x = {1, 2}, .y = {1, 2}}},
                        .references = {{Along::x, 1.5, nasty}},
                        .shades = {{Along::y, 1, 2, nasty}},
                        .notes = {{1, 2, nasty}}});
  f.title = f.provenance = f.caption = nasty;
  const std::string s = to_svg(f, {});
  EXPECT_THAT(s, Not(HasSubstr("a<b")));
  EXPECT_THAT(s, Not(HasSubstr("& ")));
  EXPECT_GE(count(s, "a&lt;b &amp; &quot;c&quot;&gt;&#39;"), 9u);
}

RC_GTEST_PROP(Svg, StaysWellFormedForAnyBytesInALabel, (const std::string& label)) {
  Figure f = one_panel({.x = {.label = label}, .series = {{.name = label, .x = {1, 2}, .y = {1, 2}}}});
  f.title = label;
  const std::string s = to_svg(f, {});
  std::size_t depth = 0;
  for (std::size_t at = s.find('<'); at != std::string::npos; at = s.find('<', at + 1)) {
    const std::size_t end = s.find('>', at);
    RC_ASSERT(end != std::string::npos);
    RC_ASSERT(std::count(s.begin() + static_cast<long>(at), s.begin() + static_cast<long>(end), '"') % 2 == 0);
    if (s[at + 1] == '/')
      --depth;
    else if (s[end - 1] != '/')
      ++depth;
  }
  RC_ASSERT(depth == 0u);
  for (const char c : s) RC_ASSERT(static_cast<unsigned char>(c) >= 0x20 || c == '\n');
}

TEST(Svg, ReplacesBrokenUtf8) {
  EXPECT_THAT(code_points("a\xC3\xA9\xE2\x82"), testing::ElementsAre("a", "\xC3\xA9", "?", "?"));
  EXPECT_THAT(code_points("\xED\xA0\x80\xC0\x80"), testing::Each("?"));  // a surrogate, an overlong zero
  EXPECT_THAT(code_points(std::string("\0\x1B\x7F\t", 4)), testing::ElementsAre("?", "?", "?", " "));
}

TEST(Svg, AxisAttributesTurnValuesIntoTheDrawnPixels) {
  // pixel = a + b * value on x, a + b * log10 value on y: the promise to the read-out layer.
  const std::string s = svg({.x = {.label = "x"},
                             .y = {.label = "y", .scale = Scale::log10},
                             .series = {{.kind = Kind::points, .x = {3, 7}, .y = {2, 500}}}});
  const double xa = std::stod(attribute(s, "data-x-a")), xb = std::stod(attribute(s, "data-x-b"));
  const double ya = std::stod(attribute(s, "data-y-a")), yb = std::stod(attribute(s, "data-y-b"));
  EXPECT_EQ(attribute(s, "data-y-scale"), "log10");
  double px, py, qx, qy;
  ASSERT_EQ(std::sscanf(attribute(s, "data-at").c_str(), "%lf,%lf %lf,%lf", &px, &py, &qx, &qy), 4);
  EXPECT_NEAR(px, xa + xb * 3, 0.0051);  // positions are rounded to 0.01 px
  EXPECT_NEAR(py, ya + yb * std::log10(2), 0.0051);
  EXPECT_NEAR(qx, xa + xb * 7, 0.0051);
  EXPECT_NEAR(qy, ya + yb * std::log10(500), 0.0051);
}

TEST(Svg, DepthGrowsDownwardOnAReversedAxis) {
  const Panel p{.y = {.label = "Depth", .unit = "mm", .reversed = true},
                .series = {{.kind = Kind::points, .x = {1, 2}, .y = {100, 400}}}};
  double px, py, qx, qy;
  ASSERT_EQ(std::sscanf(attribute(svg(p), "data-at").c_str(), "%lf,%lf %lf,%lf", &px, &py, &qx, &qy), 4);
  EXPECT_LT(py, qy);
}

TEST(Svg, IsOneExactTextForASmallFigure) {
  // Golden fragments, each with what would be lost. Geometry by hand: plot 44 to 624, 0 to 10 across: 1 is 58 px.
  const std::string s = svg({.x = {.label = "Sinkage", .unit = "mm", .min = 0, .max = 10},
                             .y = {.label = "Pressure", .unit = "kPa", .min = -20, .max = 20},
                             .series = {{.kind = Kind::line, .name = "fit", .x = {0, 10}, .y = {-20, 20}}},
                             .references = {{Along::x, 5, "bound"}}});
  EXPECT_THAT(
      s, HasSubstr(
             "viewBox=\"0 0 640 400\" role=\"img\" aria-labelledby=\"f-640-title f-640-desc\""));  // scales, is named
  EXPECT_THAT(s, HasSubstr("<title id=\"f-640-title\">Title</title>"));
  EXPECT_THAT(s, HasSubstr(">Sinkage (mm)</text>"));  // unit in the axis label
  EXPECT_THAT(s, HasSubstr(">\xE2\x88\x92"
                           "10</text>"));      // a true minus sign
  EXPECT_THAT(s, HasSubstr(">bound</text>"));  // text as text
  EXPECT_THAT(s,
              HasSubstr("clip-path=\"url(#f-640-clip-0)\""));  // ids carry figure and width: many figures in one page
  EXPECT_THAT(s, Not(HasSubstr("<script")));
  EXPECT_THAT(s, Not(HasSubstr("style=")));  // strict content policy of the page
  const double left = std::stod(attribute(s, "data-plot")), a = std::stod(attribute(s, "data-x-a")),
               b = std::stod(attribute(s, "data-x-b"));
  EXPECT_DOUBLE_EQ(a, left);
  const std::string d = attribute(s, "d", s.find("class=\"line\""));
  EXPECT_EQ(d.substr(0, d.find(' ')), "M" + num(left));
  EXPECT_THAT(d, HasSubstr(fmt::format("L{} ", num(a + 10 * b))));
}

TEST(Svg, IsTheSameEveryTime) {
  Panel p{.series = {{.kind = Kind::points, .name = "cloud"}, {.kind = Kind::band, .name = "band"}}};
  for (int i = 0; i < 5000; ++i) p.series[0].x.push_back(std::sin(i)), p.series[0].y.push_back(std::cos(3.0 * i));
  p.series[1].x = {-1, 1}, p.series[1].y_lo = {0, 0}, p.series[1].y_hi = {1, 1};
  EXPECT_EQ(svg(p), svg(p));
}

TEST(Svg, ThinsManyPointsAndKeepsEverySpike) {
  Panel p{.series = {{.kind = Kind::line}}};
  for (int i = 0; i < 200000; ++i)
    p.series[0].x.push_back(i), p.series[0].y.push_back(i == 77777 ? 100.0 : i == 77779 ? -100.0 : std::sin(0.01 * i));
  const std::string s = svg(p);
  EXPECT_LT(s.size(), 60000u) << "four places a pixel column at most";
  EXPECT_THAT(s, HasSubstr("Thinned for drawing"));
  const double a = std::stod(attribute(s, "data-y-a")), b = std::stod(attribute(s, "data-y-b"));
  const std::string d = attribute(s, "d", s.find("class=\"line\""));
  EXPECT_THAT(d, HasSubstr(" " + num(a + 100 * b) + "L"));
  EXPECT_THAT(d, HasSubstr(" " + num(a - 100 * b) + "L"));
  EXPECT_THAT(svg({.series = {{.x = {1, 2}, .y = {1, 2}}}}), Not(HasSubstr("Thinned")));
}

TEST(Svg, ThinsACloudButKeepsItsExtremes) {
  Panel p{.series = {{.kind = Kind::points}}};
  for (int i = 0; i < 50000; ++i)
    p.series[0].x.push_back(i % 500), p.series[0].y.push_back(i == 31234 ? 9 : std::sin(i));
  const std::string s = svg(p);
  EXPECT_LT(count(attribute(s, "data-at"), ","), 30000u);
  EXPECT_THAT(attribute(s, "data-at"),
              HasSubstr("," + num(std::stod(attribute(s, "data-y-a")) + 9 * std::stod(attribute(s, "data-y-b")))));
}

TEST(Svg, StacksPanelsInsteadOfSqueezingThemBelow480Pixels) {
  Figure f{.id = "f",
           .title = "T",
           .arrangement = Arrangement::beside,
           .panels = {{.series = {{.x = {1, 2}, .y = {1, 2}}}}, {.series = {{.x = {1, 2}, .y = {1, 2}}}}}};
  const auto left = [&](const std::string& s, int panel) {
    return std::stod(attribute(s, "data-plot", s.find(fmt::format("data-panel=\"{}\"", panel))));
  };
  const std::string wide = to_svg(f, {640, 400}), narrow = to_svg(f, {360, 300});
  EXPECT_GT(left(wide, 1), left(wide, 0) + 250);
  EXPECT_EQ(left(narrow, 1), left(narrow, 0));
  EXPECT_EQ(attribute(narrow, "height"), "480");  // 0.8 * 300 * 2
}

TEST(Svg, BarsOnOneSideDoNotHideEachOther) {
  const std::string s = svg({.x = {.label = "v"},
                             .y = {.scale = Scale::category, .categories = {"K"}},
                             .series = {{.kind = Kind::bars, .x = {3}, .y = {0}, .base = 1},
                                        {.kind = Kind::bars, .x = {2}, .y = {0}, .base = 1}}});
  const std::size_t first = s.find("class=\"bar\""), second = s.find("class=\"bar\"", first + 1);
  EXPECT_GE(std::stod(attribute(s, "y", second)),
            std::stod(attribute(s, "y", first)) + std::stod(attribute(s, "height", first)));
}

TEST(Svg, GoAndNoGoDifferInShape) {
  EXPECT_NE(marker_path(Shape::go, 0, 0, 3), marker_path(Shape::no_go, 0, 0, 3));
  EXPECT_THAT(marker_path(Shape::go, 0, 0, 3), HasSubstr("a"));          // a ring with a tick
  EXPECT_THAT(marker_path(Shape::no_go, 0, 0, 3), Not(HasSubstr("a")));  // a square with a cross
}

// --- inks ---

double luminance(const char* hex) {  // relative luminance as WCAG 2.1 defines it
  double sum = 0;
  const std::array<double, 3> weight{0.2126, 0.7152, 0.0722};
  for (std::size_t i = 0; i < 3; ++i) {
    const double c = std::stoi(std::string(hex + 1 + 2 * i, 2), nullptr, 16) / 255.0;
    sum += weight[i] * (c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4));
  }
  return sum;
}

TEST(Inks, StandOutFromPaperAndFromTheirNeighboursInGrey) {
  std::set<Dash> dashes;
  std::set<std::pair<Shape, bool>> markers;
  for (std::size_t i = 0; i < kStyles.size(); ++i) {
    const double y = luminance(kStyles[i].ink), next = luminance(kStyles[(i + 1) % kStyles.size()].ink);
    EXPECT_GE(1.05 / (y + 0.05), 3.0) << kStyles[i].ink;                      // WCAG 2.1, 1.4.11 non-text contrast
    const auto lightness = [](double l) { return 116 * std::cbrt(l) - 16; };  // CIE 1976 L*
    EXPECT_GE(std::abs(lightness(y) - lightness(next)), 12.0) << kStyles[i].ink;
    dashes.insert(kStyles[i].dash);
    markers.insert({kStyles[i].marker.shape, kStyles[i].marker.open});
  }
  EXPECT_EQ(dashes.size(), 5u);
  EXPECT_EQ(markers.size(), kStyles.size());
}

// --- places ---

TEST(Wrap, BreaksAtSpacesButKeepsANumberWithItsUnit) {
  EXPECT_THAT(wrap("ground clearance 95 mm", 10, 110), testing::ElementsAre("ground clearance", "95 mm"));
  EXPECT_THAT(wrap("", 10, 100), testing::IsEmpty());
}

TEST(Clutter, CostsNothingOnFreeGroundAndMuchOutside) {
  Clutter c({0, 0, 300, 300});
  c.add_line(0, 0, 300, 300, 4);
  EXPECT_EQ(c.cost({200, 20, 50, 12}), 0);
  EXPECT_GT(c.cost({140, 140, 50, 12}), 0);
  EXPECT_GE(c.cost({280, 20, 50, 12}), 1000);
}

// --- terminal ---

TEST(Text, DrawsAStraightLineFromCornerToCornerInAscii) {
  Figure f = one_panel({.x = {.label = "Slip", .unit = "%", .min = 0, .max = 10},
                        .y = {.label = "Pull", .unit = "N", .min = 0, .max = 10},
                        .series = {{.name = "fit", .x = {0, 10}, .y = {0, 10}},
                                   {.kind = Kind::points, .name = "test", .x = {5}, .y = {5}}}});
  // By hand: 6 rows of 25 cells are 24 x 50 dots, so y = 23 - 23 x / 49; the top row (dots 0 to 3) begins at x = 42,
  // cell 21; the point falls on dot (25, 12), cell 12 of row 3.
  EXPECT_EQ(to_text(f, 30, 13, Glyphs::ascii),
            "Title\nPull (N)\n"
            "10 +                     ....\n"
            "   |                 ....\n"
            "   |            .....\n"
            " 5 +        ....x\n"
            "   |    ....\n"
            " 0 +....\n"
            "   ++----+----+---+----+----+\n"
            "    0    2    4   6    8   10\n"
            "           Slip (%)\n"
            "... fit\n"
            "x test\n");
}

TEST(Text, KeepsToTheColumnsAndNamesReferences) {
  Figure f = one_panel(
      {.x = {.label = "Time of the reading on the day", .scale = Scale::clock},
       .y = {.label = "Pressure", .unit = "kPa"},
       .series = {{.kind = Kind::band, .name = "band", .x = {30000, 40000}, .y_lo = {1, 2}, .y_hi = {3, 4}},
                  {.name = "a rather long name of a series that must be broken", .x = {30000, 40000}, .y = {2, 3}}},
       .references = {{Along::y, 2.5, "limit 2.5 kPa"}},
       .shades = {{Along::x, 32400, 36000, "shower"}}});
  for (const Glyphs g : {Glyphs::braille, Glyphs::ascii})
    for (const std::size_t columns : {40u, 60u, 100u}) {
      const std::string text = to_text(f, columns, 20, g);
      std::istringstream lines(text);
      for (std::string line; std::getline(lines, line);) EXPECT_LE(code_points(line).size(), columns) << text;
      EXPECT_THAT(text, HasSubstr("limit 2.5 kPa"));
      EXPECT_THAT(text, HasSubstr("09:00 to 10:00"));
    }
  EXPECT_EQ(count(to_text(f, 60, 20, Glyphs::ascii), "\xE2"), 0u) << "plain ASCII";
}

}  // namespace
}  // namespace hardpan::report
