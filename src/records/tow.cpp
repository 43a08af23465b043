// SPDX-License-Identifier: Apache-2.0
// Balance along the travel, nose up positive, P positive when the line holds the vehicle back (a towed vehicle is
// pulled: P negative), line angle l downwards behind, m_eff = m (1 + rotating share):
//   F = P cos l + W sin a + m_eff dv/dt      N = W cos a + P sin l      coefficient = F / N
// Angles of the line are taken from the direction of travel, not from the horizontal.
#include "records/tow.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "records/detail/tow_channels.hpp"

namespace hardpan::records {
namespace {

using detail::TowChannels;

// Current to axle torque through a jacked-up spin test: a straight line over its readings.
struct SpinLine {
  double per_ampere = 0, at_zero = 0, lo_a = 0, hi_a = 0;
};

std::optional<SpinLine> spin_line(const std::vector<SpinReading>& spins) {
  std::vector<double> current, torque;
  for (const SpinReading& s : spins) {
    if (!std::isfinite(s.current_a) || !std::isfinite(s.torque_n_m)) continue;
    current.push_back(s.current_a);
    torque.push_back(s.torque_n_m);
  }
  if (current.size() < 2) return std::nullopt;
  const auto [lo, hi] = std::minmax_element(current.begin(), current.end());
  if (!(*hi > *lo)) return std::nullopt;
  const math::LineFit line = math::fit_line(current, torque);
  if (!(line.slope > 0)) return std::nullopt;
  return SpinLine{line.slope, line.intercept, *lo, *hi};
}

struct MeanAndError {
  double mean = 0, standard_error = 0, n_effective = 0;
  bool constant = false;
};

MeanAndError mean_and_error(std::span<const double> x) {
  MeanAndError out{.mean = math::mean(x)};
  const double n = static_cast<double>(x.size());
  if (x.size() < 2) {
    out.n_effective = n;
    return out;
  }
  const double variance = math::variance(x);
  out.constant = !(variance > 0);
  const auto ess = math::effective_sample_size(x);
  // Alternating readings would be worth more than their number; that gain is not taken.
  out.n_effective = ess ? std::clamp(ess->n_effective, 1.0, n) : 1.0;
  out.standard_error = std::sqrt(variance / out.n_effective);
  return out;
}

std::span<const double> part(const std::vector<double>& x, SampleRange r) { return {x.data() + r.begin, r.size()}; }

// Mean acceleration over a window; where the window is short, over a stretch about it as long as the filter resolves.
struct Acceleration {
  double value = 0, standard_error = 0;
};

Acceleration acceleration_over(const TowChannels& c, SampleRange window, double least_s) {
  SampleRange piece = window;
  for (const SampleRange s : c.segments) {
    if (s.begin <= window.begin && window.end <= s.end) piece = s;
  }
  const auto least = intervals_up(least_s, c.interval_s) + 1;
  SampleRange r = window;
  while (r.size() < least && (r.begin > piece.begin || r.end < piece.end)) {  // grows evenly both ways
    if (r.begin > piece.begin) --r.begin;
    if (r.end < piece.end) ++r.end;
  }
  if (r.size() < 3) return {};
  const auto line = math::fit_line(part(c.time_s, r), part(c.ground_m_per_s, r));
  std::vector<double> residual(r.size());
  for (std::size_t i = 0; i < residual.size(); ++i) {
    residual[i] = c.ground_m_per_s[r.begin + i] - line.intercept - line.slope * c.time_s[r.begin + i];
  }
  const MeanAndError noise = mean_and_error(residual);
  const double correlated = static_cast<double>(r.size()) / std::max(1.0, noise.n_effective);
  return {line.slope, std::sqrt(std::max(0.0, line.var_slope) * correlated)};
}

// Relative standard error of the quotient of two mean speeds, from the series that is its first-order deviation; so
// noise that both share cancels and correlation counts.
double quotient_se_share(std::span<const double> omega, std::span<const double> ground) {
  const double w = math::mean(omega), v = math::mean(ground);
  std::vector<double> deviation(omega.size());
  for (std::size_t i = 0; i < deviation.size(); ++i) deviation[i] = ground[i] / v - omega[i] / w;
  return mean_and_error(deviation).standard_error;
}

// Slip of the mean speeds.
void measure_slip(PullWindow& w, const TowChannels& c, SampleRange r, const RollingRadius& radius) {
  const std::span<const double> omega = part(c.wheel_rad_per_s, r), ground = part(c.ground_m_per_s, r);
  const double u = radius.radius_m * math::mean(omega);
  double v = math::mean(ground);
  const MeanAndError v_error = mean_and_error(ground);
  if (v < 0 && -v <= 3 * v_error.standard_error + 0.005) {
    w.remarks.push_back(fmt::format("travel speed {:.4f} m/s is standstill within its noise: slip 1", v));
    v = 0;
  }
  w.rolling_radius_m = radius.radius_m;
  w.rolling_radius_se_m = radius.standard_error_m;
  w.zero_slip = radius.condition;
  w.radius_source = radius.source;
  const auto s = slip_ratio({.wheel_speed_m_per_s = u, .travel_speed_m_per_s = v});
  if (!s) {
    w.slip_status = v < 0 ? "refused: the vehicle moved backwards" : "refused: wheels turned backwards or nothing moved";
    return;
  }
  // Driving, ds = d(v / u): first-order series (v_i - (v / u) u_i) / u, which holds at standstill too. Braking likewise.
  const bool driving = u >= v;
  std::vector<double> deviation(r.size());
  for (std::size_t i = 0; i < deviation.size(); ++i) {
    const double ui = radius.radius_m * omega[i];
    deviation[i] = driving ? (ground[i] - v / u * ui) / u : (ui - u / v * ground[i]) / v;
  }
  w.slip_ratio = *s;
  w.slip_se = mean_and_error(deviation).standard_error;
  w.slip_status = "ok";
}

void measure_power(PullWindow& w, const TowChannels& c, SampleRange r, const TowLog& log, const std::optional<SpinLine>& spin) {
  std::vector<double> power;
  const bool turning = !c.wheel_rad_per_s.empty();
  const auto times_omega = [&](auto torque_at) {
    power.resize(r.size());
    double sum = 0;
    for (std::size_t i = 0; i < power.size(); ++i) {
      const double torque = torque_at(r.begin + i);
      sum += torque;
      power[i] = torque * c.wheel_rad_per_s[r.begin + i];
    }
    w.torque_n_m = sum / static_cast<double>(r.size());
  };
  if (!c.current_a.empty()) w.current_a = math::mean(part(c.current_a, r));
  if (!c.torque_n_m.empty() && log.torque_is_axle_torque && turning) {
    times_omega([&](std::size_t i) { return c.torque_n_m[i]; });
    w.efficiency_kind = EfficiencyKind::tractive;
    w.power_basis = "axle torque";
  } else if (!c.current_a.empty() && spin && turning) {
    times_omega([&](std::size_t i) { return spin->at_zero + spin->per_ampere * c.current_a[i]; });
    w.efficiency_kind = EfficiencyKind::tractive;
    w.power_basis = "axle torque by spin test";
    if (*w.current_a > spin->hi_a || *w.current_a < spin->lo_a) {
      w.remarks.push_back(fmt::format("current {:.2f} A outside the spin test ({:.2f} to {:.2f} A): its line is extended", *w.current_a, spin->lo_a, spin->hi_a));
    }
  } else if (!c.current_a.empty() && !c.voltage_v.empty()) {
    for (std::size_t i = r.begin; i < r.end; ++i) power.push_back(c.current_a[i] * c.voltage_v[i]);
    w.efficiency_kind = EfficiencyKind::overall;
    w.power_basis = "current times voltage";
  } else if (!c.torque_n_m.empty() && turning) {
    times_omega([&](std::size_t i) { return c.torque_n_m[i]; });
    w.efficiency_kind = EfficiencyKind::overall;
    w.power_basis = "motor torque without a spin test";
  } else {
    if (!c.current_a.empty()) w.power_basis = "none: current without voltage or spin test";
    return;
  }
  const MeanAndError p = mean_and_error(power);
  w.power_in_w = p.mean;
  w.power_in_se_w = p.standard_error;
}

PullWindow measure(const TowChannels& c, SampleRange r, const TowLog& log, const TowSettings& t, const TowReduction& red,
                   const std::optional<SpinLine>& spin) {
  PullWindow w;
  const RunConditions& conditions = log.conditions;
  w.file = log.source.file, w.id = log.source.id, w.record = log.source.record;
  w.zone = log.source.zone, w.point = log.source.point;
  w.vehicle = conditions.vehicle, w.run = red.run, w.lane = conditions.lane, w.direction = conditions.direction;
  w.first_line = *std::min_element(c.line.begin() + static_cast<std::ptrdiff_t>(r.begin), c.line.begin() + static_cast<std::ptrdiff_t>(r.end));
  w.last_line = *std::max_element(c.line.begin() + static_cast<std::ptrdiff_t>(r.begin), c.line.begin() + static_cast<std::ptrdiff_t>(r.end));
  w.from_s = c.time_s[r.begin], w.to_s = c.time_s[r.end - 1];
  w.kind = log.kind;
  w.sweep_bin = red.mode_used == WindowMode::sweep;
  w.samples = r.size();
  w.weight_n = conditions.weight_n;
  w.hitch_height_m = conditions.hitch_height_m;
  w.line_angle_rad = conditions.line_angle_rad.value_or(0);
  w.line_angle_stated = conditions.line_angle_rad.has_value();
  w.gain_relative_sd = log.load_cell_gain_relative_sd;
  for (const PullScale& s : t.pull_scales) {
    if (s.instrument == log.source.instrument) w.gain_relative_sd = std::hypot(w.gain_relative_sd, s.relative_sd);
  }

  if (!c.wheel_rad_per_s.empty()) w.wheel_speed_rad_per_s = math::mean(part(c.wheel_rad_per_s, r));
  if (!c.ground_m_per_s.empty()) {
    const MeanAndError v = mean_and_error(part(c.ground_m_per_s, r));
    w.travel_speed_m_per_s = v.mean;
    w.n_effective = v.n_effective;
    if (w.wheel_speed_rad_per_s && *w.wheel_speed_rad_per_s > 0 && v.mean > 0) {
      w.distance_per_radian_se_share = quotient_se_share(part(c.wheel_rad_per_s, r), part(c.ground_m_per_s, r));
    }
    const Acceleration a = acceleration_over(c, r, log.kind == LogKind::coast_down ? 0 : std::max(t.sweep_bin_min_s, 1 / t.cut_off_hz));
    w.acceleration_m_per_s2 = a.value;
    if (c.mass_eff_kg) {
      w.inertia_n = *c.mass_eff_kg * a.value;
      w.inertia_se_n = *c.mass_eff_kg * a.standard_error;
    }
  }
  if (log.kind == LogKind::coast_down) {
    if (c.mass_eff_kg) w.pull_n = 0;  // without gravity there is no mass and no resistance
  } else if (!c.pull_n.empty()) {
    const MeanAndError p = mean_and_error(part(c.pull_n, r));
    w.pull_n = p.mean;
    w.pull_se_n = std::hypot(p.standard_error, red.zero.pull_sd_n);
    w.n_effective = p.n_effective;
    if (p.constant) w.remarks.push_back("pull does not change in the window: its error is not known from it");
  }
  w.slip_status = red.slip_status;
  if (red.slip_status == "ok") measure_slip(w, c, r, red.radius);
  measure_power(w, c, r, log, spin);
  if (!c.pitch_rad.empty()) w.pitch_rad = math::mean(part(c.pitch_rad, r));

  if (conditions.gradient_stated) {
    set_gradient(w, conditions.gradient_rad, 0, GradientSource::stated);
  } else if (w.pitch_rad) {
    set_gradient(w, *w.pitch_rad, mean_and_error(part(c.pitch_rad, r)).standard_error, GradientSource::pitch);
  } else {
    set_gradient(w, 0, 0, GradientSource::assumed_level);
  }
  return w;
}

std::string slip_status_of(const TowChannels& c, const std::optional<RollingRadius>& radius) {
  if (c.ground_m_per_s.empty()) return "refused: no ground speed (wheel speed alone cannot show slip)";
  if (c.wheel_rad_per_s.empty()) return "refused: no wheel speed";
  if (!radius) return "refused: no rolling radius, stated or found from a towed or unloaded run";
  return "ok";
}

void remark_log(const TowLog& log, const TowReduction& red, const TowChannels& c, const TowSettings& t, base::Problems& problems) {
  const base::Place place{.file = log.source.file, .line = c.line.front(), .key = c.line.front() ? "" : log.source.id};
  if (red.slip_status != "ok" && log.kind == LogKind::tow) {
    problems.remark({.place = place, .what = "slip is " + red.slip_status,
                     .remedy = c.ground_m_per_s.empty() ? "log a fifth wheel, cable encoder or GNSS speed beside the wheel speeds"
                                                        : "give rolling_radius with its zero-slip condition, or log the wheel speeds"});
  }
  if (log.pull_n.empty() && log.kind != LogKind::coast_down) {
    problems.remark({.place = place, .what = "no drawbar force in the log: no pull or resistance from it"});
  }
  if (!t.gravity_m_per_s2) {
    problems.remark({.place = place, .what = "gravity is not given: no inertia term in the pull", .remedy = "give gravity in the campaign"});
  }
  if (red.slip_status == "ok" && red.radius.condition == vehicle::ZeroSlip::not_stated) {
    problems.remark({.place = place, .what = "zero-slip condition of the rolling radius is not stated", .value = fmt::format("{} m", red.radius.radius_m),
                     .remedy = "say whether it was found towed or self-propelled, on hard ground or on the test surface"});
  }
  if (c.wheel_spread > 0.05) {
    problems.remark({.place = place, .what = "driven wheels turn at different mean speeds; slip is that of their mean", .value = fmt::format("{:.1f} %", 100 * c.wheel_spread),
                     .bound = "5 %"});
  }
  if (red.status != "ok") problems.remark({.place = place, .what = "no windows from the log: " + red.status});
  double far = 0;
  for (const PullWindow& w : red.windows) {
    if (w.gradient_source == GradientSource::stated && w.pitch_rad) far = std::max(far, std::abs(*w.pitch_rad - w.gradient_rad));
  }
  if (far > t.pitch_disagreement_rad) {
    problems.remark({.place = place, .what = "stated gradient and logged pitch disagree (squat, sensor zero, or the gradient itself)", .value = fmt::format("{:.4f} rad", far),
                     .bound = fmt::format("{:.4f} rad", t.pitch_disagreement_rad), .remedy = "the stated gradient is used; check sign and zero of the pitch sensor"});
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
    const auto at = [&](double t) { return static_cast<std::size_t>(std::lower_bound(c.time_s.begin(), c.time_s.end(), t) - c.time_s.begin()); };
    trace.marks.push_back({at(red.zero.from_s), std::min(c.time_s.size(), at(red.zero.to_s) + 1), red.zero.source == ZeroSource::found_both_ends ? "zero at both ends" : "zero"});
  }
  for (std::size_t k = 0; k < ranges.size(); ++k) trace.marks.push_back({ranges[k].begin, ranges[k].end, fmt::format("window {}", k + 1)});
  for (std::size_t k = 1; k < c.segments.size(); ++k) trace.marks.push_back({c.segments[k].begin, c.segments[k].begin, "gap before"});
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
      w.efficiency_se = std::abs(*w.efficiency) * std::hypot(force_share, std::hypot(speed_share, w.power_in_se_w / *w.power_in_w));
    }
  }
  if (w.power_in_w && w.wheel_speed_rad_per_s && w.rolling_radius_m > 0 && *w.wheel_speed_rad_per_s > 0 && w.normal_load_n > 0) {
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
    radius = RollingRadius{.radius_m = *log.conditions.rolling_radius_m, .condition = log.conditions.zero_slip, .source = "stated with the record"};
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
  const std::optional<SpinLine> spin = spin_line(spins);
  for (const SampleRange r : plan.ranges) red.windows.push_back(measure(c, r, log, settings, red, spin));
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
