// SPDX-License-Identifier: Apache-2.0
// What must hold for every wheel on every soil: balances, bounds, scale invariance, the smallest root.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "contact/detail/adaptive_reference.hpp"
#include "contact/detail/answer.hpp"
#include "contact/detail/random_wheel.hpp"
#include "contact/wheel_soil.hpp"

namespace hardpan::contact {
namespace {

using namespace detail;

// A random wheel from RapidCheck's own stream (it prints and shrinks the seed).
Chance any_chance() { return Chance(*rc::gen::arbitrary<std::uint64_t>()); }

double load_at(const Contact& contact, double sinkage_share) {
  return wheel_at_entry_angle(contact, std::acos(1 - sinkage_share), 0.2).load_n;
}

// T omega + Fy |vy| = DP v + dissipated, with the dissipation integrated apart from the forces, by adaptive
// quadrature of stress times sliding and sinking velocity (v = 1).
RC_GTEST_PROP(WheelPower, WhatGoesInIsPulledOrDissipated, ()) {
  Chance chance = any_chance();
  RandomWheel random = random_wheel(chance);
  random.soil.density_kg_m3.reset();  // the side wall's work is not in the contact integrals
  const bool tyre = chance.happens(0.3);
  if (tyre) random.wheel.flex = vehicle::Flex{.stiffness_n_per_m = chance.log_between(1e4, 1e6)};
  const Contact contact = contact_of(random);
  const double slip = chance.between(-0.9, 0.9), angle = chance.happens(0.5) ? 0 : chance.between(0.02, 0.6);
  const WheelAnswer a = wheel_at_load(contact, load_at(rigid_twin(contact), chance.log_between(0.01, 0.3)), slip, angle);
  if (!a.carried()) RC_DISCARD("bogs down");
  const AdaptiveWheel wheel(contact, a.sinkage_m, a.deflection_m, slip, angle);
  const double omega = 1 / (wheel.v_over_rim() * a.torque_radius_m);
  const double in = a.torque_n_m * omega + std::fabs(a.side_force_n) * std::tan(angle);
  const double lost = in - a.pull_n;
  const double dissipated = contact.width_m * wheel.radius * wheel.integrate().dissipated;
  RC_ASSERT(std::fabs(lost - dissipated) <= 1e-7 * (std::fabs(in) + std::fabs(a.pull_n)));
  RC_ASSERT(dissipated >= 0);
}

// Cohesionless, th2 = 0: no pull beyond W tan phi.
RC_GTEST_PROP(WheelBounds, CohesionlessPullStaysBelowTheFriction, ()) {
  Chance chance = any_chance();
  RandomWheel random = random_wheel(chance);
  random.soil.shear->cohesion_pa = 0;
  const Contact contact = contact_of(random);
  const double load = load_at(contact, chance.log_between(0.005, 0.4));
  const WheelAnswer a = wheel_at_load(contact, load, chance.between(0, 1), chance.happens(0.3) ? 0.3 : 0);
  if (!a.carried()) RC_DISCARD("bogs down");
  RC_ASSERT(a.pull_n <= load * contact.tan_phi * (1 + 1e-12));
}

// Granular scaling (Slonaker et al. 2017): L' = r L, m' = s m, g' = q g on one cohesionless ground. Width goes as
// s/r^2, stress then as q r, so the same ground has p(r z) q r = p'(r z), that is k' = q r^(1-n) k, and K' = r K.
// Force goes as s q, torque as s q r, sinkage as r; angles stay.
RC_GTEST_PROP(WheelScaling, GranularScalingHoldsOnCohesionlessGround, ()) {
  Chance chance = any_chance();
  RandomWheel one = random_wheel(chance);
  one.soil.shear->cohesion_pa = 0;
  const double r = chance.log_between(0.3, 3), s = chance.log_between(0.1, 10), q = chance.log_between(0.1, 3);
  RandomWheel two = one;
  const double n = one.soil.bearing->n;
  two.wheel.radius_m *= r;
  two.wheel.width_m *= s / (r * r);
  two.wheel.grouser_height_m *= r;
  two.soil.bearing = soil::single_plate(n, one.soil.bearing->first_modulus * q * std::pow(r, 1 - n));
  two.soil.shear->shear_modulus_m = *one.soil.shear->shear_modulus_m * r;
  const double slip = chance.between(-0.9, 1), load = load_at(contact_of(one), chance.log_between(0.01, 0.3));
  const WheelAnswer a = wheel_at_load(contact_of(one), load, slip), b = wheel_at_load(contact_of(two), load * s * q, slip);
  RC_ASSERT(a.status == b.status);
  if (!a.carried()) return;
  RC_ASSERT(std::fabs(b.entry_angle_rad - a.entry_angle_rad) <= 1e-8 * a.entry_angle_rad);
  RC_ASSERT(std::fabs(b.sinkage_m / r - a.sinkage_m) <= 1e-8 * a.sinkage_m);
  RC_ASSERT(std::fabs(b.pull_n / (s * q) - a.pull_n) <= 1e-8 * load);
  RC_ASSERT(std::fabs(b.torque_n_m / (s * q * r) - a.torque_n_m) <= 1e-8 * load * one.wheel.radius_m);
}

// Units: lengths times a, stresses times b, whatever the ground (cohesion, density, tyre and slip angle included).
RC_GTEST_PROP(WheelScaling, NoUnitIsPreferred, ()) {
  Chance chance = any_chance();
  RandomWheel one = random_wheel(chance);
  const double n = one.soil.bearing->n, a = chance.log_between(0.2, 5), b = chance.log_between(0.2, 5);
  RandomWheel two = one;
  if (chance.happens(0.4)) {
    const double stiffness = chance.log_between(2e4, 1e6);
    one.wheel.flex = vehicle::Flex{.stiffness_n_per_m = stiffness, .hysteresis_share = 0.1};
    two.wheel.flex = vehicle::Flex{.stiffness_n_per_m = stiffness * a * b, .hysteresis_share = 0.1};
  }
  two.wheel.radius_m *= a;
  two.wheel.width_m *= a;
  two.wheel.grouser_height_m *= a;
  two.soil.bearing = soil::single_plate(n, one.soil.bearing->first_modulus * b / std::pow(a, n));
  two.soil.shear->cohesion_pa *= b;
  two.soil.shear->shear_modulus_m = *one.soil.shear->shear_modulus_m * a;
  two.soil.density_kg_m3 = *one.soil.density_kg_m3 * b / a;
  const Contact first = contact_of(one), second = contact_of(two);
  const double slip = chance.between(-0.9, 1), angle = chance.happens(0.5) ? 0 : chance.between(-0.5, 0.5);
  const double load = load_at(rigid_twin(first), chance.log_between(0.01, 0.3)), force = a * a * b;
  const WheelAnswer x = wheel_at_load(first, load, slip, angle), y = wheel_at_load(second, load * force, slip, angle);
  RC_ASSERT(x.status == y.status);
  if (!x.carried()) return;
  RC_ASSERT(std::fabs(y.sinkage_m / a - x.sinkage_m) <= 1e-8 * x.sinkage_m);
  RC_ASSERT(std::fabs(y.pull_n / force - x.pull_n) <= 1e-8 * load);
  RC_ASSERT(std::fabs(y.side_force_n / force - x.side_force_n) <= 1e-8 * load);
  RC_ASSERT(std::fabs(y.torque_n_m / (force * a) - x.torque_n_m) <= 1e-8 * load * one.wheel.radius_m);
}

// The answer is the smallest sinkage at which the load is reached: a grid of 1,000 angles below it stays below.
RC_GTEST_PROP(WheelRoot, NothingBelowTheAnswerCarriesTheLoad, ()) {
  Chance chance = any_chance();
  RandomWheel random = random_wheel(chance);
  if (chance.happens(0.3)) random.soil.exit_ratio = chance.between(0.1, 0.9);
  if (chance.happens(0.3)) random.wheel.flex = vehicle::Flex{.stiffness_n_per_m = chance.log_between(1e4, 1e6)};
  const Contact contact = contact_of(random);
  const double slip = chance.happens(0.7) ? -chance.between(0, 1) : chance.between(0, 1);
  const double angle = chance.happens(0.7) ? 0 : chance.between(0.02, 0.6);
  const double load = load_at(rigid_twin(contact), chance.log_between(0.01, 0.6));
  const WheelAnswer a = wheel_at_load(contact, load, slip, angle, chance.happens(0.5) ? 0 : chance.between(0.01, 1.5));
  if (!(load / (contact.flexible ? contact.stiffness_n_per_m : 1e99) < 0.5 * contact.radius_m)) RC_DISCARD("flat tyre");
  const LoadCurve curve = make_curve(contact, slip, angle, a.deflection_m);
  const double top = a.carried() ? 2 * std::asin(std::sqrt(0.5 * a.sinkage_m / contact.radius_m)) * (1 - 1e-7) : curve.largest_angle;
  RC_ASSERT(a.carried() || a.status == WheelStatus::bogs_down);
  double most = 0;
  for (int i = 1; i <= 1000; ++i) most = std::max(most, curve.load_n(top * i / 1000, rule_for(28)));
  RC_ASSERT(most < load);
  if (!a.carried()) RC_ASSERT(most <= a.largest_load_n * (1 + 1e-7));
}

// What Shape::rises says of driving wheels, flexible ones included (for which it is not proven).
RC_GTEST_PROP(WheelRoot, TheLoadOfADrivingWheelRisesWithItsSinkage, ()) {
  Chance chance = any_chance();
  RandomWheel random = random_wheel(chance);
  if (chance.happens(0.7)) random.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 1e5};
  const Contact contact = contact_of(random);
  const double deflection = contact.flexible ? contact.radius_m * chance.log_between(1e-4, 0.3) : 0;
  const LoadCurve curve = make_curve(contact, chance.between(0, 1), chance.happens(0.5) ? 0 : chance.between(0.02, 0.8), deflection);
  double before = 0;
  const double end = std::min(kKnownUpTo, curve.largest_angle);
  for (int i = 1; i <= 200; ++i) {
    const double t = end * i / 200;
    if (contact.flexible && circle_of(curve, t).entry_rad > kKnownUpTo) break;
    const double load = curve.load_n(t, rule_for(24));
    RC_ASSERT(load > before);
    before = load;
  }
}

}  // namespace

