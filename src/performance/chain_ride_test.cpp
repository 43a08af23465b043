// SPDX-License-Identifier: Apache-2.0
// Ride of vehicles whose bodies pitch against each other.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <optional>
#include <random>
#include <tuple>
#include <utility>
#include <vector>

#include "base/problems.hpp"
#include "performance/roughness.hpp"
#include "performance/test_chains.hpp"

namespace hardpan::performance {
namespace {

using Complex = std::complex<double>;
using vehicle::Freedom;
constexpr double kPi = std::numbers::pi;

std::optional<RideVehicle> made(const vehicle::Vehicle& v, const RideSettings& settings = {}) {
  base::Problems problems;
  return make_ride_vehicle(v, 9.81, settings, {}, problems);
}

vehicle::Vehicle stated(vehicle::Vehicle v, double suspension_n_per_m = 0) {
  for (auto& b : v.bodies) b.pitch_inertia_kg_m2 = 0.2 * b.mass_kg;
  if (suspension_n_per_m > 0) {
    for (auto& a : v.axles) a.suspension_n_per_m = suspension_n_per_m;
  }
  return v;
}

vehicle::JointAxis elastic(double n_m_per_rad) { return {.freedom = Freedom::elastic, .stiffness_n_m_per_rad = n_m_per_rad}; }

TEST(ChainRide, ABodyCutInTwoAndJoinedRigidlyRidesAsTheOneBody) {
  vehicle::Vehicle one = test::long_carrier(3e4), two = stated(test::cut(one), 3e4);
  // The inertia of the whole from that of the parts.
  double inertia = 0;
  for (const auto& b : two.bodies) inertia += *b.pitch_inertia_kg_m2 + b.mass_kg * (std::pow(b.cg_x_m - one.bodies[0].cg_x_m, 2) + std::pow(b.cg_z_m - one.bodies[0].cg_z_m, 2));
  one.bodies[0].pitch_inertia_kg_m2 = inertia;
  const auto a = made(one), b = made(two);
  ASSERT_TRUE(a && b);
  EXPECT_EQ(b->parts.size(), 1u);
  const Wave wave{4, 0.02};
  const RideQuestion q{.shock_m_s2 = 4, .at_x_m = 0.3};
  const RideAnswer of_one = ride_on(*a, wave, q), of_two = ride_on(*b, wave, q);
  for (std::size_t i = 0; i < 2; ++i) {
    ASSERT_GT(of_one.speeds[i].speed_m_s.value_or(0), 0);
    EXPECT_NEAR(*of_two.speeds[i].speed_m_s / *of_one.speeds[i].speed_m_s, 1, 1e-6);
  }
}

TEST(ChainRide, AStiffJointTendsToTheRigidOne) {
  const auto rigid = made(stated(test::cut(test::long_carrier(3e4)), 3e4));
  ASSERT_TRUE(rigid);
  double before = 1e9;
  for (const double k : {1e6, 1e7, 1e8, 1e9, 1e10}) {
    const auto v = made(stated(test::cut(test::long_carrier(3e4), elastic(k)), 3e4));
    ASSERT_TRUE(v);
    ASSERT_EQ(v->parts.size(), 2u);
    double worst = 0;
    for (const double speed : {1.0, 2.5, 6.0}) {
      const RideResponse a = response(*rigid, 3.0, speed), b = response(*v, 3.0, speed);
      for (std::size_t i = 0; i < 3; ++i) worst = std::max(worst, std::abs(a.load_n[i] - b.load_n[i]) / rigid->axles[i].load_n);
      EXPECT_NEAR(std::abs(height_m(*v, b, 0.2) - height_m(*rigid, a, 0.2)), 0, 4e5 / k);
    }
    EXPECT_LT(worst, before / (k > 1e7 ? 8 : 1)) << k;   // with the inverse of the stiffness in the end
    before = worst;
  }
  EXPECT_LT(before, 0.004);   // of the load at rest, for 1 m of amplitude
}

// By hand, all axles rigid: the ground moves tractor and trailer, and along nothing holds them: A of one minus that of the other is what the pitches ask for at the joint, their
// momenta cancel. Then the trailer about its joint: load = (m z'' b + I th'' + d H) / axle's lever.
TEST(ChainRide, OnRigidAxlesTheTrailersLoadIsThatByHand) {
  vehicle::Vehicle v = stated(test::with_trailer(Freedom::rigid));
  v.joints[0].z_m = 0.65;
  const auto made_of = made(v);
  ASSERT_TRUE(made_of);
  const RideVehicle& r = *made_of;
  ASSERT_EQ(r.parts.size(), 2u);
  ASSERT_TRUE(r.rigid);
  for (const double speed : {0.5, 3.0, 9.0}) {
    const double k = 2 * kPi / 2.3, w2 = std::pow(k * speed, 2);
    const auto ground = [&](std::size_t axle) { return std::polar(1.0, k * r.axles[axle].x_m); };
    const RidePart &trailer = r.parts[0], &tractor = r.parts[1];
    const double joint = r.joints[0].x_m, base = r.axles[2].x_m - r.axles[1].x_m;
    const Complex th1 = (ground(2) - ground(1)) / base, z_joint = ground(1) + (joint - r.axles[1].x_m) * th1;
    const Complex th0 = (z_joint - ground(0)) / (joint - r.axles[0].x_m), z0 = ground(0) + (trailer.x_m - r.axles[0].x_m) * th0;
    const double d0 = 0.65 - trailer.height_m, d1 = 0.65 - tractor.height_m;
    // A0 + w^2 d0 th0 = A1 + w^2 d1 th1, m0 A0 + m1 A1 = 0; H on the tractor = m1 A1.
    const Complex apart = w2 * (d0 * th0 - d1 * th1);
    const Complex on_tractor = trailer.mass_kg * tractor.mass_kg / (trailer.mass_kg + tractor.mass_kg) * apart;
    // Trailer about the joint, nose up: -w^2 I th0 = a_axle f - a_joint V + d0 H with its own accelerations; V = f + w^2 m0 z0.
    const double a_axle = r.axles[0].x_m - trailer.x_m, a_joint = joint - trailer.x_m;
    const Complex f = (-w2 * trailer.pitch_inertia_kg_m2 * th0 + a_joint * w2 * trailer.mass_kg * z0 - d0 * on_tractor) / (a_axle - a_joint);
    const RideResponse got = response(r, k, speed);
    EXPECT_NEAR(std::abs(got.load_n[0] - f) / std::abs(f), 0, 1e-9) << speed;
    EXPECT_NEAR(std::abs(got.pitch_rad[0] - th0) + std::abs(got.pitch_rad[1] - th1), 0, 1e-12);
    EXPECT_NEAR(std::abs(height_m(r, got, joint) - z_joint), 0, 1e-12);
  }
}

// A second method: generalised coordinates (heave and place along of the joint ahead of the rearmost part, pitch of every part), mass and stiffness matrices by the motions they give each
// part, solved as real 2n equations; no forces of joints in it.
std::vector<Complex> loads_by_coordinates(const RideVehicle& v, double k, double speed) {
  const std::size_t parts = v.parts.size(), n = 2 + parts;
  const double w = k * speed;
  // Heave and place along of a point of a part, as rows over (h, x, th_0 ...): joint 0 is the origin.
  const auto rows = [&](std::size_t part, double x_m, double height_m) {
    std::vector<double> up(n), along(n);
    up[0] = along[1] = 1;
    double at_x = v.joints[0].x_m, at_z = v.joints[0].height_m;
    const auto turn = [&](std::size_t p, double to_x, double to_z) { up[2 + p] += to_x - at_x, along[2 + p] -= to_z - at_z, at_x = to_x, at_z = to_z; };
    for (std::size_t j = 1; part > 0 && j < part; ++j) turn(j, v.joints[j].x_m, v.joints[j].height_m);
    turn(part, x_m, height_m);
    return std::pair{up, along};
  };
  std::vector<std::vector<Complex>> m(n, std::vector<Complex>(n + 1));
  for (std::size_t p = 0; p < parts; ++p) {
    const RidePart& part = v.parts[p];
    const auto [up, along] = rows(p, part.x_m, part.height_m);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) m[i][j] -= w * w * (part.mass_kg * up[i] * up[j] + (part.mass_kg + part.wheels_kg) * along[i] * along[j]);
    }
    m[2 + p][2 + p] -= w * w * part.pitch_inertia_kg_m2;
  }
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    for (const auto& [a, b, sign] : {std::tuple{j, j, 1.0}, {j + 1, j + 1, 1.0}, {j, j + 1, -1.0}, {j + 1, j, -1.0}}) m[2 + a][2 + b] += sign * v.joints[j].pitch_n_m_per_rad;
  }
  // Dynamic stiffness of suspension, wheel mass and wheel from body to ground: s = g (y t - up), by hand from the two springs in series with the mass between.
  std::vector<std::pair<Complex, Complex>> series;   // of body motion, of ground motion
  for (const RideAxle& a : v.axles) {
    const Complex spring(a.spring_n_per_m, w * a.spring_n_s_per_m), wheel(a.wheel_n_per_m, w * a.wheel_n_s_per_m), between = spring + wheel - w * w * a.wheel_mass_kg;
    series.emplace_back(spring - spring * spring / between, spring * wheel / between);
    const auto [up, along] = rows(a.part, a.x_m, 0);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) m[i][j] += series.back().first * up[i] * up[j];
      m[i][n] += series.back().second * up[i] * std::polar(1.0, k * a.x_m);
    }
  }
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t best = c;
    for (std::size_t i = c; i < n; ++i) best = std::abs(m[i][c]) > std::abs(m[best][c]) ? i : best;
    std::swap(m[c], m[best]);
    for (std::size_t i = 0; i < n; ++i) {
      if (i == c) continue;
      const Complex f = m[i][c] / m[c][c];
      for (std::size_t j = c; j <= n; ++j) m[i][j] -= f * m[c][j];
    }
  }
  std::vector<Complex> out;
  for (const RideAxle& a : v.axles) {
    const auto [up, along] = rows(a.part, a.x_m, 0);
    Complex height = 0;
    for (std::size_t i = 0; i < n; ++i) height += up[i] * m[i][n] / m[i][i];
    const Complex spring(a.spring_n_per_m, w * a.spring_n_s_per_m), wheel(a.wheel_n_per_m, w * a.wheel_n_s_per_m), y = std::polar(1.0, k * a.x_m);
    const Complex hub = (spring * height + wheel * y) / (spring + wheel - w * w * a.wheel_mass_kg);
    out.push_back(wheel * (y - hub));
  }
  return out;
}

