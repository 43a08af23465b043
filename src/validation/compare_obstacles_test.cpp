// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_obstacles.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::validation {
namespace {

using ::testing::HasSubstr;
using performance::Obstruction;
using records::ObstacleKind;
using records::ObstacleOutcome;

// Invented. The front axle alone is driven and the centre of gravity sits forward: the front wheel at the edge decides, in closed form.
vehicle::Vehicle front_driven() {
  vehicle::Vehicle v;
  v.id = "carrier";
  v.bodies = {{.mass_kg = 420, .cg_x_m = 1.1, .cg_z_m = 0.45}};
  for (const double x : {0.0, 1.3}) {
    vehicle::Axle a;
    a.name = x == 0 ? "rear" : "front";
    a.position_x_m = x;
    a.track_width_m = 1;
    a.wheel = {.radius_m = 0.3, .width_m = 0.2};
    a.drive.driven = x > 0;
    v.axles.push_back(a);
  }
  return v;
}

records::ObstacleTry one_try(double size_m, ObstacleOutcome outcome, std::optional<double> friction, ObstacleKind kind = ObstacleKind::step_up) {
  records::ObstacleTry t;
  t.source = {.id = "s", .file = "s.csv", .zone = "yard"};
  t.conditions = {.vehicle = "carrier", .weight_n = 420 * 9.81};
  t.line = 2, t.size_m = size_m, t.outcome = outcome, t.friction_ratio = friction, t.obstacle = kind;
  return t;
}

ObstacleComparison compare(const std::vector<records::ObstacleTry>& tries) {
  base::Problems problems;
  const auto limits = records::reduce_obstacle_tries(tries, {}, problems);
  const auto out = compare_obstacles(limits, {front_driven()}, {{"kerb", performance::Profile::step(0.05)}}, 9.81, units::OutputUnits::si);
  EXPECT_EQ(out.size(), 1u);
  return out.front();
}

// One driven wheel at an edge of height h: mu = sqrt(2 r h - h^2) / (r - h) (docs/theory/obstacles.md), so h = r (1 - 1 / sqrt(1 + mu^2)).
double closed_form_step(double mu) { return 0.3 * (1 - 1 / std::sqrt(1 + mu * mu)); }
double closed_form_friction(double h) { return std::sqrt(2 * 0.3 * h - h * h) / (0.3 - h); }

TEST(CompareObstacles, ThePredictedStepIsTheClosedFormAtTheFrictionMeasured) {
  const double h = closed_form_step(0.7);  // 0.0542 m
  const ObstacleComparison c = compare({one_try(0.05, ObstacleOutcome::over, 0.7), one_try(0.06, ObstacleOutcome::stopped, 0.7)});
  ASSERT_TRUE(c.judged) << c.statement;
  EXPECT_NEAR(c.predicted_m->lo, h, 2e-4);
  EXPECT_NEAR(c.predicted_m->hi, h, 2e-4);
  EXPECT_TRUE(c.consistent) << c.statement;
  EXPECT_EQ(*c.predicted_end, Obstruction::friction);
  EXPECT_TRUE(*c.ends_alike);
  EXPECT_NEAR(*c.friction_needed_passed, closed_form_friction(0.05), 1e-3);
  EXPECT_NEAR(*c.friction_needed_failed, closed_form_friction(0.06), 1e-3);
  EXPECT_THAT(c.statement, HasSubstr("consistent with the tries"));
}

TEST(CompareObstacles, TheSpreadOfTheFrictionIsThatOfThePrediction) {
  const ObstacleComparison c = compare({one_try(0.05, ObstacleOutcome::over, 0.6), one_try(0.08, ObstacleOutcome::stopped, 0.8)});
  EXPECT_NEAR(c.predicted_m->lo, closed_form_step(0.6), 2e-4);
  EXPECT_NEAR(c.predicted_m->hi, closed_form_step(0.8), 2e-4);
}

TEST(CompareObstacles, TriesBesideThePredictionContradictIt) {
  const ObstacleComparison lower = compare({one_try(0.02, ObstacleOutcome::over, 0.7), one_try(0.03, ObstacleOutcome::tipped, 0.7)});
  EXPECT_TRUE(lower.judged);
  EXPECT_FALSE(lower.consistent);
  EXPECT_FALSE(lower.ends_alike);  // at 0.03 m the computation is not stopped
  const ObstacleComparison higher = compare({one_try(0.10, ObstacleOutcome::over, 0.7), one_try(0.12, ObstacleOutcome::tipped, 0.7)});
  EXPECT_FALSE(higher.consistent);
  EXPECT_FALSE(*higher.ends_alike);
  EXPECT_THAT(higher.statement, HasSubstr("not as computed"));
}

// Momentum carries a vehicle over more than slow driving; less it does not explain.
TEST(CompareObstacles, MetAtSpeedThePredictionIsALowerBound) {
  auto more = one_try(0.10, ObstacleOutcome::over, 0.7), less = one_try(0.03, ObstacleOutcome::stopped, 0.7);
  more.rolling_start = less.rolling_start = true;
  EXPECT_TRUE(compare({more}).consistent);
  EXPECT_FALSE(compare({less}).consistent);
}

TEST(CompareObstacles, WithoutFrictionNothingIsJudgedAndTheFrictionNeededIsTold) {
  const ObstacleComparison c = compare({one_try(0.05, ObstacleOutcome::over, {}), one_try(0.06, ObstacleOutcome::stopped, {})});
  EXPECT_FALSE(c.judged);
  EXPECT_FALSE(c.predicted_m);
  EXPECT_THAT(c.statement, HasSubstr("friction of wheel on obstacle was not measured"));
  EXPECT_NEAR(*c.friction_needed_passed, closed_form_friction(0.05), 1e-3);
  EXPECT_THAT(c.statement, HasSubstr("takes a friction of at least 0.66"));  // sqrt(0.6 x 0.05 - 0.05^2) / 0.25 = 0.663
}

TEST(CompareObstacles, GapsAndStepsDownAreJudgedByTheirOwnProfiles) {
  // Two axles fall into a gap wider than a wheel: by hand no gap of two wheel diameters is crossed.
  const ObstacleComparison gap = compare({one_try(0.05, ObstacleOutcome::over, 0.7, ObstacleKind::gap), one_try(1.2, ObstacleOutcome::hung_up, 0.7, ObstacleKind::gap)});
  ASSERT_TRUE(gap.judged) << gap.statement;
  EXPECT_TRUE(gap.consistent) << gap.statement;
  EXPECT_LT(gap.predicted_m->hi, 0.6);
  // Stepping down asks no friction of a vehicle that may slip: a small one is always gone down.
  const ObstacleComparison down = compare({one_try(0.03, ObstacleOutcome::over, 0.7, ObstacleKind::step_down)});
  ASSERT_TRUE(down.judged) << down.statement;
  EXPECT_TRUE(down.consistent) << down.statement;
  EXPECT_GT(down.predicted_m->lo, 0.03);
}

records::ObstacleTry at_kerb(ObstacleOutcome outcome, std::optional<double> friction, const std::string& id = "kerb") {
  auto t = one_try(0, outcome, friction, ObstacleKind::profile);
  t.named = id;
  return t;
}

// The profile is a step of 50 mm, whose closed form needs sqrt(2 x 0.3 x 0.05 - 0.05^2) / 0.25 = 0.663.
TEST(CompareObstacles, TriesAtAProfileAreHeldToTheFrictionItNeeds) {
  const ObstacleComparison agrees = compare({at_kerb(ObstacleOutcome::over, 0.7), at_kerb(ObstacleOutcome::stopped, 0.6)});
  ASSERT_TRUE(agrees.judged) << agrees.statement;
  EXPECT_TRUE(agrees.consistent);
  EXPECT_NEAR(*agrees.friction_needed_passed, closed_form_friction(0.05), 1e-3);
  EXPECT_EQ(*agrees.friction_needed_failed, *agrees.friction_needed_passed);
  EXPECT_TRUE(*agrees.ends_alike);
  EXPECT_FALSE(agrees.predicted_m);
  EXPECT_THAT(agrees.statement, HasSubstr("1 of 2 tries got over"));
  EXPECT_THAT(agrees.statement, HasSubstr("over at the higher friction, not at the lower"));
  EXPECT_FALSE(compare({at_kerb(ObstacleOutcome::over, 0.6)}).consistent);
  EXPECT_FALSE(compare({at_kerb(ObstacleOutcome::stopped, 0.7)}).consistent);
  auto rolling = at_kerb(ObstacleOutcome::over, 0.6);
  rolling.rolling_start = true;   // momentum may have helped
  EXPECT_TRUE(compare({rolling}).consistent);
}

TEST(CompareObstacles, AProfileWithoutFrictionOrDescriptionIsNotJudged) {
  const ObstacleComparison no_friction = compare({at_kerb(ObstacleOutcome::over, {})});
  EXPECT_FALSE(no_friction.judged);
  EXPECT_THAT(no_friction.statement, HasSubstr("takes a friction of at least 0.66"));
  EXPECT_THAT(compare({at_kerb(ObstacleOutcome::over, 0.7, "ditch")}).statement, HasSubstr("its profile is not described"));
}

TEST(CompareObstacles, AnUnknownVehicleAndUndecidedTriesAreTold) {
  auto other = one_try(0.05, ObstacleOutcome::over, 0.7);
  other.conditions.vehicle = "another";
  EXPECT_THAT(compare({other}).statement, HasSubstr("the vehicle is not described"));
  const ObstacleComparison c = compare({one_try(0.05, ObstacleOutcome::by_driver, 0.7)});
  EXPECT_FALSE(c.judged);
  EXPECT_THAT(c.statement, HasSubstr("no try was decided"));
}

}  // namespace
}  // namespace hardpan::validation
