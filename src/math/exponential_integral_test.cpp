// SPDX-License-Identifier: Apache-2.0
#include "math/exponential_integral.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace hardpan::math {
namespace {

// Abramowitz and Stegun 1964, table 5.1 (from memory): E1(0.5) = 0.559773595, E1(1) = 0.219383934, E1(2) = 0.048900511.
TEST(ExponentialIntegral, AgreesWithThePublishedTable) {
  EXPECT_NEAR(exponential_integral_1(0.5), 0.559773595, 1e-9);
  EXPECT_NEAR(exponential_integral_1(1), 0.219383934, 1e-9);
  EXPECT_NEAR(exponential_integral_1(2), 0.048900511, 1e-9);
}

// Abramowitz and Stegun 1964, 5.1.14: E2(x) = exp(-x) - x E1(x).
TEST(ExponentialIntegral, ObeysItsRecurrence) {
  for (const double x : {1e-6, 0.01, 0.3, 1.0, 4.0, 20.0, 500.0}) {
    EXPECT_NEAR(exponential_integral_2(x), std::exp(-x) - x * exponential_integral_1(x), 1e-14) << x;
  }
  EXPECT_EQ(exponential_integral_1(1e4), 0);
}

}  // namespace
}  // namespace hardpan::math
