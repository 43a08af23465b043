// SPDX-License-Identifier: Apache-2.0
#include "fitting/detail/descent.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting {
namespace {

using base::SolveStatus;

FitProblem constant(const std::vector<double>& y) {
  return {.parameters = {{.name = "level", .start = 0}},
          .residuals = Residuals::each(y.size(), [&y]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] - y[i]; })};
}

TEST(Fit, LeavesAParameterAtItsBoundOutOfTheErrors) {
  // y falls, the slope may not: the level is then the mean, its error s / sqrt(n) with n - 1 degrees.
  const std::vector<double> x{0, 1, 2, 3, 4}, y{5, 4.2, 2.9, 2.2, 0.7};
  const FitProblem problem{
      .parameters = {{.name = "level", .start = 1}, {.name = "slope", .start = 1, .lower = 0}},
      .residuals = Residuals::each(5, [&]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] + p[1] * x[i] - y[i]; })};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  EXPECT_EQ(result.parameters[1].state, ParameterState::at_lower_bound);
  EXPECT_EQ(result.parameters[1].value, 0);
  EXPECT_EQ(result.parameters[1].status, "not estimable: at its lower bound 0");
  EXPECT_FALSE(result.parameters[1].standard_error);
  EXPECT_NEAR(result.parameters[0].value, math::mean(y), 1e-12);
  EXPECT_NEAR(*result.parameters[0].standard_error, std::sqrt(math::variance(y) / 5), 1e-12);
  EXPECT_EQ(result.degrees_of_freedom, 4u);
  EXPECT_EQ(result.estimable, std::vector<std::size_t>{0});
  EXPECT_FALSE(variance_of(result, std::vector<double>{1, 2}, ErrorKind::independent));
  EXPECT_TRUE(variance_of(result, std::vector<double>{1, 0}, ErrorKind::independent));
}

TEST(Fit, FindsTheBoundedMinimumThatTryingEveryCombinationFinds) {
  // Linear, 4 parameters in [-0.5, 0.5]: the oracle fixes each of 3^4 combinations of bounds in turn and keeps the
  // best feasible one.
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    const math::Stream random(seed, 77);
    std::vector<double> design(12 * 4), y(12);
    random.fill_normal(0, design);
    random.fill_normal(1000, y);
    FitProblem problem;
    for (int j = 0; j < 4; ++j) problem.parameters.push_back({.name = "p", .start = 0.1, .lower = -0.5, .upper = 0.5});
    problem.residuals = Residuals::each(12, [&]<class T>(std::size_t i, std::span<const T> p) -> T {
      T sum(-2 * y[i]);
      for (std::size_t j = 0; j < 4; ++j) sum = sum + design[i * 4 + j] * p[j];
      return sum;
    });
    const FitResult result = fit(problem);
    ASSERT_TRUE(result.converged()) << "seed " << seed << ": " << name(result.report.status);

    double best = std::numeric_limits<double>::infinity();
    for (int code = 0; code < 81; ++code) {
      std::vector<double> columns, rest(12);
      std::vector<int> state{code % 3, code / 3 % 3, code / 9 % 3, code / 27};
      std::size_t free = 0;
      for (const int s : state) free += s == 0;
      for (std::size_t i = 0; i < 12; ++i) {
        rest[i] = 2 * y[i];
        for (std::size_t j = 0; j < 4; ++j) {
          if (state[j] == 0) columns.push_back(design[i * 4 + j]);
          if (state[j] == 1) rest[i] += 0.5 * design[i * 4 + j];
          if (state[j] == 2) rest[i] -= 0.5 * design[i * 4 + j];
        }
      }
      double sum = 0;
      if (free == 0) {
        for (const double r : rest) sum += r * r;
      } else {
        const math::LinearFit linear = math::linear_regression(columns, free, rest);
        bool inside = true;
        for (const double c : linear.coefficients) inside = inside && std::abs(c) <= 0.5;
        if (!inside) continue;
        for (const double r : linear.residuals) sum += r * r;
      }
      best = std::min(best, 0.5 * sum);
    }
    EXPECT_NEAR(result.cost / best, 1, 1e-12) << "seed " << seed;
  }
}

FitProblem runs_off() {
  // BoxBOD's model and data shape from a start far below: BOD = b1 (1 - exp(-b2 t)) (NIST StRD).
  static const std::vector<double> t{1, 2, 3, 5, 7, 10}, y{109, 149, 149, 191, 213, 224};
  return {.parameters = {{.name = "b1", .start = 1}, {.name = "b2", .start = 1}},
          .residuals = Residuals::each(6, []<class T>(std::size_t i, std::span<const T> p) -> T {
            using std::exp;
            return p[0] * (1.0 - exp(-p[1] * t[i])) - y[i];
          })};
}

