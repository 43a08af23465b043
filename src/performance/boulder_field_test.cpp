// SPDX-License-Identifier: Apache-2.0
#include "performance/boulder_field.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "math/quadrature.hpp"
#include "math/random.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

constexpr double kPi = std::numbers::pi;

RockLaw law(double k) { return *RockLaw::by_coverage(k); }

// Two wheel paths 0.2 m wide, 1 m apart, body 0.8 m between them.
Swath carrier(double step_m, double clearance_m) {
  Swath s = make_swath(test::carrier(), step_m);
  s.clearance_m = clearance_m;
  return s;
}

// WE-26: F(D) = k exp(-q D), q = 1.79 + 0.152 / k (Golombek et al. 2003, NTRS 20030111177, printed in the abstract).
TEST(BoulderField, CoverageBySizeIsThePublishedOne) {
  const std::pair<double, double> five[] = {{0.25, 0.014947}, {0.5, 0.004468}, {1.0, 0.000399}}, ten[] = {{0.25, 0.043714}, {0.5, 0.019109}, {1.0, 0.003652}};
  for (const auto& [d, f] : five) EXPECT_NEAR(*law(0.05).area_ratio(d), f, 1e-5);
  for (const auto& [d, f] : ten) {
    EXPECT_NEAR(*law(0.10).area_ratio(d), f, 1e-5);
    EXPECT_NEAR(*coverage_of(f, d), 0.10, 1e-5);
  }
  EXPECT_FALSE(coverage_of(0.9, 0.1));
  EXPECT_FALSE(RockLaw::by_coverage(0));
  EXPECT_FALSE(RockLaw::by_coverage(std::nan("")));
}

// Numbers and diameters against the plain integrals of n(D) = 4 k q exp(-q D) / (pi D^2).
TEST(BoulderField, NumbersFollowFromAreas) {
  for (const double k : {0.05, 0.2, 0.4}) {
    const double q = 1.79 + 0.152 / k;
    for (const double d : {0.1, 0.3, 1.0}) {
      // D = 1 / t takes the tail to a finite end.
      const auto number = math::integrate_adaptive([&](double t) { return 4 * k * q / kPi * std::exp(-q / t); }, 1e-9, 1 / d, 1e-13);
      const auto sum = math::integrate_adaptive([&](double t) { return 4 * k * q / kPi * std::exp(-q / t) / t; }, 1e-9, 1 / d, 1e-13);
      EXPECT_NEAR(law(k).number_per_m2(d) / number.value, 1, 1e-8);
      EXPECT_NEAR(law(k).diameter_sum_per_m(d) / sum.value, 1, 1e-8);
      EXPECT_GT(law(k).number_per_m2(d), *law(k).area_ratio(d) / (kPi / 4 * d * d) * 0.1);
      // METHODS 4.7: not F divided by a disc, which counts every rock as the smallest.
      EXPECT_LT(law(k).number_per_m2(d), *law(k).area_ratio(d) / (kPi / 4 * d * d));
    }
  }
}

// METHODS 4.7: w N(D) + (4 k q / pi) E1(q D), where every rock that touches the full width stops it: no clearance above the step.
TEST(BoulderField, AVehicleThatStraddlesNothingMeetsThePlainStrip) {
  const Swath s = carrier(0.15, 0.15);
  EXPECT_NEAR(s.width_m(), 1.2, 1e-12);
  EXPECT_NEAR(s.body_width_m, 0.8, 1e-12);
  for (const double k : {0.05, 0.15}) EXPECT_NEAR(hits_per_metre(law(k), s, {.height_ratio = 0.5}) / touches_per_metre(law(k), 1.2, 0.3), 1, 1e-12);
}

