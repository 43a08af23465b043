// SPDX-License-Identifier: Apache-2.0
// A steady slow turn on soft ground: every wheel's slip and slip angle from the motion of the rigid vehicle, forces in balance,
// torque and power, and the smallest radius that drive, ground and steering allow. Geometry alone: turning.hpp.
//
// Unknown are the sideways drift of the vehicle, and the speeds (or torques) of left and right for skid steering, or one speed (or
// torque) and the steering angle it takes to hold the radius. Three balances: along, across, about the upright axis.
// Loads: weight on the gradient (and, with a speed, the centrifugal force) and the soil's own moment T - DP r about every axle, which vanishes
// on hard ground only (of several bodies by their joints, that moment in proportion to the loads). One body in plan: joints that yaw are held, the one it
// steers by at its angle, where the joints ahead roll and pitch about axes that have turned with it. Left out: the wheels' own turning resistance about the upright axis, and the moment of a side force that does not act at
// the ground plane. One soil under all wheels, no wheel in another's rut.
// Accuracy: balances to 1e-8 of the weight when balanced.
//
//   const auto m = make_turning_machine(vehicle, soil, 9.81, soil::SlipSinkage::none, {.key = "vehicle"}, problems);
//   const TurnState s = turn_on_soil(*m, {.radius_m = 4});
//   if (s.balanced()) use(s.torque_share, s.work_j_per_m);
#pragma once

#include <limits>
#include <memory>
#include <optional>
#include <vector>

#include "base/solve.hpp"
#include "contact/wheel_soil.hpp"
#include "performance/machine.hpp"
#include "performance/tip_over.hpp"
#include "performance/turning.hpp"

namespace hardpan::performance {

struct TurningMachine {
  vehicle::Vehicle vehicle;
  Machine machine;
  Stance stance;                       // straight; supports with the soil's own stiffness
  double gravity_m_s2 = 0;
};
// Refuses what make_machine refuses, and crab steering, which does not turn.
[[nodiscard]] std::optional<TurningMachine> make_turning_machine(const vehicle::Vehicle& vehicle, const soil::Soil& soil, double gravity_m_s2,
                                                                 soil::SlipSinkage slip_sinkage, const base::Place& place, base::Problems& problems);
// For straight travel (StraightOnSlopes, any_heading.hpp): crab steering too, which holds its heading with its wheels straight, by the speeds (or
// torques) of left and right. Refuses what make_machine refuses.
[[nodiscard]] std::optional<TurningMachine> make_straight_machine(const vehicle::Vehicle& vehicle, const soil::Soil& soil, double gravity_m_s2,
                                                                  soil::SlipSinkage slip_sinkage, const base::Place& place, base::Problems& problems);
// Of a machine that make_machine made of this vehicle.
[[nodiscard]] TurningMachine turning_machine(const vehicle::Vehicle& vehicle, const Machine& machine, double gravity_m_s2);

// A ridge under the centre of gravity: the ground falls away on either side of a straight line.
struct Crest {
  double fall_rad = 0;                 // of either side against the mean plane, [0, pi/2)
  double line_rad = 0;                 // of the line against the vehicle's x axis, left positive; pi/2: square to travel
};

struct TurnCase {
  double radius_m = std::numeric_limits<double>::infinity();  // as in Turn: left positive, 0 on the spot to the left
  double gradient_rad = 0;             // of the ground, [0, pi/2)
  double heading_rad = 0;              // of travel at this moment, from straight uphill to the left
  double speed_m_s = 0;                // along the radius asked for; 0: slow
  std::optional<Crest> crest;
};

enum class TurnStatus {
  balanced,
  no_balance,        // followed from larger radii until the balances had no solution near by: the ground gives out
  bogs_down,         // a wheel is not carried
  belly_contact,
  beyond_wheel_data,
  tips_over,
  not_converged
};
[[nodiscard]] const char* name(TurnStatus status);

struct WheelInTurn {
  WheelPlace place;
  double load_n = 0;                   // 0: lifted, and nothing else stands
  contact::WheelAnswer answer;         // in its own direction of travel
  bool backward = false;               // that is against x
  double along_n = 0, across_n = 0;    // on the vehicle, in the wheel's plane forward and to its left
  double torque_n_m = 0;               // forward positive
  double rad_per_m = 0;                // turned for each metre of the reference path; see TurnState
  double rad_per_rad = 0;              // and for each radian of heading
};

// Numbers are NaN and wheels empty unless balanced.
struct TurnState {
  TurnStatus status = TurnStatus::not_converged;
  base::SolveReport solve;             // residual: largest unbalanced force, moments over the wheelbase [N]
  double radius_m = 0;
  std::vector<WheelInTurn> wheels;
  double centre_x_m = contact::kNoNumber;               // turning centre ahead of the rearmost axle
  double drift_rad = contact::kNoNumber;                // direction of travel of the centre of gravity beside the heading, left positive
  double steering_radius_m = contact::kNoNumber;        // radius that the steering angles would give without slip; infinite: straight, skid
  double inner_angle_rad = contact::kNoNumber, outer_angle_rad = contact::kNoNumber;
  double share_of_largest_angle = contact::kNoNumber;
  double largest_torque_n_m = contact::kNoNumber;       // of a wheel, size
  double torque_share = contact::kNoNumber;             // of peak torque; 0 where none is stated
  double power_share = contact::kNoNumber;              // of peak power at the speed; 0 without speed
  double work_j_per_m = contact::kNoNumber;             // all wheels, braking negative; infinite on the spot. Per metre of the path of the radius
  double work_j_per_rad = contact::kNoNumber;           // and per radian of heading; infinite straight ahead
  double slope_work_j_per_m = contact::kNoNumber;       // of it: lifting the vehicle
  contact::Flag flags = contact::Flag::none;

