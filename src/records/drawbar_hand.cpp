// SPDX-License-Identifier: Apache-2.0
// Hand tow sheets: one row a pull, slip from counted turns and a taped distance. A reading known to +/- half its
// resolution has the standard deviation resolution / sqrt(12) (uniform; [GUM2008] 4.3.7).
#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "records/detail/drawbar_steps.hpp"
#include "units/print.hpp"

namespace hardpan::records::detail {
namespace {

double sd_of(const std::optional<double>& resolution) { return resolution.value_or(0) / std::sqrt(12.0); }

bool row_usable(const HandPull& p, base::Problems& problems) {
  const base::Place place{.file = p.source.file, .line = p.line, .key = p.line ? "" : p.source.id};
  const double weight = p.conditions.weight_n;
  if (!(weight > 0) || !std::isfinite(weight)) {
    problems.refuse({.place = place,
                     .what = "weight of the vehicle as tested is missing or impossible",
                     .value = fmt::format("{}", weight),
                     .bound = "over 0 N",
                     .remedy = "weigh the vehicle as tested and give its weight or mass"});
    return false;
  }
  const auto set_aside = [&](const char* what, double value, const char* bound) {
    problems.remark({.place = place,
                     .what = fmt::format("hand pull set aside: {}", what),
                     .value = fmt::format("{}", value),
                     .bound = bound});
    return false;
  };
  if (!(p.wheel_turns >= 0) || !std::isfinite(p.wheel_turns))
    return set_aside("wheel turns are impossible", p.wheel_turns, "0 or more");
  if (!(p.distance_m >= 0) || !std::isfinite(p.distance_m))
    return set_aside("distance is impossible", p.distance_m, "0 m or more");
  if (!std::isfinite(p.pull_n)) return set_aside("pull is not a number", p.pull_n, "a force");
  if (!(std::abs(p.pull_n) <= 5 * weight))
    return set_aside("pull is over five times the weight: unit?", p.pull_n, "at most 5 times the weight");
  if (!(std::abs(p.conditions.gradient_rad) < 1.2))
    return set_aside("gradient in degrees is impossible", p.conditions.gradient_rad * 180 / std::numbers::pi, "within +/- 69 deg");
  return true;
}

}  // namespace

std::vector<PullWindow> hand_windows(const std::vector<HandPull>& pulls, std::vector<FoundRadius>& found,
                                     units::OutputUnits u, base::Problems& problems) {
  std::vector<PullWindow> out;
  std::vector<std::string> said;
  const auto once = [&](const HandPull& p, const std::string& what, const char* remedy) {
    const std::string key = p.source.file + what;
    if (std::find(said.begin(), said.end(), key) != said.end()) return;
    said.push_back(key);
    problems.remark({.place = {.file = p.source.file, .line = p.line, .key = p.line ? "" : p.source.id},
                     .what = what,
                     .remedy = remedy});
  };
  for (const HandPull& p : pulls) {
    if (!row_usable(p, problems)) continue;
    const RunConditions& c = p.conditions;
    PullWindow w;
    w.file = p.source.file, w.id = p.source.id, w.record = p.source.record, w.zone = p.source.zone, w.point = p.source.point;
    w.vehicle = c.vehicle, w.lane = c.lane, w.direction = c.direction;
    w.run = c.run.empty() ? fmt::format("{}, line {}", p.source.id, p.line) : c.run;
    w.first_line = w.last_line = p.line;
    w.by_hand = true;
    w.samples = 1, w.n_effective = 1;
    w.weight_n = c.weight_n;
    w.pull_n = p.pull_n;
    w.pull_se_n = sd_of(p.pull_resolution_n);
    w.line_angle_rad = c.line_angle_rad.value_or(0), w.line_angle_stated = c.line_angle_rad.has_value();
    w.hitch_height_m = c.hitch_height_m;
    w.sinkage_m = p.sinkage_m;
    std::optional<RollingRadius> radius;
    if (c.rolling_radius_m)
      radius = RollingRadius{.radius_m = *c.rolling_radius_m, .condition = c.zero_slip, .source = "stated with the record"};
    else radius = radius_for(found, c.vehicle, p.source.zone);
    if (!radius || !(radius->radius_m > 0)) {
      w.slip_status = radius ? fmt::format("refused: a rolling radius of {} is impossible", units::print_quantity(radius->radius_m, units::Dimension::length, u))
                             : "refused: no rolling radius, stated or found from a towed or unloaded run";
      once(p, "slip of the hand pulls is " + w.slip_status,
           "count turns over a taped distance on hard ground and give rolling_radius with its zero-slip condition");
    } else {
      w.rolling_radius_m = radius->radius_m, w.rolling_radius_se_m = radius->standard_error_m;
      w.zero_slip = radius->condition, w.radius_source = radius->source;
      const auto slip = hand_slip({.turns = p.wheel_turns,
                                   .distance_m = p.distance_m,
                                   .rolling_radius_m = radius->radius_m,
                                   .turns_sd = sd_of(p.turns_resolution),
                                   .distance_sd_m = sd_of(p.distance_resolution_m)});
      if (slip) {
        w.slip_ratio = slip->slip_ratio, w.slip_se = slip->standard_error, w.slip_status = "ok";
      } else {
        w.slip_status = "refused: no turns and no distance";
        problems.remark(
            {.place = {.file = p.source.file, .line = p.line}, .what = "slip of the hand pull is " + w.slip_status});
      }
      if (radius->condition == vehicle::ZeroSlip::not_stated) {
        once(p, "zero-slip condition of the rolling radius is not stated",
             "say whether it was found towed or self-propelled, on hard ground or on the test surface");
      }
    }
    if (!p.turns_resolution || !p.distance_resolution_m) {
      once(p, "reading resolution of turns or distance is not stated: the error of slip rests on repeats alone",
           "give the resolution, for example 1/4 turn and 1 cm");
    }
    if (c.run.empty())
      once(p, "hand pulls name no run: each row counts as a run of its own",
           "name the run where several pulls were made in one go");
    set_gradient(w, c.gradient_stated ? c.gradient_rad : 0, 0,
                 c.gradient_stated ? GradientSource::stated : GradientSource::assumed_level);
    out.push_back(std::move(w));
  }
  return out;
}

// Two readings tell no spread worth an interval: Student's t with one degree of freedom is 12.7.
math::Estimate of_repeats(const std::vector<double>& values, double level) {
  if (values.size() >= 3) return math::estimate_from_points(values, level);
  math::Estimate e = math::estimate_without_interval(math::mean(values), "no interval from two repeats");
  e.n = values.size();
  return e;
}

std::vector<HandRepeats> hand_repeats(const std::vector<PullWindow>& windows, const std::vector<std::size_t>& group,
                                      double pull_relative, double level) {
  std::vector<const PullWindow*> rows;
  for (const std::size_t i : group) {
    if (windows[i].by_hand && windows[i].slip_ratio && windows[i].coefficient) rows.push_back(&windows[i]);
  }
  std::stable_sort(rows.begin(), rows.end(), [](const auto* a, const auto* b) { return *a->pull_n < *b->pull_n; });
  // One pull belongs to two slips, before the peak and behind it: readings further apart are no repeats of one another.
  constexpr double kSameSlip = 0.10;
  std::vector<HandRepeats> out;
  for (std::size_t i = 0; i < rows.size();) {
    std::vector<double> pull, slip, coefficient, reading;
    const double least = *rows[i]->pull_n;
    std::size_t j = i;
    for (; j < rows.size() && *rows[j]->pull_n - least <= pull_relative * std::abs(least); ++j) {
      if (std::abs(*rows[j]->slip_ratio - *rows[i]->slip_ratio) > kSameSlip) break;
      pull.push_back(*rows[j]->pull_n);
      slip.push_back(*rows[j]->slip_ratio);
      coefficient.push_back(*rows[j]->coefficient);
      reading.push_back(rows[j]->slip_se * rows[j]->slip_se);
    }
    if (j - i >= 2) {
      out.push_back({.vehicle = rows[i]->vehicle,
                     .zone = rows[i]->zone,
                     .pull_n = math::mean(pull),
                     .n = j - i,
                     .slip_ratio = of_repeats(slip, level),
                     .coefficient = of_repeats(coefficient, level),
                     .slip_reading_se = std::sqrt(math::mean(reading))});
    }
    i = j;
  }
  return out;
}

}  // namespace hardpan::records::detail
