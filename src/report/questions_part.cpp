// SPDX-License-Identifier: Apache-2.0
// Results section: driving through a delay, vehicles against each other on common possible soils, studies.
#include <algorithm>
#include <cctype>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/questions.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using campaign::RemoteAnswer;
using campaign::StudyAnswer;
using campaign::VersusAnswer;

std::string capital(std::string text) {
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text;
}

std::string speed(const Sheet& s, double m_s) { return std::isfinite(m_s) ? s.print.value(m_s, kSpeed) : std::string("any"); }

Figure delay_figure(const campaign::Results& r, const RemoteAnswer& a) {
  Figure f{.id = "speed-delay-" + slug(a.vehicle) + "-" + slug(a.zone), .title = "Speed against delay, " + pair_name(r, a.vehicle, a.zone)};
  const InUnit unit{Printer(r.campaign.output_units).unit(a.fastest_m_s, kSpeed)};
  Panel panel{.x = {.label = "Delay, from a thing in view to the command that answers it", .unit = "s", .scale = Scale::log10}, .y = {.label = "Speed", .unit = unit.spelling(), .from_zero = true}};
  Series allowed{.kind = Kind::points, .name = "may be driven", .style = 0, .marker = Marker{Shape::circle, false}}, stopping{.kind = Kind::line, .name = "stops within sight", .style = 1},
      steering{.kind = Kind::line, .name = "holds the corridor", .style = 2}, waiting{.kind = Kind::line, .name = "drives a stretch and waits", .style = 3};
  for (const driving::DelayPoint& x : a.over_delay) {
    for (const auto& [series, v] : {std::pair{&allowed, x.speed.speed_m_s}, {&stopping, std::min(x.speed.stop_limited_m_s, a.fastest_m_s)}, {&steering, std::min(x.speed.steering.speed_m_s, a.fastest_m_s)}, {&waiting, x.speed.move_and_wait_m_s}}) {
      series->x.push_back(x.delay_s);
      series->y.push_back(unit(v));
    }
  }
  panel.series = {std::move(stopping), std::move(steering), std::move(waiting), std::move(allowed)};
  if (r.campaign.questions.remote) panel.references.push_back({Along::x, r.campaign.questions.remote->link.delay.total_s(), "this link"});
  panel.references.push_back({Along::y, unit(a.fastest_m_s), "the vehicle's own"});
  f.panels.push_back(std::move(panel));
  f.caption = "Driving on is held to the lowest of the vehicle's own speed, stopping and steering; where waiting between stretches is faster, that is done." +
              std::string(a.braking_low ? " Braking at the lower end of the next point." : " Braking of the best-estimate soil.");
  f.provenance = small_print(r, "");
  return f;
}

