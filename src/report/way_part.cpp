// SPDX-License-Identifier: Apache-2.0
// Results section: how far a vehicle gets on a drive profile, and over ground with rocks.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/questions.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using campaign::BoulderAnswer;
using campaign::EnduranceAnswer;

constexpr Measure kTime{units::Dimension::time}, kEnergyTaken{units::Dimension::energy};

std::string way_name(const campaign::Results& r, const EnduranceAnswer& a) { return vehicle_name(r, a.vehicle) + (a.name.empty() ? "" : ", " + a.name); }
std::string row_name(const EnduranceAnswer& a, std::size_t i) { return a.rows[i].name.empty() ? fmt::format("stretch {}", i + 1) : a.rows[i].name; }

Figure charge_figure(const campaign::Results& r, const EnduranceAnswer& a, std::size_t number) {
  const p::Endurance& e = *a.endurance;
  Figure f{.id = fmt::format("charge-{}-{}", slug(a.vehicle), number), .title = "Charge left along the way, " + way_name(r, a)};
  double whole = 0;
  for (const p::TripRow& row : a.rows) whole += row.distance_m;
  const InUnit x{Printer(r.campaign.output_units).unit(whole, kLength)}, y{*units::find_unit("%")};
  Panel panel{.x = {.label = "Distance driven", .unit = x.spelling(), .from_zero = true}, .y = {.label = "Charge over usable energy", .unit = y.spelling(), .from_zero = true}};
  BandSeries next, average;
  Series line{.kind = Kind::line, .name = "best-estimate soils", .style = 0};
  line.x.push_back(0);
  line.y.push_back(y(a.settings.start_ratio));
  const math::Interval start{a.settings.start_ratio, a.settings.start_ratio};
  next.add(0, start, kShare, y);
  average.add(0, start, kShare, y);
  double at = 0;
  for (std::size_t i = 0; i < a.rows.size(); ++i) {
    at += a.rows[i].distance_m;
    next.add(x(at), e.charge_after[i].next_point, kShare, y);
    average.add(x(at), e.charge_after[i].average_ground, kShare, y);
    if (!std::isfinite(e.charge_after[i].value)) continue;
    line.x.push_back(x(at));
    line.y.push_back(y(e.charge_after[i].value));
  }
  add_bands(panel, std::move(next), std::move(average));
  panel.series.push_back(std::move(line));
  if (a.settings.reserve_ratio > 0) panel.references.push_back({Along::y, y(a.settings.reserve_ratio), "reserve"});
  f.panels.push_back(std::move(panel));
  f.caption = "At the end of each stretch, halts included; of the possible soils those that get there.";
  f.provenance = small_print(r, "");
  return f;
}

std::string limits_words(const EnduranceAnswer& a) {
  const p::Endurance& e = *a.endurance;
  if (e.draws == 0) return std::string("Best-estimate soils: ") + (e.centre.arrives() ? "arrives" : std::string("ended by ") + p::name(e.centre.stopped_by)) + ". No interval: " + e.reason_without + ".";
  std::vector<std::string> parts;
  for (const auto& [limit, share] : e.limits) parts.push_back(std::string(p::name(limit)) + fmt::format(" {:.0f} %", 100 * share));
  return "Of " + plural(e.draws, "possible soil") + ": " + joined(parts) + ".";
}

