// SPDX-License-Identifier: Apache-2.0
#include "performance/equilibrium.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "performance/travel.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

soil::Soil sand() {
  soil::Soil s;
  s.bearing = soil::bekker(1.0, 2000, 1.2e6);
  s.shear = soil::Shear{.cohesion_pa = 500, .tan_phi = std::tan(32 * kDeg), .shear_modulus_m = 0.015};
  return s;
}

// So stiff that the wheels hardly sink and T = DP r nearly holds: rigid ground in the limit.
soil::Soil firm() {
  soil::Soil s;
  s.bearing = soil::bekker(1.0, 0, 4e12);
  s.shear = soil::Shear{.cohesion_pa = 1e6, .tan_phi = 0.8, .shear_modulus_m = 2e-5};
  return s;
}

vehicle::Axle axle(const char* name, double x, double radius = 0.3) {
  vehicle::Axle a;
  a.name = name;
  a.position_x_m = x;
  a.track_width_m = 1;
  a.wheel = {.radius_m = radius, .width_m = 0.2};
  return a;
}

vehicle::Vehicle carrier() {
  vehicle::Vehicle v;
  v.id = "carrier";
  v.bodies = {{.mass_kg = 420, .cg_x_m = 0.62, .cg_y_m = 0, .cg_z_m = 0.55}};
  v.axles = {axle("rear", 0), axle("front", 1.3)};
  v.hitch = vehicle::Hitch{-0.2, 0.35};
  return v;
}

Machine machine(const vehicle::Vehicle& v, const soil::Soil& s, double g = 9.81) {
  base::Problems problems;
  const auto m = make_machine(v, s, g, soil::SlipSinkage::none, {}, problems);
  EXPECT_TRUE(m) << (problems.list().empty() ? "" : problems.list().front().text());
  return *m;
}

State solve(const Case& c) {
  Workspace space;
  State s;
  solve_cases({&c, 1}, {&s, 1}, space);
  return s;
}

// Independent of the solver's own bookkeeping: forces and moments of the converged state, about the ground
// point under the rear axle. The body leans by the difference of its sinkages: its centre of gravity goes ahead by h t, its axles by r t.
TEST(Equilibrium, ForcesAndMomentsOfTheAnswerBalance) {
  const Machine m = machine(carrier(), sand());
  for (const double slip : {0.05, 0.2, 0.5, -0.1, -0.4}) {
    for (const double gradient : {0.0, 0.15, -0.2}) {
      const State s = solve({.machine = &m, .slip_ratio = slip, .gradient_rad = gradient, .line_angle_rad = 0.1});
      ASSERT_TRUE(s.balanced()) << slip << " " << gradient << " " << name(s.status);
      const double down = s.hitch_pull_n * std::tan(0.1), w = m.weight_n;
      const double lean = (s.wheel[1].sinkage_m - s.wheel[0].sinkage_m) / 1.3;
      double load = 0, force = 0, moment = 0;
      for (std::size_t k = 0; k < 2; ++k) {
        const auto& a = s.wheel[k];
        load += 2 * a.load_n;
        force += 2 * a.pull_n;
        moment += 2 * (a.load_n * (m.axle[k].x_m + 0.3 * lean) + a.torque_n_m - a.pull_n * m.axle[k].arm_m);
      }
      EXPECT_NEAR(load, w * std::cos(gradient) + down, 1e-8 * w);
      EXPECT_NEAR(force, s.hitch_pull_n + w * std::sin(gradient), 1e-8 * w);
      EXPECT_NEAR(moment, w * (std::cos(gradient) * (m.cg_x_m + m.cg_z_m * lean) - std::sin(gradient) * m.cg_z_m) - s.hitch_pull_n * m.hitch_height_m + down * m.hitch_x_m,
                  1e-7 * w);
    }
  }
}

