// SPDX-License-Identifier: Apache-2.0
#include "service/slope.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "formats/vehicle_file.hpp"
#include "io/atomic_files.hpp"
#include "performance/travel.hpp"
#include "report/slopes_figure.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"
#include "service/pair_slopes.hpp"

namespace hardpan::service {

using io::Json;
namespace p = performance;

namespace {

constexpr double kDeg = 180 / std::numbers::pi;

void check_request(const SlopeRequest& q, base::Problems& problems) {
  const auto refuse = [&](const char* key, const char* what, std::string value, const char* bound) { problems.refuse({.place = {.key = key}, .what = what, .value = std::move(value), .bound = bound}); };
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) refuse("--gravity", "gravity is not stated or out of range", fmt::format("{:g} m/s^2", q.gravity_m_s2), "above 0 to 100 m/s^2");
  if (q.headings < 1 || q.headings > 72) refuse("--headings", "not a number of headings", std::to_string(q.headings), "1 to 72");
  if (q.working_slip_ratio && !(*q.working_slip_ratio > 0 && *q.working_slip_ratio < 0.95)) refuse("--slip", "not a working slip", fmt::format("{:g} %", 100 * *q.working_slip_ratio), "above 0, below 95 %");
  if (q.working_drift_rad && !(*q.working_drift_rad > 0 && *q.working_drift_rad <= 45 / kDeg)) refuse("--drift", "not a drift a path is held with", fmt::format("{:g} deg", *q.working_drift_rad * kDeg), "above 0 to 45 deg");
}

std::vector<SlopeResult::SecondWay> second_way(const p::OnSoil& on, const std::vector<p::HeadingLimit>& lines, double steepest_rad) {
  std::vector<SlopeResult::SecondWay> out;
  p::Workspace space;
  for (const p::HeadingLimit& l : lines) {
    const bool up = l.heading_rad == 0, down = std::abs(l.heading_rad - std::numbers::pi) < 1e-9;
    // What is not travelled on the level is told as 0 here and may hold a descent all the same; steeper than it looked nothing is told.
    if (!(up || down) || l.largest.factor == p::HeadingFactor::not_converged || !(l.largest.gradient_rad > 0 && l.largest.gradient_rad < steepest_rad - 1e-6)) continue;
    p::Gradient g;
    (up ? p::maximum_gradients : p::maximum_descents)({&on, 1}, {&g, 1}, space);
    if (g.factor == p::LimitingFactor::not_converged) continue;
    const double climb_rad = g.gradient_rad == p::kNoGradient ? 0 : up ? g.gradient_rad : -g.gradient_rad;
    out.push_back({l.heading_rad, l.largest.gradient_rad, std::max(climb_rad, 0.0)});
  }
  return out;
}

const p::HeadingReach& lower(const p::HeadingReach& a, const p::HeadingReach& b) { return b.gradient_rad < a.gradient_rad ? b : a; }

}  // namespace

bool SlopeResult::SecondWay::apart() const { return std::abs(here_rad - climb_rad) > std::max(kApart_rad, kApart * std::max(here_rad, climb_rad)); }

bool SlopeResult::unsolved() const {
  return std::any_of(lines.begin(), lines.end(), [](const p::HeadingLimit& l) { return l.working.factor == p::HeadingFactor::not_converged || l.largest.factor == p::HeadingFactor::not_converged; });
}

std::vector<SlopeResult::Margin> SlopeResult::margins(const SlopeRequest& q) const {
  std::vector<Margin> out;
  if (!q.needed_rad) return out;
  for (const p::HeadingLimit& l : lines) {
    Margin m{.heading_rad = l.heading_rad, .limited_by = p::name(l.working.factor)};
    double limit = l.working.gradient_rad;
    if (l.tips_working_rad < limit) {
      limit = l.tips_working_rad;
      m.limited_by = "the working tip limit";
    }
    if (l.working.factor != p::HeadingFactor::not_converged && std::isfinite(limit)) m.margin_rad = limit - *q.needed_rad;
    out.push_back(m);
  }
  return out;
}

