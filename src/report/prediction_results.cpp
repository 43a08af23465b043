// SPDX-License-Identifier: Apache-2.0
// What was predicted for each vehicle on each ground.
#include <cmath>

#include <fmt/core.h>

#include "report/detail/parts.hpp"

namespace hardpan::report::detail {
namespace {

std::string factors_of(const performance::Outcome& o) {
  if (o.next_point.empty()) return performance::name(o.centre_factor);
  std::vector<std::string> parts;
  for (const auto& [factor, share] : performance::factors(o)) {
    if (factor == performance::LimitingFactor::none || parts.size() == 3) continue;
    parts.push_back(std::string(performance::name(factor)) + fmt::format(" {:.0f} %", 100 * share));
  }
  return parts.empty() ? "none" : joined(parts);
}

void outcomes(Sheet& s, const performance::Prediction& p) {
  Grid g{.caption = "Headline predictions, " + pair_name(s.results, p.vehicle, p.zone), .columns = {"Quantity", "Best-estimate soil", "95 % average ground", "95 % next point", "Limited by"}, .right = "lrrr"};
  struct Row {
    std::string name;
    const performance::Outcome* outcome;
    Measure measure;
  };
  std::vector<Row> rows{{"Maximum gradient up to 20 % slip", &p.gradient_20, kGradient}};
  if (p.working_slip != 0.2) rows.push_back({"Maximum gradient up to the working slip, " + s.print.value(p.working_slip, kShare, 2), &p.gradient_working, kGradient});
  rows.push_back({"Maximum gradient over all slips (may mean digging in)", &p.gradient_maximum, kGradient});
  rows.push_back({"Steepest descent the brakes hold", &p.descent, kDescent});
  rows.push_back({"Pull coefficient at 20 % slip, level", &p.pull_20, kPullCoefficient});
  rows.push_back({"Towed motion resistance coefficient", &p.towed_resistance, Measure{units::Dimension::none, false, Special::infinite_is_immobilised}});
  for (const Row& row : rows) {
    const math::Estimate& e = row.outcome->estimate;
    const Printed v = s.print.estimate(e, row.measure);
    const bool factor = row.measure.special == Special::straight_down_is_immobilised || row.outcome == &p.descent;
    g.rows.push_back({row.name, v.value, v.average_ground, v.next_point, factor ? factors_of(*row.outcome) : "-"});
  }
  g.note = p.population.empty() ? p.reason_without + (p.reason_without.empty() ? "" : ".") : "Shares and intervals are over " + p.population + fmt::format(", {}.", plural(p.draws, "possible soil"));
  if (p.redrawn > 0) g.note += fmt::format(" {} drawn again as infeasible.", plural(p.redrawn, "sample"));
  s.page.table(g);
}

void curve(Sheet& s, const performance::Prediction& p) {
  Grid g{.caption = "Against slip on the level, " + pair_name(s.results, p.vehicle, p.zone), .columns = {"Slip", "Pull coefficient", "95 % next point", "Sinkage", "95 % next point", "Torque per wheel", "Tractive efficiency"}, .right = "rrrrrrr"};
  for (const performance::SlipPoint& k : p.curve) {
    const Printed pull = s.print.estimate(k.pull_coefficient, kPullCoefficient), sink = s.print.estimate(k.sinkage_m, kSinkage);
    g.rows.push_back({s.print.value(k.slip_ratio, kShare, 2), pull.value, pull.next_point, sink.value, sink.next_point, s.print.value(k.torque_n_m.value, kWheelTorque), s.print.value(k.efficiency.value, kShare)});
  }
  s.page.table(g);
}

void gradients(Sheet& s, const performance::Prediction& p) {
  Grid g{.caption = "Slip on a gradient, no hitch pull, " + pair_name(s.results, p.vehicle, p.zone), .columns = {"Gradient", "Slip", "95 % average ground", "95 % next point", "Share immobilised"}, .right = "rrrrr"};
  for (const performance::GradientPoint& k : p.slip_on_gradient) {
    const Printed v = s.print.estimate(k.slip_ratio, kTravelSlip);
    g.rows.push_back({s.print.value(k.gradient_rad, kAngle), v.value, v.average_ground, v.next_point, p.draws > 0 ? s.print.value(k.immobilised_share, kShare, 2) : "-"});
  }
  g.note = "Gradients are positive uphill; slip is negative where the brakes hold.";
  s.page.table(g);
}

void energy(Sheet& s, const performance::Prediction& p) {
  Grid g{.caption = "Energy, speed and torque, " + pair_name(s.results, p.vehicle, p.zone), .columns = {"Gradient", "Energy over distance", "95 % next point", "Speed", "Torque per wheel", "Sinkage", "Slip"}, .right = "rrrrrrr"};
  for (const performance::EnergyPoint& k : p.energy) {
    const Printed e = s.print.estimate(k.energy_j_per_m, kEnergy);
    g.rows.push_back({s.print.value(k.gradient_rad, kAngle), e.value, e.next_point, s.print.value(k.speed_m_s.value, kTravelSpeed), s.print.value(k.torque_n_m.value, kWheelTorque),
                      s.print.value(k.sinkage_m.value, kSinkage), s.print.value(k.slip_ratio.value, kTravelSlip)});
  }
  s.page.table(g);
}

void sanity(Sheet& s, const performance::Prediction& p) {
  Grid g{.caption = "Values to check the answer by, " + pair_name(s.results, p.vehicle, p.zone), .columns = {"Value", "", "Relation and source"}, .right = "lr"};
  for (const performance::SanityValue& k : p.sanity) g.rows.push_back({k.name, s.print.value(k.value_si, measure_of_unit(k.unit)), k.note});
  g.columns[1] = "Size";
  s.page.table(g);
}

}  // namespace

void prediction_results(Sheet& s) {
  s.page.heading(3, "Predictions", "results-prediction");
  if (s.results.pairs.empty()) s.page.paragraph("Nothing was predicted: a vehicle and a complete soil are needed.", "missing");
  for (const campaign::PairResult& pair : s.results.pairs) {
    const performance::Prediction& p = pair.prediction;
    s.page.heading(3, pair_name(s.results, pair.vehicle, pair.zone));
    if (p.textbook) s.page.paragraph(p.heading.empty() ? "textbook soil, not your ground" : p.heading, "textbook");
    outcomes(s, p);
    curve(s, p);
    gradients(s, p);
    energy(s, p);
    sanity(s, p);
    std::vector<std::string> notes = p.notes;
    notes.push_back(sentence(performance::slip_sinkage_words(p)));
    s.page.list(notes);
  }
  for (const char* id : {"pull-slip", "sinkage-slip", "slip-gradient"}) s.slot(id);
}

}  // namespace hardpan::report::detail
