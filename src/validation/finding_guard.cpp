// SPDX-License-Identifier: Apache-2.0
// What the wheels ask of the soil against what was tested.
#include <algorithm>
#include <cmath>

#include "validation/finding.hpp"

namespace hardpan::validation {

using math::Interval;

std::vector<GuardRow> extrapolation_guard(const performance::UsedRange& used,
                                          const records::TestedRange& tested,
                                          const std::optional<Interval>& tested_slip) {
  std::vector<GuardRow> rows{
      {"pressure", "Pa", used.pressure_pa, tested.pressure_pa},
      {"sinkage", "m", used.sinkage_m, tested.sinkage_m},
      {"normal stress", "Pa", used.normal_stress_pa, tested.normal_stress_pa},
      {"shear travel", "m", used.shear_travel_m, tested.shear_travel_m},
      {"plate width against wheel width", "m", used.width_m, tested.plate_width_m},
      {"slip", "", {used.slip_ratio, used.slip_ratio}, tested_slip},
  };
  for (GuardRow& r : rows) {
    if (!r.tested) continue;
    if (!std::isfinite(r.used.lo) || !std::isfinite(r.used.hi)) continue;
    // What was tested starts at zero for a push, a turn and a slip: small values are interpolated. Not so where the law was
    // fitted below a crust or a layer only: above its window it is known not to hold.
    const bool plate = r.quantity == "sinkage" || r.quantity == "pressure";
    const bool from_zero = r.quantity == "shear travel" || r.quantity == "slip" || (plate && !tested.law_starts_below_layer);
    const double lo = from_zero ? 0 : r.tested->lo;
    const bool over = r.used.hi > r.tested->hi, under = r.used.lo < lo;
    // A crust that is not broken carries the wheel: no part of the law under it applies, however near its window.
    const bool on_crust = plate && tested.law_starts_below_layer && tested.weakest_crust_pa && used.pressure_pa.hi < *tested.weakest_crust_pa;
    const bool far = r.used.hi > 2 * r.tested->hi || (!from_zero && r.used.lo < 0.5 * r.tested->lo) || on_crust;
    r.level = far ? GuardLevel::beyond : over || under ? GuardLevel::up_to_twice : GuardLevel::inside;
  }
  return rows;
}

GuardLevel worst(const std::vector<GuardRow>& rows) {
  GuardLevel level = GuardLevel::inside;
  for (const GuardRow& r : rows) {
    // The slip of the vehicle's own tests validates; its absence does not make the soil untested.
    if (r.quantity == "slip" && r.level == GuardLevel::not_tested) continue;
    level = std::max(level, r.level);
  }
  return level;
}

}  // namespace hardpan::validation