void remote(Sheet& s) {
  if (s.results.answers.remote.empty()) return;
  s.page.heading(3, "Driving through a delay", "remote");
  const auto& q = *s.results.campaign.questions.remote;
  s.page.paragraph(fmt::format("Sight {}, delay {}, corridor {}. Upper bounds for a rested driver who sees well; an independent brake and a stop on loss of link are needed at any speed.", s.print.value(q.sight_m, kLength),
                               s.print.value(q.link.delay.total_s(), Measure{units::Dimension::time}), s.print.value(q.corridor_m, kLength)));
  Grid g{.caption = "Speed through the campaign's own link", .columns = {"Vehicle and ground", "May be driven", "Limited by", "Stops within sight", "Holds the corridor", "Drives and waits", "Braking over load"}, .right = "lrlrrrr"};
  for (const RemoteAnswer& a : s.results.answers.remote) {
    if (!a.why_not.empty()) {
      g.rows.push_back({pair_name(s.results, a.vehicle, a.zone), "-", a.why_not, "-", "-", "-", "-"});
      continue;
    }
    g.rows.push_back({pair_name(s.results, a.vehicle, a.zone), speed(s, a.at_delay.speed_m_s), driving::name(a.at_delay.limited_by), speed(s, a.at_delay.stop_limited_m_s), speed(s, a.at_delay.steering.speed_m_s), speed(s, a.at_delay.move_and_wait_m_s),
                      fmt::format("{:.2f}{}", a.braking_coefficient, a.braking_low ? fmt::format(", low {:.2f}", *a.braking_low) : "")});
  }
  g.note = "Braking: tangent of the steepest descent that the brakes hold on this ground, no more than its own friction; speeds take the lower end of the next point where there is one. Own speed from the drives, or campaign.toml.";
  s.page.table(g);
  for (const RemoteAnswer& a : s.results.answers.remote) {
    if (!a.why_not.empty()) continue;
    s.page.figure(delay_figure(s.results, a));
    Grid t{.caption = "Speed against delay, " + pair_name(s.results, a.vehicle, a.zone), .columns = {"Delay", "May be driven", "Limited by", "Stops within sight", "Holds the corridor", "Drives and waits"}, .right = "rrlrrr"};
    if (!a.over_delay_best.empty()) t.columns.push_back("Best-estimate braking"), t.right += "r";
    for (std::size_t k = 0; k < a.over_delay.size(); ++k) {
      const driving::DelayPoint& x = a.over_delay[k];
      t.rows.push_back({s.print.value(x.delay_s, Measure{units::Dimension::time}), speed(s, x.speed.speed_m_s), driving::name(x.speed.limited_by), speed(s, x.speed.stop_limited_m_s), speed(s, x.speed.steering.speed_m_s), speed(s, x.speed.move_and_wait_m_s)});
      if (!a.over_delay_best.empty()) t.rows.back().push_back(speed(s, a.over_delay_best[k].speed.speed_m_s));
    }
    s.page.table(t);
  }
}

Measure measure_of(p::Compared quantity) {
  switch (quantity) {
    case p::Compared::gradient_working:
    case p::Compared::gradient_maximum: return kGradient;
    case p::Compared::descent: return kAngle;
    case p::Compared::sinkage_20: return kSinkage;
    case p::Compared::energy_level: return kEnergy;
    case p::Compared::pull_20: return kPullCoefficient;
    case p::Compared::towed_resistance: return kNumber;
  }
  return kNumber;
}

// Nothing without possible soils.
std::optional<Figure> better_figure(const campaign::Results& r, const VersusAnswer& a) {
  Figure f{.id = "better-" + slug(a.a) + "-" + slug(a.b) + "-" + slug(a.zone), .title = "Share of possible soils on which " + vehicle_name(r, a.a) + " is the better"};
  Panel panel{.x = {.label = "Share of possible soils", .unit = "%", .min = 0, .max = 100}, .y = {.scale = Scale::category}, .legend = false};
  Series bars{.kind = Kind::bars, .style = 0, .fill = Fill::tint};
  for (const campaign::VersusRow& row : a.rows) {
    if (!row.a_better_ratio) continue;
    panel.y.categories.push_back(p::name(row.quantity));
    bars.x.push_back(100 * *row.a_better_ratio);
    bars.y.push_back(static_cast<double>(bars.y.size()));
    bars.text.push_back(fmt::format("{:.0f} %", 100 * *row.a_better_ratio));
  }
  if (bars.x.empty()) return std::nullopt;
  panel.series.push_back(std::move(bars));
  panel.references.push_back({Along::x, 50, "neither"});
  f.panels.push_back(std::move(panel));
  f.caption = "By quantity, over next points; where less is better, less counts as better.";
  f.provenance = small_print(r, "");
  return f;
}

