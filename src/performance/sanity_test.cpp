// SPDX-License-Identifier: Apache-2.0
#include "performance/sanity.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "performance/prediction.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

using test::sand;
constexpr double kDeg = std::numbers::pi / 180;

vehicle::Vehicle carrier(bool tyres, double width_m = 0.2) {
  vehicle::Vehicle v = test::carrier(0.3, width_m);
  for (vehicle::Axle& a : v.axles) {
    if (tyres) a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 60e3, .inflation_pa = 80e3};
  }
  return v;
}

Machine machine(const vehicle::Vehicle& v) {
  base::Problems problems;
  const auto m = make_machine(v, sand(), 9.81, soil::SlipSinkage::none, {}, problems);
  EXPECT_TRUE(m);
  return *m;
}

const SanityValue* value(const std::vector<SanityValue>& all, const std::string& name) {
  const auto at = std::find_if(all.begin(), all.end(), [&](const SanityValue& v) { return v.name == name; });
  return at == all.end() ? nullptr : &*at;
}

bool says(const std::vector<std::string>& all, const std::string& words) {
  return std::any_of(all.begin(), all.end(), [&](const std::string& s) { return s.find(words) != std::string::npos; });
}

// By hand: 3.65 x 40 kN / (4 x 0.3^0.85 x 1 x sqrt(0.04)), 0.3^0.85 = exp(-1.023377) = 0.359379.
TEST(Rowland, AgreesWithTheWorkedNumberAndFallsWithTheSquareOfTheSize) {
  TyresOnGround t{.weight_n = 40e3, .axles = 2, .wheels = 4, .driven_axles = 2, .width_m = 0.3, .diameter_m = 1.0, .deflection_m = 0.04};
  const double p = rowland_mean_maximum_pressure_pa(t).value();
  EXPECT_NEAR(p, 507.82e3, 0.02e3);
  t.width_m *= 2;
  t.diameter_m *= 2;
  t.deflection_m *= 2;
  EXPECT_NEAR(rowland_mean_maximum_pressure_pa(t).value(), p / 4, 1e-9 * p);  // 0.85 + 1.15
  t.driven_axles = 1;
  EXPECT_NEAR(rowland_mean_maximum_pressure_pa(t).value(), p / 4 * 4.40 / 3.65, 1e-9 * p);
}

TEST(Rowland, GivesNothingWhereItDoesNotHold) {
  const TyresOnGround good{.weight_n = 40e3, .axles = 2, .wheels = 4, .driven_axles = 2, .width_m = 0.3, .diameter_m = 1.0, .deflection_m = 0.04};
  ASSERT_TRUE(rowland_mean_maximum_pressure_pa(good));
  for (const auto spoil : {+[](TyresOnGround& t) { t.deflection_m = 0; }, +[](TyresOnGround& t) { t.wheels = 6; },
                           +[](TyresOnGround& t) { t.driven_axles = 0; }, +[](TyresOnGround& t) { t.axles = 7; }}) {
    TyresOnGround t = good;
    spoil(t);
    EXPECT_FALSE(rowland_mean_maximum_pressure_pa(t));
  }
}

// The slope at which W cos a tan phi + c A just equals W sin a + rho W cos a.
TEST(GradientBound, BalancesTheForcesOnTheSlope) {
  for (const double cohesion : {0.0, 800.0, 6e3}) {
    for (const double rho : {0.0, 0.12, 0.8}) {
      const soil::Shear s{.cohesion_pa = cohesion, .tan_phi = 0.6};
      const double w = 4000, area = 0.2, a = gradient_bound_rad(w, s, area, rho);
      EXPECT_NEAR(w * std::cos(a) * 0.6 + cohesion * area, w * std::sin(a) + rho * w * std::cos(a), 1e-9 * w) << cohesion << " " << rho;
    }
  }
  EXPECT_NEAR(gradient_bound_rad(1000, {.cohesion_pa = 0, .tan_phi = 0.6}, 0.2, 0.1), std::atan(0.5), 1e-15);
  EXPECT_DOUBLE_EQ(soil_strength_n(1000, {.cohesion_pa = 2e3, .tan_phi = 0.5}, 0.1), 700);
}

// By hand, per wheel 420 x 9.81 / 4 = 1030.05 N: Cn = 200e3 x 0.2 x 0.6 / 1030.05 = 23.300, gross 0.75 (1 - exp(-1.3980)) =
// 0.56468, resistance 1.2 / 23.300 + 0.04 = 0.09150.
TEST(TyreValues, PullFromTheConeIndexAgreesWithTheWorkedNumber) {
  vehicle::Vehicle v = carrier(true);
  const char* name = "net pull coefficient at 20 % slip from the cone index";
  const SanityOfTyres all = tyre_values(machine(v), v, 200e3);
  ASSERT_TRUE(value(all.values, name));
  EXPECT_NEAR(value(all.values, name)->value_si, 0.47318, 2e-5);
  EXPECT_NE(value(all.values, name)->note.find("from memory"), std::string::npos);
  EXPECT_EQ(value(all.values, name)->note.find("outside its range"), std::string::npos);
  v.axles[0].drive.driven = false;  // half the weight only resists
  const SanityOfTyres half = tyre_values(machine(v), v, 200e3);
  EXPECT_NEAR(value(half.values, name)->value_si, (0.47318 - 0.09150) / 2, 2e-5);
  EXPECT_FALSE(value(tyre_values(machine(v), v, std::nullopt).values, name));
  v = carrier(true, 0.3);  // b/d = 0.5
  EXPECT_NE(value(tyre_values(machine(v), v, 200e3).values, name)->note.find("outside its range: b/d = 0.5"), std::string::npos);
}

