// SPDX-License-Identifier: Apache-2.0
#include "records/pull_slip.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "math/random.hpp"

namespace hardpan::records {
namespace {

// Written out from the relations as printed in the header, apart from the code.
double exponential(double s, double a, double s0, double k) { return a * (1 - std::exp(-(s - s0) / k)); }

std::vector<PullSlipPoint> exact(double (*curve)(double), int runs = 3) {
  std::vector<PullSlipPoint> out;
  for (int r = 0; r < runs; ++r) {
    for (int i = 0; i < 8; ++i) {
      const double s = 0.02 + 0.06 * i + 0.01 * r;
      out.push_back({s, 0, curve(s), 0, "run " + std::to_string(r)});
    }
  }
  return out;
}

TEST(PullSlip, ExactPointsGiveBackEachRelation) {
  const auto check = [](PullSlipRelation relation, double (*curve)(double), double a, double s0, double k, double d) {
    const PullSlipCurve c = fit_pull_slip(exact(curve), {.relation = relation, .resamples = 200});
    ASSERT_TRUE(c.solve.converged()) << name(relation);
    EXPECT_NEAR(c.parameters.a, a, 1e-5) << name(relation);
    EXPECT_NEAR(c.parameters.s0, s0, 1e-5);
    EXPECT_NEAR(c.parameters.k, k, 1e-5);
    EXPECT_NEAR(c.parameters.d, d, 1e-5);
    for (const double s : {0.05, 0.2, 0.45}) {
      EXPECT_NEAR(c.at(s), curve(s), 1e-7);
      EXPECT_NEAR(c.parameters.slope_at(s), (c.at(s + 1e-6) - c.at(s - 1e-6)) / 2e-6, 1e-5);
    }
  };
  check(
      PullSlipRelation::exponential, [](double s) { return exponential(s, 0.45, 0.03, 0.12); }, 0.45, 0.03, 0.12, 0);
  check(
      PullSlipRelation::hyperbolic, [](double s) { return 0.6 * (s - 0.025) / (0.15 + s - 0.025); }, 0.6, 0.025, 0.15, 0);
  check(
      PullSlipRelation::exponential_fall, [](double s) { return exponential(s, 0.5, 0.03, 0.08) - 0.3 * (s - 0.03); }, 0.5,
      0.03, 0.08, 0.3);
}

TEST(PullSlip, PeakOfAFallingCurveIsWhereItsSlopeIsZero) {
  const PullSlipCurve c = fit_pull_slip(exact([](double s) { return exponential(s, 0.5, 0.03, 0.08) - 0.3 * (s - 0.03); }),
                                        {.relation = PullSlipRelation::exponential_fall});
  // 0.5 / 0.08 exp(-(s - 0.03) / 0.08) = 0.3
  const double top = 0.03 + 0.08 * std::log(0.5 / (0.08 * 0.3));
  EXPECT_NEAR(c.peak_slip_ratio, top, 1e-4);
  EXPECT_NEAR(c.peak->value, exponential(top, 0.5, 0.03, 0.08) - 0.3 * (top - 0.03), 1e-7);
  EXPECT_FALSE(c.peak_at_end_of_range);
}

TEST(PullSlip, RisingCurveSaysThatItsPeakWasNotReached) {
  const PullSlipCurve c = fit_pull_slip(exact([](double s) { return exponential(s, 0.45, 0.03, 0.12); }), {});
  EXPECT_TRUE(c.peak_at_end_of_range);
  EXPECT_NEAR(c.peak_slip_ratio, 0.46, 1e-12);
}

std::vector<PullSlipPoint> scattered(std::uint64_t seed, int runs, double between, double within, int points = 6) {
  const math::Stream noise(seed, math::stream_id("scatter"));
  std::vector<PullSlipPoint> out;
  std::uint64_t k = 0;
  for (int r = 0; r < runs; ++r) {
    const double deviation = between * noise.normal(k++);
    for (int i = 0; i < points; ++i) {
      const double s = 0.03 + 0.42 * (i + 0.5) / points;
      out.push_back({s, 0, exponential(s, 0.45, 0.03, 0.12) + deviation + within * noise.normal(k++), 0.25 * within,
                     "run " + std::to_string(r)});
    }
  }
  return out;
}

// Coverage with runs as the unit: truth is the mean over runs and one more run. Over 300 seeds 99.9 % of binomial(300, 0.95)
// lies at 0.907 or above; a plain bootstrap covers about 0.80 for 3 runs.
TEST(PullSlip, IntervalsCoverMeanAndNextRunAtTheirLevel) {
  for (const int runs : {3, 5, 10}) {
    int mean_inside = 0, next_inside = 0, both = 0;
    const int seeds = 300;
    for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
      const PullSlipCurve c =
          fit_pull_slip(scattered(seed, runs, 0.02, 0.006),
                        {.relation = PullSlipRelation::exponential, .resamples = 200, .seed = seed, .band_points = 2});
      ASSERT_TRUE(c.usable());
      ASSERT_TRUE(c.at_20_percent && c.at_20_percent->average_ground && c.at_20_percent->next_point);
      const double truth = exponential(0.2, 0.45, 0.03, 0.12);
      const math::Stream next(seed, math::stream_id("next run"));
      mean_inside += c.at_20_percent->average_ground->contains(truth);
      next_inside += c.at_20_percent->next_point->contains(truth + 0.02 * next.normal(0));
      ++both;
    }
    RecordProperty("mean_coverage_" + std::to_string(runs), std::to_string(mean_inside));
    RecordProperty("next_coverage_" + std::to_string(runs), std::to_string(next_inside));
    EXPECT_GE(mean_inside, 0.907 * both) << runs << " runs";
    EXPECT_GE(next_inside, 0.907 * both) << runs << " runs";
  }
}

// Twenty times the windows of the same five runs: the between-run scatter stays, so the interval does.
TEST(PullSlip, MoreWindowsOfTheSameRunsDoNotShrinkTheInterval) {
  double few = 0, many = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const PullSlipSettings settings{.relation = PullSlipRelation::exponential, .resamples = 300};
    few += fit_pull_slip(scattered(seed, 5, 0.02, 0.004, 6), settings).at_20_percent->average_ground->width();
    many += fit_pull_slip(scattered(seed, 5, 0.02, 0.004, 120), settings).at_20_percent->average_ground->width();
  }
  EXPECT_GT(many, 0.75 * few);
}

