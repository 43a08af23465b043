// SPDX-License-Identifier: Apache-2.0
#include "performance/roughness.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "math/random.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

constexpr double kPi = std::numbers::pi;

RideVehicle made(const vehicle::Vehicle& v, const RideSettings& settings = {}, double g = 9.81) {
  base::Problems problems;
  const auto out = make_ride_vehicle(v, g, settings, {}, problems);
  EXPECT_TRUE(out) << (problems.list().empty() ? "" : problems.list().front().text());
  return out.value_or(RideVehicle{});
}

vehicle::Vehicle sprung(double n_per_m) {
  vehicle::Vehicle v = test::carrier();
  for (vehicle::Axle& a : v.axles) a.suspension_n_per_m = n_per_m;
  return v;
}

// METHODS: v = (lambda / 2 pi) sqrt(g / A). By hand: 4 m, 0.1 m, Earth: 0.63662 * 9.90454 = 6.3054 m/s; Moon 2.5623.
TEST(Roughness, ARigidVehicleLeavesAWaveAtThePublishedSpeed) {
  EXPECT_NEAR(wave_lift_off_m_s({4, 0.1}, 9.81), 6.3054, 1e-4);
  EXPECT_NEAR(wave_lift_off_m_s({4, 0.1}, 1.62), 2.5623, 1e-4);
  const math::Stream random(3, math::stream_id("waves"));
  for (std::uint64_t i = 0; i < 20; ++i) {
    const Wave wave{1 + 9 * random.uniform(3 * i), 0.02 + 0.1 * random.uniform(3 * i + 1)};
    const double g = 1 + 9 * random.uniform(3 * i + 2);
    const RideAnswer a = ride_on(made(test::carrier(), {}, g), wave, {});
    ASSERT_TRUE(a.speeds.front().speed_m_s);
    EXPECT_NEAR(*a.speeds.front().speed_m_s / wave_lift_off_m_s(wave, g), 1, 2e-6);
    EXPECT_TRUE(a.speeds.front().solve.converged());
  }
}

// Very stiff springs are no springs: C = 1e-6 of what gives a deflection of the amplitude.
TEST(Roughness, StiffSpringsTendToTheRigidVehicle) {
  const Wave wave{3, 0.08};
  const double rigid = *ride_on(made(test::carrier()), wave, {}).speeds.front().speed_m_s, stiff = *ride_on(made(sprung(1e10)), wave, {}).speeds.front().speed_m_s;
  EXPECT_NEAR(stiff / rigid, 1, 1e-4);
}

// One mass on a spring and damper, closed form (Den Hartog, Mechanical Vibrations; from memory): with the radius of gyration sqrt(l_f l_r) each axle is such a system.
// Load, pressing upward on the body: -m w^2 y (k + i w c) / (k - m w^2 + i w c).
TEST(Roughness, EachAxleAnswersAsOneMassOnASpring) {
  const RideVehicle v = made(sprung(2e4), {.damping_ratio = 0.25});
  for (const double w : {1.0, 6.0, 13.0, 40.0}) {
    const double speed = 2.0;
    const RideResponse r = response(v, w / speed, speed);
    for (std::size_t i = 0; i < 2; ++i) {
      const RideAxle& a = v.axles[i];
      const double m = a.load_n / 9.81;
      const std::complex<double> k(4e4, w * 2 * 0.25 * std::sqrt(4e4 * m));
      const auto expected = -m * w * w * k / (k - m * w * w);
      EXPECT_NEAR(std::abs(r.load_n[i]) / std::abs(expected), 1, 1e-9) << w;
      EXPECT_NEAR(std::arg(r.load_n[i] / expected / std::polar(1.0, w / speed * a.x_m)), 0, 1e-9);
    }
  }
}

// Slow driving follows the ground: heave is the ground's height under the centre of gravity for long waves.
TEST(Roughness, LongWavesAreFollowed) {
  const RideResponse r = response(made(sprung(2e4)), 2 * kPi / 500, 0.1);
  EXPECT_NEAR(std::abs(r.heave_m[0]), 1, 1e-3);
  EXPECT_NEAR(std::abs(r.load_n[0]), 0, 1e-2);
}

