// SPDX-License-Identifier: Apache-2.0
// Keeps a log's cleaned rows as they are up to a stated number, and beyond it averages runs of consecutive rows into
// one, so that memory does not grow with the file. For what is read whole see read_sheet.
//
// Rows in one average are consecutive good rows without a gap between them (a step over gap_steps median steps, the
// median taken over the rows kept as they were). Their number k starts at 2 and doubles whenever the kept rows reach the limit
// again; what is kept then is what averaging k rows from the start would have given, so neither the block size nor
// the moment of doubling shows. Time is averaged with its channels, over the same rows: a count, an angle or a position that
// grows with time keeps its rate, whatever rows are missing in between. A mean of equal values is that value, to the last bit.
//
// What averaging takes away: everything quicker than k rows. A lag is found to a part of k rows' time, a product of two channels
// (power) becomes that of their means, and peaks are cut; readings at the end of a range are therefore counted for
// every row kept. A clock without a steady rate (every step a gap) would defeat the limit: then the gap that keeps
// rows apart is doubled until it no longer does, and `gap_s` tells.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <vector>

namespace hardpan::formats::detail {

enum class Averaging {
  needed,      // a row without it is of no use and is left out of every average
  own_cells,   // averaged over its own cells; no number only where none has one. Not for what grows with time.
  every_cell   // no number where any cell of the average has none
};

struct ThinChannel {
  Averaging averaging = Averaging::needed;
  std::optional<double> range;  // both ways; readings at its end are counted
};

struct ThinRows {
  std::vector<std::size_t> line;             // of the first row of each average
  std::vector<double> time_s;
  std::vector<std::vector<double>> channels;
  std::vector<std::uint32_t> at_range_end;   // readings at the end of a range in each row; empty when averaged is 1
  std::size_t averaged = 1;                  // rows in one; 1: kept as they are, cells without a number too
  double row_interval_s = 0, gap_s = 0;      // of the rows averaged; 0 when averaged is 1
  bool gap_raised = false;
  std::size_t good = 0, without_needed = 0;  // rows
  std::vector<std::size_t> lines_without_needed;  // the first five
  std::vector<std::size_t> without_number;   // cells, by channel
};

class Thinner {
 public:
  struct Settings {
    std::size_t limit = 1'000'000;  // rows kept; at least 16
    double gap_steps = 5;           // a step over so many median steps keeps rows apart
    std::size_t expected = 0;       // rows to make room for; a hint
  };
  Thinner(std::vector<ThinChannel> channels, const Settings& settings);

  // Rows with keep = 0 are skipped. Time rises over the others.
  void add(std::span<const std::size_t> line, std::span<const double> time_s,
           std::span<const std::span<const double>> channels, std::span<const char> keep);
  [[nodiscard]] ThinRows finish();  // once; empties this

 private:
  // One row, or several averaged: columns 0 is time.
  struct Group {
    std::size_t line = 0;
    std::uint32_t rows = 0, at_range_end = 0;
    double first_s = 0, last_s = 0;
    std::vector<double> mean;
    std::vector<std::uint32_t> cells;  // with a number, of the channels averaged over their own
  };

  void look_at(std::span<const std::size_t> line, std::span<const std::span<const double>> channels, std::span<const char> keep);
  std::size_t keep_whole(std::span<const std::size_t> line, std::span<const double> time_s,
                         std::span<const std::span<const double>> channels, std::span<const char> keep);
  [[nodiscard]] bool complete(Group& row) const;  // fills in the counts of a row from the store; false: it lacks what is needed
  [[nodiscard]] bool joins(const Group& group) const;
  void take(const Group& group);
  void close();
  void load(std::size_t at, Group& group) const;
  void start_averaging();
  void average_more();
  void repack();
  void make_room();

  std::vector<ThinChannel> channels_;
  std::vector<std::size_t> own_;  // of channel -> index into cells; kNoOwn for others
  Settings settings_;
  ThinRows out_;                  // its columns are the store
  std::vector<std::uint32_t> rows_;
  std::vector<double> first_s_, last_s_;
  std::vector<std::vector<std::uint32_t>> cells_;
  std::size_t kept_ = 0;          // rows of the store in use
  bool repacking_ = false;
  Group open_, row_, from_;
  std::vector<char> good_;                // of the rows in hand
  std::vector<std::uint32_t> range_end_;
};

}  // namespace hardpan::formats::detail
