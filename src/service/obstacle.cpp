// SPDX-License-Identifier: Apache-2.0
#include "service/obstacle.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/problems.hpp"
#include "formats/profile_file.hpp"
#include "formats/vehicle_file.hpp"

namespace hardpan::service {

using io::Json;
namespace p = performance;

ObstacleResult obstacle(const ObstacleRequest& q) {
  base::Problems problems;
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) {
    problems.refuse({.place = {.key = "--gravity"}, .what = "gravity is not stated or out of range", .value = fmt::format("{:g} m/s^2", q.gravity_m_s2), .bound = "above 0 to 100 m/s^2"});
  }
  if (q.friction && !(*q.friction > 0 && *q.friction <= 2)) {
    problems.refuse({.place = {.key = "--friction"}, .what = "not a friction coefficient of a wheel on ground", .value = fmt::format("{:g}", *q.friction), .bound = "above 0 to 2"});
  }
  if (q.step_m && !(std::abs(*q.step_m) <= 20)) problems.refuse({.place = {.key = "--step"}, .what = "out of range", .value = fmt::format("{:g} m", *q.step_m), .bound = "-20 to 20 m"});
  if (q.gap_m && !(*q.gap_m > 0 && *q.gap_m <= 50)) problems.refuse({.place = {.key = "--gap"}, .what = "out of range", .value = fmt::format("{:g} m", *q.gap_m), .bound = "above 0 to 50 m"});
  if (q.step_m.has_value() + q.gap_m.has_value() + q.profile_file.has_value() > 1) {
    problems.refuse({.place = {.key = "--step"}, .what = "more than one obstacle is given", .bound = "one of --step, --gap and --profile"});
  }
  if (!q.friction && !q.step_m && !q.gap_m && !q.profile_file) {
    problems.refuse({.place = {.key = "--friction"}, .what = "neither an obstacle nor a friction coefficient is given", .remedy = "give --step, --gap or --profile, or --friction for the limits"});
  }
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the files are read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  std::optional<p::Profile> profile;
  if (q.profile_file) profile = formats::read_profile(*q.profile_file, *q.profile_file, problems);
  problems.throw_if_refused();
  const auto side = p::profile_vehicle(*v, q.gravity_m_s2);
  if (!side || side->axles.size() < 2) {
    problems.refuse({.place = {.file = q.vehicle_file, .key = "axle"}, .what = "a vehicle of this many axles is not crossed with", .value = std::to_string(v->axles.size()), .bound = fmt::format("2 to {}", p::kMostAxles)});
    problems.throw_if_refused();
  }
  ObstacleResult r{.vehicle = v->name, .axles = side->axles.size()};
  double largest = 0;
  for (const p::ProfileAxle& a : side->axles) largest = std::max(largest, a.radius_m);
  if (q.step_m) profile = p::Profile::step(*q.step_m);
  // As deep as no wheel reaches the bottom.
  if (q.gap_m) profile = p::Profile::gap(*q.gap_m, 4 * largest);
  r.obstacle = q.step_m ? fmt::format("a step {} of {:.4g} m", *q.step_m < 0 ? "down" : "up", std::abs(*q.step_m)) : q.gap_m ? fmt::format("a gap of {:.4g} m without a bottom", *q.gap_m) : q.profile_file ? "the profile of " + *q.profile_file : "";
  p::CrossingSettings settings{.friction = q.friction, .split = q.equal_torques ? p::TorqueSplit::equal : p::TorqueSplit::best};
  if (profile) r.crossing = p::cross(*side, *profile, settings);
  if (q.friction) {
    r.step = p::highest_step(*side, settings, {});
    r.gap = p::widest_gap(*side, settings, {});
  }
  return r;
}

namespace {

Json number_or_null(double v) { return std::isfinite(v) ? Json(v) : Json(); }

Json limit_json(const p::ObstacleLimit& l) {
  Json j = Json::object();
  j.set("passes_m", l.passes_m).set("fails_m", number_or_null(l.fails_m)).set("stopped_by", l.stopped_by ? Json(p::name(*l.stopped_by)) : Json());
  return j.set("solve", base::name(l.solve.status));
}

}  // namespace

Json obstacle_json(const ObstacleRequest& q, const ObstacleResult& r) {
  Json j = Json::object();
  j.set("vehicle", r.vehicle).set("axles", r.axles).set("obstacle", r.obstacle).set("friction_ratio", q.friction ? Json(*q.friction) : Json());
  j.set("torque_split", q.equal_torques ? "equal" : "best");
  if (const auto& c = r.crossing) {
    Json k = Json::object();
    k.set("passes", c->passes).set("stopped_by", c->stopped_by ? Json(p::name(*c->stopped_by)) : Json()).set("stopped_at_m", number_or_null(c->stopped_at_m));
    k.set("least_friction_ratio", number_or_null(c->least_friction)).set("critical_travel_m", number_or_null(c->critical_m));
    k.set("friction_climbing_ratio", number_or_null(c->climbing.friction)).set("friction_holding_ratio", number_or_null(c->holding.friction));
    k.set("largest_axle_torque_n_m", number_or_null(c->largest_torque_n_m));
    const bool limited = c->largest_torque_share > 0 || c->largest_torque_n_m == 0;  // a torque, and 0 of its limits: no drive has one
    k.set("torque_share_of_limit_ratio", limited ? number_or_null(c->largest_torque_share) : Json());
    k.set("drops", c->drops).set("deepest_drop_m", c->deepest_drop_m).set("poses", c->poses).set("solve", base::name(c->solve.status));
    j.set("crossing", k);
  }
  if (r.step) j.set("highest_step", limit_json(*r.step));
  if (r.gap) j.set("widest_gap", limit_json(*r.gap));
  return j;
}

}  // namespace hardpan::service
