// SPDX-License-Identifier: Apache-2.0
// A vehicle standing on a slope, as a textbook of automobile engineering has it (Example 31.6; its printed answers were not seen,
// the numbers follow from moments about the contacts): weight 49 050 N, wheelbase 2.25 m, centre of gravity 1.0 m ahead of the rear
// axle and 1.5 m high, front uphill; on rigid ground with adhesion 0.35, all wheels driven or braked.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "performance/travel.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

OnSoil standing(double adhesion) {
  vehicle::Vehicle v;
  v.id = "example";
  v.bodies = {{.mass_kg = 5000, .cg_x_m = 1.0, .cg_y_m = 0, .cg_z_m = 1.5}};
  for (const double x : {0.0, 2.25}) {
    vehicle::Axle a;
    a.name = x == 0 ? "rear" : "front";
    a.position_x_m = x;
    a.track_width_m = 1.5;
    a.wheel = {.radius_m = 0.4, .width_m = 0.2};
    v.axles.push_back(a);
  }
  soil::Soil rigid;
  rigid.bearing = soil::single_plate(1.0, 1e17);  // sinks 0.01 um: rigid in the limit, resistance 0.0001 of the load
  rigid.shear = soil::Shear{.cohesion_pa = 1e6, .tan_phi = 0.5, .shear_modulus_m = 0.02};
  rigid.surface_friction = adhesion;
  base::Problems problems;
  const auto on = on_soil(v, rigid, 9.81, soil::SlipSinkage::none, {}, problems);
  EXPECT_TRUE(on);
  return *on;
}

TEST(WorkedSlope, AxlesCarryWhatMomentsAboutTheContactsGiveAtTenDegrees) {
  const OnSoil on = standing(0.35);
  Workspace space;
  Travel t;
  travels({&on, 1}, 10 * kDeg, 0, {&t, 1}, space);
  ASSERT_TRUE(t.goes) << name(t.factor);
  EXPECT_NEAR(2 * t.state.wheel[0].load_n, 32514, 30);
  EXPECT_NEAR(2 * t.state.wheel[1].load_n, 15791, 30);
}

// Wheels on rigid ground hold without sliding: torques add up to W sin a r, the work a metre is that of lifting. It used to be told with all the friction there is.
TEST(WorkedSlope, TakesTheWorkOfLiftingAndNoMore) {
  const OnSoil on = standing(0.35);
  Workspace space;
  for (const double slope : {2 * kDeg, 10 * kDeg, 18 * kDeg}) {
    Travel t;
    travels({&on, 1}, slope, 0, {&t, 1}, space);
    ASSERT_TRUE(t.goes) << name(t.factor);
    const double lift = 49050 * std::sin(slope);
    constexpr double kResistance = 1.2e-4 * 49050;   // of ground that is rigid but for 0.01 um
    EXPECT_NEAR(2 * (t.state.wheel[0].torque_n_m + t.state.wheel[1].torque_n_m), lift * 0.4, kResistance * 0.4);
    EXPECT_NEAR(t.energy_j_per_m, lift, kResistance);
    EXPECT_NEAR(t.slip_ratio, 0, 1e-9);
  }
}

// tan a = 1.0 / 1.5: 33.69 degrees.
TEST(WorkedSlope, OverturnsRearwardWhereTheCentreOfGravityStandsOverTheRearContact) {
  const OnSoil on = standing(1.2);
  Workspace space;
  const auto stands = [&](double gradient) {
    State s;
    states_at_slip({&on, 1}, 0.1, gradient, {&s, 1}, space);
    EXPECT_TRUE(s.balanced() || s.status == StateStatus::tips_rearward) << name(s.status) << " at " << gradient / kDeg;
    return s.balanced();
  };
  double lo = 20 * kDeg, hi = 45 * kDeg;
  ASSERT_TRUE(stands(lo) && !stands(hi));
  while (hi - lo > 1e-6) (stands(0.5 * (lo + hi)) ? lo : hi) = 0.5 * (lo + hi);
  EXPECT_NEAR(lo / kDeg, 33.69, 0.02);
}

// tan a = 0.35: 19.29 degrees, up with all wheels driven and down with all wheels braked.
TEST(WorkedSlope, SlidesWhereTheSlopeIsTheAdhesion) {
  const OnSoil on = standing(0.35);
  Workspace space;
  Gradient up, down;
  maximum_gradients({&on, 1}, {&up, 1}, space);
  maximum_descents({&on, 1}, {&down, 1}, space);
  EXPECT_NEAR(up.gradient_rad / kDeg, 19.29, 0.02);
  EXPECT_NEAR(-down.gradient_rad / kDeg, 19.29, 0.02);
  EXPECT_EQ(up.factor, LimitingFactor::traction);
  EXPECT_EQ(down.factor, LimitingFactor::run_away);
}

}  // namespace
}  // namespace hardpan::performance
