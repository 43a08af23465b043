// SPDX-License-Identifier: Apache-2.0
// Readings of one run are averaged first when every reading of a group names its run; otherwise each reading counts.
// Growth over passes: straight line of ln(mean depth) on ln(pass), common practice for multi-pass ruts
// ([Abebe1989] writes it z_n = z_1 n^(1/a); from memory).
#include "records/rut.hpp"

#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "units/print.hpp"

namespace hardpan::records {
namespace {

using Key = std::tuple<std::string, std::string, std::string, int>;  // vehicle, zone, wheel path, pass

std::string length(double m, units::OutputUnits u) { return units::print_quantity(m, units::Dimension::length, u); }

bool plausible(const std::optional<double>& depth, const RutReading& r, const char* what, units::OutputUnits u, base::Problems& problems) {
  if (!depth) return false;
  // Heave leaves a negative depth of a few centimetres at most; a wheel does not sink a metre and drive on.
  if (std::isfinite(*depth) && *depth > -0.1 && *depth < 1) return true;
  problems.remark({.place = {.file = r.source.file, .line = r.line, .key = r.line ? "" : r.source.id},
                   .what = fmt::format("rut depth {} set aside: impossible", what),
                   .value = length(*depth, u),
                   .bound = units::print_interval(-0.1, 1, units::Dimension::length, u),
                   .remedy = "check the unit of the depth column"});
  return false;
}

// One value a run where runs are named, else one a reading.
std::optional<math::Estimate> over_runs(const std::vector<std::pair<std::string, double>>& readings, bool by_run,
                                        double level) {
  if (readings.empty()) return std::nullopt;
  std::map<std::string, std::vector<double>> runs;
  std::vector<double> values;
  for (const auto& [run, depth] : readings) {
    if (by_run) runs[run].push_back(depth);
    else values.push_back(depth);
  }
  for (const auto& [run, depths] : runs) values.push_back(math::mean(depths));
  return math::estimate_from_points(values, level);
}

PassGrowth growth_of(const std::vector<const RutGroup*>& passes, bool loaded, double level) {
  const RutGroup& first = *passes.front();
  PassGrowth out{.vehicle = first.vehicle,
                 .zone = first.zone,
                 .wheel_path = first.wheel_path,
                 .depth_used = loaded ? "loaded" : "after"};
  std::vector<double> x, y;
  for (const RutGroup* g : passes) {
    const auto& depth = loaded ? g->depth_loaded_m : g->depth_after_m;
    if (!depth || !(depth->value > 0)) continue;
    x.push_back(std::log(g->pass));
    y.push_back(std::log(depth->value));
  }
  out.passes = static_cast<int>(x.size());
  if (out.passes < 2) return out;
  const math::LineFit line = math::fit_line(x, y);
  out.exponent = math::estimate_without_interval(line.slope, "two passes", x.size());
  if (line.degrees_of_freedom > 0) {
    const double half = math::student_t_quantile(0.5 + 0.5 * level, static_cast<double>(line.degrees_of_freedom)) *
                        std::sqrt(line.var_slope);
    out.exponent = {.value = line.slope,
                    .average_ground = math::Interval{line.slope - half, line.slope + half},
                    .level = level,
                    .n = x.size(),
                    .status = math::kStatusOk};
  }
  return out;
}

}  // namespace

RutResult reduce_ruts(const std::vector<RutReading>& readings, const RutSettings& settings, base::Problems& problems) {
  RutResult out;
  struct Depths {
    std::vector<std::pair<std::string, double>> loaded, after, rebound;
    std::vector<std::pair<std::string, std::size_t>> places;
    bool all_name_a_run = true;
    double weight_n = 0, gradient_rad = 0;  // sums
  };
  std::map<Key, Depths> groups;
  for (const RutReading& r : readings) {
    const base::Place place{.file = r.source.file, .line = r.line, .key = r.line ? "" : r.source.id};
    if (r.pass < 1) {
      problems.remark({.place = place,
                       .what = "rut reading set aside: pass number is impossible",
                       .value = fmt::format("{}", r.pass),
                       .bound = "1 or more"});
      continue;
    }
    const bool loaded = plausible(r.depth_loaded_m, r, "under load", settings.output_units, problems),
               after = plausible(r.depth_after_m, r, "after", settings.output_units, problems);
    if (!loaded && !after) {
      if (!r.depth_loaded_m && !r.depth_after_m)
        problems.remark({.place = place, .what = "rut reading without a depth set aside"});
      continue;
    }
    const RunConditions& c = r.conditions;
    Depths& d = groups[{c.vehicle, r.source.zone, r.wheel_path, r.pass}];
    d.places.emplace_back(r.source.file, r.line);
    d.weight_n += c.weight_n;
    d.gradient_rad += c.gradient_rad;
    d.all_name_a_run = d.all_name_a_run && !c.run.empty();
    if (loaded) d.loaded.emplace_back(c.run, *r.depth_loaded_m);
    if (after) d.after.emplace_back(c.run, *r.depth_after_m);
    if (loaded && after) {
      d.rebound.emplace_back(c.run, *r.depth_loaded_m - *r.depth_after_m);
      if (*r.depth_after_m - *r.depth_loaded_m > settings.negative_rebound_remark_m) {
        problems.remark({.place = place,
                         .what = "rut is deeper after the wheel than under it: columns exchanged, or ground fell in",
                         .value = length(*r.depth_loaded_m, settings.output_units) + " loaded, " + length(*r.depth_after_m, settings.output_units) + " after"});
      }
    }
    if (r.slip_ratio && std::isfinite(*r.slip_ratio) && std::abs(*r.slip_ratio) <= 1) {
      SinkagePoint p{.file = r.source.file,
                     .line = r.line,
                     .vehicle = c.vehicle,
                     .zone = r.source.zone,
                     .run = c.run,
                     .wheel_path = r.wheel_path,
                     .slip_ratio = *r.slip_ratio};
      p.sinkage_m = loaded ? *r.depth_loaded_m : *r.depth_after_m;
      p.depth_kind = loaded ? "loaded" : "after";
      p.weight_n = c.weight_n, p.gradient_rad = c.gradient_rad;
      p.rolling_radius_m = c.rolling_radius_m, p.zero_slip = c.zero_slip, p.pass = r.pass;
      out.sinkage.push_back(std::move(p));
    } else {
      out.without_slip.push_back({.file = r.source.file, .line = r.line, .vehicle = c.vehicle, .zone = r.source.zone, .pass = r.pass});
    }
    if (r.slip_ratio && !(std::isfinite(*r.slip_ratio) && std::abs(*r.slip_ratio) <= 1)) {
      problems.remark({.place = place,
                       .what = "slip of a rut reading set aside: impossible",
                       .value = fmt::format("{}", *r.slip_ratio),
                       .bound = "-1 to 1"});
    }
  }
  for (auto& [key, d] : groups) {
    RutGroup g{
        .vehicle = std::get<0>(key), .zone = std::get<1>(key), .wheel_path = std::get<2>(key), .pass = std::get<3>(key)};
    g.readings = d.places.size();
    g.weight_n = d.weight_n / static_cast<double>(g.readings);
    g.gradient_rad = d.gradient_rad / static_cast<double>(g.readings);
    g.n_is_runs = d.all_name_a_run;
    g.depth_loaded_m = over_runs(d.loaded, g.n_is_runs, settings.level);
    g.depth_after_m = over_runs(d.after, g.n_is_runs, settings.level);
    g.rebound_m = over_runs(d.rebound, g.n_is_runs, settings.level);
    if (g.n_is_runs) {
      std::map<std::string, int> runs;
      for (const auto* list : {&d.loaded, &d.after}) {
        for (const auto& [run, depth] : *list) runs[run] = 1;
      }
      g.runs = runs.size();
    }
    g.places = std::move(d.places);
    out.groups.push_back(std::move(g));
  }
  for (std::size_t i = 0; i < out.groups.size();) {
    std::vector<const RutGroup*> passes;
    std::size_t j = i, with_loaded = 0;
    for (; j < out.groups.size(); ++j) {
      const RutGroup &a = out.groups[i], &b = out.groups[j];
      if (std::tie(a.vehicle, a.zone, a.wheel_path) != std::tie(b.vehicle, b.zone, b.wheel_path)) break;
      passes.push_back(&b);
      with_loaded += b.depth_loaded_m.has_value();
    }
    if (passes.size() >= 2) {
      PassGrowth growth = growth_of(passes, with_loaded == passes.size(), settings.level);
      if (growth.passes >= 2) out.growth.push_back(std::move(growth));
    }
    i = j;
  }
  return out;
}

}  // namespace hardpan::records
