// SPDX-License-Identifier: Apache-2.0
// Trials that pass or fail at a size, to what they leave of the limit: interval-censored, as slope trials are.
//
// A trial says where the limit cannot be, none says where it is. `harder` tells on which side of the limit failures are looked for: a higher step is
// harder, a larger turning radius is easier. Repeats that disagree overlap, and every size between the easiest failure and the hardest pass was met.
//
//   const SizeBracket b = bracket_of({{.value = 0.10, .bound = TrialBound::at_least}, {.value = 0.14, .bound = TrialBound::below}}, Harder::larger);
//   say(*b.passed, *b.failed);
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "records/slope_trial.hpp"

namespace hardpan::records {

enum class Harder { larger, smaller };

struct BoundedTrial {
  double value = 0;                     // SI, finite
  TrialBound bound = TrialBound::either;  // at_least: passed; below: failed; either: undecided; set_aside: not used
};

struct SizeBracket {
  std::optional<double> passed;         // hardest size that passed before the easiest failure
  std::optional<double> failed;         // easiest size that failed
  std::optional<double> hardest_passed; // may lie beyond `failed`: the outcomes overlap
  bool overlap = false;
};
[[nodiscard]] SizeBracket bracket_of(const std::vector<BoundedTrial>& trials, Harder harder);

// What the trials leave for the limit; infinite on a side without a bound. Where outcomes overlap: from the one to the other.
[[nodiscard]] math::Interval where_the_limit_is(const SizeBracket& bracket, Harder harder);

// "between 0.12 m (over) and 0.16 m (not over)"
struct BracketWords {
  const char* passed;                   // "over"
  const char* failed;                   // "not over"
  const char* none_failed;              // "no try failed"
  const char* none_passed;              // "no try passed"
};
[[nodiscard]] std::string bracket_text(const SizeBracket& bracket, Harder harder, const BracketWords& words,
                                       const std::function<std::string(double)>& print);

// Trials within `class_relative` of the easiest of their class count as one size.
struct TestedSize {
  double value = 0;                     // mean of the class
  std::size_t passed = 0, failed = 0, undecided = 0;
  std::optional<math::Interval> chance_of_passing;  // Clopper and Pearson (1934), of passed + failed
};
[[nodiscard]] std::vector<TestedSize> tested_sizes(const std::vector<BoundedTrial>& trials, double class_relative, double level = math::kIntervalLevel);

}  // namespace hardpan::records
