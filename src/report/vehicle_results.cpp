// SPDX-License-Identifier: Apache-2.0
// Results of the vehicle tests: pull against slip, motion resistance, slope trials, ruts.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/parts.hpp"

namespace hardpan::report::detail {
namespace {

constexpr std::size_t kMostWindows = 60;  // rows of the window table in the document; all stand in the table files

struct Row {
  const char* name;
  const std::optional<math::Estimate>& estimate;
  Measure measure;
};

void group(Sheet& s, const records::DrawbarGroup& g) {
  const records::PullSlipCurve& c = g.curve;
  s.page.heading(4, pair_name(s.results, g.vehicle, g.zone) + ", weight " + s.print.value(g.weight_n, kForce, 4));
  if (!c.usable()) s.page.paragraph(fmt::format("No curve through {}: {}.", plural(c.points, "window"), base::name(c.solve.status)), "missing");
  Grid t{.caption = "Drawbar results, " + pair_name(s.results, g.vehicle, g.zone), .columns = {"Quantity", "Value", "95 % mean of runs", "95 % next run", "Runs"}, .right = "lrrrr"};
  const std::string peak = std::string("Largest pull coefficient tested") + (c.peak_at_end_of_range ? " (still rising at the end of the tested slips)" : "");
  for (const Row& row : {Row{"Pull coefficient at 20 % slip", c.at_20_percent, kNumber}, {"Pull coefficient at the working slip", c.at_working_slip, kNumber},
                         {peak.c_str(), c.peak, kNumber}, {"Pull coefficient at zero slip", c.at_zero_slip, kNumber},
                         {"Slip at zero pull (self-propelled)", c.s0, kShare}, {"Gradeability, first order, at 20 % slip", g.gradeability_at_20_percent_rad, kAngle},
                         {"Gradeability, first order, at the working slip", g.gradeability_at_working_slip_rad, kAngle},
                         {"Gradeability, first order, at the largest pull", g.gradeability_at_peak_rad, kAngle}}) {
    if (!row.estimate) continue;
    const Printed p = s.print.estimate(*row.estimate, row.measure);
    t.rows.push_back({row.name, p.value, p.average_ground, p.next_point, std::to_string(row.estimate->n)});
  }
  const std::string label = g.efficiency.label.empty() ? "efficiency" : g.efficiency.label;
  if (g.efficiency.best) {
    const Printed p = s.print.estimate(*g.efficiency.best, kShare);
    t.rows.push_back({"Best " + label + (g.efficiency.best_at_end_of_range ? " (at the end of the tested slips)" : ""), p.value, p.average_ground, p.next_point, std::to_string(g.efficiency.best->n)});
  }
  if (g.efficiency.slip_at_best) {
    const Printed p = s.print.estimate(*g.efficiency.slip_at_best, kShare);
    t.rows.push_back({"Slip at best " + label, p.value, p.average_ground, p.next_point, std::to_string(g.efficiency.slip_at_best->n)});
  }
  std::vector<std::string> note;
  if (g.radius.radius_m > 0) {
    note.push_back("Slip by a rolling radius of " + s.print.value(g.radius.radius_m, kLength, 4) + ", zero slip " + vehicle::name(g.radius.condition) + " (" + g.radius.source + ")");
  }
  if (c.usable()) note.push_back(fmt::format("Relation {}, {}; slips tested {}", records::name(c.relation_used), c.why_this_relation.empty() ? "as set" : c.why_this_relation,
                                             s.print.interval(c.slip_lo, c.slip_hi, kShare)));
  if (!c.interval_method.empty()) note.push_back(c.interval_method);
  if (c.gain_relative_sd > 0) note.push_back(fmt::format("Load cell: {:.2g} %, one standard deviation, shared by all windows and not in these intervals", 100 * c.gain_relative_sd));
  if (!g.efficiency.power_basis.empty()) note.push_back("Power from " + g.efficiency.power_basis);
  if (!g.efficiency.note.empty() && g.efficiency.note != math::kStatusOk) note.push_back(g.efficiency.note);
  for (std::string& n : note) {
    while (!n.empty() && n.back() == '.') n.pop_back();
  }
  t.note = joined(note, ". ") + (note.empty() ? "" : ".");
  s.page.table(t);
  Grid repeats{.caption = "Hand pulls repeated at one load", .columns = {"Pull", "Repeats", "Slip", "Pull coefficient", "Slip error from reading alone"}, .right = "rrrrr"};
  repeats.row_heads = false;
  for (const records::HandRepeats& h : g.repeats) {
    repeats.rows.push_back({s.print.value(h.pull_n, kForce), std::to_string(h.n), s.print.with_next_point(h.slip_ratio, kShare), s.print.with_next_point(h.coefficient, kNumber), s.print.value(h.slip_reading_se, kShare, 2)});
  }
  s.page.table(repeats);
  s.page.list(sentences(c.remarks));
}

void windows(Sheet& s) {
  const auto& all = s.results.drawbar.windows;
  std::vector<double> pulls, loads;
  for (const auto& w : all) {
    if (w.pull_n) pulls.push_back(*w.pull_n);
    loads.push_back(w.normal_load_n);
  }
  const units::Unit pull = s.print.common(pulls, kForce), load = s.print.common(loads, kForce), angle = s.print.unit(0.2, kAngle);
  Grid g{.caption = "Pull windows", .columns = {"Record", "Run", "Zone", "Slip (%)", headed("Pull", pull), headed("Gradient", angle), headed("Normal load", load), "Pull coefficient", "Efficiency (%)", "From"}, .right = "lllrrrrrrl"};
  for (const records::PullWindow& w : all) {
    if (g.rows.size() == kMostWindows) break;
    const std::string slip = w.slip_ratio ? fmt::format("{} +/- {}", units::print_fixed(100 * *w.slip_ratio, 1), units::print_fixed(100 * w.slip_se, 1)) : "refused";
    g.rows.push_back({w.id, w.run, w.zone, slip, Printer::bare(w.pull_n, pull, kForce), Printer::bare(w.gradient_rad, angle, kAngle, 2), Printer::bare(w.normal_load_n, load, kForce),
                      w.coefficient ? units::print_fixed(*w.coefficient, 3) + " +/- " + units::print_fixed(w.coefficient_se, 3) : "-",
                      w.efficiency ? units::print_fixed(100 * *w.efficiency, 1) : "-", w.by_hand ? "hand" : w.sweep_bin ? "sweep" : "steady"});
  }
  g.note = "Behind +/- stands one standard error of the window.";
  if (all.size() > kMostWindows) g.note += fmt::format(" The first {} of {} windows; all of them stand in the table files beside this report.", kMostWindows, all.size());
  s.page.table(g);
}

void resistances(Sheet& s) {
  Grid g{.caption = "Motion resistance coefficient", .columns = {"Vehicle", "Zone", "By", "Value", "95 % mean of runs", "95 % next run", "Runs", "Speed", "Remark"}, .right = "lllrrrrrl"};
  for (const records::MotionResistance& m : s.results.drawbar.resistances) {
    const Printed p = s.print.estimate(m.coefficient, kNumber);
    g.rows.push_back({vehicle_name(s.results, m.vehicle), m.zone, records::name(m.method), p.value, p.average_ground, p.next_point, std::to_string(m.coefficient.n), s.print.value(m.speed_m_per_s, kSpeed), m.note});
  }
  s.page.table(g);
}

void lanes(Sheet& s) {
  Grid g{.caption = "Lanes driven both ways", .columns = {"Lane", "Runs", "Windows compared", "Gradient from the pulls", "Stated", "Used", "Remark"}, .right = "llrrrl"};
  for (const records::LanePair& p : s.results.drawbar.lanes) {
    g.rows.push_back({p.lane, p.run_out + ", " + p.run_back, std::to_string(p.compared),
                      std::isfinite(p.gradient_rad) && std::isfinite(p.gradient_se_rad) ? units::print_plus_minus(p.gradient_rad, p.gradient_se_rad, units::Dimension::angle, s.print.units()) : "no value",
                      p.stated_rad ? s.print.value(*p.stated_rad, kAngle) : "not stated", p.used ? "yes" : "no", p.note});
  }
  s.page.table(g);
}

// What a trial says of the limit.
std::string bound_words(records::TrialBound bound) {
  return bound == records::TrialBound::at_least ? "lower bound on the limit" : records::name(bound);
}

void slopes(Sheet& s, const records::SlopeLimits& k) {
  s.page.heading(4, pair_name(s.results, k.vehicle, k.zone) + (k.heading_rad ? ", " + records::heading_words(*k.heading_rad) : k.downhill ? ", downhill" : ", uphill") + (k.rolling_start ? ", rolling start" : ", standing start"));
  s.page.paragraph(sentence(k.bracket.text));
  Grid angles{.caption = "Tested angles", .columns = {"Angle", "Go", "No-go", "Aborted", "Stopped by the sled", "Chance of a go, 95 %", "Reliability shown with " + fmt::format("{:.0f} % confidence", 100 * records::SlopeTrialSettings{}.confidence)}, .right = "rrrrrrr"};
  for (const records::TestedAngle& a : k.angles) {
    angles.rows.push_back({s.print.value(a.angle_rad, kAngle), std::to_string(a.go), std::to_string(a.no_go), std::to_string(a.aborted), std::to_string(a.sled_limited),
                           s.print.interval(a.chance_of_go, kShare), a.demonstrated_reliability ? s.print.value(*a.demonstrated_reliability, kShare) : "-"});
  }
  angles.note = k.population.empty() ? "" : "Over: " + k.population + ".";
  s.page.table(angles);
  std::vector<std::pair<std::string, std::string>> rows;
  if (k.median_rad) rows.emplace_back("Angle with an even chance of a go", s.print.estimate(*k.median_rad, kAngle).value + " (95 % " + s.print.estimate(*k.median_rad, kAngle).average_ground + ")");
  if (k.high_chance_rad) rows.emplace_back(fmt::format("Angle with a {:.0f} % chance of a go", 100 * records::SlopeTrialSettings{}.high_chance), s.print.estimate(*k.high_chance_rad, kAngle).value);
  if (k.median_if_undecided_rad) rows.emplace_back("Even chance if undecided runs had gone, or not", s.print.interval(*k.median_if_undecided_rad, kAngle));
  s.page.terms(rows);
  s.page.paragraph(sentence(k.curve_note));
  Grid g{.caption = "Slope trials", .columns = {"Where", "Angle", "Gradient readings", "Outcome", "Counts as", "Slip", "Sinkage", "Length climbed", "Why"}, .right = "lrrllrrrl"};
  if (k.heading_rad) g.columns.insert(g.columns.end() - 1, "Drift"), g.right.insert(8, "r");
  for (const records::TrialReading& t : k.trials) {
    const std::string spread = t.angle_sd_rad ? " +/- " + s.print.value(*t.angle_sd_rad, kAngle, 2) : "";
    g.rows.push_back({fmt::format("{}:{}", t.file, t.line), s.print.value(t.angle_rad, kAngle) + spread, std::to_string(t.places), outcome_words(t.outcome), bound_words(t.bound),
                      s.print.value(t.slip_ratio, kShare), s.print.value(t.sinkage_m, kLength), s.print.value(t.length_climbed_m, kLength), t.why});
    if (k.heading_rad) g.rows.back().insert(g.rows.back().end() - 1, s.print.value(t.drift_rad, kAngle));
  }
  s.page.table(g);
}

void ruts(Sheet& s) {
  const records::RutResult& r = s.results.drawbar.ruts;
  Grid g{.caption = "Rut depth by wheel path and pass", .columns = {"Vehicle", "Zone", "Path", "Pass", "Readings", "Runs", "Under the wheel", "After the wheel", "Rebound"}, .right = "lllrrrrrr"};
  const auto print = [&](const std::optional<math::Estimate>& e) {
    if (!e) return std::string("-");
    const Printed p = s.print.estimate(*e, kLength);
    return e->next_point ? p.value + " (" + p.next_point + ")" : p.value;
  };
  for (const records::RutGroup& k : r.groups) {
    g.rows.push_back({vehicle_name(s.results, k.vehicle), k.zone, k.wheel_path, std::to_string(k.pass), std::to_string(k.readings), k.n_is_runs ? std::to_string(k.runs) : "not named", print(k.depth_loaded_m), print(k.depth_after_m), print(k.rebound_m)});
  }
  g.note = "In brackets: 95 % interval of the next run, or of the next reading where runs are not named.";
  s.page.table(g);
  Grid growth{.caption = "Growth of rut depth with passes, as a power of the pass number", .columns = {"Vehicle", "Zone", "Path", "Exponent", "95 %", "Passes", "Depth used"}, .right = "lllrrr"};
  for (const records::PassGrowth& k : r.growth) {
    const Printed p = s.print.estimate(k.exponent, kNumber);
    growth.rows.push_back({vehicle_name(s.results, k.vehicle), k.zone, k.wheel_path, p.value, p.average_ground, std::to_string(k.passes), k.depth_used});
  }
  s.page.table(growth);
}

}  // namespace

void vehicle_results(Sheet& s) {
  s.page.heading(3, "Vehicle tests", "results-vehicle");
  const records::DrawbarResult& d = s.results.drawbar;
  if (d.windows.empty() && d.slopes.empty() && d.ruts.groups.empty() && d.resistances.empty()) {
    s.page.paragraph("No vehicle test was reduced.", "missing");
  }
  for (const records::DrawbarGroup& g : d.groups) group(s, g);
  resistances(s);
  lanes(s);
  windows(s);
  if (!d.slopes.empty()) s.page.heading(3, "Slope trials");
  for (const records::SlopeLimits& k : d.slopes) slopes(s, k);
  if (!d.ruts.groups.empty()) s.page.heading(3, "Ruts");
  ruts(s);
  s.slot("tow-strip");
}

}  // namespace hardpan::report::detail
