// SPDX-License-Identifier: Apache-2.0
// What a vehicle does in straight travel on possible soils: gradients, slip at a demand, energy, speed.
//
// Every function takes a chunk of OnSoil (one a possible soil) and answers each; a single vehicle on a
// single soil is a chunk of one. On loose ground each is computed without and with slip sinkage and
// the less favourable leads: the lower pull, braking the lower hold. The rising branch of pull against slip only: the smallest slip that meets the demand.
//
//   OnSoil on = *on_soil(vehicle, soil, 9.81, soil::SlipSinkage::stretch, place, problems);
//   Workspace space; Gradient g;
//   gradients_at_slip({&on, 1}, 0.2, {&g, 1}, space);
#pragma once

#include <optional>
#include <span>

#include "performance/equilibrium.hpp"

namespace hardpan::performance {

// Why a vehicle goes no steeper, or not at all.
enum class LimitingFactor {
  none, traction, torque, power, bogs_down, belly_contact, tip_over_rearward, tip_over_forward,
  run_away, wheel_data, not_converged
};
[[nodiscard]] const char* name(LimitingFactor factor);

struct OnSoil {
  Machine plain;                    // without slip sinkage
  std::optional<Machine> sinking;   // with it, on loose ground
};

[[nodiscard]] std::optional<OnSoil> on_soil(const vehicle::Vehicle& vehicle, const soil::Soil& soil,
                                            double gravity_m_s2, soil::SlipSinkage slip_sinkage,
                                            const base::Place& place, base::Problems& problems,
                                            const std::optional<soil::Reload>& rut = std::nullopt);

// A vehicle that cannot move at any gradient has this one: straight down. It keeps such a draw in
// the lower tail of an interval where it belongs.
inline constexpr double kNoGradient = -1.5707963267948966;

struct Gradient {
  double gradient_rad = kNoGradient;  // nose up positive; negative: stuck on the level
  double slip_ratio = 0;              // at which it is reached: of the wheel that slips most, not always the reference wheel
  LimitingFactor factor = LimitingFactor::not_converged;
  State state;
};

// The steepest climb on which no wheel slips more than slip_ratio (0 ... 0.95) and peak torque is respected: the value at
// that slip unless the curve peaked before it or the torque limit cuts it. Slip of an interior maximum to 0.002.
void gradients_at_slip(std::span<const OnSoil> on, double slip_ratio, std::span<Gradient> out, Workspace& space);
// The same over all slips up to 0.95: may mean digging in.
void maximum_gradients(std::span<const OnSoil> on, std::span<Gradient> out, Workspace& space);
// The steepest descent that the brakes hold without running away: gradient_rad is negative downhill, the
// factor run_away; all slips in [-0.95, 0).
void maximum_descents(std::span<const OnSoil> on, std::span<Gradient> out, Workspace& space);

// Net pull at a given slip and gradient, the less favourable of both rules.
void states_at_slip(std::span<const OnSoil> on, double slip_ratio, double gradient_rad, std::span<State> out,
                    Workspace& space);

// The same as far as the drives go: where the peak torque of a drive does not reach slip_ratio, or another wheel that shares it
// spins before, the state at the largest slip reached, which State::slip_ratio tells (to 1e-6 of slip_ratio; driving slips only).
void states_within_torque(std::span<const OnSoil> on, double slip_ratio, double gradient_rad, std::span<State> out,
                          Workspace& space);

struct Travel {
  bool goes = false;
  LimitingFactor factor = LimitingFactor::not_converged;  // none when it goes
  State state;                       // at the slip found
  double slip_ratio = 0;
  double sinkage_m = 0;              // deepest wheel
  double torque_n_m = 0;             // most loaded driven wheel
  double speed_m_s = 0;              // by power and speed limit; infinite where neither is stated
  double energy_j_per_m = 0;         // battery to ground at that speed, idle loads and regeneration counted
  double largest_pull_n = 0;         // over slip, where it does not go: how far the demand was missed
};

// Steady travel on a gradient with a hitch pull (0: free).
void travels(std::span<const OnSoil> on, double gradient_rad, double hitch_pull_n, std::span<Travel> out,
             Workspace& space);

// Free climbing at a given slip: the gradient, and what a metre of it takes. One step of a ladder over
// slips that, read the other way round, is travel against gradient.
struct Rung {
  bool balanced = false, lost = false;  // lost: no numerical answer
  double gradient_rad = 0, sinkage_m = 0, torque_n_m = 0, energy_j_per_m = 0, speed_m_s = 0;
  double torque_use = 0;                // largest torque over its peak limit
};
void rungs(std::span<const OnSoil> on, double slip_ratio, std::span<Rung> out, Workspace& space);

// Towed on the level, every wheel turning freely, without slip sinkage: resistance over weight. NaN when an axle bogs down.
void towed_resistance_coefficients(std::span<const OnSoil> on, std::span<double> out, Workspace& space);

}  // namespace hardpan::performance
