// SPDX-License-Identifier: Apache-2.0
// Strength of ground that a wheel has already sheared: what a following wheel meets in the rut, where the campaign measured it.
//
// Only wheels whose paths follow another's are changed, and only where following wheels run in the rut at all. How the ground presses back stays that of reloading (soil::rut_floor). What
// is not stated stays as in untouched ground. Possible soils keep their scatter: the stated strength is to each what it is to the best estimate.
//
//   if (ground.disturbed) disturb_following(*on, about(*ground.disturbed, ground.centre, soil));
#pragma once

#include <optional>

#include "contact/wheel_soil.hpp"
#include "performance/travel.hpp"
#include "soil/soil.hpp"

namespace hardpan::performance {

struct DisturbedStrength {
  std::optional<double> cohesion_pa;       // 0 or more
  std::optional<double> tan_phi;           // above 0
  std::optional<double> shear_modulus_m;   // K of the ring, above 0
  bool operator==(const DisturbedStrength&) const = default;
};

// For a possible soil about `centre`, as wheels meet it: each number times possible over best estimate (as stated where the best estimate has 0), K times the soil's wheel_k_ratio.
[[nodiscard]] DisturbedStrength about(const DisturbedStrength& stated, const soil::Soil& centre, const soil::Soil& possible);

void disturb(contact::Contact& wheel, const DisturbedStrength& strength);
void disturb_following(OnSoil& on, const DisturbedStrength& strength);

}  // namespace hardpan::performance
