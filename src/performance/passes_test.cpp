// SPDX-License-Identifier: Apache-2.0
#include "performance/passes.hpp"

#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

// Some ten times the slope of loading, as loops in sand show (common practice, no source).
constexpr soil::Reload kStiff{.k0_pa_per_m = 5e6, .au_pa_per_m2 = 50e6};

struct Solved {
  Machine machine;
  State state;
};
Solved solve(const vehicle::Vehicle& v, const std::optional<soil::Reload>& rut, soil::SlipSinkage rule, double slip) {
  base::Problems problems;
  const auto m = make_machine(v, test::sand(), 9.81, rule, {}, problems, rut);
  EXPECT_TRUE(m);
  const Case c{.machine = &*m, .slip_ratio = slip};
  State s;
  Workspace space;
  solve_cases({&c, 1}, {&s, 1}, space);
  EXPECT_TRUE(s.balanced());
  return {*m, s};
}

// The equilibrium lays the floors of the first pass by itself (rut_test.cpp checks those by hand).
TEST(Passes, TheFirstPassIsThatOfTheEquilibriumInTheRut) {
  const vehicle::Vehicle v = test::carrier();
  for (const soil::SlipSinkage rule : {soil::SlipSinkage::none, soil::SlipSinkage::stretch}) {
    const Solved s = solve(v, kStiff, rule, 0.2);
    std::vector<PassDepth> depth(1);
    depth_by_pass(s.machine, s.state, kStiff, paths_of(v), depth);
    ASSERT_TRUE(depth[0].carried);
    EXPECT_NEAR(depth[0].loaded_m, s.state.deepest_m(), 1e-9);
  }
}

// By hand: the second pass of the front wheel meets the floor zr = zu - pu / ku of what the rear wheel left, by the reloading line's own definition.
TEST(Passes, EachPassBeginsOnTheFloorThatTheLastOneLeft) {
  const vehicle::Vehicle v = test::carrier();
  const Solved s = solve(v, kStiff, soil::SlipSinkage::none, 0.15);
  std::vector<PassDepth> depth(3);
  depth_by_pass(s.machine, s.state, kStiff, paths_of(v), depth);
  double zu = 0, loaded = 0;
  for (const PassDepth& pass : depth) {
    loaded = 0;
    for (const std::size_t axle : {std::size_t{1}, std::size_t{0}}) {
      contact::Contact c = s.machine.axle[axle].contact;
      double floor = 0;
      if (zu > 0) {
        const double pu = c.law.pressure_pa(zu), ku = std::max({kStiff.k0_pa_per_m + kStiff.au_pa_per_m2 * zu, pu / zu, c.law.slope_pa_per_m(zu)});
        floor = zu - pu / ku;
        c.law = *soil::rut_floor(c.law, zu, kStiff);
      }
      const double depth_here = floor + contact::wheel_at_load(c, s.state.wheel[axle].load_n, s.state.wheel[axle].slip_ratio).sinkage_m;
      zu = std::max(zu, depth_here);
      loaded = std::max(loaded, depth_here);
    }
    const contact::Contact& rear = s.machine.axle[0].contact;
    const double pu = rear.law.pressure_pa(zu), ku = std::max({kStiff.k0_pa_per_m + kStiff.au_pa_per_m2 * zu, pu / zu, rear.law.slope_pa_per_m(zu)});
    EXPECT_NEAR(pass.loaded_m, loaded, 1e-9);
    EXPECT_NEAR(pass.after_m, zu - pu / ku, 1e-9);
  }
  // Passes deepen the rut, ever less.
  EXPECT_GT(depth[1].after_m, depth[0].after_m);
  EXPECT_LT(depth[2].after_m - depth[1].after_m, depth[1].after_m - depth[0].after_m);
}