TEST(BoulderField, ClearanceStepAndSizeCutCountAsTheyShould) {
  const RockLaw l = law(0.1);
  const RockShape shape{.height_ratio = 0.5};
  EXPECT_LT(hits_per_metre(l, carrier(0.15, 0.3), shape), hits_per_metre(l, carrier(0.15, 0.15), shape));
  EXPECT_LT(hits_per_metre(l, carrier(0.2, 0.3), shape), hits_per_metre(l, carrier(0.15, 0.3), shape));
  EXPECT_LT(hits_per_metre(l, carrier(0.15, 0.3), {.height_ratio = 0.4}), hits_per_metre(l, carrier(0.15, 0.3), shape));
  EXPECT_TRUE(std::isinf(hits_per_metre(l, carrier(0, 0.3), shape)));
  EXPECT_TRUE(std::isfinite(hits_per_metre(l, carrier(0, 0.3), {.height_ratio = 0.5, .smallest_m = 0.1})));
  double before = 0;
  for (const double k : {0.05, 0.1, 0.2, 0.4}) {
    const double rate = hits_per_metre(law(k), carrier(0.15, 0.3), shape);
    EXPECT_GT(rate, before);
    before = rate;
  }
  EXPECT_NEAR(clear_run_probability(0.01, 100), std::exp(-1), 1e-15);
  EXPECT_NEAR(clear_run_probability(0.01, clear_run_length_m(0.01, 0.9)), 0.9, 1e-12);
  EXPECT_TRUE(std::isinf(clear_run_length_m(0, 0.9)));
}

// By hand: step 0.15, clearance 0.3. A rock 0.4 m wide and 0.2 high stops a wheel over two strips of 0.2 + 0.4 m; 0.5 wide and 0.25 high over 2 x 0.7;
// 0.9 wide and 0.45 high over strips (1.1 each, from -1.05 to 1.05): 2.1 m together.
TEST(BoulderField, StoppingWidthsByHand) {
  const Swath s = carrier(0.15, 0.3);
  EXPECT_EQ(stopping_width_m(s, 0.2, 0.1), 0);
  EXPECT_NEAR(stopping_width_m(s, 0.4, 0.2), 1.2, 1e-12);
  EXPECT_NEAR(stopping_width_m(s, 0.5, 0.25), 1.4, 1e-12);
  EXPECT_NEAR(stopping_width_m(s, 0.9, 0.45), 2.1, 1e-12);
}

// The closed rate against rocks thrown at random: sizes by inverting N, places even, hits counted by the map. Three standard errors of the count.
TEST(BoulderField, TheRateIsThatOfRocksThrownAtRandom) {
  const RockLaw l = law(0.15);
  const Swath s = carrier(0.15, 0.25);
  const RockShape shape{.height_ratio = 0.5};
  const double least = 0.3, area = 250.0 * 250.0;
  const auto count = static_cast<std::size_t>(l.number_per_m2(least) * area);
  const math::Stream random(11, math::stream_id("rocks"));
  std::vector<Rock> rocks(count);
  for (std::size_t i = 0; i < count; ++i) {
    const double wanted = l.number_per_m2(least) * random.uniform(3 * i);
    double lo = least, hi = 20;
    for (int step = 0; step < 40; ++step) (l.number_per_m2(0.5 * (lo + hi)) > wanted ? lo : hi) = 0.5 * (lo + hi);
    rocks[i] = {250 * random.uniform(3 * i + 1), 250 * random.uniform(3 * i + 2), lo, std::nullopt};
  }
  const MappedField m = mapped_field(rocks, {0, 0, 250, 250}, s, shape, 0);
  const double rate = hits_per_metre(l, s, shape);
  EXPECT_NEAR(m.hits_per_m / rate, 1, 3 / std::sqrt(static_cast<double>(m.stopping)));
  EXPECT_TRUE(m.hits_per_m_interval.contains(m.hits_per_m));
  // Runs laid through the same rocks: as many clear as exp(-rate L) says.
  const double length = clear_run_length_m(rate, 0.5);
  const MappedField lanes = mapped_field(rocks, {5, 5, 245, 245}, s, shape, length);
  const double share = static_cast<double>(lanes.clear_lanes) / static_cast<double>(lanes.lanes);
  // A rock also reaches over its radius at either end of a run: L + D for each. Lanes share rocks at their edges: four binomial errors.
  double expected = 0;
  for (const Rock& r : rocks) expected += stopping_width_m(s, r.diameter_m, 0.5 * r.diameter_m) * (length + r.diameter_m) / area;
  EXPECT_NEAR(share, std::exp(-expected), 4 * std::sqrt(0.25 / static_cast<double>(lanes.lanes)));
  EXPECT_NEAR(clear_run_probability(rate, length), 0.5, 1e-12);
  // Marking lanes rock by rock is the same as running each.
  const Plot corner{5, 5, 25, 25};
  const MappedField few = mapped_field(rocks, corner, s, shape, length);
  std::size_t clear = 0;
  for (std::size_t i = 0; i < static_cast<std::size_t>(20 / length); ++i) {
    for (std::size_t j = 0; j < static_cast<std::size_t>(20 / s.width_m()); ++j) {
      const auto met = meet(rocks, {5 + length * static_cast<double>(i), 5 + s.width_m() * (static_cast<double>(j) + 0.5), 0, length}, s, shape);
      clear += std::none_of(met.begin(), met.end(), [](const Met& one) { return one.meeting == Meeting::stops_wheel || one.meeting == Meeting::stops_body; }) ? 1 : 0;
    }
  }
  EXPECT_EQ(few.clear_lanes, clear);
  EXPECT_GT(lanes.lanes, 500u);
}

