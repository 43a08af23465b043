// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "report/detail/table_rows.hpp"
#include "report/detail/trials.hpp"

namespace hardpan::report::detail {
namespace {

io::Table obstacles(const campaign::Results& r) {
  io::Table t{.name = "obstacle-trials", .title = "Tries at obstacles and what each was taken for",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"obstacle", ""}, {"named", ""}, {"approach", ""}, {"way", ""}, {"file", ""}, {"line", ""}, {"size", "m"}, {"outcome", ""}, {"taken as", ""}, {"axle", ""}, {"friction", "-"}, {"remarks", ""}}};
  for (const records::ObstacleLimits& k : r.trials.reduced.obstacles) {
    for (const records::ObstacleReading& x : k.tries) {
      t.rows.push_back({cell(k.vehicle), cell(k.zone), cell(records::name(k.obstacle)), cell(x.named), cell(k.rolling_start ? "rolling" : "slow"), cell(k.backward ? "backward" : "forward"), cell(x.file), count(x.line), k.profile.empty() ? cell(x.size_m) : io::TableCell{}, cell(records::name(x.outcome)),
                        cell(records::name(x.bound)), cell(x.axle), cell(x.friction_ratio), cell(x.remark)});
    }
  }
  return t;
}

io::Table turns(const campaign::Results& r) {
  io::Table t{.name = "turn-trials", .title = "Turns and what each was taken for",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"side", ""}, {"wheel path", ""}, {"file", ""}, {"line", ""}, {"radius", "m"}, {"radius is", ""}, {"gradient", "deg"}, {"outcome", ""}, {"taken as", ""}, {"speed", "m/s"}, {"torque", "N m"}, {"power", "W"}, {"remarks", ""}}};
  for (const records::TurnLimits& k : r.trials.reduced.turns) {
    for (const records::TurnReading& x : k.turns) {
      t.rows.push_back({cell(k.vehicle), cell(k.zone), cell(k.right ? "right" : "left"), cell(records::name(k.path)), cell(x.file), count(x.line), cell(x.radius_m), cell(x.radius_measured ? "measured" : "asked"), degrees(k.gradient_rad),
                        cell(records::name(x.outcome)), cell(records::name(x.bound)), cell(x.speed_m_per_s), cell(x.torque_n_m), cell(x.power_w), cell(x.remark)});
    }
  }
  return t;
}

io::Table remote_runs(const campaign::Results& r) {
  io::Table t{.name = "remote-runs", .title = "Runs by remote control",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"course", ""}, {"file", ""}, {"line", ""}, {"operator", ""}, {"delay", "s"}, {"field of view", "deg"}, {"image interval", "s"}, {"practice", ""}, {"speed", "m/s"}, {"largest sideways error", "m"}, {"corridor", "m"}, {"stops", ""}, {"outcome", ""}, {"counts in the speeds", ""}, {"remarks", ""}}};
  for (const records::RemoteCourse& k : r.trials.reduced.remote) {
    for (const records::RemoteReading& x : k.runs) {
      t.rows.push_back({cell(k.vehicle), cell(k.zone), cell(k.course), cell(x.file), count(x.line), cell(x.operator_name), cell(x.delay_s), degrees(x.field_of_view_rad), cell(x.image_interval_s), cell(x.practice), cell(x.speed_m_per_s), cell(x.largest_error_m), cell(x.corridor_m), cell(x.stops),
                        cell(records::name(x.outcome)), yes(x.in_speed), cell(x.remark)});
    }
  }
  return t;
}

io::Table trips(const campaign::Results& r) {
  io::Table t{.name = "trip-runs", .title = "Runs over drive profiles",
              .columns = {{"vehicle", ""}, {"trip", ""}, {"file", ""}, {"line", ""}, {"outcome", ""}, {"distance", "m"}, {"energy", "J"}, {"time", "s"}, {"remarks", ""}}};
  for (const records::TripRuns& k : r.trials.reduced.trips) {
    for (const records::TripRun& x : k.runs) t.rows.push_back({cell(k.vehicle), cell(k.trip), cell(x.source.file), count(x.line), cell(records::name(x.outcome)), cell(x.distance_m), cell(x.energy_j), cell(x.time_s), cell(x.source.remark)});
  }
  return t;
}

