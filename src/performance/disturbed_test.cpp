// SPDX-License-Identifier: Apache-2.0
#include "performance/disturbed.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "performance/passes.hpp"
#include "performance/possible_runs.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

constexpr soil::Reload kStiff{.k0_pa_per_m = 5e6, .au_pa_per_m2 = 50e6};

Placed placed(const std::optional<DisturbedStrength>& disturbed, const std::optional<soil::Reload>& rut = kStiff, bool scatter = false) {
  Ground g{.zone = "bar", .centre = test::sand(), .rut = rut, .disturbed = disturbed};
  if (scatter) {
    soil::SoilDistribution d{.centre = g.centre, .bearing_dof = 7, .shear_dof = 7, .population = "points of the bar"};
    const double sd[] = {0.15, 0.15, 0.05, 150, 0.03, 0.15};
    for (std::size_t i = 0; i < soil::kCoordinates; ++i) {
      d.between_points[i][i] = sd[i] * sd[i];
      d.sampling[i][i] = sd[i] * sd[i] / 8;
    }
    g.distribution = d;
  }
  base::Problems problems;
  return *place_vehicle(test::carrier(), g, {.gravity_m_s2 = 9.81, .count = 64}, {}, problems);
}
double pull(const Placed& p) { return pull_coefficient_outcome(p, 0.2).centre; }

// The strength of untouched ground stated as that of the disturbed one changes no bit; a weaker one weakens the vehicle, a stronger one strengthens it.
TEST(Disturbed, TheUntouchedStrengthChangesNothingAndLessMakesLess) {
  const soil::Soil s = test::sand();
  const double as_it_is = pull(placed(std::nullopt));
  EXPECT_EQ(pull(placed(DisturbedStrength{s.shear->cohesion_pa, s.shear->tan_phi, s.shear->shear_modulus_m})), as_it_is);
  EXPECT_LT(pull(placed(DisturbedStrength{.tan_phi = 0.8 * s.shear->tan_phi})), as_it_is);
  EXPECT_LT(pull(placed(DisturbedStrength{.cohesion_pa = 0.0})), as_it_is);
  EXPECT_GT(pull(placed(DisturbedStrength{.shear_modulus_m = 0.5 * *s.shear->shear_modulus_m})), as_it_is);
}

TEST(Disturbed, OnlyFollowingWheelsInTheRutAreChanged) {
  const DisturbedStrength weak{.tan_phi = 0.3};
  const Placed p = placed(weak);
  EXPECT_EQ(p.centre.plain.axle[0].contact.tan_phi, 0.3);                       // rear: follows
  EXPECT_EQ(p.centre.plain.axle[1].contact.tan_phi, test::sand().shear->tan_phi);
  EXPECT_EQ(p.centre.sinking->axle[0].contact.tan_phi, 0.3);
  EXPECT_EQ(pull(placed(weak, std::nullopt)), pull(placed(std::nullopt, std::nullopt)));  // on untouched ground nothing follows
}

TEST(Disturbed, PossibleSoilsKeepTheirScatter) {
  const Placed p = placed(DisturbedStrength{.cohesion_pa = 250.0, .tan_phi = 0.5}, kStiff, true);
  ASSERT_FALSE(p.average.empty());
  for (const OnSoil& on : p.average) {
    EXPECT_NEAR(on.plain.axle[0].contact.tan_phi / on.plain.axle[1].contact.tan_phi, 0.5 / test::sand().shear->tan_phi, 1e-12);
    EXPECT_NEAR(on.plain.axle[0].contact.cohesion_pa / on.plain.axle[1].contact.cohesion_pa, 0.5, 1e-12);
  }
}

TEST(Disturbed, WithoutCohesionTheStatedOneStands) {
  soil::Soil dry = test::sand(0), draw = dry;
  draw.shear->tan_phi *= 1.1;
  draw.wheel_k_ratio = 1.2;
  const DisturbedStrength s = about({.cohesion_pa = 80, .tan_phi = 0.5, .shear_modulus_m = 0.02}, dry, draw);
  EXPECT_EQ(*s.cohesion_pa, 80);
  EXPECT_NEAR(*s.tan_phi, 0.55, 1e-12);
  EXPECT_NEAR(*s.shear_modulus_m, 0.024, 1e-12);
}

// From the second pass on the first wheel too meets disturbed ground: with less strength there every pass sinks deeper.
TEST(Disturbed, LaterPassesMeetItUnderEveryWheel) {
  const Placed p = placed(std::nullopt);
  Workspace space;
  State s;
  states_at_slip({&p.centre, 1}, 0.3, 0, {&s, 1}, space);
  ASSERT_TRUE(s.balanced());
  std::vector<PassDepth> untouched(3), weak(3);
  depth_by_pass(machine_of(p.centre, s), s, kStiff, paths_of(test::carrier()), untouched);
  depth_by_pass(machine_of(p.centre, s), s, kStiff, paths_of(test::carrier()), weak, DisturbedStrength{.cohesion_pa = 0.0, .tan_phi = 0.4});
  ASSERT_TRUE(weak[2].carried);
  EXPECT_GT(weak[2].after_m, untouched[2].after_m);
}

}  // namespace
}  // namespace hardpan::performance
