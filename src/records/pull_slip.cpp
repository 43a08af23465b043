// SPDX-License-Identifier: Apache-2.0
// Weights: a point's variance is its own error (of coefficient, and of slip through the slope of the curve) plus a common
// scatter found so that the weighted squares equal their degrees of freedom ([DerSimonian1986] for the idea); points
// of one run share a deviation, so each run's weights are divided by 1 + (m - 1) rho, rho the intraclass correlation.
//
// Intervals: whole runs are drawn with replacement and the curve is fitted again; the spread of the draws is widened by
// t(runs - 1) / z sqrt(runs / (runs - 1)), because few runs understate it ([Cameron2008] show how much).
// Each run is drawn, never a single window.
#include "records/pull_slip.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "math/random.hpp"
#include "math/statistics.hpp"
#include "records/detail/pull_slip_fit.hpp"
#include "units/count.hpp"

namespace hardpan::records {
namespace {

using detail::CurveFit;
using detail::CurvePoint;

struct Weighted {
  std::vector<PullSlipPoint> points;           // finite ones
  std::vector<std::vector<std::size_t>> runs;  // indices into points, in order of first appearance
  double lo = 0, hi = 0;
};

Weighted arrange(const std::vector<PullSlipPoint>& points) {
  Weighted out;
  std::map<std::string, std::size_t> index;
  for (const PullSlipPoint& p : points) {
    if (!std::isfinite(p.slip_ratio) || !std::isfinite(p.coefficient)) continue;
    const auto [at, is_new] = index.try_emplace(p.run, out.runs.size());
    if (is_new) out.runs.emplace_back();
    out.runs[at->second].push_back(out.points.size());
    out.points.push_back(p);
  }
  if (out.points.empty()) return out;
  const auto [lo, hi] = std::minmax_element(out.points.begin(), out.points.end(),
                                            [](const auto& a, const auto& b) { return a.slip_ratio < b.slip_ratio; });
  out.lo = lo->slip_ratio, out.hi = hi->slip_ratio;
  return out;
}

std::vector<double> own_variance(const Weighted& w, const PullSlipParameters* curve) {
  std::vector<double> out;
  for (const PullSlipPoint& p : w.points) {
    const double slope = curve ? curve->slope_at(p.slip_ratio) : 0;
    out.push_back(p.coefficient_se * p.coefficient_se + slope * slope * p.slip_se * p.slip_se);
  }
  return out;
}

// Common variance so that sum r^2 / (own + common) equals the degrees of freedom; 0 when the points' own errors explain it all.
double common_variance(const std::vector<double>& residual, const std::vector<double>& own, double dof) {
  const auto excess = [&](double common) {
    double sum = 0;
    for (std::size_t i = 0; i < residual.size(); ++i) {
      const double v = own[i] + common;
      if (v > 0) sum += residual[i] * residual[i] / v;
      else if (residual[i] != 0) return HUGE_VAL;
    }
    return sum - dof;
  };
  if (!(dof > 0) || excess(0) <= 0) return 0;
  double lo = 0, hi = 1e-12;
  while (excess(hi) > 0 && hi < 1e6) lo = hi, hi *= 10;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (lo + hi);
    (excess(middle) > 0 ? lo : hi) = middle;
  }
  return hi;
}

struct Scatter {
  double common = 0;   // variance beyond the points' own
  double between = 0;  // variance of run deviations
  double rho = 0;      // intraclass correlation of residuals
};

// One-way analysis of variance of the residuals, runs as classes (unequal sizes).
Scatter between_runs(const Weighted& w, const std::vector<double>& residual) {
  Scatter out;
  const double n = static_cast<double>(residual.size()), groups = static_cast<double>(w.runs.size());
  if (groups < 2 || n <= groups) {
    if (groups >= 2) out.between = math::variance(residual), out.rho = 0;  // one point a run: scatter is between runs
    return out;
  }
  double total = 0, squares = 0, between = 0, within = 0;
  for (const double r : residual) total += r / n;
  for (const auto& run : w.runs) {
    const double m = static_cast<double>(run.size());
    double mean = 0;
    for (const std::size_t i : run) mean += residual[i] / m;
    for (const std::size_t i : run) within += (residual[i] - mean) * (residual[i] - mean);
    between += m * (mean - total) * (mean - total);
    squares += m * m;
  }
  const double mean_square_within = within / (n - groups), mean_square_between = between / (groups - 1);
  const double m0 = (n - squares / n) / (groups - 1);
  out.between = std::max(0.0, (mean_square_between - mean_square_within) / m0);
  const double sum = out.between + mean_square_within;
  out.rho = sum > 0 ? out.between / sum : 0;
  return out;
}

struct FullFit {
  CurveFit fit;
  std::vector<CurvePoint> points;
  Scatter scatter;
  double residual_sd = 0;
};

FullFit fit_weighted(PullSlipRelation relation, const Weighted& w, const PullSlipSettings& settings) {
  FullFit out;
  for (const PullSlipPoint& p : w.points) out.points.push_back({p.slip_ratio, p.coefficient, 1});
  const double terms = relation == PullSlipRelation::exponential_fall ? 4 : 3;
  const double dof = static_cast<double>(w.points.size()) - terms;
  for (int pass = 0; pass < 4; ++pass) {
    out.fit = detail::fit_curve(relation, out.points, w.lo, settings.scale_lo, settings.scale_hi);
    if (!std::isfinite(out.fit.parameters.base)) return out;
    std::vector<double> residual;
    double squares = 0;
    for (const PullSlipPoint& p : w.points) {
      residual.push_back(p.coefficient - out.fit.parameters.at(p.slip_ratio));
      squares += residual.back() * residual.back();
    }
    out.residual_sd = dof > 0 ? std::sqrt(squares / dof) : 0;
    out.scatter = between_runs(w, residual);
    const std::vector<double> own = own_variance(w, &out.fit.parameters);
    out.scatter.common = common_variance(residual, own, dof);
    double sum = 0;
    for (const auto& run : w.runs) {
      for (const std::size_t i : run) {
        // A floor of a millionth in coefficient keeps a point that claims no error from taking the whole weight.
        const double variance = own[i] + out.scatter.common + 1e-12;
        out.points[i].weight = 1 / (variance * (1 + static_cast<double>(run.size() - 1) * out.scatter.rho));
        sum += out.points[i].weight;
      }
    }
    for (CurvePoint& p : out.points) p.weight *= static_cast<double>(out.points.size()) / sum;
  }
  return out;
}

// Root mean square over runs, each predicted by a curve through the others.
std::optional<double> left_out_rms(PullSlipRelation relation, const Weighted& w, const std::vector<CurvePoint>& points,
                                   const PullSlipSettings& settings) {
  if (w.runs.size() < 3) return std::nullopt;
  double sum = 0;
  for (const auto& left_out : w.runs) {
    std::vector<CurvePoint> rest;
    for (const auto& run : w.runs) {
      if (&run == &left_out) continue;
      for (const std::size_t i : run) rest.push_back(points[i]);
    }
    const CurveFit fit =
        detail::fit_curve(relation, rest, w.lo, settings.scale_lo, settings.scale_hi, detail::kResampleEffort);
    if (!std::isfinite(fit.parameters.base)) return std::nullopt;
    double squares = 0;
    for (const std::size_t i : left_out) {
      const double r = points[i].value - fit.parameters.at(points[i].slip);
      squares += r * r / static_cast<double>(left_out.size());
    }
    sum += squares / static_cast<double>(w.runs.size());
  }
  return std::sqrt(sum);
}

// What one refitted curve says of the quantities that get an interval.
struct Reading {
  double a, s0, k, at20, working, peak, zero;
  std::vector<double> band;
};

Reading read(const CurveFit& fit, const Weighted& w, const PullSlipSettings& settings, const std::vector<double>& slips) {
  const PullSlipParameters& p = fit.parameters;
  Reading out{p.a, p.s0, p.k, p.at(0.2), p.at(settings.working_slip), detail::peak_inside(p, w.lo, w.hi).value, p.at(0), {}};
  for (const double s : slips) out.band.push_back(p.at(s));
  return out;
}

void choose(PullSlipCurve& curve, const PullSlipSettings& settings) {
  if (settings.relation) {
    curve.relation_used = *settings.relation;
    curve.why_this_relation = "asked for";
    return;
  }
  curve.relation_used = PullSlipRelation::exponential;
  curve.why_this_relation = fmt::format("the usual one; a choice by leaving runs out needs 3 runs, there {} {}",
                                        curve.runs == 1 ? "is" : "are", curve.runs);
  const PullSlipTrial& usual = curve.trials.front();
  if (!usual.left_out_rms) return;
  curve.why_this_relation = "the usual one; no other predicts a run left out better by 5 %";
  double least =
      0.95 * *usual.left_out_rms;  // a gain below 5 % is within the noise of such a comparison (common practice, no source)
  for (const PullSlipTrial& t : curve.trials) {
    if (!t.left_out_rms || !(*t.left_out_rms < least) || !t.solve.converged()) continue;
    least = *t.left_out_rms;
    curve.relation_used = t.relation;
    curve.why_this_relation =
        fmt::format("its pull coefficient errs by {:.4f} on a run left out, that of the exponential by {:.4f}", least, *usual.left_out_rms);
  }
}

}  // namespace

