// SPDX-License-Identifier: Apache-2.0
#include "service/requirement_evidence.hpp"

#include <algorithm>

#include "service/obstacles.hpp"
#include "service/turning.hpp"

namespace hardpan::service {

using validation::Quantity;
namespace p = performance;

namespace {

p::Outcome without_soils(double value, std::string status) { return {.centre = value, .estimate = math::estimate_without_interval(value, std::move(status))}; }

validation::Answered tip_angle(const campaign::Results& r, const validation::Requirement& q) {
  validation::Answered a{.population = "this vehicle as its file describes it, on hard ground", .records = {"vehicle " + q.vehicle}};
  for (const campaign::VehicleResult& v : r.vehicles) {
    if (v.vehicle != q.vehicle || v.tips.empty()) continue;
    const auto least = std::min_element(v.tips.begin(), v.tips.end(), [](const auto& x, const auto& y) { return x.working_rad < y.working_rad; });
    a.outcome = without_soils(least->working_rad, "from the vehicle file");
    const bool standing = least->settled.stands_settled && least->settled.tip.angle_rad < least->still.angle_rad;
    a.limiting_factor = std::string("tips ") + p::name(standing ? least->settled.tip.about : least->still.about);
    a.reason = "The working limit of the direction that tips first, standing still; bumps, braking and turning tip a vehicle earlier.";
    return a;
  }
  a.why_not = "the vehicle stands on fewer than three wheels";
  return a;
}

// What vehicle tests and the range of ground tests leave of an answer on a zone.
void hold_to_tests(validation::Answered& a, const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  const auto pair = std::find_if(r.pairs.begin(), r.pairs.end(), [&](const auto& x) { return x.vehicle == vehicle && x.zone == zone; });
  a.guard = std::max(a.guard, pair == r.pairs.end() || pair->guard.empty() ? validation::GuardLevel::not_tested : validation::worst(pair->guard));
  for (const records::ZoneGround& g : r.ground.zones) {
    if (g.zone != zone) continue;
    for (const std::string& file : g.plate_files) a.records.push_back(file + " (plate tests)");
    for (const std::string& file : g.shear_files) a.records.push_back(file + " (shear tests)");
  }
  if (pair == r.pairs.end()) return;
  for (const validation::Comparison& c : pair->comparisons) {
    if (c.quantity == "pull coefficient" && c.bias_claimed && c.bias.value < 0) a.pulls_less = true;
  }
}

validation::Answered remote_speed(const campaign::Results& r, const validation::Requirement& q) {
  validation::Answered a{.why_not = "this vehicle was not predicted on this ground"};
  for (const campaign::RemoteAnswer& x : r.answers.remote) {
    if (x.vehicle != q.vehicle || x.zone != q.zone) continue;
    a.why_not = x.why_not;
    if (!a.why_not.empty()) return a;
    a.outcome = x.speed_m_s;
    a.limiting_factor = driving::name(x.at_delay.limited_by);
    a.population = a.outcome.next_point.empty() ? "" : "next points of the zone, whose braking differs";
    a.reason = "An upper bound for a rested driver who sees well. Delay, sight and corridor are taken as stated.";
    a.reason_without = "no possible soils";
    a.would_change = "a shorter delay, more sight, or runs by remote control";
    hold_to_tests(a, r, q.vehicle, q.zone);
    a.pulls_less = false;   // braking is no pull
  }
  return a;
}

validation::Answered rough_ground_speed(const campaign::Results& r, const validation::Requirement& q) {
  validation::Answered a{.why_not = "no rough ground of this zone was answered"};
  std::optional<double> least;
  for (const campaign::RideAnswer& x : r.answers.rides) {
    if (x.vehicle != q.vehicle || (!x.zones.empty() && std::find(x.zones.begin(), x.zones.end(), q.zone) == x.zones.end())) continue;
    if (!x.why_not.empty()) {
      if (!least) a.why_not = x.why_not;
      continue;
    }
    const campaign::RideOnGround* on = x.slowest();
    const double speed = on ? *on->answer.limit()->speed_m_s : x.question.fastest_m_s;
    if (least && *least <= speed) continue;
    least = speed;
    a.why_not.clear();
    a.outcome = without_soils(speed, on ? "from vehicle file and profile" : "more than was looked for");
    a.limiting_factor = on ? p::name(on->answer.limit()->kind) : "none";
    a.population = "this vehicle on the rough ground as stated";
    a.reason_without = "stiffness, damping and the profile are stated as single numbers";
    a.would_change = "a profile measured at several places, or runs at rising speed";
    a.records = {"vehicle " + q.vehicle};
  }
  return a;
}

validation::Answered trip_distance(const campaign::Results& r, const validation::Requirement& q) {
  validation::Answered a{.why_not = "the trip was not answered"};
  for (const campaign::EnduranceAnswer& x : r.answers.endurance) {
    if (x.vehicle != q.vehicle || x.name != q.trip) continue;
    a.why_not = x.why_not;
    if (!x.endurance) return a;
    const p::Endurance& e = *x.endurance;
    a.outcome = {.centre = e.distance_m.value, .average = e.average_distance_m, .next_point = e.next_distance_m, .estimate = e.distance_m, .not_converged = e.not_converged};
    a.limiting_factor = e.centre.arrives() ? "none" : p::name(e.centre.stopped_by);
    if (!e.limits.empty() && e.limits.front().second > 0.5) a.limiting_factor = e.limits.front().first == p::TripLimit::none ? "none" : p::name(e.limits.front().first);
    a.population = "next points of the zones on the way";
    a.reason = "The reserve stays in the battery; the battery is taken as stated.";
    a.reason_without = e.reason_without;
    a.would_change = "a larger battery, a lighter load, or energy measured on this ground";
    double length_m = 0;
    for (const p::TripRow& row : x.rows) length_m += row.distance_m;
    if (q.threshold_si > length_m * (1 + 1e-9)) a.why_not = "the trip is shorter than what is required of it";
    for (const std::string& zone : x.zones) hold_to_tests(a, r, q.vehicle, zone);
  }
  return a;
}

validation::Answered clear_run(const campaign::Results& r, const validation::Requirement& q) {
  validation::Answered a{.why_not = "the rocks were not answered"};
  for (const campaign::BoulderAnswer& x : r.answers.boulders) {
    if (x.vehicle != q.vehicle || x.name != q.rocks) continue;
    a.why_not = x.why_not;
    if (!a.why_not.empty()) return a;
    a.outcome = without_soils(x.clear_probability, x.field ? "from the map" : "from the law of sizes");
    if (x.field && x.field->lanes > 0) a.outcome.estimate.average_ground = x.field->clear_interval;
    a.limiting_factor = x.stopped_mostly_by();
    a.population = x.field ? "straight lanes over the mapped ground" : "straight runs over ground of this law";
    a.reason_without = "a law of sizes has no scatter of its own";
    a.would_change = "a map of the rocks, or a way picked round them";
    a.records = {"vehicle " + q.vehicle};
  }
  return a;
}

}  // namespace

campaign::Questions required_of(const campaign::Questions& all, const std::vector<validation::Requirement>& requirements) {
  campaign::Questions out;
  for (const validation::Requirement& q : requirements) {
    if (q.quantity == Quantity::remote_speed) out.remote = all.remote;
    if (q.quantity == Quantity::rough_ground_speed) out.rides = all.rides;
    if (q.quantity == Quantity::trip_distance) out.endurance = all.endurance;
    if (q.quantity == Quantity::clear_run) out.boulders = all.boulders;
  }
  return out;
}

std::optional<performance::Profile> whole_vehicle_evidence(validation::Evidence& e, const campaign::Results& r, const validation::Requirement& q) {
  e.trials = &r.trials.reduced;
  const vehicle::Vehicle* v = r.campaign.vehicle_by_id(q.vehicle);
  if (!v) return std::nullopt;
  switch (q.quantity) {
    case Quantity::tip_angle: e.answered = tip_angle(r, q); return std::nullopt;
    case Quantity::remote_speed: e.answered = remote_speed(r, q); return std::nullopt;
    case Quantity::rough_ground_speed: e.answered = rough_ground_speed(r, q); return std::nullopt;
    case Quantity::trip_distance: e.answered = trip_distance(r, q); return std::nullopt;
    case Quantity::clear_run: e.answered = clear_run(r, q); return std::nullopt;
    default: break;
  }
  validation::Finding::Compared compared;
  const auto count = [&](const auto& c, bool same) {
    if (!same || !c.judged || c.vehicle != q.vehicle || (!q.zone.empty() && c.zone != q.zone)) return;
    ++compared.judged;
    compared.agree += c.consistent ? 1 : 0;
  };
  if (q.quantity == Quantity::turning_radius) {
    e.why_not = why_no_turn(*v);
    for (const auto& c : r.trials.turns) count(c, true);
    e.compared = compared;
    return std::nullopt;
  }
  if (!validation::of_obstacles(q.quantity)) return std::nullopt;
  e.friction = q.friction_ratio;
  if (q.quantity != Quantity::friction_margin) {
    const auto kind = q.quantity == Quantity::widest_gap ? records::ObstacleKind::gap : records::ObstacleKind::step_up;
    for (const auto& c : r.trials.obstacles) count(c, c.obstacle == kind);
    e.compared = compared;
    return std::nullopt;
  }
  const auto& all = r.campaign.questions.obstacles;
  const auto o = std::find_if(all.begin(), all.end(), [&](const auto& x) { return x.id == q.obstacle; });
  const auto side = performance::profile_vehicle(*v, r.campaign.gravity_m_s2);
  if (o == all.end() || !side) return std::nullopt;
  e.friction = o->friction;
  return profile_of(*o, *side);
}

}  // namespace hardpan::service
