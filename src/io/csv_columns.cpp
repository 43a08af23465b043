// SPDX-License-Identifier: Apache-2.0
#include "io/csv_columns.hpp"

#include <fcntl.h>
#include <sys/mman.h>

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <system_error>

#include "base/assertion.hpp"
#include "io/detail/csv_pipeline.hpp"
#include "io/detail/file_handle.hpp"
#include "io/files.hpp"

namespace hardpan::io {
namespace {

using detail::DecodedPiece;
using detail::PieceFault;

// Adds the piece's counts and examples, with lines of the file.
void merge(CsvSummary& all, const DecodedPiece& piece, std::size_t first_line, std::size_t examples) {
  const CsvSummary& one = piece.found;
  // A piece keeps its first few; of these the first few over all are wanted.
  for (const CsvCellExample& e : one.cell_examples) {
    if (all.cells[e.wanted][static_cast<std::size_t>(e.status)]++ < examples) {
      all.cell_examples.push_back(e);
      all.cell_examples.back().line += first_line;
    }
  }
  for (const CsvCellExample& e : one.cell_examples) --all.cells[e.wanted][static_cast<std::size_t>(e.status)];
  for (std::size_t k = 0; k < one.cells.size(); ++k) {
    std::size_t faults = 0;
    for (std::size_t s = 1; s < kCellStatusCount; ++s) {
      all.cells[k][s] += one.cells[k][s];
      faults += one.cells[k][s];
    }
    all.cells[k][0] += piece.rows - faults;
  }
  for (const CsvRowExample& e : one.row_examples) {
    const auto same = std::count_if(all.row_examples.begin(), all.row_examples.end(), [&](const auto& o) { return o.fault == e.fault; });
    if (static_cast<std::size_t>(same) < examples) all.row_examples.push_back({e.line + first_line, e.fault, e.cells});
  }
  for (const std::size_t line : one.comment_examples) {
    if (all.comment_examples.size() < examples) all.comment_examples.push_back(line + first_line);
  }
  all.rows += piece.rows;
  all.blank_lines += one.blank_lines;
  all.comment_lines += one.comment_lines;
  all.short_rows += one.short_rows;
  all.long_rows += one.long_rows;
  all.nul_rows += one.nul_rows;
}

void refuse_fault(PieceFault fault, int error_number, const std::string& path, std::size_t line, base::Problems& problems) {
  base::Problem p{.place = {.file = path, .line = line}};
  if (fault == PieceFault::line_too_long) {
    p.what = "the line is too long for a table";
    p.bound = std::to_string(kCsvMaxLineBytes) + " bytes or fewer a line";
  } else if (fault == PieceFault::quote_unclosed) {
    p.what = "a quote opens in this line or below and is never closed";
    p.remedy = "close it, or remove it if it is an inch mark or a ditto mark";
  } else {
    p.what = "reading the file failed: " + std::string(std::strerror(error_number));
  }
  problems.refuse(std::move(p));
}

// The common part: accept(piece, first row, first line) for every piece in order.
template <class Accept>
CsvSummary read_pieces(const std::string& path, const CsvLayout& layout, const std::vector<WantedColumn>& wanted,
                       const CsvReadOptions& options, base::Problems& problems, Accept&& accept) {
  CsvSummary summary;
  summary.cells.resize(wanted.size());
  for (const WantedColumn& w : wanted) {
    if (w.index < layout.columns) continue;
    problems.refuse({.place = {.file = path}, .what = "there is no column " + std::to_string(w.index + 1),
                     .bound = "1 to " + std::to_string(layout.columns)});
    return summary;
  }
  const detail::FileHandle file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (!file.ok()) {
    (void)read_file(path, problems, 0);
    return summary;
  }
  detail::Pipeline pipeline(file.get(), layout, wanted, options);
  std::size_t line = layout.first_data_line;
  bool refused = false;
  const bool to_the_end = pipeline.run([&](DecodedPiece& piece) {
    const std::size_t first_row = summary.rows;
    merge(summary, piece, line, options.examples);
    if (piece.rows > 0) accept(piece, first_row, line);  // a faulty piece may have been given up before any column was made
    line += piece.lines;
    if (piece.fault == PieceFault::none) return true;
    refuse_fault(piece.fault, piece.error_number, path, line, problems);
    refused = true;
    return false;
  });
  summary.lines = line > 0 ? line - 1 : 0;
  summary.complete = to_the_end && !refused;
  summary.last_line_unterminated = summary.complete && pipeline.unterminated();
  return summary;
}

// Rows [begin, end) of the piece behind what the column already holds (`held` rows).
void append_rows(std::vector<CsvColumn>& columns, const DecodedPiece& piece, std::size_t begin, std::size_t end,
                 std::size_t held) {
  for (std::size_t k = 0; k < columns.size(); ++k) {
    CsvColumn& column = columns[k];
    const auto first = piece.values[k].begin();
    column.values.insert(column.values.end(), first + static_cast<std::ptrdiff_t>(begin), first + static_cast<std::ptrdiff_t>(end));
    if (!column.status.empty()) column.status.resize(held + end - begin, CellStatus::number);
  }
  auto fault = std::lower_bound(piece.cell_faults.begin(), piece.cell_faults.end(), begin,
                                [](const DecodedPiece::CellFault& f, std::size_t row) { return f.row < row; });
  for (; fault != piece.cell_faults.end() && fault->row < end; ++fault) {
    CsvColumn& column = columns[fault->wanted];
    if (column.status.empty()) column.status.resize(held + end - begin, CellStatus::number);
    column.status[held + fault->row - begin] = fault->status;
  }
}

void append_lines(LineMap& lines, const DecodedPiece& piece, std::size_t begin, std::size_t end, std::size_t first_row,
                  std::size_t first_line) {
  for (std::size_t i = 0; i < piece.runs.size(); ++i) {
    const auto& run = piece.runs[i];
    const std::size_t run_end = i + 1 < piece.runs.size() ? piece.runs[i + 1].row : piece.rows;
    const std::size_t from = std::max(run.row, begin);
    if (from < std::min(run_end, end)) lines.add(first_row + from, first_line + run.line + (from - run.row));
  }
}

// Touching fresh memory 4 KiB at a time costs more than parsing the text (measured: 0.25 of 0.36 s for
// 67 MB of values); 2 MiB pages, where the system grants them, take that away. Only a hint.
void ask_for_large_pages(std::vector<double>& values) {
  constexpr std::uintptr_t kLarge = 2u << 20;
  const auto begin = (reinterpret_cast<std::uintptr_t>(values.data()) + kLarge - 1) / kLarge * kLarge;
  const auto end = (reinterpret_cast<std::uintptr_t>(values.data()) + values.capacity() * sizeof(double)) / kLarge * kLarge;
  if (begin < end) (void)::madvise(reinterpret_cast<void*>(begin), end - begin, MADV_HUGEPAGE);
}

}  // namespace

void LineMap::add(std::size_t row, std::size_t line) {
  HARDPAN_ASSERT(runs_.empty() || row > runs_.back().row);
  if (!runs_.empty() && line - runs_.back().line == row - runs_.back().row) return;
  runs_.push_back({row, line});
}

std::size_t LineMap::line_of(std::size_t row) const {
  const auto after = std::upper_bound(runs_.begin(), runs_.end(), row, [](std::size_t r, const Run& run) { return r < run.row; });
  if (after == runs_.begin()) return 0;
  const Run& run = *(after - 1);
  return run.line + (row - run.row);
}

CsvColumns read_csv_columns(const std::string& path, const CsvLayout& layout, const std::vector<WantedColumn>& wanted,
                            const CsvReadOptions& options, base::Problems& problems) {
  CsvColumns out;
  out.columns.resize(wanted.size());
  std::error_code unknown;  // 0 then: the vectors grow as they fill
  const std::uintmax_t size = std::filesystem::file_size(path, unknown);
  const std::size_t file_bytes = unknown ? 0 : static_cast<std::size_t>(size);
  out.summary = read_pieces(path, layout, wanted, options, problems,
                            [&](const DecodedPiece& piece, std::size_t first_row, std::size_t first_line) {
    if (first_row == 0 && piece.rows > 0) {
      // Room for all rows at once, by the length of the first piece's rows.
      const std::size_t rows = file_bytes / std::max<std::size_t>(1, options.piece_bytes / piece.rows);
      for (CsvColumn& c : out.columns) {
        c.values.reserve(std::max(piece.rows, rows + rows / 16));
        ask_for_large_pages(c.values);
      }
    }
    append_rows(out.columns, piece, 0, piece.rows, first_row);
    append_lines(out.lines, piece, 0, piece.rows, first_row, first_line);
  });
  return out;
}

CsvSummary for_csv_blocks(const std::string& path, const CsvLayout& layout, const std::vector<WantedColumn>& wanted,
                          std::size_t block_rows, const CsvReadOptions& options, base::Problems& problems,
                          const std::function<void(const CsvBlock&)>& callback) {
  HARDPAN_ASSERT(block_rows > 0);
  CsvBlock block;
  const auto start_block = [&](std::size_t first_row) {
    block.first_row = first_row;
    block.rows = 0;
    block.lines = {};
    block.columns.resize(wanted.size());
    for (CsvColumn& c : block.columns) {
      c.values.clear();
      c.status.clear();
    }
  };
  start_block(0);
  CsvSummary summary = read_pieces(path, layout, wanted, options, problems,
                                   [&](const DecodedPiece& piece, std::size_t first_row, std::size_t first_line) {
    for (std::size_t begin = 0; begin < piece.rows;) {
      const std::size_t end = std::min(piece.rows, begin + block_rows - block.rows);
      append_rows(block.columns, piece, begin, end, block.rows);
      append_lines(block.lines, piece, begin, end, first_row, first_line);
      block.rows += end - begin;
      begin = end;
      if (block.rows == block_rows) {
        callback(block);
        start_block(first_row + end);
      }
    }
  });
  if (block.rows > 0 && summary.complete) callback(block);
  return summary;
}

void report_csv_faults(const std::string& file, const CsvLayout& layout, const std::vector<WantedColumn>& wanted,
                       const CsvSummary& summary, base::Problems& problems) {
  const auto lines_text = [](const std::vector<std::size_t>& lines, std::size_t count) {
    std::string out = lines.size() == 1 ? "line " : "lines ";
    for (std::size_t i = 0; i < lines.size(); ++i) out += (i > 0 ? ", " : "") + std::to_string(lines[i]);
    return out + (count > lines.size() ? " and more" : "");
  };
  const auto heading = [&](std::size_t k) {
    const std::size_t column = wanted[k].index;
    std::string out = "column " + std::to_string(column + 1);
    if (!layout.headers.empty() && column < layout.headers[0].size() && !layout.headers[0][column].empty()) {
      out += " (" + layout.headers[0][column] + ")";
    }
    return out;
  };
  const auto rows_of = [&](RowFault fault, std::size_t count, const std::string& what) {
    std::vector<std::size_t> lines;
    for (const CsvRowExample& e : summary.row_examples) {
      if (e.fault == fault) lines.push_back(e.line);
    }
    if (count == 0 || lines.empty()) return;
    problems.remark({.place = {.file = file, .line = lines[0]}, .what = what + ", " + lines_text(lines, count),
                     .bound = std::to_string(layout.columns) + " cells a row", .count = count});
  };
  rows_of(RowFault::too_few_cells, summary.short_rows, "a row with too few cells is set aside");
  rows_of(RowFault::too_many_cells, summary.long_rows, "a row with too many cells is set aside");
  rows_of(RowFault::nul_bytes, summary.nul_rows, "a row with NUL bytes (power lost while writing?) is set aside");
  for (std::size_t k = 0; k < summary.cells.size(); ++k) {
    for (const CellStatus status : {CellStatus::missing, CellStatus::not_a_number, CellStatus::non_finite, CellStatus::out_of_range}) {
      const std::size_t count = summary.cells[k][static_cast<std::size_t>(status)];
      if (count == 0) continue;
      std::vector<std::size_t> lines;
      std::string first;
      for (const CsvCellExample& e : summary.cell_examples) {
        if (e.wanted != k || e.status != status) continue;
        if (lines.empty()) first = e.text;
        lines.push_back(e.line);
      }
      problems.remark({.place = {.file = file, .line = lines.empty() ? 0 : lines[0]},
                       .what = heading(k) + ": cell is " + name(status) + ", " + lines_text(lines, count),
                       .value = first, .count = count});
    }
  }
  if (summary.comment_lines > 0) {
    problems.remark({.place = {.file = file, .line = summary.comment_examples.empty() ? 0 : summary.comment_examples[0]},
                     .what = "a comment line between the rows, " + lines_text(summary.comment_examples, summary.comment_lines),
                     .count = summary.comment_lines});
  }
  if (summary.last_line_unterminated) {
    problems.remark({.place = {.file = file, .line = summary.lines},
                     .what = "the file ends without a line end: its last row may be cut"});
  }
}

}  // namespace hardpan::io
