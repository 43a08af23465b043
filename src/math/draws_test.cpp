// SPDX-License-Identifier: Apache-2.0
#include "math/draws.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "math/estimate.hpp"
#include "math/matrix.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::math {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

MultivariateT example(double dof) {
  return {.names = {"a", "b", "c"},
          .location = {1, -2, 10},
          .scale = {4, 1.2, 0, 1.2, 1, -0.3, 0, -0.3, 0.25},
          .dof = dof};
}

TEST(Draw, HasTheLocationAndCovarianceOfItsDistribution) {
  // Covariance of t is scale * dof / (dof - 2). With 20,000 draws a variance is good to about 2 %.
  for (const double dof : {kInfinity, 12.0}) {
    const MultivariateT t = example(dof);
    const Draws draws = draw(t, 1, stream_id("test"), 20000);
    ASSERT_TRUE(draws.ok()) << draws.status;
    const double stretch = std::isinf(dof) ? 1 : dof / (dof - 2);
    std::vector<std::vector<double>> columns;
    for (std::size_t j = 0; j < 3; ++j) {
      const auto column = draws.column(j);
      columns.emplace_back(column.begin(), column.end());
      EXPECT_NEAR(mean(column), t.location[j], 3 * std::sqrt(stretch * t.scale[4 * j] / 20000));
    }
    const std::vector<double> covariance = sample_covariance(columns);
    for (std::size_t i = 0; i < 9; ++i) EXPECT_NEAR(covariance[i], stretch * t.scale[i], 0.15) << i;
  }
}

TEST(Draw, EachComponentIsStudentDistributed) {
  const MultivariateT t = example(3);
  const Draws draws = draw(t, 2, stream_id("student"), 10000);
  for (std::size_t j = 0; j < 3; ++j) {
    std::vector<double> x(draws.column(j).begin(), draws.column(j).end());
    std::ranges::sort(x);
    double worst = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      const double f = student_t_cdf((x[i] - t.location[j]) / std::sqrt(t.scale[4 * j]), 3);
      worst = std::max(worst, std::abs(f - (static_cast<double>(i) + 0.5) / 10000));
    }
    EXPECT_LT(worst * 100, 1.63) << "Kolmogorov distance at 1 %, component " << j;
  }
}

TEST(Draw, DoesNotChangeWhenMoreAreAsked) {
  const Draws few = draw(example(4), 7, 9, 10), many = draw(example(4), 7, 9, 50);
  for (std::size_t j = 0; j < 3; ++j) {
    for (std::size_t k = 0; k < 10; ++k) EXPECT_EQ(few.column(j)[k], many.column(j)[k]);
  }
}

TEST(Draw, KeepsAnExactlyKnownParameterExact) {
  const MultivariateT t{.names = {"a", "b"}, .location = {1, 2}, .scale = {0, 0, 0, 9}};
  const Draws draws = draw(t, 1, 1, 100);
  ASSERT_TRUE(draws.ok());
  for (const double a : draws.column(0)) EXPECT_EQ(a, 1);
  EXPECT_GT(variance(draws.column(1)), 1);
}

TEST(Draw, GivesNoDrawsWithAReason) {
  EXPECT_EQ(draw(example(0), 1, 1, 5).status,
            "no draws: no degrees of freedom for the scatter (one point or none)");
  EXPECT_EQ(draw(example(-1), 1, 1, 5).count, 0u);
  EXPECT_FALSE(draw(example(std::nan("")), 1, 1, 5).ok());
  MultivariateT bad = example(5);
  bad.scale[1] = bad.scale[3] = 3;  // |correlation| above 1
  EXPECT_EQ(draw(bad, 1, 1, 5).status, "no draws: the scale matrix is not positive semidefinite");
}

TEST(DrawFeasible, RedrawsAndCountsAndNeverMovesASampleToTheEdge) {
  const MultivariateT t{.names = {"x"}, .location = {0}, .scale = {1}};
  const auto positive = [](std::span<const double> x) { return x[0] > 0; };
  const Draws draws = draw_feasible(t, 3, 4, 20000, positive);
  ASSERT_TRUE(draws.ok());
  EXPECT_TRUE(std::ranges::all_of(draws.column(0), [](double x) { return x > 0; }));
  EXPECT_NEAR(draws.infeasible_share(), 0.5, 0.01);
  // Half-normal: mean sqrt(2 / pi), not the 0.5 sqrt(2 / pi) that moving to the edge would give.
  EXPECT_NEAR(mean(draws.column(0)), std::sqrt(2 / std::acos(-1.0)), 0.02);
  // Feasible draws are those that plain drawing gives.
  const Draws plain = draw(t, 3, 4, 20000);
  for (std::size_t k = 0; k < 100; ++k) {
    if (plain.column(0)[k] > 0) {
      EXPECT_EQ(draws.column(0)[k], plain.column(0)[k]);
    }
  }
}

TEST(DrawFeasible, GivesUpWithAReason) {
  const auto never = [](std::span<const double>) { return false; };
  const Draws draws = draw_feasible(example(5), 1, 1, 3, never, 50);
  EXPECT_EQ(draws.status, "no draws: draw 1 stayed infeasible after 50 tries");
  EXPECT_EQ(draws.infeasible, 50u);
  EXPECT_TRUE(draws.values.empty());
}

