// SPDX-License-Identifier: Apache-2.0
#include "performance/tip_over_joints.hpp"

#include <glpk.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <memory>
#include <numbers>
#include <random>
#include <vector>

#include "base/problems.hpp"
#include "performance/test_chains.hpp"

namespace hardpan::performance {
namespace {

using vehicle::Freedom;
constexpr double kDeg = 0.017453292519943295, kGravity = 9.81;

using test::with_trailer;

// By hand: the trailer by itself tips sideways at atan(0.5 / 0.8) = 32.005 deg, the carrier at atan(0.5 / 0.55) = 42.27.
TEST(TipOverOfBodies, ATrailerThatRollsFreelyTipsOverItsOwnWheels) {
  for (const double fall : {kFallLeft, kFallRight}) {
    const auto t = tip_over_of_bodies(with_trailer(Freedom::free), kGravity, fall);
    ASSERT_TRUE(t);
    EXPECT_NEAR(t->tip.angle_rad / kDeg, 32.005, 0.001);
    EXPECT_EQ(t->body, 0u);
    EXPECT_EQ(t->tip.about, fall == kFallLeft ? TipEdge::left : TipEdge::right);
  }
}

// By hand: held in roll, both tip together: 520 kg with its centre (100 x 0.8 + 420 x 0.55) / 520 = 0.5981 m high: atan(0.5 / 0.5981) = 39.89 deg.
TEST(TipOverOfBodies, HeldInRollTheTwoTipTogether) {
  const auto t = tip_over_of_bodies(with_trailer(Freedom::rigid), kGravity, kFallLeft);
  ASSERT_TRUE(t);
  EXPECT_NEAR(t->tip.angle_rad / kDeg, 39.89, 0.01);
}

// Halfway between two edges the digits of the angle used to decide, and 135 deg said left where 225 deg said rearward.
TEST(TipOverOfBodies, MirroredFallLinesAreCalledMirroredAlsoHalfwayBetweenTwoEdges) {
  const auto mirrored = [](TipEdge e) { return e == TipEdge::left ? TipEdge::right : e == TipEdge::right ? TipEdge::left : e; };
  vehicle::Vehicle v = with_trailer(Freedom::free);
  v.bodies[0].cg_y_m = 0;
  const Stance stance = stance_of(v, kGravity);
  for (const int directions : {8, 16, 36}) {
    const auto round = tip_over_round(v, stance, kGravity, directions, 0);
    for (int i = 1; i < directions; ++i) {
      const TipDirection &here = round[static_cast<std::size_t>(i)], &there = round[static_cast<std::size_t>(directions - i)];
      EXPECT_EQ(here.still.about, mirrored(there.still.about)) << i << " of " << directions;
      EXPECT_EQ(here.body, there.body) << i << " of " << directions;
    }
  }
  const auto half = tip_over_of_bodies(v, kGravity, 0.75 * std::numbers::pi);
  ASSERT_TRUE(half);
  EXPECT_EQ(half->tip.about, TipEdge::rearward);
}

TEST(TipOverOfBodies, SaysNothingWhereNoJointIsFree) { EXPECT_FALSE(tip_over_of_bodies(test::carrier(), kGravity, 0)); }

// Behind a trailer of next to no weight and height, the carrier tips as alone: the linear programs against the polygon of tip_over, on any fall line.
RC_GTEST_PROP(TipOverOfBodies, ATrailerOfNoWeightLeavesTheCarrierItsOwnPolygon, ()) {
  const auto between = [](double lo, double hi) { return lo + (hi - lo) * *rc::gen::resize(100, rc::gen::inRange(0, 100001)) / 1e5; };
  vehicle::Vehicle v = test::carrier();
  v.bodies[0].cg_y_m = between(-0.1, 0.1);
  v.bodies[0].cg_z_m = between(0.3, 0.9);
  const double fall = between(-3.14, 3.14);
  const TipOver alone = tip_over(stance_of(v, kGravity), fall);
  vehicle::Vehicle two = with_trailer(Freedom::free);
  two.bodies[1].cg_y_m = v.bodies[0].cg_y_m;
  two.bodies[1].cg_z_m = v.bodies[0].cg_z_m;
  two.bodies[0].cg_z_m = 0.05;   // never the first, and too light to help
  two.bodies[0].mass_kg = 1e-3;
  const auto t = tip_over_of_bodies(two, kGravity, fall);
  RC_ASSERT(t.has_value());
  RC_ASSERT(std::abs(t->tip.angle_rad - alone.angle_rad) <= 1e-4);
}

RC_GTEST_PROP(TipOverOfBodies, MirroredFallLinesTipAlike, ()) {
  const auto between = [](double lo, double hi) { return lo + (hi - lo) * *rc::gen::resize(100, rc::gen::inRange(0, 100001)) / 1e5; };
  vehicle::Vehicle v = with_trailer(Freedom::free);
  v.bodies[0].cg_x_m = between(-0.1, 0.4);
  v.joints[0].z_m = between(0.1, 0.7);
  const double fall = between(0, 3.14);
  const auto a = tip_over_of_bodies(v, kGravity, fall), b = tip_over_of_bodies(v, kGravity, -fall);
  RC_ASSERT(a && b);
  RC_ASSERT(std::abs(a->tip.angle_rad - b->tip.angle_rad) <= 1e-5);
}

// Whether loads exist that hold the chain on this slope, by GLPK and without the forces in the joints: columns are wheel loads alone. The whole carries its
// weight and does not turn, and about every axis that is free what lies ahead of the joint does not either.
bool stands_by_glpk(const vehicle::Vehicle& v, double slope, double fall, const std::optional<HitchForce>& hitch) {
  struct Force {
    std::size_t body = 0;
    double x = 0, y = 0, z = 0, fx = 0, fy = 0, fz = 0;
    int column = 0;   // of the wheel, 1 N of whose load it is; 0: given
  };
  const double weight = vehicle::mass_kg(v) * kGravity, pull = hitch ? hitch->pull_n : 0, line = hitch ? pull * std::tan(hitch->line_angle_rad) : 0;
  const double tx = -(weight * std::sin(slope) * std::cos(fall) - pull) / (weight * std::cos(slope) + line), ty = -weight * std::sin(slope) * std::sin(fall) / (weight * std::cos(slope) + line);
  std::vector<Force> forces;
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    const vehicle::Body& p = v.bodies[b];
    const double w = p.mass_kg * kGravity;
    forces.push_back({b, p.cg_x_m, p.cg_y_m, p.cg_z_m, w * std::sin(slope) * std::cos(fall), w * std::sin(slope) * std::sin(fall), -w * std::cos(slope)});
  }
  if (hitch) forces.push_back({0, hitch->x_m, 0, hitch->height_m, -pull, 0, -line});
  int columns = 0;
  for (const vehicle::Axle& a : v.axles) {
    for (const double y : vehicle::wheel_offsets_m(a)) forces.push_back({a.body, a.position_x_m, y, 0, tx, ty, 1, ++columns});
  }
  glp_term_out(GLP_OFF);
  const std::unique_ptr<glp_prob, void (*)(glp_prob*)> lp(glp_create_prob(), glp_delete_prob);
  glp_add_cols(lp.get(), columns);
  for (int j = 1; j <= columns; ++j) glp_set_col_bnds(lp.get(), j, GLP_LO, 0, 0);
  const auto balance = [&](std::size_t from_body, const auto& part) {
    std::vector<int> index(static_cast<std::size_t>(columns) + 1);
    std::vector<double> value(index.size());
    for (int j = 0; j <= columns; ++j) index[static_cast<std::size_t>(j)] = j;
    for (const Force& f : forces) {
      if (f.body >= from_body) value[static_cast<std::size_t>(f.column)] += part(f);
    }
    const int row = glp_add_rows(lp.get(), 1);
    glp_set_mat_row(lp.get(), row, columns, index.data(), value.data());
    glp_set_row_bnds(lp.get(), row, GLP_FX, -value[0], -value[0]);
  };
  const auto rolling = [](double z) { return [z](const Force& f) { return f.y * f.fz - (f.z - z) * f.fy; }; };
  const auto pitching = [](double x, double z) { return [x, z](const Force& f) { return (f.z - z) * f.fx - (f.x - x) * f.fz; }; };
  balance(0, [](const Force& f) { return f.fz; });
  balance(0, rolling(0));
  balance(0, pitching(0, 0));
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    const vehicle::Joint& joint = v.joints[j];
    if (joint.roll.freedom == Freedom::free) balance(j + 1, rolling(joint.z_m));
    if (joint.pitch.freedom == Freedom::free) balance(j + 1, pitching(joint.x_m, joint.z_m));
  }
  glp_smcp settings;
  glp_init_smcp(&settings);
  settings.msg_lev = GLP_MSG_OFF;
  return glp_simplex(lp.get(), &settings) == 0 && glp_get_status(lp.get()) == GLP_OPT;
}

