// SPDX-License-Identifier: Apache-2.0
#include "vehicle/chain.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "vehicle/vehicle.hpp"

namespace hardpan::vehicle {
namespace {

constexpr double kGravity = 9.81;

rc::Gen<double> between(double low, double high) {
  return rc::gen::map(rc::gen::resize(100, rc::gen::inRange(0, 1000001)), [=](int i) { return low + (high - low) * i / 1e6; });
}

Axle axle_at(double x_m, std::size_t body) {
  return {.name = "axle", .body = body, .position_x_m = x_m, .track_width_m = 1, .wheel = {.radius_m = 0.2, .width_m = 0.15}};
}

// A tractor of two axles (body 1) that pulls a trailer with one axle (body 0); joint 1.2 m ahead of the trailer's axle.
Vehicle tractor_and_trailer(Freedom pitch) {
  Vehicle v;
  v.bodies = {{.name = "trailer", .mass_kg = 200, .cg_x_m = 0.3, .cg_z_m = 0.5}, {.name = "tractor", .mass_kg = 300, .cg_x_m = 2.4, .cg_z_m = 0.6}};
  v.joints = {{.x_m = 1.2, .z_m = 0.4, .pitch = {.freedom = pitch}}};
  v.axles = {axle_at(0, 0), axle_at(1.6, 1), axle_at(3.0, 1)};
  return v;
}

TEST(Chain, AFreeJointCarriesWhatMomentsAboutTheTrailersAxleSay) {
  // By hand: the joint takes 200 x 0.3 / 1.2 = 50 kg of the trailer. The tractor then has 300 kg at 2.4 m and 50 kg at 1.2 m on axles at 1.6 and 3.0:
  // front (300 x 0.8 - 50 x 0.4) / 1.4 = 157.142857 kg, rear 192.857143 kg; the trailer's axle keeps 150 kg.
  const std::vector<double> loads = level_axle_loads_n(tractor_and_trailer(Freedom::free), kGravity);
  ASSERT_EQ(loads.size(), 3u);
  EXPECT_NEAR(loads[0], 150 * kGravity, 1e-6);
  EXPECT_NEAR(loads[1], 192.857142857 * kGravity, 1e-5);
  EXPECT_NEAR(loads[2], 157.142857143 * kGravity, 1e-5);
}

TEST(Chain, APullAtTheHitchActsWithItsHeightOverTheJoint) {
  // By hand: 100 N rearward at 0.7 m passes on to the tractor at the joint, 0.4 m high; the couple 100 x 0.3 N m presses the trailer's axle and lifts its nose
  // by 30 / 1.2 N.
  const Vehicle v = tractor_and_trailer(Freedom::free);
  const Chain chain = chain_of(v);
  ChainForce force;
  for (std::size_t b = 0; b < 2; ++b) force.add_force(chain, b, v.bodies[b].cg_x_m, v.bodies[b].cg_z_m, 0, v.bodies[b].mass_kg * kGravity);
  force.add_force(chain, 0, -0.3, 0.7, -100, 0);
  force.add_force(chain, 1, 3.0, 0, 100, 0);  // the tractor's front wheels, on the ground
  std::vector<ChainSupport> support;
  for (const Axle& a : v.axles) support.push_back({.x_m = a.position_x_m, .body = a.body, .compliance_m_per_n = 1e-8});
  const ChainShare share = share_along(chain, force, support);
  ASSERT_TRUE(share.stands);
  EXPECT_NEAR(share.load_n[0], 150 * kGravity + 100 * 0.3 / 1.2, 1e-6);
  EXPECT_NEAR(share.load_n[0] + share.load_n[1] + share.load_n[2], 500 * kGravity, 1e-6);
}

TEST(Chain, WithoutAHoldingJointABodyWithOneAxleInTheMiddleFoldsUp) {
  Vehicle v = tractor_and_trailer(Freedom::free);
  v.bodies.push_back({.name = "nose", .mass_kg = 100, .cg_x_m = 4.0, .cg_z_m = 0.5});
  v.bodies[1].cg_x_m = 2.0;
  v.joints.push_back({.x_m = 3.2, .z_m = 0.4, .pitch = {.freedom = Freedom::free}});
  v.axles = {axle_at(0, 0), axle_at(2.1, 1), axle_at(4.2, 2)};
  EXPECT_FALSE(level_share(v, kGravity).stands);
  v.joints[1].pitch = {.freedom = Freedom::elastic, .stiffness_n_m_per_rad = 5e3};
  EXPECT_TRUE(level_share(v, kGravity).stands);
}

TEST(Chain, RestsOnAStopWhereTheJointIsFreeBeyondWhatItsAxlesHold) {
  // A nose without an axle of its own hangs down to its stop: then it is one body with the tractor. By hand: moments of 300 kg at 2.4 m and 50 kg at 3.5 m.
  Vehicle v = tractor_and_trailer(Freedom::free);
  v.bodies.push_back({.name = "nose", .mass_kg = 50, .cg_x_m = 3.5, .cg_z_m = 0.5});
  v.joints.push_back({.x_m = 3.1, .z_m = 0.4, .pitch = {.freedom = Freedom::free, .lowest_rad = -0.1, .highest_rad = 0.3}});
  const ChainShare share = level_share(v, kGravity);
  ASSERT_TRUE(share.stands);
  EXPECT_TRUE(share.on_stop[1]);
  EXPECT_NEAR(share.load_n[2], (300 * 0.8 - 50 * 0.4 + 50 * 1.9) / 1.4 * kGravity, 1e-3);
}

TEST(Chain, AStopHoldsInItsOwnDirectionOnly) {
  // The tail-heavy trailer would let its nose rise: the joint bends nose down ahead of it, which a stop at 0 on that side forbids; then all is one body. The
  // other way round the stop does nothing and the loads are those of the free joint.
  Vehicle v = tractor_and_trailer(Freedom::free);
  const std::vector<double> free = level_axle_loads_n(v, kGravity), rigid = level_axle_loads_n(tractor_and_trailer(Freedom::rigid), kGravity);
  int held = 0;
  for (const bool below : {true, false}) {
    Vehicle stopped = v;
    (below ? stopped.joints[0].pitch.lowest_rad : stopped.joints[0].pitch.highest_rad) = 0;
    const ChainShare share = level_share(stopped, kGravity);
    ASSERT_TRUE(share.stands);
    held += share.on_stop[0];
    for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(share.load_n[i], share.on_stop[0] ? rigid[i] : free[i], 1e-6) << below << i;
  }
  EXPECT_EQ(held, 1);
}

RC_GTEST_PROP(Chain, ABodySplitInTwoByARigidJointChangesNothing, ()) {
  const double split = *between(0.3, 1.7), share = *between(0.1, 0.9), mass = *between(50, 500);
  Vehicle one;
  one.axles = {axle_at(0, 0), axle_at(*between(0.5, 1.5), 0), axle_at(2.0, 0)};
  const double x0 = *between(0.2, 1.0), x1 = *between(1.0, 1.8);
  one.bodies = {{.mass_kg = mass, .cg_x_m = share * x0 + (1 - share) * x1, .cg_z_m = 0.5}};
  Vehicle two = one;
  two.bodies = {{.name = "a", .mass_kg = share * mass, .cg_x_m = x0, .cg_z_m = 0.5}, {.name = "b", .mass_kg = (1 - share) * mass, .cg_x_m = x1, .cg_z_m = 0.5}};
  two.joints = {{.x_m = split, .z_m = 0.4}};
  for (Axle& a : two.axles) a.body = a.position_x_m > split ? 1 : 0;
  const auto a = level_axle_loads_n(one, kGravity), b = level_axle_loads_n(two, kGravity);
  for (std::size_t i = 0; i < 3; ++i) RC_ASSERT(std::abs(a[i] - b[i]) <= 1e-9 * mass * kGravity);
}

RC_GTEST_PROP(Chain, LoadsAreNeverNegativeSumToTheWeightAndHoldEveryBodyBehindAFreeJoint, ()) {
  Vehicle v = tractor_and_trailer(Freedom::elastic);
  v.joints[0].pitch.stiffness_n_m_per_rad = std::pow(10, *between(0, 8));
  v.bodies[0].cg_x_m = *between(-0.2, 1.0);
  v.bodies[1].cg_x_m = *between(1.7, 2.9);
  const ChainShare s = level_share(v, kGravity);
  RC_ASSERT(s.stands);
  double total = 0, moment = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    RC_ASSERT(s.load_n[i] >= 0);
    total += s.load_n[i];
    moment += s.load_n[i] * v.axles[i].position_x_m;
  }
  const Body all = loaded_body(v);
  RC_ASSERT(std::abs(total - all.mass_kg * kGravity) <= 1e-9 * total);
  RC_ASSERT(std::abs(moment - all.mass_kg * kGravity * all.cg_x_m) <= 1e-8 * total);
}

TEST(Chain, AStiffElasticJointIsTheRigidOneAndASoftOneTheFreeOne) {
  Vehicle v = tractor_and_trailer(Freedom::elastic);
  v.joints[0].pitch.stiffness_n_m_per_rad = 1e13;
  const auto stiff = level_axle_loads_n(v, kGravity), rigid = level_axle_loads_n(tractor_and_trailer(Freedom::rigid), kGravity);
  v.joints[0].pitch.stiffness_n_m_per_rad = 1e-3;
  const auto soft = level_axle_loads_n(v, kGravity), free = level_axle_loads_n(tractor_and_trailer(Freedom::free), kGravity);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(stiff[i], rigid[i], 0.5);
    EXPECT_NEAR(soft[i], free[i], 1e-3);
  }
}

}  // namespace
}  // namespace hardpan::vehicle
