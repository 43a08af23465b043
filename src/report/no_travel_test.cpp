// SPDX-License-Identifier: Apache-2.0
#include "campaign/no_travel.hpp"

#include <gtest/gtest.h>

#include <numbers>

#include "report/detail/table_rows.hpp"
#include "report/detail/values.hpp"
#include "campaign/flattening.hpp"
#include "campaign/tips_to.hpp"

namespace hardpan::report::detail {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

std::string text_of(const io::TableCell& c) { return std::holds_alternative<std::string>(c) ? std::get<std::string>(c) : ""; }

// They stood in the tables as -1, 1, 0 and, of gradients only, as a word.
TEST(NoTravel, IsAWordInEveryTable) {
  EXPECT_EQ(text_of(cell(-1, kPullUnit)), "immobilised");
  EXPECT_EQ(text_of(cell(1, kTravelSlipUnit)), "immobilised");
  EXPECT_EQ(text_of(cell(0, kDescentUnit)), "none");
  EXPECT_EQ(text_of(cell(performance::kNoGradient, row_unit("rad"))), "immobilised");
  EXPECT_EQ(cell(-0.9, kPullUnit), io::TableCell{-0.9});
  EXPECT_EQ(cell(0.25, kTravelSlipUnit), io::TableCell{0.25});
  EXPECT_EQ(cell(0, row_unit("rad")), io::TableCell{0.0});   // the level is an angle
  EXPECT_EQ(cell(-1, row_unit("N")), io::TableCell{-1.0});
}

TEST(NoTravel, IsAWordInTheReport) {
  const Printer print(campaign::OutputUnits::si);
  EXPECT_EQ(print.value(0, kDescent), "none");
  EXPECT_EQ(print.value(0, kAngle), "0 deg");
  EXPECT_EQ(print.value(20 * kDeg, kDescent), "20.0 deg");
  EXPECT_EQ(print.value(-1, kPullCoefficient), "immobilised");
}

TEST(NoTravel, AMarginCountedFromItIsKnownAsSuch) {
  validation::Finding f;
  f.requirement.quantity = validation::Quantity::maximum_gradient;
  f.requirement.threshold_si = 10 * kDeg;
  f.margin_known = true;
  f.margin_si = performance::kNoGradient - 10 * kDeg;
  EXPECT_TRUE(campaign::margin_from_no_travel(f));
  f.margin_si = -12 * kDeg;   // stuck on the level, not on every slope
  EXPECT_FALSE(campaign::margin_from_no_travel(f));
  f.margin_si = performance::kNoGradient - 10 * kDeg;
  f.requirement.quantity = validation::Quantity::tip_angle;
  EXPECT_FALSE(campaign::margin_from_no_travel(f));
}

// Downhill is (cos, sin) of the fall line from the nose to the left. A pair with its tail downhill was told "forward: tractor first".
TEST(TipsTo, LeavesOutAnEdgeThatDoesNotPointDownhill) {
  using performance::TipEdge;
  EXPECT_EQ(campaign::tips_to(TipEdge::forward, 0, "fore first"), "forward: fore first");
  EXPECT_EQ(campaign::tips_to(TipEdge::forward, 45 * kDeg, "fore first"), "forward: fore first");
  EXPECT_EQ(campaign::tips_to(TipEdge::forward, 180 * kDeg, "tractor first"), "tractor first");
  EXPECT_EQ(campaign::tips_to(TipEdge::rearward, 90 * kDeg, "fore first"), "fore first");   // along the slope, not down it
  EXPECT_EQ(campaign::tips_to(TipEdge::right, 270 * kDeg, "trailer alone"), "to the right: trailer alone");
  EXPECT_EQ(campaign::tips_to(TipEdge::rearward, 0, ""), "rearward");   // one body: a hitch pull may tip it uphill
}

// 30 mm of a radius of 100 mm; of two sizes the smaller one that flattens, and a rigid wheel is none.
TEST(Flattening, IsTheShareOfTheSmallestRadiusThatFlattens) {
  performance::ProfileVehicle v;
  v.axles.resize(3);
  v.axles[0].radius_m = 0.2;
  v.axles[1].radius_m = 0.1;
  v.axles[2].radius_m = 0.05;
  v.axles[0].deflection_load = v.axles[1].deflection_load = {{0, 0}, {0.01, 100}};
  performance::Crossing c;
  EXPECT_FALSE(campaign::flattened_ratio(v, c));
  c.largest_deflection_m = 0.03;
  ASSERT_TRUE(campaign::flattened_ratio(v, c));
  EXPECT_NEAR(*campaign::flattened_ratio(v, c), 0.3, 1e-12);
  EXPECT_GT(*campaign::flattened_ratio(v, c), campaign::kMuchFlattened);
}

}  // namespace
}  // namespace hardpan::report::detail
