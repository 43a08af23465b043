// SPDX-License-Identifier: Apache-2.0
// [BatesWatts1981] D. M. Bates, D. G. Watts, A relative offset orthogonality convergence criterion for
//   nonlinear least squares, Technometrics 23 (1981) 179-183.
// [Huber1981] P. J. Huber, Robust Statistics, 1981, section 7.6, equations 6.1 to 6.6 (from memory).
// [Cameron2008] A. C. Cameron, J. B. Gelbach, D. L. Miller, Bootstrap-based improvements for inference
//   with clustered errors, Review of Economics and Statistics 90 (2008) 414-427, section II.
// J: Jacobian of the residuals r by the free parameters, n x q; psi and psi': loss.hpp; W = psi / r.
#include <Eigen/Cholesky>
#include <Eigen/QR>
#include <Eigen/SVD>
#include <algorithm>
#include <cmath>

#include "fitting/detail/analysis.hpp"

namespace hardpan::fitting::detail {
namespace {

using RowMajor = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

// Thin singular value decomposition J = U diag(sigma) V' diag(length), through a QR decomposition so that
// the iterative part works on q x q. Columns are first scaled to length 1: no result depends on units.
struct Decomposition {
  VectorXd length;
  MatrixXd u;  // n x q
  VectorXd sigma;
  MatrixXd v;  // q x q
};

Decomposition decompose(MatrixXd j) {
  Decomposition out;
  const Index q = j.cols();
  out.length = j.colwise().norm();
  for (Index c = 0; c < q; ++c) {
    if (!(out.length(c) > 0)) out.length(c) = 1;  // a column of zeros stays one
    j.col(c) /= out.length(c);
  }
  const Eigen::HouseholderQR<MatrixXd> qr(j);
  const MatrixXd r = qr.matrixQR().topRows(q).triangularView<Eigen::Upper>();
  const Eigen::JacobiSVD<MatrixXd> svd(r, Eigen::ComputeFullU | Eigen::ComputeFullV);
  out.sigma = svd.singularValues();
  out.v = svd.matrixV();
  MatrixXd padded = MatrixXd::Zero(j.rows(), q);
  padded.topRows(q) = svd.matrixU();
  out.u = qr.householderQ() * padded;
  return out;
}

Index rank_of(const VectorXd& sigma) {
  return (sigma.array() > kRankTolerance * sigma(0)).count();
}

std::vector<double> flat(const MatrixXd& m) {
  std::vector<double> out(static_cast<std::size_t>(m.size()));
  Eigen::Map<RowMajor>(out.data(), m.rows(), m.cols()) = m;
  return out;
}

}  // namespace

Stationarity stationarity(const Linearised& at) {
  const auto n = static_cast<Index>(at.n), q = static_cast<Index>(at.q);
  VectorXd root_weight(n), b(n);
  for (Index i = 0; i < n; ++i) {
    root_weight(i) = std::sqrt(at.loss[static_cast<std::size_t>(i)].weight);
    b(i) = root_weight(i) * at.residuals[static_cast<std::size_t>(i)];
  }
  const Decomposition d =
      decompose(root_weight.asDiagonal() * Eigen::Map<const RowMajor>(at.jacobian.data(), n, q));
  Stationarity out;
  const Index rank = rank_of(d.sigma);
  out.rank = static_cast<std::size_t>(rank);
  out.condition = d.sigma(0) / d.sigma(q - 1);

  const VectorXd along = d.u.leftCols(rank).transpose() * b;             // Q1' r
  const double across = (b - d.u.leftCols(rank) * along).norm();         // |Q2' r|
  if (n > rank && rank > 0) {
    out.relative_offset = along.norm() / std::sqrt(static_cast<double>(rank)) /
                          (across / std::sqrt(static_cast<double>(n - rank)));  // [BatesWatts1981] eq. 2.5
  }
  const VectorXd scaled = -(d.v.leftCols(rank) * along.cwiseQuotient(d.sigma.head(rank)));
  const VectorXd step = scaled.cwiseQuotient(d.length);
  out.step.assign(step.begin(), step.end());

  // A parameter with a share in a direction of the null space may take any value.
  out.identified.resize(at.q, true);
  for (Index j = 0; j < q; ++j) {
    out.identified[static_cast<std::size_t>(j)] = rank == q || d.v.row(j).tail(q - rank).norm() < 1e-6;
  }
  return out;
}

Covariances covariances(const Linearised& at, std::size_t rank, bool unit_variance,
                        std::span<const std::size_t> groups, std::size_t group_count) {
  Covariances out;
  const auto n = static_cast<Index>(at.n), q = static_cast<Index>(at.q);
  const auto spare = static_cast<double>(at.n) - static_cast<double>(rank);
  const Decomposition d = decompose(Eigen::Map<const RowMajor>(at.jacobian.data(), n, q));
  const Index k = rank_of(d.sigma);
  // (J'J)^+ = half half', half = diag(1 / length) V diag(1 / sigma)
  const MatrixXd half = d.length.cwiseInverse().asDiagonal() *
                        (d.v.leftCols(k) * d.sigma.head(k).cwiseInverse().asDiagonal());

  VectorXd psi(n), slope(n);
  for (Index i = 0; i < n; ++i) {
    const LossValue& value = at.loss[static_cast<std::size_t>(i)];
    psi(i) = value.weight * at.residuals[static_cast<std::size_t>(i)];
    slope(i) = value.psi_slope;
  }
  const double mean_slope = slope.mean();
  if (!(mean_slope > 0)) {
    out.messages.emplace_back("no standard errors: the loss sets aside most of the readings");
    return out;
  }
  if (spare > 0) {
    // [Huber1981] eq. 6.5: K = 1 + q / n var(psi') / mean(psi')^2; 1 without a loss.
    const double var_slope = (slope.array() - mean_slope).square().mean();
    const double correction = 1 + static_cast<double>(rank) / static_cast<double>(at.n) * var_slope / (mean_slope * mean_slope);
    out.residual_sd = correction * std::sqrt(psi.squaredNorm() / spare) / mean_slope;
  }
  if (unit_variance) {
    out.independent = flat(half * half.transpose());
  } else if (spare > 0) {
    out.independent = flat(out.residual_sd * out.residual_sd * (half * half.transpose()));
  } else {
    out.messages.emplace_back("no standard errors: as many parameters as residuals");
  }

  if (groups.empty()) return out;
  if (group_count < 2) {
    out.messages.emplace_back("no standard errors over groups: one group");
    return out;
  }
  // Scores by group, G = group_count: [Cameron2008] eq. 3 with J' diag(psi') J for the bread.
  const MatrixXd u = d.u.leftCols(k);
  const MatrixXd middle = u.transpose() * slope.asDiagonal() * u;
  const Eigen::LLT<MatrixXd> bread(middle);
  if (bread.info() != Eigen::Success) {
    out.messages.emplace_back("no standard errors over groups: the loss is not convex around the fit");
    return out;
  }
  MatrixXd scores = MatrixXd::Zero(k, static_cast<Index>(group_count));
  for (Index i = 0; i < n; ++i) {
    scores.col(static_cast<Index>(groups[static_cast<std::size_t>(i)])) += psi(i) * u.row(i).transpose();
  }
  const MatrixXd influence = half * bread.solve(scores);
  const auto count = static_cast<double>(group_count);
  out.grouped = flat(count / (count - 1) * (influence * influence.transpose()));
  if (static_cast<Index>(group_count) - 1 < k) {
    out.messages.emplace_back("fewer groups than parameters: standard errors over groups are of single parameters only, and rough");
  }
  return out;
}

}  // namespace hardpan::fitting::detail
