// SPDX-License-Identifier: Apache-2.0
#include "records/drawbar.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "records/tow_test_log.hpp"

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

DrawbarSettings quick() {
  DrawbarSettings s;
  s.tow.gravity_m_per_s2 = 9.81;
  s.curve.resamples = 300;
  return s;
}

bool says(const base::Problems& problems, const std::string& part) {
  return std::any_of(problems.list().begin(), problems.list().end(),
                     [&](const base::Problem& p) { return p.text().find(part) != std::string::npos; });
}

// Runs of one day: each has its own deviation of the coefficient, its own zero and lag.
VehicleRecords a_day(std::uint64_t seed, int runs, double gradient_rad, bool stated) {
  VehicleRecords records;
  const math::Stream random(seed, math::stream_id("a day"));
  for (int r = 0; r < runs; ++r) {
    TestRun run;
    const bool out = r % 2 == 0;
    run.id = "run " + std::to_string(r + 1), run.seed = seed * 100 + static_cast<std::uint64_t>(r);
    const auto k = static_cast<std::uint64_t>(4 * r);
    run.a = 0.45 * (1 + 0.03 * random.normal(k)), run.zero_n = 60 * random.normal(k + 1),
    run.lag_s = 0.3 * random.uniform(k + 2);
    run.gradient_rad = out ? gradient_rad : -gradient_rad;
    run.pull_noise_n = 30, run.speed_noise = 0.02, run.noise_memory = 0.7;
    run.levels = {{0.035, 9}, {0.08, 9}, {0.15, 9}, {0.25, 9}, {0.4, 9}};
    TowLog log = make_test_log(run);
    log.conditions.lane = "A", log.conditions.direction = out ? "out" : "back";
    log.conditions.gradient_stated = stated;
    if (!stated) log.conditions.gradient_rad = 0, log.pitch_rad.clear();
    records.logs.push_back(std::move(log));
  }
  return records;
}

double true_coefficient(double s) { return 0.45 * (1 - std::exp(-(s - 0.03) / 0.12)); }

TEST(Drawbar, RecoversTheTruePullThroughTheWholeChain) {
  int at_20 = 0, s0 = 0;
  const int seeds = 30;
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    base::Problems problems;
    const DrawbarResult r = reduce_drawbar(a_day(seed, 6, 0.05, true), quick(), problems);
    ASSERT_FALSE(problems.refused());
    ASSERT_EQ(r.groups.size(), 1u);
    const PullSlipCurve& c = r.groups[0].curve;
    ASSERT_TRUE(c.at_20_percent && c.at_20_percent->average_ground && c.s0 && c.s0->average_ground);
    EXPECT_EQ(c.runs, 6u);
    EXPECT_NEAR(c.at_20_percent->value, true_coefficient(0.2), 0.03);
    at_20 += c.at_20_percent->average_ground->contains(true_coefficient(0.2));
    s0 += c.s0->average_ground->contains(0.03);
  }
  // 99.9 % of binomial(30, 0.95) lies at 24 or more.
  EXPECT_GE(at_20, 24);
  EXPECT_GE(s0, 24);
}

TEST(Drawbar, EveryWindowKeepsWhatAPredictionNeeds) {
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(a_day(1, 2, 0.05, true), quick(), problems);
  ASSERT_GE(r.windows.size(), 8u);
  for (const PullWindow& w : r.windows) {
    EXPECT_FALSE(w.file.empty());
    EXPECT_LT(w.first_line, w.last_line);
    EXPECT_LT(w.from_s, w.to_s);
    EXPECT_TRUE(w.slip_ratio && w.pull_n && w.coefficient);
    EXPECT_GT(w.coefficient_se, 0);
    EXPECT_GT(w.slip_se, 0);
    EXPECT_GT(w.n_effective, 1);
    EXPECT_LE(w.n_effective, static_cast<double>(w.samples));
    EXPECT_EQ(w.gradient_source, GradientSource::stated);
    EXPECT_NEAR(std::abs(w.gradient_rad), 0.05, 1e-12);
    EXPECT_EQ(w.zero_slip, vehicle::ZeroSlip::self_propelled_hard);
    EXPECT_DOUBLE_EQ(w.rolling_radius_m, 0.28);
    EXPECT_EQ(w.weight_n, 4120);
  }
}

