// SPDX-License-Identifier: Apache-2.0
#include "performance/slopes_over_soils.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "performance/detail/slope_lanes.hpp"
#include "performance/test_carrier.hpp"
#include "performance/test_slopes.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

// An invented loose ground with the scatter of few points.
Ground ground(double spread = 1) {
  soil::SoilDistribution d;
  d.centre = test::loose_sand();
  d.bearing_dof = 9;
  d.shear_dof = 8;
  const double sd[] = {0.05, 0.05, 0.02, 100, 0.01, 0.08};
  for (std::size_t i = 0; i < 6; ++i) {
    d.sampling[i][i] = spread * sd[i] * sd[i];
    d.between_points[i][i] = 8 * spread * sd[i] * sd[i];
  }
  return {.zone = "dune", .centre = d.centre, .distribution = d, .source = "invented"};
}
Placed placed(const vehicle::Vehicle& v, const Ground& g, std::size_t draws, std::size_t threads = 1) {
  base::Problems problems;
  const auto p = place_vehicle(v, g, {.gravity_m_s2 = 9.81, .seed = 3, .count = draws, .threads = threads}, {}, problems);
  if (!p) throw std::logic_error(problems.list().front().text());
  return *p;
}
vehicle::Vehicle carrier(vehicle::Steering steering = {}) {
  vehicle::Vehicle v = test::carrier(0.25);
  v.steering = std::move(steering);
  return v;
}

// Every possible soil also by itself, one slope at a time by Newton's method: another way to the same number.
void expect_as_one_at_a_time(const vehicle::Vehicle& v, const Ground& g, std::size_t draws, const HeadingQuestion& q) {
  const Placed p = placed(v, g, draws);
  const SlopesOverSoils s = slopes_over_soils(v, p, q, draws);
  ASSERT_EQ(s.draws, draws);
  EXPECT_LE(s.by_itself, s.limits / 50);
  const detail::HeadingBounds bounds[] = {detail::working_bounds(q), detail::largest_bounds(q)};
  std::size_t other_factor = 0, stepped_over = 0, compared = 0;
  for (std::size_t d = 0; d < draws; ++d) {
    std::vector<TurningMachine> rules{turning_machine(v, p.next_point[d].plain, 9.81)};
    if (p.next_point[d].sinking) rules.push_back(turning_machine(v, *p.next_point[d].sinking, 9.81));
    for (std::size_t h = 0; h < q.headings_rad.size(); ++h) {
      for (std::size_t b = 0; b < 2; ++b) {
        HeadingReach alone{.gradient_rad = 10};
        for (const TurningMachine& m : rules) {
          const HeadingReach r = detail::search_limit(m, q.headings_rad[h], bounds[b]).reach;
          if (r.gradient_rad < alone.gradient_rad) alone = r;
        }
        const SlopeSpread& together = b == 0 ? s.headings[h].working : s.headings[h].largest;
        const double apart = std::abs(together.draws_rad[d] - alone.gradient_rad) / kDeg;
        stepped_over += apart > 0.05;
        EXPECT_LE(apart, 0.2) << d << " " << q.headings_rad[h] / kDeg << " " << name(alone.factor) << " " << name(together.factor[d]);
        other_factor += together.factor[d] != alone.factor;
        ++compared;
      }
    }
  }
  EXPECT_LE(other_factor, compared / 24);  // where two limits lie within the accuracy of each other
  EXPECT_LE(stepped_over, compared / 50);  // where the way folds back for a moment as a wheel's slip passes through zero
}

TEST(SlopesOverSoils, AreThoseOfEverySoilByItself) {
  expect_as_one_at_a_time(carrier(), ground(), 5, {.headings_rad = evenly_round(8)});
}

TEST(SlopesOverSoils, AreThoseOfEverySoilByItselfForASteeredVehicleWithWeakDrives) {
  vehicle::Vehicle v = carrier({.kind = vehicle::SteeringKind::ackermann, .largest_angle_rad = 35 * kDeg, .steered_axles = {"front"}});
  for (vehicle::Axle& a : v.axles) a.drive.peak_torque_n_m = 90;
  expect_as_one_at_a_time(v, ground(), 10, {.headings_rad = {0, 0.8, 1.5708, 2.4, 2.9, std::numbers::pi}});
}

TEST(SlopesOverSoils, AreTheSameBitsForAnyNumberOfThreads) {
  const vehicle::Vehicle v = carrier();
  const HeadingQuestion q{.headings_rad = {0, 1.0, 1.5708}};
  const SlopesOverSoils one = slopes_over_soils(v, placed(v, ground(), 70, 1), q, 70), two = slopes_over_soils(v, placed(v, ground(), 70, 2), q, 70);
  for (std::size_t h = 0; h < 3; ++h) {
    EXPECT_EQ(one.headings[h].working.draws_rad, two.headings[h].working.draws_rad);
    EXPECT_EQ(one.headings[h].largest.draws_rad, two.headings[h].largest.draws_rad);
  }
}

TEST(SlopesOverSoils, MirrorsTheRightOfAVehicleThatIsTheSameOnBothSides) {
  const vehicle::Vehicle v = carrier();
  const SlopesOverSoils s = slopes_over_soils(v, placed(v, ground(), 30), {.headings_rad = {0, 1.0, 2 * std::numbers::pi - 1.0}}, 30);
  EXPECT_TRUE(s.mirrored);
  EXPECT_EQ(s.headings[1].working.draws_rad, s.headings[2].working.draws_rad);
  EXPECT_EQ(s.headings[1].limit.working.drift_rad, -s.headings[2].limit.working.drift_rad);
  EXPECT_EQ(s.headings[1].limit.tips_about, TipEdge::left);
  EXPECT_EQ(s.headings[2].limit.tips_about, TipEdge::right);
  double sum = 0;
  for (const auto& [factor, share] : shares(s.headings[1].working)) sum += share;
  EXPECT_NEAR(sum, 1, 1e-12);
  ASSERT_TRUE(s.headings[1].working.next_point && s.headings[1].working.median_rad);
  EXPECT_LT(s.headings[1].working.next_point->lo, *s.headings[1].working.median_rad);
  EXPECT_GT(s.headings[1].working.next_point->hi, *s.headings[1].working.median_rad);
  vehicle::Vehicle lopsided = v;
  lopsided.bodies[0].cg_y_m = 0.05;
  EXPECT_FALSE(same_left_and_right(lopsided));
}

TEST(SlopesOverSoils, SaysWhyThereAreNoPossibleSoils) {
  Ground g = ground();
  g.distribution.reset();
  g.textbook = true;
  const vehicle::Vehicle v = carrier();
  const SlopesOverSoils s = slopes_over_soils(v, placed(v, g, 30), {.headings_rad = {0}}, 30);
  EXPECT_EQ(s.draws, 0u);
  EXPECT_FALSE(s.reason_without.empty());
  EXPECT_FALSE(s.headings[0].working.next_point);
  EXPECT_GT(s.headings[0].limit.working.gradient_rad, 0.05);
}

}  // namespace
}  // namespace hardpan::performance