void trip(Sheet& s, const EnduranceAnswer& a, std::size_t number) {
  const std::string who = way_name(s.results, a);
  s.page.heading(4, who);
  if (!a.endurance) {
    s.page.paragraph("Not computed: " + a.why_not + ".", "missing");
    return;
  }
  const p::Endurance& e = *a.endurance;
  Grid whole{.caption = "The whole way, " + who, .columns = {"Quantity", "Best-estimate soils", "95 % average ground", "95 % next point"}, .right = "lrrr"};
  const auto row = [&](const char* name, const math::Estimate& of, Measure m) {
    const Printed v = s.print.estimate(of, m);
    whole.rows.push_back({name, v.value, v.average_ground, v.next_point});
  };
  row("Distance reached", e.distance_m, kLength);
  row("Energy of the whole way", e.energy_j, kEnergyTaken);
  row("Time of the whole way", e.time_s, kTime);
  math::Estimate margin = e.charge_after.back();
  margin.value -= a.settings.reserve_ratio;
  for (auto* i : {&margin.average_ground, &margin.next_point}) {
    if (*i) *i = math::Interval{(*i)->lo - a.settings.reserve_ratio, (*i)->hi - a.settings.reserve_ratio};
  }
  row("Charge left over the reserve, of those that arrive", margin, kShare);
  whole.rows.push_back({"Share that arrives", s.print.value(e.arrival_ratio, kShare, 2), "-", "-"});
  whole.note = "Battery " + s.print.value(a.battery_j, kEnergyTaken) + (a.temperature_k ? ", " + s.print.value(a.usable_ratio, kShare) + " of it at " + s.print.value(*a.temperature_k, Measure{units::Dimension::temperature}) : "") + ", reserve " + s.print.value(a.settings.reserve_ratio, kShare) +
               (a.settings.start_ratio < 1 ? ", charged to " + s.print.value(a.settings.start_ratio, kShare) : "") + ". " + limits_words(a);
  s.page.table(whole);
  Grid way{.caption = "Stretch by stretch, " + who, .columns = {"Stretch", "Zone", "Distance", "Gradient", "Speed", "Energy", "95 % next point"}, .right = "llrrrrr"};
  Grid after{.caption = "Time, charge and heat by stretch, " + who, .columns = {"Stretch", "Time", "95 % next point", "Charge after", "95 % next point", "Drive heat", "Stopped here"}, .right = "lrrrrrr"};
  for (std::size_t i = 0; i < a.rows.size(); ++i) {
    const Printed energy = s.print.estimate(e.row_energy_j[i], kEnergyTaken), time = s.print.estimate(e.row_time_s[i], kTime), charge = s.print.estimate(e.charge_after[i], kShare);
    const bool reached = i < e.centre.legs.size();
    const p::TripLeg leg = reached ? e.centre.legs[i] : p::TripLeg{};
    way.rows.push_back({row_name(a, i), a.zones[a.rows[i].ground], s.print.value(a.rows[i].distance_m, kLength), s.print.value(a.rows[i].gradient_rad, kAngle), reached && std::isfinite(leg.speed_m_s) ? s.print.value(leg.speed_m_s, kSpeed) + (a.rows[i].speed_m_s && leg.speed_m_s < *a.rows[i].speed_m_s ? " (asked " + s.print.value(*a.rows[i].speed_m_s, kSpeed) + ")" : "") : "-", energy.value, energy.next_point});
    after.rows.push_back({row_name(a, i), time.value, time.next_point, charge.value, charge.next_point, reached ? fmt::format("{:.0f} %", 100 * leg.heat_ratio) + (leg.heat_unknown ? ", not known" : "") : "-", e.draws > 0 ? fmt::format("{} of {}", e.stopped_in_row[i], e.draws) : "-"});
  }
  after.note = "Idle loads run all the time; braking gives back what the drives' regeneration says. Drive heat 100 %: a drive over its continuous torque is hot; \"not known\": it is over it and the file states no time. Intervals of those that reach the end of the stretch.";
  way.note = "Speed: as asked, where the drives give it on this ground; where none is asked, as fast as they do.";
  s.page.table(way);
  s.page.table(after);
  s.page.figure(charge_figure(s.results, a, number));
}

std::string rocks_name(const campaign::Results& r, const BoulderAnswer& a) { return vehicle_name(r, a.vehicle) + (a.name.empty() ? "" : ", " + a.name); }

// Chance of a clear run against its length; by the map with the ends of its interval.
Figure clear_figure(const campaign::Results& r, const BoulderAnswer& a, std::size_t number) {
  Figure f{.id = fmt::format("rocks-{}-{}", slug(a.vehicle), number), .title = "Chance that a straight run is clear, " + rocks_name(r, a)};
  const double longest = std::max(2 * a.length_m, 1.5 * (a.half_clear_m < 1e6 ? a.half_clear_m : 0));
  const InUnit x{Printer(r.campaign.output_units).unit(longest, kLength)}, y{*units::find_unit("%")};
  Panel panel{.x = {.label = "Length of the run", .unit = x.spelling(), .from_zero = true}, .y = {.label = "Chance that nothing stops it", .unit = y.spelling(), .min = 0, .max = 100}};
  Series line{.kind = Kind::line, .name = a.field ? "by the rate of the map" : "by the law", .style = 0}, band{.kind = Kind::band, .name = a.field ? "95 %, counted rocks alone" : "95 %, of the coverage stated", .style = 0, .fill = Fill::tint};
  for (const double length : even_steps(0, longest, 41)) {
    line.x.push_back(x(length));
    line.y.push_back(y(p::clear_run_probability(a.hits_per_m, length)));
    if (!a.hits_per_m_interval) continue;
    band.x.push_back(x(length));
    band.y_lo.push_back(y(p::clear_run_probability(a.hits_per_m_interval->hi, length)));
    band.y_hi.push_back(y(p::clear_run_probability(a.hits_per_m_interval->lo, length)));
  }
  if (!band.x.empty()) panel.series.push_back(std::move(band));
  panel.series.push_back(std::move(line));
  panel.references.push_back({Along::x, x(a.length_m), "asked"});
  f.panels.push_back(std::move(panel));
  f.caption = "Rocks placed at random; nobody steers round any.";
  f.provenance = small_print(r, "");
  return f;
}