TEST(Drawbar, RunsBothWaysTellTheGradientOfALaneAndCorrectThePull) {
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(a_day(3, 6, 0.06, false), quick(), problems);
  ASSERT_EQ(r.lanes.size(), 3u);
  double sum = 0;
  for (const LanePair& p : r.lanes) {
    EXPECT_TRUE(p.used);
    sum += p.gradient_rad / 3;
  }
  EXPECT_NEAR(sum, 0.06, 0.01);  // 3 % between runs of a mean coefficient 0.25 is 0.0075 a pair, halved and over three pairs
  for (const PullWindow& w : r.windows) {
    EXPECT_EQ(w.gradient_source, GradientSource::paired_runs);
    EXPECT_NEAR(w.gradient_rad, w.direction == "out" ? sum : -sum, 0.003);
    EXPECT_GT(w.gradient_se_rad, 0);
  }
  EXPECT_NEAR(r.groups[0].curve.at_20_percent->value, true_coefficient(0.2), 0.03);
  EXPECT_FALSE(says(problems, "level is assumed"));
  DrawbarSettings without = quick();
  without.use_paired_gradient = false;
  base::Problems said;
  EXPECT_EQ(reduce_drawbar(a_day(3, 6, 0.06, false), without, said).windows[0].gradient_source,
            GradientSource::assumed_level);
  EXPECT_TRUE(says(said, "level is assumed"));
}

// "drive it both ways" was said of lanes that had been, and of records that named none.
TEST(Drawbar, SaysWhatKeepsTheGradientOfALaneFromBeingFound) {
  const auto told = [](const auto& change) {
    VehicleRecords records = a_day(3, 2, 0.06, false);
    for (TowLog& log : records.logs) change(log.conditions);
    base::Problems problems;
    (void)reduce_drawbar(records, quick(), problems);
    for (const base::Problem& p : problems.list()) {
      if (p.what.find("level is assumed") != std::string::npos) return p.text();
    }
    return std::string();
  };
  EXPECT_THAT(told([](RunConditions& c) { c.lane.clear(); }), HasSubstr("the record names no lane"));
  EXPECT_THAT(told([](RunConditions& c) { c.lane.clear(); }), HasSubstr("key lane"));
  EXPECT_THAT(told([](RunConditions& c) { c.direction.clear(); }), HasSubstr("the record on lane A names no direction"));
  EXPECT_THAT(told([](RunConditions& c) { c.direction = "out"; }), HasSubstr("the runs on lane A have one direction only (out)"));
  EXPECT_EQ(told([](RunConditions&) {}), "");
}

TEST(Drawbar, AStatedGradientOfTheWrongSignIsRemarked) {
  VehicleRecords records = a_day(4, 2, 0.06, true);
  for (TowLog& log : records.logs) log.conditions.gradient_rad = -log.conditions.gradient_rad, log.pitch_rad.clear();
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(records, quick(), problems);
  ASSERT_EQ(r.lanes.size(), 1u);
  EXPECT_FALSE(r.lanes[0].used);
  EXPECT_TRUE(says(problems, "another gradient than stated"));
}

TEST(Drawbar, BestEfficiencyIsWhereTheTrueRatioIsLargest) {
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(a_day(5, 6, 0.0, true), quick(), problems);
  const EfficiencyCurve& e = r.groups[0].efficiency;
  EXPECT_EQ(e.label, "tractive efficiency");
  EXPECT_EQ(e.power_basis, "axle torque");
  // mu (1 - s) / (mu + 0.06) by search over the truth.
  double best = 0, at = 0;
  for (double s = 0.031; s < 0.5; s += 1e-4) {
    const double mu = true_coefficient(s), eta = mu * (1 - s) / (mu + 0.06);
    if (eta > best) best = eta, at = s;
  }
  ASSERT_TRUE(e.best && e.best->average_ground && e.slip_at_best->average_ground);
  EXPECT_NEAR(e.best->value, best, 0.02);
  EXPECT_NEAR(e.slip_at_best->value, at, 0.01);  // the top is flat: 0.01 of slip away the ratio is 0.001 lower
  EXPECT_FALSE(e.best_at_end_of_range);
}

