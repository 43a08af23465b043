// SPDX-License-Identifier: Apache-2.0
#include "records/way_run.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>

#include <fmt/format.h>

#include "math/distributions.hpp"
#include "records/not_negative.hpp"
#include "units/count.hpp"

namespace hardpan::records {
namespace {

using units::Dimension;

// Runs in groups: those of one key whose weights lie within a class. Refuses a run without a weight.
template <class Run>
std::vector<std::vector<Run>> grouped(const std::vector<Run>& runs, double class_relative, const std::function<std::string(const Run&)>& key, base::Problems& problems) {
  std::vector<std::vector<Run>> out;
  for (const Run& r : runs) {
    if (!(r.conditions.weight_n > 0) || !std::isfinite(r.conditions.weight_n)) {
      problems.refuse({.place = {.file = r.source.file, .line = r.line}, .what = "weight of the vehicle as tested is missing or impossible", .value = fmt::format("{}", r.conditions.weight_n), .bound = "over 0 N",
                       .remedy = "weigh the vehicle as tested and give its weight or mass"});
      continue;
    }
    const auto same = [&](const std::vector<Run>& g) {
      const RunConditions& first = g.front().conditions;
      return first.vehicle == r.conditions.vehicle && key(g.front()) == key(r) && std::abs(first.weight_n - r.conditions.weight_n) <= class_relative * first.weight_n;
    };
    const auto group = std::find_if(out.begin(), out.end(), same);
    if (group == out.end()) out.push_back({r});
    else group->push_back(r);
  }
  return out;
}

template <class Run>
double mean_weight_n(const std::vector<Run>& runs) {
  double sum = 0;
  for (const Run& r : runs) sum += r.conditions.weight_n;
  return sum / static_cast<double>(runs.size());
}

std::optional<math::Estimate> over_runs(const std::vector<double>& values, double level) {
  if (values.empty()) return std::nullopt;
  const math::Estimate e = math::estimate_from_points(values, level);
  return e.value < 0 ? e : not_negative(e);   // downhill a battery may gain
}

TrialBound bound_of(RoughOutcome outcome) {
  switch (outcome) {
    case RoughOutcome::held: return TrialBound::at_least;
    case RoughOutcome::lifted: return TrialBound::below;
    case RoughOutcome::stopped: return TrialBound::either;
  }
  return TrialBound::either;
}

std::vector<ShakingAtSpeed> shaking_of(std::vector<RoughRun> runs, const WayRunSettings& s) {
  std::stable_sort(runs.begin(), runs.end(), [](const RoughRun& a, const RoughRun& b) { return a.speed_m_per_s < b.speed_m_per_s; });
  std::vector<ShakingAtSpeed> out;
  for (std::size_t i = 0; i < runs.size();) {
    const double first = runs[i].speed_m_per_s;
    ShakingAtSpeed at;
    std::vector<double> peaks, rms;
    for (; i < runs.size() && runs[i].speed_m_per_s - first <= s.speed_class_relative * first; ++i) {
      at.speed_m_per_s += runs[i].speed_m_per_s;
      at.lifted += runs[i].outcome == RoughOutcome::lifted ? 1 : 0;
      ++at.runs;
      if (runs[i].peak_m_per_s2) peaks.push_back(*runs[i].peak_m_per_s2);
      if (runs[i].rms_m_per_s2) rms.push_back(*runs[i].rms_m_per_s2);
    }
    at.speed_m_per_s /= static_cast<double>(at.runs);
    at.peak_m_per_s2 = over_runs(peaks, s.level);
    at.rms_m_per_s2 = over_runs(rms, s.level);
    out.push_back(std::move(at));
  }
  return out;
}

}  // namespace

std::vector<TripRuns> reduce_trip_runs(const std::vector<TripRun>& runs, const WayRunSettings& s, base::Problems& problems) {
  std::vector<TripRuns> out;
  for (auto& group : grouped<TripRun>(runs, s.weight_class_relative, [](const TripRun& r) { return r.trip; }, problems)) {
    TripRuns t{.vehicle = group.front().conditions.vehicle, .trip = group.front().trip, .weight_n = mean_weight_n(group)};
    std::map<TripOutcome, std::size_t> ended;
    std::vector<double> energies, times;
    for (const TripRun& r : group) {
      if (r.outcome != TripOutcome::arrived) {
        if (r.outcome != TripOutcome::stopped) ++ended[r.outcome];
        continue;
      }
      ++t.arrived;
      if (r.energy_j) energies.push_back(*r.energy_j);
      if (r.time_s) times.push_back(*r.time_s);
    }
    t.ended.assign(ended.begin(), ended.end());
    std::stable_sort(t.ended.begin(), t.ended.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
    std::size_t decided = t.arrived;
    for (const auto& [outcome, count] : t.ended) decided += count;
    if (decided > 0) t.chance_of_arriving = math::clopper_pearson(t.arrived, decided, s.level);
    t.energy_j = over_runs(energies, s.level);
    t.time_s = over_runs(times, s.level);
    t.text = decided == 0 ? "no run was decided" : fmt::format("{} of {} arrived", t.arrived, units::print_count(decided, "run"));
    if (t.energy_j) t.text += ", taking " + units::print_quantity(t.energy_j->value, Dimension::energy, s.output_units);
    if (t.time_s) t.text += std::string(t.energy_j ? " and " : ", taking ") + units::print_quantity(t.time_s->value, Dimension::time, s.output_units);
    if (!t.ended.empty()) t.text += fmt::format("; otherwise ended by {}", name(t.ended.front().first));
    t.runs = std::move(group);
    out.push_back(std::move(t));
  }
  return out;
}

std::vector<RockRuns> reduce_rock_runs(const std::vector<RockRun>& runs, const WayRunSettings& s, base::Problems& problems) {
  std::vector<RockRuns> out;
  for (auto& group : grouped<RockRun>(runs, s.weight_class_relative, [](const RockRun& r) { return r.rocks; }, problems)) {
    RockRuns t{.vehicle = group.front().conditions.vehicle, .rocks = group.front().rocks, .weight_n = mean_weight_n(group)};
    for (const RockRun& r : group) {
      t.distance_m += r.distance_m;
      t.by_wheel += r.outcome == RockOutcome::wheel ? 1 : 0;
      t.by_body += r.outcome == RockOutcome::body ? 1 : 0;
    }
    const math::Interval count = math::poisson_limits(t.stops(), s.level);
    t.stops_per_m = {count.lo / t.distance_m, count.hi / t.distance_m};
    t.text = fmt::format("stopped by a rock {} in {} over {} driven", t.stops() == 1 ? "once" : fmt::format("{} times", t.stops()), units::print_count(group.size(), "run"),
                         units::print_quantity(t.distance_m, Dimension::length, s.output_units));
    t.runs = std::move(group);
    out.push_back(std::move(t));
  }
  return out;
}

std::vector<RoughRuns> reduce_rough_runs(const std::vector<RoughRun>& runs, const WayRunSettings& s, base::Problems& problems) {
  std::vector<RoughRuns> out;
  for (auto& group : grouped<RoughRun>(runs, s.weight_class_relative, [](const RoughRun& r) { return r.ride + "\n" + r.source.zone; }, problems)) {
    RoughRuns t{.vehicle = group.front().conditions.vehicle, .ride = group.front().ride, .zone = group.front().source.zone, .weight_n = mean_weight_n(group)};
    std::vector<BoundedTrial> trials;
    for (const RoughRun& r : group) trials.push_back({r.speed_m_per_s, bound_of(r.outcome)});
    t.bracket = bracket_of(trials, Harder::larger);
    t.text = "speed at which a wheel lifts: " + bracket_text(t.bracket, Harder::larger, {"held", "a wheel lifted", "no run lifted a wheel", "no run held the ground"},
                                                      [&](double v) { return units::print_quantity(v, Dimension::speed, s.output_units); });
    t.shaking = shaking_of(group, s);
    t.runs = std::move(group);
    out.push_back(std::move(t));
  }
  return out;
}

const char* name(TripOutcome outcome) {
  switch (outcome) {
    case TripOutcome::arrived: return "arrived";
    case TripOutcome::ground: return "ground";
    case TripOutcome::battery: return "battery";
    case TripOutcome::hot_drive: return "hot drive";
    case TripOutcome::stopped: return "stopped";
  }
  return "";
}

const char* name(RockOutcome outcome) {
  switch (outcome) {
    case RockOutcome::clear: return "clear";
    case RockOutcome::wheel: return "wheel stopped";
    case RockOutcome::body: return "body touched";
    case RockOutcome::stopped: return "stopped";
  }
  return "";
}

const char* name(RoughOutcome outcome) {
  switch (outcome) {
    case RoughOutcome::held: return "held";
    case RoughOutcome::lifted: return "wheel lifted";
    case RoughOutcome::stopped: return "stopped";
  }
  return "";
}

}  // namespace hardpan::records
