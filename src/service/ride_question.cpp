// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include "service/detail/campaign_questions.hpp"
#include "service/detail/json_parts.hpp"
#include "service/ride.hpp"

namespace hardpan::service::detail {

using io::Json;
namespace p = performance;

namespace {

constexpr int kSpeeds = 24;

campaign::RideAnswer answer_ride(const campaign::RideQuestion& q, const vehicle::Vehicle& v, double gravity_m_s2) {
  campaign::RideAnswer out{.vehicle = v.id, .name = q.name, .zones = q.zones, .question = q.question};
  base::Problems refused;
  const auto model = p::make_ride_vehicle(v, gravity_m_s2, q.settings, {.key = "vehicle " + v.id}, refused);
  if (!model) {
    out.why_not = first_refusal(refused);
    return out;
  }
  out.model = *model;
  for (const p::RoughGround& ground : q.grounds) {
    campaign::RideOnGround on{.ground = ground, .answer = p::ride_on(*model, ground, q.question)};
    if (const auto* wave = std::get_if<p::Wave>(&ground)) on.point_on_wave_m_s = p::wave_lift_off_m_s(*wave, gravity_m_s2);
    out.grounds.push_back(std::move(on));
  }
  // One range of speeds for all grounds: up to twice the slowest limit.
  const campaign::RideOnGround* slowest = out.slowest();
  const double top = slowest && *slowest->answer.limit()->speed_m_s > 0 ? std::min(2 * *slowest->answer.limit()->speed_m_s, q.question.fastest_m_s) : q.question.fastest_m_s;
  for (campaign::RideOnGround& on : out.grounds) {
    for (int k = 1; k <= kSpeeds; ++k) on.answer.curve.push_back(p::ride_at(*model, on.ground, q.question, top * k / kSpeeds));
  }
  return out;
}

}  // namespace

void answer_rides(const Asked& a) {
  for (const campaign::RideQuestion& q : a.results.campaign.questions.rides) {
    for (const vehicle::Vehicle& v : a.results.campaign.vehicles) a.results.answers.rides.push_back(answer_ride(q, v, a.results.campaign.gravity_m_s2));
  }
}

Json rides_json(const campaign::Answers& answers) {
  Json out = Json::array();
  for (const campaign::RideAnswer& x : answers.rides) {
    Json j = Json::object(), zones = Json::array(), grounds = Json::array();
    for (const std::string& zone : x.zones) zones.push(zone);
    j.set("vehicle", x.vehicle).set("name", x.name).set("zones", zones).set("status", x.why_not.empty() ? "computed" : x.why_not);
    j.set("shock_bound_m_per_s2", x.question.shock_m_s2).set("ride_bound_m_per_s2", x.question.ride_m_s2).set("absorbed_power_bound_w", x.question.absorbed_power_w).set("weighted_as_for_people", x.question.weighting == p::Weighting::whole_body_vertical);
    if (x.why_not.empty()) j.set("rigid", x.model.rigid).set("damping_assumed", x.model.damping_assumed && !x.model.rigid).set("pitch_radius_assumed", x.model.pitch_radius_assumed);
    for (const campaign::RideOnGround& on : x.grounds) {
      Json k = ride_answer_json(on.answer);
      const auto* wave = std::get_if<p::Wave>(&on.ground);
      const auto* spectrum = std::get_if<p::GroundSpectrum>(&on.ground);
      k.set("wave_length_m", wave ? Json(wave->length_m) : Json()).set("amplitude_m", wave ? Json(wave->amplitude_m) : Json()).set("point_on_wave_m_per_s", on.point_on_wave_m_s);
      k.set("spectrum", spectrum ? Json(spectrum->name) : Json()).set("rms_height_m", spectrum ? Json(p::rms_height_m(*spectrum)) : Json()).set("peak_over_rms_ratio", spectrum ? Json(x.question.peak_over_rms) : Json());
      grounds.push(k);
    }
    out.push(j.set("grounds", grounds));
  }
  return out;
}

}  // namespace hardpan::service::detail
