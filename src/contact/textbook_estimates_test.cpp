// SPDX-License-Identifier: Apache-2.0
#include "contact/textbook_estimates.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace hardpan::contact {
namespace {

struct TowedCase {
  const char* soil;
  double n, kc, kphi;  // kN, m
  double sinkage_m, resistance_kn;
};

// Rigid wheel 5 kN, diameter 1.0 m, width 0.3 m; soils of the terrain-values table in Wong, Theory of Ground
// Vehicles (recalled). Expected: the closed form of Bekker 1956 evaluated by hand, rounded as given.
TEST(TextbookEstimate, BekkersTowedWheelGivesItsOwnWorkedNumbers) {
  const TowedCase cases[] = {
      {"dry sand", 1.1, 0.99, 1528.43, 0.0789, 1.0558},
      {"sandy loam 15 %", 0.7, 5.27, 1515.04, 0.0288, 0.6514},
      {"clayey soil 38 %", 0.5, 13.19, 692.15, 0.0272, 0.6593},
      {"Lete sand", 0.79, 102.0, 5301.0, 0.0139, 0.4465},
      {"Rubicon sandy loam 43 %", 0.66, 6.9, 752.0, 0.0452, 0.8214},
  };
  for (const TowedCase& c : cases) {
    const auto law = soil::depth_law(soil::bekker(c.n, c.kc * 1e3, c.kphi * 1e3), 0.3);
    ASSERT_TRUE(law) << c.soil;
    const auto wheel = bekker_towed_wheel(*law, 0.3, 1.0, 5000);
    ASSERT_TRUE(wheel) << c.soil;
    EXPECT_NEAR(wheel->sinkage_m, c.sinkage_m, 0.0002) << c.soil;
    EXPECT_NEAR(wheel->resistance_n, c.resistance_kn * 1e3, 3) << c.soil;
  }
}

// Lunar rover wheel as if rigid: 697 kg on four wheels at 1.62 m/s2, 0.82 m x 0.23 m, n = 1, kc = 1.4 kN/m2,
// kphi = 820 kN/m3 (values as published for lunar soil; the real wheel is flexible and sank less).
TEST(TextbookEstimate, BekkersTowedWheelGivesTheLunarWheelsNumbers) {
  const auto law = soil::depth_law(soil::bekker(1.0, 1400, 820000), 0.23);
  const double load = 697 * 1.62 / 4;
  EXPECT_NEAR(load, 282.3, 0.2);
  const auto wheel = bekker_towed_wheel(*law, 0.23, 0.82, load);
  EXPECT_NEAR(wheel->sinkage_m, 0.01823, 0.00005);
  EXPECT_NEAR(wheel->resistance_n, 31.57, 0.05);
  EXPECT_NEAR(wheel->resistance_n / load, 0.1118, 0.0005);
}

TEST(TextbookEstimate, BekkersFactorIsExactForExponentsZeroAndOneOnly) {
  const auto ratio = [](double n) {
    const soil::DepthLaw law{.k = 1e6, .n = n};
    return bekker_towed_wheel(law, 0.2, 0.6, 1000)->sinkage_m / small_sinkage_wheel(law, 0.2, 0.6, 1000).sinkage_m;
  };
  EXPECT_NEAR(ratio(1.0), 1.0, 1e-12);
  EXPECT_NEAR(ratio(0.5), 0.9425, 0.0005);  // by hand: (pi/4) / (5/6)
  EXPECT_NEAR(ratio(1.6), 1.1059, 0.0005);  // by hand: (0.46667 / 0.57652)^(-1/2.1)
  EXPECT_FALSE(bekker_towed_wheel({.k = 1e6, .n = 3.0}, 0.2, 0.6, 1000));
  EXPECT_FALSE(bekker_towed_wheel({.k = 1e6, .n = 1.0, .quadratic = 1e5}, 0.2, 0.6, 1000));
}

// Two tracks 1.0 m x 3.6 m under 135 kN; the inputs of Example 2.3 in Wong, Theory of Ground Vehicles (recalled), the
// expected numbers being its formulas at full precision.
TEST(TextbookEstimate, UniformTracksGiveTheNumbersOfWongsExample) {
  const auto law = soil::depth_law(soil::bekker(1.6, 4370, 196720), 1.0);
  const double pressure = 135e3 / 7.2;
  EXPECT_NEAR(pressure, 18750, 10);
  const TowedWheelEstimate track = uniform_track(*law, 1.0, pressure);
  EXPECT_NEAR(track.sinkage_m, 0.227, 0.0003);
  EXPECT_NEAR(2 * track.resistance_n, 3274, 20);
  const soil::Shear shear{.cohesion_pa = 1000, .tan_phi = std::tan(19.7 * std::numbers::pi / 180), .shear_modulus_m = 0.05};
  const auto thrust = [&](double slip) { return uniform_track_thrust_n(shear, 7.2, 3.6, 135e3, slip); };
  EXPECT_NEAR(thrust(0.05), 40530, 20);
  EXPECT_NEAR(thrust(0.10), 47830, 20);
  EXPECT_NEAR(thrust(0.20), 51680, 20);
  EXPECT_NEAR(thrust(0.40), 53610, 20);
  EXPECT_NEAR(thrust(0.60), 54250, 20);
  EXPECT_NEAR(thrust(0.80), 54570, 20);
  EXPECT_NEAR(thrust(1e9), 55540, 20);
  EXPECT_NEAR(thrust(0.20) - 2 * track.resistance_n, 48410, 30);
  EXPECT_EQ(thrust(0), 0);
}

}  // namespace
}  // namespace hardpan::contact
