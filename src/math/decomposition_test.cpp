// SPDX-License-Identifier: Apache-2.0
#include "math/decomposition.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "math/matrix.hpp"
#include "math/random.hpp"

namespace hardpan::math {
namespace {

std::vector<double> random_matrix(std::size_t n, std::size_t q, std::uint64_t seed) {
  std::vector<double> a(n * q);
  Stream(seed, stream_id("matrix")).fill_normal(0, a);
  return a;
}

TEST(DecomposeColumns, MultipliesBackToTheMatrixWithOrthonormalFactors) {
  for (const auto& [n, q] : {std::pair<std::size_t, std::size_t>{1, 1}, {5, 5}, {40, 7}, {200, 60}}) {
    std::vector<double> a = random_matrix(n, q, n);
    for (std::size_t i = 0; i < n; ++i) a[i * q] *= 1e12;  // one column in other units
    const ColumnDecomposition d = decompose_columns(a, n, q);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < q; ++j) {
        double sum = 0;
        for (std::size_t c = 0; c < q; ++c) sum += d.u[i * q + c] * d.sigma[c] * d.v[j * q + c];
        EXPECT_NEAR(sum, a[i * q + j] / d.length[j], 1e-13) << n << " x " << q;
      }
    }
    for (std::size_t b = 0; b < q; ++b) {
      for (std::size_t c = 0; c < q; ++c) {
        double uu = 0, vv = 0;
        for (std::size_t i = 0; i < n; ++i) uu += d.u[i * q + b] * d.u[i * q + c];
        for (std::size_t j = 0; j < q; ++j) vv += d.v[j * q + b] * d.v[j * q + c];
        EXPECT_NEAR(uu, b == c, 1e-13);
        EXPECT_NEAR(vv, b == c, 1e-13);
      }
      if (b > 0) {
        EXPECT_GE(d.sigma[b - 1], d.sigma[b]);
      }
    }
  }
}

TEST(DecomposeColumns, InvertsTheNormalMatrix) {
  const std::size_t n = 30, q = 4;
  const std::vector<double> a = random_matrix(n, q, 3);
  std::vector<double> normal(q * q, 0);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < q; ++j) {
      for (std::size_t k = 0; k < q; ++k) normal[j * q + k] += a[i * q + j] * a[i * q + k];
    }
  }
  const auto inverse = invert_symmetric(normal, q);
  const std::vector<double> root = decompose_columns(a, n, q).inverse_root(q);
  for (std::size_t j = 0; j < q; ++j) {
    for (std::size_t k = 0; k < q; ++k) {
      double sum = 0;
      for (std::size_t c = 0; c < q; ++c) sum += root[j * q + c] * root[k * q + c];
      EXPECT_NEAR(sum, (*inverse)[j * q + k], 1e-14);
    }
  }
}

TEST(DecomposeColumns, SeesTheRankWhateverTheUnits) {
  // Third column = first + second; a fourth of zeros.
  std::vector<double> a;
  const std::vector<double> x = random_matrix(10, 2, 5);
  for (std::size_t i = 0; i < 10; ++i) {
    const double p = 1e150 * x[2 * i], q = 1e150 * x[2 * i + 1];
    a.insert(a.end(), {p, q, p + q, 0.0});
  }
  const ColumnDecomposition d = decompose_columns(a, 10, 4);
  EXPECT_EQ(d.rank(1e-11), 2u);
  EXPECT_EQ(d.length[3], 1);
  EXPECT_GT(d.condition(), 1e14);
}

TEST(DecomposeColumns, SolvesLeastSquares) {
  // Residual orthogonal to every column.
  const std::size_t n = 12, q = 3;
  const std::vector<double> a = random_matrix(n, q, 8), b = random_matrix(n, 1, 9);
  const ColumnDecomposition d = decompose_columns(a, n, q);
  const std::vector<double> x = d.solution(d.along(b, q), q);
  for (std::size_t j = 0; j < q; ++j) {
    double dot = 0;
    for (std::size_t i = 0; i < n; ++i) {
      double r = b[i];
      for (std::size_t k = 0; k < q; ++k) r -= a[i * q + k] * x[k];
      dot += r * a[i * q + j];
    }
    EXPECT_NEAR(dot, 0, 1e-13);
  }
}

}  // namespace
}  // namespace hardpan::math
