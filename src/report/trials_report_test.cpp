// SPDX-License-Identifier: Apache-2.0
// Vehicle trials in the document: reduced from invented sheets, compared by hand, and nothing that is no number on the page.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "records/trials.hpp"
#include "report/document.hpp"

namespace hardpan::report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

campaign::Results trials() {
  campaign::Results r;
  r.campaign.name = "Trials";
  records::TrialRecords t;
  for (const auto& [size, outcome] : {std::pair{0.08, records::ObstacleOutcome::over}, {0.12, records::ObstacleOutcome::hung_up}, {0.10, records::ObstacleOutcome::by_driver}}) {
    records::ObstacleTry x;
    x.source = {.id = "steps", .file = "steps.csv", .zone = "bar", .remark = "<edge>"};
    x.conditions = {.vehicle = "dunlin", .weight_n = 4120};
    x.line = 2, x.size_m = size, x.outcome = outcome, x.axle = "rear";
    t.obstacles.push_back(x);
  }
  for (const auto& [radius, torque] : {std::pair{8.0, 80.0}, {8.0, 86.0}, {4.0, 120.0}, {4.05, 131.0}}) {
    records::TurnRun x;
    x.source = {.id = "turns", .file = "turns.csv", .zone = "bar"};
    x.conditions = {.vehicle = "dunlin", .weight_n = 4120};
    x.line = 2, x.radius_m = radius, x.radius_measured = true, x.torque_n_m = torque;
    t.turns.push_back(x);
  }
  for (int i = 0; i < 12; ++i) {
    records::RemoteRun x;
    x.source = {.id = "remote", .file = "remote.csv", .zone = "bar", .operator_name = i % 2 ? "AB" : "CD"};
    x.conditions = {.vehicle = "dunlin", .weight_n = 4120};
    x.line = 2, x.course = "slalom", x.delay_s = (i * 7) % 3, x.practice = i / 2, x.speed_m_per_s = 1 / (1 + 0.3 * ((i * 7) % 3) + 0.05 * (i % 5)), x.field_of_view_rad = i % 4 < 2 ? 0.7 : 1.2;
    if (i == 11) x.outcome = records::RemoteOutcome::left_corridor;
    t.remote.push_back(x);
  }
  for (int i = 0; i < 3; ++i) {
    records::TripRun trip;
    trip.source = {.id = "trips", .file = "trips.csv", .zone = "bar"};
    trip.conditions = {.vehicle = "dunlin", .weight_n = 4120};
    trip.line = 2, trip.trip = "far nest", trip.distance_m = 2700, trip.energy_j = 1e6 + 2e4 * i, trip.time_s = 4000 + 50 * i;
    t.trips.push_back(trip);
    records::RockRun rock;
    rock.source = trip.source, rock.conditions = trip.conditions, rock.line = 2;
    rock.rocks = "ridge", rock.distance_m = 50 - 15 * i, rock.outcome = i == 0 ? records::RockOutcome::clear : records::RockOutcome::wheel;
    t.rocks.push_back(rock);
    records::RoughRun rough;
    rough.source = trip.source, rough.conditions = trip.conditions, rough.line = 2;
    rough.ride = "track", rough.speed_m_per_s = 1 + 0.3 * i, rough.peak_m_per_s2 = 2 + i, rough.outcome = i == 2 ? records::RoughOutcome::lifted : records::RoughOutcome::held;
    t.rough.push_back(rough);
  }
  records::ObstacleTry at_cut;
  at_cut.source = {.id = "cut", .file = "cut.csv", .zone = "bar"};
  at_cut.conditions = {.vehicle = "dunlin", .weight_n = 4120};
  at_cut.line = 2, at_cut.obstacle = records::ObstacleKind::profile, at_cut.named = "tide-cut";
  t.obstacles.push_back(at_cut);
  records::VehicleRecords tests;
  for (int i = 0; i < 8; ++i) {
    records::SlopeTrial x;
    x.source = {.id = "slopes", .file = "slopes.csv", .zone = "bar", .clock_s = 600.0 * i};
    x.conditions = {.vehicle = std::string("ABBAABBA")[static_cast<std::size_t>(i)] == 'A' ? "dunlin" : "plover", .weight_n = 4120};
    x.angle_rad = {0.2}, x.slip_ratio = 0.1 + 0.01 * ((i * 5) % 4);
    tests.slope_trials.push_back(x);
  }
  base::Problems problems;
  r.trials.reduced = records::reduce_trials(t, tests, {}, {}, problems);
  r.trials.obstacles.push_back({.vehicle = "dunlin", .zone = "bar", .measured_m = {0.08, 0.12}, .statement = "step up, slow approach: between 80 mm (over) and 120 mm (not over). Nothing is judged"});
  validation::TurnComparison c{.vehicle = "dunlin", .zone = "bar", .measured_m = {0, 4}, .predicted_m = math::Interval{2.9, 3}, .limit = performance::TurnLimit::ground, .judged = true, .consistent = true, .statement = "Turn to the left: consistent"};
  for (const records::TorqueAtRadius& x : r.trials.reduced.turns[0].torque) {
    c.torque.push_back({.radius_m = x.radius_m, .vehicle_radius_m = x.radius_m - 0.6, .measured_n_m = x.torque_n_m, .predicted_n_m = x.radius_m < 5 ? std::nan("") : 75, .next_point_n_m = math::Interval{60, 90}, .consistent = x.radius_m < 5 ? std::nullopt : std::optional(true)});
  }
  r.trials.turns.push_back(c);
  validation::RutByPass k{.vehicle = "dunlin", .zone = "bar", .wheel_path = "left", .slip_ratio = 0.1, .judged = 2, .consistent = 1, .statement = "Rut of the left path: 1 of 2 mean depths agrees"};
  for (const int pass : {1, 4}) {
    k.passes.push_back({.pass = pass, .measured_loaded_m = math::Estimate{.value = 0.02 * pass, .n = 2}, .predicted_loaded_m = {.value = 0.021, .next_point = math::Interval{0.015, pass > 1 ? HUGE_VAL : 0.03}}, .predicted_after_m = {.value = 0.015}});
  }
  r.trials.ruts.push_back(k);
  r.trials.trips.push_back({.vehicle = "dunlin", .trip = "far nest", .judged = true, .consistent = true, .statement = "3 of 3 runs arrived. Energy agrees"});
  r.trials.rocks.push_back({.vehicle = "dunlin", .rocks = "ridge", .statement = "stopped by a rock 2 times in 3 runs"});
  validation::RoughComparison over{.vehicle = "dunlin", .ride = "track", .zone = "bar", .predicted_m_per_s = 1.5, .statement = "speed at which a wheel lifts: consistent"};
  for (const records::ShakingAtSpeed& x : r.trials.reduced.rough[0].shaking) over.shaking.push_back({x.speed_m_per_s, x.peak_m_per_s2, {}, 2.2 * x.speed_m_per_s, 1});
  r.trials.rough.push_back(over);
  return r;
}

