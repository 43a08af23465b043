// SPDX-License-Identifier: Apache-2.0
// What a logger does wrong, found while its rows go by: repeated or backward time, gaps, channels at the end of their
// range, channels that stand still while others move. The findings are the same however the rows are cut into blocks,
// and memory does not grow with them (see time_steps.hpp for the one exception and its bound).
//
//   SignalCheck check({{.role = "pull", .heading = "Pull (N)", .range = 5000.0}});
//   for (each block) check.add(block, keep);      // keep[i] = 0: set row i aside
//   check.finish();
//   check.report("records/tow.csv", problems);
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "formats/detail/time_steps.hpp"

namespace hardpan::formats::detail {

struct SignalChannel {
  std::string role, heading;
  std::optional<double> range;  // SI; of the instrument, both ways
};

// Consecutive rows of a file, SI; NaN where a cell holds no number. All spans are equally long.
struct SignalRows {
  std::span<const std::size_t> line;
  std::span<const double> time;
  std::vector<std::span<const double>> channels;  // in the order given to the constructor
};

class SignalCheck {
 public:
  explicit SignalCheck(std::vector<SignalChannel> channels);
  void add(const SignalRows& rows, std::span<char> keep);
  void finish();  // once, after the last rows
  void report(const std::string& file, base::Problems& problems) const;
  [[nodiscard]] std::size_t rows() const { return rows_; }
  [[nodiscard]] std::size_t set_aside() const { return missing_.count + repeated_.count + backward_.count; }

 private:
  struct Seen {  // a fault: how often, and where first
    std::size_t count = 0, first_line = 0;
    void add(std::size_t line) {
      if (count++ == 0) first_line = line;
    }
  };
  struct Channel {
    SignalChannel is;
    double last = std::numeric_limits<double>::quiet_NaN();
    // Saturation: readings at the stated range, or runs at the largest value so far.
    double top = 0;
    std::size_t top_run = 0, top_run_line = 0;
    Seen flat;
    // Runs of bit-equal values.
    std::size_t run_begin = 0, run_line = 0;
    std::size_t changed_at = 0;  // last row that differs from the row before; 0: none yet
    std::size_t longest = 0, longest_line = 0;
    double longest_value = 0;
    bool others_moved = false;
    // As they were before the rows in hand.
    std::size_t changed_before = 0;
    double last_before = std::numeric_limits<double>::quiet_NaN();
  };

  void add_time(const SignalRows& rows, std::span<char> keep);
  void add_channel(std::size_t which, const SignalRows& rows);
  void end_run(std::size_t which, std::size_t end, const SignalRows& rows);
  [[nodiscard]] bool moved(std::size_t which, std::size_t begin, std::size_t end, const SignalRows& rows) const;

  std::vector<Channel> channels_;
  std::size_t rows_ = 0;
  double last_time_s_ = -std::numeric_limits<double>::infinity();
  Seen missing_, repeated_, backward_;
  TimeSteps steps_;
};

}  // namespace hardpan::formats::detail
