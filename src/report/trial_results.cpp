// SPDX-License-Identifier: Apache-2.0
// Vehicle trials as measured, and beside the prediction.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/trials.hpp"
#include "units/constants.hpp"

namespace hardpan::report::detail {

std::string mean_and_next(const Printer& print, const std::optional<math::Estimate>& e, Measure m) {
  if (!e || !std::isfinite(e->value)) return "-";
  const Printed p = print.estimate(*e, m);
  return e->average_ground ? p.value + " (" + p.average_ground + ")" : p.value;
}

// A column that no row tells anything in is left out.
void drop_untold(Grid& g, std::size_t column) {
  if (std::any_of(g.rows.begin(), g.rows.end(), [&](const auto& row) { return row[column] != "-"; })) return;
  const auto at = static_cast<std::ptrdiff_t>(column);
  g.columns.erase(g.columns.begin() + at);
  g.right.erase(column, 1);
  for (auto& row : g.rows) row.erase(row.begin() + at);
}

namespace {

void obstacle(Sheet& s, const records::ObstacleLimits& k) {
  s.page.heading(4, vehicle_name(s.results, k.vehicle) + ": " + records::group_words(k) + (k.zone.empty() ? "" : ", " + zone_name(s.results, k.zone)));
  s.page.paragraph(sentence(k.text));
  const bool profile = k.obstacle == records::ObstacleKind::profile;
  const auto size = [&](double m) { return profile ? std::string("-") : s.print.value(m, kLength); };
  Grid sizes{.caption = (profile ? "Tries counted, " : "Tested sizes, ") + records::group_words(k), .columns = {"Size", "Over", "Not over", "Not decided", "Chance of getting over, 95 %"}, .right = "rrrrr"};
  for (const records::TestedSize& t : k.sizes) {
    sizes.rows.push_back({size(t.value), std::to_string(t.passed), std::to_string(t.failed), std::to_string(t.undecided), t.chance_of_passing ? s.print.interval(t.chance_of_passing, kShare) : "-"});
  }
  drop_untold(sizes, 0);
  s.page.table(sizes);
  Grid g{.caption = "Tries, " + records::group_words(k), .columns = {"Where", "Size", "Outcome", "Axle", "Friction", "Counts as", "Remark"}, .right = "lrlrrll"};
  for (const records::ObstacleReading& t : k.tries) {
    g.rows.push_back({fmt::format("{}:{}", t.file, t.line), size(t.size_m), records::name(t.outcome), t.axle.empty() ? "-" : t.axle, s.print.value(t.friction_ratio, kNumber),
                      t.bound == records::TrialBound::at_least ? "crossed" : t.bound == records::TrialBound::below ? "not crossed" : records::name(t.bound), t.remark});
  }
  drop_untold(g, 3);
  drop_untold(g, 1);
  s.page.table(g);
}

void turn(Sheet& s, const records::TurnLimits& k) {
  const std::string who = pair_name(s.results, k.vehicle, k.zone) + ", to the " + (k.right ? "right" : "left");
  s.page.heading(4, who);
  s.page.paragraph(sentence(fmt::format("Radius measured to the {}: {}", records::name(k.path), k.text)));
  Grid radii{.caption = "Tested radii, " + who, .columns = {"Radius", "Turned", "Not held", "Not decided", "Chance of holding it, 95 %"}, .right = "rrrrr"};
  for (const records::TestedSize& t : k.radii) {
    radii.rows.push_back({s.print.value(t.value, kLength), std::to_string(t.passed), std::to_string(t.failed), std::to_string(t.undecided), t.chance_of_passing ? s.print.interval(t.chance_of_passing, kShare) : "-"});
  }
  s.page.table(radii);
  Grid torque{.caption = "Torque and power against radius, " + who, .columns = {"Radius", "Turns", "Torque of all driven wheels (95 % mean)", "Power (95 % mean)", "Speed"}, .right = "rrrrr"};
  for (const records::TorqueAtRadius& t : k.torque) {
    torque.rows.push_back({s.print.value(t.radius_m, kLength), std::to_string(t.turns), mean_and_next(s.print, t.torque_n_m, kTorque), mean_and_next(s.print, t.power_w, {units::Dimension::power}), s.print.value(t.speed_m_per_s, kSpeed)});
  }
  const bool powered = std::any_of(k.torque.begin(), k.torque.end(), [](const records::TorqueAtRadius& t) { return t.power_w.has_value(); });
  torque.note = !powered ? "" : k.power_at_axles ? "Power at the axles." : "Power of the battery, or where it was measured is not stated: not compared with a prediction.";
  drop_untold(torque, 3);
  s.page.table(torque);
  if (const auto f = turn_figure(s.results, k)) s.page.figure(*f);
}

void remote(Sheet& s, const records::RemoteCourse& c) {
  const std::string who = pair_name(s.results, c.vehicle, c.zone) + (c.course.empty() ? "" : ", course " + c.course);
  s.page.heading(4, "Remote runs, " + who);
  const records::PaceLine& line = c.pace;
  if (line.delay) {
    const bool us = s.print.units() == units::OutputUnits::us;
    const double foot = us ? units::kFoot_m : 1;
    const auto seconds = [&](const math::Estimate& e) {
      return fmt::format("{:.3g}", foot * e.value) + (e.average_ground ? fmt::format(" (95 %: {:.3g} to {:.3g})", foot * e.average_ground->lo, foot * e.average_ground->hi) : "");
    };
    std::string text = fmt::format("Every second of delay costs {} seconds a {} over {}", seconds(*line.delay), us ? "foot" : "metre", plural(line.runs, "run"));
    if (line.practice) text += fmt::format("; a unit of ln(1 + runs driven before) changes it by {}", seconds(*line.practice));
    if (line.practice && line.delay_alone) text += fmt::format(". Without practice in the account the delay would seem to cost {}", seconds(*line.delay_alone));
    s.page.paragraph(sentence(text));
  } else {
    s.page.paragraph("No line of speed against delay: " + line.status + ".", "missing");
  }
  s.page.list(sentences(c.remarks));
  Grid g{.caption = "Speed by operator and delay, " + who, .columns = {"Operator", "Delay", "Runs", "Finished", "Speed (95 % mean)", "Largest sideways error (95 % mean)", "Runs driven before"}, .right = "lrrrrrr"};
  // One unit for all sideways errors: most are below a metre, some above.
  std::vector<double> errors;
  for (const records::AtDelay& k : c.by_delay) {
    if (k.largest_error_m) errors.push_back(*k.largest_error_m);
  }
  const units::Unit error_unit = s.print.common(errors, kLength);
  for (const records::OperatorAtDelay& k : c.by_operator) {
    const Printed error = k.largest_error_m ? Printer::estimate_in(*k.largest_error_m, error_unit, kLength) : Printed{.value = "-"};
    g.rows.push_back({k.operator_name, s.print.value(k.delay_s, {units::Dimension::time}), std::to_string(k.runs), std::to_string(k.finished), mean_and_next(s.print, k.speed_m_per_s, kSpeed),
                      k.largest_error_m && k.largest_error_m->average_ground ? error.value + " (" + error.average_ground + ")" : error.value, k.mean_practice ? fmt::format("{:.1f}", *k.mean_practice) : "-"});
  }
  s.page.table(g);
  Grid at{.caption = "Outcomes by delay, " + who, .columns = {"Delay", "Runs", "Finished", "Left the corridor", "Struck something", "Stopped", "Chance of finishing, 95 %", "Largest sideways error"}, .right = "rrrrrrrr"};
  for (const records::AtDelay& k : c.by_delay) {
    at.rows.push_back({s.print.value(k.delay_s, {units::Dimension::time}), std::to_string(k.runs), std::to_string(k.finished), std::to_string(k.left_corridor), std::to_string(k.struck), std::to_string(k.stopped),
                       s.print.interval(std::optional(k.chance_of_finishing), kShare), k.largest_error_m ? Printer::bare(*k.largest_error_m, error_unit, kLength) + " " + error_unit.spelling : "-"});
  }
  if (c.corridor_m) at.note = "Corridor " + s.print.value(*c.corridor_m, kLength) + " wide, vehicle included.";
  s.page.table(at);
  Grid d{.caption = "Paired within operators, " + who, .columns = {"Compared", "From", "To", "Speed gained (95 %)", "At equal practice (95 %)", "Operators", "Practice gained, runs"}, .right = "lllrrrr"};
  for (const records::GroupDifference& x : c.differences) {
    d.rows.push_back({x.what, x.first, x.second, mean_and_next(s.print, x.speed_m_per_s, kSpeed), mean_and_next(s.print, x.speed_equal_practice_m_per_s, kSpeed), std::to_string(x.operators), fmt::format("{:.1f}", x.practice_difference)});
  }
  d.note = "Means of each operator at each delay are paired; the operator is the unit of scatter. A difference with its practice gained may be the practice.";
  drop_untold(d, 4);
  s.page.table(d);
  if (const auto f = remote_figure(s.results, c)) s.page.figure(*f);
}

void pairs(Sheet& s) {
  Grid g{.caption = "Two vehicles in turn", .columns = {"Quantity", "Condition", "Zone", "Difference", "95 % mean of pairs", "95 % next pair", "Pairs", "Drift from run to run", "Remark"}, .right = "lllrrrrrl"};
  for (const records::PairedTrial& p : s.results.trials.reduced.pairs) {
    const Measure m = p.quantity == "slip on a slope" ? kShare : measure_of_unit(p.unit_si);
    const Printed v = s.print.estimate(p.difference.difference, m);
    g.rows.push_back({p.quantity, p.condition, p.zone + (p.lane.empty() ? "" : ", lane " + p.lane), fmt::format("{} less {}: {}", vehicle_name(s.results, p.difference.first), vehicle_name(s.results, p.difference.second), v.value), v.average_ground, v.next_point,
                      std::to_string(p.difference.pairs), p.difference.drift ? s.print.value(*p.difference.drift, m) : "in the difference", p.difference.note});
  }
  g.note = "Readings that follow each other are paired; with A-B-B-A a steady drift cancels.";
  s.page.table(g);
  s.page.list(sentences(s.results.trials.reduced.notes));
}

}  // namespace

void trial_results(Sheet& s) {
  const records::TrialResult& t = s.results.trials.reduced;
  if (t.empty()) return;
  s.page.heading(3, "Trials of the whole vehicle", "results-trials");
  for (const records::ObstacleLimits& k : t.obstacles) obstacle(s, k);
  for (const records::TurnLimits& k : t.turns) turn(s, k);
  for (const records::RemoteCourse& c : t.remote) remote(s, c);
  way_run_results(s);
  if (!t.pairs.empty() || !t.notes.empty()) {
    s.page.heading(4, "Two vehicles against each other");
    pairs(s);
  }
}

void trial_comparisons(Sheet& s) {
  const campaign::TrialResults& t = s.results.trials;
  if (t.obstacles.empty() && t.turns.empty() && t.remote.empty() && t.trips.empty() && t.rocks.empty() && t.rough.empty() && t.ruts.empty()) return;
  s.page.heading(3, "Trials against predictions", "validation-trials");
  if (!t.obstacles.empty()) {
    s.page.heading(4, "Obstacles, computed on hard ground");
    std::vector<std::string> said;
    for (const validation::ObstacleComparison& c : t.obstacles) said.push_back(sentence(vehicle_name(s.results, c.vehicle) + ", " + c.statement));
    s.page.list(said);
  }
  if (!t.turns.empty()) {
    s.page.heading(4, "Turns on soil");
    std::vector<std::string> said;
    for (const validation::TurnComparison& c : t.turns) said.push_back(sentence(pair_name(s.results, c.vehicle, c.zone) + ". " + c.statement));
    s.page.list(said);
    Grid g{.caption = "Torque and work in turns", .columns = {"Vehicle and zone", "Side", "Radius measured", "Torque measured (95 % mean)", "Predicted", "95 % next point", "Agree"}, .right = "llrrrrr"};
    for (const validation::TurnComparison& c : t.turns) {
      for (const validation::TorqueCompared& x : c.torque) {
        if (!x.measured_n_m) continue;
        g.rows.push_back({pair_name(s.results, c.vehicle, c.zone), c.right ? "right" : "left", s.print.value(x.radius_m, kLength), mean_and_next(s.print, x.measured_n_m, kTorque), std::isfinite(x.predicted_n_m) ? s.print.value(x.predicted_n_m, kTorque) : "does not turn",
                          s.print.interval(x.next_point_n_m, kTorque), !x.consistent ? "cannot be said" : *x.consistent ? "yes" : "no"});
      }
    }
    s.page.table(g);
  }
  if (!t.remote.empty()) {
    s.page.heading(4, "Remote driving");
    std::vector<std::string> said;
    for (const validation::RemoteComparison& c : t.remote) said.push_back(sentence(pair_name(s.results, c.vehicle, c.zone) + ". " + c.statement));
    s.page.list(said);
    Grid g{.caption = "Speed through a delay, measured and predicted", .columns = {"Vehicle and zone", "Delay", "Operators", "Measured (95 % mean over operators)", "Predicted at most", "Limited by", "Within"}, .right = "lrrrrlr"};
    for (const validation::RemoteComparison& c : t.remote) {
      for (const validation::SpeedCompared& d : c.delays) {
        g.rows.push_back({pair_name(s.results, c.vehicle, c.zone), s.print.value(d.delay_s, {units::Dimension::time}), std::to_string(d.operators), mean_and_next(s.print, d.measured_m_per_s, kSpeed),
                          d.predicted_m_per_s ? s.print.value(*d.predicted_m_per_s, kSpeed) : "not computed", d.limited_by.empty() ? "-" : d.limited_by, !d.within ? "cannot be said" : *d.within ? "yes" : "no"});
      }
    }
    s.page.table(g);
  }
  way_run_comparisons(s);
  if (!t.ruts.empty()) {
    s.page.heading(4, "Ruts by pass");
    s.page.paragraph("How much a rut grows with passes hangs on the unloading stiffness that plates measured. Known weakness: with displacement counted anew a following wheel may be predicted to pull less than the first, although tests mostly show the contrary. Where the sheets disagree, trust the sheets.");
    std::vector<std::string> said;
    for (const validation::RutByPass& c : t.ruts) said.push_back(sentence(pair_name(s.results, c.vehicle, c.zone) + ". " + c.statement));
    s.page.list(said);
    Grid g{.caption = "Rut depth by pass, measured and predicted", .columns = {"Vehicle and zone", "Path", "Pass", "Under the wheel, measured", "Predicted", "95 % next point", "After the wheel, measured", "Predicted", "95 % next point"}, .right = "llrrrrrrr"};
    for (const validation::RutByPass& c : t.ruts) {
      if (!c.why_not.empty()) continue;
      for (const validation::RutPass& p : c.passes) {
        const Printed loaded = s.print.estimate(p.predicted_loaded_m, kSinkage), after = s.print.estimate(p.predicted_after_m, kSinkage);
        g.rows.push_back({pair_name(s.results, c.vehicle, c.zone), c.wheel_path, std::to_string(p.pass), mean_and_next(s.print, p.measured_loaded_m, kLength), loaded.value, loaded.next_point, mean_and_next(s.print, p.measured_after_m, kLength), after.value, after.next_point});
      }
    }
    g.note = "In brackets: 95 % interval of the mean over runs.";
    s.page.table(g);
    for (const validation::RutByPass& c : t.ruts) {
      if (const auto f = rut_figure(s.results, c)) s.page.figure(*f);
    }
  }
}

}  // namespace hardpan::report::detail
