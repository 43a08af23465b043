// SPDX-License-Identifier: Apache-2.0
#include <cmath>

#include "service/detail/campaign_questions.hpp"
#include "service/detail/json_parts.hpp"
#include "service/gravity.hpp"
#include "service/json_results.hpp"

namespace hardpan::service::detail {

using io::Json;
namespace p = performance;

namespace {

campaign::GravityAnswer answer_one(const Asked& a, const campaign::GravityQuestion& q, const campaign::PairResult& pair, const vehicle::Vehicle& v) {
  campaign::GravityAnswer out{.vehicle = pair.vehicle, .zone = pair.zone, .working_slip = v.working_slip.value_or(0.2), .to_m_s2 = q.gravity_m_s2, .length_ratio = q.length_ratio};
  const auto ground = a.ground(pair.zone);
  if (!ground) {
    out.why_not = "the soil of the zone is not complete";
    return out;
  }
  const double mass = vehicle::mass_kg(v), here = a.results.campaign.gravity_m_s2;
  out.mass_ratio = q.mass_kg.value_or(mass) / mass;
  out.scaling = p::granular_scaling(q.gravity_m_s2 / here, out.length_ratio, out.mass_ratio);
  out.cohesionless = ground->centre.shear && ground->centre.shear->cohesion_pa == 0;
  p::TransferQuestion question{.change = {here, q.gravity_m_s2}, .target_mass_kg = q.mass_kg, .payload_height_m = q.payload_height_m, .working_slip = out.working_slip};
  // Asked of the campaign as a whole: ground whose relation tells the share itself has no use for it.
  const bool wants_share = ground->centre.bearing && (ground->centre.bearing->law == soil::PressureLaw::bekker || ground->centre.bearing->law == soil::PressureLaw::single_plate);
  if (wants_share) question.share_of_kphi = q.self_weight_share;
  base::Problems refused;
  out.over_soils = p::gravity_over_soils(v, *ground, a.plan, question, {.key = "vehicle " + v.id + " on zone " + pair.zone}, refused);
  if (!out.over_soils) out.why_not = first_refusal(refused);
  return out;
}

}  // namespace

void answer_other_gravity(const Asked& a) {
  const auto& q = a.results.campaign.questions.other_gravity;
  if (!q) return;
  for (const campaign::PairResult& pair : a.results.pairs) {
    if (a.options.stop.stop_requested()) return;
    const vehicle::Vehicle* v = a.results.campaign.vehicle_by_id(pair.vehicle);
    if (!v) continue;
    a.say("taking " + v->name + " on " + pair.zone + " to the other gravity");
    a.results.answers.other_gravity.push_back(answer_one(a, *q, pair, *v));
  }
}

Json other_gravity_json(const campaign::Answers& answers) {
  Json out = Json::array();
  for (const campaign::GravityAnswer& x : answers.other_gravity) {
    Json j = Json::object();
    j.set("vehicle", x.vehicle).set("zone", x.zone).set("status", x.why_not.empty() ? "computed" : x.why_not).set("gravity_there_m_per_s2", x.to_m_s2).set("working_slip_ratio", x.working_slip);
    if (x.over_soils) {
      const p::GravityOverSoils& g = *x.over_soils;
      const p::GravityTransfer& t = g.centre;
      j.set("equal_weight_mass_kg", t.equal_weight_mass_kg).set("payload_kg", t.payload_kg).set("test_mass_kg", t.test_mass_kg).set("cg_height_with_payload_m", t.cg_height_with_payload_m);
      j.set("self_weight_of_ground", p::name(t.there.known)).set("frictional_modulus_ratio", t.there.frictional_modulus_ratio);
      j.set("gradient_as_tested_rad", estimate_json(g.as_tested, p::kNoGradient)).set("gradient_equal_weight_test_rad", estimate_json(g.equal_weight_test, p::kNoGradient)).set("gradient_target_rad", estimate_json(g.target, p::kNoGradient));
      j.set("optimism_of_equal_weight_test_rad", estimate_json(g.optimism)).set("optimistic_ratio", g.optimistic_ratio);
      j.set("test_limited_by", p::name(g.test_factor)).set("target_limited_by", p::name(g.target_factor));
      j.set("draws", static_cast<double>(g.draws)).set("draws_left_out", static_cast<double>(g.left_out)).set("reason_without", g.reason_without);
      Json bands = Json::array();
      for (const p::TransferBand& b : g.over_slip) bands.push(Json::object().set("slip_ratio", b.slip_ratio).set("as_tested_rad", estimate_json(b.as_tested, p::kNoGradient)).set("equal_weight_test_rad", estimate_json(b.equal_weight_test, p::kNoGradient)).set("target_rad", estimate_json(b.target, p::kNoGradient)));
      j.set("over_slip", bands).set("what_carries_over", transfer_lines_json(t.lines));
    }
    const p::GranularScaling& s = x.scaling;
    j.set("granular_scaling", Json::object().set("length_ratio", x.length_ratio).set("mass_ratio", x.mass_ratio).set("ground_is_cohesionless", x.cohesionless).set("speed_ratio", s.speed).set("rotation_ratio", s.rotation).set("time_ratio", s.time).set("force_ratio", s.force)
                                  .set("torque_ratio", s.torque).set("power_ratio", s.power).set("width_ratio", s.width).set("sinkage_ratio", s.sinkage).set("slip_ratio_ratio", s.slip).set("cohesion_needed_ratio", s.cohesion).set("shear_modulus_needed_ratio", s.shear_modulus));
    out.push(j);
  }
  return out;
}

}  // namespace hardpan::service::detail
