// SPDX-License-Identifier: Apache-2.0
// Zero of the load cell (and of the torque channel) from standing still, and the lag of the pull behind the speeds.
//
// Lag: slip and pull follow each other through the ground without delay once inertia is counted, so the leader is the
// pull that slip and acceleration explain: a cubic in v / omega (which is linear in slip whatever the rolling radius)
// less m_eff dv/dt. The cubic is fitted with the pull shifted by the lag found so far, three times over. The mass is
// not fitted: at a falling speed dv/dt is nearly the time derivative of slip, and a free factor would absorb the lag.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "records/detail/tow_channels.hpp"
#include "units/print.hpp"

namespace hardpan::records::detail {
namespace {

struct Still {
  double from_s = 0, to_s = 0, mean = 0, standard_error = 0, noise_sd = 0, torque = 0, current = 0, speed = 0;
  [[nodiscard]] double middle_s() const { return 0.5 * (from_s + to_s); }
};

double mean_over(const std::vector<double>& x, SampleRange r) {
  return x.empty() ? 0 : math::mean({x.data() + r.begin, r.size()});
}

Still read_still(const TowChannels& c, SampleRange r) {
  Still out{.from_s = c.time_s[r.begin], .to_s = c.time_s[r.end - 1]};
  out.torque = mean_over(c.torque_n_m, r);
  out.current = mean_over(c.current_a, r);
  out.speed = mean_over(c.ground_m_per_s, r);
  if (c.pull_n.empty()) return out;
  const std::span<const double> pull{c.pull_n.data() + r.begin, r.size()};
  const SeriesMean mean = series_mean(pull);
  out.mean = mean.mean, out.standard_error = mean.standard_error;
  out.noise_sd = pull.size() < 2 ? 0 : std::sqrt(math::variance(pull));
  return out;
}

std::vector<SampleRange> still_ranges(const TowChannels& c, const TowSettings& settings) {
  if (c.wheel_smooth.empty() && c.ground_smooth.empty()) return {};
  const double r = c.radius_m.value_or(0.3);
  // Where the wheels tell that nothing moves, the ground speed only has to stay below a moving vehicle's.
  const double ground_limit = c.wheel_smooth.empty() ? settings.still_speed_m_per_s : settings.moving_speed_m_per_s;
  const auto edge = intervals_up(0.25 * settings.zero_min_s, c.interval_s);
  std::vector<SampleRange> out;
  for (const SampleRange piece : c.segments) {
    std::vector<bool> still(piece.size());
    for (std::size_t i = 0; i < still.size(); ++i) {
      const std::size_t k = piece.begin + i;
      still[i] = (c.wheel_smooth.empty() || std::abs(r * c.wheel_smooth[k]) < settings.still_speed_m_per_s) &&
                 (c.ground_smooth.empty() || std::abs(c.ground_smooth[k]) < ground_limit);
    }
    for (SampleRange s : stretches(still)) {
      if (static_cast<double>(s.size() - 1) * c.interval_s < settings.zero_min_s) continue;
      s = {s.begin + edge, s.end - std::min(s.end, edge)};  // the line tightens just before the wheels turn
      if (s.end > s.begin + 2) out.push_back({piece.begin + s.begin, piece.begin + s.end});
    }
  }
  return out;
}

void take_off(TowChannels& c, double value, double at_s, double drift_per_s) {
  for (std::size_t i = 0; i < c.pull_n.size(); ++i) c.pull_n[i] -= value + drift_per_s * (c.time_s[i] - at_s);
}

void take_torque_off(TowChannels& c, double torque, ZeroReading& zero) {
  zero.torque_n_m = torque;
  for (double& t : c.torque_n_m) t -= torque;
}

double largest_departure(const std::vector<double>& x, double from) {
  double out = 0;
  for (const double v : x) out = std::max(out, std::abs(v - from));
  return out;
}

void fill(ZeroReading& zero, const Still& s) {
  zero.from_s = s.from_s;
  zero.to_s = s.to_s;
  zero.pull_n = s.mean;
  zero.pull_sd_n = s.standard_error;
  zero.noise_sd_n = s.noise_sd;
  zero.current_a = s.current;
  zero.ground_speed_m_per_s = s.speed;
}

std::string speed_words(double m_per_s, const TowSettings& t) { return units::print_quantity(m_per_s, units::Dimension::speed, t.output_units); }
std::string force_words(double n, const TowSettings& t) { return units::print_quantity(n, units::Dimension::force, t.output_units); }

ZeroReading marked_zero(TowChannels& c, const TowLog& log, const TowSettings& settings, base::Problems& problems) {
  ZeroReading zero;
  const auto from = std::lower_bound(c.time_s.begin(), c.time_s.end(), *log.zero_from_s);
  const auto to = std::upper_bound(c.time_s.begin(), c.time_s.end(), *log.zero_to_s);
  if (!(to - from >= 3)) {
    problems.remark({.place = {.file = log.source.file, .key = log.source.id},
                     .what = "the marked zero stretch holds fewer than 3 readings; no zero was taken",
                     .value = fmt::format("{} to {} s", *log.zero_from_s, *log.zero_to_s),
                     .bound = fmt::format("log runs {:.3f} to {:.3f} s", c.time_s.front(), c.time_s.back()),
                     .remedy = "mark a stretch inside the log"});
    zero.note = "marked stretch outside the log";
    return zero;
  }
  const SampleRange r{static_cast<std::size_t>(from - c.time_s.begin()), static_cast<std::size_t>(to - c.time_s.begin())};
  const Still s = read_still(c, r);
  fill(zero, s);
  zero.source = ZeroSource::marked;
  const double turning = c.wheel_smooth.empty() ? 0 : c.radius_m.value_or(0.3) * std::abs(mean_over(c.wheel_smooth, r));
  constexpr double kMovesInZero_m_per_s = 0.05;
  if (std::max(turning, std::abs(s.speed)) > kMovesInZero_m_per_s) {
    problems.remark({.place = {.file = log.source.file, .line = c.line[r.begin], .key = log.source.id},
                     .what = "the vehicle moves inside the marked zero stretch",
                     .value = speed_words(std::max(turning, std::abs(s.speed)), settings),
                     .bound = "at most " + speed_words(kMovesInZero_m_per_s, settings),
                     .remedy = "mark a stretch at standstill"});
  }
  take_off(c, s.mean, s.middle_s(), 0);
  if (!c.torque_n_m.empty()) take_torque_off(c, s.torque, zero);
  return zero;
}

// Mean over a block of samples, so that the smoothed channels are handled at about 20 samples a cut-off period.
std::vector<double> thinned(const std::vector<double>& x, SampleRange r, std::size_t every) {
  std::vector<double> out;
  for (std::size_t i = r.begin; i < r.end; i += every) out.push_back(x[i]);
  return out;
}

std::vector<double> rate_of(const std::vector<double>& x, double interval_s) {
  std::vector<double> out(x.size(), 0);
  for (std::size_t i = 1; i + 1 < x.size(); ++i) out[i] = (x[i + 1] - x[i - 1]) / (2 * interval_s);
  if (x.size() >= 3) {
    out.front() = out[1];
    out.back() = out[x.size() - 2];
  }
  return out;
}

// Takes off what moves slower than a tenth of the cut-off: drift and the sweep's own trend blur a correlation peak.
std::vector<double> without_slow_part(const std::vector<double>& x, double interval_s, double cut_off_hz) {
  std::vector<double> out = x;
  if (can_low_pass(x.size(), interval_s, cut_off_hz / 10) && static_cast<double>(x.size()) * interval_s * cut_off_hz > 30) {
    const auto slow = low_pass_zero_phase(x, interval_s, cut_off_hz / 10);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] -= slow[i];
  }
  return out;
}

// Cubic in x fitted to y over the samples where both are numbers; absent without enough of them.
std::vector<double> cubic_through(const std::vector<double>& x, const std::vector<double>& y) {
  std::vector<double> design, target;
  const double middle = math::mean(x);
  const double spread = std::max(std::sqrt(math::variance(x)), 1e-12);
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!std::isfinite(y[i])) continue;
    const double u = (x[i] - middle) / spread;
    design.insert(design.end(), {1, u, u * u, u * u * u});
    target.push_back(y[i]);
  }
  if (target.size() < 20) return {};
  const math::LinearFit fit = math::linear_regression(design, 4, target);
  if (fit.coefficients.size() != 4) return {};
  std::vector<double> out(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double u = (x[i] - middle) / spread;
    out[i] = fit.coefficients[0] + u * (fit.coefficients[1] + u * (fit.coefficients[2] + u * fit.coefficients[3]));
  }
  return out;
}