TEST(PullSlip, OneRunGivesACurveWithoutInterval) {
  const PullSlipCurve c = fit_pull_slip(scattered(3, 1, 0, 0.01, 8), {});
  ASSERT_TRUE(c.usable());
  ASSERT_TRUE(c.at_20_percent);
  EXPECT_FALSE(c.at_20_percent->average_ground);
  EXPECT_THAT(c.at_20_percent->status, ::testing::HasSubstr("one run"));
}

TEST(PullSlip, FallingGroundIsChosenByRunsLeftOutOnlyWhenItPredictsThem) {
  std::vector<PullSlipPoint> falling, rising;
  const math::Stream noise(8, 8);
  std::uint64_t k = 0;
  for (int r = 0; r < 6; ++r) {
    for (int i = 0; i < 10; ++i) {
      const double s = 0.02 + 0.07 * i;
      const double base = exponential(s, 0.5, 0.03, 0.08);
      falling.push_back({s, 0, base - 0.3 * (s - 0.03) + 0.005 * noise.normal(k++), 0.003, std::to_string(r)});
      rising.push_back({s, 0, base + 0.005 * noise.normal(k++), 0.003, std::to_string(r)});
    }
  }
  EXPECT_EQ(fit_pull_slip(falling, {.resamples = 100}).relation_used, PullSlipRelation::exponential_fall);
  EXPECT_EQ(fit_pull_slip(rising, {.resamples = 100}).relation_used, PullSlipRelation::exponential);
}

