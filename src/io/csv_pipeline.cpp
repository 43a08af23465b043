// SPDX-License-Identifier: Apache-2.0
#include "io/detail/csv_pipeline.hpp"

#include <unistd.h>

#include <algorithm>
#include <cerrno>

namespace hardpan::io::detail {
namespace {

// A logger that lost power leaves blocks of NUL bytes; a few stand for all of them.
void squeeze_nul_tail(std::string& bytes) {
  constexpr std::size_t kKept = 64;
  std::size_t n = bytes.size();
  while (n > 0 && bytes[n - 1] == '\0') --n;
  if (bytes.size() - n > kKept) bytes.resize(n + kKept);
}

}  // namespace

PieceReader::PieceReader(int handle, const CsvLayout& layout, std::size_t piece_bytes)
    : handle_(handle), layout_(layout), piece_bytes_(std::max<std::size_t>(64, piece_bytes)), offset_(layout.data_offset) {}

bool PieceReader::next(std::string& buffer, PieceFault& fault, int& error_number) {
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
    const std::size_t whole = whole_records(buffer, layout_, false);
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

bool PieceReader::read_more(std::string& buffer, PieceFault& fault, int& error_number) {
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

Pipeline::Pipeline(int handle, const CsvLayout& layout, const std::vector<WantedColumn>& wanted,
                   const CsvReadOptions& options)
    : reader_(handle, layout, options.piece_bytes), decoder_(layout, wanted, options.examples),
      threads_(options.threads != 0 ? options.threads : std::max(1u, std::thread::hardware_concurrency())),
      window_(3 * threads_), stop_(options.stop) {}

bool Pipeline::run(const std::function<bool(DecodedPiece&)>& deliver) {
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

bool Pipeline::end_helpers(std::vector<std::jthread>& helpers, bool complete) {
  quit();
  helpers.clear();
  if (error_) std::rethrow_exception(error_);
  return complete;
}

void Pipeline::quit() {
  const std::lock_guard lock(mutex_);
  quit_ = true;
  changed_.notify_all();
}

void Pipeline::help() {
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

std::unique_ptr<DecodedPiece> Pipeline::take_ready() {
  const std::lock_guard lock(mutex_);
  const auto found = ready_.find(delivered_);
  if (found == ready_.end()) return nullptr;
  auto piece = std::move(found->second);
  ready_.erase(found);
  ++delivered_;
  changed_.notify_all();
  return piece;
}

void Pipeline::give_back(std::unique_ptr<DecodedPiece> piece) {
  const std::lock_guard lock(mutex_);
  spare_.push_back(std::move(piece));
}

bool Pipeline::finished() {
  const std::lock_guard lock(mutex_);
  return quit_ || (ended_ && delivered_ >= total_);
}

void Pipeline::wait_for_ready() {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [&] {
    return quit_ || ready_.contains(delivered_) || (ended_ && delivered_ >= total_) || (!ended_ && taken_ < delivered_ + window_);
  });
}

bool Pipeline::decode_one(bool wait) {
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

}  // namespace hardpan::io::detail
