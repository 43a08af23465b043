// SPDX-License-Identifier: Apache-2.0
// Results section: one or two parameters of a vehicle swept.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/questions.hpp"
#include "report/detail/study_words.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {
namespace p = performance;

// The low end is a vehicle that does not travel: no number to count a margin from.
bool low_without_travel(const p::Study& st, const p::StudyCell& c) {
  const auto& next = c.outcome.estimate.next_point;
  return c.why_not.empty() && next && !Printer::word(next->lo, measure_of(st.quantity)).empty() && std::isfinite(next->lo);
}

Figure figure_of(const campaign::Results& r, const p::Study& st, std::size_t number) {
  const Printer print(r.campaign.output_units);
  Figure f{.id = fmt::format("study-{}", number), .title = capital(p::name(st.quantity)) + " against " + p::name(st.variations[0].what) + ", " + pair_name(r, st.vehicle, st.zone)};
  const Measure m = measure_of(st.quantity);
  const p::Variation& first = st.variations[0];
  const InUnit x{unit_of(print, first)}, y{unit_of(print, st)};
  Panel panel{.x = {.label = capital(p::name(first.what)), .unit = x.spelling()}, .y = {.label = short_name(st.quantity), .unit = y.spelling()}};
  const bool two = st.variations.size() == 2;
  // Six inks, dashes and markers at the most: of more values, six evenly spread.
  const std::size_t inner = two ? st.variations[1].steps : 1, lines = std::min<std::size_t>(inner, 6);
  for (std::size_t l = 0; l < lines; ++l) {
    const std::size_t j = lines == 1 ? 0 : (l * (inner - 1) + (lines - 1) / 2) / (lines - 1);
    const char* alone = st.quantity == p::Studied::ride_margin ? "margin" : "best-estimate soil";
    Series line{.kind = Kind::line, .name = two ? std::string(p::name(st.variations[1].what)) + " " + text_of(print, st.variations[1], st.variations[1].value(j)) : alone, .style = l};
    BandSeries average, next;
    for (std::size_t i = 0; i < first.steps; ++i) {
      const p::StudyCell& c = st.at(i, j);
      if (!c.why_not.empty()) continue;
      const double at = x(c.values[0]);
      next.add(at, c.outcome.estimate.next_point, m, y);
      average.add(at, c.outcome.estimate.average_ground, m, y);
      if (!Printer::word(c.outcome.centre, m).empty()) continue;
      line.x.push_back(at);
      line.y.push_back(y(c.outcome.centre));
    }
    if (!two) add_bands(panel, std::move(next), std::move(average));
    panel.series.push_back(std::move(line));
  }
  if (st.present[0] && *st.present[0] >= first.from && *st.present[0] <= first.to) panel.references.push_back({Along::x, x(*st.present[0]), "as it is"});
  if (st.quantity == p::Studied::ride_margin) panel.references.push_back({Along::y, 0, "bound reached"});
  if (st.needed) panel.references.push_back({Along::y, y(*st.needed), "needed"});
  f.panels.push_back(std::move(panel));
  f.caption = st.quantity == p::Studied::ride_margin ? "What is left of the bound that is nearest, on hard ground; below 0 a wheel leaves the ground or a stated bound is passed."
              : two                                  ? "Best-estimate soil; the table gives the lower end of the next point and what limits each."
                                                     : "Everything else as it is.";
  f.provenance = small_print(r, "");
  return f;
}

std::string low_of(const p::Study& st, const p::StudyCell& c, const units::Unit& unit) {
  const auto& next = c.outcome.estimate.next_point;
  return next ? " (" + value_text(st, unit, p::more_is_better(st.quantity) ? next->lo : next->hi) + ")" : "";
}

// "as it is" with every cell told alike.
std::string as_it_is(const Printer& print, const p::Study& st, const units::Unit& unit) {
  std::string out = "As it is (";
  for (std::size_t k = 0; k < st.variations.size(); ++k) {
    out += (k > 0 ? ", " : "") + std::string(p::name(st.variations[k].what)) + " " + (st.present[k] ? text_of(print, st.variations[k], *st.present[k]) : st.variations[k].what == p::Varied::speed ? "not stated" : "not one value");
  }
  const p::StudyCell& c = st.as_it_is;
  out += "): ";
  if (!c.why_not.empty()) return out + c.why_not;
  const std::string spelling = unit.spelling == "1" || !Printer::word(c.outcome.centre, measure_of(st.quantity)).empty() ? "" : " " + unit.spelling;
  out += value_text(st, unit, c.outcome.centre) + spelling;
  if (const auto& next = c.outcome.estimate.next_point) out += std::string(", next point ") + value_text(st, unit, p::more_is_better(st.quantity) ? next->lo : next->hi) + (p::more_is_better(st.quantity) ? " or more" : " or less");
  return out + ", " + c.limited_by;
}

