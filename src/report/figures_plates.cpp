// SPDX-License-Identifier: Apache-2.0
// Pressure against sinkage, and the reference point against clock time.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

#include <fmt/core.h>

#include "report/detail/draw.hpp"

namespace hardpan::report::detail {
namespace {

using records::Mark;
using records::PlateCurve;

constexpr std::size_t kMostReadings = 80;   // drawn of one push
constexpr std::size_t kMostNames = 12;      // points labelled in the figure
constexpr Shape kPointShapes[] = {Shape::circle, Shape::square, Shape::triangle_up, Shape::triangle_down, Shape::diamond};

struct ZonePlates {
  const records::ZoneGround& zone;
  std::vector<const PlateCurve*> curves;
  std::vector<std::string> points;
  std::vector<double> widths;
};

std::size_t index_of(const std::vector<std::string>& all, const std::string& one) {
  return static_cast<std::size_t>(std::find(all.begin(), all.end(), one) - all.begin());
}

std::size_t width_index(const std::vector<double>& widths, double width) {
  std::size_t best = 0;
  for (std::size_t k = 1; k < widths.size(); ++k) {
    if (std::abs(widths[k] - width) < std::abs(widths[best] - width)) best = k;
  }
  return best;
}

// Which shape stands for which point.
std::string shape_words(const std::vector<std::string>& points) {
  constexpr const char* kNames[] = {"disc", "square", "triangle up", "triangle down", "diamond"};
  std::string out;
  for (std::size_t k = 0; k < points.size() && points.size() > 1; ++k) {
    out += (k == 0 ? " Shapes: " : ", ") + points[k] + (k / std::size(kNames) % 2 == 1 ? " open " : " ") + kNames[k % std::size(kNames)];
  }
  return out.empty() ? out : out + ".";
}

void add_readings(Panel& panel, const ZonePlates& z, const InUnit& depth, const InUnit& pressure, const Printer& print, bool log) {
  std::vector<bool> named(z.widths.size() + 1, false);
  Series aside{.kind = Kind::points, .name = "excluded: loop, spike, outside the window", .style = 5, .marker = Marker{Shape::plus}};
  for (const PlateCurve* c : z.curves) {
    const std::size_t w = width_index(z.widths, c->plate.width_m());
    const std::size_t point = index_of(z.points, c->source.point);
    Series s{.kind = Kind::points, .style = w,
             .marker = Marker{kPointShapes[point % std::size(kPointShapes)], point >= std::size(kPointShapes)}};
    if (!named[w]) s.name = "b = " + print.value(c->plate.width_m(), kLength);
    const std::size_t every = stride(c->count(Mark::kept), kMostReadings), rest = stride(c->mark.size(), kMostReadings);
    std::size_t seen = 0;
    for (std::size_t i = 0; i < c->mark.size(); ++i) {
      const double zd = c->depth_m[i], p = c->pressure_pa[i];
      if (!std::isfinite(zd) || !std::isfinite(p) || zd < 0 || (log && !(zd > 0 && p > 0))) continue;
      if (c->mark[i] == Mark::kept) {
        if (seen++ % every != 0) continue;
        s.x.push_back(depth(zd));
        s.y.push_back(pressure(p));
      } else if (c->mark[i] == Mark::spike || ((c->mark[i] == Mark::loop || c->mark[i] == Mark::outside_window) && i % rest == 0)) {
        aside.x.push_back(depth(zd));
        aside.y.push_back(pressure(p));
      }
    }
    if (s.x.empty()) continue;
    named[w] = true;
    // One label a point, at the curve that ends highest: the shape tells its other pushes.
    if (!log && z.points.size() > 1 && z.points.size() <= kMostNames && !c->source.point.empty()) {
      const auto known = std::find_if(panel.notes.begin(), panel.notes.end(), [&](const Note& n) { return n.text == c->source.point; });
      if (known == panel.notes.end()) panel.notes.push_back({s.x.back(), s.y.back(), c->source.point});
      else if (s.y.back() > known->y) *known = {s.x.back(), s.y.back(), c->source.point};
    }
    panel.series.push_back(std::move(s));
  }
  if (!aside.x.empty()) panel.series.push_back(std::move(aside));
}

void add_fit(Panel& panel, const ZonePlates& z, const InUnit& depth, const InUnit& pressure, bool log) {
  const records::PlateFit& fit = z.zone.plates->chosen;
  if (!fit.ok() || !(fit.window_from_m >= 0) || !(fit.window_to_m > fit.window_from_m)) return;
  panel.shades.push_back({Along::x, depth(fit.window_from_m), depth(fit.window_to_m), "fit window", Fill::tint});
  bool named = false;
  for (std::size_t w = 0; w < z.widths.size(); ++w) {
    const auto law = soil::depth_law(fit.bearing, z.widths[w]);
    if (!law) continue;
    Series line{.kind = Kind::line, .name = named ? "" : "fit", .style = w};
    const double from = std::max(fit.window_from_m, 1e-3 * fit.window_to_m);
    const double to = fit.bearing.below && z.zone.tested.sinkage_m ? std::max(fit.window_to_m, z.zone.tested.sinkage_m->hi) : fit.window_to_m;
    for (const double zd : log ? log_steps(from, to, 40) : even_steps(from, to, 60)) {
      line.x.push_back(depth(zd));
      line.y.push_back(pressure(law->pressure_pa(zd)));
    }
    named = true;
    panel.series.push_back(std::move(line));
  }
}

// Pressures the wheels put on this ground at the working slip.
void add_wheels(Panel& panel, const campaign::Results& r, const std::string& zone, const InUnit& pressure) {
  for (const campaign::PairResult& pair : r.pairs) {
    const math::Interval& used = pair.prediction.used.pressure_pa;
    if (pair.zone != zone || !std::isfinite(used.lo) || !std::isfinite(used.hi) || !(used.hi > 0)) continue;
    const double pad = std::max(0.0, 0.02 * used.hi - 0.5 * used.width());  // a single pressure still has to be seen
    panel.shades.push_back({Along::y, pressure(std::max(0.5 * used.lo, used.lo - pad)), pressure(used.hi + pad),
                            "wheels of " + vehicle_name(r, pair.vehicle), std::nullopt});
  }
}

// Seconds since midnight of an ISO local time; nothing where there is no time of day.
std::optional<double> seconds_of_day(const std::string& iso) {
  const std::size_t t = iso.find_first_of("T ");
  int hour = 0, minute = 0;
  double second = 0;
  if (t == std::string::npos || std::sscanf(iso.c_str() + t + 1, "%d:%d:%lf", &hour, &minute, &second) < 2) return std::nullopt;
  return 3600.0 * hour + 60.0 * minute + second;
}

}  // namespace

Slot pressure_sinkage_slot(const campaign::Results& r) {
  Slot slot{"pressure-sinkage", "Pressure against sinkage", {}, ""};
  const Printer print(r.campaign.output_units);
  for (const records::ZoneGround& zone : r.ground.zones) {
    if (!zone.plates) continue;
    ZonePlates z{zone, {}, {}, zone.plates->widths_m};
    std::vector<double> depths, pressures;
    for (const PlateCurve& c : r.ground.plate_curves) {
      if (c.source.zone != zone.zone) continue;
      z.curves.push_back(&c);
      if (index_of(z.points, c.source.point) == z.points.size()) z.points.push_back(c.source.point);
      if (z.widths.empty()) z.widths.push_back(c.plate.width_m());
      for (std::size_t i = 0; i < c.mark.size(); ++i) {
        if (c.mark[i] != Mark::kept) continue;
        depths.push_back(c.depth_m[i]);
        pressures.push_back(c.pressure_pa[i]);
      }
    }
    if (depths.empty()) continue;
    const InUnit depth{print.common(depths, kLength)}, pressure{print.common(pressures, kPressure)};
    for (const bool log : {false, true}) {
      Panel panel{.x = {.label = "Sinkage", .unit = depth.spelling(), .from_zero = !log}, .y = {.label = "Pressure", .unit = pressure.spelling(), .from_zero = !log}};
      if (log) panel.x.scale = panel.y.scale = Scale::log10;
      add_readings(panel, z, depth, pressure, print, log);
      add_fit(panel, z, depth, pressure, log);
      add_wheels(panel, r, zone.zone, pressure);
      std::string caption = zone.plates->chosen.ok() ? sentence(zone.plates->chosen.basis) : "No law was fitted: " + zone.plates->status + ".";
      caption += " Wheel ranges: pressures under the wheels at the working slip on the level.";
      caption += shape_words(z.points);
      for (const PlateCurve* c : z.curves) {
        if (c->count(Mark::kept) > kMostReadings) {
          caption += fmt::format(" Of each push at most {} readings are drawn, evenly taken.", kMostReadings);
          break;
        }
      }
      slot.figures.push_back({.id = std::string("pressure-sinkage-") + (log ? "log-" : "") + slug(zone.zone.empty() ? "ground" : zone.zone),
                              .title = "Pressure against sinkage" + std::string(log ? ", logarithmic" : "") + ", " + zone_name(r, zone.zone),
                              .caption = caption,
                              .panels = {panel},
                              .provenance = small_print(r, std::to_string(z.curves.size()) + (z.curves.size() == 1 ? " push at " : " pushes at ") + plural(z.points.size(), "point"))});
    }
  }
  if (slot.figures.empty()) {
    slot.missing = r.ground.plate_curves.empty() ? "There is no plate test in this campaign." : "No plate test left readings that a law could describe.";
  }
  return slot;
}

Slot reference_slot(const campaign::Results& r) {
  Slot slot{"reference-point", "Reference point against clock time", {}, ""};
  const records::Drift& drift = r.ground.drift;
  if (drift.readings.empty()) {
    slot.missing = r.campaign.reference_point.empty() ? "No reference point is named, so a change through the day cannot be seen."
                                                      : "The reference point " + r.campaign.reference_point + " was not measured with a plate at stated times.";
    return slot;
  }
  const Printer print(r.campaign.output_units);
  // Clock time where one of the readings carries it; hours since the first point otherwise.
  std::optional<double> midnight_to_start;
  for (const records::PlateTest& t : r.campaign.ground.plates) {
    if (!t.source.clock_s || midnight_to_start) continue;
    if (const auto s = seconds_of_day(t.source.time)) midnight_to_start = *s - *t.source.clock_s;
  }
  double earliest = drift.readings.front().clock_s;
  for (const auto& d : drift.readings) earliest = std::min(earliest, d.clock_s);
  // The axis begins on the day of the first reading, whatever the clock counts from.
  if (midnight_to_start) *midnight_to_start -= 86400 * std::floor((earliest + *midnight_to_start) / 86400);
  const auto at = [&](double clock_s) { return midnight_to_start ? clock_s + *midnight_to_start : clock_s / 3600; };
  std::map<double, Series> by_width;
  std::vector<double> pressures;
  for (const auto& d : drift.readings) pressures.push_back(std::exp(d.level));
  const InUnit pressure{print.common(pressures, kPressure)};
  double first = 1e300, last = -1e300;
  for (const records::ReferenceReading& d : drift.readings) {
    Series& s = by_width[d.width_m];
    s.kind = Kind::points;
    s.name = "b = " + print.value(d.width_m, kLength);
    s.x.push_back(at(d.clock_s));
    s.y.push_back(pressure(std::exp(d.level)));
    first = std::min(first, d.clock_s);
    last = std::max(last, d.clock_s);
  }
  Panel panel{.x = {.label = "Time since the first point", .unit = "h"}, .y = {.label = "Pressure at the reference depth", .unit = pressure.spelling()}};
  if (midnight_to_start) panel.x = {.label = "Local time", .scale = Scale::clock};
  std::size_t style = 0;
  for (auto& [width, s] : by_width) {
    s.style = style;
    if (drift.slope_per_hour && drift.verdict == records::DriftVerdict::trend && last > first) {
      double sum = 0;
      std::size_t n = 0;
      const double slope = drift.slope_per_hour->value / 3600;
      for (const auto& d : drift.readings) {
        if (d.width_m != width) continue;
        sum += d.level - slope * (d.clock_s - drift.middle_clock_s);
        ++n;
      }
      Series line{.kind = Kind::line, .name = style == 0 ? "trend" : "", .style = style};
      for (const double t : even_steps(first, last, 25)) {
        line.x.push_back(at(t));
        line.y.push_back(pressure(std::exp(sum / static_cast<double>(n) + slope * (t - drift.middle_clock_s))));
      }
      panel.series.push_back(std::move(line));
    }
    panel.series.push_back(s);
    ++style;
  }
  if (drift.split_clock_s) panel.references.push_back({Along::x, at(*drift.split_clock_s), "the day falls apart here"});
  slot.figures.push_back({.id = "reference-point",
                          .title = "Reference point against clock time" + (r.campaign.reference_point.empty() ? "" : ", point " + r.campaign.reference_point),
                          .caption = sentence(drift.statement.empty() ? std::string(records::name(drift.verdict)) : drift.statement),
                          .panels = {panel},
                          .provenance = small_print(r, plural(drift.readings.size(), "reading"))});
  return slot;
}

}  // namespace hardpan::report::detail
