// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include "service/detail/campaign_questions.hpp"
#include "service/detail/json_parts.hpp"
#include "service/json_results.hpp"
#include "service/turning.hpp"

namespace hardpan::service::detail {

using io::Json;
namespace p = performance;

namespace {

// A few of them, each step by step from straight travel: of so few next points the interval is about their span.
constexpr std::size_t kDraws = 24;

bool named(const std::vector<std::string>& list, const std::string& id) { return list.empty() || std::find(list.begin(), list.end(), id) != list.end(); }

campaign::TurnAnswer answer_one(const campaign::TurnAsked& q, const p::Placed& placed, const vehicle::Vehicle& v) {
  campaign::TurnAnswer out{.vehicle = placed.vehicle, .zone = placed.zone, .asked = q};
  out.why_not = why_no_turn(v);
  if (!out.why_not.empty()) return out;
  out.smallest = p::turn_at(v, p::smallest_radius_m(v));
  if (out.asked.question.radii_m.empty()) out.asked.question.radii_m = turn_ladder(v, p::smallest_radius_m(v));
  out.over_soils = p::turn_over_soils(v, placed, out.asked.question, kDraws);
  return out;
}

}  // namespace

void answer_turns(const Asked& a) {
  for (const campaign::TurnAsked& q : a.results.campaign.questions.turns) {
    for (const p::Placed& placed : a.placed) {
      if (a.options.stop.stop_requested()) return;
      const vehicle::Vehicle* v = a.results.campaign.vehicle_by_id(placed.vehicle);
      if (!v || !named(q.vehicles, placed.vehicle) || !named(q.zones, placed.zone)) continue;
      a.say("turning " + v->name + " on " + placed.zone);
      a.results.answers.turns.push_back(answer_one(q, placed, *v));
    }
  }
}

Json turns_json(const campaign::Answers& answers) {
  Json out = Json::array();
  for (const campaign::TurnAnswer& x : answers.turns) {
    const p::TurnCase& turn = x.asked.question.turn;
    Json j = Json::object();
    j.set("vehicle", x.vehicle).set("zone", x.zone).set("status", x.why_not.empty() ? "computed" : x.why_not).set("side", x.asked.to_right ? "right" : "left");
    j.set("gradient_rad", turn.gradient_rad).set("heading_rad", turn.heading_rad).set("speed_m_per_s", turn.speed_m_s).set("crest_fall_rad", turn.crest ? Json(turn.crest->fall_rad) : Json()).set("crest_line_rad", turn.crest ? Json(turn.crest->line_rad) : Json());
    if (x.over_soils) {
      const p::TurnOverSoils& t = *x.over_soils;
      j.set("smallest_by_geometry_m", number_or_null(std::abs(x.smallest.radius_m))).set("smallest_on_soil_m", estimate_json(t.smallest_m)).set("stopped_by", t.centre.limit == p::TurnLimit::none ? Json() : Json(p::name(t.centre.limit)));
      j.set("draws", static_cast<double>(t.draws)).set("draws_not_converged", static_cast<double>(t.not_converged)).set("reason_without", t.reason_without);
      Json limits = Json::object(), radii = Json::array();
      for (const auto& [limit, share] : t.limits) limits.put(p::name(limit), share);
      for (const p::TurnRadius& r : t.radii) {
        Json here = Json::object();
        for (const auto& [limit, share] : r.limits) here.put(p::name(limit), share);
        radii.push(Json::object().set("radius_m", r.radius_m).set("stopped_by", r.limit == p::TurnLimit::none ? Json() : Json(p::name(r.limit))).set("goes_ratio", r.goes_ratio).set("largest_torque_n_m", estimate_json(r.torque_n_m))
                       .set("work_j_per_m", estimate_json(r.work_j_per_m)).set("work_j_per_rad", estimate_json(r.work_j_per_rad)).set("power_w", turn.speed_m_s > 0 ? number_or_null(r.work_j_per_m.value * turn.speed_m_s) : Json())
                       .set("shares_of_next_points", here).set("draws_not_converged", static_cast<double>(r.not_converged)));
      }
      j.set("shares_of_next_points", limits).set("radii", radii);
    }
    out.push(j);
  }
  return out;
}

}  // namespace hardpan::service::detail
