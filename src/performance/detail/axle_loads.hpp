// SPDX-License-Identifier: Apache-2.0
// How the axles of a vehicle in straight travel share its weight, docs/theory/performance.md eqs. (1), (2), (4): two by moments, more by
// stiffness, bodies of a chain by their joints, with the soil's own moment and the lean on wheels, springs and ground. For the module alone.
//
// The lean counts from how the vehicle stands on hard level ground, for which its centre of gravity is told; wheels lean with their body, so
// that only what the centre of gravity lies above the axles goes ahead. Left out: the hitch goes down and ahead with the lean, the body with the mean sinkage.
#pragma once

#include <array>
#include <cstddef>

#include "performance/equilibrium.hpp"

namespace hardpan::performance::detail {

// Sum of loads and their moment about the rearmost axle's ground point.
struct Demand {
  double load_n;
  double moment_n_m;
};
[[nodiscard]] Demand demand(const Machine& machine, const Case& question, double gradient_rad, double pull_n, double own_moment_n_m);

// What one body's wheels and its lean take from that moment: the soil's own, less the weight that goes ahead of the wheels nose down.
[[nodiscard]] double own_moment(const Machine& machine, const State& state, double gradient_rad, const std::array<double, kMaxAxles>& load_n);

using Pitches = std::array<double, vehicle::kMostBodies>;   // nose down

// New axle loads, and pitches of a chain, from those of the last pass; `last` its wheels, none on the first. Returns the axle that lifted, or the number of axles.
std::size_t share(const Machine& machine, const Case& question, double gradient_rad, double pull_n, double own_moment_n_m, const State* last, std::array<double, kMaxAxles>& load_n, Pitches& pitch_rad);

}  // namespace hardpan::performance::detail
