// SPDX-License-Identifier: Apache-2.0
// Results section: how tightly vehicles turn on the ground of a zone.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/questions.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using campaign::TurnAnswer;

constexpr Measure kRadius{units::Dimension::length, false, Special::infinite_is_immobilised};
constexpr Measure kPower{units::Dimension::power};

std::string case_words(const Printer& print, const TurnAnswer& a) {
  const p::TurnCase& turn = a.asked.question.turn;
  std::string out = std::string("To the ") + (a.asked.to_right ? "right" : "left");
  if (turn.gradient_rad > 0) out += ", on " + print.value(turn.gradient_rad, kAngle) + ", heading " + print.value(turn.heading_rad, kAngle) + " left of uphill";
  else out += ", on the level";
  if (turn.crest) out += ", over a crest that falls " + print.value(turn.crest->fall_rad, kAngle) + " on either side, its line at " + print.value(turn.crest->line_rad, kAngle) + " to the vehicle";
  if (turn.speed_m_s > 0) out += ", at " + print.value(turn.speed_m_s, kSpeed);
  return out;
}

Figure turn_figure(const campaign::Results& r, const TurnAnswer& a, std::size_t number) {
  const p::TurnOverSoils& t = *a.over_soils;
  const Printer print(r.campaign.output_units);
  Figure f{.id = fmt::format("turning-{}-{}-{}", slug(a.vehicle), slug(a.zone), number), .title = "Torque and work against radius, " + pair_name(r, a.vehicle, a.zone)};
  std::vector<double> radii, torques, works;
  for (const p::TurnRadius& x : t.radii) {
    if (x.radius_m == 0) continue;
    radii.push_back(std::abs(x.radius_m));
    if (std::isfinite(x.torque_n_m.value)) torques.push_back(x.torque_n_m.value);
    if (std::isfinite(x.work_j_per_m.value)) works.push_back(x.work_j_per_m.value);
  }
  const InUnit along{print.common(radii, kLength)}, torque{print.common(torques, kTorque)}, work{print.common(works, kEnergy)};
  Panel panels[] = {{.x = {.label = "Radius of the turn", .unit = along.spelling(), .scale = Scale::log10}, .y = {.label = "Largest torque of a wheel", .unit = torque.spelling(), .from_zero = true}},
                    {.x = {.label = "Radius of the turn", .unit = along.spelling(), .scale = Scale::log10}, .y = {.label = "Work over distance, all wheels", .unit = work.spelling(), .from_zero = true}, .legend = false}};
  std::vector<const p::TurnRadius*> rising;
  for (const p::TurnRadius& x : t.radii) {
    if (x.radius_m != 0) rising.push_back(&x);
  }
  std::sort(rising.begin(), rising.end(), [](const auto* x, const auto* y) { return std::abs(x->radius_m) < std::abs(y->radius_m); });
  std::size_t cut = 0;
  for (int k = 0; k < 2; ++k) {
    BandSeries next;
    Series line{.kind = Kind::line, .name = "best-estimate soil", .style = 0}, points{.kind = Kind::points, .name = "goes", .style = 0, .marker = Marker{Shape::go, false}}, fails{.kind = Kind::points, .name = "beyond a limit", .style = 1, .marker = Marker{Shape::no_go, false}};
    for (const p::TurnRadius* x : rising) {
      const math::Estimate& e = k == 0 ? x->torque_n_m : x->work_j_per_m;
      const InUnit& y = k == 0 ? torque : work;
      next.add(along(std::abs(x->radius_m)), e.next_point, kWheelTorque, y);
      if (!std::isfinite(e.value)) continue;
      line.x.push_back(along(std::abs(x->radius_m)));
      line.y.push_back(y(e.value));
      Series& mark = x->limit == p::TurnLimit::none ? points : fails;
      mark.x.push_back(line.x.back());
      mark.y.push_back(line.y.back());
    }
    cut = std::max(cut, next.cut);
    next.series.name = "95 % next point";
    next.series.style = 0;
    next.series.fill = Fill::dots;
    if (next.series.x.size() > 1) panels[k].series.push_back(std::move(next.series));
    panels[k].series.push_back(std::move(line));
    for (Series* mark : {&points, &fails}) {
      if (!mark->x.empty()) panels[k].series.push_back(std::move(*mark));
    }
    if (std::isfinite(t.smallest_m.value) && t.smallest_m.value > 0) panels[k].references.push_back({Along::x, along(t.smallest_m.value), k == 0 ? "smallest that goes" : ""});
    f.panels.push_back(std::move(panels[k]));
  }
  f.shared_x = true;
  f.caption = case_words(print, a) + ". Steady and slow; of without and with slip sinkage the one of more work.";
  if (cut > 0) f.caption += " No band where at its upper end no torque turns the vehicle.";
  f.provenance = small_print(r, "");
  return f;
}

std::string stopped_by(const p::TurnRadius& x) {
  const std::string centre = x.limit == p::TurnLimit::none ? "goes" : p::name(x.limit);
  for (const auto& [limit, share] : x.limits) {
    if (limit != p::TurnLimit::none && limit != x.limit && share >= 0.01) return fmt::format("{}; of next points {:.0f} %: {}", centre, 100 * share, p::name(limit));
  }
  return centre;
}

