// SPDX-License-Identifier: Apache-2.0
// What the printers of this folder share: tables of words, numbers that may be no number, units chosen at run time.
#pragma once

#include <numbers>
#include <optional>
#include <string>
#include <vector>

#include "units/print.hpp"

namespace hardpan::cli {

inline constexpr double kDeg = 180 / std::numbers::pi;

// The first row is the heading. Columns as wide as their widest line; the last one is left as it is. A cell with line breaks stands over several lines.
[[nodiscard]] std::string table(const std::vector<std::vector<std::string>>& rows);
// Of like columns: as table(), but in blocks of columns where it is wider than people read, the first column before each.
[[nodiscard]] std::string table_in_blocks(const std::vector<std::vector<std::string>>& rows);
// Broken at spaces into lines of at most `width` characters where its words let it; all but the first are set in by two.
[[nodiscard]] std::string wrapped(const std::string& text, std::size_t width);
// The unit of a whole column, whatever the size of its values: m or ft, kg or lb, N or lbf, m/s or mph, Wh/km or Wh/mi.
[[nodiscard]] units::Unit column_unit(units::Dimension dimension, units::OutputUnits u);
// How a number without a unit is written here: significant digits, or digits after the point; no powers of ten in between, no minus before a zero.
[[nodiscard]] std::string number(double v, int digits = 3);
[[nodiscard]] std::string fixed(double v, int decimals);
// A value in the unit it was typed in, without zeros that nobody typed: "60 mm", "0.5 m".
[[nodiscard]] std::string as_typed(double v_si, const units::Unit& unit, int digits = 6);
// "margin +2.3 deg to the 12 deg needed; limited by traction", in the unit it was typed in or with the digits of a converted one; without a number "no margin to ...".
[[nodiscard]] std::string margin_words(const std::optional<double>& margin_si, double needed_si, const units::Unit& unit, const std::string& limited_by, int needed_digits = 6);
[[nodiscard]] std::string degrees(double rad);
// A value whose unit is only known at run time, in the unit people read.
[[nodiscard]] std::string with_unit(double v, const std::string& unit, units::OutputUnits u);

}  // namespace hardpan::cli
