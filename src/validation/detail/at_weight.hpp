// SPDX-License-Identifier: Apache-2.0
// The vehicle at the weight of a trial: every mass scaled alike, so that the centre of gravity stays.
#pragma once

#include "vehicle/vehicle.hpp"

namespace hardpan::validation::detail {

[[nodiscard]] inline vehicle::Vehicle at_weight(vehicle::Vehicle v, double weight_n, double gravity_m_s2) {
  const double factor = weight_n / (vehicle::mass_kg(v) * gravity_m_s2);
  for (vehicle::Body& b : v.bodies) b.mass_kg *= factor;
  for (vehicle::Payload& load : v.payload) load.mass_kg *= factor;
  return v;
}

}  // namespace hardpan::validation::detail
