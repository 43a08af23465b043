// SPDX-License-Identifier: Apache-2.0
#include "vehicle/vehicle.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

namespace hardpan::vehicle {
namespace {

constexpr double kGravity = 9.81;

// Even over the whole range from the first case on (a plain inRange grows with the case number).
rc::Gen<int> whole(int low, int below) { return rc::gen::resize(100, rc::gen::inRange(low, below)); }
rc::Gen<double> between(double low, double high) {
  return rc::gen::map(whole(0, 1000001), [=](int i) { return low + (high - low) * i / 1e6; });
}

// A vehicle of this weight with two equal wheels on each axle.
Vehicle standing(double weight_n, double cg_x_m, const std::vector<double>& axles_at_m) {
  Vehicle v;
  v.bodies = {{.mass_kg = weight_n / kGravity, .cg_x_m = cg_x_m, .cg_z_m = 0.5}};
  for (const double x : axles_at_m) {
    v.axles.push_back({.name = "axle", .position_x_m = x, .track_width_m = 1, .wheel = {.radius_m = 0.2, .width_m = 0.15}});
  }
  return v;
}

TEST(AxleLoads, OfTwoAxlesFollowFromMomentsAboutTheRearContact) {
  // By hand: 4120 N 0.62 m / 1.30 m.
  const auto loads = level_axle_loads_n(standing(4120, 0.62, {0, 1.30}), kGravity);
  ASSERT_EQ(loads.size(), 2u);
  EXPECT_NEAR(loads[1], 1964.92, 0.01);
  EXPECT_NEAR(loads[0], 4120 - 1964.92, 0.01);
}

TEST(AxleLoads, OfTheSlopeExamplesVehicleOnTheLevel) {
  // The vehicle of a published standing-on-a-slope example (49,050 N, wheelbase 2.25 m, centre of
  // gravity 1.0 m ahead of the rear axle): front 49050 / 2.25, whatever the height is, as the
  // example's balance N_f L = W (cos a l_r - sin a h) gives at a = 0.
  const auto loads = level_axle_loads_n(standing(49050, 1.0, {0, 2.25}), kGravity);
  EXPECT_NEAR(loads[1], 21800, 1e-6);
  EXPECT_NEAR(loads[0], 27250, 1e-6);
}

TEST(AxleLoads, OfThreeEqualAxlesFallOnALine) {
  // Rigid body on three equal springs at 0, 1, 2 m: F = W/3 + W (cg - 1) (x - 1) / 2.
  const auto loads = level_axle_loads_n(standing(3000, 1.2, {0, 1, 2}), kGravity);
  EXPECT_NEAR(loads[0], 700, 1e-9);
  EXPECT_NEAR(loads[1], 1000, 1e-9);
  EXPECT_NEAR(loads[2], 1300, 1e-9);
}

TEST(AxleLoads, OfALiftedAxleAreZero) {
  // The line above would give the front axle 3000 (1/3 - 0.4) < 0; the other two then stand alone.
  const auto loads = level_axle_loads_n(standing(3000, 0.2, {0, 1, 2}), kGravity);
  EXPECT_NEAR(loads[0], 2400, 1e-9);
  EXPECT_NEAR(loads[1], 600, 1e-9);
  EXPECT_EQ(loads[2], 0);
}

TEST(AxleLoads, StayRightWhereAnAxleJustTouches) {
  // cg = 1/3: the line gives the front axle exactly nothing, so rounding falls to either side.
  for (const double cg : {1.0 / 3, std::nextafter(1.0 / 3, 0.0), std::nextafter(1.0 / 3, 1.0)}) {
    const auto loads = level_axle_loads_n(standing(3000, cg, {0, 1, 2}), kGravity);
    EXPECT_NEAR(loads[0], 2000, 1e-8);
    EXPECT_NEAR(loads[1], 1000, 1e-8);
    EXPECT_NEAR(loads[2], 0, 1e-8);
    EXPECT_GE(loads[2], 0);
  }
}

TEST(AxleLoads, CountTheWheelsOfAnAxle) {
  // Four wheels behind, two in the middle, two in front (equal springs): stiffness 2 : 1 : 1.
  Vehicle v = standing(4000, 0.75, {0, 1, 2});
  v.axles[0].wheels = 4;  // mean place (0 * 4 + 1 * 2 + 2 * 2) / 8 = 0.75: no tilt, load by wheels
  const auto loads = level_axle_loads_n(v, kGravity);
  EXPECT_NEAR(loads[0], 2000, 1e-9);
  EXPECT_NEAR(loads[1], 1000, 1e-9);
  EXPECT_NEAR(loads[2], 1000, 1e-9);
}

// Smallest value of a convex function on [lo, hi].
double least(const std::function<double(double)>& f, double lo, double hi) {
  const double g = (std::sqrt(5.0) - 1) / 2;
  double a = hi - g * (hi - lo), b = lo + g * (hi - lo), fa = f(a), fb = f(b);
  for (int i = 0; i < 70; ++i) {
    if (fa < fb) {
      hi = b, b = a, fb = fa, a = hi - g * (hi - lo), fa = f(a);
    } else {
      lo = a, a = b, fa = fb, b = lo + g * (hi - lo), fb = f(b);
    }
  }
  return (lo + hi) / 2;
}

// Independent and slow: least energy sum F^2 / (2 wheels) over the loads themselves, by search over
// the redundant loads; the two outer axles follow from the two balances. Negative loads cost a wall.
std::vector<double> loads_by_search(const Vehicle& v, double weight) {
  const std::size_t n = v.axles.size(), redundant = n - 2;
  std::vector<double> loads(n, 0);
  const double length = wheelbase_m(v);
  const auto energy = [&] {
    double rest = weight, moment = weight * v.bodies[0].cg_x_m;
    for (std::size_t i = 1; i <= redundant; ++i) {
      rest -= loads[i];
      moment -= loads[i] * v.axles[i].position_x_m;
    }
    loads[n - 1] = moment / length;
    loads[0] = rest - loads[n - 1];
    double sum = 0, wall = 0;
    for (std::size_t i = 0; i < n; ++i) {
      sum += loads[i] * loads[i] / (2 * v.axles[i].wheels);
      wall += std::max(0.0, -loads[i]);
    }
    return sum + 10 * weight * wall;  // convex; steeper than the energy, whose slope is below 2 W
  };
  std::function<double(std::size_t)> search = [&](std::size_t i) -> double {
    if (i > redundant) return energy();
    loads[i] = least([&](double f) { loads[i] = f; return search(i + 1); }, 0, weight);
    return search(i + 1);
  };
  search(1);
  return loads;
}

RC_GTEST_PROP(AxleLoads, OfThreeAndFourAxlesHaveTheLeastEnergyOfAllBalancedLoads, ()) {
  const std::size_t count = static_cast<std::size_t>(*whole(3, 5));
  std::vector<double> at = {0};
  while (at.size() < count) at.push_back(at.back() + *between(0.4, 2));
  const double weight = *between(500, 20000);
  Vehicle v = standing(weight, at.back() * *between(0.02, 0.98), at);
  for (Axle& axle : v.axles) axle.wheels = *whole(1, 5);
  const auto fast = level_axle_loads_n(v, kGravity), slow = loads_by_search(v, weight);
  // Search on a flat minimum finds the place to the root of the rounding, about 1e-7 of the weight
  // (nested for four axles); 2e-5 leaves room for the walls.
  for (std::size_t i = 0; i < count; ++i) RC_ASSERT(std::abs(fast[i] - slow[i]) <= 2e-5 * weight);
}

RC_GTEST_PROP(AxleLoads, SumToTheWeightBalanceItsMomentAndAreNeverNegative, ()) {
  const std::size_t count = static_cast<std::size_t>(*whole(2, 9));
  std::vector<double> at = {0};
  while (at.size() < count) at.push_back(at.back() + *between(0.3, 3));
  const double weight = *between(10, 1e5), cg = at.back() * *between(0, 1);
  const auto loads = level_axle_loads_n(standing(weight, cg, at), kGravity);
  double sum = 0, moment = 0;
  for (std::size_t i = 0; i < count; ++i) {
    RC_ASSERT(loads[i] >= 0);
    sum += loads[i];
    moment += loads[i] * at[i];
  }
  RC_ASSERT(std::abs(sum - weight) <= 1e-11 * weight);
  RC_ASSERT(std::abs(moment - weight * cg) <= 1e-11 * weight * at.back());
}

TEST(Masses, OfBodyAndPayloadCombineAboutTheirCommonCentre) {
  Vehicle v = standing(0, 0.6, {0, 1.3});
  v.bodies[0].mass_kg = 300;
  v.bodies[0].cg_z_m = 0.5;
  v.payload = {{.name = "battery", .mass_kg = 100, .x_m = 0.2, .y_m = 0.4, .z_m = 0.3}};
  const Body all = loaded_body(v);
  EXPECT_DOUBLE_EQ(all.mass_kg, 400);
  EXPECT_DOUBLE_EQ(mass_kg(v), 400);
  EXPECT_DOUBLE_EQ(all.cg_x_m, 0.5);   // (300 0.6 + 100 0.2) / 400
  EXPECT_DOUBLE_EQ(all.cg_y_m, 0.1);
  EXPECT_DOUBLE_EQ(all.cg_z_m, 0.45);
  EXPECT_NEAR(level_axle_loads_n(v, 2.0)[1], 400 * 2.0 * 0.5 / 1.3, 1e-9);  // the local gravity
}

TEST(Axles, CountWheelsAndPlaceThemAcross) {
  Vehicle v = standing(100, 0.6, {0, 1.3});
  v.axles[1].wheels = 1;
  EXPECT_EQ(wheel_count(v), 3);
  EXPECT_DOUBLE_EQ(wheelbase_m(v), 1.3);
  EXPECT_EQ(wheel_offsets_m(v.axles[0]), (std::vector<double>{0.5, -0.5}));
  EXPECT_EQ(wheel_offsets_m(v.axles[1]), (std::vector<double>{0}));
  v.axles[1].wheels = 3;
  EXPECT_EQ(wheel_offsets_m(v.axles[1]), (std::vector<double>{0.5, 0, -0.5}));
}

TEST(Deflection, IsLinearInTheStiffnessOrBetweenTheRowsOfATable) {
  EXPECT_DOUBLE_EQ(*deflection_m({.stiffness_n_per_m = 50e3}, 1000), 0.02);
  const Flex table{.load_deflection = {{0, 0}, {500, 0.012}, {1500, 0.027}}};
  EXPECT_DOUBLE_EQ(*deflection_m(table, 0), 0);
  EXPECT_DOUBLE_EQ(*deflection_m(table, 250), 0.006);
  EXPECT_DOUBLE_EQ(*deflection_m(table, 500), 0.012);
  EXPECT_DOUBLE_EQ(*deflection_m(table, 1000), 0.0195);
  EXPECT_DOUBLE_EQ(*deflection_m(table, 1500), 0.027);
}

TEST(Deflection, IsNotExtrapolated) {
  const Flex table{.load_deflection = {{0, 0}, {500, 0.012}}};
  EXPECT_FALSE(deflection_m(table, 500.001));
  EXPECT_FALSE(deflection_m(table, -1));
  EXPECT_FALSE(deflection_m(table, std::nan("")));
  EXPECT_FALSE(deflection_m(Flex{}, 10));
}

TEST(FirmContact, IsTheChordOfAFlattenedCircle) {
  // D = 0.5 m, f = 0.02 m: 2 sqrt(0.5 0.02 - 0.0004) = 0.195959 m; 1000 N on 0.2 m: 25,516 Pa.
  Wheel wheel{.radius_m = 0.25, .width_m = 0.2, .flex = Flex{.stiffness_n_per_m = 50e3}};
  EXPECT_NEAR(*firm_contact_length_m(wheel, 1000), 0.195959, 1e-6);
  EXPECT_NEAR(*firm_ground_pressure_pa(wheel, 1000), 25515.5, 0.1);
  wheel.contact_width_m = 0.16;
  EXPECT_NEAR(*firm_ground_pressure_pa(wheel, 1000), 25515.5 * 0.2 / 0.16, 0.1);
}

TEST(FirmContact, OfATableWheelUsesItsDeflection) {
  const Wheel wheel{.radius_m = 0.25, .width_m = 0.2, .flex = Flex{.load_deflection = {{0, 0}, {2000, 0.04}}}};
  EXPECT_NEAR(*firm_contact_length_m(wheel, 1000), 0.195959, 1e-6);
  EXPECT_FALSE(firm_contact_length_m(wheel, 2001));
  EXPECT_FALSE(firm_ground_pressure_pa(wheel, 2001));
}

TEST(FirmContact, OfARigidWheelIsALineWithoutPressure) {
  const Wheel wheel{.radius_m = 0.25, .width_m = 0.2};
  EXPECT_EQ(*firm_contact_length_m(wheel, 1000), 0);
  EXPECT_FALSE(firm_ground_pressure_pa(wheel, 1000));
}

TEST(FirmContact, EndsWhereTheAxleWouldReachTheGround) {
  const Wheel wheel{.radius_m = 0.25, .width_m = 0.2, .flex = Flex{.stiffness_n_per_m = 4000}};
  EXPECT_TRUE(firm_contact_length_m(wheel, 999));
  EXPECT_FALSE(firm_contact_length_m(wheel, 1000));
  EXPECT_FALSE(firm_contact_length_m(wheel, 5000));
}

TEST(Radii, ShearingCountsGrousersAndRollingTheDeflection) {
  Wheel wheel{.radius_m = 0.25, .width_m = 0.2, .grouser_height_m = 0.015, .grouser_count = 24};
  EXPECT_DOUBLE_EQ(shearing_radius_m(wheel), 0.265);
  EXPECT_DOUBLE_EQ(*rolling_radius_m(wheel, 1000), 0.265);
  wheel = {.radius_m = 0.25, .width_m = 0.2, .flex = Flex{.stiffness_n_per_m = 50e3}};
  EXPECT_DOUBLE_EQ(*rolling_radius_m(wheel, 1500), 0.24);  // 0.25 - 0.03 / 3
  EXPECT_FALSE(rolling_radius_m(wheel, 50e3));
  wheel.rolling_radius_m = 0.243;
  EXPECT_DOUBLE_EQ(*rolling_radius_m(wheel, 1500), 0.243);
}

}  // namespace
}  // namespace hardpan::vehicle
