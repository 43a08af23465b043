// SPDX-License-Identifier: Apache-2.0
#include "service/weights.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"

namespace hardpan::service {

using io::Json;

WeightsResult weights(const WeightsRequest& q) {
  base::Problems problems;
  const bool possible = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100;
  if (!possible) problems.refuse({.place = {.key = "--gravity"}, .what = "gravity is not stated or out of range", .value = fmt::format("{:g} m/s^2", q.gravity_m_s2), .bound = "above 0 to 100 m/s^2"});
  if (q.slip_ratio && !(*q.slip_ratio > 0 && *q.slip_ratio < 0.95)) {
    problems.refuse({.place = {.key = "--slip"}, .what = "not a working slip", .value = fmt::format("{:g} %", 100 * *q.slip_ratio), .bound = "above 0, below 95 %"});
  }
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, possible ? q.gravity_m_s2 : 9.81, problems);
  WeightsResult r;
  if (q.soil) r.soil = detail::resolve(*q.soil, problems);
  const auto movable = [](const vehicle::Payload& p) { return p.x_allowed || p.y_allowed || p.z_allowed; };
  if (v && std::none_of(v->payload.begin(), v->payload.end(), movable)) {
    problems.refuse({.place = {.file = q.vehicle_file, .key = "payload"}, .what = "nothing on the vehicle may be moved", .bound = "a payload with allowed_ahead, allowed_left or allowed_height",
                     .remedy = "give batteries and payload the places they may take"});
  }
  problems.throw_if_refused();
  r.vehicle = *v;
  r.working_slip_ratio = q.slip_ratio.value_or(v->working_slip.value_or(0.2));
  std::optional<performance::ClimbOn> climb;
  if (r.soil) climb = performance::ClimbOn{r.soil->soil, q.slip_sinkage, r.working_slip_ratio};
  r.trade = performance::placement_trade(*v, q.gravity_m_s2, climb, problems);
  problems.throw_if_refused();
  r.remarks = detail::remarks_of(problems);
  return r;
}

Json trade_json(const performance::Trade& trade, const vehicle::Vehicle& v) {
  Json rows = Json::array();
  for (const performance::Placement& p : trade.rows) {
    Json places = Json::array();
    for (const performance::Placed3& at : p.places) {
      Json k = Json::object();
      places.push(k.set("payload", v.payload[at.payload].name).set("ahead_of_rear_axle_m", at.x_m).set("left_m", at.y_m).set("height_m", at.z_m));
    }
    Json loads = Json::array();
    for (const double n : p.wheel_load_n) loads.push(Json(n));
    Json j = Json::object();
    j.set("name", p.name).set("places", places).set("wheel_loads_n", loads).set("largest_over_mean_load_ratio", p.largest_share).set("cg_x_m", p.cg_x_m).set("cg_y_m", p.cg_y_m).set("cg_z_m", p.cg_z_m);
    j.set("gradient_rad", p.gradient_rad && *p.gradient_rad != performance::kNoGradient ? Json(*p.gradient_rad) : Json());
    j.set("solve", p.search ? detail::solve_json(*p.search, "m") : Json("closed form"));
    if (p.gradient_rad) j.set("limiting_factor", performance::name(p.factor)).set("gradient_solve", detail::solve_json(p.climb, "n"));
    rows.push(j.set("least_tip_angle_rad", p.tips_rad));
  }
  return rows;
}

Json weights_json(const WeightsResult& r) {
  Json j = Json::object();
  j.set("vehicle", r.vehicle.name);
  if (r.soil) j.set("soil", detail::soil_json(*r.soil)).set("working_slip_ratio", r.working_slip_ratio);
  return j.set("placements", trade_json(r.trade, r.vehicle)).set("evaluations", r.trade.evaluations);
}

}  // namespace hardpan::service
