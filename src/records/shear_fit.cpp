// SPDX-License-Identifier: Apache-2.0
// One run. The strength is linear in the exponential and hump laws, so that one unknown is left
// (variable projection); the law with a peak has two more and goes through the fitting module.
#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/core.h>

#include "fitting/fit.hpp"
#include "math/roots.hpp"
#include "math/statistics.hpp"
#include "records/shear_curve.hpp"

namespace hardpan::records {
namespace {

// Wide rings: the torque itself is fitted (the displacement differs too much across the ring).
constexpr double kWideRing = 0.7;

struct Run {
  std::vector<double> j, tau;
};

Run kept_rows(const ShearCurve& curve) {
  Run run;
  for (std::size_t i = 0; i < curve.mark.size(); ++i) {
    if (curve.mark[i] != ShearMark::kept) continue;
    run.j.push_back(curve.displacement_m[i]);
    run.tau.push_back(curve.stress_pa[i]);
  }
  return run;
}

void describe(ShearRunFit& fit, const Run& run) {
  fit.readings = run.j.size();
  if (run.j.empty()) return;
  fit.from_m = *std::min_element(run.j.begin(), run.j.end());
  fit.to_m = *std::max_element(run.j.begin(), run.j.end());
  fit.largest_reading_pa = *std::max_element(run.tau.begin(), run.tau.end());
}

// tau = tau_max shape(j, K): best tau_max at each K, best ln K by scanning.
template <class Shape>
void project(ShearRunFit& fit, const Run& run, Shape shape) {
  const auto level = [&](double k) {
    double ty = 0, yy = 0;
    for (std::size_t i = 0; i < run.j.size(); ++i) {
      const double y = shape(run.j[i], k);
      ty += run.tau[i] * y;
      yy += y * y;
    }
    return ty / yy;
  };
  const auto misfit = [&](double k) {
    const double top = level(k);
    double sum = 0;
    for (std::size_t i = 0; i < run.j.size(); ++i) {
      const double e = run.tau[i] - top * shape(run.j[i], k);
      sum += e * e;
    }
    return std::sqrt(sum / static_cast<double>(run.j.size()));
  };
  const double shortest = std::log(fit.to_m / 1000), longest = std::log(fit.to_m * 10);
  const math::Maximum found = math::maximise_scan([&](double ln_k) { return -misfit(std::exp(ln_k)); }, shortest,
                                                  longest, 80, {.x_tolerance = 1e-8});
  fit.report = found.report;
  if (!found.report.converged() || found.at_lower_end || found.at_upper_end) {
    fit.k_not_bracketed = true;
    fit.status = found.at_upper_end ? "the stress keeps rising in proportion to displacement: K is longer than the record"
                                    : "the stress is there from the first reading: K is shorter than the readings resolve";
    return;
  }
  fit.shear_modulus_m = std::exp(found.x);
  fit.tau_max_pa = level(fit.shear_modulus_m);
  fit.rms_pa = misfit(fit.shear_modulus_m);
  if (!(fit.tau_max_pa > 0)) {
    fit.status = "the stress is not positive: check the sign of torque or force";
    return;
  }
  // 1 - e^-2 = 86 % of the strength reached: what is beyond is extrapolated.
  fit.k_not_bracketed = fit.to_m < 2 * fit.shear_modulus_m;
  fit.status = math::kStatusOk;
}

template <class T>
T peak_law(const T& top, const T& residual, const T& kw, double j) {
  using std::exp;
  using std::expm1;
  const T t = j / kw;
  const T over = 1.0 / (residual * (1 - 1 / std::numbers::e)) - 1.0;
  return -(top * residual * (1.0 + over * exp(1.0 - t)) * expm1(-t));  // [Wong1983]
}

}  // namespace

ShearRunFit fit_exponential(const ShearCurve& curve) {
  ShearRunFit fit{.law = soil::ShearLaw::exponential};
  const Run run = kept_rows(curve);
  describe(fit, run);
  if (run.j.size() < 3 || !(fit.to_m > 0)) {
    fit.status = "fewer than three readings";
    return fit;
  }
  const bool ring = curve.tool == ShearTool::ring;
  fit.integrated_torque = ring && curve.inner_radius_m / curve.outer_radius_m < kWideRing;
  if (fit.integrated_torque) {
    // Stress of the table is torque over (2 pi/3)(ro^3 - ri^3); so is the integral.
    const double ri = curve.inner_radius_m, ro = curve.outer_radius_m;
    const double radius = ring_shear_radius_m(ri, ro), per_torque = ring_stress_pa(1, ri, ro);
    project(fit, run, [=](double j, double k) { return per_torque * ring_unit_torque_m3(j / radius, k, ri, ro); });
  } else {
    project(fit, run, [](double j, double k) { return -std::expm1(-j / k); });  // [Janosi1961]
  }
  fit.peak_pa = fit.tau_max_pa;
  return fit;
}

ShearRunFit fit_hump(const ShearCurve& curve) {
  ShearRunFit fit{.law = soil::ShearLaw::hump};
  const Run run = kept_rows(curve);
  describe(fit, run);
  if (run.j.size() < 3 || !(fit.to_m > 0)) {
    fit.status = "fewer than three readings";
    return fit;
  }
  project(fit, run, [](double j, double k) { return j / k * std::exp(1 - j / k); });  // [Wong1983]
  fit.peak_pa = fit.tau_max_pa;
  fit.peak_displacement_m = fit.shear_modulus_m;
  return fit;
}

bool shows_a_peak(const ShearCurve& curve) {
  const Run run = kept_rows(curve);
  if (run.j.size() < 8) return false;
  const double to = *std::max_element(run.j.begin(), run.j.end());
  // Means over twentieths of the travel, so that one reading makes no peak.
  constexpr std::size_t kSteps = 20;
  std::vector<double> sum(kSteps, 0), count(kSteps, 0), means;
  for (std::size_t i = 0; i < run.j.size(); ++i) {
    const auto at = std::min(kSteps - 1, static_cast<std::size_t>(std::max(0.0, run.j[i] / to) * kSteps));
    sum[at] += run.tau[i];
    count[at] += 1;
  }
  for (std::size_t k = 0; k < kSteps; ++k) {
    if (count[k] > 0) means.push_back(sum[k] / count[k]);
  }
  if (means.size() < 6) return false;
  const auto top = std::max_element(means.begin(), means.end());
  if (means.end() - top < 3) return false;  // still rising at the end
  const double end = (means[means.size() - 1] + means[means.size() - 2]) / 2;
  std::vector<double> steps;
  for (std::size_t i = 2; i < run.tau.size(); ++i) steps.push_back(run.tau[i] - 2 * run.tau[i - 1] + run.tau[i - 2]);
  const double noise = math::robust_scale(steps) / std::sqrt(6.0);
  return *top - end > std::max(0.08 * *top, 3 * noise);
}

ShearRunFit fit_peak_residual(const ShearCurve& curve) {
  ShearRunFit fit{.law = soil::ShearLaw::peak_residual};
  const Run run = kept_rows(curve);
  describe(fit, run);
  if (run.j.size() < 5 || !(fit.to_m > 0) || !(fit.largest_reading_pa > 0)) {
    fit.status = "fewer than five readings";
    return fit;
  }
  const std::size_t top = static_cast<std::size_t>(std::max_element(run.tau.begin(), run.tau.end()) - run.tau.begin());
  const double scale = fit.largest_reading_pa, length = fit.to_m;
  const double end = run.tau.back() / scale;
  fitting::FitProblem problem;
  problem.parameters = {{.name = "tau_max", .start = 1.0, .lower = 0.01, .upper = 10},
                        {.name = "Kr", .start = std::clamp(end, 0.1, 0.95), .lower = 0.02, .upper = 0.999},
                        {.name = "Kw", .start = std::clamp(run.j[top] / length, 0.01, 1.0), .lower = 1e-4, .upper = 10}};
  problem.residuals =
      fitting::Residuals::each(run.j.size(), [&run, scale, length]<class T>(std::size_t i, std::span<const T> p) {
        return T(peak_law<T>(p[0], p[1], p[2], run.j[i] / length) - run.tau[i] / scale);
      });
  const fitting::FitResult result = fitting::fit(problem, {.starts = {.count = 4}});
  fit.report = result.report;
  if (!result.converged()) {
    fit.status = fmt::format("the law with a peak did not converge ({})", base::name(result.report.status));
    return fit;
  }
  fit.tau_max_pa = result.parameters[0].value * scale;
  fit.residual_ratio = result.parameters[1].value;
  fit.shear_modulus_m = result.parameters[2].value * length;
  const soil::Shear law{.law = soil::ShearLaw::peak_residual, .cohesion_pa = fit.tau_max_pa, .tan_phi = 0,
                        .shear_modulus_m = fit.shear_modulus_m, .residual_ratio = fit.residual_ratio};
  fit.peak_displacement_m = soil::peak_displacement_m(law);
  fit.peak_pa =
      std::isfinite(fit.peak_displacement_m) ? soil::shear_stress_pa(law, 0, fit.peak_displacement_m) : fit.tau_max_pa;
  double sum = 0;
  for (std::size_t i = 0; i < run.j.size(); ++i) {
    const double e = run.tau[i] - soil::shear_stress_pa(law, 0, run.j[i]);
    sum += e * e;
  }
  fit.rms_pa = std::sqrt(sum / static_cast<double>(run.j.size()));
  fit.status = math::kStatusOk;
  return fit;
}

}  // namespace hardpan::records
