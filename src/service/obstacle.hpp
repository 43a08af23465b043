// SPDX-License-Identifier: Apache-2.0
// Quick answer: does a vehicle get over a step, a gap or a profile on hard ground, what stops it, and how high a step and wide a gap it takes.
#pragma once

#include <optional>
#include <string>

#include "base/problems.hpp"
#include "io/json.hpp"
#include "performance/crossing.hpp"
#include "units/print.hpp"

namespace hardpan::service {

struct ObstacleRequest {
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  std::optional<double> step_m;              // one of the three, or none: then only the limits are told
  std::optional<double> gap_m;
  std::optional<std::string> profile_file;
  std::optional<double> friction;            // coefficient; absent: what is needed is told, and no limits
  bool equal_torques = false;
};
struct ObstacleResult {
  std::string vehicle;
  std::size_t axles = 0;
  std::string obstacle;                      // "a step of 0.12 m"
  performance::ProfileVehicle side;
  std::optional<performance::Profile> ground;
  std::optional<performance::Crossing> crossing;   // with a frame of every pose
  std::optional<performance::ObstacleLimit> step, gap;   // where friction is given
  base::Problems remarks;                    // of the files read

  [[nodiscard]] bool unsolved() const;       // a pose was not solved: in the crossing or on the way to a limit
  // Friction given less the least that is needed; nothing where one of the two is not there. Judged by friction alone: torque or the underbody may stop it still.
  [[nodiscard]] std::optional<double> friction_margin(const ObstacleRequest& request) const;
};
[[nodiscard]] ObstacleResult obstacle(const ObstacleRequest& request);
// Whole or not at all, each file; the folder is made where there is none. Need a crossing that was solved.
void write_obstacle_picture(const ObstacleResult& result, const std::string& path, units::OutputUnits units);   // film strip
// Up to so many pictures evenly along the way, FOLDER/frame-0001.svg and on. Returns how many.
std::size_t write_obstacle_frames(const ObstacleResult& result, const std::string& folder, std::size_t most, units::OutputUnits units);
[[nodiscard]] io::Json obstacle_json(const ObstacleRequest& request, const ObstacleResult& result);

}  // namespace hardpan::service
