// SPDX-License-Identifier: Apache-2.0
// libFuzzer: any bytes as a delimited file. Besides not crashing, the two readers must agree: every cell
// of the plain reader has the status and the value that the column reader gives.
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <source_location>
#include <string>
#include <string_view>

#include "io/csv.hpp"

namespace {

using namespace hardpan;

void require(bool holds, std::source_location at = std::source_location::current()) {
  if (holds) return;
  std::fprintf(stderr, "line %u does not hold\n", static_cast<unsigned>(at.line()));
  std::abort();
}

// The first byte chooses what is stated about the layout and how the file is cut.
io::CsvGiven given_by(std::uint8_t choice) {
  io::CsvGiven given;
  if (choice & 1) given.separator = static_cast<io::CsvSeparator>((choice >> 1) % 6);
  if (choice & 16) given.decimal = choice & 32 ? ',' : '.';
  if (choice & 64) given.header_lines = choice & 128 ? 1 : 0;
  return given;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 1) return 0;
  const io::CsvGiven given = given_by(data[0]);
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  base::Problems problems;
  const auto table = io::read_csv_table_bytes(bytes, "fuzz.csv", {.given = given}, problems);
  require(table.has_value() || problems.refused());

  static const int memory = ::memfd_create("fuzz", 0);
  require(memory >= 0 && ::ftruncate(memory, 0) == 0);
  require(::pwrite(memory, bytes.data(), bytes.size(), 0) == static_cast<ssize_t>(bytes.size()));
  const std::string path = "/proc/self/fd/" + std::to_string(memory);
  base::Problems column_problems;
  const auto layout = io::sniff_csv_bytes(bytes, true, path, given, column_problems);
  if (!layout) {
    require(!table);
    return 0;
  }
  std::vector<io::WantedColumn> wanted;
  for (std::size_t c = 0; c < layout->columns; ++c) wanted.push_back({c});
  const std::size_t piece = 64 + data[0];
  const auto columns = io::read_csv_columns(path, *layout, wanted, {.threads = data[0] % 8 == 0 ? 2u : 1u, .piece_bytes = piece}, column_problems);
  const auto whole = io::read_csv_columns(path, *layout, wanted, {.threads = 1, .piece_bytes = 8192}, column_problems);
  require(columns.summary.rows == whole.summary.rows && columns.summary.lines == whole.summary.lines);
  require(columns.summary.complete == whole.summary.complete);
  if (!table) return 0;
  require(columns.summary.complete);

  // The column reader also counts lines of separators only; the plain one takes them for blank.
  std::size_t r = 0;
  for (const io::CsvRow& row : table->rows) {
    while (r < columns.summary.rows && columns.lines.line_of(r) < row.line) ++r;
    require(r < columns.summary.rows && columns.lines.line_of(r) == row.line);
    for (std::size_t c = 0; c < layout->columns; ++c) {
      const io::CellStatus status = columns.columns[c].status_of(r);
      require(row.ragged == (status == io::CellStatus::set_aside));
      if (row.ragged) continue;
      const io::NumberCell cell = io::parse_number_cell(row.cells[c], layout->decimal);
      require(cell.status == status);
      if (cell.status == io::CellStatus::number) require(columns.columns[c].values[r] == cell.value);
    }
    ++r;
  }
  io::report_csv_faults("fuzz.csv", *layout, wanted, columns.summary, column_problems);
  return 0;
}
