// SPDX-License-Identifier: Apache-2.0
// Variable projection (Golub and Pereyra 1973, [GolubPereyra1973]): for a given scale the relations are linear in base,
// rise and fall, so the sum of squares is a function of one variable. A grid of 48 scales finds the valley, golden section
// narrows it to 1e-9 in ln(scale); 40 to 45 sections are needed.
#include "records/detail/pull_slip_fit.hpp"

#include <algorithm>
#include <array>
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
  const double g1 = relation == PullSlipRelation::hyperbolic ? scale / ((scale + h) * (scale + h)) : std::exp(-h / scale) / scale;
  return rise * g1 - d;
}

namespace detail {
namespace {

struct Linear {
  std::array<double, 3> coefficient{};  // base, rise, minus fall
  double squares = 0;
  bool full_rank = false;
};

double basis(PullSlipRelation relation, double h, double scale) {
  return relation == PullSlipRelation::hyperbolic ? h / (scale + h) : -std::expm1(-h / scale);
}

// Weighted least squares on the basis {1, g, h} by modified Gram-Schmidt; `terms` of them.
Linear solve_linear(PullSlipRelation relation, std::span<const CurvePoint> points, double reference, double scale, int terms) {
  // Row-wise products after orthogonalising: with at most 3 columns the sums are kept instead of the columns.
  const auto column = [&](const CurvePoint& p, int j) {
    const double h = p.slip - reference;
    return j == 0 ? 1.0 : j == 1 ? basis(relation, h, scale) : h;
  };
  std::array<std::array<double, 3>, 3> mix{};  // q_j = sum_i mix[j][i] column_i
  std::array<double, 3> norm{};
  Linear out{.full_rank = true};
  std::array<double, 3> along{};
  for (int j = 0; j < terms; ++j) {
    mix[j][j] = 1;
    const auto q = [&](const CurvePoint& p, int m) {
      double v = 0;
      for (int i = 0; i <= m; ++i) v += mix[m][i] * column(p, i);
      return v;
    };
    double plain = 0;
    for (const CurvePoint& p : points) plain += p.weight * column(p, j) * column(p, j);
    for (int twice = 0; twice < 2; ++twice) {  // a second sweep restores orthogonality lost to rounding
      for (int m = 0; m < j; ++m) {
        double dot = 0;
        for (const CurvePoint& p : points) dot += p.weight * q(p, j) * q(p, m);
        for (int i = 0; i <= m; ++i) mix[j][i] -= dot / norm[m] * mix[m][i];
      }
    }
    double yq = 0;
    for (const CurvePoint& p : points) {
      const double v = q(p, j);
      norm[j] += p.weight * v * v;
      yq += p.weight * v * p.value;
    }
    if (!(norm[j] > 1e-14 * plain)) {
      out.full_rank = false;
      return out;
    }
    along[j] = yq / norm[j];
  }
  for (int j = 0; j < terms; ++j) {
    for (int i = 0; i <= j; ++i) out.coefficient[i] += along[j] * mix[j][i];
  }
  for (const CurvePoint& p : points) {
    double fit = 0;
    for (int i = 0; i < terms; ++i) fit += out.coefficient[i] * column(p, i);
    out.squares += p.weight * (p.value - fit) * (p.value - fit);
  }
  return out;
}

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

CurveFit fit_curve(PullSlipRelation relation, std::span<const CurvePoint> points, double reference, double scale_lo, double scale_hi) {
  CurveFit out;
  out.parameters.relation = relation;
  out.parameters.reference_slip = reference;
  out.solve.residual_unit = "ln(scale)";
  out.solve.tolerance = 1e-9;
  int terms = relation == PullSlipRelation::exponential_fall ? 3 : 2;
  std::vector<double> slips;
  for (const CurvePoint& p : points) slips.push_back(p.slip);
  std::sort(slips.begin(), slips.end());
  slips.erase(std::unique(slips.begin(), slips.end()), slips.end());
  if (slips.size() < static_cast<std::size_t>(terms) + 2) {
    out.solve.status = base::SolveStatus::no_solution;
    return out;
  }
  const double lo = std::log(scale_lo), hi = std::log(scale_hi);
  const auto squares_at = [&](double ln_scale) {
    ++out.solve.evaluations;
    const Linear fit = solve_linear(relation, points, reference, std::exp(ln_scale), terms);
    return fit.full_rank ? fit.squares : HUGE_VAL;
  };
  constexpr int kGrid = 48;
  const double step = (hi - lo) / (kGrid - 1);
  const auto search = [&] {
    int best = 0;
    double least = HUGE_VAL;
    for (int i = 0; i < kGrid; ++i) {
      const double v = squares_at(lo + i * step);
      if (v < least) least = v, best = i;
    }
    double a = std::max(lo, lo + (best - 1) * step), b = std::min(hi, lo + (best + 1) * step);
    constexpr double kGolden = std::numbers::phi - 1;
    double x1 = b - kGolden * (b - a), x2 = a + kGolden * (b - a);
    double f1 = squares_at(x1), f2 = squares_at(x2);
    int sections = 0;
    while (b - a > 1e-9 && sections < 100) {
      ++sections;
      if (f1 <= f2) {
        b = x2, x2 = x1, f2 = f1, x1 = b - kGolden * (b - a), f1 = squares_at(x1);
      } else {
        a = x1, x1 = x2, f1 = f2, x2 = a + kGolden * (b - a), f2 = squares_at(x2);
      }
    }
    out.solve.steps += sections;
    out.solve.residual = b - a;
    out.at_lower_end = a - lo < 1e-6;
    out.at_upper_end = hi - b < 1e-6;
    return std::exp(0.5 * (a + b));
  };
  double scale = search();
  Linear fit = solve_linear(relation, points, reference, scale, terms);
  if (terms == 3 && fit.full_rank && fit.coefficient[2] > 0) {  // it would rise for ever: the bound d = 0 is active
    terms = 2;
    scale = search();
    fit = solve_linear(relation, points, reference, scale, terms);
  }
  if (!fit.full_rank || !std::isfinite(fit.squares)) {
    out.solve.status = base::SolveStatus::no_solution;
    return out;
  }
  PullSlipParameters& p = out.parameters;
  p.scale = scale;
  p.base = fit.coefficient[0];
  p.rise = fit.coefficient[1];
  p.d = terms == 3 ? -fit.coefficient[2] : 0;
  printed_form(p);
  out.weighted_squares = fit.squares;
  out.solve.status = out.at_lower_end || out.at_upper_end ? base::SolveStatus::out_of_range
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

math::Estimate estimate_over_runs(double value, std::vector<double> draws, double between_sd, std::size_t runs, double level) {
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
    out.next_point = math::Interval{value - std::hypot(value - out.average_ground->lo, t), value + std::hypot(out.average_ground->hi - value, t)};
  }
  return out;
}

}  // namespace detail
}  // namespace hardpan::records
