// SPDX-License-Identifier: Apache-2.0
// Sources: Rowland 1975 (mean maximum pressure) and Wismer and Luth 1974 (ASABE D497 in its older form), constants of both
// from memory; the rest are balances of forces or, where said, common practice without a source.
#include "performance/sanity.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "contact/cone_index.hpp"

namespace hardpan::performance {
namespace {

struct Loads {
  double footprint_m2 = 0;
  bool balanced = false;
};

Loads footprint(const OnSoil& on, double slip_ratio) {
  Workspace space;
  State s;
  states_at_slip({&on, 1}, slip_ratio, 0, {&s, 1}, space);
  Loads out{.balanced = s.balanced()};
  for (std::size_t k = 0; out.balanced && k < s.axles; ++k) {
    out.footprint_m2 += on.plain.axle[k].wheels * on.plain.axle[k].contact.width_m * s.wheel[k].contact_length_m;
  }
  return out;
}

SanityValue strength_value(double weight, const soil::Shear& shear, double area, const char* what) {
  return {"soil strength under the contact patches", soil_strength_n(weight, shear, area), "N", fmt::format("W tan phi + c A: no {} of this weight pulls more", what)};
}

SanityValue bound_value(double weight, const soil::Shear& shear, double area, const ResistanceUsed& resistance) {
  return {"gradient bound", gradient_bound_rad(weight, shear, area, resistance.coefficient_ratio), "rad",
          "the slope that W tan phi + c A under the contact patches holds, less " + resistance.words};
}

bool same_wheels(const vehicle::Vehicle& v) {
  const vehicle::Axle& first = v.axles.front();
  return std::all_of(v.axles.begin(), v.axles.end(), [&](const vehicle::Axle& a) {
    return a.wheels == first.wheels && a.wheel.width_m == first.wheel.width_m && a.wheel.radius_m == first.wheel.radius_m && a.wheel.flex.has_value() == first.wheel.flex.has_value();
  });
}

void mean_maximum_pressure(const Machine& machine, const vehicle::Vehicle& v, SanityOfTyres& out) {
  const auto none = [&](const std::string& why) { out.without.push_back("No mean maximum pressure (Rowland) stands beside: " + why + "."); };
  if (std::any_of(v.axles.begin(), v.axles.end(), [](const vehicle::Axle& a) { return !a.wheel.flex; })) {
    return none("wheels are rigid, and the relation divides by the deflection of a tyre");
  }
  if (!same_wheels(v)) return none("the axles differ in their wheels");
  const vehicle::Axle& first = v.axles.front();
  TyresOnGround tyres{.weight_n = machine.weight_n, .axles = v.axles.size(), .width_m = first.wheel.width_m, .diameter_m = 2 * first.wheel.radius_m};
  for (const vehicle::Axle& a : v.axles) {
    tyres.wheels += static_cast<std::size_t>(a.wheels);
    tyres.driven_axles += a.drive.driven ? 1 : 0;
  }
  const double load = machine.weight_n / static_cast<double>(tyres.wheels);
  const auto deflection = vehicle::deflection_m(*first.wheel.flex, load);
  if (!deflection || !(*deflection > 0)) return none("the vehicle file gives no deflection at the mean load of a wheel");
  tyres.deflection_m = *deflection;
  const auto pressure = rowland_mean_maximum_pressure_pa(tyres);
  if (!pressure) return none(fmt::format("no constant K is known for {} axles, {} of them driven, with {} wheels", tyres.axles, tyres.driven_axles, tyres.wheels));
  out.values.push_back({"mean maximum pressure", *pressure, "Pa",
                        fmt::format("K W / (2 n b^0.85 d^1.15 sqrt(delta / d)) with K = {:.2f}, deflection {:.3g} of the diameter at the mean load (Rowland 1975, from memory)",
                                    *rowland_k(tyres.axles, tyres.driven_axles), tyres.deflection_m / tyres.diameter_m)});
}

// Sum over wheels of net pull (driven) or less resistance (towed), over the weight; loads on the level without pull.
void pull_from_cone(const Machine& machine, const vehicle::Vehicle& v, double cone_index_pa, SanityOfTyres& out) {
  const auto tyre = [](const vehicle::Axle& a) { return a.wheel.flex && a.wheel.flex->inflation_pa; };
  if (!std::all_of(v.axles.begin(), v.axles.end(), tyre)) {
    out.without.push_back("No pull from the cone index stands beside: the relation is one for pneumatic tyres, and a wheel has no inflation pressure.");
    return;
  }
  double wheels = 0, pull = 0;
  for (const vehicle::Axle& a : v.axles) wheels += a.wheels;
  std::string range;
  double least = 0;
  for (const vehicle::Axle& a : v.axles) {
    // The section height is not in the vehicle file; Wismer and Luth need it for their range only.
    const contact::TyreOnCone on_cone{.width_m = a.wheel.width_m, .diameter_m = 2 * a.wheel.radius_m, .load_n = machine.weight_n / wheels, .cone_index_pa = cone_index_pa};
    const contact::ConeTraction t = contact::wismer_luth(on_cone, 0.2);
    pull += a.wheels / wheels * (a.drive.driven ? t.net : -t.resistance);
    least = least == 0 ? t.numeric : std::min(least, t.numeric);
    for (const std::string& s : t.out_of_range) {
      if (!s.starts_with("delta/h") && range.find(s) == std::string::npos) range += "; outside its range: " + s;
    }
  }
  out.values.push_back({"net pull coefficient at 20 % slip from the cone index", pull, "",
                        fmt::format("0.75 (1 - exp(-0.3 Cn s)) - 1.2 / Cn - 0.04, Cn = CI b d / W = {:.3g} at the mean wheel load (Wismer and Luth 1974, as in older ASABE D497, from memory; tyres on "
                                    "cohesive-frictional farm ground; the form that needs no section height, so whether delta/h is near the 0.2 it was fitted for is not known{})",
                                    least, range)});
}

}  // namespace

double nominal_pressure_pa(double weight_n, double width_radius_area_m2) { return weight_n / width_radius_area_m2; }

double soil_strength_n(double weight_n, const soil::Shear& shear, double contact_area_m2) {
  return weight_n * shear.tan_phi + shear.cohesion_pa * contact_area_m2;
}

double gradient_bound_rad(double weight_n, const soil::Shear& shear, double contact_area_m2, double resistance_coefficient) {
  // sin a = (tan phi - rho) cos a + c A / W.
  const double friction = shear.tan_phi - resistance_coefficient;
  const double cohesion = shear.cohesion_pa * contact_area_m2 / weight_n;
  return std::atan(friction) + std::asin(std::min(1.0, cohesion / std::hypot(1, friction)));
}

std::optional<double> rowland_k(std::size_t axles, std::size_t driven_axles) {
  struct Row {
    std::size_t axles, driven;
    double k;
  };
  // Rowland 1975, from memory.
  constexpr Row kRows[] = {{2, 2, 3.65}, {2, 1, 4.40}, {3, 3, 3.90}, {3, 2, 4.35}, {3, 1, 5.25}, {4, 4, 4.10}, {4, 3, 4.44}, {4, 2, 4.95}, {5, 5, 4.32}};
  for (const Row& r : kRows) {
    if (r.axles == axles && r.driven == driven_axles) return r.k;
  }
  return std::nullopt;
}

std::optional<double> rowland_mean_maximum_pressure_pa(const TyresOnGround& t) {
  const auto k = rowland_k(t.axles, t.driven_axles);
  if (!k || t.wheels != 2 * t.axles || !(t.deflection_m > 0)) return std::nullopt;
  return *k * t.weight_n / (static_cast<double>(t.wheels) * std::pow(t.width_m, 0.85) * std::pow(t.diameter_m, 1.15) * std::sqrt(t.deflection_m / t.diameter_m));
}

std::vector<SanityValue> ground_limits(const OnSoil& on, const soil::Soil& soil, double slip_ratio, const ResistanceUsed& resistance) {
  std::vector<SanityValue> out;
  const Machine& m = on.plain;
  double area = 0;
  for (std::size_t k = 0; k < m.axles; ++k) area += m.axle[k].wheels * m.axle[k].contact.width_m * m.axle[k].contact.radius_m;
  out.push_back({"nominal ground pressure", nominal_pressure_pa(m.weight_n, area), "Pa", "W / (n b r)"});
  const Loads at = footprint(on, slip_ratio);
  if (at.balanced) {
    out.push_back({"mean contact pressure at the working slip", m.weight_n / at.footprint_m2, "Pa", "W over the predicted contact patches"});
    if (soil.shear) out.push_back(strength_value(m.weight_n, *soil.shear, at.footprint_m2, "vehicle"));
  }
  if (soil.shear && std::isfinite(resistance.coefficient_ratio)) out.push_back(bound_value(m.weight_n, *soil.shear, at.footprint_m2, resistance));
  return out;
}

std::vector<SanityValue> wheel_limits(double load_n, const vehicle::Wheel& wheel, const soil::Soil& soil, double contact_length_m,
                                      const std::optional<ResistanceUsed>& resistance) {
  std::vector<SanityValue> out{{"nominal ground pressure", nominal_pressure_pa(load_n, wheel.width_m * wheel.radius_m), "Pa", "W / (b r)"}};
  if (!soil.shear || !std::isfinite(contact_length_m)) return out;
  const double area = wheel.contact_width_m.value_or(wheel.width_m) * contact_length_m;
  out.push_back(strength_value(load_n, *soil.shear, area, "wheel"));
  if (resistance && std::isfinite(resistance->coefficient_ratio)) out.push_back(bound_value(load_n, *soil.shear, area, *resistance));
  return out;
}

SanityOfTyres tyre_values(const Machine& machine, const vehicle::Vehicle& vehicle, const std::optional<double>& cone_index_pa) {
  SanityOfTyres out;
  mean_maximum_pressure(machine, vehicle, out);
  if (cone_index_pa) pull_from_cone(machine, vehicle, *cone_index_pa, out);
  return out;
}

std::vector<SanityValue> usual_ranges(bool loose, double predicted_pull, double predicted_resistance) {
  struct Range {
    const char* quantity;
    double loose_lo, loose_hi, soft_lo, soft_hi, predicted;
  };
  const Range ranges[] = {{"pull coefficient at 20 % slip", 0.1, 0.35, 0.15, 0.45, predicted_pull},
                          {"motion resistance coefficient", 0.1, 0.3, 0.08, 0.25, predicted_resistance}};
  std::vector<SanityValue> out;
  for (const Range& r : ranges) {
    const double lo = loose ? r.loose_lo : r.soft_lo, hi = loose ? r.loose_hi : r.soft_hi;
    const std::string where = !std::isfinite(r.predicted) ? "nothing is predicted to compare"
                              : r.predicted < lo          ? fmt::format("the predicted {:.3f} lies below", r.predicted)
                              : r.predicted > hi          ? fmt::format("the predicted {:.3f} lies above", r.predicted)
                                                          : fmt::format("the predicted {:.3f} lies inside", r.predicted);
    const std::string note = fmt::format("{:g} to {:g} on {} ground ({:g} to {:g} on {}); {}; common practice, no source, from memory", lo, hi, loose ? "loose dry" : "soft cohesive",
                                         loose ? r.soft_lo : r.loose_lo, loose ? r.soft_hi : r.loose_hi, loose ? "soft cohesive" : "loose dry", where);
    out.push_back({fmt::format("usual {}, low end", r.quantity), lo, "", note});
    out.push_back({fmt::format("usual {}, high end", r.quantity), hi, "", note});
  }
  return out;
}

}  // namespace hardpan::performance
