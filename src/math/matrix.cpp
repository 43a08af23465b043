// SPDX-License-Identifier: Apache-2.0
#include "math/matrix.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "math/statistics.hpp"

namespace hardpan::math {
namespace {

constexpr double kSymmetryTolerance = 1e-9;       // of sqrt(a_ii a_jj)
constexpr double kDefinitePivot = 1e-13;          // of a_ii: rounding of n <= 100 products
constexpr double kSemidefinitePivot = 1e-9;       // of a_ii: matrices that carry ten printed digits

bool symmetric_and_finite(std::span<const double> a, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      const double scale = std::sqrt(std::abs(a[i * n + i] * a[j * n + j])) +
                           std::max(std::abs(a[i * n + j]), std::abs(a[j * n + i]));
      if (!std::isfinite(a[i * n + j]) || !std::isfinite(a[j * n + i])) return false;
      if (std::abs(a[i * n + j] - a[j * n + i]) > kSymmetryTolerance * scale) return false;
    }
  }
  return true;
}

// Column by column. `zero_pivot` = 0 asks for definite, else the share of a_ii that counts as zero.
std::optional<std::vector<double>> factor(std::span<const double> a, std::size_t n, double zero_pivot) {
  HARDPAN_ASSERT(a.size() == n * n);
  if (!symmetric_and_finite(a, n)) return std::nullopt;
  std::vector<double> l(n * n, 0.0);
  for (std::size_t j = 0; j < n; ++j) {
    double pivot = a[j * n + j];
    if (pivot < 0) return std::nullopt;
    for (std::size_t k = 0; k < j; ++k) pivot -= l[j * n + k] * l[j * n + k];
    const double threshold = std::max(zero_pivot, kDefinitePivot) * a[j * n + j];
    const bool is_zero = !(pivot > threshold);
    if (is_zero && (zero_pivot == 0 || pivot < -threshold)) return std::nullopt;
    const double diagonal = is_zero ? 0 : std::sqrt(pivot);
    l[j * n + j] = diagonal;
    for (std::size_t i = j + 1; i < n; ++i) {
      double rest = a[i * n + j];
      for (std::size_t k = 0; k < j; ++k) rest -= l[i * n + k] * l[j * n + k];
      if (!is_zero) {
        l[i * n + j] = rest / diagonal;
      } else if (std::abs(rest) > std::sqrt(zero_pivot * a[j * n + j] * a[i * n + i])) {
        return std::nullopt;  // a covariance with a variable that does not vary
      }
    }
  }
  return l;
}

void substitute(const std::vector<double>& l, std::size_t n, double* x) {
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < i; ++k) x[i] -= l[i * n + k] * x[k];
    x[i] /= l[i * n + i];
  }
  for (std::size_t i = n; i-- > 0;) {
    for (std::size_t k = i + 1; k < n; ++k) x[i] -= l[k * n + i] * x[k];
    x[i] /= l[i * n + i];
  }
}

}  // namespace

std::optional<std::vector<double>> cholesky(std::span<const double> a, std::size_t n) {
  return factor(a, n, 0);
}

std::optional<std::vector<double>> cholesky_semidefinite(std::span<const double> a, std::size_t n) {
  return factor(a, n, kSemidefinitePivot);
}

std::optional<std::vector<double>> solve_symmetric(std::span<const double> a, std::span<const double> b) {
  const auto l = cholesky(a, b.size());
  if (!l) return std::nullopt;
  std::vector<double> x(b.begin(), b.end());
  substitute(*l, b.size(), x.data());
  return x;
}

std::optional<std::vector<double>> invert_symmetric(std::span<const double> a, std::size_t n) {
  const auto l = cholesky(a, n);
  if (!l) return std::nullopt;
  std::vector<double> inverse(n * n, 0.0);
  for (std::size_t j = 0; j < n; ++j) {
    inverse[j * n + j] = 1;
    substitute(*l, n, inverse.data() + j * n);  // row j of the inverse, which is symmetric
  }
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const double both = 0.5 * (inverse[i * n + j] + inverse[j * n + i]);
      inverse[i * n + j] = inverse[j * n + i] = both;
    }
  }
  return inverse;
}

std::vector<double> covariance_to_correlation(std::span<const double> covariance, std::size_t n) {
  const std::vector<double> sd = standard_deviations(covariance, n);
  std::vector<double> out(n * n, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      if (i == j) {
        out[i * n + j] = 1;
      } else if (sd[i] > 0 && sd[j] > 0) {
        out[i * n + j] = covariance[i * n + j] / (sd[i] * sd[j]);
      }
    }
  }
  return out;
}

std::vector<double> standard_deviations(std::span<const double> covariance, std::size_t n) {
  HARDPAN_ASSERT(covariance.size() == n * n);
  std::vector<double> out(n);
  for (std::size_t i = 0; i < n; ++i) out[i] = std::sqrt(covariance[i * n + i]);
  return out;
}

std::vector<double> sample_covariance(std::span<const std::vector<double>> columns) {
  const std::size_t n = columns.size();
  HARDPAN_ASSERT(n > 0 && columns[0].size() >= 2);
  const std::size_t rows = columns[0].size();
  std::vector<double> centre(n);
  for (std::size_t j = 0; j < n; ++j) {
    HARDPAN_ASSERT(columns[j].size() == rows);
    centre[j] = mean(columns[j]);
  }
  std::vector<double> out(n * n);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double sum = 0;
      for (std::size_t k = 0; k < rows; ++k) {
        sum += (columns[i][k] - centre[i]) * (columns[j][k] - centre[j]);
      }
      out[i * n + j] = out[j * n + i] = sum / static_cast<double>(rows - 1);
    }
  }
  return out;
}

}  // namespace hardpan::math
