// SPDX-License-Identifier: Apache-2.0
// How fast rough ground may be driven before wheels leave it, a shock bound is passed, or a ride bound is passed.
//
// The vehicle in side view is a body that heaves and pitches on its axles: tyre or spring wheel and suspension in series, linear, about the load at
// rest; an axle without either is rigid and follows the ground. Bodies that joints let pitch against each other are parts of their own, which joints hold together up and down
// and along (wheels roll freely) and elastic ones in pitch; a joint that rests on its stop is rigid. Ground is a sine wave, a spectrum by class, or a profile through its own spectrum
// (ground_spectrum.hpp). Wheels lose contact where the varying part of an axle's load reaches its load at rest: on a rigid vehicle
// whose axles do not disturb each other that is v = (lambda / 2 pi) sqrt(g / A). docs/theory/roughness.md.
// The power a seated person takes up is a bound of its own (absorbed_w_s4_per_m2).
// Left out: roll, soil that yields, wheels that bridge troughs narrower than themselves (bridges_troughs), bump stops, everything after contact is lost. An upper
// bound for calm driving, no permission. Accuracy: responses to rounding; speeds to 1e-6 of themselves at a crossing found on a grid of 0.4 %
// (waves) or 5 % (spectra, whose mean squares change slowly).
//
//   const auto v = make_ride_vehicle(vehicle, 9.81, {}, place, problems);
//   const RideAnswer a = ride_on(*v, Wave{.length_m = 4, .amplitude_m = 0.1}, {.shock_m_s2 = 5});
//   if (a.limit()) say(name(a.limit()->kind), *a.limit()->speed_m_s);
#pragma once

#include <complex>
#include <optional>
#include <variant>
#include <vector>

#include "base/problems.hpp"
#include "base/solve.hpp"
#include "performance/ground_spectrum.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

inline constexpr double kSpringDampingRatio = 0.2;   // with a suspension; common practice, no source
inline constexpr double kWheelDampingRatio = 0.05;   // of a tyre or spring wheel alone; common practice, no source

struct RideSettings {
  std::optional<double> damping_ratio;        // of each axle's share of the mass on its springs, [0.005, 2]; absent: the two above
  // Radius of gyration of one body; absent, and of several always: from the inertia the file states, else sqrt(l_front l_rear) to the outermost axles and joints, with which front and rear do not
  // disturb each other, of a part of a chain no less than that of an even bar between them (common practice, no source).
  std::optional<double> pitch_radius_m;
  double wheel_mass_kg = 0;                   // of one wheel and what moves with it; 0: wheels without mass, and heavy wheels leave the ground earlier
};

struct RideAxle {
  double x_m = 0;                             // ahead of the centre of gravity of the vehicle
  std::size_t part = 0;
  double load_n = 0;                          // at rest on the level
  double wheel_n_per_m = 0, spring_n_per_m = 0;  // of the axle; infinite where rigid
  double wheel_n_s_per_m = 0, spring_n_s_per_m = 0;
  double damping_ratio = 0;                   // used; 0 where rigid
  double wheel_mass_kg = 0;                   // of the axle
  double radius_m = 0;
};
// Bodies that pitch as one.
struct RidePart {
  double x_m = 0, height_m = 0;               // of its centre of gravity, ahead of that of the vehicle and above the ground
  double mass_kg = 0;                         // without its wheels' mass
  double wheels_kg = 0;
  double pitch_inertia_kg_m2 = 0;
};
struct RideJoint {
  double x_m = 0, height_m = 0;
  double pitch_n_m_per_rad = 0;               // 0 where free
};
struct RideVehicle {
  double gravity_m_s2 = 0;
  std::vector<RidePart> parts;                // rearmost first
  std::vector<RideJoint> joints;              // between a part and the next
  std::vector<RideAxle> axles;                // rearmost first
  bool damping_assumed = false, pitch_radius_assumed = false, rigid = false;  // rigid: no axle yields
};
// Refuses settings out of range, a radius of gyration for several parts, wheels heavier than the vehicle or a part, more rigid axles than the ground can fix motions (two of one part, one more for
// each further part), a wheel whose load-deflection rows do not reach its load.
[[nodiscard]] std::optional<RideVehicle> make_ride_vehicle(const vehicle::Vehicle& vehicle, double gravity_m_s2, const RideSettings& settings,
                                                           const base::Place& place, base::Problems& problems);

