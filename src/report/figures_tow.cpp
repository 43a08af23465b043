// SPDX-License-Identifier: Apache-2.0
// The time strip of a tow run: pull, speeds and slip with the windows that were taken.
#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/core.h>

#include "report/detail/draw.hpp"

namespace hardpan::report::detail {
namespace {

using records::TowReduction;

// The channels of one run on one clock, filtered where the run was traced, else as logged.
struct Strip {
  std::vector<double> time_s, pull_n, wheel_rad_s, ground_m_s;
  bool filtered = false;
};

std::optional<Strip> strip_of(const campaign::Results& r, const TowReduction& log) {
  if (log.trace && !log.trace->time_s.empty()) {
    const records::Trace& t = *log.trace;
    Strip s{t.time_s, t.pull_filtered_n.empty() ? t.pull_zeroed_n : t.pull_filtered_n,
            t.wheel_speed_filtered_rad_per_s.empty() ? t.wheel_speed_rad_per_s : t.wheel_speed_filtered_rad_per_s,
            t.ground_speed_filtered_m_per_s.empty() ? t.ground_speed_m_per_s : t.ground_speed_filtered_m_per_s, log.filtered};
    return s;
  }
  for (const records::TowLog& raw : r.campaign.driving.logs) {
    if (raw.source.id != log.id || raw.time_s.empty()) continue;
    Strip s{raw.time_s, raw.pull_n, {}, raw.ground_speed_m_per_s, false};
    for (std::size_t i = 0; i < s.pull_n.size() && i < s.time_s.size(); ++i) {
      const double since = s.time_s[i] - 0.5 * (log.zero.from_s + log.zero.to_s);
      s.pull_n[i] -= log.zero.pull_n + log.zero.drift_n_per_s * since;
    }
    for (std::size_t i = 0; i < s.time_s.size() && !raw.wheel_speed_rad_per_s.empty(); ++i) {
      double sum = 0;
      std::size_t n = 0;
      for (const auto& wheel : raw.wheel_speed_rad_per_s) {
        if (i >= wheel.size()) continue;
        sum += wheel[i];
        ++n;
      }
      s.wheel_rad_s.push_back(n > 0 ? sum / static_cast<double>(n) : std::nan(""));
    }
    return s;
  }
  return std::nullopt;
}

// Finite readings of one channel against time.
Series channel(const std::string& name, const std::vector<double>& time_s, const std::vector<double>& value, double factor, const InUnit& unit, std::size_t style) {
  Series s{.kind = Kind::line, .name = name, .style = style};
  for (std::size_t i = 0; i < value.size() && i < time_s.size(); ++i) {
    if (!std::isfinite(value[i]) || !std::isfinite(time_s[i])) continue;
    s.x.push_back(time_s[i]);
    s.y.push_back(unit(factor * value[i]));
  }
  return s;
}

// A zero with drift is taken from two stretches, of which only the outer ends are kept: the vehicle stands from
// there until it moves. Without a ground speed, or where it stands throughout, it is one stretch.
std::vector<std::pair<double, double>> standing(const Strip& s, double from_s, double to_s) {
  constexpr double kMoving = 0.05;  // of the largest speed in between
  double fastest = 0, first_move = to_s, last_move = from_s;
  const std::size_t n = std::min(s.time_s.size(), s.ground_m_s.size());
  for (std::size_t i = 0; i < n; ++i) fastest = std::max(fastest, std::isfinite(s.ground_m_s[i]) ? std::abs(s.ground_m_s[i]) : 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    if (s.time_s[i] < from_s || s.time_s[i] > to_s || !(std::abs(s.ground_m_s[i]) > kMoving * fastest)) continue;
    first_move = std::min(first_move, s.time_s[i]);
    last_move = std::max(last_move, s.time_s[i]);
  }
  if (!(first_move < last_move)) return {{from_s, to_s}};
  std::vector<std::pair<double, double>> out;
  if (first_move > from_s) out.emplace_back(from_s, first_move);
  if (to_s > last_move) out.emplace_back(last_move, to_s);
  return out;
}

Figure strip_figure(const campaign::Results& r, const TowReduction& log, const Strip& strip, const std::vector<const records::PullWindow*>& windows,
                    std::size_t of_runs, const Printer& print) {
  const Axis time{.label = "Time", .unit = "s"};
  const std::string zone = windows.empty() ? "" : windows.front()->zone;
  Figure f{.id = "tow-strip-" + slug(log.id), .title = "Tow run " + log.run + " of " + vehicle_name(r, log.vehicle) + (zone.empty() ? "" : " on " + zone),
           .shared_x = true};
  if (!strip.pull_n.empty()) {
    const InUnit force{print.common(strip.pull_n, kForce)};
    Panel p{.x = time, .y = {.label = "Pull", .unit = force.spelling(), .from_zero = true}, .share = 1.3};
    p.series.push_back(channel("", strip.time_s, strip.pull_n, 1, force, 0));
    f.panels.push_back(std::move(p));
  }
  const double radius = log.radius.radius_m;
  std::vector<double> speeds = strip.ground_m_s;
  const InUnit speed{print.common(speeds, kSpeed)};
  Panel s{.x = time, .y = {.label = "Speed", .unit = speed.spelling(), .from_zero = true}};
  if (!strip.wheel_rad_s.empty() && radius > 0) s.series.push_back(channel("rolling speed of the wheels", strip.time_s, strip.wheel_rad_s, radius, speed, 1));
  if (!strip.ground_m_s.empty()) s.series.push_back(channel("travel speed", strip.time_s, strip.ground_m_s, 1, speed, 0));
  if (!s.series.empty()) f.panels.push_back(std::move(s));
  Panel slip{.x = time, .y = {.label = "Slip", .unit = "%", .from_zero = true}};
  Series means{.kind = Kind::points, .name = "window mean, 95 %", .style = 0};
  for (const records::PullWindow* w : windows) {
    if (!w->slip_ratio || !std::isfinite(*w->slip_ratio)) continue;
    means.x.push_back(0.5 * (w->from_s + w->to_s));
    means.x_lo.push_back(w->from_s);
    means.x_hi.push_back(w->to_s);
    means.y.push_back(100 * *w->slip_ratio);
    means.y_lo.push_back(100 * (*w->slip_ratio - 1.96 * w->slip_se));
    means.y_hi.push_back(100 * (*w->slip_ratio + 1.96 * w->slip_se));
  }
  if (!means.x.empty()) {
    slip.series.push_back(std::move(means));
    f.panels.push_back(std::move(slip));
  }
  for (Panel& p : f.panels) {
    const bool first = &p == &f.panels.front();
    if (first && log.zero.source != records::ZeroSource::none && log.zero.to_s > log.zero.from_s) {
      for (const auto& [from, to] : standing(strip, log.zero.from_s, log.zero.to_s)) p.shades.push_back({Along::x, from, to, "zero", Fill::hatch_up});
    }
    std::size_t n = 0;
    for (const records::PullWindow* w : windows) {
      ++n;
      p.shades.push_back({Along::x, w->from_s, w->to_s, first && windows.size() <= 12 ? std::to_string(n) : "", Fill::tint});
    }
  }
  f.caption = fmt::format("{}; {}.", strip.filtered ? fmt::format("Channels smoothed both ways at {:g} Hz", log.cut_off_hz) : std::string("Channels as logged, zero taken off the pull"),
                          windows.empty() ? "no window was taken" : "windows shaded, their means are of unsmoothed channels");
  if (log.status != math::kStatusOk && !log.status.empty()) f.caption += " " + log.status + ".";
  if (log.slip_status != math::kStatusOk && !log.slip_status.empty()) f.caption += " No slip: " + log.slip_status + ".";
  if (radius > 0) f.caption += " Rolling radius " + print.value(radius, kLength) + ", " + vehicle::name(log.radius.condition) + ".";
  if (of_runs > 1) f.caption += fmt::format(" One of {} runs of this vehicle here: the one with most windows.", of_runs);
  f.provenance = small_print(r, "record " + log.id);
  return f;
}

}  // namespace

Slot tow_slot(const campaign::Results& r) {
  Slot slot{"tow-strip", "Time strip of a tow run with its windows", {}, ""};
  const Printer print(r.campaign.output_units);
  struct Best {
    const TowReduction* log = nullptr;
    std::vector<const records::PullWindow*> windows;
    std::size_t runs = 0;
  };
  std::vector<std::pair<std::pair<std::string, std::string>, Best>> groups;
  for (const TowReduction& log : r.drawbar.logs) {
    if (log.kind != records::LogKind::tow) continue;
    std::vector<const records::PullWindow*> windows;
    for (const records::PullWindow& w : r.drawbar.windows) {
      if (w.id == log.id && !w.by_hand) windows.push_back(&w);
    }
    std::string zone;
    for (const records::TowLog& raw : r.campaign.driving.logs) {
      if (raw.source.id == log.id) zone = raw.source.zone;
    }
    if (!windows.empty()) zone = windows.front()->zone;
    auto at = std::find_if(groups.begin(), groups.end(), [&](const auto& g) { return g.first == std::pair{log.vehicle, zone}; });
    if (at == groups.end()) at = groups.insert(groups.end(), {{log.vehicle, zone}, {}});
    ++at->second.runs;
    if (!at->second.log || windows.size() > at->second.windows.size()) {
      at->second.log = &log;
      at->second.windows = std::move(windows);
    }
  }
  for (const auto& [key, best] : groups) {
    const auto strip = strip_of(r, *best.log);
    if (!strip) continue;
    Figure f = strip_figure(r, *best.log, *strip, best.windows, best.runs, print);
    if (!f.panels.empty()) slot.figures.push_back(std::move(f));
  }
  if (slot.figures.empty()) {
    slot.missing = r.campaign.driving.logs.empty() && r.drawbar.logs.empty() ? "There is no tow log in this campaign; hand tow sheets have no clock."
                                                                             : "No tow log left channels to draw.";
  }
  return slot;
}

}  // namespace hardpan::report::detail
