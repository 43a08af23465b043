// SPDX-License-Identifier: Apache-2.0
// Obstacle trials against the quasi-static crossing on hard ground (performance/crossing.hpp).
//
// The prediction needs the friction of wheel on obstacle. Where it was measured, the predicted limit is computed at the least and the largest reading and must overlap
// what the tries leave; where it was not, nothing is judged, and the friction that the computation would need at the bracket is told instead. Of a profile
// every try that got over must find the friction needed within what was measured, and every one that did not must lack it. A try met at speed is helped
// by its motion, which is not computed: there the predicted limit is a lower bound. A crossing counts as over also where the vehicle slipped down behind the edge.
//
//   for (const ObstacleComparison& c : compare_obstacles(limits, vehicles, profiles, 9.81, units::OutputUnits::si)) say(c.statement);
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/crossing.hpp"
#include "records/obstacle_trial.hpp"
#include "units/print.hpp"

namespace hardpan::validation {

struct ObstacleComparison {
  std::string vehicle, zone;
  records::ObstacleKind obstacle = records::ObstacleKind::step_up;
  std::string profile;                              // id of the obstacle, of a profile: no size is measured or predicted then
  bool rolling_start = false, backward = false;
  math::Interval measured_m;                        // what the tries leave for the limit; infinite on a side without a bound, NaN of a profile
  // Largest size crossed at the least friction measured to smallest not crossed at the largest; infinite where no size looked at stops it.
  std::optional<math::Interval> predicted_m;
  std::optional<performance::Obstruction> predicted_end;  // what stops it a little beyond, at the least friction
  // Least friction that the computation needs at the largest size crossed, and at the smallest not crossed (infinite: none would do); of a profile the same
  // number, where tries got over and where tries did not.
  std::optional<double> friction_needed_passed, friction_needed_failed;
  bool judged = false;
  bool consistent = false;                          // predicted limit (a lower bound where met at speed) and bracket overlap
  std::optional<bool> ends_alike;                   // the try at the smallest size not crossed ended as computed for that size
  std::string statement;
};

// One entry a group of the trials, in their order; `profiles` by id of the obstacle. Groups of an unknown vehicle or profile are told and not judged.
[[nodiscard]] std::vector<ObstacleComparison> compare_obstacles(const std::vector<records::ObstacleLimits>& limits,
                                                                const std::vector<vehicle::Vehicle>& vehicles,
                                                                const std::map<std::string, performance::Profile>& profiles, double gravity_m_s2,
                                                                units::OutputUnits units);

// How a computed end of the crossing shows in the field: friction and torque stop the vehicle, a hole without ground stops or hangs it up.
[[nodiscard]] bool ends_as(performance::Obstruction computed, records::ObstacleOutcome seen);

}  // namespace hardpan::validation
