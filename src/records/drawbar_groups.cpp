// SPDX-License-Identifier: Apache-2.0
// Windows of one vehicle, zone and weight class: one rolling radius, one pull-slip curve, one efficiency curve.
//
// Efficiency against slip is mu(s) (1 - s) / kappa(s), kappa the power put in over normal load times rolling speed; both are
// smooth curves through all windows, because the largest of scattered window efficiencies would be biased upwards.
#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "math/random.hpp"
#include "math/statistics.hpp"
#include "records/detail/drawbar_steps.hpp"
#include "records/detail/pull_slip_fit.hpp"
#include "units/count.hpp"

namespace hardpan::records::detail {
namespace {

bool in_curve(const PullWindow& w) { return w.kind == LogKind::tow && w.slip_ratio && w.coefficient && w.saturated == 0; }

RollingRadius common_radius(const std::vector<PullWindow>& windows, const std::vector<std::size_t>& group) {
  std::map<std::pair<double, int>, std::pair<std::size_t, const PullWindow*>> count;
  for (const std::size_t i : group) {
    if (!windows[i].slip_ratio) continue;
    auto& entry = count[{windows[i].rolling_radius_m, static_cast<int>(windows[i].zero_slip)}];
    ++entry.first;
    if (!entry.second) entry.second = &windows[i];
  }
  std::size_t most = 0;
  RollingRadius out;
  for (const auto& [key, entry] : count) {
    if (entry.first <= most) continue;
    most = entry.first;
    const PullWindow& w = *entry.second;
    out = {.radius_m = w.rolling_radius_m,
           .standard_error_m = w.rolling_radius_se_m,
           .condition = w.zero_slip,
           .source = w.radius_source};
  }
  return out;
}

std::optional<math::Estimate> angle_of(const std::optional<math::Estimate>& coefficient) {
  if (!coefficient) return std::nullopt;
  math::Estimate out = *coefficient;
  const auto atan_of = [](std::optional<math::Interval>& i) {
    if (i) i = math::Interval{std::atan(i->lo), std::atan(i->hi)};
  };
  out.value = std::atan(out.value);
  atan_of(out.average_ground);
  atan_of(out.next_point);
  return out;
}

struct EfficiencyPoint {
  CurvePoint pull, input;
};

struct Best {
  double slip = 0, efficiency = -HUGE_VAL;
  bool at_end = false;
};

double efficiency_at(const PullSlipParameters& pull, const PullSlipParameters& input, double s) {
  return pull.at(s) * (1 - s) / input.at(s);
}

Best best_of(const PullSlipParameters& pull, const PullSlipParameters& input, double lo, double hi) {
  constexpr int kSteps = 400;  // slip to a 400th of the tested range; the top is flat there
  Best out;
  for (int i = 0; i <= kSteps; ++i) {
    const double s = lo + (hi - lo) * i / kSteps;
    const double e = efficiency_at(pull, input, s);
    if (e > out.efficiency) out = {s, e, i == 0 || i == kSteps};
  }
  return out;
}

}  // namespace

EfficiencyCurve efficiency_of(const std::vector<PullWindow>& windows, const DrawbarGroup& group,
                              const PullSlipSettings& settings) {
  EfficiencyCurve out;
  std::size_t tractive = 0, overall = 0;
  for (const std::size_t i : group.windows) {
    const PullWindow& w = windows[i];
    if (!in_curve(w) || !w.input_coefficient || *w.slip_ratio < 0) continue;
    tractive += w.efficiency_kind == EfficiencyKind::tractive;
    overall += w.efficiency_kind == EfficiencyKind::overall;
  }
  if (tractive + overall == 0) {
    out.note = "no power was measured";
    return out;
  }
  out.kind = tractive >= overall ? EfficiencyKind::tractive : EfficiencyKind::overall;
  out.label = name(out.kind);
  std::vector<std::vector<EfficiencyPoint>> runs;
  std::vector<CurvePoint> pull, input;
  std::map<std::string, std::size_t> index;
  double lo = HUGE_VAL, hi = -HUGE_VAL;
  for (const std::size_t i : group.windows) {
    const PullWindow& w = windows[i];
    if (!in_curve(w) || !w.input_coefficient || *w.slip_ratio < 0 || w.efficiency_kind != out.kind) continue;
    if (out.power_basis.empty()) out.power_basis = w.power_basis;
    else if (out.power_basis.find(w.power_basis) == std::string::npos) out.power_basis += " and " + w.power_basis;
    const auto [at, is_new] = index.try_emplace(w.run, runs.size());
    if (is_new) runs.emplace_back();
    runs[at->second].push_back({{*w.slip_ratio, *w.coefficient, 1}, {*w.slip_ratio, *w.input_coefficient, 1}});
    lo = std::min(lo, *w.slip_ratio), hi = std::max(hi, *w.slip_ratio);
  }
  for (const auto& run : runs) {
    for (const EfficiencyPoint& p : run) pull.push_back(p.pull), input.push_back(p.input);
  }
  const PullSlipRelation relation = group.curve.relation_used;
  const CurveFit fit_pull = fit_curve(relation, pull, lo, settings.scale_lo, settings.scale_hi);
  const CurveFit fit_input = fit_curve(PullSlipRelation::exponential, input, lo, settings.scale_lo, settings.scale_hi);
  if (!std::isfinite(fit_pull.parameters.base) || !std::isfinite(fit_input.parameters.base)) {
    out.note = fmt::format("{} with power {} not determine a curve", units::print_count(pull.size(), "window"), pull.size() == 1 ? "does" : "do");
    return out;
  }
  const Best best = best_of(fit_pull.parameters, fit_input.parameters, lo, hi);
  out.best_at_end_of_range = best.at_end;
  std::vector<double> best_draws, slip_draws;
  std::vector<std::vector<double>> band_draws(static_cast<std::size_t>(std::max(2, settings.band_points)));
  const auto band_slip = [&](std::size_t k) {
    return lo + (hi - lo) * static_cast<double>(k) / static_cast<double>(band_draws.size() - 1);
  };
  if (runs.size() >= 2) {
    const math::Stream pick(settings.seed, math::stream_id("efficiency runs"));
    for (int b = 0; b < settings.resamples; ++b) {
      std::vector<CurvePoint> p, q;
      for (std::size_t g = 0; g < runs.size(); ++g) {
        for (const EfficiencyPoint& point : runs[pick.below(static_cast<std::uint64_t>(b) * runs.size() + g, runs.size())])
          p.push_back(point.pull), q.push_back(point.input);
      }
      const CurveFit fp = fit_curve(relation, p, lo, settings.scale_lo, settings.scale_hi, kResampleEffort);
      const CurveFit fq =
          fit_curve(PullSlipRelation::exponential, q, lo, settings.scale_lo, settings.scale_hi, kResampleEffort);
      if (!std::isfinite(fp.parameters.base) || !std::isfinite(fq.parameters.base)) continue;
      const Best d = best_of(fp.parameters, fq.parameters, lo, hi);
      best_draws.push_back(d.efficiency), slip_draws.push_back(d.slip);
      for (std::size_t k = 0; k < band_draws.size(); ++k)
        band_draws[k].push_back(efficiency_at(fp.parameters, fq.parameters, band_slip(k)));
    }
  }
  const double none = std::numeric_limits<double>::quiet_NaN();
  out.best = estimate_over_runs(best.efficiency, best_draws, none, runs.size(), settings.level);
  out.slip_at_best = estimate_over_runs(best.slip, slip_draws, none, runs.size(), settings.level);
  for (std::size_t k = 0; k < band_draws.size(); ++k) {
    const double s = band_slip(k);
    out.band.push_back({s, estimate_over_runs(efficiency_at(fit_pull.parameters, fit_input.parameters, s), band_draws[k],
                                              none, runs.size(), settings.level)});
  }
  out.note = best.at_end ? "largest at an end of the tested slips: the best efficiency was not bracketed" : "ok";
  if (tractive > 0 && overall > 0)
    out.note += fmt::format("; {} of the other kind of efficiency left out", units::print_count(std::min(tractive, overall), "window"));
  return out;
}

std::vector<DrawbarGroup> make_groups(std::vector<PullWindow>& windows, const DrawbarSettings& settings,
                                      base::Problems& problems) {
  std::vector<DrawbarGroup> out;
  for (std::size_t i = 0; i < windows.size(); ++i) {
    const PullWindow& w = windows[i];
    if (w.kind != LogKind::tow) continue;
    auto group = std::find_if(out.begin(), out.end(), [&](const DrawbarGroup& g) {
      return g.vehicle == w.vehicle && g.zone == w.zone &&
             std::abs(g.weight_n - w.weight_n) <= settings.weight_class_relative * g.weight_n;
    });
    if (group == out.end()) {
      out.push_back({.vehicle = w.vehicle, .zone = w.zone, .weight_n = w.weight_n});
      group = out.end() - 1;
    }
    group->windows.push_back(i);
  }
  for (DrawbarGroup& g : out) {
    double weight = 0, gain = 0;
    for (const std::size_t i : g.windows)
      weight += windows[i].weight_n / static_cast<double>(g.windows.size()),
          gain = std::max(gain, windows[i].gain_relative_sd);
    g.weight_n = weight;
    g.radius = settings.common_radius ? *settings.common_radius : common_radius(windows, g.windows);
    bool unnamed = false;
    for (const std::size_t i : g.windows) {
      PullWindow& w = windows[i];
      if (!w.slip_ratio || (w.rolling_radius_m == g.radius.radius_m && w.zero_slip == g.radius.condition)) continue;
      unnamed =
          unnamed || w.zero_slip == vehicle::ZeroSlip::not_stated || g.radius.condition == vehicle::ZeroSlip::not_stated;
      if (w.rolling_radius_m != g.radius.radius_m) ++g.slips_converted;
      set_rolling_radius(w, g.radius);
    }
    if (g.slips_converted > 0) {
      g.remarks.push_back(fmt::format("{} slip{} recomputed with the rolling radius {} ({}), so that one radius holds for the whole curve",
                                      g.slips_converted, g.slips_converted == 1 ? "" : "s",
                                      units::print_quantity(g.radius.radius_m, units::Dimension::length, settings.output_units, 4),
                                      vehicle::name(g.radius.condition)));
    }
    if (unnamed) g.remarks.push_back("rolling radii whose zero-slip condition is not stated are mixed with others in this curve");

    std::vector<PullSlipPoint> points;
    for (const std::size_t i : g.windows) {
      const PullWindow& w = windows[i];
      if (in_curve(w)) points.push_back({*w.slip_ratio, w.slip_se, *w.coefficient, w.coefficient_se, w.run});
    }
    PullSlipSettings curve = settings.curve;
    curve.gain_relative_sd = gain;
    g.curve = fit_pull_slip(points, curve);
    if (!points.empty() && !g.curve.usable()) {
      problems.remark(
          {.place = {.file = windows[g.windows.front()].file,
                     .key = "vehicle " + g.vehicle + (g.zone.empty() ? "" : ", zone " + g.zone)},
           .what = g.curve.why_this_relation.rfind("no curve", 0) == 0 ? g.curve.why_this_relation : "no pull-slip curve",
           .remedy = "add pulls at other loads, from near free rolling to well past 20 % slip"});
    }
    g.efficiency = efficiency_of(windows, g, settings.curve);
    g.gradeability_at_20_percent_rad = angle_of(g.curve.at_20_percent);
    g.gradeability_at_working_slip_rad = angle_of(g.curve.at_working_slip);
    g.gradeability_at_peak_rad = angle_of(g.curve.peak);
    g.repeats = hand_repeats(windows, g.windows, settings.repeat_pull_relative, settings.curve.level);
  }
  return out;
}

}  // namespace hardpan::records::detail
