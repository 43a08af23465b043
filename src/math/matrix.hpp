// SPDX-License-Identifier: Apache-2.0
// Small symmetric matrices: covariance matrices and the systems they stand in. Dense, n x n,
// row-major in a vector of n * n numbers; the whole matrix is given, not a half.
//
// Meant for n up to about 100. Nothing here is for inner loops.
//
//   const auto lower = cholesky(covariance, n);
//   if (!lower) say("not positive definite");
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace hardpan::math {

// L with L L' = A, zeros above the diagonal. Absent when A is not symmetric (1e-9 relative), not finite or not positive
// definite: a pivot below 1e-13 of its diagonal element.
[[nodiscard]] std::optional<std::vector<double>> cholesky(std::span<const double> a, std::size_t n);

// The same for a positive semidefinite A: a pivot within 1e-9 of its diagonal element from zero makes a
// zero column (a parameter known exactly, or an exact combination of earlier ones). Absent otherwise.
[[nodiscard]] std::optional<std::vector<double>> cholesky_semidefinite(std::span<const double> a,
                                                                       std::size_t n);

// x with A x = b, and the inverse of A, for symmetric positive definite A; absent as in cholesky.
[[nodiscard]] std::optional<std::vector<double>> solve_symmetric(std::span<const double> a,
                                                                 std::span<const double> b);
[[nodiscard]] std::optional<std::vector<double>> invert_symmetric(std::span<const double> a,
                                                                  std::size_t n);

// Eigenvalues of a symmetric matrix, smallest first; absent when A is not finite.
[[nodiscard]] std::optional<std::vector<double>> eigenvalues_symmetric(std::span<const double> a,
                                                                       std::size_t n);

// r_ij = c_ij / sqrt(c_ii c_jj). A variable of no variance has correlation 0 with others, 1 with itself.
[[nodiscard]] std::vector<double> covariance_to_correlation(std::span<const double> covariance,
                                                            std::size_t n);
// The standard deviations: square roots of the diagonal.
[[nodiscard]] std::vector<double> standard_deviations(std::span<const double> covariance, std::size_t n);

// Unbiased covariance of columns of equal length >= 2, as an n x n matrix for n columns.
[[nodiscard]] std::vector<double> sample_covariance(std::span<const std::vector<double>> columns);

}  // namespace hardpan::math
