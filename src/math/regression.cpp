// SPDX-License-Identifier: Apache-2.0
// Linear least squares of statistics.hpp. Householder QR with column pivoting ([Golub1996]
// section 5.4) on weighted columns scaled to unit length, so that the rank and
// the condition do not depend on the units of the columns.
#include <Eigen/QR>
#include <Eigen/SVD>
#include <cmath>

#include "base/assertion.hpp"
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
  using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
  const auto rows = static_cast<Eigen::Index>(n), cols = static_cast<Eigen::Index>(p);
  const Eigen::Map<const Matrix> x(design.data(), rows, cols);
  const Eigen::Map<const Eigen::VectorXd> values(y.data(), rows);
  Eigen::VectorXd root_weight = Eigen::VectorXd::Ones(rows);
  for (std::size_t i = 0; i < weights.size(); ++i) {
    HARDPAN_ASSERT(weights[i] >= 0);
    root_weight(static_cast<Eigen::Index>(i)) = std::sqrt(weights[i]);
  }
  Matrix a = root_weight.asDiagonal() * x;
  const Eigen::VectorXd b = root_weight.cwiseProduct(values);
  if (!a.allFinite() || !b.allFinite()) {
    out.status = "a value is not a finite number";
    return out;
  }
  const Eigen::VectorXd scale = a.colwise().norm();
  for (Eigen::Index j = 0; j < cols; ++j) {
    if (scale(j) > 0) a.col(j) /= scale(j);
  }
  Eigen::ColPivHouseholderQR<Matrix> qr(a);
  qr.setThreshold(static_cast<double>(n) * std::numeric_limits<double>::epsilon());
  out.rank = static_cast<std::size_t>(qr.rank());
  const Eigen::VectorXd singular = Eigen::JacobiSVD<Eigen::MatrixXd>(
      Eigen::MatrixXd(qr.matrixQR().topRows(cols).template triangularView<Eigen::Upper>())).singularValues();
  out.condition = singular(0) / singular(cols - 1);
  if (out.rank < p) {
    out.status = "the columns do not determine all coefficients";
    return out;
  }
  Eigen::VectorXd scaled = qr.solve(b);
  // One step of refinement keeps the digits of nearly collinear columns.
  scaled += qr.solve(b - a * scaled);
  const Eigen::VectorXd coefficient = scaled.cwiseQuotient(scale);
  const Eigen::VectorXd residual = values - x * coefficient;
  out.coefficients.assign(coefficient.begin(), coefficient.end());
  out.residuals.assign(residual.begin(), residual.end());
  out.degrees_of_freedom = n - p;
  if (n == p) {
    out.status = "no errors: as many coefficients as values";
    return out;
  }
  const double sum = root_weight.cwiseProduct(residual).squaredNorm();
  out.residual_sd = std::sqrt(sum / static_cast<double>(n - p));
  const Eigen::MatrixXd r_inverse =
      qr.matrixR().topLeftCorner(cols, cols).template triangularView<Eigen::Upper>().solve(
          Eigen::MatrixXd::Identity(cols, cols));
  const Eigen::MatrixXd unscaled =
      qr.colsPermutation() * (r_inverse * r_inverse.transpose()) * qr.colsPermutation().transpose();
  out.covariance.resize(p * p);
  out.standard_errors.resize(p);
  for (Eigen::Index i = 0; i < cols; ++i) {
    for (Eigen::Index j = 0; j < cols; ++j) {
      out.covariance[static_cast<std::size_t>(i * cols + j)] =
          out.residual_sd * out.residual_sd * unscaled(i, j) / (scale(i) * scale(j));
    }
    out.standard_errors[static_cast<std::size_t>(i)] =
        std::sqrt(out.covariance[static_cast<std::size_t>(i * cols + i)]);
  }
  out.status = kStatusOk;
  return out;
}

}  // namespace hardpan::math
