// SPDX-License-Identifier: Apache-2.0
// One wheel on one soil: how deep it sinks under a load, what it pulls, what torque that takes.
//
// Rigid wheel after Wong and Reece (1967), flexible wheel by the larger substitute circle (Bekker
// 1960, Schmid 1995); driving and braking, slip angle and side force, grousers, slip sinkage, side
// wall. docs/theory/contact.md has the equations. For cone-index numerics of pneumatic tyres see
// cone_index.hpp, for closed-form textbook estimates textbook_estimates.hpp.
//
// Range: sinkage up to the axle height or the belly, slip in [-1, 1], |slip angle| < 90 deg.
// Accuracy of the integrals against adaptive quadrature: 1e-8 of the value on smooth pieces for
// exponents 0.3 to 1.6 (tested in wheel_kernel_test.cpp); of the load balance: 1e-10 of the load.
//
//   base::Problems problems;
//   const auto contact = make_contact(wheel, soil, {}, {.key = "wheel"}, problems);
//   problems.throw_if_refused();
//   const WheelAnswer a = wheel_at_load(*contact, /*load_n*/ 1030.0, /*slip_ratio*/ 0.2);
//   if (a.status == WheelStatus::carried) use(a.pull_n, a.sinkage_m);
//
// Signs: the wheel travels along +x with y to its left. pull_n is what it can give to the vehicle
// (negative: it must be pushed); torque_n_m drives forward; slip_angle_rad = atan(vy / vx) and
// side_force_n opposes vy, so the two have opposite signs. Entry angle from the vertical, forward.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "base/solve.hpp"
#include "soil/soil.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::contact {

// What travels with an answer besides its numbers. Combined by |, read with has().
enum class Flag : std::uint32_t {
  none = 0,
  peak_stress_limit_acts = 1u << 0,   // c1 + c2 |s| > 0.8, the place of the largest stress is held at 0.8
  deep_sinkage = 1u << 1,             // z / D > 0.1: the front bulldozing left out of the model matters
  below_lug_height = 1u << 2,         // sinkage under the grouser height
  contact_shorter_than_k = 1u << 3,   // r th1 < K: the soil law loses traction on firm ground
  hard_ground_friction_used = 1u << 4,  // ... and the surface friction was used in its place
  soil_yields_before_carcass = 1u << 5,  // flexible wheel harder than the ground: see rigid_twin()
  c1_c2_assumed = 1u << 6,            // soil::kAssumedC1 and C2 were used
  braking_c1_c2_as_driving = 1u << 7,  // braking, with the driving pair because no other is known
  contact_shorter_than_wide = 1u << 8,  // contact patch shorter than the width of the depth law
  side_wall_left_out = 1u << 9,       // slip angle without density or gravity: side force is a lower bound
  locked_wheel = 1u << 10,            // s = -1: fully mobilised shear, an upper bound
  smooth_metal_governs = 1u << 11,    // the interface strength is the smaller one somewhere
  slip_sinkage_on = 1u << 12,         // computed with slip sinkage
  flexing_loss_counted = 1u << 13,    // torque contains the hysteresis of the carcass
  fully_mobilised = 1u << 14,         // shear against the sliding velocity at full strength
  rolling_radius_assumed = 1u << 15   // flexible wheel, r - f/3 (common practice, no source)
};
[[nodiscard]] constexpr Flag operator|(Flag a, Flag b) {
  return static_cast<Flag>(static_cast<std::uint32_t>(a) | static_cast<std::uint32_t>(b));
}
constexpr Flag& operator|=(Flag& a, Flag b) { return a = a | b; }
[[nodiscard]] constexpr bool has(Flag set, Flag one) {
  return (static_cast<std::uint32_t>(set) & static_cast<std::uint32_t>(one)) != 0;
}
[[nodiscard]] const char* name(Flag one);                      // of a single flag
[[nodiscard]] std::vector<std::string> sentences(Flag set);    // one plain sentence a flag, in the order above

// Where the wheel leaves the ground.
enum class ExitRule {
  as_known,  // the soil's exit ratio, else its rebound, else under the axle
  axle,      // th2 = 0
  ratio,     // th2 = -c3 th1 (Ding et al. 2011)
  rebound    // by unloading stiffness (Wong 1980)
};

