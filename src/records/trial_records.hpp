// SPDX-License-Identifier: Apache-2.0
// Vehicle trials beyond towing, slopes and ruts, as read from hand sheets: SI, nothing reduced yet.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "records/vehicle_records.hpp"

namespace hardpan::records {

enum class ObstacleKind { step_up, step_down, gap };
[[nodiscard]] const char* name(ObstacleKind kind);

// by_driver: the driver broke the try off before it was decided.
enum class ObstacleOutcome { over, stopped, hung_up, tipped, by_driver };
[[nodiscard]] const char* name(ObstacleOutcome outcome);

// One try at a step with an upright face or a gap with upright faces.
struct ObstacleTry {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  ObstacleKind obstacle = ObstacleKind::step_up;
  double size_m = 0;                    // height of a step, clear width of a gap
  bool rolling_start = false;           // met at speed; else slowly, wheels at the face
  bool backward = false;                // rear first
  ObstacleOutcome outcome = ObstacleOutcome::over;
  std::string axle;                     // the axle that stopped it
  std::optional<double> friction_ratio; // wheel on this obstacle, measured
  bool assisted = false;
};

struct TrialRecords {
  std::vector<ObstacleTry> obstacles;
};

}  // namespace hardpan::records
