// SPDX-License-Identifier: Apache-2.0
#include "driving/remote_speed.hpp"

#include <algorithm>

#include "base/assertion.hpp"
#include "base/thread_pool.hpp"

namespace hardpan::driving {

const char* name(SpeedLimit limit) {
  switch (limit) {
    case SpeedLimit::vehicle: return "the vehicle's own speed";
    case SpeedLimit::stopping: return "stopping within what is seen";
    case SpeedLimit::steering: return "steering within the corridor";
    case SpeedLimit::waiting: return "moving and waiting";
    case SpeedLimit::none: return "cannot stop on this slope";
  }
  return "";
}

RemoteSpeed remote_speed(const Situation& s, std::uint64_t seed, const SpeedHeld* steered) {
  RemoteSpeed out;
  const double delay = s.rule.link.delay.total_s(), fastest = s.corridor.fastest_m_s;
  const double brake = braking_deceleration_m_s2(s.gravity_m_s2, s.braking_coefficient, s.gradient_rad);
  out.stop_limited_m_s = stop_limited_speed_m_s(s.sensing_range_m, delay, brake);
  out.linear_limit_m_s = stable_speed_m_s(delay, aiming_ahead(s.rule.look_ahead_m));
  if (!(brake > 0)) return out;
  out.steering = steered ? *steered : largest_speed_held(s.path, s.rule, s.corridor, seed);
  out.driving_on_m_s = std::min({fastest, out.stop_limited_m_s, out.steering.speed_m_s});
  out.limited_by = out.driving_on_m_s == fastest                  ? SpeedLimit::vehicle
                   : out.driving_on_m_s == out.stop_limited_m_s ? SpeedLimit::stopping
                                                                : SpeedLimit::steering;
  out.speed_m_s = out.driving_on_m_s;
  // A stretch is seen whole before it is driven, so nothing in it needs an answer through the delay; the vehicle brakes by itself to rest at
  // its end, and drives no faster than it can stop there.
  out.move_and_wait_m_s = move_and_wait_speed_m_s(s.sensing_range_m, std::min(fastest, stop_limited_speed_m_s(s.sensing_range_m, 0, brake)), brake, delay, s.thinking_s);
  if (out.move_and_wait_m_s > out.speed_m_s) {
    out.speed_m_s = out.move_and_wait_m_s;
    out.limited_by = SpeedLimit::waiting;
  }
  return out;
}

std::vector<DelayPoint> speed_against_delay(const Situation& situation, std::span<const double> delays_s, std::uint64_t seed, const std::vector<DelayPoint>* steered, std::size_t threads) {
  std::vector<DelayPoint> out(delays_s.size());
  base::ThreadPool(threads).for_chunks(delays_s.size(), 1, {}, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      Situation s = situation;
      Delay& d = s.rule.link.delay;
      const double link = d.downlink_s + d.uplink_s, wanted = delays_s[i] - d.reaction_s;
      HARDPAN_ASSERT(wanted >= 0);
      const double down = link > 0 ? d.downlink_s / link : 0.5;
      d.downlink_s = down * wanted;
      d.uplink_s = (1 - down) * wanted;
      const DelayPoint* like = steered && i < steered->size() && (*steered)[i].delay_s == delays_s[i] ? &(*steered)[i] : nullptr;
      const bool known = like && like->speed.limited_by != SpeedLimit::none;  // one that could not brake was not steered
      out[i] = {delays_s[i], remote_speed(s, seed, known ? &like->speed.steering : nullptr)};
    }
  });
  return out;
}

}  // namespace hardpan::driving
