// SPDX-License-Identifier: Apache-2.0
// At which slope a standing vehicle tips over, and about which edge: all directions of the fall line, with hitch pull,
// and settled on its springs, tyres and a deeper rut on the low side.
//
// Static and for the stated load: bumps, braking and turning tip a vehicle earlier, hence the working limit. Hard ground plane
// (ground that yields goes into the stiffness of a support or into the rut). tip_over takes the vehicle as one rigid body, bodies that
// joints leave to themselves: tip_over_joints.hpp; what settles and what loads the wheels goes by the joints. docs/theory/performance.md.
//
//   const Stance s = stance_of(vehicle, 9.81);
//   const TipOver up = tip_over(s, kFallBehind);       // nose uphill
//   say(degrees(up.angle_rad), name(up.about), degrees(kWorkingShare * up.angle_rad));
#pragma once

#include <cstddef>
#include <limits>
#include <numbers>
#include <optional>
#include <vector>

#include "base/solve.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

// Of the static angle: what is left for bumps, braking and misread slopes. Common practice, no source.
inline constexpr double kWorkingShare = 0.6;

// Direction of the fall line, downward, in the ground plane: from the vehicle's x axis towards its left.
inline constexpr double kFallAhead = 0, kFallLeft = std::numbers::pi / 2, kFallBehind = std::numbers::pi, kFallRight = -std::numbers::pi / 2;

struct Support {
  double x_m = 0, y_m = 0;
  double stiffness_n_per_m = std::numeric_limits<double>::infinity();  // tyre and suspension in series, vertical
  std::size_t body = 0;           // it is part of
  bool driven = true, braked = true;
  double rolling_ratio = 0;       // of one that holds nothing: its force along the vehicle over its load, against the travel negative
};

// Which wheels hold the vehicle along: the braked and driven ones of a standing one, the driven ones of one that travels. The others roll and take force across only.
// Where none would, all do. Of one rigid body it is all the same: what its wheels share among them, the ground takes in one plane.
enum class Holding { brakes, drives };

// Of a vehicle of several bodies. Axes of a joint: pitch about its own across, roll about its own along; standing straight the vehicle's.
struct StandingBody {
  double weight_ratio = 1;        // of the weight
  double cg_x_m = 0, cg_y_m = 0, cg_z_m = 0;
};
struct StandingJoint {
  double x_m = 0, y_m = 0, z_m = 0;
  double turned_rad = 0;          // its axes against the vehicle's, left positive: those of the body behind it
  vehicle::JointAxis pitch, roll;
};

struct HitchForce {
  double x_m = 0, height_m = 0;
  double pull_n = 0;              // along the vehicle, rearward positive
  double line_angle_rad = 0;      // tow line down towards the load positive: pulls the hitch down
};

struct Stance {
  std::vector<Support> supports;  // at least three, not on one line
  double cg_x_m = 0, cg_y_m = 0, cg_z_m = 0;   // cg_z above 0
  double weight_n = 0;            // m g
  std::optional<HitchForce> hitch;
  std::vector<StandingBody> bodies;   // rearmost first, of a vehicle of several, at most vehicle::kMostBodies; EMPTY: one rigid body
  std::vector<StandingJoint> joints;  // one fewer
  Holding holding = Holding::brakes;
  double foot_x_m = 0, foot_y_m = 0;  // of several bodies: every wheel's load acts this far back and to the right of its place
};
[[nodiscard]] bool holds(const Stance& stance, std::size_t support);   // along the vehicle
// Whether brakes and drives hold different bodies: then a vehicle tips at the lower of the two, parked with its brakes on or driving.
[[nodiscard]] bool holds_otherwise_driving(const Stance& stance);
// Wheels where the file has them, with payload. Stiffness of a wheel: tyre (at the level load) and suspension in series.
[[nodiscard]] Stance stance_of(const vehicle::Vehicle& vehicle, double gravity_m_s2);

enum class TipEdge { none, forward, rearward, left, right };
[[nodiscard]] const char* name(TipEdge edge);   // the side it tips to

struct TipOver {
  double angle_rad = 0;           // slope at which it tips; 0: already on the level; pi/2: on none
  TipEdge about = TipEdge::none;
  // Of the search for the angle (residual: width of the bracket [rad]; no_solution: stands on every slope looked at). Absent: closed form.
  std::optional<base::SolveReport> solve;
};

// Smallest slope with this fall line at which the sum of weight and pull passes over an edge of the supports. The slope to
// 1e-10 rad with a pull, to rounding without.
[[nodiscard]] TipOver tip_over(const Stance& stance, double fall_rad);

struct Settling {
  double low_side_rut_m = 0;      // supports on the low half of the fall line stand this much deeper
};
// The same with the body leaning further as it settles: the loads that move downhill compress springs and tyres there.
// `stands_settled` false: the springs are too soft for any slope. Of several bodies the first that falls, by its joints: rigid axes hold, elastic
// ones are springs, stops catch a body whose wheels all stand; one whose wheels have lifted falls, though a stop might catch it later. Parked or driving (Holding), the lower.
struct SettledTipOver {
  TipOver tip;
  double lean_at_tip_rad = 0;     // of the body against the ground plane, of several the one that leans most
  bool stands_settled = true;
  std::optional<std::size_t> body;  // which falls, the first from the rear, where not all bodies go together
};
[[nodiscard]] SettledTipOver settled_tip_over(const Stance& stance, double fall_rad, const Settling& settling);
[[nodiscard]] SettledTipOver settled_as_held(const Stance& stance, double fall_rad, const Settling& settling);   // as Stance::holding has it

// Load on each support [N] standing on this slope, by moments and, beyond three, by stiffness (equal where rigid); a lifted one
// has 0. Nothing when the vehicle tips. Of several bodies by their joints, the grip of wheels that hold in proportion to their loads (detail/chain_stand.hpp).
[[nodiscard]] std::optional<std::vector<double>> standing_loads_n(const Stance& stance, double slope_rad, double fall_rad);
// The same on uneven ground: `lower_m` of a support says how much deeper its ground lies below the plane.
[[nodiscard]] std::optional<std::vector<double>> standing_loads_n(const Stance& stance, double slope_rad, double fall_rad, const std::vector<double>& lower_m);

}  // namespace hardpan::performance
