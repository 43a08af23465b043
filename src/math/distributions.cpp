// SPDX-License-Identifier: Apache-2.0
// [Wichura1988] M. J. Wichura, Algorithm AS 241: the percentage points of the normal distribution,
// Applied Statistics 37 (1988) 477-484, routine PPND16. Coefficients from memory, checked in the
// test against an independent library over the whole range.
// [ClopperPearson1934] C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404-413.
#include "math/distributions.hpp"

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/assertion.hpp"

namespace hardpan::math {
namespace {

namespace bm = boost::math;

bool is_probability(double p) { return p > 0 && p < 1; }

// numerator and denominator of degree 7, lowest coefficient first
double ratio(const double (&a)[8], const double (&b)[8], double r) {
  double top = a[7], bottom = b[7];
  for (int i = 6; i >= 0; --i) {
    top = top * r + a[i];
    bottom = bottom * r + b[i];
  }
  return top / bottom;
}

// [Wichura1988] |p - 1/2| <= 0.425, in r = 0.180625 - (p - 1/2)^2
constexpr double kCentreTop[8] = {3.3871328727963666080e0,  1.3314166789178437745e+2,
                                  1.9715909503065514427e+3, 1.3731693765509461125e+4,
                                  4.5921953931549871457e+4, 6.7265770927008700853e+4,
                                  3.3430575583588128105e+4, 2.5090809287301226727e+3};
constexpr double kCentreBottom[8] = {1.0,
                                     4.2313330701600911252e+1,
                                     6.8718700749205790830e+2,
                                     5.3941960214247511077e+3,
                                     2.1213794301586595867e+4,
                                     3.9307895800092710610e+4,
                                     2.8729085735721942674e+4,
                                     5.2264952788528545610e+3};
// [Wichura1988] r = sqrt(-ln min(p, 1 - p)) <= 5, in r - 1.6
constexpr double kTailTop[8] = {1.42343711074968357734e0,  4.63033784615654529590e0,
                                5.76949722146069140550e0,  3.64784832476320460504e0,
                                1.27045825245236838258e0,  2.41780725177450611770e-1,
                                2.27238449892691845833e-2, 7.74545014278341407640e-4};
constexpr double kTailBottom[8] = {1.0,
                                   2.05319162663775882187e0,
                                   1.67638483018380384940e0,
                                   6.89767334985100004550e-1,
                                   1.48103976427480074590e-1,
                                   1.51986665636164571966e-2,
                                   5.47593808499534494600e-4,
                                   1.05075007164441684324e-9};
// [Wichura1988] r > 5, in r - 5
constexpr double kFarTop[8] = {6.65790464350110377720e0,  5.46378491116411436990e0,
                               1.78482653991729133580e0,  2.96560571828504891230e-1,
                               2.65321895265761230930e-2, 1.24266094738807843860e-3,
                               2.71155556874348757815e-5, 2.01033439929228813265e-7};
constexpr double kFarBottom[8] = {1.0,
                                  5.99832206555887937690e-1,
                                  1.36929880922735805310e-1,
                                  1.48753612908506148525e-2,
                                  7.86869131145613259100e-4,
                                  1.84631831751005468180e-5,
                                  1.42151175831644588870e-7,
                                  2.04426310338993978564e-15};

}  // namespace

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

double normal_quantile(double probability) {
  HARDPAN_ASSERT(is_probability(probability));
  const double q = probability - 0.5;
  if (std::abs(q) <= 0.425) return q * ratio(kCentreTop, kCentreBottom, 0.180625 - q * q);
  const double tail = q < 0 ? probability : 1 - probability;
  const double r = std::sqrt(-std::log(tail));
  const double z = r <= 5 ? ratio(kTailTop, kTailBottom, r - 1.6) : ratio(kFarTop, kFarBottom, r - 5);
  return q < 0 ? -z : z;
}

double student_t_cdf(double t, double degrees_of_freedom) {
  HARDPAN_ASSERT(degrees_of_freedom > 0);
  if (std::isinf(degrees_of_freedom)) return normal_cdf(t);
  return bm::cdf(bm::students_t(degrees_of_freedom), t);
}

double student_t_quantile(double probability, double degrees_of_freedom) {
  HARDPAN_ASSERT(is_probability(probability) && degrees_of_freedom > 0);
  if (std::isinf(degrees_of_freedom)) return normal_quantile(probability);
  return bm::quantile(bm::students_t(degrees_of_freedom), probability);
}

double chi_square_cdf(double x, double degrees_of_freedom) {
  HARDPAN_ASSERT(degrees_of_freedom > 0);
  return x <= 0 ? 0 : bm::cdf(bm::chi_squared(degrees_of_freedom), x);
}

double chi_square_quantile(double probability, double degrees_of_freedom) {
  HARDPAN_ASSERT(is_probability(probability) && degrees_of_freedom > 0);
  return bm::quantile(bm::chi_squared(degrees_of_freedom), probability);
}

double f_cdf(double x, double dof_numerator, double dof_denominator) {
  HARDPAN_ASSERT(dof_numerator > 0 && dof_denominator > 0);
  return x <= 0 ? 0 : bm::cdf(bm::fisher_f(dof_numerator, dof_denominator), x);
}

double f_quantile(double probability, double dof_numerator, double dof_denominator) {
  HARDPAN_ASSERT(is_probability(probability) && dof_numerator > 0 && dof_denominator > 0);
  return bm::quantile(bm::fisher_f(dof_numerator, dof_denominator), probability);
}

double beta_cdf(double x, double a, double b) {
  HARDPAN_ASSERT(a > 0 && b > 0);
  if (x <= 0) return 0;
  return x >= 1 ? 1 : bm::cdf(bm::beta_distribution<>(a, b), x);
}

double beta_quantile(double probability, double a, double b) {
  HARDPAN_ASSERT(is_probability(probability) && a > 0 && b > 0);
  return bm::quantile(bm::beta_distribution<>(a, b), probability);
}

double binomial_cdf(std::uint64_t k, std::uint64_t n, double p) {
  HARDPAN_ASSERT(p >= 0 && p <= 1);
  if (k >= n) return 1;
  return bm::cdf(bm::binomial(static_cast<double>(n), p), static_cast<double>(k));
}

Interval clopper_pearson(std::uint64_t successes, std::uint64_t trials, double level) {
  HARDPAN_ASSERT(trials > 0 && successes <= trials && level > 0 && level < 1);
  const double tail = (1 - level) / 2;
  const auto k = static_cast<double>(successes), n = static_cast<double>(trials);
  return {.lo = successes == 0 ? 0 : beta_quantile(tail, k, n - k + 1),
          .hi = successes == trials ? 1 : beta_quantile(1 - tail, k + 1, n - k)};
}

Interval poisson_limits(std::uint64_t count, double level) {
  HARDPAN_ASSERT(level > 0 && level < 1);
  const double tail = (1 - level) / 2, n = static_cast<double>(count);
  return {.lo = count == 0 ? 0 : 0.5 * chi_square_quantile(tail, 2 * n), .hi = 0.5 * chi_square_quantile(1 - tail, 2 * n + 2)};
}

std::uint64_t trials_needed(const Demonstration& asked, std::uint64_t failures) {
  HARDPAN_ASSERT(is_probability(asked.reliability) && is_probability(asked.confidence));
  const auto shown = [&](std::uint64_t n) {
    return demonstrated_confidence(asked.reliability, n, failures) >= asked.confidence;
  };
  // The sum falls as n grows: double until it is shown, then halve the gap.
  std::uint64_t not_enough = failures, enough = failures + 1;
  while (!shown(enough)) {
    not_enough = enough;
    enough *= 2;
  }
  while (enough - not_enough > 1) {
    const std::uint64_t middle = not_enough + (enough - not_enough) / 2;
    (shown(middle) ? enough : not_enough) = middle;
  }
  return enough;
}

double demonstrated_confidence(double reliability, std::uint64_t trials, std::uint64_t failures) {
  HARDPAN_ASSERT(is_probability(reliability) && failures <= trials);
  if (failures == trials) return 0;
  // 1 - P(at most `failures` failures) through the incomplete beta function: no cancellation.
  const auto f = static_cast<double>(failures), n = static_cast<double>(trials);
  return beta_cdf(1 - reliability, f + 1, n - f);
}

double demonstrated_reliability(double confidence, std::uint64_t trials, std::uint64_t failures) {
  HARDPAN_ASSERT(is_probability(confidence) && failures <= trials);
  if (failures == trials) return 0;
  const auto f = static_cast<double>(failures), n = static_cast<double>(trials);
  return beta_quantile(1 - confidence, n - f, f + 1);
}

}  // namespace hardpan::math
