// SPDX-License-Identifier: Apache-2.0
// Maps of studies made by hand: what each cell shows, and that every shape of answer is drawn.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "report/detail/figure_ink.hpp"
#include "report/detail/study_words.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using ::testing::HasSubstr;
using ::testing::Not;

constexpr double kRad = std::numbers::pi / 180;

// Wheel width 0.1 to 0.4 m across, mass 200 to 800 kg upward.
p::Study study(std::size_t across, std::size_t up, p::Studied quantity, const std::function<void(p::StudyCell&, std::size_t, std::size_t)>& fill) {
  p::Study st{.vehicle = "v", .zone = "z", .variations = {{p::Varied::wheel_width, 0.1, 0.4, across, "mm"}, {p::Varied::mass, 200, 800, up, "kg"}}, .quantity = quantity, .present = {0.2, 400.0}};
  for (std::size_t i = 0; i < across; ++i) {
    for (std::size_t j = 0; j < up; ++j) {
      p::StudyCell c{.values = {st.variations[0].value(i), st.variations[1].value(j)}, .limited_by = "traction"};
      fill(c, i, j);
      st.cells.push_back(std::move(c));
    }
  }
  return st;
}
void give(p::StudyCell& c, double value, std::optional<math::Interval> next = std::nullopt) {
  c.outcome.centre = value;
  c.outcome.estimate.value = value;
  c.outcome.estimate.next_point = next;
}
Figure map(const p::Study& st, campaign::OutputUnits units = campaign::OutputUnits::si) {
  campaign::Results r;
  r.campaign.output_units = units;
  return study_map(r, st, 1);
}
const Series* named(const Figure& f, const std::string& name) {
  for (const Series& s : f.panels[0].series) {
    if (s.name == name) return &s;
  }
  return nullptr;
}
std::size_t cells(const Figure& f) {
  std::size_t n = 0;
  for (const Series& s : f.panels[0].series) n += s.kind == Kind::cells && (s.shade || s.fill == Fill::crossed || s.fill == Fill::hatch_down) ? s.x.size() : 0;
  return n;
}

// Gradients 4 to 12 deg with 8 deg needed: margins -4, 0, 4; the next point lies 5 deg lower.
TEST(StudyMap, ShowsTheMarginHatchesWhatMissesAndDotsWhatTheNextPointMayMiss) {
  p::Study st = study(3, 2, p::Studied::gradient_at_slip, [](p::StudyCell& c, std::size_t i, std::size_t) {
    const double v = (4 + 4 * static_cast<double>(i)) * kRad;
    give(c, v, math::Interval{v - 5 * kRad, v + 5 * kRad});
  });
  st.needed = 8 * kRad;
  const Figure f = map(st);
  const Series* missed = named(f, "not met");
  const Series* unsure = named(f, "met by the best-estimate soil, not by the 95 % next point");
  ASSERT_TRUE(missed && unsure);
  EXPECT_EQ(missed->x, (std::vector<double>{100, 100}));   // mm, as typed
  EXPECT_EQ(missed->y, (std::vector<double>{200, 800}));
  EXPECT_EQ(unsure->x, (std::vector<double>{250, 250, 400, 400}));
  EXPECT_EQ(cells(f), 6u);
  EXPECT_THAT(f.panels[0].heading, HasSubstr("Margin (deg) to what is needed, 8.00 deg or more"));
  EXPECT_EQ(f.panels[0].x.text(), "Wheel width (mm)");
  EXPECT_EQ(f.panels[0].y.text(), "Mass (kg)");
  const std::string svg = to_svg(f, {720, 360});
  for (const char* text : {">+4.0<", ">\xE2\x88\x92" "4.0<", ">as it is<"}) EXPECT_THAT(svg, HasSubstr(text)) << text;
  EXPECT_THAT(f.caption, HasSubstr("Limited throughout by traction."));
}

TEST(StudyMap, GivesLettersOnlyWhereTheLimitVaries) {
  const p::Study st = study(4, 3, p::Studied::gradient_at_slip, [](p::StudyCell& c, std::size_t i, std::size_t j) {
    give(c, (10 + static_cast<double>(i + j)) * kRad);
    if (i == 3) c.limited_by = "power <peak>";
  });
  const Figure f = map(st);
  EXPECT_THAT(f.caption, HasSubstr("Limited by: a traction; b power <peak>."));
  const std::string svg = to_svg(f, {720, 360});
  EXPECT_THAT(svg, HasSubstr(">10.0 a<"));
  EXPECT_THAT(svg, HasSubstr(">13.0 b<"));
  EXPECT_THAT(svg, HasSubstr("b power &lt;peak&gt;"));
  EXPECT_THAT(svg, Not(HasSubstr("<peak>")));
}

