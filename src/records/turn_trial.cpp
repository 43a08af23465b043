// SPDX-License-Identifier: Apache-2.0
#include "records/turn_trial.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "math/statistics.hpp"

namespace hardpan::records {
namespace {

TrialBound bound_of(TurnOutcome outcome) {
  switch (outcome) {
    case TurnOutcome::turned: return TrialBound::at_least;
    case TurnOutcome::stalled:
    case TurnOutcome::slid: return TrialBound::below;
    case TurnOutcome::stopped: return TrialBound::either;
  }
  return TrialBound::either;
}

std::optional<math::Estimate> over(const std::vector<double>& values, double level) {
  if (values.empty()) return std::nullopt;
  return math::estimate_from_points(values, level);
}

void find_torque(TurnLimits& g, const TurnTrialSettings& settings) {
  std::vector<const TurnReading*> held;
  for (const TurnReading& t : g.turns) {
    if (t.outcome == TurnOutcome::turned && (t.torque_n_m || t.power_w)) held.push_back(&t);
  }
  std::stable_sort(held.begin(), held.end(), [](const auto* a, const auto* b) { return a->radius_m < b->radius_m; });
  for (std::size_t i = 0; i < held.size();) {
    std::vector<double> radius, torque, power, work, speed;
    std::size_t j = i;
    for (; j < held.size() && held[j]->radius_m - held[i]->radius_m <= settings.radius_class_relative * held[i]->radius_m; ++j) {
      const TurnReading& t = *held[j];
      radius.push_back(t.radius_m);
      if (t.torque_n_m) torque.push_back(*t.torque_n_m);
      if (t.power_w) power.push_back(*t.power_w);
      if (t.speed_m_per_s) speed.push_back(*t.speed_m_per_s);
      if (t.power_w && t.speed_m_per_s && *t.speed_m_per_s > 0) work.push_back(*t.power_w / *t.speed_m_per_s);
    }
    TorqueAtRadius at{.radius_m = math::mean(radius), .turns = j - i, .torque_n_m = over(torque, settings.level), .power_w = over(power, settings.level),
                      .work_j_per_m = over(work, settings.level)};
    if (!speed.empty()) at.speed_m_per_s = math::mean(speed);
    g.torque.push_back(std::move(at));
    i = j;
  }
}

void finish(TurnLimits& g, const TurnTrialSettings& settings) {
  std::vector<BoundedTrial> trials;
  std::vector<double> speeds;
  for (const TurnReading& t : g.turns) {
    trials.push_back({t.radius_m, t.bound});
    if (t.speed_m_per_s) speeds.push_back(*t.speed_m_per_s);
  }
  if (!speeds.empty()) g.speed_m_per_s = math::mean(speeds);
  g.radii = tested_sizes(trials, settings.radius_class_relative, settings.level);
  g.bracket = bracket_of(trials, Harder::smaller);
  g.text = bracket_text(g.bracket, Harder::smaller, {"turned", "not held", "no turn failed", "no turn was held"},
                        [&](double m) { return units::print_quantity(m, units::Dimension::length, settings.output_units); });
  find_torque(g, settings);
  if (!g.bracket.failed) return;
  for (const TurnReading& t : g.turns) {
    if (t.bound != TrialBound::below || std::abs(t.radius_m - *g.bracket.failed) > settings.radius_class_relative * *g.bracket.failed) continue;
    const auto it = std::find_if(g.ended.begin(), g.ended.end(), [&](const auto& e) { return e.first == t.outcome; });
    if (it == g.ended.end()) g.ended.emplace_back(t.outcome, 1);
    else ++it->second;
  }
  std::stable_sort(g.ended.begin(), g.ended.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
}

}  // namespace

std::vector<TurnLimits> reduce_turns(const std::vector<TurnRun>& turns, const TurnTrialSettings& settings, base::Problems& problems) {
  std::vector<TurnLimits> out;
  std::vector<std::vector<double>> weights, gradients;
  for (const TurnRun& t : turns) {
    const base::Place place{.file = t.source.file, .line = t.line, .key = t.line ? "" : t.source.id};
    if (!(t.conditions.weight_n > 0) || !std::isfinite(t.conditions.weight_n)) {
      problems.refuse({.place = place, .what = "weight of the vehicle as tested is missing or impossible", .value = fmt::format("{}", t.conditions.weight_n),
                       .bound = "over 0 N", .remedy = "weigh the vehicle as tested and give its weight or mass"});
      continue;
    }
    if (!(t.radius_m >= 0) || !std::isfinite(t.radius_m)) {
      problems.remark({.place = place, .what = "turn without a radius set aside", .value = fmt::format("{}", t.radius_m), .bound = "0 m or more"});
      continue;
    }
    const auto same = [&](const TurnLimits& g) {
      return g.vehicle == t.conditions.vehicle && g.zone == t.source.zone && g.path == t.path && g.right == t.right &&
             std::abs(t.conditions.gradient_rad - g.gradient_rad) <= settings.gradient_class_rad &&
             std::abs(t.conditions.weight_n - g.weight_n) <= settings.weight_class_relative * g.weight_n;
    };
    auto group = std::find_if(out.begin(), out.end(), same);
    if (group == out.end()) {
      out.push_back({.vehicle = t.conditions.vehicle, .zone = t.source.zone, .weight_n = t.conditions.weight_n, .gradient_rad = t.conditions.gradient_rad,
                     .path = t.path, .right = t.right, .power_at_axles = true});
      weights.emplace_back();
      gradients.emplace_back();
      group = out.end() - 1;
    }
    const auto k = static_cast<std::size_t>(group - out.begin());
    weights[k].push_back(t.conditions.weight_n);
    gradients[k].push_back(t.conditions.gradient_rad);
    group->power_at_axles = group->power_at_axles && (!t.power_w || t.power_at_axles);
    group->turns.push_back({.file = t.source.file, .line = t.line, .id = t.source.id, .run = t.conditions.run, .remark = t.source.remark, .condition = t.source.condition, .radius_m = t.radius_m,
                            .radius_measured = t.radius_measured, .outcome = t.outcome, .bound = bound_of(t.outcome), .speed_m_per_s = t.speed_m_per_s,
                            .torque_n_m = t.torque_n_m, .power_w = t.power_w, .clock_s = t.source.clock_s});
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i].weight_n = math::mean(weights[i]);
    out[i].gradient_rad = math::mean(gradients[i]);
    finish(out[i], settings);
  }
  return out;
}

const char* name(TurnOutcome outcome) {
  switch (outcome) {
    case TurnOutcome::turned: return "turned";
    case TurnOutcome::stalled: return "stalled";
    case TurnOutcome::slid: return "slid";
    case TurnOutcome::stopped: return "stopped";
  }
  return "";
}

const char* name(RingPath path) {
  switch (path) {
    case RingPath::outer_wheel: return "outer wheel";
    case RingPath::inner_wheel: return "inner wheel";
    case RingPath::centre: return "centre";
  }
  return "";
}

}  // namespace hardpan::records
