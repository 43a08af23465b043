// SPDX-License-Identifier: Apache-2.0
// The fast rule against adaptive quadrature (adaptive_reference.hpp), and the kernel text over other numbers.
#include <gtest/gtest.h>

#include <cmath>

#include "contact/detail/adaptive_reference.hpp"
#include "contact/detail/answer.hpp"
#include "contact/detail/load_curve.hpp"
#include "contact/detail/plain_number.hpp"
#include "contact/detail/random_wheel.hpp"
#include "math/gauss_legendre_table.hpp"

namespace hardpan::contact {
namespace plain {
using detail::Contour;
using detail::Direction;
using detail::Frame;
using detail::Plan;
using detail::Rule;
using detail::Sums;
#define HARDPAN_KERNEL inline
#include "contact/detail/wheel_kernel.ipp"
#undef HARDPAN_KERNEL
}  // namespace plain

namespace {

using namespace detail;

template <int N>
void expect_nodes_of_the_table() {
  const Rule& rule = rule_for(N);
  for (std::size_t i = 0; i < N; ++i) {
    EXPECT_NEAR(rule.node[i], 0.5 * (1 + math::GaussLegendre<N>::node[i]), 2e-16) << N << " " << i;
    EXPECT_NEAR(rule.weight[i], 0.5 * math::GaussLegendre<N>::weight[i], 4e-16) << N << " " << i;
  }
}

TEST(WheelRule, NodesAndWeightsAreThoseOfTheTable) {
  expect_nodes_of_the_table<8>();
  expect_nodes_of_the_table<12>();
  expect_nodes_of_the_table<16>();
  expect_nodes_of_the_table<24>();
  expect_nodes_of_the_table<32>();
}

enum class Way { driving, braking, oblique, flexible, exit_behind, metal, two_layers, rut };

// Largest error of the four integrals over `count` random wheels, each relative to the integral of its
// absolute value.
double worst_error(Way way, int count, std::uint64_t seed) {
  Chance chance(seed);
  double worst = 0;
  for (int i = 0; i < count; ++i) {
    RandomWheel random = random_wheel(chance);
    if (way == Way::exit_behind) random.soil.exit_ratio = chance.between(0.05, 0.6);
    if (way == Way::metal) {
      random.wheel.grouser_height_m = 0;
      random.soil.shear->cohesion_pa = chance.log_between(500, 1e4);
      random.soil.smooth_metal = soil::InterfaceStrength{random.soil.shear->cohesion_pa * chance.between(0, 0.8),
                                                        random.soil.shear->tan_phi * chance.between(1.05, 1.4)};
    }
    double slip = way == Way::braking ? -chance.between(0, 0.95) : chance.between(0, 1);
    if (way == Way::oblique || way == Way::exit_behind || way == Way::metal) slip = chance.between(-0.9, 0.9);
    const double angle = way == Way::oblique ? chance.log_between(0.01, 0.7) : 0;
    double deflection = 0;
    if (way == Way::flexible) {
      random.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 1e5};  // replaced by the deflection below
      deflection = random.wheel.radius_m * chance.log_between(0.002, 0.25);
    }
    if (way == Way::two_layers) {
      random.soil.bearing->below = soil::SecondLayer{.depth_m = random.wheel.radius_m * chance.log_between(0.005, 0.3), .n_below = chance.log_between(0.2, 6)};
    }
    Contact contact = contact_of(random);
    if (way == Way::rut) {
      const double deepest = random.wheel.radius_m * chance.log_between(0.01, 0.4);
      const double stiff = contact.law.pressure_pa(deepest) / deepest * chance.log_between(1, 30);
      contact.law = *soil::rut_floor(contact.law, deepest, soil::Reload{.k0_pa_per_m = stiff});
    }
    if (way == Way::two_layers || way == Way::rut) slip = chance.between(-0.9, 0.9);
    const LoadCurve curve = make_curve(contact, slip, angle, deflection);
    const double undeflected = std::min(chance.log_between(0.05, 1.1), 0.98 * curve.largest_angle);
    const Sums<double> got = curve.sums(undeflected, rule_for(rule_count(curve, undeflected)));
    const double sinkage = contact.radius_m * (1 - std::cos(undeflected));
    const Integrals want = AdaptiveWheel(contact, sinkage, deflection, slip, angle).integrate();
    worst = std::max({worst, std::fabs(got.load - want.load) / want.load_size, std::fabs(got.pull - want.pull) / want.pull_size,
                      std::fabs(got.shear - want.shear) / want.shear_size, std::fabs(got.side - want.side) / want.shear_size});
    EXPECT_LT(worst, 1e-8) << "way " << static_cast<int>(way) << " wheel " << i << " slip " << slip << " angle " << angle
                           << " n " << random.soil.bearing->n << " entry " << undeflected << " nodes " << rule_count(curve, undeflected);
    if (worst >= 1e-8) break;
  }
  return worst;
}

TEST(WheelRule, DrivingStaysWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::driving, 100, 1), 1e-8); }
TEST(WheelRule, BrakingStaysWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::braking, 100, 2), 1e-8); }
TEST(WheelRule, SlipAnglesStayWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::oblique, 100, 3), 1e-8); }
TEST(WheelRule, FlexibleWheelsStayWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::flexible, 66, 4), 1e-8); }
TEST(WheelRule, ExitBehindTheAxleStaysWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::exit_behind, 66, 5), 1e-8); }
TEST(WheelRule, TwoLayersStayWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::two_layers, 66, 21), 1e-8); }
TEST(WheelRule, TheFloorOfARutStaysWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::rut, 66, 22), 1e-8); }
TEST(WheelRule, SmoothMetalStaysWithin1e8OfAdaptiveQuadrature) { EXPECT_LT(worst_error(Way::metal, 66, 6), 1e-8); }

