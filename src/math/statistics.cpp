// SPDX-License-Identifier: Apache-2.0
// [HyndmanFan1996] R. J. Hyndman, Y. Fan, The American Statistician 50 (1996) 361-365, definition 7.
// [Geyer1992] C. J. Geyer, Statistical Science 7 (1992) 473-483, section 3.3.
#include "math/statistics.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "math/matrix.hpp"

namespace hardpan::math {
namespace {

// Selection keeps a NaN from ever comparing as "between": say so instead of ordering garbage.
bool all_finite(std::span<const double> x) {
  return std::ranges::all_of(x, [](double v) { return std::isfinite(v); });
}

}  // namespace

double mean(std::span<const double> x) {
  HARDPAN_ASSERT(!x.empty());
  double sum = 0;
  for (const double v : x) sum += v;
  const double first = sum / static_cast<double>(x.size());
  double rest = 0;  // a second pass takes out the rounding of the first
  for (const double v : x) rest += v - first;
  return first + rest / static_cast<double>(x.size());
}

double variance(std::span<const double> x) {
  HARDPAN_ASSERT(x.size() >= 2);
  const double centre = mean(x);
  double squares = 0, rest = 0;
  for (const double v : x) {
    squares += (v - centre) * (v - centre);
    rest += v - centre;
  }
  const auto n = static_cast<double>(x.size());
  return (squares - rest * rest / n) / (n - 1);
}

double quantile_of_sorted(std::span<const double> sorted, double probability) {
  HARDPAN_ASSERT(!sorted.empty() && probability >= 0 && probability <= 1);
  const double place = probability * static_cast<double>(sorted.size() - 1);  // [HyndmanFan1996] h - 1
  const auto below = static_cast<std::size_t>(place);
  if (below + 1 >= sorted.size()) return sorted.back();
  const double share = place - static_cast<double>(below);
  return share == 0 ? sorted[below] : sorted[below] + share * (sorted[below + 1] - sorted[below]);
}

double quantile(std::span<const double> x, double probability) {
  HARDPAN_ASSERT(!x.empty() && probability >= 0 && probability <= 1);
  if (!all_finite(x)) return std::numeric_limits<double>::quiet_NaN();
  std::vector<double> copy(x.begin(), x.end());
  const double place = probability * static_cast<double>(copy.size() - 1);
  const auto below = static_cast<std::ptrdiff_t>(place);
  std::nth_element(copy.begin(), copy.begin() + below, copy.end());
  const double share = place - static_cast<double>(below);
  const double low = copy[static_cast<std::size_t>(below)];
  if (share == 0) return low;
  const double high = *std::min_element(copy.begin() + below + 1, copy.end());
  return low + share * (high - low);
}

double median(std::span<const double> x) { return quantile(x, 0.5); }

double median_absolute_deviation(std::span<const double> x) {
  const double centre = median(x);
  std::vector<double> distance(x.begin(), x.end());
  for (double& v : distance) v = std::abs(v - centre);
  return median(distance);
}

double robust_scale(std::span<const double> x) {
  HARDPAN_ASSERT(x.size() >= 2);
  return median_absolute_deviation(x) / normal_quantile(0.75);
}

WeightedMean weighted_mean(std::span<const double> x, std::span<const double> weights) {
  HARDPAN_ASSERT(!x.empty() && x.size() == weights.size());
  double sum_w = 0, sum_wx = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    HARDPAN_ASSERT(weights[i] >= 0);
    sum_w += weights[i];
    sum_wx += weights[i] * x[i];
  }
  HARDPAN_ASSERT(sum_w > 0);
  WeightedMean out{.value = sum_wx / sum_w, .standard_error = 1 / std::sqrt(sum_w), .chi_square = 0};
  for (std::size_t i = 0; i < x.size(); ++i) {
    out.chi_square += weights[i] * (x[i] - out.value) * (x[i] - out.value);
  }
  return out;
}

namespace {

double autocovariance(std::span<const double> series, double centre, std::size_t lag) {
  double sum = 0;
  for (std::size_t i = 0; i + lag < series.size(); ++i) {
    sum += (series[i] - centre) * (series[i + lag] - centre);
  }
  return sum / static_cast<double>(series.size());
}

}  // namespace

double autocorrelation(std::span<const double> series, std::size_t lag) {
  HARDPAN_ASSERT(lag < series.size());
  const double centre = mean(series);
  return autocovariance(series, centre, lag) / autocovariance(series, centre, 0);
}

std::optional<EffectiveSampleSize> effective_sample_size(std::span<const double> series) {
  if (series.size() < 4) return std::nullopt;
  const double centre = mean(series);
  const double c0 = autocovariance(series, centre, 0);
  // A constant series leaves only the rounding of its mean.
  const double rounding = std::numeric_limits<double>::epsilon() * std::abs(centre);
  if (!(c0 > rounding * rounding)) return std::nullopt;
  EffectiveSampleSize out;
  double time = -1;  // [Geyer1992] -gamma_0 + 2 sum of pairs, in units of gamma_0
  double smallest = std::numeric_limits<double>::infinity();
  std::size_t lag = 0;
  bool stopped = false;
  for (; lag + 1 <= series.size() / 2; lag += 2) {
    const double pair =
        (autocovariance(series, centre, lag) + autocovariance(series, centre, lag + 1)) / c0;
    if (!(pair > 0)) {
      stopped = true;
      break;
    }
    smallest = std::min(smallest, pair);
    time += 2 * smallest;
  }
  out.lags_used = lag;
  out.ran_out_of_lags = !stopped;
  // The first pair, 1 + rho_1, may be so close to zero that the sum turns negative: then the series
  // alternates and its mean is known better than n independent values would give; 1/n at the least.
  const auto n = static_cast<double>(series.size());
  out.correlation_time_samples = std::max(time, 1 / n);
  out.n_effective = n / out.correlation_time_samples;
  return out;
}

LineFit fit_line(std::span<const double> x, std::span<const double> y, std::span<const double> weights) {
  HARDPAN_ASSERT(x.size() == y.size());
  std::vector<double> design;
  design.reserve(2 * x.size());
  for (const double v : x) {
    design.push_back(1);
    design.push_back(v);
  }
  const LinearFit fit = linear_regression(design, 2, y, weights);
  LineFit out{.residual_sd = fit.residual_sd, .degrees_of_freedom = fit.degrees_of_freedom, .status = fit.status};
  if (!fit.coefficients.empty()) {
    out.intercept = fit.coefficients[0];
    out.slope = fit.coefficients[1];
  }
  if (!fit.covariance.empty()) {
    out.var_intercept = fit.covariance[0];
    out.cov_intercept_slope = fit.covariance[1];
    out.var_slope = fit.covariance[3];
  }
  return out;
}

}  // namespace hardpan::math
