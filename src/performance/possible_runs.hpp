// SPDX-License-Identifier: Apache-2.0
// One vehicle on all possible soils of one zone, and outcomes over them.
//
// place_vehicle prepares the vehicle on the best-estimate soil and on every possible soil; each outcome
// function answers one question for all of them: the value on the best-estimate soil, one value a draw for the
// average ground and for the next point, and why each draw stops where it stops. Draw k is the same
// possible soil in every outcome. Chunks of 64 draws run on all threads; same bits for any number of threads.
//
//   const auto placed = place_vehicle(vehicle, ground, settings, place, problems);
//   const Outcome g = gradient_outcome(*placed, 0.2);
//   use(g.estimate.next_point, share_of(g, LimitingFactor::torque));
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/thread_pool.hpp"
#include "math/estimate.hpp"
#include "performance/disturbed.hpp"
#include "performance/travel.hpp"
#include "soil/possible_soils.hpp"

namespace hardpan::performance {

// Motion resistance of this vehicle measured on this ground, and how.
struct MeasuredResistance {
  double coefficient_ratio = 0;  // of the normal load
  std::string method;            // "towed", "coast-down" ...
};

// The soil of one zone as prediction takes it.
struct Ground {
  std::string zone;
  soil::Soil centre;
  std::optional<soil::SoilDistribution> distribution;  // absent: a soil from elsewhere, no scatter
  bool textbook = false;       // "textbook soil, not your ground"
  std::string source;          // where the soil comes from, for the heading
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  bool loose = true;           // both with and without slip sinkage; false: without only
  std::optional<soil::Reload> rut;  // measured, and following wheels run in the rut; absent: on untouched ground
  std::optional<DisturbedStrength> disturbed;  // of following wheels in the rut, where measured; absent: as untouched
  // For the values beside the answer only (sanity.hpp); no prediction is computed from them.
  std::optional<MeasuredResistance> measured_resistance;
  std::optional<double> cone_index_pa;     // of a standard cone (ASABE S313.3), uppermost layer
  std::optional<double> weakest_crust_pa;  // least pressure that broke a crust under a plate, where the zone has one
};

struct DrawPlan {
  double gravity_m_s2 = 0;
  std::uint64_t seed = 1;
  std::size_t count = 400;
  soil::ModelForm form;
  std::vector<double> widths_also_m;  // possible soils are feasible at these too: of vehicles that are compared on the same ones
  bool soil_part = true, instrument_part = true, model_form_part = true;
  std::size_t threads = 0;     // 0: all
  contact::SimdTarget target = contact::SimdTarget::best;
};

// How the possible soils of this vehicle on this ground are drawn: the same ones wherever plan, ground and widths are.
[[nodiscard]] soil::DrawSettings draw_settings(const vehicle::Vehicle& vehicle, const Ground& ground, const DrawPlan& plan);

struct Placed {
  std::string vehicle, zone;
  OnSoil centre;
  std::vector<OnSoil> average, next_point;  // empty without a distribution, with the reason
  std::string reason_without;
  std::string population;
  std::size_t redrawn = 0;
  std::size_t points = 0;                   // behind the bearing part of the distribution
  DrawPlan plan;
};

[[nodiscard]] std::optional<Placed> place_vehicle(const vehicle::Vehicle& vehicle, const Ground& ground,
                                                  const DrawPlan& plan, const base::Place& place,
                                                  base::Problems& problems);

struct Outcome {
  double centre = 0;
  LimitingFactor centre_factor = LimitingFactor::none;
  State centre_state;
  std::vector<double> average, next_point;
  std::vector<LimitingFactor> next_factor;
  math::Estimate estimate;
  std::size_t not_converged = 0;            // draws without a numerical answer (NaN)
};

// Central intervals by order statistics: an infinite value (immobilised) keeps its place in the tail.
[[nodiscard]] math::Estimate estimate_of_outcome(const Outcome& outcome, const Placed& placed);
// Share of next-point draws stopped by a factor; 0 without draws.
[[nodiscard]] double share_of(const Outcome& outcome, LimitingFactor factor);
// Every factor that stopped a draw, the most frequent first.
[[nodiscard]] std::vector<std::pair<LimitingFactor, double>> factors(const Outcome& outcome);

struct DrawAnswer {
  double value = 0;
  LimitingFactor factor = LimitingFactor::none;
  State state;
};
// Answers a chunk of soils; used for every outcome below and for questions of other modules.
using ChunkQuestion = std::function<void(std::span<const OnSoil>, std::span<DrawAnswer>, Workspace&)>;
[[nodiscard]] Outcome outcome(const Placed& placed, const ChunkQuestion& question);

[[nodiscard]] Outcome gradient_outcome(const Placed& placed, double slip_ratio);
[[nodiscard]] Outcome maximum_gradient_outcome(const Placed& placed);
[[nodiscard]] Outcome descent_outcome(const Placed& placed);             // positive: steepness held [rad]
// The same vehicle with drives of any torque: what the ground lets, not what the drives give.
[[nodiscard]] Placed without_torque_limit(const Placed& placed);
// Pull over normal load at a slip on a gradient: (P + W sin a) / (W cos a). Where the peak torque of a drive does not reach the
// slip, the pull at the largest slip it reaches; the limiting factor is then torque.
[[nodiscard]] Outcome pull_coefficient_outcome(const Placed& placed, double slip_ratio, double gradient_rad = 0);
[[nodiscard]] Outcome drawbar_pull_outcome(const Placed& placed, double slip_ratio, double gradient_rad);  // N
[[nodiscard]] Outcome sinkage_at_slip_outcome(const Placed& placed, double slip_ratio, double gradient_rad);       // m, deepest wheel, whatever it pulls
[[nodiscard]] Outcome torque_at_slip_outcome(const Placed& placed, double slip_ratio, double gradient_rad);        // N m, largest of a driven wheel
[[nodiscard]] Outcome towed_resistance_outcome(const Placed& placed);    // coefficient
enum class TravelQuantity { slip, sinkage, torque, energy_per_metre, speed };
// Immobilised draws count as: slip 1, sinkage and torque and energy infinite, speed 0.
[[nodiscard]] Outcome travel_outcome(const Placed& placed, TravelQuantity quantity, double gradient_rad);

}  // namespace hardpan::performance
