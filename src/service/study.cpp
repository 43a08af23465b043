// SPDX-License-Identifier: Apache-2.0
#include "service/study.hpp"

#include <fmt/core.h>

#include "formats/questions_reader.hpp"
#include "formats/vehicle_file.hpp"
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
  StudyResult r{.soil = detail::resolve(q.soil, problems)};
  if (variations.size() == q.vary.size()) {
    if (const std::string why = performance::why_no_study(variations); !why.empty()) problems.refuse({.place = {.key = "--vary"}, .what = why, .bound = "one or two different parameters, rising ranges, 2 to 41 values each"});
  }
  problems.throw_if_refused();
  r.vehicle = v->name;
  const performance::Ground ground{.zone = r.soil.id, .centre = r.soil.soil, .textbook = true, .source = r.soil.source, .slip_sinkage = q.slip_sinkage};
  const auto s = performance::study(*v, ground, {.gravity_m_s2 = q.gravity_m_s2}, variations, {.quantity = q.quantity, .slip_ratio = q.slip_ratio.value_or(v->working_slip.value_or(0.2))}, {}, problems);
  problems.throw_if_refused();
  r.study = *s;
  return r;
}

io::Json study_answer_json(const StudyResult& r) {
  io::Json j = study_json(r.study);
  return j.put("vehicle", r.vehicle).set("soil", detail::soil_json(r.soil));
}

}  // namespace hardpan::service
