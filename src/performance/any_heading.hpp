// SPDX-License-Identifier: Apache-2.0
// The steepest slope a vehicle travels straight on, for every heading on it: up, down, across and between, with the drift it takes
// to hold the path, beside the slope at which it would tip.
//
// Each heading is its own steady straight travel on soft ground (turn_on_soil with no curvature): wheels at their slips and slip angles,
// forces along and across and the yaw moment in balance, loads in balance on the slope, of several bodies by their joints. Joints that yaw are held
// straight, or where the steering bends them. Nothing accelerates or slides.
//
//   const auto m = make_turning_machine(vehicle, soil, 9.81, soil::SlipSinkage::none, {.key = "vehicle"}, problems);
//   for (const HeadingLimit& h : slopes_by_heading(*m, {.headings_rad = evenly_round(16)})) use(h.heading_rad, h.working.gradient_rad);
#pragma once

#include <cstddef>
#include <vector>

#include "performance/tip_over.hpp"
#include "performance/turn_on_soil.hpp"

namespace hardpan::performance {

enum class HeadingFactor {
  none,            // travels on the steepest slope looked at
  traction,        // no pull left along the way up
  run_away,        // the brakes' grip no longer holds it on the way down
  side_slip,       // no side force left across, or it slides downhill as fast as it travels (drift of 45 deg)
  working_slip,    // a wheel slips more than the working slip (working limit only)
  drift,           // it crabs by more than the working drift (working limit only)
  torque, steering, carrying, tips_over, not_converged
};
[[nodiscard]] const char* name(HeadingFactor factor);

struct HeadingReach {
  double gradient_rad = 0;       // the steepest slope travelled, within 0.01 deg
  HeadingFactor factor = HeadingFactor::none;   // what stops it a little steeper
  double drift_rad = 0;          // direction of travel beside the heading there, left positive; downhill on any slope
  double largest_slip = 0;       // of a wheel, size, there
  base::SolveReport solve;       // on the gradient [rad]; no_solution where not even level ground is travelled
};

struct HeadingLimit {
  double heading_rad = 0;        // of travel, from straight uphill to the left
  HeadingReach working, largest; // up to the working slip and drift; whatever the slip
  double tips_rad = 0;           // static, on hard ground: of the whole, or of a body that joints leave to itself
  double tips_working_rad = 0;   // working_tip_rad
  TipEdge tips_about = TipEdge::none;
};

struct HeadingQuestion {
  std::vector<double> headings_rad;
  double working_slip = 0.2;
  double working_drift_rad = 0.1745;   // 10 deg: a path is held no further (common practice, no source)
  double steepest_rad = 1.05;    // looked up to here
};
[[nodiscard]] std::vector<HeadingLimit> slopes_by_heading(const TurningMachine& machine, const HeadingQuestion& question);
// The lower of the static tip angle on hard ground (of the whole or of a body that joints leave to itself) and the one with wheels and springs settled,
// as tip_over_round has it without a rut: no heading is travelled on a steeper slope. 0 where its springs are too soft to stand.
[[nodiscard]] double standing_tip_rad(const vehicle::Vehicle& vehicle, double gravity_m_s2, double fall_rad);
// kWorkingShare of it.
[[nodiscard]] double working_tip_rad(const vehicle::Vehicle& vehicle, double gravity_m_s2, double fall_rad);
[[nodiscard]] std::vector<double> evenly_round(std::size_t count);   // from straight uphill to the left

}  // namespace hardpan::performance
