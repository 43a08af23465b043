// SPDX-License-Identifier: Apache-2.0
// Slip of a rolling wheel, and what its zero refers to.
//
// The number depends on the radius alone; the zero-slip condition says how that radius was found, and
// two slips may be compared only after conversion to one radius. Driving slip lies in (0, 1], braking
// slip (skid) in [-1, 0). For a wheel model's own kinematics use the contact module.
//
//   double s = slip_ratio({.wheel_speed_m_per_s = radius_m * omega, .travel_speed_m_per_s = v});
//   double on_soil = slip_with_radius(s, hard_radius_m, soil_radius_m);
//
// Sources: the definition by the larger of the two speeds is common in the field ([Wong2008] section 2.5
// for driving; the braking form from memory of the same chapter).
#pragma once

#include <optional>
#include <string>

#include "vehicle/vehicle.hpp"

namespace hardpan::records {

struct WheelMotion {
  double wheel_speed_m_per_s = 0;   // rolling radius times angular speed, >= 0 forward
  double travel_speed_m_per_s = 0;  // over the ground, >= 0 forward
};

// (wheel - travel) / max(wheel, travel). Absent when both are zero, one is negative or one is not a
// finite number: a wheel that turns against its travel has no slip ratio.
[[nodiscard]] std::optional<double> slip_ratio(const WheelMotion& motion);

// q = wheel speed / travel speed, infinite at slip 1; slip_from_quotient is its inverse.
[[nodiscard]] double quotient_from_slip(double slip_ratio);   // slip in [-1, 1]
[[nodiscard]] double slip_from_quotient(double quotient);     // quotient in [0, infinity]

// The same motion told with another rolling radius: q2 = q1 r2 / r1. Radii > 0.
[[nodiscard]] double slip_with_radius(double slip_ratio, double radius_m, double new_radius_m);
// d(new slip) / d(slip), to carry a standard error over; continuous through slip 0.
[[nodiscard]] double slip_conversion_slope(double slip_ratio, double radius_m, double new_radius_m);

// Slip from a counted number of turns and a taped distance.
struct TurnsAndDistance {
  double turns = 0;
  double distance_m = 0;
  double rolling_radius_m = 0;
  double turns_sd = 0, distance_sd_m = 0, radius_sd_m = 0;  // one standard deviation of each reading
};
struct HandSlip {
  double slip_ratio = 0;
  double standard_error = 0;  // by first-order propagation
};
[[nodiscard]] std::optional<HandSlip> hand_slip(const TurnsAndDistance& reading);

// A rolling radius as found or stated.
struct RollingRadius {
  double radius_m = 0;
  double standard_error_m = 0;    // 0 where stated without one
  vehicle::ZeroSlip condition = vehicle::ZeroSlip::not_stated;
  std::string source;             // "stated with the record", "towed log day1/t3" ...
};

}  // namespace hardpan::records
