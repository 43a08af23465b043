// SPDX-License-Identifier: Apache-2.0
#include "service/whole_vehicle.hpp"

#include "service/detail/json_parts.hpp"
#include "service/weights.hpp"

namespace hardpan::service {

void answer_vehicles(campaign::Results& results) {
  constexpr int kDirections = 8;
  const double gravity = results.campaign.gravity_m_s2;
  for (const vehicle::Vehicle& v : results.campaign.vehicles) {
    campaign::VehicleResult r{.vehicle = v.id, .clearances = performance::clearances(v, gravity)};
    base::Problems none;  // without a soil nothing is refused
    r.weights = performance::placement_trade(v, gravity, std::nullopt, none);
    if (vehicle::wheel_count(v) >= 3) {
      const performance::Stance stance = performance::stance_of(v, gravity);
      r.tips = performance::tip_over_round(v, stance, gravity, kDirections, 0);
      r.tips_doubt = performance::tip_over_doubt(v, stance, gravity, 0, r.tips);
    }
    results.vehicles.push_back(std::move(r));
  }
}

namespace {

io::Json tip_solve_json(const performance::TipOver& tip) { return tip.solve ? detail::solve_json(*tip.solve, "rad") : io::Json("closed form"); }

}  // namespace

io::Json tip_direction_json(const performance::TipDirection& l, const std::vector<std::string>& bodies) {
  io::Json k = io::Json::object();
  k.set("fall_line_from_nose_to_left_rad", l.fall_rad).set("static_rad", l.still.angle_rad).set("tips", performance::name(l.still.about)).set("solve", tip_solve_json(l.still));
  if (l.body) k.set("body", bodies[*l.body]);
  k.set("settled_rad", l.settled.tip.angle_rad).set("settled_tips", performance::name(l.settled.tip.about)).set("lean_at_tip_rad", l.settled.lean_at_tip_rad);
  if (l.settled.body) k.set("settled_body", bodies[*l.settled.body]);
  k.set("settled_solve", tip_solve_json(l.settled.tip));
  return k.set("stands_settled", l.settled.stands_settled).set("working_limit_rad", l.working_rad);
}

io::Json vehicle_alone_json(const campaign::VehicleResult& r, const campaign::Campaign& c) {
  io::Json j = io::Json::object();
  j.set("vehicle", r.vehicle);
  std::vector<std::string> bodies;
  if (const vehicle::Vehicle* v = c.vehicle_by_id(r.vehicle)) {
    for (const vehicle::Body& b : v->bodies) bodies.push_back(b.name);
  }
  io::Json tips = io::Json::array();
  for (std::size_t i = 0; i < r.tips.size(); ++i) {
    io::Json t = tip_direction_json(r.tips[i], bodies);
    tips.push(t.set("working_limit_95_rad", detail::interval_json(r.tips_doubt ? std::optional(r.tips_doubt->working_rad[i]) : std::nullopt)));
  }
  j.set("tip_over", tips).set("least_working_limit_95_rad", detail::interval_json(r.tips_doubt ? std::optional(r.tips_doubt->least_working_rad) : std::nullopt));
  if (const vehicle::Vehicle* v = c.vehicle_by_id(r.vehicle)) j.set("placements", trade_json(r.weights, *v));
  const auto angle = [&](const char* key, const std::optional<performance::ClearanceAngle>& a) {
    io::Json k;
    if (a) {
      k = io::Json::object();
      k.set("angle_rad", a->angle_rad).set("at_x_m", a->at_x_m).set("at_z_m", a->at_z_m);
    }
    j.set(key, k);
  };
  angle("approach", r.clearances.approach);
  angle("departure", r.clearances.departure);
  angle("break_over", r.clearances.break_over);
  return j.set("belly_clearance_m", r.clearances.belly ? io::Json(r.clearances.belly->at_z_m) : io::Json());
}

}  // namespace hardpan::service
