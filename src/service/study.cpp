// SPDX-License-Identifier: Apache-2.0
#include "service/study.hpp"

#include <fmt/core.h>

#include "formats/questions_reader.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"
#include "service/questions.hpp"

namespace hardpan::service {

StudyResult study(const StudyRequest& q) {
  base::Problems problems;
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) problems.refuse({.place = {.key = "--gravity"}, .what = "gravity is not stated or out of range", .value = fmt::format("{:g} m/s^2", q.gravity_m_s2), .bound = "above 0 to 100 m/s^2"});
  if (q.slip_ratio && !(*q.slip_ratio > 0 && *q.slip_ratio <= 0.95)) problems.refuse({.place = {.key = "--slip"}, .what = "not a slip", .value = fmt::format("{:g} %", 100 * *q.slip_ratio), .bound = "above 0 to 95 %"});
  std::vector<performance::Variation> variations;
  for (const std::string& text : q.vary) {
    if (const auto v = formats::parse_variation(text, {.key = "--vary"}, problems)) variations.push_back(*v);
  }
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the file is read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  const bool on_rough = q.quantity == performance::Studied::ride_margin;
  performance::StudySettings settings{.quantity = q.quantity, .speed_m_s = q.speed_m_s, .needed = q.needed, .key_in_file = formats::vehicle_key_of_file};
  StudyResult r;
  if (on_rough && !q.rough) problems.refuse({.place = {.key = "--wave-length"}, .what = "a ride margin needs rough ground", .bound = "one of --wave-length with --amplitude, --profile and --class"});
  else if (on_rough) {
    base::Problems found;
    performance::check_ride_question(q.rough->question, {}, found);
    if (const auto ground = rough_ground(*q.rough, r.ground, problems, found)) settings.over.push_back({*ground, q.rough->settings, q.rough->question});
    if (v && !problems.refused()) (void)performance::make_ride_vehicle(*v, gravity_m_s2, q.rough->settings, {}, found);   // what it refuses of the vehicle as it is
    problems.add(as_ride_options(found, q.vehicle_file));
  } else {
    r.soil = detail::resolve(q.soil, problems);
  }
  settings.slip_ratio = q.slip_ratio.value_or(v ? v->working_slip.value_or(0.2) : 0.2);
  if (variations.size() == q.vary.size() && !problems.refused()) {
    base::Problems found;
    performance::check_study(variations, settings, {}, found);
    for (base::Problem one : found.list()) {
      one.place.key = one.place.key.starts_with("vary") || one.place.key.empty() ? "--vary" : "--" + one.place.key;
      problems.refuse(std::move(one));
    }
  }
  problems.throw_if_refused();
  r.vehicle = v->name;
  const performance::Ground ground{.zone = r.soil.id, .centre = r.soil.soil, .textbook = true, .source = r.soil.source, .slip_sinkage = q.slip_sinkage};
  const auto s = performance::study(*v, ground, {.gravity_m_s2 = q.gravity_m_s2}, variations, settings, {.file = q.vehicle_file}, problems);
  problems.throw_if_refused();
  r.study = *s;
  r.remarks = detail::remarks_of(problems);
  return r;
}

io::Json study_answer_json(const StudyResult& r) {
  io::Json j = study_json(r.study);
  j.put("vehicle", r.vehicle).set("soil", r.ground.si.empty() ? detail::soil_json(r.soil) : io::Json()).set("ground", r.ground.si.empty() ? io::Json() : io::Json(r.ground.si));
  return j;
}

}  // namespace hardpan::service
