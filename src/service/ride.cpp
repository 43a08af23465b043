// SPDX-License-Identifier: Apache-2.0
#include "service/ride.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "formats/survey_sheets.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"
#include "units/constants.hpp"

namespace hardpan::service {

using detail::number_or_null;
using io::Json;
namespace p = performance;

base::Problems as_ride_options(const base::Problems& found, const std::string& vehicle_file) {
  base::Problems out;
  for (base::Problem one : found.list()) {
    std::string& key = one.place.key;
    if (key.starts_with("axle") || key == "joint") one.place.file = vehicle_file;
    else if (one.place.file.empty()) {
      std::replace(key.begin(), key.end(), '_', '-');
      key = "--" + key;
    }
    out.refuse(std::move(one));
  }
  return out;
}

std::optional<p::RoughGround> rough_ground(const RideRequest& q, RoughGroundWords& words, base::Problems& problems, base::Problems& found) {
  if (q.wave.has_value() + q.profile_file.has_value() + q.road_class.has_value() != 1) {
    problems.refuse({.place = {.key = "--wave-length"}, .what = "the ground is not given, or more than once", .bound = "one of --wave-length with --amplitude, --profile and --class"});
  }
  std::optional<p::RoughGround> ground;
  if (q.wave) {
    p::check_wave(*q.wave, {}, found);
    ground = *q.wave;
    words.si = fmt::format("a wave {:g} m long, {:g} m in amplitude ({:g} m from trough to crest)", q.wave->length_m, q.wave->amplitude_m, 2 * q.wave->amplitude_m);
    words.us = fmt::format("a wave {:.4g} ft long, {:.4g} in in amplitude ({:.4g} in from trough to crest)", q.wave->length_m / units::kFoot_m, q.wave->amplitude_m / units::kInch_m, 2 * q.wave->amplitude_m / units::kInch_m);
  } else if (q.road_class) {
    const auto spectrum = q.road_class->size() == 1 ? p::class_spectrum(q.road_class->front()) : std::nullopt;
    if (!spectrum) problems.refuse({.place = {.key = "--class"}, .what = "no such class of roughness", .value = *q.road_class, .bound = "A (smooth) to H (very rough)"});
    else {
      ground = *spectrum;
      words = {spectrum->name, spectrum->name};
    }
  } else if (q.profile_file) {
    if (const auto points = formats::read_heights(*q.profile_file, *q.profile_file, problems)) {
      if (auto spectrum = p::profile_spectrum(*points, {}, problems)) {
        words = {spectrum->name, fmt::format("own spectrum of {} points over {:.4g} ft", points->size(), (points->back().x_m - points->front().x_m) / units::kFoot_m)};
        ground = *std::move(spectrum);
      }
    }
  }
  return ground;
}

RideResult ride(const RideRequest& q) {
  base::Problems problems, found;
  p::RideQuestion question = q.question;
  p::check_ride_question(question, {}, found);
  if (q.needed_m_s && !(*q.needed_m_s > 0 && *q.needed_m_s <= question.fastest_m_s)) {
    problems.refuse({.place = {.key = "--need"}, .what = "not a speed that is looked at", .value = fmt::format("{:g} m/s", *q.needed_m_s), .bound = fmt::format("above 0 to {:g} m/s", question.fastest_m_s), .remedy = "or give a larger --fastest"});
  }
  RideResult r;
  const std::optional<p::RoughGround> ground = rough_ground(q, r.ground, problems, found);
  if (q.wave) r.point_on_wave_m_s = p::wave_lift_off_m_s(*q.wave, q.gravity_m_s2);
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused below, and the file is read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  if (v && !problems.refused()) {
    if (const auto model = p::make_ride_vehicle(*v, q.gravity_m_s2, q.settings, {}, found)) r.model = *model;
    r.vehicle = v->name;
  }
  problems.add(as_ride_options(found, q.vehicle_file));
  problems.throw_if_refused();
  r.remarks = detail::remarks_of(problems);
  r.answer = p::ride_on(r.model, *ground, question);
  // Nothing is told of speeds where contact is lost at rest.
  if (question.speeds_m_s.empty() && !r.answer.speeds.front().standing_still) {
    // Eight speeds up to a half more than the slowest limit, or up to the fastest.
    const double top = r.answer.limit() ? std::min(1.5 * *r.answer.limit()->speed_m_s, question.fastest_m_s) : question.fastest_m_s;
    for (int k = 1; k <= 8; ++k) r.answer.curve.push_back(p::ride_at(r.model, *ground, question, top * k / 8));
  }
  return r;
}

Json ride_answer_json(const p::RideAnswer& a) {
  Json j = Json::object();
  const p::RideSpeed* limit = a.limit();
  j.set("limited_by", limit ? Json(p::name(limit->kind)) : Json()).set("speed_m_per_s", limit ? Json(*limit->speed_m_s) : Json());
  Json limits = Json::array();
  for (const p::RideSpeed& s : a.speeds) {
    Json k = Json::object();
    k.set("limit", p::name(s.kind)).set("speed_m_per_s", s.speed_m_s).set("passed_at_the_slowest", s.from_the_start).set("passed_standing_still", s.standing_still);
    k.set("axle", s.kind == p::RideLimit::wheels_leave_ground && s.speed_m_s ? Json(static_cast<double>(s.axle + 1)) : Json());
    k.set("solve", detail::solve_json(s.solve, "m_per_s"));
    limits.push(k);
  }
  j.set("limits", limits);
  Json curve = Json::array();
  for (const p::RidePoint& x : a.curve) {
    curve.push(Json::object().set("speed_m_per_s", x.speed_m_s).set("load_share_ratio", x.load_share).set("peak_m_per_s2", x.peak_m_s2).set("weighted_rms_m_per_s2", x.weighted_rms_m_s2).set("absorbed_power_w", x.absorbed_power_w));
  }
  return j.set("over_speed", curve).set("wheels_bridge_troughs", a.bridges_troughs);
}

std::optional<double> RideResult::margin_m_s(const RideRequest& q) const {
  const p::RideSpeed* limit = answer.limit();
  if (!q.needed_m_s || (limit && limit->standing_still)) return std::nullopt;
  return (limit ? *limit->speed_m_s : q.question.fastest_m_s) - *q.needed_m_s;
}

Json ride_json(const RideRequest& q, const RideResult& r) {
  Json j = ride_answer_json(r.answer);
  j.set("vehicle", r.vehicle).set("ground", r.ground.si).set("gravity_m_per_s2", q.gravity_m_s2).set("point_on_wave_m_per_s", r.point_on_wave_m_s);
  j.set("rigid", r.model.rigid).set("damping_assumed", r.model.damping_assumed && !r.model.rigid).set("pitch_radius_assumed", r.model.pitch_radius_assumed);
  detail::set_margin(j, "m_per_s", q.needed_m_s, r.margin_m_s(q));
  Json parts = Json::array();
  for (const p::RidePart& part : r.model.parts) parts.push(Json::object().set("ahead_of_centre_of_gravity_m", part.x_m).set("mass_kg", part.mass_kg + part.wheels_kg).set("pitch_inertia_kg_m2", part.pitch_inertia_kg_m2));
  j.set("parts", parts).set("peak_over_rms_ratio", q.wave ? Json() : Json(q.question.peak_over_rms));
  return j;
}

}  // namespace hardpan::service
