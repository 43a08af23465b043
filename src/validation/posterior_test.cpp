// SPDX-License-Identifier: Apache-2.0
#include "validation/posterior.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "math/distributions.hpp"
#include "math/matrix.hpp"
#include "math/statistics.hpp"

namespace hardpan::validation {
namespace {

// values = X theta, X row-major n x p.
Model linear(std::vector<double> x, std::size_t p) {
  return [x = std::move(x), p](std::span<const double> theta, bool with_jacobian) {
    Linearised out;
    for (std::size_t i = 0; i * p < x.size(); ++i) {
      double sum = 0;
      for (std::size_t k = 0; k < p; ++k) sum += x[i * p + k] * theta[k];
      out.values.push_back(sum);
    }
    if (with_jacobian) out.jacobian = x;
    return out;
  };
}

Prior one_parameter(double centre, double sd) { return {.parameters = {{.name = "a", .centre = centre}}, .covariance = {sd * sd}}; }

TEST(Posterior, WithoutReadingsIsThePriorItself) {
  const Prior prior{.parameters = {{.name = "a", .centre = 1}, {.name = "b", .centre = -2}}, .covariance = {4, 1, 1, 9}};
  const Posterior p = posterior(prior, {}, linear({}, 2));
  EXPECT_TRUE(p.usable());
  EXPECT_EQ(p.mode, (std::vector<double>{1, -2}));
  EXPECT_EQ(p.covariance, prior.covariance);
  EXPECT_EQ(p.directions_taught, 0);
  const std::vector<double> draw{0.3, 7};
  EXPECT_EQ(carried_over(p, {}, draw, math::Stream(1, 2), 5), draw);
}

// Normal prior N(0, 2^2), three readings of 1 with standard error 0.5 in runs that do not scatter: precision
// 1/4 + 3/0.25 = 12.25, mean 12/12.25. [by hand]
TEST(Posterior, AgreesWithTheConjugateNormalByHand) {
  const std::vector<Observation> readings{{.run = "1", .value = 1, .standard_error = 0.5},
                                          {.run = "2", .value = 1, .standard_error = 0.5},
                                          {.run = "3", .value = 1, .standard_error = 0.5}};
  const Posterior p = posterior(one_parameter(0, 2), readings, linear({1, 1, 1}, 1));
  ASSERT_TRUE(p.usable()) << p.reason_without;
  EXPECT_TRUE(p.report.converged());
  EXPECT_TRUE(p.scatter_settled);
  EXPECT_NEAR(p.mode[0], 12 / 12.25, 1e-9);
  EXPECT_NEAR(p.covariance[0], 1 / 12.25, 1e-9);
  EXPECT_NEAR(p.directions_taught, 12 / 12.25, 1e-9);
  EXPECT_NEAR(p.scatter[0].effective_runs, 3, 1e-12);
}

// One run of four readings: the ground's scatter, b^2 = 0.36 through a slope of 1, is all that is known of how far
// a run lies off. The mean of the run has variance 0.36 + 0.5^2/4 = 0.4225 about the average; prior N(0, 1).
TEST(Posterior, ARunOfManyReadingsTeachesNoMoreThanOneRun) {
  std::vector<Observation> readings;
  for (int i = 0; i < 4; ++i) readings.push_back({.run = "1", .value = 2, .standard_error = 0.5});
  Prior prior = one_parameter(0, 1);
  prior.between = {0.36};
  prior.between_dof = 4;
  const Posterior p = posterior(prior, readings, linear({1, 1, 1, 1}, 1));
  ASSERT_TRUE(p.usable()) << p.reason_without;
  EXPECT_NEAR(p.scatter[0].level_sd, 0.6, 1e-12);
  EXPECT_NEAR(p.mode[0], 2 * 1 / (1 + 0.4225), 1e-9);
  EXPECT_NEAR(p.covariance[0], 0.4225 / 1.4225, 1e-9);
  // A hundred readings of that run: still not surer than the run's own place lets one be, 0.36 / 1.36.
  readings.resize(100, readings[0]);
  const Posterior many = posterior(prior, readings, linear(std::vector<double>(100, 1), 1));
  EXPECT_GT(many.covariance[0], 0.36 / 1.36);
  EXPECT_NEAR(many.scatter[0].effective_runs, 1, 1e-12);
}

TEST(Posterior, OneRunTeachesNothingWhereTheScatterOfRunsIsUnknown) {
  const Posterior p = posterior(one_parameter(0, 1), {{.run = "1", .value = 2, .standard_error = 0.5}}, linear({1}, 1));
  EXPECT_FALSE(p.usable());
  EXPECT_EQ(p.mode[0], 0);
}

// Scatter between runs: sample variance of 1, 2, 3, 4 is 5/3; readings without error to speak of. With a ground scatter
// of 0.25 and 4 degrees of freedom the pooled value (4 * 0.25 + 3 * 5/3) / 7 = 6/7 is below what the runs show, which stands.
TEST(Posterior, ScatterBetweenRunsIsNeverBelowWhatTheRunsShow) {
  std::vector<Observation> readings;
  for (int i = 1; i <= 4; ++i) readings.push_back({.run = std::to_string(i), .value = static_cast<double>(i), .standard_error = 1e-6});
  Prior prior = one_parameter(2.5, 10);
  prior.between = {0.25};
  prior.between_dof = 4;
  const Posterior low = posterior(prior, readings, linear({1, 1, 1, 1}, 1));
  EXPECT_NEAR(low.scatter[0].level_sd, std::sqrt(5.0 / 3), 1e-6);
  // A ground of 4: (4 * 4 + 5) / 7 = 3.
  prior.between = {4};
  const Posterior high = posterior(prior, readings, linear({1, 1, 1, 1}, 1));
  EXPECT_NEAR(high.scatter[0].level_sd, std::sqrt(3.0), 1e-6);
}

struct Plane {
  Prior prior{.parameters = {{.name = "a", .centre = 0.5}, {.name = "b", .centre = 1}},
              .covariance = {0.09, 0.03, 0.03, 0.16}, .between = {0.01, 0, 0, 0.02}, .between_dof = 5};
  std::vector<double> x;
  std::vector<Observation> readings;
  // Runs of six readings along the lever; truth (0.8, 0.6), levels and tilts of runs as `between` says, and noise.
  explicit Plane(std::uint64_t seed, int runs = 5) {
    const math::Stream random(seed, 77);
    std::uint64_t at = 0;
    for (int r = 0; r < runs; ++r) {
      const double level = 0.1 * random.normal(at++), tilt = std::sqrt(0.02) * random.normal(at++);
      for (int i = 0; i < 6; ++i) {
        const double lever = -1 + 0.4 * i, noise = 0.05 * random.normal(at++);
        x.insert(x.end(), {1.0, lever});
        readings.push_back({.run = std::to_string(r), .lever = lever, .value = 0.8 + level + (0.6 + tilt) * lever + noise, .standard_error = 0.05});
      }
    }
  }
  Posterior solve() const { return posterior(prior, readings, linear(x, 2)); }
};

// The dense formula, written out: theta0 + P X' (X P X' + C)^-1 (y - X theta0), with the scatter the answer states.
TEST(Posterior, AgreesWithTheDenseFormulaForATwoParameterPlane) {
  const Plane t(3);
  const Posterior p = t.solve();
  ASSERT_TRUE(p.usable()) << p.reason_without;
  const std::size_t n = t.readings.size();
  const RunScatter& s = p.scatter[0];
  EXPECT_GT(s.level_sd, 0.05);
  std::vector<double> v(n * n), e(n), px(2 * n);
  for (std::size_t i = 0; i < n; ++i) {
    e[i] = t.readings[i].value - (t.x[2 * i] * 0.5 + t.x[2 * i + 1]);
    for (std::size_t k = 0; k < 2; ++k) px[k * n + i] = t.prior.covariance[2 * k] * t.x[2 * i] + t.prior.covariance[2 * k + 1] * t.x[2 * i + 1];
  }
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      v[i * n + j] = t.x[2 * i] * px[j] + t.x[2 * i + 1] * px[n + j];
      if (t.readings[i].run == t.readings[j].run) v[i * n + j] += s.level_sd * s.level_sd + s.tilt_sd * s.tilt_sd * t.readings[i].lever * t.readings[j].lever;
      if (i == j) v[i * n + j] += 0.05 * 0.05 + s.window_sd * s.window_sd;
    }
  }
  const auto inverse = *math::invert_symmetric(v, n);
  for (std::size_t k = 0; k < 2; ++k) {
    double mean = t.prior.parameters[k].centre, variance = t.prior.covariance[3 * k];
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) {
        mean += px[k * n + i] * inverse[i * n + j] * e[j];
        variance -= px[k * n + i] * inverse[i * n + j] * px[k * n + j];
      }
    }
    EXPECT_NEAR(p.mode[k], mean, 1e-6) << k;
    EXPECT_NEAR(p.covariance[3 * k], variance, 1e-9) << k;
  }
}