void study(Sheet& s, const campaign::StudyAnswer& a, std::size_t number) {
  if (!a.study) {
    s.page.paragraph("Study of " + pair_name(s.results, a.vehicle, a.zone) + ": not computed, " + a.why_not + ".", "missing");
    return;
  }
  const p::Study& st = *a.study;
  const Measure m = measure_of(st.quantity);
  const units::Unit unit = unit_of(s.print, st);
  s.page.figure(figure_of(s.results, st, number));
  if (st.variations.size() == 2) s.page.figure(study_map(s.results, st, number));
  std::vector<std::string> notes{as_it_is(s.print, st, unit)};
  if (st.speed_m_s && std::none_of(st.variations.begin(), st.variations.end(), [](const p::Variation& v) { return v.what == p::Varied::speed; })) notes.push_back("Driven at " + s.print.value(*st.speed_m_s, kSpeed));
  if (st.needed) notes.push_back(std::string("Needed: ") + units::print_in(*st.needed, unit) + (p::more_is_better(st.quantity) ? " or more" : " or less"));
  if (st.quantity == p::Studied::ride_margin) notes.push_back("Hard ground: no soil enters, no interval");
  else if (!st.reason_without.empty()) notes.push_back("Best-estimate soil, no interval: " + st.reason_without);
  const bool margins = st.needed.has_value();
  const std::string of_unit = unit.spelling == "1" ? "" : " (" + unit.spelling + ")";
  if (st.variations.size() == 1) {
    Grid g{.caption = capital(p::name(st.quantity)) + " against " + p::name(st.variations[0].what) + ", " + pair_name(s.results, st.vehicle, st.zone), .columns = {capital(p::name(st.variations[0].what)), st.quantity == p::Studied::ride_margin ? "Margin" : "Best-estimate soil", "95 % average ground", "95 % next point"}, .right = "rrrr"};
    if (margins) g.columns.insert(g.columns.end(), {"Margin" + of_unit, "Margin, next point" + of_unit}), g.right += "rr";
    g.columns.push_back("Limited by");
    g.right += "l";
    for (const p::StudyCell& c : st.cells) {
      std::vector<std::string> row{text_of(s.print, st.variations[0], c.values[0])};
      const Printed v = c.why_not.empty() ? Printer::estimate_in(c.outcome.estimate, unit, m) : Printed{"-", "-", "-"};
      for (const std::string& text : {v.value, v.average_ground, v.next_point}) row.push_back(spoken(st, text));
      if (margins) row.push_back(margin_of(st, unit, c)), row.push_back(low_without_travel(st, c) ? "missed" : margin_text(st, unit, c.why_not.empty() ? st.margin_low(c) : std::nullopt));
      row.push_back(c.why_not.empty() ? c.limited_by : c.why_not);
      g.rows.push_back(std::move(row));
    }
    g.note = joined(notes, ". ") + ".";
    s.page.table(g);
    return;
  }
  Grid g{.caption = capital(p::name(st.quantity)) + of_unit + ", " + pair_name(s.results, st.vehicle, st.zone) + ": " + p::name(st.variations[0].what) + " down, " + p::name(st.variations[1].what) + " across", .columns = {""}, .right = "r", .in_blocks = true};
  for (std::size_t j = 0; j < st.variations[1].steps; ++j) {
    g.columns.push_back(text_of(s.print, st.variations[1], st.variations[1].value(j)));
    g.right += "r";
  }
  std::vector<std::string> whys;
  for (std::size_t i = 0; i < st.variations[0].steps; ++i) {
    g.rows.push_back({text_of(s.print, st.variations[0], st.variations[0].value(i))});
    for (std::size_t j = 0; j < st.variations[1].steps; ++j) {
      const p::StudyCell& c = st.at(i, j);
      if (!c.why_not.empty()) {
        g.rows.back().push_back("-");
        if (std::find(whys.begin(), whys.end(), c.why_not) == whys.end()) whys.push_back(c.why_not);
        continue;
      }
      const bool plain = Printer::word(c.outcome.centre, m).empty();
      g.rows.back().push_back(value_text(st, unit, c.outcome.centre) + (plain ? low_of(st, c, unit) + (margins ? ", margin " + margin_of(st, unit, c) : "") : "") + ", " + c.limited_by);
    }
  }
  if (st.reason_without.empty()) notes.push_back(std::string("Best-estimate soil, in brackets the ") + (p::more_is_better(st.quantity) ? "lower" : "upper") + " end of the next point, then what limits it");
  else notes.push_back("Each value with what limits it");
  if (!whys.empty()) notes.push_back("Where there is no value: " + joined(whys, "; "));
  g.note = joined(notes, ". ") + ".";
  s.page.table(g);
}

}  // namespace

