// SPDX-License-Identifier: Apache-2.0
// Cells of the tables on their way to files: SI in full, empty where there is nothing.
#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "io/table.hpp"
#include "math/estimate.hpp"

namespace hardpan::report::detail {

[[nodiscard]] inline io::TableCell cell(const std::string& text) { return text.empty() ? io::TableCell{} : io::TableCell{text}; }
[[nodiscard]] inline io::TableCell cell(const char* text) { return cell(std::string(text)); }
// A value that is not a number stays empty; an infinite one says what it means here.
[[nodiscard]] inline io::TableCell cell(double v) {
  if (std::isnan(v)) return {};
  if (std::isinf(v)) return std::string("immobilised");
  return v;
}
[[nodiscard]] inline io::TableCell cell(const std::optional<double>& v) { return v ? cell(*v) : io::TableCell{}; }
[[nodiscard]] inline io::TableCell count(std::size_t n) { return static_cast<double>(n); }
[[nodiscard]] inline io::TableCell yes(bool b) { return std::string(b ? "yes" : "no"); }

using Row = std::vector<io::TableCell>;

// Five columns of an estimate: value, ends of both intervals.
inline void estimate_columns(std::vector<io::TableColumn>& columns, const std::string& heading, const std::string& unit) {
  for (const char* part : {"", ", average ground low", ", average ground high", ", next point low", ", next point high"}) columns.push_back({heading + part, unit});
}
inline void estimate_cells(Row& row, const math::Estimate& e) {
  row.push_back(cell(e.value));
  for (const auto* i : {&e.average_ground, &e.next_point}) {
    row.push_back(*i ? cell((*i)->lo) : io::TableCell{});
    row.push_back(*i ? cell((*i)->hi) : io::TableCell{});
  }
}

}  // namespace hardpan::report::detail
