// SPDX-License-Identifier: Apache-2.0
// A study of two parameters as a map. Shades are steps of the value printed in each cell, dark for much; what is not met is hatched, what the
// best-estimate soil meets but the next point may not is dotted, a cell without a value is crossed; letters tell what limits where that varies.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include <fmt/core.h>

#include "report/detail/figure_axis.hpp"
#include "report/detail/figure_ink.hpp"
#include "report/detail/study_words.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;

constexpr int kMostBounds = 6;       // five shades: L* 15 apart and more
constexpr std::size_t kLongWhy = 60; // characters of a reason that has room in a legend

struct Side {  // of the map, along one parameter
  InUnit unit;
  const p::Variation& v;
  [[nodiscard]] double at(double steps) const { return unit(v.from + (v.to - v.from) * steps / static_cast<double>(v.steps - 1)); }
  [[nodiscard]] Axis axis() const {
    Axis a{.label = capital(p::name(v.what)), .unit = unit.spelling(), .min = at(-0.5), .max = at(static_cast<double>(v.steps) - 0.5)};
    for (std::size_t k = 0; k < v.steps; ++k) a.at.push_back(unit(v.value(k)));
    return a;
  }
  [[nodiscard]] bool holds(double si) const { return unit(si) >= at(-0.5) && unit(si) <= at(static_cast<double>(v.steps) - 0.5); }
};

enum class State { valued, word, none };
State state_of(const p::Study& st, const p::StudyCell& c) {
  if (!c.why_not.empty() || std::isnan(c.outcome.centre)) return State::none;
  return Printer::word(c.outcome.centre, measure_of(st.quantity)).empty() ? State::valued : State::word;
}

// Letters in the order in which the limits first come up; none where all cells have the same. Beyond z only the table tells.
std::map<std::string, std::string> letters_of(const p::Study& st, std::string& key) {
  std::map<std::string, std::string> letters;
  for (const p::StudyCell& c : st.cells) {
    if (state_of(st, c) == State::none || letters.count(c.limited_by) > 0 || letters.size() == 26) continue;
    const std::string letter(1, static_cast<char>('a' + letters.size()));
    // Energy is told of vehicles that nothing keeps from going.
    const std::string limit = st.quantity == p::Studied::energy_level && c.limited_by.starts_with("goes") ? "nothing" : c.limited_by;
    key += (key.empty() ? "" : "; ") + letter + " " + limit;
    letters[c.limited_by] = letter;
  }
  if (letters.size() == 1) key.erase(0, 2);
  return letters.size() > 1 ? letters : std::map<std::string, std::string>{};
}

// Whole steps, so that none is narrower than the others.
std::vector<double> bounds_of(double least, double most) {
  const std::vector<Tick> ticks = linear_ticks(least, most, kMostBounds, true, true).ticks;
  const double step = ticks[1].value - ticks[0].value;
  std::vector<double> out;
  for (const Tick& t : ticks) out.push_back(t.value);
  if (out.front() > least) out.insert(out.begin(), out.front() - step);
  if (out.back() < most) out.push_back(out.back() + step);
  return out;
}

std::string bound_text(double v) { return typeset(std::abs(v) < 1e-12 ? "0" : fmt::format("{:.4g}", v)); }

}  // namespace