TEST(ChainRide, GeneralisedCoordinatesGiveTheSameLoads) {
  std::mt19937 random(6);
  const auto u = [&](double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(random); };
  int compared = 0;
  for (int i = 0; i < 200; ++i) {
    vehicle::Vehicle v = test::random_chain(random, 0.1, 0.8);
    base::Problems problems;
    vehicle::check_vehicle(v, 9.81, {}, problems);
    if (problems.refused()) continue;
    for (auto& b : v.bodies) b.pitch_inertia_kg_m2 = b.mass_kg * u(0.05, 0.5);
    for (auto& a : v.axles) a.suspension_n_per_m = u(1e4, 1e5), a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = u(5e4, 4e5)};
    for (auto& j : v.joints) {
      if (j.pitch.freedom == Freedom::free && u(0, 1) < 0.5) j.pitch = elastic(u(1e3, 1e5));
    }
    const auto r = made(v, {.wheel_mass_kg = u(0, 3)});
    if (!r || r->parts.size() < 2) continue;
    ++compared;
    const double k = 2 * kPi / u(0.8, 12), speed = u(0.2, 12);
    RideVehicle whole = *r;
    for (RideAxle& a : whole.axles) a.wheel_n_s_per_m = 0.02 * a.wheel_n_per_m / (k * speed);
    const RideResponse got = response(whole, k, speed);
    const std::vector<Complex> other = loads_by_coordinates(whole, k, speed);
    for (std::size_t a = 0; a < other.size(); ++a) EXPECT_NEAR(std::abs(got.load_n[a] - other[a]) / std::abs(other[a]), 0, 1e-8) << i << " " << a;
  }
  EXPECT_GT(compared, 50);
}

