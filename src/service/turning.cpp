// SPDX-License-Identifier: Apache-2.0
#include "service/turning.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/problems.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"

namespace hardpan::service {

using detail::number_or_null;
using detail::solve_json;
using io::Json;
namespace p = performance;
using vehicle::SteeringKind;

namespace {

constexpr double kDeg = 180 / std::numbers::pi;

void check_request(const TurningRequest& q, base::Problems& problems) {
  const auto refuse = [&](const char* key, const char* what, std::string value, const char* bound) { problems.refuse({.place = {.key = key}, .what = what, .value = std::move(value), .bound = bound}); };
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) refuse("--gravity", "gravity is not stated or out of range", fmt::format("{:g} m/s^2", q.gravity_m_s2), "above 0 to 100 m/s^2");
  for (const double r : q.radii_m) {
    if (!(r >= 0 && r <= 1e5)) refuse("--radius", "not a turning radius", fmt::format("{:g} m", r), "0 (on the spot) to 100 km; --to right for the other side");
  }
  if (!(q.gradient_rad >= 0 && q.gradient_rad < 80 / kDeg)) refuse("--gradient", "out of range: the heading tells uphill from downhill", fmt::format("{:g} deg", q.gradient_rad * kDeg), "0 to below 80 deg");
  if (!(std::abs(q.heading_rad) <= 2 * std::numbers::pi)) refuse("--heading", "out of range", fmt::format("{:g} deg", q.heading_rad * kDeg), "-360 to 360 deg");
  if (!(q.speed_m_s >= 0 && q.speed_m_s <= 30)) refuse("--speed", "out of range for a turn on soft ground", fmt::format("{:g} m/s", q.speed_m_s), "0 to 30 m/s");
  if (q.crest_rad && !(*q.crest_rad > 0 && *q.crest_rad < 60 / kDeg)) refuse("--crest", "not a fall of the ground", fmt::format("{:g} deg", *q.crest_rad * kDeg), "above 0, below 60 deg");
  if (!(std::abs(q.crest_line_rad) <= std::numbers::pi)) refuse("--crest-line", "out of range", fmt::format("{:g} deg", q.crest_line_rad * kDeg), "-180 to 180 deg");
  if (q.needed_m && !(*q.needed_m >= 0 && *q.needed_m <= 1e5)) refuse("--need", "not a turning radius", fmt::format("{:g} m", *q.needed_m), "0 (on the spot) to 100 km");
  if (q.crab_rad && !(std::abs(*q.crab_rad) < 90 / kDeg)) refuse("--crab", "not an angle of a wheel", fmt::format("{:g} deg", *q.crab_rad * kDeg), "-90 to 90 deg");
}

bool steers_by_speeds(const vehicle::Vehicle& v) {
  return std::any_of(v.axles.begin(), v.axles.end(), [](const vehicle::Axle& a) { return a.wheels > 1 && a.drive.driven; });
}

void check_against(const TurningRequest& q, const vehicle::Vehicle& v, base::Problems& problems) {
  const SteeringKind kind = v.steering.kind;
  if (kind == SteeringKind::crab) {
    if (!q.radii_m.empty()) problems.refuse({.place = {.key = "--radius"}, .what = "crab steering does not turn", .bound = "no radius", .remedy = "give --crab, or describe wheels that steer to opposite sides as ackermann with all axles named"});
    if (q.soil) problems.refuse({.place = {.key = "--soil"}, .what = "crab steering travels straight, at an angle; what that takes on soil is not computed here", .bound = "no soil", .remedy = "'hardpan climb' for straight travel"});
  } else if (q.crab_rad) {
    problems.refuse({.place = {.key = "--crab"}, .what = "the vehicle file does not say crab steering", .value = vehicle::name(kind), .remedy = "kind = \"crab\" under [steering]"});
  }
  if (const std::string why = p::why_not_followed(v); !why.empty()) problems.refuse({.place = {.file = q.vehicle_file, .key = "joint.yaw"}, .what = why, .remedy = "turn the towing bodies by themselves, or say yaw = \"rigid\" where it is locked"});
  else if (p::follows(v) && kind == SteeringKind::crab) problems.refuse({.place = {.file = q.vehicle_file, .key = "joint.yaw"}, .what = "crab steering, and bodies that follow at a joint that yaws", .remedy = "say yaw = \"rigid\" where it is locked"});
  else if (p::follows(v) && q.soil) problems.refuse({.place = {.key = "--soil"}, .what = "bodies follow at a joint that yaws: what that takes on soil is not computed", .bound = "no soil", .remedy = "leave the soil out for the geometry, or turn the towing bodies by themselves"});
  if (v.axles.size() > p::kMaxAxles) problems.refuse({.place = {.file = q.vehicle_file, .key = "axle"}, .what = "a vehicle of this many axles is not turned", .value = std::to_string(v.axles.size()), .bound = fmt::format("2 to {}", p::kMaxAxles)});
  int wheels = 0;
  for (const vehicle::Axle& a : v.axles) wheels += a.wheels;
  if (wheels < 3) problems.refuse({.place = {.file = q.vehicle_file, .key = "axle.wheels"}, .what = "too few wheels to stand by themselves", .value = std::to_string(wheels), .bound = "three or more"});
  if (kind == SteeringKind::skid && !steers_by_speeds(v)) problems.refuse({.place = {.file = q.vehicle_file, .key = "steering"}, .what = "no driven wheels stand left and right, so that their speeds cannot steer", .remedy = "add [steering], or say which axles are driven"});
}

}  // namespace

