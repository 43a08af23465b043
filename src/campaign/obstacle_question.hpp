// SPDX-License-Identifier: Apache-2.0
// [[obstacle]]: a step, a gap or a profile that vehicles are to cross, and what a run answers.
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/crossing.hpp"

namespace hardpan::campaign {

struct ObstacleQuestion {
  std::string id, description;
  std::vector<std::string> vehicles;          // empty: every vehicle
  std::optional<double> step_m, gap_m;        // one of these, or a profile
  std::string profile_file;                   // in the campaign's folder
  std::optional<performance::Profile> profile;
  std::optional<double> friction;             // of wheels on this obstacle, or of the ground of a zone
  std::string zone;
};

// What is needed at one place of the way; NaN where no friction looked for would do.
struct NeededFriction {
  double travel_m = 0, friction = std::numeric_limits<double>::quiet_NaN();
};

// One rule of sharing the torque.
struct ObstacleRule {
  performance::Crossing crossing;             // judged at the best estimate of the friction there; frames taken out
  std::vector<NeededFriction> curve;          // the largest of each stretch of the way
  math::Estimate margin;                      // friction there less what is needed; NaN where the crossing does not hang on friction
  std::optional<double> enough_ratio;         // share of possible soils (next points) with friction enough
};

struct ObstacleAnswer {
  std::string obstacle, vehicle;              // ids
  std::string why_not;                        // not empty: no answer, and why
  math::Estimate friction;                    // there
  std::string friction_from;                  // "campaign.toml", "the ground of foredune"
  bool textbook = false;                      // the ground is a soil from a table
  performance::ProfileVehicle side;
  std::optional<performance::Profile> ground;
  ObstacleRule best, equal;                   // the best split, and the same torque on every driven axle
  std::vector<performance::Frame> film;       // a handful of places in order of travel, of the best split
  std::size_t critical = 0;                   // place in the film of the hardest one; film.size(): none
  performance::ObstacleLimit step, gap;       // best split, at the best estimate of the friction there
  std::optional<performance::ObstacleLimit> step_low, gap_low;   // at the lower end of the next point
};

}  // namespace hardpan::campaign