TEST(BoulderField, AMappedListTellsHowEachRockIsMet) {
  const Swath s = carrier(0.15, 0.3);
  const std::vector<Rock> rocks{{10, 0, 0.5, std::nullopt},      // under the body, 0.25 high: straddled
                                {5, 0.5, 0.2, std::nullopt},     // under the left wheel, 0.1 high: climbed
                                {20, -0.6, 0.4, std::nullopt},   // right wheel, 0.2 high: stops it
                                {15, 0.1, 0.5, 0.35},            // under the body, stated 0.35 high
                                {8, 2, 0.4, std::nullopt},       // beside
                                {60, 0, 2, std::nullopt}};       // beyond the end
  const auto met = meet(rocks, {.length_m = 50}, s, {.height_ratio = 0.5});
  ASSERT_EQ(met.size(), 4u);
  EXPECT_EQ(met[0].meeting, Meeting::climbed);
  EXPECT_EQ(met[1].meeting, Meeting::straddled);
  EXPECT_EQ(met[2].meeting, Meeting::stops_body);
  EXPECT_EQ(met[3].meeting, Meeting::stops_wheel);
  EXPECT_NEAR(met[3].along_m, 19.8, 1e-12);
  EXPECT_NEAR(met[3].across_m, -0.6, 1e-12);
  // The same run and rocks turned and moved together.
  std::vector<Rock> turned = rocks;
  const double a = 0.7;
  for (Rock& r : turned) r = {3 + std::cos(a) * r.x_m - std::sin(a) * r.y_m, -2 + std::sin(a) * r.x_m + std::cos(a) * r.y_m, r.diameter_m, r.height_m};
  const auto again = meet(turned, {3, -2, a, 50}, s, {.height_ratio = 0.5});
  ASSERT_EQ(again.size(), 4u);
  for (std::size_t i = 0; i < 4; ++i) EXPECT_EQ(again[i].meeting, met[i].meeting);
}

// Garwood 1936 (from memory): 95 % of a Poisson mean seen as 5 is 1.623 to 11.668; seen as 0, up to 3.689.
TEST(BoulderField, FewRocksHaveWideIntervals) {
  const Swath s = carrier(0.15, 0.3);
  std::vector<Rock> rocks(5, Rock{5, 5, 0.4, std::nullopt});
  const MappedField m = mapped_field(rocks, {0, 0, 100, 10}, s, {.height_ratio = 0.5}, 10);
  EXPECT_NEAR(m.hits_per_m, 5 * 1.2 / 1000, 1e-12);
  EXPECT_NEAR(m.hits_per_m_interval.lo / m.hits_per_m * 5, 1.6235, 5e-4);
  EXPECT_NEAR(m.hits_per_m_interval.hi / m.hits_per_m * 5, 11.668, 5e-3);
  EXPECT_EQ(m.lanes, 80u);
  EXPECT_NEAR(m.coverage_ratio, 5 * kPi / 4 * 0.16 / 1000, 1e-12);
  EXPECT_LT(m.clear_lanes, m.lanes);
  rocks.clear();
  const MappedField none = mapped_field(rocks, {0, 0, 100, 10}, s, {.height_ratio = 0.5}, 0);
  EXPECT_EQ(none.hits_per_m, 0);
  EXPECT_NEAR(none.hits_per_m_interval.hi, 3.689 * (1.2 + 0.3) / 1000, 1e-5);
}

