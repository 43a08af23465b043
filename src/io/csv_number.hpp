// SPDX-License-Identifier: Apache-2.0
// One cell of text as a number, with a name for everything that is not one.
//
// Accepted: optional sign (ASCII or U+2212 minus), digits with at most one decimal sign of the
// file (5. and .5 too), optional exponent; blanks and no-break spaces around. Not accepted:
// thousands separators, hexadecimal, the other decimal sign, units (see units for those).
// The value is the double nearest to the text (round to even).
#pragma once

#include <cstdint>
#include <string_view>

namespace hardpan::io {

enum class CellStatus : std::uint8_t {
  number,
  missing,       // nothing between the separators
  not_a_number,  // some other text
  non_finite,    // nan, inf, 1.#IND, #N/A, #DIV/0! and their kin
  out_of_range,  // beyond what a double holds, towards infinity or towards zero
  set_aside      // the row is broken (cells too few or too many, NUL bytes): none of it is read
};
inline constexpr std::size_t kCellStatusCount = 6;
[[nodiscard]] const char* name(CellStatus status);

struct NumberCell {
  CellStatus status = CellStatus::missing;
  double value = 0;  // NaN unless status is number
};

[[nodiscard]] NumberCell parse_number_cell(std::string_view text, char decimal = '.');

// Clock and calendar cells, as seconds. Clock: H:MM, H:MM:SS, H:MM:SS.fff to seconds after
// midnight. Date and time: YYYY-MM-DD or DD.MM.YYYY, then a blank or T and a clock, optional Z
// or +HH:MM; to seconds after 1970-01-01 00:00 (UTC if a zone is given, else the file's own
// clock). Slashed dates are not_a_number: day and month cannot be told apart.
[[nodiscard]] NumberCell parse_clock_cell(std::string_view text, char decimal = '.');
[[nodiscard]] NumberCell parse_date_time_cell(std::string_view text, char decimal = '.');

}  // namespace hardpan::io
