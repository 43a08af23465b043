// SPDX-License-Identifier: Apache-2.0
#include "service/boulders.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "formats/survey_sheets.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"

namespace hardpan::service {

using detail::number_or_null;
using io::Json;
namespace p = performance;

namespace {

void check(const BouldersRequest& q, base::Problems& problems) {
  const auto refuse = [&](const char* key, const char* what, std::string value, const char* bound) { problems.refuse({.place = {.key = key}, .what = what, .value = std::move(value), .bound = bound}); };
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) refuse("--gravity", "gravity is not stated or out of range", fmt::format("{:g} m/s^2", q.gravity_m_s2), "above 0 to 100 m/s^2");
  if (q.friction.has_value() == q.step_m.has_value()) problems.refuse({.place = {.key = "--friction"}, .what = "the highest step is neither computed nor given, or both", .bound = "one of --friction and --step"});
  if (q.friction && !(*q.friction > 0 && *q.friction <= 2)) refuse("--friction", "not a friction coefficient of a wheel on ground", fmt::format("{:g}", *q.friction), "above 0 to 2");
  if (q.step_m && !(*q.step_m >= 0 && *q.step_m <= 20)) refuse("--step", "out of range", fmt::format("{:g} m", *q.step_m), "0 to 20 m");
  if (q.coverage_ratio.has_value() + q.law_file.has_value() + q.map_file.has_value() != 1) problems.refuse({.place = {.key = "--coverage"}, .what = "the rocks are not given, or more than once", .bound = "one of --coverage, --law and --map"});
  if (q.coverage_between && !q.coverage_ratio) problems.refuse({.place = {.key = "--coverage-between"}, .what = "says nothing without --coverage", .remedy = "give the best estimate as --coverage"});
  if (q.coverage_between && q.coverage_ratio && !p::law_between(*q.coverage_ratio, *q.coverage_between)) {
    refuse("--coverage-between", "not a range about the coverage that the law is known for", fmt::format("{:g} to {:g} %", 100 * q.coverage_between->lo, 100 * q.coverage_between->hi), "the lower first, the coverage between, above 0 to 60 %");
  }
  if (q.coverage_ratio && !p::RockLaw::by_coverage(*q.coverage_ratio)) refuse("--coverage", "not a share of ground covered by rocks that the law is known for", fmt::format("{:g} %", 100 * *q.coverage_ratio), "above 0 to 60 %");
  if (!(q.shape.height_ratio > 0 && q.shape.height_ratio <= 5)) refuse("--height-ratio", "not a height over diameter", fmt::format("{:g}", q.shape.height_ratio), "above 0 to 5");
  if (!(q.shape.smallest_m >= 0 && q.shape.smallest_m <= 100)) refuse("--smallest", "out of range", fmt::format("{:g} m", q.shape.smallest_m), "0 to 100 m");
  if (!(q.length_m > 0 && q.length_m <= 1e6)) refuse("--length", "out of range", fmt::format("{:g} m", q.length_m), "above 0 to 1,000 km");
  if (q.needed_ratio && !(*q.needed_ratio > 0 && *q.needed_ratio <= 1)) refuse("--need", "not a chance", fmt::format("{:g} %", 100 * *q.needed_ratio), "above 0 to 100 %");
  if (!q.map_file && (q.run || q.plot)) problems.refuse({.place = {.key = q.run ? "--start" : "--plot"}, .what = "says nothing without a map", .remedy = "give --map"});
}

// The same wheels under a body that clears every rock.
p::Swath without_body(p::Swath swath) {
  swath.clearance_m = std::numeric_limits<double>::infinity();
  return swath;
}

void answer_map(const campaign::BouldersQuestion& q, campaign::BoulderAnswer& r) {
  r.field = p::mapped_field(r.rocks, r.plot, r.swath, q.shape, q.length_m);
  r.hits_per_m = r.field->hits_per_m;
  r.hits_per_m_interval = r.field->hits_per_m_interval;
  r.wheel_hits_per_m = p::mapped_field(r.rocks, r.plot, without_body(r.swath), q.shape, q.length_m).hits_per_m;
  if (!q.run) return;
  r.run = q.run;
  r.run->length_m = q.length_m;
  r.met = p::meet(r.rocks, *r.run, r.swath, q.shape);
}

void answer_law(const p::RockLaw& law, const p::RockShape& shape, campaign::BoulderAnswer& r) {
  r.hits_per_m = p::hits_per_metre(law, r.swath, shape);
  r.wheel_hits_per_m = p::hits_per_metre(law, without_body(r.swath), shape);
  const double least = std::max({std::min(r.swath.step_m, r.swath.clearance_m) / shape.height_ratio, shape.smallest_m, law.smallest_m()});
  if (!(least > 0)) return;
  for (const double factor : {1.0, 1.5, 2.0, 3.0, 5.0}) {
    // Just above, so that the first row is the smallest that stops it.
    const double d = least * factor * (1 + 1e-9);
    r.sizes.push_back({d, law.number_per_m2(d), p::stopping_width_m(r.swath, d, d * shape.height_ratio), law.area_ratio(d)});
  }
}

}  // namespace