TEST(TipOverOfBodies, OfRandomChainsIsWhereGlpkFindsNoLoadsWithoutTheJointsForces) {
  std::mt19937 random(8);
  std::uniform_real_distribution<double> u(0, 1);
  int stood = 0, pulled = 0;
  for (int i = 0; i < 400; ++i) {
    const vehicle::Vehicle v = test::random_chain(random, 0.05, 0.7);
    base::Problems problems;
    vehicle::check_vehicle(v, kGravity, {}, problems);
    std::optional<HitchForce> hitch;
    if (i % 3 == 0) hitch = HitchForce{.x_m = -0.4, .height_m = 0.3, .pull_n = 0.15 * vehicle::mass_kg(v) * kGravity * u(random), .line_angle_rad = 0.3 * u(random)};
    const double fall = 2 * std::numbers::pi * u(random);
    const auto t = tip_over_of_bodies(v, kGravity, fall, hitch);
    if (problems.refused() || !t) continue;
    const double tip = t->tip.angle_rad;
    constexpr double kBeside = 1e-5;   // GLPK holds its rows to 1e-7 of their size
    EXPECT_FALSE(stands_by_glpk(v, tip + kBeside, fall, hitch)) << i << " " << tip;
    if (tip <= kBeside) continue;
    EXPECT_TRUE(stands_by_glpk(v, tip - kBeside, fall, hitch)) << i << " " << tip;
    ++stood;
    pulled += hitch ? 1 : 0;
  }
  EXPECT_GT(stood, 100);
  EXPECT_GT(pulled, 30);
}

