// SPDX-License-Identifier: Apache-2.0
#include "performance/comparison.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "performance/study.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

Ground dune() {
  soil::SoilDistribution about{.centre = test::sand(), .bearing_dof = 7, .shear_dof = 7, .population = "invented"};
  about.sampling[0][0] = about.sampling[1][1] = 0.01;
  about.between_points[0][0] = about.between_points[1][1] = 0.08;
  about.between_points[4][4] = 0.002;
  return {.zone = "dune", .centre = test::sand(), .distribution = about};
}
constexpr std::size_t kDraws = 200;
DrawPlan plan() { return {.gravity_m_s2 = 9.81, .seed = 4, .count = kDraws}; }

PlacedPair placed(const vehicle::Vehicle& a, const vehicle::Vehicle& b) {
  base::Problems problems;
  auto out = place_pair(a, b, dune(), plan(), {}, problems);
  EXPECT_TRUE(out);
  return *out;
}

TEST(Comparison, AVehicleIsAsGoodAsItself) {
  const PlacedPair pair = placed(test::carrier(), test::carrier());
  for (const Compared q : kCompared) {
    const Versus v = compare(pair, q, {});
    EXPECT_EQ(v.difference.value, 0) << name(q);
    ASSERT_TRUE(v.a_better_ratio) << name(q);
    EXPECT_EQ(*v.a_better_ratio, 0.5) << name(q);
    EXPECT_EQ(v.difference.next_point, (math::Interval{0, 0})) << name(q);
  }
}

// Pairing takes out the ground that both share: the interval of the difference is narrower than the widths of the two together, and turning the pair round turns the sign.
TEST(Comparison, PairedDifferencesAreNarrowAndTurnRound) {
  const vehicle::Vehicle narrow = test::carrier(0.3, 0.2), wide = test::carrier(0.3, 0.24);
  const Versus v = compare(placed(wide, narrow), Compared::gradient_maximum, {}), w = compare(placed(narrow, wide), Compared::gradient_maximum, {});
  ASSERT_TRUE(v.difference.next_point && v.a.estimate.next_point && w.difference.next_point);
  EXPECT_LT(v.difference.next_point->width(), 0.5 * v.a.estimate.next_point->width());
  EXPECT_NEAR(v.difference.value, -w.difference.value, 1e-12);
  EXPECT_NEAR(v.difference.next_point->lo, -w.difference.next_point->hi, 1e-12);
  EXPECT_NEAR(*v.a_better_ratio, 1 - *w.a_better_ratio, 1e-12);
  EXPECT_GT(*v.a_better_ratio, 0.9);   // more width, less sinkage: on loose sand the better, on nearly every possible soil
  EXPECT_EQ(v.draws + v.left_out, kDraws);
  // What less of is better counts the other way.
  EXPECT_GT(*compare(placed(wide, narrow), Compared::sinkage_20, {}).a_better_ratio, 0.9);
}

// Draw k is the same soil for both, though one is narrow enough to make some soils infeasible: the same vehicle placed beside either partner answers alike.
TEST(Comparison, BothMeetTheSamePossibleSoils) {
  const PlacedPair pair = placed(test::carrier(0.3, 0.2), test::carrier(0.4, 0.05));
  ASSERT_EQ(pair.a.next_point.size(), pair.b.next_point.size());
  for (std::size_t k = 0; k < pair.a.next_point.size(); ++k) {
    EXPECT_EQ(pair.a.next_point[k].plain.axle[0].contact.tan_phi, pair.b.next_point[k].plain.axle[0].contact.tan_phi) << k;
    EXPECT_EQ(pair.a.next_point[k].plain.axle[0].contact.cohesion_pa, pair.b.next_point[k].plain.axle[0].contact.cohesion_pa) << k;
  }
}

