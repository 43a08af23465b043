// SPDX-License-Identifier: Apache-2.0
// Runs over drive profiles, among rocks and over rough ground against what the campaign's questions answer for them.
//
// Trip: the 95 % interval of the mean energy of runs that arrived must overlap the predicted next point (performance/endurance.hpp), the time likewise, and the share of possible soils that
// arrive must lie within the binomial limits of the runs that did. Rocks: the predicted stops per metre (performance/boulder_field.hpp) must lie within the Poisson limits of those met; a mapped
// field brings the interval of its lanes. Rough ground: the computed speed at which a wheel leaves the ground (performance/roughness.hpp) must lie in the bracket, and the
// shaking measured stands over the shaking computed at the same speed. Nothing is judged at another weight than the predicted one.
//
//   for (const TripComparison& c : compare_trips(runs, told)) say(c.statement);
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/boulder_field.hpp"
#include "performance/endurance.hpp"
#include "performance/roughness.hpp"
#include "records/way_run.hpp"
#include "units/print.hpp"

namespace hardpan::validation {

// What a question answered; `why_not` where it did not.
struct TripTold {
  std::string why_not;
  double weight_n = 0;                  // of the vehicle predicted
  const performance::Endurance* endurance = nullptr;
};
struct RocksTold {
  std::string why_not;
  double weight_n = 0;
  double length_m = 0;                  // of the run that is asked about
  double hits_per_m = 0, wheel_hits_per_m = 0;
  std::optional<math::Interval> hits_interval_per_m;   // of the rocks mapped, or of a stated range of coverage
};
struct RoughTold {
  std::string why_not;
  double weight_n = 0;
  performance::RideVehicle model;
  std::vector<performance::RoughGround> grounds;       // all of them are under the wheels on the way
  performance::RideQuestion question;
};

struct TripComparison {
  std::string vehicle, trip;
  std::optional<math::Estimate> energy_j, time_s;      // measured
  std::optional<math::Estimate> predicted_energy_j, predicted_time_s;
  std::optional<bool> energy_agrees, time_agrees, arrival_agrees;
  double predicted_arrival_ratio = 0;
  bool judged = false, consistent = false;
  std::string statement;
};
struct RockComparison {
  std::string vehicle, rocks;
  double distance_m = 0;
  std::size_t stops = 0;
  math::Interval measured_per_m;
  std::optional<double> predicted_per_m;
  math::Interval clear_ratio;           // chance of a clear run of the length asked about, by the runs
  bool judged = false, consistent = false;
  std::string statement;
};
// Shaking at one speed, measured and computed; the largest over the grounds of the way.
struct ShakingCompared {
  double speed_m_per_s = 0;
  std::optional<math::Estimate> peak_m_per_s2, rms_m_per_s2;
  double predicted_peak_m_per_s2 = 0, predicted_rms_m_per_s2 = 0;
};
struct RoughComparison {
  std::string vehicle, ride, zone;
  math::Interval measured_m_per_s;                     // what the runs leave for the speed at which a wheel lifts; infinite on a side without a bound
  std::optional<double> predicted_m_per_s;             // absent: no wheel leaves the ground up to the fastest speed looked at
  std::vector<ShakingCompared> shaking;
  std::optional<math::Estimate> peak_ratio, rms_ratio; // measured over computed, over the runs that tell it
  // Speed at which the shock and the ride bound are passed, the computed shaking times that ratio; next_point: by the ratio of the next run. Absent where no bound is stated
  // or none is passed.
  std::optional<math::Estimate> shock_speed_m_per_s, ride_speed_m_per_s;
  bool judged = false, consistent = false;
  std::string statement;
};

// One entry a group of runs, in their order.
[[nodiscard]] std::vector<TripComparison> compare_trips(const std::vector<records::TripRuns>& runs, const std::function<TripTold(const records::TripRuns&)>& told, units::OutputUnits units);
[[nodiscard]] std::vector<RockComparison> compare_rocks(const std::vector<records::RockRuns>& runs, const std::function<RocksTold(const records::RockRuns&)>& told, units::OutputUnits units);
[[nodiscard]] std::vector<RoughComparison> compare_rough(const std::vector<records::RoughRuns>& runs, const std::function<RoughTold(const records::RoughRuns&)>& told, units::OutputUnits units);

}  // namespace hardpan::validation
