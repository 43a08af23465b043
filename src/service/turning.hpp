// SPDX-License-Identifier: Apache-2.0
// Quick answer: how tightly a vehicle turns - geometry, and on a soil torque and work against radius and what stops it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "io/json.hpp"
#include "performance/turn_on_soil.hpp"
#include "performance/turning.hpp"
#include "service/quick.hpp"

namespace hardpan::service {

struct TurningRequest {
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  std::optional<SoilRequest> soil;           // absent: geometry only
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  std::vector<double> radii_m;               // above 0, 0 on the spot; empty: a ladder of wheelbases
  bool to_right = false;
  double gradient_rad = 0, heading_rad = 0;  // heading from straight uphill, to the left
  double speed_m_s = 0;                      // 0: slow, and no power is told
  std::optional<double> crest_rad;           // fall of the ground either side of a ridge under the centre of gravity ...
  double crest_line_rad = 0;                 // ... whose line lies at this angle to the vehicle, left positive
  std::optional<double> needed_m;            // the radius on the soil, at most
  std::optional<double> crab_rad;            // of crab steering; its largest angle where not given
};

// A radius on the soil, without and with slip sinkage.
struct TurnPair {
  performance::TurnState without, with;
  [[nodiscard]] const performance::TurnState& lead() const;  // which does not balance, else the one of more work
};
struct TurningLine {
  performance::Turn geometry;
  std::optional<TurnPair> on_soil;
  performance::TurnLimit limit = performance::TurnLimit::none;  // of the turn on soil, or of its geometry
};
struct TurningResult {
  std::string vehicle;
  vehicle::Steering steering;
  performance::Turn smallest;                // of the geometry; straight ahead for crab
  std::optional<performance::CrabTravel> crab;
  std::vector<TurningLine> lines;
  std::optional<soil::NamedSoil> soil;
  std::optional<performance::SmallestTurn> without, with;  // on the soil
  base::Problems remarks;                    // of the files read
  [[nodiscard]] const performance::SmallestTurn& smallest_on_soil() const;  // the larger radius
  // What is needed less the smallest radius on the soil; nothing without a soil, or where no radius goes.
  [[nodiscard]] std::optional<double> margin_m(const TurningRequest& request) const;
  [[nodiscard]] bool unsolved() const;       // a number asked for has no numerical answer
};
// From a wide turn to the tightest, in wheelbases; steered vehicles end at their smallest radius by geometry, skid on the spot.
[[nodiscard]] std::vector<double> turn_ladder(const vehicle::Vehicle& vehicle, double smallest_m);
// Why a vehicle is not turned on a soil; empty: it is.
[[nodiscard]] std::string why_no_turn(const vehicle::Vehicle& vehicle);
// Throws InputError with everything that is missing or impossible.
[[nodiscard]] TurningResult turning(const TurningRequest& request);
[[nodiscard]] io::Json turning_json(const TurningRequest& request, const TurningResult& result);

}  // namespace hardpan::service
