// SPDX-License-Identifier: Apache-2.0
// Second-order Butterworth by the bilinear transform with frequency prewarping; each pass has its cut-off raised
// by 1 / (sqrt(2) - 1)^(1/4), so that the pair is 3 dB down at the frequency asked for ([Winter2009],
// from memory). Ends are continued by an odd reflection and each pass starts in the steady state of its first sample.
#include "records/signal.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/assertion.hpp"
#include "math/statistics.hpp"

namespace hardpan::records {
namespace {

struct Biquad {
  double b0, b1, b2, a1, a2;
};

double pass_frequency(double cut_off_hz) { return cut_off_hz / std::pow(std::numbers::sqrt2 - 1, 0.25); }

Biquad butterworth(double interval_s, double cut_off_hz) {
  const double k = std::tan(std::numbers::pi * pass_frequency(cut_off_hz) * interval_s);
  const double norm = 1 / (1 + std::numbers::sqrt2 * k + k * k);
  const double b0 = k * k * norm;
  return {b0, 2 * b0, b0, 2 * (k * k - 1) * norm, (1 - std::numbers::sqrt2 * k + k * k) * norm};
}

// One pass in place, transposed direct form II, from the steady state of the first sample.
void one_pass(const Biquad& f, std::vector<double>& x) {
  const double start = x.front();
  double z2 = (f.b2 - f.a2) * start;
  double z1 = (f.b1 - f.a1) * start + z2;
  for (double& value : x) {
    const double in = value;
    const double out = f.b0 * in + z1;
    z1 = f.b1 * in - f.a1 * out + z2;
    z2 = f.b2 * in - f.a2 * out;
    value = out;
  }
}

// Correlation of follower[i + lag] with leader[i] over their overlap, each about its own mean there.
double correlation_at(const LagChannels& c, std::ptrdiff_t lag) {
  const auto n = static_cast<std::ptrdiff_t>(c.leader.size());
  const std::ptrdiff_t from = std::max<std::ptrdiff_t>(0, -lag), to = std::min(n, n - lag);
  double sum_x = 0, sum_y = 0;
  for (std::ptrdiff_t i = from; i < to; ++i) {
    sum_x += c.leader[static_cast<std::size_t>(i)];
    sum_y += c.follower[static_cast<std::size_t>(i + lag)];
  }
  const double count = static_cast<double>(to - from);
  const double mean_x = sum_x / count, mean_y = sum_y / count;
  double xx = 0, yy = 0, xy = 0;
  for (std::ptrdiff_t i = from; i < to; ++i) {
    const double x = c.leader[static_cast<std::size_t>(i)] - mean_x;
    const double y = c.follower[static_cast<std::size_t>(i + lag)] - mean_y;
    xx += x * x;
    yy += y * y;
    xy += x * y;
  }
  return xx > 0 && yy > 0 ? xy / std::sqrt(xx * yy) : 0;
}

// Standard error of a lag found by least squares of y(t) = m + b x(t - lag): the residual variance, counted with its
// own correlation, over the sum of (b dx/dt)^2.
double lag_standard_error(const LagChannels& c, double lag_samples, double interval_s) {
  const std::vector<double> y = advanced(c.follower, lag_samples);
  std::vector<double> x_in, y_in, rate;
  for (std::size_t i = 1; i + 1 < y.size(); ++i) {
    if (!std::isfinite(y[i])) continue;
    x_in.push_back(c.leader[i]);
    y_in.push_back(y[i]);
    rate.push_back((c.leader[i + 1] - c.leader[i - 1]) / (2 * interval_s));
  }
  if (x_in.size() < 8) return std::numeric_limits<double>::quiet_NaN();
  const math::LineFit line = math::fit_line(x_in, y_in);
  std::vector<double> residual(x_in.size());
  double moving = 0;
  for (std::size_t i = 0; i < x_in.size(); ++i) {
    residual[i] = y_in[i] - line.intercept - line.slope * x_in[i];
    moving += line.slope * line.slope * rate[i] * rate[i];
  }
  const SeriesMean noise = series_mean(residual);
  if (noise.constant) return 0;  // no residual at all: the channels are copies
  const double correlated = static_cast<double>(residual.size()) / noise.n_effective;
  return std::sqrt(math::variance(residual) * correlated / moving);
}

}  // namespace

std::size_t intervals_up(double duration_s, double interval_s) {
  return static_cast<std::size_t>(std::max(0.0, std::ceil(duration_s / interval_s - 1e-6)));
}

std::size_t intervals_down(double duration_s, double interval_s) {
  return static_cast<std::size_t>(std::max(0.0, std::floor(duration_s / interval_s + 1e-6)));
}

double median_interval_s(std::span<const double> time_s) {
  HARDPAN_ASSERT(time_s.size() >= 2);
  std::vector<double> step(time_s.size() - 1);
  for (std::size_t i = 0; i < step.size(); ++i) step[i] = time_s[i + 1] - time_s[i];
  const auto middle = step.begin() + static_cast<std::ptrdiff_t>(step.size() / 2);
  std::nth_element(step.begin(), middle, step.end());
  return *middle;
}

std::vector<SampleRange> split_at_gaps(std::span<const double> time_s, double gap_s) {
  std::vector<SampleRange> out;
  std::size_t begin = 0;
  for (std::size_t i = 1; i <= time_s.size(); ++i) {
    if (i < time_s.size() && !(time_s[i] - time_s[i - 1] > gap_s)) continue;
    if (i > begin) out.push_back({begin, i});
    begin = i;
  }
  return out;
}

double unevenness(std::span<const double> time_s, double interval_s) {
  double worst = 0;
  for (std::size_t i = 1; i < time_s.size(); ++i) {
    worst = std::max(worst, std::abs(time_s[i] - time_s[i - 1] - interval_s) / interval_s);
  }
  return worst;
}

std::vector<double> interpolate(std::span<const double> time_s, std::span<const double> value,
                                std::span<const double> at_s) {
  HARDPAN_ASSERT(time_s.size() == value.size() && !time_s.empty());
  std::vector<double> out;
  out.reserve(at_s.size());
  std::size_t k = 0;
  for (const double t : at_s) {
    while (k + 2 < time_s.size() && time_s[k + 1] < t) ++k;
    if (time_s.size() == 1) {
      out.push_back(value[0]);
      continue;
    }
    const double share = (t - time_s[k]) / (time_s[k + 1] - time_s[k]);
    out.push_back(value[k] + share * (value[k + 1] - value[k]));
  }
  return out;
}

std::vector<double> advanced(std::span<const double> x, double shift_samples) {
  const double whole = std::floor(shift_samples);
  const double share = shift_samples - whole;
  const auto shift = static_cast<std::ptrdiff_t>(whole);
  const auto n = static_cast<std::ptrdiff_t>(x.size());
  std::vector<double> out(x.size(), std::numeric_limits<double>::quiet_NaN());
  for (std::ptrdiff_t i = 0; i < n; ++i) {
    const std::ptrdiff_t at = i + shift;
    if (at < 0 || at >= n || (share > 0 && at + 1 >= n)) continue;
    const double a = x[static_cast<std::size_t>(at)];
    out[static_cast<std::size_t>(i)] = share > 0 ? a + share * (x[static_cast<std::size_t>(at + 1)] - a) : a;
  }
  return out;
}

bool can_low_pass(std::size_t samples, double interval_s, double cut_off_hz) {
  // tan() of the pass frequency must stay well below its pole at half the sampling rate.
  return samples >= 8 && cut_off_hz > 0 && interval_s > 0 && pass_frequency(cut_off_hz) * interval_s < 0.45 &&
         cut_off_hz * interval_s < 0.4;
}

std::vector<double> low_pass_zero_phase(std::span<const double> x, double interval_s, double cut_off_hz) {
  HARDPAN_ASSERT(can_low_pass(x.size(), interval_s, cut_off_hz));
  const Biquad filter = butterworth(interval_s, cut_off_hz);
  // Three time constants of the slow pole pair are settled to 1e-4; the reflection cannot be longer than the series.
  const auto settle = intervals_up(2 / cut_off_hz, interval_s);
  const std::size_t pad = std::min(x.size() - 1, settle);
  std::vector<double> work;
  work.reserve(x.size() + 2 * pad);
  for (std::size_t i = pad; i > 0; --i) work.push_back(2 * x.front() - x[i]);
  work.insert(work.end(), x.begin(), x.end());
  for (std::size_t i = 1; i <= pad; ++i) work.push_back(2 * x.back() - x[x.size() - 1 - i]);
  one_pass(filter, work);
  std::reverse(work.begin(), work.end());
  one_pass(filter, work);
  std::reverse(work.begin(), work.end());
  return {work.begin() + static_cast<std::ptrdiff_t>(pad), work.end() - static_cast<std::ptrdiff_t>(pad)};
}

double low_pass_gain(double frequency_hz, double interval_s, double cut_off_hz) {
  const double f = std::tan(std::numbers::pi * frequency_hz * interval_s);
  const double c = std::tan(std::numbers::pi * pass_frequency(cut_off_hz) * interval_s);
  const double x = f / c;
  return 1 / (1 + x * x * x * x);  // 1 / sqrt(1 + x^4), twice
}

SeriesMean series_mean(std::span<const double> x) {
  SeriesMean out{.mean = math::mean(x)};
  const double n = static_cast<double>(x.size());
  if (x.size() < 2) {
    out.n_effective = n;
    return out;
  }
  const double variance = math::variance(x);
  out.constant = !(variance > 0);
  out.n_effective = 1;
  if (out.constant) return out;
  constexpr std::size_t kMost = 4096;
  const std::size_t block = (x.size() + kMost - 1) / kMost;
  if (block == 1) {
    // Alternating readings would be worth more than their number; that gain is not taken.
    if (const auto ess = math::effective_sample_size(x)) out.n_effective = std::clamp(ess->n_effective, 1.0, n);
  } else {
    std::vector<double> means;
    for (std::size_t i = 0; i + block <= x.size(); i += block) means.push_back(math::mean(x.subspan(i, block)));
    const auto ess = math::effective_sample_size(means);
    const double blocks = static_cast<double>(means.size());
    const double error = math::variance(means) / (ess ? std::clamp(ess->n_effective, 1.0, blocks) : 1.0);
    if (error > 0) out.n_effective = std::clamp(variance / error, 1.0, n);
  }
  out.standard_error = std::sqrt(variance / out.n_effective);
  return out;
}

LagEstimate estimate_lag(const LagChannels& c, const LagSettings& settings) {
  HARDPAN_ASSERT(c.follower.size() == c.leader.size() && settings.interval_s > 0);
  LagEstimate out;
  const auto reach = static_cast<std::ptrdiff_t>(intervals_down(settings.max_lag_s, settings.interval_s));
  if (reach < 1 || c.leader.size() < 4 * static_cast<std::size_t>(reach)) {
    out.status = "series shorter than four times the lag searched";
    return out;
  }
  std::vector<double> r;
  for (std::ptrdiff_t lag = -reach; lag <= reach; ++lag) r.push_back(correlation_at(c, lag));
  const auto best = std::max_element(r.begin(), r.end());
  if (!(*best > 0)) {
    out.status = "a channel does not change";
    return out;
  }
  const auto at = static_cast<std::size_t>(best - r.begin());
  double offset = 0;
  if (at == 0 || at + 1 == r.size()) {
    out.at_end_of_search = true;
  } else {
    const double bend = r[at - 1] - 2 * r[at] + r[at + 1];
    if (bend < 0) offset = 0.5 * (r[at - 1] - r[at + 1]) / bend;
  }
  const double lag_samples = static_cast<double>(at) - static_cast<double>(reach) + offset;
  out.lag_s = lag_samples * settings.interval_s;
  out.correlation = *best;
  out.standard_error_s = lag_standard_error(c, lag_samples, settings.interval_s);
  out.status = out.at_end_of_search ? "best at the end of the lags searched" : "ok";
  return out;
}

double straight_change(std::span<const double> x) {
  const auto all = rolling_change(x, x.size());
  return all.front();
}

std::vector<double> rolling_change(std::span<const double> x, std::size_t window) {
  HARDPAN_ASSERT(window >= 2 && x.size() >= window);
  const double m = static_cast<double>(window);
  const double middle = 0.5 * (m - 1);
  const double sum_kk = m * (m * m - 1) / 12;  // of (k - middle)^2
  std::vector<double> out(x.size() - window + 1);
  const double zero = x.front();  // a constant changes no slope, but a large one costs digits
  double sum = 0, sum_k = 0;
  for (std::size_t i = 0; i < out.size(); ++i) {
    // Every 4096 steps the running sums are made anew, so that rounding does not build up over millions of rows.
    if (i % 4096 == 0) {
      sum = sum_k = 0;
      for (std::size_t k = 0; k < window; ++k) {
        sum += x[i + k] - zero;
        sum_k += static_cast<double>(k) * (x[i + k] - zero);
      }
    } else {
      const double gone = x[i - 1] - zero, come = x[i + window - 1] - zero;
      sum_k += (m - 1) * come - (sum - gone);
      sum += come - gone;
    }
    out[i] = (sum_k - middle * sum) / sum_kk * (m - 1);
  }
  return out;
}

std::vector<SampleRange> stretches(const std::vector<bool>& flag) {
  std::vector<SampleRange> out;
  std::size_t begin = 0;
  for (std::size_t i = 0; i <= flag.size(); ++i) {
    if (i < flag.size() && flag[i]) continue;
    if (i > begin) out.push_back({begin, i});
    begin = i + 1;
  }
  return out;
}

}  // namespace hardpan::records
