// SPDX-License-Identifier: Apache-2.0
#include "formats/soil_file.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <limits>

#include "formats/detail/as_typed.hpp"
#include "formats/detail/keys.hpp"
#include "io/files.hpp"
#include "io/toml.hpp"
#include "soil/textbook.hpp"

namespace hardpan::formats {

using detail::Keys;
using detail::same_value;
using units::Dimension;

namespace {

// A modulus in N/m^(n+k) or, with _kN, in kN/m^(n+k): its unit goes with n, so it is a bare number.
std::optional<double> modulus(Keys& k, const std::string& key) {
  const auto si = k.number(key), kilo = k.number(key + "_kN");
  if (si && kilo) k.table().refuse(key + "_kN", "the modulus is given twice", "one of " + key + " and " + key + "_kN", "remove one");
  if (si) return si;
  if (kilo) return *kilo * 1000;
  return std::nullopt;
}

// Whether one of the keys, each under one of its names, is not there. A key whose value was refused is: it has been told of.
bool lacks(Keys& k, std::initializer_list<std::initializer_list<const char*>> keys) {
  return std::any_of(keys.begin(), keys.end(), [&](const auto& names) {
    return std::none_of(names.begin(), names.end(), [&](const char* name) { return k.table().has(name); });
  });
}

void read_bearing(Keys& k, soil::Soil& s) {
  const auto law = k.choice("relation", soil::PressureLaw::bekker,
                            {{"Bekker", soil::PressureLaw::bekker},
                             {"Reece", soil::PressureLaw::reece},
                             {"single plate", soil::PressureLaw::single_plate},
                             {"organic mat", soil::PressureLaw::muskeg}});
  const auto n = k.number("n");
  if (const auto relation = k.table().text("relation"); relation && law == soil::PressureLaw::bekker && relation->value != "Bekker") {
    // No relation of this name: the keys of every relation are known, and none is called incomplete.
    for (const char* key : {"kc", "kc_kN", "kphi", "kphi_kN", "cohesive_modulus", "frictional_modulus", "k", "k_kN", "mat_stiffness", "mat_strength",
                            "second_layer_depth", "second_layer_n"}) {
      static_cast<void>(k.table().has(key));
    }
    return;
  }
  if (law == soil::PressureLaw::bekker) {
    const auto kc = modulus(k, "kc"), kphi = modulus(k, "kphi");
    const bool part_missing = lacks(k, {{"n"}, {"kc", "kc_kN"}, {"kphi", "kphi_kN"}});
    if (n && kc && kphi) s.bearing = soil::bekker(*n, *kc, *kphi);
    else if (n && !part_missing) s.bearing = soil::bekker(*n, 0, 1e6);  // a modulus is refused; the exponent is looked at all the same
    else if (part_missing && (n || kc || kphi)) k.table().refuse("n", "a Bekker bearing law is incomplete", "n, kc and kphi together");
  } else if (law == soil::PressureLaw::reece) {
    const auto a = k.quantity("cohesive_modulus", Dimension::pressure);
    const auto b = k.quantity("frictional_modulus", Dimension::unit_weight);
    if (n && a && b) s.bearing = soil::reece(*n, *a, *b);
    else if (lacks(k, {{"n"}, {"cohesive_modulus"}, {"frictional_modulus"}})) k.table().refuse("relation", "a Reece bearing law is incomplete", "n, cohesive_modulus and frictional_modulus");
  } else if (law == soil::PressureLaw::single_plate) {
    const auto one = modulus(k, "k");
    if (n && one) s.bearing = soil::single_plate(*n, *one);
    else if (lacks(k, {{"n"}, {"k", "k_kN"}})) k.table().refuse("relation", "a single-plate law is incomplete", "n and k");
  } else {
    const auto kp = k.quantity("mat_stiffness", Dimension::unit_weight), mm = k.quantity("mat_strength", Dimension::unit_weight);
    if (kp && mm) s.bearing = soil::muskeg(*kp, *mm);
    else if (lacks(k, {{"mat_stiffness"}, {"mat_strength"}})) k.table().refuse("relation", "an organic-mat law is incomplete", "mat_stiffness and mat_strength, both in N/m^3");
  }
  const auto depth = k.positive("second_layer_depth", Dimension::length);
  const auto below = k.number("second_layer_n");
  const bool has_depth = k.table().has("second_layer_depth");
  if (has_depth != k.table().has("second_layer_n")) {
    k.table().refuse(has_depth ? "second_layer_n" : "second_layer_depth", "the second layer is incomplete", "second_layer_depth and second_layer_n together");
  } else if (depth && below && s.bearing) {
    s.bearing->below = soil::SecondLayer{*depth, *below};
  }
}

// The checks name what a soil holds; its writer looks for the key, the line and the value of the file.
base::Problem by_key_of_file(base::Problem p, const io::TomlTable& t) {
  static const std::pair<const char*, const char*> kNames[] = {{"tan_phi", "friction_angle"}, {"tan_delta", "interface_friction_angle"}, {"k0", "unloading_stiffness"}, {"au", "unloading_stiffness_growth"}};
  const std::string ours = p.place.key;
  std::string key = ours;
  for (const auto& [held, of_file] : kNames) {
    if (ours == held) key = of_file;
  }
  if (key != ours && p.what.starts_with(ours)) p.what = key + p.what.substr(ours.size());
  if (const auto value = t.value(key)) {
    const bool angle = key.ends_with("angle");
    if (angle || same_value(*value, p.value)) p.value = value->as_typed();
    if (angle) p.bound = "0 to 63 deg";
    p.place = t.place_of(key);
  } else {
    p.place.key = "soil." + key;
  }
  return p;
}

}  // namespace

std::optional<soil::NamedSoil> read_soil(const std::string& path, const std::string& name_for_messages,
                                         base::Problems& problems) {
  const auto bytes = io::read_file(path, problems);
  if (!bytes) return std::nullopt;
  const io::TomlDocument doc = io::parse_toml(*bytes, name_for_messages, problems);
  if (!doc.readable()) return std::nullopt;
  soil::NamedSoil out;
  out.textbook = true;  // taken from elsewhere: not measured in this campaign
  const auto t = doc.root().require_table("soil");
  if (!t) return std::nullopt;
  Keys k(*t, problems);
  out.id = k.require_text("id");
  out.name = k.text("name", out.id);
  out.source = k.require_text("source");
  out.read_in_source = k.boolean("read_in_source", true);
  soil::Soil& s = out.soil;
  read_bearing(k, s);
  const auto c = k.quantity("cohesion", Dimension::pressure);
  const auto phi = k.quantity("friction_angle", Dimension::angle);
  // The keys of the strength are known whether or not cohesion and angle can be read.
  const auto shear_modulus = k.quantity("shear_modulus", Dimension::length);
  const auto shear_law = k.choice("shear_relation", soil::ShearLaw::exponential,
                                  {{"exponential", soil::ShearLaw::exponential}, {"peak and residual", soil::ShearLaw::peak_residual}, {"organic mat", soil::ShearLaw::hump}});
  const auto residual = k.quantity("residual_ratio", Dimension::none);
  if ((c && phi) || (t->has("cohesion") && t->has("friction_angle"))) {
    // Of the two one may be refused; the rest of the strength is looked at all the same.
    s.shear = soil::Shear{.cohesion_pa = c.value_or(0), .tan_phi = !phi ? 0.5 : std::abs(*phi) < M_PI / 2 ? std::tan(*phi) : std::numeric_limits<double>::infinity()};
    s.shear->shear_modulus_m = shear_modulus;
    s.shear->law = shear_law;
    if (t->has("residual_ratio") != (s.shear->law == soil::ShearLaw::peak_residual)) {
      t->refuse(t->has("residual_ratio") ? "residual_ratio" : "shear_relation", "residual_ratio goes with the relation \"peak and residual\" and with no other",
                "shear_relation = \"peak and residual\" and residual_ratio together");
    }
    s.shear->residual_ratio = residual.value_or(1);
  } else if (t->has("cohesion") != t->has("friction_angle")) {
    t->refuse("cohesion", "the strength is incomplete", "cohesion and friction_angle together");
  } else if (!t->has("cohesion")) {
    for (const char* key : {"shear_modulus", "shear_relation", "residual_ratio"}) {
      if (t->has(key)) t->refuse(key, "the strength is incomplete", "cohesion and friction_angle beside it");
    }
  }
  s.density_kg_m3 = k.quantity("density", Dimension::density);
  s.c1 = k.number("c1");
  s.c2 = k.number("c2");
  s.c1_braking = k.number("c1_braking");
  s.c2_braking = k.number("c2_braking");
  s.exit_ratio = k.number("exit_ratio");
  s.slip_exponent = k.number("slip_exponent");
  s.surface_friction = k.number("surface_friction");
  const auto adhesion = k.quantity("adhesion", Dimension::pressure);
  const auto delta = k.quantity("interface_friction_angle", Dimension::angle);
  const auto k0 = k.not_negative("unloading_stiffness", Dimension::unit_weight);  // Pa/m
  const auto growth = k.number("unloading_stiffness_growth");
  if (k0) s.reload = soil::Reload{*k0, growth.value_or(0)};
  else if (growth && !t->has("unloading_stiffness")) t->refuse("unloading_stiffness_growth", "has no unloading_stiffness to grow from", "unloading_stiffness beside it");
  if (adhesion && delta) s.smooth_metal = soil::InterfaceStrength{*adhesion, std::tan(*delta)};
  if (const auto m = k.quantity("moisture", Dimension::none)) out.moisture_percent = 100 * *m;
  doc.report_unread();
  base::Problems found;
  soil::check_soil(s, {.file = name_for_messages}, found);
  for (base::Problem p : found.list()) problems.refuse(by_key_of_file(std::move(p), *t));
  return out;
}

std::optional<soil::NamedSoil> find_soil(const std::string& reference, const std::string& folder,
                                         const base::Place& place, base::Problems& problems) {
  constexpr std::string_view kTable = "textbook:";
  if (!reference.starts_with(kTable)) return read_soil(folder + "/" + reference, reference, problems);
  const std::string id = reference.substr(kTable.size());
  if (const soil::NamedSoil* found = soil::find_textbook_soil(id)) return *found;
  std::vector<std::string> ids;
  for (const soil::NamedSoil& s : soil::textbook_soils()) ids.push_back(s.id);
  const auto near = io::nearest_word(id, ids);
  problems.refuse({.place = place, .what = "no soil of this name is in the built-in table", .value = id,
                   .bound = "an id listed by 'hardpan wheel --soils'",
                   .remedy = near ? "did you mean " + *near + "?" : "use a soil file instead"});
  return std::nullopt;
}

}  // namespace hardpan::formats
