// SPDX-License-Identifier: Apache-2.0
// A log as read to channels on an even clock: checks, rows set aside, gaps, resampling, smoothing.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/format.h>

#include "records/detail/tow_channels.hpp"
#include "units/count.hpp"

namespace hardpan::records::detail {
namespace {

std::size_t line_of(const TowLog& log, std::size_t row) { return row < log.line.size() ? log.line[row] : 0; }

base::Place place_of(const TowLog& log, std::size_t row = 0) {
  return {.file = log.source.file, .line = line_of(log, row), .key = log.line.empty() ? log.source.id : ""};
}

std::string lines_text(const TowLog& log, const std::vector<std::size_t>& rows) {
  std::string text = rows.size() == 1 ? "line " : "lines ";
  for (std::size_t i = 0; i < rows.size() && i < 5; ++i) {
    text += fmt::format("{}{}", i ? ", " : "", line_of(log, rows[i]));
  }
  if (rows.size() > 5) text += fmt::format(" and {} more", rows.size() - 5);
  return text;
}

bool lengths_agree(const TowLog& log, base::Problems& problems) {
  const std::size_t n = log.time_s.size();
  bool fine = true;
  const auto check = [&](const char* channel, std::size_t size, bool may_be_empty) {
    if (size == n || (may_be_empty && size == 0)) return;
    problems.refuse({.place = place_of(log),
                     .what = fmt::format("the {} column has another length than time", channel),
                     .value = units::print_count(size, "value"),
                     .bound = units::print_count(n, "value"),
                     .remedy = "give every row of the log a cell in this column"});
    fine = false;
  };
  check("pull", log.pull_n.size(), true);
  for (const auto& wheel : log.wheel_speed_rad_per_s) check("wheel speed", wheel.size(), false);
  check("ground speed", log.ground_speed_m_per_s.size(), true);
  check("torque", log.torque_n_m.size(), true);
  check("current", log.current_a.size(), true);
  check("voltage", log.voltage_v.size(), true);
  check("pitch", log.pitch_rad.size(), true);
  if (!log.line.empty() && log.line.size() != n) check("line number", log.line.size(), true);
  check("count of readings at the end of the range", log.at_range_end.size(), true);
  return fine;
}

constexpr double kDegrees = 180 / std::numbers::pi;

bool conditions_possible(const TowLog& log, base::Problems& problems) {
  const RunConditions& c = log.conditions;
  bool fine = true;
  const auto refuse = [&](const char* what, double value, const char* unit, const char* bound, const char* remedy) {
    problems.refuse({.place = {.file = log.source.file, .key = log.source.record.empty() ? log.source.id : "record " + log.source.record},
                     .what = what,
                     .value = fmt::format("{:g}{}", value, unit),
                     .bound = bound,
                     .remedy = remedy});
    fine = false;
  };
  if (!(c.weight_n > 0) || !std::isfinite(c.weight_n)) {
    refuse("weight of the vehicle as tested is missing or impossible", c.weight_n, " N", "over 0 N",
           "weigh the vehicle as tested and give its weight or mass");
  }
  if (!(std::abs(c.gradient_rad) < 1.2)) {
    refuse("gradient is impossible", c.gradient_rad * kDegrees, " deg", "within +/- 69 deg",
           "check sign and unit of the gradient");
  }
  if (c.rolling_radius_m && !(*c.rolling_radius_m > 0 && *c.rolling_radius_m < 5)) {
    refuse("rolling radius is impossible", *c.rolling_radius_m, " m", "0 to 5 m", "check rolling_radius and its unit in the entry of this record in campaign.toml");
  }
  if (log.lag_s && !(std::abs(*log.lag_s) <= 30))
    refuse("stated lag is impossible", *log.lag_s, " s", "within +/- 30 s", "check the unit of the lag");
  if (log.zero_from_s && log.zero_to_s && !(*log.zero_from_s < *log.zero_to_s)) {
    refuse("marked zero stretch ends before it begins", *log.zero_to_s, " s", "later than its beginning", "check the two times");
  }
  if (log.load_cell_range_n && !(*log.load_cell_range_n > 0))
    refuse("range of the load cell is impossible", *log.load_cell_range_n, " N", "over 0 N", "give its full scale");
  if (!(log.load_cell_gain_relative_sd >= 0 && log.load_cell_gain_relative_sd < 1)) {
    refuse("calibration spread of the load cell is impossible", log.load_cell_gain_relative_sd, "", "0 to 1",
           "give it as a share, 0.01 for 1 %");
  }
  if (c.line_angle_rad && !(std::abs(*c.line_angle_rad) < 1.2)) {
    refuse("angle of the tow line is impossible", *c.line_angle_rad * kDegrees, " deg", "within +/- 69 deg",
           "check the unit of the line angle");
  }
  return fine;
}

// The longest subsequence of strictly rising times: the fewest rows are set aside, and one wild
// time stamp does not throw away everything after it (patience sorting, n log n).
std::vector<std::size_t> longest_rising(const std::vector<double>& t, const std::vector<std::size_t>& rows) {
  bool rising = true;
  for (std::size_t i = 1; i < rows.size() && rising; ++i) rising = t[rows[i]] > t[rows[i - 1]];
  if (rising) return rows;
  std::vector<std::size_t> tail, before(t.size());
  std::vector<bool> has_before(t.size(), false);
  for (const std::size_t row : rows) {
    const auto at =
        std::lower_bound(tail.begin(), tail.end(), row, [&](std::size_t a, std::size_t b) { return t[a] < t[b]; });
    if (at != tail.begin()) {
      before[row] = *(at - 1);
      has_before[row] = true;
    }
    if (at == tail.end()) {
      tail.push_back(row);
    } else {
      *at = row;
    }
  }
  std::vector<std::size_t> out;
  if (tail.empty()) return out;
  std::size_t row = tail.back();
  for (;;) {
    out.push_back(row);
    if (!has_before[row]) break;
    row = before[row];
  }
  std::reverse(out.begin(), out.end());
  return out;
}

// A side channel (not needed for pull against slip) with too many holes is dropped, not the rows.
bool side_channel_usable(const TowLog& log, const std::vector<double>& x, const char* channel, double share_max,
                         base::Problems& problems) {
  if (x.empty()) return false;
  const auto bad = static_cast<std::size_t>(std::count_if(x.begin(), x.end(), [](double v) { return !std::isfinite(v); }));
  if (static_cast<double>(bad) <= share_max * static_cast<double>(x.size())) return true;
  problems.remark({.place = place_of(log),
                   .what = fmt::format("the {} channel is left out: too many cells are not numbers", channel),
                   .value = fmt::format("{} of {}", bad, x.size()),
                   .bound = fmt::format("at most {:.0f} %", 100 * share_max),
                   .count = bad});
  return false;
}

std::vector<double> picked(const std::vector<double>& x, const std::vector<std::size_t>& rows) {
  std::vector<double> out(rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i) out[i] = x[rows[i]];
  return out;
}

// Puts every channel onto the even clocks of the pieces.
void resample(TowChannels& c, const std::vector<SampleRange>& pieces) {
  TowChannels out;
  const auto copy_range = [](const std::vector<double>& x, SampleRange r) {
    return std::vector<double>(x.begin() + static_cast<std::ptrdiff_t>(r.begin),
                               x.begin() + static_cast<std::ptrdiff_t>(r.end));
  };
  for (const SampleRange piece : pieces) {
    const std::vector<double> t = copy_range(c.time_s, piece);
    // Share of the interval by which one step may be off before values are interpolated: at 10 % the
    // position error of a sample is a tenth of an interval, far below any lag that matters.
    const bool even = piece.size() < 2 || unevenness(t, c.interval_s) < 0.1;
    std::vector<double> clock = t;
    if (!even) {
      c.resampled = true;
      clock.clear();
      const auto steps = intervals_down(t.back() - t.front(), c.interval_s);
      for (std::size_t i = 0; i <= steps; ++i)
        clock.push_back(std::min(t.back(), t.front() + static_cast<double>(i) * c.interval_s));
    }
    const std::size_t begin = out.time_s.size();
    const auto add = [&](const std::vector<double>& from, std::vector<double>& to) {
      if (from.empty()) return;
      const std::vector<double> x = copy_range(from, piece);
      const std::vector<double> on_clock = even ? x : interpolate(t, x, clock);
      to.insert(to.end(), on_clock.begin(), on_clock.end());
    };
    add(c.pull_n, out.pull_n);
    add(c.wheel_rad_per_s, out.wheel_rad_per_s);
    add(c.ground_m_per_s, out.ground_m_per_s);
    add(c.torque_n_m, out.torque_n_m);
    add(c.current_a, out.current_a);
    add(c.voltage_v, out.voltage_v);
    add(c.pitch_rad, out.pitch_rad);
    std::size_t k = piece.begin, counted = piece.begin;
    for (const double at : clock) {
      while (k + 1 < piece.end && c.time_s[k + 1] <= at) ++k;
      out.line.push_back(c.line[k]);
      if (c.at_range_end.empty()) continue;
      out.at_range_end.push_back(0);
      for (; counted <= k; ++counted) out.at_range_end.back() += c.at_range_end[counted];
    }
    for (; !c.at_range_end.empty() && counted < piece.end; ++counted) out.at_range_end.back() += c.at_range_end[counted];
    out.time_s.insert(out.time_s.end(), clock.begin(), clock.end());
    out.segments.push_back({begin, out.time_s.size()});
  }
  out.interval_s = c.interval_s;
  out.resampled = c.resampled;
  out.rows_set_aside = c.rows_set_aside;
  out.wheel_spread = c.wheel_spread;
  c = std::move(out);
}

std::vector<double> smoothed(const TowChannels& c, const std::vector<double>& x, double cut_off_hz, bool& all) {
  std::vector<double> out = x;
  if (x.empty()) return out;
  for (const SampleRange s : c.segments) {
    if (!can_low_pass(s.size(), c.interval_s, cut_off_hz)) {
      all = false;
      continue;
    }
    const auto y = low_pass_zero_phase({x.data() + s.begin, s.size()}, c.interval_s, cut_off_hz);
    std::copy(y.begin(), y.end(), out.begin() + static_cast<std::ptrdiff_t>(s.begin));
  }
  return out;
}

void remark_constant(const TowLog& log, const char* channel, const std::vector<double>& x, base::Problems& problems) {
  if (x.size() < 2) return;
  const auto [lo, hi] = std::minmax_element(x.begin(), x.end());
  if (*lo != *hi || *lo == 0) return;
  problems.remark({.place = place_of(log),
                   .what = fmt::format("the {} channel never changes: stuck sensor?", channel),
                   .value = fmt::format("{} in {} rows", *lo, x.size()),
                   .remedy = "check the sensor; amend or leave out the channel",
                   .count = x.size()});
}

}  // namespace

std::optional<TowChannels> read_channels(const TowLog& log, const TowSettings& settings, base::Problems& problems) {
  if (log.time_s.size() < 2) {
    problems.refuse({.place = place_of(log),
                     .what = "the log has fewer than two rows",
                     .value = fmt::format("{}", log.time_s.size()),
                     .bound = "2 rows or more",
                     .remedy = "check the file and its header lines"});
    return std::nullopt;
  }
  const bool lengths = lengths_agree(log, problems);
  const bool possible = conditions_possible(log, problems);
  if (!lengths || !possible) return std::nullopt;

  const double share = settings.set_aside_share_max;
  TowChannels c;
  const bool torque = side_channel_usable(log, log.torque_n_m, "torque", share, problems);
  const bool current = side_channel_usable(log, log.current_a, "current", share, problems);
  const bool voltage = side_channel_usable(log, log.voltage_v, "voltage", share, problems);
  const bool pitch = side_channel_usable(log, log.pitch_rad, "pitch", share, problems);

  std::vector<std::size_t> rows, not_finite;
  for (std::size_t i = 0; i < log.time_s.size(); ++i) {
    bool fine = std::isfinite(log.time_s[i]);
    const auto need = [&](const std::vector<double>& x, bool used) { fine = fine && (!used || std::isfinite(x[i])); };
    need(log.pull_n, !log.pull_n.empty());
    need(log.ground_speed_m_per_s, !log.ground_speed_m_per_s.empty());
    for (const auto& wheel : log.wheel_speed_rad_per_s) need(wheel, true);
    need(log.torque_n_m, torque);
    need(log.current_a, current);
    need(log.voltage_v, voltage);
    need(log.pitch_rad, pitch);
    (fine ? rows : not_finite).push_back(i);
  }
  if (!not_finite.empty()) {
    problems.remark({.place = place_of(log, not_finite.front()),
                     .what = "rows set aside: a cell is not a finite number",
                     .value = lines_text(log, not_finite),
                     .count = not_finite.size()});
  }
  const std::vector<std::size_t> rising = longest_rising(log.time_s, rows);
  if (rising.size() < rows.size()) {
    std::vector<std::size_t> out_of_order;
    std::set_difference(rows.begin(), rows.end(), rising.begin(), rising.end(), std::back_inserter(out_of_order));
    problems.remark({.place = place_of(log, out_of_order.front()),
                     .what = "rows set aside: time repeats or runs backwards",
                     .value = lines_text(log, out_of_order),
                     .count = out_of_order.size()});
  }
  c.rows_set_aside = log.time_s.size() - rising.size();
  if (rising.size() < 2 || static_cast<double>(c.rows_set_aside) > share * static_cast<double>(log.time_s.size())) {
    problems.refuse({.place = place_of(log),
                     .what = "too many rows of the log are unusable",
                     .value = fmt::format("{} of {}", c.rows_set_aside, units::print_count(log.time_s.size(), "row")),
                     .bound = fmt::format("at most {:.0f} %", 100 * share),
                     .remedy = "repair or leave out the log",
                     .count = c.rows_set_aside});
    return std::nullopt;
  }

  c.time_s = picked(log.time_s, rising);
  if (!log.pull_n.empty()) c.pull_n = picked(log.pull_n, rising);
  if (!log.ground_speed_m_per_s.empty()) c.ground_m_per_s = picked(log.ground_speed_m_per_s, rising);
  if (torque) c.torque_n_m = picked(log.torque_n_m, rising);
  if (current) c.current_a = picked(log.current_a, rising);
  if (voltage) c.voltage_v = picked(log.voltage_v, rising);
  if (pitch) c.pitch_rad = picked(log.pitch_rad, rising);
  for (const std::size_t row : rising) {
    c.line.push_back(line_of(log, row));
    if (!log.at_range_end.empty()) c.at_range_end.push_back(log.at_range_end[row]);
  }
  if (const std::size_t wheels = log.wheel_speed_rad_per_s.size(); wheels > 0) {
    c.wheel_rad_per_s.assign(rising.size(), 0);
    std::vector<double> sum(wheels, 0);
    for (std::size_t i = 0; i < rising.size(); ++i) {
      for (std::size_t w = 0; w < wheels; ++w) {
        const double omega = log.wheel_speed_rad_per_s[w][rising[i]];
        c.wheel_rad_per_s[i] += omega / static_cast<double>(wheels);
        sum[w] += omega;
      }
    }
    double total = 0;
    for (const double s : sum) total += s / static_cast<double>(wheels);
    for (const double s : sum) {
      if (total != 0) c.wheel_spread = std::max(c.wheel_spread, std::abs(s / total - 1));
    }
  }
  remark_constant(log, "pull", c.pull_n, problems);
  remark_constant(log, "ground speed", c.ground_m_per_s, problems);
  remark_constant(log, "torque", c.torque_n_m, problems);

  c.interval_s = median_interval_s(c.time_s);
  resample(c, split_at_gaps(c.time_s, settings.gap_samples * c.interval_s));
  for (const PullScale& scale : settings.pull_scales) {
    if (scale.instrument != log.source.instrument) continue;
    for (double& p : c.pull_n) p *= scale.factor;
  }
  c.pull_raw_n = c.pull_n;
  c.weight_n = log.conditions.weight_n;
  if (settings.gravity_m_per_s2) {
    c.mass_eff_kg = c.weight_n / *settings.gravity_m_per_s2 * (1 + settings.rotating_mass_share);
  }
  return c;
}

void smooth_speeds(TowChannels& c, double cut_off_hz) {
  bool all = true;
  c.wheel_smooth = smoothed(c, c.wheel_rad_per_s, cut_off_hz, all);
  c.ground_smooth = smoothed(c, c.ground_m_per_s, cut_off_hz, all);
  c.filtered = all;
}

void smooth_pull(TowChannels& c, double cut_off_hz) {
  // The lag shift leaves NaN at the ends of a piece; they are smoothed as if the first and last reading went on, and
  // windows never reach into them.
  std::vector<double> x = c.pull_n;
  for (const SampleRange s : c.segments) {
    for (std::size_t i = s.begin + 1; i < s.end && !x.empty(); ++i) {
      if (!std::isfinite(x[i]) && std::isfinite(x[i - 1])) x[i] = x[i - 1];
    }
    for (std::size_t i = s.end; i-- > s.begin + 1 && !x.empty();) {
      if (!std::isfinite(x[i - 1]) && std::isfinite(x[i])) x[i - 1] = x[i];
    }
  }
  bool all = c.filtered;
  c.pull_smooth_n = smoothed(c, x, cut_off_hz, all);
}

std::vector<bool> moving(const TowChannels& c, const TowSettings& settings) {
  std::vector<bool> out(c.time_s.size(), false);
  if (!c.wheel_smooth.empty()) {
    // Without a radius the threshold uses 0.3 m, an ordinary wheel: it only decides what counts as turning.
    const double r = c.radius_m.value_or(0.3);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = r * c.wheel_smooth[i] >= settings.moving_speed_m_per_s;
  } else if (!c.ground_smooth.empty()) {
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = c.ground_smooth[i] >= settings.moving_speed_m_per_s;
  }
  return out;
}

std::vector<double> smooth_slip(const TowChannels& c) {
  if (c.wheel_smooth.empty() || c.ground_smooth.empty() || !c.radius_m) return {};
  std::vector<double> out(c.time_s.size(), std::numeric_limits<double>::quiet_NaN());
  for (std::size_t i = 0; i < out.size(); ++i) {
    // Noise about standstill makes a speed slightly negative; for plots and window search that is zero.
    const double u = std::max(0.0, *c.radius_m * c.wheel_smooth[i]), v = std::max(0.0, c.ground_smooth[i]);
    if (const auto s = slip_ratio({.wheel_speed_m_per_s = u, .travel_speed_m_per_s = v}); s && std::max(u, v) > 0.02)
      out[i] = *s;
  }
  return out;
}

}  // namespace hardpan::records::detail
