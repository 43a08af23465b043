// SPDX-License-Identifier: Apache-2.0
#include "units/print.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>

#include "units/constants.hpp"
#include "units/unit_text.hpp"

namespace hardpan::units {
namespace {

using D = Dimension;
constexpr auto kSi = OutputUnits::si;
constexpr auto kUs = OutputUnits::us;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

TEST(Print, RoundsToSignificantDigitsAndKeepsZeros) {
  EXPECT_EQ(print_number(12.345), "12.3");
  EXPECT_EQ(print_number(12.0), "12.0");
  EXPECT_EQ(print_number(0.012345), "0.0123");
  EXPECT_EQ(print_number(1234.5), "1230");
  EXPECT_EQ(print_number(1234.5, 4), "1234");  // half to even, as the decimal 1234.5 is exact
  EXPECT_EQ(print_number(999.7), "1000");
  EXPECT_EQ(print_number(9.997), "10.0");
  EXPECT_EQ(print_number(-0.5), "-0.500");
  EXPECT_EQ(print_number(0.0), "0");
  EXPECT_EQ(print_number(2.80e-15), "0");   // the torque on a flat profile was told so
  EXPECT_EQ(print_number(2.5e-7), "2.50e-7");
  EXPECT_EQ(print_number(3.0e9), "3.00e9");
  EXPECT_EQ(print_number(kNan), "no value");
  EXPECT_EQ(print_number(std::numeric_limits<double>::infinity()), "no value");
  EXPECT_EQ(print_fixed(-0.04, 1), "0.0");
}

TEST(Print, ChoosesTheUnitByDimensionAndSize) {
  EXPECT_EQ(print_quantity(12.3e3, D::pressure, kSi), "12.3 kPa");
  EXPECT_EQ(print_quantity(12.3e3, D::pressure, kUs), "1.78 psi");  // 12300 / 6894.757
  EXPECT_EQ(print_quantity(0.0345, D::length, kSi), "34.5 mm");
  EXPECT_EQ(print_quantity(0.0345, D::length, kUs), "1.36 in");  // 0.0345 / 0.0254
  EXPECT_EQ(print_quantity(120.0, D::length, kSi), "120 m");
  EXPECT_EQ(print_quantity(1234.0, D::force, kSi), "1.23 kN");
  EXPECT_EQ(print_quantity(1234.0, D::force, kUs), "277 lbf");  // 1234 / 4.448222
  EXPECT_EQ(print_quantity(0.25, D::none, kSi), "0.250");
  EXPECT_EQ(print_quantity(291.15, D::temperature, kSi), "18.0 degC");
  EXPECT_EQ(print_quantity(291.15, D::temperature, kUs), "64.4 degF");
  EXPECT_EQ(print_quantity(4.4704, D::speed, kUs), "10.0 mph");
  EXPECT_EQ(print_quantity(kNan, D::speed, kUs), "no value");
  EXPECT_EQ(print_percent(0.1837), "18.4 %");
}

TEST(Print, AnIntervalHasOneUnitAndTheDecimalsItsWidthDeserves) {
  EXPECT_EQ(print_interval(11.9e3, 13.1e3, D::pressure, kSi), "11.9 to 13.1 kPa");
  EXPECT_EQ(print_interval(900.0, 1500.0, D::force, kSi), "0.90 to 1.50 kN");
  EXPECT_EQ(print_interval(0.0, kNan, D::force, kSi), "no value");
  EXPECT_EQ(print_with_interval(12.5e3, 11.9e3, 13.1e3, D::pressure, kSi), "12.5 kPa (11.9 to 13.1)");
  EXPECT_EQ(print_with_interval(12.5e3, kNan, 13.1e3, D::pressure, kSi), "12.5 kPa (no interval)");
  EXPECT_EQ(print_plus_minus(0.2032, 0.00254, D::length, kUs), "8.00 +/- 0.10 in");
}

TEST(Print, AModulusCarriesTheUnitItsExponentImplies) {
  // Dry sand of the Land Locomotion Laboratory as printed in both systems (Wong, Theory of Ground Vehicles; from
  // memory): n = 1.1, kc = 0.99 kN/m^(n+1) = 0.1 lbf/in^(n+1), kphi = 1528.43 kN/m^(n+2) = 3.9 lbf/in^(n+2).
  EXPECT_EQ(print_modulus(990.0, 1.1, ModulusKind::cohesion, kSi), "0.990 kN/m^2.1");
  EXPECT_EQ(print_modulus(990.0, 1.1, ModulusKind::cohesion, kUs, 1), "0.1 lbf/in^2.1");
  EXPECT_EQ(print_modulus(1528430.0, 1.1, ModulusKind::friction, kSi, 6), "1528.43 kN/m^3.1");
  EXPECT_EQ(print_modulus(1528430.0, 1.1, ModulusKind::friction, kUs, 2), "3.9 lbf/in^3.1");
  EXPECT_DOUBLE_EQ(modulus_factor(1.1, ModulusKind::cohesion, kSi), 1e3);
  // n = 0: a plain force over a length; 1 lbf/in = 175.1268 N/m (SP 811, B.8).
  EXPECT_NEAR(modulus_factor(0.0, ModulusKind::cohesion, kUs), 175.1268, 5e-5);
  EXPECT_EQ(print_modulus(kNan, 1.0, ModulusKind::friction, kSi), "no value");
}

D any_dimension() { return kDimensions[*rc::gen::inRange<std::size_t>(0, kDimensions.size())]; }

double any_value() {
  const double mantissa = *rc::gen::inRange(1000, 10000) / 1000.0 * (*rc::gen::arbitrary<bool>() ? 1.0 : -1.0);
  return mantissa * std::pow(10.0, *rc::gen::inRange(-6, 9));
}

RC_GTEST_PROP(Print, WhatIsPrintedIsReadBackWithinItsLastDigit, ()) {
  const D d = any_dimension();
  double value = any_value();
  if (d == D::temperature) value = std::abs(value);
  const OutputUnits units = *rc::gen::arbitrary<bool>() ? kSi : kUs;
  const int digits = *rc::gen::inRange(3, 18);
  const std::string text = print_quantity(value, d, units, digits);
  RC_LOG() << text << "\n";
  const QuantityText back = parse_quantity(text, d);
  RC_ASSERT(back.error == "");
  const Unit unit = output_unit(value, d, units);
  // Half a digit of the last place printed, and three roundings of the conversion.
  const double shown = std::abs(from_si(value, unit));
  const double half_digit = 0.5 * std::pow(10.0, std::floor(std::log10(shown)) - digits + 1) * unit.factor;
  const double rounding = 4e-16 * (std::abs(value) + std::abs(unit.offset));
  RC_ASSERT(std::abs(back.si - value) <= half_digit * 1.001 + rounding);
}

RC_GTEST_PROP(Print, PlusMinusIsReadBack, ()) {
  const D d = any_dimension();
  RC_PRE(d != D::temperature);
  const double value = any_value();
  const double half = std::abs(value) * *rc::gen::inRange(1, 900) / 1000.0;
  const OutputUnits units = *rc::gen::arbitrary<bool>() ? kSi : kUs;
  const std::string text = print_plus_minus(value, half, d, units);
  RC_LOG() << text << "\n";
  const QuantityText back = parse_quantity(text, d);
  RC_ASSERT(back.error == "");
  RC_ASSERT(back.plus_minus_si.has_value());
  // Two significant digits of the half-width; below 1e-12 of the unit everything prints as zero.
  const double floor = 0.6e-12 * output_unit(value, d, units).factor;
  RC_ASSERT(std::abs(*back.plus_minus_si - half) <= 0.051 * half + floor);
  RC_ASSERT(std::abs(back.si - value) <= 0.051 * half + floor + 4e-16 * std::abs(value));
}

RC_GTEST_PROP(UnitText, AnyTextIsReadOrRefusedWithAReasonAndNeverCrashes, ()) {
  static const char* const kPieces[] = {"12", "1,250", ".", ",", " ", "+/-", "\u00b1", "kPa", "in", "ft", "'", "\"", "(", ")", "/", "^", "-",
                                        "%", " grade", "1/4", "e5", "x10^", "\xff", "\u00b2", "N", "m", "lb", "#", "\u00bd", "1 in 4", "fathom", "[", "]", "_", "\0"};
  std::string text;
  const int count = *rc::gen::inRange(0, 9);
  for (int i = 0; i < count; ++i) text += kPieces[*rc::gen::inRange<std::size_t>(0, std::size(kPieces))];
  if (*rc::gen::arbitrary<bool>()) text += *rc::gen::arbitrary<std::string>();
  const QuantityText q = parse_quantity(text, any_dimension());
  RC_ASSERT(q.ok() == std::isfinite(q.si));
  RC_ASSERT(q.ok() != !q.remedy.empty());
  if (q.plus_minus_si) RC_ASSERT(std::isfinite(*q.plus_minus_si) && *q.plus_minus_si >= 0.0);
  const Heading heading = read_heading(text);
  RC_ASSERT(!heading.unit || heading.unit_text.has_value());
  for (const DecimalSign sign : {DecimalSign::point, DecimalSign::comma, DecimalSign::either}) {
    const NumberText number = parse_number(text, sign);
    RC_ASSERT((number.kind == NumberKind::refused) == !number.error.empty());
    if (number.is_number()) RC_ASSERT(std::isfinite(number.value));
  }
}

}  // namespace
}  // namespace hardpan::units