SlopeResult slope(const SlopeRequest& q) {
  base::Problems problems;
  check_request(q, problems);
  detail::check_needed_slope(q.needed_rad, problems);
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the file is read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  SlopeResult r{.soil = detail::resolve(q.soil, problems)};
  if (v && vehicle::wheel_count(*v) < 3) problems.refuse({.place = {.file = q.vehicle_file, .key = "axle.wheels"}, .what = "too few wheels to stand by themselves", .value = std::to_string(vehicle::wheel_count(*v)), .bound = "three or more"});
  problems.throw_if_refused();
  r.vehicle = v->name;
  r.jointed = v->bodies.size() > 1;
  p::HeadingQuestion question{.headings_rad = p::evenly_round(static_cast<std::size_t>(q.headings)), .working_slip = q.working_slip_ratio.value_or(v->working_slip.value_or(0.2))};
  if (q.working_drift_rad) question.working_drift_rad = *q.working_drift_rad;
  r.working_slip_ratio = question.working_slip;
  r.working_drift_rad = question.working_drift_rad;
  const auto limits = [&](soil::SlipSinkage rule) {
    const auto machine = p::make_straight_machine(*v, r.soil.soil, q.gravity_m_s2, rule, {.key = v->id}, problems);
    problems.throw_if_refused();
    return p::slopes_by_heading(*machine, question);
  };
  r.lines = limits(soil::SlipSinkage::none);
  if (q.slip_sinkage != soil::SlipSinkage::none) {
    const auto with = limits(q.slip_sinkage);
    for (std::size_t i = 0; i < r.lines.size(); ++i) {
      r.lines[i].working = lower(r.lines[i].working, with[i].working);
      r.lines[i].largest = lower(r.lines[i].largest, with[i].largest);
    }
  }
  if (const auto on = p::on_soil(*v, r.soil.soil, q.gravity_m_s2, q.slip_sinkage, {.key = v->id}, problems)) r.second = second_way(*on, r.lines, question.steepest_rad);
  r.remarks = detail::remarks_of(problems);
  return r;
}

void write_slope_picture(const SlopeResult& r, const std::string& path) {
  std::vector<p::HeadingSpread> headings;
  for (const p::HeadingLimit& l : r.lines) headings.push_back({.limit = l, .working = {}, .largest = {}});
  report::Figure f = report::slopes_figure(headings, r.working_slip_ratio, r.working_drift_rad, units::OutputUnits::si);
  f.id = "slopes";
  f.title = "Steepest slope on every heading: " + r.vehicle + " on " + (r.soil.id == "given" ? "soil from the command line" : r.soil.name);
  io::write_file(path, report::to_svg(f, {.width_px = 720, .height_px = 540}));
}

Json slope_json(const SlopeRequest& q, const SlopeResult& r) {
  Json j = Json::object();
  j.set("vehicle", r.vehicle).set("soil", detail::soil_json(r.soil)).set("working_slip_ratio", r.working_slip_ratio).set("working_drift_rad", r.working_drift_rad);
  Json lines = Json::array();
  const auto margins = r.margins(q);
  for (std::size_t i = 0; i < r.lines.size(); ++i) {
    const p::HeadingLimit& l = r.lines[i];
    Json k = Json::object();
    k.set("heading_rad", l.heading_rad).set("working", reach_json(l.working)).set("largest", reach_json(l.largest));
    k.set("tips_static_rad", l.tips_rad).set("tips_working_rad", l.tips_working_rad).set("tips_about", p::name(l.tips_about));
    detail::set_margin(k, "rad", q.needed_rad, margins.empty() ? std::nullopt : margins[i].margin_rad);
    k.set("margin_limited_by", margins.empty() ? Json() : Json(margins[i].limited_by));
    lines.push(k);
  }
  Json second = Json::array();
  for (const SlopeResult::SecondWay& s : r.second) second.push(Json::object().set("heading_rad", s.heading_rad).set("largest_rad", s.here_rad).set("largest_by_climb_rad", s.climb_rad).set("apart", s.apart()));
  return j.set("headings", lines).set("second_method", second);
}

}  // namespace hardpan::service