TEST(Fit, SaysOutOfStepsRatherThanConvergedAndGivesNoNumbers) {
  const FitResult result = fit(runs_off(), {.max_steps = 2});
  EXPECT_EQ(result.report.status, SolveStatus::out_of_steps);
  EXPECT_TRUE(std::isnan(result.parameters[0].value));
  EXPECT_FALSE(result.parameters[0].standard_error);
  EXPECT_TRUE(result.covariance.empty());
  EXPECT_EQ(result.best_point.size(), 2u);
  EXPECT_EQ(result.parameters[0].status, "not fitted: did not converge");
}

TEST(Fit, SaysStalledWhereTheModelHasAKinkAtTheMinimum) {
  // |p - 1| + 0.1 twice: least at the kink, where the slope jumps and never vanishes.
  const FitProblem problem{.parameters = {{.name = "p", .start = 3.3}},
                           .residuals = Residuals::each(2, []<class T>(std::size_t i, std::span<const T> p) -> T {
                             using std::abs;
                             return abs(p[0] - 1.0) + 0.1 * static_cast<double>(i + 1);
                           })};
  const FitResult result = fit(problem);
  EXPECT_EQ(result.report.status, SolveStatus::stalled);
  EXPECT_GT(result.report.residual, result.report.tolerance);
  EXPECT_TRUE(std::isnan(result.parameters[0].value));
}

TEST(Fit, UsesShortFirstStepsAndSaysSoWhereFullStepsRunOff) {
  const FitResult result = fit(runs_off());
  ASSERT_TRUE(result.converged());
  EXPECT_EQ(result.method, "Levenberg-Marquardt, dense QR, short first steps");
  EXPECT_NEAR(result.parameters[0].value, 213.80940889, 1e-6);  // certified
}

TEST(Fit, SaysNotFiniteWhenTheModelHasNoValueAtTheStart) {
  const FitProblem problem{.parameters = {{.name = "p", .start = -1}},
                           .residuals = Residuals::each(3, []<class T>(std::size_t, std::span<const T> p) -> T {
                             using std::log;
                             return log(p[0]);
                           })};
  const FitResult result = fit(problem);
  EXPECT_EQ(result.report.status, SolveStatus::not_finite);
  EXPECT_EQ(result.messages.back(), "the model has no finite value or slope at the start");
}

TEST(Fit, StepsBackFromWhereTheModelHasNoValue) {
  // The full step from 0.1 goes to a negative number, where the logarithm is not defined.
  const FitProblem problem{.parameters = {{.name = "p", .start = 40}},
                           .residuals = Residuals::each(3, []<class T>(std::size_t i, std::span<const T> p) -> T {
                             using std::log;
                             return log(p[0]) + 2.0 + 0.01 * static_cast<double>(i);
                           })};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged()) << name(result.report.status);
  EXPECT_NEAR(result.parameters[0].value, std::exp(-2.01), 1e-9);
}

TEST(Fit, RefusesWhatCannotBeFittedWithTheReason) {
  const std::vector<double> y{1, 2};
  FitProblem outside = constant(y);
  outside.parameters[0].lower = 1;
  const FitResult result = fit(outside);
  EXPECT_EQ(result.report.status, SolveStatus::no_solution);
  EXPECT_EQ(result.messages.back(), "the start value 0 of level lies outside its bounds 1 ... inf");
  FitProblem many = constant(y);
  many.parameters.resize(3, {.name = "extra", .start = 0});
  EXPECT_EQ(fit(many).messages.back(), "2 residuals cannot determine 3 parameters");
  FitProblem none = constant(y);
  none.parameters[0].held = true;
  EXPECT_EQ(fit(none).messages.back(), "no parameter is left to fit");
}

TEST(Fit, PassesAnExceptionOfTheModelOn) {
  const FitProblem problem{.parameters = {{.name = "p", .start = 1}},
                           .residuals = Residuals::each(2, []<class T>(std::size_t, std::span<const T> p) -> T {
                             if (p[0] != 1.0) throw std::runtime_error("table ended");
                             return p[0] - 5.0;
                           })};
  EXPECT_THROW(static_cast<void>(fit(problem)), std::runtime_error);
}

TEST(Fit, KeepsSilent) {
  testing::internal::CaptureStderr();
  testing::internal::CaptureStdout();
  static_cast<void>(fit(runs_off(), {.max_steps = 2}));
  FitProblem broken = runs_off();
  broken.parameters[1].start = -500;  // overflows to infinity
  static_cast<void>(fit(broken));
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
  EXPECT_EQ(testing::internal::GetCapturedStdout(), "");
}

}  // namespace
}  // namespace hardpan::fitting
