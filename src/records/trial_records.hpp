// SPDX-License-Identifier: Apache-2.0
// Vehicle trials beyond towing, slopes and ruts, as read from hand sheets: SI, nothing reduced yet.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "records/vehicle_records.hpp"

namespace hardpan::records {

enum class ObstacleKind { step_up, step_down, gap, profile };
[[nodiscard]] const char* name(ObstacleKind kind);

// by_driver: the driver broke the try off before it was decided.
enum class ObstacleOutcome { over, stopped, hung_up, tipped, by_driver };
[[nodiscard]] const char* name(ObstacleOutcome outcome);

// One try at a step with an upright face, a gap with upright faces, or a profile that the campaign describes.
struct ObstacleTry {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  ObstacleKind obstacle = ObstacleKind::step_up;
  std::string named;                    // id of the campaign's [[obstacle]] it was made at; empty: none of these
  double size_m = 0;                    // height of a step, clear width of a gap; 0 of a profile
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

// What ended a run over a drive profile; stopped: broken off for another reason, decides nothing beyond the distance driven.
enum class TripOutcome { arrived, ground, battery, hot_drive, stopped };
[[nodiscard]] const char* name(TripOutcome outcome);

// One run over a drive profile of the campaign.
struct TripRun {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  std::string trip;                     // name of the campaign's [[endurance]]
  TripOutcome outcome = TripOutcome::arrived;
  double distance_m = 0;                // driven; the whole trip of a run that arrived without telling it
  std::optional<double> energy_j;       // taken from the battery
  std::optional<double> time_s;         // halts included
};

// wheel, body: a rock that no wheel climbs, or that touches the body; stopped: broken off for another reason.
enum class RockOutcome { clear, wheel, body, stopped };
[[nodiscard]] const char* name(RockOutcome outcome);

// One straight run over ground with rocks, none of them picked.
struct RockRun {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  std::string rocks;                    // name of the campaign's [[boulders]]
  RockOutcome outcome = RockOutcome::clear;
  double distance_m = 0;                // up to the rock, or to the end of the run
};

// lifted: a wheel was seen to leave the ground; stopped: broken off before that was decided.
enum class RoughOutcome { held, lifted, stopped };
[[nodiscard]] const char* name(RoughOutcome outcome);

// One run over rough ground at one speed.
struct RoughRun {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  std::string ride;                     // name of the campaign's [[ride]]
  RoughOutcome outcome = RoughOutcome::held;
  double speed_m_per_s = 0;
  std::optional<double> peak_m_per_s2;  // largest vertical acceleration, gravity taken out
  std::optional<double> rms_m_per_s2;   // of the same, weighted as the [[ride]] says
};

struct TrialRecords {
  std::vector<ObstacleTry> obstacles;
  std::vector<TurnRun> turns;
  std::vector<RemoteRun> remote;
  std::vector<TripRun> trips;
  std::vector<RockRun> rocks;
  std::vector<RoughRun> rough;
};

}  // namespace hardpan::records
