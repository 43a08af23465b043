// SPDX-License-Identifier: Apache-2.0
// Distribution functions and quantiles, and the binomial arithmetic of demonstrations.
//
// normal_quantile is our own code (fast, relative error below 1e-15); the others are computed by a
// library to about 1e-14 and cost microseconds, so they belong outside inner loops.
//
//   double t = student_t_quantile(0.975, points - 1);
//   std::uint64_t n = trials_needed({.reliability = 0.9, .confidence = 0.9}, 0);  // 22
#pragma once

#include <cstdint>

#include "math/estimate.hpp"

namespace hardpan::math {

// Probabilities are in (0, 1), degrees of freedom > 0; anything else is a mistake of the caller.
[[nodiscard]] double normal_cdf(double z);
[[nodiscard]] double normal_quantile(double probability);
[[nodiscard]] double student_t_cdf(double t, double degrees_of_freedom);
[[nodiscard]] double student_t_quantile(double probability, double degrees_of_freedom);  // infinity: normal
[[nodiscard]] double chi_square_cdf(double x, double degrees_of_freedom);
[[nodiscard]] double chi_square_quantile(double probability, double degrees_of_freedom);
[[nodiscard]] double f_cdf(double x, double dof_numerator, double dof_denominator);
[[nodiscard]] double f_quantile(double probability, double dof_numerator, double dof_denominator);
[[nodiscard]] double beta_cdf(double x, double a, double b);
[[nodiscard]] double beta_quantile(double probability, double a, double b);
// Probability of at most k successes in n trials of probability p in [0, 1].
[[nodiscard]] double binomial_cdf(std::uint64_t k, std::uint64_t n, double p);

// Limits of a success probability after `successes` of `trials` > 0 (Clopper and Pearson 1934):
// two-sided, at least `level` coverage whatever the true probability is.
[[nodiscard]] Interval clopper_pearson(std::uint64_t successes, std::uint64_t trials,
                                       double level = kIntervalLevel);

// Limits of the mean of a Poisson count seen as `count` ([Garwood1936]): two-sided, at least `level` coverage whatever the true mean is.
[[nodiscard]] Interval poisson_limits(std::uint64_t count, double level = kIntervalLevel);

// Demonstration by trials that each pass or fail. Reliability and confidence are two numbers:
// at least `reliability` of trials pass, shown with `confidence`.
struct Demonstration {
  double reliability = 0.9;  // in (0, 1)
  double confidence = 0.9;   // in (0, 1)
};
// Fewest trials that show it when exactly `failures` of them fail: the smallest n with
// sum(i <= failures) C(n, i) (1 - R)^i R^(n - i) <= 1 - C.
[[nodiscard]] std::uint64_t trials_needed(const Demonstration& asked, std::uint64_t failures);
// 1 - that sum: the confidence with which n trials show the reliability.
[[nodiscard]] double demonstrated_confidence(double reliability, std::uint64_t trials,
                                             std::uint64_t failures);
// The reliability that n trials show at the confidence: the one-sided lower Clopper-Pearson limit.
[[nodiscard]] double demonstrated_reliability(double confidence, std::uint64_t trials,
                                              std::uint64_t failures);

}  // namespace hardpan::math