// Waves as long as the wheelbase lift both axles at once: no pitch. Half as long again against phase: no heave at the middle, for equal axles. Symmetry only.
TEST(Roughness, WheelbaseFiltersHeaveAndPitch) {
  RideVehicle v = made(sprung(2e4));
  for (RideAxle& a : v.axles) a.load_n = 0.5 * v.parts[0].mass_kg * 9.81, a.spring_n_s_per_m = 1000;
  v.axles[0].x_m = -0.65, v.axles[1].x_m = 0.65;
  v.parts[0].pitch_inertia_kg_m2 = 0.3 * v.parts[0].mass_kg;
  EXPECT_NEAR(std::abs(response(v, 2 * kPi / 1.3, 1).pitch_rad[0]), 0, 1e-12);
  EXPECT_NEAR(std::abs(response(v, kPi / 1.3, 1).heave_m[0]), 0, 1e-12);
}

// Random vibration of one mass on white velocity of the ground, one-sided density Gv (Crandall and Mark 1963, from memory): mean square of its travel Gv / (8 zeta w0) over an infinite
// band. Class of exponent 2: Gv = (2 pi n0)^2 G0 v. The band here ends far on either side of the resonance: what lies outside is below 0.5 %.
TEST(Roughness, ClassSpectraShakeOneMassAsTheClosedForm) {
  const double zeta = 0.1;
  const RideVehicle v = made(sprung(2e4), {.damping_ratio = zeta});
  const GroundSpectrum s{.name = "wide", .g0_m3 = 256e-6, .lowest_per_m = 1e-4, .highest_per_m = 1e3};
  const double speed = 5;
  const RideAxle& a = v.axles[0];
  const double m = a.load_n / 9.81, w0 = std::sqrt(4e4 / m);
  // From travel to load: in the mean the spring's share k travel, the damper's grows with the band; so the travel is checked by the response itself.
  double travel = 0;
  const int pieces = 20000;
  for (int k = 0; k < pieces; ++k) {
    const double n = 1e-4 * std::pow(1e7, (k + 0.5) / pieces);
    travel += s.density_m3(n) * n * std::log(1e7) / pieces * std::norm(response(v, 2 * kPi * n, speed).travel_m[0]);
  }
  const double gv = std::pow(2 * kPi * 0.1, 2) * 256e-6 * speed;
  EXPECT_NEAR(travel / (gv / (8 * zeta * w0)), 1, 0.005);
}

// The band integral against the plain sum, with little damping (the sharpest resonance it is meant for).
TEST(Roughness, TheBandIntegralAgreesWithAPlainSum) {
  const RideVehicle v = made(sprung(2e4), {.damping_ratio = 0.01});
  const GroundSpectrum s = *class_spectrum('D');
  const RideQuestion q{.weighting = Weighting::whole_body_vertical, .at_x_m = 0.3};
  for (const double speed : {1.0, 4.0, 12.0}) {
    double sum = 0;
    const int pieces = 40000;
    for (int k = 0; k < pieces; ++k) {
      const double n = s.lowest_per_m * std::pow(s.highest_per_m / s.lowest_per_m, (k + 0.5) / pieces), w = 2 * kPi * n * speed;
      const RideResponse r = response(v, 2 * kPi * n, speed);
      sum += s.density_m3(n) * n * std::log(s.highest_per_m / s.lowest_per_m) / pieces * std::pow(w, 4) * std::norm(height_m(v, r, 0.3)) * std::pow(weight_at(q.weighting, n * speed), 2);
    }
    EXPECT_NEAR(ride_at(v, s, q, speed).weighted_rms_m_s2 / std::sqrt(sum), 1, 1e-4) << speed;
  }
}