// The longest stretch in motion, without its start and stop: there the line is slack or the vehicle gathers speed, and
// pull does not follow slip. Kept is what lies between the first and last sample at 0.8 of the median speed or more, less
// one period of the cut-off at each end.
SampleRange steady_course(const TowChannels& c, const TowSettings& settings) {
  const std::vector<bool> go = moving(c, settings);
  SampleRange best;
  for (const SampleRange piece : c.segments) {
    std::vector<bool> flag(go.begin() + static_cast<std::ptrdiff_t>(piece.begin),
                           go.begin() + static_cast<std::ptrdiff_t>(piece.end));
    for (const SampleRange s : stretches(flag)) {
      if (s.size() > best.size()) best = {piece.begin + s.begin, piece.begin + s.end};
    }
  }
  if (best.size() == 0) return best;
  const std::vector<double>& speed = c.wheel_smooth.empty() ? c.ground_smooth : c.wheel_smooth;
  const double enough = 0.8 * math::median({speed.data() + best.begin, best.size()});
  while (best.size() > 1 && speed[best.begin] < enough) ++best.begin;
  while (best.size() > 1 && speed[best.end - 1] < enough) --best.end;
  const auto period = intervals_up(1 / settings.cut_off_hz, c.interval_s);
  if (best.size() > 2 * period) best = {best.begin + period, best.end - period};
  return best;
}

