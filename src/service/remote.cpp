// SPDX-License-Identifier: Apache-2.0
#include "service/remote.hpp"

#include <fmt/core.h>

#include <cmath>
#include <numbers>
#include <string>

#include "base/problems.hpp"
#include "service/detail/json_parts.hpp"

namespace hardpan::service {
namespace {

using io::Json;

constexpr double kDeg = 180 / std::numbers::pi;

void check(const StoppingRequest& q) {
  base::Problems problems;
  const auto within = [&](const char* key, double v, double lo, double hi, bool open_lo, const char* unit) {
    if (v <= hi && (open_lo ? v > lo : v >= lo)) return;
    const std::string space = *unit ? " " : "";
    const std::string least = lo == 0 ? (open_lo ? "above 0" : "0 or more") : fmt::format("{:g}{}{} or more", lo, space, unit);
    problems.refuse({.place = {.key = key}, .what = v > hi ? "too large" : "too small", .value = fmt::format("{:g}{}{}", v, space, unit),
                     .bound = v > hi ? fmt::format("at most {:g}{}{}", hi, space, unit) : least});
  };
  within("--sight", q.sensing_range_m, 0, 1e5, true, "m");
  if (q.delay_whole) {
    within("--delay", q.delay.total_s(), 0, 1e5, false, "s");
  } else {
    within("--downlink", q.delay.downlink_s, 0, 1e5, false, "s");
    within("--reaction", q.delay.reaction_s, 0, 1e5, false, "s");
    within("--uplink", q.delay.uplink_s, 0, 1e5, false, "s");
  }
  if (q.needed_m_s) within("--need", *q.needed_m_s, 0, 100, true, "m/s");
  within("--gravity", q.gravity_m_s2, 0, 100, true, "m/s^2");
  within("--braking", q.braking_coefficient, 0, 2, true, "");
  within("--gradient", q.gradient_rad * kDeg, -85, 85, false, "deg");
  if (q.fastest_m_s) {
    within("--fastest", *q.fastest_m_s, 0, 100, true, "m/s");
    within("--room", q.half_width_m, 0, 100, true, "m");
    within("--look-ahead", q.look_ahead_m, 0, 1000, true, "m");
    within("--turning-radius", q.smallest_radius_m, 0, 1000, false, "m");
    within("--drift", q.drift_angle_rad * kDeg, -68, 68, false, "deg");
    within("--jitter", q.jitter_s, 0, 1e4, false, "s");
    within("--image-interval", q.image_interval_s, 1e-3, 1e4, false, "s");
    within("--image-loss", q.image_loss_ratio, 0, 0.99, false, "");
    within("--anticipation", q.anticipation_ratio, 0, 1, false, "");
    within("--thinking", q.thinking_s, 0, 1e5, false, "s");
    within("--slalom", q.slalom_amplitude_m, 0, 100, false, "m");
    within("--wave-length", q.slalom_wave_length_m, 0, 1e4, true, "m");
    for (const double d : q.delays_s) {
      if (!(d >= q.delay.reaction_s && d <= 1e5)) {
        problems.refuse({.place = {.key = "--at-delay"}, .what = "a total delay under the driver's own reaction, or too long", .value = fmt::format("{:g} s", d),
                         .bound = fmt::format("{:g} to 1e5 s", q.delay.reaction_s)});
      }
    }
  } else if (!q.delays_s.empty()) {
    problems.refuse({.place = {.key = "--at-delay"}, .what = "says nothing without --fastest", .remedy = "give the vehicle's own speed limit"});
  }
  problems.throw_if_refused();
}

Json remote_json(const driving::RemoteSpeed& s) {
  Json j = Json::object();
  j.set("speed_m_per_s", s.speed_m_s).set("limited_by", driving::name(s.limited_by)).set("stop_limited_m_per_s", s.stop_limited_m_s);
  j.set("corridor_held_to_m_per_s", s.steering.speed_m_s).set("corridor_error_m", s.steering.largest_error_m);
  j.set("solve", s.limited_by == driving::SpeedLimit::none ? Json("closed form") : detail::solve_json(s.steering.solve, "m_per_s")).set("move_and_wait_m_per_s", s.move_and_wait_m_s);
  j.set("linear_steering_limit_m_per_s", std::isfinite(s.linear_limit_m_s) ? Json(s.linear_limit_m_s) : Json());
  return j;
}

}  // namespace

StoppingResult stopping(const StoppingRequest& q) {
  check(q);
  StoppingResult r;
  const double delay = q.delay.total_s();
  r.deceleration_m_s2 = driving::braking_deceleration_m_s2(q.gravity_m_s2, q.braking_coefficient, q.gradient_rad);
  r.stop_limited_m_s = driving::stop_limited_speed_m_s(q.sensing_range_m, delay, r.deceleration_m_s2);
  r.stopping_distance_at_limit_m = driving::stopping_distance_m(r.stop_limited_m_s, delay, r.deceleration_m_s2);
  r.driven_blind_m = r.stop_limited_m_s * delay;
  if (!q.fastest_m_s) return r;
  const driving::Situation s{
      .path = driving::slalom(3 * q.slalom_wave_length_m, q.slalom_amplitude_m, q.slalom_wave_length_m),
      .rule = {.look_ahead_m = q.look_ahead_m, .smallest_radius_m = q.smallest_radius_m, .drift_angle_rad = q.drift_angle_rad, .anticipation_ratio = q.anticipation_ratio,
               .link = {.delay = q.delay, .jitter_s = q.jitter_s, .image_interval_s = q.image_interval_s, .image_loss_ratio = q.image_loss_ratio}},
      .corridor = {.half_width_m = q.half_width_m, .fastest_m_s = *q.fastest_m_s},
      .sensing_range_m = q.sensing_range_m, .gravity_m_s2 = q.gravity_m_s2, .braking_coefficient = q.braking_coefficient, .gradient_rad = q.gradient_rad,
      .thinking_s = q.thinking_s};
  r.remote = driving::remote_speed(s, q.seed);
  r.against_delay = driving::speed_against_delay(s, q.delays_s, q.seed);
  return r;
}

std::optional<double> StoppingResult::margin_m_s(const StoppingRequest& q) const {
  if (!q.needed_m_s) return std::nullopt;
  return (remote ? remote->speed_m_s : stop_limited_m_s) - *q.needed_m_s;
}

const char* StoppingResult::limited_by() const { return driving::name(remote ? remote->limited_by : deceleration_m_s2 > 0 ? driving::SpeedLimit::stopping : driving::SpeedLimit::none); }

Json stopping_json(const StoppingRequest& q, const StoppingResult& r) {
  Json j = Json::object();
  j.set("sensing_range_m", q.sensing_range_m).set("delay_s", q.delay.total_s()).set("deceleration_m_per_s2", r.deceleration_m_s2);
  j.set("solve", "closed form").set("stop_limited_m_per_s", r.stop_limited_m_s).set("stopping_distance_m", r.stopping_distance_at_limit_m).set("driven_blind_m", r.driven_blind_m);
  detail::set_margin(j, "m_per_s", q.needed_m_s, r.margin_m_s(q));
  j.set("limited_by", r.limited_by());
  j.set("remote", r.remote ? remote_json(*r.remote) : Json());
  Json list = Json::array();
  for (const driving::DelayPoint& p : r.against_delay) {
    Json k = remote_json(p.speed);
    k.set("delay_s", p.delay_s);
    list.push(k);
  }
  return j.set("against_delay", list);
}

}  // namespace hardpan::service
