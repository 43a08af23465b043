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

// A following axle whose wheels, 200 mm wide, lie with this share of their width in the paths ahead.
vehicle::Vehicle beside(double share, std::size_t axles = 2) {
  vehicle::Vehicle v = carrier(axles);
  for (std::size_t k = 0; k + 1 < axles; ++k) v.axles[k].track_width_m = 1 + 2 * 0.2 * (1 - share);
  return v;
}

// By the other form of the wheel model, in which the load is found and not asked: at the depth of the wheel its two parts carry the load together, and pull
// and turn as much as it does.
TEST(Rut, AWheelPartlyInTheRutSharesOneDepthBetweenItsParts) {
  for (const auto rule : {soil::SlipSinkage::none, soil::SlipSinkage::stretch}) {
    for (const double share : {0.15, 0.4, 0.75}) {
      for (const double slip : {0.05, 0.2, -0.1}) {
        const Machine m = machine(beside(share), sand(), rule, kStiff);
        ASSERT_EQ(m.axle[0].path_of, 1u);
        EXPECT_NEAR(m.axle[0].path_share, share, 1e-12);
        const State s = solve({.machine = &m, .slip_ratio = slip});
        ASSERT_TRUE(s.balanced()) << name(s.status);
        const contact::Contact& whole = m.axle[0].contact;
        const double size = std::abs(slip), stretch = rule == soil::SlipSinkage::stretch ? (1 + size) / (1 - size / 2) : 1;
        const double zu = s.depth_m(1) / stretch, pu = whole.law.pressure_pa(zu), ku = std::max({kStiff.k0_pa_per_m + kStiff.au_pa_per_m2 * zu, pu / zu, whole.law.slope_pa_per_m(zu)});
        const double floor = stretch * (zu - pu / ku), depth = s.depth_m(0);
        EXPECT_NEAR(s.rut_floor_m[0], floor, 1e-9);
        contact::Contact in_rut = whole;
        in_rut.law = *soil::rut_floor(whole.law, zu, kStiff);
        const auto at = [&](const contact::Contact& c, double z) { return contact::wheel_at_entry_angle(c, std::acos(1 - z / c.radius_m), slip); };
        const contact::WheelAnswer out = at(whole, depth), in = at(in_rut, depth - floor);
        const auto sum = [&](double beside_it, double in_it) { return (1 - share) * beside_it + share * in_it; };
        EXPECT_NEAR(sum(out.load_n, in.load_n), s.wheel[0].load_n, 1e-7 * s.wheel[0].load_n) << share << " " << slip;
        EXPECT_NEAR(sum(out.pull_n, in.pull_n), s.wheel[0].pull_n, 1e-7 * s.wheel[0].load_n) << share << " " << slip;
        EXPECT_NEAR(sum(out.torque_n_m, in.torque_n_m), s.wheel[0].torque_n_m, 1e-7 * s.wheel[0].load_n) << share << " " << slip;
      }
    }
  }
}

TEST(Rut, FromBesideTheRutIntoItNothingLeaps) {
  double before = -1;
  for (const double share : {0.0, 0.012, 0.1, 0.3, 0.5, 0.7, 0.9, 0.988, 1.0}) {
    const Machine m = machine(beside(share), sand(), soil::SlipSinkage::none, kStiff);
    const State s = solve({.machine = &m, .slip_ratio = 0.2});
    ASSERT_TRUE(s.balanced()) << share;
    const double pull = s.net_force_n / m.weight_n;
    // It pulls less the more of it is in the rut: the model's known weakness, displacement counts anew on stiff ground.
    if (before > 0) { EXPECT_LT(pull, before) << share; }
    if (share == 0.012 || share == 1.0) { EXPECT_NEAR(pull, before, 0.0005) << share; }
    before = pull;
  }
}