io::Table rocks(const campaign::Results& r) {
  io::Table t{.name = "rock-runs", .title = "Runs among rocks", .columns = {{"vehicle", ""}, {"rocks", ""}, {"file", ""}, {"line", ""}, {"outcome", ""}, {"distance", "m"}, {"remarks", ""}}};
  for (const records::RockRuns& k : r.trials.reduced.rocks) {
    for (const records::RockRun& x : k.runs) t.rows.push_back({cell(k.vehicle), cell(k.rocks), cell(x.source.file), count(x.line), cell(records::name(x.outcome)), cell(x.distance_m), cell(x.source.remark)});
  }
  return t;
}

io::Table rough(const campaign::Results& r) {
  io::Table t{.name = "rough-runs", .title = "Runs over rough ground",
              .columns = {{"vehicle", ""}, {"ride", ""}, {"zone", ""}, {"file", ""}, {"line", ""}, {"speed", "m/s"}, {"outcome", ""}, {"peak acceleration", "m/s^2"}, {"r.m.s. acceleration", "m/s^2"}, {"remarks", ""}}};
  for (const records::RoughRuns& k : r.trials.reduced.rough) {
    for (const records::RoughRun& x : k.runs) {
      t.rows.push_back({cell(k.vehicle), cell(k.ride), cell(k.zone), cell(x.source.file), count(x.line), cell(x.speed_m_per_s), cell(records::name(x.outcome)), cell(x.peak_m_per_s2), cell(x.rms_m_per_s2), cell(x.source.remark)});
    }
  }
  return t;
}

io::Table ruts(const campaign::Results& r) {
  io::Table t{.name = "rut-passes", .title = "Rut depth by pass, measured and predicted", .columns = {{"vehicle", ""}, {"zone", ""}, {"wheel path", ""}, {"pass", ""}, {"slip ratio", "-"}}};
  estimate_columns(t.columns, "measured depth under the wheel", "m");
  estimate_columns(t.columns, "predicted depth under the wheel", "m");
  estimate_columns(t.columns, "measured depth after the wheel", "m");
  estimate_columns(t.columns, "predicted depth after the wheel", "m");
  for (const validation::RutByPass& k : r.trials.ruts) {
    if (!k.why_not.empty()) continue;
    for (const validation::RutPass& p : k.passes) {
      Row row{cell(k.vehicle), cell(k.zone), cell(k.wheel_path), cell(static_cast<double>(p.pass)), cell(k.slip_ratio)};
      estimate_cells(row, p.measured_loaded_m.value_or(math::Estimate{}));
      estimate_cells(row, p.predicted_loaded_m);
      estimate_cells(row, p.measured_after_m.value_or(math::Estimate{}));
      estimate_cells(row, p.predicted_after_m);
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table pairs(const campaign::Results& r) {
  io::Table t{.name = "paired-differences", .title = "Two vehicles in turn", .columns = {{"quantity", ""}, {"condition", ""}, {"zone", ""}, {"lane", ""}, {"first", ""}, {"second", ""}, {"pairs", ""}, {"balanced", ""}, {"unit", ""}}};
  estimate_columns(t.columns, "first less second");
  t.columns.push_back({"drift", ""});
  t.columns.push_back({"remark", ""});
  for (const records::PairedTrial& p : r.trials.reduced.pairs) {
    const RowUnit unit = row_unit(p.unit_si);
    Row row{cell(p.quantity), cell(p.condition), cell(p.zone), cell(p.lane), cell(p.difference.first), cell(p.difference.second), count(p.difference.pairs), yes(p.difference.balanced), cell(unit.name)};
    estimate_cells(row, p.difference.difference, unit);
    row.push_back(p.difference.drift ? cell(*p.difference.drift, unit) : io::TableCell{});
    row.push_back(cell(p.difference.note));
    t.rows.push_back(std::move(row));
  }
  return t;
}

}  // namespace

std::vector<io::Table> trial_tables(const campaign::Results& r) { return {obstacles(r), turns(r), remote_runs(r), trips(r), rocks(r), rough(r), ruts(r), pairs(r)}; }

}  // namespace hardpan::report::detail
