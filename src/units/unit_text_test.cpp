// SPDX-License-Identifier: Apache-2.0
#include "units/unit_text.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <ostream>

namespace hardpan::units {
namespace {

using D = Dimension;
constexpr double kPi = std::numbers::pi;
constexpr double kNone = -1.0;
// NIST SP 811 (2008), appendix B.8.
constexpr double kLbf = 4.4482216152605;

struct Good {
  const char* text;
  Dimension expected;
  double si;
  double plus_minus_si;  // kNone: none
};
void PrintTo(const Good& row, std::ostream* out) { *out << row.text; }

const Good kGood[] = {
    {"12.5 kPa", D::pressure, 12.5e3, kNone},
    {"12.5kPa", D::pressure, 12.5e3, kNone},
    {"1.8 psi", D::pressure, 1.8 * 6894.75729316836, kNone},
    {"1.8 PSI", D::pressure, 1.8 * 6894.75729316836, kNone},
    {"8 in +/- 0.1 in", D::length, 0.2032, 0.00254},
    {"8 +/- 0.1 in", D::length, 0.2032, 0.00254},
    {"(8 +/- 0.1) in", D::length, 0.2032, 0.00254},
    {"8 in +- 0.1 in", D::length, 0.2032, 0.00254},
    {"8\u00a0in \u00b1 0.1\u00a0in", D::length, 0.2032, 0.00254},
    {"8 in +/- 2 mm", D::length, 0.2032, 0.002},
    {"250 lbf +/- 3 %", D::force, 250 * kLbf, 7.5 * kLbf},
    {"-250 lbf +/- 3 %", D::force, -250 * kLbf, 7.5 * kLbf},
    {"20 % +/- 2 %", D::none, 0.20, 0.02},
    {"20 +/- 2 %", D::none, 0.20, 0.02},
    {"3 1/4 in", D::length, 0.08255, kNone},
    {"3-1/4 in", D::length, 0.08255, kNone},
    {"3\u00bc in", D::length, 0.08255, kNone},
    {"-3 1/4 in", D::length, -0.08255, kNone},
    {"3/8 in", D::length, 0.009525, kNone},
    {"1/2\"", D::length, 0.0127, kNone},
    {"5 ft 6 in", D::length, 1.6764, kNone},
    {"5' 6\"", D::length, 1.6764, kNone},
    {"5'6 1/2\"", D::length, 1.6891, kNone},
    {"12,5 kPa", D::pressure, 12.5e3, kNone},
    {"0,125 m", D::length, 0.125, kNone},
    {"1.25e3 N", D::force, 1250.0, kNone},
    {"1.25E+3 N", D::force, 1250.0, kNone},
    {"1.25 x 10^3 N", D::force, 1250.0, kNone},
    {"1.25\u00b710\u00b3 N", D::force, 1250.0, kNone},
    {"2.5e-2 m", D::length, 0.025, kNone},
    {"\u221212 \u00b0C", D::temperature, 261.15, kNone},
    {"64.4 degF", D::temperature, 291.15, kNone},         // 18 degC
    {"64.4 degF +/- 1.8 degF", D::temperature, 291.15, 1.0},
    {"20 degC +/- 1 K", D::temperature, 293.15, 1.0},
    {"25 deg", D::angle, 25.0 * kPi / 180.0, kNone},
    {"25\u00b0", D::angle, 25.0 * kPi / 180.0, kNone},
    {"100 % grade", D::angle, kPi / 4.0, kNone},
    // 93 m on 3,720 m (US Army course EN5622, Fig. 1-3): 2.5 %. 7, 30 and 45 % (same course; FM 5-33, from memory) are 4.00, 16.70 and 24.23 deg.
    {"1 in 40", D::angle, 0.02499479361892016, kNone},
    {"2.5 % grade", D::angle, 0.02499479361892016, kNone},
    {"7 % grade", D::angle, 0.06988600163464251, kNone},
    {"30 % grade", D::angle, 0.2914567944778671, kNone},
    {"45 % grade", D::angle, 0.4228539261329407, kNone},
    {"1 in 1", D::angle, kPi / 4.0, kNone},
    {"1:1", D::angle, kPi / 4.0, kNone},
    {"0.2", D::none, 0.2, kNone},
    {"20%", D::none, 0.2, kNone},
    {"60 rpm", D::angular_speed, 2.0 * kPi, kNone},
    {"10 mph", D::speed, 4.4704, kNone},
    {"36 km/h", D::speed, 10.0, kNone},
    {"80 Ah", D::charge, 288000.0, kNone},
    {"5 kWh", D::energy, 1.8e7, kNone},
    {"10 N m", D::energy, 10.0, kNone},
    {"10 ft-lb", D::torque, 10 * 0.3048 * kLbf, kNone},
    {"3 hp", D::power, 3 * 745.69987158227022, kNone},  // 550 ft lbf/s, SP 811 rounds to 745.6999
    {"5 1/s", D::frequency, 5.0, kNone},
    {"30 1/min", D::angular_speed, kPi, kNone},
    {"18 kN/m\u00b3", D::unit_weight, 18e3, kNone},
    {"115 lbf/ft3", D::unit_weight, 115 * kLbf / (0.3048 * 0.3048 * 0.3048), kNone},
    {"1650 kg/m3", D::density, 1650.0, kNone},
    {"4 MPa/m", D::pressure_gradient, 4e6, kNone},
    {"900 N m/deg", D::torsional_stiffness, 900 * 180.0 / kPi, kNone},
    {"1400 lb/in", D::stiffness, 1400 * kLbf / 0.0254, kNone},
    {"80 Wh/km", D::energy_per_distance, 288.0, kNone},
    {"1 g0", D::acceleration, 9.80665, kNone},
    {"1.62 m/s\u00b2", D::acceleration, 1.62, kNone},
    {"60 kg m^2", D::moment_of_inertia, 60.0, kNone},
    {"2 furlong", D::length, 402.336, kNone},  // 660 US survey feet in some tables, see below
    {"760 mmHg", D::pressure, 101325.0, kNone},
};

class TypedValue : public testing::TestWithParam<Good> {};
TEST_P(TypedValue, IsReadInSi) {
  const Good& row = GetParam();
  const QuantityText q = parse_quantity(row.text, row.expected);
  ASSERT_TRUE(q.ok()) << row.text << ": " << q.error << "; " << q.remedy;
  // 3e-6: the survey foot of 1893 differs from the foot of 1959 by 2e-6, the conventional millimetre
  // of mercury from the torr by 1.4e-7; all other factors are exact to rounding.
  const std::string text = row.text;
  const double tolerance = text.find("furlong") != std::string::npos || text.find("mmHg") != std::string::npos ? 3e-6 : 1e-13;
  EXPECT_NEAR(q.si, row.si, tolerance * std::abs(row.si)) << row.text;
  ASSERT_EQ(q.plus_minus_si.has_value(), row.plus_minus_si != kNone) << row.text;
  if (q.plus_minus_si) {
    EXPECT_NEAR(*q.plus_minus_si, row.plus_minus_si, 1e-10 * row.plus_minus_si) << row.text;
  }
}
INSTANTIATE_TEST_SUITE_P(UnitText, TypedValue, testing::ValuesIn(kGood));

struct Bad {
  const char* text;
  Dimension expected;
  const char* error_has;
  const char* remedy_has;
};
void PrintTo(const Bad& row, std::ostream* out) { *out << '"' << row.text << '"'; }

const Bad kBad[] = {
    {"12.5", D::pressure, "no unit", "'12.5 kPa'"},
    {"0", D::length, "no unit", "write for example"},
    {"", D::length, "no value", "write for example"},
    {"   ", D::length, "no value", "write for example"},
    {"kPa", D::pressure, "no number", "number"},
    {"25 %", D::angle, "a ratio, an angle is expected", "% grade"},
    {"25% grade", D::none, "an angle, a ratio is expected", "%"},
    {"110 lb", D::force, "a mass, a force is expected", "lbf"},
    {"50 kg", D::force, "a mass, a force is expected", "kgf"},
    {"0.4 t", D::force, "a mass, a force is expected", "tf"},
    {"110 lbf", D::mass, "a force, a mass is expected", "kg"},
    {"1.2 kN", D::mass, "a force, a mass is expected", "kg"},
    {"1,250 N", D::force, "may be a thousand", "decimal point"},
    {"1 250 N", D::force, "blank between thousands", "without separators"},
    {"1'250 N", D::force, "between thousands", "without separators"},
    {"1.250,5 N", D::force, "both a point and a comma", "without separators"},
    {"1,250,000 N", D::force, "between thousands", "without separators"},
    {"~5 kPa", D::pressure, "estimate", "+/-"},
    {"<5 kPa", D::pressure, "estimate", "+/-"},
    {"8 in +/-", D::length, "after +/-", "8 in +/- 0.1 in"},
    {"8 in +/- 0.1", D::length, "has no unit", "8 in +/- 0.1 in"},
    {"8 in +/- -0.1 in", D::length, "negative", "size"},
    {"8 in +/- 0.1 in +/- 0.2 in", D::length, "not one number", "+/-"},
    {"8 in +/- 0.1 kPa", D::length, "a pressure, a length is expected", "3 1/4 in"},
    {"(8 in +/- 0.1) in", D::length, "inside and behind", "(8 +/- 0.1) in"},
    {"12/5 in", D::length, "no proper fraction", "decimal"},
    {"3 4/0 in", D::length, "no proper fraction", "decimal"},
    {"12 5 kPa", D::pressure, "two numbers", "one number"},
    {"5.5 ft 6 in", D::length, "feet with a fraction", "whole feet"},
    {"1e400 N", D::force, "outside the range", "exponent"},
    {"1e308 MPa", D::pressure, "outside the range", "exponent"},
    {"nan kPa", D::pressure, "no number", "number"},
    {"inf N", D::force, "no number", "number"},
    {"12.5 kPa kPa", D::pressure, "no quantity this program knows", "unit"},
    {"12.5 quux", D::pressure, "not a unit this program reads", "spelling"},
    {"3 oz", D::mass, "may be a mass", "ozm"},
    {"5 mph", D::pressure, "a speed, a pressure is expected", "12.5 kPa"},
    {"0x10 m", D::length, "multiplies a unit", "numbers are in"},
};

class TypedValueThatIsNoAnswer : public testing::TestWithParam<Bad> {};
TEST_P(TypedValueThatIsNoAnswer, IsRefusedWithARemedy) {
  const Bad& row = GetParam();
  const QuantityText q = parse_quantity(row.text, row.expected);
  EXPECT_FALSE(q.ok()) << row.text << " was read as " << q.si;
  EXPECT_TRUE(std::isnan(q.si));
  EXPECT_NE(q.error.find(row.error_has), std::string::npos) << row.text << ": " << q.error;
  EXPECT_NE(q.remedy.find(row.remedy_has), std::string::npos) << row.text << ": " << q.remedy;
}
INSTANTIATE_TEST_SUITE_P(UnitText, TypedValueThatIsNoAnswer, testing::ValuesIn(kBad));

TEST(UnitText, TwentyFivePercentOfGradeIsNotTwentyFiveDegrees) {
  const QuantityText grade = parse_quantity("25 % grade", D::angle);
  ASSERT_TRUE(grade.ok());
  EXPECT_DOUBLE_EQ(std::tan(grade.si), 0.25);
  EXPECT_NEAR(grade.si * 180.0 / kPi, 14.036243467926479, 1e-13);  // arctan(1/4) in degrees
  EXPECT_DOUBLE_EQ(std::tan(parse_quantity("1 in 4", D::angle).si), 0.25);
}

TEST(UnitText, TheSpreadOfAGradeFollowsTheCurveOfTheTangent) {
  const QuantityText grade = parse_quantity("100 % grade +/- 1 % grade", D::angle);
  ASSERT_TRUE(grade.plus_minus_si);
  // d(arctan x)/dx = 1/(1 + x^2) = 1/2 at x = 1; the next term is third order in 0.01.
  EXPECT_NEAR(*grade.plus_minus_si, 0.005, 1e-6);
}

TEST(UnitText, PoundsStandForForceOnlyWhereTheRecordSaysSo) {
  const UnitRules rules{.mass_units_mean_standard_force = true};
  EXPECT_NEAR(parse_quantity("110 lb", D::force, rules).si, 110 * kLbf, 1e-10);
  EXPECT_NEAR(parse_quantity("50 kg +/- 1 kg", D::force, rules).si, 490.3325, 1e-10);
  EXPECT_NEAR(*parse_quantity("50 kg +/- 1 kg", D::force, rules).plus_minus_si, 9.80665, 1e-10);
  EXPECT_NEAR(parse_quantity("0.4 t", D::force, rules).si, 3922.66, 1e-9);
  EXPECT_NEAR(parse_quantity("100 lb/ft3", D::unit_weight, rules).si, 1570.8746 * 10.0, 0.001);  // SP 811: lbf/ft^3 = 157.0875 N/m^3
  EXPECT_DOUBLE_EQ(parse_quantity("50 kg", D::mass, rules).si, 50.0);
}

TEST(UnitText, ARefusalCarriesPlaceValueAndRemedy) {
  const QuantityText q = parse_quantity("25 %", D::angle);
  const base::Problem problem = refusal(q, "25 %", {.file = "campaign.toml", .key = "condition[0].slope"});
  const std::string text = problem.text();
  EXPECT_NE(text.find("campaign.toml: condition[0].slope: '%' is a ratio, an angle is expected (found \"25 %\")"), std::string::npos) << text;
  EXPECT_NE(text.find("% grade"), std::string::npos) << text;
}

}  // namespace
}  // namespace hardpan::units
