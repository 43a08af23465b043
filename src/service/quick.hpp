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
  std::optional<double> gravity_m_s2;             // with density: side wall of a wheel at a slip angle, front bulldozing
  std::optional<double> belly_clearance_m;        // sinkage at which the belly touches
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  std::vector<double> slips;                      // not empty: a table over these instead of one slip
};

struct WheelLine {
  contact::WheelAnswer without, with;             // without and with slip sinkage
  std::optional<double> front_bulldozing_n;       // of the one that leads: estimate beside, at z/D over 0.1
  [[nodiscard]] bool with_leads() const;          // the lower pull; a wheel that is not carried pulls least
  [[nodiscard]] const contact::WheelAnswer& lead() const { return with_leads() ? with : without; }
  [[nodiscard]] const contact::WheelAnswer& beside() const { return with_leads() ? without : with; }
};
struct WheelResult {
  soil::NamedSoil soil;
  std::vector<WheelLine> lines;                   // grousers clean
  std::vector<WheelLine> packed;                  // the same slips with grousers packed with soil; empty without grousers
  base::Problems remarks;
  std::string kilonewton_doubt;                   // not empty: a modulus was given that looks typed in kN
  std::string bulldozing_lacks;                   // not empty: a wheel sinks deep and the estimate beside needs this
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
  std::optional<double> needed_rad;               // of the gradient at the working slip, for its margin
};
// Wheels that sink over a tenth of their diameter: the soil they push up ahead is not in the model.
struct DeepWheels {
  std::string at;                                 // "at the working slip"
  int wheels = 0, of_wheels = 0;
  std::optional<double> bulldozing_n;             // estimate of their resistance together; nothing without a density
  double weight_share_ratio = 0;                  // of that, over the weight
};
// Whether the ground itself lies still on a slope: a sheet of it, dry, without a vehicle.
struct SlopeStand {
  std::string at;                                 // "asked" or "largest over slip"
  double slope_rad = 0;                           // above 0, uphill or downhill alike
  bool steeper_than_friction = false;             // only then any sheet can slide
  bool no_steady_climb = false;                   // no cohesion, and the slope is the angle of friction or steeper
  bool computed = false;                          // false: cohesion counts, and the density is not known
  struct Sheet {
    double vertical_depth_m = 0, safety_factor_ratio = 0;
  };
  std::vector<Sheet> sheets;                      // one, of any depth, where there is no cohesion
  std::optional<double> critical_depth_m;         // vertical: deeper sheets slide
};
struct ClimbResult {
  soil::NamedSoil soil;
  vehicle::Vehicle vehicle;
  base::Problems remarks;
  std::string kilonewton_doubt;                   // as in WheelResult
  double working_slip = 0.2;
  performance::Gradient at_20, at_working, at_maximum, descent;
  struct Packed {
    performance::Gradient at_working, at_maximum;
  };
  std::optional<Packed> packed;                   // grousers packed with soil; nothing without grousers
  double towed_resistance = 0;
  std::optional<performance::Travel> travel;
  std::vector<DeepWheels> deep;                   // at the working slip, largest over slip, on the gradient asked: where there are any
  double friction_rad = 0;
  bool cohesionless = false;
  std::vector<SlopeStand> slopes;                 // on the gradient asked and on the largest climbed
  std::vector<performance::SanityValue> sanity;   // at the working slip on the level
  // Of the gradient at the working slip over what is needed; nothing where nothing is needed or the vehicle climbs none.
  [[nodiscard]] std::optional<double> margin_rad(const ClimbRequest& request) const;
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

[[nodiscard]] io::Json soils_json();  // the built-in table
[[nodiscard]] io::Json wheel_json(const WheelRequest& request, const WheelResult& result);
[[nodiscard]] io::Json climb_json(const ClimbRequest& request, const ClimbResult& result);
[[nodiscard]] io::Json gravity_json(const GravityRequest& request, const GravityResult& result);

}  // namespace hardpan::service
