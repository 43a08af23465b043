// SPDX-License-Identifier: Apache-2.0
// Means of one window and their standard errors. Slip is that of the mean speeds; every error comes from the series that is
// the first-order deviation of the mean in question, counted by its autocorrelation.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "records/detail/tow_channels.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

namespace hardpan::records::detail {
namespace {

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
  const SeriesMean noise = series_mean(residual);
  const double correlated = static_cast<double>(r.size()) / noise.n_effective;
  return {line.slope, std::sqrt(std::max(0.0, line.var_slope) * correlated)};
}

// Relative standard error of the quotient of two mean speeds, from the series that is its first-order deviation; so
// noise that both share cancels and correlation counts.
double quotient_se_share(std::span<const double> omega, std::span<const double> ground) {
  const double w = math::mean(omega), v = math::mean(ground);
  std::vector<double> deviation(omega.size());
  for (std::size_t i = 0; i < deviation.size(); ++i) deviation[i] = ground[i] / v - omega[i] / w;
  return series_mean(deviation).standard_error;
}

// Slip of the mean speeds.
void measure_slip(PullWindow& w, const TowChannels& c, SampleRange r, const RollingRadius& radius, units::OutputUnits u_out) {
  const std::span<const double> omega = part(c.wheel_rad_per_s, r), ground = part(c.ground_m_per_s, r);
  const double u = radius.radius_m * math::mean(omega);
  double v = math::mean(ground);
  const SeriesMean v_error = series_mean(ground);
  if (v < 0 && -v <= 3 * v_error.standard_error + 0.005) {
    w.remarks.push_back(fmt::format("travel speed {} is standstill within its noise: slip 1", units::print_quantity(v, units::Dimension::speed, u_out)));
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
  w.slip_se = series_mean(deviation).standard_error;
  w.slip_status = "ok";
}

void measure_power(PullWindow& w, const TowChannels& c, SampleRange r, const TowLog& log,
                   const std::optional<SpinLine>& spin) {
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
      w.remarks.push_back(fmt::format("current {:.2f} A outside the spin test ({:.2f} to {:.2f} A): its line is extended",
                                      *w.current_a, spin->lo_a, spin->hi_a));
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
  const SeriesMean p = series_mean(power);
  w.power_in_w = p.mean;
  w.power_in_se_w = p.standard_error;
}

double pull_scale(const TowLog& log, const TowSettings& t) {
  double factor = 1;
  for (const PullScale& s : t.pull_scales) factor *= s.instrument == log.source.instrument ? s.factor : 1;
  return factor;
}

}  // namespace

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

PullWindow measure_window(const TowChannels& c, SampleRange r, const TowLog& log, const TowSettings& t,
                          const TowReduction& red, const std::optional<SpinLine>& spin) {
  PullWindow w;
  const RunConditions& conditions = log.conditions;
  w.file = log.source.file, w.id = log.source.id, w.record = log.source.record;
  w.zone = log.source.zone, w.point = log.source.point;
  w.vehicle = conditions.vehicle, w.run = red.run, w.lane = conditions.lane, w.direction = conditions.direction;
  w.first_line = *std::min_element(c.line.begin() + static_cast<std::ptrdiff_t>(r.begin),
                                   c.line.begin() + static_cast<std::ptrdiff_t>(r.end));
  w.last_line = *std::max_element(c.line.begin() + static_cast<std::ptrdiff_t>(r.begin),
                                  c.line.begin() + static_cast<std::ptrdiff_t>(r.end));
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
    const SeriesMean v = series_mean(part(c.ground_m_per_s, r));
    w.travel_speed_m_per_s = v.mean;
    w.n_effective = v.n_effective;
    if (w.wheel_speed_rad_per_s && *w.wheel_speed_rad_per_s > 0 && v.mean > 0) {
      w.distance_per_radian_se_share = quotient_se_share(part(c.wheel_rad_per_s, r), part(c.ground_m_per_s, r));
    }
    const Acceleration a =
        acceleration_over(c, r, log.kind == LogKind::coast_down ? 0 : std::max(t.sweep_bin_min_s, 1 / t.cut_off_hz));
    w.acceleration_m_per_s2 = a.value;
    if (c.mass_eff_kg) {
      w.inertia_n = *c.mass_eff_kg * a.value;
      w.inertia_se_n = *c.mass_eff_kg * a.standard_error;
    }
  }
  if (log.kind == LogKind::coast_down) {
    if (c.mass_eff_kg) w.pull_n = 0;  // without gravity there is no mass and no resistance
  } else if (!c.pull_n.empty()) {
    const SeriesMean p = series_mean(part(c.pull_n, r));
    w.pull_n = p.mean;
    w.pull_se_n = std::hypot(p.standard_error, red.zero.pull_sd_n);
    w.n_effective = p.n_effective;
    if (log.load_cell_range_n) {
      const double end = 0.999 * *log.load_cell_range_n * pull_scale(log, t);  // counts stop just short of the stated range
      const auto raw = part(c.pull_raw_n, r);
      w.saturated =
          static_cast<std::size_t>(std::count_if(raw.begin(), raw.end(), [&](double x) { return std::abs(x) >= end; }));
      std::size_t readings = r.size();
      if (!c.at_range_end.empty()) {  // averages do not show it
        readings *= log.readings_per_row;
        w.saturated = 0;
        for (std::size_t i = r.begin; i < r.end; ++i) w.saturated += c.at_range_end[i];
      }
      if (w.saturated > 0)
        w.remarks.push_back(fmt::format("{} of {} at the end of the load cell's range: the pull is a lower bound",
                                        w.saturated, units::print_count(readings, "reading")));
    }
    if (p.constant) w.remarks.push_back("pull does not change in the window: its error is not known from it");
  }
  w.slip_status = red.slip_status;
  if (red.slip_status == "ok") measure_slip(w, c, r, red.radius, t.output_units);
  measure_power(w, c, r, log, spin);
  if (!c.pitch_rad.empty()) w.pitch_rad = math::mean(part(c.pitch_rad, r));

  if (conditions.gradient_stated) {
    set_gradient(w, conditions.gradient_rad, 0, GradientSource::stated);
  } else if (w.pitch_rad) {
    set_gradient(w, *w.pitch_rad, series_mean(part(c.pitch_rad, r)).standard_error, GradientSource::pitch);
  } else {
    set_gradient(w, 0, 0, GradientSource::assumed_level);
  }
  return w;
}

}  // namespace hardpan::records::detail