TEST(TyreValues, RigidWheelsGetNeitherAndAreToldWhy) {
  const vehicle::Vehicle rigid = carrier(false), tyres = carrier(true);
  const SanityOfTyres without = tyre_values(machine(rigid), rigid, 200e3), with = tyre_values(machine(tyres), tyres, 200e3);
  EXPECT_TRUE(without.values.empty());
  EXPECT_TRUE(says(without.without, "wheels are rigid"));
  EXPECT_TRUE(says(without.without, "no inflation pressure"));
  EXPECT_TRUE(with.without.empty());
  // 3.65 x 4120.2 / (4 x 0.2^0.85 x 0.6^1.15 x sqrt(0.0171675 / 0.6)): deflection 1030.05 / 60e3.
  const double by_hand = 3.65 * 420 * 9.81 / 4 / (std::pow(0.2, 0.85) * std::pow(0.6, 1.15)) / std::sqrt(1030.05 / 60e3 / 0.6);
  ASSERT_TRUE(value(with.values, "mean maximum pressure"));
  EXPECT_NEAR(value(with.values, "mean maximum pressure")->value_si, by_hand, 1e-9 * by_hand);
}

TEST(UsualRanges, SayWhereThePredictionLies) {
  const auto dry = usual_ranges(true, 0.05, 0.2), soft = usual_ranges(false, 0.3, 0.9);
  ASSERT_EQ(dry.size(), 4u);
  for (const auto& v : dry) EXPECT_NE(v.note.find("common practice, no source, from memory"), std::string::npos);
  EXPECT_NE(dry[0].note.find("lies below"), std::string::npos);
  EXPECT_NE(dry[2].note.find("lies inside"), std::string::npos);
  EXPECT_NE(soft[0].note.find("lies inside"), std::string::npos);
  EXPECT_NE(soft[2].note.find("lies above"), std::string::npos);
  EXPECT_LT(dry[0].value_si, dry[1].value_si);
}

Prediction predict_on(const Ground& ground) {
  base::Problems problems;
  const vehicle::Vehicle v = carrier(false);
  const auto placed = place_vehicle(v, ground, {.gravity_m_s2 = 9.81, .count = 0, .threads = 1}, {}, problems);
  EXPECT_TRUE(placed);
  return predict(*placed, v, ground, {.slips = {0.2}, .gradients_rad = {0}, .energy_gradients_rad = {0}});
}

// The bound used to take the predicted resistance although a measured one was there.
TEST(SanityValues, TheMeasuredResistanceDecidesTheBoundAndIsNamed) {
  Ground ground{.zone = "z", .centre = sand(0), .distribution = {}, .source = "test"};
  const Prediction without = predict_on(ground);
  ground.measured_resistance = MeasuredResistance{0.25, "towed"};
  const Prediction with = predict_on(ground);
  const SanityValue *a = value(without.sanity, "gradient bound"), *b = value(with.sanity, "gradient bound");
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->value_si, std::atan(std::tan(32 * kDeg) - without.towed_resistance.centre), 1e-12);
  EXPECT_NE(a->note.find("none was measured"), std::string::npos);
  EXPECT_NEAR(b->value_si, std::atan(std::tan(32 * kDeg) - 0.25), 1e-12);
  EXPECT_NE(b->note.find("measured motion resistance coefficient 0.250 (towed; predicted"), std::string::npos) << b->note;
  ASSERT_TRUE(value(with.sanity, "energy floor, level"));
  EXPECT_NEAR(value(with.sanity, "energy floor, level")->value_si, 0.25 * 420 * 9.81, 1e-9);
  // They stand beside: no answer moves.
  EXPECT_EQ(with.gradient_maximum.centre, without.gradient_maximum.centre);
  EXPECT_TRUE(says(with.notes, "wheels are rigid"));
}

TEST(SanityValues, WheelsThatPressLessThanTheWeakestCrustAreSaidToBearOnIt) {
  Ground ground{.zone = "z", .centre = sand(), .distribution = {}, .source = "test"};
  const double pressed = predict_on(ground).used.pressure_pa.hi;
  ASSERT_GT(pressed, 0);
  for (const double share : {0.9, 1.1}) {
    ground.weakest_crust_pa = share * pressed;
    EXPECT_EQ(says(predict_on(ground).notes, "bears on the crust"), share > 1) << share;
  }
}

}  // namespace
}  // namespace hardpan::performance
