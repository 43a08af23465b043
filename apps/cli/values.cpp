// SPDX-License-Identifier: Apache-2.0
#include "values.hpp"

#include "units/unit_text.hpp"

namespace hardpan::cli {
namespace {

std::string with_example(const std::string& option, units::Dimension dimension, const std::string& remedy) {
  using units::Dimension;
  const char* example = dimension == Dimension::length ? "'0.3 m'" : dimension == Dimension::acceleration ? "'1.62 m/s^2'" : dimension == Dimension::angle ? "'10 deg'"
                      : dimension == Dimension::mass ? "'420 kg'" : dimension == Dimension::pressure ? "'1.2 kPa'" : dimension == Dimension::stiffness ? "'25 kN/m'"
                      : dimension == Dimension::density ? "'1600 kg/m^3'" : dimension == Dimension::speed ? "'2 m/s'" : dimension == Dimension::time ? "'3 s'" : nullptr;
  return example ? "type a number with its unit, for example --" + option + " " + example : remedy;
}

}  // namespace

std::optional<double> Values::get(const std::string& option, const std::string& text, units::Dimension dimension) {
  if (text.empty()) return std::nullopt;
  const units::QuantityText q = units::parse_quantity(text, dimension);
  if (q.ok()) return q.si;
  base::Problem problem = units::refusal(q, text, {.key = "--" + option});
  // What the reader of units tells the writer of a record helps nobody at the command line.
  if (dimension == units::Dimension::force) problem.remedy = "type a force with its unit, for example --" + option + " '110 lbf' or '490 N'";
  else if (problem.remedy.find("record") != std::string::npos || problem.remedy.find("unit") == std::string::npos) problem.remedy = with_example(option, dimension, problem.remedy);
  problems_.refuse(std::move(problem));
  return std::nullopt;
}

std::optional<units::Unit> Values::unit(const std::string& text, units::Dimension dimension) { return text.empty() ? std::nullopt : units::parse_quantity(text, dimension).unit; }

std::vector<std::pair<double, double>> Values::deflection(const std::vector<std::string>& rows) {
  std::vector<std::pair<double, double>> out;
  for (const std::string& row : rows) {
    const std::size_t colon = row.find(':');
    const auto load = units::parse_quantity(row.substr(0, colon), units::Dimension::force);
    const auto sunk = units::parse_quantity(colon == std::string::npos ? "" : row.substr(colon + 1), units::Dimension::length);
    if (load.ok() && sunk.ok()) {
      if (out.empty() && load.si != 0) out.emplace_back(0.0, 0.0);
      out.emplace_back(load.si, sunk.si);
      continue;
    }
    problems_.refuse({.place = {.key = "--deflection"}, .what = "is not a load and the deflection under it", .value = row, .bound = "a force, a colon, a length",
                      .remedy = "for example --deflection '500 N: 8 mm' --deflection '1000 N: 14 mm'"});
  }
  return out;
}

void Values::needs(const char* one, bool one_given, const char* other, bool other_given) {
  if (!one_given || other_given) return;
  problems_.refuse({.place = {.key = std::string("--") + one}, .what = std::string("says nothing without --") + other, .remedy = "give both or neither"});
}

void SoilOptions::add_to(CLI::App& app) {
  app.add_option("--soil", soil, "soil: an id of the built-in table (see --soils) or a soil file");
  app.add_option("--K", k, "shear displacement modulus K, a length: '20 mm'; most table soils have none");
  app.add_option("--n", n, "exponent of the pressure-sinkage relation");
  app.add_option("--kc", kc, "Bekker kc, a number in N/m^(n+1)");
  app.add_option("--kphi", kphi, "Bekker kphi, a number in N/m^(n+2)");
  app.add_option("--cohesion", cohesion, "cohesion: '1.2 kPa'");
  app.add_option("--friction-angle", friction, "angle of internal friction: '31 deg'");
  app.add_option("--density", density, "bulk density: '1600 kg/m^3' (side wall, bulldozing estimate, factor of safety of a slope)");
  app.add_option("--c1", c1, "place of the largest normal stress (c1 + c2 |s|) of the entry angle; 0.18 is assumed");
  app.add_option("--c2", c2, "see --c1; 0.32 is assumed");
  app.add_option("--c1-braking", c1_braking, "c1 for braking, where known");
  app.add_option("--c2-braking", c2_braking, "c2 for braking, where known");
  app.add_option("--exit-ratio", exit_ratio, "exit angle over entry angle, 0 to below 1");
  app.add_option("--slip-sinkage", slip_sinkage, "none, exponent (needs --slip-exponent) or stretch")->check(CLI::IsMember({"none", "exponent", "stretch"}))->capture_default_str();
  app.add_option("--slip-exponent", slip_exponent, "n1 of n = n0 + n1 |s|");
  app.add_option("--surface-friction", surface_friction, "friction of hard ground, where the contact is shorter than K");
  app.add_option("--reload-k0", reload_k0, "k0 of the reload stiffness ku = k0 + Au zu, in Pa/m: exit angle by rebound");
  app.add_option("--reload-Au", reload_au, "Au of the same, in Pa/m^2");
  app.add_option("--adhesion", adhesion, "adhesion of soil to smooth metal: '0.3 kPa'");
  app.add_option("--interface-friction-angle", interface_friction, "friction angle of soil to smooth metal: '20 deg'");
}

service::SoilRequest SoilOptions::request(Values& v) const {
  using units::Dimension;
  v.needs("adhesion", !adhesion.empty(), "interface-friction-angle", !interface_friction.empty());
  v.needs("interface-friction-angle", !interface_friction.empty(), "adhesion", !adhesion.empty());
  v.needs("slip-exponent", slip_exponent.has_value(), "slip-sinkage exponent", rule() == soil::SlipSinkage::exponent);
  v.needs("reload-Au", reload_au.has_value(), "reload-k0", reload_k0.has_value());
  return {.soil = soil, .shear_modulus_m = v.get("K", k, Dimension::length), .n = n, .kc = kc, .kphi = kphi,
          .cohesion_pa = v.get("cohesion", cohesion, Dimension::pressure), .friction_rad = v.get("friction-angle", friction, Dimension::angle),
          .density_kg_m3 = v.get("density", density, Dimension::density), .c1 = c1, .c2 = c2, .c1_braking = c1_braking, .c2_braking = c2_braking,
          .exit_ratio = exit_ratio, .slip_exponent = slip_exponent, .surface_friction = surface_friction,
          .reload_k0_pa_per_m = reload_k0, .reload_au_pa_per_m2 = reload_au, .adhesion_pa = v.get("adhesion", adhesion, Dimension::pressure),
          .interface_friction_rad = v.get("interface-friction-angle", interface_friction, Dimension::angle)};
}

soil::SlipSinkage SoilOptions::rule() const {
  return slip_sinkage == "none" ? soil::SlipSinkage::none : slip_sinkage == "exponent" ? soil::SlipSinkage::exponent : soil::SlipSinkage::stretch;
}

}  // namespace hardpan::cli
