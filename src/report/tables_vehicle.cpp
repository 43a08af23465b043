// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

io::Table windows(const campaign::Results& r) {
  io::Table t{.name = "pull-windows", .title = "Pull windows and hand pulls",
              .columns = {{"file", ""}, {"first line", ""}, {"last line", ""}, {"record", ""}, {"vehicle", ""}, {"zone", ""}, {"run", ""}, {"lane", ""}, {"direction", ""}, {"from", "s"}, {"to", "s"}, {"by", ""}, {"slip ratio", "-"},
                          {"slip ratio standard error", "-"}, {"slip status", ""}, {"rolling radius", "m"}, {"zero slip", ""}, {"pull", "N"}, {"pull standard error", "N"}, {"gradient", "deg"}, {"gradient from", ""}, {"weight", "N"},
                          {"normal load", "N"}, {"pull coefficient", "-"}, {"pull coefficient standard error", "-"}, {"torque", "N m"}, {"power in", "W"}, {"efficiency", "-"}, {"efficiency standard error", "-"},
                          {"efficiency is", ""}, {"sinkage", "m"}, {"samples", ""}, {"effective samples", ""}, {"remarks", ""}}};
  for (const records::PullWindow& w : r.drawbar.windows) {
    t.rows.push_back({cell(w.file), count(w.first_line), count(w.last_line), cell(w.id), cell(w.vehicle), cell(w.zone), cell(w.run), cell(w.lane), cell(w.direction), seconds(w.from_s), seconds(w.to_s),
                      cell(w.by_hand ? "hand" : w.sweep_bin ? "sweep" : "steady"), cell(w.slip_ratio), cell(w.slip_se), cell(w.slip_status), cell(w.rolling_radius_m), cell(vehicle::name(w.zero_slip)), cell(w.pull_n), cell(w.pull_se_n),
                      degrees(w.gradient_rad), cell(records::name(w.gradient_source)), cell(w.weight_n), cell(w.normal_load_n), cell(w.coefficient), cell(w.coefficient_se), cell(w.torque_n_m), cell(w.power_in_w),
                      cell(w.efficiency), cell(w.efficiency_se), cell(records::name(w.efficiency_kind)), cell(w.sinkage_m), count(w.samples), cell(w.n_effective), cell(joined(w.remarks, "; "))});
  }
  return t;
}

io::Table curves(const campaign::Results& r) {
  io::Table t{.name = "pull-slip-curves", .title = "Measured pull coefficient against slip", .columns = {{"vehicle", ""}, {"zone", ""}, {"weight", "N"}, {"relation", ""}, {"rolling radius", "m"}, {"slip ratio", "-"}}};
  estimate_columns(t.columns, "pull coefficient", "-");
  for (const records::DrawbarGroup& g : r.drawbar.groups) {
    for (const records::BandPoint& b : g.curve.band) {
      Row row{cell(g.vehicle), cell(g.zone), cell(g.weight_n), cell(records::name(g.curve.relation_used)), cell(g.radius.radius_m), cell(b.slip_ratio)};
      estimate_cells(row, b.coefficient);
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table resistances(const campaign::Results& r) {
  io::Table t{.name = "motion-resistance", .title = "Motion resistance coefficient", .columns = {{"vehicle", ""}, {"zone", ""}, {"by", ""}, {"weight", "N"}, {"speed", "m/s"}, {"runs", ""}}};
  estimate_columns(t.columns, "coefficient", "-");
  t.columns.push_back({"remark", ""});
  for (const records::MotionResistance& m : r.drawbar.resistances) {
    Row row{cell(m.vehicle), cell(m.zone), cell(records::name(m.method)), cell(m.weight_n), cell(m.speed_m_per_s), count(m.coefficient.n)};
    estimate_cells(row, m.coefficient);
    row.push_back(cell(m.note));
    t.rows.push_back(std::move(row));
  }
  return t;
}

io::Table trials(const campaign::Results& r) {
  io::Table t{.name = "slope-trials", .title = "Slope trials and what each was taken for",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"way", ""}, {"heading", "deg"}, {"drift", "deg"}, {"start", ""}, {"file", ""}, {"line", ""}, {"angle", "deg"}, {"angle spread, one standard deviation", "deg"}, {"places", ""}, {"outcome", ""}, {"taken as", ""}, {"slip ratio", "-"}, {"sinkage", "m"}, {"length climbed", "m"}, {"why", ""}}};
  for (const records::SlopeLimits& k : r.drawbar.slopes) {
    for (const records::TrialReading& x : k.trials) {
      t.rows.push_back({cell(k.vehicle), cell(k.zone), cell(k.heading_rad ? "aside" : k.downhill ? "down" : "up"), degrees(x.heading_rad), degrees(x.drift_rad), cell(k.rolling_start ? "rolling" : "standing"), cell(x.file), count(x.line), degrees(x.angle_rad), degrees(x.angle_sd_rad), count(x.places),
                        cell(outcome_words(x.outcome)), cell(records::name(x.bound)), cell(x.slip_ratio), cell(x.sinkage_m), cell(x.length_climbed_m), cell(x.why)});
    }
  }
  return t;
}

io::Table ruts(const campaign::Results& r) {
  io::Table t{.name = "ruts", .title = "Rut depth by wheel path and pass", .columns = {{"vehicle", ""}, {"zone", ""}, {"wheel path", ""}, {"pass", ""}, {"readings", ""}, {"runs", ""}}};
  estimate_columns(t.columns, "depth under the wheel", "m");
  estimate_columns(t.columns, "depth after the wheel", "m");
  for (const records::RutGroup& k : r.drawbar.ruts.groups) {
    Row row{cell(k.vehicle), cell(k.zone), cell(k.wheel_path), cell(static_cast<double>(k.pass)), count(k.readings), k.n_is_runs ? count(k.runs) : io::TableCell{}};
    estimate_cells(row, k.depth_loaded_m.value_or(math::Estimate{}));
    estimate_cells(row, k.depth_after_m.value_or(math::Estimate{}));
    t.rows.push_back(std::move(row));
  }
  return t;
}

}  // namespace

std::vector<io::Table> vehicle_tables(const campaign::Results& r) { return {windows(r), curves(r), resistances(r), trials(r), ruts(r)}; }

}  // namespace hardpan::report::detail
