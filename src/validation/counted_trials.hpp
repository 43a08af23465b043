// SPDX-License-Identifier: Apache-2.0
// Which trials speak for a threshold, and how they ended.
//
// A failure at the threshold or at what is easier counts; a pass at the threshold or at what is harder counts, but only up to the first harder trial that failed: passes
// beyond a failure would count without the failures there, which is a choice by outcome. 22 passes and 66 failures at one harder size show nothing.
//
//   const CountedTrials c = count_trials({{.hardness = 0.12, .went = true, .place = "records/steps.csv:4"}}, 0.10);
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace hardpan::validation {

struct DecidedTrial {
  double hardness = 0;                  // larger is harder: a size, a speed, a slope; of a radius its negative
  bool went = false;
  std::string place;                    // "records/x.csv:12"
};
struct CountedTrials {
  std::size_t went = 0, failed = 0;
  std::vector<std::string> places;      // of those that count, in the order given
  std::optional<double> left_out_from;  // hardness of the first harder failure, where a pass at or beyond it was left out
};
[[nodiscard]] CountedTrials count_trials(const std::vector<DecidedTrial>& trials, double threshold);

}  // namespace hardpan::validation
