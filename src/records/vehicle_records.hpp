// SPDX-License-Identifier: Apache-2.0
// Vehicle tests as read from loggers and hand sheets: SI, nothing reduced yet.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "records/ground_records.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::records {

// What all vehicle tests share. weight_n is m g of the vehicle as tested.
struct RunConditions {
  std::string vehicle;                 // vehicle id
  double weight_n = 0;
  double gradient_rad = 0;             // nose up positive, along the direction driven
  bool gradient_stated = false;
  std::optional<double> rolling_radius_m;
  vehicle::ZeroSlip zero_slip = vehicle::ZeroSlip::not_stated;
  std::optional<double> hitch_height_m;
  std::optional<double> line_angle_rad;  // of the tow line, down towards the load positive
  std::string lane;                    // runs both ways on one lane are paired
  std::string direction;               // "out" or "back"; free text
  std::string run;                     // the unit of scatter
};

// A logger file of a pull against a sled or a braking vehicle, of a towed run or of a coast-down.
enum class LogKind { tow, towed, coast_down };

struct TowLog {
  TestSource source;
  RunConditions conditions;
  LogKind kind = LogKind::tow;
  std::vector<double> time_s;
  std::vector<double> pull_n;                    // empty where not recorded (coast-down)
  std::vector<std::vector<double>> wheel_speed_rad_per_s;  // one a driven wheel; may be empty
  std::vector<std::string> wheel_name;
  std::vector<double> ground_speed_m_per_s;      // empty: slip cannot be computed
  std::vector<double> torque_n_m;                // sum over driven wheels at the axle; may be empty
  bool torque_is_axle_torque = true;             // false: from motor current without a spin test
  std::vector<double> current_a, voltage_v;      // may be empty
  std::vector<double> pitch_rad;                 // may be empty
  std::vector<std::size_t> line;
  // A log too long to keep is averaged over so many consecutive readings a row (line: of the first of them). How many of
  // them were at the end of the load cell's range, by row; empty where rows are single readings and show it themselves.
  std::size_t readings_per_row = 1;
  std::vector<std::uint32_t> at_range_end;
  // Marked stationary stretch for zeros [s]; absent: looked for.
  std::optional<double> zero_from_s, zero_to_s;
  std::optional<double> lag_s;                   // pull behind speed, overrides the estimate
  std::optional<double> load_cell_range_n;
  double load_cell_gain_relative_sd = 0;
};

// Hand tow sheet: one row a pull.
struct HandPull {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  double wheel_turns = 0;
  double distance_m = 0;
  double pull_n = 0;
  std::optional<double> turns_resolution, distance_resolution_m, pull_resolution_n;
  std::optional<double> sinkage_m;
};

enum class TrialOutcome { go, no_go, aborted, sled_limited };
[[nodiscard]] const char* name(TrialOutcome outcome);

struct SlopeTrial {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  std::vector<double> angle_rad;        // measured at three or more places
  bool rolling_start = false;
  bool downhill = false;
  std::optional<double> heading_rad;    // of travel, from straight uphill to the left, (-pi, pi]; absent: straight, `downhill` says which way
  std::optional<double> drift_rad;      // size of the angle of the track beside the heading
  std::optional<double> length_climbed_m, slip_ratio, sinkage_m;
  TrialOutcome outcome = TrialOutcome::go;
  std::string why_stopped;
  bool assisted = false;
};

struct RutReading {
  TestSource source;
  RunConditions conditions;
  std::size_t line = 0;
  std::string wheel_path;               // "left", "right"
  int pass = 1;
  std::optional<double> depth_loaded_m, depth_after_m;
  std::optional<double> slip_ratio;
};

// Jacked-up spin test: current against torque at the axle.
struct SpinReading {
  TestSource source;
  std::size_t line = 0;
  double current_a = 0, torque_n_m = 0;
  std::optional<double> speed_rad_per_s;
};

struct VehicleRecords {
  std::vector<TowLog> logs;
  std::vector<HandPull> hand_pulls;
  std::vector<SlopeTrial> slope_trials;
  std::vector<RutReading> ruts;
  std::vector<SpinReading> spins;
};

}  // namespace hardpan::records
