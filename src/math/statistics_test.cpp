// SPDX-License-Identifier: Apache-2.0
#include "math/statistics.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <sstream>
#include <vector>

#include "math/random.hpp"

namespace hardpan::math {
namespace {

TEST(Mean, KeepsTheDigitsOfALargeOffset) {
  // Closed form: 10000000.2 once, then 0.1 and 0.3 above 1e7 in turn, 1000 times: mean .2, deviation 0.1.
  std::vector<double> x{10000000.2};
  for (int i = 0; i < 1000; ++i) x.push_back(i % 2 == 0 ? 10000000.1 : 10000000.3);
  EXPECT_NEAR(mean(x), 10000000.2, 1e-8);
  EXPECT_NEAR(std::sqrt(variance(x)), 0.1, 1e-9);
}

TEST(Quantile, IsLinearBetweenOrderStatistics) {
  // Type 7 by hand: 10 values, probability 1/4 stands at place 1 + 9/4 = 3.25.
  const std::vector<double> x{10, 9, 8, 7, 6, 5, 4, 3, 2, 1};
  EXPECT_DOUBLE_EQ(quantile(x, 0.25), 3.25);
  EXPECT_DOUBLE_EQ(quantile(x, 0), 1);
  EXPECT_DOUBLE_EQ(quantile(x, 1), 10);
  EXPECT_DOUBLE_EQ(median(x), 5.5);
  EXPECT_DOUBLE_EQ(median(std::vector<double>{3, 1, 2}), 2);
}

TEST(Quantile, OfASampleWithANumberMissingIsNotANumber) {
  EXPECT_TRUE(std::isnan(quantile(std::vector<double>{1, std::nan(""), 3}, 0.5)));
}

TEST(RobustScale, IsNotMovedByAThirdOfStones) {
  const Stream s(3, 3);
  std::vector<double> x(3001);
  s.fill_normal(0, x);
  EXPECT_NEAR(robust_scale(x), 1, 0.05);
  const double clean = median_absolute_deviation(x);
  for (std::size_t i = 0; i < 1000; ++i) x[i] = 1e6;
  EXPECT_LT(median_absolute_deviation(x), 3 * clean);
  EXPECT_GT(std::sqrt(variance(x)), 1e5);
}

TEST(WeightedMean, AgreesWithTheClosedForm) {
  // Two values 1 and 4 of variances 1 and 2: (1 + 4/2) / (1 + 1/2) = 2, error sqrt(1 / 1.5).
  const WeightedMean m = weighted_mean(std::vector<double>{1, 4}, std::vector<double>{1, 0.5});
  EXPECT_DOUBLE_EQ(m.value, 2);
  EXPECT_DOUBLE_EQ(m.standard_error, std::sqrt(1 / 1.5));
  EXPECT_DOUBLE_EQ(m.chi_square, 1 + 0.5 * 4);
}

// A first-order autoregressive series x' = a x + e is worth n (1 - a) / (1 + a) independent values.
TEST(EffectiveSampleSize, AgreesWithTheAutoregressiveLimit) {
  for (const double a : {0.0, 0.5, 0.9, -0.4}) {
    const Stream s(11, stream_id("ar"));
    std::vector<double> x(40000);
    double state = 0;
    for (std::size_t i = 0; i < x.size(); ++i) x[i] = state = a * state + s.normal(i);
    const auto ess = effective_sample_size(x);
    ASSERT_TRUE(ess) << a;
    const double expected = 40000 * (1 - a) / (1 + a);
    // The estimate of the correlation time scatters by some per cent at this length.
    EXPECT_NEAR(ess->n_effective / expected, 1, 0.12) << "a = " << a;
    EXPECT_FALSE(ess->ran_out_of_lags);
  }
}

TEST(EffectiveSampleSize, IsAbsentForAConstantAndSaysWhenATrendNeverEnds) {
  EXPECT_FALSE(effective_sample_size(std::vector<double>(100, 3.7)));
  EXPECT_FALSE(effective_sample_size(std::vector<double>{1, 2, 1}));
  std::vector<double> wave(100);
  for (std::size_t i = 0; i < wave.size(); ++i) wave[i] = std::sin(0.01 * static_cast<double>(i));
  const auto ess = effective_sample_size(wave);
  ASSERT_TRUE(ess);
  EXPECT_LT(ess->n_effective, 5);
}

TEST(LinearRegression, SaysThatProportionalColumnsAreNotDetermined) {
  const std::vector<double> design{1, 2, 2, 4, 3, 6, 4, 8};
  const LinearFit fit = linear_regression(design, 2, std::vector<double>{1, 2, 3, 4});
  EXPECT_EQ(fit.rank, 1u);
  EXPECT_TRUE(fit.coefficients.empty());
  EXPECT_EQ(fit.status, "the columns do not determine all coefficients");
}

TEST(LinearRegression, GivesNoErrorsWithoutSpareValues) {
  const LinearFit fit = linear_regression(std::vector<double>{1, 0, 1, 1}, 2, std::vector<double>{3, 5});
  EXPECT_NEAR(fit.coefficients[0], 3, 1e-14);
  EXPECT_NEAR(fit.coefficients[1], 2, 1e-14);
  EXPECT_TRUE(fit.covariance.empty());
  EXPECT_EQ(fit.status, "no errors: as many coefficients as values");
}

TEST(LinearRegression, AWeightOfTwoIsTheSameAsTwoEqualRows) {
  const std::vector<double> x{0, 1, 2, 3}, y{1, 2.5, 2, 4};
  const LineFit weighted = fit_line(x, y, std::vector<double>{1, 2, 1, 1});
  const LineFit twice = fit_line(std::vector<double>{0, 1, 1, 2, 3}, std::vector<double>{1, 2.5, 2.5, 2, 4});
  EXPECT_NEAR(weighted.slope, twice.slope, 1e-14);
  EXPECT_NEAR(weighted.intercept, twice.intercept, 1e-14);
}

TEST(FitLine, AgreesWithTheTextbookSums) {
  // x 0..4, y = 2 + 3 x + (1, -2, 2, -2, 1): residuals are orthogonal to 1 and x, so the line is exact,
  // s^2 = 14 / 3, Sxx = 10, var slope = s^2 / 10, var intercept = s^2 (1/5 + 4/10).
  const LineFit fit = fit_line(std::vector<double>{0, 1, 2, 3, 4}, std::vector<double>{3, 3, 10, 9, 15});
  EXPECT_NEAR(fit.intercept, 2, 1e-13);
  EXPECT_NEAR(fit.slope, 3, 1e-13);
  EXPECT_NEAR(fit.var_slope, 14.0 / 30, 1e-13);
  EXPECT_NEAR(fit.var_intercept, 14.0 / 3 * 0.6, 1e-13);
  EXPECT_NEAR(fit.cov_intercept_slope, -2 * 14.0 / 30, 1e-13);
  EXPECT_EQ(fit.degrees_of_freedom, 3u);
}

// NIST StRD Longley: 16 rows, six nearly collinear columns; certified values stand in the file.
TEST(LinearRegression, ReachesTheCertifiedValuesOfLongley) {
  std::ifstream file(HARDPAN_SOURCE_DIR "/tests/data/nist/Longley.dat");
  ASSERT_TRUE(file) << "tests/data/nist/Longley.dat is missing";
  std::vector<double> design, y, certified, errors;
  std::string line;
  for (int number = 1; std::getline(file, line); ++number) {
    std::istringstream in(line);
    if (number >= 31 && number <= 37) {
      std::string name;
      double estimate = 0, error = 0;
      in >> name >> estimate >> error;
      certified.push_back(estimate);
      errors.push_back(error);
    } else if (number >= 61 && number <= 76) {
      double value = 0;
      in >> value;
      y.push_back(value);
      design.push_back(1);
      while (in >> value) design.push_back(value);
    }
  }
  ASSERT_EQ(design.size(), 16u * 7u);
  ASSERT_EQ(certified.size(), 7u);
  const LinearFit fit = linear_regression(design, 7, y);
  ASSERT_EQ(fit.status, "ok");
  for (std::size_t j = 0; j < 7; ++j) {
    EXPECT_NEAR(fit.coefficients[j] / certified[j], 1, 1e-9) << "B" << j;
    EXPECT_NEAR(fit.standard_errors[j] / errors[j], 1, 1e-9) << "B" << j;
  }
}

}  // namespace
}  // namespace hardpan::math
