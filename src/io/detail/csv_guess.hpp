// SPDX-License-Identifier: Apache-2.0
// The guesses behind csv_layout.hpp, each on the cut records of the file's beginning.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/problems.hpp"
#include "io/csv_layout.hpp"
#include "io/detail/csv_records.hpp"

namespace hardpan::io::detail {

// What one cell looks like before separator and decimal sign are settled.
enum class Look {
  blank,
  text,
  integer,  // no decimal sign; also with an exponent
  point,    // one point
  comma,    // one comma
  grouped,  // both signs, or one of them several times
  time,     // clock, date, or both
  word      // nan, #N/A and the like
};
[[nodiscard]] Look look_of(std::string_view cell);
[[nodiscard]] inline bool like_number(Look look) { return look != Look::blank && look != Look::text; }

struct CutRecord {
  std::vector<std::string> cells;
  std::vector<Look> looks;
  std::size_t line = 0;    // of the file
  std::size_t offset = 0;  // in the bytes given
  bool comment = false;    // one cell: the line
  bool quoted = false;
  [[nodiscard]] std::size_t filled() const;    // cells that are not blank
  [[nodiscard]] std::size_t effective() const; // cells up to the last that is not blank
};

// The beginning cut with one separator; blank lines are left out.
struct Cut {
  CsvSeparator separator = CsvSeparator::none;
  std::vector<CutRecord> records;
  std::size_t columns = 0;   // the commonest number of cells, trailing empty columns left out
  double same_share = 0;     // records with that number of cells
  double number_share = 0;   // cells that look like numbers among those not blank
  std::size_t numbers = 0;
  bool quoted = false;
};
[[nodiscard]] Cut cut_with(std::string_view bytes, std::size_t first_line, CsvSeparator separator,
                           std::string_view comment_signs, std::size_t max_records);

// Which of #, %, / open comments rather than label rows.
[[nodiscard]] std::string active_comment_signs(std::string_view bytes, std::size_t max_lines);

// Rules 3 and 4. Refusals go to problems.
[[nodiscard]] std::optional<Cut> choose_separator(std::string_view bytes, std::size_t first_line,
                                                  const std::string& signs, const std::string& file,
                                                  const CsvGiven& given, std::vector<std::string>& reasons,
                                                  base::Problems& problems);

// Rule 5 on the records from `first` on.
[[nodiscard]] std::optional<char> choose_decimal(const Cut& cut, const std::string& file, const CsvGiven& given,
                                                 std::vector<std::string>& reasons, base::Problems& problems);

// Rule 6: indices into cut.records.
struct Head {
  std::vector<std::size_t> comments, preamble, headers;
  std::optional<std::size_t> commented_heading;
  std::size_t first_data = 0;  // records.size() when there is none
};
[[nodiscard]] Head find_head(const Cut& cut, const CsvGiven& given);

}  // namespace hardpan::io::detail
