// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <limits>

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

// Nothing where one of the two does not travel: the number that stands for it is no place on the scale.
math::Estimate difference(const campaign::VersusRow& x, const RowUnit& unit) {
  const auto stands = [&](double v) { return std::abs(v - unit.no_travel_si) <= campaign::kAtNoTravel; };
  const auto end = [&](const std::optional<math::Interval>& i) { return i && (stands(i->lo) || stands(i->hi)); };
  math::Estimate out = x.difference;
  if (stands(x.a.value) || stands(x.b.value)) out.value = std::numeric_limits<double>::quiet_NaN();
  if (end(x.a.average_ground) || end(x.b.average_ground)) out.average_ground.reset();
  if (end(x.a.next_point) || end(x.b.next_point)) out.next_point.reset();
  return out;
}

io::Table versus_table(const campaign::Results& r) {
  io::Table t{.name = "vehicles-compared", .title = "Two vehicles over the same possible soils", .columns = {{"first", ""}, {"second", ""}, {"zone", ""}, {"quantity", ""}, {"unit", ""}}};
  for (const char* of : {"first vehicle", "second vehicle", "first less second"}) estimate_columns(t.columns, of);
  t.columns.insert(t.columns.end(), {{"share on which the first is better", "-"}, {"first limited by", ""}, {"second limited by", ""}});
  for (const campaign::VersusAnswer& a : r.answers.versus) {
    for (const campaign::VersusRow& x : a.rows) {
      const RowUnit unit = x.quantity == p::Compared::pull_20 ? kPullUnit : x.quantity == p::Compared::descent ? kDescentUnit : row_unit(p::unit(x.quantity));
      Row row{cell(a.a), cell(a.b), cell(a.zone), cell(p::name(x.quantity)), cell(unit.name)};
      for (const math::Estimate* e : {&x.a, &x.b}) estimate_cells(row, *e, unit);
      estimate_cells(row, difference(x, unit), {unit.name, unit.per_si});
      row.insert(row.end(), {cell(x.a_better_ratio), cell(x.a_limited_by), cell(x.b_limited_by)});
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

}  // namespace hardpan::report::detail
