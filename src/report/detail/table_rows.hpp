// SPDX-License-Identifier: Apache-2.0
// Cells of the tables on their way to files: SI with angles in degrees, six significant digits, empty where there is
// nothing. Full precision is results.json's.
#pragma once

#include <charconv>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <string>
#include <vector>

#include "io/table.hpp"
#include "math/estimate.hpp"
#include "campaign/no_travel.hpp"

namespace hardpan::report::detail {

[[nodiscard]] inline io::TableCell cell(const std::string& text) { return text.empty() ? io::TableCell{} : io::TableCell{text}; }
[[nodiscard]] inline io::TableCell cell(const char* text) { return cell(std::string(text)); }
// To six significant digits, as the decimal number that says so ("1.4", never 1.4000000000000001).
[[nodiscard]] inline double rounded(double v) {
  char text[32];
  const auto written = std::to_chars(text, text + sizeof text, v, std::chars_format::scientific, 5);
  double out = v;
  std::from_chars(text, written.ptr, out);
  return out;
}
// A value that is not a number stays empty; an infinite one says what it means here.
[[nodiscard]] inline io::TableCell cell(double v) {
  if (std::isnan(v)) return {};
  if (std::isinf(v)) return std::string("immobilised");
  return rounded(v);
}
[[nodiscard]] inline io::TableCell cell(const std::optional<double>& v) { return v ? cell(*v) : io::TableCell{}; }
inline constexpr double kDegrees = 180 / std::numbers::pi;
[[nodiscard]] inline io::TableCell degrees(double rad) { return cell(rad * kDegrees); }
[[nodiscard]] inline io::TableCell degrees(const std::optional<double>& rad) { return rad ? degrees(*rad) : io::TableCell{}; }
// The clock of a log: to the millisecond, however long it ran.
[[nodiscard]] inline io::TableCell seconds(double s) { return std::round(s * 1000) / 1000; }
[[nodiscard]] inline io::TableCell count(std::size_t n) { return static_cast<double>(n); }
[[nodiscard]] inline io::TableCell yes(bool b) { return std::string(b ? "yes" : "no"); }

using Row = std::vector<io::TableCell>;

// Rows of one table may hold different quantities: the unit then stands in a column before the values.
struct RowUnit {
  std::string name = "-";  // of a ratio
  double per_si = 1;
  double no_travel_si = std::numeric_limits<double>::quiet_NaN();   // stands for a vehicle that does not travel, and is told as a word
  const char* no_travel = "immobilised";
};
inline const RowUnit kPullUnit{.no_travel_si = campaign::kNoPull}, kTravelSlipUnit{.no_travel_si = campaign::kSlipOfNoTravel}, kDescentUnit{"deg", kDegrees, campaign::kNoDescent, "none"};
[[nodiscard]] inline RowUnit row_unit(const std::string& si) {
  if (si == "rad") return {"deg", kDegrees, performance::kNoGradient};
  return si.empty() || si == "1" ? RowUnit{} : RowUnit{si, 1};
}
[[nodiscard]] inline io::TableCell cell(double v, const RowUnit& unit) {
  if (std::abs(v - unit.no_travel_si) <= campaign::kAtNoTravel) return std::string(unit.no_travel);
  return cell(v * unit.per_si);
}
[[nodiscard]] inline io::TableCell low(const std::optional<math::Interval>& i, const RowUnit& unit) { return i ? cell(i->lo, unit) : io::TableCell{}; }
[[nodiscard]] inline io::TableCell high(const std::optional<math::Interval>& i, const RowUnit& unit) { return i ? cell(i->hi, unit) : io::TableCell{}; }

// Five columns of an estimate: value, ends of both intervals.
inline void estimate_columns(std::vector<io::TableColumn>& columns, const std::string& heading, const std::string& unit = "") {
  for (const char* part : {"", ", average ground low", ", average ground high", ", next point low", ", next point high"}) columns.push_back({heading + part, unit});
}
inline void estimate_cells(Row& row, const math::Estimate& e, const RowUnit& unit = {}) {
  row.push_back(cell(e.value, unit));
  for (const auto* i : {&e.average_ground, &e.next_point}) {
    row.push_back(low(*i, unit));
    row.push_back(high(*i, unit));
  }
}

}  // namespace hardpan::report::detail