LagEstimate found_lag(const TowChannels& c, const TowLog& log, const TowSettings& settings, std::string& against) {
  const SampleRange r = steady_course(c, settings);
  LagEstimate none;
  none.status = "no stretch in motion long enough";
  if (static_cast<double>(r.size()) * c.interval_s < 4 * settings.lag_max_s + 2) return none;
  const auto every = std::max<std::size_t>(1, intervals_down(1 / (20 * settings.cut_off_hz), c.interval_s));
  const double step = c.interval_s * static_cast<double>(every);
  const std::vector<double> pull = thinned(c.pull_smooth_n, r, every);
  const std::vector<double> speed = thinned(c.ground_smooth, r, every);
  std::vector<double> inertia(speed.size(), 0);
  if (c.mass_eff_kg) {
    inertia = rate_of(speed, step);
    for (double& a : inertia) a *= *c.mass_eff_kg;
  }
  const double sign = log.kind == LogKind::towed ? 1 : -1;  // a towed vehicle's line also accelerates it
  const bool by_slip = log.kind == LogKind::tow && !c.wheel_smooth.empty();
  if (!by_slip && !c.mass_eff_kg) {
    none.status = "needs wheel speeds, or gravity for the inertia term";
    return none;
  }
  against =
      by_slip ? (c.mass_eff_kg ? "pull explained by slip and acceleration" : "pull explained by slip") : "acceleration";
  std::vector<double> quotient;
  if (by_slip) {
    quotient = thinned(c.wheel_smooth, r, every);
    for (std::size_t i = 0; i < quotient.size(); ++i) quotient[i] = speed[i] / quotient[i];
  }
  const std::vector<double> follower = without_slow_part(pull, step, settings.cut_off_hz);
  LagEstimate lag;
  lag.lag_s = 0;
  for (int pass = 0; pass < (by_slip ? 4 : 1); ++pass) {
    std::vector<double> leader(pull.size(), 0);
    if (by_slip) {
      std::vector<double> target = advanced(pull, lag.lag_s / step);
      for (std::size_t i = 0; i < target.size(); ++i) target[i] -= sign * inertia[i];
      leader = cubic_through(quotient, target);
      if (leader.empty()) return none;
    }
    for (std::size_t i = 0; i < leader.size(); ++i) leader[i] += sign * inertia[i];
    lag = estimate_lag({.follower = follower, .leader = without_slow_part(leader, step, settings.cut_off_hz)},
                       {.interval_s = step, .max_lag_s = settings.lag_max_s});
    if (!std::isfinite(lag.lag_s)) return lag;
  }
  return lag;
}

}  // namespace

