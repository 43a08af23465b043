// SPDX-License-Identifier: Apache-2.0
#include "performance/ground_stand.hpp"

#include <cmath>

#include "base/assertion.hpp"
#include "soil/infinite_slope.hpp"

namespace hardpan::performance {

GroundStand ground_stand(const soil::Soil& soil, double slope_rad, double gravity_m_s2) {
  HARDPAN_ASSERT(soil.shear && slope_rad > 0 && slope_rad < 1.5707963);
  const soil::Shear& shear = *soil.shear;
  const bool cohesionless = shear.cohesion_pa == 0;
  GroundStand out{.slope_rad = slope_rad, .friction_rad = std::atan(shear.tan_phi)};
  out.no_steady_climb = cohesionless && slope_rad >= out.friction_rad - 1e-9;  // rounding of tan and atan
  if (!cohesionless && !soil.density_kg_m3) return out;
  const double unit_weight = soil.density_kg_m3 ? *soil.density_kg_m3 * gravity_m_s2 : 1.0;  // without cohesion it cancels, and the depth too
  for (const double depth : {0.1, 0.3, 1.0}) {
    base::Problems none;
    const auto s = soil::infinite_slope(shear, {.slope_rad = slope_rad, .depth_m = depth, .depth = soil::LayerDepth::vertical, .unit_weight_n_m3 = unit_weight}, {}, none);
    HARDPAN_ASSERT(s.has_value());
    out.sheets.push_back({depth, s->safety_factor});
    out.critical_vertical_depth_m = s->critical_depth_m;
    if (cohesionless) break;
  }
  return out;
}

}  // namespace hardpan::performance
