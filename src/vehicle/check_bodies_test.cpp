// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <string>

#include "vehicle/vehicle.hpp"

namespace hardpan::vehicle {
namespace {

constexpr double kGravity = 9.81;
constexpr double kDeg = 0.017453292519943295;

Axle axle_at(const char* name, double x_m, std::size_t body) {
  return {.name = name, .body = body, .position_x_m = x_m, .track_width_m = 1, .wheel = {.radius_m = 0.2, .width_m = 0.15}};
}

// Invented: a tractor on two axles and its trailer on one.
Vehicle train() {
  Vehicle v;
  v.id = "train";
  v.bodies = {{.name = "trailer", .mass_kg = 200, .cg_x_m = 0.3, .cg_z_m = 0.5}, {.name = "tractor", .mass_kg = 300, .cg_x_m = 2.4, .cg_z_m = 0.6}};
  v.joints = {{.x_m = 1.2, .z_m = 0.4, .pitch = {.freedom = Freedom::free, .lowest_rad = -0.4, .highest_rad = 0.4}, .roll = {.freedom = Freedom::elastic, .stiffness_n_m_per_rad = 5e3}}};
  v.axles = {axle_at("trailer", 0, 0), axle_at("rear", 1.6, 1), axle_at("front", 3.0, 1)};
  return v;
}

Vehicle carrier() {
  Vehicle v;
  v.id = "carrier";
  v.bodies = {{.mass_kg = 420, .cg_x_m = 0.62, .cg_z_m = 0.55}};
  v.axles = {axle_at("rear", 0, 0), axle_at("front", 1.3, 0)};
  return v;
}

std::string refusals(const Vehicle& v) {
  base::Problems problems;
  check_vehicle(v, kGravity, {}, problems);
  std::string out;
  for (const base::Problem& p : problems.list()) {
    if (p.severity == base::Severity::refusal) out += p.place.key + ": " + p.text() + "\n";
  }
  return out;
}

void expect_refused(const std::function<void(Vehicle&)>& spoil, const std::string& key, Vehicle v = train()) {
  spoil(v);
  const std::string found = refusals(v);
  EXPECT_NE(found.find(key + ": "), std::string::npos) << key << " among\n" << found;
}

TEST(CheckBodies, AcceptsATractorWithATrailer) { EXPECT_EQ(refusals(train()), ""); }

TEST(CheckBodies, RefusesJointsThatCannotBe) {
  expect_refused([](Vehicle& v) { v.joints.clear(); }, "joint");
  expect_refused([](Vehicle& v) { v.joints[0].z_m = 0; }, "joint[1].z");
  expect_refused([](Vehicle& v) { v.joints[0].x_m = std::nan(""); }, "joint[1].x");
  expect_refused([](Vehicle& v) { v.joints[0].pitch.lowest_rad = 5 * kDeg; }, "joint[1].pitch.stops");
  expect_refused([](Vehicle& v) { v.joints[0].pitch.highest_rad = -5 * kDeg; }, "joint[1].pitch.stops");
  expect_refused([](Vehicle& v) { v.joints[0].roll.stiffness_n_m_per_rad = -1; }, "joint[1].roll.stiffness");
  expect_refused([](Vehicle& v) { v.joints[0].pitch.stiffness_n_m_per_rad = 10; }, "joint[1].pitch.stiffness");
  expect_refused([](Vehicle& v) { v.joints[0].yaw.lowest_rad = -0.1; }, "joint[1].yaw.stops");
  // Two joints in one place collide.
  expect_refused([](Vehicle& v) {
    v.bodies.push_back({.name = "nose", .mass_kg = 10, .cg_x_m = 3.2, .cg_z_m = 0.5});
    v.joints.push_back({.x_m = 1.2, .z_m = 0.4});
  }, "joint[2].x");
}

// Two bodies of one axle each, the joint midway, the wheels 0.15 m wide on tracks of 1 m. By hand, with the bodies turned alike to the line between them: seen from above the corner (a - r, t + w / 2)
// of a wheel comes to that line at half of the angle, 2 atan(0.4 / 0.575) = 69.6 deg; from the side the middles come within 2 r, 2 acos(r / a) = 96.4 deg at a = 0.3 m.
TEST(CheckBodies, RefusesStopsBeyondWhereWheelsMeet) {
  const auto hinged = [](double apart_m) {
    Vehicle v;
    v.id = "hinged";
    v.bodies = {{.name = "tail", .mass_kg = 100, .cg_x_m = 0, .cg_z_m = 0.4}, {.name = "head", .mass_kg = 100, .cg_x_m = apart_m, .cg_z_m = 0.4}};
    v.axles = {axle_at("rear", 0, 0), axle_at("front", apart_m, 1)};
    v.joints = {{.x_m = 0.5 * apart_m, .z_m = 0.2}};
    return v;
  };
  const auto yaw = [&](double stop_deg) {
    Vehicle v = hinged(1.2);
    v.joints[0].yaw = {.freedom = Freedom::free, .lowest_rad = -30 * kDeg, .highest_rad = stop_deg * kDeg};
    return refusals(v);
  };
  EXPECT_EQ(yaw(69), "");
  EXPECT_NE(yaw(70.2).find("joint[1].yaw.stops"), std::string::npos) << yaw(70.2);
  EXPECT_NE(yaw(170).find("at 70 deg"), std::string::npos) << yaw(170);
  const auto pitch = [&](double stop_deg) {
    Vehicle v = hinged(0.6);
    v.joints[0].pitch = {.freedom = Freedom::elastic, .stiffness_n_m_per_rad = 5e4, .lowest_rad = -stop_deg * kDeg, .highest_rad = 20 * kDeg};
    return refusals(v);
  };
  EXPECT_EQ(pitch(96), "");
  EXPECT_NE(pitch(97).find("joint[1].pitch.stops"), std::string::npos) << pitch(97);
}

TEST(CheckBodies, RefusesBodiesThatFoldUpOrLiftAnAxle) {
  expect_refused([](Vehicle& v) {
    v.joints[0].pitch = {.freedom = Freedom::free};
    v.axles = {axle_at("rear", 1.6, 1), axle_at("front", 3.0, 1)};
    for (Axle& a : v.axles) a.position_x_m -= 1.6;
    for (Body& b : v.bodies) b.cg_x_m -= 1.3;
    v.joints[0].x_m = 0.05;
  }, "joint");
  expect_refused([](Vehicle& v) { v.bodies[0].cg_x_m = 1.19, v.bodies[0].mass_kg = 3000, v.bodies[1].cg_x_m = 1.65; }, "axle[3]");
}

TEST(CheckBodies, RefusesWhatBelongsToNoBody) {
  expect_refused([](Vehicle& v) { v.axles[2].body = 7; }, "axle[3].body");
  expect_refused([](Vehicle& v) { v.axles[2].body = 0; }, "axle[3].body");
  expect_refused([](Vehicle& v) { v.bodies[1].name = "trailer"; }, "body[2].name");
  expect_refused([](Vehicle& v) { v.bodies[0].mass_kg = 0; }, "body[1].mass");
  expect_refused([](Vehicle& v) { v.payload = {{.name = "box", .mass_kg = 10, .x_m = 0.2, .z_m = 0.5, .body = 4}}; }, "payload[1].body");
  expect_refused([](Vehicle& v) { v.bodies.assign(9, v.bodies[0]); }, "body");
}

TEST(CheckBodies, RefusesAnUnderbodyThatRunsBackOrLiesInTheGround) {
  expect_refused([](Vehicle& v) { v.bodies[0].underbody = {{0, 0.3}, {0, 0.2}}; }, "body[1].underbody[2]");
  expect_refused([](Vehicle& v) { v.bodies[0].underbody = {{0, 0}}; }, "body[1].underbody[1]");
  expect_refused([](Vehicle& v) { v.bodies[0].underbody = {{0, 0.3}, {1, 0.2}}, v.bodies[0].clearance_m = 0.25; }, "body[1].clearance");
}

TEST(CheckBodies, RefusesAllowedPlacesThatLeaveOutTodays) {
  expect_refused([](Vehicle& v) { v.payload = {{.name = "battery", .mass_kg = 30, .x_m = 0.2, .z_m = 0.5, .x_allowed = Span{0.3, 0.6}}}; }, "payload[1].x_allowed");
  expect_refused([](Vehicle& v) { v.payload = {{.name = "battery", .mass_kg = 30, .x_m = 0.2, .z_m = 0.5, .z_allowed = Span{-0.1, 0.6}}}; }, "payload[1].z_allowed");
}

// By hand: 420 kg, the left wheels 60 N lighter on each axle than the right: 120 N x 0.5 m / 4120 N = 14.6 mm to the right.
TEST(CheckScales, ReadsTheCentreOfGravitySidewaysFromTheTwoSides) {
  Vehicle v = carrier();
  const auto loads = level_axle_loads_n(v, kGravity);
  for (std::size_t i = 0; i < 2; ++i) {
    v.scales.push_back({.axle = v.axles[i].name, .load_n = 0.5 * loads[i] - 30, .side = Side::left});
    v.scales.push_back({.axle = v.axles[i].name, .load_n = 0.5 * loads[i] + 30, .side = Side::right});
  }
  EXPECT_EQ(refusals(v), "");
  for (std::size_t i = 0; i < 4; ++i) v.scales[i].load_n += (i % 2 == 0 ? -100 : 100);  // 63 mm, over 3 % of the track width
  EXPECT_NE(refusals(v).find("scale: "), std::string::npos);
  v.bodies[0].cg_y_m = -0.063;
  EXPECT_EQ(refusals(v), "");
}

TEST(CheckScales, AddsTheTwoSidesOfAnAxle) {
  Vehicle v = carrier();
  const auto loads = level_axle_loads_n(v, kGravity);
  v.scales = {{.axle = "rear", .load_n = 0.5 * loads[0], .side = Side::left}, {.axle = "rear", .load_n = 0.6 * loads[0], .side = Side::right}};
  EXPECT_NE(refusals(v).find("scale[2].load: "), std::string::npos) << refusals(v);
}

// A reading of one side used to be passed over in silence, whatever it said.
TEST(CheckScales, SayThatOneSideAloneIsNotCompared) {
  Vehicle v = carrier();
  const auto loads = level_axle_loads_n(v, kGravity);
  const auto problems = [&] {
    base::Problems found;
    check_vehicle(v, kGravity, {}, found);
    return found.list();
  };
  v.scales = {{.axle = "rear", .load_n = 0.5 * loads[0], .side = Side::left}};
  EXPECT_EQ(refusals(v), "");
  ASSERT_EQ(problems().size(), 1u);
  EXPECT_EQ(problems().front().place.key, "scale[1].load");
  v.scales = {{.axle = "rear", .load_n = 1.1 * loads[0], .side = Side::right}};
  EXPECT_NE(refusals(v).find("scale[1].load: "), std::string::npos) << refusals(v);
}

// By hand, front raised by sin 15 deg of the wheelbase: the ground point of the centre of gravity moves back by (0.55 - 0.2) tan 15 deg about the rear axle's
// centre, and the rear axle gains 4120.2 x 0.09378 / 1.3 = 297.2 N.
TEST(CheckScales, ReadsTheHeightFromOneAxleRaised) {
  Vehicle v = carrier();
  v.tilted = TiltedWeighing{.raised_axle = "front", .raised_m = 1.3 * std::sin(15 * kDeg), .other_load_n = 420 * kGravity * (1.3 - 0.62) / 1.3 + 297.23};
  EXPECT_NEAR(*tilted_cg_height_m(v, kGravity), 0.55, 2e-4);
  EXPECT_EQ(refusals(v), "");
  v.tilted->other_load_n += 100;
  EXPECT_NE(refusals(v).find("tilted: "), std::string::npos);
  expect_refused([](Vehicle& w) { w.tilted->raised_axle = "mid"; }, "tilted.raised_axle", v);
  expect_refused([](Vehicle& w) { w.tilted->raised_m = 2; }, "tilted.raised", v);
}

TEST(CheckScales, RefusesALoadedRadiusThatTheStiffnessDenies) {
  Vehicle v = carrier();
  v.axles[0].wheel.flex = Flex{.stiffness_n_per_m = 40e3};
  v.axles[0].wheel.loaded_radius_m = 0.2 - 0.5 * level_axle_loads_n(v, kGravity)[0] / 40e3;
  EXPECT_EQ(refusals(v), "");
  v.axles[0].wheel.loaded_radius_m = 0.2;
  EXPECT_NE(refusals(v).find("axle[1].wheel.loaded_radius: "), std::string::npos) << refusals(v);
}

// By hand: peak twice the continuous torque for 30 s: tau = -30 / ln(1 - 1/4) = 104.28 s; at 1.5 times t = -tau ln(1 - 1/2.25) = 61.3 s.
TEST(Drives, HoldTheirPeakTorqueAsLongAsTheyAreSaidTo) {
  Drive d{.peak_torque_n_m = 200, .continuous_torque_n_m = 100, .peak_time_s = 30};
  EXPECT_NEAR(*thermal_time_s(d), 104.28, 0.01);
  EXPECT_NEAR(*torque_time_s(d, 200), 30, 1e-9);
  EXPECT_NEAR(*torque_time_s(d, 150), 61.29, 0.01);
  EXPECT_EQ(*torque_time_s(d, 100), std::numeric_limits<double>::infinity());
  EXPECT_EQ(*torque_time_s(d, 201), 0);
  d.peak_time_s.reset();
  EXPECT_FALSE(torque_time_s(d, 150));
}

}  // namespace
}  // namespace hardpan::vehicle
