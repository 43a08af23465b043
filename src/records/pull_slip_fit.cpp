// SPDX-License-Identifier: Apache-2.0
// Variable projection [Golub1973]: for a given scale the relations are linear in base,
// rise and fall, so the sum of squares is a function of one variable. A grid of scales finds the valley and golden
// section narrows it: 48 scales and 1e-9 in ln(scale) for a result (about 40 sections), 24 and 1e-6 for resamples (about 27).
#include "records/detail/pull_slip_fit.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "math/distributions.hpp"
#include "math/statistics.hpp"

namespace hardpan::records {

const char* name(PullSlipRelation relation) {
  switch (relation) {
    case PullSlipRelation::exponential: return "exponential";
    case PullSlipRelation::hyperbolic: return "hyperbolic";
    case PullSlipRelation::exponential_fall: return "exponential with a linear fall";
  }
  return "";
}

double PullSlipParameters::at(double slip_ratio) const {
  const double h = slip_ratio - reference_slip;
  const double g = relation == PullSlipRelation::hyperbolic ? h / (scale + h) : -std::expm1(-h / scale);
  return base + rise * g - d * h;
}

double PullSlipParameters::slope_at(double slip_ratio) const {
  const double h = slip_ratio - reference_slip;
  const double g1 =
      relation == PullSlipRelation::hyperbolic ? scale / ((scale + h) * (scale + h)) : std::exp(-h / scale) / scale;
  return rise * g1 - d;
}

namespace detail {
namespace {

struct Linear {
  double base = 0, rise = 0, slope = 0;  // coefficients of 1, g and h
  double squares = 0;
  bool full_rank = false;
};

// Weighted sums that do not depend on the scale, and room for g; made once a search.
class Columns {
 public:
  Columns(PullSlipRelation relation, std::span<const CurvePoint> points, double reference) : relation_(relation) {
    for (const CurvePoint& p : points) {
      h_.push_back(p.slip - reference), y_.push_back(p.value), w_.push_back(p.weight);
      total_ += p.weight;
    }
    for (std::size_t i = 0; i < h_.size(); ++i) mean_h_ += w_[i] / total_ * h_[i], mean_y_ += w_[i] / total_ * y_[i];
    for (std::size_t i = 0; i < h_.size(); ++i) {
      hh_ += w_[i] * (h_[i] - mean_h_) * (h_[i] - mean_h_);
      hy_ += w_[i] * (h_[i] - mean_h_) * (y_[i] - mean_y_);
    }
    g_.resize(h_.size());
  }

  // Least squares on {1, g} or {1, g, h}: about the means, then g and h made orthogonal. Squares are summed from residuals,
  // not from differences of sums, so that the search sees a smooth valley down to rounding.
  [[nodiscard]] Linear solve(double scale, bool with_h) {
    const std::size_t n = h_.size();
    double mean_g = 0;
    if (relation_ == PullSlipRelation::hyperbolic) {
      for (std::size_t i = 0; i < n; ++i) g_[i] = h_[i] / (scale + h_[i]);
    } else {
      const double rate = -1 / scale;
      for (std::size_t i = 0; i < n; ++i) g_[i] = 1 - std::exp(rate * h_[i]);
    }
    for (std::size_t i = 0; i < n; ++i) mean_g += w_[i] * g_[i];
    mean_g /= total_;
    double gg = 0, gy = 0, gh = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const double u = w_[i] * (g_[i] - mean_g);
      gg += u * (g_[i] - mean_g), gy += u * (y_[i] - mean_y_), gh += u * (h_[i] - mean_h_);
    }
    Linear out;
    if (!(gg > 1e-14 * total_)) return out;
    if (with_h) {
      const double share = gh / hh_;
      double qq = 0, qy = 0;  // g without what h explains of it
      for (std::size_t i = 0; i < n; ++i) {
        const double q = g_[i] - mean_g - share * (h_[i] - mean_h_);
        qq += w_[i] * q * q, qy += w_[i] * q * (y_[i] - mean_y_);
      }
      if (!(qq > 1e-12 * gg)) return out;  // at large scales g is a straight line too
      out.rise = qy / qq;
      out.slope = (hy_ - out.rise * gh) / hh_;
    } else {
      out.rise = gy / gg;
    }
    out.base = mean_y_ - out.rise * mean_g - out.slope * mean_h_;
    for (std::size_t i = 0; i < n; ++i) {
      const double r = y_[i] - mean_y_ - out.rise * (g_[i] - mean_g) - out.slope * (h_[i] - mean_h_);
      out.squares += w_[i] * r * r;
    }
    out.full_rank = true;
    return out;
  }

