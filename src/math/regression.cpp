// SPDX-License-Identifier: Apache-2.0
// Linear least squares of statistics.hpp, through the decomposition of the weighted columns scaled to
// unit length, so that rank and condition do not depend on the units of the columns.
#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "math/decomposition.hpp"
#include "math/statistics.hpp"

namespace hardpan::math {

LinearFit linear_regression(std::span<const double> design, std::size_t columns, std::span<const double> y,
                            std::span<const double> weights) {
  const std::size_t n = y.size(), p = columns;
  HARDPAN_ASSERT(p > 0 && design.size() == n * p && (weights.empty() || weights.size() == n));
  LinearFit out;
  if (n < p) {
    out.status = "fewer values than coefficients";
    return out;
  }
  std::vector<double> a(design.begin(), design.end()), b(y.begin(), y.end()), root_weight(n, 1.0);
  for (std::size_t i = 0; i < n; ++i) {
    if (!weights.empty()) {
      HARDPAN_ASSERT(weights[i] >= 0);
      root_weight[i] = std::sqrt(weights[i]);
    }
    for (std::size_t j = 0; j < p; ++j) a[i * p + j] *= root_weight[i];
    b[i] *= root_weight[i];
  }
  const auto finite = [](double v) { return std::isfinite(v); };
  if (!std::ranges::all_of(a, finite) || !std::ranges::all_of(b, finite)) {
    out.status = "a value is not a finite number";
    return out;
  }
  const ColumnDecomposition d = decompose_columns(a, n, p);
  out.rank = d.rank(static_cast<double>(n) * std::numeric_limits<double>::epsilon());
  out.condition = d.condition();
  if (out.rank < p) {
    out.status = "the columns do not determine all coefficients";
    return out;
  }
  out.coefficients = d.solution(d.along(b, p), p);
  // One step of refinement keeps the digits of nearly collinear columns.
  std::vector<double> rest(b);
  const auto take_off = [&](std::span<const double> rows, std::vector<double>& r) {
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < p; ++j) r[i] -= rows[i * p + j] * out.coefficients[j];
    }
  };
  take_off(a, rest);
  const std::vector<double> correction = d.solution(d.along(rest, p), p);
  for (std::size_t j = 0; j < p; ++j) out.coefficients[j] += correction[j];

  out.residuals.assign(y.begin(), y.end());
  take_off(design, out.residuals);
  out.degrees_of_freedom = n - p;
  if (n == p) {
    out.status = "no errors: as many coefficients as values";
    return out;
  }
  double sum = 0;
  for (std::size_t i = 0; i < n; ++i) sum += root_weight[i] * out.residuals[i] * root_weight[i] * out.residuals[i];
  out.residual_sd = std::sqrt(sum / static_cast<double>(n - p));
  const std::vector<double> root = d.inverse_root(p);
  out.covariance.assign(p * p, 0.0);
  for (std::size_t i = 0; i < p; ++i) {
    for (std::size_t j = 0; j < p; ++j) {
      for (std::size_t k = 0; k < p; ++k) out.covariance[i * p + j] += root[i * p + k] * root[j * p + k];
      out.covariance[i * p + j] *= out.residual_sd * out.residual_sd;
    }
    out.standard_errors.push_back(std::sqrt(out.covariance[i * p + i]));
  }
  out.status = kStatusOk;
  return out;
}

}  // namespace hardpan::math
