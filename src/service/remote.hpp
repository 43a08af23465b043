// SPDX-License-Identifier: Apache-2.0
// Quick answer: how fast through a delay. Stopping always; steering and waiting where the vehicle's own speed is given.
#pragma once

#include <optional>
#include <vector>

#include "driving/remote_speed.hpp"
#include "io/json.hpp"

namespace hardpan::service {

struct StoppingRequest {
  double sensing_range_m = 0;
  driving::Delay delay;
  bool delay_whole = false;                       // typed as one: refused as one
  double gravity_m_s2 = 0;
  double braking_coefficient = 0;
  double gradient_rad = 0;
  std::optional<double> fastest_m_s;              // absent: stopping alone
  double half_width_m = 0.5;                      // room for error either side
  double look_ahead_m = 4;
  std::optional<double> needed_m_s;               // of the speed driven remotely, without fastest_m_s of the stop-limited one
  double smallest_radius_m = 0;
  double drift_angle_rad = 0;
  double jitter_s = 0, image_interval_s = 0.1, image_loss_ratio = 0, anticipation_ratio = 0;
  double thinking_s = 0;
  double slalom_amplitude_m = 1, slalom_wave_length_m = 25;  // the path steered
  std::vector<double> delays_s;                   // also at these total delays
  std::uint64_t seed = 1;
};
struct StoppingResult {
  double deceleration_m_s2 = 0;
  double stop_limited_m_s = 0;
  double stopping_distance_at_limit_m = 0;        // how it divides: driven blind and braked
  double driven_blind_m = 0;
  std::optional<driving::RemoteSpeed> remote;     // with fastest_m_s
  std::vector<driving::DelayPoint> against_delay;
  // Over what is needed, and what limits the speed.
  [[nodiscard]] std::optional<double> margin_m_s(const StoppingRequest& request) const;
  [[nodiscard]] const char* limited_by() const;
};
// Throws InputError.
[[nodiscard]] StoppingResult stopping(const StoppingRequest& request);
[[nodiscard]] io::Json stopping_json(const StoppingRequest& request, const StoppingResult& result);

}  // namespace hardpan::service