TEST(Drawbar, GradeabilityIsTheArcTangentOfTheCoefficient) {
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(a_day(6, 4, 0.0, true), quick(), problems);
  const DrawbarGroup& g = r.groups[0];
  EXPECT_DOUBLE_EQ(g.gradeability_at_20_percent_rad->value, std::atan(g.curve.at_20_percent->value));
  EXPECT_DOUBLE_EQ(g.gradeability_at_20_percent_rad->next_point->lo, std::atan(g.curve.at_20_percent->next_point->lo));
}

TowLog towed_log(std::uint64_t seed, double resistance, double radius_m) {
  TowLog log;
  const std::string id = "towed " + std::to_string(seed);
  log.source = {.id = id, .file = id + ".csv", .record = id, .zone = "sand"};
  log.kind = LogKind::towed;
  log.conditions = {.vehicle = "dunlin", .weight_n = 4120, .gradient_rad = 0.02, .gradient_stated = true, .run = id};
  log.wheel_speed_rad_per_s.resize(1);
  const math::Stream noise(seed, math::stream_id("towed"));
  const double force = 4120 * (resistance * std::cos(0.02) + std::sin(0.02));
  for (std::size_t i = 0; i < 400; ++i) {
    const double t = 0.05 * static_cast<double>(i), v = t < 5 ? 0 : std::min(1.0, t - 5);
    log.time_s.push_back(t);
    log.ground_speed_m_per_s.push_back(v + 0.01 * noise.normal(3 * i));
    log.wheel_speed_rad_per_s[0].push_back(v / radius_m + 0.02 * noise.normal(3 * i + 1));
    log.pull_n.push_back((t < 5 ? 0 : force + (t < 6 ? 420 : 0)) + 8 * noise.normal(3 * i + 2));
    log.line.push_back(i + 2);
  }
  return log;
}

TEST(Drawbar, TowedRunsGiveResistanceAndARollingRadiusForOthers) {
  VehicleRecords records = a_day(7, 4, 0.0, true);
  for (TowLog& log : records.logs) log.conditions.rolling_radius_m.reset();
  for (std::uint64_t k = 1; k <= 3; ++k) records.logs.push_back(towed_log(k, 0.09 + 0.002 * static_cast<double>(k), 0.29));
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(records, quick(), problems);
  const auto towed = std::find_if(r.resistances.begin(), r.resistances.end(),
                                  [](const auto& m) { return m.method == ResistanceMethod::towed; });
  ASSERT_NE(towed, r.resistances.end());
  EXPECT_EQ(towed->coefficient.n, 3u);
  EXPECT_NEAR(towed->coefficient.value, 0.094, 0.002);
  // The runs stay apart behind their mean, each with its own error.
  ASSERT_EQ(towed->runs.size(), 3u);
  double mean = 0;
  for (const ResistanceRun& run : towed->runs) {
    EXPECT_NEAR(run.coefficient, 0.094, 0.006) << run.run;
    EXPECT_GT(run.standard_error, 0) << run.run;
    EXPECT_LT(run.standard_error, 0.01) << run.run;
    EXPECT_GE(run.windows, 1u);
    EXPECT_FALSE(run.run.empty() || run.file.empty());
    mean += run.coefficient / 3;
  }
  EXPECT_NEAR(mean, towed->coefficient.value, 1e-12);
  EXPECT_TRUE(towed->coefficient.average_ground->contains(0.094));
  // The towed radius 0.29 m, not the 0.28 m of the vehicle that made the logs: slip is that of the same motion.
  const DrawbarGroup& g = r.groups[0];
  EXPECT_EQ(g.radius.condition, vehicle::ZeroSlip::towed_soil);
  EXPECT_NEAR(g.radius.radius_m, 0.29, 0.001);
  EXPECT_THAT(g.radius.source, HasSubstr("found towed on the test surface in towed"));
  const bool used =
      std::any_of(r.found_radii.begin(), r.found_radii.end(), [](const FoundRadius& f) { return f.used_for_slip; });
  EXPECT_TRUE(used);
  EXPECT_NEAR(g.curve.at_20_percent->value, true_coefficient(slip_with_radius(0.2, 0.29, 0.28)), 0.03);
}