TEST(Draws, AreFoundByName) {
  const Draws draws = draw(example(kInfinity), 1, 1, 4);
  ASSERT_TRUE(draws.column("b"));
  EXPECT_EQ((*draws.column("b"))[2], draws.column(1)[2]);
  EXPECT_FALSE(draws.column("missing"));
}

TEST(Summarise, CountsWhatIsNotANumberAndNeedsTwentyForAnInterval) {
  std::vector<double> x(41);
  for (std::size_t i = 0; i < 41; ++i) x[i] = static_cast<double>(i);
  const DrawSummary summary = summarise(x);
  ASSERT_TRUE(summary.central);
  EXPECT_DOUBLE_EQ(summary.central->lo, 1);  // place 0.025 * 40
  EXPECT_DOUBLE_EQ(summary.central->hi, 39);
  EXPECT_DOUBLE_EQ(*summary.median, 20);
  x[0] = std::nan("");
  x[40] = kInfinity;
  EXPECT_EQ(summarise(x).finite, 39u);
  EXPECT_FALSE(summarise(std::span(x).first(20)).central);
  EXPECT_FALSE(summarise({}).mean);
}

TEST(EstimateFromDraws, SaysInTheStatusWhatTheIntervalRestsOn) {
  std::vector<double> draws(400, 1.0);
  EXPECT_EQ(estimate_from_draws(1, draws, draws).status, "ok");
  draws[5] = std::nan("");
  EXPECT_EQ(estimate_from_draws(1, draws, {}).status,
            "interval for the average ground over the 399 of 400 draws that gave a number");
  const Estimate none = estimate_from_draws(1, {}, {});
  EXPECT_EQ(none.status, "no interval: no draws");
  EXPECT_FALSE(none.average_ground || none.next_point);
}

TEST(EstimateFromPoints, GivesStudentIntervalsOfBothKinds) {
  // 1, 2, 3: mean 2, s = 1, t(2) at 0.975 = 4.30265 (printed tables).
  const Estimate e = estimate_from_points(std::vector<double>{1, 2, 3});
  EXPECT_EQ(e.value, 2);
  EXPECT_NEAR(e.average_ground->hi - 2, 4.30265 / std::sqrt(3.0), 1e-5);
  EXPECT_NEAR(e.next_point->hi - 2, 4.30265 * std::sqrt(4.0 / 3), 1e-5);
  EXPECT_EQ(e.n, 3u);
  EXPECT_EQ(estimate_from_points(std::vector<double>{5}).status, "no interval: one point");
  const Estimate same = estimate_from_points(std::vector<double>{5, 5, 5});
  EXPECT_EQ(same.value, 5);
  EXPECT_FALSE(same.average_ground || same.next_point);
  EXPECT_EQ(same.status, "no interval: 3 equal values: finer readings would tell their spread");
  EXPECT_EQ(estimate_from_points({}).status, "no interval: no points");
}

TEST(Cholesky, RebuildsTheMatrixAndRefusesOneThatIsNotDefinite) {
  const std::vector<double> a{4, 2, -2, 2, 10, 2, -2, 2, 5};
  const auto l = cholesky(a, 3);
  ASSERT_TRUE(l);  // by hand: 2; 1 3; -1 1 sqrt 3
  EXPECT_NEAR((*l)[0], 2, 1e-15);
  EXPECT_NEAR((*l)[4], 3, 1e-15);
  EXPECT_NEAR((*l)[8], std::sqrt(3.0), 1e-15);
  EXPECT_FALSE(cholesky(std::vector<double>{1, 2, 2, 1}, 2));
  EXPECT_FALSE(cholesky(std::vector<double>{1, 0.5, 0.1, 1}, 2)) << "not symmetric";
  EXPECT_FALSE(cholesky(std::vector<double>{0, 0, 0, 1}, 2));
  EXPECT_FALSE(cholesky_semidefinite(std::vector<double>{0, 0.5, 0.5, 1}, 2)) << "covariance without variance";
  const auto rank_one = cholesky_semidefinite(std::vector<double>{1, 2, 2, 4}, 2);
  ASSERT_TRUE(rank_one);
  EXPECT_EQ((*rank_one)[3], 0);
}

TEST(SolveSymmetric, SolvesInvertsAndFindsEigenvalues) {
  const std::vector<double> a{4, 1, 1, 3};
  const auto x = solve_symmetric(a, std::vector<double>{1, 2});  // (1/11, 7/11)
  ASSERT_TRUE(x);
  EXPECT_NEAR((*x)[0], 1.0 / 11, 1e-15);
  EXPECT_NEAR((*x)[1], 7.0 / 11, 1e-15);
  const auto inverse = invert_symmetric(a, 2);
  EXPECT_NEAR((*inverse)[0], 3.0 / 11, 1e-15);
  EXPECT_NEAR((*inverse)[1], -1.0 / 11, 1e-15);
  const auto values = eigenvalues_symmetric(a, 2);  // (7 -/+ sqrt 5) / 2
  EXPECT_NEAR((*values)[0], (7 - std::sqrt(5.0)) / 2, 1e-14);
  EXPECT_NEAR((*values)[1], (7 + std::sqrt(5.0)) / 2, 1e-14);
  const auto r = covariance_to_correlation(std::vector<double>{4, 1, 0, 1, 1, 0, 0, 0, 0}, 3);
  EXPECT_DOUBLE_EQ(r[1], 0.5);
  EXPECT_EQ(r[2], 0);
  EXPECT_EQ(r[8], 1);
}

}  // namespace
}  // namespace hardpan::math