// ISO 2631-1 table 3, frequency weighting Wk at third octaves, thousandths, from memory (1, 4, 6.3, 8, 16, 31.5, 0.5, 80 Hz).
TEST(Roughness, TheWeightingIsTheStandardOne) {
  const std::pair<double, double> table[] = {{0.5, 0.418}, {1, 0.482}, {2, 0.531}, {4, 0.967}, {6.3, 1.054}, {8, 1.036}, {16, 0.768}, {31.5, 0.405}, {80, 0.132}};
  for (const auto& [f, w] : table) EXPECT_NEAR(weight_at(Weighting::whole_body_vertical, f), w, 0.008 * w) << f;   // nominal third octaves are rounded by up to 0.8 %
  EXPECT_EQ(weight_at(Weighting::none, 3), 1);
}

// By hand from the coefficients, in slugs and rad/s, at 5 Hz (w^2 = 986.96): F1 = -1.7880, F2 = 0.02580, F3 = -1.3051, F4 = -0.02336, hence 63.54 kg x 0.07545 / 2.2421 = 2.138 W/(m/s^2)^2. It grows
// with w^2 from nothing (leading terms cancel: 63.54 x 3.520e-5), stays above 0, and is largest near 5 Hz [Mansfield1998].
TEST(Roughness, ASeatedPersonTakesUpMostPowerNearFiveHertz) {
  EXPECT_NEAR(absorbed_w_s4_per_m2(5), 2.138, 0.003);
  EXPECT_NEAR(absorbed_w_s4_per_m2(0.02) / std::pow(2 * kPi * 0.02, 2), 63.54 * 3.520e-5, 1e-6);
  double peak = 0, at = 0;
  for (double f = 0.1; f <= 80; f += 0.1) {
    ASSERT_GT(absorbed_w_s4_per_m2(f), 0) << f;
    if (absorbed_w_s4_per_m2(f) > peak) peak = absorbed_w_s4_per_m2(f), at = f;
  }
  EXPECT_GT(at, 4);
  EXPECT_LT(at, 6);
}

// Over a rigid axle the acceleration is that of the ground, A w^2: a person there takes up K (A w^2)^2 / 2, and the bound is passed where that is 6 W.
TEST(Roughness, AbsorbedPowerIsABound) {
  const RideVehicle v = made(test::carrier());
  const Wave wave{2, 0.002};
  const RideQuestion q{.absorbed_power_w = 6, .at_x_m = v.axles[1].x_m};
  const RideAnswer a = ride_on(v, wave, q);
  ASSERT_EQ(a.speeds.size(), 2u);
  ASSERT_EQ(a.limit()->kind, RideLimit::absorbed_power);
  const double f = *a.limit()->speed_m_s / 2, acceleration = 0.002 * std::pow(2 * kPi * f, 2);
  EXPECT_NEAR(absorbed_w_s4_per_m2(f) * acceleration * acceleration / 2, 6, 1e-4);
  // Power goes with the square of the height.
  EXPECT_NEAR(ride_at(v, Wave{2, 0.004}, q, 3).absorbed_power_w / ride_at(v, wave, q, 3).absorbed_power_w, 4, 1e-9);
}

// Three stiff axles on 0.1 m of unevenness: one hangs free before anything moves. It used to be told as 0.02 m/s, the slowest looked at. Two axles always stand.
TEST(Roughness, StiffAxlesLoseContactStandingStill) {
  vehicle::Vehicle three = test::carrier();
  for (vehicle::Axle& a : three.axles) a.suspension_n_per_m = 9e4;
  three.axles.insert(three.axles.begin() + 1, three.axles.front());
  three.axles[1].position_x_m = 0.65;
  const RideAnswer stiff = ride_on(made(three), Wave{4, 0.1}, {});
  EXPECT_TRUE(stiff.speeds.front().standing_still);
  EXPECT_EQ(*stiff.limit()->speed_m_s, 0);
  for (vehicle::Axle& a : three.axles) a.suspension_n_per_m = 9e3;
  const RideAnswer soft = ride_on(made(three), Wave{4, 0.1}, {});
  EXPECT_FALSE(soft.speeds.front().standing_still);
  EXPECT_GT(*soft.limit()->speed_m_s, 0.5);
  EXPECT_FALSE(ride_on(made(sprung(9e4)), Wave{4, 0.1}, {}).speeds.front().standing_still);
}

