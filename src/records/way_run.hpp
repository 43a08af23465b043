// SPDX-License-Identifier: Apache-2.0
// Runs over ways that the campaign describes: drive profiles to energy and time, rocks to how often one stops the vehicle, rough ground to the speed at which
// wheels leave it and to the shaking against speed.
//
// Energy and time of a trip are Student intervals over the runs that arrived. Stops by rocks are counted over the distance driven, whatever ended a run: their number is
// taken as Poisson's, with the exact interval of [Garwood1936]. A speed held and one at which a wheel left the ground bracket the limit. docs/theory/trials.md.
//
//   for (const TripRuns& t : reduce_trip_runs(runs, {}, problems)) say(t.trip, t.energy_j);
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/problems.hpp"
#include "math/estimate.hpp"
#include "records/bracket.hpp"
#include "records/trial_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

struct WayRunSettings {
  double level = math::kIntervalLevel;
  double weight_class_relative = 0.05;  // runs within this share of weight form one group, as slope trials do
  double speed_class_relative = 0.05;   // speeds this close are repeats of one
  units::OutputUnits output_units = units::OutputUnits::si;
};

// One entry a group (vehicle, trip, weight class).
struct TripRuns {
  std::string vehicle, trip;
  double weight_n = 0;                  // mean of the group
  std::vector<TripRun> runs;
  std::size_t arrived = 0;
  std::vector<std::pair<TripOutcome, std::size_t>> ended;  // of the others but those broken off, the most frequent first
  std::optional<math::Interval> chance_of_arriving;        // Clopper and Pearson (1934), of arrived and ended
  std::optional<math::Estimate> energy_j, time_s;          // of runs that arrived and tell it; n counts them
  std::string text;                     // one sentence
};

// One entry a group (vehicle, rocks, weight class).
struct RockRuns {
  std::string vehicle, rocks;
  double weight_n = 0;
  std::vector<RockRun> runs;
  double distance_m = 0;                // of all runs together
  std::size_t by_wheel = 0, by_body = 0;
  math::Interval stops_per_m;           // of the ground; from 0 where nothing stopped the vehicle
  [[nodiscard]] std::size_t stops() const { return by_wheel + by_body; }
  std::string text;
};

// Runs at one speed.
struct ShakingAtSpeed {
  double speed_m_per_s = 0;             // mean
  std::size_t runs = 0, lifted = 0;
  std::optional<math::Estimate> peak_m_per_s2, rms_m_per_s2;
};

// One entry a group (vehicle, rough ground, zone, weight class).
struct RoughRuns {
  std::string vehicle, ride, zone;
  double weight_n = 0;
  std::vector<RoughRun> runs;
  SizeBracket bracket;                  // speed; faster is harder
  std::vector<ShakingAtSpeed> shaking;  // speed rising
  std::string text;                     // one sentence on the bracket
};

[[nodiscard]] std::vector<TripRuns> reduce_trip_runs(const std::vector<TripRun>& runs, const WayRunSettings& settings, base::Problems& problems);
[[nodiscard]] std::vector<RockRuns> reduce_rock_runs(const std::vector<RockRun>& runs, const WayRunSettings& settings, base::Problems& problems);
[[nodiscard]] std::vector<RoughRuns> reduce_rough_runs(const std::vector<RoughRun>& runs, const WayRunSettings& settings, base::Problems& problems);

}  // namespace hardpan::records
