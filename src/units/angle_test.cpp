// SPDX-License-Identifier: Apache-2.0
#include "units/angle.hpp"

#include <gtest/gtest.h>

#include <concepts>
#include <type_traits>

namespace hardpan::units {
namespace {

// Misuse that must not compile.
static_assert(!std::is_convertible_v<double, Angle>);
static_assert(!std::is_constructible_v<Angle, double>);
static_assert(!std::is_convertible_v<Angle, double>);
template <class A, class B>
concept Multiplies = requires(A a, B b) { a * b; };
template <class A, class B>
concept Adds = requires(A a, B b) { a + b; };
template <class A, class B>
concept Compares = requires(A a, B b) { a < b; };
static_assert(!Multiplies<Angle, Angle>);
static_assert(!Adds<Angle, double>);
static_assert(!Compares<Angle, double>);
static_assert(Multiplies<Angle, double> && Adds<Angle, Angle> && Compares<Angle, Angle>);

TEST(Angle, TwentyFivePercentOfGradeIsFourteenDegrees) {
  EXPECT_NEAR(Angle::from_grade_percent(25.0).deg(), 14.036243467926479, 1e-13);  // arctan(1/4) in degrees
  EXPECT_DOUBLE_EQ(Angle::from_grade_percent(25.0).tan(), 0.25);
  EXPECT_DOUBLE_EQ(Angle::from_grade_percent(100.0).deg(), 45.0);
}

TEST(Angle, ComesBackInTheUnitItWasGiven) {
  for (const double deg : {-90.0, -30.0, 0.0, 1e-9, 25.0, 180.0}) EXPECT_NEAR(Angle::from_deg(deg).deg(), deg, 1e-13);
  for (const double percent : {-60.0, 0.0, 4.0, 250.0}) EXPECT_NEAR(Angle::from_grade_percent(percent).grade_percent(), percent, 1e-11);
  EXPECT_EQ(Angle::from_rad(0.3).rad(), 0.3);
}

TEST(Angle, IsOrderedBySizeWhateverItsUnit) {
  EXPECT_LT(Angle::from_grade_percent(25.0), Angle::from_deg(25.0));
  EXPECT_GT(Angle::from_deg(30.0), Angle::from_rad(0.5));
  EXPECT_EQ(Angle(), Angle::from_deg(0.0));
}

TEST(Angle, AddsScalesAndDivides) {
  const Angle a = Angle::from_deg(20.0), b = Angle::from_deg(5.0);
  EXPECT_NEAR((a + b).deg(), 25.0, 1e-13);
  EXPECT_NEAR((a - b).deg(), 15.0, 1e-13);
  EXPECT_NEAR((-a).deg(), -20.0, 1e-13);
  EXPECT_NEAR((0.5 * a).deg(), 10.0, 1e-13);
  EXPECT_NEAR((a / 4.0).deg(), 5.0, 1e-13);
  EXPECT_NEAR(a / b, 4.0, 1e-14);
}

}  // namespace
}  // namespace hardpan::units
