// SPDX-License-Identifier: Apache-2.0
// Motion resistance over normal load, four ways, and rolling radii found on the way.
//   towed and coast-down: minus the window's coefficient
//   self-propelled: gross traction less net, T / (r N) - F / N, in windows without pull
//   zero slip of the curve: minus the coefficient at slip 0, where slip 0 was tested
// The four are different quantities and are not averaged: a driven wheel at zero slip, a towed wheel and a self-propelled
// vehicle run at different slips.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "records/detail/drawbar_steps.hpp"
#include "units/count.hpp"

namespace hardpan::records {

const char* name(ResistanceMethod method) {
  switch (method) {
    case ResistanceMethod::towed: return "towed";
    case ResistanceMethod::coast_down: return "coast-down";
    case ResistanceMethod::self_propelled_torque: return "self-propelled, from axle torque";
    case ResistanceMethod::zero_slip_of_curve: return "zero slip of the pull-slip curve";
  }
  return "";
}

namespace detail {
namespace {

struct Values {
  std::vector<ResistanceRun> runs;  // in the order of the records
  std::vector<double> speed, value;
  double weight = 0, gain = 0;
  std::size_t windows = 0;
};

// Adds one window: sums first, made means by finish_runs.
void add_window(Values& v, const PullWindow& w, double value) {
  const std::string& run = w.run.empty() ? w.id : w.run;
  auto at = std::find_if(v.runs.begin(), v.runs.end(), [&](const ResistanceRun& r) { return r.run == run; });
  if (at == v.runs.end()) at = v.runs.insert(at, {.run = run, .file = w.file, .first_line = w.first_line});
  at->coefficient += value;
  at->standard_error = std::hypot(at->standard_error, w.coefficient_se);
  ++at->windows;
}
void finish_runs(Values& v) {
  for (ResistanceRun& r : v.runs) {
    r.coefficient /= static_cast<double>(r.windows);
    r.standard_error /= static_cast<double>(r.windows);
  }
}

math::Estimate over_runs(const Values& v, double level) {
  std::vector<double> means;
  for (const ResistanceRun& r : v.runs) means.push_back(r.coefficient);
  return math::estimate_from_points(means, level);
}

std::optional<double> resistance(const PullWindow& w, ResistanceMethod method, const TowSettings& settings) {
  if (!w.coefficient) return std::nullopt;
  switch (method) {
    case ResistanceMethod::towed: return w.kind == LogKind::towed ? std::optional(-*w.coefficient) : std::nullopt;
    case ResistanceMethod::coast_down: return w.kind == LogKind::coast_down ? std::optional(-*w.coefficient) : std::nullopt;
    case ResistanceMethod::self_propelled_torque:
      if (w.kind != LogKind::tow || w.efficiency_kind != EfficiencyKind::tractive || !w.input_coefficient ||
          !w.pull_over_weight)
        return std::nullopt;
      if (std::abs(*w.pull_over_weight) > settings.zero_pull_of_weight) return std::nullopt;
      return *w.input_coefficient - *w.coefficient;
    case ResistanceMethod::zero_slip_of_curve: return std::nullopt;
  }
  return std::nullopt;
}

}  // namespace

std::vector<MotionResistance> resistances_of(const std::vector<PullWindow>& windows, const std::vector<DrawbarGroup>& groups,
                                             const DrawbarSettings& settings) {
  std::vector<MotionResistance> out;
  for (const ResistanceMethod method :
       {ResistanceMethod::towed, ResistanceMethod::coast_down, ResistanceMethod::self_propelled_torque}) {
    std::vector<std::pair<std::pair<std::string, std::string>, Values>> classes;
    for (const PullWindow& w : windows) {
      const auto value = resistance(w, method, settings.tow);
      if (!value) continue;
      auto at = std::find_if(classes.begin(), classes.end(), [&](const auto& c) {
        return c.first == std::pair(w.vehicle, w.zone) &&
               std::abs(w.weight_n - c.second.weight) <= settings.weight_class_relative * c.second.weight;
      });
      if (at == classes.end()) {
        classes.push_back({{w.vehicle, w.zone}, {.weight = w.weight_n}});
        at = classes.end() - 1;
      }
      Values& v = at->second;
      add_window(v, w, *value);
      v.gain = std::max(v.gain, method == ResistanceMethod::towed ? w.gain_relative_sd : 0.0);
      ++v.windows;
      if (w.travel_speed_m_per_s) v.speed.push_back(*w.travel_speed_m_per_s), v.value.push_back(*value);
    }
    for (auto& [key, v] : classes) {
      finish_runs(v);
      MotionResistance r{.vehicle = key.first,
                         .zone = key.second,
                         .method = method,
                         .coefficient = over_runs(v, settings.curve.level),
                         .weight_n = v.weight};
      r.gain_relative_sd = v.gain;
      if (!v.speed.empty()) r.speed_m_per_s = math::mean(v.speed);
      r.note = units::print_count(v.windows, "window") + " of " + units::print_count(v.runs.size(), "run");
      r.runs = v.runs;
      if (method == ResistanceMethod::coast_down && v.speed.size() >= 4) {
        std::vector<double> squared;
        for (const double s : v.speed) squared.push_back(s * s);
        const math::LineFit line = math::fit_line(squared, v.value);
        if (std::isfinite(line.slope)) r.speed_slope_s2_per_m2 = line.slope;
      }
      out.push_back(std::move(r));
    }
  }
  for (const DrawbarGroup& g : groups) {
    if (!g.curve.at_zero_slip) continue;
    MotionResistance r{.vehicle = g.vehicle,
                       .zone = g.zone,
                       .method = ResistanceMethod::zero_slip_of_curve,
                       .coefficient = *g.curve.at_zero_slip,
                       .weight_n = g.weight_n};
    const auto turn = [](std::optional<math::Interval>& i) {
      if (i) i = math::Interval{-i->hi, -i->lo};
    };
    r.coefficient.value = -r.coefficient.value;
    turn(r.coefficient.average_ground);
    turn(r.coefficient.next_point);
    r.gain_relative_sd = g.curve.gain_relative_sd;
    r.note = fmt::format("{} curve, zero slip: {}", name(g.curve.relation_used), vehicle::name(g.radius.condition));
    out.push_back(std::move(r));
  }
  return out;
}

std::vector<FoundRadius> find_radii(const TowReduction& log, const TowSettings& settings) {
  std::vector<double> radius, share;
  std::string zone;
  for (const PullWindow& w : log.windows) {
    if (!w.wheel_speed_rad_per_s || !w.travel_speed_m_per_s || !(*w.wheel_speed_rad_per_s > 0) ||
        !(*w.travel_speed_m_per_s > 0))
      continue;
    const bool free =
        log.kind == LogKind::towed ||
        (log.kind == LogKind::tow && w.coefficient && std::abs(*w.coefficient) <= settings.zero_pull_of_weight &&
         w.pull_over_weight && std::abs(*w.pull_over_weight) <= settings.zero_pull_of_weight);
    if (!free) continue;
    radius.push_back(*w.travel_speed_m_per_s / *w.wheel_speed_rad_per_s);
    share.push_back(w.distance_per_radian_se_share.value_or(0));
    zone = w.zone;
  }
  if (radius.empty()) return {};
  const double n = static_cast<double>(radius.size()), mean = math::mean(radius);
  double variance = 0;
  for (const double s : share) variance += s * s * mean * mean / (n * n);
  if (radius.size() > 1) variance = std::max(variance, math::variance(radius) / n);
  const bool towed = log.kind == LogKind::towed;
  return {FoundRadius{.vehicle = log.vehicle,
                      .zone = zone,
                      .run = log.run,
                      .file = log.file,
                      .radius = {.radius_m = mean,
                                 .standard_error_m = std::sqrt(variance),
                                 .condition = towed ? vehicle::ZeroSlip::towed_soil : vehicle::ZeroSlip::self_propelled_soil,
                                 .source = fmt::format("found {} on the test surface in {} ({})",
                                                       towed ? "towed" : "self-propelled", log.id, units::print_count(radius.size(), "window"))}}};
}

std::optional<RollingRadius> radius_for(std::vector<FoundRadius>& found, const std::string& vehicle_id,
                                        const std::string& zone) {
  FoundRadius* best = nullptr;
  int best_rank = -1;
  for (FoundRadius& f : found) {
    if (f.vehicle != vehicle_id) continue;
    const int rank = (f.radius.condition == vehicle::ZeroSlip::towed_soil ? 2 : 0) + (f.zone == zone ? 1 : 0);
    if (rank > best_rank) best_rank = rank, best = &f;
  }
  if (!best) return std::nullopt;
  best->used_for_slip = true;
  return best->radius;
}

}  // namespace detail
}  // namespace hardpan::records