TEST(Drawbar, WithoutAnyRadiusOneIsFoundFromAnUnloadedStretch) {
  VehicleRecords records = a_day(8, 2, 0.0, true);
  for (TowLog& log : records.logs) log.conditions.rolling_radius_m.reset();
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(records, quick(), problems);
  // The level at slip 0.035 pulls 1.8 % of the weight: travel over wheel angle there is 0.28 (1 - 0.035) = 0.2702 m.
  ASSERT_FALSE(r.found_radii.empty());
  EXPECT_EQ(r.found_radii[0].radius.condition, vehicle::ZeroSlip::self_propelled_soil);
  EXPECT_NEAR(r.found_radii[0].radius.radius_m, 0.2702, 0.002);
  EXPECT_GT(r.found_radii[0].radius.standard_error_m, 0);
  for (const PullWindow& w : r.windows) EXPECT_TRUE(w.slip_ratio);
}

TEST(Drawbar, SlipsOfAGroupAreToldWithOneRadius) {
  VehicleRecords records = a_day(9, 4, 0.0, true);
  records.logs[3].conditions.rolling_radius_m = 0.30;
  records.logs[3].conditions.zero_slip = vehicle::ZeroSlip::towed_hard;
  base::Problems problems;
  const DrawbarResult mixed = reduce_drawbar(records, quick(), problems),
                      plain = reduce_drawbar(a_day(9, 4, 0.0, true), quick(), problems);
  EXPECT_GT(mixed.groups[0].slips_converted, 0u);
  EXPECT_DOUBLE_EQ(mixed.groups[0].radius.radius_m, 0.28);
  EXPECT_THAT(mixed.groups[0].remarks, ::testing::Contains(HasSubstr("recomputed with the rolling radius")));
  EXPECT_NEAR(mixed.groups[0].curve.parameters.s0, plain.groups[0].curve.parameters.s0, 0.003);
}

std::vector<HandPull> hand_sheet() {
  // Invented: 0.94 x 0.5 m wheel, 10 turns a pull; distance from slip. Two repeats of four loads.
  std::vector<HandPull> out;
  std::size_t line = 2;
  for (const double s : {0.05, 0.12, 0.22, 0.38}) {
    for (const double offset : {-0.005, 0.005}) {
      HandPull p;
      p.source = {.id = "hand", .file = "hand.csv", .record = "hand", .zone = "sand"};
      p.conditions = {.vehicle = "dunlin",
                      .weight_n = 4120,
                      .gradient_rad = 0,
                      .gradient_stated = true,
                      .rolling_radius_m = 0.47,
                      .zero_slip = vehicle::ZeroSlip::towed_hard,
                      .run = "pull " + std::to_string(line)};
      p.line = line++;
      p.wheel_turns = 10, p.distance_m = 2 * std::numbers::pi * 0.47 * 10 * (1 - s - offset);
      p.pull_n = 4120 * true_coefficient(s);
      p.turns_resolution = 0.25, p.distance_resolution_m = 0.01, p.pull_resolution_n = 20;
      out.push_back(p);
    }
  }
  out[7].sinkage_m = 0.06;
  return out;
}

