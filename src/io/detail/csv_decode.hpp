// SPDX-License-Identifier: Apache-2.0
// The fast way from bytes to columns: a piece of whole records at a time, cells parsed where they
// lie. Anything unusual in a row (a quoted cell, a cell that is no plain number) goes through the plain
// code of csv_records.hpp and csv_number.hpp, so that both ways agree.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "io/csv_columns.hpp"
#include "io/detail/csv_records.hpp"

namespace hardpan::io::detail {

enum class PieceFault { none, line_too_long, quote_unclosed, read_failed };

// Lines are counted from 0 at the start of the piece, rows from 0.
struct DecodedPiece {
  std::size_t rows = 0;
  std::size_t lines = 0;                  // lines of the file the piece spans
  std::vector<std::vector<double>> values; // [wanted][row]; the vectors may be longer than rows
  struct CellFault {
    std::uint32_t row;
    std::uint16_t wanted;
    CellStatus status;
  };
  std::vector<CellFault> cell_faults;      // in order of rows
  struct Run {
    std::size_t row;
    std::size_t line;
  };
  std::vector<Run> runs;                   // see LineMap
  CsvSummary found;                        // counts and examples; its totals are unused
  PieceFault fault = PieceFault::none;     // at line `lines`: rows before it hold
  int error_number = 0;
  void clear();
};

class Decoder {
 public:
  Decoder(const CsvLayout& layout, const std::vector<WantedColumn>& wanted, std::size_t examples);
  // bytes: whole records, ending in a line end.
  void decode(std::string_view bytes, DecodedPiece& piece) const;

 private:
  struct RowState;
  template <bool kBlanks>
  void decode_as(std::string_view bytes, DecodedPiece& piece) const;
  template <bool kBlanks>
  bool fast_row(const char*& p, RowState& state) const;
  void slow_row(std::string_view bytes, std::size_t& at, RowState& state) const;
  void put_text(int slot, std::string_view text, RowState& state) const;
  void finish_row(RowState& state, std::string_view row_bytes) const;
  void set_aside(RowState& state, RowFault fault, std::size_t cells) const;

  CsvLayout layout_;
  std::vector<WantedColumn> wanted_;
  std::size_t examples_;
  char separator_;
  char fast_decimal_;  // NUL where separator and decimal sign are the same (quoted cells)
  bool ends_cell_[256] = {};
  std::vector<int> slot_of_;    // by column of the file, -1: not wanted
  std::vector<int> same_column_; // by wanted: the next wanted index of the same column, or -1
};

// How many leading bytes of `bytes` are whole records; at_end: nothing follows. 0 when not even one.
[[nodiscard]] std::size_t whole_records(std::string_view bytes, const CsvLayout& layout, bool at_end);

}  // namespace hardpan::io::detail
