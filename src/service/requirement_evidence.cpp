// SPDX-License-Identifier: Apache-2.0
#include "service/requirement_evidence.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "service/obstacles.hpp"
#include "service/turning.hpp"
#include "validation/counted_trials.hpp"

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
    if (v.tips_doubt) a.outcome.estimate.average_ground = v.tips_doubt->least_working_rad;
    const bool standing = least->settled.stands_settled && least->settled.tip.angle_rad < least->still.angle_rad;
    a.limiting_factor = std::string("tips ") + p::name(standing ? least->settled.tip.about : least->still.about);
    a.reason = "The working limit of the direction that tips first, standing still; bumps, braking and turning tip a vehicle earlier.";
    if (v.tips_doubt) a.reason += " The interval is of what the file says of how well centres of gravity are known, and of nothing else.";
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

constexpr double kSameDelay_s = 0.1;   // as runs are grouped

// The delay of the link without the driver's reaction, as sheets of remote runs tell theirs.
double link_delay_s(const campaign::RemoteQuestion& q) { return q.link.delay.downlink_s + q.link.delay.uplink_s; }

// Mean speed over drivers at the least delay driven that is no shorter than the link's; 0 where nobody finished.
std::optional<math::Estimate> reached_at(const campaign::Results& r, const validation::Requirement& q) {
  if (!r.campaign.questions.remote) return std::nullopt;
  std::optional<double> delay;
  std::vector<double> speeds;
  for (const records::RemoteCourse& c : r.trials.reduced.remote) {
    if (c.vehicle != q.vehicle || c.zone != q.zone) continue;
    for (const records::OperatorAtDelay& k : c.by_operator) {
      if (k.delay_s < link_delay_s(*r.campaign.questions.remote) - kSameDelay_s) continue;
      if (delay && k.delay_s > *delay + kSameDelay_s) continue;
      if (!delay || k.delay_s < *delay - kSameDelay_s) delay = k.delay_s, speeds.clear();
      speeds.push_back(k.speed_m_per_s ? k.speed_m_per_s->value : 0);
    }
  }
  if (!delay) return std::nullopt;
  return math::estimate_from_points(speeds);
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
    a.upper_bound = true;
    a.reached = reached_at(r, q);
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
    else if (!x.field) a.outcome.estimate.average_ground = x.clear_interval();
    a.limiting_factor = x.stopped_mostly_by();
    a.population = x.field ? "straight lanes over the mapped ground" : "straight runs over ground of this law";
    a.reason_without = "a law of sizes has no scatter of its own, and no range of its coverage is stated";
    a.would_change = "a map of the rocks, or a way picked round them";
    a.records = {"vehicle " + q.vehicle};
  }
  return a;
}

// A run that reaches the threshold went, one that failed short of it did not; others decide nothing.
void decide(validation::WayRuns& out, bool went, bool failed, const std::string& file, std::size_t line) {
  if (went || failed) out.decided.push_back({went, fmt::format("{}:{}", file, line)});
}

// Runs at another weight than the vehicle file's, by more than a class of weights, say nothing on it.
bool of_this_vehicle(const campaign::Campaign& c, const validation::Requirement& q, const std::string& vehicle, double weight_n) {
  const vehicle::Vehicle* v = vehicle == q.vehicle ? c.vehicle_by_id(vehicle) : nullptr;
  if (!v) return false;
  const double file_n = vehicle::mass_kg(*v) * c.gravity_m_s2;
  return std::abs(weight_n - file_n) <= records::WayRunSettings{}.weight_class_relative * file_n;
}

// Not told of another condition than the requirement's.
bool in_condition(const validation::Requirement& q, const records::TestSource& source) { return q.condition.empty() || source.condition.empty() || source.condition == q.condition; }

// What a trip may take so that its reserve is kept.
struct Reserve {
  bool asked = false;
  double most_j = 0;
};
Reserve reserve_of(const campaign::Campaign& c, const validation::Requirement& q) {
  for (const campaign::EnduranceQuestion& x : c.questions.endurance) {
    const vehicle::Vehicle* v = c.vehicle_by_id(x.vehicle);
    if (x.vehicle != q.vehicle || x.name != q.trip || !v) continue;
    const double battery_j = x.battery_j.value_or(v->battery_j.value_or(0)), usable = x.temperature_k ? p::usable_ratio(x.derating, *x.temperature_k).value_or(1) : 1;
    return {x.reserve_ratio > 0, battery_j * usable * (x.start_ratio - x.reserve_ratio)};
  }
  return {};
}

