// SPDX-License-Identifier: Apache-2.0
// How one rigid body stands on wheels that only push: settlement and lean, and the load of every wheel. For the module alone; tip_over.hpp,
// docs/theory/performance.md.
//
// Settlement w = c + a x + b y (down), load k (w - lower) where that is above zero. The lean moves the centre of gravity by its height times (a, b): `lever`.
// Sets of standing wheels are tried one change at a time; where that leads nowhere, what presses on (c, a, b) and no wheel carries, which points down an
// energy, is followed to the first place where the body rests and would come back from a push. Every answer is such a place; where ruts leave several, one of
// them. Loads to 1e-9 of the weight, on rigid wheels to what 1e11 N/m leaves of a double. No allocation.
#pragma once

#include <optional>
#include <span>

#include "performance/tip_over.hpp"

namespace hardpan::performance::detail {

// Force normal to the plane [N] and that times its place [N m]: what the supports must carry.
struct Demand {
  double load = 0, moment_x = 0, moment_y = 0;
};

struct Lean {
  double x = 0, y = 0;   // as slopes of the settlement
};
// Nothing where it tips. `lever` is the normal force times the height of the centre of gravity [N m], `lower_m` as in standing_loads_n; the loads go to
// `load_n`, of no use where it tips.
[[nodiscard]] std::optional<Lean> stand_body(std::span<const Support> supports, const Demand& demand, double lever, std::span<const double> lower_m, std::span<double> load_n);

}  // namespace hardpan::performance::detail
