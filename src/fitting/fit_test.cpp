// SPDX-License-Identifier: Apache-2.0
#include "fitting/fit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <stdexcept>
#include <thread>

#include "base/problems.hpp"
#include "fitting/detail/plugin.hpp"
#include "math/matrix.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting {
namespace {

using base::SolveStatus;

// --- the plug-in ---

bool solver_is_loaded() {
  std::ifstream maps("/proc/self/maps");
  std::string line;
  while (std::getline(maps, line)) {
    if (line.find("libceres") != std::string::npos || line.find(detail::kPluginFile) != std::string::npos) return true;
  }
  return false;
}

FitProblem constant(const std::vector<double>& y) {
  return {.parameters = {{.name = "level", .start = 0}},
          .residuals = Residuals::each(y.size(), [&y]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] - y[i]; })};
}

[[noreturn]] void exit_with_zero_if_loaded_by_the_first_fit() {
  const bool before = solver_is_loaded();
  const std::vector<double> y{1, 2, 4};
  const bool fitted = fit(constant(y)).converged();
  std::_Exit(!before && fitted && solver_is_loaded() ? 0 : 1);
}

TEST(SolverDeathTest, IsLoadedByTheFirstFitAndNotAtProgramStart) {
  GTEST_FLAG_SET(death_test_style, "threadsafe");  // a fresh process that runs this test alone
  EXPECT_EXIT(exit_with_zero_if_loaded_by_the_first_fit(), testing::ExitedWithCode(0), "");
}

TEST(Solver, SaysWhereItWasLookedForWhenItIsMissing) {
  try {
    static_cast<void>(detail::load_plugin({"/nowhere/bin", "/nowhere/lib"}));
    FAIL() << "no error thrown";
  } catch (const base::EnvironmentError& error) {
    EXPECT_STREQ(error.what(), "hardpan_fitting_solver.so was not found in /nowhere/bin, /nowhere/lib; install it with the program");
  }
}

TEST(Solver, RefusesAFileThatIsNoLibrary) {
  const std::string folder = testing::TempDir() + "hardpan_no_library";
  ASSERT_EQ(std::system(("mkdir -p " + folder).c_str()), 0);
  std::ofstream(folder + "/" + detail::kPluginFile) << "text";
  EXPECT_THROW(static_cast<void>(detail::load_plugin({folder})), base::EnvironmentError);
}

// --- an independent solver ---

// Levenberg-Marquardt on normal equations with numerical second thoughts left out: slow, plain, and
// sharing nothing with the code under test but the dual numbers. Robust by reweighting.
struct OracleFit {
  std::vector<double> x, sd;
};
template <int P, class F>
OracleFit oracle(F&& residual, std::size_t n, std::vector<double> x, const std::function<double(double)>& weight) {
  using D = math::Dual<P>;
  const auto assemble = [&](const std::vector<double>& at, std::vector<double>& jtj, std::vector<double>& jtr) {
    std::vector<D> p;
    for (int j = 0; j < P; ++j) p.push_back(D::variable(at[static_cast<std::size_t>(j)], j));
    jtj.assign(P * P, 0);
    jtr.assign(P, 0);
    double sum = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const D r = residual(i, std::span<const D>(p));
      const double w = weight(r.v);
      for (std::size_t a = 0; a < P; ++a) {
        jtr[a] += w * r.d[a] * r.v;
        for (std::size_t b = 0; b < P; ++b) jtj[a * P + b] += w * r.d[a] * r.d[b];
      }
      sum += w * r.v * r.v;
    }
    return sum;
  };
  std::vector<double> jtj, jtr, next_jtj, next_jtr;
  double lambda = 1e-3;
  for (int step = 0; step < 2000; ++step) {
    assemble(x, jtj, jtr);
    std::vector<double> damped = jtj;
    for (std::size_t a = 0; a < P; ++a) damped[a * P + a] *= 1 + lambda;
    const auto delta = math::solve_symmetric(damped, jtr);
    if (!delta) break;
    std::vector<double> next = x;
    for (std::size_t a = 0; a < P; ++a) next[a] -= (*delta)[a];
    assemble(next, next_jtj, next_jtr);
    double before = 0, after = 0;  // by the size of the gradient, which is what must vanish
    for (std::size_t a = 0; a < P; ++a) {
      before += jtr[a] * jtr[a] / jtj[a * P + a];
      after += next_jtr[a] * next_jtr[a] / next_jtj[a * P + a];
    }
    if (after < before) {
      x = next;
      lambda *= 0.3;
    } else {
      lambda *= 5;
    }
  }
  const double sum = assemble(x, jtj, jtr);
  OracleFit out{.x = x};
  const auto inverse = math::invert_symmetric(jtj, P);
  for (std::size_t a = 0; a < P; ++a) {
    out.sd.push_back(std::sqrt((*inverse)[a * P + a] * sum / static_cast<double>(n - P)));
  }
  return out;
}

