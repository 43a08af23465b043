// SPDX-License-Identifier: Apache-2.0
#include "driving/delay.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/assertion.hpp"
#include "units/constants.hpp"

namespace hardpan::driving {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

}  // namespace

double light_round_trip_s(double distance_m) { return 2 * distance_m / units::kSpeedOfLight_mps; }

double braking_deceleration_m_s2(double gravity_m_s2, double braking_coefficient, double gradient_rad) {
  return std::max(0.0, gravity_m_s2 * (braking_coefficient * std::cos(gradient_rad) + std::sin(gradient_rad)));
}

double stopping_distance_m(double speed_m_s, double delay_s, double deceleration_m_s2) {
  if (!(deceleration_m_s2 > 0)) return speed_m_s > 0 ? kInfinity : 0;
  return speed_m_s * delay_s + speed_m_s * speed_m_s / (2 * deceleration_m_s2);
}

double stop_limited_speed_m_s(double sensing_range_m, double delay_s, double deceleration_m_s2) {
  HARDPAN_ASSERT(sensing_range_m > 0 && delay_s >= 0);
  if (!(deceleration_m_s2 > 0)) return 0;
  // a (-t + sqrt(t^2 + 2 R / a)) without the difference of two near numbers at long delays.
  return 2 * sensing_range_m / (delay_s + std::sqrt(delay_s * delay_s + 2 * sensing_range_m / deceleration_m_s2));
}

// Driven (d - v^2 / (2 a)) / v, then braked v / a: d / v + v / (2 a) together.
double move_and_wait_speed_m_s(double stretch_m, double driving_speed_m_s, double deceleration_m_s2, double delay_s, double thinking_s) {
  HARDPAN_ASSERT(stretch_m > 0 && driving_speed_m_s > 0 && deceleration_m_s2 > 0 && delay_s >= 0 && thinking_s >= 0);
  HARDPAN_ASSERT(stopping_distance_m(driving_speed_m_s, 0, deceleration_m_s2) <= stretch_m * (1 + 1e-12));
  return stretch_m / (stretch_m / driving_speed_m_s + driving_speed_m_s / (2 * deceleration_m_s2) + delay_s + thinking_s);
}

SteeringGains aiming_ahead(double look_ahead_m) {
  HARDPAN_ASSERT(look_ahead_m > 0);
  return {2 / (look_ahead_m * look_ahead_m), 2 / look_ahead_m};
}

// Characteristic equation s^2 exp(s t) + v kp s + v^2 ke = 0 at s = i w: the moduli give w, the phases the delay t.
double stable_delay_s(double speed_m_s, const SteeringGains& k) {
  HARDPAN_ASSERT(speed_m_s > 0 && k.error_gain_per_m2 > 0 && k.heading_gain_per_m > 0);
  const double kp2 = k.heading_gain_per_m * k.heading_gain_per_m;
  const double w = speed_m_s * std::sqrt(0.5 * (kp2 + std::sqrt(kp2 * kp2 + 4 * k.error_gain_per_m2 * k.error_gain_per_m2)));
  return std::atan(k.heading_gain_per_m * w / (speed_m_s * k.error_gain_per_m2)) / w;
}

double stable_speed_m_s(double delay_s, const SteeringGains& gains) {
  return delay_s > 0 ? stable_delay_s(1, gains) / delay_s : kInfinity;
}

}  // namespace hardpan::driving
