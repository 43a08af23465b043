// SPDX-License-Identifier: Apache-2.0
#include "performance/turn_over_soils.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "performance/detail/turn_scan.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

// On tyres, which sink less than rigid wheels: turns down to some 3 m balance.
vehicle::Vehicle skid(double peak_torque_n_m = 1e4) {
  vehicle::Vehicle v = test::carrier();
  for (vehicle::Axle& a : v.axles) {
    a.drive.peak_torque_n_m = peak_torque_n_m;
    a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 73e3};
  }
  return v;
}

Placed placed(const vehicle::Vehicle& v, bool scatter = true, std::size_t threads = 0) {
  soil::SoilDistribution d{.centre = test::sand(), .bearing_dof = 7, .shear_dof = 7, .population = "invented"};
  d.sampling[0][0] = d.sampling[1][1] = 0.001;
  d.between_points[0][0] = d.between_points[1][1] = 0.002;
  Ground ground{.zone = "dune", .centre = test::sand()};
  if (scatter) ground.distribution = d;
  base::Problems problems;
  const auto out = place_vehicle(v, ground, {.gravity_m_s2 = 9.81, .seed = 4, .count = 40, .threads = threads}, {}, problems);
  EXPECT_TRUE(out);
  return *out;
}

// Draw by draw the same turn as turn_on_soil tells of the same soil: the ends of the interval are two of those answers.
TEST(TurnOverSoils, TellsWhatEachSoilAnswersByItself) {
  const vehicle::Vehicle v = skid();
  const Placed on = placed(v);
  constexpr std::size_t kDraws = 22;
  const TurnOverSoils t = turn_over_soils(v, on, {.turn = {.radius_m = -1}, .radii_m = {12, 6}}, kDraws);
  ASSERT_EQ(t.radii.size(), 2u);
  EXPECT_EQ(t.draws, kDraws);
  EXPECT_EQ(t.radii[0].radius_m, -12);
  double least = 1e30, most = 0;
  for (std::size_t k = 0; k < kDraws; ++k) {
    const OnSoil& one = on.next_point[k];
    double work = 0, torque = 0;
    for (const Machine* m : {&one.plain, &*one.sinking}) {
      const TurnState s = turn_on_soil(turning_machine(v, *m, 9.81), {.radius_m = -12});
      ASSERT_TRUE(s.balanced());
      if (s.work_j_per_rad < work) continue;
      work = s.work_j_per_rad;
      torque = s.largest_torque_n_m;
    }
    least = std::min(least, torque);
    most = std::max(most, torque);
  }
  ASSERT_TRUE(t.radii[0].torque_n_m.next_point);
  EXPECT_NEAR(t.radii[0].torque_n_m.next_point->lo, least, 1e-6 * least);
  EXPECT_NEAR(t.radii[0].torque_n_m.next_point->hi, most, 1e-6 * most);
  // The quick search ends within its step of bearing, 0.005 rad, of what the fine one finds.
  double widest = 0;
  for (std::size_t k = 0; k < 4; ++k) {
    const OnSoil& one = on.next_point[k];
    double size = 0;
    for (const Machine* m : {&one.plain, &*one.sinking}) {
      const TurningMachine machine = turning_machine(v, *m, 9.81);
      const double fine = smallest_turn(machine, {.radius_m = -1}).goes_m, quick = detail::scan_turns(machine, {.radius_m = -1}, {}).goes_m;
      EXPECT_NEAR(std::atan(1.3 / quick), std::atan(1.3 / fine), 0.006) << k;
      size = std::max(size, std::abs(quick));
    }
    widest = std::max(widest, size);
  }
  EXPECT_GE(t.smallest_m.next_point->hi, widest);
  // Tighter takes more.
  EXPECT_GT(t.radii[1].torque_n_m.value, t.radii[0].torque_n_m.value);
  EXPECT_GT(t.radii[1].work_j_per_m.next_point->lo, t.radii[0].work_j_per_m.next_point->lo);
  EXPECT_NEAR(t.radii[1].work_j_per_m.value * 6, t.radii[1].work_j_per_rad.value, 1e-6 * t.radii[1].work_j_per_rad.value);
}

