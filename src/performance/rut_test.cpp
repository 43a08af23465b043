// SPDX-License-Identifier: Apache-2.0
// Following wheels on the floor of the rut (METHODS: wheel k meets the floor left by wheel k - 1 in the same track).
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>

#include "performance/equilibrium.hpp"
#include "performance/travel.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

soil::Soil sand(double n = 0.9) {
  soil::Soil s;
  s.bearing = soil::bekker(n, 2000, 0.9e6);
  s.shear = soil::Shear{.cohesion_pa = 500, .tan_phi = std::tan(32 * kDeg), .shear_modulus_m = 0.015};
  return s;
}
// Some ten times the slope of loading, as loops in sand show (common practice, no source).
constexpr soil::Reload kStiff{.k0_pa_per_m = 5e6, .au_pa_per_m2 = 50e6};

vehicle::Vehicle carrier(std::size_t axles) {
  vehicle::Vehicle v;
  v.id = "carrier";
  v.bodies = {{.mass_kg = 210.0 * static_cast<double>(axles), .cg_x_m = 0.6 * static_cast<double>(axles - 1), .cg_y_m = 0, .cg_z_m = 0.55}};
  for (std::size_t k = 0; k < axles; ++k) {
    vehicle::Axle a;
    a.name = "axle " + std::to_string(k + 1);
    a.position_x_m = 1.2 * static_cast<double>(k);
    a.track_width_m = 1;
    a.wheel = {.radius_m = 0.3, .width_m = 0.2};
    v.axles.push_back(a);
  }
  v.hitch = vehicle::Hitch{-0.2, 0.35};
  return v;
}

Machine machine(const vehicle::Vehicle& v, const soil::Soil& s, soil::SlipSinkage rule, const std::optional<soil::Reload>& rut) {
  base::Problems problems;
  const auto m = make_machine(v, s, 9.81, rule, {}, problems, rut);
  EXPECT_TRUE(m) << (problems.list().empty() ? "" : problems.list().front().text());
  return *m;
}

State solve(const Case& c) {
  Workspace space;
  State s;
  solve_cases({&c, 1}, {&s, 1}, space);
  return s;
}

double towed_resistance(const vehicle::Vehicle& v, const soil::Soil& s, const std::optional<soil::Reload>& rut) {
  base::Problems problems;
  const auto on = on_soil(v, s, 9.81, soil::SlipSinkage::none, {}, problems, rut);
  Workspace space;
  double coefficient = std::nan("");
  if (on) towed_resistance_coefficients({&*on, 1}, {&coefficient, 1}, space);
  return coefficient;
}

// Every wheel of a solved vehicle again, alone, on a floor laid by hand from what the wheels ahead left.
void expect_floors_by_hand(const Machine& m, const State& s, const std::string& which) {
  ASSERT_TRUE(s.balanced()) << which << ": " << name(s.status);
  double deepest = 0;
  for (std::size_t k = m.axles; k-- > 0;) {
    contact::Contact c = m.axle[k].contact;
    const double size = std::abs(s.wheel[k].slip_ratio);
    const double stretch = c.slip_sinkage == soil::SlipSinkage::stretch ? (1 + size) / (1 - size / 2) : 1;
    double floor = 0;
    if (deepest > 0) {
      // The reloading line by its own definition, in the law's depths: from (zu, pu) back with ku.
      const double zu = deepest / stretch, pu = c.law.pressure_pa(zu), ku = std::max({kStiff.k0_pa_per_m + kStiff.au_pa_per_m2 * zu, pu / zu, c.law.slope_pa_per_m(zu)});
      floor = stretch * (zu - pu / ku);
      c.law = *soil::rut_floor(c.law, zu, kStiff);
    }
    EXPECT_NEAR(s.rut_floor_m[k], floor, 1e-9) << which << " axle " << k;
    const contact::WheelAnswer alone = contact::wheel_at_load(c, s.wheel[k].load_n, s.wheel[k].slip_ratio);
    ASSERT_TRUE(alone.carried()) << which;
    EXPECT_NEAR(s.wheel[k].pull_n, alone.pull_n, 1e-6 * s.wheel[k].load_n) << which << " axle " << k;
    EXPECT_NEAR(s.wheel[k].sinkage_m, alone.sinkage_m, 1e-8) << which << " axle " << k;
    deepest = std::max(deepest, floor + alone.sinkage_m);
  }
  EXPECT_NEAR(s.deepest_m(), deepest, 1e-8) << which;
}

TEST(Rut, EveryWheelStandsOnTheFloorTheWheelsAheadLeft) {
  for (const std::size_t axles : {2u, 3u, 4u}) {
    for (const auto rule : {soil::SlipSinkage::none, soil::SlipSinkage::stretch}) {
      const Machine m = machine(carrier(axles), sand(), rule, kStiff);
      for (const double slip : {0.05, 0.2, 0.4, -0.1}) {
        for (const double gradient : {0.0, 0.1}) {
          const State s = solve({.machine = &m, .slip_ratio = slip, .gradient_rad = gradient});
          expect_floors_by_hand(m, s, std::to_string(axles) + " axles, slip " + std::to_string(slip));
        }
      }
    }
  }
}

