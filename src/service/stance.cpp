// SPDX-License-Identifier: Apache-2.0
#include "service/stance.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/problems.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"
#include "service/whole_vehicle.hpp"

namespace hardpan::service {

TipOverResult tip_over(const TipOverRequest& q) {
  base::Problems problems;
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) {
    problems.refuse({.place = {.key = "--gravity"}, .what = "gravity is not stated or out of range", .value = fmt::format("{:g} m/s^2", q.gravity_m_s2), .bound = "above 0 to 100 m/s^2"});
  }
  if (!(q.low_side_rut_m >= 0 && q.low_side_rut_m <= 10)) problems.refuse({.place = {.key = "--rut"}, .what = "out of range", .value = fmt::format("{:g} m", q.low_side_rut_m), .bound = "0 to 10 m"});
  if (!(q.directions >= 4 && q.directions <= 360)) problems.refuse({.place = {.key = "--directions"}, .what = "out of range", .value = std::to_string(q.directions), .bound = "4 to 360"});
  if (!(std::abs(q.line_angle_rad) < 1.4)) problems.refuse({.place = {.key = "--line-angle"}, .what = "out of range", .value = fmt::format("{:g} deg", q.line_angle_rad * 180 / std::numbers::pi), .bound = "-80 to 80 deg"});
  detail::check_needed_slope(q.needed_rad, problems);
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the file is read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  problems.throw_if_refused();
  TipOverResult r{.vehicle = v->name, .stance = performance::stance_of(*v, q.gravity_m_s2), .remarks = detail::remarks_of(problems)};
  if (q.hitch_pull_n) {
    if (!v->hitch) {
      problems.refuse({.place = {.file = q.vehicle_file, .key = "hitch"}, .what = "a pull is given and the vehicle has no hitch", .remedy = "add [hitch] with ahead_of_rear_axle and height"});
      problems.throw_if_refused();
    }
    r.stance.hitch = performance::HitchForce{v->hitch->x_m, v->hitch->height_m, *q.hitch_pull_n, q.line_angle_rad};
  }
  r.lines = performance::tip_over_round(*v, r.stance, q.gravity_m_s2, q.directions, q.low_side_rut_m);
  r.doubt = performance::tip_over_doubt(*v, r.stance, q.gravity_m_s2, q.low_side_rut_m, r.lines);
  for (std::size_t i = 1; i < r.lines.size(); ++i) {
    if (r.lines[i].working_rad < r.lines[r.lowest].working_rad) r.lowest = i;
  }
  if (v->bodies.size() > 1) {
    for (const vehicle::Body& b : v->bodies) r.bodies.push_back(b.name);
  }
  return r;
}

io::Json tip_over_json(const TipOverRequest& q, const TipOverResult& r) {
  io::Json j = io::Json::object();
  j.set("vehicle", r.vehicle).set("weight_n", r.stance.weight_n).set("cg_x_m", r.stance.cg_x_m).set("cg_y_m", r.stance.cg_y_m).set("cg_z_m", r.stance.cg_z_m);
  j.set("low_side_rut_m", q.low_side_rut_m).set("working_share_ratio", performance::kWorkingShare);
  io::Json lines = io::Json::array();
  for (std::size_t i = 0; i < r.lines.size(); ++i) {
    const performance::TipDirection& l = r.lines[i];
    io::Json k = tip_direction_json(l, r.bodies);
    k.set("working_limit_95_rad", detail::interval_json(r.doubt ? std::optional(r.doubt->working_rad[i]) : std::nullopt));
    detail::set_margin(k, "rad", q.needed_rad, q.needed_rad ? std::optional(l.working_rad - *q.needed_rad) : std::nullopt);
    lines.push(k);
  }
  return j.set("directions", lines).set("lowest", static_cast<double>(r.lowest)).set("least_working_limit_95_rad", detail::interval_json(r.doubt ? std::optional(r.doubt->least_working_rad) : std::nullopt));
}

}  // namespace hardpan::service
