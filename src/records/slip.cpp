// SPDX-License-Identifier: Apache-2.0
// Notation: q = wheel speed / travel speed; s = 1 - 1/q for q >= 1, s = q - 1 below. Both branches have
// value 0 and slope 1 at q = 1, so a conversion is smooth through zero slip.
#include "records/slip.hpp"

#include <cmath>
#include <limits>
#include <numbers>

#include "base/assertion.hpp"

namespace hardpan::records {

std::optional<double> slip_ratio(const WheelMotion& motion) {
  const double u = motion.wheel_speed_m_per_s, v = motion.travel_speed_m_per_s;
  if (!(u >= 0 && v >= 0) || !std::isfinite(u) || !std::isfinite(v)) return std::nullopt;
  const double larger = u > v ? u : v;
  if (!(larger > 0)) return std::nullopt;
  return (u - v) / larger;
}

double quotient_from_slip(double s) {
  HARDPAN_ASSERT(s >= -1 && s <= 1);
  if (s < 0) return 1 + s;
  return s < 1 ? 1 / (1 - s) : std::numeric_limits<double>::infinity();
}

double slip_from_quotient(double q) {
  HARDPAN_ASSERT(q >= 0);
  return q >= 1 ? 1 - 1 / q : q - 1;
}

double slip_with_radius(double s, double radius_m, double new_radius_m) {
  HARDPAN_ASSERT(radius_m > 0 && new_radius_m > 0);
  return slip_from_quotient(quotient_from_slip(s) * (new_radius_m / radius_m));
}

double slip_conversion_slope(double s, double radius_m, double new_radius_m) {
  HARDPAN_ASSERT(radius_m > 0 && new_radius_m > 0);
  const double c = new_radius_m / radius_m;
  const double q = quotient_from_slip(s);
  if (std::isinf(q)) return 1 / c;
  const double dq_ds = s >= 0 ? q * q : 1;  // inverse of 1 / q^2, and of 1
  const double q2 = c * q;
  const double ds2_dq2 = q2 >= 1 ? 1 / (q2 * q2) : 1;
  return ds2_dq2 * c * dq_ds;
}

std::optional<HandSlip> hand_slip(const TurnsAndDistance& r) {
  const double rolled = 2 * std::numbers::pi * r.rolling_radius_m * r.turns;
  const auto s = slip_ratio({.wheel_speed_m_per_s = rolled, .travel_speed_m_per_s = r.distance_m});
  if (!s || !(r.rolling_radius_m > 0)) return std::nullopt;
  HandSlip out{.slip_ratio = *s};
  // Driving: s = 1 - d / rolled; braking: s = rolled / d - 1. Both have ds = (smaller / larger) times the
  // relative errors; a wheel that turns on the spot has an error in distance alone.
  if (rolled >= r.distance_m) {
    const double d_distance = r.distance_sd_m / rolled;
    const double d_turns = r.distance_m / rolled * r.turns_sd / r.turns;
    const double d_radius = r.distance_m / rolled * r.radius_sd_m / r.rolling_radius_m;
    out.standard_error = std::hypot(d_distance, std::hypot(d_turns, d_radius));
  } else {
    const double per_turn = 2 * std::numbers::pi * r.rolling_radius_m / r.distance_m;
    const double d_distance = rolled / r.distance_m * r.distance_sd_m / r.distance_m;
    const double d_turns = per_turn * r.turns_sd;
    const double d_radius = rolled / r.distance_m * r.radius_sd_m / r.rolling_radius_m;
    out.standard_error = std::hypot(d_distance, std::hypot(d_turns, d_radius));
  }
  return out;
}

}  // namespace hardpan::records
