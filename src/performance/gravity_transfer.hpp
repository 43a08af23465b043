// SPDX-License-Identifier: Apache-2.0
// What tests at one gravity say about a vehicle at another: the ground there, the same vehicle with its true mass, and how far an equal-weight
// test flatters it.
//
// An equal-weight test puts the wheel loads of the target on the ground of the test site. Where the ground's stiffness comes from its own
// weight (gamma b k2 of Reece, part of Bekker's kphi) it falls with gravity, so the target's ground yields more under the same load: in frictional
// ground the test shows too little sinkage and resistance and too steep a largest gradient. At small slips the sign can turn: the deeper wheel has the
// longer contact, and where that is short against K the longer one shears more. Four states are computed, each a curve over slip: see
// GravityTrial. docs/theory/gravity.md.
// Range: gravities in [1e-3, 100] m/s^2. Friction angle, shear modulus K, exponent and cohesion are held as measured; c1, c2 too: what grains do
// between two gravities beyond that is an open question (theory page). For ratios alone use granular_scaling.
//
//   const GravityChange change{.from_m_s2 = 9.81, .to_m_s2 = 1.62};
//   const auto there = soil_at_gravity(soil, change, {}, place, problems);
//   const auto t = gravity_transfer(vehicle, soil, {.change = change}, place, problems);
//   use(t->of(GravityTrial::target), t->of(GravityTrial::equal_weight_test), t->lines);
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "performance/travel.hpp"

namespace hardpan::performance {

struct GravityChange {
  double from_m_s2 = 0, to_m_s2 = 0;
  [[nodiscard]] double ratio() const { return to_m_s2 / from_m_s2; }
};

// What is known of how much of the ground's frictional stiffness comes from its own weight.
enum class SelfWeight {
  by_relation,   // Reece: the whole of gamma k2, by the relation itself
  stated_share,  // assumed by the user: a share of kphi (Bekker) or k (single plate)
  unknown,       // Bekker or single plate without a stated share: held as measured, and said so
  none           // organic mat: carried by its own strength
};
[[nodiscard]] const char* name(SelfWeight known);

struct SoilElsewhere {
  soil::Soil soil;
  SelfWeight known = SelfWeight::unknown;
  double frictional_modulus_ratio = 1;      // there over here, of the modulus that scales
};
// The soil at the other gravity. share_of_kphi in [0, 1] for Bekker and single plate; refused for the others, which have no use for one.
// Nothing where a gravity is out of range or the soil has no bearing. Whether the modulus is still positive at a wheel's width is on_soil's question.
[[nodiscard]] std::optional<SoilElsewhere> soil_at_gravity(const soil::Soil& soil, const GravityChange& change, std::optional<double> share_of_kphi,
                                                           const base::Place& place, base::Problems& problems);

enum class GravityTrial {
  as_tested,           // the vehicle of the file where the tests were made
  equal_weight_test,   // the target's weight on the ground of the tests: what an equal-weight test shows
  target,              // the target's true mass on the target's ground
  target_equal_weight  // on the target's ground, so heavy that it weighs what the vehicle of the file weighs where it was tested
};
inline constexpr std::size_t kGravityTrials = 4;
[[nodiscard]] const char* name(GravityTrial trial);

struct TransferPoint {
  double slip_ratio = 0;
  StateStatus status = StateStatus::not_converged;   // of the level state
  double pull_coefficient = 0;                       // P / W on the level; NaN unless balanced
  double sinkage_m = 0;                              // deepest wheel on the level; NaN unless balanced
  double gradient_rad = 0;                           // climbed freely at this slip; kNoGradient where none is found
  base::SolveReport solve;                           // of the level state
};
struct TransferCurve {
  GravityTrial trial = GravityTrial::as_tested;
  double mass_kg = 0, weight_n = 0;
  double gravity_m_s2 = 0;                           // under which mass and ground stand
  std::vector<TransferPoint> points;                 // over the slips asked
  Gradient at_working, at_maximum;
  double towed_resistance = 0;                       // coefficient; NaN where an axle bogs down
  double cohesion_share = 0;                         // of the shear strength under the wheels at the working slip, c A / (c A + W tan phi); NaN: not balanced
};

// One row of what carries over from the vehicle as tested to the same weight, and to the true mass, at the target.
struct TransferLine {
  std::string quantity, unit;                        // SI
  double as_tested = 0, equal_weight = 0, target = 0;
  bool carries_over = false;                         // from an equal-weight test
  std::string why;
};

struct TransferQuestion {
  GravityChange change;
  std::optional<double> target_mass_kg;              // true mass at the target; the file's own where absent
  std::optional<double> share_of_kphi;               // see soil_at_gravity
  std::optional<double> payload_height_m;            // of the mass added for equal weight, above hard ground; absent: centre of gravity held, and said so
  std::vector<double> slips{0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6};
  double working_slip = 0.2;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
};
struct GravityTransfer {
  std::array<TransferCurve, kGravityTrials> curves;
  SoilElsewhere there;
  std::vector<TransferLine> lines;
  double equal_weight_mass_kg = 0;                   // at the target, weighs what the file's vehicle weighs here
  double payload_kg = 0;                             // of that, beyond the file's mass: negative where gravity rises
  double test_mass_kg = 0;                           // to be tested here to stand for the true mass there
  std::optional<double> cg_height_with_payload_m;
  // Gradients, equal-weight test less target [rad]: above 0, the test is optimistic. NaN where either has no answer.
  double optimism_at_working_rad = 0, optimism_at_maximum_rad = 0;

  [[nodiscard]] const TransferCurve& of(GravityTrial trial) const { return curves[static_cast<std::size_t>(trial)]; }
};
// Refusals: impossible gravities, masses, slips outside (0, 0.95], and whatever on_soil refuses.
[[nodiscard]] std::optional<GravityTransfer> gravity_transfer(const vehicle::Vehicle& vehicle, const soil::Soil& soil, const TransferQuestion& question,
                                                              const base::Place& place, base::Problems& problems);

// The same vehicle on the same soil under another weight [N], spread over its bodies as before, their centres of gravity held.
[[nodiscard]] OnSoil with_weight(OnSoil on, double weight_n);

// Granular scaling (Slonaker et al. 2017) for lengths r, masses s and gravity q, target over test: cohesionless soil, same grains. A cohesion would
// have to scale with q r, the shear modulus K with r, and contact, not inertia, must rule (slow wheels).
struct GranularScaling {
  double speed = 1, rotation = 1, time = 1, force = 1, torque = 1, power = 1, width = 1, sinkage = 1, slip = 1;
  double cohesion = 1, shear_modulus = 1;            // what these would have to be multiplied by for the scaling to hold
};
[[nodiscard]] GranularScaling granular_scaling(double gravity_ratio, double length_ratio, double mass_ratio);

}  // namespace hardpan::performance
