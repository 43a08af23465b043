// SPDX-License-Identifier: Apache-2.0
// Logger files: chosen columns of numbers from files of any size, read on several threads.
//
// The values, counts, lists and line numbers are the same for any number of threads and any block
// size. Memory: read_csv_columns holds 8 bytes a wanted cell; for_csv_blocks holds a few MiB a
// thread whatever the file's size. The file is read in pieces, not mapped: a file that shrinks
// while it is read ends early instead of ending the program.
//
//   const std::vector<WantedColumn> wanted = {{0}, {3}};
//   auto layout = sniff_csv(path, {}, problems);
//   CsvColumns data = read_csv_columns(path, *layout, wanted, {}, problems);
//   data.columns[1].values[k];                 // fourth column of the file, row k
//   data.lines.line_of(k);                     // its line in the file
//   report_csv_faults(path, *layout, wanted, data.summary, problems);  // remarks with lines
#pragma once

#include <array>
#include <cstddef>
#include <functional>
#include <stop_token>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "io/csv_layout.hpp"
#include "io/csv_number.hpp"

namespace hardpan::io {

enum class CellKind { number, clock, date_time };

struct WantedColumn {
  std::size_t index = 0;  // in the file, 0-based, below layout.columns
  CellKind kind = CellKind::number;
};

// Which line of the file a row stands on, as runs: most files need one.
class LineMap {
 public:
  void add(std::size_t row, std::size_t line);  // rows in ascending order
  [[nodiscard]] std::size_t line_of(std::size_t row) const;  // 0 for a row before the first
  [[nodiscard]] std::size_t runs() const { return runs_.size(); }

 private:
  struct Run {
    std::size_t row;
    std::size_t line;
  };
  std::vector<Run> runs_;
};

struct CsvColumn {
  std::vector<double> values;      // NaN where the status is not number
  std::vector<CellStatus> status;  // empty: every cell is a number
  [[nodiscard]] CellStatus status_of(std::size_t row) const {
    return status.empty() ? CellStatus::number : status[row];
  }
};

enum class RowFault { too_few_cells, too_many_cells, nul_bytes };

// The first few of each kind and column are kept as examples.
struct CsvCellExample {
  std::size_t line = 0;
  std::size_t wanted = 0;  // index into the wanted columns
  CellStatus status = CellStatus::number;
  std::string text;        // as typed, cut after 40 bytes
};
struct CsvRowExample {
  std::size_t line = 0;
  RowFault fault = RowFault::too_few_cells;
  std::size_t cells = 0;
};

struct CsvSummary {
  std::size_t rows = 0;
  std::size_t lines = 0;  // last line number of the file
  std::size_t blank_lines = 0;
  std::size_t comment_lines = 0;
  std::size_t short_rows = 0;  // set aside
  std::size_t long_rows = 0;   // set aside
  std::size_t nul_rows = 0;    // set aside
  std::vector<std::array<std::size_t, kCellStatusCount>> cells;  // [wanted column][status]
  std::vector<CsvCellExample> cell_examples;
  std::vector<CsvRowExample> row_examples;
  std::vector<std::size_t> comment_examples;  // lines
  bool last_line_unterminated = false;  // the file ends without a line end: it may be cut
  bool complete = false;  // false: stopped, or refused part of the way
};

struct CsvColumns {
  std::vector<CsvColumn> columns;  // in the order wanted
  LineMap lines;
  CsvSummary summary;
};

struct CsvReadOptions {
  std::size_t threads = 0;               // 0: one a hardware thread
  std::size_t piece_bytes = 1u << 20;    // read and parsed at a time by one thread; at least 64
  std::size_t examples = 5;              // kept of each kind and column
  std::stop_token stop;
};

// Rows are what read_csv_table calls rows, and also lines of separators only (all cells missing). A
// row with too few cells, with text beyond the last column or with NUL bytes is set aside whole. A
// refusal (unreadable file, line too long, quote never closed, column beyond the last) is
// appended to problems and leaves summary.complete false.
[[nodiscard]] CsvColumns read_csv_columns(const std::string& path, const CsvLayout& layout,
                                          const std::vector<WantedColumn>& wanted,
                                          const CsvReadOptions& options, base::Problems& problems);

struct CsvBlock {
  std::size_t first_row = 0;
  std::size_t rows = 0;
  std::vector<CsvColumn> columns;
  LineMap lines;  // by row of the file, not of the block
};

// Calls back with blocks of exactly block_rows rows (the last may be shorter), in order, on the
// calling thread. The block is reused: copy what must last. After a refusal or a stop the rows behind
// the last full block are not handed out and summary.complete is false.
CsvSummary for_csv_blocks(const std::string& path, const CsvLayout& layout,
                          const std::vector<WantedColumn>& wanted, std::size_t block_rows,
                          const CsvReadOptions& options, base::Problems& problems,
                          const std::function<void(const CsvBlock&)>& callback);

// One remark a kind of fault and column, with count and the first lines.
void report_csv_faults(const std::string& file, const CsvLayout& layout,
                       const std::vector<WantedColumn>& wanted, const CsvSummary& summary,
                       base::Problems& problems);

}  // namespace hardpan::io
