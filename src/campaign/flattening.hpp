// SPDX-License-Identifier: Apache-2.0
// How much of its radius a wheel loses on a crossing, in the words of text, JSON and report alike.
#pragma once

#include <algorithm>
#include <limits>
#include <optional>

#include "performance/crossing.hpp"

namespace hardpan::campaign {

// Beyond it the answer says so: the same share as of a vehicle file's wheels on the level (common practice, no source).
inline constexpr double kMuchFlattened = 0.25;

// The largest deflection over the radius; of wheels of different radii the smallest that flattens. Nothing where no wheel does.
[[nodiscard]] inline std::optional<double> flattened_ratio(const performance::ProfileVehicle& vehicle, const performance::Crossing& crossing) {
  double radius_m = std::numeric_limits<double>::infinity();
  for (const performance::ProfileAxle& a : vehicle.axles) {
    if (!a.deflection_load.empty()) radius_m = std::min(radius_m, a.radius_m);
  }
  if (!(crossing.largest_deflection_m > 0) || !(radius_m < std::numeric_limits<double>::infinity())) return std::nullopt;
  return crossing.largest_deflection_m / radius_m;
}

}  // namespace hardpan::campaign