TEST(Study, AVariantChangesWhatIsNamed) {
  vehicle::Vehicle v = test::carrier();
  v.bodies[0].clearance_m = 0.2;
  v.payload.push_back({.name = "box", .mass_kg = 30, .x_m = 0.6, .z_m = 0.7});
  const vehicle::Vehicle large = with(v, Varied::wheel_diameter, 0.8);
  EXPECT_NEAR(large.axles[1].wheel.radius_m, 0.4, 1e-15);
  EXPECT_NEAR(*large.bodies[0].clearance_m, 0.3, 1e-15);   // lifted by 0.1
  EXPECT_NEAR(large.payload[0].z_m, 0.8, 1e-15);
  EXPECT_NEAR(vehicle::mass_kg(with(v, Varied::mass, 600)), 600, 1e-9);
  EXPECT_NEAR(vehicle::loaded_body(with(v, Varied::mass, 600)).cg_x_m, vehicle::loaded_body(v).cg_x_m, 1e-12);
  EXPECT_EQ(*with(v, Varied::wheel_stiffness, 2e4).axles[0].wheel.flex->stiffness_n_per_m, 2e4);
  EXPECT_EQ(with(v, Varied::wheel_width, 0.33).axles[0].wheel.width_m, 0.33);
  for (const Varied what : kVaried) EXPECT_EQ(varied_by_name(name(what)), what);
  EXPECT_FALSE(varied_by_name("colour"));
}

// The cell at the present values is the vehicle's own answer; a width sweep rises (more width, less sinkage on loose sand); a sweep that is no vehicle says why.
TEST(Study, CellsAreTheVehiclesAnswers) {
  base::Problems problems;
  const vehicle::Vehicle v = test::carrier();
  const auto widths = study(v, dune(), plan(), {{Varied::wheel_width, 0.1, 0.3, 5}}, {.quantity = Studied::gradient_maximum}, {}, problems);
  ASSERT_TRUE(widths);
  ASSERT_EQ(widths->cells.size(), 5u);
  for (std::size_t k = 1; k < 5; ++k) EXPECT_GT(widths->cells[k].outcome.centre, widths->cells[k - 1].outcome.centre);
  DrawPlan same = plan();
  for (std::size_t k = 0; k < 5; ++k) same.widths_also_m.push_back(0.1 + 0.05 * static_cast<double>(k));
  same.widths_also_m.push_back(0.2);
  const auto own = place_vehicle(v, dune(), same, {}, problems);
  EXPECT_EQ(maximum_gradient_outcome(*own).next_point, widths->cells[2].outcome.next_point);
  // 1.3 m apart: wheels of 1.5 m overlap.
  const auto map = study(v, dune(), plan(), {{Varied::wheel_diameter, 0.5, 1.5, 3}, {Varied::mass, 300, 500, 2}}, {}, {}, problems);
  ASSERT_TRUE(map);
  ASSERT_EQ(map->cells.size(), 6u);
  EXPECT_TRUE(map->at(0, 1).why_not.empty());
  EXPECT_EQ(map->at(0, 1).values, (std::vector<double>{0.5, 500}));
  EXPECT_EQ(map->present, (std::vector<std::optional<double>>{0.6, 420}));
  EXPECT_FALSE(map->at(2, 0).why_not.empty());
  EXPECT_GT(map->at(1, 0).outcome.centre, map->at(0, 0).outcome.centre);   // a larger wheel climbs more
  EXPECT_FALSE(problems.refused());
}

TEST(Study, RefusesWhatCannotBeVaried) {
  const auto refused = [](const std::vector<Variation>& v, const StudySettings& s = {}) {
    base::Problems problems;
    EXPECT_FALSE(study(test::carrier(), dune(), plan(), v, s, {.key = "study"}, problems));
    return problems.list().size();
  };
  EXPECT_EQ(refused({}), 1u);
  EXPECT_EQ(refused({{Varied::mass, 100, 200, 2}, {Varied::mass, 100, 200, 2}}), 1u);
  EXPECT_EQ(refused({{Varied::mass, 300, 200, 2}}), 1u);
  EXPECT_EQ(refused({{Varied::mass, std::nan(""), 200, 2}}), 1u);
  EXPECT_EQ(refused({{Varied::slip, 0.1, 1.2, 2}}), 1u);
  EXPECT_EQ(refused({{Varied::wheel_width, 0.1, 0.2, 1}, {Varied::wheel_diameter, 0.1, 0.2, 400}}), 2u);
  EXPECT_EQ(refused({{Varied::mass, 100, 200, 2}}, {.slip_ratio = 0}), 1u);
}

}  // namespace
}  // namespace hardpan::performance
