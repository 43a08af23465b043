// SPDX-License-Identifier: Apache-2.0
// A vehicle as tested: a chain of rigid bodies, joined end to end, on any number of axles.
//
// Axes: x forward, y left, z up (ISO 8855); the origin is the ground point under the rearmost axle, the vehicle standing straight on
// hard level ground, for all its bodies. Build it from a file, then call check_vehicle: what passed is not checked again.
// Weights are forces, m g with the local g.
//
//   Vehicle v; v.bodies = {{.mass_kg = 420, .cg_x_m = 0.62, .cg_z_m = 0.55}};
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
  std::optional<double> inflation_pa;               // cold, as recorded; not computed with
  std::optional<double> inflation_hot_pa;           // after running, likewise
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
  std::optional<double> loaded_radius_m;   // as tested: axle height over hard ground under the standing load; checked against radius less deflection
};

struct Drive {
  bool driven = true;
  std::optional<double> peak_torque_n_m;        // per wheel
  std::optional<double> continuous_torque_n_m;  // per wheel
  std::optional<double> peak_time_s;            // how long the peak torque is held from cold; or
  std::optional<double> thermal_time_s;         // the time constant of the motor's warming
  std::optional<double> peak_power_w;           // per wheel
  std::optional<double> max_speed_rad_per_s;
  double efficiency = 1;                        // battery to axle, (0, 1]
  double regeneration = 0;                      // share of braking work returned, [0, 1]
  bool brake = true;
};

// Losses warm a motor with the square of its torque and one time constant: t = -tau ln(1 - (Tc / T)^2) from cold at torque T over
// the continuous torque Tc. tau as stated, or from the time the peak torque is held; nothing without either, or without Tc.
[[nodiscard]] std::optional<double> thermal_time_s(const Drive& drive);
// How long a torque is held from cold [s]: infinite up to the continuous torque, 0 above the peak; nothing where not known.
[[nodiscard]] std::optional<double> torque_time_s(const Drive& drive, double torque_n_m);

struct Axle {
  std::string name;
  std::size_t body = 0;          // it belongs to, by place in Vehicle::bodies
  double position_x_m = 0;       // from the rearmost axle, forward
  double track_width_m = 0;      // between wheel centre planes
  int wheels = 2;
  Wheel wheel;
  Drive drive;
  std::optional<double> suspension_n_per_m;  // per wheel, vertical
};

struct UnderbodyPoint {          // lowest outline of a body in side view
  double x_m = 0, z_m = 0;
};

struct Body {
  std::string name;
  double mass_kg = 0;            // with everything that is not payload
  double cg_x_m = 0;             // ahead of the rearmost axle of the vehicle
  double cg_y_m = 0;             // left of the centre plane
  double cg_z_m = 0;             // above the hard ground plane
  std::optional<double> cg_x_sd_m, cg_y_sd_m, cg_z_sd_m;  // how well the place is known: one standard deviation; absent: not stated
  std::optional<double> clearance_m;  // lowest underbody point above the ground plane
  std::vector<UnderbodyPoint> underbody;  // x rising; empty: level at the clearance between the body's first and last axle
  std::optional<double> pitch_inertia_kg_m2;  // about the centre of gravity, an estimate
};

// How a joint turns about one axis: not at all, free, or against a spring; between stops where it has them. Angles are of the body ahead
// against the body behind: pitch nose up positive, roll left side up positive, yaw left positive.
enum class Freedom { rigid, free, elastic };
[[nodiscard]] const char* name(Freedom freedom);
struct JointAxis {
  Freedom freedom = Freedom::rigid;
  double stiffness_n_m_per_rad = 0;          // elastic only; no moment standing straight
  std::optional<double> lowest_rad, highest_rad;  // stops; below 0 and above 0
};
// Between bodies[k] and bodies[k + 1] for joints[k].
struct Joint {
  double x_m = 0;                // ahead of the rearmost axle
  double z_m = 0;                // above the hard ground plane
  JointAxis pitch, roll, yaw;
};

struct Span {                    // allowed places along one axis
  double lo_m = 0, hi_m = 0;
};

struct Payload {                 // also batteries; added masses with positions
  std::string name;
  double mass_kg = 0;
  double x_m = 0, y_m = 0, z_m = 0;
  std::size_t body = 0;          // it rides on
  std::optional<Span> x_allowed, y_allowed, z_allowed;  // movable within; absent: fixed there
};

struct Hitch {
  double x_m = 0;                // negative: behind the rearmost axle
  double height_m = 0;
};

enum class Side { both, left, right };

struct ScaleWeight {             // one scale reading
  std::string axle;              // axle name
  double load_n = 0;             // on the whole axle, or on the wheels of one side of it
  bool with_payload = true;
  Side side = Side::both;
};

// Weighed with one axle raised: the load that moves to the other tells the height of the centre of gravity. Two axles, one body.
struct TiltedWeighing {
  std::string raised_axle;
  double raised_m = 0;           // its wheels stand this much higher than the others
  double other_load_n = 0;       // on the axle left on the scale
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
  std::vector<Body> bodies{1};   // rearmost first
  std::vector<Joint> joints;     // one fewer than bodies
  std::vector<Payload> payload;
  std::vector<Axle> axles;       // rearmost first
  std::optional<Hitch> hitch;
  DriveControl control = DriveControl::common_speed;
  std::optional<double> battery_j;       // usable energy
  double idle_power_w = 0;
  std::vector<ScaleWeight> scales;
  std::optional<TiltedWeighing> tilted;
  std::optional<double> working_slip;    // declared working slip; 0.2 where absent, and said so
  Steering steering;
};

// Mass and centre of gravity of all bodies and payload together, standing straight; the least of their clearances.
[[nodiscard]] Body loaded_body(const Vehicle& vehicle);
// One body with what rides on it.
[[nodiscard]] Body loaded_body(const Vehicle& vehicle, std::size_t body);
// Whether any joint lets one body pitch (roll) against the next.
[[nodiscard]] bool pitches_within(const Vehicle& vehicle);
[[nodiscard]] bool rolls_within(const Vehicle& vehicle);
// Lowest outline of a body: its points, or a level line at its clearance from the first to the last of its axles; empty without either.
[[nodiscard]] std::vector<UnderbodyPoint> underbody(const Vehicle& vehicle, std::size_t body);
[[nodiscard]] double mass_kg(const Vehicle& vehicle);
[[nodiscard]] double wheelbase_m(const Vehicle& vehicle);  // first to last axle
[[nodiscard]] int wheel_count(const Vehicle& vehicle);
// Load on each AXLE [N] standing level and straight on hard ground: by moments where they settle it, else by equal wheel
// stiffness (least potential energy of wheels and elastic joints, chain.hpp); never negative. Needs a vehicle that check_vehicle
// accepts in its masses and axles; rests on its stops where joints are free beyond what its axles hold.
[[nodiscard]] std::vector<double> level_axle_loads_n(const Vehicle& vehicle, double gravity_m_s2);
// Height of the centre of gravity over the ground [m] that the tilted weighing tells, the wheels rigid: r + (F - F0) L / (W tan a), F and F0 the
// other axle's load raised and level (from the file), sin a = raised / L. Nothing without such a weighing.
[[nodiscard]] std::optional<double> tilted_cg_height_m(const Vehicle& vehicle, double gravity_m_s2);
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
// wheels, joints that let it fall down, overlapping wheels, axle pressed to the ground plane, zero torque, negative stiffness,
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
