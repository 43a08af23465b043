// SPDX-License-Identifier: Apache-2.0
// Closed forms and limits that the wheel must meet whatever the numerics.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "contact/detail/random_wheel.hpp"
#include "contact/textbook_estimates.hpp"
#include "contact/wheel_soil.hpp"

namespace hardpan::contact {
namespace {

using detail::contact_of;
using detail::RandomWheel;

RandomWheel plain_wheel(double n = 1.0, double k = 1e6) {
  RandomWheel out;
  out.wheel.radius_m = 0.3;
  out.wheel.width_m = 0.2;
  out.soil.bearing = soil::single_plate(n, k);
  out.soil.shear = soil::Shear{.cohesion_pa = 1000, .tan_phi = 0.6, .shear_modulus_m = 0.02};
  out.soil.c1 = 0.3;
  out.soil.c2 = 0.2;
  out.soil.density_kg_m3 = 1600;
  return out;
}

RandomWheel shear_free(double n, double k = 1e6) {
  RandomWheel out = plain_wheel(n, k);
  out.soil.shear->cohesion_pa = 0;
  out.soil.shear->tan_phi = 0;
  out.soil.c1 = 0;
  out.soil.c2 = 0;
  return out;
}

// Without shear the resistance is the work of compaction per unit of travel, b k z^(n+1)/(n+1): d/dz of the
// projected contact, exact at any depth (Bekker 1956).
TEST(WheelLimits, ShearFreeResistanceIsTheCompactionWorkAtAnyDepth) {
  for (const double n : {0.3, 0.5, 0.8, 1.0, 1.3, 1.6}) {
    const Contact contact = contact_of(shear_free(n));
    for (const double load : {20.0, 300.0, 2000.0}) {
      const WheelAnswer a = wheel_at_load(contact, load, 0.0);
      if (!a.carried()) continue;
      const double work = 0.2 * 1e6 * std::pow(a.sinkage_m, n + 1) / (n + 1);
      EXPECT_NEAR(-a.pull_n, work, 1e-8 * work) << "n " << n << " load " << load << " sinkage " << a.sinkage_m;
      EXPECT_EQ(a.torque_n_m, 0);
    }
  }
}

// The same on two layers and on the floor of a rut: b Int p dz over both laws.
TEST(WheelLimits, ShearFreeResistanceIsTheCompactionWorkThroughABreakOfTheLaw) {
  RandomWheel layered = shear_free(0.8);
  layered.soil.bearing->below = soil::SecondLayer{.depth_m = 0.02, .n_below = 3};
  const double at_break = 1e6 * std::pow(0.02, 0.8);
  for (const double load : {100.0, 1000.0, 4000.0}) {
    const WheelAnswer a = wheel_at_load(contact_of(layered), load, 0.0);
    ASSERT_TRUE(a.carried()) << load;
    const double z = a.sinkage_m, top = std::min(z, 0.02);
    double work = 1e6 * std::pow(top, 1.8) / 1.8;
    if (z > 0.02) work += at_break * 0.02 / 4 * (std::pow(z / 0.02, 4) - 1);
    EXPECT_NEAR(-a.pull_n, 0.2 * work, 1e-8 * 0.2 * work) << load << " sinkage " << z;
  }
  // A wheel behind another of the same load: the reloading line is steep, so it sinks little and resists little.
  Contact contact = contact_of(shear_free(1.0));
  const WheelAnswer first = wheel_at_load(contact, 1000, 0.0);
  const double zu = first.sinkage_m, ku = 2e7, pu = 1e6 * zu;
  contact.law = *soil::rut_floor(contact.law, zu, soil::Reload{.k0_pa_per_m = ku});
  for (const double load : {500.0, 1000.0, 3000.0}) {
    const WheelAnswer a = wheel_at_load(contact, load, 0.0);
    ASSERT_TRUE(a.carried()) << load;
    const double y = a.sinkage_m, line = std::min(y, pu / ku), floor = zu - pu / ku;
    double work = 0.5 * ku * line * line;
    if (y > line) work += 0.5e6 * ((y + floor) * (y + floor) - zu * zu);
    EXPECT_NEAR(-a.pull_n, 0.2 * work, 1e-8 * 0.2 * work) << load;
    if (load == 1000) { EXPECT_LT(-a.pull_n, -first.pull_n); }
  }
}

// A second layer that goes on as the first did changes nothing; a very firm one stops the wheel below its top.
TEST(WheelLimits, SecondLayerBetweenNoneAndAFloor) {
  RandomWheel one = plain_wheel(0.9, 3e5), same = one, firm = one;
  same.soil.bearing->below = soil::SecondLayer{.depth_m = 0.03, .n_below = 0.9};
  firm.soil.bearing->below = soil::SecondLayer{.depth_m = 0.03, .n_below = 20};
  const WheelAnswer a = wheel_at_load(contact_of(one), 2000, 0.2), b = wheel_at_load(contact_of(same), 2000, 0.2);
  ASSERT_GT(a.sinkage_m, 0.05);
  EXPECT_NEAR(a.pull_n, b.pull_n, 1e-8 * 2000);
  EXPECT_NEAR(a.sinkage_m, b.sinkage_m, 1e-8 * a.sinkage_m);
  const WheelAnswer c = wheel_at_load(contact_of(firm), 2000, 0.2);
  EXPECT_GT(c.sinkage_m, 0.03);
  EXPECT_LT(c.sinkage_m, a.sinkage_m);
  EXPECT_GT(c.pull_n, a.pull_n);  // less sinkage, less resistance
}

// z0 -> (W / (B b k sqrt(D)))^(2/(2n+1)) with B = sqrt(pi) Gamma(n+1) / (2 Gamma(n+3/2)): the difference must
// vanish with z0/D, and in proportion.
TEST(WheelLimits, ShearFreeSinkageMeetsItsSmallDepthAsymptote) {
  for (const double n : {0.3, 0.7, 1.0, 1.6}) {
    const RandomWheel random = shear_free(n);
    const Contact contact = contact_of(random);
    const auto excess = [&](double depth) {  // relative sinkage error of the asymptote at a load that gives `depth`
      const double load = wheel_at_entry_angle(contact, 2 * std::asin(std::sqrt(depth / 0.6)), 0.0).load_n;
      return small_sinkage_wheel({.k = 1e6, .n = n}, 0.2, 0.6, load).sinkage_m / depth - 1;
    };
    EXPECT_NEAR(excess(1e-7), 0, 1e-6) << n;
    EXPECT_NEAR(excess(1e-4) / excess(1e-5), 10, 0.05) << n;
  }
}

RandomWheel tyre(double stiffness) {
  RandomWheel out = plain_wheel(0.9, 8e5);
  out.wheel.flex = vehicle::Flex{.stiffness_n_per_m = stiffness};
  return out;
}

TEST(WheelLimits, AVeryStiffTyreIsARigidWheelAndNearsItWithTheRootOfItsDeflection) {
  const Contact rigid = rigid_twin(contact_of(tyre(1e9)));
  const WheelAnswer want = wheel_at_load(rigid, 1500, 0.2);
  const auto gap = [&](double deflection) {
    const WheelAnswer a = wheel_at_load(contact_of(tyre(1500 / deflection)), 1500, 0.2);
    EXPECT_TRUE(has(a.flags, Flag::soil_yields_before_carcass)) << deflection;
    return want.sinkage_m / a.sinkage_m - 1;
  };
  EXPECT_GT(gap(1e-6), 0);
  EXPECT_NEAR(gap(1e-8) / gap(1e-10), 10, 0.1);
  EXPECT_LT(gap(1e-12), 1e-4);
}

TEST(WheelLimits, ATyreOnVeryStiffGroundStandsOnItsFirmGroundContact) {
  RandomWheel random = tyre(1500 / 0.02);
  random.soil.bearing = soil::single_plate(1.0, 1e12);
  const WheelAnswer a = wheel_at_load(contact_of(random), 1500, 0.1);
  ASSERT_TRUE(a.carried());
  const double length = 2 * std::sqrt(0.6 * 0.02 - 0.02 * 0.02);
  EXPECT_NEAR(a.contact_length_m, length, 1e-3 * length);
  EXPECT_NEAR(a.ground_pressure_pa, 1500 / (0.2 * length), 1e-3 * 1500 / (0.2 * length));
  EXPECT_FALSE(has(a.flags, Flag::soil_yields_before_carcass));
  EXPECT_LT(a.sinkage_m, 1e-5);
}

TEST(WheelLimits, FlexingLossIsItsShareOfTheDeflectionWork) {
  RandomWheel random = tyre(1500 / 0.02);
  const WheelAnswer without = wheel_at_load(contact_of(random), 1500, 0.1);
  random.wheel.flex->hysteresis_share = 0.2;
  const WheelAnswer with = wheel_at_load(contact_of(random), 1500, 0.1);
  const double length = 2 * std::sqrt(0.6 * 0.02 - 0.02 * 0.02);
  EXPECT_NEAR(with.flexing_resistance_n, 0.2 * 1500 * 0.02 / (2 * length), 1e-9);
  EXPECT_NEAR(with.torque_n_m - without.torque_n_m, with.torque_radius_m * with.flexing_resistance_n, 1e-9);
  EXPECT_DOUBLE_EQ(with.pull_n, without.pull_n);
}

TEST(WheelLimits, TheLoadDeflectionTableGivesTheSameAsItsStraightLine) {
  RandomWheel random = tyre(75000);
  const WheelAnswer line = wheel_at_load(contact_of(random), 1500, 0.15);
  random.wheel.flex->stiffness_n_per_m.reset();
  random.wheel.flex->load_deflection = {{0, 0}, {1000, 1000 / 75000.0}, {3000, 3000 / 75000.0}};
  const WheelAnswer table = wheel_at_load(contact_of(random), 1500, 0.15);
  EXPECT_NEAR(table.pull_n, line.pull_n, 1e-9 * std::fabs(line.pull_n));
  EXPECT_EQ(wheel_at_load(contact_of(random), 3500, 0.15).status, WheelStatus::beyond_deflection_table);
}

TEST(WheelLimits, ALockedWheelIsTheLimitOfBraking) {
  const Contact contact = contact_of(plain_wheel());
  const WheelAnswer locked = wheel_at_load(contact, 800, -1.0);
  const WheelAnswer nearly = wheel_at_load(contact, 800, -1 + 1e-9);
  ASSERT_TRUE(locked.carried() && nearly.carried());
  EXPECT_TRUE(has(locked.flags, Flag::locked_wheel));
  EXPECT_NEAR(locked.pull_n, nearly.pull_n, 1e-6 * std::fabs(nearly.pull_n));
  EXPECT_TRUE(std::isinf(locked.max_shear_travel_m));
}

TEST(WheelLimits, SideForceVanishesWithTheSlipAngleAndIsOdd) {
  const Contact contact = contact_of(plain_wheel());
  const WheelAnswer none = wheel_at_load(contact, 800, 0.2, 0.0);
  const WheelAnswer little = wheel_at_load(contact, 800, 0.2, 1e-7);
  EXPECT_EQ(none.side_force_n, 0);
  EXPECT_LT(little.side_force_n, 0);
  EXPECT_GT(little.side_force_n, -1e-2);
  EXPECT_NEAR(little.pull_n, none.pull_n, 1e-6 * std::fabs(none.pull_n));
  const WheelAnswer left = wheel_at_load(contact, 800, 0.2, 0.3), right = wheel_at_load(contact, 800, 0.2, -0.3);
  EXPECT_DOUBLE_EQ(left.side_force_n, -right.side_force_n);
  EXPECT_DOUBLE_EQ(left.pull_n, right.pull_n);
}

TEST(WheelLimits, TheSideWallNeedsDensityAndSaysWhenItIsLeftOut) {
  RandomWheel random = plain_wheel();
  const WheelAnswer with = wheel_at_load(contact_of(random), 800, 0.2, 0.3);
  random.soil.density_kg_m3.reset();
  const WheelAnswer without = wheel_at_load(contact_of(random), 800, 0.2, 0.3);
  EXPECT_FALSE(has(with.flags, Flag::side_wall_left_out));
  EXPECT_TRUE(has(without.flags, Flag::side_wall_left_out));
  EXPECT_GT(std::fabs(with.side_force_n), std::fabs(without.side_force_n));
}

// Rankine wall at full mobilisation on a shallow chord, by hand: Int 0.5 g rho Kp z^2 dx over the parabola
// z = z0 (1 - (x/l)^2), l = sqrt(2 r z0): 0.5 g rho Kp z0^2 (16/15) l.
TEST(WheelLimits, AFullyMobilisedSideWallIsTheParabolaByHand) {
  RandomWheel random = plain_wheel(1.0, 1e7);
  random.soil.shear->cohesion_pa = 0;
  const WheelAnswer with = wheel_at_velocities(contact_of(random), 100, 0, 1, 0);
  random.soil.density_kg_m3.reset();
  const WheelAnswer without = wheel_at_velocities(contact_of(random), 100, 0, 1, 0);
  ASSERT_TRUE(with.carried() && without.carried());
  const double z = with.sinkage_m, phi = std::atan(0.6), kp = std::pow(std::tan(std::numbers::pi / 4 + phi / 2), 2);
  const double wall = 0.5 * 9.81 * 1600 * kp * z * z * 16 / 15 * std::sqrt(0.6 * z);
  EXPECT_NEAR(without.side_force_n - with.side_force_n, wall, 0.01 * wall);
}

TEST(WheelVelocities, SlidingSidewaysMeetsTheFullFriction) {
  RandomWheel random = plain_wheel(1.0, 5e7);
  random.soil.shear->cohesion_pa = 0;
  random.soil.density_kg_m3.reset();
  const WheelAnswer a = wheel_at_velocities(contact_of(random), 100, 0, 0.5, 0);
  ASSERT_TRUE(a.carried());
  EXPECT_NEAR(a.side_force_n, -0.6 * 100, 0.005 * 60);  // small entry angle
  EXPECT_TRUE(has(a.flags, Flag::fully_mobilised));
}

TEST(WheelVelocities, SpinningAgainstTheTravelBrakes) {
  const Contact contact = contact_of(plain_wheel());
  const WheelAnswer a = wheel_at_velocities(contact, 800, 0.5, 0, -3);
  ASSERT_TRUE(a.carried());
  EXPECT_LT(a.pull_n, 0);
  EXPECT_LT(a.torque_n_m, 0);
  EXPECT_TRUE(std::isnan(a.slip_ratio));
}

TEST(WheelVelocities, MotionSeenFromBehindIsTheSameMotion) {
  const Contact contact = contact_of(plain_wheel());
  const WheelAnswer ahead = wheel_at_velocities(contact, 800, 0.5, 0.2, 4), back = wheel_at_velocities(contact, 800, -0.5, 0.2, -4);
  ASSERT_TRUE(ahead.carried() && back.carried());
  EXPECT_DOUBLE_EQ(ahead.pull_n, -back.pull_n);
  EXPECT_DOUBLE_EQ(ahead.torque_n_m, -back.torque_n_m);
  EXPECT_DOUBLE_EQ(ahead.side_force_n, back.side_force_n);
  EXPECT_DOUBLE_EQ(ahead.sinkage_m, back.sinkage_m);
}

TEST(WheelHardGround, WithoutSurfaceFrictionTheAnswerIsFlagged) {
  RandomWheel random = plain_wheel(1.0, 1e9);
  const WheelAnswer a = wheel_at_load(contact_of(random), 300, 0.2);
  EXPECT_TRUE(has(a.flags, Flag::contact_shorter_than_k));
  EXPECT_FALSE(has(a.flags, Flag::hard_ground_friction_used));
  random.soil.bearing = soil::single_plate(1.0, 1e13);
  EXPECT_EQ(wheel_at_load(contact_of(random), 300, 0.2).status, WheelStatus::traction_lost_hard_ground);
}

TEST(WheelHardGround, WithSurfaceFrictionItPullsByCoulomb) {
  RandomWheel random = plain_wheel(1.0, 1e12);
  random.soil.surface_friction = 0.7;
  const Contact contact = contact_of(random);
  const WheelAnswer drive = wheel_at_load(contact, 300, 0.2), brake = wheel_at_load(contact, 300, -0.2);
  const WheelAnswer roll = wheel_at_load(contact, 300, 0.0), slide = wheel_at_load(contact, 300, 0.2, 0.4);
  EXPECT_EQ(drive.status, WheelStatus::carried);
  EXPECT_TRUE(has(drive.flags, Flag::hard_ground_friction_used));
  EXPECT_NEAR(drive.pull_n, 0.7 * 300, 0.005 * 210);  // less the resistance of a small sinkage
  EXPECT_NEAR(brake.pull_n, -0.7 * 300, 0.005 * 210);
  EXPECT_NEAR(roll.torque_n_m, 0, 1e-9);
  EXPECT_NEAR(std::hypot(slide.pull_n, slide.side_force_n), 210, 0.005 * 210);
}

TEST(WheelBelly, TouchesBeforeTheLoadIsCarried) {
  const RandomWheel random = plain_wheel(1.0, 2e5);
  const WheelAnswer free = wheel_at_load(contact_of(random), 800, 0.2);
  ASSERT_TRUE(free.carried());
  const Contact low = contact_of(random, {.gravity_m_s2 = 9.81, .belly_clearance_m = 0.8 * free.sinkage_m});
  const WheelAnswer stuck = wheel_at_load(low, 800, 0.2);
  EXPECT_EQ(stuck.status, WheelStatus::belly_contact);
  EXPECT_LT(stuck.largest_load_n, 800);
  EXPECT_NEAR(stuck.sinkage_at_largest_load_m, 0.8 * free.sinkage_m, 1e-3 * free.sinkage_m);
  EXPECT_TRUE(std::isnan(stuck.pull_n));
  const Contact high = contact_of(random, {.gravity_m_s2 = 9.81, .belly_clearance_m = 1.2 * free.sinkage_m});
  EXPECT_EQ(wheel_at_load(high, 800, 0.2).status, WheelStatus::carried);
}

TEST(WheelBulldozing, IsGivenBesideADeepWheelOnly) {
  const RandomWheel random = plain_wheel(1.0, 2e5);
  const Contact contact = contact_of(random);
  const WheelAnswer deep = wheel_at_load(contact, 1200, 0.2), shallow = wheel_at_load(contact, 50, 0.2);
  ASSERT_TRUE(deep.carried() && shallow.carried());
  EXPECT_TRUE(front_bulldozing(contact, deep)->counts);
  EXPECT_TRUE(has(deep.flags, Flag::deep_sinkage));
  EXPECT_FALSE(front_bulldozing(contact, shallow)->counts);
  // By hand, phi = 30 deg, c = 0: X = 30 deg, D1 = cot 30 + tan 60 = 2 sqrt 3, D2 = sqrt 3 + 3 tan 30 = 2 sqrt 3,
  // so D1 D2 / 2 = 6: R = 6 gamma z^2 b.
  RandomWheel sand = random;
  sand.soil.shear->cohesion_pa = 0;
  sand.soil.shear->tan_phi = std::tan(std::numbers::pi / 6);
  const Contact on_sand = contact_of(sand);
  const WheelAnswer a = wheel_at_load(on_sand, 1200, 0.2);
  EXPECT_NEAR(front_bulldozing(on_sand, a)->resistance_n, 6 * 1600 * 9.81 * a.sinkage_m * a.sinkage_m * 0.2,
              1e-9 * front_bulldozing(on_sand, a)->resistance_n);
}

TEST(WheelSlipSinkage, TheLowerPullLeads) {
  RandomWheel random = plain_wheel(1.0, 4e5);
  const Contact contact = contact_of(random, {.slip_sinkage = soil::SlipSinkage::stretch, .gravity_m_s2 = 9.81});
  const WheelPair pair = wheel_with_and_without_slip_sinkage(contact, 800, 0.6);
  ASSERT_TRUE(pair.lead.carried() && pair.beside.carried());
  EXPECT_LE(pair.lead.pull_n, pair.beside.pull_n);
  EXPECT_NE(has(pair.lead.flags, Flag::slip_sinkage_on), has(pair.beside.flags, Flag::slip_sinkage_on));
  // Deeper with slip sinkage whichever leads.
  const WheelAnswer& with = has(pair.lead.flags, Flag::slip_sinkage_on) ? pair.lead : pair.beside;
  const WheelAnswer& without = has(pair.lead.flags, Flag::slip_sinkage_on) ? pair.beside : pair.lead;
  EXPECT_GT(with.sinkage_m, 1.2 * without.sinkage_m);
}

}  // namespace
}  // namespace hardpan::contact
