// SPDX-License-Identifier: Apache-2.0
// Steps of a rising clock, one after another: their median, and which of them are gaps.
//
// Up to `exact` steps the median is that of all steps. Beyond that the steps are counted in bins 1/256 of an octave
// wide (0.3 %), so that memory stays the same whatever the length; the median is then the mean of the steps in its bin,
// and a step within a bin's width of the limit may be counted on either side of it.
//
//   TimeSteps steps;
//   for (...) steps.add(time_s[i], line[i]);
//   const TimeSteps::Gaps gaps = steps.longer_than(10 * steps.median_s());
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "io/csv_columns.hpp"

namespace hardpan::formats::detail {

class TimeSteps {
 public:
  struct Gaps {
    std::size_t count = 0;
    std::size_t first_line = 0;  // of the reading behind the first gap
    double longest_s = 0;
  };

  explicit TimeSteps(std::size_t exact = 1'000'000) : exact_(exact) {}
  void add(double time_s, std::size_t line);  // later than all before
  [[nodiscard]] double median_s() const;      // 0 without a step
  [[nodiscard]] Gaps longer_than(double limit_s) const;

 private:
  struct Bin {
    std::size_t count = 0, first_line = 0;
    double sum_s = 0, longest_s = 0;
  };
  void put(double step_s, std::size_t line);

  std::size_t exact_;
  std::optional<double> last_s_;
  std::vector<double> steps_;  // empty once they are in bins
  io::LineMap lines_;          // of steps_
  std::vector<Bin> bins_;
  std::size_t count_ = 0;
};

}  // namespace hardpan::formats::detail
