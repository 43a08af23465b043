// SPDX-License-Identifier: Apache-2.0
// Two things tested in turn, A-B-B-A: the difference over pairs, with what drifts in between removed.
//
// Readings that follow each other and are of different kinds form a pair. With as many pairs that begin with A as with B (A-B-B-A does it) a steady drift of ground, battery or driver cancels
// from the mean and, fitted as one number, from the scatter. Pairs that all begin alike leave the drift in the difference, and the note says so.
// Holds for pairs that scatter normally and independently.
//
//   const PairedDifference d = paired_difference({{"dunlin", 0.31, 1}, {"plover", 0.28, 2}, {"plover", 0.29, 3}, {"dunlin", 0.33, 4}});
//   say(d.first, d.second, d.difference.value);
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"

namespace hardpan::records {

struct OrderedReading {
  std::string of;                    // which of the two
  double value = 0;                  // SI, finite
  double order = 0;                  // rising in time; a clock or a count
};

struct PairedDifference {
  std::string first, second;         // the difference is first minus second; first: earlier in the alphabet
  math::Estimate difference;         // average_ground: the mean over pairs; next_point: the next pair; n: pairs
  std::size_t pairs = 0, first_leads = 0, second_leads = 0, left_over = 0;
  bool balanced = false;             // as many pairs begin with the one as with the other
  std::optional<double> drift;       // of the second reading of a pair over its first, whichever they are; absent where all pairs begin alike
  std::string note;                  // what the design leaves open; empty when nothing
};

// Pairs of readings over `longest_gap` apart in order are not formed. Nothing unless there are readings of exactly two kinds and at least one pair.
[[nodiscard]] std::optional<PairedDifference> paired_difference(std::vector<OrderedReading> readings, double level = math::kIntervalLevel,
                                                                double longest_gap = std::numeric_limits<double>::infinity());

}  // namespace hardpan::records