// By hand, on springs of 20 kN/m a wheel on firm ground, nose up 20 deg: with K = 40 kN/m an axle the lean beyond that of the level is
// t = (N_f - N_r) / (K L) - t0, and N_f L = W (l cos a - h sin a) + t W cos a (h - r) + own, the soil's own moment being that of the answer.
TEST(Equilibrium, LeansOnItsSpringsBeyondWhatItDoesOnTheLevel) {
  vehicle::Vehicle v = carrier();
  v.hitch.reset();   // the pull lies in the ground plane: it makes no moment
  const Machine rigid = machine(v, firm());
  for (vehicle::Axle& a : v.axles) a.suspension_n_per_m = 20e3;
  const Machine soft = machine(v, firm());
  const double w = soft.weight_n, h = 0.55, r = 0.3, length = 1.3, k = 40e3;
  const auto front_n = [&](const Machine& m, double gradient, double& own) {
    const State s = solve({.machine = &m, .slip_ratio = 1e-5, .gradient_rad = gradient});
    EXPECT_TRUE(s.balanced()) << name(s.status);
    own = 0;
    for (std::size_t i = 0; i < 2; ++i) own -= 2 * (s.wheel[i].torque_n_m - s.wheel[i].pull_n * m.axle[i].arm_m);
    return 2 * s.wheel[1].load_n;
  };
  double own = 0;
  EXPECT_NEAR(front_n(soft, 0, own), front_n(rigid, 0, own), 2e-5 * w);   // the own moment leans it a little
  const double a = 20 * kDeg, still = front_n(rigid, a, own) - own / length;
  EXPECT_NEAR(still, w * (std::cos(a) * 0.62 - std::sin(a) * h) / length, 1e-5 * w);
  const double leaning = front_n(soft, a, own), level = w * 0.62 / length;
  const double t0 = (2 * level - w) / (k * length), lever = w * std::cos(a) * (h - r);
  EXPECT_NEAR(leaning, (still * length + own - lever * (w * std::cos(a) / (k * length) + t0)) / (length - 2 * lever / (k * length)), 1e-5 * w);
  EXPECT_LT(leaning - own / length, still - 10);   // 17 N by hand
}

// Worked problem "vehicle standing on a slope" (Automobile engineering text, Example 31.6; numbers by moments about
// the contacts): weight 49 050 N, 10 deg, wheelbase 2.25 m, centre of gravity 1.0 m ahead of the rear axle and 1.5 m high.
TEST(Equilibrium, SharesLoadsOnAFirmSlopeAsTheTextbookDoes) {
  vehicle::Vehicle v = carrier();
  v.bodies = {{.mass_kg = 5000, .cg_x_m = 1.0, .cg_y_m = 0, .cg_z_m = 1.5}};
  v.axles = {axle("rear", 0, 0.4), axle("front", 2.25, 0.4)};
  v.hitch.reset();
  base::Problems problems;
  const auto on = on_soil(v, firm(), 9.81, soil::SlipSinkage::none, {}, problems);
  ASSERT_TRUE(on);
  Workspace space;
  Travel t;
  travels({&*on, 1}, 10 * kDeg, 0, {&t, 1}, space);
  ASSERT_TRUE(t.goes) << name(t.factor);
  EXPECT_NEAR(2 * t.state.wheel[0].load_n, 32514, 30);
  EXPECT_NEAR(2 * t.state.wheel[1].load_n, 15791, 30);
}

// tan(a) = cg ahead of the rear axle over its height: overturns rearward at 33.69 deg in the same problem.
TEST(Equilibrium, TipsRearwardWhereTheTextbookSaysItOverturns) {
  vehicle::Vehicle v = carrier();
  v.bodies = {{.mass_kg = 5000, .cg_x_m = 1.0, .cg_y_m = 0, .cg_z_m = 1.5}};
  v.axles = {axle("rear", 0, 0.4), axle("front", 2.25, 0.4)};
  v.hitch.reset();
  const Machine m = machine(v, firm());
  const auto status = [&](double a) { return solve({.machine = &m, .slip_ratio = 0.02, .gradient_rad = a}).status; };
  // The hitch lies in the ground plane: the net pull makes no moment.
  EXPECT_EQ(status(33.3 * kDeg), StateStatus::balanced);
  EXPECT_EQ(status(34.1 * kDeg), StateStatus::tips_rearward);
}

TEST(Equilibrium, GradientAndPullAreTwoWordsForOneState) {
  const Machine m = machine(carrier(), sand());
  const State climb = solve({.machine = &m, .slip_ratio = 0.25, .question = Question::gradient});
  ASSERT_TRUE(climb.balanced());
  const State back = solve({.machine = &m, .slip_ratio = 0.25, .gradient_rad = climb.gradient_rad});
  ASSERT_TRUE(back.balanced());
  EXPECT_NEAR(back.hitch_pull_n, 0, 1e-7 * m.weight_n);
}

TEST(Equilibrium, ThreeAxlesShareByStiffnessAndLieOnOneLine) {
  vehicle::Vehicle v = carrier();
  v.axles = {axle("rear", 0), axle("middle", 0.6), axle("front", 1.3)};
  const Machine m = machine(v, sand());
  const State s = solve({.machine = &m, .slip_ratio = 0.2});
  ASSERT_TRUE(s.balanced()) << name(s.status) << " after " << s.solve.steps;
  // A rigid body: sinkages at the axles are linear in x.
  const double z0 = s.wheel[0].sinkage_m, z2 = s.wheel[2].sinkage_m;
  EXPECT_NEAR(s.wheel[1].sinkage_m, z0 + (z2 - z0) * 0.6 / 1.3, 1e-7);
  double load = 0;
  for (std::size_t k = 0; k < 3; ++k) load += 2 * s.wheel[k].load_n;
  EXPECT_NEAR(load, m.weight_n, 1e-7 * m.weight_n);
}

