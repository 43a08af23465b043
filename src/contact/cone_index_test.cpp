// SPDX-License-Identifier: Apache-2.0
#include "contact/cone_index.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace hardpan::contact {
namespace {

// Expected numbers: the equations of Brixius 1987 (ASABE D497) and Wismer and Luth 1974 worked by hand at full
// precision from the same recollection of the constants; they test the coding, not the constants.
constexpr TyreOnCone kTractorTyre{.width_m = 0.467, .diameter_m = 1.65, .section_height_m = 0.35, .deflection_m = 0.07,
                                  .load_n = 20000, .cone_index_pa = 1.2e6};

TEST(ConeIndex, BrixiusGivesTheWorkedNumbersOfABiasPlyTyre) {
  EXPECT_NEAR(mobility_number(kTractorTyre), 50.006, 0.01);
  const ConeTraction low = brixius_bias_ply(kTractorTyre, 0.10), high = brixius_bias_ply(kTractorTyre, 0.20);
  EXPECT_NEAR(low.gross, 0.5012, 0.0005);
  EXPECT_NEAR(low.resistance, 0.0671, 0.0005);
  EXPECT_NEAR(low.net, 0.4341, 0.0005);
  EXPECT_NEAR(low.efficiency, 0.7796, 0.0005);
  EXPECT_NEAR(high.gross, 0.7190, 0.0005);
  EXPECT_NEAR(high.resistance, 0.0741, 0.0005);
  EXPECT_NEAR(high.net, 0.6449, 0.0005);
  EXPECT_NEAR(high.efficiency, 0.7175, 0.0005);
  EXPECT_TRUE(low.out_of_range.empty());
}

TEST(ConeIndex, WismerAndLuthGiveTheWorkedNumbersAtAWheelNumericOf30) {
  const ConeTraction low = wismer_luth(30.0, 0.10), high = wismer_luth(30.0, 0.20);
  EXPECT_NEAR(low.gross, 0.4451, 0.0005);
  EXPECT_NEAR(low.resistance, 0.08, 0.0005);
  EXPECT_NEAR(low.net, 0.3651, 0.0005);
  EXPECT_NEAR(low.efficiency, 0.7382, 0.0005);
  EXPECT_NEAR(high.gross, 0.6260, 0.0005);
  EXPECT_NEAR(high.resistance, 0.08, 0.0005);
  EXPECT_NEAR(high.net, 0.5460, 0.0005);
  EXPECT_NEAR(high.efficiency, 0.6978, 0.0005);
}

TEST(ConeIndex, SaysWhichRatioLeavesTheFittedRange) {
  TyreOnCone tyre = kTractorTyre;
  tyre.deflection_m = 0.02;
  const ConeTraction t = brixius_bias_ply(tyre, 0.7);
  ASSERT_EQ(t.out_of_range.size(), 2U);
  EXPECT_NE(t.out_of_range[0].find("delta/h"), std::string::npos);
  EXPECT_NE(t.out_of_range[1].find("slip"), std::string::npos);
}

TEST(ConeIndex, HasNoEfficiencyWhereThereIsNoGrossTraction) {
  EXPECT_TRUE(std::isnan(wismer_luth(30.0, 0.0).efficiency));
}

TEST(ConeIndex, WesNumericsAreTheWheelNumericTimesTheirShapeFactors) {
  // By hand: CI b d / W = 1.2e6 x 0.467 x 1.65 / 2e4 = 46.233; sqrt(0.2) / (1 + 0.467/3.3) = 0.39177.
  EXPECT_NEAR(wheel_numeric(kTractorTyre), 46.233, 1e-9);
  EXPECT_NEAR(clay_numeric(kTractorTyre), 46.233 * 0.391768, 1e-3);
  // 3 MPa/m x (0.77055)^1.5 / 2e4 x 0.2 = 20.29.
  EXPECT_NEAR(sand_numeric(kTractorTyre, 3e6), 3e6 * std::pow(0.77055, 1.5) / 2e4 * 0.2, 1e-9);
  EXPECT_NEAR(sand_numeric(kTractorTyre, 3e6), 20.292, 0.01);
}

}  // namespace
}  // namespace hardpan::contact
