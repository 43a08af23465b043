// SPDX-License-Identifier: Apache-2.0
#include "records/detail/shear_line.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "records/detail/intervals.hpp"

namespace hardpan::records::detail {
namespace {

constexpr double kLeastStressRatio = 1.25;  // normal stresses closer than this are one stress
struct Line {
  double c = 0, slope = 0;
};

// Weights 1 / strength^2 from the line itself: runs scatter in proportion to their strength.
std::optional<Line> weighted_line(const std::vector<const ShearRun*>& runs, bool through_origin) {
  Line line;
  std::vector<double> x, y;
  for (const ShearRun* run : runs) {
    x.push_back(run->normal_stress_pa);
    y.push_back(run->strength_pa);
  }
  std::vector<double> level = y;
  for (int round = 0; round < 30; ++round) {
    std::vector<double> w;
    for (const double t : level) w.push_back(1 / (t * t));
    Line next;
    if (through_origin) {
      double xy = 0, xx = 0;
      for (std::size_t i = 0; i < x.size(); ++i) {
        xy += w[i] * x[i] * y[i];
        xx += w[i] * x[i] * x[i];
      }
      if (!(xx > 0)) return std::nullopt;
      next.slope = xy / xx;
    } else {
      const math::LineFit fit = math::fit_line(x, y, w);
      if (!std::isfinite(fit.slope) || !std::isfinite(fit.intercept)) return std::nullopt;
      next = {fit.intercept, fit.slope};
    }
    const double change = std::abs(next.c - line.c) + std::abs(next.slope - line.slope) * x.back();
    line = next;
    const double least = 0.02 * *std::max_element(y.begin(), y.end());
    for (std::size_t i = 0; i < x.size(); ++i) level[i] = std::max(line.c + line.slope * x[i], least);
    if (change <= 1e-12 * y.back()) break;
  }
  return line;
}

bool stresses_differ(const std::vector<const ShearRun*>& runs) {
  double lo = std::numeric_limits<double>::infinity(), hi = 0;
  for (const ShearRun* run : runs) {
    lo = std::min(lo, run->normal_stress_pa);
    hi = std::max(hi, run->normal_stress_pa);
  }
  return !runs.empty() && hi >= kLeastStressRatio * lo;
}

// Own lines: the mean of the points' lines. Otherwise one line, and the jackknife over units.
std::optional<Columns> columns_of(const Units& units, const std::vector<const ShearRun*>& runs, bool through_origin) {
  Columns out;
  if (units.own_lines) {
    for (const auto& group : units.groups) {
      const auto line = weighted_line(group, through_origin);
      if (!line) return std::nullopt;
      out.c.push_back(line->c);
      out.slope.push_back(line->slope);
    }
    return out;
  }
  const auto all = weighted_line(runs, through_origin);
  if (!all) return std::nullopt;
  std::vector<double> c, slope;
  for (std::size_t g = 0; g < units.groups.size(); ++g) {
    std::vector<const ShearRun*> rest;
    for (std::size_t k = 0; k < units.groups.size(); ++k) {
      if (k != g) rest.insert(rest.end(), units.groups[k].begin(), units.groups[k].end());
    }
    if (!through_origin && !stresses_differ(rest)) return std::nullopt;
    const auto line = weighted_line(rest, through_origin);
    if (!line) return std::nullopt;
    c.push_back(line->c);
    slope.push_back(line->slope);
  }
  out.c = pseudo_values(all->c, c);
  out.slope = pseudo_values(all->slope, slope);
  return out;
}

// Student with runs - 2 where runs are pooled: the variance of the weighted line itself.
void pooled_by_runs(StrengthLine& out, const std::vector<const ShearRun*>& runs) {
  std::vector<double> x, y, w;
  for (const ShearRun* run : runs) {
    const double level = std::max(out.cohesion_pa + out.tan_phi * run->normal_stress_pa, 0.02 * run->strength_pa);
    x.push_back(run->normal_stress_pa);
    y.push_back(run->strength_pa);
    w.push_back(1 / (level * level));
  }
  if (out.cohesion_at_zero) {
    double xx = 0, ss = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      xx += w[i] * x[i] * x[i];
      ss += w[i] * (y[i] - out.tan_phi * x[i]) * (y[i] - out.tan_phi * x[i]);
    }
    out.dof = static_cast<double>(x.size()) - 1;
    const double variance = ss / out.dof;
    out.residual_relative = std::sqrt(variance);
    out.covariance[1][1] = variance / xx;
  } else {
    const math::LineFit fit = math::fit_line(x, y, w);
    out.dof = static_cast<double>(fit.degrees_of_freedom);
    out.residual_relative = fit.residual_sd;
    out.covariance = {{{fit.var_intercept, fit.cov_intercept_slope}, {fit.cov_intercept_slope, fit.var_slope}}};
  }
  // One point about the mean: its whole line moves in proportion, by the scatter of runs.
  const double s2 = out.residual_relative * out.residual_relative;
  const std::array<double, 2> v = {out.cohesion_pa, out.tan_phi};
  for (std::size_t i = 0; i < 2; ++i) {
    for (std::size_t j = 0; j < 2; ++j) out.between_points[i][j] = s2 * v[i] * v[j];
  }
}

}  // namespace