// Answer to ground of 1 m amplitude in waves of `wave_number` [rad/m] driven over at a speed; phases to the ground under the centre of gravity.
struct RideResponse {
  std::vector<std::complex<double>> load_n;       // varying load of each axle
  std::vector<std::complex<double>> travel_m;     // body against ground at each axle, springs and wheels together
  std::vector<std::complex<double>> heave_m, pitch_rad;  // of each part, at its centre of gravity; pitch: nose up
};
// Height of the vehicle at x_m ahead of its centre of gravity, on the part that reaches there.
[[nodiscard]] std::complex<double> height_m(const RideVehicle& vehicle, const RideResponse& response, double x_m);
[[nodiscard]] RideResponse response(const RideVehicle& vehicle, double wave_number_rad_per_m, double speed_m_s);

struct Wave {
  double length_m = 0, amplitude_m = 0;           // amplitude is half of crest to trough
};
// v = (lambda / 2 pi) sqrt(g / A): a point mass on the wave.
[[nodiscard]] double wave_lift_off_m_s(const Wave& wave, double gravity_m_s2);

enum class Weighting { none, whole_body_vertical /* Wk of ISO 2631-1, from memory */ };
// Modulus of the weighting at a frequency [Hz].
[[nodiscard]] double weight_at(Weighting weighting, double frequency_hz);

// Power that a seated person takes up from vertical shaking of the seat at a frequency [Hz], over the mean square of the acceleration [(m/s^2)^2]: [Pradko1966], coefficients
// from memory, read as apparent mass (63.5 kg at rest, largest power at 4.6 Hz). Meant for 1 to 30 Hz.
[[nodiscard]] double absorbed_w_s4_per_m2(double frequency_hz);

enum class RideLimit { wheels_leave_ground, shock, ride, absorbed_power };
[[nodiscard]] const char* name(RideLimit limit);

struct RideQuestion {
  std::optional<double> shock_m_s2;               // largest vertical acceleration; nothing is judged without one
  std::optional<double> ride_m_s2;                // r.m.s. of the weighted vertical acceleration, likewise
  Weighting weighting = Weighting::none;
  std::optional<double> absorbed_power_w;         // largest power a seated person takes up, likewise; 6 W is the usual bound of long drives
  double at_x_m = 0;                              // where these are taken, ahead of the centre of gravity
  double fastest_m_s = 30;                        // looked up to here
  double slowest_m_s = 0.02;                      // looked from here
  double peak_over_rms = 3;                       // on a spectrum, peaks are this many times the r.m.s.: passed 0.27 % of the time if normal (common practice, no source)
  std::vector<double> speeds_m_s;                 // where the curve is told
};
struct RidePoint {
  double speed_m_s = 0;
  double load_share = 0;                          // peak of the varying load over the load at rest, largest of all axles: 1 leaves the ground
  std::size_t axle = 0;
  double peak_m_s2 = 0, weighted_rms_m_s2 = 0;    // vertical acceleration at at_x_m
  double absorbed_power_w = 0;                    // of a person seated there
};
struct RideSpeed {
  RideLimit kind = RideLimit::wheels_leave_ground;
  std::optional<double> speed_m_s;                // smallest speed at which it is passed; absent: not up to fastest_m_s
  bool from_the_start = false;                    // passed at slowest_m_s already, or at rest
  bool standing_still = false;                    // wheels_leave_ground: a wheel hangs free where the vehicle stands; the speed is 0
  std::size_t axle = 0;                           // wheels_leave_ground
  base::SolveReport solve;                        // residual: width of the bracket [m/s]
};
struct RideAnswer {
  std::vector<RideSpeed> speeds;                  // wheels leaving the ground always; the others where asked
  std::vector<RidePoint> curve;
  bool bridges_troughs = false;                   // wave: a wheel is wider than the trough's curve ((lambda / 2 pi)^2 / A below its radius)
  // The slowest of them; nothing where none is passed.
  [[nodiscard]] const RideSpeed* limit() const;
};
using RoughGround = std::variant<Wave, GroundSpectrum>;
// The ground must have been checked (check_wave, make_spectrum ...).
[[nodiscard]] RideAnswer ride_on(const RideVehicle& vehicle, const RoughGround& ground, const RideQuestion& question);
[[nodiscard]] RidePoint ride_at(const RideVehicle& vehicle, const RoughGround& ground, const RideQuestion& question, double speed_m_s);

void check_wave(const Wave& wave, const base::Place& place, base::Problems& problems);
void check_ride_question(const RideQuestion& question, const base::Place& place, base::Problems& problems);

}  // namespace hardpan::performance
