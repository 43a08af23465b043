// SPDX-License-Identifier: Apache-2.0
#include "records/plate_fit.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "fitting/fit.hpp"
#include "math/random.hpp"
#include "records/detail/plate_estimators.hpp"
#include "records/ground_test_campaign.hpp"

namespace hardpan::records {
namespace {

using testing::simulate;
using testing::Truth;

// No scatter at all: every estimator must return the truth.
Truth exact() {
  return {.sd_level = 0,
          .sd_contrast = 0,
          .sd_n = 0,
          .sd_c = 0,
          .sd_tan_phi = 0,
          .sd_ln_k = 0,
          .reading = 0,
          .push = 0,
          .run = 0,
          .offset_m = 0};
}

TEST(PlateFit, ClassicalFitsReturnAnExactPowerLaw) {
  std::vector<double> z, p;
  for (int i = 1; i <= 10; ++i) {
    z.push_back(0.01 * i);
    p.push_back(7e5 * std::pow(z.back(), 0.83));
  }
  for (const PowerFit& fit :
       {fit_log_log(z, p), fit_log_log_weighted(z, p), fit_unweighted(z, p), refit_modulus(z, p, 0.83)}) {
    EXPECT_TRUE(fit.ok()) << fit.status;
    EXPECT_NEAR(fit.n, 0.83, 1e-7);
    EXPECT_NEAR(fit.k / 7e5, 1, 1e-6);
  }
}

TEST(PlateFit, EveryEstimatorReturnsAnExactBekkerSoil) {
  const Truth truth = exact();
  base::Problems problems;
  const GroundResult result =
      reduce_ground(simulate(truth, {.points = 3, .shears = false}), {.beside = PlateEstimator::unweighted}, problems);
  const PlateZone& zone = *result.zones[0].plates;
  // kc = (K1 - K2) b1 b2 / (b2 - b1), kphi = K1 - kc / b1 with K = p(z0) / z0^n.
  const double k1 = std::exp(truth.ln_p1) / std::pow(truth.z0, truth.n),
               k2 = std::exp(truth.ln_p2) / std::pow(truth.z0, truth.n);
  const double kc = (k1 - k2) * truth.b1 * truth.b2 / (truth.b2 - truth.b1), kphi = k1 - kc / truth.b1;
  ASSERT_EQ(zone.fits.size(), 3u);
  for (const PlateFit& fit : zone.fits) {
    ASSERT_TRUE(fit.ok()) << name(fit.estimator) << fit.status;
    EXPECT_EQ(fit.law, soil::PressureLaw::bekker);
    EXPECT_NEAR(fit.n, truth.n, 1e-6) << name(fit.estimator);
    EXPECT_NEAR(fit.bearing.first_modulus / kc, 1, 1e-5) << name(fit.estimator);
    EXPECT_NEAR(fit.bearing.second_modulus / kphi, 1, 1e-5) << name(fit.estimator);
  }
}

TEST(PlateFit, ReeceAndBekkerAreToldApartByAThirdWidth) {
  // Truth by Reece: p = (ck1 + gamma k2 b)(z/b)^n on three widths.
  const double ck1 = 20e3, gk2 = 900e3, n = 0.8;
  GroundRecords records = simulate(exact(), {.points = 4, .shears = false, .widths = {0.04, 0.08, 0.20}});
  const math::Stream noise(5, 1);
  std::size_t drawn = 0;
  for (PlateTest& test : records.plates) {
    const double b = test.plate.radius_m;
    for (std::size_t i = 0; i < test.sinkage_m.size(); ++i) {
      const double z = test.sinkage_m[i];
      test.load_n[i] = (ck1 + gk2 * b) * std::pow(z / b, n) * test.plate.area_m2() * (1 + 0.01 * noise.normal(drawn++));
    }
  }
  base::Problems problems;
  const GroundResult result = reduce_ground(records, {}, problems);
  const PlateZone& zone = *result.zones[0].plates;
  EXPECT_EQ(zone.choice.law, soil::PressureLaw::reece) << zone.choice.statement;
  EXPECT_NEAR(zone.chosen.bearing.first_modulus / ck1, 1, 0.05);
  EXPECT_NEAR(zone.chosen.bearing.second_modulus / gk2, 1, 0.05);
}

TEST(PlateFit, OrganicMatIsChosenWhereTheCurveIsOne) {
  // p = kp z + 4 mm z^2 / Dh with Dh = 2 b (Wong 1980).
  const double kp = 4e5, mm = 8e4 / 0.05;
  GroundRecords records = simulate(exact(), {.points = 4, .shears = false});
  const math::Stream noise(9, 1);
  std::size_t drawn = 0;
  for (PlateTest& test : records.plates) {
    const double b = test.plate.radius_m;
    for (std::size_t i = 0; i < test.sinkage_m.size(); ++i) {
      const double z = test.sinkage_m[i];
      test.load_n[i] = (kp * z + 2 * mm * z * z / b) * test.plate.area_m2() * (1 + 0.01 * noise.normal(drawn++));
    }
  }
  base::Problems problems;
  const GroundResult result = reduce_ground(records, {}, problems);
  const PlateZone& zone = *result.zones[0].plates;
  EXPECT_EQ(zone.choice.law, soil::PressureLaw::muskeg) << zone.choice.statement;
  EXPECT_NEAR(zone.chosen.bearing.first_modulus / kp, 1, 0.05);
  EXPECT_NEAR(zone.chosen.bearing.second_modulus / mm, 1, 0.05);
}

TEST(PlateFit, RelationIsNotChosenBelowThreePointsAndSaysSo) {
  base::Problems problems;
  const GroundResult result = reduce_ground(simulate({}, {.points = 2, .shears = false}), {}, problems);
  const LawChoice& choice = result.zones[0].plates->choice;
  EXPECT_NE(choice.statement.find("fewer than three points"), std::string::npos);
  for (const LawScore& score : choice.scores) EXPECT_FALSE(score.offered);
}

// The block solver against the general one: one point, two widths, fixed weights 1 / (rel p)^2.
TEST(PlateFit, BlockSolverAgreesWithTheGeneralLeastSquaresSolver) {
  const GroundRecords records = simulate({.offset_m = 0}, {.points = 1, .shears = false});
  const GroundSettings settings{.contact_offset_sd_m = 0};
  std::vector<PlateCurve> curves;
  for (const PlateTest& test : records.plates)
    curves.push_back(clean_plate(test, nullptr, {.absolute_error_pa = 0.0, .contact_offset_sd_m = 0}));
  std::vector<const PlateCurve*> seen = {&curves[0], &curves[1]};
  detail::PlateData data = detail::collect(seen, {.absolute_error_pa = 0.0, .contact_offset_sd_m = 0});
  for (detail::Push& push : data.pushes) {
    for (detail::Reading& r : push.readings) r.robust = 1;
  }
  const detail::Estimator estimator(data, settings);
  const detail::JointFit block = detail::solve_joint(data.pushes, {1}, estimator.problem(soil::PressureLaw::bekker));
  ASSERT_TRUE(block.ok);
  // The same stationarity: weights at the block solver's own fitted pressures.
  struct Row {
    double z, p, sd;
    bool second;
  };
  std::vector<Row> rows;
  for (const detail::Push& push : data.pushes) {
    for (const detail::Reading& r : push.readings) {
      const bool second = push.b == data.b2;
      const double m = std::exp((second ? block.ln_p_second : block.ln_p_first) + block.n * std::log(r.z / data.z0));
      rows.push_back({r.z, r.p, 0.05 * m, second});
    }
  }
  fitting::FitProblem problem{.parameters = {{.name = "lp1", .start = block.ln_p_first + 0.3},
                                             {.name = "lp2", .start = block.ln_p_second - 0.3},
                                             {.name = "n", .start = 1}}};
  problem.residuals = fitting::Residuals::each(rows.size(), [&]<class T>(std::size_t i, std::span<const T> x) {
    using std::exp;
    return T((exp(x[rows[i].second ? 1 : 0] + x[2] * std::log(rows[i].z / data.z0)) - rows[i].p) / rows[i].sd);
  });
  const fitting::FitResult general = fitting::fit(problem);
  ASSERT_TRUE(general.converged());
  EXPECT_NEAR(block.ln_p_first, general.parameters[0].value, 1e-7);
  EXPECT_NEAR(block.ln_p_second, general.parameters[1].value, 1e-7);
  EXPECT_NEAR(block.n, general.parameters[2].value, 1e-7);
}

TEST(PlateFit, StoneInOnePushMovesTheRobustFitLittleAndTheTrendLineMuch) {
  const Truth truth = exact();
  GroundRecords records = simulate(truth, {.points = 3, .shears = false});
  records.plates[0].load_n[9] *= 4;
  base::Problems problems;
  const GroundResult result = reduce_ground(records, {}, problems);
  const PlateZone& zone = *result.zones[0].plates;
  EXPECT_NEAR(zone.fits[0].n, truth.n, 0.005);
  EXPECT_NEAR(zone.fits[0].ln_p_first, truth.ln_p1 + truth.n * std::log(zone.fits[0].reference_depth_m / truth.z0), 0.01);
  EXPECT_GT(std::abs(zone.fits[2].ln_p_first - zone.fits[0].ln_p_first), 0.02);
  EXPECT_EQ(result.plate_curves[0].mark[9], Mark::spike);
  EXPECT_LT(result.plate_curves[0].fit_weight[9], 0.1);
}

TEST(PlateFit, ContactOffsetIsFoundWhereTheRecordAllowsIt) {
  GroundRecords records = simulate(exact(), {.points = 3, .shears = false});
  for (PlateTest& test : records.plates) {
    for (double& z : test.sinkage_m) {
      if (z > 0) z += 0.0005;
    }
  }
  // At 4 mm an offset of 0.5 mm moves p by 11 % (n dz / z): ten reading errors of 1 %.
  base::Problems problems;
  const GroundResult with = reduce_ground(records, {.relative_error = 0.01, .absolute_error_pa = 10}, problems);
  const GroundResult without =
      reduce_ground(records, {.relative_error = 0.01, .absolute_error_pa = 10, .contact_offset_sd_m = 0}, problems);
  // 0.5 mm is 1.7 prior standard deviations: the prior keeps a part of it, the rest must go.
  const double left = std::abs(with.zones[0].plates->chosen.n - 0.9),
               whole = std::abs(without.zones[0].plates->chosen.n - 0.9);
  EXPECT_GT(whole, 0.010);
  EXPECT_LT(left, 0.3 * whole);
}

TEST(PlateFit, PlatesOfNearlyEqualWidthAreRefusedByName) {
  base::Problems problems;
  const GroundResult result =
      reduce_ground(simulate({}, {.points = 4, .shears = false, .widths = {0.05, 0.055}}), {}, problems);
  const PlateZone& zone = *result.zones[0].plates;
  EXPECT_EQ(zone.chosen.law, soil::PressureLaw::single_plate);
  ASSERT_FALSE(zone.not_identified.empty());
  EXPECT_NE(zone.not_identified[0].find("nearly equal width"), std::string::npos);
}

TEST(PlateFit, SinkageOverLessThanHalfADecadeGivesNoExponent) {
  base::Problems problems;
  const GroundResult result =
      reduce_ground(simulate({}, {.points = 4, .shears = false}), {.window_from_m = 0.040, .window_to_m = 0.1}, problems);
  EXPECT_NE(result.zones[0].plates->status.find("half a decade"), std::string::npos);
  EXPECT_FALSE(result.zones[0].soil);
}

TEST(PlateFit, UnpairedPlatesWidenTheModuliAndSaySo) {
  base::Problems problems;
  const Truth truth;
  const GroundResult paired = reduce_ground(simulate(truth, {.points = 8, .shears = false}), {}, problems);
  const GroundResult unpaired =
      reduce_ground(simulate(truth, {.points = 16, .shears = false, .paired = false}), {}, problems);
  const Parameter* a = testing::find(paired.zones[0].plates->parameters, "kc");
  const Parameter* b = testing::find(unpaired.zones[0].plates->parameters, "kc");
  ASSERT_TRUE(a && b);
  // The same 16 pushes: pairing removes the scatter between points (0.20) from the contrast (0.06).
  EXPECT_GT(b->estimate.average_ground->width(), 1.5 * a->estimate.average_ground->width());
  EXPECT_NE(unpaired.zones[0].plates->not_identified[0].find("different points"), std::string::npos);
}

TEST(PlateFit, OddPointIsFlaggedWithItsReason) {
  GroundRecords records = simulate({}, {.points = 7, .shears = false});
  for (PlateTest& test : records.plates) {
    if (test.source.point == "P3") {
      for (double& f : test.load_n) f *= 4;
    }
  }
  base::Problems problems;
  const GroundResult result = reduce_ground(records, {}, problems);
  for (const PlatePoint& point : result.zones[0].plates->each_point) {
    EXPECT_EQ(point.flagged, point.point == "P3") << point.point << ": " << point.reason;
  }
}

}  // namespace
}  // namespace hardpan::records
