// SPDX-License-Identifier: Apache-2.0
// Balance along the travel, nose up positive, P positive when the line holds the vehicle back (a towed vehicle is
// pulled: P negative), line angle l downwards behind, m_eff = m (1 + rotating share):
//   F = P cos l + W sin a + m_eff dv/dt      N = W cos a + P sin l      coefficient = F / N
// Angles of the line are taken from the direction of travel, not from the horizontal.
#include "records/tow.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "records/detail/tow_channels.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

namespace hardpan::records {
namespace {

using detail::TowChannels;

std::string slip_status_of(const TowChannels& c, const std::optional<RollingRadius>& radius) {
  if (c.ground_m_per_s.empty()) return "refused: no ground speed (wheel speed alone cannot show slip)";
  if (c.wheel_rad_per_s.empty()) return "refused: no wheel speed";
  if (!radius) return "refused: no rolling radius, stated or found from a towed or unloaded run";
  return "ok";
}

void remark_log(const TowLog& log, const TowReduction& red, const TowChannels& c, const TowSettings& t,
                base::Problems& problems) {
  const base::Place place{.file = log.source.file, .line = c.line.front(), .key = c.line.front() ? "" : log.source.id};
  if (red.slip_status != "ok" && log.kind == LogKind::tow) {
    problems.remark({.place = place,
                     .what = "slip is " + red.slip_status,
                     .remedy = c.ground_m_per_s.empty()
                                   ? "log a fifth wheel, cable encoder or GNSS speed beside the wheel speeds"
                                   : "give rolling_radius with its zero-slip condition, or log the wheel speeds"});
  }
  if (log.pull_n.empty() && log.kind != LogKind::coast_down) {
    problems.remark({.place = place, .what = "no drawbar force in the log: no pull or resistance from it"});
  }
  if (!t.gravity_m_per_s2) {
    problems.remark({.place = place,
                     .what = "gravity is not given: no inertia term in the pull",
                     .remedy = "give gravity in the campaign"});
  }
  if (red.slip_status == "ok" && red.radius.condition == vehicle::ZeroSlip::not_stated) {
    problems.remark({.place = place,
                     .what = "zero-slip condition of the rolling radius is not stated",
                     .value = units::print_quantity(red.radius.radius_m, units::Dimension::length, t.output_units, 4),
                     .remedy = "say whether it was found towed or self-propelled, on hard ground or on the test surface"});
  }
  if (c.wheel_spread > 0.05) {
    problems.remark({.place = place,
                     .what = "driven wheels turn at different mean speeds; slip is that of their mean",
                     .value = fmt::format("{:.1f} %", 100 * c.wheel_spread),
                     .bound = "5 %"});
  }
  if (red.status != "ok") problems.remark({.place = place, .what = "no windows from the log: " + red.status});
  std::size_t saturated = 0, negative = 0;
  for (const PullWindow& w : red.windows) {
    saturated += w.saturated;
    negative += w.kind == LogKind::tow && w.pull_n && *w.pull_n < -0.02 * w.weight_n;
  }
  if (saturated > 0) {
    problems.remark({.place = place,
                     .what = "load cell at the end of its range; those windows are left out of the curve",
                     .value = units::print_count(saturated, "reading"),
                     .bound = units::print_quantity(*log.load_cell_range_n, units::Dimension::force, t.output_units),
                     .remedy = "use a larger cell",
                     .count = saturated});
  }
  if (2 * negative > red.windows.size()) {
    problems.remark({.place = place,
                     .what = "the pull is negative in most windows: sign of the load cell?",
                     .value = fmt::format("{} of {}", negative, units::print_count(red.windows.size(), "window")),
                     .remedy = "pull is positive when the line holds the vehicle back"});
  }
  double far = 0;
  for (const PullWindow& w : red.windows) {
    if (w.gradient_source == GradientSource::stated && w.pitch_rad)
      far = std::max(far, std::abs(*w.pitch_rad - w.gradient_rad));
  }
  if (far > t.pitch_disagreement_rad) {
    problems.remark({.place = place,
                     .what = "stated gradient and logged pitch disagree (squat, sensor zero, or the gradient itself)",
                     .value = fmt::format("{:.2f} deg", far * 180 / std::numbers::pi),
                     .bound = fmt::format("{:.2f} deg", t.pitch_disagreement_rad * 180 / std::numbers::pi),
                     .remedy = "the stated gradient is used; check sign and zero of the pitch sensor"});
  }
}

Trace make_trace(const TowChannels& c, const TowLog& log, const TowReduction& red, const std::vector<SampleRange>& ranges) {
  Trace trace{.id = log.source.id, .file = log.source.file, .time_s = c.time_s, .line = c.line};
  trace.pull_raw_n = c.pull_raw_n, trace.pull_zeroed_n = c.pull_zeroed_n;
  trace.pull_shifted_n = c.pull_n, trace.pull_filtered_n = c.pull_smooth_n;
  trace.wheel_speed_rad_per_s = c.wheel_rad_per_s, trace.wheel_speed_filtered_rad_per_s = c.wheel_smooth;
  trace.ground_speed_m_per_s = c.ground_m_per_s, trace.ground_speed_filtered_m_per_s = c.ground_smooth;
  trace.slip_filtered = detail::smooth_slip(c);
  trace.torque_n_m = c.torque_n_m, trace.pitch_rad = c.pitch_rad;
  if (red.zero.source != ZeroSource::none) {
    const auto at = [&](double t) {
      return static_cast<std::size_t>(std::lower_bound(c.time_s.begin(), c.time_s.end(), t) - c.time_s.begin());
    };
    trace.marks.push_back({at(red.zero.from_s), std::min(c.time_s.size(), at(red.zero.to_s) + 1),
                           red.zero.source == ZeroSource::found_both_ends ? "zero at both ends" : "zero"});
  }
  for (std::size_t k = 0; k < ranges.size(); ++k)
    trace.marks.push_back({ranges[k].begin, ranges[k].end, fmt::format("window {}", k + 1)});
  for (std::size_t k = 1; k < c.segments.size(); ++k)
    trace.marks.push_back({c.segments[k].begin, c.segments[k].begin, "gap before"});
  return trace;
}

// Coefficient, its error and the efficiency from the balance at the head of this file.
void settle(PullWindow& w) {
  const double sign = w.kind == LogKind::towed ? -1 : 1;
  const double sin_a = std::sin(w.gradient_rad), cos_a = std::cos(w.gradient_rad);
  const double sin_l = std::sin(w.line_angle_rad), cos_l = std::cos(w.line_angle_rad);
  w.coefficient.reset(), w.efficiency.reset(), w.power_out_w.reset(), w.input_coefficient.reset();
  w.normal_load_n = w.weight_n * cos_a;
  if (w.pull_n) {
    const double pull = sign * *w.pull_n;
    w.pull_over_weight = *w.pull_n / w.weight_n;
    w.normal_load_n += pull * sin_l;
    if (!(w.normal_load_n > 0)) return;
    const double force = pull * cos_l + w.weight_n * sin_a + w.inertia_n;
    const double mu = force / w.normal_load_n;
    w.coefficient = mu;
    const double by_pull = (cos_l - mu * sin_l) * w.pull_se_n;
    const double by_gradient = w.weight_n * (cos_a + mu * sin_a) * w.gradient_se_rad;
    w.coefficient_se = std::hypot(by_pull, std::hypot(by_gradient, w.inertia_se_n)) / w.normal_load_n;
    if (w.travel_speed_m_per_s && w.kind == LogKind::tow) w.power_out_w = force * *w.travel_speed_m_per_s;
    if (w.power_out_w && w.power_in_w && *w.power_in_w > 0) {
      w.efficiency = *w.power_out_w / *w.power_in_w;
      const double force_share = force != 0 ? w.coefficient_se * w.normal_load_n / force : 0;
      const double speed_share = w.slip_ratio && *w.slip_ratio < 1 ? w.slip_se / (1 - *w.slip_ratio) : 0;
      w.efficiency_se =
          std::abs(*w.efficiency) * std::hypot(force_share, std::hypot(speed_share, w.power_in_se_w / *w.power_in_w));
    }
  }
  if (w.power_in_w && w.wheel_speed_rad_per_s && w.rolling_radius_m > 0 && *w.wheel_speed_rad_per_s > 0 &&
      w.normal_load_n > 0) {
    w.input_coefficient = *w.power_in_w / (w.normal_load_n * w.rolling_radius_m * *w.wheel_speed_rad_per_s);
  }
}

}  // namespace

void set_gradient(PullWindow& w, double gradient_rad, double gradient_se_rad, GradientSource source) {
  w.gradient_rad = gradient_rad;
  w.gradient_se_rad = gradient_se_rad;
  w.gradient_source = source;
  settle(w);
}

void set_rolling_radius(PullWindow& w, const RollingRadius& radius) {
  if (w.slip_ratio) {
    const double slope = slip_conversion_slope(*w.slip_ratio, w.rolling_radius_m, radius.radius_m);
    w.slip_ratio = slip_with_radius(*w.slip_ratio, w.rolling_radius_m, radius.radius_m);
    w.slip_se *= slope;
  }
  w.rolling_radius_m = radius.radius_m;
  w.rolling_radius_se_m = radius.standard_error_m;
  w.zero_slip = radius.condition;
  w.radius_source = radius.source;
  settle(w);
}

TowReduction reduce_tow_log(const TowLog& log, const TowSettings& settings, const std::vector<SpinReading>& spins,
                            const std::optional<RollingRadius>& fallback, base::Problems& problems) {
  TowReduction red;
  red.id = log.source.id, red.file = log.source.file, red.vehicle = log.conditions.vehicle, red.kind = log.kind;
  red.run = log.conditions.run.empty() ? log.source.id : log.conditions.run;
  red.rows = log.time_s.size();
  red.mode_asked = settings.mode;
  red.cut_off_hz = settings.cut_off_hz;
  auto channels = detail::read_channels(log, settings, problems);
  if (!channels) {
    red.status = "the log was refused";
    red.slip_status = "refused: the log was refused";
    return red;
  }
  TowChannels& c = *channels;
  red.rows_set_aside = c.rows_set_aside;
  red.interval_s = c.interval_s;
  red.resampled = c.resampled;

  std::optional<RollingRadius> radius = fallback;
  if (log.conditions.rolling_radius_m) {
    radius = RollingRadius{.radius_m = *log.conditions.rolling_radius_m,
                           .condition = log.conditions.zero_slip,
                           .source = "stated with the record"};
  }
  red.slip_status = slip_status_of(c, radius);
  if (radius) {
    red.radius = *radius;
    c.radius_m = radius->radius_m;
  }
  detail::smooth_speeds(c, settings.cut_off_hz);
  red.zero = detail::take_zero(c, log, settings, problems);
  detail::smooth_pull(c, settings.cut_off_hz);
  red.lag = detail::take_lag(c, log, settings, problems);
  detail::smooth_pull(c, settings.cut_off_hz);
  red.filtered = c.filtered;

  const detail::WindowPlan plan = detail::plan_windows(c, log, settings);
  red.mode_used = plan.mode_used;
  red.status = plan.status;
  const std::optional<detail::SpinLine> spin = detail::spin_line(spins);
  for (const SampleRange r : plan.ranges) red.windows.push_back(detail::measure_window(c, r, log, settings, red, spin));
  remark_log(log, red, c, settings, problems);
  if (settings.trace) red.trace = make_trace(c, log, red, plan.ranges);
  return red;
}

const char* name(WindowMode mode) {
  switch (mode) {
    case WindowMode::automatic: return "automatic";
    case WindowMode::steady: return "steady windows";
    case WindowMode::sweep: return "sweep bins";
  }
  return "";
}

const char* name(ZeroSource source) {
  switch (source) {
    case ZeroSource::marked: return "marked stretch";
    case ZeroSource::found: return "stationary stretch found";
    case ZeroSource::found_both_ends: return "stationary stretches found before and after";
    case ZeroSource::none: return "no zero taken";
  }
  return "";
}

const char* name(LagSource source) {
  switch (source) {
    case LagSource::stated: return "stated";
    case LagSource::estimated: return "estimated";
    case LagSource::not_identified: return "not identified, 0 used";
    case LagSource::not_applicable: return "not applicable";
  }
  return "";
}

const char* name(GradientSource source) {
  switch (source) {
    case GradientSource::stated: return "stated";
    case GradientSource::pitch: return "logged pitch";
    case GradientSource::paired_runs: return "runs both ways";
    case GradientSource::assumed_level: return "assumed level";
  }
  return "";
}

const char* name(EfficiencyKind kind) {
  switch (kind) {
    case EfficiencyKind::none: return "none";
    case EfficiencyKind::tractive: return "tractive efficiency";
    case EfficiencyKind::overall: return "overall efficiency";
  }
  return "";
}

}  // namespace hardpan::records