TEST(Roughness, ClassesGoUpInStepsOfFour) {
  EXPECT_NEAR(class_spectrum('A')->density_m3(0.1), 16e-6, 1e-12);   // ISO 8608, from memory: 16, 64, 256 ... 10^-6 m^3 at 0.1 cycles/m
  EXPECT_NEAR(class_spectrum('h')->density_m3(0.1), 262144e-6, 1e-9);
  EXPECT_NEAR(class_spectrum('D')->density_m3(0.2) / class_spectrum('D')->density_m3(0.1), 0.25, 1e-12);
  EXPECT_FALSE(class_spectrum('I'));
  EXPECT_EQ(class_spectrum('C')->density_m3(10), 0);
  double before = 1e9;
  for (char c = 'A'; c <= 'H'; ++c) {
    const RideAnswer a = ride_on(made(sprung(2e4)), *class_spectrum(c), {.ride_m_s2 = 0.8, .weighting = Weighting::whole_body_vertical, .fastest_m_s = 60});
    const double v = a.speeds.back().speed_m_s.value_or(60);
    EXPECT_LE(v, before);
    before = v;
  }
}

TEST(Roughness, AProfileTellsItsOwnSpectrum) {
  // A surveyed sine on a slope: its variance A^2 / 2 stands at its own frequency, the slope is taken off.
  std::vector<ProfilePoint> points;
  for (int i = 0; i <= 800; ++i) {
    const double x = 0.05 * i;
    points.push_back({x, 0.03 * std::sin(2 * kPi * x / 2.5) + 0.1 * x});
  }
  base::Problems problems;
  const auto s = profile_spectrum(points, {}, problems);
  ASSERT_TRUE(s);
  EXPECT_NEAR(rms_height_m(*s), 0.03 / std::sqrt(2.0), 2e-4);
  const auto top = std::max_element(s->lines.begin(), s->lines.end(), [](const auto& a, const auto& b) { return a.variance_m2 < b.variance_m2; });
  EXPECT_NEAR(top->n_per_m, 0.4, 0.02);
  // Driven over, it shakes as the wave does (one line wide), and lets the rigid vehicle go as fast: 3 against sqrt 2 times the r.m.s. apart.
  const RideQuestion q{.peak_over_rms = std::numbers::sqrt2};
  EXPECT_NEAR(*ride_on(made(test::carrier()), *s, q).speeds.front().speed_m_s / wave_lift_off_m_s({2.5, 0.03}, 9.81), 1, 0.02);
}

// A profile made from a known spectrum gives it back: rms of a hundred sines of class E amplitudes with random phases, and the same ride within 10 % (one realisation).
TEST(Roughness, AMadeProfileRidesAsItsClass) {
  const GroundSpectrum e = *class_spectrum('E');
  const math::Stream random(5, math::stream_id("profile"));
  std::vector<ProfilePoint> points;
  const double length = 200;
  for (int i = 0; i <= 2000; ++i) points.push_back({length * i / 2000, 0});
  for (int k = 4; k <= 560; ++k) {
    const double n = k / length, amplitude = std::sqrt(2 * e.density_m3(n) / length), phase = 2 * kPi * random.uniform(static_cast<std::uint64_t>(k));
    for (ProfilePoint& p : points) p.z_m += amplitude * std::sin(2 * kPi * n * p.x_m + phase);
  }
  base::Problems problems;
  const auto own = profile_spectrum(points, {}, problems);
  ASSERT_TRUE(own);
  const RideVehicle v = made(sprung(2e4), {.damping_ratio = 0.3});
  for (const double speed : {2.0, 5.0}) {
    EXPECT_NEAR(ride_at(v, *own, {}, speed).weighted_rms_m_s2 / ride_at(v, e, {}, speed).weighted_rms_m_s2, 1, 0.1) << speed;
  }
}

