// SPDX-License-Identifier: Apache-2.0
#include "service/boulders.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "formats/survey_sheets.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"

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
  if (q.coverage_ratio && !p::RockLaw::by_coverage(*q.coverage_ratio)) refuse("--coverage", "not a share of ground covered by rocks that the law is known for", fmt::format("{:g} %", 100 * *q.coverage_ratio), "above 0 to 60 %");
  if (!(q.shape.height_ratio > 0 && q.shape.height_ratio <= 5)) refuse("--height-ratio", "not a height over diameter", fmt::format("{:g}", q.shape.height_ratio), "above 0 to 5");
  if (!(q.shape.smallest_m >= 0 && q.shape.smallest_m <= 100)) refuse("--smallest", "out of range", fmt::format("{:g} m", q.shape.smallest_m), "0 to 100 m");
  if (!(q.length_m > 0 && q.length_m <= 1e6)) refuse("--length", "out of range", fmt::format("{:g} m", q.length_m), "above 0 to 1,000 km");
  if (!q.map_file && (q.run || q.plot)) problems.refuse({.place = {.key = q.run ? "--start" : "--plot"}, .what = "says nothing without a map", .remedy = "give --map"});
}

void answer_map(const BouldersRequest& q, BouldersResult& r) {
  r.field = p::mapped_field(r.rocks, r.plot, r.swath, q.shape, q.length_m);
  r.hits_per_m = r.field->hits_per_m;
  if (!q.run) return;
  p::Run run = *q.run;
  run.length_m = q.length_m;
  r.met = p::meet(r.rocks, run, r.swath, q.shape);
}

void answer_law(const p::RockLaw& law, const BouldersRequest& q, BouldersResult& r) {
  r.hits_per_m = p::hits_per_metre(law, r.swath, q.shape);
  const double least = std::max({std::min(r.swath.step_m, r.swath.clearance_m) / q.shape.height_ratio, q.shape.smallest_m, law.smallest_m()});
  if (!(least > 0)) return;
  for (const double factor : {1.0, 1.5, 2.0, 3.0, 5.0}) {
    // Just above, so that the first row is the smallest that stops it.
    const double d = least * factor * (1 + 1e-9);
    r.sizes.push_back({d, law.number_per_m2(d), p::stopping_width_m(r.swath, d, d * q.shape.height_ratio), law.area_ratio(d)});
  }
}

}  // namespace

BouldersResult boulders(const BouldersRequest& q) {
  base::Problems problems;
  check(q, problems);
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the files are read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  BouldersResult r;
  std::optional<p::RockLaw> law;
  if (q.coverage_ratio) law = p::RockLaw::by_coverage(*q.coverage_ratio);
  if (q.law_file) {
    if (const auto rows = formats::read_rock_law(*q.law_file, *q.law_file, problems)) law = p::RockLaw::by_table(*rows, {}, problems);
  }
  if (q.map_file) {
    if (const auto rocks = formats::read_rocks(*q.map_file, *q.map_file, problems)) {
      r.rocks = *rocks;
      r.plot_assumed = !q.plot;
      if (q.plot) {
        r.plot = *q.plot;
        base::Problems found;
        p::check_rocks(r.rocks, r.plot, {.file = *q.map_file}, found);
        problems.add(found);
      } else if (!r.rocks.empty()) {
        const auto [x0, x1] = std::minmax_element(r.rocks.begin(), r.rocks.end(), [](const auto& a, const auto& b) { return a.x_m < b.x_m; });
        const auto [y0, y1] = std::minmax_element(r.rocks.begin(), r.rocks.end(), [](const auto& a, const auto& b) { return a.y_m < b.y_m; });
        r.plot = {x0->x_m, y0->y_m, x1->x_m, y1->y_m};
        if (!(r.plot.area_m2() > 0)) problems.refuse({.place = {.key = "--plot"}, .what = "the mapped rocks span no area", .remedy = "give the corners of the surveyed plot: --plot '0 m' '0 m' '40 m' '30 m'"});
      } else {
        problems.refuse({.place = {.key = "--plot"}, .what = "a map without rocks needs its plot", .remedy = "give the corners: --plot '0 m' '0 m' '40 m' '30 m'"});
      }
    }
  }
  problems.throw_if_refused();
  r.vehicle = v->name;
  double step_m = q.step_m.value_or(0);
  if (q.friction) {
    const auto side = p::profile_vehicle(*v, q.gravity_m_s2);
    if (!side) {
      problems.refuse({.place = {.file = q.vehicle_file, .key = "axle"}, .what = "a vehicle of this many axles is not crossed with", .value = std::to_string(v->axles.size()), .remedy = "give --step"});
      problems.throw_if_refused();
    }
    r.highest_step = p::highest_step(*side, {.friction = q.friction}, {});
    step_m = r.highest_step->passes_m;
  }
  r.swath = p::make_swath(*v, step_m);
  if (law) answer_law(*law, q, r);
  else answer_map(q, r);
  r.clear_probability = p::clear_run_probability(r.hits_per_m, q.length_m);
  r.half_clear_m = p::clear_run_length_m(r.hits_per_m, 0.5);
  return r;
}

Json boulders_json(const BouldersRequest& q, const BouldersResult& r) {
  Json j = Json::object();
  j.set("vehicle", r.vehicle).set("swath_width_m", r.swath.width_m()).set("highest_step_m", r.swath.step_m).set("clearance_m", number_or_null(r.swath.clearance_m));
  j.set("highest_step_solve", r.highest_step ? Json(base::name(r.highest_step->solve.status)) : Json());
  j.set("highest_step_stopped_by", r.highest_step && r.highest_step->stopped_by ? Json(p::name(*r.highest_step->stopped_by)) : Json());
  j.set("height_over_diameter_ratio", q.shape.height_ratio).set("smallest_diameter_m", q.shape.smallest_m).set("run_length_m", q.length_m);
  j.set("hits_per_m", number_or_null(r.hits_per_m)).set("mean_free_path_m", r.hits_per_m > 0 ? number_or_null(1 / r.hits_per_m) : Json());
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

}  // namespace hardpan::service
