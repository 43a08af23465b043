// SPDX-License-Identifier: Apache-2.0
#include "records/tow.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "records/tow_test_log.hpp"

namespace hardpan::records {
namespace {

using ::testing::HasSubstr;

TowSettings with_gravity() { return {.gravity_m_per_s2 = 9.81}; }

TestRun noisy() {
  return {.lag_s = 0.37,
          .zero_n = 85,
          .drift_n_per_s = 0.2,
          .pull_noise_n = 40,
          .speed_noise = 0.03,
          .wheel_noise = 0.02,
          .noise_memory = 0.8};
}

TowReduction reduce(const TowLog& log, base::Problems& problems, TowSettings settings = with_gravity()) {
  return reduce_tow_log(log, settings, {}, std::nullopt, problems);
}

bool says(const base::Problems& problems, base::Severity severity, const std::string& part) {
  return std::any_of(problems.list().begin(), problems.list().end(), [&](const base::Problem& p) {
    return p.severity == severity && p.text().find(part) != std::string::npos;
  });
}

// The truth a window should show: the coefficient at its own slip on the prescribed curve.
double true_coefficient(const TestRun& run, double slip) { return TestCourse(run).coefficient(slip); }

TEST(TowLog, WithoutNoiseGivesBackThePrescribedLevels) {
  const TestRun run;
  base::Problems problems;
  const TowReduction r = reduce(make_test_log(run), problems);
  ASSERT_EQ(r.status, "ok");
  EXPECT_EQ(r.mode_used, WindowMode::steady);
  EXPECT_GE(r.windows.size(), 4u);
  for (const TestLevel& level : run.levels) {
    const bool found = std::any_of(r.windows.begin(), r.windows.end(),
                                   [&](const PullWindow& w) { return std::abs(*w.slip_ratio - level.slip) < 0.002; });
    EXPECT_TRUE(found) << level.slip;
  }
  for (const PullWindow& w : r.windows)
    EXPECT_NEAR(*w.coefficient, true_coefficient(run, *w.slip_ratio), 0.002) << *w.slip_ratio;
}

TEST(TowLog, RecoversTruthThroughNoiseDriftLagTiltAndLineAngle) {
  // Over 20 seeds: the share of windows whose truth lies within 1.96 standard errors of coefficient and slip.
  int windows = 0, coefficient_inside = 0, slip_inside = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    TestRun run = noisy();
    run.seed = seed, run.gradient_rad = 0.07, run.line_angle_rad = 0.15;
    base::Problems problems;
    const TowReduction r = reduce(make_test_log(run), problems);
    ASSERT_EQ(r.status, "ok");
    const TestCourse course(run);
    for (const PullWindow& w : r.windows) {
      const double slip = course.slip(0.5 * (w.from_s + w.to_s));
      const double mu = course.coefficient(slip);
      ++windows;
      slip_inside += std::abs(*w.slip_ratio - slip) < 1.96 * w.slip_se + 0.001;
      coefficient_inside += std::abs(*w.coefficient - mu) < 1.96 * w.coefficient_se + 0.001;
      EXPECT_NEAR(*w.coefficient, mu, 0.025) << slip;
    }
  }
  ASSERT_GE(windows, 80);
  // 95 % wanted. Windows of one log share its zero, and an effective sample size from 60 to 200 readings is itself
  // uncertain by a quarter, so 88 % is asked of either (a plain standard error would cover about half).
  EXPECT_GE(coefficient_inside, 0.88 * windows) << windows;
  EXPECT_GE(slip_inside, 0.88 * windows) << windows;
}

TEST(TowLog, FindsTheLagOfThePull) {
  for (const double lag : {0.0, 0.23, 0.61, -0.18}) {
    for (const bool sweep : {false, true}) {
      TestRun run;
      run.lag_s = lag, run.pull_noise_n = 20, run.speed_noise = 0.01;
      if (sweep) run.ramp_s = 9, run.levels = {{0.04, 1}, {0.4, 1}, {0.08, 1}, {0.5, 1}, {0.05, 1}};
      base::Problems problems;
      const TowReduction r = reduce(make_test_log(run), problems);
      ASSERT_EQ(r.lag.source, LagSource::estimated) << lag << sweep;
      EXPECT_NEAR(r.lag.lag_s, lag, 0.06) << sweep << " se " << r.lag.standard_error_s;  // about one reading of 20 a second
      EXPECT_GT(r.lag.correlation, 0.8);
    }
  }
}

TEST(TowLog, StatedLagOverridesTheOneFoundAndADisagreementIsRemarked) {
  TestRun run;
  run.lag_s = 0.5, run.pull_noise_n = 5, run.speed_noise = 0.003;
  TowLog log = make_test_log(run);
  log.lag_s = 0.1;
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  EXPECT_EQ(r.lag.source, LagSource::stated);
  EXPECT_DOUBLE_EQ(r.lag.lag_s, 0.1);
  ASSERT_TRUE(r.lag.estimated_s);
  EXPECT_NEAR(*r.lag.estimated_s, 0.5, 0.06);
  EXPECT_TRUE(says(problems, base::Severity::remark, "stated lag differs"));
}

TEST(TowLog, ContinuousSweepIsCutIntoBinsThatFollowTheCurve) {
  TestRun run;
  run.ramp_s = 25, run.levels = {{0.03, 1}, {0.5, 1}, {0.03, 1}};
  run.lag_s = 0.3, run.pull_noise_n = 15, run.speed_noise = 0.01;
  base::Problems problems;
  const TowReduction r = reduce(make_test_log(run), problems);
  EXPECT_EQ(r.mode_used, WindowMode::sweep);
  ASSERT_GE(r.windows.size(), 20u);
  double sum = 0, squares = 0;
  int counted = 0;
  for (const PullWindow& w : r.windows) {
    // The course gathers and loses speed over 25 s at its ends, where the prescribed pull is not the curve's.
    if (w.from_s < run.still_s + run.ramp_s || w.to_s > run.still_s + 3 * run.ramp_s + 2) continue;
    const double off = *w.coefficient - true_coefficient(run, *w.slip_ratio);
    sum += off, squares += off * off, ++counted;
  }
  ASSERT_GE(counted, 20);
  EXPECT_NEAR(sum / counted, 0, 0.004);
  EXPECT_LT(std::sqrt(squares / counted), 0.02);
}

// In a sweep at 0.28 m/s lost in 2 s, m dv/dt is a tenth of the weight share asked about; leaving it out must show.
TEST(TowLog, InertiaTermCorrectsAFastSweep) {
  TestRun run;
  run.omega = 8, run.ramp_s = 4, run.levels = {{0.05, 2}, {0.6, 2}, {0.05, 2}};
  TowSettings settings = with_gravity();
  settings.mode = WindowMode::sweep;
  base::Problems problems;
  const TowLog log = make_test_log(run);
  const TowReduction with = reduce(log, problems, settings);
  settings.gravity_m_per_s2.reset();
  const TowReduction without = reduce(log, problems, settings);
  const auto worst = [&](const TowReduction& r) {
    double out = 0;
    for (const PullWindow& w : r.windows) {
      if (w.from_s < run.still_s + run.ramp_s + 1 || w.to_s > run.still_s + 3 * run.ramp_s + 3) continue;
      out = std::max(out, std::abs(*w.coefficient - true_coefficient(run, *w.slip_ratio)));
    }
    return out;
  };
  // A bin of 0.5 s spans up to 0.1 of slip here; the curve's bend a / k^2 makes its mean differ by 31 x 0.1^2 / 24 = 0.013.
  EXPECT_LT(worst(with), 0.02);
  EXPECT_GT(worst(without), 0.034);  // m dv/dt / W = 2.24 m/s x 0.55 x 1.5 / 4 s / g = 0.047 at the steepest, less that bend
  EXPECT_TRUE(says(problems, base::Severity::remark, "no inertia term"));
}

TEST(TowLog, ZeroIsFoundAtBothEndsWithItsDrift) {
  TestRun run;
  run.zero_n = -120, run.drift_n_per_s = 0.6, run.pull_noise_n = 10;
  base::Problems problems;
  const TowReduction r = reduce(make_test_log(run), problems);
  EXPECT_EQ(r.zero.source, ZeroSource::found_both_ends);
  EXPECT_NEAR(r.zero.drift_n_per_s, 0.6, 0.1);
  EXPECT_NEAR(r.zero.noise_sd_n, 10, 1.5);
  for (const PullWindow& w : r.windows) EXPECT_NEAR(*w.coefficient, true_coefficient(run, *w.slip_ratio), 0.006);
}

TEST(TowLog, MarkedZeroIsUsedAndRemarkedWhenTheVehicleMovesInIt) {
  TestRun run;
  run.zero_n = 200;
  TowLog log = make_test_log(run);
  log.zero_from_s = 1, log.zero_to_s = 5;
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  EXPECT_EQ(r.zero.source, ZeroSource::marked);
  EXPECT_NEAR(r.zero.pull_n, 200, 1e-9);
  EXPECT_FALSE(says(problems, base::Severity::remark, "moves inside"));
  log.zero_from_s = 20, log.zero_to_s = 25;
  const TowReduction moving = reduce(log, problems);
  EXPECT_TRUE(says(problems, base::Severity::remark, "moves inside"));
  log.zero_from_s = 900, log.zero_to_s = 905;
  const TowReduction outside = reduce(log, problems);
  EXPECT_EQ(outside.zero.source, ZeroSource::none);
  EXPECT_TRUE(says(problems, base::Severity::remark, "fewer than 3 readings"));
}

TEST(TowLog, TautLineAtStandstillIsNotTakenForZero) {
  TestRun run;
  run.still_at_end = false;
  TowLog log = make_test_log(run);
  for (std::size_t i = 0; i < log.time_s.size(); ++i) {
    if (log.time_s[i] < run.still_s) log.pull_n[i] = 900;
  }
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  EXPECT_EQ(r.zero.source, ZeroSource::none);
  EXPECT_TRUE(says(problems, base::Severity::remark, "taut"));
  EXPECT_NEAR(r.windows.front().pull_n.value(), TestCourse(run).pull(15), 15);
}

TEST(TowLog, TimeShiftChangesNothingButTimes) {
  TestRun run = noisy();
  TowLog log = make_test_log(run);
  base::Problems problems;
  const TowReduction a = reduce(log, problems);
  for (double& t : log.time_s) t += 4096;  // exact in binary
  const TowReduction b = reduce(log, problems);
  ASSERT_EQ(a.windows.size(), b.windows.size());
  for (std::size_t i = 0; i < a.windows.size(); ++i) {
    EXPECT_NEAR(*a.windows[i].slip_ratio, *b.windows[i].slip_ratio, 1e-9);
    EXPECT_NEAR(*a.windows[i].coefficient, *b.windows[i].coefficient, 1e-6);
    EXPECT_EQ(a.windows[i].first_line, b.windows[i].first_line);
    EXPECT_NEAR(a.windows[i].from_s + 4096, b.windows[i].from_s, 1e-9);
  }
}

// Force scale: weight, pull and zero times 1000 (a reader that gave millinewtons for all) leave coefficient and slip alone.
TEST(TowLog, ScalingAllForcesLeavesCoefficientsAlone) {
  TestRun run = noisy();
  TowLog log = make_test_log(run);
  base::Problems problems;
  const TowReduction a = reduce(log, problems);
  for (double& p : log.pull_n) p *= 1024;
  for (double& t : log.torque_n_m) t *= 1024;
  log.conditions.weight_n *= 1024;
  const TowReduction b = reduce(log, problems);
  ASSERT_EQ(a.windows.size(), b.windows.size());
  for (std::size_t i = 0; i < a.windows.size(); ++i) {
    EXPECT_NEAR(*a.windows[i].coefficient, *b.windows[i].coefficient, 1e-9);
    EXPECT_NEAR(a.windows[i].coefficient_se, b.windows[i].coefficient_se, 1e-9);
    EXPECT_NEAR(*a.windows[i].efficiency, *b.windows[i].efficiency, 1e-9);
  }
}

// Every reading written twice (a logger that repeats at double rate) adds no information.
TEST(TowLog, RepeatedReadingsDoNotShrinkErrors) {
  TestRun run = noisy();
  run.levels = {{0.1, 40}, {0.3, 40}};
  const TowLog log = make_test_log(run);
  TowLog twice = log;
  const auto repeat = [](std::vector<double>& x) {
    std::vector<double> y;
    for (const double v : x) y.insert(y.end(), {v, v});
    x = y;
  };
  repeat(twice.pull_n), repeat(twice.ground_speed_m_per_s), repeat(twice.wheel_speed_rad_per_s[0]), repeat(twice.torque_n_m),
      repeat(twice.pitch_rad);
  twice.time_s.clear(), twice.line.clear();
  for (std::size_t i = 0; i < 2 * log.time_s.size(); ++i)
    twice.time_s.push_back(static_cast<double>(i) / (2 * run.rate_hz)), twice.line.push_back(i + 4);
  base::Problems problems;
  const TowReduction a = reduce(log, problems), b = reduce(twice, problems);
  const auto mean_of = [](const TowReduction& r, double PullWindow::*value) {
    double sum = 0;
    for (const PullWindow& w : r.windows) sum += w.*value / static_cast<double>(r.windows.size());
    return sum;
  };
  EXPECT_NEAR(mean_of(b, &PullWindow::pull_se_n) / mean_of(a, &PullWindow::pull_se_n), 1, 0.1);
  EXPECT_NEAR(mean_of(b, &PullWindow::slip_se) / mean_of(a, &PullWindow::slip_se), 1, 0.1);
  EXPECT_NEAR(mean_of(b, &PullWindow::n_effective) / mean_of(a, &PullWindow::n_effective), 1, 0.25);
}

TEST(TowLog, WithoutGroundSpeedRefusesSlipByNameAndKeepsTheRest) {
  // Wheel odometry and motor currents at 6.5 readings a second, no force, no ground speed: what the field log of a small robot holds.
  TowLog log;
  log.source = {.id = "snow 3", .file = "pro_03.csv", .record = "snow", .zone = "snow"};
  log.conditions = {.vehicle = "skid steer", .weight_n = 640, .rolling_radius_m = 0.165, .run = "3"};
  log.wheel_speed_rad_per_s.resize(2);
  log.wheel_name = {"left", "right"};
  const math::Stream noise(2, 2);
  for (std::size_t i = 0; i < 400; ++i) {
    const double t = static_cast<double>(i) * 2 / 13;
    log.time_s.push_back(t);
    log.line.push_back(i + 2);
    for (std::size_t w = 0; w < 2; ++w)
      log.wheel_speed_rad_per_s[w].push_back((t < 5 ? 0 : 4.2) + 0.02 * noise.normal(2 * i + w));
    log.current_a.push_back(t < 5 ? 0.8 : 9.8 + 0.3 * noise.normal(5000 + i));
  }
  log.torque_is_axle_torque = false;
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  EXPECT_THAT(r.slip_status, HasSubstr("no ground speed"));
  EXPECT_TRUE(says(problems, base::Severity::remark, "slip is refused: no ground speed"));
  EXPECT_TRUE(says(problems, base::Severity::remark, "pro_03.csv:2"));
  ASSERT_FALSE(r.windows.empty());
  for (const PullWindow& w : r.windows) {
    EXPECT_FALSE(w.slip_ratio);
    EXPECT_FALSE(w.coefficient);
    EXPECT_FALSE(w.efficiency);
    EXPECT_THAT(w.power_basis, HasSubstr("current without voltage"));
    EXPECT_NEAR(*w.current_a, 9.8, 0.2);
  }
}

TowLog constant_log(double pull_n, double omega, double speed, double torque, double weight, double radius,
                    double gradient = 0) {
  TowLog log;
  log.source = {.id = "sheet", .file = "sheet.csv"};
  log.conditions = {.vehicle = "tractor",
                    .weight_n = weight,
                    .gradient_rad = gradient,
                    .gradient_stated = true,
                    .rolling_radius_m = radius,
                    .zero_slip = vehicle::ZeroSlip::towed_hard,
                    .run = "1"};
  log.wheel_speed_rad_per_s.resize(1);
  for (int i = 0; i < 100; ++i) {
    log.time_s.push_back(0.1 * i);
    log.pull_n.push_back(pull_n);
    log.wheel_speed_rad_per_s[0].push_back(omega);
    log.ground_speed_m_per_s.push_back(speed);
    log.torque_n_m.push_back(torque);
    log.line.push_back(static_cast<std::size_t>(i) + 2);
  }
  return log;
}

// GATE, agricultural engineering: rolling radius 0.6 m, tractive force 18.5 kN, motion resistance 1.75 kN, slip 12 %, engine
// 2400 rpm through 120:1; drawbar power 18.52 kW (answer key 18.00 to 21.00).
TEST(WorkedExample, DrawbarPowerFromForceSlipAndResistance) {
  const double omega = 2400.0 / 120 * 2 * std::numbers::pi / 60, speed = 0.6 * omega * (1 - 0.12);
  base::Problems problems;
  const TowReduction r = reduce(constant_log(18500 - 1750, omega, speed, 1, 60000, 0.6), problems);
  ASSERT_FALSE(r.windows.empty());
  EXPECT_NEAR(*r.windows[0].slip_ratio, 0.12, 1e-12);
  EXPECT_NEAR(*r.windows[0].power_out_w / 1000, 18.52, 0.02);
}

// GATE, agricultural engineering: draft 30 kN, axle torque 25 kN m, radius 0.7 m, slip 20 %, 4 km/h: 67.2 %. A traction
// question bank: 12 kN, 9 kN m, 0.65 m, 20 %, 5 km/h: 69.33 % (options print 69.31).
TEST(WorkedExample, TractiveEfficiencyFromDraftAndAxleTorque) {
  struct Case {
    double pull, torque, radius, kmh, percent, tolerance;
  };
  for (const Case& c : {Case{30000, 25000, 0.7, 4, 67.2, 0.1}, Case{12000, 9000, 0.65, 5, 69.33, 0.05}}) {
    const double speed = c.kmh / 3.6, omega = speed / (0.8 * c.radius);
    base::Problems problems;
    const TowReduction r = reduce(constant_log(c.pull, omega, speed, c.torque, 60000, c.radius), problems);
    ASSERT_FALSE(r.windows.empty());
    EXPECT_EQ(r.windows[0].efficiency_kind, EfficiencyKind::tractive);
    EXPECT_NEAR(100 * *r.windows[0].efficiency, c.percent, c.tolerance);
    EXPECT_TRUE(says(problems, base::Severity::remark, "never changes"));  // a stuck sensor would look the same
  }
}

// Civil engineering question: 12 000 kgf pulled up 2 % at steady speed with 720 kgf in the cable; 40 kgf/t of rolling
// resistance (grade taken as 10 kgf/t per 1 %).
TEST(WorkedExample, RollingResistanceFromCableTensionOnAGrade) {
  TowLog log = constant_log(720, 1, 0.3, 0, 12000, 0.3, std::atan(0.02));  // forces in kgf throughout: the ratio has no unit
  log.kind = LogKind::towed;
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  ASSERT_FALSE(r.windows.empty());
  const PullWindow& w = r.windows[0];
  EXPECT_NEAR(-*w.coefficient * w.normal_load_n / 12, 40, 0.1);
}

// By hand: P = 1000 N, W = 4000 N, a = 10 degrees, l = 15 degrees down: F = 965.926 + 694.593, N = 3939.231 + 258.819.
TEST(Balance, CountsGradientAndTheVerticalPartOfThePull) {
  const double degree = std::numbers::pi / 180;
  TowLog log = constant_log(1000, 1, 0.25, 0, 4000, 0.3, 10 * degree);
  log.conditions.line_angle_rad = 15 * degree;
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  ASSERT_FALSE(r.windows.empty());
  EXPECT_NEAR(r.windows[0].normal_load_n, 4198.050, 0.001);
  EXPECT_NEAR(*r.windows[0].coefficient, 1660.519 / 4198.050, 1e-6);
}

TEST(Efficiency, FromCurrentIsOverallWithoutASpinTestAndTractiveWithOne) {
  TowLog log = constant_log(1000, 4, 1.0, 0, 4000, 0.3);
  log.torque_n_m.clear();
  for (std::size_t i = 0; i < log.time_s.size(); ++i) log.current_a.push_back(40), log.voltage_v.push_back(48);
  base::Problems problems;
  const TowReduction plain = reduce(log, problems);
  EXPECT_EQ(plain.windows[0].efficiency_kind, EfficiencyKind::overall);
  EXPECT_NEAR(*plain.windows[0].efficiency, 1000.0 / (40 * 48), 1e-12);
  // Torque = 10 (I - 2): 380 N m at 40 A.
  std::vector<SpinReading> spins;
  for (const double current : {10.0, 20.0, 30.0}) spins.push_back({.current_a = current, .torque_n_m = 10 * (current - 2)});
  const TowReduction spun = reduce_tow_log(log, with_gravity(), spins, std::nullopt, problems);
  EXPECT_EQ(spun.windows[0].efficiency_kind, EfficiencyKind::tractive);
  EXPECT_NEAR(*spun.windows[0].efficiency, 1000.0 / (380 * 4), 1e-12);
  EXPECT_THAT(spun.windows[0].remarks, ::testing::Contains(HasSubstr("outside the spin test")));
}

TEST(TowLog, CoastDownGivesTheResistanceThatSlowsIt) {
  // v falls by g (rho cos a + sin a) exactly; rho 0.08 up a grade of 0.03.
  TowLog log;
  log.source = {.id = "coast", .file = "coast.csv"};
  log.kind = LogKind::coast_down;
  log.conditions = {.vehicle = "dunlin", .weight_n = 4120, .gradient_rad = 0.03, .gradient_stated = true, .run = "c1"};
  const math::Stream noise(4, 4);
  for (std::size_t i = 0; i < 300; ++i) {
    const double t = 0.02 * static_cast<double>(i);
    log.time_s.push_back(t);
    log.ground_speed_m_per_s.push_back(std::max(0.0, 4 - 9.81 * (0.08 * std::cos(0.03) + std::sin(0.03)) * t) +
                                       0.01 * noise.normal(i));
    log.line.push_back(i + 2);
  }
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  ASSERT_GE(r.windows.size(), 2u);
  for (const PullWindow& w : r.windows) {
    EXPECT_NEAR(-*w.coefficient, 0.08, 3 * w.coefficient_se + 0.001);
    EXPECT_GT(w.coefficient_se, 0);
  }
}

TEST(TowLog, SaturatedLoadCellIsCountedAndItsWindowsMarked) {
  TestRun run;
  TowLog log = make_test_log(run);
  log.load_cell_range_n = 1500;
  for (double& p : log.pull_n) p = std::min(p, 1500.0);
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  EXPECT_TRUE(says(problems, base::Severity::remark, "end of its range"));
  for (const PullWindow& w : r.windows)
    EXPECT_EQ(w.saturated > 0, *w.slip_ratio > 0.3) << *w.slip_ratio;  // 0.93 x 0.45 x 4120 N there
}

TEST(TowLog, LoadCellWithTheWrongSignIsNamed) {
  TowLog log = make_test_log({});
  for (double& p : log.pull_n) p = -p;
  base::Problems problems;
  (void)reduce(log, problems);
  EXPECT_TRUE(says(problems, base::Severity::remark, "sign of the load cell"));
}

TEST(TowLog, TraceHoldsEveryStepOnOneClock) {
  TestRun run = noisy();
  TowSettings settings = with_gravity();
  settings.trace = true;
  base::Problems problems;
  const TowReduction r = reduce(make_test_log(run), problems, settings);
  ASSERT_TRUE(r.trace);
  const Trace& t = *r.trace;
  const std::size_t n = t.time_s.size();
  for (const auto* x : {&t.pull_raw_n, &t.pull_zeroed_n, &t.pull_shifted_n, &t.pull_filtered_n,
                        &t.ground_speed_filtered_m_per_s, &t.slip_filtered})
    EXPECT_EQ(x->size(), n);
  const auto windows =
      std::count_if(t.marks.begin(), t.marks.end(), [](const TraceMark& m) { return m.what.rfind("window", 0) == 0; });
  EXPECT_EQ(static_cast<std::size_t>(windows), r.windows.size());
  EXPECT_NEAR(t.pull_raw_n[0] - t.pull_zeroed_n[0], 85, 20);
}

TEST(TowLog, GapIsNeverBridgedByAWindow) {
  TestRun run;
  run.levels = {{0.1, 40}};
  TowLog log = make_test_log(run);
  for (std::size_t i = 0; i < log.time_s.size(); ++i) log.time_s[i] += log.time_s[i] > 25 ? 30 : 0;
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  ASSERT_GE(r.windows.size(), 2u);
  for (const PullWindow& w : r.windows) EXPECT_TRUE(w.to_s <= 25.1 || w.from_s >= 55) << w.from_s << " " << w.to_s;
}

TEST(TowLog, UnevenTimeIsPutOnAnEvenClockAndSaidSo) {
  TestRun run;
  TowLog log = make_test_log(run);
  const math::Stream jitter(9, 9);
  const TestCourse course(run);
  for (std::size_t i = 0; i < log.time_s.size(); ++i) {
    const double t = log.time_s[i] + 0.02 * (jitter.uniform(i) - 0.5);
    log.time_s[i] = t, log.pull_n[i] = course.pull(t), log.ground_speed_m_per_s[i] = course.speed(t),
    log.wheel_speed_rad_per_s[0][i] = course.omega(t);
  }
  base::Problems problems;
  const TowReduction r = reduce(log, problems);
  EXPECT_TRUE(r.resampled);
  for (const PullWindow& w : r.windows) EXPECT_NEAR(*w.coefficient, true_coefficient(run, *w.slip_ratio), 0.003);
}

struct Malformed {
  const char* what;
  void (*break_it)(TowLog&);
  base::Severity severity;
  const char* message;
};

TEST(TowLog, MalformedInputIsNamedAndNeverCrashes) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  static double not_a_number;
  not_a_number = nan;
  const Malformed cases[] = {
      {"empty", [](TowLog& l) { l = TowLog{.source = {.id = "e", .file = "e.csv"}}; }, base::Severity::refusal,
       "fewer than two rows"},
      {"short pull", [](TowLog& l) { l.pull_n.pop_back(); }, base::Severity::refusal, "another length than time"},
      {"long wheel", [](TowLog& l) { l.wheel_speed_rad_per_s[0].push_back(0); }, base::Severity::refusal,
       "another length than time"},
      {"all NaN pull", [](TowLog& l) { std::fill(l.pull_n.begin(), l.pull_n.end(), not_a_number); }, base::Severity::refusal,
       "too many rows"},
      {"all NaN time", [](TowLog& l) { std::fill(l.time_s.begin(), l.time_s.end(), not_a_number); }, base::Severity::refusal,
       "too many rows"},
      {"constant time", [](TowLog& l) { std::fill(l.time_s.begin(), l.time_s.end(), 3.0); }, base::Severity::refusal,
       "too many rows"},
      {"infinite weight", [](TowLog& l) { l.conditions.weight_n = INFINITY; }, base::Severity::refusal, "weight"},
      {"no weight", [](TowLog& l) { l.conditions.weight_n = 0; }, base::Severity::refusal, "weight"},
      {"gradient in degrees", [](TowLog& l) { l.conditions.gradient_rad = 12; }, base::Severity::refusal,
       "gradient is impossible"},
      {"radius in mm", [](TowLog& l) { l.conditions.rolling_radius_m = 280; }, base::Severity::refusal,
       "rolling radius is impossible"},
      {"no motion",
       [](TowLog& l) {
         for (auto* x : {&l.ground_speed_m_per_s, &l.wheel_speed_rad_per_s[0]}) std::fill(x->begin(), x->end(), 0.0);
       },
       base::Severity::remark, "nothing moves"},
      {"stuck pull", [](TowLog& l) { std::fill(l.pull_n.begin(), l.pull_n.end(), 512.0); }, base::Severity::remark,
       "never changes"},
      {"a few bad cells", [](TowLog& l) { l.pull_n[100] = l.pull_n[200] = not_a_number; }, base::Severity::remark,
       "lines 104, 204"},
      {"time runs back", [](TowLog& l) { l.time_s[150] = 0.1; }, base::Severity::remark, "line 154"},
      {"one wild time", [](TowLog& l) { l.time_s[150] = 1e9; }, base::Severity::remark, "line 154"},
      {"pitch mostly missing", [](TowLog& l) { std::fill_n(l.pitch_rad.begin(), l.pitch_rad.size() / 2, not_a_number); },
       base::Severity::remark, "pitch channel is left out"},
      {"backwards",
       [](TowLog& l) {
         for (double& w : l.wheel_speed_rad_per_s[0]) w = -w;
       },
       base::Severity::remark, "nothing moves"},
  };
  for (const Malformed& c : cases) {
    TowLog log = make_test_log({});
    c.break_it(log);
    base::Problems problems;
    const TowReduction r = reduce(log, problems);
    EXPECT_TRUE(says(problems, c.severity, c.message))
        << c.what << ": " << (problems.list().empty() ? "no problem" : problems.list().front().text());
    for (const base::Problem& p : problems.list()) EXPECT_FALSE(p.place.file.empty()) << c.what << ": " << p.text();
    for (const PullWindow& w : r.windows) EXPECT_TRUE(!w.coefficient || std::isfinite(*w.coefficient)) << c.what;
  }
}

}  // namespace
}  // namespace hardpan::records