TEST(HandSheet, GivesSlipErrorsRepeatsAndACurve) {
  VehicleRecords records;
  records.hand_pulls = hand_sheet();
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(records, quick(), problems);
  ASSERT_EQ(r.windows.size(), 8u);
  EXPECT_NEAR(*r.windows[0].slip_ratio, 0.045, 1e-12);
  // Quarter turn in ten: (1 - s) 0.25 / sqrt(12) / 10 = 0.0069; a centimetre in 28 m: 0.0001.
  EXPECT_NEAR(r.windows[0].slip_se, 0.955 * 0.25 / std::sqrt(12.0) / 10, 1e-4);
  EXPECT_NEAR(r.windows[0].pull_se_n, 20 / std::sqrt(12.0), 1e-12);
  ASSERT_EQ(r.groups.size(), 1u);
  ASSERT_EQ(r.groups[0].repeats.size(), 4u);
  EXPECT_EQ(r.groups[0].repeats[0].n, 2u);
  EXPECT_NEAR(r.groups[0].repeats[0].slip_ratio.value, 0.05, 1e-12);
  EXPECT_FALSE(r.groups[0].repeats[0].slip_ratio.next_point);  // two readings: t is 12.7
  EXPECT_TRUE(r.groups[0].curve.usable());
  EXPECT_NEAR(r.groups[0].curve.at_20_percent->value, true_coefficient(0.2), 0.005);
  ASSERT_EQ(r.ruts.sinkage.size(), 1u);
  EXPECT_EQ(r.ruts.sinkage[0].depth_kind, "hand tow sheet");
}

// One pull before the peak and behind it is no repeat: slips of 8 and 40 % used to be averaged, -126 to 157 % at the next point.
TEST(HandSheet, OnePullAtTwoSlipsIsNotARepeat) {
  VehicleRecords records;
  records.hand_pulls = hand_sheet();
  records.hand_pulls[1].pull_n = records.hand_pulls[0].pull_n;
  records.hand_pulls[1].distance_m *= 0.6;
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(records, quick(), problems);
  ASSERT_EQ(r.groups.size(), 1u);
  EXPECT_EQ(r.groups[0].repeats.size(), 3u);
}

TEST(HandSheet, BadRowsAreSetAsideByLineAndTheRestGoesOn) {
  VehicleRecords records;
  records.hand_pulls = hand_sheet();
  records.hand_pulls[1].wheel_turns = -3;
  records.hand_pulls[2].distance_m = std::nan("");
  records.hand_pulls[3].pull_n = 4e6;  // typed in mN
  records.hand_pulls[4].conditions.rolling_radius_m.reset();
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar(records, quick(), problems);
  EXPECT_EQ(r.windows.size(), 5u);
  for (const char* place : {"hand.csv:3", "hand.csv:4", "hand.csv:5", "hand.csv:6"})
    EXPECT_TRUE(says(problems, place)) << place;
  EXPECT_TRUE(says(problems, "no rolling radius"));
  EXPECT_FALSE(problems.refused());
}

TEST(Drawbar, NothingInGivesNothingOutAndImpossibleSettingsAreRefused) {
  base::Problems problems;
  const DrawbarResult r = reduce_drawbar({}, quick(), problems);
  EXPECT_TRUE(r.windows.empty() && r.groups.empty() && r.slopes.empty());
  EXPECT_TRUE(problems.list().empty());
  DrawbarSettings bad = quick();
  bad.tow.cut_off_hz = 0;
  bad.curve.level = 1.2;
  const DrawbarResult none = reduce_drawbar(a_day(1, 2, 0, true), bad, problems);
  EXPECT_TRUE(none.windows.empty());
  EXPECT_EQ(problems.count(base::Severity::refusal), 2u);
}

TEST(Drawbar, LevelIsNotAssumedAloudWhereNoPullDependsOnIt) {
  VehicleRecords records = a_day(2, 1, 0.0, false);
  records.logs[0].pull_n.clear();
  base::Problems problems;
  (void)reduce_drawbar(records, quick(), problems);
  EXPECT_TRUE(says(problems, "no drawbar force"));
  EXPECT_FALSE(says(problems, "level is assumed"));
}

TEST(Drawbar, LoadsOfDifferentWeightFormGroupsOfTheirOwn) {
  VehicleRecords records = a_day(10, 4, 0.0, true);
  records.logs[2].conditions.weight_n = records.logs[3].conditions.weight_n = 5200;
  base::Problems problems;
  EXPECT_EQ(reduce_drawbar(records, quick(), problems).groups.size(), 2u);
}

}  // namespace
}  // namespace hardpan::records
