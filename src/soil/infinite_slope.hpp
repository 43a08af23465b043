// SPDX-License-Identifier: Apache-2.0
// Factor of safety of a dry, long, even slope against a sheet of ground sliding on a surface parallel to it.
//
// Holds for a slope much longer than the sheet is deep, without water or seepage, without the load of a vehicle, at rest:
// traffic, vibration, undercutting and rain lower it. For the vehicle's own climbing limit use performance. The
// depth of the sheet is told in one of two ways and the relation follows it; mixing them up is wrong by cos a.
// Closed form, exact to rounding.
//
//   const SlopeLayer layer{.slope_rad = 0.52, .depth_m = 0.15, .depth = LayerDepth::vertical, .unit_weight_n_m3 = 14715};
//   if (const auto s = infinite_slope(shear, layer, place, problems)) use(s->safety_factor);
#pragma once

#include <optional>

#include "base/problems.hpp"
#include "soil/soil.hpp"

namespace hardpan::soil {

enum class LayerDepth { vertical, normal_to_slope };
[[nodiscard]] const char* name(LayerDepth depth);

struct SlopeLayer {
  double slope_rad = 0;         // in (0, pi/2)
  double depth_m = 0;           // of the sliding sheet, > 0
  LayerDepth depth = LayerDepth::vertical;
  double unit_weight_n_m3 = 0;  // density times the local gravity, > 0
};

struct SlopeStability {
  double safety_factor = 0;                // strength over shear stress on the sliding surface; below 1 it slides
  // Sheet depth, told like the layer's, at which the factor is 1: deeper sheets slide. Absent on slopes no
  // steeper than the angle of friction, where no depth slides; 0 where there is no cohesion.
  std::optional<double> critical_depth_m;
};

// Nothing, with a refusal for each impossible number (NaN included): slope outside (0, 90) degrees, depth or unit weight not
// above 0, cohesion or tan phi below 0.
[[nodiscard]] std::optional<SlopeStability> infinite_slope(const Shear& shear, const SlopeLayer& layer,
                                                           const base::Place& place, base::Problems& problems);

}  // namespace hardpan::soil