void studies_part(Sheet& s) {
  const auto& studies = s.results.answers.studies;
  if (!studies.empty()) s.page.heading(3, "Studies", "studies");
  for (std::size_t k = 0; k < studies.size(); ++k) study(s, studies[k], k + 1);
}

std::vector<Figure> study_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (std::size_t k = 0; k < r.answers.studies.size(); ++k) {
    if (!r.answers.studies[k].study) continue;
    out.push_back(figure_of(r, *r.answers.studies[k].study, k + 1));
    if (r.answers.studies[k].study->variations.size() == 2) out.push_back(study_map(r, *r.answers.studies[k].study, k + 1));
  }
  return out;
}

io::Table study_table(const campaign::Results& r) {
  io::Table t{.name = "studies", .title = "Parameters of a vehicle varied", .columns = {{"study", ""}, {"vehicle", ""}, {"zone", ""}, {"variant", ""}, {"first parameter", ""}, {"unit of the first", ""}, {"first value", ""}, {"second parameter", ""}, {"unit of the second", ""}, {"second value", ""}, {"quantity", ""}, {"unit", ""}}};
  estimate_columns(t.columns, "value");
  for (const char* of : {"needed", "margin", "margin, next point low", "limited by", "status"}) t.columns.push_back({of, ""});
  for (std::size_t k = 0; k < r.answers.studies.size(); ++k) {
    if (!r.answers.studies[k].study) continue;
    const p::Study& st = *r.answers.studies[k].study;
    const bool two = st.variations.size() == 2;
    const RowUnit unit = st.quantity == p::Studied::pull_at_slip ? kPullUnit : row_unit(p::unit(st.quantity));
    const auto add = [&](const char* variant, const p::StudyCell& c) {
      Row row{count(k + 1), cell(st.vehicle), cell(st.zone), cell(variant), cell(p::name(st.variations[0].what)), cell(row_unit(p::unit(st.variations[0].what)).name), cell(c.values[0])};
      row.push_back(two ? cell(p::name(st.variations[1].what)) : io::TableCell{});
      row.push_back(two ? cell(row_unit(p::unit(st.variations[1].what)).name) : io::TableCell{});
      row.push_back(two ? cell(c.values[1]) : io::TableCell{});
      row.push_back(cell(p::name(st.quantity)));
      row.push_back(cell(unit.name));
      const std::size_t values = row.size();
      const bool there = c.why_not.empty();
      estimate_cells(row, there ? c.outcome.estimate : math::Estimate{}, unit);
      for (std::size_t i = values; i < row.size(); ++i) {
        if (auto* word = std::get_if<std::string>(&row[i])) *word = spoken(st, *word);
      }
      const auto margin = [&](const std::optional<double>& m) { return there && m && std::isfinite(*m) && Printer::word(c.outcome.centre, measure_of(st.quantity)).empty() ? cell(*m * unit.per_si) : io::TableCell{}; };
      row.push_back(st.needed ? cell(*st.needed * unit.per_si) : io::TableCell{});
      row.push_back(margin(st.margin(c.outcome.centre)));
      row.push_back(low_without_travel(st, c) ? io::TableCell{} : margin(st.margin_low(c)));
      row.push_back(there ? cell(c.limited_by) : io::TableCell{});
      row.push_back(cell(there ? std::string("ok") : c.why_not));
      t.rows.push_back(std::move(row));
    };
    add("as it is", st.as_it_is);
    for (const p::StudyCell& c : st.cells) add("varied", c);
  }
  return t;
}

}  // namespace hardpan::report::detail
