// SPDX-License-Identifier: Apache-2.0
#include "validation/counted_trials.hpp"

#include <algorithm>

namespace hardpan::validation {

CountedTrials count_trials(const std::vector<DecidedTrial>& trials, double threshold) {
  std::optional<double> harder_failure;
  for (const DecidedTrial& t : trials) {
    if (!t.went && t.hardness > threshold) harder_failure = std::min(harder_failure.value_or(t.hardness), t.hardness);
  }
  CountedTrials out;
  for (const DecidedTrial& t : trials) {
    const bool passed = t.went && t.hardness >= threshold;
    if (passed && harder_failure && t.hardness >= *harder_failure) {
      out.left_out_from = harder_failure;
      continue;
    }
    if (!passed && (t.went || t.hardness > threshold)) continue;
    ++(passed ? out.went : out.failed);
    out.places.push_back(t.place);
  }
  return out;
}

}  // namespace hardpan::validation
