// SPDX-License-Identifier: Apache-2.0
#include "fitting/loss.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <initializer_list>

namespace hardpan::fitting {
namespace {

constexpr auto kRobust = {LossKind::huber, LossKind::cauchy, LossKind::tukey};

TEST(Loss, PsiAndItsSlopeAreTheDerivativesOfRho) {
  for (const LossKind kind : kRobust) {
    for (const double a : {0.5, 2.0}) {
      for (const double r : {-3.1, -0.4, 0.2, 0.7, 1.4, 6.0}) {
        const double h = 1e-5;
        const auto psi = [&](double x) { return loss_value(kind, a, x).weight * x; };
        const auto half_rho = [&](double x) { return 0.5 * loss_value(kind, a, x).rho; };
        EXPECT_NEAR(psi(r), (half_rho(r + h) - half_rho(r - h)) / (2 * h), 1e-8) << name(kind) << " " << a << " " << r;
        EXPECT_NEAR(loss_value(kind, a, r).psi_slope, (psi(r + h) - psi(r - h)) / (2 * h), 1e-7)
            << name(kind) << " " << a << " " << r;
      }
    }
  }
}

TEST(Loss, CountsSmallResidualsFullyAndFarOnesLessAndLess) {
  for (const LossKind kind : kRobust) {
    EXPECT_NEAR(loss_value(kind, 1, 1e-9).weight, 1, 1e-12);
    double before = 1;
    for (double r = 0.01; r < 20; r *= 1.5) {
      const double weight = loss_value(kind, 1, r).weight;
      EXPECT_LE(weight, before);
      EXPECT_EQ(weight, loss_value(kind, 1, -r).weight);
      before = weight;
    }
  }
  EXPECT_EQ(loss_value(LossKind::tukey, 2, 2.1).weight, 0);
  EXPECT_EQ(loss_value(LossKind::none, 1, 50).rho, 2500);
}

// The default tunings are those of 95 % efficiency at the normal distribution: (E psi')^2 / E psi^2 = 0.95.
TEST(Loss, DefaultTuningKeepsNinetyFivePerCentEfficiency) {
  for (const LossKind kind : kRobust) {
    double slope = 0, square = 0;
    const double step = 1e-3;
    for (double r = -10; r <= 10; r += step) {
      const double density = std::exp(-0.5 * r * r) / std::sqrt(2 * std::acos(-1.0));
      const LossValue value = loss_value(kind, default_tuning(kind), r);
      slope += value.psi_slope * density * step;
      square += value.weight * r * value.weight * r * density * step;
    }
    EXPECT_NEAR(slope * slope / square, 0.95, 5e-4) << name(kind);
  }
}

}  // namespace
}  // namespace hardpan::fitting
