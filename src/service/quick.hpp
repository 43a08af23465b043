// SPDX-License-Identifier: Apache-2.0
// Quick answers without a campaign: one wheel, one vehicle on one soil, gravity transfer.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "contact/wheel_soil.hpp"
#include "io/json.hpp"
#include "performance/sanity.hpp"
#include "performance/travel.hpp"
#include "soil/soil.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::service {

// A soil by id of the built-in table or by path of a soil file; values given here replace its own.
struct SoilRequest {
  std::string soil;                               // "dry_sand_lll" or "marsh.toml"
  std::optional<double> shear_modulus_m;          // K: the table mostly has none
  std::optional<double> n, kc, kphi, cohesion_pa, friction_rad, density_kg_m3;
  std::optional<double> c1, c2, c1_braking, c2_braking, exit_ratio, slip_exponent, surface_friction;
  std::optional<double> reload_k0_pa_per_m, reload_au_pa_per_m2, adhesion_pa, interface_friction_rad;
};

[[nodiscard]] const std::vector<soil::NamedSoil>& known_soils();  // the built-in table

struct WheelRequest {
  SoilRequest soil;
  vehicle::Wheel wheel;
  double load_n = 0;
  double slip_ratio = 0.2;
  double slip_angle_rad = 0;
  std::optional<double> gravity_m_s2;             // with density: side wall of a wheel at a slip angle
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  std::vector<double> slips;                      // not empty: a table over these instead of one slip
};

struct WheelLine {
  contact::WheelAnswer without, with;             // without and with slip sinkage
  [[nodiscard]] const contact::WheelAnswer& lead() const;  // the lower pull
};
struct WheelResult {
  soil::NamedSoil soil;
  std::vector<WheelLine> lines;
  std::string kilonewton_doubt;                   // not empty: a modulus was given that looks typed in kN
  std::optional<double> front_bulldozing_n;       // estimate beside, at z/D over 0.1
  std::optional<contact::WheelAnswer> rigid;      // the same wheel without its flexibility, where the ground yields first
  std::vector<performance::SanityValue> sanity;   // beside the first line
};
// Throws InputError with everything that is missing or impossible.
[[nodiscard]] WheelResult wheel(const WheelRequest& request);

struct ClimbRequest {
  SoilRequest soil;
  std::string vehicle_file;                       // or, without a file, the plain numbers below
  std::optional<vehicle::Vehicle> vehicle;
  std::optional<double> gravity_m_s2;             // required
  std::optional<double> slip_ratio;               // working slip; that of the vehicle or 0.2
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  std::optional<double> gradient_rad;             // not absent: travel on this gradient as well
};
struct ClimbResult {
  soil::NamedSoil soil;
  vehicle::Vehicle vehicle;
  std::string kilonewton_doubt;                   // as in WheelResult
  double working_slip = 0.2;
  performance::Gradient at_20, at_working, at_maximum, descent;
  double towed_resistance = 0;
  std::optional<performance::Travel> travel;
  std::vector<performance::SanityValue> sanity;   // at the working slip on the level
};
[[nodiscard]] ClimbResult climb(const ClimbRequest& request);

struct GravityRequest {
  double mass_kg = 0;                             // of the vehicle tested at `from`
  double from_m_s2 = 0, to_m_s2 = 0;
  std::optional<double> target_mass_kg;           // true mass of the vehicle meant for `to`
  double length_ratio = 1, mass_ratio = 1;        // r and s of granular scaling
};
struct GravityResult {
  double weight_n = 0;                            // of the tested vehicle
  double equal_weight_mass_kg = 0;                // weighs the same at `to`
  double payload_kg = 0;                          // room for payload with equal weight
  std::optional<double> test_mass_kg;             // to be tested at `from` to stand for target_mass
  double speed_ratio = 0, rotation_ratio = 0, time_ratio = 0, force_ratio = 0, torque_ratio = 0, power_ratio = 0, width_ratio = 0;
};
[[nodiscard]] GravityResult gravity(const GravityRequest& request);

[[nodiscard]] io::Json wheel_json(const WheelRequest& request, const WheelResult& result);
[[nodiscard]] io::Json climb_json(const ClimbResult& result);
[[nodiscard]] io::Json gravity_json(const GravityRequest& request, const GravityResult& result);

}  // namespace hardpan::service
