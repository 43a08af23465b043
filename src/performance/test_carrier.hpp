// SPDX-License-Identifier: Apache-2.0
// The invented vehicle and sand that tests and benches of this module share: 4,120 N on two axles, the case worked by hand in the tests.
#pragma once

#include "soil/soil.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::performance::test {

// Wheelbase 1.30 m, centre of gravity 0.62 m ahead of the rear axle and 0.55 m high, track width 1.0 m, rigid driven wheels.
inline vehicle::Vehicle carrier(double wheel_radius_m = 0.3, double wheel_width_m = 0.2) {
  vehicle::Vehicle v;
  v.id = "carrier";
  v.bodies = {{.mass_kg = 420, .cg_x_m = 0.62, .cg_z_m = 0.55}};
  for (const double x : {0.0, 1.3}) {
    vehicle::Axle a;
    a.name = x == 0 ? "rear" : "front";
    a.position_x_m = x;
    a.track_width_m = 1;
    a.wheel = {.radius_m = wheel_radius_m, .width_m = wheel_width_m};
    v.axles.push_back(a);
  }
  return v;
}

// tan phi of 32 degrees.
inline soil::Soil sand(double cohesion_pa = 500) {
  soil::Soil s;
  s.bearing = soil::bekker(1.0, 2000, 1.2e6);
  s.shear = soil::Shear{.cohesion_pa = cohesion_pa, .tan_phi = 0.6248693519093275, .shear_modulus_m = 0.015};
  return s;
}

}  // namespace hardpan::performance::test
