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

// slid: the vehicle left the radius outward or turned on although the drives pulled; stopped: broken off, decides nothing.
enum class TurnOutcome { turned, stalled, slid, stopped };
[[nodiscard]] const char* name(TurnOutcome outcome);

// What a radius is measured to: the middle of the ring that the outermost or innermost wheel leaves, or the path of the vehicle's centre plane.
enum class RingPath { outer_wheel, inner_wheel, centre };
[[nodiscard]] const char* name(RingPath path);

// One turn held at one radius.
struct TurnRun {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  double radius_m = 0;                  // as measured, else as asked; not signed
  bool radius_measured = false;
  RingPath path = RingPath::outer_wheel;
  bool right = false;
  TurnOutcome outcome = TurnOutcome::turned;
  std::optional<double> speed_m_per_s;  // of what the radius is measured to
  std::optional<double> torque_n_m;     // sum over the driven wheels, braking ones negative; mean over the turn
  std::optional<double> power_w;        // mean over the turn
  bool power_at_axles = false;          // else what the battery gives
};

// left_corridor and struck end a run that was too fast or badly steered; stopped: broken off for another reason.
enum class RemoteOutcome { finished, left_corridor, struck, stopped };
[[nodiscard]] const char* name(RemoteOutcome outcome);

// One run over a course by remote control. The operator stands in `source`.
struct RemoteRun {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  std::string course;
  double delay_s = 0;                   // whole: from a thing in view to the command at the wheels, without the operator's reaction
  std::optional<double> field_of_view_rad, image_interval_s;
  std::optional<double> practice;       // runs this operator had driven before, 0 for the first
  std::optional<double> speed_m_per_s;  // mean over the course, stops included
  std::optional<double> largest_error_m, corridor_m;  // sideways from the line; whole width
  std::optional<double> stops;
  RemoteOutcome outcome = RemoteOutcome::finished;
};

struct TrialRecords {
  std::vector<ObstacleTry> obstacles;
  std::vector<TurnRun> turns;
  std::vector<RemoteRun> remote;
};

}  // namespace hardpan::records
