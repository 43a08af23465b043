// SPDX-License-Identifier: Apache-2.0
// Limits of many vehicles on slopes found side by side: walked to from the level, or led to from the known limit of a like vehicle. For the
// module alone; docs/theory/turning.md, slopes over possible soils.
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "performance/detail/lane_solver.hpp"

namespace hardpan::performance::detail {

[[nodiscard]] HeadingBounds working_bounds(const HeadingQuestion& question);
[[nodiscard]] HeadingBounds largest_bounds(const HeadingQuestion& question);
// The same on a heading where the vehicle tips, standing on hard ground, at this slope: no steeper one counts, whatever soft ground would hold.
[[nodiscard]] HeadingBounds before_it_tips(HeadingBounds bounds, double tips_rad);

// A limit, and where: to be led from.
struct KnownLimit {
  HeadingReach reach;
  Unknown z{};               // at reach.gradient_rad
  bool travels = false;      // at least on the level
};
// Straight travel on the level, the same on every heading: whether it stays within each of the bounds, and as what limit it counts where it does not.
struct OnLevel {
  Unknown z{};
  std::vector<HeadingReach> otherwise;   // in the order of the bounds; factor none: travels
  [[nodiscard]] bool travels(std::size_t bound) const { return otherwise[bound].factor == HeadingFactor::none; }
};
[[nodiscard]] OnLevel on_level(const TurningMachine& machine, std::span<const HeadingBounds> bounds);

// One slope at a time, each by Newton's method from the last, within 0.01 deg: another way to the same limit, some eighty times as slow.
[[nodiscard]] KnownLimit search_limit(const TurningMachine& machine, double heading_rad, const HeadingBounds& bounds);

// Of a slope found by lanes, against the search one slope at a time: slopes_over_soils.hpp.
inline constexpr double kLaneAccuracy_rad = 0.000872665;   // 0.05 deg

struct LaneLimit {
  bool found = false;
  HeadingReach reach;
  Unknown z{};               // at reach.gradient_rad
};
using Lanes = std::span<const std::unique_ptr<SlopeLane>>;
// Leads every lane to its own limit on the heading of `known`, which belongs to `centre`. Nothing in out[i]: not found this way.
void follow_limits(const KnownLimit& known, const TurningMachine& centre, double heading_rad, const HeadingBounds& bounds, Lanes lanes, std::span<LaneLimit> out, contact::SimdTarget target);
// Walks the lanes whose limit is not found yet, and which travel on the level, from there to their limit.
void walk_to_limits(std::span<const OnLevel> level, std::size_t bound, double heading_rad, const HeadingBounds& bounds, Lanes lanes, std::span<LaneLimit> out, contact::SimdTarget target);

// One vehicle alone: walked to, or searched one slope at a time where its way is lost.
[[nodiscard]] KnownLimit find_limit(const TurningMachine& machine, const OnLevel& level, std::size_t bound, double heading_rad, const HeadingBounds& bounds, contact::SimdTarget target);

}  // namespace hardpan::performance::detail
