// SPDX-License-Identifier: Apache-2.0
// A vehicle as tested: one rigid body on any number of axles (joints between bodies come later).
//
// Axes: x forward, y left, z up (ISO 8855); the origin is the ground point under the rearmost axle on
// hard level ground. Build it from a file, then call check_vehicle: what passed is not checked again.
// Weights are forces, m g with the local g.
//
//   Vehicle v; v.body = {.mass_kg = 420, .cg_x_m = 0.62, .cg_z_m = 0.55};
//   v.axles = {rear, front};   // rearmost first, position_x_m rising from 0
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::vehicle {

// In which condition slip was called zero when the rolling radius was found.
enum class ZeroSlip { towed_hard, self_propelled_hard, towed_soil, self_propelled_soil, not_stated };
[[nodiscard]] const char* name(ZeroSlip condition);

// Radial flexibility of a tyre or spring wheel; absent means rigid.
struct Flex {
  std::optional<double> stiffness_n_per_m;          // linear radial stiffness, or
  std::vector<std::pair<double, double>> load_deflection;  // (N, m), rising from (0, 0)
  std::optional<double> inflation_pa;               // as recorded; not computed with
  double hysteresis_share = 0;                      // eta in [0, 1): share of the deflection work lost
};
// Deflection [m] under a load [N], linear between table rows; nothing beyond the table's end.
[[nodiscard]] std::optional<double> deflection_m(const Flex& flex, double load_n);

struct Wheel {
  double radius_m = 0;           // rim or unloaded tyre radius, without grousers
  double width_m = 0;
  double grouser_height_m = 0;
  int grouser_count = 0;
  std::optional<Flex> flex;
  std::optional<double> rolling_radius_m;  // measured; else radius - deflection/3 (common practice, no source)
  ZeroSlip rolling_radius_condition = ZeroSlip::not_stated;
  std::optional<double> contact_width_m;   // where it differs from width_m
};

struct Drive {
  bool driven = true;
  std::optional<double> peak_torque_n_m;        // per wheel
  std::optional<double> continuous_torque_n_m;  // per wheel
  std::optional<double> peak_power_w;           // per wheel
  std::optional<double> max_speed_rad_per_s;
  double efficiency = 1;                        // battery to axle, (0, 1]
  double regeneration = 0;                      // share of braking work returned, [0, 1]
  bool brake = true;
};

struct Axle {
  std::string name;
  double position_x_m = 0;       // from the rearmost axle, forward
  double track_width_m = 0;      // between wheel centre planes
  int wheels = 2;
  Wheel wheel;
  Drive drive;
  std::optional<double> suspension_n_per_m;  // per wheel, vertical
};

struct Body {
  double mass_kg = 0;            // with everything that is not payload
  double cg_x_m = 0;             // ahead of the rearmost axle
  double cg_y_m = 0;             // left of the centre plane
  double cg_z_m = 0;             // above the hard ground plane
  std::optional<double> clearance_m;  // lowest underbody point above the ground plane
};

struct Payload {                 // also batteries; added masses with positions
  std::string name;
  double mass_kg = 0;
  double x_m = 0, y_m = 0, z_m = 0;
};

struct Hitch {
  double x_m = 0;                // negative: behind the rearmost axle
  double height_m = 0;
};

struct ScaleWeight {             // one scale reading
  std::string axle;              // axle name
  double load_n = 0;             // on the whole axle
  bool with_payload = true;
};

// How it turns. skid: no wheel turns about an upright axis, left and right run at different speeds. ackermann: the steered
// wheels point square to one turning centre. crab: all wheels keep one angle, the vehicle travels at it without turning.
// frame: two halves bend about an upright joint, no wheel turns against its half.
enum class SteeringKind { skid, ackermann, crab, frame };
[[nodiscard]] const char* name(SteeringKind kind);

struct Steering {
  SteeringKind kind = SteeringKind::skid;
  double largest_angle_rad = 0;            // of the most turned wheel, or between the halves; none for skid
  std::vector<std::string> steered_axles;  // ackermann: by name
  std::optional<double> pivot_width_m;     // between the upright axes of left and right wheel; absent: in the wheels' centre planes
  std::optional<double> joint_x_m;         // frame: ahead of the rearmost axle
};

// Wheels at one angular speed (speed control or locked drive line) or sharing torque equally.
enum class DriveControl { common_speed, shared_torque };

struct Vehicle {
  std::string id;
  std::string name;
  Body body;
  std::vector<Payload> payload;
  std::vector<Axle> axles;       // rearmost first
  std::optional<Hitch> hitch;
  DriveControl control = DriveControl::common_speed;
  std::optional<double> battery_j;       // usable energy
  double idle_power_w = 0;
  std::vector<ScaleWeight> scales;
  std::optional<double> working_slip;    // declared working slip; 0.2 where absent, and said so
  Steering steering;
};

// Mass and centre of gravity of body and payload together.
[[nodiscard]] Body loaded_body(const Vehicle& vehicle);
[[nodiscard]] double mass_kg(const Vehicle& vehicle);
[[nodiscard]] double wheelbase_m(const Vehicle& vehicle);  // first to last axle
[[nodiscard]] int wheel_count(const Vehicle& vehicle);
// Load on each AXLE [N] standing level on hard ground, by moments for two axles and by equal wheel
// stiffness beyond two (least potential energy); never negative. Needs a vehicle that check_vehicle
// accepts in its masses and axles.
[[nodiscard]] std::vector<double> level_axle_loads_n(const Vehicle& vehicle, double gravity_m_s2);
// Lateral places of an axle's wheel centre planes, left (positive) to right, spread evenly over the
// track width; one wheel stands on the centre plane.
[[nodiscard]] std::vector<double> wheel_offsets_m(const Axle& axle);
// The shearing radius: rim radius plus grouser height (smooth wheels and tyres have none).
[[nodiscard]] double shearing_radius_m(const Wheel& wheel);
// Measured rolling radius, else radius - deflection/3 (common practice, no source), else the shearing
// radius of a rigid wheel. Nothing where the deflection under this load is not known.
[[nodiscard]] std::optional<double> rolling_radius_m(const Wheel& wheel, double load_n);

// On firm ground: contact length 2 sqrt(D f - f^2) of a flattened circle of diameter D under the
// deflection f, and mean pressure W / (b L) on the contact width b. Length 0 for a rigid wheel;
// nothing where the deflection is unknown or reaches the axle, or where a pressure has no area.
[[nodiscard]] std::optional<double> firm_contact_length_m(const Wheel& wheel, double load_n);
[[nodiscard]] std::optional<double> firm_ground_pressure_pa(const Wheel& wheel, double load_n);

// Refusals for impossible vehicles (fewer than two axles, negative mass, centre of gravity outside the
// wheels, overlapping wheels, axle pressed to the ground plane, zero torque, negative stiffness,
// efficiency over 1, ...); remarks for odd ones. Keys in the refusals count from 1 and carry no unit:
// "axle[1].wheel.radius" is the radius on the rearmost axle.
// Scale weights more than 3 % off the file are refused: axle by axle on two axles; beyond two, where
// the split depends on springs the file does not know, by their sum (3 % of the weight) and by the
// centre of gravity they give (3 % of the wheelbase), and a single axle off is a remark.
void check_vehicle(const Vehicle& vehicle, double gravity_m_s2, const base::Place& place,
                   base::Problems& problems);

// The part of it that a single wheel needs, for a wheel without a vehicle. Keys "radius", "flex.load_deflection[2]" after the place's own.
void check_wheel(const Wheel& wheel, const base::Place& place, base::Problems& problems);

}  // namespace hardpan::vehicle
