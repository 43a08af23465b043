// SPDX-License-Identifier: Apache-2.0
#include "service/quick.hpp"

#include <fmt/core.h>

#include <cmath>
#include <filesystem>

#include "formats/soil_file.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/soil_request.hpp"
#include "soil/textbook.hpp"

namespace hardpan::service {

using io::Json;
using detail::resolve;
using detail::soil_json;

soil::NamedSoil detail::resolve(const SoilRequest& q, base::Problems& problems) {
  soil::NamedSoil out;
  const bool numbers_only = q.soil.empty() && q.n && q.kc && q.kphi && q.cohesion_pa && q.friction_rad;
  if (numbers_only) {
    out.id = "given";
    out.name = "numbers given on the command line";
    out.source = "command line";
    out.textbook = false;
  } else {
    const bool file = q.soil.ends_with(".toml") || q.soil.find('/') != std::string::npos;
    const auto found = file ? formats::read_soil(q.soil, q.soil, problems)
                            : formats::find_soil("textbook:" + q.soil, "", {.key = "--soil"}, problems);
    if (!found) return out;
    out = *found;
  }
  soil::Soil& s = out.soil;
  if (q.n || q.kc || q.kphi) {
    const soil::Bearing b = s.bearing.value_or(soil::Bearing{});
    s.bearing = soil::bekker(q.n.value_or(b.n), q.kc.value_or(b.first_modulus), q.kphi.value_or(b.second_modulus));
    s.bearing->below = b.below;
  }
  if (q.cohesion_pa || q.friction_rad) {
    soil::Shear shear = s.shear.value_or(soil::Shear{});
    if (q.cohesion_pa) shear.cohesion_pa = *q.cohesion_pa;
    if (q.friction_rad) shear.tan_phi = std::tan(*q.friction_rad);
    s.shear = shear;
  }
  if (q.shear_modulus_m && s.shear) s.shear->shear_modulus_m = q.shear_modulus_m;
  const auto take = [](std::optional<double>& to, const std::optional<double>& from) {
    if (from) to = from;
  };
  take(s.density_kg_m3, q.density_kg_m3);
  take(s.c1, q.c1);
  take(s.c2, q.c2);
  take(s.c1_braking, q.c1_braking);
  take(s.c2_braking, q.c2_braking);
  take(s.exit_ratio, q.exit_ratio);
  take(s.slip_exponent, q.slip_exponent);
  take(s.surface_friction, q.surface_friction);
  if (q.reload_k0_pa_per_m) s.reload = soil::Reload{*q.reload_k0_pa_per_m, q.reload_au_pa_per_m2.value_or(0)};
  if (q.adhesion_pa && q.interface_friction_rad) s.smooth_metal = soil::InterfaceStrength{*q.adhesion_pa, std::tan(*q.interface_friction_rad)};
  soil::check_soil(s, {.key = "soil"}, problems);
  return out;
}

namespace {

// No published soil of the built-in table has kphi this low; the table is shown in kN.
constexpr double kLeastUsualKphi = 1e4;
std::string kilonewton_doubt(const SoilRequest& q) {
  if (!q.kphi || !(*q.kphi < kLeastUsualKphi)) return "";
  return fmt::format("--kphi {:g} N/m^(n+2) is very low for a soil. Was it typed in kN, as --soils shows it? Options take N: then give {:.7g} (and --kc times 1000 too).", *q.kphi, 1000 * *q.kphi);
}

Json number_or_null(double v) { return std::isfinite(v) ? Json(v) : Json(); }

Json answer_json(const contact::WheelAnswer& a) {
  Json j = Json::object();
  j.set("status", contact::name(a.status)).set("slip_ratio", a.slip_ratio).set("load_n", a.load_n);
  j.set("pull_n", number_or_null(a.pull_n)).set("torque_n_m", number_or_null(a.torque_n_m)).set("side_force_n", number_or_null(a.side_force_n));
  j.set("sinkage_m", number_or_null(a.sinkage_m)).set("entry_angle_rad", number_or_null(a.entry_angle_rad)).set("exit_angle_rad", number_or_null(a.exit_angle_rad));
  j.set("peak_stress_angle_rad", number_or_null(a.peak_stress_angle_rad)).set("deflection_m", a.deflection_m);
  j.set("contact_length_m", number_or_null(a.contact_length_m)).set("ground_pressure_pa", number_or_null(a.ground_pressure_pa));
  j.set("max_normal_stress_pa", number_or_null(a.max_normal_stress_pa)).set("max_shear_travel_m", number_or_null(a.max_shear_travel_m));
  j.set("largest_load_n", number_or_null(a.largest_load_n));
  Json solve = Json::object();
  solve.set("status", base::name(a.solve.status)).set("residual_n", number_or_null(a.solve.residual)).set("steps", a.solve.steps).set("evaluations", a.solve.evaluations);
  j.set("solve", solve);
  Json flags = Json::array();
  for (const std::string& s : contact::sentences(a.flags)) flags.push(s);
  j.set("flags", flags);
  return j;
}

Json gradient_json(const performance::Gradient& g) {
  Json j = Json::object();
  j.set("gradient_rad", g.gradient_rad == performance::kNoGradient ? Json() : Json(g.gradient_rad)).set("slip_ratio", g.slip_ratio);
  j.set("limiting_factor", performance::name(g.factor)).set("solve", base::name(g.state.solve.status));
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

// What it takes to tow the wheel under this load, over the load: the harder of without and with slip sinkage.
std::optional<performance::ResistanceUsed> towed_wheel(const contact::Contact& plain, const contact::Contact& sinking, double load_n) {
  const performance::TorqueCase cases[] = {{.contact = &plain, .load_n = load_n}, {.contact = &sinking, .load_n = load_n}};
  performance::TorqueSlip towed[2];
  performance::Workspace space;
  performance::wheels_at_torque(cases, towed, space);
  std::optional<double> most;
  for (const performance::TorqueSlip& t : towed) {
    if (!t.solve.converged() || !t.wheel.carried() || !std::isfinite(t.wheel.pull_n)) return std::nullopt;
    most = std::max(most.value_or(0), -t.wheel.pull_n / load_n);
  }
  return performance::ResistanceUsed{*most, fmt::format("the predicted towed resistance {:.3f}", *most)};
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

const contact::WheelAnswer& WheelLine::lead() const {
  if (!without.carried()) return without;
  if (!with.carried()) return with;
  return with.pull_n < without.pull_n ? with : without;
}

const std::vector<soil::NamedSoil>& known_soils() { return soil::textbook_soils(); }

WheelResult wheel(const WheelRequest& q) {
  base::Problems problems;
  WheelResult out;
  out.soil = resolve(q.soil, problems);
  out.kilonewton_doubt = kilonewton_doubt(q.soil);
  if (!(q.load_n > 0)) problems.refuse({.place = {.key = "--load"}, .what = "a wheel needs a positive load", .value = fmt::format("{:g} N", q.load_n), .remedy = "for example --load '110 lbf'"});
  if (!(q.wheel.radius_m > 0) || !(q.wheel.width_m > 0)) problems.refuse({.place = {.key = "--radius"}, .what = "a wheel needs radius and width above 0", .remedy = "for example --radius '12 in' --width '8 in'"});
  std::vector<double> slips = q.slips.empty() ? std::vector<double>{q.slip_ratio} : q.slips;
  for (const double s : slips) {
    if (!(s >= -1 && s <= 1)) problems.refuse({.place = {.key = "--slip"}, .what = "slip lies between -100 % and 100 %", .value = fmt::format("{:g}", s)});
  }
  if (!(std::abs(q.slip_angle_rad) < 1.5707)) problems.refuse({.place = {.key = "--slip-angle"}, .what = "slip angle lies inside 90 deg either way"});
  problems.throw_if_refused();
  soil::Soil s = out.soil.soil;
  const contact::ContactOptions plain{.slip_sinkage = soil::SlipSinkage::none, .gravity_m_s2 = q.gravity_m_s2, .side_slip = q.slip_angle_rad != 0};
  contact::ContactOptions sinking = plain;
  sinking.slip_sinkage = q.slip_sinkage;
  const auto a = contact::make_contact(q.wheel, s, plain, {.key = "wheel"}, problems);
  std::optional<contact::Contact> b = a;
  if (a && q.slip_sinkage != soil::SlipSinkage::none) b = contact::make_contact(q.wheel, s, sinking, {.key = "wheel"}, problems);
  problems.throw_if_refused();
  for (const double slip : slips) {
    out.lines.push_back({contact::wheel_at_load(*a, q.load_n, slip, q.slip_angle_rad), contact::wheel_at_load(*b, q.load_n, slip, q.slip_angle_rad)});
  }
  const contact::WheelAnswer& lead = out.lines.front().lead();
  if (const auto bulldozing = contact::front_bulldozing(*a, lead); bulldozing && bulldozing->counts) out.front_bulldozing_n = bulldozing->resistance_n;
  if (contact::has(lead.flags, contact::Flag::soil_yields_before_carcass)) {
    out.rigid = contact::wheel_at_load(contact::rigid_twin(*a), q.load_n, slips.front(), q.slip_angle_rad);
  }
  out.sanity = performance::wheel_limits(q.load_n, q.wheel, s, lead.contact_length_m, towed_wheel(*a, *b, q.load_n));
  return out;
}

ClimbResult climb(const ClimbRequest& q) {
  base::Problems problems;
  ClimbResult out;
  if (!q.gravity_m_s2 || !(*q.gravity_m_s2 > 0)) problems.refuse({.place = {.key = "--gravity"}, .what = "gravity is not stated or not positive", .remedy = "for example --gravity '9.81 m/s^2'"});
  out.soil = resolve(q.soil, problems);
  out.kilonewton_doubt = kilonewton_doubt(q.soil);
  const double g = q.gravity_m_s2.value_or(9.81);
  if (q.vehicle) {
    out.vehicle = *q.vehicle;
    vehicle::check_vehicle(out.vehicle, g, {.key = "vehicle"}, problems);
  } else if (auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, g, problems)) {
    out.vehicle = *v;
  }
  problems.throw_if_refused();
  out.working_slip = q.slip_ratio.value_or(out.vehicle.working_slip.value_or(0.2));
  const auto on = performance::on_soil(out.vehicle, out.soil.soil, g, q.slip_sinkage, {.key = out.vehicle.id}, problems);
  problems.throw_if_refused();
  performance::Workspace space;
  performance::gradients_at_slip({&*on, 1}, 0.2, {&out.at_20, 1}, space);
  performance::gradients_at_slip({&*on, 1}, out.working_slip, {&out.at_working, 1}, space);
  performance::maximum_gradients({&*on, 1}, {&out.at_maximum, 1}, space);
  performance::maximum_descents({&*on, 1}, {&out.descent, 1}, space);
  performance::towed_resistance_coefficients({&*on, 1}, {&out.towed_resistance, 1}, space);
  out.sanity = performance::ground_limits(*on, out.soil.soil, out.working_slip, {out.towed_resistance, "the predicted towed resistance"});
  if (q.gradient_rad) {
    performance::Travel t;
    performance::travels({&*on, 1}, *q.gradient_rad, 0, {&t, 1}, space);
    out.travel = t;
  }
  return out;
}

GravityResult gravity(const GravityRequest& q) {
  base::Problems problems;
  const auto positive = [&](const char* key, double v) {
    // Wide beyond anything that stands on ground, narrow enough that no product of these overflows.
    constexpr double kLeast = 1e-9, kMost = 1e12;
    if (!(v >= kLeast && v <= kMost)) {
      problems.refuse({.place = {.key = key}, .what = "is not a size this can be computed for", .value = fmt::format("{:g}", v),
                       .bound = fmt::format("{:g} to {:g} in SI units", kLeast, kMost)});
    }
  };
  positive("--mass", q.mass_kg);
  positive("--from", q.from_m_s2);
  positive("--to", q.to_m_s2);
  positive("--length-ratio", q.length_ratio);
  positive("--mass-ratio", q.mass_ratio);
  if (q.target_mass_kg) positive("--target-mass", *q.target_mass_kg);
  problems.throw_if_refused();
  GravityResult r;
  const double g = q.to_m_s2 / q.from_m_s2;
  r.weight_n = q.mass_kg * q.from_m_s2;
  r.equal_weight_mass_kg = q.mass_kg / g;
  r.payload_kg = r.equal_weight_mass_kg - q.mass_kg;
  if (q.target_mass_kg) r.test_mass_kg = *q.target_mass_kg * g;
  // Granular scaling (Slonaker et al. 2017): cohesionless soil, same grains.
  const double l = q.length_ratio, s = q.mass_ratio;
  r.width_ratio = s / (l * l);
  r.rotation_ratio = std::sqrt(g / l);
  r.time_ratio = std::sqrt(l / g);
  r.speed_ratio = std::sqrt(g * l);
  r.force_ratio = s * g;
  r.torque_ratio = s * g * l;
  r.power_ratio = s * g * std::sqrt(g * l);
  return r;
}

Json wheel_json(const WheelRequest& q, const WheelResult& r) {
  Json j = Json::object();
  j.set("soil", soil_json(r.soil)).set("slip_sinkage", soil::name(q.slip_sinkage));
  Json lines = Json::array();
  for (const WheelLine& l : r.lines) {
    Json k = Json::object();
    k.set("lead", answer_json(l.lead())).set("without_slip_sinkage", answer_json(l.without)).set("with_slip_sinkage", answer_json(l.with));
    lines.push(k);
  }
  j.set("remarks", r.kilonewton_doubt.empty() ? Json::array() : Json::array({r.kilonewton_doubt}));
  j.set("lines", lines).set("front_bulldozing_estimate_n", r.front_bulldozing_n);
  j.set("rigid_wheel", r.rigid ? answer_json(*r.rigid) : Json());
  j.set("sanity", sanity_json(r.sanity));
  return j;
}

Json climb_json(const ClimbResult& r) {
  Json j = Json::object();
  j.set("soil", soil_json(r.soil)).set("vehicle", r.vehicle.id).set("working_slip_ratio", r.working_slip);
  j.set("at_20_percent_slip", gradient_json(r.at_20)).set("at_working_slip", gradient_json(r.at_working));
  j.set("at_maximum_over_slip", gradient_json(r.at_maximum)).set("descent", gradient_json(r.descent));
  j.set("towed_resistance_coefficient_ratio", number_or_null(r.towed_resistance));
  j.set("sanity", sanity_json(r.sanity));
  if (r.travel) {
    Json t = Json::object();
    t.set("goes", r.travel->goes).set("limiting_factor", performance::name(r.travel->factor)).set("slip_ratio", r.travel->slip_ratio);
    t.set("sinkage_m", r.travel->sinkage_m).set("torque_n_m", r.travel->torque_n_m).set("energy_j_per_m", number_or_null(r.travel->energy_j_per_m));
    t.set("speed_m_per_s", number_or_null(r.travel->speed_m_s));
    j.set("travel", t);
  }
  return j;
}

Json gravity_json(const GravityRequest& q, const GravityResult& r) {
  Json j = Json::object();
  j.set("mass_kg", q.mass_kg).set("from_m_per_s2", q.from_m_s2).set("to_m_per_s2", q.to_m_s2).set("weight_n", r.weight_n);
  j.set("equal_weight_mass_kg", r.equal_weight_mass_kg).set("payload_kg", r.payload_kg).set("test_mass_kg", r.test_mass_kg);
  j.set("speed_ratio", r.speed_ratio).set("rotation_ratio", r.rotation_ratio).set("time_ratio", r.time_ratio).set("force_ratio", r.force_ratio);
  j.set("torque_ratio", r.torque_ratio).set("power_ratio", r.power_ratio).set("width_ratio", r.width_ratio);
  return j;
}

}  // namespace hardpan::service
