// SPDX-License-Identifier: Apache-2.0
#include "campaign/ride_question.hpp"

namespace hardpan::campaign {

const RideOnGround* RideAnswer::slowest() const {
  const RideOnGround* out = nullptr;
  for (const RideOnGround& g : grounds) {
    const performance::RideSpeed* limit = g.answer.limit();
    if (limit && (!out || *limit->speed_m_s < *out->answer.limit()->speed_m_s)) out = &g;
  }
  return out;
}

const char* name(SpeedLimit limit) {
  switch (limit) {
    case SpeedLimit::ground: return "the ground";
    case SpeedLimit::drives: return "speed limit of the drives";
    case SpeedLimit::power: return "power on this ground";
    case SpeedLimit::roughness: return "roughness";
    case SpeedLimit::remote: return "the link";
    case SpeedLimit::tip_over: return "tip-over in turns";
  }
  return "";
}

const SpeedRow* SpeedAnswer::smallest() const {
  const SpeedRow* out = nullptr;
  const auto speed = [](const SpeedRow& r) { return r.low_m_s.value_or(*r.speed_m_s); };
  for (const SpeedRow& r : rows) {
    if (r.speed_m_s && (!out || speed(r) < speed(*out))) out = &r;
  }
  return out;
}

}  // namespace hardpan::campaign
