// SPDX-License-Identifier: Apache-2.0
// For the records module alone: one log on an even clock, and the steps before windows are cut.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "base/problems.hpp"
#include "records/signal.hpp"
#include "records/tow.hpp"

namespace hardpan::records::detail {

// All channels are empty or as long as time_s. Segments are pieces without gaps, each on an even clock.
struct TowChannels {
  std::vector<double> time_s, pull_n, wheel_rad_per_s, ground_m_per_s, torque_n_m, current_a, voltage_v, pitch_rad;
  std::vector<std::size_t> line;
  std::vector<std::uint32_t> at_range_end;  // as TowLog has them; a resampled row has those passed since the last
  std::vector<SampleRange> segments;
  double interval_s = 0;
  bool resampled = false;
  std::size_t rows_set_aside = 0;
  double wheel_spread = 0;  // largest departure of one wheel's mean speed from the mean of all, as a share

  std::vector<double> pull_raw_n, pull_zeroed_n;  // before zero and lag, and before lag
  std::vector<double> pull_smooth_n, wheel_smooth, ground_smooth;
  bool filtered = false;
  double weight_n = 0;
  std::optional<double> mass_eff_kg;
  std::optional<double> radius_m;  // for thresholds and slip; absent: none known
};

// Refuses what cannot be a log (lengths, weight, too many unusable rows); sets unusable rows aside.
// Absent when refused or when nothing is left; problems say why.
[[nodiscard]] std::optional<TowChannels> read_channels(const TowLog& log, const TowSettings& settings,
                                                       base::Problems& problems);
// Smooths pull and speeds piece by piece; copies where a piece cannot be filtered.
void smooth_speeds(TowChannels& channels, double cut_off_hz);
void smooth_pull(TowChannels& channels, double cut_off_hz);
[[nodiscard]] ZeroReading take_zero(TowChannels& channels, const TowLog& log, const TowSettings& settings,
                                    base::Problems& problems);
[[nodiscard]] LagReading take_lag(TowChannels& channels, const TowLog& log, const TowSettings& settings,
                                  base::Problems& problems);

// Wheels (or, without them, the vehicle) turn forward at the stated speed or more.
[[nodiscard]] std::vector<bool> moving(const TowChannels& channels, const TowSettings& settings);
// Smoothed momentary slip; NaN where it has none. Empty where slip cannot be computed.
[[nodiscard]] std::vector<double> smooth_slip(const TowChannels& channels);

// Windows as sample ranges, and how they were found.
struct WindowPlan {
  WindowMode mode_used = WindowMode::steady;
  std::vector<SampleRange> ranges;
  std::string status;  // "ok" or why there are none
};
[[nodiscard]] WindowPlan plan_windows(const TowChannels& channels, const TowLog& log, const TowSettings& settings);

// Current to axle torque through a jacked-up spin test: a straight line over its readings, absent below two currents.
struct SpinLine {
  double per_ampere = 0, at_zero = 0, lo_a = 0, hi_a = 0;
};
[[nodiscard]] std::optional<SpinLine> spin_line(const std::vector<SpinReading>& spins);

// One window with everything but what other logs must tell. `log_result` holds what is known of the whole log by now.
[[nodiscard]] PullWindow measure_window(const TowChannels& channels, SampleRange range, const TowLog& log,
                                        const TowSettings& settings, const TowReduction& log_result,
                                        const std::optional<SpinLine>& spin);

}  // namespace hardpan::records::detail