// Invented: p = k z^n with 3 % noise on 60 readings of 6 pushes, five of them hit by stones.
struct PowerLaw {
  std::vector<double> z, p;
  std::vector<std::size_t> push;
  PowerLaw() {
    const math::Stream noise(1, math::stream_id("power law"));
    for (std::size_t i = 0; i < 60; ++i) {
      z.push_back(0.004 * static_cast<double>(i % 10 + 1));
      push.push_back(i / 10);
      p.push_back(9e5 * std::pow(z[i], 0.83) * (1 + 0.03 * noise.normal(i)));
    }
    for (const std::size_t i : {8u, 19u, 28u, 49u, 58u}) p[i] *= 1.9;  // deep readings: they raise n
  }
  template <class T>
  T residual(std::size_t i, std::span<const T> q) const {
    using std::pow;
    return (q[0] * pow(z[i], q[1]) - p[i]) / (0.03 * p[i]);
  }
  [[nodiscard]] FitProblem problem(Loss loss = {}) const {
    return {.parameters = {{.name = "k", .start = 1e5, .lower = 0}, {.name = "n", .start = 1, .lower = 0, .upper = 3}},
            .residuals = Residuals::each(z.size(), [this]<class T>(std::size_t i, std::span<const T> q) -> T { return residual(i, q); }),
            .loss = loss,
            .groups = push};
  }
};

TEST(Fit, AgreesWithAnIndependentSolver) {
  const PowerLaw data;
  const auto residual = [&](std::size_t i, auto q) { return data.residual(i, q); };
  const FitResult plain = fit(data.problem());
  ASSERT_TRUE(plain.converged());
  const OracleFit expected = oracle<2>(residual, 60, {1e5, 1}, [](double) { return 1.0; });
  for (std::size_t j = 0; j < 2; ++j) {
    EXPECT_NEAR(plain.parameters[j].value / expected.x[j], 1, 1e-8);
    EXPECT_NEAR(*plain.parameters[j].standard_error / expected.sd[j], 1, 1e-7);
  }
  for (const LossKind kind : {LossKind::huber, LossKind::cauchy}) {
    const FitResult robust = fit(data.problem({.kind = kind, .residual_scale = 1}));
    ASSERT_TRUE(robust.converged()) << name(kind);
    const double a = default_tuning(kind);
    const OracleFit reference = oracle<2>(residual, 60, {expected.x[0], expected.x[1]},
                                          [&](double r) { return loss_value(kind, a, r).weight; });
    EXPECT_NEAR(robust.parameters[0].value / reference.x[0], 1, 1e-6) << name(kind);
    EXPECT_NEAR(robust.parameters[1].value / reference.x[1], 1, 1e-6) << name(kind);
  }
}

TEST(Fit, WithALossIsNotMovedByStones) {
  const PowerLaw data;
  EXPECT_GT(std::abs(fit(data.problem()).parameters[1].value - 0.83), 0.01);
  for (const LossKind kind : {LossKind::huber, LossKind::cauchy, LossKind::tukey}) {
    const FitResult result = fit(data.problem({.kind = kind}));
    ASSERT_TRUE(result.converged()) << name(kind);
    EXPECT_NEAR(result.parameters[1].value, 0.83, 3 * *result.parameters[1].standard_error) << name(kind);
    EXPECT_LT(*result.parameters[1].standard_error, *fit(data.problem()).parameters[1].standard_error);
    EXPECT_NEAR(*result.loss_scale, 1, 0.35) << name(kind);
    EXPECT_LT(result.weights[8], 0.3) << name(kind);
    EXPECT_EQ(result.loss_used, kind);
  }
}

