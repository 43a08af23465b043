// SPDX-License-Identifier: Apache-2.0
// Logs whose rows are averages of many readings.
#include <algorithm>

#include <gtest/gtest.h>

#include "records/tow.hpp"
#include "records/tow_test_log.hpp"

namespace hardpan::records {
namespace {

TowReduction reduce(const TowLog& log, base::Problems& problems) {
  return reduce_tow_log(log, {.gravity_m_per_s2 = 9.81}, {}, std::nullopt, problems);
}

// What a reader does to a log too long to keep: means of k readings, of time too.
TowLog averaged(const TowLog& log, std::size_t k) {
  TowLog out = log;
  out.readings_per_row = k;
  const auto means = [k](std::vector<double>& x) {
    std::vector<double> y;
    for (std::size_t i = 0; i + k <= x.size(); i += k) {
      double sum = 0;
      for (std::size_t j = i; j < i + k; ++j) sum += x[j];
      y.push_back(sum / static_cast<double>(k));
    }
    x = y;
  };
  out.line.clear();
  for (std::size_t i = 0; i + k <= log.line.size(); i += k) {
    out.line.push_back(log.line[i]);
    out.at_range_end.push_back(0);
    for (std::size_t j = i; log.load_cell_range_n && j < i + k; ++j) out.at_range_end.back() += log.pull_n[j] >= *log.load_cell_range_n;
  }
  for (auto* x : {&out.time_s, &out.pull_n, &out.ground_speed_m_per_s, &out.torque_n_m, &out.pitch_rad, &out.wheel_speed_rad_per_s[0]}) means(*x);
  return out;
}

TEST(LongTowLog, AveragesOfTenReadingsTellTheSameAsTheReadings) {
  TestRun run{.lag_s = 0.37, .zero_n = 85, .drift_n_per_s = 0.2, .pull_noise_n = 40, .speed_noise = 0.03, .wheel_noise = 0.02, .noise_memory = 0.8};
  run.rate_hz = 200;
  const TowLog log = make_test_log(run);
  base::Problems problems;
  const TowReduction whole = reduce(log, problems), thin = reduce(averaged(log, 10), problems);
  ASSERT_EQ(thin.windows.size(), whole.windows.size());
  EXPECT_NEAR(thin.lag.lag_s, run.lag_s, 0.05);  // one averaged row
  EXPECT_NEAR(thin.zero.pull_n, whole.zero.pull_n, 5);
  for (std::size_t i = 0; i < whole.windows.size(); ++i) {
    const PullWindow &a = whole.windows[i], &b = thin.windows[i];
    EXPECT_NEAR(*b.slip_ratio, *a.slip_ratio, 0.003);
    EXPECT_NEAR(*b.coefficient, TestCourse(run).coefficient(*b.slip_ratio), 3 * b.coefficient_se + 0.001);
    // The noise is correlated over some readings, which averages of ten hold as well: the error may not shrink by averaging.
    EXPECT_GT(b.pull_se_n, 0.6 * a.pull_se_n);
    EXPECT_LT(b.pull_se_n, 1.6 * a.pull_se_n);
  }
}

TEST(LongTowLog, ReadingsAtTheEndOfTheRangeAreCountedThoughAveragesHideThem) {
  TestRun run;
  run.rate_hz = 200;
  TowLog log = make_test_log(run);
  log.load_cell_range_n = 2500;  // the largest pull is 0.45 x 4120 N
  std::size_t peaks = 0;
  for (std::size_t i = 3; i < log.time_s.size(); i += 100) {
    if (log.time_s[i] > 50 && log.time_s[i] < 62) log.pull_n[i] = 2500, ++peaks;  // single peaks inside the last level
  }
  base::Problems problems;
  const TowReduction r = reduce(averaged(log, 10), problems);
  std::size_t counted = 0;
  for (const PullWindow& w : r.windows) counted += w.saturated;
  EXPECT_GT(counted, peaks / 2);
  EXPECT_LE(counted, peaks);
  EXPECT_TRUE(std::any_of(problems.list().begin(), problems.list().end(), [](const base::Problem& p) { return p.text().find("end of its range") != std::string::npos; }));
}

}  // namespace
}  // namespace hardpan::records
