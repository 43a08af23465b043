// SPDX-License-Identifier: Apache-2.0
#include "service/obstacles.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/thread_pool.hpp"
#include "campaign/flattening.hpp"
#include "performance/obstacle_friction.hpp"
#include "performance/obstacle_view.hpp"
#include "service/detail/json_parts.hpp"
#include "service/json_results.hpp"

namespace hardpan::service {

using campaign::ObstacleAnswer;
using campaign::ObstacleQuestion;
using campaign::ObstacleRule;
using detail::number_or_null;
using io::Json;
namespace p = performance;

namespace {

constexpr std::size_t kStretches = 240, kFilmPlaces = 6;

// Friction there and its draws.
struct Friction {
  std::string why_not;
  math::Estimate estimate;
  std::vector<double> next_point;
  bool textbook = false;
};

Friction friction_of_ground(const vehicle::Vehicle& v, const std::string& zone, const std::optional<p::Ground>& ground, const p::DrawPlan& plan) {
  Friction out;
  if (!ground) {
    out.why_not = "the soil of the zone is not complete";
    return out;
  }
  base::Problems refused;
  const auto placed = p::place_vehicle(v, *ground, plan, {.key = "vehicle " + v.id + " on zone " + zone}, refused);
  if (!placed) {
    out.why_not = "the vehicle cannot be placed on this ground";
    for (const base::Problem& one : refused.list()) {
      if (one.severity == base::Severity::refusal) {
        out.why_not = one.text();
        break;
      }
    }
    return out;
  }
  p::Outcome o = p::obstacle_friction_outcome(*placed);
  out.estimate = o.estimate;
  out.textbook = ground->textbook;
  out.next_point = std::move(o.next_point);
  if (!std::isfinite(o.centre)) out.why_not = "the steepest climb on this ground has no numerical answer";
  else if (!(o.centre > 0)) out.why_not = "on this ground it does not move even on the level: " + std::string(p::name(o.centre_factor));
  return out;
}

// Friction there less what is needed: what is needed does not hang on the soil.
math::Estimate margin_of(const math::Estimate& friction, double needed) {
  math::Estimate e = friction;
  e.value -= needed;
  for (auto* i : {&e.average_ground, &e.next_point}) {
    if (*i) *i = math::Interval{(*i)->lo - needed, (*i)->hi - needed};
  }
  return e;
}

ObstacleRule rule_of(const p::ProfileVehicle& side, const p::Profile& ground, p::TorqueSplit split, const Friction& friction, std::vector<p::Frame>* frames) {
  ObstacleRule out;
  out.crossing = p::cross(side, ground, {.friction = friction.estimate.value, .split = split, .frames_every_m = p::kEveryPose_m});
  for (const p::NeedOnWay& n : p::need_along(out.crossing, kStretches)) out.curve.push_back({n.travel_m, n.friction});
  const double needed = out.crossing.least_friction;
  out.margin = margin_of(friction.estimate, needed);
  if (std::isfinite(needed) && !friction.next_point.empty()) {
    const auto enough = std::count_if(friction.next_point.begin(), friction.next_point.end(), [needed](double mu) { return mu >= needed; });
    out.enough_ratio = static_cast<double>(enough) / static_cast<double>(friction.next_point.size());
  }
  if (frames) *frames = std::move(out.crossing.frames);
  out.crossing.frames.clear();
  return out;
}

// Limits hang on vehicle and friction alone: found once for every obstacle that has both in common.
struct Limits {
  std::string vehicle;
  double friction = 0;
  const p::ProfileVehicle* side = nullptr;
  p::ObstacleLimit step, gap;
  void find() {
    const p::CrossingSettings s{.friction = friction};
    step = p::highest_step(*side, s, {});
    gap = p::widest_gap(*side, s, {});
  }
};
Limits* limits_of(std::vector<Limits>& all, const std::string& vehicle, double friction) {
  const auto at = std::find_if(all.begin(), all.end(), [&](const Limits& l) { return l.vehicle == vehicle && l.friction == friction; });
  return at == all.end() ? nullptr : &*at;
}

void cross_obstacle(ObstacleAnswer& out, const Friction& friction) {
  std::vector<p::Frame> frames;
  out.best = rule_of(out.side, *out.ground, p::TorqueSplit::best, friction, &frames);
  out.equal = rule_of(out.side, *out.ground, p::TorqueSplit::equal, friction, nullptr);
  p::Film film = p::film_of(std::move(frames), out.best.crossing, out.side, *out.ground, kFilmPlaces);
  out.film = std::move(film.frames);
  out.critical = film.critical;
}

}  // namespace

std::optional<p::Profile> profile_of(const ObstacleQuestion& q, const p::ProfileVehicle& vehicle) {
  if (q.step_m) return p::Profile::step(*q.step_m);
  return q.gap_m ? p::Profile::gap(*q.gap_m, p::no_bottom_m(vehicle)) : q.profile;
}

std::vector<ObstacleAnswer> answer_obstacles(const campaign::Results& r, const ComputeOptions& options, const p::DrawPlan& plan,
                                             const std::function<std::optional<p::Ground>(const std::string&)>& ground, const std::function<void(const std::string&)>& say) {
  std::vector<ObstacleAnswer> out;
  std::vector<Friction> frictions;
  for (const ObstacleQuestion& q : r.campaign.questions.obstacles) {
    for (const vehicle::Vehicle& v : r.campaign.vehicles) {
      if (options.stop.stop_requested()) return out;
      if (!q.vehicles.empty() && std::find(q.vehicles.begin(), q.vehicles.end(), v.id) == q.vehicles.end()) continue;
      ObstacleAnswer a{.obstacle = q.id, .vehicle = v.id, .friction_from = q.friction ? "campaign.toml" : "the ground of " + q.zone};
      Friction friction;
      const auto side = p::profile_vehicle(v, r.campaign.gravity_m_s2);
      if (!side || side->axles.size() < 2) {
        a.why_not = "a vehicle of fewer than 2 or more than " + std::to_string(p::kMostAxles) + " axles is not crossed with";
      } else {
        a.side = *side;
        a.ground = profile_of(q, *side);
        if (q.friction) friction.estimate = math::estimate_without_interval(*q.friction, "stated in campaign.toml");
        else friction = friction_of_ground(v, q.zone, ground(q.zone), plan);
        a.friction = friction.estimate;
        a.textbook = friction.textbook;
        a.why_not = friction.why_not;
      }
      out.push_back(std::move(a));
      frictions.push_back(std::move(friction));
    }
  }
  if (out.empty()) return out;
  say("crossing obstacles");
  std::vector<Limits> limits;
  const auto low_of = [](const ObstacleAnswer& a) { return a.friction.next_point && a.friction.next_point->lo > 0 ? std::optional(a.friction.next_point->lo) : std::nullopt; };
  for (const ObstacleAnswer& a : out) {
    if (!a.why_not.empty()) continue;
    for (const auto& mu : {std::optional(a.friction.value), low_of(a)}) {
      if (mu && !limits_of(limits, a.vehicle, *mu)) limits.push_back({.vehicle = a.vehicle, .friction = *mu, .side = &a.side});
    }
  }
  const base::ThreadPool pool(options.threads);
  pool.for_chunks(out.size() + limits.size(), 1, options.stop, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      if (i >= out.size()) {
        limits[i - out.size()].find();
      } else if (out[i].why_not.empty()) {
        cross_obstacle(out[i], frictions[i]);
      }
    }
  });
  for (ObstacleAnswer& a : out) {
    if (!a.why_not.empty()) continue;
    const Limits* best = limits_of(limits, a.vehicle, a.friction.value);
    a.step = best->step;
    a.gap = best->gap;
    if (const auto low = low_of(a)) {
      const Limits* at_low = limits_of(limits, a.vehicle, *low);
      a.step_low = at_low->step;
      a.gap_low = at_low->gap;
    }
  }
  return out;
}

