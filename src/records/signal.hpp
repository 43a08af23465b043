// SPDX-License-Identifier: Apache-2.0
// Steps on sampled channels that know nothing of vehicles: even clock, zero-phase low-pass, lag between
// two channels, slopes over a moving window.
//
// All series have one even interval; NaN must be removed before. The filter is a second-order Butterworth
// run forwards and backwards, so that nothing is delayed; its stated cut-off is the -3 dB point of both
// passes together.
//
//   auto smooth = low_pass_zero_phase(pull_n, interval_s, 1.0);
//   LagEstimate lag = estimate_lag({.follower = pull_n, .leader = slip}, {.interval_s = 0.05, .max_lag_s = 2});
#pragma once

#include <cstddef>
#include <limits>
#include <span>
#include <string>
#include <vector>

namespace hardpan::records {

struct SampleRange {
  std::size_t begin = 0, end = 0;  // end excluded
  [[nodiscard]] std::size_t size() const { return end - begin; }
  bool operator==(const SampleRange&) const = default;
};

// Intervals in a duration, rounded up or down; a millionth of an interval is rounding, not time.
[[nodiscard]] std::size_t intervals_up(double duration_s, double interval_s);
[[nodiscard]] std::size_t intervals_down(double duration_s, double interval_s);

// Median step of a rising time axis; needs 2 samples.
[[nodiscard]] double median_interval_s(std::span<const double> time_s);
// Pieces of a rising time axis between steps longer than gap_s.
[[nodiscard]] std::vector<SampleRange> split_at_gaps(std::span<const double> time_s, double gap_s);
// Largest departure of a step from the interval, as a share of it.
[[nodiscard]] double unevenness(std::span<const double> time_s, double interval_s);
// Linear interpolation at rising times inside the range of time_s; both rising.
[[nodiscard]] std::vector<double> interpolate(std::span<const double> time_s, std::span<const double> value,
                                              std::span<const double> at_s);
// x(t + shift): linear between samples; NaN where that lies outside the series.
[[nodiscard]] std::vector<double> advanced(std::span<const double> x, double shift_samples);

// Whether a cut-off can be realised: below 0.4 of the sampling rate, and 8 samples or more.
[[nodiscard]] bool can_low_pass(std::size_t samples, double interval_s, double cut_off_hz);
[[nodiscard]] std::vector<double> low_pass_zero_phase(std::span<const double> x, double interval_s,
                                                      double cut_off_hz);
// Amplitude gain of both passes together, for plots and tests.
[[nodiscard]] double low_pass_gain(double frequency_hz, double interval_s, double cut_off_hz);

// Mean of a correlated series and its standard error, sqrt(variance / n_effective), 1 <= n_effective <= n. Beyond 4096
// values means of blocks stand for the values, so that a long stretch costs no more than n.
struct SeriesMean {
  double mean = 0, standard_error = 0, n_effective = 0;
  bool constant = false;           // no variance: the error is not known from the series
};
[[nodiscard]] SeriesMean series_mean(std::span<const double> x);

struct LagChannels {
  std::span<const double> follower, leader;  // of equal length
};
struct LagSettings {
  double interval_s = 0;
  double max_lag_s = 2;
};
struct LagEstimate {
  double lag_s = std::numeric_limits<double>::quiet_NaN();  // follower(t) = leader(t - lag)
  double correlation = std::numeric_limits<double>::quiet_NaN();
  double standard_error_s = std::numeric_limits<double>::quiet_NaN();
  bool at_end_of_search = false;
  std::string status;            // "ok" or why there is no lag
};
// The peak of the normalised cross-correlation over +/- max_lag, refined by a parabola through its three
// highest values: right to a few thousandths of the interval when the channels hold nothing above a tenth of the
// sampling rate. Positive correlation is looked for; turn the sign of the leader otherwise.
[[nodiscard]] LagEstimate estimate_lag(const LagChannels& channels, const LagSettings& settings);

// Straight-line change over `window` samples starting at each sample: slope times (window - 1). Has
// size n - window + 1; window >= 2.
[[nodiscard]] std::vector<double> rolling_change(std::span<const double> x, std::size_t window);
// The same over one range.
[[nodiscard]] double straight_change(std::span<const double> x);
// Maximal runs where the flag holds.
[[nodiscard]] std::vector<SampleRange> stretches(const std::vector<bool>& flag);

}  // namespace hardpan::records