// Less energy is better; what cannot go has no number, what is no vehicle no value.
TEST(StudyMap, TellsWordsAndMissingVehiclesApart) {
  p::Study st = study(3, 3, p::Studied::energy_level, [](p::StudyCell& c, std::size_t i, std::size_t j) {
    give(c, i == 0 ? std::numeric_limits<double>::infinity() : 300 + 50 * static_cast<double>(j));
    c.limited_by = i == 0 ? "traction" : "goes";
    if (i == 2) c.why_not = "the wheels overlap";
  });
  st.needed = 360;
  const Figure f = map(st);
  const Series* immobile = named(f, "immobilised");
  const Series* absent = named(f, "no value: the wheels overlap");
  ASSERT_TRUE(immobile && absent);
  EXPECT_EQ(immobile->x.size(), 3u);
  EXPECT_EQ(absent->x.size(), 3u);
  EXPECT_EQ(absent->fill, Fill::crossed);
  ASSERT_TRUE(named(f, "not met"));
  EXPECT_EQ(named(f, "not met")->y, std::vector<double>{800});   // 400 J/m of 360 J/m
  EXPECT_THAT(f.caption, HasSubstr("a traction; b nothing"));
  EXPECT_EQ(tally(f).not_finite, 0u);
}

TEST(StudyMap, DrawsGridsWithoutASingleNumber) {
  const p::Study st = study(2, 2, p::Studied::gradient_at_slip, [](p::StudyCell& c, std::size_t, std::size_t j) { give(c, -std::numbers::pi / 2); if (j == 1) c.why_not = std::string(80, 'w'); });
  const Figure f = map(st);
  EXPECT_TRUE(named(f, "immobilised"));
  EXPECT_TRUE(named(f, "no value, reasons in the table"));
  EXPECT_THAT(to_svg(f, {720, 360}), Not(HasSubstr("nan")));
}

TEST(StudyMap, DrawsOneValueOnOneShade) {
  const Figure f = map(study(2, 2, p::Studied::pull_at_slip, [](p::StudyCell& c, std::size_t, std::size_t) { give(c, 0.25); }));
  std::size_t shaded = 0;
  for (const Series& s : f.panels[0].series) shaded += s.shade && !s.x.empty();
  EXPECT_EQ(shaded, 1u);
  EXPECT_EQ(cells(f), 4u);
}

// 41 by 41 values are the most: cells are too small for values, the steps still tell, and every cell is drawn inside the frame.
TEST(StudyMap, DrawsTheLargestGrid) {
  p::Study st = study(41, 41, p::Studied::ride_margin, [](p::StudyCell& c, std::size_t i, std::size_t j) { give(c, 1 - 0.001 * static_cast<double>(i * j)); });
  st.present = {std::nullopt, 400.0};
  const Figure f = map(st);
  EXPECT_EQ(cells(f), 41u * 41u);
  EXPECT_EQ(tally(f).outside, 0u);
  ASSERT_TRUE(named(f, "bound passed"));
  const std::string svg = to_svg(f, {720, 360});
  EXPECT_THAT(svg, Not(HasSubstr(">1.00<")));
  EXPECT_EQ(f.panels[0].references.size(), 1u);   // no speed is stated: a line, not a point
  EXPECT_LT(svg.size(), 600000u);
}

// Each value falls into the step whose legend names it: lower bound in, upper bound out.
TEST(StudyMap, PutsEachValueIntoItsStep) {
  const Figure f = map(study(5, 2, p::Studied::pull_at_slip, [](p::StudyCell& c, std::size_t i, std::size_t) { give(c, 0.1 * static_cast<double>(i)); }));
  for (const Series& s : f.panels[0].series) {
    if (!s.shade) continue;
    ASSERT_FALSE(s.name.starts_with("\xE2")) << s.name;
    const double lo = std::stod(s.name), hi = std::stod(s.name.substr(s.name.find("to ") + 3));
    for (const std::string& t : s.text) {
      EXPECT_GE(std::stod(t), lo - 1e-9) << s.name;
      EXPECT_LE(std::stod(t), hi + 1e-9) << s.name;
    }
  }
  EXPECT_EQ(cells(f), 10u);
}

TEST(StudyMap, SpeaksTheUnitsOfTheCampaign) {
  const Figure f = map(study(3, 3, p::Studied::energy_level, [](p::StudyCell& c, std::size_t i, std::size_t) { give(c, 200 + 100 * static_cast<double>(i)); }), campaign::OutputUnits::us);
  EXPECT_THAT(f.panels[0].x.text(), HasSubstr("(in)"));
  EXPECT_THAT(f.panels[0].y.text(), HasSubstr("(lb)"));
  EXPECT_THAT(f.panels[0].heading, Not(HasSubstr("J/m")));
}

}  // namespace
}  // namespace hardpan::report::detail