TEST(Posterior, DrawsCarriedOverHaveItsMeanAndCovariance) {
  Plane t(3);
  t.prior.between_dof = 1e9;  // held at 5 by the rule; the factor of the scatter widens tails a little
  const Posterior p = t.solve();
  const auto root = *math::cholesky(t.prior.covariance, 2);
  const math::Stream z(5, 1), noise(5, 2);
  std::vector<double> a, b;
  for (std::uint64_t k = 0; k < 4000; ++k) {
    const double z1 = z.normal(2 * k), z2 = z.normal(2 * k + 1);
    const std::vector<double> prior{0.5 + root[0] * z1, 1 + root[2] * z1 + root[3] * z2};
    const auto x = carried_over(p, t.readings, prior, noise, k);
    a.push_back(x[0]);
    b.push_back(x[1]);
  }
  // Three standard errors of a mean and of a standard deviation over 4000, the latter plus the tail factor:
  // a t with 9 degrees of freedom has variance 9/7, and the run scatter is a part of all.
  const double sa = std::sqrt(p.covariance[0]), sb = std::sqrt(p.covariance[3]);
  EXPECT_NEAR(math::mean(a), p.mode[0], 3 * sa / std::sqrt(4000.0));
  EXPECT_NEAR(math::mean(b), p.mode[1], 3 * sb / std::sqrt(4000.0));
  EXPECT_GT(std::sqrt(math::variance(a)), 0.965 * sa);
  EXPECT_LT(std::sqrt(math::variance(a)), std::sqrt(9.0 / 7) * 1.035 * sa);
  EXPECT_LT(std::sqrt(math::variance(b)), std::sqrt(9.0 / 7) * 1.035 * sb);
}

