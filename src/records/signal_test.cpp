// SPDX-License-Identifier: Apache-2.0
#include "records/signal.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

#include "math/random.hpp"

namespace hardpan::records {
namespace {

constexpr double kPi = std::numbers::pi;

// Amplitude and phase of x at a frequency by projection over whole periods inside [from, to).
std::pair<double, double> tone(const std::vector<double>& x, double hz, double interval_s, std::size_t from,
                               std::size_t to) {
  double c = 0, s = 0;
  for (std::size_t i = from; i < to; ++i) {
    const double phase = 2 * kPi * hz * static_cast<double>(i) * interval_s;
    c += x[i] * std::cos(phase), s += x[i] * std::sin(phase);
  }
  const double n = static_cast<double>(to - from) / 2;
  return {std::hypot(c, s) / n, std::atan2(c, s)};
}

TEST(LowPass, HasNoPhaseAndItsStatedCutOff) {
  const double dt = 0.02;
  for (const double hz : {0.25, 0.5, 1.0, 2.0, 4.0}) {
    std::vector<double> x(6000);
    for (std::size_t i = 0; i < x.size(); ++i) x[i] = std::sin(2 * kPi * hz * static_cast<double>(i) * dt);
    const auto y = low_pass_zero_phase(x, dt, 1.0);
    const auto [amplitude, phase] = tone(y, hz, dt, 1000, 5000);  // 80 s: whole periods of all these frequencies
    EXPECT_NEAR(phase, 0, 1e-9) << hz;
    // Magnitude of a second-order Butterworth after prewarping, squared for two passes, from its definition.
    const double corner = 1.0 / std::pow(std::sqrt(2.0) - 1, 0.25);
    const double ratio = std::tan(kPi * hz * dt) / std::tan(kPi * corner * dt);
    EXPECT_NEAR(amplitude, 1 / (1 + std::pow(ratio, 4)), 1e-9) << hz;
    EXPECT_NEAR(low_pass_gain(hz, dt, 1.0), amplitude, 1e-9);
  }
  EXPECT_NEAR(low_pass_gain(1.0, dt, 1.0), 1 / std::sqrt(2.0), 2e-3);  // -3 dB; exact but for prewarping
}

TEST(LowPass, KeepsConstantsAndStraightLinesUpToTheEnds) {
  std::vector<double> x(300);
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = 7 - 0.3 * static_cast<double>(i);
  const auto y = low_pass_zero_phase(x, 0.1, 0.5);
  // The filter starts in the steady state of a constant, so a line is exact only once that has died out.
  for (std::size_t i = 0; i < x.size(); ++i) EXPECT_NEAR(y[i], x[i], 2e-3) << i;
}

TEST(LowPass, IsTheSameBackwards) {
  std::vector<double> x(257);
  const math::Stream noise(3, 1);
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = noise.normal(i);
  auto y = low_pass_zero_phase(x, 0.05, 1.0);
  std::reverse(x.begin(), x.end());
  const auto z = low_pass_zero_phase(x, 0.05, 1.0);
  std::reverse(y.begin(), y.end());
  for (std::size_t i = 40; i + 40 < x.size(); ++i) EXPECT_NEAR(y[i], z[i], 1e-3) << i;
}

TEST(LowPass, IsRefusedAboveTheSamplingRate) {
  EXPECT_FALSE(can_low_pass(1000, 0.5, 1.0));
  EXPECT_FALSE(can_low_pass(4, 0.01, 1.0));
  EXPECT_FALSE(can_low_pass(1000, 0.01, 0));
  EXPECT_TRUE(can_low_pass(1000, 0.1, 1.0));
}

// A smooth random signal and its copy delayed by a fraction of the interval, computed from the same tones.
TEST(Lag, IsFoundToAFewThousandthsOfTheInterval) {
  const double dt = 0.05;
  const math::Stream random(11, 2);
  for (const double lag : {-0.731, -0.02, 0.0, 0.013, 0.3377, 1.25}) {
    std::vector<double> x(2400, 0), y(2400, 0);
    for (std::size_t k = 0; k < 30; ++k) {
      const double hz = 0.05 + 0.9 * random.uniform(3 * k), phase = 2 * kPi * random.uniform(3 * k + 1),
                   size = random.uniform(3 * k + 2);
      for (std::size_t i = 0; i < x.size(); ++i) {
        const double t = static_cast<double>(i) * dt;
        x[i] += size * std::sin(2 * kPi * hz * t + phase);
        y[i] += 300 * size * std::sin(2 * kPi * hz * (t - lag) + phase) + 2;
      }
    }
    const LagEstimate found = estimate_lag({.follower = y, .leader = x}, {.interval_s = dt, .max_lag_s = 2});
    EXPECT_EQ(found.status, "ok");
    EXPECT_NEAR(found.lag_s, lag, 0.01 * dt) << lag;
    EXPECT_GT(found.correlation, 0.99);
  }
}

TEST(Lag, ItsStandardErrorCoversNoise) {
  const double dt = 0.05, lag = 0.42;
  int inside = 0;
  const int trials = 60;
  for (int trial = 0; trial < trials; ++trial) {
    const math::Stream random(static_cast<std::uint64_t>(trial), 5), noise(static_cast<std::uint64_t>(trial), 6);
    std::vector<double> x(1200, 0), y(1200, 0);
    for (std::size_t k = 0; k < 12; ++k) {
      const double hz = 0.05 + 0.5 * random.uniform(2 * k), phase = 2 * kPi * random.uniform(2 * k + 1);
      for (std::size_t i = 0; i < x.size(); ++i) {
        const double t = static_cast<double>(i) * dt;
        x[i] += std::sin(2 * kPi * hz * t + phase);
        y[i] += std::sin(2 * kPi * hz * (t - lag) + phase);
      }
    }
    for (std::size_t i = 0; i < y.size(); ++i) y[i] += 1.5 * noise.normal(i);
    const LagEstimate found = estimate_lag({.follower = y, .leader = x}, {.interval_s = dt, .max_lag_s = 2});
    inside += std::abs(found.lag_s - lag) < 1.96 * found.standard_error_s;
  }
  // 99.9 % of binomial(60, 0.95) lies at 50 or more; the interpolation of the peak costs a little beside it.
  EXPECT_GE(inside, 50);
}

TEST(Lag, OfAConstantChannelOrAShortOneIsRefusedInWords) {
  const std::vector<double> flat(500, 3.0), wave(500, 1.0), brief(10, 1.0);
  EXPECT_NE(estimate_lag({flat, wave}, {.interval_s = 0.1, .max_lag_s = 2}).status, "ok");
  EXPECT_NE(estimate_lag({brief, brief}, {.interval_s = 0.1, .max_lag_s = 2}).status, "ok");
}

TEST(RollingChange, MatchesAStraightLineFitAtEveryPlace) {
  const math::Stream noise(5, 9);
  std::vector<double> x(9000);
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = 1e6 + noise.normal(i);
  const std::size_t window = 31;
  const auto change = rolling_change(x, window);
  for (std::size_t i = 0; i < change.size(); i += 97) {
    double sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (std::size_t k = 0; k < window; ++k) {
      const double u = static_cast<double>(k), y = x[i + k] - 1e6;
      sx += u, sy += y, sxx += u * u, sxy += u * y;
    }
    const double m = static_cast<double>(window);
    EXPECT_NEAR(change[i], (m * sxy - sx * sy) / (m * sxx - sx * sx) * (m - 1), 1e-6);
  }
}

TEST(Pieces, AreSplitAtGapsAndUnevenStepsAreMeasured) {
  const std::vector<double> t{0, 0.1, 0.2, 0.3, 2.0, 2.1, 2.25};
  const auto pieces = split_at_gaps(t, 0.5);
  ASSERT_EQ(pieces.size(), 2u);
  EXPECT_EQ(pieces[0], (SampleRange{0, 4}));
  EXPECT_EQ(pieces[1], (SampleRange{4, 7}));
  EXPECT_NEAR(median_interval_s(t), 0.1, 1e-12);
  EXPECT_NEAR(unevenness({t.data() + 4, 3}, 0.1), 0.5, 1e-9);
}

TEST(Advanced, ShiftsByFractionsAndMarksWhatIsNotThere) {
  const std::vector<double> x{0, 1, 4, 9, 16};
  const auto y = advanced(x, 1.5);
  EXPECT_DOUBLE_EQ(y[0], 2.5);
  EXPECT_DOUBLE_EQ(y[2], 12.5);
  EXPECT_TRUE(std::isnan(y[3]) && std::isnan(y[4]));
  const auto z = advanced(x, -1);
  EXPECT_TRUE(std::isnan(z[0]));
  EXPECT_DOUBLE_EQ(z[1], 0);
}

}  // namespace
}  // namespace hardpan::records
