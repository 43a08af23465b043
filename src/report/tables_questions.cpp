// SPDX-License-Identifier: Apache-2.0
#include "report/detail/questions.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {

namespace p = performance;

io::Table remote_table(const campaign::Results& r) {
  io::Table t{.name = "remote-speeds", .title = "Speed through a delay", .columns = {{"vehicle", ""}, {"zone", ""}, {"braking", ""}, {"delay", "s"}, {"speed", "m/s"}, {"limited by", ""}, {"speed that stops within sight", "m/s"}, {"speed that holds the corridor", "m/s"}, {"mean speed of driving and waiting", "m/s"}}};
  for (const campaign::RemoteAnswer& a : r.answers.remote) {
    const bool two = !a.over_delay_best.empty();
    const auto add = [&](const std::vector<driving::DelayPoint>& points, const char* braking) {
      for (const driving::DelayPoint& x : points) {
        // What never needs to stop for sight may be driven at any speed of the vehicle's.
        const double stopping = std::min(x.speed.stop_limited_m_s, a.fastest_m_s);
        t.rows.push_back({cell(a.vehicle), cell(a.zone), cell(braking), cell(x.delay_s), cell(x.speed.speed_m_s), cell(driving::name(x.speed.limited_by)), cell(stopping), cell(x.speed.steering.speed_m_s), cell(x.speed.move_and_wait_m_s)});
      }
    };
    add(a.over_delay, two ? "lower end of the next point" : "best estimate");
    add(a.over_delay_best, "best estimate");
  }
  return t;
}

io::Table versus_table(const campaign::Results& r) {
  io::Table t{.name = "vehicles-compared", .title = "Two vehicles over the same possible soils", .columns = {{"first", ""}, {"second", ""}, {"zone", ""}, {"quantity", ""}, {"unit", ""}}};
  for (const char* of : {"first vehicle", "second vehicle", "first less second"}) estimate_columns(t.columns, of);
  t.columns.insert(t.columns.end(), {{"share on which the first is better", "-"}, {"first limited by", ""}, {"second limited by", ""}});
  for (const campaign::VersusAnswer& a : r.answers.versus) {
    for (const campaign::VersusRow& x : a.rows) {
      const RowUnit unit = row_unit(p::unit(x.quantity));
      Row row{cell(a.a), cell(a.b), cell(a.zone), cell(p::name(x.quantity)), cell(unit.name)};
      for (const math::Estimate* e : {&x.a, &x.b, &x.difference}) estimate_cells(row, *e, unit);
      row.insert(row.end(), {cell(x.a_better_ratio), cell(x.a_limited_by), cell(x.b_limited_by)});
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

}  // namespace hardpan::report::detail
