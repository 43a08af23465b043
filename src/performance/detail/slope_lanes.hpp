// SPDX-License-Identifier: Apache-2.0
// Many vehicles on slopes side by side, each led from a known limit of a like vehicle to its own: wheels of all roll together through
// contact::wheels_at_load, balances by Broyden's method. For the module alone; docs/theory/turning.md, slopes over possible soils.
#pragma once

#include <array>
#include <memory>
#include <span>
#include <vector>

#include "performance/any_heading.hpp"
#include "performance/detail/turn_balance.hpp"

namespace hardpan::performance::detail {

// What ends straight travel on a heading besides the ground itself: the working limit or the largest (slip 1: none but 95 %).
struct HeadingBounds {
  double slip = 0.2, drift_rad = 0.1745;
  HeadingFactor beyond_drift = HeadingFactor::drift;
};
[[nodiscard]] HeadingBounds working_bounds(const HeadingQuestion& question);
[[nodiscard]] HeadingBounds largest_bounds();
// Where no balance is left: the larger part of the weight's pull along the slope names what is missing.
[[nodiscard]] HeadingFactor ground_gives_out(double heading_rad);

// A limit found one at a time, and where: to be led from.
struct KnownLimit {
  HeadingReach reach;
  Unknown z{};               // at reach.gradient_rad
  bool travels = false;      // at least on the level
};
// Whether it travels on the level within the bounds, and as what limit it counts where it does not.
struct OnLevel {
  bool travels = false;
  HeadingReach otherwise;
};
[[nodiscard]] OnLevel on_level(const TurningMachine& machine, const HeadingBounds& bounds);
[[nodiscard]] KnownLimit search_limit(const TurningMachine& machine, double heading_rad, const HeadingBounds& bounds, double steepest_rad, double bracket_rad);

// Of a slope found by lanes: 0.5 deg, the worst difference from the search one at a time that bench/slopes_bench showed being 0.44 deg.
inline constexpr double kLaneAccuracy_rad = 0.0087266;
inline constexpr std::size_t kLaneUnknowns = kUnknowns + 1;   // and the gradient
using LaneUnknown = std::array<double, kLaneUnknowns>;
using LaneMatrix = std::array<LaneUnknown, kLaneUnknowns>;

// One vehicle on one soil on its way to a limit.
struct SlopeLane {
  explicit SlopeLane(const TurningMachine& machine);
  SlopeLane(const SlopeLane&) = delete;
  SlopeLane& operator=(const SlopeLane&) = delete;

  const TurningMachine* machine;
  TurnCase turn;             // balance looks at it
  Balance balance;
  LaneUnknown x{};
  // Of the last evaluation.
  Unknown unbalanced{};
  double share = 0, along = 0, slip = 0;   // of the bound used most; slip and drift together, which grow along the way; largest slip
  HeadingFactor most = HeadingFactor::none;
  // Of the search.
  LaneMatrix inverse{};
  bool good = false;         // the last solution converged
  int evaluations = 0;
};

// Leads every lane to its own limit on the heading of `known`, which belongs to `centre`. Nothing in out[i]: not found this way.
struct LaneLimit {
  bool found = false;
  HeadingReach reach;
};
void follow_limits(const KnownLimit& known, const TurningMachine& centre, double heading_rad, const HeadingBounds& bounds, std::span<const std::unique_ptr<SlopeLane>> lanes,
                   std::span<LaneLimit> out, contact::SimdTarget target);

}  // namespace hardpan::performance::detail
