// SPDX-License-Identifier: Apache-2.0
#include "records/shear_curve.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "math/random.hpp"
#include "records/ground_test_campaign.hpp"

namespace hardpan::records {
namespace {

// Standard ring-shear relation: 100 N m on a ring of 0.15 m outer and 0.10 m inner radius is 20.104 kPa.
TEST(ShearCurve, RingStressOfTheWorkedExample) { EXPECT_NEAR(ring_stress_pa(100, 0.10, 0.15) / 1e3, 20.104, 0.005); }

TEST(ShearCurve, NarrowRingTurnsAtItsMeanRadius) {
  // Limit: ri -> ro. The torque-weighted radius of a thin ring is its radius.
  EXPECT_NEAR(ring_shear_radius_m(0.0999, 0.1), 0.09995, 1e-6);
  // A full disc: (3/4) ro.
  EXPECT_DOUBLE_EQ(ring_shear_radius_m(0, 0.1), 0.075);
}

// Independent: midpoint rule with 20,000 strips over r^2 (1 - exp(-angle r / K)).
TEST(ShearCurve, TorqueOfTheRingAgreesWithPlainSummation) {
  for (const double angle : {1e-6, 0.001, 0.05, 0.3, 1.0, 6.0}) {
    for (const double k : {0.002, 0.02, 0.2}) {
      const double ri = 0.03, ro = 0.09;
      constexpr int kStrips = 20000;
      double sum = 0;
      for (int i = 0; i < kStrips; ++i) {
        const double r = ri + (ro - ri) * (i + 0.5) / kStrips;
        sum += -r * r * std::expm1(-angle * r / k);
      }
      const double expected = 2 * std::numbers::pi * sum * (ro - ri) / kStrips;
      EXPECT_NEAR(ring_unit_torque_m3(angle, k, ri, ro) / expected, 1, 2e-8) << angle << " " << k;
    }
  }
}

ShearTest ring_test(double ri, double ro, double tau_max, double k) {
  ShearTest test;
  test.source = {.id = "r", .point = "P", .zone = "z"};
  test.inner_radius_m = ri;
  test.outer_radius_m = ro;
  test.vertical_load_n = 10e3 * ring_area_m2(ri, ro);
  for (int i = 0; i <= 40; ++i) {
    const double angle = 0.02 * i;
    double sum = 0;  // the ring turned through the angle, strip by strip
    for (int s = 0; s < 4000; ++s) {
      const double r = ri + (ro - ri) * (s + 0.5) / 4000;
      sum += -r * r * std::expm1(-angle * r / k);
    }
    test.travel.push_back(angle);
    test.effort.push_back(tau_max * 2 * std::numbers::pi * sum * (ro - ri) / 4000);
    test.line.push_back(static_cast<std::size_t>(i) + 2);
  }
  return test;
}

TEST(ShearCurve, WideRingIsFittedByItsIntegratedTorque) {
  const ShearRunFit fit = fit_exponential(clean_shear(ring_test(0.03, 0.09, 8e3, 0.010), nullptr, {}));
  ASSERT_TRUE(fit.ok()) << fit.status;
  EXPECT_TRUE(fit.integrated_torque);
  EXPECT_NEAR(fit.tau_max_pa / 8e3, 1, 1e-5);
  EXPECT_NEAR(fit.shear_modulus_m / 0.010, 1, 1e-5);
}

TEST(ShearCurve, NarrowRingNeedsNoIntegral) {
  const ShearRunFit fit = fit_exponential(clean_shear(ring_test(0.08, 0.10, 8e3, 0.010), nullptr, {}));
  ASSERT_TRUE(fit.ok()) << fit.status;
  EXPECT_FALSE(fit.integrated_torque);
  EXPECT_NEAR(fit.shear_modulus_m / 0.010, 1, 0.01);
}

TEST(ShearCurve, SlackOfTheDriveIsNotShearDisplacement) {
  ShearTest test = ring_test(0.08, 0.10, 8e3, 0.010);
  for (double& angle : test.travel) angle += 0.06;
  for (int i = 2; i >= 0; --i) {
    test.travel.insert(test.travel.begin(), 0.02 * i);
    test.effort.insert(test.effort.begin(), 0);
    test.line.insert(test.line.begin(), 0);
  }
  const ShearRunFit fit = fit_exponential(clean_shear(test, nullptr, {}));
  ASSERT_TRUE(fit.ok());
  EXPECT_NEAR(fit.shear_modulus_m / 0.010, 1, 0.01);
}

TEST(ShearCurve, RunThatEndsBeforeLevellingOffSaysSo) {
  ShearTest test = ring_test(0.08, 0.10, 8e3, 0.050);
  const ShearRunFit fit = fit_exponential(clean_shear(test, nullptr, {}));
  EXPECT_TRUE(fit.k_not_bracketed);
}

TEST(ShearCurve, BoxAndPlateUseTheirOwnArea) {
  ShearTest test;
  test.source = {.id = "b"};
  test.tool = ShearTool::box;
  test.length_m = 0.06;
  test.width_m = 0.06;
  test.vertical_load_n = 36;
  test.travel = {0, 0.001, 0.002, 0.004};
  test.effort = {0, 9, 14, 17};
  const ShearCurve curve = clean_shear(test, nullptr, {});
  EXPECT_NEAR(curve.normal_stress_pa, 10e3, 1e-6);
  EXPECT_NEAR(curve.stress_pa[3], 17 / 0.0036, 1e-9);
}

// Truth by Wong (1983) with the published shape; 1 % noise.
TEST(ShearCurve, PeakAndResidualAreRecoveredWhereTheDataShowAPeak) {
  const soil::Shear law{.law = soil::ShearLaw::peak_residual,
                        .cohesion_pa = 20e3,
                        .tan_phi = 0,
                        .shear_modulus_m = 0.010,
                        .residual_ratio = 0.6};
  ShearTest test;
  test.source = {.id = "p"};
  test.tool = ShearTool::plate;
  test.length_m = test.width_m = 0.1;
  test.vertical_load_n = 100;
  const math::Stream noise(3, 1);
  for (std::size_t i = 0; i <= 100; ++i) {
    const double j = 0.0008 * static_cast<double>(i);
    test.travel.push_back(j);
    test.effort.push_back(0.01 * soil::shear_stress_pa(law, 0, j) * (1 + 0.01 * noise.normal(i)));
    test.line.push_back(i + 2);
  }
  const ShearCurve curve = clean_shear(test, nullptr, {});
  EXPECT_TRUE(shows_a_peak(curve));
  const ShearRunFit fit = fit_peak_residual(curve);
  ASSERT_TRUE(fit.ok()) << fit.status;
  EXPECT_NEAR(fit.tau_max_pa / 20e3, 1, 0.02);
  EXPECT_NEAR(fit.residual_ratio, 0.6, 0.02);
  EXPECT_NEAR(fit.shear_modulus_m / 0.010, 1, 0.05);
  // The true peak lies above tau_max; found independently by scanning the truth.
  double peak = 0;
  for (int i = 0; i < 100000; ++i) peak = std::max(peak, soil::shear_stress_pa(law, 0, 1e-6 * i));
  EXPECT_GT(peak, 20e3);
  EXPECT_NEAR(fit.peak_pa / peak, 1, 0.02);
}

TEST(ShearCurve, RisingRunShowsNoPeak) {
  EXPECT_FALSE(shows_a_peak(clean_shear(ring_test(0.08, 0.10, 8e3, 0.010), nullptr, {})));
}

}  // namespace
}  // namespace hardpan::records
