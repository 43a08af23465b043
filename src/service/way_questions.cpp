// SPDX-License-Identifier: Apache-2.0
// Drive profiles over possible soils, and rocks in the way, of a campaign.
#include <algorithm>
#include <cmath>

#include "service/boulders.hpp"
#include "service/detail/campaign_questions.hpp"
#include "service/detail/json_parts.hpp"
#include "service/endurance.hpp"
#include "service/json_results.hpp"

namespace hardpan::service::detail {

using io::Json;
namespace p = performance;

namespace {

campaign::EnduranceAnswer answer_one(const Asked& a, const campaign::EnduranceQuestion& q) {
  campaign::EnduranceAnswer out{.vehicle = q.vehicle, .name = q.name, .rows = q.rows, .zones = q.zones, .temperature_k = q.temperature_k};
  const vehicle::Vehicle& v = *a.results.campaign.vehicle_by_id(q.vehicle);
  out.battery_j = q.battery_j ? *q.battery_j : *v.battery_j;
  if (q.temperature_k) out.usable_ratio = *p::usable_ratio(q.derating, *q.temperature_k);
  out.settings = {.usable_j = out.battery_j * out.usable_ratio, .reserve_ratio = q.reserve_ratio, .start_ratio = q.start_ratio};
  std::vector<p::Placed> placed;
  placed.reserve(q.zones.size());
  for (const std::string& zone : q.zones) {
    // As predicted, where it was: the same possible soils.
    const auto at = std::find_if(a.placed.begin(), a.placed.end(), [&](const p::Placed& x) { return x.vehicle == q.vehicle && x.zone == zone; });
    if (at != a.placed.end()) {
      placed.push_back(*at);
      continue;
    }
    const auto ground = a.ground(zone);
    base::Problems refused;
    const auto on = ground ? p::place_vehicle(v, *ground, a.plan, {.key = "vehicle " + v.id + " on zone " + zone}, refused) : std::nullopt;
    if (!on) {
      out.why_not = ground ? first_refusal(refused) : "the soil of zone " + zone + " is not complete";
      return out;
    }
    placed.push_back(*on);
  }
  std::vector<const p::Placed*> each;
  for (const p::Placed& one : placed) each.push_back(&one);
  out.endurance = p::endurance(q.rows, each, v, out.settings);
  return out;
}

Json spread_json(const campaign::EnduranceAnswer& x) {
  const p::Endurance& e = *x.endurance;
  Json j = trip_json(e.centre, x.rows);
  j.set("distance", estimate_json(e.distance_m)).set("energy", estimate_json(e.energy_j)).set("time", estimate_json(e.time_s)).set("arrival_ratio", e.arrival_ratio);
  j.set("draws", static_cast<double>(e.draws)).set("draws_not_converged", static_cast<double>(e.not_converged)).set("reason_without", e.reason_without);
  Json limits = Json::object(), rows = Json::array();
  for (const auto& [limit, share] : e.limits) limits.put(p::name(limit), share);
  for (std::size_t i = 0; i < x.rows.size(); ++i) {
    rows.push(Json::object().set("name", x.rows[i].name).set("zone", x.zones[x.rows[i].ground]).set("distance_m", x.rows[i].distance_m).set("gradient_rad", x.rows[i].gradient_rad).set("energy_j", estimate_json(e.row_energy_j[i]))
                  .set("time_s", estimate_json(e.row_time_s[i])).set("charge_after_ratio", estimate_json(e.charge_after[i])).set("draws_stopped_here", static_cast<double>(e.stopped_in_row[i])));
  }
  return j.set("shares_of_next_points", limits).set("over_soils", rows);
}

}  // namespace

void answer_endurance(const Asked& a) {
  for (const campaign::EnduranceQuestion& q : a.results.campaign.questions.endurance) {
    if (a.options.stop.stop_requested()) return;
    a.say("driving " + q.vehicle + (q.name.empty() ? " along its way" : " along " + q.name));
    a.results.answers.endurance.push_back(answer_one(a, q));
  }
}

void answer_boulders(const Asked& a) {
  for (const campaign::BouldersQuestion& q : a.results.campaign.questions.boulders) {
    for (const vehicle::Vehicle& v : a.results.campaign.vehicles) {
      if (a.options.stop.stop_requested()) return;
      if (!q.vehicles.empty() && std::find(q.vehicles.begin(), q.vehicles.end(), v.id) == q.vehicles.end()) continue;
      a.results.answers.boulders.push_back(boulders_of(v, a.results.campaign.gravity_m_s2, q));
    }
  }
}

Json endurance_answers_json(const campaign::Answers& answers) {
  Json out = Json::array();
  for (const campaign::EnduranceAnswer& x : answers.endurance) {
    Json j = x.endurance ? spread_json(x) : Json::object();
    j.set("vehicle", x.vehicle).set("name", x.name).set("status", x.why_not.empty() ? "computed" : x.why_not).set("battery_j", x.battery_j).set("usable_at_temperature_ratio", x.usable_ratio);
    out.push(j.set("temperature_k", x.temperature_k).set("reserve_ratio", x.settings.reserve_ratio).set("charge_at_start_ratio", x.settings.start_ratio));
  }
  return out;
}

Json boulder_answers_json(const campaign::Answers& answers) {
  Json out = Json::array();
  for (const campaign::BoulderAnswer& x : answers.boulders) {
    Json j = x.why_not.empty() ? boulders_json(x) : Json::object().set("vehicle", x.vehicle).set("status", x.why_not);
    out.push(j.set("name", x.name).set("rocks_from", x.law_words));
  }
  return out;
}

}  // namespace hardpan::service::detail
