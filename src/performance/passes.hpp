// SPDX-License-Identifier: Apache-2.0
// The rut that a vehicle leaves pass by pass: each pass is its axles in turn, and the next begins on the floor that the last one left.
//
// Loads and slips of the wheels are those of one balanced state, kept through all passes: on the floor of a rut the soil's own moment differs a little, which is left out.
// A wheel meets the floor that everything before it left in its path (soil::rut_floor); one that lies there with a part of its width shares one depth between that part and the part beside it,
// which keeps a floor of its own from pass to pass. The wheel ahead is taken to run on the floor of the whole path. Strength there is that of
// untouched ground unless another is given. How much a rut grows from pass to pass hangs on the unloading stiffness above all: hardly at 1 MPa/m, as pass to the power 0.3 to
// 0.5 at 20 MPa/m (docs/theory/trials.md). Ground with a second layer has no answer.
//
//   std::vector<PassDepth> depth(5);
//   depth_by_pass(machine, state, reload, paths_of(vehicle), depth);
//   if (depth[4].carried) say(depth[4].loaded_m, depth[4].after_m);
#pragma once

#include <array>
#include <limits>
#include <span>

#include "performance/disturbed.hpp"
#include "performance/equilibrium.hpp"
#include "performance/travel.hpp"

namespace hardpan::performance {

using Paths = std::array<PathAhead, kMaxAxles>;
[[nodiscard]] Paths paths_of(const vehicle::Vehicle& vehicle);  // at most kMaxAxles axles

struct PassDepth {
  bool carried = false;   // false: a wheel of this pass or one before it bogs down, or has no answer; depths are NaN
  double loaded_m = std::numeric_limits<double>::quiet_NaN();  // under the deepest wheel of this pass, below the untouched surface
  double after_m = std::numeric_limits<double>::quiet_NaN();   // floor of the deepest path once the vehicle is gone
};

// `state` is a balanced one of this machine; out[p] is pass p + 1. `disturbed` (as wheels meet it, see about) is the strength wherever a wheel has been.
void depth_by_pass(const Machine& machine, const State& state, const soil::Reload& reload, const Paths& paths, std::span<PassDepth> out,
                   const std::optional<DisturbedStrength>& disturbed = std::nullopt);

// The machine of the two whose state this is: with slip sinkage where the state was computed with it.
[[nodiscard]] const Machine& machine_of(const OnSoil& on, const State& state);

}  // namespace hardpan::performance