std::vector<double> turn_ladder(const vehicle::Vehicle& v, double smallest_m) {
  std::vector<double> out;
  for (const double share : {20.0, 10.0, 5.0, 3.0, 2.0, 1.5, 1.0}) {
    if (share * vehicle::wheelbase_m(v) > 1.001 * smallest_m) out.push_back(share * vehicle::wheelbase_m(v));
  }
  out.push_back(smallest_m);
  return out;
}

std::string why_no_turn(const vehicle::Vehicle& v) {
  if (v.steering.kind == SteeringKind::crab) return "crab steering does not turn";
  if (p::follows(v)) return "bodies follow at a joint that yaws: what that takes on soil is not computed";
  if (v.axles.size() > p::kMaxAxles) return "a vehicle of this many axles is not turned";
  if (vehicle::wheel_count(v) < 3) return "too few wheels to stand by themselves";
  if (v.steering.kind == SteeringKind::skid && !steers_by_speeds(v)) return "no driven wheels stand left and right, so that their speeds cannot steer";
  return "";
}

const p::TurnState& TurnPair::lead() const {
  if (!without.balanced()) return without;
  if (!with.balanced()) return with;
  return with.work_j_per_rad >= without.work_j_per_rad ? with : without;
}

const p::SmallestTurn& TurningResult::smallest_on_soil() const { return std::abs(with->goes_m) >= std::abs(without->goes_m) ? *with : *without; }

bool TurningResult::unsolved() const {
  if (!soil) return false;
  if (smallest_on_soil().limit == p::TurnLimit::not_converged) return true;
  return std::any_of(lines.begin(), lines.end(), [](const TurningLine& l) { return l.limit == p::TurnLimit::not_converged; });
}

std::optional<double> TurningResult::margin_m(const TurningRequest& q) const {
  if (!q.needed_m || !without || !std::isfinite(smallest_on_soil().goes_m)) return std::nullopt;
  return *q.needed_m - std::abs(smallest_on_soil().goes_m);
}

