// SPDX-License-Identifier: Apache-2.0
#include "service/endurance.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "formats/survey_sheets.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/json_parts.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"

namespace hardpan::service {

using detail::number_or_null;
using io::Json;
namespace p = performance;

namespace {

// The soil of a row. What is typed on the command line describes --soil; only K goes on to the built-in soils that have none, since nothing can be computed on them without.
SoilRequest soil_of_row(const std::string& ground, const SoilRequest& typed) {
  if (ground.empty()) return typed;
  SoilRequest out{.soil = ground};
  for (const soil::NamedSoil& s : known_soils()) {
    if (s.id == ground && s.soil.shear && !s.soil.shear->shear_modulus_m) out.shear_modulus_m = typed.shear_modulus_m;
  }
  return out;
}

}  // namespace

EnduranceResult endurance(const EnduranceRequest& q) {
  base::Problems problems;
  const auto refuse = [&](const char* key, const char* what, std::string value, const char* bound) { problems.refuse({.place = {.key = key}, .what = what, .value = std::move(value), .bound = bound}); };
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) refuse("--gravity", "gravity is not stated or out of range", fmt::format("{:g} m/s^2", q.gravity_m_s2), "above 0 to 100 m/s^2");
  if (q.battery_j && !(*q.battery_j > 0 && *q.battery_j < 1e15)) refuse("--battery", "not an energy of a battery", fmt::format("{:g} J", *q.battery_j), "above 0");
  if (!(q.reserve_ratio >= 0 && q.reserve_ratio < 1)) refuse("--reserve", "not a share to be kept", fmt::format("{:g} %", 100 * q.reserve_ratio), "0 to below 100 %");
  if (!(q.start_ratio > (q.reserve_ratio < 1 ? q.reserve_ratio : 0) && q.start_ratio <= 1)) refuse("--charge", "not a charge to start with", fmt::format("{:g} %", 100 * q.start_ratio), "above the reserve, at most 100 %");
  if (q.temperature_k.has_value() == q.derating.empty()) {
    problems.refuse({.place = {.key = q.temperature_k ? "--temperature" : "--derating"}, .what = q.temperature_k ? "a temperature says nothing without what the battery gives at it" : "rows of usable shares say nothing without a temperature",
                     .remedy = "give --temperature '-10 degC' and --derating '-20 degC: 60 %' --derating '20 degC: 100 %', or neither"});
  }
  p::check_derating(q.derating, {.key = "--derating"}, problems);
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the files are read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  const auto sheet = formats::read_trip(q.trip_file, q.trip_file, problems);
  EnduranceResult r;
  if (sheet) {
    std::vector<std::string> names;
    for (std::size_t i = 0; i < sheet->rows.size(); ++i) {
      auto at = std::find(names.begin(), names.end(), sheet->grounds[i]);
      if (at == names.end()) {
        base::Problems found;
        r.grounds.push_back(detail::resolve(soil_of_row(sheet->grounds[i], q.soil), found));
        for (base::Problem one : found.list()) {
          if (!sheet->grounds[i].empty() && one.place.file.empty()) one.place = {.file = q.trip_file, .line = sheet->lines[i]};
          problems.refuse(std::move(one));
        }
        at = names.insert(names.end(), sheet->grounds[i]);
      }
      r.rows.push_back(sheet->rows[i]);
      r.rows.back().ground = static_cast<std::size_t>(at - names.begin());
    }
  }
  if (v && !q.battery_j && !v->battery_j) problems.refuse({.place = {.file = q.vehicle_file, .key = "battery"}, .what = "the battery's usable energy is not stated", .remedy = "add it to the vehicle file, or give --battery '2 kWh'"});
  if (q.temperature_k) {
    const auto share = p::usable_ratio(q.derating, *q.temperature_k);
    if (!share) refuse("--temperature", "the derating rows do not reach it, and nothing is assumed beyond them", fmt::format("{:g} K", *q.temperature_k), "between the first and the last row");
    else if (!(*share > 0)) refuse("--temperature", "the battery gives nothing there", fmt::format("{:g} K", *q.temperature_k), "");
    else r.usable_ratio = *share;
  }
  problems.throw_if_refused();
  r.vehicle = v->name;
  r.battery_j = q.battery_j ? *q.battery_j : *v->battery_j;
  r.settings = {.usable_j = r.battery_j * r.usable_ratio, .reserve_ratio = q.reserve_ratio, .start_ratio = q.start_ratio};
  if (q.and_back) r.rows = p::there_and_back(std::move(r.rows));
  std::vector<p::OnSoil> grounds;
  for (const soil::NamedSoil& s : r.grounds) {
    const auto on = p::on_soil(*v, s.soil, q.gravity_m_s2, q.slip_sinkage, {.key = s.id}, problems);
    if (on) grounds.push_back(*on);
  }
  problems.throw_if_refused();
  r.trip = p::drive(r.rows, grounds, *v, r.settings);
  r.remarks = detail::remarks_of(problems);
  return r;
}

Json trip_json(const p::Trip& t, const std::vector<p::TripRow>& rows) {
  Json j = Json::object();
  j.set("arrives", t.arrives()).set("stopped_by", t.arrives() ? Json() : Json(p::name(t.stopped_by))).set("limiting_factor", p::name(t.factor)).set("stopped_in_row", t.arrives() ? Json() : Json(static_cast<double>(t.row + 1)));
  j.set("distance_m", t.distance_m).set("time_s", t.time_s).set("energy_j", t.energy_j).set("charge_left_ratio", t.charge_ratio);
  Json legs = Json::array();
  for (std::size_t i = 0; i < t.legs.size(); ++i) {
    const p::TripLeg& l = t.legs[i];
    Json k = Json::object();
    k.set("name", rows[i].name).set("distance_m", l.distance_m).set("gradient_rad", rows[i].gradient_rad).set("time_s", l.time_s).set("speed_m_per_s", number_or_null(l.speed_m_s)).set("speed_asked_m_per_s", rows[i].speed_m_s);
    k.set("energy_j", l.energy_j).set("refused_by_full_battery_j", l.lost_j).set("charge_after_ratio", l.charge_ratio).set("slip_ratio", number_or_null(l.slip_ratio)).set("torque_n_m", number_or_null(l.torque_n_m));
    k.set("sinkage_m", number_or_null(l.sinkage_m)).set("drive_heat_ratio", l.heat_ratio).set("torque_holds_s", l.holds_s).set("drive_heat_unknown", l.heat_unknown).set("solve", detail::solve_json(l.solve, "n"));
    legs.push(k);
  }
  return j.set("rows", legs);
}

Json endurance_json(const EnduranceResult& r) {
  Json j = trip_json(r.trip, r.rows);
  j.set("vehicle", r.vehicle).set("battery_j", r.battery_j).set("usable_at_temperature_ratio", r.usable_ratio).set("reserve_ratio", r.settings.reserve_ratio);
  Json soils = Json::array();
  for (const soil::NamedSoil& s : r.grounds) soils.push(detail::soil_json(s));
  return j.set("grounds", soils);
}

}  // namespace hardpan::service