void versus(Sheet& s) {
  for (const VersusAnswer& a : s.results.answers.versus) {
    const std::string first = vehicle_name(s.results, a.a), second = vehicle_name(s.results, a.b);
    s.page.heading(3, first + " against " + second + " on " + zone_name(s.results, a.zone), "compare-" + slug(a.a) + "-" + slug(a.b) + "-" + slug(a.zone));
    if (!a.why_not.empty()) {
      s.page.paragraph("Not compared: " + a.why_not + ".");
      continue;
    }
    Grid g{.caption = "Paired over the same possible soils", .columns = {"Quantity", first, second, "First less second", "95 % average ground", "95 % next point", "First is better"}, .right = "lrrrrrr"};
    for (const campaign::VersusRow& row : a.rows) {
      const Measure m = measure_of(row.quantity);
      // A difference of two immobilised values has no word of its own.
      const Measure plain{m.dimension, m.percent, Special::none};
      const Printed d = s.print.estimate(row.difference, plain);
      g.rows.push_back({std::string(p::name(row.quantity)) + (p::more_is_better(row.quantity) ? "" : " (less is better)"), s.print.estimate(row.a, m).value, s.print.estimate(row.b, m).value, d.value, d.average_ground, d.next_point,
                        row.a_better_ratio ? fmt::format("{:.0f} %", 100 * *row.a_better_ratio) : "-"});
    }
    const std::size_t draws = a.rows.empty() ? 0 : a.rows.front().draws;
    g.note = draws > 0 ? "Both meet the same " + plural(draws, "possible soil") + "; what they share drops out of the difference. Ties count half." : "No share and no interval: " + a.reason_without + ".";
    s.page.table(g);
    if (const auto f = better_figure(s.results, a)) s.page.figure(*f);
  }
}

Measure measure_of(p::Varied what) {
  switch (what) {
    case p::Varied::wheel_diameter:
    case p::Varied::wheel_width: return kLength;
    case p::Varied::wheel_stiffness: return Measure{units::Dimension::stiffness};
    case p::Varied::mass: return kMass;
    case p::Varied::slip: return kShare;
  }
  return kNumber;
}

std::string varied_text(const Printer& print, p::Varied what, double si) { return print.value(si, measure_of(what), 3); }

InUnit axis_unit(const Printer& print, p::Varied what, double largest_si) {
  if (what == p::Varied::slip) return {*units::find_unit("%")};
  return {print.unit(largest_si, measure_of(what))};
}