// The smallest radius that goes lies between radii of which one goes and the other does not, on the best-estimate soil; weaker drives do not turn tighter.
TEST(TurnOverSoils, WeakDrivesNeedWiderTurns) {
  const vehicle::Vehicle weak = skid(160), strong = skid();
  const TurnOverSoils a = turn_over_soils(weak, placed(weak), {.radii_m = {}}, 20), b = turn_over_soils(strong, placed(strong), {.radii_m = {}}, 20);
  EXPECT_EQ(a.centre.limit, TurnLimit::torque);
  EXPECT_GT(a.smallest_m.value, b.smallest_m.value);
  ASSERT_TRUE(a.smallest_m.next_point && b.smallest_m.next_point);
  EXPECT_GE(a.smallest_m.next_point->hi, b.smallest_m.next_point->hi);
  EXPECT_LE(a.smallest_m.next_point->lo, a.smallest_m.value);
  double sum = 0;
  for (const auto& [limit, share] : a.limits) sum += share;
  EXPECT_NEAR(sum, 1, 1e-12);
  const TurnOverSoils at = turn_over_soils(weak, placed(weak), {.radii_m = {1.05 * a.smallest_m.value, 0.9 * a.smallest_m.value}}, 0);
  EXPECT_EQ(at.radii[0].limit, TurnLimit::none);
  EXPECT_EQ(at.radii[1].limit, TurnLimit::torque);
  EXPECT_EQ(at.radii[0].goes_ratio, 1);
}

TEST(TurnOverSoils, WithoutScatterItSaysSoAndThreadsDoNotMatter) {
  const vehicle::Vehicle v = skid();
  const TurnOverSoils bare = turn_over_soils(v, placed(v, false), {.radii_m = {8, 0}}, 40);
  EXPECT_EQ(bare.draws, 0u);
  EXPECT_FALSE(bare.smallest_m.next_point);
  EXPECT_FALSE(bare.reason_without.empty());
  EXPECT_TRUE(std::isnan(bare.radii[1].work_j_per_m.value));   // on the spot no metre of a path is driven
  EXPECT_GT(bare.radii[1].work_j_per_rad.value, 0);
  const TurnOverSoils one = turn_over_soils(v, placed(v, true, 1), {.radii_m = {8}}, 4), two = turn_over_soils(v, placed(v, true, 2), {.radii_m = {8}}, 4);
  EXPECT_EQ(one.smallest_m, two.smallest_m);
  EXPECT_EQ(one.radii[0].work_j_per_m, two.radii[0].work_j_per_m);
}

// The same searches as turn_over_soils makes, draw by draw; of two sides the larger.
TEST(TurnOverSoils, TellsTheSmallestRadiusAloneAsAmongTheRest) {
  const vehicle::Vehicle v = skid(200);
  const Placed on = placed(v);
  const TurnOverSoils t = turn_over_soils(v, on, {.turn = {.radius_m = 1}}, 24);
  const SmallestOverSoils left = smallest_turn_over_soils(v, on, {{.radius_m = 1}}, 24);
  EXPECT_EQ(left.radius_m.centre, t.smallest_m.value);
  EXPECT_EQ(left.limit, t.centre.limit);
  ASSERT_EQ(left.radius_m.next_point.size(), 24u);
  ASSERT_EQ(left.radius_m.average.size(), 24u);
  ASSERT_TRUE(t.smallest_m.next_point && left.radius_m.estimate.next_point);
  EXPECT_LE(left.radius_m.estimate.next_point->lo, t.smallest_m.next_point->lo);   // an average may widen it
  EXPECT_GE(left.radius_m.estimate.next_point->hi, t.smallest_m.next_point->hi);
  // Heavy to the left: one side turns worse than the other.
  vehicle::Vehicle leaning = v;
  leaning.bodies[0].cg_y_m = 0.2;
  const Placed askew = placed(leaning, false);
  const double one = smallest_turn_over_soils(leaning, askew, {{.radius_m = 1}}, 0).radius_m.centre, other = smallest_turn_over_soils(leaning, askew, {{.radius_m = -1}}, 0).radius_m.centre;
  ASSERT_NE(one, other);
  EXPECT_EQ(smallest_turn_over_soils(leaning, askew, {{.radius_m = 1}, {.radius_m = -1}}, 0).radius_m.centre, std::max(one, other));
}

}  // namespace
}  // namespace hardpan::performance
