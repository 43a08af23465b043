// SPDX-License-Identifier: Apache-2.0
// Does the ground (or the instrument) change through the day, and do operators differ?
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"

namespace hardpan::records {

// One push at the reference point: level is ln p at the reference depth.
struct ReferenceReading {
  std::string test;
  double clock_s = 0;
  double level = 0;
  double width_m = 0;
};

enum class DriftVerdict {
  no_reference,   // no reference point is named or it was not repeated
  not_judged,     // too few repeats for a trend over their scatter
  none_shown,     // the trend is within the scatter of repeats
  trend,          // a straight trend is shown
  step            // two parts of the day differ: they should be zones of their own
};
[[nodiscard]] const char* name(DriftVerdict verdict);

struct Drift {
  DriftVerdict verdict = DriftVerdict::no_reference;
  std::vector<ReferenceReading> readings;
  std::optional<math::Estimate> slope_per_hour;  // of ln p
  double middle_clock_s = 0;                     // levels are brought here
  double repeat_sd = 0;                          // about the trend
  std::optional<double> split_clock_s;
  bool corrected = false;
  std::string statement;
};
[[nodiscard]] Drift find_drift(std::vector<ReferenceReading> readings);

// Operators who pushed the same plate at the same points.
struct OperatorReading {
  std::string operator_name, point;
  double level = 0;  // ln p at the reference depth
  double width_m = 0;
};
struct OperatorPair {
  std::string first, second;
  std::size_t pairs = 0;
  std::optional<math::Estimate> ratio;  // pressure of second over first
  std::string statement;
};
[[nodiscard]] std::vector<OperatorPair> compare_operators(const std::vector<OperatorReading>& readings);

}  // namespace hardpan::records