void met_table(Sheet& s, const BoulderAnswer& a, const std::string& who) {
  if (!a.run) return;
  if (a.met.empty()) {
    s.page.paragraph("The run asked for meets no rock.");
    return;
  }
  Grid g{.caption = "Rocks met on the run, " + who, .columns = {"Row of the map", "After", "To the left", "Diameter", "Height", "What comes of it"}, .right = "lrrrrl"};
  for (const p::Met& m : a.met) {
    g.rows.push_back({std::to_string(m.rock + 1), s.print.value(m.along_m, kLength), s.print.value(m.across_m, kLength), s.print.value(a.rocks[m.rock].diameter_m, kLength), s.print.value(m.height_m, kLength), p::name(m.meeting)});
  }
  s.page.table(g);
}

void rocks(Sheet& s, const BoulderAnswer& a, std::size_t number) {
  const std::string who = rocks_name(s.results, a);
  s.page.heading(4, who);
  if (!a.why_not.empty()) {
    s.page.paragraph("Not computed: " + a.why_not + ".", "missing");
    return;
  }
  if (!std::isfinite(a.hits_per_m)) {
    s.page.paragraph("Every rock stops it: state the smallest rock that counts.", "missing");
    return;
  }
  std::vector<std::pair<std::string, std::string>> rows{{"Rocks", a.law_words},
                                                        {"Highest step", s.print.value(a.swath.step_m, kLength) + (a.highest_step ? a.highest_step->solve.converged() ? ", computed" : std::string(", computed: ") + base::name(a.highest_step->solve.status) : ", stated")},
                                                        {"Clearance of the body", std::isfinite(a.swath.clearance_m) ? s.print.value(a.swath.clearance_m, kLength) : "not stated: stops at no rock"},
                                                        {"Width looked at", s.print.value(a.swath.width_m(), kLength)},
                                                        {"Stopped mostly by", a.hits_per_m > 0 ? fmt::format("{}, {:.0f} % of the rocks that stop it stop a wheel", a.stopped_mostly_by(), 100 * a.wheel_hits_per_m / a.hits_per_m) : "nothing"},
                                                        {"Mean free path", a.hits_per_m > 0 ? s.print.value(1 / a.hits_per_m, kLength) : "nothing stops it"},
                                                        {"Chance of a clear run of " + s.print.value(a.length_m, kLength), s.print.value(a.clear_probability, kShare)},
                                                        {"Every second run gets", std::isfinite(a.half_clear_m) ? s.print.value(a.half_clear_m, kLength) : "any length"}};
  if (const auto& i = a.hits_per_m_interval) {
    rows.push_back({"Mean free path, 95 %", (i->hi > 0 ? s.print.value(1 / i->hi, kLength) : "any") + " to " + (i->lo > 0 ? s.print.value(1 / i->lo, kLength) : "any")});
    rows.push_back({"Chance of a clear run, 95 %", s.print.interval(*a.clear_interval(), kShare)});
  }
  if (a.field) {
    const p::MappedField& m = *a.field;
    rows.push_back({"Rocks mapped", fmt::format("{}, of which {} can stop it; {} of the ground covered{}", m.rocks, m.stopping, s.print.value(m.coverage_ratio, kShare), a.plot_assumed ? "; plot taken as the box round them" : "")});
    if (m.lanes > 0) rows.push_back({"Share of ground passed", fmt::format("{} of {} lanes clear, 95 % {}", m.clear_lanes, m.lanes, s.print.interval(m.clear_interval, kShare))});
  }
  s.page.terms(rows);
  Grid g{.caption = "Rocks that stop it, by size, " + who, .columns = {"Diameter or more", "Ground per rock", "Ground covered", "Width over which one stops it"}, .right = "rrrr"};
  for (const BoulderAnswer::Size& x : a.sizes) {
    g.rows.push_back({s.print.value(x.diameter_m, kLength), x.number_per_m2 > 0 ? s.print.value(1 / x.number_per_m2, Measure{units::Dimension::area}) : "none", s.print.value(x.area_ratio, kShare), s.print.value(x.stopping_width_m, kLength)});
  }
  g.note = fmt::format("Heights {:g} of the diameter{}.", a.shape.height_ratio, a.shape.smallest_m > 0 ? ", rocks under " + s.print.value(a.shape.smallest_m, kLength) + " left out" : "");
  s.page.table(g);
  met_table(s, a, who);
  s.page.figure(clear_figure(s.results, a, number));
}

}  // namespace