TEST(Fit, OfALocationByHuberSolvesItsEquationAndHasItsVariance) {
  // sum psi(y - m) = 0 by bisection; variance by Huber (1981) eq. 7.6.5 for one parameter, written out.
  const std::vector<double> y{-1.2, -0.7, -0.1, 0.0, 0.3, 0.4, 0.9, 1.3, 8, 11};
  const double a = 1.345;
  double lo = -2, hi = 12;
  for (int i = 0; i < 200; ++i) {
    const double m = 0.5 * (lo + hi);
    double sum = 0;
    for (const double v : y) sum += std::clamp(v - m, -a, a);
    (sum > 0 ? lo : hi) = m;
  }
  double squares = 0, inside = 0;
  for (const double v : y) {
    squares += std::pow(std::clamp(v - lo, -a, a), 2);
    inside += std::abs(v - lo) < a;
  }
  const double share = inside / 10, k = 1 + 0.1 * (1 - share) / share;
  FitProblem problem = constant(y);
  problem.loss = {.kind = LossKind::huber, .residual_scale = 1};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  EXPECT_NEAR(result.parameters[0].value, lo, 1e-9);
  EXPECT_NEAR(*result.parameters[0].standard_error, k * std::sqrt(squares / 9 / 10) / share, 1e-9);
}

TEST(Fit, StandardErrorsOfALossMatchTheScatterOfRepeatedFits) {
  std::vector<double> found, claimed;
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    const math::Stream noise(seed, 5);
    std::vector<double> y(25);
    noise.fill_normal(0, y);
    FitProblem problem = constant(y);
    problem.loss = {.kind = LossKind::huber};
    const FitResult result = fit(problem);
    ASSERT_TRUE(result.converged());
    found.push_back(result.parameters[0].value);
    claimed.push_back(*result.parameters[0].standard_error);
  }
  // 300 fits know a standard deviation to 4 %.
  EXPECT_NEAR(math::mean(claimed) / std::sqrt(math::variance(found)), 1, 0.12);
}

// --- bounds ---

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

// --- what the data do not determine ---

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

// --- groups ---

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

// --- verdicts ---

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
  EXPECT_EQ(result.messages.back(), "the model has no finite value at the start");
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

// --- the rest ---

TEST(Fit, HoldsAParameterAtItsStart) {
  const PowerLaw data;
  FitProblem problem = data.problem();
  problem.parameters[1] = {.name = "n", .start = 0.83, .held = true};
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  EXPECT_EQ(result.parameters[1].value, 0.83);
  EXPECT_EQ(result.parameters[1].status, "held");
  EXPECT_EQ(result.degrees_of_freedom, 59u);
  // A held parameter is known: the variance of k + 5 n is that of k.
  EXPECT_DOUBLE_EQ(*variance_of(result, std::vector<double>{1, 5}, ErrorKind::independent), result.covariance[0]);
}

TEST(Fit, DoesNotDependOnTheUnitsOfParametersAndResiduals) {
  const PowerLaw data;
  const FitResult si = fit(data.problem({.kind = LossKind::huber}));
  for (const double unit : {1e-6, 1e9}) {
    FitProblem problem = data.problem({.kind = LossKind::huber});
    problem.parameters[0].start *= unit;
    problem.residuals = Residuals::each(60, [&]<class T>(std::size_t i, std::span<const T> q) -> T {
      const std::vector<T> in_si{q[0] / unit, q[1]};
      return data.residual(i, std::span<const T>(in_si)) * (1e3 / unit);
    });
    const FitResult other = fit(problem);
    ASSERT_TRUE(other.converged());
    EXPECT_NEAR(other.parameters[0].value / unit / si.parameters[0].value, 1, 1e-8);
    EXPECT_NEAR(other.parameters[1].value, si.parameters[1].value, 1e-8);
    EXPECT_NEAR(*other.parameters[1].standard_error / *si.parameters[1].standard_error, 1, 1e-7);
  }
}

TEST(Fit, TreatsSixtyParametersLikeLinearRegression) {
  // A common slope and 59 offsets: each offset needs its own derivative pass.
  constexpr std::size_t kGroups = 59, kRows = 4 * kGroups;
  const math::Stream random(8, 8);
  std::vector<double> design(kRows * (kGroups + 1), 0), y(kRows), x(kRows);
  for (std::size_t i = 0; i < kRows; ++i) {
    x[i] = random.uniform(i);
    y[i] = 2 * x[i] + static_cast<double>(i / 4) + 0.1 * random.normal(1000 + i);
    design[i * (kGroups + 1)] = x[i];
    design[i * (kGroups + 1) + 1 + i / 4] = 1;
  }
  FitProblem problem{.parameters = {{.name = "slope", .start = 1}}};
  for (std::size_t g = 0; g < kGroups; ++g) problem.parameters.push_back({.name = "offset", .start = 1});
  problem.residuals = Residuals::each(kRows, [&]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] * x[i] + p[1 + i / 4] - y[i]; });
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged());
  const math::LinearFit expected = math::linear_regression(design, kGroups + 1, y);
  for (std::size_t j = 0; j <= kGroups; ++j) {
    EXPECT_NEAR(result.parameters[j].value, expected.coefficients[j], 1e-9);
    EXPECT_NEAR(*result.parameters[j].standard_error, expected.standard_errors[j], 1e-9);
  }
}