Units units_of(const std::vector<const ShearRun*>& runs) {
  Units out;
  std::vector<std::string> points;
  for (const ShearRun* run : runs) {
    const auto at = std::find(points.begin(), points.end(), run->point);
    const auto index = static_cast<std::size_t>(at - points.begin());
    if (at == points.end()) {
      points.push_back(run->point);
      out.groups.emplace_back();
    }
    out.groups[index].push_back(run);
  }
  const bool named = std::none_of(points.begin(), points.end(), [](const std::string& p) { return p.empty(); });
  out.own_lines = named && points.size() >= 3 &&
                  std::all_of(out.groups.begin(), out.groups.end(), [](const auto& g) { return stresses_differ(g); });
  const bool repeats = std::any_of(out.groups.begin(), out.groups.end(), [](const auto& g) { return g.size() > 1; });
  out.by_point = out.own_lines || (named && repeats && points.size() >= 4);
  if (!out.by_point) {
    out.groups.clear();
    for (const ShearRun* run : runs) out.groups.push_back({run});
  }
  return out;
}

LineResult strength_line(const std::vector<const ShearRun*>& runs) {
  LineResult out;
  StrengthLine& line = out.line;
  line.runs = runs.size();
  line.stress_from_pa = std::numeric_limits<double>::infinity();
  for (const ShearRun* run : runs) {
    line.stress_from_pa = std::min(line.stress_from_pa, run->normal_stress_pa);
    line.stress_to_pa = std::max(line.stress_to_pa, run->normal_stress_pa);
  }
  if (runs.empty()) {
    line.status = "no run gives a strength";
    return out;
  }
  if (!stresses_differ(runs)) {
    line.status = "one normal stress cannot tell c from phi";
    return out;
  }
  out.units = units_of(runs);
  line.points = out.units.by_point ? out.units.groups.size() : 0;
  const auto mean_line = [&](bool through_origin) -> std::optional<Line> {
    if (!out.units.own_lines) return weighted_line(runs, through_origin);
    Line sum;
    for (const auto& group : out.units.groups) {
      const auto one = weighted_line(group, through_origin);
      if (!one) return std::nullopt;
      sum.c += one->c / static_cast<double>(out.units.groups.size());
      sum.slope += one->slope / static_cast<double>(out.units.groups.size());
    }
    return sum;
  };
  std::optional<Line> best = mean_line(false);
  if (!best) {
    line.status = "the runs do not determine a line";
    return out;
  }
  if (best->c < 0) {
    line.cohesion_at_zero = true;
    out.unbounded_c = best->c;
    if (const auto free = columns_of(out.units, runs, false); free && free->c.size() > 2) {
      const Spread spread = spread_of(free->c, 0, out.units.own_lines ? 1 : 2);
      if (spread.dof > 0) out.unbounded_c_half = math::student_t_quantile(0.975, spread.dof) * std::sqrt(spread.sampling);
    }
    best = mean_line(true);
  }
  line.cohesion_pa = line.cohesion_at_zero ? 0 : best->c;
  line.tan_phi = best->slope;
  line.status = math::kStatusOk;
  if (!out.units.by_point) {
    line.method = "runs pooled, scatter between runs";
    if (runs.size() >= 3) pooled_by_runs(line, runs);
    return out;
  }
  line.method = out.units.own_lines ? "lines point by point" : "runs pooled, scatter between points";
  const auto columns = columns_of(out.units, runs, line.cohesion_at_zero);
  const std::size_t lost = out.units.own_lines || line.cohesion_at_zero ? 1 : 2;
  if (!columns || columns->c.size() <= lost) return out;
  out.columns = *columns;
  const double g = static_cast<double>(columns->c.size());
  line.dof = g - static_cast<double>(lost);
  const std::array<const std::vector<double>*, 2> column = {&columns->c, &columns->slope};
  for (std::size_t i = 0; i < 2; ++i) {
    for (std::size_t j = 0; j < 2; ++j) {
      double sum = 0;
      for (std::size_t k = 0; k < columns->c.size(); ++k) {
        sum += ((*column[i])[k] - math::mean(*column[i])) * ((*column[j])[k] - math::mean(*column[j]));
      }
      line.between_points[i][j] = sum / line.dof;
      line.covariance[i][j] = line.between_points[i][j] / g;
    }
  }
  return out;
}

}  // namespace hardpan::records::detail