// More of the ground covered is more rocks of every size, so the ends of a range of coverages are those of what it answers.
TEST(BoulderField, ARangeOfCoveragesHoldsTheRateBetween) {
  EXPECT_FALSE(law_between(0.1, {0.12, 0.2}));
  EXPECT_FALSE(law_between(0.1, {0, 0.2}));
  EXPECT_FALSE(law_between(0.1, {0.05, 0.7}));
  const auto between = law_between(0.1, {0.07, 0.14});
  ASSERT_TRUE(between);
  const RockLaw law = *RockLaw::by_coverage(0.1);
  for (const double d : {0.05, 0.1, 0.3, 1.0, 3.0}) {
    EXPECT_LT(between->first.number_per_m2(d), law.number_per_m2(d));
    EXPECT_GT(between->second.number_per_m2(d), law.number_per_m2(d));
  }
  const Swath s = carrier(0.15, 0.3);
  EXPECT_NEAR(hits_per_metre(between->second, s, {.height_ratio = 0.5}), hits_per_metre(*RockLaw::by_coverage(0.14), s, {.height_ratio = 0.5}), 1e-15);
}

// A table sampled from the law answers as the law does, as far as its rows reach; straight in logarithms between them.
TEST(BoulderField, AnOwnLawIsReadFromItsTable) {
  base::Problems problems;
  std::vector<RockLaw::Row> rows;
  for (double d = 0.1; d < 8; d *= 1.02) rows.push_back({d, law(0.2).number_per_m2(d)});
  const auto own = RockLaw::by_table(rows, {}, problems);
  ASSERT_TRUE(own);
  const Swath s = carrier(0.12, 0.3);
  EXPECT_NEAR(hits_per_metre(*own, s, {.height_ratio = 0.5}) / hits_per_metre(law(0.2), s, {.height_ratio = 0.5}), 1, 1e-3);
  EXPECT_FALSE(own->area_ratio(0.3));
  EXPECT_EQ(own->number_per_m2(10), 0);
  // N = 0.01 / D^2 per m^2 (invented): sum of diameters from d to the end e is 0.02 (1/d - 1/e) and those at the end.
  const auto square = RockLaw::by_table({{0.1, 1.0}, {1, 0.01}}, {}, problems);
  EXPECT_NEAR(square->number_per_m2(0.5), 0.04, 1e-12);
  EXPECT_NEAR(square->diameter_sum_per_m(0.5), 0.02 * (2 - 1) + 0.01, 1e-12);
  const auto inverse = RockLaw::by_table({{0.1, 1.0}, {1, 0.1}}, {}, problems);
  EXPECT_NEAR(inverse->diameter_sum_per_m(0.5), 0.1 * std::log(2.0) + 0.1, 1e-9);
  EXPECT_FALSE(problems.refused());
}

TEST(BoulderField, RefusesWhatCannotBe) {
  const auto bad = [](const std::vector<RockLaw::Row>& rows) {
    base::Problems problems;
    EXPECT_FALSE(RockLaw::by_table(rows, {}, problems));
    return problems.list().size();
  };
  EXPECT_EQ(bad({}), 1u);
  EXPECT_EQ(bad({{0.1, 1}, {0.1, 0.5}}), 1u);
  EXPECT_EQ(bad({{0.1, 1}, {0.2, 1}}), 1u);
  EXPECT_EQ(bad({{-0.1, 1}, {0.2, std::nan("")}}), 2u);
  base::Problems problems;
  check_rocks({{1, 1, 0, std::nullopt}, {1, 1, 0.3, -1.0}, {50, 1, 0.3, std::nullopt}, {std::nan(""), 1, 0.3, std::nullopt}}, {0, 0, 10, 10}, {}, problems);
  EXPECT_EQ(problems.list().size(), 4u);
  check_rocks({}, {0, 0, 0, 10}, {}, problems);
  EXPECT_EQ(problems.list().size(), 5u);
}

}  // namespace
}  // namespace hardpan::performance
