// SPDX-License-Identifier: Apache-2.0
#include "service/gravity.hpp"

#include <fmt/core.h>

#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"

namespace hardpan::service {

using detail::number_or_null;
using io::Json;
namespace p = performance;

namespace {

// The key of a refusal of the computation, as the option it came from.
base::Problems as_options(const base::Problems& found, const std::string& vehicle_file) {
  static const std::pair<const char*, const char*> kOptions[] = {{"from", "--from"}, {"to", "--to"}, {"self_weight_share", "--self-weight-share"}, {"target_mass", "--target-mass"},
                                                                {"payload_height", "--payload-height"}, {"slip", "--slip"}, {"bearing", "--soil"}};
  base::Problems out;
  for (base::Problem one : found.list()) {
    for (const auto& [key, option] : kOptions) {
      if (one.place.key == key) one.place = {.key = option};
    }
    if (one.place.key.starts_with("axle")) one.place.file = vehicle_file;
    if (one.severity == base::Severity::refusal) out.refuse(std::move(one));
    else out.remark(std::move(one));
  }
  return out;
}

}  // namespace

std::optional<double> GravityTransferResult::margin_rad(const GravityTransferRequest& q) const {
  const p::Gradient& g = transfer.of(p::GravityTrial::target).at_working;
  if (!q.needed_rad || g.factor == p::LimitingFactor::not_converged || g.gradient_rad == p::kNoGradient) return std::nullopt;
  return g.gradient_rad - *q.needed_rad;
}

GravityTransferResult gravity_transfer(const GravityTransferRequest& q) {
  base::Problems problems;
  detail::check_needed_slope(q.needed_rad, problems);
  GravityTransferResult r{.soil = detail::resolve(q.soil, problems)};
  const double gravity_m_s2 = q.from_m_s2 > 0 && q.from_m_s2 <= 100 ? q.from_m_s2 : 9.81;  // refused, and the file is read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  problems.throw_if_refused();
  r.vehicle = v->name;
  r.mass_kg = vehicle::mass_kg(*v);
  r.working_slip = q.slip_ratio.value_or(v->working_slip.value_or(0.2));
  p::TransferQuestion question{.change = {q.from_m_s2, q.to_m_s2}, .target_mass_kg = q.target_mass_kg, .share_of_kphi = q.self_weight_share, .payload_height_m = q.payload_height_m,
                               .working_slip = r.working_slip, .slip_sinkage = q.slip_sinkage};
  base::Problems found;
  const auto t = p::gravity_transfer(*v, r.soil.soil, question, {}, found);
  problems.add(as_options(found, q.vehicle_file));
  problems.throw_if_refused();
  r.transfer = *t;
  r.remarks = detail::remarks_of(problems);
  return r;
}

Json transfer_curve_json(const p::TransferCurve& c) {
  Json j = Json::object();
  j.set("state", p::name(c.trial)).set("mass_kg", c.mass_kg).set("weight_n", c.weight_n).set("gravity_m_per_s2", c.gravity_m_s2);
  const auto gradient = [](const p::Gradient& g) {
    return Json::object().set("gradient_rad", g.factor == p::LimitingFactor::not_converged || g.gradient_rad == p::kNoGradient ? Json() : Json(g.gradient_rad)).set("slip_ratio", g.slip_ratio).set("limiting_factor", p::name(g.factor)).set("solve", detail::solve_json(g.state.solve, "n"));
  };
  j.set("at_working_slip", gradient(c.at_working)).set("at_maximum_over_slip", gradient(c.at_maximum));
  j.set("towed_resistance_ratio", number_or_null(c.towed_resistance)).set("cohesion_share_ratio", number_or_null(c.cohesion_share));
  Json points = Json::array();
  for (const p::TransferPoint& x : c.points) {
    points.push(Json::object().set("slip_ratio", x.slip_ratio).set("status", p::name(x.status)).set("pull_coefficient_ratio", number_or_null(x.pull_coefficient)).set("sinkage_m", number_or_null(x.sinkage_m))
                    .set("gradient_rad", x.gradient_rad == p::kNoGradient ? Json() : number_or_null(x.gradient_rad)).set("solve", detail::solve_json(x.solve, "n")));
  }
  return j.set("over_slip", points);
}

Json transfer_lines_json(const std::vector<p::TransferLine>& lines) {
  Json out = Json::array();
  for (const p::TransferLine& l : lines) {
    const auto told = [&l](double v) { return l.unit == "rad" && v == p::kNoGradient ? Json() : number_or_null(v); };   // none is no angle
    out.push(Json::object().set("quantity", l.quantity).set("unit", l.unit).set("as_tested_si", told(l.as_tested)).set("equal_weight_si", told(l.equal_weight))
                 .set("target_si", told(l.target)).set("carries_over", l.carries_over).set("why", l.why));
  }
  return out;
}

Json gravity_transfer_json(const GravityTransferRequest& q, const GravityTransferResult& r) {
  const p::GravityTransfer& t = r.transfer;
  Json j = Json::object();
  j.set("vehicle", r.vehicle).set("soil", detail::soil_json(r.soil)).set("working_slip_ratio", r.working_slip);
  j.set("equal_weight_mass_kg", t.equal_weight_mass_kg).set("payload_kg", t.payload_kg).set("test_mass_kg", t.test_mass_kg);
  j.set("self_weight_of_ground", p::name(t.there.known)).set("frictional_modulus_ratio", t.there.frictional_modulus_ratio);
  j.set("cg_height_with_payload_m", t.cg_height_with_payload_m);
  j.set("optimism_at_working_slip_rad", number_or_null(t.optimism_at_working_rad)).set("optimism_at_maximum_rad", number_or_null(t.optimism_at_maximum_rad));
  detail::set_margin(j, "rad", q.needed_rad, r.margin_rad(q));
  Json curves = Json::array();
  for (const p::TransferCurve& c : t.curves) curves.push(transfer_curve_json(c));
  return j.set("states", curves).set("what_carries_over", transfer_lines_json(t.lines));
}

}  // namespace hardpan::service
