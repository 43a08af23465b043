// SPDX-License-Identifier: Apache-2.0
// Obstacles of a campaign as a table: a row a vehicle and rule of sharing the torque.
#include <cmath>

#include "report/detail/questions.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {

io::Table obstacles_table(const campaign::Results& r) {
  io::Table t{.name = "obstacles", .title = "Obstacles crossed slowly", .columns = {{"obstacle", ""}, {"vehicle", ""}, {"torque shared", ""}, {"status", ""}, {"goes over", ""}, {"stopped by", ""}, {"friction needed", "-"}}};
  estimate_columns(t.columns, "friction there", "-");
  estimate_columns(t.columns, "friction left over", "-");
  for (const io::TableColumn& c : std::vector<io::TableColumn>{{"share of soils with friction enough", "-"}, {"hardest place", "m"}, {"largest axle torque", "N m"}, {"highest step", "m"}, {"widest gap", "m"},
                                                              {"highest step at low friction", "m"}, {"widest gap at low friction", "m"}}) t.columns.push_back(c);
  const auto limit = [](const performance::ObstacleLimit& l) { return l.solve.converged() || l.solve.status == base::SolveStatus::out_of_range ? cell(l.passes_m) : io::TableCell{}; };
  const auto limit_low = [&](const std::optional<performance::ObstacleLimit>& l) { return l ? limit(*l) : io::TableCell{}; };
  const auto number = [](double v) { return std::isfinite(v) ? cell(v) : io::TableCell{}; };
  for (const campaign::ObstacleAnswer& a : r.answers.obstacles) {
    for (const bool best : {true, false}) {
      const campaign::ObstacleRule& rule = best ? a.best : a.equal;
      const performance::Crossing& c = rule.crossing;
      const bool told = a.why_not.empty() && c.solve.converged();
      Row row{cell(a.obstacle), cell(a.vehicle), cell(best ? "as serves best" : "equal on every driven axle"), cell(!a.why_not.empty() ? a.why_not : told ? std::string("ok") : std::string("no numerical answer"))};
      row.push_back(told ? yes(c.passes) : io::TableCell{});
      row.push_back(told && c.stopped_by ? cell(performance::name(*c.stopped_by)) : io::TableCell{});
      row.push_back(told ? number(c.least_friction) : io::TableCell{});
      estimate_cells(row, told ? a.friction : math::Estimate{});
      estimate_cells(row, told && std::isfinite(rule.margin.value) ? rule.margin : math::Estimate{});
      row.push_back(told ? cell(rule.enough_ratio) : io::TableCell{});
      row.push_back(told ? number(c.critical_m) : io::TableCell{});
      row.push_back(told ? number(c.largest_torque_n_m) : io::TableCell{});
      row.push_back(told && best ? limit(a.step) : io::TableCell{});   // limits are those of the best split
      row.push_back(told && best ? limit(a.gap) : io::TableCell{});
      row.push_back(told && best ? limit_low(a.step_low) : io::TableCell{});
      row.push_back(told && best ? limit_low(a.gap_low) : io::TableCell{});
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

}  // namespace hardpan::report::detail
