// SPDX-License-Identifier: Apache-2.0
// Equilibrium of a vehicle, one body or a chain of them, on soft ground in straight travel at a given wheel slip: wheel loads,
// pull, gradient, torque solved together.
//
// A Case gives the slip of the reference wheel (the rearmost driven one) and one of two questions:
// which hitch pull is left at this gradient, or which gradient is climbed with this hitch pull. Cases
// are solved in lockstep so that one call serves a single vehicle or a chunk of possible soils.
//
// Loads: two axles by moments, with the soil's own moment T - DP r (which vanishes on hard ground
// only); more axles share by wheel, suspension, joint and soil stiffness (heave, and pitch of each body). A
// lifted axle ends the case as tip-over, never with a negative load; so does a gradient on which the vehicle would tip standing
// on hard ground, still or settled on its wheels and springs, whatever soft ground ahead of its wheels would hold.
// Accuracy: loads and forces to 1e-9 of the weight when converged (tested against an independent solution).
//
//   Workspace space;
//   Case c{.machine = &machine, .slip_ratio = 0.2, .question = Question::gradient};
//   State s; solve_cases({&c, 1}, {&s, 1}, space);
//   if (s.status == StateStatus::balanced) use(s.gradient_rad);
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "base/solve.hpp"
#include "contact/wheel_soil.hpp"
#include "performance/machine.hpp"
#include "performance/wheels_on_ground.hpp"

namespace hardpan::performance {

enum class Question { pull /* at a gradient */, gradient /* with a hitch pull */ };

struct State;

struct Case {
  const Machine* machine = nullptr;
  double slip_ratio = 0;           // reference wheel, [-1, 1)
  Question question = Question::pull;
  double gradient_rad = 0;         // nose up positive; Question::pull
  double hitch_pull_n = 0;         // along the slope, rearward positive; Question::gradient
  double line_angle_rad = 0;       // tow line down towards the load positive: adds load at the hitch
  bool towed = false;              // no axle drives or brakes: every wheel turns freely; slip_ratio is not used
  double load_tolerance = 1e-10;   // of the weight, on the change of a load in the last pass
  const State* near = nullptr;     // a balanced state of a like case to start from; costs passes, never the answer
};

enum class StateStatus {
  balanced,
  bogs_down,          // an axle finds no sinkage that carries it
  belly_contact,
  tips_rearward,      // the front lifts
  tips_forward,
  beyond_wheel_data,  // the load-deflection rows of a wheel end
  wheel_spins,        // a wheel cannot take the torque it shares at any slip up to 95 %; locks, where it brakes
  not_converged
};
[[nodiscard]] const char* name(StateStatus status);

struct State {
  StateStatus status = StateStatus::not_converged;
  base::SolveReport solve;                       // residual: change of a load in the last pass [N]
  double slip_ratio = 0;
  double gradient_rad = 0;
  double hitch_pull_n = 0;                       // along the slope
  double net_force_n = 0;                        // sum of the wheels' pulls
  std::array<contact::WheelAnswer, kMaxAxles> wheel;  // one wheel of each axle; its sinkage counts from rut_floor_m
  std::array<double, kMaxAxles> rut_floor_m{};   // below the untouched surface; 0: not in a rut, not even with a part of the wheel
  std::size_t axles = 0;
  std::size_t deciding_axle = 0;                 // where status names an axle

  [[nodiscard]] bool balanced() const { return status == StateStatus::balanced; }
  [[nodiscard]] double depth_m(std::size_t axle) const { return rut_floor_m[axle] + wheel[axle].sinkage_m; }  // below the untouched surface
  [[nodiscard]] double deepest_m() const;        // over all wheels
  [[nodiscard]] double largest_slip(const Machine& machine) const;  // of the driven wheel that slips most, with its sign; braking: of any wheel held
};

// Kept between calls so that the solve itself allocates nothing once it has grown.
struct Workspace {
  WheelBatch wheels;                             // known by case x kMaxAxles + axle
  struct Lane {
    std::array<double, kMaxAxles> load_n{};
    std::array<double, kMaxAxles> free_slip{};   // of wheels not held at the common speed
    std::array<double, kMaxAxles> floor_m{};     // of the rut, laid in this pass; 0: untouched ground
    std::array<double, kMaxAxles> share_in_rut{};  // of the load, where a wheel lies partly in the rut
    double gradient_rad = 0, pull_n = 0, own_moment_n_m = 0;  // behind load_n
    std::array<double, vehicle::kMostBodies> pitch_rad{};     // of a chain, likewise
    // Acceleration of the passes, see accelerate() in equilibrium.cpp: last place and miss, inverse slope.
    std::array<double, 2> place{}, miss{};
    std::array<double, 4> inverse{};
    double floor_change = 0;                     // of the floors in this pass over the wheel radius, where they come from the last
    int passes = 0, evaluations = 0, cuts = 0;
    double part = 1;                             // of the way that a pass goes
    bool active = false;
    bool spins = false;                          // in this pass a wheel found no slip for the torque it shares
  };
  std::vector<Lane> lanes;
  std::vector<contact::Contact> on_floor;        // case x kMaxAxles + axle: following wheels on the floor they meet in this pass
  std::vector<Strips> strips;                    // case x kMaxAxles + axle: wheels partly on that floor
  std::vector<StripCase> strip_cases;
  std::vector<StripAnswer> strip_answers;
  std::vector<std::size_t> strip_owner;
  std::vector<TorqueCase> free_wheels;           // towed, or sharing a torque
  std::vector<TorqueSlip> free_answers;
  std::vector<std::size_t> free_owner;
  TorqueSpace searched;
  contact::SimdTarget target = contact::SimdTarget::best;
};

void solve_cases(std::span<const Case> cases, std::span<State> out, Workspace& space);

}  // namespace hardpan::performance