Json obstacle_limit_json(const p::ObstacleLimit& l) {
  Json j = Json::object();
  j.set("passes_m", l.passes_m).set("fails_m", number_or_null(l.fails_m)).set("stopped_by", l.stopped_by ? Json(p::name(*l.stopped_by)) : Json());
  return j.set("solve", detail::solve_json(l.solve, "m"));
}

Json crossing_json(const p::ProfileVehicle& vehicle, const p::Crossing& c) {
  Json k = Json::object();
  k.set("passes", c.passes).set("stopped_by", c.stopped_by ? Json(p::name(*c.stopped_by)) : Json()).set("stopped_at_m", number_or_null(c.stopped_at_m));
  k.set("least_friction_ratio", number_or_null(c.least_friction)).set("critical_travel_m", number_or_null(c.critical_m));
  k.set("friction_climbing_ratio", number_or_null(c.climbing.friction)).set("friction_holding_ratio", number_or_null(c.holding.friction));
  const bool limited = c.largest_torque_share > 0 || c.largest_torque_n_m == 0;  // a torque, and 0 of its limits: no drive has one
  k.set("largest_axle_torque_n_m", number_or_null(c.largest_torque_n_m)).set("torque_share_of_limit_ratio", limited ? number_or_null(c.largest_torque_share) : Json());
  k.set("drops", c.drops).set("deepest_drop_m", c.deepest_drop_m).set("largest_wheel_deflection_m", c.largest_deflection_m).set("beyond_deflection_table", c.beyond_table);
  const auto flattened = campaign::flattened_ratio(vehicle, c);
  k.set("wheel_deflection_of_radius_ratio", flattened).set("flattened_over_a_quarter", flattened.value_or(0) > campaign::kMuchFlattened);
  return k.set("poses", c.poses).set("solve", detail::solve_json(c.solve, "n"));
}