// Which wheel-soil rules beyond the soil's own numbers.
struct ContactOptions {
  ExitRule exit = ExitRule::as_known;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::none;
  std::optional<double> gravity_m_s2;       // local g; needed with density for the side wall
  bool side_slip = false;                   // true: missing density or gravity is refused
  std::optional<double> belly_clearance_m;  // sinkage at which the belly touches
  std::optional<double> pressure_width_m;   // width of the depth law where it is not the contact width
};

// Load-deflection rows kept in a Contact; more are refused.
inline constexpr std::size_t kDeflectionRows = 12;

// One wheel and one soil prepared for computing. Built by make_contact only; copy freely.
struct Contact {
  double radius_m = 0;           // r, normal stress, depth and area element
  double width_m = 0;            // b of the area element
  double pressure_width_m = 0;   // b of the depth law
  double grouser_height_m = 0;
  double shearing_radius_m = 0;  // rs = r + grouser height
  double torque_radius_m = 0;    // r_e; rigid: rs; flexible: measured rolling radius, or 0 = rs - f/3
  soil::DepthLaw law;            // at pressure_width_m, without slip sinkage
  double cohesion_pa = 0;
  double tan_phi = 0;
  double shear_modulus_m = 0;    // K of the wheel
  // Mobilised share (m0 + m1 E)(1 - E) + m2 y E of the strength, y = j / K, E = exp(-y).
  double mobilised_m0 = 1, mobilised_m1 = 0, mobilised_m2 = 0;
  double interface_cohesion_pa = 0;  // blended by lug spacing; used where interface_acts
  double interface_tan = 0;
  bool interface_acts = false;
  double c1 = 0, c2 = 0, c1_braking = 0, c2_braking = 0;
  double exit_ratio = 0;             // th2 = -exit_ratio th1 where rebound is absent
  bool rebounds = false;
  double rebound_k0_pa_per_m = 0, rebound_au_pa_per_m2 = 0;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::none;
  double slip_exponent = 0;          // n1
  double unit_weight_n_m3 = 0;       // rho g; 0: unknown
  double surface_friction = -1;      // mu_g; negative: unknown (kept plain so that Contact stays small)
  double largest_sinkage_m = 0;      // to the axle height or the belly
  bool belly_limits = false;
  bool flexible = false;
  double stiffness_n_per_m = 0;      // 0: by table
  std::size_t deflection_rows = 0;
  std::array<double, kDeflectionRows> deflection_load_n{};
  std::array<double, kDeflectionRows> deflection_m{};
  double hysteresis_share = 0;
  Flag notes = Flag::none;           // known before any load: c1_c2_assumed and the like
};

// Appends a refusal for each thing that is missing or impossible (K, bearing, modulus not positive at
// this width, density and gravity where asked for, a slip rule without its number ...); then nothing.
// The soil and the wheel must have passed soil::check_soil and vehicle::check_vehicle.
[[nodiscard]] std::optional<Contact> make_contact(const vehicle::Wheel& wheel, const soil::Soil& soil,
                                                  const ContactOptions& options, const base::Place& place,
                                                  base::Problems& problems);
// The same wheel without its flexibility, for the answer beside Flag::soil_yields_before_carcass.
[[nodiscard]] Contact rigid_twin(const Contact& contact);
// A lugged wheel whose lugs are packed with soil: a smooth wheel at the outer radius. Nothing when
// it has no lugs.
[[nodiscard]] std::optional<vehicle::Wheel> packed_wheel(const vehicle::Wheel& wheel);

enum class WheelStatus {
  carried,                   // the load is carried; every number stands
  traction_lost_hard_ground,  // carried, but r th1 < K / 10 and no surface friction is known: pull, torque and
                              // side force say nothing (they are still the soil law's)
  bogs_down,                 // the largest load reached is below the demand, down to the axle height
  belly_contact,             // the belly touches first
  beyond_deflection_table,   // the load-deflection rows end below this load, or the wheel is flat
  not_converged              // see solve
};
[[nodiscard]] const char* name(WheelStatus status);

inline constexpr double kNoNumber = std::numeric_limits<double>::quiet_NaN();

