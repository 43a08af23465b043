// SPDX-License-Identifier: Apache-2.0
// The vector path against the plain one, and its independence of batch size and order.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <numeric>
#include <vector>

#include <hwy/targets.h>

#include "contact/detail/random_wheel.hpp"
#include "contact/detail/vector_functions.hpp"
#include "contact/wheel_soil.hpp"

namespace hardpan::contact {
namespace {

using namespace detail;

struct Many {
  std::vector<Contact> contacts;
  std::vector<double> load, slip, angle, guess;
  [[nodiscard]] std::vector<WheelAnswer> solve(SimdTarget target, bool warm = false) const {
    std::vector<WheelAnswer> out(contacts.size());
    wheels_at_load(contacts, load, slip, angle, warm ? std::span<const double>(guess) : std::span<const double>(), out, target);
    return out;
  }
};

Many any_wheels(std::size_t count) {
  Chance chance(77);
  Many many;
  for (std::size_t i = 0; i < count; ++i) {
    RandomWheel random = random_wheel(chance);
    if (i % 5 == 1) random.wheel.flex = vehicle::Flex{.stiffness_n_per_m = chance.log_between(1e4, 1e6), .hysteresis_share = 0.1};
    if (i % 7 == 2) random.soil.exit_ratio = chance.between(0.1, 0.7);
    if (i % 11 == 3) random.soil.smooth_metal = soil::InterfaceStrength{500, 0.3};
    if (i % 13 == 4) random.soil.reload = soil::Reload{1e7, 1e8};
    if (i % 17 == 5) random.soil.shear->law = soil::ShearLaw::hump;
    if (i % 19 == 6) random.soil.surface_friction = 0.5;
    if (i % 9 == 7) random.soil.bearing->below = soil::SecondLayer{.depth_m = random.wheel.radius_m * chance.log_between(0.005, 0.3), .n_below = chance.log_between(0.2, 6)};
    Contact contact = contact_of(random);
    if (i % 10 == 8 && !contact.law.breaks()) {
      const double deepest = random.wheel.radius_m * chance.log_between(0.01, 0.4);
      contact.law = *soil::rut_floor(contact.law, deepest, soil::Reload{.k0_pa_per_m = contact.law.pressure_pa(deepest) / deepest * chance.log_between(1, 30)});
    }
    many.contacts.push_back(contact);
    many.load.push_back(wheel_at_entry_angle(rigid_twin(contact), std::acos(1 - chance.log_between(0.003, 0.7)), 0.2).load_n);
    many.slip.push_back(i % 3 == 0 ? -chance.between(0, 1) : i % 23 == 0 ? -1.0 : chance.between(0, 1));
    many.angle.push_back(i % 4 == 3 ? chance.between(-0.5, 0.5) : 0);
    many.guess.push_back(i % 6 == 0 ? 0 : chance.between(0.05, 1.0));
  }
  return many;
}

void expect_same_within(const WheelAnswer& a, const WheelAnswer& b, double relative, std::size_t i) {
  ASSERT_EQ(a.status, b.status) << i << ": " << name(a.status) << " / " << name(b.status);
  EXPECT_EQ(a.flags, b.flags) << i;
  if (!a.carried()) {
    if (a.status != WheelStatus::beyond_deflection_table) {
      EXPECT_NEAR(a.largest_load_n, b.largest_load_n, relative * std::fabs(b.largest_load_n)) << i;
    }
    return;
  }
  EXPECT_NEAR(a.entry_angle_rad, b.entry_angle_rad, relative * a.entry_angle_rad) << i;
  EXPECT_NEAR(a.sinkage_m, b.sinkage_m, relative * a.sinkage_m) << i;
  EXPECT_NEAR(a.pull_n, b.pull_n, relative * a.load_n) << i;
  EXPECT_NEAR(a.torque_n_m, b.torque_n_m, relative * a.load_n * a.torque_radius_m) << i;
  EXPECT_NEAR(a.side_force_n, b.side_force_n, relative * a.load_n) << i;
  EXPECT_NEAR(a.max_normal_stress_pa, b.max_normal_stress_pa, relative * a.max_normal_stress_pa) << i;
  EXPECT_NEAR(a.contact_length_m, b.contact_length_m, relative * a.contact_length_m) << i;
  if (std::isfinite(a.max_shear_travel_m)) {
    EXPECT_NEAR(a.max_shear_travel_m, b.max_shear_travel_m, relative * a.max_shear_travel_m + 1e-15) << i;
  } else {
    EXPECT_TRUE(std::isinf(b.max_shear_travel_m)) << i;
  }
}

TEST(WheelBatch, VectorsAgreeWithThePlainPathWithin1e9) {
  const Many many = any_wheels(3000);
  const auto plain = many.solve(SimdTarget::plain), fast = many.solve(SimdTarget::best);
  for (std::size_t i = 0; i < plain.size(); ++i) expect_same_within(plain[i], fast[i], 1e-9, i);
}

// A guess may pick another rule near a threshold of the node count: both are good to 1e-8.
TEST(WheelBatch, WarmStartsAgreeWithColdOnesWithinTheAccuracyOfTheRule) {
  const Many many = any_wheels(1500);
  const auto cold = many.solve(SimdTarget::plain), warm = many.solve(SimdTarget::best, true);
  for (std::size_t i = 0; i < cold.size(); ++i) expect_same_within(cold[i], warm[i], 1e-8, i);
}

bool same_bits(const WheelAnswer& a, const WheelAnswer& b) {
  const auto same = [](double x, double y) { return std::memcmp(&x, &y, sizeof x) == 0; };
  return a.status == b.status && a.flags == b.flags && a.solve.status == b.solve.status &&
         a.solve.evaluations == b.solve.evaluations && same(a.solve.residual, b.solve.residual) &&
         same(a.pull_n, b.pull_n) && same(a.torque_n_m, b.torque_n_m) && same(a.side_force_n, b.side_force_n) &&
         same(a.sinkage_m, b.sinkage_m) && same(a.entry_angle_rad, b.entry_angle_rad) &&
         same(a.exit_angle_rad, b.exit_angle_rad) && same(a.max_normal_stress_pa, b.max_normal_stress_pa) &&
         same(a.max_shear_travel_m, b.max_shear_travel_m) && same(a.contact_length_m, b.contact_length_m) &&
         same(a.largest_load_n, b.largest_load_n);
}

TEST(WheelBatch, BatchSizeAndOrderDoNotChangeABit) {
  const Many many = any_wheels(700);
  for (const bool warm : {false, true}) {
    const auto whole = many.solve(SimdTarget::best, warm);
    // One at a time, and in sevens from the back.
    std::vector<std::size_t> order(many.contacts.size());
    std::iota(order.begin(), order.end(), 0U);
    std::reverse(order.begin(), order.end());
    for (const std::size_t size : {std::size_t{1}, std::size_t{7}, std::size_t{300}}) {
      for (std::size_t first = 0; first < order.size(); first += size) {
        Many part;
        const std::size_t last = std::min(first + size, order.size());
        for (std::size_t i = first; i < last; ++i) {
          part.contacts.push_back(many.contacts[order[i]]);
          part.load.push_back(many.load[order[i]]);
          part.slip.push_back(many.slip[order[i]]);
          part.angle.push_back(many.angle[order[i]]);
          part.guess.push_back(many.guess[order[i]]);
        }
        const auto answers = part.solve(SimdTarget::best, warm);
        for (std::size_t i = first; i < last; ++i) {
          ASSERT_TRUE(same_bits(answers[i - first], whole[order[i]])) << "size " << size << " wheel " << order[i] << " warm " << warm;
        }
      }
    }
  }
}

TEST(WheelBatch, VectorFunctionsKeepTheirAccuracy) {
  Chance chance(5);
  std::vector<double> x, y(100001), e(y.size()), l(y.size());
  for (std::size_t i = 0; i < y.size(); ++i) {
    x.push_back(i % 2 ? chance.between(-700, 700) : chance.between(-2, 2));
    y[i] = i % 2 ? std::exp(x[i]) : chance.log_between(0.5, 2);
  }
  vector_exponential(x, e);
  vector_logarithm(y, l);
  for (std::size_t i = 0; i < x.size(); ++i) {
    ASSERT_NEAR(e[i] / std::exp(x[i]), 1, 1.2e-14) << x[i];
    ASSERT_NEAR(l[i], std::log(y[i]), 4e-16 * std::max(1.0, std::fabs(std::log(y[i])))) << y[i];
  }
  const std::vector<double> low{-701, -1e300, -std::numeric_limits<double>::infinity()};
  std::vector<double> out(3);
  vector_exponential(low, out);
  for (const double value : out) EXPECT_NEAR(value / std::exp(-700.0), 1, 1.2e-14);
}

// The widest vectors switched off, the next ones must agree.
TEST(WheelBatch, NarrowerVectorsAgreeWithin1e9) {
  const Many many = any_wheels(1500);
  const auto widest = many.solve(SimdTarget::best);
  const std::string widest_name = simd_target_name(SimdTarget::best);
  hwy::DisableTargets(HWY_AVX3);
  hwy::GetChosenTarget().DeInit();
  const std::string name = simd_target_name(SimdTarget::best);
  const auto narrower = many.solve(SimdTarget::best);
  hwy::DisableTargets(0);
  hwy::GetChosenTarget().DeInit();
  EXPECT_EQ(simd_target_name(SimdTarget::best), widest_name);
  if (name == widest_name) GTEST_SKIP() << "this processor has no two kinds of vectors";
  for (std::size_t i = 0; i < widest.size(); ++i) expect_same_within(widest[i], narrower[i], 1e-9, i);
}

TEST(WheelBatch, NamesTheTargetInUse) {
  EXPECT_STREQ(simd_target_name(SimdTarget::plain), "plain");
  const std::string best = simd_target_name(SimdTarget::best);
  EXPECT_TRUE(best == "plain" || best == "AVX2" || best == "AVX-512") << best;
}

TEST(WheelBatch, AnEmptyBatchIsNothing) {
  wheels_at_load({}, {}, {}, {}, {}, {}, SimdTarget::best);
}

}  // namespace
}  // namespace hardpan::contact
