// SPDX-License-Identifier: Apache-2.0
// Slope trials across and oblique to the fall line set against the slopes predicted on their heading.
//
// Trials are interval-censored: they bound the steepest slope of their heading from one side or both. Where every no-go was for drift, it is set
// against the limit up to the working slip and drift; else against the limit whatever the slip. The interval is that of the next point over possible
// soils. A drift measured stands beside the one computed at that slope on the best-estimate soil, told and not judged. docs/theory/trials.md.
//
//   for (const HeadingComparison& c : compare_headings(vehicle, placed, 0.2, drawbar)) say(c.statement);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/slopes_over_soils.hpp"
#include "records/drawbar.hpp"
#include "validation/compare.hpp"

namespace hardpan::validation {

inline constexpr std::size_t kHeadingSoils = 40;    // possible soils asked, or as many as were placed

struct HeadingComparison {
  std::string vehicle, zone;
  double heading_rad = 0;                    // of travel, from straight uphill to the left
  records::AngleBracket bracket;
  math::Interval measured_rad;               // what the trials leave of the limit; infinite on a side without a bound
  bool by_drift = false;                     // predicted_rad is the limit up to the working slip and drift
  double predicted_rad = 0;                  // best-estimate soil; NaN: no numerical answer
  std::optional<math::Interval> next_point_rad;
  performance::HeadingFactor factor = performance::HeadingFactor::none;  // what ends it on the best-estimate soil
  std::size_t soils = 0;
  std::optional<double> drift_measured_rad, drift_at_rad, drift_predicted_rad;  // largest of a go, its slope, and the size computed there
  double tips_working_rad = 0;               // working tip limit on this heading, hard ground
  bool judged = false, bracketed = false, consistent = false;
  std::string statement;
};
// Groups of this vehicle and zone with a heading; `placed` was made of the vehicle (three or more wheels, else nothing is judged).
[[nodiscard]] std::vector<HeadingComparison> compare_headings(const vehicle::Vehicle& vehicle, const performance::Placed& placed, double working_slip,
                                                              const records::DrawbarResult& drawbar);

}  // namespace hardpan::validation
