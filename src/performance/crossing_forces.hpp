// SPDX-License-Identifier: Apache-2.0
// What the wheels must do to hold a vehicle in a pose on hard ground: the least friction and the least torque that balance it.
//
// Plane statics of one rigid body under its own weight: normal forces at least zero, tractions within the friction (|T| <= mu N), torque T r.
// Two splits of the traction: the best there is (the lower bound; a clever control may reach it), and the same torque on every driven axle
// that touches. Two contacts leave the normal forces to the balance; more share them by equal stiffness of all wheels, never by what would suit the
// traction (eq. 9). Speed, inertia, rolling resistance and hitch are left out. Every answer is a linear program or a short
// sequence of them; docs/theory/obstacles.md eqs. 6 to 12.
//
//   const Forces f = least_friction(vehicle, pose, TorqueSplit::best, 3);
//   if (f.solve.converged()) say(f.friction, f.axle[1].torque_n_m);
#pragma once

#include <array>
#include <limits>

#include "base/solve.hpp"
#include "performance/crossing_pose.hpp"

namespace hardpan::performance {

enum class TorqueSplit { best, equal };
[[nodiscard]] const char* name(TorqueSplit split);

struct AxleForce {
  double normal_n = 0;           // of the axle, away from the ground
  double traction_n = 0;         // along the ground, forward positive
  double torque_n_m = 0;         // about the axle, driving forward positive
};

struct Forces {
  // converged: the balance holds to the tolerance (residual in N: forces, and moments over the vehicle's length). no_solution: none within
  // what was asked. out_of_steps, not_finite: the program failed. Values are NaN unless converged.
  base::SolveReport solve;
  double friction = std::numeric_limits<double>::quiet_NaN();      // largest |T| / N of this answer; the least possible from least_friction
  double torque_n_m = std::numeric_limits<double>::quiet_NaN();    // largest |torque| of an axle
  double torque_share = std::numeric_limits<double>::quiet_NaN();  // largest |torque| over its axle's limit; 0 where no axle has one
  // With no_solution: a wheel would have to pull on the ground however much friction and torque there were. It tips, or slides into another pose.
  bool tips = false;
  std::array<AxleForce, kMostAxles> axle{};
};

// Least friction coefficient that holds the pose, looked for up to `most_friction` (above 0); torque limits are left aside.
[[nodiscard]] Forces least_friction(const ProfileVehicle& vehicle, const Pose& pose, TorqueSplit split, double most_friction);
// At this friction: the least possible largest share of the axles' torque limits or, where no driven axle has a limit, the least possible
// largest axle torque.
[[nodiscard]] Forces least_torque(const ProfileVehicle& vehicle, const Pose& pose, TorqueSplit split, double friction);

}  // namespace hardpan::performance
