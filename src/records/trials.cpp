// SPDX-License-Identifier: Apache-2.0
#include "records/trials.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "math/statistics.hpp"

namespace hardpan::records {
namespace {

struct Reading {
  std::string vehicle;
  double value = 0;
  std::optional<double> clock_s;
};

// What is compared with what: readings under one key are of one quantity at one place and condition.
struct Key {
  std::string quantity, unit_si, zone, lane, condition;
  auto operator<=>(const Key&) const = default;
};
using Readings = std::map<Key, std::vector<Reading>>;

// Pull windows near one slip, averaged over each run.
void add_pulls(const VehicleRecords& tests, const DrawbarResult& drawbar, const TrialSettings& settings, Readings& out) {
  std::map<std::string, double> log_clock;                                // by id
  std::map<std::pair<std::string, std::size_t>, double> hand_clock;       // by file and line
  for (const TowLog& l : tests.logs) {
    if (l.source.clock_s) log_clock[l.source.id] = *l.source.clock_s;
  }
  for (const HandPull& p : tests.hand_pulls) {
    if (p.source.clock_s) hand_clock[{p.source.file, p.line}] = *p.source.clock_s;
  }
  struct Run {
    std::vector<double> values;
    std::optional<double> clock_s;
  };
  std::map<std::tuple<std::string, std::string, std::string, std::string>, Run> runs;  // zone, lane, vehicle, run
  for (const PullWindow& w : drawbar.windows) {
    if (w.kind != LogKind::tow || !w.coefficient || w.saturated > 0 || !w.slip_ratio) continue;
    if (!(*w.slip_ratio >= settings.pull_slip_lo && *w.slip_ratio <= settings.pull_slip_hi)) continue;
    Run& r = runs[{w.zone, w.lane, w.vehicle, w.run.empty() ? w.id : w.run}];
    r.values.push_back(*w.coefficient);
    std::optional<double> clock;
    if (w.by_hand) {
      if (const auto it = hand_clock.find({w.file, w.first_line}); it != hand_clock.end()) clock = it->second;
    } else if (const auto it = log_clock.find(w.id); it != log_clock.end()) {
      clock = it->second + w.from_s;
    }
    if (clock) r.clock_s = std::min(r.clock_s.value_or(*clock), *clock);
  }
  const std::string condition = fmt::format("slip {:.0f} to {:.0f} %", 100 * settings.pull_slip_lo, 100 * settings.pull_slip_hi);
  for (const auto& [key, r] : runs) {
    const auto& [zone, lane, vehicle, run] = key;
    out[{"pull coefficient", "", zone, lane, condition}].push_back({vehicle, math::mean(r.values), r.clock_s});
  }
}

// Values that lie within a class of each other get the class's name.
template <class Item, class ValueOf>
void in_classes(std::vector<Item> items, const ValueOf& value_of, double absolute, double relative, const std::function<void(const std::vector<Item>&, double)>& take) {
  std::stable_sort(items.begin(), items.end(), [&](const Item& a, const Item& b) { return value_of(a) < value_of(b); });
  for (std::size_t i = 0; i < items.size();) {
    std::vector<Item> members;
    double sum = 0;
    const double first = value_of(items[i]);
    for (; i < items.size() && value_of(items[i]) - first <= std::max(absolute, relative * std::abs(first)); ++i) {
      sum += value_of(items[i]);
      members.push_back(items[i]);
    }
    take(members, sum / static_cast<double>(members.size()));
  }
}

void add_turns(const TrialRecords& trials, const TrialSettings& settings, Readings& out) {
  std::map<std::tuple<std::string, std::string, RingPath, bool>, std::vector<const TurnRun*>> groups;
  for (const TurnRun& t : trials.turns) {
    if (t.outcome == TurnOutcome::turned && t.torque_n_m) groups[{t.source.zone, t.conditions.lane, t.path, t.right}].push_back(&t);
  }
  for (const auto& [key, turns] : groups) {
    const auto& [zone, lane, path, right] = key;
    in_classes<const TurnRun*>(turns, [](const TurnRun* t) { return t->radius_m; }, 0, settings.turns.radius_class_relative, [&](const std::vector<const TurnRun*>& members, double radius) {
      const std::string condition = fmt::format("radius of the {} {}, to the {}", name(path), units::print_quantity(radius, units::Dimension::length, settings.turns.output_units), right ? "right" : "left");
      for (const TurnRun* t : members) out[{"torque in a turn", "N m", zone, lane, condition}].push_back({t->conditions.vehicle, *t->torque_n_m, t->source.clock_s});
    });
  }
}

void add_slopes(const VehicleRecords& tests, const TrialSettings& settings, Readings& out) {
  struct Climb {
    const SlopeTrial* trial;
    double angle;
  };
  std::map<std::tuple<std::string, std::string, bool, bool>, std::vector<Climb>> groups;
  for (const SlopeTrial& t : tests.slope_trials) {
    if (t.outcome != TrialOutcome::go || t.assisted || !t.slip_ratio || t.angle_rad.empty() || t.heading_rad) continue;
    groups[{t.source.zone, t.conditions.lane, t.downhill, t.rolling_start}].push_back({&t, math::mean(t.angle_rad)});
  }
  for (const auto& [key, climbs] : groups) {
    const auto& [zone, lane, down, rolling] = key;
    in_classes<Climb>(climbs, [](const Climb& c) { return c.angle; }, SlopeTrialSettings{}.angle_class_rad, 0, [&](const std::vector<Climb>& members, double angle) {
      const std::string condition = fmt::format("{} {}{}", units::print_quantity(angle, units::Dimension::angle, settings.turns.output_units), down ? "downhill" : "uphill", rolling ? ", rolling start" : "");
      for (const Climb& c : members) out[{"slip on a slope", "", zone, lane, condition}].push_back({c.trial->conditions.vehicle, *c.trial->slip_ratio, c.trial->source.clock_s});
    });
  }
}

void add_remote(const TrialRecords& trials, const TrialSettings& settings, Readings& out) {
  std::map<std::tuple<std::string, std::string, std::string, std::string>, std::vector<const RemoteRun*>> groups;
  for (const RemoteRun& r : trials.remote) {
    if (r.outcome == RemoteOutcome::finished && r.speed_m_per_s && !r.source.operator_name.empty()) groups[{r.source.zone, r.conditions.lane, r.course, r.source.operator_name}].push_back(&r);
  }
  for (const auto& [key, runs] : groups) {
    const auto& [zone, lane, course, who] = key;
    in_classes<const RemoteRun*>(runs, [](const RemoteRun* r) { return r->delay_s; }, settings.remote.delay_class_s, 0, [&](const std::vector<const RemoteRun*>& members, double delay) {
      const std::string condition = fmt::format("operator {}, delay {}{}", who, units::print_quantity(delay, units::Dimension::time, settings.remote.output_units), course.empty() ? "" : ", course " + course);
      for (const RemoteRun* r : members) out[{"remote speed", "m/s", zone, lane, condition}].push_back({r->conditions.vehicle, *r->speed_m_per_s, r->source.clock_s});
    });
  }
}

void find_pairs(const Readings& all, const TrialSettings& settings, TrialResult& result) {
  for (const auto& [key, readings] : all) {
    std::set<std::string> vehicles;
    for (const Reading& r : readings) vehicles.insert(r.vehicle);
    if (vehicles.size() < 2) continue;
    const std::string where = fmt::format("{}, {}{}{}", key.quantity, key.condition, key.zone.empty() ? "" : ", zone " + key.zone, key.lane.empty() ? "" : ", lane " + key.lane);
    if (vehicles.size() > 2) {
      result.notes.push_back(fmt::format("{}: more than two vehicles, not paired", where));
      continue;
    }
    if (std::any_of(readings.begin(), readings.end(), [](const Reading& r) { return !r.clock_s; })) {
      result.notes.push_back(fmt::format("{}: two vehicles, not paired because not every run tells its time of day", where));
      continue;
    }
    std::vector<OrderedReading> ordered;
    for (const Reading& r : readings) ordered.push_back({r.vehicle, r.value, *r.clock_s});
    auto d = paired_difference(std::move(ordered), math::kIntervalLevel, settings.longest_gap_s);
    if (!d || d->pairs < settings.fewest_pairs) {
      result.notes.push_back(fmt::format("{}: two vehicles, but not in turn; A-B-B-A pairs them", where));
      continue;
    }
    result.pairs.push_back({.quantity = key.quantity, .unit_si = key.unit_si, .zone = key.zone, .lane = key.lane, .condition = key.condition, .difference = std::move(*d)});
  }
}

}  // namespace

TrialResult reduce_trials(const TrialRecords& trials, const VehicleRecords& tests, const DrawbarResult& drawbar, const TrialSettings& settings, base::Problems& problems) {
  TrialResult out;
  out.obstacles = reduce_obstacle_tries(trials.obstacles, settings.obstacles, problems);
  out.turns = reduce_turns(trials.turns, settings.turns, problems);
  out.remote = reduce_remote_runs(trials.remote, settings.remote, problems);
  out.trips = reduce_trip_runs(trials.trips, settings.ways, problems);
  out.rocks = reduce_rock_runs(trials.rocks, settings.ways, problems);
  out.rough = reduce_rough_runs(trials.rough, settings.ways, problems);
  Readings readings;
  add_pulls(tests, drawbar, settings, readings);
  add_turns(trials, settings, readings);
  add_slopes(tests, settings, readings);
  add_remote(trials, settings, readings);
  find_pairs(readings, settings, out);
  return out;
}

}  // namespace hardpan::records
