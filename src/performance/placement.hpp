// SPDX-License-Identifier: Apache-2.0
// Where to put batteries and payload: the placement, within the allowed places, that evens the wheel loads or climbs steepest, and the trade between the two.
//
// Movable are the payloads with allowed spans (vehicle::Payload). Even: least sum of squares of the level wheel loads, a convex problem. Steepest: the
// largest gradient at the working slip on one soil, searched coordinate by coordinate, each over its whole span. Places to 0.1 mm of the optimum of each
// coordinate; what changes nothing stays where it is. Between the two: placements on the straight line from one to the other, all allowed.
// Wheel loads of a vehicle of several bodies are even across each axle here: its sideways places then only count for tip-over.
//
//   const Trade t = placement_trade(vehicle, 9.81, ClimbOn{soil, soil::SlipSinkage::none, 0.2});
//   for (const Placement& p : t.rows) say(p.name, p.largest_share, p.gradient_rad);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/travel.hpp"
#include "soil/soil.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

struct ClimbOn {
  soil::Soil soil;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  double slip_ratio = 0.2;
};

struct Placed3 {
  std::size_t payload = 0;       // place in Vehicle::payload
  double x_m = 0, y_m = 0, z_m = 0;
};

struct Placement {
  std::string name;              // "as it stands", "evens the wheel loads", "climbs steepest", "between ..."
  std::vector<Placed3> places;   // of the movable ones
  std::vector<double> wheel_load_n;   // axle by axle, left to right, standing level
  double largest_share = 0;      // of the largest wheel load over the mean one; 1: all even
  double cg_x_m = 0, cg_y_m = 0, cg_z_m = 0;
  std::optional<double> gradient_rad; // at the working slip, where a soil is given
  LimitingFactor factor = LimitingFactor::none;
  // Of the search that found it: residual is the largest move of the last sweep over all places [m], steps are sweeps; absent where nothing was searched.
  std::optional<base::SolveReport> search;
  base::SolveReport climb;       // of the balance at gradient_rad
  double tips_rad = 0;           // least static angle over eight directions; 0 with fewer than three wheels
};

struct Trade {
  std::vector<Placement> rows;   // as it stands first
  int evaluations = 0;           // placements tried
};
// Needs a vehicle that check_vehicle accepts. Without movable payload: the first row alone. Placements that would lift an axle or leave the wheels are not taken.
// Appends what make_machine refuses.
[[nodiscard]] Trade placement_trade(const vehicle::Vehicle& vehicle, double gravity_m_s2, const std::optional<ClimbOn>& climb, base::Problems& problems);

}  // namespace hardpan::performance