void trip_runs(validation::WayRuns& out, const campaign::Campaign& c, const records::TrialResult& reduced, const validation::Requirement& q) {
  using records::TripOutcome;
  const Reserve reserve = reserve_of(c, q);
  for (const records::TripRuns& k : reduced.trips) {
    if (k.trip != q.trip || !of_this_vehicle(c, q, k.vehicle, k.weight_n)) continue;
    for (const records::TripRun& t : k.runs) {
      if (!in_condition(q, t.source)) continue;
      const bool ended = t.outcome != TripOutcome::arrived && t.outcome != TripOutcome::stopped;
      // A reserve that was taken was not kept; one that nobody read is not shown to be kept.
      const bool taken = reserve.asked && t.energy_j.value_or(0) > reserve.most_j, unread = reserve.asked && !t.energy_j;
      const bool far = t.distance_m >= q.threshold_si, failed = ended && !far;
      decide(out, far && !taken && !unread, failed || (far && taken), t.source.file, t.line);
      if (!taken && !unread) out.went_at = std::max(out.went_at.value_or(0), t.distance_m);
      if (failed) out.failed_at = std::min(out.failed_at.value_or(t.distance_m), t.distance_m);
    }
  }
}

void rock_runs(validation::WayRuns& out, const campaign::Campaign& c, const records::TrialResult& reduced, const validation::Requirement& q, double length_m) {
  using records::RockOutcome;
  for (const records::RockRuns& k : reduced.rocks) {
    if (k.rocks != q.rocks || !of_this_vehicle(c, q, k.vehicle, k.weight_n)) continue;
    for (const records::RockRun& t : k.runs) {
      if (!in_condition(q, t.source)) continue;
      decide(out, t.distance_m >= length_m, t.distance_m < length_m && (t.outcome == RockOutcome::wheel || t.outcome == RockOutcome::body), t.source.file, t.line);
    }
    const double least = std::exp(-k.stops_per_m.hi * length_m), most = std::exp(-k.stops_per_m.lo * length_m);
    out.went_at = std::max(out.went_at.value_or(least), least);
    out.failed_at = std::min(out.failed_at.value_or(most), most);
  }
}

void remote_runs(validation::WayRuns& out, const campaign::Campaign& c, const records::TrialResult& reduced, const validation::Requirement& q) {
  using records::RemoteOutcome;
  const double delay = link_delay_s(*c.questions.remote);
  for (const records::RemoteCourse& k : reduced.remote) {
    if (k.vehicle != q.vehicle || k.zone != q.zone) continue;
    for (const records::RemoteReading& t : k.runs) {
      if (std::abs(t.delay_s - delay) > kSameDelay_s || t.outcome == RemoteOutcome::stopped) continue;
      const bool went = t.outcome == RemoteOutcome::finished && t.speed_m_per_s.value_or(0) >= q.threshold_si;
      decide(out, went, !went, t.file, t.line);
    }
  }
}

void rough_runs(validation::WayRuns& out, const campaign::Campaign& c, const records::TrialResult& reduced, const validation::Requirement& q) {
  using records::RoughOutcome;
  std::vector<validation::DecidedTrial> tried;
  for (const records::RoughRuns& k : reduced.rough) {
    const auto ride = std::find_if(c.questions.rides.begin(), c.questions.rides.end(), [&](const auto& x) { return x.name == k.ride; });
    if (k.zone != q.zone || ride == c.questions.rides.end() || !of_this_vehicle(c, q, k.vehicle, k.weight_n)) continue;
    const p::RideQuestion& bounds = ride->question;
    for (const records::RoughRun& t : k.runs) {
      if (!in_condition(q, t.source)) continue;
      const auto over = [](const std::optional<double>& bound, const std::optional<double>& v) { return bound && v && *v > *bound; };
      const auto within = [](const std::optional<double>& bound, const std::optional<double>& v) { return !bound || (v && *v <= *bound); };
      const bool fails = t.outcome == RoughOutcome::lifted || over(bounds.shock_m_s2, t.peak_m_per_s2) || over(bounds.ride_m_s2, t.rms_m_per_s2);
      // A bound that was not measured is not shown to be kept.
      const bool holds = !fails && t.outcome == RoughOutcome::held && within(bounds.shock_m_s2, t.peak_m_per_s2) && within(bounds.ride_m_s2, t.rms_m_per_s2) && !bounds.absorbed_power_w;
      if (holds || fails) tried.push_back({t.speed_m_per_s, holds, fmt::format("{}:{}", t.source.file, t.line)});
      if (holds) out.went_at = std::max(out.went_at.value_or(0), t.speed_m_per_s);
      if (fails) out.failed_at = std::min(out.failed_at.value_or(t.speed_m_per_s), t.speed_m_per_s);
    }
  }
  const validation::CountedTrials counted = validation::count_trials(tried, q.threshold_si);
  for (const validation::DecidedTrial& t : tried) {
    if (std::find(counted.places.begin(), counted.places.end(), t.place) != counted.places.end()) out.decided.push_back({t.went, t.place});
  }
}

}  // namespace

