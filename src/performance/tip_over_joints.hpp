// SPDX-License-Identifier: Apache-2.0
// At which slope a vehicle of several bodies tips over where joints let a body roll or pitch by itself. For one rigid body: tip_over.hpp.
//
// A body that a free joint does not hold tips over its own wheels, whatever the bodies beside it could bear. Static, hard ground plane, the grip of wheels that
// hold (tip_over.hpp, parked or driving, the lower angle) in proportion to their loads, where others roll to the loads on the level of each body's; headings held by the wheels. A free joint is free (its stops catch a body only after it has left the ground), an elastic or rigid one
// holds; a joint that rests on its stop standing level is held there. Least slope by linear programs (wheels only push), to 1e-6 rad.
//
//   const auto t = tip_over_of_bodies(vehicle, 9.81, kFallLeft);
//   if (t) say(degrees(t->tip.angle_rad), vehicle.bodies[t->body].name);
#pragma once

#include <optional>
#include <vector>

#include "math/draws.hpp"
#include "performance/tip_over.hpp"

namespace hardpan::performance {

struct TipOverOfBodies {
  TipOver tip;
  std::size_t body = 0;      // of those that a moment from outside would hold the first, from the rear, whose wheels have lifted; or else the first
};
// Nothing for a vehicle without free joints in roll or pitch, or with more bodies and wheels than the program holds (32 unknowns). `hitch` as in Stance.
[[nodiscard]] std::optional<TipOverOfBodies> tip_over_of_bodies(const vehicle::Vehicle& vehicle, double gravity_m_s2, double fall_rad,
                                                                const std::optional<HitchForce>& hitch = std::nullopt);

// The lower of the whole vehicle and of a body that joints leave to itself. `stance` of this vehicle, with its hitch pull.
struct StillTip {
  TipOver tip;
  std::optional<std::size_t> body;    // which body, where it is one by itself
};
[[nodiscard]] StillTip still_tip(const vehicle::Vehicle& vehicle, const Stance& stance, double gravity_m_s2, double fall_rad);

// The slope that tips a vehicle held so, the lower of still and settled (on wheels and springs, hard ground). It stands on the level.
[[nodiscard]] double tips_as_held_rad(const vehicle::Vehicle& vehicle, double gravity_m_s2, double fall_rad, Holding holding);

// All directions of the fall line, evenly from nose down to the left round.
struct TipDirection {
  double fall_rad = 0;
  TipOver still;                      // StillTip
  std::optional<std::size_t> body;
  SettledTipOver settled;             // by the joints
  double working_rad = 0;             // kWorkingShare of the lower of the two
};
// `stance` of this vehicle, with its hitch pull.
[[nodiscard]] std::vector<TipDirection> tip_over_round(const vehicle::Vehicle& vehicle, const Stance& stance, double gravity_m_s2, int directions, double low_side_rut_m);

// 95 % of the working limits, from how well the vehicle file says that centres of gravity are known (cg_x_sd_m and its like). Each is moved either way by 1.96 of
// its standard deviations, one at a time; what that changes is added in squares, downward and upward by themselves (JCGM 100:2008, 5.1.3, by differences; from memory).
struct TipDoubt {
  std::vector<math::Interval> working_rad;   // one a direction
  math::Interval least_working_rad;          // of the least of all directions: which is least may change
};
// Nothing where the file states no standard deviation above 0. The same arguments as for `lines` = tip_over_round.
[[nodiscard]] std::optional<TipDoubt> tip_over_doubt(const vehicle::Vehicle& vehicle, const Stance& stance, double gravity_m_s2, double low_side_rut_m, const std::vector<TipDirection>& lines);

}  // namespace hardpan::performance
