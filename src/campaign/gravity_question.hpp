// SPDX-License-Identifier: Apache-2.0
// [other_gravity]: what the tests of this campaign say about its vehicles on another world.
#pragma once

#include <optional>
#include <string>

#include "performance/gravity_over_soils.hpp"

namespace hardpan::campaign {

struct GravityQuestion {
  double gravity_m_s2 = 0;                    // there
  std::optional<double> mass_kg;              // true mass there; each vehicle's own where absent
  std::optional<double> self_weight_share;    // of kphi, for Bekker's and single-plate ground
  std::optional<double> payload_height_m;
  double length_ratio = 1;                    // target over tested vehicle, for granular scaling
};

struct GravityAnswer {
  std::string vehicle, zone;
  std::string why_not;                        // not empty: no answer, and why
  double working_slip = 0.2;
  double to_m_s2 = 0;
  std::optional<performance::GravityOverSoils> over_soils;
  // Of the target with its mass over the vehicle as tested; lengths as asked.
  double length_ratio = 1, mass_ratio = 1;
  performance::GranularScaling scaling;
  bool cohesionless = false;                  // the ground meets the law's first assumption
};

}  // namespace hardpan::campaign
