// SPDX-License-Identifier: Apache-2.0
// Approach, departure and break-over angles and belly clearance of a vehicle standing straight on hard ground, in side view.
//
// Wheels are circles of their outer radius; underbody points inside a wheel's circle lie beside it and are left out. Soft tyres stand deflected under
// the level load, the bodies lower by the mean of their axles' deflections. Angles as ISO 612 means them (from memory). Joints are held straight: where a body
// may pitch against the next, the vehicle gets over a sharper break than told. Angles to rounding at the outline's corners; between them looked at
// every 1/200 of a piece.
//
//   const Clearances c = clearances(vehicle, 9.81);
//   if (c.approach) say(degrees(c.approach->angle_rad), c.approach->at_x_m);
#pragma once

#include <optional>

#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

struct ClearanceAngle {
  double angle_rad = 0;
  double at_x_m = 0, at_z_m = 0;      // the underbody point that touches
};

struct Clearances {
  std::optional<ClearanceAngle> approach, departure;  // nothing: no underbody lies beyond the wheels, or none is given
  std::optional<ClearanceAngle> break_over;           // least, over all pairs of neighbouring axles: largest ramp angle passed without touching
  std::optional<ClearanceAngle> belly;                // lowest point; angle not used
  double settled_m = 0;                               // how much lower than the unloaded outline the lowest point stands on its tyres
  bool articulated = false;                           // a joint pitches: told with it straight
};
[[nodiscard]] Clearances clearances(const vehicle::Vehicle& vehicle, double gravity_m_s2);

}  // namespace hardpan::performance
