// SPDX-License-Identifier: Apache-2.0
// Hand sheets: a few to some thousand rows, every cell kept as text with its line number. For
// logger files see csv_columns.hpp.
//
//   base::Problems problems;
//   if (auto sheet = read_csv_table("records/plate.csv", {}, problems))
//     for (const CsvRow& row : sheet->rows) use(row.line, row.cells);
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/problems.hpp"
#include "io/csv_layout.hpp"

namespace hardpan::io {

struct CsvRow {
  std::size_t line = 0;            // where the row starts, 1-based
  std::vector<std::string> cells;  // UTF-8, trimmed, quotes removed; may differ from the layout's
                                   // column count when `ragged`
  bool ragged = false;             // fewer cells, or non-blank cells beyond the last column
};

struct CsvTable {
  CsvLayout layout;
  std::vector<CsvRow> rows;      // blank and comment lines are not rows
  std::size_t blank_lines = 0;   // after the headings
  std::size_t comment_lines = 0; // after the headings
};

struct CsvTableOptions {
  CsvGiven given;
  // A sheet larger than this is a logger file: refused here, by name.
  std::size_t max_bytes = 64u << 20;
};

// Lines of separators only count as blank. Ragged rows and text behind a closing quote are remarks with their line, an unclosed quote is a
// refusal. Blank cells beyond the last column are dropped. nullopt when refused.
[[nodiscard]] std::optional<CsvTable> read_csv_table(const std::string& path, const CsvTableOptions& options,
                                                     base::Problems& problems);
[[nodiscard]] std::optional<CsvTable> read_csv_table_bytes(std::string_view bytes, const std::string& file,
                                                           const CsvTableOptions& options,
                                                           base::Problems& problems);

}  // namespace hardpan::io
