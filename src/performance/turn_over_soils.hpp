// SPDX-License-Identifier: Apache-2.0
// A steady turn over possible soils: the smallest radius that ground, drives and steering allow, and torque and work against radius, with intervals.
//
// Every possible soil turns by turn_on_soil.hpp, without and, on loose ground, with slip sinkage; of the two leads the one that does not balance, else the
// one of more work, as in the quick answer. What is left out there is left out here. The best-estimate soil is searched as finely as there,
// possible soils in one coarser go (detail/turn_scan.hpp): the smallest radius to 0.3 deg of atan(L / R). Searches that fail cost most, so ask few: the interval of so few
// next points is about their span. A soil on which a radius is not balanced counts there with torque and work without end (immobilised). Same bits for any number of threads.
//
//   const TurnOverSoils t = turn_over_soils(vehicle, placed, {.turn = {.gradient_rad = 0.1}, .radii_m = {10, 5, 3}}, 40);
//   use(t.smallest_m, t.radii.front().torque_n_m);
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "performance/possible_runs.hpp"
#include "performance/turn_on_soil.hpp"

namespace hardpan::performance {

struct TurnQuestion {
  TurnCase turn;                               // radius_m tells the side only
  std::vector<double> radii_m;                 // sizes, above 0; 0: on the spot
};

// At one radius.
struct TurnRadius {
  double radius_m = 0;                         // left positive, as turn_on_soil has it
  TurnState centre;                            // best-estimate soil, leading rule
  TurnLimit limit = TurnLimit::none;           // of the best-estimate soil
  math::Estimate torque_n_m;                   // largest of a wheel
  math::Estimate work_j_per_m, work_j_per_rad; // all wheels; J/m of the path, none on the spot
  std::vector<std::pair<TurnLimit, double>> limits;   // shares of next points at this radius, most frequent first
  double goes_ratio = 0;                       // share of next points that go; of the centre alone without draws (0 or 1)
  std::size_t not_converged = 0;               // next points without a numerical answer
};
struct TurnOverSoils {
  SmallestTurn centre;                         // best-estimate soil, the larger radius of the two rules
  math::Estimate smallest_m;                   // size; infinite: not even straight ahead
  std::vector<std::pair<TurnLimit, double>> limits;   // shares of next points, most frequent first
  std::vector<TurnRadius> radii;               // in the order asked
  std::size_t draws = 0, not_converged = 0;    // of the smallest radius
  std::string reason_without;
};
// Of the vehicle that was placed; at most `most_draws` of its next points answer, the first ones. Crab steering does not turn and must not be asked.
[[nodiscard]] TurnOverSoils turn_over_soils(const vehicle::Vehicle& vehicle, const Placed& placed, const TurnQuestion& question, std::size_t most_draws);

// The smallest radius alone, as requirements judge it: size, the largest of the cases (sides, headings), of the average ground and of the next point. Infinite: not even straight
// ahead. As many draws of either as asked for.
struct SmallestOverSoils {
  Outcome radius_m;
  TurnLimit limit = TurnLimit::none;           // of the best-estimate soil, in the case of its largest radius
};
[[nodiscard]] SmallestOverSoils smallest_turn_over_soils(const vehicle::Vehicle& vehicle, const Placed& placed, const std::vector<TurnCase>& cases, std::size_t most_draws);

}  // namespace hardpan::performance
