// SPDX-License-Identifier: Apache-2.0
// Where a log is cut: steady stretches, bins of a continuous sweep, or stretches of a coast-down.
//
// A sample is steady when some window of the least length that covers it changes by less than the stated limits in pull
// over weight, slip and inertia over weight. Stretches of steady samples are then cut into windows and each is tested
// again over its own length, so that a slow creep does not hide in a long one.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "records/detail/tow_channels.hpp"
#include "units/print.hpp"

namespace hardpan::records::detail {
namespace {

std::span<const double> part(const std::vector<double>& x, SampleRange r) { return {x.data() + r.begin, r.size()}; }

// Largest share of its limit that any channel changes by over [begin, begin + n) of the piece, for each begin.
std::vector<double> worst_change(const TowChannels& c, const TowSettings& t, const std::vector<double>& slip, SampleRange r,
                                 std::size_t n) {
  std::vector<double> worst(r.size() - n + 1, 0);
  const auto judge = [&](const std::vector<double>& x, double limit) {
    if (x.empty()) return;
    const std::vector<double> change = rolling_change(part(x, r), n);
    for (std::size_t i = 0; i < worst.size(); ++i) {
      const double share = std::abs(change[i]) / limit;
      worst[i] = std::max(worst[i], share);  // all finite: wheels in motion have a slip
    }
  };
  judge(c.pull_smooth_n, t.steady_pull_change_of_weight * c.weight_n);
  judge(slip, t.steady_slip_change);
  if (c.mass_eff_kg && !c.ground_smooth.empty()) {
    const double duration = static_cast<double>(n - 1) * c.interval_s;
    judge(c.ground_smooth, t.steady_inertia_of_weight * c.weight_n / *c.mass_eff_kg * duration);
  }
  if (slip.empty() && !c.wheel_smooth.empty() && c.pull_n.empty()) {
    double sum = 0;
    for (const double w : part(c.wheel_smooth, r)) sum += w;
    judge(c.wheel_smooth, t.steady_speed_change * std::abs(sum) / static_cast<double>(r.size()));
  }
  return worst;
}

// Cuts a steady stretch into windows no longer than allowed; halves those that creep, drops those too short.
void cut_steady(const TowChannels& c, const TowSettings& t, const std::vector<double>& slip, SampleRange stretch,
                std::size_t least, std::vector<SampleRange>& out) {
  if (stretch.size() < least) return;
  const auto most = std::max(least, intervals_down(t.window_max_s, c.interval_s) + 1);
  const std::size_t pieces = (stretch.size() + most - 1) / most;
  if (pieces > 1) {
    for (std::size_t k = 0; k < pieces; ++k) {
      cut_steady(c, t, slip,
                 {stretch.begin + k * stretch.size() / pieces, stretch.begin + (k + 1) * stretch.size() / pieces}, least,
                 out);
    }
    return;
  }
  if (worst_change(c, t, slip, stretch, stretch.size()).front() <= 1) {
    out.push_back(stretch);
  } else if (stretch.size() >= 2 * least) {
    const std::size_t half = stretch.begin + stretch.size() / 2;
    cut_steady(c, t, slip, {stretch.begin, half}, least, out);
    cut_steady(c, t, slip, {half, stretch.end}, least, out);
  }
}

std::vector<SampleRange> steady_windows(const TowChannels& c, const TowSettings& t, const std::vector<double>& slip,
                                        const std::vector<SampleRange>& in_motion) {
  const auto least = intervals_up(t.window_min_s, c.interval_s) + 1;
  std::vector<SampleRange> out;
  for (const SampleRange r : in_motion) {
    if (r.size() < least) continue;
    const std::vector<double> worst = worst_change(c, t, slip, r, least);
    std::vector<bool> steady(r.size(), false);
    for (std::size_t i = 0; i < worst.size(); ++i) {
      if (worst[i] <= 1 && (i == 0 || !(worst[i - 1] <= 1)))
        std::fill_n(steady.begin() + static_cast<std::ptrdiff_t>(i), least, true);
      else if (worst[i] <= 1) steady[i + least - 1] = true;
    }
    // Half a period of the cut-off at either end may still belong to the change before or after, smeared by the filter.
    const std::size_t edge = intervals_up(0.5 / t.cut_off_hz, c.interval_s);
    for (const SampleRange s : stretches(steady)) {
      const SampleRange kept{r.begin + s.begin + edge, r.begin + s.end - std::min(s.end, edge)};
      if (kept.end > kept.begin) cut_steady(c, t, slip, kept, least, out);
    }
  }
  return out;
}

// Follows the sweep: a bin ends when slip has covered its width, but never before the least duration.
std::vector<SampleRange> sweep_bins(const TowChannels& c, const TowSettings& t, const std::vector<double>& slip,
                                    const std::vector<SampleRange>& in_motion) {
  const auto least = std::max<std::size_t>(2, intervals_up(t.sweep_bin_min_s, c.interval_s));
  const auto most = std::max(least, intervals_down(t.window_max_s, c.interval_s));
  std::vector<SampleRange> out;
  for (const SampleRange r : in_motion) {
    std::size_t begin = r.begin;
    double lo = INFINITY, hi = -INFINITY;
    for (std::size_t i = r.begin; i < r.end; ++i) {
      if (!std::isfinite(slip[i])) {
        begin = i + 1;
        lo = INFINITY, hi = -INFINITY;
        continue;
      }
      lo = std::min(lo, slip[i]), hi = std::max(hi, slip[i]);
      const std::size_t size = i + 1 - begin;
      if (size >= least && (hi - lo > t.sweep_bin_slip || size >= most)) {
        out.push_back({begin, i + 1});
        begin = i + 1;
        lo = INFINITY, hi = -INFINITY;
      }
    }
    if (r.end - begin >= least && r.end > begin) out.push_back({begin, r.end});
  }
  return out;
}

// From shortly after the largest speed until the vehicle nearly stands, in up to eight equal parts.
std::vector<SampleRange> coast_parts(const TowChannels& c, const TowSettings& t) {
  SampleRange best;
  for (const SampleRange piece : c.segments) {
    std::size_t top = piece.begin;
    for (std::size_t i = piece.begin; i < piece.end; ++i) {
      if (c.ground_smooth[i] > c.ground_smooth[top]) top = i;
    }
    std::size_t end = top;
    while (end < piece.end && c.ground_smooth[end] >= t.moving_speed_m_per_s) ++end;
    // The smoothing rounds off both corners over about half its period.
    const auto corner = intervals_up(0.5 / t.cut_off_hz, c.interval_s);
    if (end > top + 2 * corner && end - top - 2 * corner > best.size()) best = {top + corner, end - corner};
  }
  std::vector<SampleRange> out;
  const double duration = static_cast<double>(best.size()) * c.interval_s;
  const auto parts = static_cast<std::size_t>(std::clamp(std::floor(duration), 1.0, 8.0));
  if (best.size() < 8) return out;
  for (std::size_t k = 0; k < parts; ++k) {
    const SampleRange r{best.begin + k * best.size() / parts, best.begin + (k + 1) * best.size() / parts};
    if (r.size() >= 4) out.push_back(r);
  }
  return out;
}

std::vector<SampleRange> motion_ranges(const TowChannels& c, const TowSettings& t) {
  const std::vector<bool> go = moving(c, t);
  std::vector<SampleRange> out;
  for (const SampleRange piece : c.segments) {
    std::vector<bool> flag(piece.size());
    for (std::size_t i = 0; i < flag.size(); ++i) {
      const std::size_t k = piece.begin + i;
      flag[i] = go[k] && (c.pull_n.empty() || std::isfinite(c.pull_n[k]));
    }
    for (const SampleRange s : stretches(flag)) out.push_back({piece.begin + s.begin, piece.begin + s.end});
  }
  return out;
}

std::size_t covered(const std::vector<SampleRange>& ranges) {
  std::size_t sum = 0;
  for (const SampleRange r : ranges) sum += r.size();
  return sum;
}

}  // namespace

WindowPlan plan_windows(const TowChannels& c, const TowLog& log, const TowSettings& t) {
  WindowPlan plan;
  if (log.kind == LogKind::coast_down) {
    plan.mode_used = WindowMode::sweep;
    if (c.ground_smooth.empty()) {
      plan.status = "a coast-down needs a ground speed";
    } else {
      plan.ranges = coast_parts(c, t);
      plan.status = plan.ranges.empty() ? "no stretch of falling speed" : "ok";
    }
    return plan;
  }
  const std::vector<SampleRange> in_motion = motion_ranges(c, t);
  if (in_motion.empty()) {
    plan.status = fmt::format("nothing moves: no speed of {} or more", units::print_quantity(t.moving_speed_m_per_s, units::Dimension::speed, t.output_units));
    return plan;
  }
  const std::vector<double> slip = smooth_slip(c);
  const bool can_sweep = !slip.empty() && !c.pull_n.empty() && log.kind == LogKind::tow;
  if (t.mode != WindowMode::sweep || !can_sweep) plan.ranges = steady_windows(c, t, slip, in_motion);
  const bool too_few =
      static_cast<double>(covered(plan.ranges)) < t.steady_share_min * static_cast<double>(covered(in_motion));
  if (can_sweep && (t.mode == WindowMode::sweep || (t.mode == WindowMode::automatic && too_few))) {
    plan.mode_used = WindowMode::sweep;
    plan.ranges = sweep_bins(c, t, slip, in_motion);
  }
  if (t.mode == WindowMode::sweep && !can_sweep) {
    plan.status = plan.ranges.empty() ? "a sweep needs pull, slip and its rolling radius; no steady stretch either" : "ok";
  } else {
    plan.status = !plan.ranges.empty() ? "ok"
                  : can_sweep          ? "no stretch long enough"
                                       : fmt::format("no steady stretch of {} s", t.window_min_s);
  }
  return plan;
}

}  // namespace hardpan::records::detail