// Named cases of a load curve that does not simply rise.
namespace {

RandomWheel clay() {
  RandomWheel out;
  out.wheel.radius_m = 0.4;
  out.wheel.width_m = 0.3;
  out.soil.bearing = soil::single_plate(1.5, 4e6);
  out.soil.shear = soil::Shear{.cohesion_pa = 8000, .tan_phi = 0.1, .shear_modulus_m = 0.01};
  out.soil.c1 = 0.3;
  out.soil.c2 = 0.2;
  return out;
}

TEST(WheelRoot, IsFoundBehindADipBelowZero) {
  // Cohesion with n > 1 while braking: shear pulls the wheel down before pressure carries it.
  const Contact contact = contact_of(clay());
  const LoadCurve curve = make_curve(contact, -0.5, 0, 0);
  EXPECT_LT(curve.load_n(0.02, rule_for(24)), 0);
  const WheelAnswer a = wheel_at_load(contact, 20, -0.5);
  ASSERT_TRUE(a.carried());
  EXPECT_GT(curve.load_n(1.01 * a.entry_angle_rad, rule_for(24)), 20);
  EXPECT_LT(curve.load_n(0.99 * a.entry_angle_rad, rule_for(24)), 20);
}

TEST(WheelRoot, AboveTheCrestOfABrakedWheelItBogsDownWithTheCrestAsLargestLoad) {
  RandomWheel random = clay();
  random.soil.bearing = soil::single_plate(0.3, 2.2e4);
  random.soil.shear->tan_phi = 0.6;
  const Contact contact = contact_of(random);
  const LoadCurve curve = make_curve(contact, -0.9, 0, 0);
  double crest = 0, place = 0;
  for (int i = 1; i < 20000; ++i) {
    const double t = 0.5 * std::numbers::pi * i / 20000, load = curve.load_n(t, rule_for(28));
    if (load > crest) {
      crest = load;
      place = t;
    }
  }
  ASSERT_LT(place, 1.5);  // a crest inside, not the end of the range
  ASSERT_GT(place, 0.1);
  const WheelAnswer over = wheel_at_load(contact, 1.0001 * crest, -0.9), under = wheel_at_load(contact, 0.9999 * crest, -0.9);
  EXPECT_EQ(over.status, WheelStatus::bogs_down);
  EXPECT_EQ(over.solve.status, base::SolveStatus::no_solution);
  EXPECT_NEAR(over.largest_load_n, crest, 1e-7 * crest);
  EXPECT_TRUE(std::isnan(over.pull_n));
  ASSERT_EQ(under.status, WheelStatus::carried);
  EXPECT_LT(under.entry_angle_rad, place);
}

TEST(WheelRoot, StepCountsStaySmall) {
  // Observed: at most 9 evaluations of the load over 400 driving wheels, cold; 6 with a neighbour's guess.
  Chance chance(31);
  int cold = 0, warm = 0;
  for (int i = 0; i < 400; ++i) {
    const Contact contact = contact_of(random_wheel(chance));
    const double load = load_at(contact, chance.log_between(0.01, 0.3)), slip = chance.between(0, 0.8);
    const WheelAnswer a = wheel_at_load(contact, load, slip);
    if (!a.carried() || a.entry_angle_rad > kKnownUpTo) continue;
    cold = std::max(cold, a.solve.evaluations);
    warm = std::max(warm, wheel_at_load(contact, load, slip, 0, 1.03 * a.entry_angle_rad).solve.evaluations);
  }
  EXPECT_LE(cold, 9);
  EXPECT_LE(warm, 6);
}

}  // namespace
}  // namespace hardpan::contact