void endurance_part(Sheet& s) {
  if (s.results.answers.endurance.empty()) return;
  s.page.heading(3, "Energy and endurance", "endurance");
  std::size_t number = 0;
  for (const EnduranceAnswer& a : s.results.answers.endurance) trip(s, a, ++number);
}

void boulders_part(Sheet& s) {
  if (s.results.answers.boulders.empty()) return;
  s.page.heading(3, "Rocks in the way", "boulders");
  std::size_t number = 0;
  for (const BoulderAnswer& a : s.results.answers.boulders) rocks(s, a, ++number);
}

std::vector<Figure> endurance_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (std::size_t k = 0; k < r.answers.endurance.size(); ++k) {
    if (r.answers.endurance[k].endurance) out.push_back(charge_figure(r, r.answers.endurance[k], k + 1));
  }
  return out;
}

std::vector<Figure> boulders_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (std::size_t k = 0; k < r.answers.boulders.size(); ++k) {
    const BoulderAnswer& a = r.answers.boulders[k];
    if (a.why_not.empty() && std::isfinite(a.hits_per_m)) out.push_back(clear_figure(r, a, k + 1));
  }
  return out;
}

io::Table endurance_table(const campaign::Results& r) {
  io::Table t{.name = "endurance", .title = "Drive profiles stretch by stretch", .columns = {{"vehicle", ""}, {"way", ""}, {"stretch", ""}, {"zone", ""}, {"distance", "m"}, {"gradient", "deg"}, {"speed", "m/s"}}};
  estimate_columns(t.columns, "energy", "J");
  estimate_columns(t.columns, "time", "s");
  estimate_columns(t.columns, "charge after", "-");
  t.columns.push_back({"drive heat", "-"});
  t.columns.push_back({"possible soils stopped here", ""});
  for (const EnduranceAnswer& a : r.answers.endurance) {
    if (!a.endurance) continue;
    const p::Endurance& e = *a.endurance;
    for (std::size_t i = 0; i < a.rows.size(); ++i) {
      const bool reached = i < e.centre.legs.size();
      Row row{cell(a.vehicle), cell(a.name), cell(row_name(a, i)), cell(a.zones[a.rows[i].ground]), cell(a.rows[i].distance_m), degrees(a.rows[i].gradient_rad), reached && std::isfinite(e.centre.legs[i].speed_m_s) ? cell(e.centre.legs[i].speed_m_s) : io::TableCell{}};
      for (const math::Estimate* of : {&e.row_energy_j[i], &e.row_time_s[i], &e.charge_after[i]}) estimate_cells(row, *of);
      row.push_back(reached ? cell(e.centre.legs[i].heat_ratio) : io::TableCell{});
      row.push_back(count(e.stopped_in_row[i]));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table boulders_table(const campaign::Results& r) {
  io::Table t{.name = "rocks", .title = "Rocks in the way of each vehicle",
              .columns = {{"vehicle", ""}, {"field", ""}, {"rocks from", ""}, {"highest step", "m"}, {"clearance", "m"}, {"hits", "1/m"}, {"hits, low", "1/m"}, {"hits, high", "1/m"}, {"run length", "m"}, {"chance of a clear run", "-"}, {"length every second run gets", "m"}}};
  for (const BoulderAnswer& a : r.answers.boulders) {
    if (!a.why_not.empty()) continue;
    const auto finite = [](double v) { return std::isfinite(v) ? cell(v) : io::TableCell{}; };
    t.rows.push_back({cell(a.vehicle), cell(a.name), cell(a.law_words), cell(a.swath.step_m), finite(a.swath.clearance_m), finite(a.hits_per_m), a.hits_per_m_interval ? finite(a.hits_per_m_interval->lo) : io::TableCell{}, a.hits_per_m_interval ? finite(a.hits_per_m_interval->hi) : io::TableCell{},
                      cell(a.length_m), cell(a.clear_probability), finite(a.half_clear_m)});
  }
  return t;
}

}  // namespace hardpan::report::detail
