// SPDX-License-Identifier: Apache-2.0
#include "records/obstacle_trial.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "units/count.hpp"

namespace hardpan::records {
namespace {

TrialBound bound_of(const ObstacleTry& t) {
  if (t.assisted) return TrialBound::set_aside;
  switch (t.outcome) {
    case ObstacleOutcome::over: return TrialBound::at_least;
    case ObstacleOutcome::by_driver: return TrialBound::either;
    case ObstacleOutcome::stopped:
    case ObstacleOutcome::hung_up:
    case ObstacleOutcome::tipped: return TrialBound::below;
  }
  return TrialBound::either;
}

std::vector<BoundedTrial> bounded(const ObstacleLimits& g) {
  std::vector<BoundedTrial> out;
  for (const ObstacleReading& t : g.tries) out.push_back({t.size_m, t.bound});
  return out;
}

std::string over_text(const std::vector<TestedSize>& sizes) {
  const std::size_t over = sizes.empty() ? 0 : sizes.front().passed, decided = over + (sizes.empty() ? 0 : sizes.front().failed);
  return decided == 0 ? "no try was decided" : fmt::format("{} of {} got over", over, units::print_count(decided, "try", "tries"));
}

void finish(ObstacleLimits& g, const ObstacleTrialSettings& settings) {
  const auto trials = bounded(g);
  const bool sized = g.obstacle != ObstacleKind::profile;
  g.sizes = tested_sizes(trials, settings.size_class_relative, settings.level);
  if (sized) g.bracket = bracket_of(trials, Harder::larger);
  g.text = !sized ? over_text(g.sizes) : bracket_text(g.bracket, Harder::larger, {"over", "not over", "no try failed", "no try got over"},
                        [&](double m) { return units::print_quantity(m, units::Dimension::length, settings.output_units); });
  for (const ObstacleReading& t : g.tries) {
    if (t.bound == TrialBound::set_aside || !t.friction_ratio) continue;
    ++g.friction_readings;
    if (!g.friction) g.friction = math::Interval{*t.friction_ratio, *t.friction_ratio};
    g.friction->lo = std::min(g.friction->lo, *t.friction_ratio);
    g.friction->hi = std::max(g.friction->hi, *t.friction_ratio);
  }
  for (const ObstacleReading& t : g.tries) {
    const bool counts = !sized || (g.bracket.failed && std::abs(t.size_m - *g.bracket.failed) <= settings.size_class_relative * *g.bracket.failed);
    if (t.bound != TrialBound::below || !counts) continue;
    const auto it = std::find_if(g.ended.begin(), g.ended.end(), [&](const auto& e) { return e.first == t.outcome; });
    if (it == g.ended.end()) g.ended.emplace_back(t.outcome, 1);
    else ++it->second;
  }
  std::stable_sort(g.ended.begin(), g.ended.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
}

}  // namespace

std::vector<ObstacleLimits> reduce_obstacle_tries(const std::vector<ObstacleTry>& tries, const ObstacleTrialSettings& settings,
                                                  base::Problems& problems) {
  std::vector<ObstacleLimits> out;
  std::vector<std::vector<double>> weights;
  for (const ObstacleTry& t : tries) {
    const base::Place place{.file = t.source.file, .line = t.line, .key = t.line ? "" : t.source.id};
    if (!(t.conditions.weight_n > 0) || !std::isfinite(t.conditions.weight_n)) {
      problems.refuse({.place = place, .what = "weight of the vehicle as tested is missing or impossible", .value = fmt::format("{}", t.conditions.weight_n),
                       .bound = "over 0 N", .remedy = "weigh the vehicle as tested and give its weight or mass"});
      continue;
    }
    const bool profile = t.obstacle == ObstacleKind::profile;
    if (!profile && !(t.size_m > 0 && std::isfinite(t.size_m))) {
      problems.remark({.place = place, .what = "obstacle without a size set aside", .value = fmt::format("{}", t.size_m), .bound = "over 0 m"});
      continue;
    }
    if (t.assisted) {
      problems.remark({.place = place, .what = "assisted try at an obstacle is set aside", .value = t.source.id, .bound = "the vehicle crosses on its own"});
    }
    const auto same = [&](const ObstacleLimits& g) {
      return g.vehicle == t.conditions.vehicle && g.zone == t.source.zone && g.obstacle == t.obstacle && (!profile || g.profile == t.named) && g.rolling_start == t.rolling_start &&
             g.backward == t.backward && std::abs(t.conditions.weight_n - g.weight_n) <= settings.weight_class_relative * g.weight_n;
    };
    auto group = std::find_if(out.begin(), out.end(), same);
    if (group == out.end()) {
      out.push_back({.vehicle = t.conditions.vehicle, .zone = t.source.zone, .weight_n = t.conditions.weight_n, .obstacle = t.obstacle, .profile = profile ? t.named : "",
                     .rolling_start = t.rolling_start, .backward = t.backward});
      weights.emplace_back();
      group = out.end() - 1;
    }
    weights[static_cast<std::size_t>(group - out.begin())].push_back(t.conditions.weight_n);
    group->tries.push_back({.file = t.source.file, .line = t.line, .id = t.source.id, .run = t.conditions.run, .axle = t.axle, .remark = t.source.remark, .condition = t.source.condition, .named = t.named,
                            .size_m = t.size_m, .friction_ratio = t.friction_ratio, .clock_s = t.source.clock_s, .outcome = t.outcome, .bound = bound_of(t)});
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i].weight_n = math::mean(weights[i]);
    finish(out[i], settings);
  }
  return out;
}

std::string group_words(const ObstacleLimits& g) {
  return fmt::format("{}, {} approach{}", g.profile.empty() ? name(g.obstacle) : "obstacle " + g.profile, g.rolling_start ? "rolling" : "slow", g.backward ? ", backward" : "");
}

const char* name(ObstacleKind kind) {
  switch (kind) {
    case ObstacleKind::step_up: return "step up";
    case ObstacleKind::step_down: return "step down";
    case ObstacleKind::gap: return "gap";
    case ObstacleKind::profile: return "profile";
  }
  return "";
}

const char* name(ObstacleOutcome outcome) {
  switch (outcome) {
    case ObstacleOutcome::over: return "over";
    case ObstacleOutcome::stopped: return "stopped";
    case ObstacleOutcome::hung_up: return "hung up";
    case ObstacleOutcome::tipped: return "tipped";
    case ObstacleOutcome::by_driver: return "stopped by the driver";
  }
  return "";
}

}  // namespace hardpan::records
