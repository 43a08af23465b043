// SPDX-License-Identifier: Apache-2.0
// How fast a vehicle may be driven through a delay, and what decides it: three regimes. With little delay the vehicle's own
// speed; then stopping within what is seen or steering within the corridor; at last driving a stretch, stopping, and waiting.
//
//   const RemoteSpeed s = remote_speed(situation, 42);
//   say(name(s.limited_by), s.speed_m_s);
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "driving/path_following.hpp"

namespace hardpan::driving {

struct Situation {
  Path path;
  SteeringRule rule;                 // link with its delay; speed is what is looked for
  Corridor corridor;
  double sensing_range_m = 0;        // how far ahead an obstacle is seen in time, above 0
  double gravity_m_s2 = 0;
  double braking_coefficient = 0;    // of the ground, from the braking prediction or trials
  double gradient_rad = 0;           // in the direction of travel
  double thinking_s = 0;             // between stretches, besides the delay
};

enum class SpeedLimit { vehicle, stopping, steering, waiting, none };
[[nodiscard]] const char* name(SpeedLimit limit);

struct RemoteSpeed {
  double speed_m_s = 0;              // the best of driving on and of moving and waiting
  SpeedLimit limited_by = SpeedLimit::none;  // none: it cannot move, see stop_limited_m_s
  double stop_limited_m_s = 0;
  SpeedHeld steering;
  double driving_on_m_s = 0;         // the least of vehicle, stopping and steering
  double move_and_wait_m_s = 0;      // stretches as long as is seen, at the vehicle's own speed or what stops within them, braked to rest at their end
  double linear_limit_m_s = 0;       // stable_speed_m_s of the rule
};
// `steered`: the steering answer of a like situation, which braking and gradient do not enter; found here where it is not given.
[[nodiscard]] RemoteSpeed remote_speed(const Situation& situation, std::uint64_t seed, const SpeedHeld* steered = nullptr);

// The same over total delays; each scales down- and uplink, the reaction stays (delays not under it).
struct DelayPoint {
  double delay_s = 0;
  RemoteSpeed speed;
};
[[nodiscard]] std::vector<DelayPoint> speed_against_delay(const Situation& situation, std::span<const double> delays_s, std::uint64_t seed,
                                                          const std::vector<DelayPoint>* steered = nullptr, std::size_t threads = 1);

}  // namespace hardpan::driving
