// SPDX-License-Identifier: Apache-2.0
// [BatesWatts1981] D. M. Bates, D. G. Watts, A relative offset orthogonality convergence criterion for
//   nonlinear least squares, Technometrics 23 (1981) 179-183.
// [Huber1981] P. J. Huber, Robust Statistics, 1981, section 7.6, equations 6.1 to 6.6 (from memory).
// [Cameron2008] A. C. Cameron, J. B. Gelbach, D. L. Miller, Bootstrap-based improvements for inference
//   with clustered errors, Review of Economics and Statistics 90 (2008) 414-427, section II.
// J: Jacobian of the residuals r by the free parameters, n x q; psi and psi': loss.hpp; W = psi / r.
#include "fitting/detail/analysis.hpp"

#include <algorithm>
#include <cmath>

#include "math/decomposition.hpp"
#include "math/matrix.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting::detail {

Stationarity stationarity(const Linearised& at) {
  const std::size_t n = at.n, q = at.q;
  std::vector<double> weighted(n * q), b(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double root_weight = std::sqrt(at.loss[i].weight);
    b[i] = root_weight * at.residuals[i];
    for (std::size_t j = 0; j < q; ++j) weighted[i * q + j] = root_weight * at.jacobian[i * q + j];
  }
  const math::ColumnDecomposition d = math::decompose_columns(weighted, n, q);
  Stationarity out;
  out.rank = d.rank(kRankTolerance);
  out.condition = d.condition();

  const std::vector<double> along = d.along(b, out.rank);  // Q1' r
  double along_squares = 0, across_squares = 0;            // |Q1' r|^2, |Q2' r|^2
  for (const double c : along) along_squares += c * c;
  for (std::size_t i = 0; i < n; ++i) {
    double rest = b[i];
    for (std::size_t c = 0; c < out.rank; ++c) rest -= d.u[i * q + c] * along[c];
    across_squares += rest * rest;
  }
  if (n > out.rank && out.rank > 0) {
    // [BatesWatts1981] eq. 2.5
    out.relative_offset = std::sqrt(along_squares / static_cast<double>(out.rank)) /
                          std::sqrt(across_squares / static_cast<double>(n - out.rank));
  }
  out.step = d.solution(along, out.rank);
  for (double& step : out.step) step = -step;

  // A parameter with a share in a direction of the null space may take any value.
  out.identified.resize(q, true);
  for (std::size_t j = 0; j < q; ++j) {
    double share = 0;
    for (std::size_t c = out.rank; c < q; ++c) share += d.v[j * q + c] * d.v[j * q + c];
    out.identified[j] = share < 1e-12;
  }
  return out;
}

namespace {

// M M' for M of q rows and k columns, times a factor.
std::vector<double> square_of(const std::vector<double>& m, std::size_t q, std::size_t k, double factor) {
  std::vector<double> out(q * q);
  for (std::size_t i = 0; i < q; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double sum = 0;
      for (std::size_t c = 0; c < k; ++c) sum += m[i * k + c] * m[j * k + c];
      out[i * q + j] = out[j * q + i] = factor * sum;
    }
  }
  return out;
}

// Column g: influence of group g on the parameters, (J' diag(psi') J)^-1 J_g' psi_g, with
// J' diag(psi') J = H^-T (U' diag(psi') U) H^-1. Empty when that is not positive definite.
std::vector<double> group_influence(const math::ColumnDecomposition& d, std::size_t k, const Linearised& at,
                                    std::span<const std::size_t> groups, std::size_t group_count) {
  const std::size_t q = d.q;
  std::vector<double> middle(k * k, 0.0), scores(group_count * k, 0.0);
  for (std::size_t i = 0; i < d.n; ++i) {
    const double* u = d.u.data() + i * q;
    const double slope = at.loss[i].psi_slope, psi = at.loss[i].weight * at.residuals[i];
    for (std::size_t a = 0; a < k; ++a) {
      scores[groups[i] * k + a] += psi * u[a];
      for (std::size_t b = 0; b <= a; ++b) middle[a * k + b] += slope * u[a] * u[b];
    }
  }
  for (std::size_t a = 0; a < k; ++a) {
    for (std::size_t b = 0; b < a; ++b) middle[b * k + a] = middle[a * k + b];
  }
  std::vector<double> out(q * group_count);
  for (std::size_t g = 0; g < group_count; ++g) {
    const auto solved = math::solve_symmetric(middle, std::span(scores).subspan(g * k, k));
    if (!solved) return {};
    const std::vector<double> influence = d.solution(*solved, k);
    for (std::size_t j = 0; j < q; ++j) out[j * group_count + g] = influence[j];
  }
  return out;
}

}  // namespace

Covariances covariances(const Linearised& at, std::size_t rank, bool unit_variance,
                        std::span<const std::size_t> groups, std::size_t group_count) {
  Covariances out;
  const auto n = static_cast<double>(at.n), parameters = static_cast<double>(rank);
  const double spare = n - parameters;
  std::vector<double> slope(at.n);
  double psi_squares = 0;
  for (std::size_t i = 0; i < at.n; ++i) {
    const double psi = at.loss[i].weight * at.residuals[i];
    psi_squares += psi * psi;
    slope[i] = at.loss[i].psi_slope;
  }
  const double mean_slope = math::mean(slope);
  if (!(mean_slope > 0)) {
    out.messages.emplace_back("no standard errors: the loss sets aside most of the readings");
    return out;
  }
  if (spare > 0) {
    // [Huber1981] eq. 6.5: K = 1 + q / n var(psi') / mean(psi')^2; 1 without a loss.
    double var_slope = 0;
    for (const double v : slope) var_slope += (v - mean_slope) * (v - mean_slope) / n;
    const double correction = 1 + parameters / n * var_slope / (mean_slope * mean_slope);
    out.residual_sd = correction * std::sqrt(psi_squares / spare) / mean_slope;
  }
  const math::ColumnDecomposition d = math::decompose_columns(at.jacobian, at.n, at.q);
  const std::size_t k = d.rank(kRankTolerance);
  if (unit_variance) {
    out.independent = square_of(d.inverse_root(k), at.q, k, 1);
  } else if (spare > 0) {
    out.independent = square_of(d.inverse_root(k), at.q, k, out.residual_sd * out.residual_sd);
  } else {
    out.messages.emplace_back("no standard errors: as many parameters as residuals");
  }

  if (groups.empty()) return out;
  if (group_count < 2) {
    out.messages.emplace_back("no standard errors over groups: one group");
    return out;
  }
  const std::vector<double> influence = group_influence(d, k, at, groups, group_count);
  if (influence.empty()) {
    out.messages.emplace_back("no standard errors over groups: the loss is not convex around the fit");
    return out;
  }
  const auto count = static_cast<double>(group_count);
  out.grouped = square_of(influence, at.q, group_count, count / (count - 1));  // [Cameron2008] eq. 3
  if (group_count - 1 < k) {
    out.messages.emplace_back(
        "fewer groups than parameters: standard errors over groups are of single parameters only, and rough");
  }
  return out;
}

}  // namespace hardpan::fitting::detail