 private:
  PullSlipRelation relation_;
  std::vector<double> h_, y_, w_, g_;
  double total_ = 0, mean_h_ = 0, mean_y_ = 0, hh_ = 0, hy_ = 0;
};

// a, s0 and k of the printed form from base, rise, scale and fall.
void printed_form(PullSlipParameters& p) {
  if (!(p.rise > 0)) return;
  if (p.relation == PullSlipRelation::hyperbolic) {
    p.a = p.base + p.rise;
    if (!(p.a > 0)) return;
    const double h0 = -p.base * p.scale / p.a;
    if (!(p.scale + h0 > 0)) return;
    p.s0 = p.reference_slip + h0;
    p.k = p.scale + h0;
    return;
  }
  if (p.d == 0) {
    p.a = p.base + p.rise;
    p.k = p.scale;
    if (p.a > 0) p.s0 = p.reference_slip - p.scale * std::log(p.a / p.rise);
    return;
  }
  // Newton from the left of the rising branch: the curve is concave, so the steps cannot overshoot it.
  double s = p.reference_slip;
  for (int i = 0; i < 60 && p.at(s) > 0; ++i) s -= p.scale;
  if (!(p.at(s) <= 0)) return;
  for (int i = 0; i < 100; ++i) {
    const double slope = p.slope_at(s);
    if (!(slope > 0)) return;  // the top of the curve lies below zero
    const double step = p.at(s) / slope;
    s -= step;
    if (std::abs(step) < 1e-13) break;
  }
  p.s0 = s;
  p.k = p.scale;
  p.a = p.rise * std::exp(-(s - p.reference_slip) / p.scale);
}

}  // namespace

CurveFit fit_curve(PullSlipRelation relation, std::span<const CurvePoint> points, double reference, double scale_lo,
                   double scale_hi, SearchEffort effort) {
  CurveFit out;
  out.parameters.relation = relation;
  out.parameters.reference_slip = reference;
  out.solve.residual_unit = "ln(scale)";
  out.solve.tolerance = effort.tolerance;
  int terms = relation == PullSlipRelation::exponential_fall ? 3 : 2;
  std::vector<double> slips;
  for (const CurvePoint& p : points) slips.push_back(p.slip);
  std::sort(slips.begin(), slips.end());
  slips.erase(std::unique(slips.begin(), slips.end()), slips.end());
  if (slips.size() < static_cast<std::size_t>(terms) + 2) {
    out.solve.status = base::SolveStatus::no_solution;
    return out;
  }
  Columns columns(relation, points, reference);
  const double lo = std::log(scale_lo), hi = std::log(scale_hi);
  const auto squares_at = [&](double ln_scale) {
    ++out.solve.evaluations;
    const Linear fit = columns.solve(std::exp(ln_scale), terms == 3);
    return fit.full_rank ? fit.squares : HUGE_VAL;
  };
  const double step = (hi - lo) / (effort.grid - 1);
  const auto search = [&] {
    int best = 0;
    double least = HUGE_VAL;
    for (int i = 0; i < effort.grid; ++i) {
      const double v = squares_at(lo + i * step);
      if (v < least) least = v, best = i;
    }
    double a = std::max(lo, lo + (best - 1) * step), b = std::min(hi, lo + (best + 1) * step);
    constexpr double kGolden = std::numbers::phi - 1;
    double x1 = b - kGolden * (b - a), x2 = a + kGolden * (b - a);
    double f1 = squares_at(x1), f2 = squares_at(x2);
    int sections = 0;
    while (b - a > effort.tolerance && sections < 100) {
      ++sections;
      if (f1 <= f2) {
        b = x2, x2 = x1, f2 = f1, x1 = b - kGolden * (b - a), f1 = squares_at(x1);
      } else {
        a = x1, x1 = x2, f1 = f2, x2 = a + kGolden * (b - a), f2 = squares_at(x2);
      }
    }
    out.solve.steps += sections;
    out.solve.residual = b - a;
    out.at_lower_end = a - lo < 1e-5;
    out.at_upper_end = hi - b < 1e-5;
    return std::exp(0.5 * (a + b));
  };
  double scale = search();
  Linear fit = columns.solve(scale, terms == 3);
  if (terms == 3 && fit.full_rank && fit.slope > 0) {  // it would rise for ever: the bound d = 0 is active
    terms = 2;
    scale = search();
    fit = columns.solve(scale, terms == 3);
  }
  if (!fit.full_rank || !std::isfinite(fit.squares)) {
    out.solve.status = base::SolveStatus::no_solution;
    return out;
  }
  PullSlipParameters& p = out.parameters;
  p.scale = scale;
  p.base = fit.base;
  p.rise = fit.rise;
  p.d = terms == 3 ? -fit.slope : 0;
  printed_form(p);
  out.weighted_squares = fit.squares;
  out.solve.status = out.at_lower_end || out.at_upper_end        ? base::SolveStatus::out_of_range
                     : out.solve.residual <= out.solve.tolerance ? base::SolveStatus::converged
                                                                 : base::SolveStatus::out_of_steps;
  return out;
}

Peak peak_inside(const PullSlipParameters& p, double lo, double hi) {
  // Concave in slip while the curve rises at all: the top is where the slope is zero, or an end.
  Peak out{.slip = hi, .value = p.at(hi), .at_upper_end = true};
  if (p.at(lo) > out.value) out = {.slip = lo, .value = p.at(lo)};
  if (p.d > 0 && p.rise > 0) {
    const double top = p.reference_slip + p.scale * std::log(p.rise / (p.scale * p.d));
    if (top > lo && top < hi) out = {.slip = top, .value = p.at(top)};
  }
  return out;
}

double widening(std::size_t runs, double level) {
  const double g = static_cast<double>(runs), upper = 0.5 + 0.5 * level;
  return math::student_t_quantile(upper, g - 1) / math::normal_quantile(upper) * std::sqrt(g / (g - 1));
}

math::Estimate estimate_over_runs(double value, std::vector<double> draws, double between_sd, std::size_t runs,
                                  double level) {
  math::Estimate out{.value = value, .level = level, .n = runs};
  std::erase_if(draws, [](double x) { return !std::isfinite(x); });
  if (runs < 2 || draws.size() < 100) {
    out.status = runs < 2 ? "no interval: one run" : "no interval: too few refitted curves have this quantity";
    return out;
  }
  const double upper = 0.5 + 0.5 * level, widen = widening(runs, level);
  std::sort(draws.begin(), draws.end());
  const double lo = value + widen * (math::quantile_of_sorted(draws, 1 - upper) - value);
  const double hi = value + widen * (math::quantile_of_sorted(draws, upper) - value);
  out.average_ground = math::Interval{std::min(lo, value), std::max(hi, value)};
  out.status = math::kStatusOk;
  if (std::isfinite(between_sd)) {
    const double t = math::student_t_quantile(upper, static_cast<double>(runs - 1)) * between_sd;
    out.next_point = math::Interval{value - std::hypot(value - out.average_ground->lo, t),
                                    value + std::hypot(out.average_ground->hi - value, t)};
  }
  return out;
}

}  // namespace detail
}  // namespace hardpan::records