// Gauss-Legendre on u^p misses like N^-(2p + 2); here p = 3 n + 2 (pressure times du), so the order is 6 n + 6.
TEST(WheelRule, ErrorFallsWithTheOrderOfTheEntrySingularity) {
  for (const double n : {0.1, 0.2, 0.3}) {  // above, 16 nodes reach the reference's own rounding
    Contact c;
    c.radius_m = c.shearing_radius_m = c.torque_radius_m = c.largest_sinkage_m = 0.3;
    c.width_m = c.pressure_width_m = 0.2;
    c.law = {.k = 1e6, .n = n};
    c.shear_modulus_m = 0.02;
    const LoadCurve curve = make_curve(c, 0, 0, 0);
    const double want = AdaptiveWheel(c, 0.3 * (1 - std::cos(0.4)), 0, 0, 0).integrate().load;
    const auto error = [&](int nodes) { return std::fabs(curve.sums(0.4, rule_for(nodes)).load / want - 1); };
    const double order = std::log2(error(8) / error(16));
    EXPECT_NEAR(order, 6 * n + 6, 0.8) << "n " << n;
  }
}

TEST(WheelKernel, RateOfTheLoadIsTheRateOfItsValues) {
  Chance chance(8);
  for (int i = 0; i < 60; ++i) {
    RandomWheel random = random_wheel(chance);
    if (i % 3 == 0) random.soil.exit_ratio = 0.3;
    if (i % 4 == 1) random.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 1e5};
    const Contact contact = contact_of(random);
    const LoadCurve curve = make_curve(contact, chance.between(-0.8, 0.9), i % 2 ? 0.2 : 0, contact.flexible ? 0.02 * contact.radius_m : 0);
    const double t = chance.between(0.1, 0.8), h = 1e-4 * t;
    const Rule& rule = rule_for(24);
    const LoadAndRate at = curve.load_and_rate(t, rule);
    EXPECT_NEAR(at.load_n, curve.load_n(t, rule), 1e-12 * std::fabs(at.load_n));
    const auto load = [&](double x) { return curve.load_n(x, rule); };
    const double slope = (8 * (load(t + h) - load(t - h)) - (load(t + 2 * h) - load(t - 2 * h))) / (12 * h);
    EXPECT_NEAR(at.rate_n_per_rad, slope, 2e-8 * (std::fabs(slope) + std::fabs(at.load_n) / t)) << i;
  }
}

// The same text over dual numbers: derivatives of pull with respect to cohesion and K, against differences.
TEST(WheelKernel, DualNumbersGiveTheDerivativesOfThePull) {
  using D = math::Dual<2>;
  Chance chance(9);
  const Contact contact = contact_of(random_wheel(chance));
  const LoadCurve curve = make_curve(contact, 0.25, 0, 0);
  Frame<D> frame;
  const auto* from = reinterpret_cast<const double*>(&curve.frame);
  auto* to = reinterpret_cast<D*>(&frame);
  for (std::size_t i = 0; i < sizeof(curve.frame) / sizeof(double); ++i) to[i] = D(from[i]);
  frame.cohesion = frame.other_cohesion = D::variable(curve.frame.cohesion, 0);
  const double modulus = contact.shear_modulus_m;
  frame.inverse_k = 1.0 / D::variable(modulus, 1);
  const Rule& rule = rule_for(24);
  const D pull = plain::sums_over_arc<Direction::forward, true, true>(frame, curve.plan, D(0.4), rule).pull;
  const auto shifted = [&](double dc, double dk) {
    LoadCurve other = curve;
    other.frame.cohesion += dc;
    other.frame.other_cohesion += dc;
    other.frame.inverse_k = 1 / (modulus + dk);
    return other.sums(0.4, rule).pull;
  };
  EXPECT_DOUBLE_EQ(pull.v, curve.sums(0.4, rule).pull);
  EXPECT_NEAR(pull.d[0], (shifted(1, 0) - shifted(-1, 0)) / 2, 1e-9 * std::fabs(pull.d[0]));
  EXPECT_NEAR(pull.d[1], (shifted(0, 1e-6) - shifted(0, -1e-6)) / 2e-6, 1e-6 * std::fabs(pull.d[1]));
}

}  // namespace
}  // namespace hardpan::contact
