// SPDX-License-Identifier: Apache-2.0
#include "math/roots.hpp"

#include <gtest/gtest.h>

#include <boost/math/tools/toms748_solve.hpp>
#include <functional>
#include <numbers>

#include "math/rising_search.hpp"

namespace hardpan::math {
namespace {

using base::SolveStatus;

struct Case {
  const char* name;
  std::function<double(double)> f, slope;
  double lo, hi, root;
};

// Roots in closed form, or to all digits by hand-checkable constants.
const Case kCases[] = {
    {"square root of two", [](double x) { return x * x - 2; }, [](double x) { return 2 * x; }, 0, 2, std::numbers::sqrt2},
    {"steep exponential", [](double x) { return std::exp(20 * x) - 5; }, [](double x) { return 20 * std::exp(20 * x); }, -3, 3, std::log(5) / 20},
    {"flat at the root", [](double x) { return std::pow(x - 1, 3); }, [](double x) { return 3 * (x - 1) * (x - 1); }, -4, 3, 1},
    {"slope infinite at the root", [](double x) { return std::cbrt(x - 0.3); }, [](double x) { return std::pow(std::abs(x - 0.3), -2.0 / 3) / 3; }, -1, 2, 0.3},
    {"Newton runs away", [](double x) { return std::atan(x - 5); }, [](double x) { return 1 / (1 + (x - 5) * (x - 5)); }, -100, 130, 5},
    {"power below one", [](double x) { return std::pow(x, 0.4) - 0.1; }, [](double x) { return 0.4 * std::pow(x, -0.6); }, 0, 1, std::pow(0.1, 2.5)},
    {"falling", [](double x) { return std::cos(x); }, [](double x) { return -std::sin(x); }, 0, 3, std::numbers::pi / 2},
    {"humped before the root", [](double x) { return x * std::exp(-x) - 0.1; }, [](double x) { return (1 - x) * std::exp(-x); }, 1, 9, 3.577152063957297},
};

TEST(FindRoot, FindsEveryRootFromBadGuesses) {
  for (const Case& c : kCases) {
    for (const double share : {0.001, 0.3, 0.77, 0.999}) {
      const Root root = find_root([&](double x) { return ValueSlope{c.f(x), c.slope(x)}; }, c.lo, c.hi,
                                  c.lo + share * (c.hi - c.lo), {});
      EXPECT_EQ(root.report.status, SolveStatus::converged) << c.name << " from " << share;
      EXPECT_NEAR(root.x, c.root, 1e-5 * (std::string(c.name) == "flat at the root") + 4e-15 * std::max(1.0, std::abs(c.root)))
          << c.name << " from " << share;
      // Seen: 178 at the triple root, where Newton gains a third a step from one side; 82 at the
      // cube root, where every Newton step overshoots; 67 or fewer elsewhere.
      const int limit = std::string(c.name) == "flat at the root" ? 180 : 85;
      EXPECT_LE(root.report.evaluations, limit) << c.name << " from " << share;
    }
  }
}

TEST(FindRoot, NeedsFourEvaluationsFromAGuessGoodToOnePerCent) {
  const Root root = find_root([](double x) { return ValueSlope{x * x - 2, 2 * x}; }, 0, 2,
                              1.01 * std::numbers::sqrt2, {.residual_tolerance = 1e-12, .residual_unit = "N"});
  EXPECT_TRUE(root.report.converged());
  EXPECT_LE(root.report.evaluations, 4);
  EXPECT_LE(root.report.residual, 1e-12);
  EXPECT_STREQ(root.report.residual_unit, "N");
  EXPECT_TRUE(std::isnan(root.lo)) << "no bracket was needed";
}

TEST(FindRootNoDerivative, FindsEveryRootInNoMoreThanTwiceTheEvaluationsOfAnIndependentSolver) {
  int ours = 0, theirs = 0;
  for (const Case& c : kCases) {
    const Root root = find_root_no_derivative(c.f, c.lo, c.hi, {});
    EXPECT_EQ(root.report.status, SolveStatus::converged) << c.name;
    EXPECT_NEAR(root.x, c.root, 1e-5 * (std::string(c.name) == "flat at the root") + 4e-15 * std::max(1.0, std::abs(c.root))) << c.name;
    std::uintmax_t count = 500;
    boost::math::tools::toms748_solve(c.f, c.lo, c.hi, boost::math::tools::eps_tolerance<double>(51), count);
    ours += root.report.evaluations;
    theirs += static_cast<int>(count) + 2;
  }
  EXPECT_LT(ours, 2 * theirs);
}

TEST(FindRoot, SaysNotBracketedWhenTheEndsHaveOneSign) {
  const auto up = [](double x) { return ValueSlope{x * x + 1, 2 * x}; };
  const Root root = find_root(up, -1, 2, 0.5, {.residual_tolerance = 1e-9});
  EXPECT_EQ(root.report.status, SolveStatus::not_bracketed);
  EXPECT_TRUE(std::isnan(root.x));
  EXPECT_GE(root.report.residual, 1);
  EXPECT_EQ(find_root_no_derivative([](double x) { return x * x + 1; }, -1, 2, {}).report.status,
            SolveStatus::not_bracketed);
}

TEST(FindRoot, CallsAJumpOverZeroStalledRatherThanConverged) {
  const auto jump = [](double x) { return x < 0.4 ? -1.0 : 1.0; };
  const RootSettings settings{.residual_tolerance = 1e-6};
  const Root newton = find_root([&](double x) { return ValueSlope{jump(x), 0}; }, 0, 1, 0.5, settings);
  EXPECT_EQ(newton.report.status, SolveStatus::stalled);
  EXPECT_TRUE(std::isnan(newton.x));
  EXPECT_NEAR(newton.best_x, 0.4, 1e-12);
  EXPECT_EQ(find_root_no_derivative(jump, 0, 1, settings).report.status, SolveStatus::stalled);
}

TEST(FindRoot, SaysNotFiniteWhenAValueIsNotANumber) {
  const auto hole = [](double x) { return x > 0.2 && x < 0.8 ? std::nan("") : x - 0.5; };
  const Root root = find_root([&](double x) { return ValueSlope{hole(x), 1}; }, 0, 1, 0.5, {});
  EXPECT_EQ(root.report.status, SolveStatus::not_finite);
  EXPECT_EQ(find_root_no_derivative(hole, 0, 1, {}).report.status, SolveStatus::not_finite);
}

TEST(FindRoot, SaysOutOfStepsRatherThanConverged) {
  const auto f = [](double x) { return ValueSlope{std::atan(x - 5), 1 / (1 + (x - 5) * (x - 5))}; };
  const RootSettings settings{.residual_tolerance = 1e-12, .max_steps = 3};
  EXPECT_EQ(find_root(f, -100, 130, -90, settings).report.status, SolveStatus::out_of_steps);
  EXPECT_EQ(find_root_no_derivative([&](double x) { return f(x).value; }, -100, 130, settings).report.status,
            SolveStatus::out_of_steps);
}

TEST(FindRoot, SeesASignChangeOfValuesWhoseProductUnderflows) {
  const auto tiny = [](double x) { return 1e-200 * (x - 0.25); };
  const Root root = find_root_no_derivative(tiny, 0, 1, {.x_tolerance = 1e-12});
  EXPECT_NEAR(root.x, 0.25, 1e-12);
  EXPECT_NEAR(find_root([&](double x) { return ValueSlope{tiny(x), 1e-200}; }, 0, 1, 0.9, {.x_tolerance = 1e-12}).x,
              0.25, 1e-12);
}

TEST(FindRoot, AcceptsARootAtAnEnd) {
  EXPECT_EQ(find_root([](double x) { return ValueSlope{x, 1}; }, 0, 1, 0.9, {}).x, 0);
  EXPECT_EQ(find_root_no_derivative([](double x) { return x - 1; }, 0, 1, {}).x, 1);
}

TEST(FindRoot, ReportsTheToleranceItMet) {
  const Root root = find_root([](double x) { return ValueSlope{std::cos(x), -std::sin(x)}; }, 0, 3, 0.1,
                              {.x_tolerance = 1e-6, .residual_unit = "rad"});
  EXPECT_TRUE(root.report.converged());
  EXPECT_EQ(root.report.tolerance, 1e-6);
  EXPECT_LE(root.report.residual, 1e-6);
  EXPECT_LE(std::abs(root.x - std::numbers::pi / 2), 1e-6);
  EXPECT_LE(root.lo, std::numbers::pi / 2);
  EXPECT_GE(root.hi, std::numbers::pi / 2);
}

TEST(FirstBracket, FindsTheFirstOfSeveralAndSkipsHoles) {
  const auto f = [](double x) { return x < 0.5 ? std::nan("") : std::sin(x); };
  const auto bracket = first_bracket(f, 0, 10, 50);
  ASSERT_TRUE(bracket);
  EXPECT_LE(bracket->lo, std::numbers::pi);
  EXPECT_GE(bracket->hi, std::numbers::pi);
  EXPECT_FALSE(first_bracket([](double) { return 1.0; }, 0, 1, 10));
  // A hole between two signs is not a sign change.
  EXPECT_FALSE(first_bracket([](double x) { return x < 0.4 ? -1 : x > 0.6 ? 1 : std::nan(""); }, 0, 1, 10));
}

TEST(Maximise, FindsTheTopToHalfTheDigits) {
  const auto f = [](double x) { return x * std::exp(-x); };
  const Maximum top = maximise(f, 0, 5, {.x_tolerance = 1e-7});
  EXPECT_TRUE(top.report.converged());
  EXPECT_NEAR(top.x, 1, 1e-7);
  EXPECT_DOUBLE_EQ(top.value, std::exp(-1.0));
  EXPECT_FALSE(top.at_lower_end || top.at_upper_end);
  EXPECT_LT(top.report.evaluations, 30);
}

TEST(Maximise, SaysWhenTheLargestValueStandsAtAnEnd) {
  const Maximum rising = maximise([](double x) { return x; }, 0, 2, {.x_tolerance = 1e-6});
  EXPECT_TRUE(rising.at_upper_end);
  EXPECT_EQ(rising.x, 2);
  const Maximum falling = maximise([](double x) { return -x; }, 0, 2, {.x_tolerance = 1e-6});
  EXPECT_TRUE(falling.at_lower_end);
  EXPECT_EQ(falling.value, 0);
}

TEST(Maximise, SaysOutOfStepsAndNotFinite) {
  EXPECT_EQ(maximise([](double x) { return -std::abs(x - 0.3); }, 0, 1, {.x_tolerance = 1e-9, .max_steps = 4}).report.status,
            SolveStatus::out_of_steps);
  const Maximum hole = maximise([](double) { return std::nan(""); }, 0, 1, {.x_tolerance = 1e-6});
  EXPECT_EQ(hole.report.status, SolveStatus::not_finite);
  EXPECT_TRUE(std::isnan(hole.x));
}

TEST(MaximiseScan, FindsTheHighestOfSeveralHumps) {
  // sin(x) + x / 20 on [0, 18]: humps at acos(-1/20) + 2 pi k, the third is highest.
  const Maximum top = maximise_scan([](double x) { return std::sin(x) + x / 20; }, 0, 18, 36, {.x_tolerance = 1e-7});
  EXPECT_TRUE(top.report.converged());
  EXPECT_NEAR(top.x, std::acos(-0.05) + 4 * std::numbers::pi, 1e-7);
  EXPECT_FALSE(top.at_upper_end);
}

// One value a call finds what the root finder finds, from any start, uphill or downhill of the root.
TEST(RisingSearch, FindsTheRootFromAnyStart) {
  const auto f = [](double x) { return std::expm1(3 * x) - 0.7; };
  const double root = std::log1p(0.7) / 3;
  for (const double first : {-1.0, -0.4, 0.17, 0.18, 0.6, 1.0}) {
    RisingSearch q({.least = -1, .most = 1, .first = first, .second = first + 0.05, .stride = 0.1, .growth = 2});
    while (q.end() == RisingSearch::End::none) q.feed(f(q.at()), 1e-12);
    EXPECT_EQ(q.end(), RisingSearch::End::found) << first;
    EXPECT_NEAR(q.at(), root, 1e-12) << first;
    EXPECT_LT(q.rounds(), 25) << first;
  }
}

TEST(RisingSearch, TellsWhyThereIsNoRoot) {
  const auto end = [](auto&& f, double first) {
    RisingSearch q({.least = -1, .most = 1, .first = first, .second = first + 0.05, .stride = 0.3});
    while (q.end() == RisingSearch::End::none) q.feed(f(q.at()), 1e-12);
    return q.end();
  };
  constexpr double kInfinite = std::numeric_limits<double>::infinity();
  for (const double first : {-1.0, 0.0, 1.0}) {
    EXPECT_EQ(end([](double x) { return x + 3; }, first), RisingSearch::End::below_least) << first;
    EXPECT_EQ(end([](double x) { return x - 3; }, first), RisingSearch::End::above_most) << first;
    EXPECT_EQ(end([](double x) { return x < 0.2 ? -1.0 : 1.0; }, first), RisingSearch::End::stalled) << first;
    EXPECT_EQ(end([=](double x) { return x < 0.2 ? x - 1 : kInfinite; }, first), RisingSearch::End::stalled) << first;
  }
  RisingSearch q({.least = -1, .most = 1, .first = -0.5, .second = -0.4, .stride = 0.3});
  while (q.end() == RisingSearch::End::none) q.feed(q.at() < 0.5 ? q.at() - 0.2 : kInfinite, 1e-12);   // the root before the cliff
  EXPECT_EQ(q.end(), RisingSearch::End::found);
  EXPECT_NEAR(q.at(), 0.2, 1e-12);
}

}  // namespace
}  // namespace hardpan::math
