// SPDX-License-Identifier: Apache-2.0
// A table on its way out, written as CSV (csv_out.hpp) or as a sheet of a workbook (xlsx.hpp)
// from the same value. For tables that are read see csv.hpp.
//
//   Table t{.name = "points", .title = "Plate tests", .columns = {{"point", ""}, {"pressure", "kPa"}}};
//   t.rows.push_back({std::string("A1"), 12.5});
//   t.rows.push_back({std::string("A2"), std::monostate{}});  // empty cell
#pragma once

#include <string>
#include <variant>
#include <vector>

namespace hardpan::io {

using TableCell = std::variant<std::monostate, double, std::string>;

struct TableColumn {
  std::string heading;
  std::string unit;  // empty: text or dimensionless without a mark
  [[nodiscard]] std::string text() const { return unit.empty() ? heading : heading + " [" + unit + "]"; }
};

// Every row has one cell a column (asserted by the writers). A number that is not finite is
// written as the words "not finite": a reader must not take it for an empty cell.
struct Table {
  std::string name;   // of the file or sheet
  std::string title;  // one line for people
  std::vector<TableColumn> columns;
  std::vector<std::vector<TableCell>> rows;
};

}  // namespace hardpan::io
