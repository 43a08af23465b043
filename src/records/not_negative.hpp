// SPDX-License-Identifier: Apache-2.0
// Intervals of a quantity that cannot be negative begin at 0 where a few points would let them reach below.
//
//   k.speed_m_per_s = not_negative(math::estimate_from_points(speeds));
#pragma once

#include <algorithm>

#include "math/estimate.hpp"

namespace hardpan::records {

[[nodiscard]] inline math::Estimate not_negative(math::Estimate estimate) {
  for (auto* interval : {&estimate.average_ground, &estimate.next_point}) {
    if (*interval) *interval = math::Interval{std::max((*interval)->lo, 0.0), (*interval)->hi};
  }
  return estimate;
}

}  // namespace hardpan::records
