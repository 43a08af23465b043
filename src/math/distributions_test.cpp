// SPDX-License-Identifier: Apache-2.0
#include "math/distributions.hpp"

#include <gtest/gtest.h>

#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <numbers>

namespace hardpan::math {
namespace {

TEST(NormalQuantile, AgreesWithAnIndependentLibraryOverTheWholeRange) {
  const boost::math::normal reference;
  double worst = 0;
  for (double p = 1e-300; p < 0.5; p *= 1.31) {
    const double expected = boost::math::quantile(reference, p);
    worst = std::max(worst, std::abs(normal_quantile(p) / expected - 1));
  }
  for (int i = 1; i < 4000; ++i) {
    const double p = i / 4000.0;
    if (i == 2000) continue;
    const double expected = boost::math::quantile(reference, p);
    worst = std::max(worst, std::abs(normal_quantile(p) - expected) / std::max(std::abs(expected), 0.1));
  }
  EXPECT_LT(worst, 2e-15);  // the published accuracy is about 1 part in 1e16; two libms add roundings
  EXPECT_EQ(normal_quantile(0.5), 0);
  EXPECT_DOUBLE_EQ(normal_quantile(0.025), -normal_quantile(0.975));
}

// Closed forms: t with 1 and 2 degrees of freedom, chi-square with 2, beta with b = 1, F(2, 2).
TEST(Quantiles, AgreeWithClosedForms) {
  for (const double p : {0.01, 0.2, 0.5, 0.9, 0.975}) {
    EXPECT_NEAR(student_t_quantile(p, 1), std::tan(std::numbers::pi * (p - 0.5)), 1e-12);
    EXPECT_NEAR(student_t_quantile(p, 2), (2 * p - 1) / std::sqrt(2 * p * (1 - p)), 1e-12);
    EXPECT_NEAR(chi_square_quantile(p, 2), -2 * std::log1p(-p), 1e-12);
    EXPECT_NEAR(beta_quantile(p, 3, 1), std::cbrt(p), 1e-12);
    EXPECT_NEAR(f_quantile(p, 2, 2), p / (1 - p), 1e-11);
    EXPECT_NEAR(student_t_cdf(student_t_quantile(p, 7.5), 7.5), p, 1e-13);
    EXPECT_NEAR(chi_square_cdf(chi_square_quantile(p, 0.7), 0.7), p, 1e-13);
    EXPECT_NEAR(f_cdf(f_quantile(p, 3, 9), 3, 9), p, 1e-13);
    EXPECT_NEAR(beta_cdf(beta_quantile(p, 0.5, 4), 0.5, 4), p, 1e-13);
    EXPECT_EQ(student_t_quantile(p, std::numeric_limits<double>::infinity()), normal_quantile(p));
  }
}

// Abramowitz and Stegun (1964), tables 26.8, 26.9 and 26.10, to the digits printed (from memory).
TEST(Quantiles, AgreeWithPrintedTables) {
  EXPECT_NEAR(student_t_quantile(0.975, 10), 2.228, 5e-4);
  EXPECT_NEAR(student_t_quantile(0.975, 4), 2.776, 5e-4);
  EXPECT_NEAR(chi_square_quantile(0.95, 10), 18.307, 5e-4);
  EXPECT_NEAR(f_quantile(0.95, 3, 10), 3.71, 5e-3);
}

// The two figures every demonstration plan starts from.
TEST(TrialsNeeded, Gives22Of22And38WithOneFailureAtNinetyNinety) {
  EXPECT_EQ(trials_needed({.reliability = 0.9, .confidence = 0.9}, 0), 22u);
  EXPECT_EQ(trials_needed({.reliability = 0.9, .confidence = 0.9}, 1), 38u);
  EXPECT_EQ(trials_needed({.reliability = 0.95, .confidence = 0.95}, 0), 59u);  // ln 0.05 / ln 0.95 = 58.4
}

TEST(TrialsNeeded, IsTheFewestThatShowIt) {
  // The sum written out term by term, independent of the library.
  const auto confidence = [](double r, unsigned n, unsigned failures) {
    double sum = 0, ways = 1;
    for (unsigned i = 0; i <= failures; ++i) {
      sum += ways * std::pow(1 - r, i) * std::pow(r, n - i);
      ways = ways * (n - i) / (i + 1);
    }
    return 1 - sum;
  };
  for (const double r : {0.5, 0.8, 0.9, 0.99}) {
    for (unsigned failures = 0; failures < 4; ++failures) {
      const auto n = static_cast<unsigned>(trials_needed({.reliability = r, .confidence = 0.9}, failures));
      EXPECT_GE(confidence(r, n, failures), 0.9);
      EXPECT_LT(confidence(r, n - 1, failures), 0.9);
      EXPECT_NEAR(demonstrated_confidence(r, n, failures), confidence(r, n, failures), 1e-12);
    }
  }
}

TEST(DemonstratedReliability, IsTheReliabilityOfWhichTheTrialsShowTheConfidence) {
  EXPECT_NEAR(demonstrated_reliability(0.9, 22, 0), std::pow(0.1, 1.0 / 22), 1e-13);
  for (unsigned failures : {0u, 1u, 3u}) {
    const double r = demonstrated_reliability(0.8, 20, failures);
    EXPECT_NEAR(demonstrated_confidence(r, 20, failures), 0.8, 1e-12);
  }
  EXPECT_EQ(demonstrated_reliability(0.9, 2, 2), 0);
  EXPECT_EQ(demonstrated_confidence(0.9, 2, 2), 0);
}

TEST(ClopperPearson, PutsHalfTheMissInEachTail) {
  for (const auto& [k, n] : {std::pair{3u, 10u}, {1u, 8u}, {199u, 200u}}) {
    const Interval limits = clopper_pearson(k, n);
    EXPECT_NEAR(binomial_cdf(k, n, limits.hi), 0.025, 1e-12);
    EXPECT_NEAR(1 - binomial_cdf(k - 1, n, limits.lo), 0.025, 1e-12);
  }
  EXPECT_EQ(clopper_pearson(0, 10).lo, 0);
  EXPECT_NEAR(clopper_pearson(0, 10).hi, 1 - std::pow(0.025, 0.1), 1e-13);
  EXPECT_EQ(clopper_pearson(10, 10).hi, 1);
}

// Garwood (1936), table of 95 % limits of a Poisson mean, from memory: 0: 0 to 3.689; 1: 0.0253 to 5.572; 5: 1.623 to 11.668; 10: 4.795 to 18.390.
TEST(Distributions, LimitsOfAPoissonMeanAreTheTabulatedOnes) {
  const std::pair<std::uint64_t, Interval> table[]{{0, {0, 3.689}}, {1, {0.0253, 5.572}}, {5, {1.623, 11.668}}, {10, {4.795, 18.390}}};
  for (const auto& [count, limits] : table) {
    EXPECT_NEAR(poisson_limits(count).lo, limits.lo, 6e-4) << count;
    EXPECT_NEAR(poisson_limits(count).hi, limits.hi, 6e-4) << count;
  }
}

}  // namespace
}  // namespace hardpan::math
