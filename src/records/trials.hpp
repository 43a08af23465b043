// SPDX-License-Identifier: Apache-2.0
// All vehicle trials beyond towing, slopes and ruts of a campaign, reduced; and two vehicles tested in turn, whatever the test.
//
//   const TrialResult t = reduce_trials(trials, vehicle_records, drawbar, {}, problems);
//   for (const PairedTrial& p : t.pairs) say(p.quantity, p.difference.difference);
#pragma once

#include <string>
#include <vector>

#include "base/problems.hpp"
#include "records/drawbar.hpp"
#include "records/obstacle_trial.hpp"
#include "records/paired.hpp"
#include "records/remote_run.hpp"
#include "records/turn_trial.hpp"
#include "records/way_run.hpp"

namespace hardpan::records {

struct TrialSettings {
  ObstacleTrialSettings obstacles;
  TurnTrialSettings turns;
  RemoteRunSettings remote;
  WayRunSettings ways;
  double pull_slip_lo = 0.15, pull_slip_hi = 0.25;  // windows within enter the paired pull
  double longest_gap_s = 12 * 3600;                 // between the two readings of a pair: one day
  std::size_t fewest_pairs = 2;                     // fewer are no alternation
};

// The same quantity of two vehicles at the same place and condition, in the order it was measured.
struct PairedTrial {
  std::string quantity, unit_si;   // "pull coefficient", ""; "torque in a turn", "N m"; "slip on a slope", ""; "remote speed", "m/s"
  std::string zone, lane;
  std::string condition;           // "slip 15 to 25 %", "radius 4.05 m to the left" ...
  PairedDifference difference;     // first and second are vehicles
};

struct TrialResult {
  std::vector<ObstacleLimits> obstacles;
  std::vector<TurnLimits> turns;
  std::vector<RemoteCourse> remote;
  std::vector<TripRuns> trips;
  std::vector<RockRuns> rocks;
  std::vector<RoughRuns> rough;
  std::vector<PairedTrial> pairs;
  std::vector<std::string> notes;  // two vehicles at one place that could not be paired, and why

  [[nodiscard]] bool empty() const {
    return obstacles.empty() && turns.empty() && remote.empty() && trips.empty() && rocks.empty() && rough.empty() && pairs.empty() && notes.empty();
  }
};

// Times of day order the pairs: from column time_of_day, or from the records' times.
[[nodiscard]] TrialResult reduce_trials(const TrialRecords& trials, const VehicleRecords& tests, const DrawbarResult& drawbar, const TrialSettings& settings,
                                        base::Problems& problems);

}  // namespace hardpan::records