// By hand, nose up by a, the trailer's wheels rolling freely: its weight pulls along at the joint, 500 g sin a at 0.5 m, and its own balance about its wheels leaves
// 500 g 0.2 (cos a - sin a) / 1.7 there upward. About the tractor's rear wheels the front ones carry nothing where
//   1200 0.8 (sin a - cos a) + 0.7 (500 0.2 / 1.7) (cos a - sin a) + 500 0.5 sin a = 0:  tan a = 918.82 / 1168.82, 38.17 deg.
// Held by its own brakes the trailer pulls on nothing and the tractor stands to 63 deg; it still tips at 38.17 where it drives.
TEST(TipOverOfBodies, ATrailerThatRollsPullsAtItsTractor) {
  vehicle::Vehicle v = with_trailer(Freedom::free);
  v.bodies = {{.name = "trailer", .mass_kg = 500, .cg_x_m = 0.2, .cg_z_m = 0.7}, {.name = "tractor", .mass_kg = 1200, .cg_x_m = 3.2, .cg_z_m = 0.8}};
  v.joints = {{.x_m = 1.7, .z_m = 0.5, .pitch = {.freedom = Freedom::free}, .roll = {.freedom = Freedom::free}}};
  v.axles[1].position_x_m = 2.4, v.axles[2].position_x_m = 4.0;
  for (vehicle::Axle& a : v.axles) a.track_width_m = 1.4;
  const auto rearward = [&] {
    const Stance s = stance_of(v, kGravity);
    return std::pair{still_tip(v, s, kGravity, kFallBehind).tip.angle_rad / kDeg, settled_tip_over(s, kFallBehind, {}).tip.angle_rad / kDeg};
  };
  EXPECT_GT(rearward().first, 60);   // every wheel driven
  v.axles[0].drive.driven = false;
  for (const bool brakes : {true, false}) {
    v.axles[0].drive.brake = brakes;
    EXPECT_NEAR(rearward().first, std::atan(918.8235 / 1168.8235) / kDeg, 1e-3);
    EXPECT_NEAR(rearward().second, std::atan(918.8235 / 1168.8235) / kDeg, 0.01);
  }
}