  [[nodiscard]] bool balanced() const { return status == TurnStatus::balanced; }
  // Balanced within steering, torque and power.
  [[nodiscard]] bool goes() const { return balanced() && share_of_largest_angle <= 1 + 1e-9 && torque_share <= 1 && power_share <= 1; }
};
// Followed from straight travel to the radius asked; where that way ends before, looked for once more from its end and, with skid
// steering, from turning on the spot.
[[nodiscard]] TurnState turn_on_soil(const TurningMachine& machine, const TurnCase& turn);
// The same for many radii, in one go; their side is that of `turn`.
[[nodiscard]] std::vector<TurnState> turns_on_soil(const TurningMachine& machine, const TurnCase& turn, const std::vector<double>& radii_m);

// Straight ahead with one heading on slope after slope, each solved from the last that balanced: steep ones are reached by way of less steep.
class StraightOnSlopes {
 public:
  StraightOnSlopes(const TurningMachine& machine, double heading_rad);
  ~StraightOnSlopes();
  StraightOnSlopes(const StraightOnSlopes&) = delete;
  StraightOnSlopes& operator=(const StraightOnSlopes&) = delete;
  [[nodiscard]] TurnState at(double gradient_rad);

 private:
  struct Way;
  std::unique_ptr<Way> way_;
};

enum class TurnLimit { none, ground, torque, power, steering, carrying, tips_over, not_converged, follower /* by geometry only */ };
[[nodiscard]] const char* name(TurnLimit limit);
[[nodiscard]] TurnLimit limit_of(const TurnState& state);   // none where it goes

// Going from straight ahead to smaller radii: the last that goes and the first that does not, within 0.1 % of the radius. A skid steered vehicle may
// turn on the spot all the same: ask turn_on_soil for 0.
struct SmallestTurn {
  double goes_m = std::numeric_limits<double>::infinity();
  double fails_m = std::numeric_limits<double>::quiet_NaN();  // NaN: goes on the spot
  TurnLimit limit = TurnLimit::none;
  base::SolveReport solve;             // on the radius [m]: width of the bracket; no_solution where not even straight travel goes
  TurnState at_limit;                  // the last that goes
};
// `turn` without its radius; its sign tells the side.
[[nodiscard]] SmallestTurn smallest_turn(const TurningMachine& machine, const TurnCase& turn);

}  // namespace hardpan::performance