TEST(Posterior, MoreRunsNarrowIt) {
  double last = std::sqrt(0.09);
  for (const int runs : {1, 3, 10, 40}) {
    const Posterior p = Plane(3, runs).solve();
    ASSERT_TRUE(p.usable()) << p.reason_without;
    EXPECT_LT(std::sqrt(p.covariance[0]), last) << runs;
    last = std::sqrt(p.covariance[0]);
  }
}

// Truth drawn from the prior, 300 seeds, four runs each: central 95 % of 400 draws carried over hold it as often as binomial 99 %
// limits allow, and are narrower than the prior's. The draws' own scatter at 2.5 % of 400 costs under one per cent of coverage.
TEST(Posterior, IntervalsHoldTheTruthAsOftenAsTheySay) {
  constexpr std::uint64_t kSeeds = 300, kDraws = 400;
  const Prior prior = Plane(0).prior;
  const auto root = *math::cholesky(prior.covariance, 2);
  const auto from_prior = [&](const math::Stream& z, std::uint64_t k) {
    return std::array{0.5 + root[0] * z.normal(2 * k), 1 + root[2] * z.normal(2 * k) + root[3] * z.normal(2 * k + 1)};
  };
  std::array<std::uint64_t, 2> held{};
  std::array<double, 2> width{};
  for (std::uint64_t seed = 0; seed < kSeeds; ++seed) {
    const auto truth = from_prior(math::Stream(seed, 9), 0);
    Plane t(seed, 4);
    for (Observation& o : t.readings) o.value += (truth[0] - 0.8) + (truth[1] - 0.6) * o.lever;  // from the truth of Plane
    const Posterior p = t.solve();
    ASSERT_TRUE(p.usable()) << p.reason_without;
    std::array<std::vector<double>, 2> draws;
    for (std::uint64_t k = 0; k < kDraws; ++k) {
      const auto x = carried_over(p, t.readings, from_prior(math::Stream(seed, 10), k), math::Stream(seed, 11), k);
      for (std::size_t j = 0; j < 2; ++j) draws[j].push_back(x[j]);
    }
    for (std::size_t j = 0; j < 2; ++j) {
      const math::Interval i{math::quantile(draws[j], 0.025), math::quantile(draws[j], 0.975)};
      held[j] += i.contains(truth[j]) ? 1 : 0;
      width[j] += i.width() / kSeeds;
    }
  }
  for (std::size_t j = 0; j < 2; ++j) {
    EXPECT_GE(math::binomial_cdf(held[j], kSeeds, 0.95), 0.005) << held[j];
    EXPECT_GE(1 - math::binomial_cdf(held[j] - 1, kSeeds, 0.95), 0.005) << held[j];
    EXPECT_LT(width[j], 0.6 * 2 * 1.96 * std::sqrt(prior.covariance[3 * j]));
  }
}

// h = exp(theta), prior N(0, 1), one reading of 2 with error 0.5 (two runs alike): the most probable value by a search on a grid of 1e-5.
TEST(Posterior, FindsTheMostProbableValueOfACurvedModel) {
  const Model curved = [](std::span<const double> t, bool with_jacobian) {
    Linearised out{.values = {std::exp(t[0]), std::exp(t[0])}};
    if (with_jacobian) out.jacobian = out.values;
    return out;
  };
  const std::vector<Observation> readings{{.run = "1", .value = 2, .standard_error = 0.5}, {.run = "2", .value = 2, .standard_error = 0.5}};
  const Posterior p = posterior(one_parameter(0, 1), readings, curved);
  ASSERT_TRUE(p.usable()) << p.reason_without;
  double best = 1e300, at = 0;
  for (double t = -1; t < 2; t += 1e-5) {
    const double e = (2 - std::exp(t)) / 0.5, cost = t * t + 2 * e * e;
    if (cost < best) best = cost, at = t;
  }
  EXPECT_NEAR(p.mode[0], at, 1e-3 * std::sqrt(p.covariance[0]));  // the tolerance the fit states
}

TEST(Posterior, ReachesABoundAndSaysNothingBeyondIt) {
  Prior prior = one_parameter(0.2, 1);
  prior.parameters[0].lower = 0;
  const std::vector<Observation> readings{{.run = "1", .value = -3, .standard_error = 0.5}, {.run = "2", .value = -3, .standard_error = 0.5}};
  const Posterior p = posterior(prior, readings, linear({1, 1}, 1));
  ASSERT_TRUE(p.usable()) << p.reason_without;
  EXPECT_NEAR(p.mode[0], 0, 1e-9);
}

}  // namespace
}  // namespace hardpan::validation
