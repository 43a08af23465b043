// SPDX-License-Identifier: Apache-2.0
#include "service/questions.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "campaign/no_travel.hpp"
#include "formats/vehicle_file.hpp"
#include "performance/boulder_field.hpp"
#include "performance/turning.hpp"
#include "service/detail/campaign_questions.hpp"
#include "service/detail/json_parts.hpp"
#include "service/json_results.hpp"
#include "service/obstacles.hpp"

namespace hardpan::service {

using campaign::Results;
using detail::number_or_null;
using io::Json;
namespace p = performance;

namespace detail {

std::string first_refusal(const base::Problems& problems) {
  for (const base::Problem& one : problems.list()) {
    if (one.severity == base::Severity::refusal) return one.text();
  }
  return "it is refused";
}

// Top speed of the drives on firm ground.
std::optional<double> top_speed_m_s(const vehicle::Vehicle& v) {
  std::optional<double> out;
  for (const vehicle::Axle& a : v.axles) {
    if (!a.drive.driven || !a.drive.max_speed_rad_per_s) continue;
    const double speed = *a.drive.max_speed_rad_per_s * vehicle::shearing_radius_m(a.wheel);
    out = std::min(out.value_or(speed), speed);
  }
  return out;
}

}  // namespace detail

namespace {

using detail::first_refusal;

constexpr double kDelays_s[] = {0.2, 0.5, 1, 1.5, 2, 3, 5, 8, 12, 20, 30};

p::DrawPlan plan_of(const Results& r, const ComputeOptions& o) {
  return {.gravity_m_s2 = r.campaign.gravity_m_s2, .seed = r.campaign.seed, .count = r.campaign.draws, .threads = o.threads,
          .target = o.plain_kernel ? contact::SimdTarget::plain : contact::SimdTarget::best};
}

campaign::RemoteAnswer answer_remote(const Results& r, const campaign::RemoteQuestion& q, const campaign::PairResult& pair, const p::Placed* placed, const vehicle::Vehicle& v, double ground_tan_phi, std::size_t threads) {
  campaign::RemoteAnswer out{.vehicle = pair.vehicle, .zone = pair.zone};
  const auto own = detail::top_speed_m_s(v);
  if (!own && !q.fastest_m_s) {
    out.why_not = "neither the drives nor campaign.toml state a top speed";
    return out;
  }
  out.fastest_from = own && (!q.fastest_m_s || *own <= *q.fastest_m_s) ? "the drives" : "campaign.toml";
  out.fastest_m_s = own && q.fastest_m_s ? std::min(*own, *q.fastest_m_s) : own ? *own : *q.fastest_m_s;
  out.half_width_m = 0.5 * (q.corridor_m - p::make_swath(v, 0).width_m());
  if (!(out.half_width_m > 0)) {
    out.why_not = "the corridor is no wider than the vehicle";
    return out;
  }
  const double radius = p::smallest_radius_m(v);
  out.smallest_radius_m = std::isfinite(radius) ? radius : 0;
  // Steady descent held: W sin a = mu W cos a. Part of what holds a deeply sunk vehicle is the resistance of its ruts, which a faster one may not meet: not counted beyond
  // the ground's own friction.
  const bool predicted = !pair.prediction.descent.estimate.status.empty();   // not where only headlines were
  const p::Outcome held = predicted || !placed ? pair.prediction.descent : p::descent_outcome(*placed);
  const math::Estimate& descent = held.estimate;
  const auto braking = [ground_tan_phi](double steepest_rad) { return steepest_rad > 0 ? std::min(std::tan(std::min(steepest_rad, 1.1)), ground_tan_phi) : 0.0; };
  if (!std::isfinite(descent.value)) {
    out.why_not = "the descent that the brakes hold has no numerical answer on this ground";
    return out;
  }
  out.braking_coefficient = braking(descent.value);
  if (descent.next_point && std::isfinite(descent.next_point->lo)) out.braking_low = braking(descent.next_point->lo);
  driving::Situation s{.path = driving::slalom(3 * q.slalom_wave_length_m, q.slalom_amplitude_m, q.slalom_wave_length_m),
                       .rule = {.look_ahead_m = q.look_ahead_m, .smallest_radius_m = out.smallest_radius_m, .anticipation_ratio = q.anticipation_ratio, .link = q.link},
                       .corridor = {.half_width_m = out.half_width_m, .fastest_m_s = out.fastest_m_s},
                       .sensing_range_m = q.sight_m, .gravity_m_s2 = r.campaign.gravity_m_s2, .braking_coefficient = out.braking_low.value_or(out.braking_coefficient), .gradient_rad = q.gradient_rad,
                       .thinking_s = q.thinking_s};
  std::vector<double> delays{q.link.delay.total_s()};
  for (const double d : kDelays_s) {
    if (d >= q.link.delay.reaction_s) delays.push_back(d);
  }
  std::sort(delays.begin(), delays.end());
  delays.erase(std::unique(delays.begin(), delays.end()), delays.end());
  // The same vehicle over the same course steers alike on any ground.
  const std::vector<driving::DelayPoint>* steered = nullptr;
  for (const campaign::RemoteAnswer& other : r.answers.remote) {
    if (other.vehicle == out.vehicle && !other.over_delay.empty()) steered = &other.over_delay;
  }
  out.over_delay = driving::speed_against_delay(s, delays, r.campaign.seed, steered, threads);
  for (const driving::DelayPoint& p : out.over_delay) {
    if (p.delay_s == q.link.delay.total_s()) out.at_delay = p.speed;
  }
  if (out.braking_low && *out.braking_low != out.braking_coefficient) {
    s.braking_coefficient = out.braking_coefficient;
    out.over_delay_best = driving::speed_against_delay(s, delays, r.campaign.seed, &out.over_delay, threads);
  }
  // Steering does not hang on braking: one answer to it serves every soil.
  const driving::SpeedHeld steering = out.at_delay.limited_by != driving::SpeedLimit::none ? out.at_delay.steering : driving::largest_speed_held(s.path, s.rule, s.corridor, r.campaign.seed);
  const auto driven = [&](double steepest_rad) {
    if (std::isnan(steepest_rad)) return steepest_rad;
    s.braking_coefficient = braking(steepest_rad);
    return driving::remote_speed(s, r.campaign.seed, &steering).speed_m_s;
  };
  out.speed_m_s.centre = driven(held.centre);
  for (const double steepest : held.average) out.speed_m_s.average.push_back(driven(steepest));
  for (const double steepest : held.next_point) out.speed_m_s.next_point.push_back(driven(steepest));
  out.speed_m_s.not_converged = held.not_converged;
  if (placed) out.speed_m_s.estimate = p::estimate_of_outcome(out.speed_m_s, *placed);
  return out;
}

// Sinkage at a slip and towed resistance are found whatever the ground lets go.
std::string limited_by(const p::Outcome& o, p::Compared quantity) {
  if (quantity == p::Compared::sinkage_20 || quantity == p::Compared::towed_resistance) return "";
  const auto shares = p::factors(o);
  const p::LimitingFactor factor = shares.empty() ? o.centre_factor : shares.front().first;
  return factor == p::LimitingFactor::none ? "" : p::name(factor);
}

campaign::VersusAnswer answer_versus(const Results& r, const campaign::VersusQuestion& q, const p::DrawPlan& plan, const std::optional<p::Ground>& ground) {
  campaign::VersusAnswer out{.a = q.a, .b = q.b, .zone = q.zone};
  const vehicle::Vehicle *a = r.campaign.vehicle_by_id(q.a), *b = r.campaign.vehicle_by_id(q.b);
  if (!ground || !a || !b) {
    out.why_not = "the soil of the zone is not complete";
    return out;
  }
  base::Problems refused;
  const auto pair = p::place_pair(*a, *b, *ground, plan, {.key = "vehicles " + q.a + " and " + q.b + " on zone " + q.zone}, refused);
  if (!pair) {
    out.why_not = first_refusal(refused);
    return out;
  }
  out.reason_without = pair->a.reason_without;
  for (const p::Compared quantity : p::kCompared) {
    const p::Versus v = p::compare(*pair, quantity, {.working_slip_a = a->working_slip.value_or(0.2), .working_slip_b = b->working_slip.value_or(0.2)});
    out.rows.push_back({quantity, v.a.estimate, v.b.estimate, v.difference, limited_by(v.a, quantity), limited_by(v.b, quantity), v.a_better_ratio, v.draws, v.left_out});
  }
  return out;
}

campaign::StudyAnswer answer_study(const Results& r, const campaign::StudyQuestion& q, const p::DrawPlan& plan, const std::optional<p::Ground>& ground) {
  campaign::StudyAnswer out{.vehicle = q.vehicle, .zone = q.zone};
  const vehicle::Vehicle* v = r.campaign.vehicle_by_id(q.vehicle);
  if (!v || (!ground && q.quantity != p::Studied::ride_margin)) {
    out.why_not = "the soil of the zone is not complete";
    return out;
  }
  base::Problems refused;
  p::StudySettings settings{.quantity = q.quantity, .slip_ratio = q.slip_ratio.value_or(v->working_slip.value_or(0.2)), .speed_m_s = q.speed_m_s, .needed = q.needed, .key_in_file = formats::vehicle_key_of_file};
  for (const campaign::RideQuestion& ride : r.campaign.questions.rides) {
    if (q.quantity != p::Studied::ride_margin || (!ride.zones.empty() && std::find(ride.zones.begin(), ride.zones.end(), q.zone) == ride.zones.end())) continue;
    for (const p::RoughGround& rough : ride.grounds) settings.over.push_back({rough, ride.settings, ride.question});
  }
  if (q.quantity == p::Studied::ride_margin && settings.over.empty()) {
    out.why_not = "no rough ground is stated for this zone: add [[ride]]";
    return out;
  }
  out.study = p::study(*v, ground.value_or(p::Ground{.zone = q.zone}), plan, q.variations, settings, {.key = "study"}, refused);
  if (!out.study) out.why_not = first_refusal(refused);
  return out;
}

Json speed_json(const driving::RemoteSpeed& s) {
  return Json::object().set("speed_m_per_s", s.speed_m_s).set("limited_by", driving::name(s.limited_by)).set("stop_limited_m_per_s", s.stop_limited_m_s).set("corridor_held_to_m_per_s", s.steering.speed_m_s)
      .set("move_and_wait_m_per_s", s.move_and_wait_m_s).set("linear_steering_limit_m_per_s", number_or_null(s.linear_limit_m_s));
}

Json points_json(const std::vector<driving::DelayPoint>& points) {
  Json out = Json::array();
  for (const driving::DelayPoint& x : points) {
    Json j = speed_json(x.speed);
    j.set("delay_s", x.delay_s);
    out.push(j);
  }
  return out;
}

}  // namespace

void answer_questions(Results& r, const std::vector<p::Placed>& placed, const ComputeOptions& options, const std::function<std::optional<p::Ground>(const std::string&)>& ground, const std::function<void(const std::string&)>& say) {
  const campaign::Questions& asked = r.campaign.questions;
  const p::DrawPlan plan = plan_of(r, options);
  if (asked.remote) {
    for (std::size_t i = 0; i < r.pairs.size(); ++i) {
      const campaign::PairResult& pair = r.pairs[i];
      if (options.stop.stop_requested()) return;
      const vehicle::Vehicle* v = r.campaign.vehicle_by_id(pair.vehicle);
      if (!v) continue;
      say("driving " + v->name + " through the delay on " + pair.zone);
      const std::optional<p::Ground> on = ground(pair.zone);
      const double tan_phi = on && on->centre.shear ? on->centre.shear->tan_phi : 0;
      r.answers.remote.push_back(answer_remote(r, *asked.remote, pair, i < placed.size() ? &placed[i] : nullptr, *v, tan_phi, options.threads));
    }
  }
  for (const campaign::VersusQuestion& q : asked.versus) {
    if (options.stop.stop_requested()) return;
    say("comparing " + q.a + " with " + q.b + " on " + q.zone);
    r.answers.versus.push_back(answer_versus(r, q, plan, ground(q.zone)));
  }
  for (const campaign::StudyQuestion& q : asked.studies) {
    if (options.stop.stop_requested()) return;
    say("varying " + q.vehicle + " on " + q.zone);
    r.answers.studies.push_back(answer_study(r, q, plan, ground(q.zone)));
  }
  r.answers.obstacles = answer_obstacles(r, options, plan, ground, say);
  const detail::Asked all{r, options, placed, plan, ground, say};
  detail::answer_rides(all);
  detail::answer_speeds(all);
  detail::answer_other_gravity(all);
  detail::answer_endurance(all);
  detail::answer_boulders(all);
  detail::answer_turns(all);
}

namespace {

// The number that stands for a vehicle that does not travel; none of quantities that have no such.
double no_travel_of(p::Studied q) {
  return q == p::Studied::gradient_at_slip || q == p::Studied::gradient_maximum ? p::kNoGradient : q == p::Studied::pull_at_slip ? campaign::kNoPull : std::numeric_limits<double>::quiet_NaN();
}
double no_travel_of(p::Compared q) {
  return q == p::Compared::gradient_working || q == p::Compared::gradient_maximum ? p::kNoGradient : q == p::Compared::descent ? campaign::kNoDescent : q == p::Compared::pull_20 ? campaign::kNoPull : std::numeric_limits<double>::quiet_NaN();
}

// Nothing where one of the two does not travel: the number that stands for it is no place on the scale.
math::Estimate difference_of(const campaign::VersusRow& row) {
  const double no_travel = no_travel_of(row.quantity);
  const auto stands = [no_travel](double v) { return std::abs(v - no_travel) <= campaign::kAtNoTravel; };
  const auto end = [&](const std::optional<math::Interval>& i) { return i && (stands(i->lo) || stands(i->hi)); };
  math::Estimate out = row.difference;
  if (stands(row.a.value) || stands(row.b.value)) out.value = std::numeric_limits<double>::quiet_NaN();
  if (end(row.a.average_ground) || end(row.b.average_ground)) out.average_ground.reset();
  if (end(row.a.next_point) || end(row.b.next_point)) out.next_point.reset();
  return out;
}

}  // namespace

Json study_json(const p::Study& s) {
  Json j = Json::object();
  j.set("vehicle", s.vehicle).set("zone", s.zone).set("quantity", p::name(s.quantity)).set("unit", p::unit(s.quantity)).set("slip_ratio", s.slip_ratio).set("speed_m_per_s", s.speed_m_s).set("needed_si", s.needed).set("reason_without", s.reason_without);
  Json varied = Json::array();
  for (std::size_t k = 0; k < s.variations.size(); ++k) {
    const p::Variation& v = s.variations[k];
    varied.push(Json::object().set("parameter", p::name(v.what)).set("unit", p::unit(v.what)).set("from_si", v.from).set("to_si", v.to).set("values", static_cast<double>(v.steps)).set("present_si", s.present[k]));
  }
  j.set("varied", varied);
  const auto cell_json = [&](const p::StudyCell& c) {
    Json k = Json::object(), values = Json::array();
    for (const double v : c.values) values.push(number_or_null(v));
    const double no_travel = no_travel_of(s.quantity);
    k.set("values_si", values).set("status", c.why_not.empty() ? "computed" : c.why_not);
    k.set("estimate", c.why_not.empty() ? estimate_json(c.outcome.estimate, no_travel) : Json()).set("limiting_factor", c.why_not.empty() ? Json(c.limited_by) : Json());
    const bool balanced = c.why_not.empty() && s.quantity != p::Studied::ride_margin;
    k.set("solve", balanced ? detail::solve_json(c.outcome.centre_state.solve, "n") : Json());
    const auto margin = [&](const std::optional<double>& m) { return c.why_not.empty() && m ? number_or_null(*m) : Json(); };
    return k.set("margin", c.outcome.centre == no_travel ? Json() : margin(s.margin(c.outcome.centre))).set("margin_next_point_low", c.outcome.estimate.next_point && c.outcome.estimate.next_point->lo == no_travel ? Json() : margin(s.margin_low(c)));
  };
  Json cells = Json::array();
  for (const p::StudyCell& c : s.cells) cells.push(cell_json(c));
  return j.set("as_it_is", cell_json(s.as_it_is)).set("cells", cells);
}

Json questions_json(const campaign::Answers& a) {
  Json j = Json::object(), remote = Json::array(), versus = Json::array(), studies = Json::array();
  for (const campaign::RemoteAnswer& x : a.remote) {
    Json k = Json::object();
    k.set("vehicle", x.vehicle).set("zone", x.zone).set("status", x.why_not.empty() ? "computed" : x.why_not).set("fastest_m_per_s", x.fastest_m_s).set("fastest_from", x.fastest_from);
    k.set("half_width_m", x.half_width_m).set("smallest_radius_m", x.smallest_radius_m).set("braking_coefficient_ratio", x.braking_coefficient).set("braking_coefficient_low_ratio", x.braking_low);
    k.set("speed_m_per_s", x.why_not.empty() ? estimate_json(x.speed_m_s.estimate) : Json());
    k.set("at_delay", x.why_not.empty() ? speed_json(x.at_delay) : Json()).set("over_delay", points_json(x.over_delay)).set("over_delay_best_estimate", points_json(x.over_delay_best));
    remote.push(k);
  }
  for (const campaign::VersusAnswer& x : a.versus) {
    Json k = Json::object(), rows = Json::array();
    for (const campaign::VersusRow& row : x.rows) {
      rows.push(Json::object().set("quantity", p::name(row.quantity)).set("unit", p::unit(row.quantity)).set("more_is_better", p::more_is_better(row.quantity)).set("first", estimate_json(row.a, no_travel_of(row.quantity))).set("second", estimate_json(row.b, no_travel_of(row.quantity)))
                    .set("difference", estimate_json(difference_of(row))).set("first_limited_by", row.a_limited_by.empty() ? Json() : Json(row.a_limited_by)).set("second_limited_by", row.b_limited_by.empty() ? Json() : Json(row.b_limited_by))
                    .set("first_better_ratio", row.a_better_ratio).set("draws", static_cast<double>(row.draws)).set("draws_left_out", static_cast<double>(row.left_out)));
    }
    k.set("first", x.a).set("second", x.b).set("zone", x.zone).set("status", x.why_not.empty() ? "computed" : x.why_not).set("reason_without", x.reason_without).set("quantities", rows);
    versus.push(k);
  }
  for (const campaign::StudyAnswer& x : a.studies) {
    studies.push(x.study ? study_json(*x.study) : Json::object().set("vehicle", x.vehicle).set("zone", x.zone).set("status", x.why_not));
  }
  return j.set("remote", remote).set("compare", versus).set("study", studies).set("obstacles", obstacles_json(a.obstacles)).set("ride", detail::rides_json(a)).set("speed", detail::speeds_json(a)).set("other_gravity", detail::other_gravity_json(a)).set("endurance", detail::endurance_answers_json(a))
      .set("boulders", detail::boulder_answers_json(a)).set("turn", detail::turns_json(a));
}

}  // namespace hardpan::service
