// SPDX-License-Identifier: Apache-2.0
// Inner solves take no memory once their workspace has grown: operator new is counted while they run a second time. Sanitizers bring an operator new of their own.
#include <gtest/gtest.h>

#include <cstdlib>
#include <new>
#include <optional>
#include <span>
#include <vector>

#include "performance/crossing.hpp"
#include "performance/detail/body_stand.hpp"
#include "performance/test_chains.hpp"
#include "performance/tip_over.hpp"
#include "performance/travel.hpp"

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define HARDPAN_COUNTS_ALLOCATIONS 0
#else
#define HARDPAN_COUNTS_ALLOCATIONS 1
#endif

namespace {
thread_local std::size_t allocations = 0;
}

#if HARDPAN_COUNTS_ALLOCATIONS
[[gnu::noinline]] void* operator new(std::size_t size) {
  ++allocations;
  if (void* p = std::malloc(size ? size : 1)) return p;
  throw std::bad_alloc();
}
[[gnu::noinline]] void operator delete(void* p) noexcept { std::free(p); }
[[gnu::noinline]] void operator delete(void* p, std::size_t) noexcept { std::free(p); }
#endif

namespace hardpan::performance {
namespace {

// Allocations of the second of two runs.
template <class Run>
std::size_t second_run(const Run& run) {
  run();
  const std::size_t before = allocations;
  run();
  return allocations - before;
}

class Allocations : public ::testing::Test {
 protected:
  void SetUp() override {
    if (!HARDPAN_COUNTS_ALLOCATIONS) GTEST_SKIP() << "a sanitizer brings its own operator new";
    const std::size_t before = allocations;
    std::vector<double> seen(100);
    ASSERT_EQ(allocations - before, 1U) << "what is to be counted is not counted";
    for (int k = 0; k < 24; ++k) {
      base::Problems problems;
      const auto s = on_soil(test::carrier(), test::sand(200.0 + 40 * k), 9.81, soil::SlipSinkage::stretch, {}, problems);
      ASSERT_TRUE(s);
      on.push_back(*s);
    }
  }
  std::vector<OnSoil> on;
};

TEST_F(Allocations, TheBalanceOfWheelsTakesNone) {
  Workspace space;
  std::vector<Case> cases;
  for (const OnSoil& s : on) cases.push_back({.machine = &s.plain, .slip_ratio = 0.2, .gradient_rad = 0.05});
  std::vector<State> states(cases.size());
  EXPECT_EQ(second_run([&] { solve_cases(cases, states, space); }), 0U);
  EXPECT_TRUE(states[0].balanced());
}

// Searches keep lists of what is still looked for: as many for 48 soils as for the same 24, none a soil.
TEST_F(Allocations, SearchesTakeNoneForASoil) {
  std::vector<OnSoil> twice = on;
  twice.insert(twice.end(), on.begin(), on.end());
  Workspace space;
  std::vector<Gradient> g(twice.size());
  std::vector<Travel> t(twice.size());
  const auto same = [&](const auto& search) {
    const std::size_t of_all = second_run([&] { search(std::span<const OnSoil>(twice)); });
    EXPECT_EQ(second_run([&] { search(std::span<const OnSoil>(on)); }), of_all);
    EXPECT_LT(of_all, on.size() * 4);
  };
  same([&](std::span<const OnSoil> soils) { gradients_at_slip(soils, 0.2, std::span(g).first(soils.size()), space); });
  EXPECT_EQ(g[0].factor, LimitingFactor::traction);
  same([&](std::span<const OnSoil> soils) { maximum_gradients(soils, std::span(g).first(soils.size()), space); });
  same([&](std::span<const OnSoil> soils) { maximum_descents(soils, std::span(g).first(soils.size()), space); });
  same([&](std::span<const OnSoil> soils) { travels(soils, 0.1, 0, std::span(t).first(soils.size()), space); });
  EXPECT_TRUE(t[0].goes);
}

// One rigid body, and a chain in a pose that the crossing of a step went through.
TEST_F(Allocations, ForcesOfAPoseTakeNone) {
  for (const vehicle::Vehicle& v : {test::carrier(), test::with_trailer(vehicle::Freedom::rigid)}) {
    const auto side = profile_vehicle(v, 9.81);
    ASSERT_TRUE(side);
    const Crossing crossed = cross(*side, Profile::step(0.08), {.friction = 0.8});
    ASSERT_TRUE(crossed.passes);
    const Pose& pose = crossed.climbing.pose;
    Forces friction, torque;
    EXPECT_EQ(second_run([&] { friction = least_friction(*side, pose, TorqueSplit::best, 3); }), 0U) << v.bodies.size();
    EXPECT_EQ(second_run([&] { torque = least_torque(*side, pose, TorqueSplit::equal, 0.9); }), 0U) << v.bodies.size();
    EXPECT_TRUE(friction.solve.converged());
    EXPECT_TRUE(torque.solve.converged());
  }
}

TEST_F(Allocations, ABodyThatStandsAndWhatItsWheelsCarryTakeNone) {
  const Stance stance = stance_of(test::long_carrier(2e4), 9.81);
  ASSERT_EQ(stance.supports.size(), 6U);
  const std::vector<double> lower(6, 0.0);
  std::vector<double> loads(6);
  std::optional<detail::Lean> lean;
  EXPECT_EQ(second_run([&] { lean = detail::stand_body(stance.supports, {.load = 4120, .moment_x = 4120 * 0.62, .moment_y = 0}, 4120 * 0.55, lower, loads); }), 0U);
  EXPECT_TRUE(lean);
}

}  // namespace
}  // namespace hardpan::performance
