// SPDX-License-Identifier: Apache-2.0
#include "performance/placement.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

vehicle::Payload battery(double mass_kg, double x_m, std::optional<vehicle::Span> x) { return {.name = "battery", .mass_kg = mass_kg, .x_m = x_m, .z_m = 0.4, .x_allowed = x}; }

// By hand: 420 kg at 0.62 m and 60 kg at x: the middle of 1.30 m is reached at x = 0.65 + 420 x 0.03 / 60 = 0.86 m.
TEST(Placement, EvensTheWheelsOfTwoAxlesByPuttingTheCentreInTheMiddle) {
  vehicle::Vehicle v = test::carrier();
  v.payload = {battery(60, 0.3, vehicle::Span{0.1, 1.2})};
  base::Problems problems;
  const Trade t = placement_trade(v, 9.81, std::nullopt, problems);
  ASSERT_EQ(t.rows.size(), 2u);
  EXPECT_NEAR(t.rows[1].places[0].x_m, 0.86, 1e-4);
  EXPECT_NEAR(t.rows[1].largest_share, 1, 1e-4);
  EXPECT_GT(t.rows[0].largest_share, 1.05);
}

TEST(Placement, StopsAtTheEdgeOfWhatIsAllowed) {
  vehicle::Vehicle v = test::carrier();
  v.payload = {battery(60, 0.3, vehicle::Span{0.1, 0.7})};
  base::Problems problems;
  const Trade t = placement_trade(v, 9.81, std::nullopt, problems);
  EXPECT_NEAR(t.rows[1].places[0].x_m, 0.7, 1e-4);
}

TEST(Placement, LeavesWhatChangesNothingWhereItIs) {
  vehicle::Vehicle v = test::carrier();
  v.payload = {battery(60, 0.3, vehicle::Span{0.1, 1.2})};
  v.payload[0].z_allowed = vehicle::Span{0.2, 0.8};
  base::Problems problems;
  EXPECT_EQ(placement_trade(v, 9.81, std::nullopt, problems).rows[1].places[0].z_m, 0.4);
}

// No other allowed placement on a grid climbs steeper or loads the wheels more evenly than the ones found.
TEST(Placement, NoPlaceOnAGridIsBetter) {
  vehicle::Vehicle v = test::carrier();
  v.axles[0].wheel.width_m = 0.28;  // the rear carries better: neither end is trivially best
  v.payload = {battery(80, 0.5, vehicle::Span{0.1, 1.2})};
  v.payload[0].z_allowed = vehicle::Span{0.3, 0.6};
  base::Problems problems;
  const ClimbOn climb{test::sand(), soil::SlipSinkage::none, 0.2};
  const Trade t = placement_trade(v, 9.81, climb, problems);
  ASSERT_EQ(t.rows.size(), 6u);
  const double steepest = *t.rows.back().gradient_rad, evenest = t.rows[1].largest_share;
  Workspace space;
  for (int i = 0; i <= 10; ++i) {
    for (int k = 0; k <= 4; ++k) {
      vehicle::Vehicle other = v;
      other.payload[0].x_m = 0.1 + 1.1 * i / 10;
      other.payload[0].z_m = 0.3 + 0.3 * k / 4;
      Gradient g;
      const auto on = on_soil(other, climb.soil, 9.81, climb.slip_sinkage, {}, problems);
      gradients_at_slip({&*on, 1}, 0.2, {&g, 1}, space);
      EXPECT_LE(g.gradient_rad, steepest + 1e-5);
      const auto loads = vehicle::level_axle_loads_n(other, 9.81);
      EXPECT_GE(std::max(loads[0], loads[1]) / (0.5 * (loads[0] + loads[1])), evenest - 1e-5);
    }
  }
  for (const Placement& p : t.rows) {
    double sum = 0;
    for (const double n : p.wheel_load_n) sum += n;
    EXPECT_NEAR(sum, 500 * 9.81, 1e-6);
  }
}

TEST(Placement, WithoutMovableLoadsThereIsOneRow) {
  base::Problems problems;
  EXPECT_EQ(placement_trade(test::carrier(), 9.81, std::nullopt, problems).rows.size(), 1u);
}

}  // namespace
}  // namespace hardpan::performance