TEST(TrialsInTheReport, StandInResultsAndInValidation) {
  const std::string page = html(trials());
  const std::size_t results = page.find("id=\"results-trials\""), validation = page.find("id=\"validation\""), compared = page.find("id=\"validation-trials\"");
  ASSERT_NE(results, std::string::npos);
  ASSERT_NE(compared, std::string::npos);
  EXPECT_LT(results, validation);
  EXPECT_LT(validation, compared);
  for (const char* part : {"Between 80.0 mm (over) and 120 mm (not over)", "&lt;edge&gt;", "Torque and power against radius", "Every second of delay costs", "Paired within operators", "field of view", "Two vehicles in turn", "dunlin less plover",
                           "Ruts by pass", "1 of 2 mean depths agrees", "does not turn", "1 of 1 try got over", "Tries counted, obstacle tide-cut, slow approach", "dunlin along far nest", "Chance of arriving, 95 %", "dunlin among ridge",
                           "Shaking by speed, dunlin over track", "Shaking over rough ground, measured and computed", "Stopped by a rock 2 times in 3 runs"}) {
    EXPECT_THAT(page, HasSubstr(part));
  }
  for (const char* bad : {">nan<", ">inf<", "nan ", " inf "}) EXPECT_THAT(page, Not(HasSubstr(bad)));
}

TEST(TrialsInTheReport, AreLeftOutWhereThereAreNone) {
  const std::string page = html(campaign::Results{});
  EXPECT_THAT(page, Not(HasSubstr("results-trials")));
  EXPECT_THAT(page, Not(HasSubstr("validation-trials")));
}

TEST(TrialsInTheReport, AreDrawnOneFigureEach) {
  std::size_t found = 0;
  for (const auto& [id, figure] : figures(trials())) {
    if (!id.starts_with("turn-torque") && !id.starts_with("remote-speed") && !id.starts_with("rut-passes") && !id.starts_with("rough-shaking")) continue;
    ++found;
    EXPECT_GT(tally(figure).drawn, 0u) << id;
    EXPECT_EQ(tally(figure).not_finite, 0u) << id;
  }
  EXPECT_EQ(found, 4u);
}

TEST(TrialsInTheReport, GoIntoTablesCellByCell) {
  std::size_t found = 0;
  for (const io::Table& t : tables(trials())) {
    for (const auto& row : t.rows) EXPECT_EQ(row.size(), t.columns.size()) << t.name;
    for (const char* name : {"obstacle-trials", "turn-trials", "remote-runs", "rut-passes", "paired-differences", "trip-runs", "rock-runs", "rough-runs"}) found += t.name == name;
  }
  EXPECT_EQ(found, 8u);
}

}  // namespace
}  // namespace hardpan::report
