// SPDX-License-Identifier: Apache-2.0
// Runs by remote control to speed against delay by operator, with what practice gained told apart.
//
// What a run takes for each metre (its pace, the inverse of its mean speed) is a line in the delay: waiting for the view costs the same time a stretch whether it is spent standing (moving and waiting) or
// spent seeing less far (stopping in time). Operators differ in level and gain with the logarithm of the runs they have driven:
//
//   pace = a(operator) + b delay + c ln(1 + practice).
//
// The run is the unit of scatter. Only runs that finished have a speed; those that left the corridor, struck something or were broken off are counted by delay. Where practice rose with delay the two effects cannot be told
// apart, and the result says so. docs/theory/trials.md.
//
//   for (const RemoteCourse& c : reduce_remote_runs(runs, {}, problems)) say(c.pace.delay, c.pace.practice);
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "math/estimate.hpp"
#include "records/trial_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

struct RemoteRunSettings {
  double level = math::kIntervalLevel;
  double delay_class_s = 0.1;            // delays this close count as one
  double class_relative = 0.05;          // fields of view and image intervals this close count as one
  double confounded_correlation = 0.9;   // of practice with delay within operators: from here on they are not told apart (common practice, no source)
  units::OutputUnits output_units = units::OutputUnits::si;
};

struct RemoteReading {
  std::string file;
  std::size_t line = 0;
  std::string id, operator_name, remark;
  double delay_s = 0;
  std::optional<double> field_of_view_rad, image_interval_s, practice, speed_m_per_s, largest_error_m, corridor_m, stops, clock_s;
  RemoteOutcome outcome = RemoteOutcome::finished;
  bool in_speed = false;                 // counts in the speeds
};

// One operator at one delay; n counts runs that finished.
struct OperatorAtDelay {
  std::string operator_name;
  double delay_s = 0;                    // mean
  std::size_t runs = 0, finished = 0;
  std::optional<math::Estimate> speed_m_per_s, largest_error_m;
  std::optional<double> mean_practice;
};

// All operators at one delay.
struct AtDelay {
  double delay_s = 0;
  std::size_t runs = 0, finished = 0, left_corridor = 0, struck = 0, stopped = 0;
  math::Interval chance_of_finishing;    // Clopper and Pearson (1934), of finished, left and struck; runs as trials
  std::optional<double> largest_error_m; // over runs that tell one
};

struct PaceLine {
  std::string status;                    // "ok", or why there is no line
  std::size_t runs = 0, degrees_of_freedom = 0;
  std::optional<math::Estimate> delay;       // b [s/m per s]: seconds a metre for every second of delay; average_ground: its interval
  std::optional<math::Estimate> practice;    // c [s/m], negative where practice helps; absent where it was not told or never changed
  std::optional<math::Estimate> delay_alone; // b without the practice term: what a reader of the raw speeds would have found
  std::optional<double> correlation;         // of ln(1 + practice) with delay within operators
  bool confounded = false;
  double mean_log_practice = 0;
  std::vector<std::pair<std::string, double>> level_s_per_m;  // a by operator
  double residual_sd_s_per_m = 0;
  // Speed at a delay and a practice, the operators' levels averaged; nothing where the line gives no positive pace.
  [[nodiscard]] std::optional<double> speed_m_per_s(double delay_s, double practice_runs) const;
};

// Two groups of runs, paired within operator and delay; n of the difference counts operators.
struct GroupDifference {
  std::string what;                      // "field of view", "image interval", "practice"
  std::string first, second;             // "40 deg", "90 deg"; "earlier runs", "later runs"
  math::Estimate speed_m_per_s;          // second less first
  std::optional<math::Estimate> speed_equal_practice_m_per_s;  // the same with the practice of either group taken out by the pace line; not of "practice" itself
  std::size_t cells = 0, operators = 0;  // pairs of means, and the operators they belong to
  double practice_difference = 0;        // mean of the second group less the first, runs
};

struct RemoteCourse {
  std::string vehicle, zone, course;
  std::vector<RemoteReading> runs;
  std::vector<OperatorAtDelay> by_operator;  // operator, then delay rising
  std::vector<AtDelay> by_delay;
  PaceLine pace;
  std::vector<GroupDifference> differences;
  std::optional<double> corridor_m;      // the narrowest told
  std::vector<std::string> remarks;
};

// One entry a vehicle, zone and course.
[[nodiscard]] std::vector<RemoteCourse> reduce_remote_runs(const std::vector<RemoteRun>& runs, const RemoteRunSettings& settings, base::Problems& problems);

}  // namespace hardpan::records
