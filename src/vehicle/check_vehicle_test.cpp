// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <string>
#include <vector>

#include "vehicle/check_vehicle.hpp"

namespace hardpan::vehicle {
namespace {

using ::testing::HasSubstr;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInf = std::numeric_limits<double>::infinity();
constexpr double kGravity = 9.81;

// An invented carrier: every optional number given, nothing to refuse or remark.
Vehicle carrier() {
  Vehicle v;
  v.id = "carrier";
  v.bodies = {{.mass_kg = 420, .cg_x_m = 0.62, .cg_y_m = 0.01, .cg_z_m = 0.55, .clearance_m = 0.25}};
  v.payload = {{.name = "crate", .mass_kg = 60, .x_m = 0.3, .y_m = 0, .z_m = 0.7}};
  Axle axle{.name = "rear", .position_x_m = 0, .track_width_m = 1, .wheels = 2};
  axle.wheel = {.radius_m = 0.3, .width_m = 0.2, .grouser_height_m = 0.01, .grouser_count = 20,
                .flex = Flex{.stiffness_n_per_m = 60e3, .inflation_pa = 80e3, .hysteresis_share = 0.1},
                .rolling_radius_m = 0.295, .rolling_radius_condition = ZeroSlip::towed_hard, .contact_width_m = 0.19};
  axle.drive = {.peak_torque_n_m = 300, .continuous_torque_n_m = 150, .peak_power_w = 2000,
                .max_speed_rad_per_s = 20, .efficiency = 0.8, .regeneration = 0.3};
  axle.suspension_n_per_m = 40e3;
  v.axles = {axle, axle};
  v.axles[1].name = "front";
  v.axles[1].position_x_m = 1.3;
  v.hitch = Hitch{.x_m = -0.3, .height_m = 0.4};
  v.battery_j = 5e6;
  v.idle_power_w = 80;
  v.working_slip = 0.15;
  return v;
}

std::vector<base::Problem> problems_of(const Vehicle& v, double gravity = kGravity) {
  base::Problems problems;
  check_vehicle(v, gravity, {.file = "vehicles/a.toml"}, problems);
  return problems.list();
}
std::string text_of(const Vehicle& v) {
  std::string out;
  for (const base::Problem& p : problems_of(v)) out += std::string(name(p.severity)) + ": " + p.text() + "\n";
  return out;
}
bool refused_at(const Vehicle& v, const std::string& key) {
  for (const base::Problem& p : problems_of(v)) {
    if (p.severity == base::Severity::refusal && p.place.key == key) return p.place.file == "vehicles/a.toml";
  }
  return false;
}
bool remarked_at(const Vehicle& v, const std::string& key) {
  for (const base::Problem& p : problems_of(v)) {
    if (p.severity == base::Severity::remark && p.place.key == key) return true;
  }
  return false;
}

TEST(CheckVehicle, HasNothingToSayOfASoundVehicle) { EXPECT_EQ(text_of(carrier()), ""); }

TEST(CheckVehicle, RefusesEachImpossibleNumberByItsKey) {
  struct Case {
    std::string key;
    std::function<void(Vehicle&, double)> set;
    std::vector<double> refused;
    std::vector<double> accepted;
  };
  const std::vector<Case> cases = {
      {"body.mass", [](Vehicle& v, double x) { v.bodies[0].mass_kg = x; }, {0, -420, 2e6}, {300}},
      {"body.cg_x", [](Vehicle& v, double x) { v.bodies[0].cg_x_m = x; }, {-0.1, 0, 1.3, 2, 500}, {0.3}},
      {"body.cg_y", [](Vehicle& v, double x) { v.bodies[0].cg_y_m = x; }, {0.6, -0.6, 50}, {-0.1}},
      {"body.cg_z", [](Vehicle& v, double x) { v.bodies[0].cg_z_m = x; }, {0, -0.5, 550}, {0.4}},
      {"body.clearance", [](Vehicle& v, double x) { v.bodies[0].clearance_m = x; }, {0, -0.1, 250}, {0.1}},
      {"payload[1].mass", [](Vehicle& v, double x) { v.payload[0].mass_kg = x; }, {-1}, {0, 10}},
      {"payload[1].x", [](Vehicle& v, double x) { v.payload[0].x_m = x; }, {300, -300}, {0.4}},
      {"payload[1].y", [](Vehicle& v, double x) { v.payload[0].y_m = x; }, {30}, {0.1}},
      {"payload[1].z", [](Vehicle& v, double x) { v.payload[0].z_m = x; }, {-0.1, 70}, {0, 1}},
      {"hitch.x", [](Vehicle& v, double x) { v.hitch->x_m = x; }, {300}, {-0.4, 1.6}},
      {"hitch.height", [](Vehicle& v, double x) { v.hitch->height_m = x; }, {0, -0.2, 40}, {0.3}},
      {"battery", [](Vehicle& v, double x) { v.battery_j = x; }, {0, -1}, {1e6}},
      {"idle_power", [](Vehicle& v, double x) { v.idle_power_w = x; }, {-1}, {0}},
      {"working_slip", [](Vehicle& v, double x) { v.working_slip = x; }, {0, 1, 20, -0.1}, {0.2}},
      {"axle[2].position_x", [](Vehicle& v, double x) { v.axles[1].position_x_m = x; }, {0, -1.3, 1300}, {1.4}},
      {"axle[1].position_x", [](Vehicle& v, double x) { v.axles[0].position_x_m = x; }, {0.1, -0.1}, {0}},
      {"axle[2].track_width", [](Vehicle& v, double x) { v.axles[1].track_width_m = x; }, {0, -1, 0.15, 1000}, {0.9}},
      {"axle[1].wheel.radius", [](Vehicle& v, double x) { v.axles[0].wheel.radius_m = x; }, {0, -0.3, 30}, {0.29}},
      {"axle[1].wheel.width", [](Vehicle& v, double x) { v.axles[0].wheel.width_m = x; }, {0, -0.2, 20}, {0.21}},
      {"axle[1].wheel.grouser_height", [](Vehicle& v, double x) { v.axles[0].wheel.grouser_height_m = x; }, {-0.01, 0.5}, {0.02}},
      {"axle[1].wheel.grouser_count", [](Vehicle& v, double x) { v.axles[0].wheel.grouser_count = std::isnan(x) ? -3 : int(x); }, {0, -1, 2000}, {12}},
      {"axle[1].wheel.rolling_radius", [](Vehicle& v, double x) { v.axles[0].wheel.rolling_radius_m = x; }, {0, 0.1, 0.4, 30}, {0.28}},
      {"axle[1].wheel.contact_width", [](Vehicle& v, double x) { v.axles[0].wheel.contact_width_m = x; }, {0, 0.41}, {0.22}},
      {"axle[2].wheel.flex.stiffness", [](Vehicle& v, double x) { v.axles[1].wheel.flex->stiffness_n_per_m = x; }, {0, -6e4, 1e12}, {7e4}},
      {"axle[2].wheel.flex.inflation", [](Vehicle& v, double x) { v.axles[1].wheel.flex->inflation_pa = x; }, {-1, 1e8}, {0, 1e5}},
      {"axle[2].wheel.flex.inflation_hot", [](Vehicle& v, double x) { v.axles[1].wheel.flex->inflation_hot_pa = x; }, {-1, 1e8}, {0, 1e5}},
      {"axle[2].wheel.flex.hysteresis_share", [](Vehicle& v, double x) { v.axles[1].wheel.flex->hysteresis_share = x; }, {-0.1, 1, 10}, {0, 0.3}},
      {"axle[2].drive.peak_torque", [](Vehicle& v, double x) { v.axles[1].drive.peak_torque_n_m = x; }, {0, -300}, {200}},
      {"axle[2].drive.continuous_torque", [](Vehicle& v, double x) { v.axles[1].drive.continuous_torque_n_m = x; }, {0, 301}, {300}},
      {"axle[2].drive.peak_power", [](Vehicle& v, double x) { v.axles[1].drive.peak_power_w = x; }, {0, -1}, {500}},
      {"axle[2].drive.max_speed", [](Vehicle& v, double x) { v.axles[1].drive.max_speed_rad_per_s = x; }, {0, 1e5}, {30}},
      {"axle[2].drive.efficiency", [](Vehicle& v, double x) { v.axles[1].drive.efficiency = x; }, {0, 1.01, 80}, {1}},
      {"axle[2].drive.regeneration", [](Vehicle& v, double x) { v.axles[1].drive.regeneration = x; }, {-0.1, 1.1}, {0, 1}},
      {"axle[2].suspension", [](Vehicle& v, double x) { v.axles[1].suspension_n_per_m = x; }, {0, -1}, {5e4}},
  };
  for (const Case& c : cases) {
    std::vector<double> bad = c.refused;
    bad.push_back(kNan);
    if (c.key.find("count") == std::string::npos) bad.push_back(kInf);
    for (const double x : bad) {
      Vehicle v = carrier();
      c.set(v, x);
      EXPECT_TRUE(refused_at(v, c.key)) << c.key << " = " << x << "\n" << text_of(v);
    }
    for (const double x : c.accepted) {
      Vehicle v = carrier();
      c.set(v, x);
      EXPECT_EQ(text_of(v), "") << c.key << " = " << x;
    }
  }
}

TEST(CheckVehicle, RefusesImpossibleGravity) {
  for (const double g : {0.0, -9.81, 981.0, kNan}) EXPECT_FALSE(problems_of(carrier(), g).empty()) << g;
  EXPECT_TRUE(problems_of(carrier(), 1.62).empty());
}

TEST(CheckVehicle, TellsWhatWasFoundWhatIsAcceptedAndWhatToDo) {
  Vehicle v = carrier();
  v.axles[0].wheel.radius_m = -0.3;
  const auto list = problems_of(v);
  ASSERT_FALSE(list.empty());
  EXPECT_EQ(list[0].text(), "vehicles/a.toml: axle[1].wheel.radius: radius is outside what a vehicle can have (found "
                            "\"-0.3\"); accepted: above 0, at most 5 m; check the number and its unit");
}

TEST(CheckVehicle, NeedsTwoNamedAxlesFromTheRearForward) {
  Vehicle v = carrier();
  v.axles.clear();
  EXPECT_TRUE(refused_at(v, "axle"));
  v = carrier();
  v.axles.resize(1);
  EXPECT_TRUE(refused_at(v, "axle"));
  v = carrier();
  v.axles[1].name = "";
  EXPECT_TRUE(refused_at(v, "axle[2].name"));
  v.axles[1].name = "rear";
  EXPECT_TRUE(refused_at(v, "axle[2].name"));
  v = carrier();
  for (const int wheels : {0, -2, 9}) {
    v.axles[1].wheels = wheels;
    EXPECT_TRUE(refused_at(v, "axle[2].wheels")) << wheels;
  }
}

TEST(CheckVehicle, RefusesWheelsThatOverlapAlongTheVehicle) {
  Vehicle v = carrier();
  // Outer radii 0.31 m: the wheels touch at 0.62 m.
  v.axles[1].position_x_m = 0.625;
  v.bodies[0].cg_x_m = 0.3;
  EXPECT_FALSE(refused_at(v, "axle[2].position_x")) << text_of(v);
  v.axles[1].position_x_m = 0.615;
  EXPECT_TRUE(refused_at(v, "axle[2].position_x"));
  v.axles[1].track_width_m = 1.45;  // the front pair runs outside the rear one: 0.225 m apart, 0.2 m wide
  EXPECT_EQ(text_of(v), "");
  v.axles[1].wheel.width_m = 0.3;   // half of 0.2 and of 0.3 is 0.25
  EXPECT_TRUE(refused_at(v, "axle[2].position_x"));
  v.axles[1].wheel.width_m = 0.2;
  v.axles[1].track_width_m = 1.35;  // 0.175 m apart
  EXPECT_TRUE(refused_at(v, "axle[2].position_x"));
}

TEST(CheckVehicle, LetsASmallWheelNestBesideALargeOne) {
  // Circles of 0.31 m and 0.11 m on one plane meet at 2 sqrt(0.31 0.11) = 0.369 m, not at 0.42 m.
  Vehicle v = carrier();
  v.axles[1].wheel.radius_m = 0.1;
  v.axles[1].wheel.rolling_radius_m.reset();
  v.bodies[0].clearance_m = 0.1;
  v.bodies[0].cg_x_m = 0.2;
  v.axles[1].position_x_m = 0.40;
  EXPECT_FALSE(refused_at(v, "axle[2].position_x")) << text_of(v);
  v.axles[1].position_x_m = 0.36;
  EXPECT_TRUE(refused_at(v, "axle[2].position_x"));
}

TEST(CheckVehicle, KeepsTheCentreOfGravityInsideTheWheelsOfATricycle) {
  Vehicle v = carrier();
  v.payload.clear();
  v.axles[1].wheels = 1;
  v.bodies[0].cg_x_m = 0.65;  // half way: half width 0.25 m
  v.bodies[0].cg_y_m = 0.24;
  EXPECT_EQ(text_of(v), "");
  v.bodies[0].cg_y_m = 0.26;
  EXPECT_TRUE(refused_at(v, "body.cg_y"));
  v.axles[0].wheels = 1;  // one track: falls over
  v.bodies[0].cg_y_m = 0;
  EXPECT_TRUE(refused_at(v, "body.cg_y"));
}

TEST(CheckVehicle, ChecksTheCentreOfGravityWithAndWithoutPayload) {
  Vehicle v = carrier();
  v.payload[0] = {.name = "boom", .mass_kg = 300, .x_m = 4, .y_m = 0, .z_m = 1};
  EXPECT_THAT(text_of(v), HasSubstr("outside the axles with payload"));
  v = carrier();
  v.bodies[0].cg_x_m = -0.1;
  v.payload[0] = {.name = "ballast", .mass_kg = 300, .x_m = 1.2, .y_m = 0, .z_m = 0.5};
  EXPECT_THAT(text_of(v), HasSubstr("outside the axles without payload"));
}

TEST(CheckVehicle, ReadsLoadDeflectionTablesFromTheUnloadedWheelUpwards) {
  const auto with_table = [](std::vector<std::pair<double, double>> rows) {
    Vehicle v = carrier();
    v.axles[0].wheel.flex = Flex{.load_deflection = std::move(rows)};
    return v;
  };
  EXPECT_EQ(text_of(with_table({{0, 0}, {1000, 0.01}, {2000, 0.03}})), "");
  const std::string table = "axle[1].wheel.flex.load_deflection";
  EXPECT_TRUE(refused_at(with_table({{0, 0}}), table));
  EXPECT_TRUE(refused_at(with_table({{10, 0}, {2000, 0.03}}), table + "[1]"));
  EXPECT_TRUE(refused_at(with_table({{0, 0}, {2000, 0.03}, {1500, 0.04}}), table + "[3]"));
  EXPECT_TRUE(refused_at(with_table({{0, 0}, {1000, 0.03}, {2000, 0.03}}), table + "[3]"));
  EXPECT_TRUE(refused_at(with_table({{0, 0}, {kNan, 0.03}}), table + "[2]"));
  EXPECT_TRUE(refused_at(with_table({{0, 0}, {kInf, 0.03}}), table + "[2]"));
  // The rear wheels carry some 1.3 kN each.
  EXPECT_TRUE(refused_at(with_table({{0, 0}, {1000, 0.03}}), table));
  Vehicle v = carrier();
  v.axles[0].wheel.flex->load_deflection = {{0, 0}, {2000, 0.03}};
  EXPECT_TRUE(refused_at(v, "axle[1].wheel.flex"));  // stiffness as well
  v.axles[0].wheel.flex = Flex{};
  EXPECT_TRUE(refused_at(v, "axle[1].wheel.flex"));  // neither
}

TEST(CheckVehicle, RefusesAnAxlePressedToTheGroundAndRemarksAVerySoftWheel) {
  Vehicle v = carrier();
  v.axles[0].wheel.flex->stiffness_n_per_m = 4000;  // 1.3 kN: 0.33 m, radius 0.3 m
  EXPECT_TRUE(refused_at(v, "axle[1].wheel.flex"));
  v.axles[0].wheel.flex->stiffness_n_per_m = 14000;
  EXPECT_FALSE(refused_at(v, "axle[1].wheel.flex"));
  EXPECT_TRUE(remarked_at(v, "axle[1].wheel.flex"));
}

TEST(CheckVehicle, RefusesScaleWeightsMoreThanThreePerCentOff) {
  Vehicle v = carrier();
  // Without payload: front 420 9.81 0.62 / 1.3 = 1965.0 N, rear 2155.2 N.
  v.scales = {{"front", 1965.0 * 1.029, false}, {"rear", 2155.2 * 0.971, false}};
  EXPECT_EQ(text_of(v), "");
  v.scales[0].load_n = 1965.0 * 1.031;
  EXPECT_TRUE(refused_at(v, "scale[1].load"));
  v.scales = {{"rear", 2155.2 * 0.969, false}};
  EXPECT_TRUE(refused_at(v, "scale[1].load"));
  // With 60 kg at 0.3 m: rear 2155.2 + 60 9.81 (1 - 0.3/1.3) = 2608.0 N.
  v.scales = {{"rear", 2608.0, true}};
  EXPECT_EQ(text_of(v), "");
  v.scales[0].with_payload = false;
  EXPECT_TRUE(refused_at(v, "scale[1].load"));
}

TEST(CheckVehicle, RefusesScaleWeightsOfNoAxle) {
  Vehicle v = carrier();
  v.scales = {{"middle", 100, true}, {"front", -5, true}, {"rear", kNan, true}};
  EXPECT_TRUE(refused_at(v, "scale[1].axle"));
  EXPECT_TRUE(refused_at(v, "scale[2].load"));
  EXPECT_TRUE(refused_at(v, "scale[3].load"));
}

// Scale weights of a campaign in US units were told in newtons.
TEST(CheckVehicle, SpeaksTheUnitsOfTheCampaign) {
  Vehicle v = carrier();
  v.payload.clear();
  v.scales = {{"front", 500 * 4.4482216152605, false}};  // 500 lbf; the file gives 420 9.81 0.62 / 1.3 = 1965.02 N, 441.75 lbf
  base::Problems problems;
  check_vehicle_in(units::OutputUnits::us, v, 9.81, {.file = "carrier.toml"}, problems);
  ASSERT_EQ(problems.count(base::Severity::refusal), 1u);
  EXPECT_THAT(problems.list().front().text(), HasSubstr("500.0 lbf"));
  EXPECT_THAT(problems.list().front().text(), HasSubstr("441.8 lbf within 3 %"));
}

TEST(CheckVehicle, JudgesThreeAxlesByWhatSpringsCannotChange) {
  Vehicle v = carrier();
  v.payload.clear();
  v.bodies[0].cg_x_m = 0.65;
  v.axles.push_back(v.axles[1]);
  v.axles[2].name = "third";
  v.axles[1].position_x_m = 0.65;
  const double weight = 420 * 9.81;
  const auto scales = [&](double rear, double middle, double front) {
    v.scales = {{"rear", rear * weight, true}, {"front", middle * weight, true}, {"third", front * weight, true}};
  };
  scales(1.0 / 3, 1.0 / 3, 1.0 / 3);
  EXPECT_EQ(text_of(v), "");
  scales(0.4, 0.2, 0.4);  // soft middle springs: right sum, right place
  EXPECT_FALSE(refused_at(v, "scale"));
  EXPECT_TRUE(remarked_at(v, "scale[2].load"));
  scales(0.35, 0.35, 0.35);  // 5 % too heavy
  EXPECT_TRUE(refused_at(v, "scale"));
  scales(0.30, 1.0 / 3, 0.37);  // centre of gravity 0.045 m forward, 3.5 % of the wheelbase
  EXPECT_TRUE(refused_at(v, "scale"));
  v.scales.resize(2);  // two of three axles weighed: nothing but remarks can be said
  EXPECT_FALSE(refused_at(v, "scale"));
}

TEST(CheckVehicle, RefusesSteeringThatCannotBe) {
  const auto with = [](Steering s) {
    Vehicle v = carrier();
    v.steering = std::move(s);
    return v;
  };
  using K = SteeringKind;
  for (const Steering& sound : {Steering{}, Steering{.kind = K::ackermann, .largest_angle_rad = 0.6, .steered_axles = {"front"}, .pivot_width_m = 0.9},
                                Steering{.kind = K::ackermann, .largest_angle_rad = 0.6, .steered_axles = {"front", "rear"}},
                                Steering{.kind = K::crab, .largest_angle_rad = 0.6}, Steering{.kind = K::frame, .largest_angle_rad = 0.6, .joint_x_m = 0.7}}) {
    EXPECT_EQ(text_of(with(sound)), "");
  }
  for (const double angle : {0.0, -0.1, 1.5708, 35.0, kNan}) {
    EXPECT_TRUE(refused_at(with({.kind = K::ackermann, .largest_angle_rad = angle, .steered_axles = {"front"}}), "steering.largest_angle")) << angle;
    EXPECT_TRUE(refused_at(with({.kind = K::crab, .largest_angle_rad = angle}), "steering.largest_angle")) << angle;
  }
  for (const double joint : {-0.2, 0.0, 1.3, 2.0, kNan}) {
    EXPECT_TRUE(refused_at(with({.kind = K::frame, .largest_angle_rad = 0.6, .joint_x_m = joint}), "steering.joint_x")) << joint;
  }
  EXPECT_TRUE(refused_at(with({.kind = K::frame, .largest_angle_rad = 0.6}), "steering.joint_x"));
  EXPECT_TRUE(refused_at(with({.kind = K::ackermann, .largest_angle_rad = 0.6, .steered_axles = {"front"}, .joint_x_m = 0.7}), "steering.joint_x"));
  EXPECT_TRUE(refused_at(with({.kind = K::ackermann, .largest_angle_rad = 0.6}), "steering.steered_axles"));
  EXPECT_TRUE(refused_at(with({.kind = K::ackermann, .largest_angle_rad = 0.6, .steered_axles = {"nose"}}), "steering.steered_axles"));
  EXPECT_TRUE(refused_at(with({.kind = K::ackermann, .largest_angle_rad = 0.6, .steered_axles = {"front", "front"}}), "steering.steered_axles"));
  // A crab with one steered axle would turn.
  EXPECT_TRUE(refused_at(with({.kind = K::crab, .largest_angle_rad = 0.6, .steered_axles = {"front"}}), "steering.steered_axles"));
  for (const double pivots : {0.0, -0.5, 1.01, kNan}) {
    EXPECT_TRUE(refused_at(with({.kind = K::ackermann, .largest_angle_rad = 0.6, .steered_axles = {"front"}, .pivot_width_m = pivots}), "steering.pivot_width")) << pivots;
  }
  EXPECT_TRUE(refused_at(with({.kind = K::frame, .largest_angle_rad = 0.6, .pivot_width_m = 0.9, .joint_x_m = 0.7}), "steering.pivot_width"));
  EXPECT_TRUE(refused_at(with({.kind = K::skid, .largest_angle_rad = 0.6}), "steering.kind"));
}

TEST(CheckVehicle, RemarksWhatIsOddButPossible) {
  Vehicle v = carrier();
  v.axles[0].drive.driven = v.axles[1].drive.driven = false;
  EXPECT_TRUE(remarked_at(v, "axle"));
  v = carrier();
  v.axles[0].drive.brake = v.axles[1].drive.brake = false;
  EXPECT_TRUE(remarked_at(v, "axle"));
  v = carrier();
  v.axles[0].wheel.rolling_radius_condition = ZeroSlip::not_stated;
  EXPECT_TRUE(remarked_at(v, "axle[1].wheel.rolling_radius"));
  v = carrier();
  v.axles[0].wheel.rolling_radius_m = 0.32;  // wheel and grouser: 0.31 m
  EXPECT_TRUE(remarked_at(v, "axle[1].wheel.rolling_radius"));
  EXPECT_THAT(text_of(v), HasSubstr(": rolling radius is larger than the wheel"));
  v = carrier();
  v.bodies[0].clearance_m = 0.7;
  EXPECT_TRUE(remarked_at(v, "axle[1].wheel.radius"));
  v = carrier();  // three axles, centre of gravity near the rearmost: the front one is off the ground
  v.payload.clear();
  v.axles = {v.axles[0], v.axles[0], v.axles[0]};
  v.axles[1].name = "middle";
  v.axles[2].name = "front";
  v.axles[1].position_x_m = 0.65;
  v.axles[2].position_x_m = 1.3;
  v.bodies[0].cg_x_m = 0.1;
  EXPECT_TRUE(remarked_at(v, "axle[3]"));
}

TEST(CheckWheel, SaysOfAWheelAloneWhatItSaysOfTheSameWheelUnderAVehicle) {
  Vehicle v = carrier();
  v.payload.clear();
  v.axles[0].wheel.rolling_radius_m = 2;
  v.axles[0].wheel.flex = Flex{.load_deflection = {{0, 0}, {500, 0.008}, {400, 0.009}}, .hysteresis_share = 1};
  base::Problems alone;
  check_wheel(v.axles[0].wheel, {.key = "wheel"}, alone);
  std::vector<std::string> under;
  for (const base::Problem& p : problems_of(v)) {
    const std::string before = "axle[1].";
    if (p.place.key.starts_with(before + "wheel")) under.push_back(p.place.key.substr(before.size()) + p.what);
  }
  std::vector<std::string> here;
  for (const base::Problem& p : alone.list()) here.push_back(p.place.key + p.what);
  EXPECT_EQ(here, under);
  EXPECT_EQ(here.size(), 3u);  // rolling radius, third row, hysteresis
}

}  // namespace
}  // namespace hardpan::vehicle