TEST(Rut, TowedFrontAndSharedTorqueFindTheirFloorsToo) {
  vehicle::Vehicle towed = carrier(2);
  towed.axles[1].drive.driven = false;
  vehicle::Vehicle rear_towed = carrier(3);
  rear_towed.axles[0].drive.driven = false;
  vehicle::Vehicle shared = carrier(2);
  shared.control = vehicle::DriveControl::shared_torque;
  for (const auto& [v, which] : {std::pair{towed, "towed front"}, {rear_towed, "towed rear"}, {shared, "shared torque"}}) {
    const Machine m = machine(v, sand(), soil::SlipSinkage::none, kStiff);
    expect_floors_by_hand(m, solve({.machine = &m, .slip_ratio = 0.1}), which);
    const State climbing = solve({.machine = &m, .slip_ratio = 0.1, .question = Question::gradient});
    expect_floors_by_hand(m, climbing, which);
  }
}

TEST(Rut, WheelsInPathsOfTheirOwnMeetUntouchedGround) {
  vehicle::Vehicle v = carrier(2);
  v.axles[0].track_width_m = 0.6;
  const Machine with = machine(v, sand(), soil::SlipSinkage::stretch, kStiff), without = machine(v, sand(), soil::SlipSinkage::stretch, {});
  const State a = solve({.machine = &with, .slip_ratio = 0.2}), b = solve({.machine = &without, .slip_ratio = 0.2});
  ASSERT_TRUE(a.balanced());
  EXPECT_EQ(a.net_force_n, b.net_force_n);
  EXPECT_EQ(a.rut_floor_m[0], 0);
}

TEST(Rut, OverlapIsTheShareOfTheFollowingWheelsWidth) {
  const vehicle::Vehicle v = carrier(2);
  vehicle::Axle behind = v.axles[0], ahead = v.axles[1];
  EXPECT_DOUBLE_EQ(path_overlap(behind, ahead), 1);
  behind.track_width_m = 1.1;  // each wheel 50 mm further out, 200 mm wide
  EXPECT_NEAR(path_overlap(behind, ahead), 0.75, 1e-12);
  ahead.wheel.width_m = 0.1;
  EXPECT_NEAR(path_overlap(behind, ahead), 0.5, 1e-12);
  behind.track_width_m = 2;
  EXPECT_DOUBLE_EQ(path_overlap(behind, ahead), 0);
  ahead.track_width_m = behind.track_width_m = 1;
  behind.wheels = 1;  // on the centre plane, between the paths
  EXPECT_DOUBLE_EQ(path_overlap(behind, ahead), 0);
}

TEST(Rut, UnderASecondLayerEveryWheelMeetsUntouchedGround) {
  soil::Soil s = sand();
  s.bearing->below = soil::SecondLayer{.depth_m = 0.2, .n_below = 2};
  EXPECT_FALSE(machine(carrier(2), s, soil::SlipSinkage::none, kStiff).rut);
}

// Properties that hold whatever the numbers: the depth never falls from wheel to wheel, a following wheel of no greater load deepens
// the rut less than the first wheel made it, and the vehicle is towed more easily than on untouched ground.
TEST(Rut, DeepensFromWheelToWheelByLessAndLess) {
  int judged = 0;
  for (const double n : {0.5, 0.8, 1.0, 1.3}) {
    for (const double stiffer : {0.5, 1.0, 10.0}) {
      const soil::Reload reload{.k0_pa_per_m = stiffer * kStiff.k0_pa_per_m, .au_pa_per_m2 = stiffer * kStiff.au_pa_per_m2};
      vehicle::Vehicle v = carrier(4);
      v.bodies[0].mass_kg = 500;
      const Machine m = machine(v, sand(n), soil::SlipSinkage::none, reload);
      const State s = solve({.machine = &m, .slip_ratio = 0.1});
      ASSERT_TRUE(s.balanced()) << n;
      double before = 0;
      for (std::size_t k = 4; k-- > 0;) {
        EXPECT_GE(s.depth_m(k), before - 1e-9) << n << " axle " << k;
        if (k < 3) { EXPECT_LT(s.depth_m(k) - before, s.depth_m(3)) << n << " axle " << k; }
        before = s.depth_m(k);
      }
      // Ground that unloads no stiffer than it was loaded gives all its sinkage back; then there is no rut to follow.
      const double zu = s.depth_m(3), pu = m.axle[3].contact.law.pressure_pa(zu);
      if (reload.k0_pa_per_m + reload.au_pa_per_m2 * zu < 2 * pu / zu) continue;
      ++judged;
      EXPECT_LT(towed_resistance(v, sand(n), reload), towed_resistance(v, sand(n), {})) << n;
    }
  }
  EXPECT_GE(judged, 8);
}

TEST(Rut, AnswersOfABatchAreThoseAlone) {
  const Machine two = machine(carrier(2), sand(), soil::SlipSinkage::stretch, kStiff), four = machine(carrier(4), sand(1.1), soil::SlipSinkage::none, kStiff),
                plain = machine(carrier(3), sand(), soil::SlipSinkage::none, {});
  const std::array<Case, 4> cases{Case{.machine = &four, .slip_ratio = 0.2}, {.machine = &plain, .slip_ratio = 0.3, .question = Question::gradient},
                                  {.machine = &two, .slip_ratio = 0.15, .question = Question::gradient}, {.machine = &four, .slip_ratio = -0.2}};
  std::array<State, 4> together;
  Workspace space;
  solve_cases(cases, together, space);
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const State alone = solve(cases[i]);
    EXPECT_EQ(alone.net_force_n, together[i].net_force_n) << i;
    EXPECT_EQ(alone.deepest_m(), together[i].deepest_m()) << i;
  }
}

}  // namespace
}  // namespace hardpan::performance
