// SPDX-License-Identifier: Apache-2.0
// Turn trials against the steady slow turn on the zone's soil (performance/turn_on_soil.hpp).
//
// Radii measured at a wheel's ring become radii of the vehicle by its geometry alone; drift on soft ground shifts the ring a little against it. The best-estimate soil gives the
// smallest radius predicted; forty next points say how many possible soils go round the smallest radius held, and how many fail at the largest that failed. Torque is the sum over
// the driven wheels at the radii measured. A ring on a gradient meets every heading: there four headings are computed and all must go. The weight is that of the trial. With slip sinkage
// where the zone sinks by it.
//
//   for (const TurnComparison& c : compare_turns(limits, vehicle, ground, plan, units)) say(c.statement);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/possible_runs.hpp"
#include "performance/turn_on_soil.hpp"
#include "records/turn_trial.hpp"
#include "units/print.hpp"

namespace hardpan::validation {

inline constexpr std::size_t kTurnSoils = 40;  // next points that answer besides the best-estimate soil

struct TorqueCompared {
  double radius_m = 0;                        // as measured
  double vehicle_radius_m = 0;                // of the vehicle's centre plane
  std::optional<math::Estimate> measured_n_m, measured_work_j_per_m;  // work only where the power was measured at the axles
  double predicted_n_m = 0, predicted_work_j_per_m = 0;  // best-estimate soil; NaN where it does not turn
  std::optional<math::Interval> next_point_n_m, next_point_work_j_per_m;
  std::optional<bool> consistent;             // of the torque, else of the work: the measured mean's interval (its value, without one) overlaps
};

struct TurnComparison {
  std::string vehicle, zone;
  records::RingPath path = records::RingPath::outer_wheel;
  bool right = false;
  double gradient_rad = 0;
  math::Interval measured_m;                  // what the turns leave for the smallest radius, along `path`; infinite or 0 on a side without a bound
  std::optional<math::Interval> predicted_m;  // first that fails to last that goes on the best-estimate soil, along `path`; both infinite: not even straight ahead
  performance::TurnLimit limit = performance::TurnLimit::none;  // of the best-estimate soil
  std::optional<bool> best_goes_at_passed, best_goes_at_failed;  // the best-estimate soil at these two radii; absent: no such radius, or no answer there
  std::size_t soils = 0;                      // that answered
  std::optional<double> goes_at_passed, fails_at_failed;  // shares of them
  bool judged = false;
  bool consistent = false;                    // predicted and measured overlap (without a predicted limit: the best-estimate soil does what was seen), or some possible soil does what was seen at both ends
  std::optional<bool> ends_alike;             // stalled: torque, power, carrying; slid: the ground. Absent: the steering's stop, or nothing failed
  std::vector<TorqueCompared> torque;
  std::string statement;
};

// Groups of this vehicle in this zone only.
[[nodiscard]] std::vector<TurnComparison> compare_turns(const std::vector<records::TurnLimits>& limits, const vehicle::Vehicle& vehicle,
                                                        const performance::Ground& ground, const performance::DrawPlan& plan, units::OutputUnits units);

// The radius of the vehicle at which its wheels' ring has this radius, by geometry; the least, 0 (inner wheel: half the track), where the ring is larger even there.
[[nodiscard]] double vehicle_radius_m(const vehicle::Vehicle& vehicle, records::RingPath path, double ring_radius_m);

}  // namespace hardpan::validation