namespace {

Json rule_json(const ObstacleAnswer& a, const ObstacleRule& r) {
  Json j = crossing_json(a.side, r.crossing);
  j.set("margin", std::isfinite(r.margin.value) ? estimate_json(r.margin) : Json()).set("friction_enough_ratio", r.enough_ratio);
  Json torques = Json::array(), curve = Json::array();
  if (std::isfinite(r.crossing.largest_torque_n_m)) {
    for (std::size_t k = 0; k < a.side.axles.size(); ++k) torques.push(r.crossing.axle_torque_n_m[k]);
  }
  for (const campaign::NeededFriction& n : r.curve) curve.push(Json::object().set("travel_m", n.travel_m).set("friction_needed_ratio", number_or_null(n.friction)));
  return j.set("axle_torques_n_m", torques).set("along_the_way", curve);
}

}  // namespace

Json obstacles_json(const std::vector<ObstacleAnswer>& answers) {
  Json out = Json::array();
  for (const ObstacleAnswer& a : answers) {
    Json j = Json::object();
    j.set("obstacle", a.obstacle).set("vehicle", a.vehicle).set("status", a.why_not.empty() ? "computed" : a.why_not).set("friction_from", a.friction_from).set("textbook_soil", a.textbook);
    if (a.why_not.empty()) {
      j.set("friction_there", estimate_json(a.friction)).set("best_split", rule_json(a, a.best)).set("equal_torques", rule_json(a, a.equal));
      j.set("highest_step", obstacle_limit_json(a.step)).set("widest_gap", obstacle_limit_json(a.gap));
      j.set("highest_step_low_friction", a.step_low ? obstacle_limit_json(*a.step_low) : Json()).set("widest_gap_low_friction", a.gap_low ? obstacle_limit_json(*a.gap_low) : Json());
    }
    out.push(j);
  }
  return out;
}

}  // namespace hardpan::service
