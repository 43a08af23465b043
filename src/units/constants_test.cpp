// SPDX-License-Identifier: Apache-2.0
#include "units/constants.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace hardpan::units {
namespace {

struct Published {
  const char* what;
  double ours;
  double published;
  double last_digit;  // half of the last digit printed there, or of a double's precision where exact
};

// NIST SP 811 (2008), appendix B.8, "Factors for units listed alphabetically".
const Published kRows[] = {
    {"pound-force, N", kPoundForce_n, 4.4482216152605, 1e-15},
    {"kilogram-force, N", kKilogramForce_n, 9.80665, 0.0},
    {"psi, Pa", kPsi_pa, 6894.757, 5e-4},
    {"pound-force per square foot, Pa", kPsf_pa, 47.88026, 5e-6},
    {"kilogram-force per square centimetre, Pa", kTechnicalAtmosphere_pa, 98066.5, 1e-10},
    {"horsepower (550 ft lbf/s), W", kHorsepower_w, 745.6999, 5e-5},
    {"horsepower (metric), W", kMetricHorsepower_w, 735.4988, 5e-5},
    {"mile, m", kMile_m, 1609.344, 1e-12},
    {"yard, m", kYard_m, 3.0 * kFoot_m, 1e-15},
    {"foot, m", kFoot_m, 12.0 * kInch_m, 1e-15},
    {"ounce (avoirdupois), kg", kOunce_kg, 0.028349523125, 1e-17},
    {"zero of the Fahrenheit scale, K", kFahrenheitZero_k, 273.15 - 32.0 * 5.0 / 9.0, 1e-12},
    {"degree, rad", kDegree_rad, 0.01745329251994330, 1e-17},
};

TEST(Constants, AgreeWithThePublishedFactors) {
  for (const Published& row : kRows) EXPECT_NEAR(row.ours, row.published, row.last_digit) << row.what;
}

TEST(Constants, GravityOfMoonAndMarsFollowsFromMassAndRadius) {
  // GM / R^2 with the mean radii and GM of the IAU and JPL tables (values from memory):
  // Moon 4.9028e12 m^3/s^2, 1737.4 km; Mars 4.2828e13 m^3/s^2, 3389.5 km. Local values vary by about 0.5 %.
  EXPECT_NEAR(kMoonGravity_mps2, 4.9028e12 / std::pow(1737.4e3, 2), 0.005 * 1.62);
  EXPECT_NEAR(kMarsGravity_mps2, 4.2828e13 / std::pow(3389.5e3, 2), 0.005 * 3.71);
}

}  // namespace
}  // namespace hardpan::units
