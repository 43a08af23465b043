// SPDX-License-Identifier: Apache-2.0
// Whether the ground of a slope stands itself, for the slopes a vehicle is said to travel: an infinite slope, sheet by sheet.
//
//   const GroundStand g = ground_stand(soil, 0.5, 9.81);
//   if (g.no_steady_climb) say("any climbing here digs");
#pragma once

#include <optional>
#include <vector>

#include "soil/soil.hpp"

namespace hardpan::performance {

struct StandingSheet {
  double vertical_depth_m = 0, safety_factor = 0;
};
struct GroundStand {
  double slope_rad = 0;
  double friction_rad = 0;                       // angle of friction: loose ground without cohesion stands no steeper
  bool no_steady_climb = false;                  // without cohesion and no flatter than that: pull is at most W cos a tan phi less resistance
  std::vector<StandingSheet> sheets;             // 0.1, 0.3 and 1 m (chosen by us), one without cohesion; empty: density is not known
  std::optional<double> critical_vertical_depth_m;  // deeper sheets slide; absent where none does
};
// slope_rad in (0, pi/2); the soil has a shear strength.
[[nodiscard]] GroundStand ground_stand(const soil::Soil& soil, double slope_rad, double gravity_m_s2);

}  // namespace hardpan::performance
