// SPDX-License-Identifier: Apache-2.0
// Householder QR of the n x q matrix, then one-sided Jacobi rotations on the q x q triangle ([Golub1996]
// sections 5.2 and 8.6.3): the iterative part does not grow with the number of readings. The one file
// of this module that names the linear algebra library, because each such file is slow to compile.
#include "math/decomposition.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/QR>
#include <Eigen/SVD>
#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "math/matrix.hpp"

namespace hardpan::math {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;

void store_row_major(const MatrixXd& m, std::vector<double>& out) {
  out.resize(static_cast<std::size_t>(m.size()));
  for (Index i = 0; i < m.rows(); ++i) {
    for (Index j = 0; j < m.cols(); ++j) out[static_cast<std::size_t>(i * m.cols() + j)] = m(i, j);
  }
}

}  // namespace

ColumnDecomposition decompose_columns(std::span<const double> a, std::size_t n, std::size_t q) {
  HARDPAN_ASSERT(q >= 1 && n >= q && a.size() == n * q);
  ColumnDecomposition out{.n = n, .q = q, .length = std::vector<double>(q)};
  const auto rows = static_cast<Index>(n), columns = static_cast<Index>(q);
  MatrixXd scaled(rows, columns);
  for (std::size_t j = 0; j < q; ++j) {
    double largest = 0, sum = 0;  // scaled by the largest entry: squares of 1e200 overflow
    for (std::size_t i = 0; i < n; ++i) largest = std::max(largest, std::abs(a[i * q + j]));
    for (std::size_t i = 0; i < n && largest > 0; ++i) sum += (a[i * q + j] / largest) * (a[i * q + j] / largest);
    out.length[j] = largest > 0 ? largest * std::sqrt(sum) : 1;
    for (std::size_t i = 0; i < n; ++i) {
      scaled(static_cast<Index>(i), static_cast<Index>(j)) = a[i * q + j] / out.length[j];
    }
  }
  const Eigen::HouseholderQR<MatrixXd> qr(scaled);
  MatrixXd triangle = MatrixXd::Zero(columns, columns);
  for (Index i = 0; i < columns; ++i) {
    for (Index j = i; j < columns; ++j) triangle(i, j) = qr.matrixQR()(i, j);
  }
  const Eigen::JacobiSVD<MatrixXd, Eigen::NoQRPreconditioner> svd(triangle, Eigen::ComputeFullU | Eigen::ComputeFullV);
  out.sigma.assign(svd.singularValues().data(), svd.singularValues().data() + columns);
  store_row_major(svd.matrixV(), out.v);
  MatrixXd padded = MatrixXd::Zero(rows, columns);
  padded.topRows(columns) = svd.matrixU();
  padded.applyOnTheLeft(qr.householderQ());
  store_row_major(padded, out.u);
  return out;
}

std::size_t ColumnDecomposition::rank(double share) const {
  return static_cast<std::size_t>(
      std::ranges::count_if(sigma, [&](double s) { return s > share * sigma.front(); }));
}

double ColumnDecomposition::condition() const { return sigma.front() / sigma.back(); }

std::vector<double> ColumnDecomposition::along(std::span<const double> b, std::size_t k) const {
  HARDPAN_ASSERT(b.size() == n && k <= q);
  std::vector<double> out(k, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t c = 0; c < k; ++c) out[c] += u[i * q + c] * b[i];
  }
  return out;
}

std::vector<double> ColumnDecomposition::inverse_root(std::size_t k) const {
  HARDPAN_ASSERT(k <= q);
  std::vector<double> out(q * k);
  for (std::size_t j = 0; j < q; ++j) {
    for (std::size_t c = 0; c < k; ++c) out[j * k + c] = v[j * q + c] / sigma[c] / length[j];
  }
  return out;
}

std::vector<double> ColumnDecomposition::solution(std::span<const double> c, std::size_t k) const {
  HARDPAN_ASSERT(c.size() == k && k <= q);
  std::vector<double> out(q, 0.0);
  for (std::size_t j = 0; j < q; ++j) {
    for (std::size_t d = 0; d < k; ++d) out[j] += v[j * q + d] / sigma[d] * c[d];
    out[j] /= length[j];
  }
  return out;
}

std::optional<std::vector<double>> eigenvalues_symmetric(std::span<const double> a, std::size_t n) {
  HARDPAN_ASSERT(a.size() == n * n);
  if (!std::ranges::all_of(a, [](double v) { return std::isfinite(v); })) return std::nullopt;
  const auto size = static_cast<Index>(n);
  const Eigen::Map<const MatrixXd> matrix(a.data(), size, size);
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(matrix, Eigen::EigenvaluesOnly);
  if (solver.info() != Eigen::Success) return std::nullopt;
  return std::vector<double>(solver.eigenvalues().data(), solver.eigenvalues().data() + size);
}

}  // namespace hardpan::math