TurningResult turning(const TurningRequest& q) {
  base::Problems problems;
  check_request(q, problems);
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the file is read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  soil::NamedSoil soil;
  if (q.soil) soil = detail::resolve(*q.soil, problems);
  if (v) check_against(q, *v, problems);
  problems.throw_if_refused();
  const SteeringKind kind = v->steering.kind;
  TurningResult r{.vehicle = v->name, .steering = v->steering, .smallest = p::turn_at(*v, p::smallest_radius_m(*v)), .remarks = detail::remarks_of(problems)};
  if (kind == SteeringKind::crab) {
    r.crab = p::crab_travel(*v, q.crab_rad.value_or(v->steering.largest_angle_rad));
    return r;
  }
  const double side = q.to_right ? -1 : 1;
  std::vector<double> radii = q.radii_m.empty() ? turn_ladder(*v, p::smallest_radius_m(*v)) : q.radii_m;
  for (double& radius : radii) {
    radius = std::copysign(radius, side);
    TurningLine l{.geometry = p::turn_at(*v, radius)};
    if (!l.geometry.steerable) l.limit = l.geometry.followed ? p::TurnLimit::steering : p::TurnLimit::follower;
    r.lines.push_back(std::move(l));
  }
  if (!q.soil) return r;
  r.soil = soil;
  p::TurnCase turn{.radius_m = side, .gradient_rad = q.gradient_rad, .heading_rad = q.heading_rad, .speed_m_s = q.speed_m_s};
  if (q.crest_rad) turn.crest = p::Crest{*q.crest_rad, q.crest_line_rad};
  const auto solve = [&](soil::SlipSinkage rule, std::optional<p::SmallestTurn>& smallest) {
    const auto machine = p::make_turning_machine(*v, soil.soil, q.gravity_m_s2, rule, {.key = v->id}, problems);
    problems.throw_if_refused();
    smallest = p::smallest_turn(*machine, turn);
    return p::turns_on_soil(*machine, turn, radii);
  };
  const auto without = solve(soil::SlipSinkage::none, r.without), with = solve(q.slip_sinkage, r.with);
  for (std::size_t i = 0; i < r.lines.size(); ++i) {
    TurningLine& l = r.lines[i];
    l.on_soil = TurnPair{without[i], with[i]};
    l.limit = p::limit_of(l.on_soil->lead());
    // Beyond what already stopped it at a larger radius, a search that found nothing is no surprise.
    // Skid steering is another matter: with a limit at one radius it may go at a smaller one, as on the spot.
    const bool beyond = std::abs(radii[i]) < std::abs(r.smallest_on_soil().goes_m) && kind != SteeringKind::skid;
    if (l.limit == p::TurnLimit::not_converged && beyond) l.limit = r.smallest_on_soil().limit;
  }
  return r;
}

namespace {

Json limit_or_null(p::TurnLimit limit) { return limit == p::TurnLimit::none ? Json() : Json(p::name(limit)); }

Json geometry_json(const p::Turn& t) {
  Json j = Json::object();
  j.set("radius_m", number_or_null(t.radius_m)).set("steerable", t.steerable).set("turning_centre_ahead_of_rear_axle_m", t.centre_x_m);
  j.set("inner_angle_rad", t.inner_angle_rad).set("outer_angle_rad", t.outer_angle_rad).set("centre_of_gravity_radius_m", number_or_null(t.cg_radius_m));
  j.set("outer_wheel_radius_m", number_or_null(t.outer_wheel_radius_m)).set("inner_wheel_radius_m", number_or_null(t.inner_wheel_radius_m));
  j.set("outermost_m", number_or_null(t.outermost_m)).set("swept_width_m", t.swept_width_m);
  Json followers = Json::array();
  for (const p::Follower& f : t.followers) followers.push(Json::object().set("joint", static_cast<double>(f.joint + 1)).set("angle_rad", f.angle_rad).set("radius_m", number_or_null(f.radius_m)));
  return j.set("followers", followers).set("followers_come_round", t.followed);
}

Json state_json(const TurningRequest& q, const p::TurnState& s, bool wheels) {
  Json j = Json::object();
  j.set("status", p::name(s.status)).set("goes", s.goes()).set("radius_m", number_or_null(s.radius_m)).set("turning_centre_ahead_of_rear_axle_m", number_or_null(s.centre_x_m));
  j.set("drift_rad", number_or_null(s.drift_rad)).set("inner_angle_rad", number_or_null(s.inner_angle_rad)).set("outer_angle_rad", number_or_null(s.outer_angle_rad));
  j.set("share_of_largest_angle_ratio", number_or_null(s.share_of_largest_angle)).set("largest_torque_n_m", number_or_null(s.largest_torque_n_m));
  j.set("share_of_peak_torque_ratio", number_or_null(s.torque_share)).set("share_of_peak_power_ratio", q.speed_m_s > 0 ? number_or_null(s.power_share) : Json());
  j.set("work_j_per_m", number_or_null(s.work_j_per_m)).set("work_j_per_rad", number_or_null(s.work_j_per_rad)).set("slope_work_j_per_m", number_or_null(s.slope_work_j_per_m));
  j.set("power_w", q.speed_m_s > 0 ? number_or_null(s.work_j_per_m * q.speed_m_s) : Json());
  // Followed in ever smaller steps to where the balances have no solution: a "no" of the ground, and how the last of those tries ended is no open question.
  base::SolveReport solve = s.solve;
  if (s.status == p::TurnStatus::no_balance) solve.status = base::SolveStatus::no_solution;
  j.set("solve", solve_json(solve, "n"));
  if (!wheels) return j;
  Json list = Json::array();
  for (const p::WheelInTurn& w : s.wheels) {
    Json k = Json::object();
    k.set("axle", w.place.axle + 1).set("ahead_of_rear_axle_m", w.place.x_m).set("left_m", w.place.y_m).set("steer_rad", w.place.steer_rad).set("load_n", w.load_n);
    k.set("slip_ratio", number_or_null(w.answer.slip_ratio)).set("slip_angle_rad", number_or_null(w.answer.slip_angle_rad)).set("backward", w.backward);
    k.set("sinkage_m", number_or_null(w.answer.sinkage_m)).set("along_n", w.along_n).set("side_force_n", w.across_n).set("torque_n_m", w.torque_n_m);
    k.set("turned_rad_per_m", number_or_null(w.rad_per_m)).set("turned_rad_per_rad", number_or_null(w.rad_per_rad));
    list.push(k);
  }
  j.set("wheels", list);
  Json flags = Json::array();
  for (const std::string& f : contact::sentences(s.flags)) flags.push(f);
  return j.set("flags", flags);
}

Json smallest_json(const p::SmallestTurn& s) {
  Json j = Json::object();
  j.set("goes_m", number_or_null(s.goes_m)).set("fails_m", number_or_null(s.fails_m)).set("stopped_by", limit_or_null(s.limit));
  return j.set("solve", solve_json(s.solve, "m"));
}

}  // namespace

