// SPDX-License-Identifier: Apache-2.0
#include "performance/detail/bent_stance.hpp"

#include <cmath>

namespace hardpan::performance::detail {

void bend(const Stance& straight, std::size_t joint, double angle_rad, Stance& out) {
  const StandingJoint& about = straight.joints[joint];
  const double c = std::cos(angle_rad), s = std::sin(angle_rad);
  const auto turn = [&](double from_x, double from_y, double& x, double& y) {
    x = about.x_m + (from_x - about.x_m) * c - (from_y - about.y_m) * s;
    y = about.y_m + (from_x - about.x_m) * s + (from_y - about.y_m) * c;
  };
  for (std::size_t b = joint + 1; b < straight.bodies.size(); ++b) turn(straight.bodies[b].cg_x_m, straight.bodies[b].cg_y_m, out.bodies[b].cg_x_m, out.bodies[b].cg_y_m);
  for (std::size_t j = joint + 1; j < straight.joints.size(); ++j) {
    turn(straight.joints[j].x_m, straight.joints[j].y_m, out.joints[j].x_m, out.joints[j].y_m);
    out.joints[j].turned_rad = straight.joints[j].turned_rad + angle_rad;
  }
}

}  // namespace hardpan::performance::detail
