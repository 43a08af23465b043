// SPDX-License-Identifier: Apache-2.0
// Obstacle trials to a bracketed size: the largest step or gap crossed before the smallest that was not.
//
// "stopped by the driver" decides nothing and stays listed; an assisted try is set aside by name. Tries at a size that ended both ways are told as an
// overlap. A try met at speed may cross more than slow driving does: the two are kept apart. A profile has no size: its tries are counted.
//
//   for (const ObstacleLimits& k : reduce_obstacle_tries(tries, {}, problems)) say(k.text);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "records/bracket.hpp"
#include "records/trial_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

struct ObstacleTrialSettings {
  double level = math::kIntervalLevel;
  double weight_class_relative = 0.05;  // tries within this share of weight form one group, as slope trials do
  double size_class_relative = 0.02;    // sizes this close count as one
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values inside statements; results are SI
};

struct ObstacleReading {
  std::string file;
  std::size_t line = 0;
  std::string id, run, axle, remark, condition;
  std::string named;                    // as ObstacleTry
  double size_m = 0;
  std::optional<double> friction_ratio;
  std::optional<double> clock_s;
  ObstacleOutcome outcome = ObstacleOutcome::over;
  TrialBound bound = TrialBound::either;
};

struct ObstacleLimits {
  std::string vehicle, zone;
  double weight_n = 0;                  // mean of the group
  ObstacleKind obstacle = ObstacleKind::step_up;
  std::string profile;                  // id of the obstacle, of a profile; else empty
  bool rolling_start = false, backward = false;
  std::vector<ObstacleReading> tries;   // all of them, with what each was taken for
  std::vector<TestedSize> sizes;        // of a profile: one, without a size
  SizeBracket bracket;                  // empty of a profile
  std::string text;                     // one sentence on the bracket, or on how many tries got over
  // Least and largest friction measured on the tries that count; absent where none was.
  std::optional<math::Interval> friction;
  std::size_t friction_readings = 0;
  // How the smallest size not crossed (of a profile: every try that failed) ended, the most frequent first: what a prediction must agree with besides the size.
  std::vector<std::pair<ObstacleOutcome, std::size_t>> ended;
};

// One entry a group (vehicle, zone, weight class, kind of obstacle and its id if it is a profile, slow or rolling, forward or backward).
[[nodiscard]] std::vector<ObstacleLimits> reduce_obstacle_tries(const std::vector<ObstacleTry>& tries, const ObstacleTrialSettings& settings,
                                                                base::Problems& problems);

// "step up, slow approach"; of a profile "obstacle tide-cut, slow approach"
[[nodiscard]] std::string group_words(const ObstacleLimits& limits);

}  // namespace hardpan::records
