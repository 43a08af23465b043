// SPDX-License-Identifier: Apache-2.0
#include "math/quadrature.hpp"

#include <gtest/gtest.h>

#include <boost/math/quadrature/gauss.hpp>
#include <cmath>

#include "math/dual.hpp"

namespace hardpan::math {
namespace {

template <int N>
void matches_the_independent_table() {
  // The library stores the non-negative half, smallest first.
  const auto& node = boost::math::quadrature::gauss<double, N>::abscissa();
  const auto& weight = boost::math::quadrature::gauss<double, N>::weights();
  for (std::size_t i = 0; i < N / 2; ++i) {
    EXPECT_NEAR(GaussLegendre<N>::node[N / 2 + i], node[i], 2e-16) << N << " points, node " << i;
    EXPECT_NEAR(GaussLegendre<N>::weight[N / 2 + i], weight[i], 2e-16) << N << " points, weight " << i;
    EXPECT_EQ(GaussLegendre<N>::node[N / 2 + i], -GaussLegendre<N>::node[N / 2 - 1 - i]);
  }
}

TEST(GaussLegendreTable, AgreesWithAnIndependentLibrary) {
  matches_the_independent_table<8>();
  matches_the_independent_table<12>();
  matches_the_independent_table<16>();
  matches_the_independent_table<20>();
  matches_the_independent_table<24>();
  matches_the_independent_table<32>();
}

template <int N>
void is_exact_to_its_degree() {
  for (const int degree : {0, 1, 2 * N - 2, 2 * N - 1}) {
    const double integral = integrate_fixed<N>([&](double x) { return std::pow(x, degree); }, 0.0, 1.0);
    EXPECT_NEAR(integral * (degree + 1), 1, 3e-14) << N << " points, degree " << degree;
  }
}

TEST(IntegrateFixed, IsExactForPolynomialsUpToItsDegree) {
  is_exact_to_its_degree<8>();
  is_exact_to_its_degree<12>();
  is_exact_to_its_degree<16>();
  is_exact_to_its_degree<20>();
  is_exact_to_its_degree<24>();
  is_exact_to_its_degree<32>();
  // and not beyond: x^(2N) on [-1, 1] is off by the known remainder 2^(2N+1) (N!)^4 / ((2N+1) (2N)!^2)
  const double integral = integrate_fixed<8>([](double x) { return std::pow(x, 16); }, -1.0, 1.0);
  const double remainder = std::pow(2.0, 17) * std::pow(std::tgamma(9.0), 4) / (17 * std::pow(std::tgamma(17.0), 2));
  EXPECT_NEAR((2.0 / 17 - integral) / remainder, 1, 1e-8);
}

TEST(IntegrateFixed, DifferentiatesThroughLimitsAndIntegrand) {
  // d/db of the integral of exp(a x) over [0, b]: exp(a b); d/da by parts.
  const auto a = Dual<2>::variable(0.7, 0), b = Dual<2>::variable(1.3, 1);
  const auto integral = integrate_fixed<16>([&](const Dual<2>& x) { return exp(a * x); }, Dual<2>(0), b);
  EXPECT_NEAR(integral.v, std::expm1(0.91) / 0.7, 1e-14);
  EXPECT_NEAR(integral.d[1], std::exp(0.91), 1e-13);
  EXPECT_NEAR(integral.d[0], 1.3 * std::exp(0.91) / 0.7 - std::expm1(0.91) / 0.49, 1e-13);
}

TEST(IntegrateAdaptive, ReachesTheAskedAccuracyAtAnEndWithInfiniteSlope) {
  // integral of x^0.3 over [0, 1] is 1 / 1.3
  const AdaptiveIntegral result = integrate_adaptive([](double x) { return std::pow(x, 0.3); }, 0, 1, 1e-10);
  EXPECT_NEAR(result.value, 1 / 1.3, 1e-9);
  const AdaptiveIntegral smooth = integrate_adaptive([](double x) { return std::exp(-x * x); }, 0, 1);
  EXPECT_EQ(smooth.report.status, base::SolveStatus::converged);
  EXPECT_NEAR(smooth.value, 0.5 * std::sqrt(std::acos(-1.0)) * std::erf(1.0), 1e-15);
}

TEST(IntegrateAdaptive, SaysWhenItDidNotReachTheTolerance) {
  const auto rough = [](double x) { return std::sin(1 / (x + 1e-7)); };
  const AdaptiveIntegral result = integrate_adaptive(rough, 0, 1, 1e-14);
  EXPECT_EQ(result.report.status, base::SolveStatus::stalled);
  EXPECT_GT(result.report.residual, result.report.tolerance);
}

TEST(IntegrateAdaptive, SaysNotFiniteInsteadOfANumber) {
  const AdaptiveIntegral result = integrate_adaptive([](double x) { return std::log(x - 0.5); }, 0, 1);
  EXPECT_EQ(result.report.status, base::SolveStatus::not_finite);
  EXPECT_TRUE(std::isnan(result.value));
}

}  // namespace
}  // namespace hardpan::math
