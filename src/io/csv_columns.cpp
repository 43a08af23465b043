// SPDX-License-Identifier: Apache-2.0
// One reader cuts the file into pieces of whole records under a lock; every thread decodes pieces; the
// calling thread takes the results in the order of the file, and decodes while it has to wait. A
// bounded window of pieces keeps memory bounded.
#include "io/csv_columns.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <condition_variable>
#include <cstring>
#include <exception>
#include <filesystem>
#include <memory>
#include <mutex>
#include <thread>
#include <unordered_map>

#include "base/assertion.hpp"
#include "io/detail/csv_decode.hpp"
#include "io/detail/file_handle.hpp"
#include "io/files.hpp"

namespace hardpan::io {
namespace {

using detail::DecodedPiece;
using detail::PieceFault;

// Hands out pieces of whole records, in order. Not locked itself.
class PieceReader {
 public:
  PieceReader(int handle, const CsvLayout& layout, std::size_t piece_bytes)
      : handle_(handle), layout_(layout), piece_bytes_(std::max<std::size_t>(64, piece_bytes)), offset_(layout.data_offset) {}

  // False at the end of the file. Otherwise buffer[0, returned size) holds whole records ending in a
  // line end, or fault is set.
  bool next(std::string& buffer, PieceFault& fault, int& error_number) {
    if (ended_) return false;
    fault = PieceFault::none;
    buffer.assign(rest_);
    rest_.clear();
    while (true) {
      const bool at_end = !read_more(buffer, fault, error_number);
      if (fault != PieceFault::none) {
        ended_ = true;
        return true;
      }
      if (at_end) {
        ended_ = true;
        if (buffer.empty()) return false;
        unterminated_ = buffer.back() != '\n' && buffer.back() != '\r';
        if (unterminated_) buffer += '\n';
        return true;
      }
      const std::size_t whole = detail::whole_records(buffer, layout_, false);
      if (whole > 0) {
        rest_.assign(buffer, whole);
        buffer.resize(whole);
        squeeze_nul_tail(rest_);
        return true;
      }
      squeeze_nul_tail(buffer);
      if (buffer.size() > kCsvMaxLineBytes) {
        fault = buffer.find_first_of("\r\n") == std::string::npos ? PieceFault::line_too_long : PieceFault::quote_unclosed;
        ended_ = true;
        return true;
      }
    }
  }
  [[nodiscard]] bool unterminated() const { return unterminated_; }

 private:
  bool read_more(std::string& buffer, PieceFault& fault, int& error_number) {
    const std::size_t filled = buffer.size();
    buffer.resize(filled + piece_bytes_);
    ssize_t got = 0;
    do {
      got = ::pread(handle_, buffer.data() + filled, piece_bytes_, static_cast<off_t>(offset_));
    } while (got < 0 && errno == EINTR);
    if (got < 0) {
      fault = PieceFault::read_failed;
      error_number = errno;
      got = 0;
    }
    buffer.resize(filled + static_cast<std::size_t>(got));
    offset_ += static_cast<std::size_t>(got);
    return got > 0;
  }

  // A logger that lost power leaves blocks of NUL bytes; a few stand for all of them.
  static void squeeze_nul_tail(std::string& bytes) {
    constexpr std::size_t kKept = 64;
    std::size_t n = bytes.size();
    while (n > 0 && bytes[n - 1] == '\0') --n;
    if (bytes.size() - n > kKept) bytes.resize(n + kKept);
  }

  int handle_;
  const CsvLayout& layout_;
  std::size_t piece_bytes_;
  std::size_t offset_;
  std::string rest_;
  bool ended_ = false;
  bool unterminated_ = false;
};

class Pipeline {
 public:
  Pipeline(int handle, const CsvLayout& layout, const std::vector<WantedColumn>& wanted, const CsvReadOptions& options)
      : reader_(handle, layout, options.piece_bytes), decoder_(layout, wanted, options.examples),
        threads_(options.threads != 0 ? options.threads : std::max(1u, std::thread::hardware_concurrency())),
        window_(3 * threads_), stop_(options.stop) {}

  // Calls deliver(piece) in order until it returns false, the file ends, or stop is requested.
  template <class Deliver>
  bool run(Deliver&& deliver) {
    std::vector<std::jthread> helpers;
    struct Quit {
      Pipeline& pipeline;
      ~Quit() { pipeline.quit(); }
    } quit_at_end{*this};  // before the helpers are joined
    const auto start = [&] {
      for (std::size_t i = 1; i < threads_; ++i) helpers.emplace_back([this] { help(); });
    };
    bool started = false;
    while (true) {
      if (stop_.stop_requested()) return end_helpers(helpers, false);
      if (auto piece = take_ready()) {
        const bool go_on = deliver(*piece);
        give_back(std::move(piece));
        if (!go_on) return end_helpers(helpers, false);
        if (!started) {
          start();  // a file of one piece needs no helper
          started = true;
        }
        continue;
      }
      if (finished()) return end_helpers(helpers, true);
      if (!decode_one(false)) wait_for_ready();
    }
  }
  [[nodiscard]] bool unterminated() const { return reader_.unterminated(); }