TEST(Roughness, HeavyWheelsLeaveTheGroundEarlier) {
  const Wave ripples{0.8, 0.02};
  double before = 1e9;
  for (const double kg : {0.0, 5.0, 15.0, 30.0}) {
    const double v = *ride_on(made(sprung(1e4), {.wheel_mass_kg = kg}), ripples, {.fastest_m_s = 100}).speeds.front().speed_m_s;
    EXPECT_LT(v, before) << kg;
    before = v;
  }
}

TEST(Roughness, LowerBoundsLowerGravityAndRougherGroundSlowIt) {
  const RideVehicle v = made(sprung(2e4));
  const Wave wave{3, 0.05};
  double before = 0;
  for (const double shock : {1.0, 2.0, 4.0, 8.0}) {
    const double s = ride_on(v, wave, {.shock_m_s2 = shock}).speeds[1].speed_m_s.value_or(30);
    EXPECT_GE(s, before);
    before = s;
  }
  EXPECT_LT(*ride_on(made(test::carrier(), {}, 1.62), wave, {}).speeds[0].speed_m_s, *ride_on(made(test::carrier(), {}, 9.81), wave, {}).speeds[0].speed_m_s);
  const RideAnswer a = ride_on(v, wave, {.shock_m_s2 = 0.5, .ride_m_s2 = 1});
  ASSERT_TRUE(a.limit());
  EXPECT_EQ(a.limit()->kind, RideLimit::shock);
  // What is not passed has no speed: 1 mm over 50 m at 3 m/s.
  const RideAnswer calm = ride_on(v, Wave{50, 0.001}, {.shock_m_s2 = 5, .fastest_m_s = 3});
  EXPECT_FALSE(calm.limit());
  EXPECT_EQ(calm.speeds[0].solve.status, base::SolveStatus::no_solution);
  EXPECT_TRUE(ride_on(v, Wave{0.5, 0.1}, {}).bridges_troughs);
  EXPECT_FALSE(ride_on(v, wave, {}).bridges_troughs);
}

TEST(Roughness, RefusesWhatCannotBe) {
  const auto refused = [](const vehicle::Vehicle& v, double g, const RideSettings& s) {
    base::Problems problems;
    const bool made = make_ride_vehicle(v, g, s, {.key = "ride"}, problems).has_value();
    EXPECT_EQ(made, !problems.refused());
    return !made;
  };
  const double nan = std::nan("");
  EXPECT_TRUE(refused(test::carrier(), 0, {}));
  EXPECT_TRUE(refused(test::carrier(), nan, {}));
  EXPECT_TRUE(refused(test::carrier(), 9.81, {.damping_ratio = 0.0}));
  EXPECT_TRUE(refused(test::carrier(), 9.81, {.pitch_radius_m = -1.0}));
  EXPECT_TRUE(refused(test::carrier(), 9.81, {.wheel_mass_kg = 200}));
  EXPECT_TRUE(refused(test::carrier(), 9.81, {.wheel_mass_kg = nan}));
  vehicle::Vehicle three = test::carrier();
  three.axles.insert(three.axles.begin() + 1, three.axles[0]);
  three.axles[1].position_x_m = 0.65;
  EXPECT_TRUE(refused(three, 9.81, {}));
  three.axles[1].suspension_n_per_m = 1e4;
  EXPECT_FALSE(refused(three, 9.81, {}));
  base::Problems problems;
  check_wave({0, 0.1}, {}, problems);
  check_wave({1, nan}, {}, problems);
  check_ride_question({.shock_m_s2 = -1.0, .ride_m_s2 = nan, .at_x_m = nan, .fastest_m_s = 0, .peak_over_rms = 0, .speeds_m_s = {-1}}, {}, problems);
  EXPECT_EQ(problems.list().size(), 8u);
  std::vector<ProfilePoint> points(40);
  for (std::size_t i = 0; i < 40; ++i) points[i].x_m = static_cast<double>(i);
  points[7].x_m = 5;
  EXPECT_FALSE(profile_spectrum(points, {}, problems));
  points[7] = {7, nan};
  EXPECT_FALSE(profile_spectrum(points, {}, problems));
  points.resize(10);
  EXPECT_FALSE(profile_spectrum(points, {}, problems));
}

}  // namespace
}  // namespace hardpan::performance