TEST(ChainRide, JointsHoldPartsTogetherAndLongWavesAreFollowed) {
  const auto v = made(stated(test::with_trailer(Freedom::rigid), 3e4));
  ASSERT_TRUE(v);
  const double joint = v->joints[0].x_m;
  const RideResponse r = response(*v, 4, 2);
  EXPECT_NEAR(std::abs(height_m(*v, r, joint) - height_m(*v, r, joint + 1e-9)), 0, 1e-6);
  const RideResponse slow = response(*v, 2 * kPi / 2000, 0.05);
  for (const Complex z : slow.heave_m) EXPECT_NEAR(std::abs(z), 1, 1e-3);
  const RideResponse still = response(*v, 2 * kPi / 3, 0);   // a trailer that follows the ground loads nothing but by its joint
  EXPECT_NEAR(std::abs(still.load_n[0]), 0, 1e-6 * v->axles[0].load_n);
}

// A trailer of one rigid axle right under its centre of gravity is a point mass on the wave, whatever a soft tractor does: its hitch takes none of it where it has no inertia to speak of.
TEST(ChainRide, ATrailerLeavesTheWaveAsAPointMassWould) {
  vehicle::Vehicle v = stated(test::with_trailer(Freedom::rigid), 3e3);
  v.axles[0].suspension_n_per_m.reset();
  v.bodies[0].pitch_inertia_kg_m2 = 1e-6;
  v.joints[0].z_m = v.bodies[0].cg_z_m;   // and what the hitch passes along passes through it
  const auto r = made(v);
  ASSERT_TRUE(r);
  const Wave wave{1.5, 0.02};
  const RideAnswer a = ride_on(*r, wave, {});
  ASSERT_TRUE(a.limit());
  EXPECT_EQ(a.limit()->axle, 0u);
  EXPECT_NEAR(*a.limit()->speed_m_s / wave_lift_off_m_s(wave, 9.81), 1, 1e-5);
}

