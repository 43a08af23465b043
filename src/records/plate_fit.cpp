// SPDX-License-Identifier: Apache-2.0
// The classical single-push fits. Logarithms for the first two (a straight line), variable projection for the
// third: at a given n the best k is a ratio of sums, so that one unknown is left.
#include "records/plate_fit.hpp"

#include <algorithm>
#include <cmath>

#include "math/roots.hpp"
#include "math/statistics.hpp"

namespace hardpan::records {
namespace {

struct Positive {
  std::vector<double> z, p;
};

Positive positive_rows(std::span<const double> depth_m, std::span<const double> pressure_pa) {
  Positive out;
  for (std::size_t i = 0; i < std::min(depth_m.size(), pressure_pa.size()); ++i) {
    if (depth_m[i] > 0 && pressure_pa[i] > 0) {
      out.z.push_back(depth_m[i]);
      out.p.push_back(pressure_pa[i]);
    }
  }
  return out;
}

double rms_of(const Positive& rows, double k, double n) {
  double sum = 0;
  for (std::size_t i = 0; i < rows.z.size(); ++i) {
    const double r = rows.p[i] - k * std::pow(rows.z[i], n);
    sum += r * r;
  }
  return std::sqrt(sum / static_cast<double>(rows.z.size()));
}

PowerFit log_line(const Positive& rows, bool weighted) {
  PowerFit out;
  out.readings = rows.z.size();
  if (rows.z.size() < 2) {
    out.status = "fewer than two readings with a logarithm";
    return out;
  }
  std::vector<double> x, y, w;
  for (std::size_t i = 0; i < rows.z.size(); ++i) {
    x.push_back(std::log(rows.z[i]));
    y.push_back(std::log(rows.p[i]));
    if (weighted) w.push_back(rows.p[i] * rows.p[i]);
  }
  const math::LineFit line = math::fit_line(x, y, w);
  if (line.status != math::kStatusOk && !std::isfinite(line.slope)) {
    out.status = line.status;
    return out;
  }
  out.k = std::exp(line.intercept);
  out.n = line.slope;
  out.rms_pa = rms_of(rows, out.k, out.n);
  out.report = {.status = base::SolveStatus::converged, .residual = 0, .tolerance = 0, .steps = 1};
  out.status = math::kStatusOk;
  return out;
}

}  // namespace

PowerFit fit_log_log(std::span<const double> depth_m, std::span<const double> pressure_pa) {
  return log_line(positive_rows(depth_m, pressure_pa), false);
}

PowerFit fit_log_log_weighted(std::span<const double> depth_m, std::span<const double> pressure_pa) {
  return log_line(positive_rows(depth_m, pressure_pa), true);
}

PowerFit fit_unweighted(std::span<const double> depth_m, std::span<const double> pressure_pa) {
  const Positive rows = positive_rows(depth_m, pressure_pa);
  PowerFit out;
  out.readings = rows.z.size();
  if (rows.z.size() < 2) {
    out.status = "fewer than two readings with pressure and depth";
    return out;
  }
  const double deepest = *std::max_element(rows.z.begin(), rows.z.end());
  double total = 0;
  for (const double p : rows.p) total += p * p;
  // k at the deepest reading, so that powers stay near 1: p = P (z / deepest)^n.
  const auto best_level = [&](double n) {
    double py = 0, yy = 0;
    for (std::size_t i = 0; i < rows.z.size(); ++i) {
      const double y = std::pow(rows.z[i] / deepest, n);
      py += rows.p[i] * y;
      yy += y * y;
    }
    return py / yy;
  };
  const auto misfit = [&](double n) {
    const double level = best_level(n);
    double sum = 0;
    for (std::size_t i = 0; i < rows.z.size(); ++i) {
      const double r = rows.p[i] - level * std::pow(rows.z[i] / deepest, n);
      sum += r * r;
    }
    return sum / total;
  };
  constexpr double kLowest = 0.01, kHighest = 4;  // n of no soil lies outside
  const math::Maximum found = math::maximise_scan([&](double n) { return -misfit(n); }, kLowest, kHighest, 60,
                                                  {.x_tolerance = 1e-8});
  out.report = found.report;
  if (!found.report.converged() || found.at_lower_end || found.at_upper_end) {
    out.status = "the exponent ran to the end of 0.01 to 4";
    return out;
  }
  // A minimum is known to half the digits only; the zero of its derivative, sum r y ln(z) with k at its
  // best, is known to all of them.
  const auto slope = [&](double n) {
    const double level = best_level(n);
    double sum = 0;
    for (std::size_t i = 0; i < rows.z.size(); ++i) {
      const double y = std::pow(rows.z[i] / deepest, n);
      sum += (rows.p[i] - level * y) * y * std::log(rows.z[i] / deepest);
    }
    return sum / total;
  };
  const math::Root root = math::find_root_no_derivative(slope, found.x - 1e-3, found.x + 1e-3,
                                                        {.x_tolerance = 1e-12, .residual_unit = "n"});
  if (root.report.converged()) out.report = root.report;
  out.n = root.report.converged() ? root.x : found.x;
  out.k = best_level(out.n) / std::pow(deepest, out.n);
  out.rms_pa = rms_of(rows, out.k, out.n);
  out.status = math::kStatusOk;
  return out;
}

PowerFit refit_modulus(std::span<const double> depth_m, std::span<const double> pressure_pa, double n) {
  const Positive rows = positive_rows(depth_m, pressure_pa);
  PowerFit out;
  out.readings = rows.z.size();
  out.n = n;
  if (rows.z.empty()) {
    out.status = "no reading with a logarithm";
    return out;
  }
  double sum = 0, weights = 0;
  for (std::size_t i = 0; i < rows.z.size(); ++i) {
    const double w = rows.p[i] * rows.p[i];
    sum += w * (std::log(rows.p[i]) - n * std::log(rows.z[i]));
    weights += w;
  }
  out.k = std::exp(sum / weights);
  out.rms_pa = rms_of(rows, out.k, n);
  out.report = {.status = base::SolveStatus::converged, .residual = 0, .tolerance = 0, .steps = 1};
  out.status = math::kStatusOk;
  return out;
}

}  // namespace hardpan::records