TEST(Equilibrium, AnsweringManyAtOnceChangesNoAnswer) {
  const Machine m = machine(carrier(), sand());
  std::vector<Case> cases;
  for (int i = 0; i < 37; ++i) cases.push_back({.machine = &m, .slip_ratio = 0.01 + 0.02 * i, .question = i % 2 ? Question::gradient : Question::pull});
  std::vector<State> together(cases.size());
  Workspace space;
  solve_cases(cases, together, space);
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const State alone = solve(cases[i]);
    EXPECT_EQ(alone.status, together[i].status);
    EXPECT_EQ(alone.hitch_pull_n, together[i].hitch_pull_n);
    EXPECT_EQ(alone.gradient_rad, together[i].gradient_rad);
  }
}

// Plain repetition takes 6.75 on average here and at most 11; Broyden 5.1 and 7.
TEST(Equilibrium, TwoAxlesSettleInFewPasses) {
  int most = 0, sum = 0, count = 0;
  for (const soil::Soil& ground : {sand(), firm()}) {
    const Machine m = machine(carrier(), ground);
    for (const double slip : {0.01, 0.05, 0.2, 0.5, 0.9, -0.05, -0.3}) {
      for (const Question q : {Question::gradient, Question::pull}) {
        const State s = solve({.machine = &m, .slip_ratio = slip, .question = q});
        if (!s.balanced()) continue;
        most = std::max(most, s.solve.steps);
        sum += s.solve.steps;
        ++count;
      }
    }
  }
  ASSERT_GT(count, 20);
  EXPECT_LE(most, 8);
  EXPECT_LE(sum, 6 * count) << "mean " << static_cast<double>(sum) / count;
}

TEST(Equilibrium, ATowedWheelTakesNoTorqueAndResists) {
  const Machine m = machine(carrier(), sand());
  TorqueSlip t;
  const TorqueCase towed{.contact = &m.axle[0].contact, .load_n = 1000};
  TorqueSpace search;
  wheels_at_torque({&towed, 1}, {&t, 1}, search, contact::SimdTarget::best);
  ASSERT_TRUE(t.solve.converged());
  EXPECT_NEAR(t.wheel.torque_n_m, 0, 1e-6);
  EXPECT_LT(t.wheel.slip_ratio, 0);
  EXPECT_LT(t.wheel.pull_n, 0);
}

// Rear drive alone: the front wheels turn freely inside the equilibrium of the whole vehicle.
TEST(Equilibrium, AnUndrivenAxleOfAVehicleTakesNoTorque) {
  vehicle::Vehicle v = carrier();
  v.axles[1].drive.driven = false;
  const Machine m = machine(v, sand());
  const State s = solve({.machine = &m, .slip_ratio = 0.2});
  ASSERT_TRUE(s.balanced()) << name(s.status);
  EXPECT_NEAR(s.wheel[1].torque_n_m, 0, 1e-7 * m.weight_n);
  EXPECT_LT(s.wheel[1].pull_n, 0);
  EXPECT_LT(s.wheel[1].slip_ratio, 0);
  const Machine both = machine(carrier(), sand());
  const State all = solve({.machine = &both, .slip_ratio = 0.2});
  EXPECT_LT(s.hitch_pull_n, all.hitch_pull_n);
}

TEST(Equilibrium, SaysNotBracketedWhereNoSlipGivesTheTorque) {
  const Machine m = machine(carrier(), sand());
  TorqueSlip t;
  const TorqueCase far{.contact = &m.axle[0].contact, .load_n = 1000, .torque_n_m = 1e5};
  TorqueSpace search;
  wheels_at_torque({&far, 1}, {&t, 1}, search, contact::SimdTarget::best);
  EXPECT_FALSE(t.solve.converged());
  EXPECT_FALSE(t.wheel.carried());
}

TEST(Equilibrium, SaysBogsDownOnGroundThatCarriesNothing) {
  soil::Soil mud = sand();
  mud.bearing = soil::bekker(0.5, 0, 500);
  mud.shear = soil::Shear{.cohesion_pa = 200, .tan_phi = 0.05, .shear_modulus_m = 0.02};
  const Machine m = machine(carrier(), mud);
  const State s = solve({.machine = &m, .slip_ratio = 0.2});
  EXPECT_EQ(s.status, StateStatus::bogs_down);
  EXPECT_EQ(s.solve.status, base::SolveStatus::no_solution);
}

}  // namespace
}  // namespace hardpan::performance