TEST(ChainRide, RefusesWhatTheGroundWouldHoldTwice) {
  base::Problems problems;
  vehicle::Vehicle v = stated(test::cut(test::long_carrier(), {.freedom = Freedom::free}));
  EXPECT_TRUE(made(v));   // three rigid axles under two parts
  vehicle::Axle more = v.axles.back();
  more.name = "one more";
  more.position_x_m = 1.0;
  v.axles.insert(v.axles.end() - 1, more);
  EXPECT_FALSE(made(v));
  v.axles[2].suspension_n_per_m = 3e4;
  EXPECT_TRUE(made(v));
  EXPECT_FALSE(made(v, {.pitch_radius_m = 0.5}));
  EXPECT_FALSE(made(v, {.wheel_mass_kg = 45}));
  for (auto& b : v.bodies) b.pitch_inertia_kg_m2.reset();
  const auto assumed = made(v);
  ASSERT_TRUE(assumed);
  EXPECT_TRUE(assumed->pitch_radius_assumed);
  for (const RidePart& p : assumed->parts) EXPECT_GT(p.pitch_inertia_kg_m2, 0);
}

// Backward over the same waves every load is the same, whichever end counts as the first.
TEST(ChainRide, TheMirrorImageRidesAlike) {
  const auto r = made(stated(test::with_trailer(Freedom::rigid), 4e4));
  ASSERT_TRUE(r);
  RideVehicle image = *r;
  std::reverse(image.parts.begin(), image.parts.end());
  std::reverse(image.joints.begin(), image.joints.end());
  std::reverse(image.axles.begin(), image.axles.end());
  for (auto& p : image.parts) p.x_m = -p.x_m;
  for (auto& j : image.joints) j.x_m = -j.x_m;
  for (auto& a : image.axles) a.x_m = -a.x_m, a.part = image.parts.size() - 1 - a.part;
  const RideResponse a = response(*r, 3, 2), b = response(image, -3, -2);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(std::abs(a.load_n[i] - b.load_n[2 - i]) / std::abs(a.load_n[i]), 0, 1e-9);
}

}  // namespace
}  // namespace hardpan::performance
