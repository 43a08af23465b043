// SPDX-License-Identifier: Apache-2.0
// A workbook of tables: one sheet a table, numbers as numbers (16 significant digits, as spreadsheet
// programs keep; CSV has all), text never taken for a formula.
// The file appears whole or not at all.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "io/table.hpp"

namespace hardpan::io {

struct WorkbookOptions {
  std::string title;
  // Seconds after 1970-01-01 UTC written as creation date; the same value and tables give the same bytes.
  std::int64_t created_unix_s = 0;
};

// Throws EnvironmentError when the file cannot be written. A table longer than a sheet goes on in
// further sheets; a text longer than a cell holds (32,767) is cut and ends in " [cut]".
void write_xlsx(const std::string& path, const std::vector<Table>& tables, const WorkbookOptions& options);

// A sheet name that spreadsheet programs accept: 1 to 31 characters, none of []:*?/\, no
// apostrophe at either end, not the reserved "History", unlike every name in taken (letter case
// aside; a number in brackets is appended).
[[nodiscard]] std::string sheet_name(std::string_view wanted, const std::vector<std::string>& taken);

}  // namespace hardpan::io