Json turning_json(const TurningRequest& q, const TurningResult& r) {
  Json j = Json::object();
  j.set("vehicle", r.vehicle).set("steering", vehicle::name(r.steering.kind)).set("largest_angle_rad", r.steering.kind == SteeringKind::skid ? Json() : Json(r.steering.largest_angle_rad));
  j.set("smallest_by_geometry", r.steering.kind == SteeringKind::crab ? Json() : geometry_json(r.smallest));
  if (r.crab) {
    Json k = Json::object();
    k.set("angle_rad", r.crab->angle_rad).set("steerable", r.crab->steerable).set("sideways_per_metre_ratio", r.crab->sideways_per_m).set("swept_width_m", r.crab->swept_width_m);
    j.set("crab", k);
  }
  j.set("side", q.to_right ? "right" : "left");
  detail::set_margin(j, "m", q.needed_m, r.margin_m(q));
  if (r.soil) {
    j.set("soil", detail::soil_json(*r.soil)).set("slip_sinkage", soil::name(q.slip_sinkage)).set("gradient_rad", q.gradient_rad).set("heading_rad", q.heading_rad);
    j.set("speed_m_per_s", q.speed_m_s).set("crest_fall_rad", q.crest_rad).set("crest_line_rad", q.crest_rad ? Json(q.crest_line_rad) : Json());
    j.set("smallest_on_soil", smallest_json(r.smallest_on_soil())).set("smallest_without_slip_sinkage", smallest_json(*r.without)).set("smallest_with_slip_sinkage", smallest_json(*r.with));
  }
  Json lines = Json::array();
  for (const TurningLine& l : r.lines) {
    Json k = Json::object();
    k.set("radius_m", l.geometry.radius_m).set("stopped_by", limit_or_null(l.limit)).set("geometry", geometry_json(l.geometry));
    if (l.on_soil) {
      k.set("on_soil", state_json(q, l.on_soil->lead(), true));
      k.set("without_slip_sinkage", state_json(q, l.on_soil->without, false)).set("with_slip_sinkage", state_json(q, l.on_soil->with, false));
    }
    lines.push(k);
  }
  return j.set("lines", lines);
}

}  // namespace hardpan::service