BouldersResult boulders(const BouldersRequest& q) {
  base::Problems problems;
  check(q, problems);
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the files are read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  campaign::BouldersQuestion asked{.friction = q.friction, .step_m = q.step_m, .plot = q.plot, .shape = q.shape, .length_m = q.length_m, .run = q.run};
  if (q.coverage_ratio) asked.law = p::RockLaw::by_coverage(*q.coverage_ratio);
  if (q.coverage_ratio && q.coverage_between) asked.law_between = p::law_between(*q.coverage_ratio, *q.coverage_between);
  if (q.law_file) {
    if (const auto rows = formats::read_rock_law(*q.law_file, *q.law_file, problems)) asked.law = p::RockLaw::by_table(*rows, {}, problems);
  }
  if (q.map_file) {
    if (const auto rocks = formats::read_rocks(*q.map_file, *q.map_file, problems)) {
      asked.rocks = *rocks;
      if (q.plot) {
        base::Problems found;
        p::check_rocks(asked.rocks, *q.plot, {.file = *q.map_file}, found);
        problems.add(found);
      } else if (asked.rocks.empty()) {
        problems.refuse({.place = {.key = "--plot"}, .what = "a map without rocks needs its plot", .remedy = "give the corners: --plot '0 m' '0 m' '40 m' '30 m'"});
      } else if (!(p::box_round(asked.rocks).area_m2() > 0)) {
        problems.refuse({.place = {.key = "--plot"}, .what = "the mapped rocks span no area", .remedy = "give the corners of the surveyed plot: --plot '0 m' '0 m' '40 m' '30 m'"});
      }
    }
  }
  problems.throw_if_refused();
  BouldersResult r{boulders_of(*v, q.gravity_m_s2, asked), detail::remarks_of(problems)};
  if (!r.why_not.empty()) {
    problems.refuse({.place = {.file = q.vehicle_file, .key = "axle"}, .what = r.why_not, .value = std::to_string(v->axles.size()), .remedy = "give --step"});
    problems.throw_if_refused();
  }
  r.vehicle = v->name;
  return r;
}

campaign::BoulderAnswer boulders_of(const vehicle::Vehicle& v, double gravity_m_s2, const campaign::BouldersQuestion& q) {
  campaign::BoulderAnswer r{.vehicle = v.id, .name = q.name, .law_words = q.law_words, .length_m = q.length_m, .shape = q.shape, .rocks = q.rocks};
  double step_m = q.step_m.value_or(0);
  if (q.friction) {
    const auto side = p::profile_vehicle(v, gravity_m_s2);
    if (!side) {
      r.why_not = "a vehicle of this many axles is not crossed with";
      return r;
    }
    r.highest_step = p::highest_step(*side, {.friction = q.friction}, {});
    step_m = r.highest_step->passes_m;
  }
  r.swath = p::make_swath(v, step_m);
  if (q.law) {
    answer_law(*q.law, q.shape, r);
    if (q.law_between) r.hits_per_m_interval = math::Interval{p::hits_per_metre(q.law_between->first, r.swath, q.shape), p::hits_per_metre(q.law_between->second, r.swath, q.shape)};
  } else {
    r.plot_assumed = !q.plot;
    r.plot = q.plot ? *q.plot : p::box_round(r.rocks);
    answer_map(q, r);
  }
  r.clear_probability = p::clear_run_probability(r.hits_per_m, q.length_m);
  r.half_clear_m = p::clear_run_length_m(r.hits_per_m, 0.5);
  return r;
}

