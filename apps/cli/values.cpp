// SPDX-License-Identifier: Apache-2.0
#include "values.hpp"

#include <fmt/core.h>
#include <fmt/format.h>

#include <cmath>

#include "units/unit_text.hpp"

namespace hardpan::cli {
namespace {

// "10" of "10%": the number before a suffix, where nothing else stands there.
std::string number_before(std::string text, const std::string& suffix) {
  if (!text.ends_with(suffix)) return "";
  text.resize(text.size() - suffix.size());
  while (!text.empty() && text.back() == ' ') text.pop_back();
  return units::parse_quantity(text, units::Dimension::none).ok() && text.find_first_not_of("+-.0123456789") == std::string::npos ? text : "";
}

// Whether it is a value that the service printed from a number, and not a word.
bool number_first(const std::string& value) { return !value.empty() && (std::string("+-.0123456789").find(value.front()) != std::string::npos || value.starts_with("inf") || value.starts_with("nan")); }

}  // namespace

// One that fits what the option asks for.
std::string Values::example_for(const std::string& option, units::Dimension dimension) const {
  using units::Dimension;
  if (const auto own = examples_.find(option); own != examples_.end()) return own->second;
  static const std::map<std::string, const char*> kOfOption{
      {"to", "'1.62 m/s^2'"}, {"rut", "'50 mm'"}, {"sight", "'10 m'"}, {"step", "'120 mm'"}, {"gap", "'0.4 m'"}, {"K", "'20 mm'"}, {"width", "'0.2 m'"}, {"contact-width", "'0.15 m'"},
      {"grouser-height", "'10 mm'"}, {"rolling-radius", "'0.29 m'"}, {"clearance", "'0.2 m'"}, {"room", "'0.5 m'"}, {"look-ahead", "'4 m'"}, {"turning-radius", "'2 m'"}, {"slalom", "'1 m'"},
      {"wave-length", "'25 m'"}, {"friction-angle", "'31 deg'"}, {"interface-friction-angle", "'20 deg'"}, {"adhesion", "'0.3 kPa'"}, {"inflation", "'60 kPa'"}, {"slip-angle", "'5 deg'"},
      {"drift", "'3 deg'"}, {"crest", "'2 deg'"}, {"heading", "'90 deg'"}, {"jitter", "'0.1 s'"}, {"image-interval", "'0.1 s'"}, {"downlink", "'1.3 s'"}, {"uplink", "'1.3 s'"}, {"reaction", "'0.4 s'"},
      {"load", "'110 lbf' or '490 N'"}, {"hitch-pull", "'500 N'"}, {"speed", "'1 m/s'"}, {"shock", "'5 m/s^2'"}, {"ride", "'0.8 m/s^2'"}, {"wheel-mass", "'12 kg'"}, {"gyration", "'0.6 m'"}, {"smallest", "'0.1 m'"}, {"length", "'100 m'"},
      {"line-angle", "'10 deg'"}, {"crab", "'20 deg'"}, {"payload-height", "'0.9 m'"}};
  if (const auto known = kOfOption.find(option); known != kOfOption.end()) return known->second;
  switch (dimension) {
    case Dimension::length: return "'0.3 m'";
    case Dimension::acceleration: return "'9.81 m/s^2'";
    case Dimension::angle: return "'10 deg'";
    case Dimension::mass: return "'420 kg'";
    case Dimension::force: return "'490 N'";
    case Dimension::pressure: return "'1.2 kPa'";
    case Dimension::stiffness: return "'25 kN/m'";
    case Dimension::density: return "'1600 kg/m^3'";
    case Dimension::speed: return "'2 m/s'";
    case Dimension::time: return "'3 s'";
    default: return "";
  }
}

std::string Values::with_example(const std::string& option, const std::string& text, units::Dimension dimension, const std::string& remedy) const {
  using units::Dimension;
  if (const std::string percent = number_before(text, "%"); dimension == Dimension::angle && !percent.empty()) {
    return "a gradient in percent is --" + option + " '" + percent + " % grade', an angle --" + option + " " + example_for(option, dimension);
  }
  if (const std::string g = number_before(text, "g"); dimension == Dimension::acceleration && !g.empty()) {
    return "of standard gravity type --" + option + " '" + g + " g0', or --" + option + " " + example_for(option, dimension);
  }
  const std::string example = example_for(option, dimension);
  if (example.empty()) return remedy;
  return std::string(dimension == Dimension::force ? "type a force" : "type a number") + " with its unit, for example --" + option + " " + example;
}

std::optional<double> Values::get(const std::string& option, const std::string& text, units::Dimension dimension) {
  if (text.empty()) return std::nullopt;
  typed_["--" + option].push_back(text);
  const units::QuantityText q = units::parse_quantity(text, dimension);
  if (q.ok()) return q.si;
  base::Problem problem = units::refusal(q, text, {.key = "--" + option});
  // What the reader of units tells the writer of a record helps nobody at the command line.
  const bool names_unit = problem.remedy.find("record") == std::string::npos && problem.remedy.find("unit") != std::string::npos;
  if (dimension == units::Dimension::force || !names_unit) problem.remedy = with_example(option, text, dimension, problem.remedy);
  spoken_for(problem.place.key);
  problems_.refuse(std::move(problem));
  return std::nullopt;
}

void Values::take(const base::Problems& found) {
  // What the command line lacks is not found wrong a second time.
  for (const base::Problem& p : problems_.list()) {
    if (!p.place.key.empty()) spoken_for(p.place.key);
  }
  for (base::Problem p : found.list()) {
    if (spoken_for_.contains(p.place.key) || (p.place.text().empty() && spoken_for_.contains("--vehicle"))) continue;
    quote(p);
    if (p.severity == base::Severity::refusal) problems_.refuse(std::move(p));
    else problems_.remark(std::move(p));
  }
}

void Values::quote(base::Problem& p) const {
  const auto typed = typed_.find(p.place.key);
  if (typed == typed_.end() || !number_first(p.value)) return;
  // Of an option given several times, the one with this value.
  const auto ratio = units::parse_quantity(p.value, units::Dimension::none);
  for (const std::string& text : typed->second) {
    const auto one = units::parse_quantity(text, units::Dimension::none);
    if (typed->second.size() > 1 && !(ratio.ok() && one.ok() && std::abs(one.si - ratio.si) <= 1e-5 * std::abs(ratio.si))) continue;
    p.value = text;
    const bool share = p.what.find('%') != std::string::npos || p.bound.find('%') != std::string::npos;
    if (share && one.ok() && !one.unit && std::abs(one.si) > 1 && std::abs(one.si) <= 100) p.remedy = "for percent type " + p.place.key + " '" + text + " %'";
    return;
  }
}

CLI::Validator one_of(const std::vector<std::string>& words) {
  const std::string said = words.size() < 2 ? fmt::format("{}", fmt::join(words, "")) : fmt::format("{} or {}", fmt::join(words.begin(), words.end() - 1, ", "), words.back());
  const auto check = [words, said](std::string& typed) {
    for (const std::string& word : words) {
      if (CLI::detail::to_lower(word) != CLI::detail::to_lower(typed)) continue;
      typed = word;
      return std::string();
    }
    return fmt::format("takes {}, not \"{}\"", said, typed);
  };
  return {check, fmt::format("{{{}}}", fmt::join(words, ","))};
}

CLI::Validator whole_number(long least, long most) {
  const auto check = [least, most](std::string& typed) {
    long value = 0;
    if (CLI::detail::lexical_cast(typed, value) && value >= least && value <= most) return std::string();
    return fmt::format("takes a whole number from {} to {}, not \"{}\"", least, most, typed);
  };
  return {check, fmt::format("{} to {}", least, most)};
}

std::optional<units::Unit> Values::unit(const std::string& text, units::Dimension dimension) { return text.empty() ? std::nullopt : units::parse_quantity(text, dimension).unit; }

units::Unit Values::unit_or_si(const std::string& text, units::Dimension dimension) { return unit(text, dimension).value_or(units::si(dimension)); }

void UnitsOption::add_to(CLI::App& app, const std::string& what) {
  option_ = app.add_option("--units", text_, what)->transform(one_of({"SI", "US"}))->capture_default_str();
}

UnitsOption::ToldIn UnitsOption::told_in(const std::string& typed, units::Dimension dimension, double size_si) const {
  using units::OutputUnits;
  const units::Unit as_typed = Values::unit_or_si(typed, dimension);
  const auto of = [&](OutputUnits u) { return units::output_unit(size_si, dimension, u); };
  if (!given() || of(OutputUnits::si) == of(OutputUnits::us) || as_typed == of(units())) return {as_typed};
  return {of(units()), 4};
}

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
  app.add_option("--slip-sinkage", slip_sinkage, "none, exponent (needs --slip-exponent) or stretch")->transform(one_of({"none", "exponent", "stretch"}))->capture_default_str();
  app.add_option("--slip-exponent", slip_exponent, "n1 of n = n0 + n1 |s|");
  app.add_option("--surface-friction", surface_friction, "friction of hard ground, where the contact is shorter than K");
  app.add_option("--reload-k0", reload_k0, "k0 of the reload stiffness ku = k0 + Au zu, in Pa/m: exit angle by rebound");
  app.add_option("--reload-Au", reload_au, "Au of the same, in Pa/m^2");
  app.add_option("--adhesion", adhesion, "adhesion of soil to smooth metal: '0.3 kPa'");
  app.add_option("--interface-friction-angle", interface_friction, "friction angle of soil to smooth metal: '20 deg'");
}

service::SoilRequest SoilOptions::request(Values& v) const {
  using units::Dimension;
  // A strength that cannot be read is refused by itself; the soil is given all the same.
  if (soil.empty() && whole()) v.spoken_for("--soil");
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
