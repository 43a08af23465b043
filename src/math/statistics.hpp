// SPDX-License-Identifier: Apache-2.0
// Statistics of a sample: centre, spread, quantiles, regression, effective sample size.
//
// Samples hold finite numbers; one that is not makes the result NaN. Functions that need n values
// say so and assert it. For models that are not linear in their parameters use the fitting module.
//
//   double spread = robust_scale(noise_n);
//   LineFit line = fit_line(normal_stress_pa, shear_strength_pa);
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "math/distributions.hpp"
#include "math/estimate.hpp"

namespace hardpan::math {

[[nodiscard]] double mean(std::span<const double> x);      // n >= 1
[[nodiscard]] double variance(std::span<const double> x);  // divides by n - 1; n >= 2
[[nodiscard]] double median(std::span<const double> x);    // n >= 1
// Hyndman and Fan (1996) type 7, linear between order statistics; n >= 1, 0 <= probability <= 1.
[[nodiscard]] double quantile(std::span<const double> x, double probability);
[[nodiscard]] double quantile_of_sorted(std::span<const double> sorted, double probability);

// Median absolute deviation from the median, as it is; n >= 1.
[[nodiscard]] double median_absolute_deviation(std::span<const double> x);
// The same divided by the normal quantile at 3/4 (1.4826): a standard deviation that half the
// sample cannot move; n >= 2. Zero when more than half the values are equal.
[[nodiscard]] double robust_scale(std::span<const double> x);

struct WeightedMean {
  double value = std::numeric_limits<double>::quiet_NaN();
  double standard_error = std::numeric_limits<double>::quiet_NaN();  // 1 / sqrt(sum w), if w = 1 / variance
  double chi_square = std::numeric_limits<double>::quiet_NaN();      // sum w (x - value)^2, n - 1 degrees of freedom
};
[[nodiscard]] WeightedMean weighted_mean(std::span<const double> x, std::span<const double> weights);

// How many independent values a correlated series is worth, for the standard error of its mean
// s / sqrt(n_effective). Autocorrelations are summed in pairs while the pairs stay positive,
// each pair counted as no larger than the one before (Geyer 1992, initial monotone sequence: the initial positive
// sequence without its noise). A trend inside the series counts as correlation. A
// series that alternates may be worth more than its length; callers who do not want that limit it.
struct EffectiveSampleSize {
  double n_effective = std::numeric_limits<double>::quiet_NaN();
  double correlation_time_samples = std::numeric_limits<double>::quiet_NaN();  // n / n_effective
  std::size_t lags_used = 0;
  bool ran_out_of_lags = false;  // correlated over more than half the series: n_effective is too high
};
// Absent for fewer than 4 values or a series without variance.
[[nodiscard]] std::optional<EffectiveSampleSize> effective_sample_size(std::span<const double> series);
// Autocorrelation at one lag, divided by n: 1 at lag 0.
[[nodiscard]] double autocorrelation(std::span<const double> series, std::size_t lag);

// Ordinary or weighted linear least squares by orthogonal decomposition of columns scaled to unit
// length. `design` is row-major, n rows of p columns; weights are 1 / variance up to a factor.
struct LinearFit {
  std::vector<double> coefficients;       // p
  std::vector<double> standard_errors;    // p; empty when n = p
  std::vector<double> covariance;         // p x p row-major; empty when n = p
  std::vector<double> residuals;          // y - fit, n, not weighted
  double residual_sd = std::numeric_limits<double>::quiet_NaN();  // sqrt(sum w r^2 / (n - p))
  std::size_t degrees_of_freedom = 0;     // n - p
  std::size_t rank = 0;
  double condition = std::numeric_limits<double>::quiet_NaN();    // of the scaled design
  std::string status;                     // "ok", or why there are no coefficients or no errors
};
[[nodiscard]] LinearFit linear_regression(std::span<const double> design, std::size_t columns,
                                          std::span<const double> y,
                                          std::span<const double> weights = {});

// y = intercept + slope x, the two-parameter case in named fields.
struct LineFit {
  double intercept = std::numeric_limits<double>::quiet_NaN();
  double slope = std::numeric_limits<double>::quiet_NaN();
  double var_intercept = std::numeric_limits<double>::quiet_NaN();
  double var_slope = std::numeric_limits<double>::quiet_NaN();
  double cov_intercept_slope = std::numeric_limits<double>::quiet_NaN();
  double residual_sd = std::numeric_limits<double>::quiet_NaN();
  std::size_t degrees_of_freedom = 0;
  std::string status;  // as in LinearFit
};
[[nodiscard]] LineFit fit_line(std::span<const double> x, std::span<const double> y,
                               std::span<const double> weights = {});

}  // namespace hardpan::math