TEST(Rut, TowedAndSharedTorqueAndThreeAxlesPartlyInTheRut) {
  vehicle::Vehicle towed = beside(0.6);
  towed.axles[0].drive.driven = false;
  vehicle::Vehicle shared = beside(0.6);
  shared.control = vehicle::DriveControl::shared_torque;
  for (const auto& [v, which] : {std::pair{towed, "towed rear"}, {shared, "shared torque"}, {beside(0.6, 3), "three axles"}}) {
    const Machine m = machine(v, sand(), soil::SlipSinkage::none, kStiff);
    for (const Question question : {Question::pull, Question::gradient}) {
      const State s = solve({.machine = &m, .slip_ratio = 0.04, .question = question});
      ASSERT_TRUE(s.balanced()) << which << ": " << name(s.status);
      EXPECT_GT(s.rut_floor_m[0], 0) << which;
      double sum = 0, torque = s.wheel[0].torque_n_m;
      for (std::size_t k = 0; k < s.axles; ++k) sum += 2 * s.wheel[k].load_n;
      EXPECT_NEAR(sum, m.weight_n * std::cos(s.gradient_rad), 1e-6 * m.weight_n) << which;
      if (!m.axle[0].driven) { EXPECT_NEAR(torque, 0, 1e-8 * m.weight_n) << which; }
      if (m.control == vehicle::DriveControl::shared_torque) { EXPECT_NEAR(torque, s.wheel[1].torque_n_m, 1e-8 * m.weight_n) << which; }
    }
  }
}

// At 10 % slip of the reference wheel, on its rut, the lighter front wheels cannot take its torque at any slip.
TEST(Rut, SharedTorqueSaysWhereTheOtherWheelSpins) {
  vehicle::Vehicle shared = beside(0.6);
  shared.control = vehicle::DriveControl::shared_torque;
  const Machine m = machine(shared, sand(), soil::SlipSinkage::none, kStiff);
  EXPECT_EQ(solve({.machine = &m, .slip_ratio = 0.1, .question = Question::gradient}).status, StateStatus::wheel_spins);
}

// On one floor two strips of a wheel are the wheel, rigid or flexible, whatever the guess.
TEST(Rut, TwoStripsOnOneFloorAreTheWholeWheel) {
  for (const bool flexible : {false, true}) {
    vehicle::Vehicle v = carrier(2);
    if (flexible) v.axles[0].wheel.flex = vehicle::Flex{.stiffness_n_per_m = 60e3};
    const contact::Contact whole = machine(v, sand(), soil::SlipSinkage::stretch, {}).axle[0].contact;
    for (const double share : {0.2, 0.5, 0.9}) {
      const Strips strips{strip_of(whole, 1 - share), strip_of(whole, share), 0};
      for (const double guess : {0.0, 0.5, 1.0}) {
        const StripCase c{.strips = &strips, .load_n = 1000, .slip_ratio = 0.2, .guess_share = guess};
        StripAnswer a;
        WheelBatch space;
        wheels_on_strips({&c, 1}, {&a, 1}, space, contact::SimdTarget::plain);
        const contact::WheelAnswer w = contact::wheel_at_load(whole, 1000, 0.2);
        ASSERT_TRUE(a.wheel.carried() && w.carried()) << flexible;
        EXPECT_NEAR(a.share_in_rut, share, 1e-8);
        EXPECT_NEAR(a.wheel.sinkage_m, w.sinkage_m, 1e-10);
        EXPECT_NEAR(a.wheel.pull_n, w.pull_n, 1e-6);
        EXPECT_NEAR(a.wheel.torque_n_m, w.torque_n_m, 1e-6);
      }
    }
  }
}

// A floor deeper than the part beside the rut lets the wheel down: it carries all.
TEST(Rut, APartAboveADeepFloorCarriesNothing) {
  const contact::Contact whole = machine(carrier(2), sand(), soil::SlipSinkage::none, {}).axle[0].contact;
  const Strips strips{strip_of(whole, 0.7), strip_of(whole, 0.3), 0.2};
  const StripCase c{.strips = &strips, .load_n = 300, .slip_ratio = 0.1};
  StripAnswer a;
  WheelBatch space;
  wheels_on_strips({&c, 1}, {&a, 1}, space, contact::SimdTarget::plain);
  const contact::WheelAnswer alone = contact::wheel_at_load(strips.beside, 300, 0.1);
  ASSERT_TRUE(a.wheel.carried());
  EXPECT_EQ(a.share_in_rut, 0);
  EXPECT_NEAR(a.wheel.pull_n, alone.pull_n, 1e-7);
  EXPECT_LT(a.wheel.sinkage_m, 0.2);
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
  const Machine partly = machine(beside(0.5, 3), sand(), soil::SlipSinkage::stretch, kStiff);
  const std::array<Case, 5> cases{Case{.machine = &four, .slip_ratio = 0.2}, {.machine = &partly, .slip_ratio = 0.2}, {.machine = &plain, .slip_ratio = 0.3, .question = Question::gradient},
                                  {.machine = &two, .slip_ratio = 0.15, .question = Question::gradient}, {.machine = &four, .slip_ratio = -0.2}};
  std::array<State, 5> together;
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
