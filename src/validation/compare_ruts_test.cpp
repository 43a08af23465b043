// SPDX-License-Identifier: Apache-2.0
// Invented rut sheets over a vehicle on a stated soil: what was put in must be found, and nothing else.
#include "validation/compare_ruts.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "performance/passes.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::validation {
namespace {

using ::testing::HasSubstr;

constexpr double kGravity = 9.81, kWeight = 420 * kGravity;
constexpr soil::Reload kReload{.k0_pa_per_m = 5e6, .au_pa_per_m2 = 50e6};

vehicle::Vehicle carrier() {
  vehicle::Vehicle v = performance::test::carrier(0.3, 0.2);
  v.bodies[0] = {.mass_kg = 420, .cg_x_m = 0.65, .cg_z_m = 0.5};
  return v;
}

performance::Placed placed(bool with_scatter) {
  soil::Soil s;
  s.bearing = soil::bekker(1.0, 2000, 1.2e6);
  s.shear = soil::Shear{.cohesion_pa = 500, .tan_phi = 0.62, .shear_modulus_m = 0.015};
  performance::Ground g{.zone = "bar", .centre = s};
  if (with_scatter) {
    soil::SoilDistribution d{.centre = s, .bearing_dof = 7, .shear_dof = 7, .population = "points of the bar"};
    const double sd[] = {0.15, 0.15, 0.05, 150, 0.03, 0.15};
    for (std::size_t i = 0; i < soil::kCoordinates; ++i) {
      d.between_points[i][i] = sd[i] * sd[i];
      d.sampling[i][i] = sd[i] * sd[i] / 8;
    }
    g.distribution = d;
  }
  base::Problems problems;
  return *performance::place_vehicle(carrier(), g, {.gravity_m_s2 = kGravity, .count = 60}, {}, problems);
}

std::vector<performance::PassDepth> predicted(const performance::Placed& p, double slip, std::size_t passes) {
  performance::Workspace space;
  performance::State s;
  performance::states_at_slip({&p.centre, 1}, slip, 0, {&s, 1}, space);
  std::vector<performance::PassDepth> out(passes);
  performance::depth_by_pass(performance::machine_of(p.centre, s), s, kReload, performance::paths_of(carrier()), out);
  return out;
}

records::RutReading reading(int pass, const char* run, double loaded, std::optional<double> after, std::optional<double> slip) {
  records::RutReading r;
  r.source = {.id = "ruts", .file = "ruts.csv", .zone = "bar"};
  r.conditions = {.vehicle = "carrier", .weight_n = kWeight, .run = run};
  r.line = 2, r.wheel_path = "left", r.pass = pass, r.depth_loaded_m = loaded, r.depth_after_m = after, r.slip_ratio = slip;
  return r;
}

RutByPass compare(const performance::Placed& p, const std::vector<records::RutReading>& readings, const std::optional<soil::Reload>& reload = kReload) {
  base::Problems problems;
  records::DrawbarResult d;
  d.ruts = records::reduce_ruts(readings, {}, problems);
  const auto out = compare_ruts(carrier(), p, reload, d, units::OutputUnits::si);
  EXPECT_EQ(out.size(), 1u);
  return out.front();
}

TEST(CompareRuts, DepthsPutInAsPredictedAgreeInEveryPass) {
  const performance::Placed p = placed(true);
  const auto depth = predicted(p, 0.15, 4);
  std::vector<records::RutReading> readings;
  for (const int pass : {1, 2, 4}) {
    const auto& d = depth[static_cast<std::size_t>(pass - 1)];
    readings.push_back(reading(pass, "a", d.loaded_m - 0.001, d.after_m - 0.001, 0.15));
    readings.push_back(reading(pass, "b", d.loaded_m + 0.001, d.after_m + 0.001, 0.15));
  }
  const RutByPass r = compare(p, readings);
  EXPECT_TRUE(r.slip_measured);
  EXPECT_NEAR(r.slip_ratio, 0.15, 1e-12);
  ASSERT_EQ(r.passes.size(), 3u);
  EXPECT_EQ(r.judged, 6u);
  EXPECT_EQ(r.consistent, 6u);
  for (const RutPass& k : r.passes) {
    EXPECT_NEAR(k.predicted_loaded_m.value, depth[static_cast<std::size_t>(k.pass - 1)].loaded_m, 1e-12);
    EXPECT_NEAR(k.predicted_after_m.value, depth[static_cast<std::size_t>(k.pass - 1)].after_m, 1e-12);
    ASSERT_TRUE(k.predicted_loaded_m.next_point);
    EXPECT_TRUE(k.predicted_loaded_m.next_point->contains(k.predicted_loaded_m.value));
  }
  EXPECT_NEAR(r.growth_measured->value, *r.growth_predicted, 1e-3);
  EXPECT_FALSE(r.grows_more);
}

// depth = z1 pass^0.9 exactly, more than a floor that stays down lets it; and a rut that does not grow at all.
TEST(CompareRuts, RutsThatDeepenMoreOrLessThanComputedAreTold) {
  const performance::Placed p = placed(false);
  const double z1 = predicted(p, 0.15, 1)[0].loaded_m;
  std::vector<records::RutReading> readings;
  for (const int pass : {1, 2, 4, 8}) readings.push_back(reading(pass, "a", z1 * std::pow(pass, 0.9), {}, 0.15));
  const RutByPass r = compare(p, readings);
  EXPECT_NEAR(r.growth_measured->value, 0.9, 1e-9);
  EXPECT_LT(*r.growth_predicted, 0.5);
  EXPECT_GT(*r.growth_predicted, 0);
  EXPECT_TRUE(r.grows_more);
  EXPECT_THAT(r.statement, HasSubstr("ruts deepen more than computed"));
  EXPECT_FALSE(r.passes.back().predicted_loaded_m.next_point);
  EXPECT_FALSE(*r.passes.back().consistent_loaded);
  std::vector<records::RutReading> even;
  for (const int pass : {1, 2, 4, 8}) even.push_back(reading(pass, "a", z1 * (1 + 1e-4 * (pass % 3)), {}, 0.15));
  const RutByPass less = compare(p, even);
  EXPECT_TRUE(less.grows_less && !less.grows_more) << less.statement;
}

TEST(CompareRuts, ASheetWithoutSlipIsSetBesideTheSelfPropelledVehicle) {
  const performance::Placed p = placed(false);
  const RutByPass r = compare(p, {reading(1, "a", 0.03, {}, {}), reading(1, "b", 0.04, {}, {})});
  EXPECT_FALSE(r.slip_measured);
  EXPECT_NEAR(r.slip_ratio, performance::travel_outcome(p, performance::TravelQuantity::slip, 0).centre, 1e-12);
  EXPECT_THAT(r.statement, HasSubstr("self-propelled"));
}

TEST(CompareRuts, WithoutUnloadedPlatesNothingIsComparedAndTheReasonIsTold) {
  const RutByPass r = compare(placed(false), {reading(1, "a", 0.03, {}, 0.1), reading(2, "a", 0.035, {}, 0.1)}, std::nullopt);
  EXPECT_EQ(r.judged, 0u);
  EXPECT_THAT(r.statement, HasSubstr("no plate was unloaded"));
}

TEST(CompareRuts, TheWeightOfTheSheetIsTheWeightOfThePrediction) {
  const performance::Placed p = placed(false);
  auto heavy = reading(1, "a", 0.03, {}, 0.1);
  heavy.conditions.weight_n = 1.3 * kWeight;
  EXPECT_GT(compare(p, {heavy}).passes[0].predicted_loaded_m.value, compare(p, {reading(1, "a", 0.03, {}, 0.1)}).passes[0].predicted_loaded_m.value);
}

TEST(CompareRuts, PassesBeyondTheLastComparedAreCounted) {
  const RutByPass r = compare(placed(false), {reading(1, "a", 0.03, {}, 0.1), reading(kMostPasses + 1, "a", 0.06, {}, 0.1)});
  EXPECT_EQ(r.passes.size(), 1u);
  EXPECT_EQ(r.passes_left_out, 1u);
}

}  // namespace
}  // namespace hardpan::validation