Figure study_figure(const campaign::Results& r, const p::Study& st, std::size_t number) {
  const Printer print(r.campaign.output_units);
  Figure f{.id = fmt::format("study-{}", number), .title = capital(p::name(st.quantity)) + " against " + p::name(st.variations[0].what) + ", " + pair_name(r, st.vehicle, st.zone)};
  const Measure m = st.quantity == p::Studied::pull_at_slip ? kPullCoefficient : kGradient;
  const p::Variation& first = st.variations[0];
  const InUnit x = axis_unit(print, first.what, first.to);
  std::vector<double> all;
  for (const p::StudyCell& c : st.cells) all.push_back(c.why_not.empty() ? c.outcome.centre : 0);
  const InUnit y{print.common(all, m)};
  Panel panel{.x = {.label = capital(p::name(first.what)), .unit = x.spelling()}, .y = {.label = st.quantity == p::Studied::pull_at_slip ? "Pull coefficient" : "Maximum gradient", .unit = y.spelling()}};
  const bool two = st.variations.size() == 2;
  // Six inks, dashes and markers at the most: of more values, six evenly spread.
  const std::size_t inner = two ? st.variations[1].steps : 1, lines = std::min<std::size_t>(inner, 6);
  for (std::size_t l = 0; l < lines; ++l) {
    const std::size_t j = lines == 1 ? 0 : (l * (inner - 1) + (lines - 1) / 2) / (lines - 1);
    Series line{.kind = Kind::line, .name = two ? std::string(p::name(st.variations[1].what)) + " " + varied_text(print, st.variations[1].what, st.variations[1].value(j)) : "best-estimate soil", .style = l};
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
  f.panels.push_back(std::move(panel));
  f.caption = two ? "Best-estimate soil; the table gives the lower end of the next point." : "Everything else as it is.";
  f.provenance = small_print(r, "");
  return f;
}

void study(Sheet& s, const StudyAnswer& a, std::size_t number) {
  if (!a.study) {
    s.page.paragraph("Study of " + pair_name(s.results, a.vehicle, a.zone) + ": not computed, " + a.why_not + ".");
    return;
  }
  const p::Study& st = *a.study;
  const Measure m = st.quantity == p::Studied::pull_at_slip ? kPullCoefficient : kGradient;
  s.page.figure(study_figure(s.results, st, number));
  if (st.variations.size() == 1) {
    Grid g{.caption = std::string(p::name(st.quantity)) + " against " + p::name(st.variations[0].what), .columns = {p::name(st.variations[0].what), "Best-estimate soil", "95 % average ground", "95 % next point", "Limited by"}, .right = "rrrrl"};
    for (const p::StudyCell& c : st.cells) {
      const std::string at = varied_text(s.print, st.variations[0].what, c.values[0]);
      if (!c.why_not.empty()) {
        g.rows.push_back({at, "-", "-", "-", c.why_not});
        continue;
      }
      const Printed v = s.print.estimate(c.outcome.estimate, m);
      g.rows.push_back({at, v.value, v.average_ground, v.next_point, p::name(c.outcome.centre_factor)});
    }
    s.page.table(g);
    return;
  }
  Grid g{.caption = std::string(p::name(st.quantity)) + ": " + p::name(st.variations[0].what) + " down, " + p::name(st.variations[1].what) + " across", .columns = {""}, .right = "r"};
  for (std::size_t j = 0; j < st.variations[1].steps; ++j) {
    g.columns.push_back(varied_text(s.print, st.variations[1].what, st.variations[1].value(j)));
    g.right += "r";
  }
  std::vector<std::string> whys;
  for (std::size_t i = 0; i < st.variations[0].steps; ++i) {
    g.rows.push_back({varied_text(s.print, st.variations[0].what, st.variations[0].value(i))});
    for (std::size_t j = 0; j < st.variations[1].steps; ++j) {
      const p::StudyCell& c = st.at(i, j);
      if (!c.why_not.empty()) {
        g.rows.back().push_back("-");
        if (std::find(whys.begin(), whys.end(), c.why_not) == whys.end()) whys.push_back(c.why_not);
        continue;
      }
      const auto& next = c.outcome.estimate.next_point;
      g.rows.back().push_back(s.print.value(c.outcome.centre, m) + (next ? " (" + s.print.value(next->lo, m) + ")" : "") +
                                (c.outcome.centre_factor == p::LimitingFactor::traction || c.outcome.centre_factor == p::LimitingFactor::none ? "" : std::string(", ") + p::name(c.outcome.centre_factor)));
    }
  }
  g.note = std::string(st.reason_without.empty() ? "Best-estimate soil, in brackets the lower end of the next point; what limits it where that is not traction." : "Best-estimate soil; no interval: " + st.reason_without + ".") + (whys.empty() ? "" : " Where there is no value: " + joined(whys, "; ") + ".");
  s.page.table(g);
}

}  // namespace

std::vector<Figure> remote_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (const RemoteAnswer& a : r.answers.remote) {
    if (a.why_not.empty()) out.push_back(delay_figure(r, a));
  }
  return out;
}
std::vector<Figure> versus_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (const VersusAnswer& a : r.answers.versus) {
    if (auto f = better_figure(r, a)) out.push_back(std::move(*f));
  }
  return out;
}
std::vector<Figure> study_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (std::size_t k = 0; k < r.answers.studies.size(); ++k) {
    if (r.answers.studies[k].study) out.push_back(study_figure(r, *r.answers.studies[k].study, k + 1));
  }
  return out;
}

void questions_part(Sheet& s) {
  remote(s);
  ride_part(s);
  speed_part(s);
  turn_part(s);
  boulders_part(s);
  endurance_part(s);
  gravity_part(s);
  versus(s);
  if (!s.results.answers.studies.empty()) s.page.heading(3, "Studies", "studies");
  for (std::size_t k = 0; k < s.results.answers.studies.size(); ++k) study(s, s.results.answers.studies[k], k + 1);
}

}  // namespace hardpan::report::detail
