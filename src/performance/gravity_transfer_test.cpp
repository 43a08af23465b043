// SPDX-License-Identifier: Apache-2.0
#include "performance/gravity_transfer.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "math/random.hpp"
#include "performance/test_carrier.hpp"
#include "units/constants.hpp"

namespace hardpan::performance {
namespace {

constexpr GravityChange kEarthToMoon{.from_m_s2 = 9.81, .to_m_s2 = 1.62};

// Reece ground, all of it frictional: p = gamma b k2 (z / b)^n with c = 0. Plain numbers of loose dry sand, invented.
soil::Soil frictional(double n = 1.0, double gamma_k2_n_m3 = 16000.0 * 60) {
  soil::Soil s;
  s.bearing = soil::reece(n, 0, gamma_k2_n_m3);
  s.shear = soil::Shear{.cohesion_pa = 0, .tan_phi = std::tan(33 * units::kDegree_rad), .shear_modulus_m = 0.015};
  return s;
}

GravityTransfer transfer(const vehicle::Vehicle& v, const soil::Soil& s, TransferQuestion q) {
  base::Problems problems;
  const auto t = gravity_transfer(v, s, q, {}, problems);
  EXPECT_TRUE(t) << (problems.list().empty() ? "" : problems.list().front().text());
  return t.value_or(GravityTransfer{});
}

const TransferLine& line(const GravityTransfer& t, const std::string& quantity) {
  const auto at = std::find_if(t.lines.begin(), t.lines.end(), [&](const TransferLine& l) { return l.quantity.find(quantity) != std::string::npos; });
  EXPECT_NE(at, t.lines.end()) << quantity;
  return at == t.lines.end() ? t.lines.front() : *at;
}

// Common practice, no source: a 66 lb test vehicle stands for one with 330 lb more payload at one sixth of the gravity; six wheels of 10 lb/in under it
// deflect 66 / 6 / 10 = 1.1 in each. By hand besides: sqrt(g / 1.1 in) / 2 pi = sqrt(9.80665 / 0.02794) / 2 pi = 2.9817 Hz bounces here, and the same springs
// under six times the mass 1 / sqrt 6 of that.
TEST(GravityTransfer, ASixtySixPoundTestVehicleStandsForOneWithThreeHundredThirtyMorePayload) {
  vehicle::Vehicle v = test::carrier(0.15, 0.1);
  v.axles = {v.axles[0], v.axles[0], v.axles[0]};
  for (std::size_t k = 0; k < 3; ++k) {
    v.axles[k].name = std::to_string(k);
    v.axles[k].position_x_m = 0.62 * static_cast<double>(k);
    v.axles[k].wheel.flex = vehicle::Flex{.stiffness_n_per_m = 10 * units::kPoundForce_n / units::kInch_m};
  }
  const double sixth = units::kStandardGravity_mps2 / 6;
  v.bodies[0].mass_kg = 66 * units::kPound_kg;
  const auto t = transfer(v, test::sand(), {.change = {units::kStandardGravity_mps2, sixth}});
  EXPECT_NEAR(t.payload_kg / units::kPound_kg, 330, 1e-9);
  const TransferLine& f = line(t, "mean deflection");
  EXPECT_NEAR(f.as_tested / units::kInch_m, 1.1, 1e-9);
  EXPECT_NEAR(f.equal_weight, f.as_tested, 1e-12);
  const TransferLine& bounce = line(t, "bounce");
  EXPECT_NEAR(bounce.as_tested, 2.9817, 5e-4);
  EXPECT_NEAR(bounce.equal_weight / bounce.as_tested, 1 / std::sqrt(6.0), 1e-12);
  EXPECT_FALSE(bounce.carries_over);
  // A tenth of a psi under the 11 lbf of a wheel then means 110 square inches: a wheel of 24 in flattened by 1.1 in touches 2 sqrt(24 x 1.1 - 1.1^2) = 10.038 in
  // of ground, so 10.958 in of width.
  const vehicle::Wheel wheel{.radius_m = 12 * units::kInch_m, .width_m = 10.958 * units::kInch_m, .flex = v.axles[0].wheel.flex};
  EXPECT_NEAR(*vehicle::firm_ground_pressure_pa(wheel, 66 * units::kPoundForce_n / 6) / units::kPsi_pa, 0.1, 1e-5);
}

// WE-31 of the worked examples (relations of Slonaker et al. 2017).
TEST(GravityTransfer, GranularScalingGivesThePublishedRatios) {
  const double q = 1.62 / 9.81;
  const GranularScaling same = granular_scaling(q, 1, 1), other = granular_scaling(q, 2, 4);
  EXPECT_NEAR(same.speed, 0.4064, 5e-4);
  EXPECT_NEAR(same.rotation, 0.4064, 5e-4);
  EXPECT_NEAR(same.power, 0.06711, 5e-5);
  EXPECT_NEAR(other.speed, 0.5747, 5e-4);
  EXPECT_NEAR(other.rotation, 0.2873, 5e-4);
  EXPECT_NEAR(other.power, 0.3796, 5e-4);
  EXPECT_NEAR(other.width, 1, 1e-6);
  EXPECT_DOUBLE_EQ(other.torque / other.force, 2);
  EXPECT_NEAR(other.power, other.torque * other.rotation, 1e-12);
}

// Kobayashi et al. 2010, as summarised in reference/slopes_gravity.md (abstract seen): sinkage seemed not to depend on gravity when the load fell with it; at 1 g
// a lower load gives less slip. In ground whose stiffness is all self-weight the first is exact for the relations used (stress and load fall together).
TEST(GravityTransfer, TrueMassInFrictionalGroundSinksAlikeAtAnyGravity) {
  for (const double n : {0.7, 1.0, 1.3}) {
    for (const double to : {1.62, 3.71}) {
      const auto t = transfer(test::carrier(), frictional(n), {.change = {9.81, to}});
      const TransferCurve &here = t.of(GravityTrial::as_tested), &there = t.of(GravityTrial::target), &reduced = t.of(GravityTrial::equal_weight_test);
      for (std::size_t k = 0; k < here.points.size(); ++k) {
        if (here.points[k].status != StateStatus::balanced) continue;
        ASSERT_EQ(there.points[k].status, StateStatus::balanced);
        EXPECT_NEAR(there.points[k].sinkage_m, here.points[k].sinkage_m, 1e-8) << "n " << n << " slip " << here.points[k].slip_ratio;
        EXPECT_NEAR(there.points[k].pull_coefficient, here.points[k].pull_coefficient, 1e-7);
        EXPECT_LT(reduced.points[k].sinkage_m, here.points[k].sinkage_m);
      }
      // The wheel load alone reduced, on the ground of the tests: it pulls more and climbs steeper than it does where it is meant for.
      EXPECT_GT(reduced.at_maximum.gradient_rad, here.at_maximum.gradient_rad);
      EXPECT_NEAR(there.at_maximum.gradient_rad, here.at_maximum.gradient_rad, 1e-4);   // slip of an interior maximum is found to 0.002
    }
  }
}

TEST(GravityTransfer, AnEqualWeightTestIsOptimisticInFrictionalGround) {
  const auto t = transfer(test::carrier(), frictional(), {.change = kEarthToMoon});
  EXPECT_GT(t.optimism_at_maximum_rad, 1 * units::kDegree_rad);
  EXPECT_LT(t.of(GravityTrial::equal_weight_test).towed_resistance, t.of(GravityTrial::target).towed_resistance);
  EXPECT_NEAR(t.of(GravityTrial::equal_weight_test).weight_n, t.of(GravityTrial::target).weight_n, 1e-9);
  EXPECT_NEAR(t.test_mass_kg, vehicle::mass_kg(test::carrier()) * 1.62 / 9.81, 1e-9);
  EXPECT_EQ(t.there.known, SelfWeight::by_relation);
  EXPECT_NEAR(t.there.frictional_modulus_ratio, 1.62 / 9.81, 1e-15);
  // ... and the other way round it is pessimistic.
  EXPECT_LT(transfer(test::carrier(), frictional(), {.change = {1.62, 9.81}}).optimism_at_maximum_rad, 0);
}

// The exception: a short contact on firm ground has not sheared far at a small slip (slip times length against K), so the deeper wheel pulls more there. With a
// tenth of K nothing is left of it.
TEST(GravityTransfer, AtSmallSlipsTheDeeperWheelMayPullMoreAndTheSignTurns) {
  soil::Soil slow = frictional(), quick = frictional();
  quick.shear->shear_modulus_m = 0.0015;
  const TransferQuestion q{.change = kEarthToMoon, .working_slip = 0.1};
  EXPECT_LT(transfer(test::carrier(), slow, q).optimism_at_working_rad, 0);
  EXPECT_GT(transfer(test::carrier(), quick, q).optimism_at_working_rad, 0);
}

TEST(GravityTransfer, CohesionCarriesMoreOfALightVehicle) {
  const auto t = transfer(test::carrier(), test::sand(800), {.change = kEarthToMoon, .share_of_kphi = 1.0});
  const TransferLine& share = line(t, "share of cohesion");
  EXPECT_GT(share.target, share.as_tested);
  EXPECT_FALSE(share.carries_over);
  // Bekker's kphi with all of it from self-weight is Reece's relation without cohesion at n = 1: p = gamma k2 z.
  soil::Soil bekker = frictional();
  bekker.bearing = soil::bekker(1, 0, 16000.0 * 60);
  const auto a = transfer(test::carrier(), frictional(), {.change = kEarthToMoon}), b = transfer(test::carrier(), bekker, {.change = kEarthToMoon, .share_of_kphi = 1.0});
  EXPECT_NEAR(a.of(GravityTrial::target).at_working.gradient_rad, b.of(GravityTrial::target).at_working.gradient_rad, 1e-9);
}

// Towed resistance over weight fell from 0.056 to 0.033 and was explained by deeper ruts.
TEST(GravityTransfer, TheReasonForATowedResistanceFollowsItsDirection) {
  const auto why = [](const soil::Soil& s, const TransferQuestion& q) { return line(transfer(test::carrier(), s, q), "towed resistance"); };
  const TransferLine held = why(test::sand(), {.change = kEarthToMoon});
  EXPECT_LT(held.target, held.as_tested);
  EXPECT_EQ(held.why, "shallower ruts under a lighter load");
  const TransferLine back = why(test::sand(), {.change = {1.62, 9.81}});
  EXPECT_GT(back.target, back.as_tested);
  EXPECT_EQ(back.why, "deeper ruts under a heavier load");
  const TransferLine as_heavy = why(frictional(), {.change = kEarthToMoon, .target_mass_kg = vehicle::mass_kg(test::carrier()) * 9.81 / 1.62});
  EXPECT_GT(as_heavy.target, as_heavy.as_tested);
  EXPECT_TRUE(as_heavy.why.starts_with("deeper ruts") && as_heavy.why.find("softer") != std::string::npos) << as_heavy.why;
}

TEST(GravityTransfer, TheHeightOfTheCentreOfGravityIsNotMadeUp) {
  const TransferLine unknown = line(transfer(test::carrier(), frictional(), {.change = kEarthToMoon}), "height of the centre of gravity");
  EXPECT_TRUE(std::isnan(unknown.equal_weight));
  EXPECT_FALSE(unknown.carries_over);
  const TransferLine nothing = line(transfer(test::carrier(), frictional(), {.change = {9.81, 9.81}}), "height of the centre of gravity");
  EXPECT_TRUE(nothing.carries_over);
  EXPECT_EQ(nothing.equal_weight, nothing.as_tested);
}

TEST(GravityTransfer, AnUnknownShareIsHeldAsMeasuredAndSaidSo) {
  const auto unknown = transfer(test::carrier(), test::sand(), {.change = kEarthToMoon}), none = transfer(test::carrier(), test::sand(), {.change = kEarthToMoon, .share_of_kphi = 0.0});
  EXPECT_EQ(unknown.there.known, SelfWeight::unknown);
  EXPECT_EQ(none.there.known, SelfWeight::stated_share);
  EXPECT_DOUBLE_EQ(unknown.of(GravityTrial::target).at_working.gradient_rad, none.of(GravityTrial::target).at_working.gradient_rad);
  EXPECT_NEAR(unknown.optimism_at_maximum_rad, 0, 1e-9);   // nothing distinguishes the two grounds: that is why it is said
  double before = unknown.optimism_at_maximum_rad;
  for (const double share : {0.25, 0.5, 0.75, 1.0}) {
    const double optimism = transfer(test::carrier(), test::sand(), {.change = kEarthToMoon, .share_of_kphi = share}).optimism_at_maximum_rad;
    EXPECT_GT(optimism, before) << share;
    before = optimism;
  }
}

// The scaling law against the wheel model itself: lengths 2, masses 4, gravity 1.62/9.81, width 4/4 = 1 times, K twice (the law's own condition); n = 1, no cohesion.
TEST(GravityTransfer, TheWheelModelObeysGranularScaling) {
  const double q = 1.62 / 9.81, r = 2, s = 4;
  const GranularScaling law = granular_scaling(q, r, s);
  const vehicle::Vehicle small = test::carrier();
  vehicle::Vehicle large = small;
  for (vehicle::Axle& a : large.axles) {
    a.position_x_m *= r;
    a.wheel.radius_m *= r;
    a.wheel.width_m *= law.width;
  }
  soil::Soil there = frictional(1, 16000.0 * 60 * q);
  there.shear->shear_modulus_m = *there.shear->shear_modulus_m * law.shear_modulus;
  base::Problems problems;
  auto on_small = on_soil(small, frictional(), 9.81, soil::SlipSinkage::stretch, {}, problems), on_large = on_soil(large, there, 1.62, soil::SlipSinkage::stretch, {}, problems);
  ASSERT_TRUE(on_small && on_large);
  OnSoil scaled = with_weight(*on_large, on_small->plain.weight_n * law.force);
  for (Machine* m : {&scaled.plain, &*scaled.sinking}) {
    m->cg_x_m *= r, m->cg_z_m *= r;
    for (Machine::Part& p : m->part) p.cg_x_m *= r, p.cg_z_m *= r;
  }
  Workspace space;
  for (const double slip : {0.05, 0.1, 0.2, 0.4}) {
    State a, b;
    states_at_slip({&*on_small, 1}, slip, 0.05, {&a, 1}, space);
    states_at_slip({&scaled, 1}, slip, 0.05, {&b, 1}, space);
    ASSERT_TRUE(a.balanced() && b.balanced());
    EXPECT_NEAR(b.hitch_pull_n / a.hitch_pull_n, law.force, 1e-6) << slip;
    EXPECT_NEAR(b.deepest_m() / a.deepest_m(), law.sinkage, 1e-6) << slip;
    EXPECT_NEAR(b.wheel[0].torque_n_m / a.wheel[0].torque_n_m, law.torque, 1e-6) << slip;
  }
}

TEST(GravityTransfer, RandomVehiclesKeepTheirStandingLoadsByEqualWeight) {
  const math::Stream random(20, math::stream_id("gravity transfer"));
  for (std::uint64_t i = 0; i < 40; ++i) {
    const vehicle::Vehicle v = test::carrier(0.15 + 0.4 * random.uniform(4 * i), 0.1 + 0.3 * random.uniform(4 * i + 1));
    const GravityChange change{.from_m_s2 = 1 + 9 * random.uniform(4 * i + 2), .to_m_s2 = 1 + 9 * random.uniform(4 * i + 3)};
    const auto t = transfer(v, frictional(), {.change = change, .payload_height_m = 0.8, .slips = {0.2}});
    EXPECT_NEAR(t.of(GravityTrial::target_equal_weight).weight_n, t.of(GravityTrial::as_tested).weight_n, 1e-9);
    EXPECT_NEAR(t.of(GravityTrial::equal_weight_test).weight_n, t.of(GravityTrial::target).weight_n, 1e-9);
    for (const TransferLine& l : t.lines) {
      if (l.carries_over) { EXPECT_NEAR(l.equal_weight, l.as_tested, 1e-9 * std::abs(l.as_tested)) << l.quantity; }
      EXPECT_FALSE(l.why.empty());
    }
    // With more gravity there is no payload to add, and the centre of gravity is not moved.
    EXPECT_EQ(t.cg_height_with_payload_m.has_value(), change.to_m_s2 < change.from_m_s2);
    EXPECT_EQ(t.optimism_at_maximum_rad > 0, change.to_m_s2 < change.from_m_s2) << change.from_m_s2 << " " << change.to_m_s2;
  }
}

TEST(GravityTransfer, RefusesWhatCannotBe) {
  const auto refused = [](const soil::Soil& s, const TransferQuestion& q, const std::string& key) {
    base::Problems problems;
    EXPECT_FALSE(gravity_transfer(test::carrier(), s, q, {.key = "transfer"}, problems)) << key;
    const auto& list = problems.list();
    EXPECT_TRUE(std::any_of(list.begin(), list.end(), [&](const base::Problem& p) { return p.place.key == "transfer." + key; })) << key;
  };
  const double nan = std::nan("");
  refused(frictional(), {.change = {9.81, 0}}, "to");
  refused(frictional(), {.change = {nan, 1.62}}, "from");
  refused(frictional(), {.change = {-9.81, 1.62}}, "from");
  refused(frictional(), {.change = kEarthToMoon, .share_of_kphi = 0.5}, "self_weight_share");   // Reece tells it itself
  refused(test::sand(), {.change = kEarthToMoon, .share_of_kphi = 1.5}, "self_weight_share");
  refused(test::sand(), {.change = kEarthToMoon, .share_of_kphi = nan}, "self_weight_share");
  refused(frictional(), {.change = kEarthToMoon, .target_mass_kg = 0.0}, "target_mass");
  refused(frictional(), {.change = kEarthToMoon, .payload_height_m = -1.0}, "payload_height");
  refused(frictional(), {.change = kEarthToMoon, .slips = {1.2}}, "slip");
  refused(frictional(), {.change = kEarthToMoon, .working_slip = 0}, "slip");
  soil::Soil bare;
  refused(bare, {.change = kEarthToMoon}, "bearing");
}

}  // namespace
}  // namespace hardpan::performance
