// SPDX-License-Identifier: Apache-2.0
#include "performance/endurance.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "math/random.hpp"
#include "performance/test_carrier.hpp"
#include "units/constants.hpp"

namespace hardpan::performance {
namespace {

// Travel as if computed: work a metre at the battery, no limit of speed, torque of every wheel.
Travel going(double work_j_per_m, double torque_n_m = 10) {
  Travel t{.goes = true, .factor = LimitingFactor::none, .torque_n_m = torque_n_m, .speed_m_s = std::numeric_limits<double>::infinity(), .energy_j_per_m = work_j_per_m};
  for (auto& w : t.state.wheel) w.torque_n_m = torque_n_m;
  return t;
}

vehicle::Vehicle carrier(double idle_w) {
  vehicle::Vehicle v = test::carrier();
  v.idle_power_w = idle_w;
  return v;
}

// By hand: 100 J/m and 50 W at 2 m/s are 125 J/m: 1 MJ lasts 8 km and 4,000 s; with a fifth in reserve 6.4 km.
TEST(Endurance, AFlatRoadTakesWorkAndIdleLoads) {
  const std::vector<TripRow> rows{{.distance_m = 20000, .speed_m_s = 2}};
  const Trip t = drive(rows, std::vector<Travel>{going(100)}, carrier(50), {.usable_j = 1e6});
  EXPECT_NEAR(t.distance_m, 8000, 1e-6);
  EXPECT_NEAR(t.time_s, 4000, 1e-9);
  EXPECT_EQ(t.stopped_by, TripLimit::battery);
  EXPECT_NEAR(t.charge_ratio, 0, 1e-12);
  const Trip r = drive(rows, std::vector<Travel>{going(100)}, carrier(50), {.usable_j = 1e6, .reserve_ratio = 0.2});
  EXPECT_NEAR(r.distance_m, 6400, 1e-6);
  EXPECT_NEAR(r.charge_ratio, 0.2, 1e-12);
}

// By hand: 1 km at 100 J/m and 1 m/s, then an hour's halt at 50 W: 1e5 + 5e4 + 1.8e5 J.
TEST(Endurance, HaltsTakeIdleLoads) {
  const std::vector<TripRow> rows{{.distance_m = 1000, .speed_m_s = 1, .halt_s = 3600}, {.distance_m = 10, .speed_m_s = 1}};
  const Trip t = drive(rows, {going(100), going(100)}, carrier(50), {.usable_j = 1e6});
  EXPECT_TRUE(t.arrives());
  EXPECT_NEAR(t.legs[0].energy_j, 3.3e5, 1e-6);
  EXPECT_NEAR(t.legs[0].charge_ratio, 0.67, 1e-12);
  EXPECT_EQ(t.row, 2u);
  // A battery that ends in the halt: 1e5 + 5e4, and 1e5 left stand for 2,000 s of it.
  const Trip stood = drive(rows, {going(100), going(100)}, carrier(50), {.usable_j = 2.5e5});
  EXPECT_EQ(stood.stopped_by, TripLimit::battery);
  EXPECT_EQ(stood.row, 0u);
  EXPECT_NEAR(stood.time_s, 3000, 1e-6);
  EXPECT_NEAR(stood.distance_m, 1000, 1e-12);
}

TEST(Endurance, AFullBatteryTakesNothingBack) {
  const std::vector<TripRow> rows{{.distance_m = 1000, .gradient_rad = -0.2, .speed_m_s = 2}, {.distance_m = 1000, .speed_m_s = 2}};
  const Trip full = drive(rows, {going(-40), going(60)}, carrier(0), {.usable_j = 1e6});
  EXPECT_NEAR(full.legs[0].lost_j, 40000, 1e-6);
  EXPECT_NEAR(full.legs[0].charge_ratio, 1, 1e-12);
  EXPECT_NEAR(full.energy_j, 60000, 1e-6);
  const Trip half = drive(rows, {going(-40), going(60)}, carrier(0), {.usable_j = 1e6, .start_ratio = 0.5});
  EXPECT_EQ(half.legs[0].lost_j, 0);
  EXPECT_NEAR(half.energy_j, 20000, 1e-6);
}

// METHODS 4.1: "climbs 25 degrees for 40 s" is a valid answer. By hand: twice the continuous torque holds -tau ln(1 - 1/4) = 40 s for tau = 139.04 s; at 0.5 m/s
// that is 20 m of the climb.
TEST(Endurance, AHotDriveEndsTheClimb) {
  vehicle::Vehicle v = carrier(0);
  for (vehicle::Axle& a : v.axles) {
    a.drive.peak_torque_n_m = 120;
    a.drive.continuous_torque_n_m = 50;
    a.drive.thermal_time_s = -40 / std::log(0.75);
  }
  EXPECT_NEAR(*v.axles[0].drive.thermal_time_s, 139.04, 0.01);
  const double steep = 25 * units::kDegree_rad;
  const Trip t = drive({{.distance_m = 100, .gradient_rad = steep, .speed_m_s = 0.5}}, std::vector<Travel>{going(2000, 100)}, v, {.usable_j = 1e9});
  EXPECT_EQ(t.stopped_by, TripLimit::hot_drive);
  EXPECT_NEAR(*t.legs[0].holds_s, 40, 1e-9);
  EXPECT_NEAR(t.distance_m, 20, 1e-9);
  EXPECT_NEAR(t.legs[0].heat_ratio, 1, 1e-12);
  // Warm at the start: 30 s on the same climb first, no pause, and 10 s are left; after a long halt all 40.
  const TripRow first{.distance_m = 15, .gradient_rad = steep, .speed_m_s = 0.5}, second{.distance_m = 100, .gradient_rad = steep, .speed_m_s = 0.5};
  EXPECT_NEAR(*drive({first, second}, {going(2000, 100), going(2000, 100)}, v, {.usable_j = 1e9}).legs[1].holds_s, 10, 1e-9);
  TripRow rested = first;
  rested.halt_s = 1e5;
  EXPECT_NEAR(*drive({rested, second}, {going(2000, 100), going(2000, 100)}, v, {.usable_j = 1e9}).legs[1].holds_s, 40, 1e-9);
  // Within the continuous torque it holds for ever; without a time it is told and not judged.
  EXPECT_FALSE(drive({second}, std::vector<Travel>{going(500, 50)}, v, {.usable_j = 1e9}).legs[0].holds_s);
  for (vehicle::Axle& a : v.axles) a.drive.thermal_time_s.reset();
  const Trip unknown = drive({second}, std::vector<Travel>{going(500, 100)}, v, {.usable_j = 1e9});
  EXPECT_TRUE(unknown.arrives());
  EXPECT_TRUE(unknown.legs[0].heat_unknown);
}

TEST(Endurance, TheGroundStopsWhereTheVehicleDoesNotGo) {
  Travel stuck;
  stuck.factor = LimitingFactor::bogs_down;
  const Trip t = drive({{.distance_m = 500, .speed_m_s = 1}, {.distance_m = 500, .speed_m_s = 1}, {.distance_m = 1, .speed_m_s = 1}}, {going(10), stuck, going(10)}, carrier(0), {.usable_j = 1e6});
  EXPECT_EQ(t.stopped_by, TripLimit::ground);
  EXPECT_EQ(t.factor, LimitingFactor::bogs_down);
  EXPECT_EQ(t.row, 1u);
  EXPECT_EQ(t.legs.size(), 2u);
  EXPECT_EQ(t.distance_m, 500);
  EXPECT_EQ(drive({{.distance_m = 5}}, std::vector<Travel>{going(10)}, carrier(0), {.usable_j = 1e6}).stopped_by, TripLimit::no_speed);
}

// There and back on hard numbers: halts at the same places, gradients turned.
TEST(Endurance, ThereAndBack) {
  const auto rows = there_and_back({{"a", 100, 0.1, 1.0, 60, 0}, {"b", 200, -0.05, 2.0, 120, 1}});
  ASSERT_EQ(rows.size(), 4u);
  EXPECT_EQ(rows[2].distance_m, 200);
  EXPECT_EQ(rows[2].gradient_rad, 0.05);
  EXPECT_EQ(rows[2].halt_s, 60);
  EXPECT_EQ(rows[2].ground, 1u);
  EXPECT_EQ(rows[3].gradient_rad, -0.1);
  EXPECT_EQ(rows[3].halt_s, 0);
}

// Splitting a row changes nothing; more reserve, idle load or cold never takes it farther.
TEST(Endurance, PropertiesOverRandomTrips) {
  const math::Stream random(8, math::stream_id("trips"));
  for (std::uint64_t i = 0; i < 50; ++i) {
    std::uint64_t next = i * 100;
    const auto u = [&](double lo, double hi) { return lo + (hi - lo) * random.uniform(next++); };
    vehicle::Vehicle v = carrier(u(0, 80));
    for (vehicle::Axle& a : v.axles) a.drive.continuous_torque_n_m = 50, a.drive.thermal_time_s = u(50, 500);
    std::vector<TripRow> rows, split;
    std::vector<Travel> travels, split_travels;
    for (int k = 0; k < 6; ++k) {
      const TripRow r{.distance_m = u(10, 3000), .speed_m_s = u(0.3, 3), .halt_s = u(0, 600)};
      const Travel t = going(u(-60, 200), u(10, 60));
      rows.push_back(r);
      travels.push_back(t);
      TripRow a = r, b = r;
      a.distance_m *= 0.3, a.halt_s = 0, b.distance_m *= 0.7;
      split.insert(split.end(), {a, b});
      split_travels.insert(split_travels.end(), {t, t});
    }
    const TripSettings s{.usable_j = u(1e5, 2e6), .reserve_ratio = 0.1};
    const Trip whole = drive(rows, travels, v, s), parts = drive(split, split_travels, v, s);
    EXPECT_NEAR(whole.distance_m, parts.distance_m, 1e-6);
    EXPECT_NEAR(whole.energy_j, parts.energy_j, 1e-4);
    EXPECT_EQ(whole.stopped_by, parts.stopped_by);
    EXPECT_NEAR(whole.charge_ratio, s.start_ratio - whole.energy_j / s.usable_j, 1e-9);
    TripSettings more = s;
    more.reserve_ratio = 0.3;
    EXPECT_LE(drive(rows, travels, v, more).distance_m, whole.distance_m + 1e-9);
    more = s;
    more.usable_j *= 0.7;
    EXPECT_LE(drive(rows, travels, v, more).distance_m, whole.distance_m + 1e-9);
    vehicle::Vehicle hungry = v;
    hungry.idle_power_w += 30;
    EXPECT_LE(drive(rows, travels, hungry, s).distance_m, whole.distance_m + 1e-9);
  }
}

// The crewed lunar vehicle, Apollo 15 (published_lrv_traverses.csv: 27.76 km in 3.0333 h; energy from memory, Morea 1992: 1.87 A h/km of 242 A h at 36 V, that is 67 W h/km).
// Its drive efficiency and idle loads are not in the reference, so the check is one of bounds: the mechanical work of the four-wheel model (697 kg, wheels 0.82 m by
// 0.23 m, soil of WE-22 with the strength of loose lunar soil, Lunar Sourcebook from memory) must lie below what the battery gave, and not below a fifth of it.
TEST(Endurance, TheLunarRovingVehiclesEnergyLiesAboveItsMechanicalWork) {
  vehicle::Vehicle v = test::carrier(0.41, 0.23);
  v.bodies[0] = {.mass_kg = 697, .cg_x_m = 1.15, .cg_z_m = 0.7};
  v.axles[1].position_x_m = 2.3;
  soil::Soil s;
  s.bearing = soil::bekker(1, 1400, 820000);
  s.shear = soil::Shear{.cohesion_pa = 170, .tan_phi = std::tan(35 * units::kDegree_rad), .shear_modulus_m = 0.018};
  base::Problems problems;
  const auto on = on_soil(v, s, 1.62, soil::SlipSinkage::none, {}, problems);
  ASSERT_TRUE(on);
  const double measured = 67 * 3600.0 / 1000;   // J/m
  const Trip t = drive({{.distance_m = 27760, .speed_m_s = 27760 / (3.0333 * 3600)}}, std::vector<OnSoil>{*on}, v, {.usable_j = 242 * 36 * 3600.0});
  ASSERT_TRUE(t.arrives()) << name(t.stopped_by);
  EXPECT_NEAR(t.time_s / 3600, 3.0333, 1e-9);
  EXPECT_LT(t.energy_j / t.distance_m, measured);
  EXPECT_GT(t.energy_j / t.distance_m, 0.2 * measured);
  // With the published rate itself: 52 A h of 242 over 27.9 km.
  const Trip published = drive({{.distance_m = 27900, .speed_m_s = 9.6 / 3.6}}, std::vector<Travel>{going(1.87 * 36 * 3600 / 1000)}, v, {.usable_j = 242 * 36 * 3600.0});
  EXPECT_NEAR((1 - published.charge_ratio) * 242, 52, 0.3);
  RecordProperty("mechanical_J_per_m", std::to_string(t.energy_j / t.distance_m));
}

TEST(Endurance, PossibleSoilsGiveIntervalsAndTheRowThatStops) {
  soil::SoilDistribution about{.centre = test::sand(), .bearing_dof = 7, .shear_dof = 7, .population = "invented"};
  about.sampling[0][0] = about.sampling[1][1] = 0.01;
  about.between_points[0][0] = about.between_points[1][1] = 0.08;
  about.between_points[4][4] = 0.002;
  base::Problems problems;
  const vehicle::Vehicle v = carrier(30);
  const auto ground = [&](const char* zone) {
    return *place_vehicle(v, {.zone = zone, .centre = test::sand(), .distribution = about}, {.gravity_m_s2 = 9.81, .seed = 4, .count = 200}, {}, problems);
  };
  const Placed dune = ground("dune"), flat = ground("flat");
  const std::vector<TripRow> rows{{"flat", 2000, 0, 1.5, 60, 1}, {"up", 100, 0.13, 0.5, 0, 0}, {"down", 100, -0.13, 0.5, 0, 0}};
  const Endurance e = endurance(rows, {&dune, &flat}, v, {.usable_j = 3e6});
  EXPECT_EQ(e.draws, 200u);
  EXPECT_GT(e.arrival_ratio, 0);
  EXPECT_LT(e.arrival_ratio, 1);
  std::size_t sum = 0;
  for (const std::size_t n : e.stopped_in_row) sum += n;
  EXPECT_EQ(sum, 200u);
  EXPECT_GT(e.stopped_in_row[1], 0u);
  ASSERT_TRUE(e.distance_m.next_point);
  EXPECT_LE(e.distance_m.next_point->lo, e.distance_m.value);
  ASSERT_EQ(e.charge_after.size(), 3u);
  EXPECT_GT(e.charge_after[0].value, e.charge_after[1].value);
  // Each row's own: the speed asked for and the halt; what the rows take is what the battery loses.
  ASSERT_EQ(e.row_time_s.size(), 3u);
  EXPECT_NEAR(e.row_time_s[0].value, 2000 / 1.5 + 60, 1e-9);
  EXPECT_NEAR(e.row_energy_j[1].value, (e.charge_after[0].value - e.charge_after[1].value) * 3e6, 1e-6);
  ASSERT_TRUE(e.row_energy_j[0].next_point);
  EXPECT_LE(e.row_energy_j[0].next_point->lo, e.row_energy_j[0].value);
  EXPECT_GE(e.row_energy_j[0].next_point->hi, e.row_energy_j[0].value);
  // The best-estimate soils alone give the centre.
  const Trip centre = drive(rows, std::vector<OnSoil>{dune.centre, flat.centre}, v, {.usable_j = 3e6});
  EXPECT_EQ(centre.distance_m, e.centre.distance_m);
  EXPECT_EQ(centre.energy_j, e.centre.energy_j);
  // Without draws it says why.
  const auto textbook = place_vehicle(v, {.zone = "t", .centre = test::sand(), .textbook = true}, {.gravity_m_s2 = 9.81}, {}, problems);
  const Endurance plain = endurance({{"flat", 2000, 0, 1.5, 60, 0}}, {&*textbook}, v, {.usable_j = 3e6});
  EXPECT_FALSE(plain.distance_m.next_point);
  EXPECT_NE(plain.reason_without.find("textbook"), std::string::npos);
  EXPECT_EQ(plain.arrival_ratio, 1);
}

TEST(Endurance, TemperatureFollowsTheUsersTable) {
  const std::vector<DeratingRow> rows{{253.15, 0.6}, {273.15, 0.8}, {293.15, 1}};
  EXPECT_NEAR(*usable_ratio(rows, 263.15), 0.7, 1e-12);
  EXPECT_EQ(*usable_ratio(rows, 293.15), 1);
  EXPECT_FALSE(usable_ratio(rows, 233.15));   // nothing is assumed beyond the table
  EXPECT_FALSE(usable_ratio(rows, std::nan("")));
  EXPECT_FALSE(usable_ratio({}, 293.15));
  base::Problems problems;
  check_derating({{0, 1}, {273.15, 0.5}, {270, 0.5}, {280, -0.1}}, {.key = "derating"}, problems);
  EXPECT_EQ(problems.list().size(), 3u);
  check_trip({{.distance_m = 0}, {.distance_m = 1, .gradient_rad = 2}, {.distance_m = 1, .speed_m_s = 0.0}, {.distance_m = 1, .halt_s = -1}, {.distance_m = std::nan(""), .ground = 3}}, 1, {}, problems);
  EXPECT_EQ(problems.list().size(), 9u);
  check_trip({}, 1, {}, problems);
  EXPECT_EQ(problems.list().size(), 10u);
}

}  // namespace
}  // namespace hardpan::performance
