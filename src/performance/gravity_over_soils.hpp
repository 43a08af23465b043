// SPDX-License-Identifier: Apache-2.0
// Gravity transfer over possible soils: what an equal-weight test shows and what the target's ground lets, with intervals, and how sure the
// test is of being optimistic.
//
// Each possible soil is one ground at both places: as drawn where the tests are made, and with its self-weight scaled at the target (soil_at_gravity); what
// is shared drops out of the difference. Range, assumptions and accuracy: gravity_transfer.hpp and possible_runs.hpp; every wheel on untouched ground. docs/theory/gravity.md.
//
//   const auto g = gravity_over_soils(vehicle, ground, plan, {.change = {9.81, 1.62}}, place, problems);
//   use(g->optimism.next_point, g->optimistic_ratio);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/gravity_transfer.hpp"
#include "performance/possible_runs.hpp"

namespace hardpan::performance {

struct TransferBand {
  double slip_ratio = 0;
  math::Estimate as_tested, equal_weight_test, target;   // gradient climbed freely at this slip [rad]; kNoGradient where none is
};

struct GravityOverSoils {
  GravityTransfer centre;                    // best-estimate soil
  std::vector<TransferBand> over_slip;
  math::Estimate as_tested, equal_weight_test, target;   // largest gradient up to the working slip [rad]
  math::Estimate optimism;                   // equal-weight test less target, soil by soil [rad]
  std::optional<double> optimistic_ratio;    // share of next points on which the test shows the steeper climb; ties count half
  LimitingFactor test_factor = LimitingFactor::none, target_factor = LimitingFactor::none;   // of the best-estimate soil, at the working slip
  std::size_t draws = 0;
  std::size_t left_out = 0;                  // possible soils whose scaled ground carries no wheel of this width
  std::string reason_without;
};

// Every refusal of gravity_transfer and place_vehicle. plan.gravity_m_s2 is question.change.from_m_s2.
[[nodiscard]] std::optional<GravityOverSoils> gravity_over_soils(const vehicle::Vehicle& vehicle, const Ground& ground, const DrawPlan& plan, const TransferQuestion& question,
                                                                 const base::Place& place, base::Problems& problems);

}  // namespace hardpan::performance