Figure study_map(const campaign::Results& r, const p::Study& st, std::size_t number) {
  const Printer print(r.campaign.output_units);
  const units::Unit unit = unit_of(print, st);
  const InUnit value{unit};
  const Side across{{unit_of(print, st.variations[0])}, st.variations[0]}, up{{unit_of(print, st.variations[1])}, st.variations[1]};
  const bool ride = st.quantity == p::Studied::ride_margin, margins = st.needed.has_value(), judged = ride || margins;
  std::string key;
  const auto letters = letters_of(st, key);
  const auto shown = [&](const p::StudyCell& c) { return value(margins ? *st.margin(c.outcome.centre) : c.outcome.centre); };
  const auto letter_of = [&](const p::StudyCell& c) {
    const auto at = letters.find(c.limited_by);
    return at == letters.end() ? std::string() : at->second;
  };

  double least = std::numeric_limits<double>::infinity(), most = -least;
  for (const p::StudyCell& c : st.cells) {
    if (state_of(st, c) == State::valued) least = std::min(least, shown(c)), most = std::max(most, shown(c));
  }
  // Beyond twice what is left at rest a ride is past its bounds: how far takes no shades from what may be driven.
  const bool cut = ride && least < -1 && most > -1;
  if (cut) least = -1;
  const std::vector<double> bounds = least <= most ? bounds_of(least, most) : std::vector<double>{};
  const std::size_t steps = bounds.empty() ? 0 : bounds.size() - 1;

  std::vector<Series> shades(steps);
  for (std::size_t k = 0; k < steps; ++k) {
    shades[k] = {.kind = Kind::cells, .name = cut && k == 0 ? "below " + bound_text(bounds[1]) : bound_text(bounds[k]) + " to " + bound_text(bounds[k + 1]), .shade = steps == 1 ? 0.3 : static_cast<double>(k) / static_cast<double>(steps - 1)};
  }
  Series missed{.kind = Kind::cells, .name = ride ? "bound passed" : "not met", .fill = Fill::hatch_up};
  Series unsure{.kind = Kind::cells, .name = "met by the best-estimate soil, not by the 95 % next point", .fill = Fill::dots};
  Series immobile{.kind = Kind::cells, .fill = Fill::hatch_down}, absent{.kind = Kind::cells, .fill = Fill::crossed};
  std::vector<std::string> whys;
  for (std::size_t i = 0; i < across.v.steps; ++i) {
    for (std::size_t j = 0; j < up.v.steps; ++j) {
      const p::StudyCell& c = st.at(i, j);
      const double x = static_cast<double>(i), y = static_cast<double>(j);
      const auto add = [&](Series& s, const std::string& text) {
        s.x.push_back(across.at(x)), s.x_lo.push_back(across.at(x - 0.5)), s.x_hi.push_back(across.at(x + 0.5));
        s.y.push_back(up.at(y)), s.y_lo.push_back(up.at(y - 0.5)), s.y_hi.push_back(up.at(y + 0.5));
        s.text.push_back(text);
      };
      switch (state_of(st, c)) {
        case State::none: {
          const std::string why = c.why_not.empty() ? units::kNoValue : c.why_not;
          if (std::find(whys.begin(), whys.end(), why) == whys.end()) whys.push_back(why);
          add(absent, "");
          break;
        }
        case State::word:
          immobile.name = value_text(st, unit, c.outcome.centre);
          add(immobile, letter_of(c));
          break;
        case State::valued: {
          const double v = shown(c);
          const auto above = std::upper_bound(bounds.begin(), bounds.end(), v);
          const std::size_t step = std::min<std::size_t>(steps - 1, static_cast<std::size_t>(std::max<std::ptrdiff_t>(1, above - bounds.begin())) - 1);
          const std::string letter = letter_of(c);
          add(shades[step], (margins ? margin_of(st, unit, c) : value_text(st, unit, c.outcome.centre)) + (letter.empty() ? "" : " " + letter));
          const auto low = st.margin_low(c);
          if (judged && *st.margin(c.outcome.centre) < 0) add(missed, "");
          else if (judged && low && *low < 0) add(unsure, "");
          break;
        }
      }
    }
  }
  for (Series* s : {&missed, &unsure}) s->text.clear();
  absent.name = whys.size() == 1 && whys[0].size() <= kLongWhy ? (whys[0] == units::kNoValue ? whys[0] : "no value: " + whys[0]) : "no value, reasons in the table";

  const std::string of_unit = unit.spelling == "1" ? "" : " (" + unit.spelling + ")";
  const std::string needed = margins ? units::print_in(*st.needed, unit) + (p::more_is_better(st.quantity) ? " or more" : " or less") : "";
  Panel panel{.heading = margins ? "Margin" + of_unit + " to what is needed, " + needed : short_name(st.quantity) + of_unit, .x = across.axis(), .y = up.axis(), .empty_reason = "no cell has a value"};
  for (Series& s : shades) panel.series.push_back(std::move(s));
  for (Series* s : {&missed, &unsure, &immobile, &absent}) {
    if (!s->x.empty()) panel.series.push_back(std::move(*s));
  }
  const auto inside = [&](std::size_t k, const Side& side) { return st.present[k] && side.holds(*st.present[k]); };
  if (inside(0, across) && inside(1, up)) {
    const double x = across.unit(*st.present[0]), y = up.unit(*st.present[1]);
    panel.series.push_back({.kind = Kind::points, .x = {x}, .y = {y}, .style = 0, .marker = Marker{Shape::circle, true}});
    panel.notes.push_back({x, y, "as it is"});
  } else {
    if (inside(0, across) && !st.present[1]) panel.references.push_back({Along::x, across.unit(*st.present[0]), "as it is"});
    if (inside(1, up) && !st.present[0]) panel.references.push_back({Along::y, up.unit(*st.present[1]), "as it is"});
  }
  Figure f{.id = fmt::format("study-{}-map", number), .title = capital(p::name(st.quantity)) + " over " + p::name(st.variations[0].what) + " and " + p::name(st.variations[1].what) + ", " + pair_name(r, st.vehicle, st.zone)};
  f.panels.push_back(std::move(panel));
  f.caption = std::string(ride ? "What is left of the bound that is nearest, on hard ground; 1 at rest." : margins ? "Best-estimate soil; a positive margin meets what is needed." : "Best-estimate soil.") +
              (key.empty() ? "" : letters.empty() ? " Limited throughout by " + key + "." : " Limited by: " + key + ".");
  f.provenance = small_print(r, letters.empty() ? "" : "Limited by: " + key);
  return f;
}

}  // namespace hardpan::report::detail
