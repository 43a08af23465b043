// SPDX-License-Identifier: Apache-2.0
// A driver who keeps a vehicle on a path seen late: the view comes in single images, some lost, the commands arrive later
// still, both with jitter; the vehicle turns no tighter than it can and may drift sideways.
//
// Kinematic vehicle at constant speed. The driver steers for the point of the path one look-ahead away from where
// the vehicle stood in the newest image (pure pursuit, Coulter 1992); a practised one allows for the commands that
// are still under way (anticipation). A model of steering, not of a driver: fatigue, misjudged distances and a narrow field of
// view are not in it. Calibrate look-ahead and anticipation with recorded remote runs. docs/theory/driving.md.
// Same answer for the same seed on every machine within rounding.
//
//   const Followed f = follow(slalom(60, 1, 20), {.speed_m_s = 0.8, .link = {.delay = {1.3, 0.4, 1.3}}}, seed);
//   const SpeedHeld v = largest_speed_held(slalom(60, 1, 20), rule, {.half_width_m = 0.5, .fastest_m_s = 3}, seed);
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "base/solve.hpp"
#include "driving/delay.hpp"

namespace hardpan::driving {

struct PathPoint {
  double x_m = 0, y_m = 0;
};
using Path = std::vector<PathPoint>;   // at least two points, no two neighbours at one place

[[nodiscard]] Path straight(double length_m);
// y = amplitude sin(2 pi x / wave length), with half a wave length of straight lead-in.
[[nodiscard]] Path slalom(double length_m, double amplitude_m, double wave_length_m);

struct Link {
  Delay delay;
  double jitter_s = 0;             // standard deviation added to down- and uplink, each never below its mean
  double image_interval_s = 0.04;  // above 0
  double image_loss_ratio = 0;     // images that never arrive, [0, 1)
};

struct SteeringRule {
  double speed_m_s = 1;            // above 0
  double look_ahead_m = 3;         // above 0
  double smallest_radius_m = 0;    // 0: turns on the spot
  double curvature_rate_per_m_s = 0;  // fastest change of curvature; 0: at once
  double drift_angle_rad = 0;      // of the travel against the heading, left positive: across a slope
  double anticipation_ratio = 0;   // 0: steers by the image as it is; 1: allows for every command under way
  double start_error_m = 0;        // to the left of the path
  Link link;
};

struct Followed {
  double largest_error_m = 0;      // after the first look-ahead, which the start error has to itself
  double rms_error_m = 0;
  double final_error_m = 0;        // largest over the last fifth
  double time_s = 0;
  bool arrived = false;            // false: left the path by more than five look-aheads, or turned back
};
[[nodiscard]] Followed follow(const Path& path, const SteeringRule& rule, std::uint64_t seed);

struct Corridor {
  double half_width_m = 0;         // room for error either side: corridor less vehicle, halved; above 0
  double fastest_m_s = 0;          // the vehicle's own limit, above 0
  std::size_t runs = 8;            // seeds tried at each speed: the corridor must be held in every one
};
enum class HeldStatus { held_at_fastest, found, not_held };
struct SpeedHeld {
  double speed_m_s = 0;            // largest of a rising scan at which the corridor is held; 0 when not at the slowest tried
  HeldStatus status = HeldStatus::not_held;
  double largest_error_m = 0;      // at that speed
  // Of the search: residual is the width of the last bracket [m/s], tolerance 2 % of the speed; steps are halvings, evaluations speeds that were driven. Held at the fastest, or not
  // at the slowest, needs no bracket: converged with a width of 0, or no_solution.
  base::SolveReport solve;
};
// Scans upward from fastest / 64 and stops at the first speed that fails (a faster one that happens to pass does not count),
// then halves the step to 2 %.
[[nodiscard]] SpeedHeld largest_speed_held(const Path& path, SteeringRule rule, const Corridor& corridor, std::uint64_t seed);

}  // namespace hardpan::driving
