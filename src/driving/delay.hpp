// SPDX-License-Identifier: Apache-2.0
// Driving by remote control through a delay: closed forms for stopping, moving and waiting, and steering.
//
// Use path_following.hpp where the view comes in single images, the delay jitters or the path bends; these are its limits.
// A speed from here is an upper bound for one cause: a driver, dust, glare and roughness lower it. docs/theory/driving.md.
//
//   const Delay link{.downlink_s = 1.3, .reaction_s = 0.4, .uplink_s = 1.3};
//   const double a = braking_deceleration_m_s2(9.81, 0.4, 0);
//   const double v = stop_limited_speed_m_s(10, link.total_s(), a);   // 2.96 m/s at 3 s
#pragma once

namespace hardpan::driving {

// Each part counts once between a thing in view and the command that answers it.
struct Delay {
  double downlink_s = 0;   // camera to screen
  double reaction_s = 0;   // of the driver
  double uplink_s = 0;     // command to wheels
  [[nodiscard]] constexpr double total_s() const { return downlink_s + reaction_s + uplink_s; }
};

// Light over a distance [m] and back, without equipment.
[[nodiscard]] double light_round_trip_s(double distance_m);

// What all wheels braked can do on a plane: g (mu cos a + sin a), a the gradient in the direction of travel, up positive;
// 0 where the slope is too steep to stop on.
[[nodiscard]] double braking_deceleration_m_s2(double gravity_m_s2, double braking_coefficient, double gradient_rad);

// v t + v^2 / (2 a); infinite at a = 0.
[[nodiscard]] double stopping_distance_m(double speed_m_s, double delay_s, double deceleration_m_s2);
// The largest speed whose stopping distance stays within the range that is seen (range above 0); 0 at a = 0.
[[nodiscard]] double stop_limited_speed_m_s(double sensing_range_m, double delay_s, double deceleration_m_s2);

// Drive a stretch, braking to rest at its end, look, think, drive on: stretch / (stretch / speed + speed / (2 deceleration) + delay + thinking).
// Time to speed up is left out; an infinite deceleration leaves out braking too. Stretch and speed above 0, the speed one that stops within the stretch.
[[nodiscard]] double move_and_wait_speed_m_s(double stretch_m, double driving_speed_m_s, double deceleration_m_s2, double delay_s, double thinking_s);

// Steering back to a straight path with lateral error e and heading error psi, e' = v psi,
// psi' = -v (error_gain e + heading_gain psi) seen a delay ago: the delay below which errors die away.
struct SteeringGains {
  double error_gain_per_m2 = 0, heading_gain_per_m = 0;   // both above 0
};
// Steering for the point of the path a look-ahead distance away (pure pursuit, Coulter 1992, made linear): 2 / L^2 and 2 / L.
[[nodiscard]] SteeringGains aiming_ahead(double look_ahead_m);
[[nodiscard]] double stable_delay_s(double speed_m_s, const SteeringGains& gains);
// The speed below which errors die away at this delay: stable_delay goes as 1 / v. Infinite without delay.
[[nodiscard]] double stable_speed_m_s(double delay_s, const SteeringGains& gains);

}  // namespace hardpan::driving