TEST(Fit, WithSeveralStartsFindsTheLowestOfManyMinima) {
  // sin(3.7 t) against sin(w t): every few units of w a minimum; from w = 9 one start ends in a wrong one.
  const FitProblem problem{.parameters = {{.name = "w", .start = 9, .lower = 0.5, .upper = 12}},
                           .residuals = Residuals::each(40, []<class T>(std::size_t i, std::span<const T> p) -> T {
                             using std::sin;
                             const double t = 0.1 * static_cast<double>(i);
                             return sin(p[0] * t) - std::sin(3.7 * t) + (i % 2 == 0 ? 1e-3 : -1e-3);
                           })};
  const FitResult one = fit(problem);
  EXPECT_GT(std::abs(one.best_point[0] - 3.7), 0.5);
  const FitResult many = fit(problem, {.starts = {.count = 30, .seed = 2}});
  ASSERT_TRUE(many.converged());
  EXPECT_NEAR(many.parameters[0].value, 3.7, 1e-3);
  EXPECT_EQ(many.starts_tried, 30);
  EXPECT_GE(many.starts_at_best, 1);
  EXPECT_LT(many.starts_at_best, 30);
  EXPECT_EQ(fit(problem, {.starts = {.count = 30, .seed = 2}}).parameters[0].value, many.parameters[0].value);
}

TEST(Fit, TakesKnownVariancesAsTheyAre) {
  const std::vector<double> y{1, 2, 3, 4};
  FitProblem problem = constant(y);
  problem.unit_variance = true;
  const FitResult result = fit(problem);
  EXPECT_NEAR(*result.parameters[0].standard_error, 0.5, 1e-14);  // 1 / sqrt(4)
  EXPECT_NEAR(result.residual_sd, std::sqrt(5.0 / 3), 1e-13);
}

TEST(Fit, GivesTheSameBitsOnEveryThread) {
  const PowerLaw data;
  const FitResult here = fit(data.problem({.kind = LossKind::cauchy}));
  std::vector<FitResult> there(4);
  {
    std::vector<std::jthread> threads;
    for (FitResult& result : there) {
      threads.emplace_back([&] { result = fit(data.problem({.kind = LossKind::cauchy})); });
    }
  }
  for (const FitResult& result : there) {
    EXPECT_EQ(result.parameters[0].value, here.parameters[0].value);
    EXPECT_EQ(result.covariance, here.covariance);
    EXPECT_EQ(result.group_covariance, here.group_covariance);
  }
}

TEST(IntervalOf, CoversTheTruthAsOftenAsItSays) {
  // 95 % of 400 seeded data sets, within the binomial 99.9 % range of that rate.
  int inside = 0;
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    const math::Stream noise(seed, 33);
    std::vector<double> x(12), y(12);
    for (std::size_t i = 0; i < 12; ++i) {
      x[i] = 0.5 * static_cast<double>(i + 1);
      y[i] = 4 * (1 - std::exp(-x[i] / 1.7)) + 0.1 * noise.normal(i);
    }
    const FitProblem problem{
        .parameters = {{.name = "tau", .start = 3, .lower = 0}, {.name = "K", .start = 1, .lower = 1e-3}},
        .residuals = Residuals::each(12, [&]<class T>(std::size_t i, std::span<const T> p) -> T {
          using std::exp;
          return p[0] * (1.0 - exp(-x[i] / p[1])) - y[i];
        })};
    const FitResult result = fit(problem);
    ASSERT_TRUE(result.converged());
    inside += interval_of(result, 1, ErrorKind::independent)->contains(1.7);
  }
  EXPECT_GE(inside, 366);
  EXPECT_LE(inside, 393);
}

}  // namespace
}  // namespace hardpan::fitting
