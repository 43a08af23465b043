// SPDX-License-Identifier: Apache-2.0
#include "fitting/detail/analysis.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "fitting/fit.hpp"
#include "math/matrix.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting {
namespace {

FitProblem constant(const std::vector<double>& y) {
  return {.parameters = {{.name = "level", .start = 0}},
          .residuals = Residuals::each(y.size(), [&y]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] - y[i]; })};
}

TEST(Fit, SaysWhichParametersTheReadingsDoNotSeparate) {
  // Only a + b acts; c is determined. Like one plate width: kc / b + kphi is one number.
  const std::vector<double> x{0, 1, 2, 3, 4, 5}, y{1, 3.1, 4.9, 7.2, 8.8, 11};
  const FitProblem problem{
      .parameters = {{.name = "a", .start = 0.3}, {.name = "b", .start = 0.2}, {.name = "c", .start = 1}},
      .residuals = Residuals::each(6, [&]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] + p[1] + p[2] * x[i] - y[i]; })};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  EXPECT_EQ(result.rank, 2u);
  EXPECT_EQ(result.degrees_of_freedom, 4u);
  EXPECT_EQ(result.parameters[0].state, ParameterState::not_identified);
  EXPECT_EQ(result.parameters[1].status, "not estimable: the readings do not separate it from other parameters");
  const math::LineFit line = math::fit_line(x, y);
  EXPECT_NEAR(result.parameters[2].value, line.slope, 1e-12);
  EXPECT_NEAR(*result.parameters[2].standard_error, std::sqrt(line.var_slope), 1e-12);
  ASSERT_FALSE(result.messages.empty());
  EXPECT_EQ(result.messages.back(), "the readings determine 2 of 3 parameters");
}

TEST(Fit, WarnsWhereParametersAreHardlySeparated) {
  const std::vector<double> x{0, 1, 2, 3, 4, 5}, y{1, 3, 5, 7, 9, 11.2};
  const FitProblem problem{
      .parameters = {{.name = "kc", .start = 1}, {.name = "kphi", .start = 1}},
      .residuals = Residuals::each(6, [&]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] * x[i] + p[1] * (x[i] + (i == 5 ? 1e-6 : 0.0)) - y[i]; })};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  EXPECT_GT(result.condition, 1e6);
  EXPECT_NE(result.messages.back().find("hardly separate the parameters"), std::string::npos);
  EXPECT_NE(result.messages.back().find("kc from kphi"), std::string::npos);
}

TEST(Fit, GivesNoErrorsWithoutSpareReadings) {
  const std::vector<double> y{3};
  const FitResult result = fit(constant(y));
  ASSERT_TRUE(result.converged());
  EXPECT_NEAR(result.parameters[0].value, 3, 1e-12);
  EXPECT_FALSE(result.parameters[0].standard_error);
  EXPECT_TRUE(result.covariance.empty());
}

TEST(Fit, ConvergesByTheStepTestWhereResidualsVanish) {
  const std::vector<double> z{0.01, 0.02, 0.03, 0.05};
  const FitProblem problem{
      .parameters = {{.name = "k", .start = 1}, {.name = "n", .start = 1}},
      .residuals = Residuals::each(4, [&]<class T>(std::size_t i, std::span<const T> p) -> T {
        using std::pow;
        return p[0] * pow(z[i], p[1]) - 7e4 * std::pow(z[i], 0.6);
      })};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged()) << name(result.report.status) << " " << result.report.residual;
  EXPECT_NEAR(result.parameters[0].value / 7e4, 1, 1e-10);
  EXPECT_NEAR(result.parameters[1].value, 0.6, 1e-11);
}

TEST(Fit, GroupErrorsOfAMeanAreThoseOfTheGroupMeans) {
  // Five groups of four readings: the sandwich times G / (G - 1) is the variance of the mean of five group means,
  // sum (m_g - m)^2 / (G (G - 1)).
  const math::Stream random(6, 6);
  std::vector<double> y, means(5, 0);
  std::vector<std::size_t> group;
  for (std::size_t g = 0; g < 5; ++g) {
    for (std::size_t i = 0; i < 4; ++i) {
      y.push_back(3 * random.normal(100 + g) + 0.5 * random.normal(4 * g + i));
      group.push_back(7 * g + 2);  // labels need not be consecutive
      means[g] += y.back() / 4;
    }
  }
  FitProblem problem = constant(y);
  problem.groups = group;
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  EXPECT_EQ(result.group_count, 5u);
  EXPECT_NEAR(*result.parameters[0].group_standard_error, std::sqrt(math::variance(means) / 5), 1e-12);
  EXPECT_GT(*result.parameters[0].group_standard_error, 1.5 * *result.parameters[0].standard_error);
  // Its Student interval is the two-stage one, with G - 1 degrees of freedom.
  const auto interval = interval_of(result, 0, ErrorKind::grouped);
  const math::Estimate two_stage = math::estimate_from_points(means);
  EXPECT_NEAR(interval->lo, two_stage.average_ground->lo, 1e-11);
  EXPECT_NEAR(interval->hi, two_stage.average_ground->hi, 1e-11);
}

TEST(Fit, GroupErrorsAreTheSandwichWrittenOut) {
  // Straight line, three groups: V = G / (G - 1) (X'X)^-1 sum_g X_g' r_g r_g' X_g (X'X)^-1 by hand.
  const std::vector<double> x{0, 1, 2, 3, 4, 5}, y{1, 2.4, 2.8, 4.4, 4.6, 6.3};
  FitProblem problem{
      .parameters = {{.name = "a", .start = 0}, {.name = "b", .start = 0}},
      .residuals = Residuals::each(6, [&]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] + p[1] * x[i] - y[i]; }),
      .groups = {0, 0, 1, 1, 2, 2}};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  const auto bread = *math::invert_symmetric(std::vector<double>{6, 15, 15, 55}, 2);
  std::vector<double> meat(4, 0);
  for (std::size_t g = 0; g < 3; ++g) {
    double s0 = 0, s1 = 0;
    for (std::size_t i = 2 * g; i < 2 * g + 2; ++i) s0 += result.residuals[i], s1 += result.residuals[i] * x[i];
    meat[0] += s0 * s0, meat[1] += s0 * s1, meat[2] += s0 * s1, meat[3] += s1 * s1;
  }
  for (std::size_t a = 0; a < 2; ++a) {
    for (std::size_t b = 0; b < 2; ++b) {
      double v = 0;
      for (std::size_t i = 0; i < 2; ++i) {
        for (std::size_t j = 0; j < 2; ++j) v += bread[a * 2 + i] * meat[i * 2 + j] * bread[j * 2 + b];
      }
      EXPECT_NEAR(result.group_covariance[a * 2 + b], 1.5 * v, 1e-13);
    }
  }
}

TEST(Fit, SaysWhenOneGroupGivesNoGroupErrors) {
  const std::vector<double> y{1, 2, 3};
  FitProblem problem = constant(y);
  problem.groups = {4, 4, 4};
  const FitResult result = fit(problem);
  EXPECT_FALSE(result.parameters[0].group_standard_error);
  EXPECT_TRUE(result.parameters[0].standard_error);
  EXPECT_EQ(result.messages.back(), "no standard errors over groups: one group");
}

}  // namespace
}  // namespace hardpan::fitting