// One body of 300 kg, 0.55 m high, on rigid wheels 1 m apart.
vehicle::Vehicle doubted() {
  vehicle::Vehicle v;
  v.bodies = {{.mass_kg = 300, .cg_x_m = 0.62, .cg_z_m = 0.55}};
  for (const double x : {0.0, 1.3}) v.axles.push_back({.position_x_m = x, .track_width_m = 1, .wheel = {.radius_m = 0.3, .width_m = 0.2}});
  return v;
}
std::optional<TipDoubt> doubt_of(const vehicle::Vehicle& v, int directions = 4) {
  const Stance stance = stance_of(v, kGravity);
  return tip_over_doubt(v, stance, kGravity, 0, tip_over_round(v, stance, kGravity, directions, 0));
}

// By hand: to the left atan((0.5 - y) / 0.55), y between -1.96 and 1.96 of its standard deviations; ahead and behind y changes nothing.
TEST(TipDoubt, OfOnePlaceItIsTheAngleAtEitherEnd) {
  vehicle::Vehicle v = doubted();
  EXPECT_FALSE(doubt_of(v));
  v.bodies[0].cg_y_sd_m = 0.02;
  const auto d = doubt_of(v);
  ASSERT_TRUE(d);
  for (const std::size_t side : {1u, 3u}) {
    EXPECT_NEAR(d->working_rad[side].lo, 0.6 * std::atan((0.5 - 1.959964 * 0.02) / 0.55), 1e-6);
    EXPECT_NEAR(d->working_rad[side].hi, 0.6 * std::atan((0.5 + 1.959964 * 0.02) / 0.55), 1e-6);
  }
  for (const std::size_t along : {0u, 2u}) EXPECT_NEAR(d->working_rad[along].lo, d->working_rad[along].hi, 1e-9);
  // Of the two sides one gets worse whichever way it lies: no doubt makes the least better.
  EXPECT_NEAR(d->least_working_rad.lo, d->working_rad[1].lo, 1e-9);
  EXPECT_NEAR(d->least_working_rad.hi, 0.6 * std::atan(0.5 / 0.55), 1e-6);
}

// Against a simulation: 4,000 places drawn normally, the working limit to the left in closed form.
TEST(TipDoubt, HoldsTheMiddleNineteenTwentiethsOfDrawnPlaces) {
  vehicle::Vehicle v = doubted();
  v.bodies[0].cg_y_sd_m = 0.015, v.bodies[0].cg_z_sd_m = 0.03, v.bodies[0].cg_x_sd_m = 0.02;
  const auto d = doubt_of(v);
  ASSERT_TRUE(d);
  std::mt19937 random(20261129);
  std::normal_distribution<double> normal;
  std::vector<double> drawn;
  for (int i = 0; i < 4000; ++i) drawn.push_back(0.6 * std::atan((0.5 - 0.015 * normal(random)) / (0.55 + 0.03 * normal(random))));
  std::sort(drawn.begin(), drawn.end());
  const double width = d->working_rad[1].hi - d->working_rad[1].lo;
  EXPECT_NEAR(d->working_rad[1].lo, drawn[100], 0.04 * width);
  EXPECT_NEAR(d->working_rad[1].hi, drawn[3899], 0.04 * width);
}

// The lower end reaches 0 where the centre of gravity might lie behind the wheels; of several bodies each has its own doubt.
TEST(TipDoubt, ReachesNoSlopeWhereTheVehicleMightNotStandAndKnowsTheBodies) {
  vehicle::Vehicle v = doubted();
  v.bodies[0].cg_x_m = 0.03, v.bodies[0].cg_x_sd_m = 0.02;
  const auto behind = doubt_of(v);
  ASSERT_TRUE(behind);
  EXPECT_EQ(behind->working_rad[2].lo, 0);
  EXPECT_GT(behind->working_rad[2].hi, 0);
  vehicle::Vehicle two = with_trailer(Freedom::free);
  two.bodies[1].cg_z_sd_m = 0.03;   // the carrier stands longer than the trailer, which tips first
  const auto carrier = doubt_of(two);
  two.bodies[0].cg_z_sd_m = 0.03, two.bodies[1].cg_z_sd_m.reset();
  const auto trailer = doubt_of(two);
  ASSERT_TRUE(carrier && trailer);
  EXPECT_NEAR(carrier->working_rad[1].lo, carrier->working_rad[1].hi, 1e-5);
  EXPECT_GT(trailer->working_rad[1].hi - trailer->working_rad[1].lo, 0.02);
}

}  // namespace
}  // namespace hardpan::performance
