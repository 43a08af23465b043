// SPDX-License-Identifier: Apache-2.0
// One reader cuts the file into pieces of whole records under a lock; every thread decodes pieces; the
// calling thread takes the results in the order of the file, and decodes while it has to wait. A
// bounded window of pieces keeps memory bounded.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <exception>
#include <functional>
#include <memory>
#include <mutex>
#include <stop_token>
#include <string>
#include <thread>
#include <unordered_map>
#include <vector>

#include "io/csv_columns.hpp"
#include "io/detail/csv_decode.hpp"

namespace hardpan::io::detail {

// Hands out pieces of whole records, in order. Not locked itself.
class PieceReader {
 public:
  PieceReader(int handle, const CsvLayout& layout, std::size_t piece_bytes);
  // False at the end of the file. Otherwise the buffer holds whole records ending in a line end, or
  // fault is set.
  bool next(std::string& buffer, PieceFault& fault, int& error_number);
  [[nodiscard]] bool unterminated() const { return unterminated_; }

 private:
  bool read_more(std::string& buffer, PieceFault& fault, int& error_number);
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
  Pipeline(int handle, const CsvLayout& layout, const std::vector<WantedColumn>& wanted, const CsvReadOptions& options);
  // Calls deliver(piece) in order, on the calling thread, until it returns false, the file ends, or
  // stop is requested; true when the file ended. Rethrows what a thread threw.
  bool run(const std::function<bool(DecodedPiece&)>& deliver);
  [[nodiscard]] bool unterminated() const { return reader_.unterminated(); }  // after run

 private:
  bool end_helpers(std::vector<std::jthread>& helpers, bool complete);
  void quit();
  void help();
  std::unique_ptr<DecodedPiece> take_ready();
  void give_back(std::unique_ptr<DecodedPiece> piece);
  bool finished();
  void wait_for_ready();
  // Reads and decodes the next piece. False when there is none, or (without waiting) no room.
  bool decode_one(bool wait);

  PieceReader reader_;
  Decoder decoder_;
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

}  // namespace hardpan::io::detail