Json boulders_json(const campaign::BoulderAnswer& r) {
  Json j = Json::object();
  j.set("vehicle", r.vehicle).set("swath_width_m", r.swath.width_m()).set("highest_step_m", r.swath.step_m).set("clearance_m", number_or_null(r.swath.clearance_m));
  j.set("highest_step_solve", r.highest_step ? detail::solve_json(r.highest_step->solve, "m") : Json());
  j.set("highest_step_stopped_by", r.highest_step && r.highest_step->stopped_by ? Json(p::name(*r.highest_step->stopped_by)) : Json());
  j.set("height_over_diameter_ratio", r.shape.height_ratio).set("smallest_diameter_m", r.shape.smallest_m).set("run_length_m", r.length_m);
  j.set("hits_per_m", number_or_null(r.hits_per_m)).set("mean_free_path_m", r.hits_per_m > 0 ? number_or_null(1 / r.hits_per_m) : Json());
  j.set("hits_per_m_95", detail::interval_json(r.hits_per_m_interval)).set("clear_run_probability_95_ratio", detail::interval_json(r.clear_interval()));
  j.set("hits_of_wheels_per_m", number_or_null(r.wheel_hits_per_m)).set("limiting_factor", r.stopped_mostly_by());
  j.set("status", std::isfinite(r.hits_per_m) ? "computed" : "every rock stops it: give the smallest rock that counts");
  j.set("clear_run_probability_ratio", r.clear_probability).set("half_of_runs_clear_m", number_or_null(r.half_clear_m));
  Json sizes = Json::array();
  for (const auto& s : r.sizes) sizes.push(Json::object().set("diameter_m", s.diameter_m).set("number_per_m2", s.number_per_m2).set("area_ratio", s.area_ratio).set("stopping_width_m", s.stopping_width_m));
  j.set("sizes", sizes);
  if (!r.field) return j.set("map", Json());
  const p::MappedField& f = *r.field;
  Json m = Json::object();
  m.set("rocks", static_cast<double>(f.rocks)).set("stopping", static_cast<double>(f.stopping)).set("area_m2", r.plot.area_m2()).set("area_assumed", r.plot_assumed).set("coverage_ratio", f.coverage_ratio);
  m.set("hits_per_m_interval", Json::array({f.hits_per_m_interval.lo, f.hits_per_m_interval.hi}));
  m.set("lanes", static_cast<double>(f.lanes)).set("clear_lanes", static_cast<double>(f.clear_lanes)).set("clear_share_interval_ratio", Json::array({f.clear_interval.lo, f.clear_interval.hi}));
  Json met = Json::array();
  for (const p::Met& x : r.met) {
    met.push(Json::object().set("row", static_cast<double>(x.rock + 1)).set("along_m", x.along_m).set("across_m", x.across_m).set("diameter_m", r.rocks[x.rock].diameter_m).set("height_m", x.height_m).set("meeting", p::name(x.meeting)));
  }
  m.set("met_on_the_run", met);
  return j.set("map", m);
}

std::optional<double> boulders_margin(const BouldersRequest& q, const campaign::BoulderAnswer& r) {
  if (!q.needed_ratio || !std::isfinite(r.hits_per_m)) return std::nullopt;
  return r.clear_probability - *q.needed_ratio;
}

Json boulders_json(const BouldersRequest& q, const BouldersResult& r) {
  Json j = boulders_json(r);
  detail::set_margin(j, "ratio", q.needed_ratio, boulders_margin(q, r));
  return j;
}

}  // namespace hardpan::service
