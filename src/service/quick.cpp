// SPDX-License-Identifier: Apache-2.0
#include "service/quick.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "base/assertion.hpp"
#include "formats/soil_file.hpp"
#include "formats/vehicle_file.hpp"
#include "service/detail/remarks.hpp"
#include "service/detail/soil_request.hpp"
#include "soil/infinite_slope.hpp"
#include "soil/textbook.hpp"

namespace hardpan::service {

using detail::resolve;

soil::NamedSoil detail::resolve(const SoilRequest& q, base::Problems& problems) {
  soil::NamedSoil out;
  const bool numbers_only = q.soil.empty() && q.n && q.kc && q.kphi && q.cohesion_pa && q.friction_rad;
  if (numbers_only) {
    out.id = "given";
    out.name = "numbers given on the command line";
    out.source = "command line";
    out.textbook = false;
  } else if (q.soil.empty()) {
    problems.refuse({.place = {.key = "--soil"}, .what = "no soil is given",
                     .remedy = "--soil with an id of 'hardpan wheel --soils' or a soil file, or all of --n --kc --kphi --cohesion --friction-angle; 'hardpan wheel --help' shows an example"});
    return out;
  } else {
    const bool file = q.soil.ends_with(".toml") || q.soil.find('/') != std::string::npos;
    base::Problems of_file;
    const auto found = file ? formats::read_soil(q.soil, q.soil, of_file)
                            : formats::find_soil("textbook:" + q.soil, "", {.key = "--soil"}, of_file);
    problems.add(of_file);
    if (!found || of_file.refused()) return out;  // what the file has wrong is not found a second time
    out = *found;
  }
  soil::Soil& s = out.soil;
  const bool bearing_whole = q.n && q.kc && q.kphi, shear_whole = q.cohesion_pa && q.friction_rad;
  if ((q.n || q.kc || q.kphi) && !bearing_whole && !(s.bearing && s.bearing->law == soil::PressureLaw::bekker)) {
    // Taken one by one they would turn moduli of another relation, or none at all, into Bekker's.
    problems.refuse({.place = {.key = "--n"}, .what = s.bearing ? fmt::format("this soil has the {} relation, which has no kc and kphi to replace", soil::name(s.bearing->law)) : "this soil has no pressure-sinkage relation",
                     .remedy = "give --n, --kc and --kphi together, or change the soil file"});
  } else if (q.n || q.kc || q.kphi) {
    const soil::Bearing b = s.bearing.value_or(soil::Bearing{});
    s.bearing = soil::bekker(q.n.value_or(b.n), q.kc.value_or(b.first_modulus), q.kphi.value_or(b.second_modulus));
    s.bearing->below = b.below;
  }
  if ((q.cohesion_pa || q.friction_rad) && !shear_whole && !s.shear) {
    problems.refuse({.place = {.key = q.cohesion_pa ? "--friction-angle" : "--cohesion"}, .what = "this soil has no shear strength to replace a part of", .remedy = "give --cohesion and --friction-angle together"});
  } else if (q.cohesion_pa || q.friction_rad) {
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
  if (s.shear && !s.shear->shear_modulus_m) {
    problems.refuse({.place = {.key = "--K"}, .what = "the soil has no shear displacement modulus K, and there is no default for it", .remedy = "give --K '2.5 cm', or shear_modulus in the soil file"});
  }
  return out;
}

void detail::check_needed_slope(const std::optional<double>& needed_rad, base::Problems& problems) {
  if (!needed_rad || (*needed_rad > 0 && *needed_rad < std::numbers::pi / 2)) return;
  problems.refuse({.place = {.key = "--need"}, .what = "not a slope", .value = fmt::format("{:g} deg", *needed_rad * 180 / std::numbers::pi), .bound = "above 0, below 90 deg"});
}

namespace {

// No published soil of the built-in table has kphi this low; the table is shown in kN.
constexpr double kLeastUsualKphi = 1e4;
std::string kilonewton_doubt(const SoilRequest& q) {
  if (!q.kphi || !(*q.kphi < kLeastUsualKphi)) return "";
  return fmt::format("--kphi {:g} N/m^(n+2) is very low for a soil. Was it typed in kN, as --soils shows it? Options take N: then give {:.7g} (and --kc times 1000 too).", *q.kphi, 1000 * *q.kphi);
}

// What it takes to tow the wheel under this load, over the load: without slip sinkage, as for a vehicle.
std::optional<performance::ResistanceUsed> towed_wheel(const contact::Contact& plain, double load_n) {
  const performance::TorqueCase cases[] = {{.contact = &plain, .load_n = load_n}};
  performance::TorqueSlip towed[1];
  performance::TorqueSpace space;
  performance::wheels_at_torque(cases, towed, space, contact::SimdTarget::best);
  const performance::TorqueSlip& t = towed[0];
  if (!t.solve.converged() || !t.wheel.carried() || !std::isfinite(t.wheel.pull_n)) return std::nullopt;
  const double resistance = std::max(0.0, -t.wheel.pull_n / load_n);
  return performance::ResistanceUsed{resistance, fmt::format("the predicted towed resistance {:.3f} without slip sinkage", resistance)};
}

// What the checks of a wheel refuse, under the name of the option that gives it.
void check_wheel_by_option(const vehicle::Wheel& wheel, base::Problems& problems) {
  static constexpr std::pair<const char*, const char*> kOptions[] = {
      {"wheel.radius", "--radius"}, {"wheel.width", "--width"}, {"wheel.grouser_height", "--grouser-height"}, {"wheel.grouser_count", "--grousers"},
      {"wheel.rolling_radius", "--rolling-radius"}, {"wheel.contact_width", "--contact-width"}, {"wheel.flex.load_deflection", "--deflection"},
      {"wheel.flex.stiffness", "--stiffness"}, {"wheel.flex.inflation", "--inflation"}, {"wheel.flex.hysteresis_share", "--hysteresis"}, {"wheel.flex", "--stiffness"}};
  base::Problems found;
  vehicle::check_wheel(wheel, {.key = "wheel"}, found);
  for (base::Problem p : found.list()) {
    for (const auto& [key, option] : kOptions) {
      if (!p.place.key.starts_with(key)) continue;
      p.place.key = option;
      break;
    }
    if (p.severity == base::Severity::refusal) problems.refuse(std::move(p));
    else problems.remark(std::move(p));
  }
}

struct Contacts {
  contact::Contact plain, sinking;  // without and with slip sinkage
};
std::optional<Contacts> contacts_of(const WheelRequest& q, const vehicle::Wheel& wheel, const soil::Soil& s, base::Problems& problems) {
  const contact::ContactOptions plain{.slip_sinkage = soil::SlipSinkage::none, .gravity_m_s2 = q.gravity_m_s2, .side_slip = q.slip_angle_rad != 0, .belly_clearance_m = q.belly_clearance_m};
  contact::ContactOptions sinking = plain;
  sinking.slip_sinkage = q.slip_sinkage;
  const auto a = contact::make_contact(wheel, s, plain, {.key = "wheel"}, problems);
  if (!a) return std::nullopt;
  const auto b = q.slip_sinkage == soil::SlipSinkage::none ? a : contact::make_contact(wheel, s, sinking, {.key = "wheel"}, problems);
  if (!b) return std::nullopt;
  return Contacts{*a, *b};
}

std::vector<WheelLine> lines_of(const Contacts& contacts, const WheelRequest& q, const std::vector<double>& slips) {
  std::vector<WheelLine> out;
  for (const double slip : slips) {
    WheelLine line{.without = contact::wheel_at_load(contacts.plain, q.load_n, slip, q.slip_angle_rad), .with = contact::wheel_at_load(contacts.sinking, q.load_n, slip, q.slip_angle_rad)};
    const auto bulldozing = contact::front_bulldozing(contacts.plain, line.lead());
    if (bulldozing && bulldozing->counts) line.front_bulldozing_n = bulldozing->resistance_n;
    out.push_back(line);
  }
  return out;
}

bool any_deep(const std::vector<WheelLine>& lines) {
  for (const WheelLine& l : lines) {
    if (l.lead().carried() && contact::has(l.lead().flags, contact::Flag::deep_sinkage)) return true;
  }
  return false;
}

std::string bulldozing_lacks(bool density, bool gravity) {
  std::string out = density ? "" : "--density '1600 kg/m^3'";
  if (!gravity) out += std::string(out.empty() ? "" : " and ") + "--gravity '9.81 m/s^2'";
  return out;
}

// A flexible wheel on ground that does not give: what METHODS 3.2 compares the ground pressure with.
void add_firm_ground(const vehicle::Wheel& wheel, double load_n, std::vector<performance::SanityValue>& to) {
  if (!wheel.flex) return;
  const auto length = vehicle::firm_contact_length_m(wheel, load_n), pressure = vehicle::firm_ground_pressure_pa(wheel, load_n);
  if (!length || !pressure) return;
  const std::string tyre = wheel.flex->inflation_pa ? fmt::format("; the tyre was inflated to {:.4g} kPa, which is recorded and not computed with", *wheel.flex->inflation_pa / 1e3) : "";
  to.push_back({"contact length on firm ground", *length, "m", "2 sqrt(D f - f^2), f the deflection under this load"});
  to.push_back({"mean ground pressure on firm ground", *pressure, "Pa", "W / (b L)" + tyre});
}

std::optional<DeepWheels> deep_wheels(const std::string& at, const performance::State& state, const performance::Machine& machine) {
  if (!state.balanced()) return std::nullopt;
  DeepWheels out{.at = at};
  double sum = 0;
  bool known = true;
  for (std::size_t k = 0; k < state.axles; ++k) {
    const int wheels = static_cast<int>(machine.axle[k].wheels);
    out.of_wheels += wheels;
    if (!contact::has(state.wheel[k].flags, contact::Flag::deep_sinkage)) continue;
    out.wheels += wheels;
    const auto estimate = contact::front_bulldozing(machine.axle[k].contact, state.wheel[k]);
    known = known && estimate.has_value();
    if (estimate) sum += wheels * estimate->resistance_n;
  }
  if (out.wheels == 0) return std::nullopt;
  if (known) {
    out.bulldozing_n = sum;
    out.weight_share_ratio = sum / machine.weight_n;
  }
  return out;
}

// Sheets a wheel disturbs, a rut reaches, a bank slips by: ours, no source.
constexpr double kSheetDepths[] = {0.1, 0.3, 1.0};

SlopeStand slope_stand(const std::string& at, double slope_rad, const soil::Soil& s, double gravity_m_s2) {
  const soil::Shear& shear = *s.shear;
  SlopeStand out{.at = at, .slope_rad = slope_rad, .steeper_than_friction = std::tan(slope_rad) > shear.tan_phi};
  const bool cohesionless = shear.cohesion_pa == 0;
  constexpr double kRounding_rad = 1e-9;  // of tan and atan, so that 30 deg asked on 30 deg of friction counts
  out.no_steady_climb = cohesionless && slope_rad >= std::atan(shear.tan_phi) - kRounding_rad;
  if (!cohesionless && !s.density_kg_m3) return out;
  const double unit_weight = s.density_kg_m3 ? *s.density_kg_m3 * gravity_m_s2 : 1.0;  // without cohesion it cancels, and the depth too
  for (const double depth : kSheetDepths) {
    base::Problems none;
    const auto stability = soil::infinite_slope(shear, {.slope_rad = slope_rad, .depth_m = depth, .depth = soil::LayerDepth::vertical, .unit_weight_n_m3 = unit_weight}, {.key = "--gradient"}, none);
    HARDPAN_ASSERT(stability.has_value());
    out.computed = true;
    out.sheets.push_back({depth, stability->safety_factor});
    out.critical_depth_m = stability->critical_depth_m;
    if (cohesionless) break;
  }
  return out;
}

bool is_gravity(double m_s2) { return m_s2 > 0 && m_s2 <= 100; }
void refuse_gravity(double m_s2, base::Problems& problems) {
  problems.refuse({.place = {.key = "--gravity"}, .what = "gravity is not stated or out of range", .value = fmt::format("{:g} m/s^2", m_s2), .bound = "above 0 to 100 m/s^2"});
}

// Nothing where no axle has grousers.
std::optional<vehicle::Vehicle> with_packed_grousers(vehicle::Vehicle v) {
  bool any = false;
  for (vehicle::Axle& a : v.axles) {
    const auto packed = contact::packed_wheel(a.wheel);
    if (packed) a.wheel = *packed;
    any = any || packed.has_value();
  }
  if (!any) return std::nullopt;
  return v;
}

}  // namespace

bool WheelLine::with_leads() const {
  if (!without.carried()) return false;
  if (!with.carried()) return true;
  return with.pull_n < without.pull_n;
}

const std::vector<soil::NamedSoil>& known_soils() { return soil::textbook_soils(); }

WheelResult wheel(const WheelRequest& q) {
  base::Problems problems;
  WheelResult out;
  out.soil = resolve(q.soil, problems);
  out.kilonewton_doubt = kilonewton_doubt(q.soil);
  if (!(q.load_n > 0)) problems.refuse({.place = {.key = "--load"}, .what = "a wheel needs a positive load", .value = fmt::format("{:g} N", q.load_n), .remedy = "for example --load '110 lbf'"});
  check_wheel_by_option(q.wheel, problems);
  const std::vector<double> slips = q.slips.empty() ? std::vector<double>{q.slip_ratio} : q.slips;
  for (const double s : slips) {
    if (!(s >= -1 && s <= 1)) problems.refuse({.place = {.key = q.slips.empty() ? "--slip" : "--slips"}, .what = "slip lies between -100 % and 100 %", .value = fmt::format("{:g} %", 100 * s)});
  }
  if (!(std::abs(q.slip_angle_rad) < 1.5707)) problems.refuse({.place = {.key = "--slip-angle"}, .what = "slip angle lies inside 90 deg either way"});
  if (q.gravity_m_s2 && !is_gravity(*q.gravity_m_s2)) refuse_gravity(*q.gravity_m_s2, problems);
  if (q.belly_clearance_m && !(*q.belly_clearance_m > 0)) {
    problems.refuse({.place = {.key = "--clearance"}, .what = "the belly stands on the ground before the wheel sinks", .value = fmt::format("{:g} m", *q.belly_clearance_m), .bound = "above 0"});
  }
  problems.throw_if_refused();
  const soil::Soil& s = out.soil.soil;
  const auto contacts = contacts_of(q, q.wheel, s, problems);
  problems.throw_if_refused();
  out.lines = lines_of(*contacts, q, slips);
  if (const auto packed = contact::packed_wheel(q.wheel)) {
    const auto of_packed = contacts_of(q, *packed, s, problems);
    problems.throw_if_refused();
    out.packed = lines_of(*of_packed, q, slips);
  }
  out.remarks = detail::remarks_of(problems);
  if (any_deep(out.lines) || any_deep(out.packed)) out.bulldozing_lacks = bulldozing_lacks(s.density_kg_m3.has_value(), q.gravity_m_s2.has_value());
  const contact::WheelAnswer& lead = out.lines.front().lead();
  if (contact::has(lead.flags, contact::Flag::soil_yields_before_carcass)) {
    out.rigid = contact::wheel_at_load(contact::rigid_twin(contacts->plain), q.load_n, slips.front(), q.slip_angle_rad);
  }
  out.sanity = performance::wheel_limits(q.load_n, q.wheel, s, lead.contact_length_m, towed_wheel(contacts->plain, q.load_n));
  add_firm_ground(q.wheel, q.load_n, out.sanity);
  return out;
}

std::optional<double> ClimbResult::margin_rad(const ClimbRequest& q) const {
  if (!q.needed_rad || at_working.factor == performance::LimitingFactor::not_converged || at_working.gradient_rad == performance::kNoGradient) return std::nullopt;
  return at_working.gradient_rad - *q.needed_rad;
}

ClimbResult climb(const ClimbRequest& q) {
  base::Problems problems;
  ClimbResult out;
  const double asked = q.gravity_m_s2.value_or(0);
  if (!is_gravity(asked)) refuse_gravity(asked, problems);
  detail::check_needed_slope(q.needed_rad, problems);
  if (q.gradient_rad && !(std::abs(*q.gradient_rad) < 1.5707)) {
    problems.refuse({.place = {.key = "--gradient"}, .what = "a gradient lies inside 90 deg either way", .value = fmt::format("{:g} deg", *q.gradient_rad * 180 / std::numbers::pi), .remedy = "for example --gradient '10 deg'"});
  }
  out.soil = resolve(q.soil, problems);
  out.kilonewton_doubt = kilonewton_doubt(q.soil);
  const double g = is_gravity(asked) ? asked : 9.81;  // refused, and the file is read all the same
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
  if (const auto packed = with_packed_grousers(out.vehicle)) {
    const auto on_packed = performance::on_soil(*packed, out.soil.soil, g, q.slip_sinkage, {.key = out.vehicle.id}, problems);
    problems.throw_if_refused();
    ClimbResult::Packed& p = out.packed.emplace();
    performance::gradients_at_slip({&*on_packed, 1}, out.working_slip, {&p.at_working, 1}, space);
    performance::maximum_gradients({&*on_packed, 1}, {&p.at_maximum, 1}, space);
  }
  out.remarks = detail::remarks_of(problems);
  const auto note_deep = [&](const char* at, const performance::State& state) {
    if (auto deep = deep_wheels(at, state, on->plain)) out.deep.push_back(std::move(*deep));
  };
  note_deep("at the working slip", out.at_working.state);
  note_deep("on the largest gradient over slip", out.at_maximum.state);
  if (out.travel && out.travel->goes) note_deep("on the gradient asked for", out.travel->state);
  const soil::Shear& shear = *out.soil.soil.shear;
  out.cohesionless = shear.cohesion_pa == 0;
  out.friction_rad = std::atan(shear.tan_phi);
  if (q.gradient_rad && *q.gradient_rad != 0) out.slopes.push_back(slope_stand("asked for", std::abs(*q.gradient_rad), out.soil.soil, g));
  if (out.at_maximum.gradient_rad > 0) out.slopes.push_back(slope_stand("largest over slip", out.at_maximum.gradient_rad, out.soil.soil, g));
  return out;
}

GravityResult gravity(const GravityRequest& q) {
  base::Problems problems;
  const auto positive = [&](const char* key, double v) {
    // Wide beyond anything that stands on ground, narrow enough that no product of these overflows.
    constexpr double kLeast = 1e-9, kMost = 1e12;
    if (v >= kLeast && v <= kMost) return;
    if (!(v > 0)) problems.refuse({.place = {.key = key}, .what = "is not above zero", .value = fmt::format("{:g}", v), .bound = "above 0"});
    else problems.refuse({.place = {.key = key}, .what = v < kLeast ? "is too small to be computed with" : "is too large to be computed with", .value = fmt::format("{:g}", v), .bound = "what can stand on ground"});
  };
  positive("--mass", q.mass_kg);
  for (const auto& [key, g] : {std::pair{"--from", q.from_m_s2}, {"--to", q.to_m_s2}}) {
    if (!(g >= 1e-3 && g <= 100)) problems.refuse({.place = {.key = key}, .what = "not a gravity a vehicle stands under", .value = fmt::format("{:g} m/s^2", g), .bound = "0.001 to 100 m/s^2"});
  }
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

}  // namespace hardpan::service
