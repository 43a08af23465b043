// SPDX-License-Identifier: Apache-2.0
#include "service/trials.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "service/json_results.hpp"

namespace hardpan::service {

using campaign::Results;
using io::Json;

namespace {

units::OutputUnits text_units(const Results& r) { return r.campaign.output_units == campaign::OutputUnits::us ? units::OutputUnits::us : units::OutputUnits::si; }

// Unloading measured in the zone, or stated by its soil from elsewhere.
std::optional<soil::Reload> reload_of(const Results& r, const std::string& zone_id) {
  for (const records::ZoneGround& z : r.ground.zones) {
    if (z.zone == zone_id && z.soil) return z.soil->centre.reload;
  }
  const campaign::Zone* zone = r.campaign.zone(zone_id);
  return zone && zone->soil_from_elsewhere ? zone->soil_from_elsewhere->soil.reload : std::nullopt;
}

template <class T, class F>
Json list(const std::vector<T>& items, const F& one) {
  Json j = Json::array();
  for (const T& item : items) j.push(one(item));
  return j;
}
Json number(double v) { return std::isfinite(v) ? Json(v) : Json(); }
Json number(const std::optional<double>& v) { return v ? number(*v) : Json(); }
Json interval(const std::optional<math::Interval>& i) { return i ? Json::array({number(i->lo), number(i->hi)}) : Json(); }
Json estimate(const std::optional<math::Estimate>& e) { return e ? estimate_json(*e) : Json(); }
Json bracket(Json j, const records::SizeBracket& b, const std::string& text) {
  return j.set("passed_m", number(b.passed)).set("failed_m", number(b.failed)).set("hardest_passed_m", number(b.hardest_passed)).set("overlap", b.overlap).set("statement", text);
}

Json obstacle(const records::ObstacleLimits& k) {
  Json j = Json::object();
  j.set("vehicle", k.vehicle).set("zone", k.zone).set("obstacle", records::name(k.obstacle)).set("rolling_start", k.rolling_start).set("backward", k.backward);
  j.set("weight_n", k.weight_n).set("tries", k.tries.size()).set("friction_ratio", interval(k.friction));
  if (k.obstacle == records::ObstacleKind::profile) {
    return j.set("profile", k.profile).set("over", k.sizes.empty() ? std::size_t{0} : k.sizes.front().passed).set("not_over", k.sizes.empty() ? std::size_t{0} : k.sizes.front().failed).set("statement", k.text);
  }
  return bracket(std::move(j), k.bracket, k.text);
}

Json turn(const records::TurnLimits& k) {
  Json j = Json::object();
  j.set("vehicle", k.vehicle).set("zone", k.zone).set("side", k.right ? "right" : "left").set("wheel_path", records::name(k.path)).set("gradient_rad", k.gradient_rad);
  j.set("weight_n", k.weight_n).set("turns", k.turns.size());
  j.set("torque_against_radius", list(k.torque, [](const records::TorqueAtRadius& t) {
    Json m = Json::object();
    return m.set("radius_m", t.radius_m).set("turns", t.turns).set("torque_n_m", estimate(t.torque_n_m)).set("power_w", estimate(t.power_w)).set("work_j_per_m", estimate(t.work_j_per_m)).set("speed_m_per_s", number(t.speed_m_per_s));
  }));
  return bracket(std::move(j), k.bracket, k.text);
}

Json remote(const records::RemoteCourse& c) {
  Json j = Json::object(), line = Json::object();
  j.set("vehicle", c.vehicle).set("zone", c.zone).set("course", c.course).set("runs", c.runs.size()).set("corridor_m", number(c.corridor_m));
  line.set("status", c.pace.status).set("runs", c.pace.runs).set("seconds_per_metre_per_second_of_delay", estimate(c.pace.delay)).set("seconds_per_metre_per_log_practice", estimate(c.pace.practice));
  line.set("delay_without_practice_term", estimate(c.pace.delay_alone)).set("correlation_of_practice_with_delay_ratio", number(c.pace.correlation)).set("confounded", c.pace.confounded);
  j.set("pace", line);
  j.set("by_operator", list(c.by_operator, [](const records::OperatorAtDelay& k) {
    Json m = Json::object();
    return m.set("operator", k.operator_name).set("delay_s", k.delay_s).set("runs", k.runs).set("finished", k.finished).set("speed_m_per_s", estimate(k.speed_m_per_s)).set("largest_error_m", estimate(k.largest_error_m)).set("mean_practice_runs", number(k.mean_practice));
  }));
  j.set("by_delay", list(c.by_delay, [](const records::AtDelay& k) {
    Json m = Json::object();
    return m.set("delay_s", k.delay_s).set("runs", k.runs).set("finished", k.finished).set("left_corridor", k.left_corridor).set("struck", k.struck).set("stopped", k.stopped).set("chance_of_finishing_ratio", interval(k.chance_of_finishing)).set("largest_error_m", number(k.largest_error_m));
  }));
  j.set("differences", list(c.differences, [](const records::GroupDifference& d) {
    Json m = Json::object();
    return m.set("what", d.what).set("first", d.first).set("second", d.second).set("operators", d.operators).set("speed_m_per_s", estimate_json(d.speed_m_per_s)).set("speed_at_equal_practice_m_per_s", estimate(d.speed_equal_practice_m_per_s)).set("practice_difference_runs", d.practice_difference);
  }));
  return j.set("remarks", list(c.remarks, [](const std::string& s) { return Json(s); }));
}

Json trip(const records::TripRuns& k) {
  Json j = Json::object(), ended = Json::object();
  for (const auto& [outcome, count] : k.ended) ended.put(records::name(outcome), static_cast<double>(count));
  j.set("vehicle", k.vehicle).set("trip", k.trip).set("weight_n", k.weight_n).set("runs", k.runs.size()).set("arrived", k.arrived).set("ended_by", ended);
  return j.set("chance_of_arriving_ratio", interval(k.chance_of_arriving)).set("energy_j", estimate(k.energy_j)).set("time_s", estimate(k.time_s)).set("statement", k.text);
}

Json rocks(const records::RockRuns& k) {
  Json j = Json::object();
  j.set("vehicle", k.vehicle).set("rocks", k.rocks).set("weight_n", k.weight_n).set("runs", k.runs.size()).set("distance_m", k.distance_m).set("stops_by_wheel", k.by_wheel).set("stops_by_body", k.by_body);
  return j.set("stops_per_m", interval(k.stops_per_m)).set("statement", k.text);
}

Json rough(const records::RoughRuns& k) {
  Json j = Json::object();
  j.set("vehicle", k.vehicle).set("ride", k.ride).set("zone", k.zone).set("weight_n", k.weight_n).set("runs", k.runs.size());
  j.set("held_m_per_s", number(k.bracket.passed)).set("lifted_m_per_s", number(k.bracket.failed)).set("fastest_held_m_per_s", number(k.bracket.hardest_passed)).set("overlap", k.bracket.overlap);
  j.set("shaking", list(k.shaking, [](const records::ShakingAtSpeed& s) {
    Json m = Json::object();
    return m.set("speed_m_per_s", s.speed_m_per_s).set("runs", s.runs).set("lifted", s.lifted).set("peak_m_per_s2", estimate(s.peak_m_per_s2)).set("rms_m_per_s2", estimate(s.rms_m_per_s2));
  }));
  return j.set("statement", k.text);
}

}  // namespace

void reduce_trials(Results& r, base::Problems& problems) {
  records::TrialSettings s;
  s.obstacles.output_units = s.turns.output_units = s.remote.output_units = s.ways.output_units = text_units(r);
  r.trials.reduced = records::reduce_trials(r.campaign.trials, r.campaign.driving, r.drawbar, s, problems);
}

void compare_trials(Results& r, const std::vector<performance::Placed>& placed, const std::function<std::optional<performance::Ground>(const std::string&)>& ground_of, const performance::DrawPlan& plan) {
  const units::OutputUnits u = text_units(r);
  const auto& reduced = r.trials.reduced;
  std::map<std::string, performance::Profile> profiles;
  for (const campaign::ObstacleQuestion& o : r.campaign.questions.obstacles) {
    if (o.profile) profiles.emplace(o.id, *o.profile);
  }
  r.trials.obstacles = validation::compare_obstacles(reduced.obstacles, r.campaign.vehicles, profiles, r.campaign.gravity_m_s2, u);
  for (std::size_t i = 0; i < r.pairs.size() && i < placed.size(); ++i) {
    const vehicle::Vehicle* v = r.campaign.vehicle_by_id(r.pairs[i].vehicle);
    if (!v) continue;
    const campaign::Zone* zone = r.campaign.zone(r.pairs[i].zone);
    const auto disturbed = zone ? zone->disturbed : std::nullopt;
    for (auto& k : validation::compare_ruts(*v, placed[i], reload_of(r, r.pairs[i].zone), r.drawbar, u, disturbed)) r.trials.ruts.push_back(std::move(k));
    const auto here = [&](const records::TurnLimits& k) { return k.vehicle == v->id && k.zone == r.pairs[i].zone; };
    if (std::none_of(reduced.turns.begin(), reduced.turns.end(), here)) continue;
    if (const auto ground = ground_of(r.pairs[i].zone)) {
      for (auto& k : validation::compare_turns(reduced.turns, *v, *ground, plan, u)) r.trials.turns.push_back(std::move(k));
    }
  }
}

void compare_remote_runs(Results& r, const RemotePredictions& predicted) {
  for (const records::RemoteCourse& c : r.trials.reduced.remote) {
    const auto speeds = predicted(c.vehicle, c.zone);
    if (!speeds.empty()) r.trials.remote.push_back(validation::compare_remote(c, speeds, text_units(r)));
  }
}

void compare_way_runs(Results& r) {
  const units::OutputUnits u = text_units(r);
  const auto weight = [&](const std::string& id) {
    const vehicle::Vehicle* v = r.campaign.vehicle_by_id(id);
    return v ? vehicle::mass_kg(*v) * r.campaign.gravity_m_s2 : 0;
  };
  const auto& reduced = r.trials.reduced;
  r.trials.trips = validation::compare_trips(reduced.trips, [&](const records::TripRuns& k) {
    validation::TripTold told{.why_not = "the trip was not answered", .weight_n = weight(k.vehicle)};
    for (const campaign::EnduranceAnswer& x : r.answers.endurance) {
      if (x.vehicle != k.vehicle || x.name != k.trip) continue;
      told.why_not = x.why_not;
      told.endurance = x.endurance ? &*x.endurance : nullptr;
    }
    return told;
  }, u);
  r.trials.rocks = validation::compare_rocks(reduced.rocks, [&](const records::RockRuns& k) {
    validation::RocksTold told{.why_not = "the rocks were not answered", .weight_n = weight(k.vehicle)};
    for (const campaign::BoulderAnswer& x : r.answers.boulders) {
      if (x.vehicle != k.vehicle || x.name != k.rocks) continue;
      told.why_not = x.why_not;
      told.length_m = x.length_m;
      told.hits_per_m = x.hits_per_m;
      told.wheel_hits_per_m = x.wheel_hits_per_m;
      told.hits_interval_per_m = x.hits_per_m_interval;
    }
    return told;
  }, u);
  r.trials.rough = validation::compare_rough(reduced.rough, [&](const records::RoughRuns& k) {
    validation::RoughTold told{.why_not = "the rough ground was not answered", .weight_n = weight(k.vehicle)};
    for (const campaign::RideAnswer& x : r.answers.rides) {
      if (x.vehicle != k.vehicle || x.name != k.ride) continue;
      told.why_not = x.why_not;
      told.model = x.model;
      told.question = x.question;
      for (const campaign::RideOnGround& on : x.grounds) told.grounds.push_back(on.ground);
    }
    return told;
  }, u);
}

Json trials_json(const Results& r) {
  const records::TrialResult& t = r.trials.reduced;
  Json j = Json::object();
  j.set("obstacles", list(t.obstacles, obstacle)).set("turns", list(t.turns, turn)).set("remote_runs", list(t.remote, remote));
  j.set("trip_runs", list(t.trips, trip)).set("rock_runs", list(t.rocks, rocks)).set("rough_runs", list(t.rough, rough));
  j.set("paired", list(t.pairs, [](const records::PairedTrial& p) {
    Json m = Json::object();
    m.set("quantity", p.quantity).set("unit", p.unit_si.empty() ? "1" : p.unit_si).set("zone", p.zone).set("lane", p.lane).set("condition", p.condition);
    m.set("first", p.difference.first).set("second", p.difference.second).set("difference", estimate_json(p.difference.difference)).set("pairs", p.difference.pairs).set("left_over", p.difference.left_over);
    return m.set("balanced", p.difference.balanced).set("drift", number(p.difference.drift)).set("note", p.difference.note);
  }));
  return j.set("notes", list(t.notes, [](const std::string& s) { return Json(s); }));
}

Json compared_trials_json(const Results& r) {
  Json j = Json::object();
  j.set("obstacles", list(r.trials.obstacles, [](const validation::ObstacleComparison& c) {
    Json m = Json::object();
    m.set("vehicle", c.vehicle).set("zone", c.zone).set("obstacle", records::name(c.obstacle)).set("profile", c.profile.empty() ? Json() : Json(c.profile)).set("measured_m", interval(c.measured_m)).set("predicted_m", interval(c.predicted_m));
    m.set("friction_needed_passed_ratio", number(c.friction_needed_passed)).set("friction_needed_failed_ratio", number(c.friction_needed_failed));
    m.set("judged", c.judged).set("consistent", c.consistent).set("ends_alike", c.ends_alike ? Json(*c.ends_alike) : Json());
    return m.set("statement", c.statement);
  }));
  j.set("turns", list(r.trials.turns, [](const validation::TurnComparison& c) {
    Json m = Json::object();
    m.set("vehicle", c.vehicle).set("zone", c.zone).set("wheel_path", records::name(c.path)).set("side", c.right ? "right" : "left").set("measured_m", interval(c.measured_m)).set("predicted_m", interval(c.predicted_m));
    m.set("limited_by", performance::name(c.limit)).set("possible_soils", c.soils).set("goes_at_passed_ratio", number(c.goes_at_passed)).set("fails_at_failed_ratio", number(c.fails_at_failed));
    m.set("judged", c.judged).set("consistent", c.consistent).set("ends_alike", c.ends_alike ? Json(*c.ends_alike) : Json());
    m.set("torque", list(c.torque, [](const validation::TorqueCompared& t) {
      Json k = Json::object();
      k.set("radius_m", t.radius_m).set("vehicle_radius_m", t.vehicle_radius_m).set("measured_n_m", estimate(t.measured_n_m)).set("predicted_n_m", number(t.predicted_n_m)).set("next_point_n_m", interval(t.next_point_n_m));
      return k.set("measured_work_j_per_m", estimate(t.measured_work_j_per_m)).set("predicted_work_j_per_m", number(t.predicted_work_j_per_m)).set("consistent", t.consistent ? Json(*t.consistent) : Json());
    }));
    return m.set("statement", c.statement);
  }));
  j.set("remote_runs", list(r.trials.remote, [](const validation::RemoteComparison& c) {
    Json m = Json::object();
    m.set("vehicle", c.vehicle).set("zone", c.zone).set("course", c.course).set("judged", c.judged).set("consistent", c.consistent).set("least_share_ratio", number(c.least_share)).set("most_share_ratio", number(c.most_share));
    m.set("delays", list(c.delays, [](const validation::SpeedCompared& d) {
      Json k = Json::object();
      return k.set("delay_s", d.delay_s).set("operators", d.operators).set("measured_m_per_s", estimate_json(d.measured_m_per_s)).set("predicted_m_per_s", number(d.predicted_m_per_s)).set("limited_by", d.limited_by).set("left_corridor", d.left_corridor);
    }));
    return m.set("statement", c.statement);
  }));
  j.set("trip_runs", list(r.trials.trips, [](const validation::TripComparison& c) {
    const auto agrees = [](const std::optional<bool>& a) { return a ? Json(*a) : Json(); };
    Json m = Json::object();
    m.set("vehicle", c.vehicle).set("trip", c.trip).set("measured_energy_j", estimate(c.energy_j)).set("predicted_energy_j", estimate(c.predicted_energy_j)).set("measured_time_s", estimate(c.time_s)).set("predicted_time_s", estimate(c.predicted_time_s));
    m.set("predicted_arrival_ratio", c.predicted_arrival_ratio).set("energy_agrees", agrees(c.energy_agrees)).set("time_agrees", agrees(c.time_agrees)).set("arrival_agrees", agrees(c.arrival_agrees));
    return m.set("judged", c.judged).set("consistent", c.consistent).set("statement", c.statement);
  }));
  j.set("rock_runs", list(r.trials.rocks, [](const validation::RockComparison& c) {
    Json m = Json::object();
    m.set("vehicle", c.vehicle).set("rocks", c.rocks).set("distance_m", c.distance_m).set("stops", c.stops).set("measured_stops_per_m", interval(c.measured_per_m)).set("predicted_stops_per_m", number(c.predicted_per_m)).set("clear_run_by_runs_ratio", c.predicted_per_m ? interval(c.clear_ratio) : Json());
    return m.set("judged", c.judged).set("consistent", c.consistent).set("statement", c.statement);
  }));
  j.set("rough_runs", list(r.trials.rough, [](const validation::RoughComparison& c) {
    Json m = Json::object();
    m.set("vehicle", c.vehicle).set("ride", c.ride).set("zone", c.zone).set("measured_m_per_s", interval(c.measured_m_per_s)).set("predicted_m_per_s", number(c.predicted_m_per_s));
    m.set("peak_measured_over_computed_ratio", estimate(c.peak_ratio)).set("rms_measured_over_computed_ratio", estimate(c.rms_ratio)).set("shock_bound_passed_at_m_per_s", estimate(c.shock_speed_m_per_s)).set("ride_bound_passed_at_m_per_s", estimate(c.ride_speed_m_per_s)).set("judged", c.judged).set("consistent", c.consistent);
    m.set("shaking", list(c.shaking, [](const validation::ShakingCompared& s) {
      Json k = Json::object();
      k.set("speed_m_per_s", s.speed_m_per_s).set("measured_peak_m_per_s2", estimate(s.peak_m_per_s2)).set("computed_peak_m_per_s2", s.predicted_peak_m_per_s2);
      return k.set("measured_rms_m_per_s2", estimate(s.rms_m_per_s2)).set("computed_rms_m_per_s2", s.predicted_rms_m_per_s2);
    }));
    return m.set("statement", c.statement);
  }));
  return j.set("ruts_by_pass", list(r.trials.ruts, [](const validation::RutByPass& c) {
    Json m = Json::object();
    m.set("vehicle", c.vehicle).set("zone", c.zone).set("wheel_path", c.wheel_path).set("slip_ratio", number(c.slip_ratio)).set("slip_measured", c.slip_measured).set("depths_judged", c.judged).set("depths_consistent", c.consistent);
    m.set("growth_exponent", estimate(c.growth_measured)).set("predicted_growth_exponent", number(c.growth_predicted)).set("grows_more", c.grows_more).set("grows_less", c.grows_less);
    m.set("passes", list(c.passes, [](const validation::RutPass& p) {
      Json k = Json::object();
      k.set("pass", p.pass).set("measured_loaded_m", estimate(p.measured_loaded_m)).set("predicted_loaded_m", estimate_json(p.predicted_loaded_m));
      return k.set("measured_after_m", estimate(p.measured_after_m)).set("predicted_after_m", estimate_json(p.predicted_after_m));
    }));
    return m.set("statement", c.statement);
  }));
}

}  // namespace hardpan::service