std::optional<validation::WayRuns> way_runs(const campaign::Campaign& c, const records::TrialResult& reduced, const validation::Requirement& q) {
  const auto u = c.output_units == campaign::OutputUnits::us ? units::OutputUnits::us : units::OutputUnits::si;
  const auto length = [&](double m) { return units::print_quantity(m, units::Dimension::length, u); };
  validation::WayRuns out{.share = q.probability};
  if (q.quantity == Quantity::remote_speed && c.questions.remote) {
    out.at = units::print_quantity(q.threshold_si, units::Dimension::speed, u) + " through the delay of the link";
    out.where = out.at + " or faster, slower or not finished,";
    remote_runs(out, c, reduced, q);
    return out;
  }
  if (q.quantity == Quantity::trip_distance) {
    out.at = length(q.threshold_si);
    out.where = out.at + " or further, or ended short of it,";
    trip_runs(out, c, reduced, q);
    return out;
  }
  if (q.quantity == Quantity::clear_run) {
    const auto field = std::find_if(c.questions.boulders.begin(), c.questions.boulders.end(), [&](const auto& x) { return x.name == q.rocks; });
    if (field == c.questions.boulders.end()) return std::nullopt;
    out.share = q.threshold_si;
    out.at = length(field->length_m);
    out.where = out.at + " or further, or stopped by a rock before,";
    rock_runs(out, c, reduced, q, field->length_m);
    return out;
  }
  if (q.quantity == Quantity::rough_ground_speed) {
    out.at = units::print_quantity(q.threshold_si, units::Dimension::speed, u);
    out.where = out.at + " or faster, or beyond a bound below it,";
    rough_runs(out, c, reduced, q);
    return out;
  }
  return std::nullopt;
}

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
  e.runs = way_runs(r.campaign, r.trials.reduced, q);
  validation::Finding::Compared compared;
  const auto count = [&](const auto& c, bool same) {
    if (!same || !c.judged || c.vehicle != q.vehicle) return;
    ++compared.judged;
    compared.agree += c.consistent ? 1 : 0;
  };
  for (const auto& c : r.trials.trips) count(c, q.quantity == Quantity::trip_distance && c.trip == q.trip);
  for (const auto& c : r.trials.rocks) count(c, q.quantity == Quantity::clear_run && c.rocks == q.rocks);
  for (const auto& c : r.trials.rough) count(c, q.quantity == Quantity::rough_ground_speed && c.zone == q.zone);
  for (const auto& c : r.trials.remote) count(c, q.quantity == Quantity::remote_speed && c.zone == q.zone);
  if (e.runs || q.quantity == Quantity::remote_speed) e.compared = compared;
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
  const auto here = [&](const auto& c) { return q.zone.empty() || c.zone == q.zone; };
  if (q.quantity == Quantity::turning_radius) {
    e.why_not = why_no_turn(*v);
    for (const auto& c : r.trials.turns) count(c, here(c));
    e.compared = compared;
    return std::nullopt;
  }
  if (!validation::of_obstacles(q.quantity)) return std::nullopt;
  e.friction = q.friction_ratio;
  if (q.quantity != Quantity::friction_margin) {
    const auto kind = q.quantity == Quantity::widest_gap ? records::ObstacleKind::gap : records::ObstacleKind::step_up;
    for (const auto& c : r.trials.obstacles) count(c, c.obstacle == kind && here(c));
    e.compared = compared;
    return std::nullopt;
  }
  for (const auto& c : r.trials.obstacles) count(c, !c.profile.empty() && c.profile == q.obstacle);
  e.compared = compared;
  const auto& all = r.campaign.questions.obstacles;
  const auto o = std::find_if(all.begin(), all.end(), [&](const auto& x) { return x.id == q.obstacle; });
  const auto side = performance::profile_vehicle(*v, r.campaign.gravity_m_s2);
  if (o == all.end() || !side) return std::nullopt;
  e.friction = o->friction;
  return profile_of(*o, *side);
}

}  // namespace hardpan::service
