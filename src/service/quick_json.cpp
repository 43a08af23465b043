// SPDX-License-Identifier: Apache-2.0
// The quick answers as JSON: SI, no number where there is none.
#include <cmath>

#include "service/detail/json_parts.hpp"
#include "service/detail/soil_request.hpp"
#include "service/quick.hpp"

namespace hardpan::service {

using detail::number_or_null;
using detail::solve_json;
using io::Json;

namespace {

Json answer_json(const contact::WheelAnswer& a) {
  Json j = Json::object();
  j.set("status", contact::name(a.status)).set("slip_ratio", a.slip_ratio).set("load_n", a.load_n);
  j.set("pull_n", number_or_null(a.pull_n)).set("torque_n_m", number_or_null(a.torque_n_m)).set("side_force_n", number_or_null(a.side_force_n));
  j.set("sinkage_m", number_or_null(a.sinkage_m)).set("entry_angle_rad", number_or_null(a.entry_angle_rad)).set("exit_angle_rad", number_or_null(a.exit_angle_rad));
  j.set("peak_stress_angle_rad", number_or_null(a.peak_stress_angle_rad)).set("deflection_m", a.deflection_m);
  j.set("radius_used_m", number_or_null(a.radius_used_m)).set("torque_radius_m", number_or_null(a.torque_radius_m)).set("flexing_resistance_n", number_or_null(a.flexing_resistance_n));
  j.set("contact_length_m", number_or_null(a.contact_length_m)).set("ground_pressure_pa", number_or_null(a.ground_pressure_pa));
  j.set("max_normal_stress_pa", number_or_null(a.max_normal_stress_pa)).set("max_shear_travel_m", number_or_null(a.max_shear_travel_m));
  j.set("largest_load_n", number_or_null(a.largest_load_n));
  j.set("solve", solve_json(a.solve, "n"));
  Json flags = Json::array();
  for (const std::string& s : contact::sentences(a.flags)) flags.push(s);
  j.set("flags", flags);
  return j;
}

Json gradient_json(const performance::Gradient& g) {
  Json j = Json::object();
  j.set("gradient_rad", g.gradient_rad == performance::kNoGradient ? Json() : Json(g.gradient_rad)).set("slip_ratio", g.slip_ratio);
  j.set("limiting_factor", performance::name(g.factor)).set("solve", solve_json(g.state.solve, "n"));
  return j;
}

Json sanity_json(const std::vector<performance::SanityValue>& values) {
  Json out = Json::array();
  for (const performance::SanityValue& v : values) {
    Json j = Json::object();
    j.set("name", v.name).set("value_si", number_or_null(v.value_si)).set("unit", v.unit).set("note", v.note);
    out.push(j);
  }
  return out;
}

}  // namespace

Json detail::soil_json(const soil::NamedSoil& s) {
  Json j = Json::object();
  j.set("id", s.id).set("name", s.name).set("source", s.source).set("read_in_source", s.read_in_source);
  j.set("heading", s.id == "given" ? "soil from the command line, not your ground's tests" : s.textbook ? "textbook soil, not your ground" : "");
  if (s.soil.bearing) {
    j.set("relation", soil::name(s.soil.bearing->law)).set("exponent_ratio", s.soil.bearing->n);
    j.set("first_modulus_si", s.soil.bearing->first_modulus).set("second_modulus_si", s.soil.bearing->second_modulus);
    if (const auto& below = s.soil.bearing->below) j.set("second_layer_depth_m", below->depth_m).set("second_layer_exponent_ratio", below->n_below);
  }
  if (s.soil.shear) {
    j.set("cohesion_pa", s.soil.shear->cohesion_pa).set("tan_phi_ratio", s.soil.shear->tan_phi).set("shear_modulus_m", s.soil.shear->shear_modulus_m);
  }
  return j;
}

Json soils_json() {
  Json soils = Json::array();
  for (const soil::NamedSoil& s : known_soils()) soils.push(detail::soil_json(s));
  return Json::object().set("soils", soils);
}

Json wheel_json(const WheelRequest& q, const WheelResult& r) {
  Json j = Json::object();
  j.set("soil", detail::soil_json(r.soil)).set("slip_sinkage", soil::name(q.slip_sinkage));
  const auto variants = [](const WheelLine& l) {
    Json k = Json::object();
    k.set("leads", l.with_leads() ? "with slip sinkage" : "without slip sinkage").set("lead", answer_json(l.lead()));
    k.set("without_slip_sinkage", answer_json(l.without)).set("with_slip_sinkage", answer_json(l.with)).set("front_bulldozing_estimate_n", l.front_bulldozing_n);
    return k;
  };
  Json lines = Json::array();
  for (std::size_t i = 0; i < r.lines.size(); ++i) {
    Json k = variants(r.lines[i]);
    k.set("packed_grousers", i < r.packed.size() ? variants(r.packed[i]) : Json());
    lines.push(k);
  }
  const vehicle::Wheel& w = q.wheel;
  j.set("inflation_pa", w.flex ? Json(w.flex->inflation_pa) : Json()).set("zero_slip", w.rolling_radius_m ? Json(vehicle::name(w.rolling_radius_condition)) : Json());
  j.set("remarks", r.kilonewton_doubt.empty() ? Json::array() : Json::array({r.kilonewton_doubt}));
  j.set("lines", lines).set("front_bulldozing_lacks", r.bulldozing_lacks.empty() ? Json() : Json(r.bulldozing_lacks));
  j.set("rigid_wheel", r.rigid ? answer_json(*r.rigid) : Json());
  j.set("sanity", sanity_json(r.sanity));
  return j;
}

Json climb_json(const ClimbRequest& q, const ClimbResult& r) {
  Json j = Json::object();
  j.set("soil", detail::soil_json(r.soil)).set("vehicle", r.vehicle.id).set("working_slip_ratio", r.working_slip);
  j.set("at_20_percent_slip", gradient_json(r.at_20)).set("at_working_slip", gradient_json(r.at_working));
  j.set("at_maximum_over_slip", gradient_json(r.at_maximum)).set("descent", gradient_json(r.descent));
  detail::set_margin(j, "rad", q.needed_rad, r.margin_rad(q));
  Json packed;
  if (r.packed) packed = Json::object().set("at_working_slip", gradient_json(r.packed->at_working)).set("at_maximum_over_slip", gradient_json(r.packed->at_maximum));
  j.set("packed_grousers", packed);
  Json deep = Json::array();
  for (const DeepWheels& d : r.deep) {
    deep.push(Json::object().set("at", d.at).set("wheels", d.wheels).set("of_wheels", d.of_wheels).set("front_bulldozing_estimate_n", d.bulldozing_n)
                  .set("share_of_weight_ratio", d.bulldozing_n ? Json(d.weight_share_ratio) : Json()).set("lacks", d.bulldozing_n ? Json() : Json("density")));
  }
  j.set("deep_wheels", deep).set("friction_angle_rad", r.friction_rad).set("cohesionless", r.cohesionless);
  Json slopes = Json::array();
  for (const SlopeStand& s : r.slopes) {
    Json k = Json::object();
    k.set("gradient", s.at).set("slope_rad", s.slope_rad).set("steeper_than_friction", s.steeper_than_friction);
    k.set("status", s.computed ? "computed" : "density is not known").set("steady_climb_possible", !s.no_steady_climb);
    Json sheets = Json::array();
    for (const SlopeStand::Sheet& sheet : s.sheets) {
      sheets.push(Json::object().set("vertical_depth_m", r.cohesionless ? Json() : Json(sheet.vertical_depth_m)).set("safety_factor_ratio", number_or_null(sheet.safety_factor_ratio)));
    }
    k.set("sheets", sheets).set("critical_vertical_depth_m", s.critical_depth_m);
    slopes.push(k);
  }
  j.set("slope_of_ground", slopes);
  j.set("towed_resistance_coefficient_ratio", number_or_null(r.towed_resistance));
  j.set("sanity", sanity_json(r.sanity));
  if (r.travel) {
    Json t = Json::object();
    t.set("goes", r.travel->goes).set("limiting_factor", performance::name(r.travel->factor)).set("slip_ratio", r.travel->slip_ratio);
    t.set("sinkage_m", r.travel->sinkage_m).set("torque_n_m", r.travel->torque_n_m).set("energy_j_per_m", number_or_null(r.travel->energy_j_per_m));
    t.set("speed_m_per_s", number_or_null(r.travel->speed_m_s)).set("solve", solve_json(r.travel->state.solve, "n"));
    j.set("travel", t);
  }
  return j;
}

Json gravity_json(const GravityRequest& q, const GravityResult& r) {
  Json j = Json::object();
  j.set("mass_kg", q.mass_kg).set("from_m_per_s2", q.from_m_s2).set("to_m_per_s2", q.to_m_s2).set("weight_n", r.weight_n);
  j.set("equal_weight_mass_kg", r.equal_weight_mass_kg).set("payload_kg", r.payload_kg).set("test_mass_kg", r.test_mass_kg);
  j.set("speed_ratio", r.speed_ratio).set("rotation_ratio", r.rotation_ratio).set("time_ratio", r.time_ratio).set("force_ratio", r.force_ratio);
  j.set("solve", "closed form").set("torque_ratio", r.torque_ratio).set("power_ratio", r.power_ratio).set("width_ratio", r.width_ratio);
  return j;
}

}  // namespace hardpan::service
