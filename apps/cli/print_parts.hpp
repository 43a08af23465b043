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

// The first row is the heading. Columns as wide as their widest cell; the last one is left as it is.
[[nodiscard]] std::string table(const std::vector<std::vector<std::string>>& rows);
// Of like columns: as table(), but in blocks of columns where it is wider than people read, the first column before each.
[[nodiscard]] std::string table_in_blocks(const std::vector<std::vector<std::string>>& rows);
// How a number without a unit is written here: significant digits, or digits after the point; no powers of ten in between, no minus before a zero.
[[nodiscard]] std::string number(double v, int digits = 3);
[[nodiscard]] std::string fixed(double v, int decimals);
// A value in the unit it was typed in, without zeros that nobody typed: "60 mm", "0.5 m".
[[nodiscard]] std::string as_typed(double v_si, const units::Unit& unit, int digits = 6);
// "margin +2.3 deg to the 12 deg needed; limited by traction", in the unit it was typed in; without a number "no margin to ...".
[[nodiscard]] std::string margin_words(const std::optional<double>& margin_si, double needed_si, const units::Unit& unit, const std::string& limited_by);
[[nodiscard]] std::string degrees(double rad);
// A value whose unit is only known at run time, in the unit people read.
[[nodiscard]] std::string with_unit(double v, const std::string& unit, units::OutputUnits u);

}  // namespace hardpan::cli
