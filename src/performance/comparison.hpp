// SPDX-License-Identifier: Apache-2.0
// Two vehicles on the same ground: the difference of an outcome over the possible soils they have in common, and how probably one is the better.
//
// Both are placed with the same seed, count and zone, and feasible at each other's widths, so that draw k is the same possible soil for both: what they
// share (the ground) drops out of the difference, and the interval is narrower than that of two answers side by side. Not of two vehicles of
// different kind of model; model form is drawn alike for both.
//
//   const auto pair = place_pair(a, b, ground, plan, place, problems);
//   const Versus v = compare(*pair, Compared::gradient_working, {.working_slip_a = 0.2, .working_slip_b = 0.2});
//   say(v.difference.value, v.a_better_ratio);
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "performance/possible_runs.hpp"

namespace hardpan::performance {

struct PlacedPair {
  Placed a, b;
};
[[nodiscard]] std::optional<PlacedPair> place_pair(const vehicle::Vehicle& a, const vehicle::Vehicle& b, const Ground& ground, DrawPlan plan,
                                                   const base::Place& place, base::Problems& problems);

enum class Compared { gradient_working, gradient_maximum, descent, pull_20, sinkage_20, towed_resistance, energy_level };
inline constexpr std::array kCompared{Compared::gradient_working, Compared::gradient_maximum, Compared::descent, Compared::pull_20,
                                      Compared::sinkage_20, Compared::towed_resistance, Compared::energy_level};
[[nodiscard]] const char* name(Compared quantity);
[[nodiscard]] const char* unit(Compared quantity);        // SI
[[nodiscard]] bool more_is_better(Compared quantity);

struct VersusSettings {
  double working_slip_a = 0.2, working_slip_b = 0.2;
};
struct Versus {
  Compared quantity = Compared::gradient_working;
  Outcome a, b;
  math::Estimate difference;             // a less b; infinite on the best-estimate soil where one is immobilised for an energy
  std::optional<double> a_better_ratio;  // of next-point draws, ties counted half; absent without draws
  std::size_t draws = 0;                 // next-point pairs with an answer for both
  std::size_t left_out = 0;              // of those without
};
[[nodiscard]] Versus compare(const PlacedPair& pair, Compared quantity, const VersusSettings& settings);

}  // namespace hardpan::performance