void turn(Sheet& s, const TurnAnswer& a, std::size_t number) {
  s.page.heading(4, pair_name(s.results, a.vehicle, a.zone));
  if (!a.over_soils) {
    s.page.paragraph("Not computed: " + a.why_not + ".", "missing");
    return;
  }
  const p::TurnOverSoils& t = *a.over_soils;
  const bool powered = a.asked.question.turn.speed_m_s > 0;
  const bool spot = std::isnan(t.centre.fails_m) && t.centre.limit == p::TurnLimit::none;
  std::vector<std::string> limits;
  for (const auto& [limit, share] : t.limits) limits.push_back(std::string(limit == p::TurnLimit::none ? "none" : p::name(limit)) + fmt::format(" {:.0f} %", 100 * share));
  std::vector<std::pair<std::string, std::string>> rows{{"Asked", case_words(s.print, a)}, {"Smallest radius by geometry", a.smallest.radius_m == 0 ? "turns on the spot" : s.print.value(std::abs(a.smallest.radius_m), kLength)},
                                                        {"Smallest radius on this ground", t.centre.limit == p::TurnLimit::not_converged ? std::string("no numerical answer") : spot && t.smallest_m.value == 0 ? "turns on the spot" : s.print.with_next_point(t.smallest_m, kRadius)},
                                                        {"Stopped by", t.centre.limit == p::TurnLimit::none ? "nothing" : p::name(t.centre.limit)}};
  if (t.draws > 0) rows.push_back({"Over the next points of " + plural(t.draws, "possible soil"), joined(limits)});
  else rows.push_back({"No interval", t.reason_without});
  s.page.terms(rows);
  Grid g{.caption = "Turning, " + pair_name(s.results, a.vehicle, a.zone), .columns = {"Radius", "Largest torque of a wheel", "95 % next point", "Work over distance", "95 % next point", "Share that goes", "Stopped by"}, .right = "rrrrrrl"};
  if (powered) {
    g.columns.insert(g.columns.begin() + 5, "Power");
    g.right.insert(g.right.begin() + 5, 'r');
  }
  for (const p::TurnRadius& x : t.radii) {
    const Printed torque = s.print.estimate(x.torque_n_m, kWheelTorque), work = s.print.estimate(x.work_j_per_m, kEnergy);
    std::vector<std::string> row{x.radius_m == 0 ? "on the spot" : s.print.value(std::abs(x.radius_m), kLength), torque.value, torque.next_point, x.radius_m == 0 ? "-" : work.value, x.radius_m == 0 ? "-" : work.next_point};
    if (powered) row.push_back(s.print.value(x.work_j_per_m.value * a.asked.question.turn.speed_m_s, kPower));
    row.push_back(s.print.value(x.goes_ratio, kShare, 2));
    row.push_back(stopped_by(x));
    g.rows.push_back(std::move(row));
  }
  g.note = "Immobilised: no torque turns it so tightly there. Share: within steering, torque and power. Stopped by: the best-estimate soil, and where soils differ the most frequent limit of the next points. Work of all wheels, braking ones negative. One soil under all wheels, none in another's rut. ";
  if (const vehicle::Vehicle* v = s.results.campaign.vehicle_by_id(a.vehicle); v && v->bodies.size() > 1) g.note += "Several bodies share the loads by their joints; none yaws but the one that steers. ";
  g.note += "Never turn across a slope near its limit.";
  s.page.table(g);
  s.page.figure(turn_figure(s.results, a, number));
}

}  // namespace

void turn_part(Sheet& s) {
  if (s.results.answers.turns.empty()) return;
  s.page.heading(3, "Turning", "turning");
  std::size_t number = 0;
  for (const TurnAnswer& a : s.results.answers.turns) turn(s, a, ++number);
}

std::vector<Figure> turning_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (std::size_t k = 0; k < r.answers.turns.size(); ++k) {
    if (r.answers.turns[k].over_soils) out.push_back(turn_figure(r, r.answers.turns[k], k + 1));
  }
  return out;
}

io::Table turning_table(const campaign::Results& r) {
  io::Table t{.name = "turning", .title = "Torque and work against radius on the ground of each zone", .columns = {{"vehicle", ""}, {"zone", ""}, {"side", ""}, {"gradient", "deg"}, {"heading", "deg"}, {"radius", "m"}}};
  estimate_columns(t.columns, "largest torque", "N m");
  estimate_columns(t.columns, "work over distance", "J/m");
  t.columns.push_back({"share that goes", "-"});
  t.columns.push_back({"stopped by", ""});
  for (const TurnAnswer& a : r.answers.turns) {
    if (!a.over_soils) continue;
    for (const p::TurnRadius& x : a.over_soils->radii) {
      Row row{cell(a.vehicle), cell(a.zone), cell(a.asked.to_right ? "right" : "left"), degrees(a.asked.question.turn.gradient_rad), degrees(a.asked.question.turn.heading_rad), cell(std::abs(x.radius_m))};
      estimate_cells(row, x.torque_n_m);
      estimate_cells(row, x.work_j_per_m);
      row.push_back(cell(x.goes_ratio));
      row.push_back(cell(x.limit == p::TurnLimit::none ? "goes" : p::name(x.limit)));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

}  // namespace hardpan::report::detail