TEST(Passes, TheFloorNeverRisesFromPassToPass) {
  for (const double slip : {0.02, 0.2, 0.5}) {
    for (const soil::SlipSinkage rule : {soil::SlipSinkage::none, soil::SlipSinkage::stretch}) {
      const vehicle::Vehicle v = test::carrier();
      const Solved s = solve(v, std::nullopt, rule, slip);
      std::vector<PassDepth> depth(6);
      depth_by_pass(s.machine, s.state, kStiff, paths_of(v), depth);
      for (std::size_t p = 1; p < depth.size(); ++p) {
        ASSERT_TRUE(depth[p].carried);
        EXPECT_GE(depth[p].after_m, depth[p - 1].after_m - 1e-12);
        EXPECT_LE(depth[p].after_m, depth[p].loaded_m);
      }
    }
  }
}

// Ground that springs back carries the next wheel before it is pressed further; ground that stays down does not.
TEST(Passes, StifferUnloadingMakesRutsGrowMore) {
  const vehicle::Vehicle v = test::carrier();
  const Solved s = solve(v, std::nullopt, soil::SlipSinkage::none, 0.1);
  double before = 0;
  for (const double k0 : {2e6, 5e6, 20e6, 100e6}) {
    std::vector<PassDepth> depth(8);
    depth_by_pass(s.machine, s.state, {.k0_pa_per_m = k0, .au_pa_per_m2 = 0}, paths_of(v), depth);
    ASSERT_TRUE(depth[7].carried);
    const double growth = depth[7].loaded_m / depth[0].loaded_m;
    EXPECT_GT(growth, before);
    before = growth;
  }
  // A floor that never rebounds: the last wheel's depth is the next one's start.
  EXPECT_GT(before, 1.5);
}

TEST(Passes, WheelsApartRunEachInTheirOwnRut) {
  vehicle::Vehicle v = test::carrier();
  v.axles[0].track_width_m = 1.6;  // wheels of 0.2 m: no overlap
  EXPECT_EQ(paths_of(v)[0].axle, kOwnPath);
  EXPECT_EQ(paths_of(test::carrier())[0].axle, 1u);
  EXPECT_EQ(paths_of(test::carrier())[1].axle, kOwnPath);
  const Solved s = solve(v, std::nullopt, soil::SlipSinkage::none, 0.2);
  std::vector<PassDepth> depth(1);
  depth_by_pass(s.machine, s.state, kStiff, paths_of(v), depth);
  EXPECT_NEAR(depth[0].loaded_m, s.state.deepest_m(), 1e-9);  // untouched ground under both
}

TEST(Passes, AWheelPartlyInTheRutKeepsTwoFloors) {
  vehicle::Vehicle v = test::carrier();
  v.axles[0].track_width_m = v.axles[1].track_width_m + 0.5 * v.axles[0].wheel.width_m;   // a quarter of the width further out
  EXPECT_NEAR(paths_of(v)[0].share, 0.75, 1e-9);
  const Solved s = solve(v, kStiff, soil::SlipSinkage::none, 0.2);
  std::vector<PassDepth> depth(4), whole(4);
  depth_by_pass(s.machine, s.state, kStiff, paths_of(v), depth);
  ASSERT_TRUE(depth[3].carried);
  EXPECT_NEAR(depth[0].loaded_m, s.state.deepest_m(), 1e-9);
  for (std::size_t p = 1; p < depth.size(); ++p) EXPECT_GE(depth[p].after_m, depth[p - 1].after_m - 1e-12);
  // With all of its width in the rut it sinks no less: no part of it stands on firmer, untouched ground.
  depth_by_pass(s.machine, s.state, kStiff, paths_of(test::carrier()), whole);
  for (std::size_t p = 0; p < depth.size(); ++p) EXPECT_LE(depth[p].loaded_m, whole[p].loaded_m + 1e-9);
}

TEST(Passes, AWheelThatBogsDownHasNoDepth) {
  const vehicle::Vehicle v = test::carrier();
  Solved s = solve(v, kStiff, soil::SlipSinkage::none, 0.2);
  std::vector<PassDepth> depth(2);
  s.state.status = StateStatus::bogs_down;
  depth_by_pass(s.machine, s.state, kStiff, paths_of(v), depth);
  EXPECT_FALSE(depth[0].carried);
  EXPECT_TRUE(std::isnan(depth[0].loaded_m));
}

}  // namespace
}  // namespace hardpan::performance
