// SPDX-License-Identifier: Apache-2.0
// What tests of slopes and turns on soil share.
#pragma once

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "performance/turn_on_soil.hpp"

namespace hardpan::performance::test {

// An invented loose sand whose density lets side walls count.
inline soil::Soil loose_sand() {
  soil::Soil s;
  s.bearing = soil::bekker(0.79, 102e3, 5301e3);
  s.shear = soil::Shear{.cohesion_pa = 1300, .tan_phi = std::tan(31.1 * std::numbers::pi / 180), .shear_modulus_m = 0.015};
  s.density_kg_m3 = 1600;
  return s;
}

// Without slip sinkage.
inline TurningMachine turning_on(const vehicle::Vehicle& v, const soil::Soil& soil = loose_sand(), double gravity_m_s2 = 9.81) {
  base::Problems problems;
  const auto m = make_turning_machine(v, soil, gravity_m_s2, soil::SlipSinkage::none, {}, problems);
  if (!m) throw std::logic_error(problems.list().front().text());
  return *m;
}

}  // namespace hardpan::performance::test