 private:
  bool end_helpers(std::vector<std::jthread>& helpers, bool complete) {
    quit();
    helpers.clear();
    if (error_) std::rethrow_exception(error_);
    return complete;
  }
  void quit() {
    const std::lock_guard lock(mutex_);
    quit_ = true;
    changed_.notify_all();
  }
  void help() {
    try {
      while (decode_one(true)) {
      }
    } catch (...) {
      const std::lock_guard lock(mutex_);
      if (!error_) error_ = std::current_exception();
      quit_ = ended_ = true;
      total_ = delivered_;  // lets the calling thread leave its loop
      changed_.notify_all();
    }
  }
  std::unique_ptr<DecodedPiece> take_ready() {
    const std::lock_guard lock(mutex_);
    const auto found = ready_.find(delivered_);
    if (found == ready_.end()) return nullptr;
    auto piece = std::move(found->second);
    ready_.erase(found);
    ++delivered_;
    changed_.notify_all();
    return piece;
  }
  void give_back(std::unique_ptr<DecodedPiece> piece) {
    const std::lock_guard lock(mutex_);
    spare_.push_back(std::move(piece));
  }
  bool finished() {
    const std::lock_guard lock(mutex_);
    return quit_ || (ended_ && delivered_ >= total_);
  }
  void wait_for_ready() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] {
      return quit_ || ready_.contains(delivered_) || (ended_ && delivered_ >= total_) || (!ended_ && taken_ < delivered_ + window_);
    });
  }

  // Reads and decodes the next piece. False when there is none, or (without waiting) no room.
  bool decode_one(bool wait) {
    std::unique_ptr<DecodedPiece> piece;
    std::size_t index = 0;
    std::string buffer;
    PieceFault fault = PieceFault::none;
    int error_number = 0;
    {
      // Waits before it holds the reader: whoever waits with it in hand would stop the others. Several
      // may pass at once, so the window may be exceeded by one piece a thread.
      std::unique_lock lock(mutex_);
      const auto room = [&] { return quit_ || ended_ || taken_ < delivered_ + window_; };
      if (wait) changed_.wait(lock, room);
      if (!room()) return false;
    }
    {
      // Held while reading, so that the order of indices is the order of the file.
      const std::lock_guard reading(read_mutex_);
      {
        const std::lock_guard lock(mutex_);
        if (quit_ || ended_) return false;
        if (!spare_buffers_.empty()) {
          buffer = std::move(spare_buffers_.back());
          spare_buffers_.pop_back();
        }
        if (!spare_.empty()) {
          piece = std::move(spare_.back());
          spare_.pop_back();
        }
      }
      const bool got = reader_.next(buffer, fault, error_number);
      const std::lock_guard lock(mutex_);
      if (!got) {
        ended_ = true;
        total_ = taken_;
        changed_.notify_all();
        return false;
      }
      index = taken_++;
    }
    if (!piece) piece = std::make_unique<DecodedPiece>();
    if (fault == PieceFault::none) {
      decoder_.decode(buffer, *piece);
    } else {
      piece->clear();
      piece->fault = fault;
      piece->error_number = error_number;
    }
    const std::lock_guard lock(mutex_);
    spare_buffers_.push_back(std::move(buffer));
    ready_.emplace(index, std::move(piece));
    changed_.notify_all();
    return true;
  }

  PieceReader reader_;
  detail::Decoder decoder_;
  std::size_t threads_;
  std::size_t window_;
  std::stop_token stop_;
  std::mutex read_mutex_;
  std::mutex mutex_;  // of everything below
  std::condition_variable changed_;
  std::unordered_map<std::size_t, std::unique_ptr<DecodedPiece>> ready_;
  std::vector<std::unique_ptr<DecodedPiece>> spare_;
  std::vector<std::string> spare_buffers_;
  std::size_t taken_ = 0;
  std::size_t delivered_ = 0;
  std::size_t total_ = 0;
  bool ended_ = false;
  bool quit_ = false;
  std::exception_ptr error_;
};

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
  Pipeline pipeline(file.get(), layout, wanted, options);
  std::size_t line = layout.first_data_line;
  bool refused = false;
  const bool to_the_end = pipeline.run([&](DecodedPiece& piece) {
    const std::size_t first_row = summary.rows;
    merge(summary, piece, line, options.examples);
    accept(piece, first_row, line);
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
      for (CsvColumn& c : out.columns) c.values.reserve(std::max(piece.rows, rows + rows / 16));
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