TEST(PullSlip, RefusesTooFewPointsOrTooNarrowARange) {
  EXPECT_FALSE(fit_pull_slip({}, {}).usable());
  EXPECT_FALSE(fit_pull_slip({{0.1, 0, 0.2, 0, "a"}, {0.2, 0, 0.3, 0, "a"}, {0.3, 0, 0.35, 0, "a"}}, {}).usable());
  const std::vector<PullSlipPoint> narrow{
      {0.10, 0, 0.2, 0, "a"}, {0.101, 0, 0.21, 0, "a"}, {0.102, 0, 0.2, 0, "b"}, {0.103, 0, 0.2, 0, "b"}};
  const PullSlipCurve c = fit_pull_slip(narrow, {});
  EXPECT_FALSE(c.usable());
  EXPECT_EQ(c.solve.status, base::SolveStatus::no_solution);
  EXPECT_THAT(c.why_this_relation, ::testing::HasSubstr("slips from"));
  const std::vector<PullSlipPoint> same(6, {0.2, 0, 0.3, 0, "a"});
  EXPECT_FALSE(fit_pull_slip(same, {}).usable());
}

TEST(PullSlip, ValuesThatAreNotNumbersAreLeftOut) {
  auto points = scattered(4, 3, 0.01, 0.003);
  const PullSlipCurve clean = fit_pull_slip(points, {.resamples = 100});
  points.push_back({std::nan(""), 0, 0.3, 0, "run 0"});
  points.push_back({0.2, 0, INFINITY, 0, "run 0"});
  EXPECT_DOUBLE_EQ(fit_pull_slip(points, {.resamples = 100}).parameters.a, clean.parameters.a);
}

TEST(PullSlip, OutsideTheTestedSlipsNothingIsReadWithoutSayingSo) {
  std::vector<PullSlipPoint> points;
  for (int r = 0; r < 3; ++r) {
    for (int i = 0; i < 6; ++i)
      points.push_back(
          {0.25 + 0.05 * i, 0, exponential(0.25 + 0.05 * i, 0.45, 0.03, 0.12) + 0.001 * r, 0, std::to_string(r)});
  }
  const PullSlipCurve c = fit_pull_slip(points, {.relation = PullSlipRelation::exponential});
  EXPECT_FALSE(c.at_20_percent);
  EXPECT_FALSE(c.at_zero_slip);
  ASSERT_TRUE(c.s0);
  EXPECT_THAT(c.s0->status, ::testing::HasSubstr("extrapolated"));
}

TEST(PullSlip, StraightLineIsReadableButItsAsymptoteIsNotIdentified) {
  std::vector<PullSlipPoint> points;
  for (int r = 0; r < 3; ++r) {
    for (int i = 0; i < 6; ++i)
      points.push_back({0.02 + 0.04 * i, 0, -0.02 + 1.0 * (0.02 + 0.04 * i), 0, std::to_string(r)});
  }
  const PullSlipCurve c = fit_pull_slip(points, {.relation = PullSlipRelation::exponential, .resamples = 100});
  ASSERT_TRUE(c.usable());
  EXPECT_EQ(c.solve.status, base::SolveStatus::out_of_range);
  EXPECT_FALSE(c.a);
  EXPECT_NEAR(c.at(0.2), 0.18, 0.003);
}

TEST(PullSlip, SameSeedGivesTheSameBits) {
  const auto points = scattered(9, 4, 0.02, 0.01);
  const PullSlipCurve a = fit_pull_slip(points, {.seed = 7}), b = fit_pull_slip(points, {.seed = 7});
  ASSERT_TRUE(a.a && a.a->average_ground);
  EXPECT_EQ(a.a->average_ground->lo, b.a->average_ground->lo);
}

}  // namespace
}  // namespace hardpan::records