ZeroReading take_zero(TowChannels& c, const TowLog& log, const TowSettings& settings, base::Problems& problems) {
  c.pull_zeroed_n = c.pull_n;
  ZeroReading zero;
  if (log.zero_from_s && log.zero_to_s) {
    zero = marked_zero(c, log, settings, problems);
    c.pull_zeroed_n = c.pull_n;
    return zero;
  }
  const auto remark_none = [&](const std::string& note, const std::string& value) {
    zero.note = note;
    if (c.pull_n.empty()) return;
    problems.remark({.place = {.file = log.source.file, .line = c.line.front(), .key = log.source.id},
                     .what = "no zero was taken for the load cell: " + note,
                     .value = value,
                     .remedy = "mark a stationary stretch with a slack line"});
  };
  const std::vector<SampleRange> still = still_ranges(c, settings);
  if (still.empty()) {
    remark_none(fmt::format("no stationary stretch of {} s", settings.zero_min_s), "");
    return zero;
  }
  const Still first = read_still(c, still.front()), last = read_still(c, still.back());
  const double largest = largest_departure(c.pull_n, first.mean);
  const bool two = still.size() > 1;
  const double apart = std::abs(last.mean - first.mean);
  const bool agree = two && apart <= std::max(settings.zero_drift_share_max * largest,
                                              3 * std::hypot(first.standard_error, last.standard_error));
  if (!agree && !(std::abs(first.mean) <= settings.zero_share_max * largest) && !c.pull_n.empty()) {
    remark_none("the line may be taut in the stationary stretch",
                force_words(first.mean, settings) + " of at most " + force_words(largest, settings));
    return zero;
  }
  fill(zero, first);
  zero.source = ZeroSource::found;
  if (agree) {
    zero.source = ZeroSource::found_both_ends;
    zero.to_s = last.to_s;
    zero.drift_n_per_s = (last.mean - first.mean) / (last.middle_s() - first.middle_s());
    zero.pull_sd_n = 0.5 * std::hypot(first.standard_error, last.standard_error);
    zero.noise_sd_n = std::sqrt(0.5 * (first.noise_sd * first.noise_sd + last.noise_sd * last.noise_sd));
  } else if (two) {
    zero.note = fmt::format("stationary stretch at the end not taken: {} from the first", force_words(last.mean - first.mean, settings));
  }
  take_off(c, first.mean, first.middle_s(), zero.drift_n_per_s);
  // A vehicle held on a slope by its drive has torque at standstill; below 1 degree that is noise.
  if (!c.torque_n_m.empty() && log.conditions.gradient_stated && std::abs(log.conditions.gradient_rad) < 0.0175) {
    take_torque_off(c, first.torque, zero);
  }
  c.pull_zeroed_n = c.pull_n;
  return zero;
}

LagReading take_lag(TowChannels& c, const TowLog& log, const TowSettings& settings, base::Problems& problems) {
  LagReading out;
  if (c.pull_n.empty() || c.ground_smooth.empty() || log.kind == LogKind::coast_down) return out;
  const LagEstimate lag = found_lag(c, log, settings, out.against);
  if (std::isfinite(lag.lag_s)) {
    out.estimated_s = lag.lag_s;
    out.correlation = lag.correlation;
    out.standard_error_s = lag.standard_error_s;
  }
  const bool trusted = out.estimated_s && !lag.at_end_of_search && lag.correlation >= settings.lag_correlation_min &&
                       lag.standard_error_s < 0.25 * settings.lag_max_s;
  if (log.lag_s) {
    out.source = LagSource::stated;
    out.lag_s = *log.lag_s;
    if (trusted && std::abs(lag.lag_s - *log.lag_s) > std::max(3 * lag.standard_error_s, 2 * c.interval_s)) {
      problems.remark(
          {.place = {.file = log.source.file, .key = log.source.id},
           .what = "the stated lag differs from the one in the log",
           .value = fmt::format("{:.3f} s stated, {:.3f} +/- {:.3f} s found", *log.lag_s, lag.lag_s, lag.standard_error_s),
           .remedy = "leave the lag out to use the one found, or check the logger's set-up"});
    }
  } else if (trusted) {
    out.source = LagSource::estimated;
    out.lag_s = lag.lag_s;
  } else {
    out.source = LagSource::not_identified;
  }
  if (out.lag_s == 0) return out;
  for (const SampleRange s : c.segments) {
    const auto moved = advanced({c.pull_n.data() + s.begin, s.size()}, out.lag_s / c.interval_s);
    std::copy(moved.begin(), moved.end(), c.pull_n.begin() + static_cast<std::ptrdiff_t>(s.begin));
  }
  return out;
}

}  // namespace hardpan::records::detail