// Forces are NaN unless the status is carried or traction_lost_hard_ground.
struct WheelAnswer {
  WheelStatus status = WheelStatus::not_converged;
  base::SolveReport solve;             // residual of the load [N]
  double slip_ratio = kNoNumber;
  double slip_angle_rad = kNoNumber;
  double load_n = kNoNumber;           // asked (wheel_at_load) or carried (wheel_at_entry_angle)
  double pull_n = kNoNumber;           // DP
  double torque_n_m = kNoNumber;       // T, with the flexing loss
  double side_force_n = kNoNumber;     // Fy on the wheel, y to the left
  double sinkage_m = kNoNumber;        // z0
  double entry_angle_rad = kNoNumber;  // th1; of the substitute circle where flexible
  double exit_angle_rad = kNoNumber;   // th2 <= 0
  double peak_stress_angle_rad = kNoNumber;  // thm
  double radius_used_m = kNoNumber;    // r, or r* of the substitute circle
  double torque_radius_m = kNoNumber;  // r_e: slip and torque arm refer to it
  double deflection_m = 0;             // f
  double contact_length_m = kNoNumber;  // horizontal, entry to exit
  double ground_pressure_pa = kNoNumber;  // load / (width x contact length)
  double max_normal_stress_pa = kNoNumber;
  double max_shear_travel_m = kNoNumber;  // largest j; infinite for a locked wheel
  double flexing_resistance_n = 0;     // R_f
  double largest_load_n = kNoNumber;   // when bogged down or on the belly: largest load reached ...
  double sinkage_at_largest_load_m = kNoNumber;  // ... and there
  Flag flags = Flag::none;

  [[nodiscard]] bool carried() const {
    return status == WheelStatus::carried || status == WheelStatus::traction_lost_hard_ground;
  }
};

enum class SimdTarget { plain, best };
[[nodiscard]] const char* simd_target_name(SimdTarget target);  // "plain", "AVX2", "AVX-512"

// Entry angle in (0, pi/2] of the wheel as if it were rigid, 1 - cos th1 = z0 / r (for a flexible wheel
// that names the sinkage; the answer has the substitute circle's). Load is found, not asked.
[[nodiscard]] WheelAnswer wheel_at_entry_angle(const Contact& contact, double entry_angle_rad, double slip_ratio,
                                               double slip_angle_rad = 0);

// The smallest sinkage at which the load curve rises through load_n > 0. guess_entry_angle_rad as in
// wheel_at_entry_angle, 0: cold start; a poor guess costs time, never the answer.
[[nodiscard]] WheelAnswer wheel_at_load(const Contact& contact, double load_n, double slip_ratio,
                                        double slip_angle_rad = 0, double guess_entry_angle_rad = 0);

// Wheel centre velocity (vx forward, vy left) and wheel speed in any combination, shear fully mobilised
// against the sliding velocity: for turning against the travel, spinning in place, sliding sideways. Guess as in
// wheel_at_load; target best looks at many angles at once, to the same accuracy.
[[nodiscard]] WheelAnswer wheel_at_velocities(const Contact& contact, double load_n, double forward_m_s,
                                              double left_m_s, double wheel_rad_s, double guess_entry_angle_rad = 0,
                                              SimdTarget target = SimdTarget::plain);

// With slip sinkage and without, the one with the lower pull leading.
struct WheelPair {
  WheelAnswer lead;
  WheelAnswer beside;
};
[[nodiscard]] WheelPair wheel_with_and_without_slip_sinkage(const Contact& contact, double load_n,
                                                            double slip_ratio, double slip_angle_rad = 0);

// Many wheels at once. plain: one after another with wheel_at_load; best: the widest vectors this
// processor has (simd_target_name), same answers within 1e-9 and the same for every batch size and
// order. guess_entry_angle_rad may be empty (cold) or hold one number a wheel (0: cold).
void wheels_at_load(std::span<const Contact> contacts, std::span<const double> load_n,
                    std::span<const double> slip_ratio, std::span<const double> slip_angle_rad,
                    std::span<const double> guess_entry_angle_rad, std::span<WheelAnswer> out, SimdTarget target);

// Side force and resistance of the soil pushed up ahead of a deep wheel (z/D over 0.1), which the
// model leaves out: an estimate to print beside, never added. After Hegedus 1960 (from memory).
struct Bulldozing {
  double resistance_n = kNoNumber;
  bool counts = false;  // z / D > 0.1
};
// Nothing when density or gravity is unknown.
[[nodiscard]] std::optional<Bulldozing> front_bulldozing(const Contact& contact, const WheelAnswer& answer);

}  // namespace hardpan::contact
