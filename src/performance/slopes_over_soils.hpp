// SPDX-License-Identifier: Apache-2.0
// The steepest slope on every heading over the possible soils of a zone: what the best-estimate soil lets the vehicle travel, the interval of
// the next point met, and how often which limit ends it.
//
// The best-estimate soil is walked up its way from the level (any_heading.hpp); every possible soil is led from that limit to its own, or walks too,
// all wheels rolling together. Where both lose their way the soil is searched by itself, one slope at a time, and `by_itself` counts it. Of without
// and with slip sinkage the lower counts, heading by heading. Right headings of a vehicle that is the same left and right are taken from the left ones.
// Accuracy: 0.05 deg against the search one slope at a time (bench/slopes_bench), but where the way folds back, as a wheel locks or its slip passes
// through zero: largest limits down and across, one in two hundred, most of them within 0.2 deg (docs/theory/turning.md). Same bits for any number of threads.
//
//   const SlopesOverSoils s = slopes_over_soils(vehicle, *placed, {.headings_rad = evenly_round(24)}, 200);
//   for (const HeadingSpread& h : s.headings) use(h.limit.working.gradient_rad, h.working.next_point);
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "math/draws.hpp"
#include "math/estimate.hpp"
#include "performance/any_heading.hpp"
#include "performance/possible_runs.hpp"

namespace hardpan::performance {

struct SlopeSpread {
  std::vector<double> draws_rad;          // next points, in the order of the possible soils; NaN: no numerical answer
  std::vector<HeadingFactor> factor;      // likewise
  std::optional<math::Interval> next_point;  // 95 % of the next points, by order; a soil not even travelled on the level counts as 0
  std::optional<double> median_rad;
  std::size_t not_converged = 0;
};
// Share of the next points that a factor ended, the most frequent first.
[[nodiscard]] std::vector<std::pair<HeadingFactor, double>> shares(const SlopeSpread& spread);

struct HeadingSpread {
  HeadingLimit limit;                     // best-estimate soil
  SlopeSpread working, largest;
};
struct SlopesOverSoils {
  std::vector<HeadingSpread> headings;
  double working_slip = 0.2, working_drift_rad = 0;
  std::size_t draws = 0;                  // of the next point
  std::string reason_without;             // where there are none
  bool mirrored = false;
  std::size_t limits = 0, by_itself = 0;  // limits of possible soils in all, and of these searched one slope at a time
};
// The first `draws` next points of `placed`, which was made of this vehicle (three or more wheels).
[[nodiscard]] SlopesOverSoils slopes_over_soils(const vehicle::Vehicle& vehicle, const Placed& placed, const HeadingQuestion& question, std::size_t draws);

// Whether the mirror image of the vehicle, left for right, is the vehicle.
[[nodiscard]] bool same_left_and_right(const vehicle::Vehicle& vehicle);

}  // namespace hardpan::performance
