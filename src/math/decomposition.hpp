// SPDX-License-Identifier: Apache-2.0
// Thin singular value decomposition of a tall matrix whose columns are first scaled to length one, so
// that rank and condition do not depend on the units of the columns. The ground of linear regression and
// of the error analysis of fits. For small symmetric matrices use matrix.hpp.
//
//   const ColumnDecomposition d = decompose_columns(jacobian, n, q);
//   const std::size_t rank = d.rank(1e-11);
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace hardpan::math {

// A = U diag(sigma) V' diag(length). Matrices are row-major.
struct ColumnDecomposition {
  std::size_t n = 0, q = 0;
  std::vector<double> length;  // q: of the columns of A; 1 for a column of zeros
  std::vector<double> u;       // n x q, orthonormal columns
  std::vector<double> sigma;   // q, falling
  std::vector<double> v;       // q x q, orthogonal

  // Singular values above `share` of the largest.
  [[nodiscard]] std::size_t rank(double share) const;
  [[nodiscard]] double condition() const;  // largest over smallest
  // U' b over the first k columns.
  [[nodiscard]] std::vector<double> along(std::span<const double> b, std::size_t k) const;
  // x = diag(1 / length) V diag(1 / sigma) c over the first k directions: the least-squares solution of
  // A x = b of least scaled length for c = along(b, k).
  [[nodiscard]] std::vector<double> solution(std::span<const double> c, std::size_t k) const;
  // H, q x k row-major, with H H' = (A'A)^-1 over the first k directions: H = diag(1 / length) V diag(1 / sigma).
  [[nodiscard]] std::vector<double> inverse_root(std::size_t k) const;
};

// n >= q >= 1, finite numbers; anything else is a mistake of the caller.
[[nodiscard]] ColumnDecomposition decompose_columns(std::span<const double> a, std::size_t n, std::size_t q);

}  // namespace hardpan::math
