// SPDX-License-Identifier: Apache-2.0
#include "records/drawbar.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "records/detail/drawbar_steps.hpp"
#include "units/print.hpp"

namespace hardpan::records {
namespace {

// A log whose slip waits for a radius that another log may give.
bool waits_for_radius(const TowLog& log) {
  return !log.conditions.rolling_radius_m && !log.ground_speed_m_per_s.empty() && !log.wheel_speed_rad_per_s.empty();
}

bool settings_possible(const DrawbarSettings& s, base::Problems& problems) {
  bool fine = true;
  const auto need = [&](bool holds, const char* key, double value, const char* bound) {
    if (holds) return;
    problems.refuse(
        {.place = {.key = key}, .what = "setting is impossible", .value = fmt::format("{}", value), .bound = bound});
    fine = false;
  };
  const TowSettings& t = s.tow;
  if (t.gravity_m_per_s2)
    need(*t.gravity_m_per_s2 > 0 && std::isfinite(*t.gravity_m_per_s2), "gravity", *t.gravity_m_per_s2, "over 0 m/s2");
  need(t.cut_off_hz > 0 && std::isfinite(t.cut_off_hz), "cut_off", t.cut_off_hz, "over 0 Hz");
  need(t.rotating_mass_share >= 0 && t.rotating_mass_share < 5, "rotating_mass_share", t.rotating_mass_share, "0 to 5");
  need(t.window_min_s > 0 && t.window_max_s >= t.window_min_s, "window_min", t.window_min_s,
       "over 0 s and at most window_max");
  need(t.sweep_bin_slip > 0, "sweep_bin_slip", t.sweep_bin_slip, "over 0");
  need(t.sweep_bin_min_s > 0, "sweep_bin_min", t.sweep_bin_min_s, "over 0 s");
  need(t.lag_max_s > 0, "lag_max", t.lag_max_s, "over 0 s");
  need(t.zero_min_s > 0, "zero_min", t.zero_min_s, "over 0 s");
  need(t.gap_samples >= 1, "gap_samples", t.gap_samples, "1 or more");
  need(t.set_aside_share_max >= 0 && t.set_aside_share_max < 1, "set_aside_share_max", t.set_aside_share_max, "0 to 1");
  need(s.curve.level > 0 && s.curve.level < 1, "level", s.curve.level, "0 to 1");
  need(s.curve.scale_lo > 0 && s.curve.scale_hi > s.curve.scale_lo, "scale_lo", s.curve.scale_lo,
       "over 0 and below scale_hi");
  need(s.curve.resamples >= 0, "resamples", s.curve.resamples, "0 or more");
  if (s.common_radius) need(s.common_radius->radius_m > 0, "common_radius", s.common_radius->radius_m, "over 0 m");
  return fine;
}

struct WhyLevel {
  std::string why, remedy;
};

// What keeps the gradient of a window's lane from being found from runs both ways.
WhyLevel why_level(const PullWindow& w, const std::vector<PullWindow>& windows, bool use_paired_gradient) {
  if (w.lane.empty()) {
    return {"the record names no lane, so that it cannot be found from runs both ways",
            "survey the lane and give gradient, or name the lane (key lane) and drive it both ways"};
  }
  if (w.direction.empty()) {
    return {fmt::format("the record on lane {} names no direction, so that it cannot be found from runs both ways", w.lane),
            "survey the lane and give gradient, or name each run's direction (key or column direction)"};
  }
  std::set<std::string> directions;
  for (const PullWindow& other : windows) {
    if (other.lane == w.lane && other.vehicle == w.vehicle && other.zone == w.zone && !other.direction.empty() && other.pull_n)
      directions.insert(other.direction);
  }
  if (directions.size() < 2) {
    return {fmt::format("the runs on lane {} have one direction only ({})", w.lane, w.direction),
            "survey the lane and give gradient, or drive it the other way as well"};
  }
  if (directions.size() > 2) return {fmt::format("lane {} has more than two directions", w.lane), "name the two directions of the lane alike in all its runs"};
  if (!use_paired_gradient) return {fmt::format("the runs both ways on lane {} are not used for it, as set", w.lane), "survey the lane and give gradient"};
  return {fmt::format("the runs both ways on lane {} have no slip in common", w.lane), "survey the lane and give gradient, or repeat the runs at equal slips"};
}

void remark_assumed_level(const std::vector<PullWindow>& windows, bool use_paired_gradient, base::Problems& problems) {
  std::set<std::pair<std::string, std::string>> said;
  for (const PullWindow& w : windows) {
    if (w.gradient_source != GradientSource::assumed_level || !w.coefficient ||
        !said.emplace(w.file, w.record.empty() ? w.id : w.record).second)
      continue;
    const WhyLevel level = why_level(w, windows, use_paired_gradient);
    problems.remark({.place = {.file = w.file, .line = w.first_line, .key = w.first_line ? "" : w.id},
                     .what = "gradient is neither stated nor logged, and " + level.why +
                             ": level is assumed; each degree missed is 0.017 in the pull coefficient",
                     .remedy = level.remedy});
  }
}

std::vector<std::string> conventions(const DrawbarSettings& s) {
  const TowSettings& t = s.tow;
  std::vector<std::string> out{
      "slip = (r w - v) / max(r w, v): driving positive, braking negative; the rolling radius r and the zero-slip condition in "
      "which it was found stand with every slip",
      "pull coefficient = (P cos l + W sin a + m_eff dv/dt) / (W cos a + P sin l), gradient a nose up, line angle l "
      "downwards behind, from the direction of travel",
      "the line angle is taken as 0 and the gradient as level where neither is known; each window says which source it used",
      fmt::format("channels smoothed at {} Hz (second-order Butterworth, both ways, -3 dB together) to find windows; means "
                  "are of the unsmoothed channels",
                  t.cut_off_hz),
      "standard errors count readings by their autocorrelation; intervals count runs",
      "average ground is where the mean over runs lies, next point where the next run lies; the load cell's gain error is shared "
      "by all runs and stated apart"};
  out.push_back(t.gravity_m_per_s2 ? fmt::format("inertia term with m_eff = W / g (1 + {}), g = {}", t.rotating_mass_share,
                                                 units::print_quantity(*t.gravity_m_per_s2, units::Dimension::acceleration, s.output_units, 4))
                                   : std::string("no inertia term: gravity is not given"));
  out.push_back(
      "gradeability = atan of the coefficient: first order only, without the sinkage and weight transfer of a slope");
  return out;
}

}  // namespace

DrawbarResult reduce_drawbar(const VehicleRecords& records, const DrawbarSettings& settings, base::Problems& problems) {
  DrawbarResult out;
  if (!settings_possible(settings, problems)) return out;
  out.conventions = conventions(settings);

  // Logs that need no radius from elsewhere, and a first look at the others for one without pull.
  out.logs.resize(records.logs.size());
  for (std::size_t i = 0; i < records.logs.size(); ++i) {
    base::Problems first_look;
    const TowLog& log = records.logs[i];
    out.logs[i] =
        reduce_tow_log(log, settings.tow, records.spins, std::nullopt, waits_for_radius(log) ? first_look : problems);
    for (FoundRadius& f : detail::find_radii(out.logs[i], settings.tow)) out.found_radii.push_back(std::move(f));
  }
  for (std::size_t i = 0; i < records.logs.size(); ++i) {
    const TowLog& log = records.logs[i];
    if (!waits_for_radius(log)) continue;
    const auto radius = detail::radius_for(out.found_radii, log.conditions.vehicle, log.source.zone);
    out.logs[i] = reduce_tow_log(log, settings.tow, records.spins, radius, problems);
  }
  std::set<std::string> driven;
  for (const TowLog& log : records.logs) {
    if (!log.current_a.empty()) driven.insert(log.conditions.vehicle);
  }
  if (!records.spins.empty() && driven.size() > 1) {
    problems.remark({.place = {.file = records.spins.front().source.file, .line = records.spins.front().line},
                     .what = "spin test readings name no vehicle and are used for all vehicles with current",
                     .value = fmt::format("{} vehicles", driven.size()),
                     .remedy = "reduce each vehicle in a campaign of its own where their motors differ"});
  }
  for (TowReduction& log : out.logs) {
    std::move(log.windows.begin(), log.windows.end(), std::back_inserter(out.windows));
    log.windows.clear();
  }
  for (PullWindow& w : detail::hand_windows(records.hand_pulls, out.found_radii, settings.output_units, problems))
    out.windows.push_back(std::move(w));

  out.lanes = detail::pair_lanes(out.windows, settings.use_paired_gradient, problems);
  remark_assumed_level(out.windows, settings.use_paired_gradient, problems);
  out.groups = detail::make_groups(out.windows, settings, problems);
  out.resistances = detail::resistances_of(out.windows, out.groups, settings);
  out.slopes = reduce_slope_trials(records.slope_trials, settings.slopes, problems);
  out.ruts = reduce_ruts(records.ruts, settings.ruts, problems);
  for (const PullWindow& w : out.windows) {
    if (!w.sinkage_m || !w.slip_ratio) continue;
    out.ruts.sinkage.push_back({.file = w.file,
                                .line = w.first_line,
                                .vehicle = w.vehicle,
                                .zone = w.zone,
                                .run = w.run,
                                .slip_ratio = *w.slip_ratio,
                                .sinkage_m = *w.sinkage_m,
                                .weight_n = w.weight_n,
                                .gradient_rad = w.gradient_rad,
                                .rolling_radius_m = w.rolling_radius_m,
                                .zero_slip = w.zero_slip,
                                .depth_kind = "hand tow sheet"});
  }
  return out;
}

}  // namespace hardpan::records