PullSlipCurve fit_pull_slip(const std::vector<PullSlipPoint>& points, const PullSlipSettings& settings) {
  PullSlipCurve curve;
  const Weighted w = arrange(points);
  curve.points = w.points.size(), curve.runs = w.runs.size();
  curve.slip_lo = w.lo, curve.slip_hi = w.hi;
  curve.gain_relative_sd = settings.gain_relative_sd;
  curve.solve.status = base::SolveStatus::no_solution;
  if (curve.points < 4 || !(w.hi - w.lo >= 0.02)) {
    curve.why_this_relation = curve.points < 4 ? fmt::format("no curve: {}, 4 are needed", units::print_count(curve.points, "point"))
                                               : fmt::format("no curve: slips from {:.1f} to {:.1f} % only", 100 * w.lo, 100 * w.hi);
    curve.remarks.push_back(curve.why_this_relation);
    return curve;
  }

  std::vector<FullFit> fits;
  for (const auto relation :
       {PullSlipRelation::exponential, PullSlipRelation::hyperbolic, PullSlipRelation::exponential_fall}) {
    FullFit f = fit_weighted(relation, w, settings);
    PullSlipTrial t{
        .relation = relation, .parameters = f.fit.parameters, .solve = f.fit.solve, .residual_sd = f.residual_sd};
    if (!std::isfinite(f.fit.parameters.base)) t.note = "no fit: " + units::print_count(curve.points, "point");
    else if (f.fit.at_upper_end)
      t.note = "nearly a straight line over the tested slips: slip constant at the upper end of the search";
    else if (f.fit.at_lower_end)
      t.note = "pull hardly depends on the tested slips: slip constant at the lower end of the search";
    else if (relation == PullSlipRelation::exponential_fall && f.fit.parameters.d == 0)
      t.note = "no fall: same as the exponential";
    if (std::isfinite(f.fit.parameters.base)) t.left_out_rms = left_out_rms(relation, w, f.points, settings);
    curve.trials.push_back(std::move(t));
    fits.push_back(std::move(f));
  }
  choose(curve, settings);
  const FullFit& chosen = fits[static_cast<std::size_t>(curve.relation_used)];
  curve.parameters = chosen.fit.parameters;
  curve.solve = chosen.fit.solve;
  if (!curve.usable()) {
    curve.remarks.push_back(
        fmt::format("no curve: {} points do not determine the {} relation", curve.points, name(curve.relation_used)));
    return curve;
  }
  curve.scatter_sd = std::sqrt(chosen.scatter.common);
  curve.between_runs_sd = std::sqrt(chosen.scatter.between);

  std::vector<double> slips;
  for (int i = 0; i < settings.band_points; ++i)
    slips.push_back(w.lo + (w.hi - w.lo) * i / std::max(1, settings.band_points - 1));
  const Reading value = read(chosen.fit, w, settings, slips);
  std::vector<Reading> draws;
  const std::size_t runs = w.runs.size();
  if (runs >= 2) {
    const math::Stream pick(settings.seed, math::stream_id("pull-slip runs"));
    for (int b = 0; b < settings.resamples; ++b) {
      std::vector<CurvePoint> sample;
      for (std::size_t g = 0; g < runs; ++g) {
        for (const std::size_t i : w.runs[pick.below(static_cast<std::uint64_t>(b) * runs + g, runs)])
          sample.push_back(chosen.points[i]);
      }
      const CurveFit fit = detail::fit_curve(curve.relation_used, sample, w.lo, settings.scale_lo, settings.scale_hi,
                                             detail::kResampleEffort);
      if (std::isfinite(fit.parameters.base)) draws.push_back(read(fit, w, settings, slips));
      else ++curve.resamples_failed;
    }
    curve.resamples_used = static_cast<int>(draws.size());
  }
  const double widen = runs < 2 ? 1 : detail::widening(runs, settings.level);
  curve.interval_method =
      runs < 2 ? "no interval: one run, so the scatter between runs is not known"
               : fmt::format("{} resamples of whole runs, spread widened {:.2f} times for {} runs (Student t)",
                             curve.resamples_used, widen, runs);
  const auto of = [&](auto pick, double between_sd) {
    std::vector<double> x;
    for (const Reading& r : draws) x.push_back(pick(r));
    return detail::estimate_over_runs(pick(value), std::move(x), between_sd, runs, settings.level);
  };
  const double between = curve.between_runs_sd;
  const double none = std::numeric_limits<double>::quiet_NaN();
  if (chosen.fit.at_upper_end || chosen.fit.at_lower_end || !std::isfinite(value.a)) {
    curve.remarks.push_back("asymptote and slip constant are not identified by the tested slips");
  } else {
    curve.a = of([](const Reading& r) { return r.a; }, between);
    curve.k = of([](const Reading& r) { return r.k; }, none);
  }
  if (std::isfinite(value.s0)) {
    const double slope = curve.parameters.slope_at(value.s0);
    curve.s0 = of([](const Reading& r) { return r.s0; }, slope > 0 ? between / slope : none);
    if (value.s0 < w.lo - 0.01 || value.s0 > w.hi) {
      curve.s0->status = fmt::format("extrapolated: outside the tested slips {:.1f} to {:.1f} %", 100 * w.lo, 100 * w.hi);
    }
  }
  const auto tested = [&](double s) { return s >= w.lo - 0.005 && s <= w.hi + 0.005; };
  if (tested(0.2)) curve.at_20_percent = of([](const Reading& r) { return r.at20; }, between);
  if (tested(settings.working_slip)) curve.at_working_slip = of([](const Reading& r) { return r.working; }, between);
  if (tested(0)) curve.at_zero_slip = of([](const Reading& r) { return r.zero; }, between);
  const detail::Peak top = detail::peak_inside(curve.parameters, w.lo, w.hi);
  curve.peak = of([](const Reading& r) { return r.peak; }, between);
  curve.peak_slip_ratio = top.slip;
  curve.peak_at_end_of_range = top.at_upper_end;
  if (!(curve.parameters.rise > 0)) curve.remarks.push_back("pull does not rise with slip in the tested range");
  for (std::size_t i = 0; i < slips.size(); ++i) {
    curve.band.push_back({slips[i], of([i](const Reading& r) { return r.band[i]; }, between)});
  }
  return curve;
}

}  // namespace hardpan::records
