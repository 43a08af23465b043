// SPDX-License-Identifier: Apache-2.0
#include "service/plan.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include "contact/wheel_soil.hpp"
#include "formats/soil_file.hpp"
#include "records/advice.hpp"
#include "service/detail/plan_tries.hpp"
#include "service/new_campaign.hpp"
#include "units/print.hpp"

namespace hardpan::service {

namespace {

constexpr double kAssumedScatter = 0.15;      // of pressure at one depth between points; common practice, no source
constexpr double kAssumedInstrument = 0.015;  // common practice, no source
constexpr double kAssumedK = 0.02;            // m, where the guess of the soil has none (between firm 10 mm and loose 25 mm)

// Fewest points whose average-ground half-width comes under the target.
std::size_t points_for(double target) {
  for (std::size_t g = 3; g <= 30; ++g) {
    if (records::half_width(kAssumedScatter, kAssumedInstrument, g, 1) <= target) return g;
  }
  return 30;
}

bool has_record(const campaign::Campaign& c, const std::string& zone, const std::string& test) {
  const auto in_zone = [&](const auto& list) {
    return std::any_of(list.begin(), list.end(), [&](const auto& t) { return t.source.zone == zone; });
  };
  if (test == "plate pairs") return in_zone(c.ground.plates);
  if (test == "shear ring") return in_zone(c.ground.shears);
  if (test == "density and moisture") return in_zone(c.ground.densities) || in_zone(c.ground.moistures);
  if (test == "cone") return in_zone(c.ground.cones);
  if (test == "tow runs") return in_zone(c.driving.logs) || in_zone(c.driving.hand_pulls);
  return in_zone(c.driving.ruts);
}

// Guesses by zone; "" for zones without one of their own.
using Guesses = std::map<std::string, soil::NamedSoil>;

Guesses read_guesses(const campaign::Campaign& c, const std::vector<std::string>& texts, base::Problems& problems) {
  Guesses out;
  for (const std::string& text : texts) {
    const std::size_t equals = text.find('=');
    const std::string zone = equals == std::string::npos ? "" : text.substr(0, equals);
    const std::string name = equals == std::string::npos ? text : text.substr(equals + 1);
    if (!zone.empty() && !c.zone(zone)) {
      problems.refuse({.place = {.key = "--soil"}, .what = "no zone of this name in campaign.toml", .value = zone});
      continue;
    }
    auto guess = name.ends_with(".toml") ? formats::read_soil(name, name, problems)
                                         : formats::find_soil("textbook:" + name, c.folder, {.key = "--soil"}, problems);
    if (!guess) continue;
    if (guess->soil.shear && !guess->soil.shear->shear_modulus_m) guess->soil.shear->shear_modulus_m = kAssumedK;
    if (!out.emplace(zone, std::move(*guess)).second) {
      problems.refuse({.place = {.key = "--soil"}, .what = "two guesses for one ground", .value = text, .remedy = "one soil a zone, and one without a zone for the rest"});
    }
  }
  return out;
}

}  // namespace

Plan plan(const campaign::Campaign& c, const std::vector<std::string>& soil_guesses) {
  Plan out;
  base::Problems problems;
  const Guesses guesses = read_guesses(c, soil_guesses, problems);
  if (c.requirements.empty()) problems.refuse({.place = {.file = "requirements.toml"}, .what = "there is nothing to plan for", .remedy = "write at least one [[requirement]]"});
  // One cell of the matrix for each ground and condition that a requirement names.
  std::set<std::pair<std::string, std::string>> cells;
  std::map<std::string, std::size_t> conditions_of;
  for (const auto& r : c.requirements) {
    if (!r.zone.empty() && cells.emplace(r.zone, r.condition).second) ++conditions_of[r.zone];
  }
  for (const auto& [zone, n] : conditions_of) {
    if (!guesses.contains(zone) && !guesses.contains("")) {
      problems.refuse({.place = {.key = "--soil"}, .what = "no guess of the soil of zone " + zone, .remedy = "--soil NAME for all zones, or --soil " + zone + "=NAME"});
    }
  }
  problems.throw_if_refused();
  for (const auto& [zone, g] : guesses) {
    out.assumptions.push_back(fmt::format("Guess of the soil{}: {} ({}).", zone.empty() ? "" : " of zone " + zone, g.name, g.source));
  }
  out.assumptions.push_back(fmt::format("Scatter between points taken as {:.0f} % of pressure (common practice, no source).", 100 * kAssumedScatter));
  const std::size_t points = points_for(0.15);
  for (const auto& [zone, condition] : cells) {
    const auto own = guesses.find(zone);
    const soil::Soil& soil = (own != guesses.end() ? own : guesses.find(""))->second.soil;
    const std::string ground = "Zone " + zone + (condition.empty() ? "" : ", condition " + condition);
    double width = 0, pressure_lo = 1e12, pressure_hi = 0, sinkage = 0, normal_hi = 0, travel = 0;
    std::set<std::string> vehicles;
    for (const auto& r : c.requirements) {
      if (r.zone == zone && r.condition == condition) vehicles.insert(r.vehicle);
    }
    for (const std::string& id : vehicles) {
      const vehicle::Vehicle* v = c.vehicle_by_id(id);
      if (!v) continue;
      const auto loads = vehicle::level_axle_loads_n(*v, c.gravity_m_s2);
      for (std::size_t k = 0; k < v->axles.size(); ++k) {
        const vehicle::Wheel& w = v->axles[k].wheel;
        const auto contact = contact::make_contact(w, soil, {.gravity_m_s2 = c.gravity_m_s2}, {.key = id}, problems);
        if (!contact) continue;
        for (const double slip : {0.05, 0.2, 0.4}) {
          const auto a = contact::wheel_at_load(*contact, loads[k] / v->axles[k].wheels, slip);
          if (!a.carried()) continue;
          pressure_lo = std::min(pressure_lo, a.ground_pressure_pa);
          pressure_hi = std::max(pressure_hi, contact->law.pressure_pa(a.sinkage_m));
          sinkage = std::max(sinkage, a.sinkage_m);
          normal_hi = std::max(normal_hi, a.max_normal_stress_pa);
          travel = std::max(travel, a.max_shear_travel_m);
          width = std::max(width, contact->pressure_width_m);
        }
      }
    }
    problems.throw_if_refused();
    if (!(pressure_hi > 0)) {
      out.not_tested.push_back(ground + ": the guessed soil does not carry the vehicle, no pressures could be planned.");
      continue;
    }
    const auto add = [&](const std::string& test, const std::string& setting, std::size_t p, std::size_t r, const std::string& why) {
      out.rows.push_back({.zone = zone, .condition = condition, .test = test, .setting = setting, .why = why, .points = p, .repeats = r});
      if (!has_record(c, zone, test)) out.not_tested.push_back(fmt::format("{}: {} - not tested.", ground, test));
    };
    // Discs a factor of two apart; the larger radius half the widest contact, so that no wheel is more than twice as wide as tested.
    const double small = std::max(0.02, 0.25 * width), large = 2 * small;
    const units::OutputUnits u = c.output_units == campaign::OutputUnits::us ? units::OutputUnits::us : units::OutputUnits::si;
    const auto length = [&](double m) { return units::print_quantity(m, units::Dimension::length, u); };
    const auto pressure = [&](double pa) { return units::print_quantity(pa, units::Dimension::pressure, u); };
    const auto load_n = [&](double radius) { return 1.5 * pressure_hi * std::numbers::pi * radius * radius; };
    const auto load = [&](double radius) { return units::print_quantity(load_n(radius), units::Dimension::force, u); };
    constexpr double kByHand_n = 700;  // what one person leans on a press; common practice, no source
    const std::string reaction = load_n(large) > kByHand_n ? "; over about " + units::print_quantity(kByHand_n, units::Dimension::force, u) + " a person's weight does not do: a vehicle, ballast or an anchor takes the reaction of the press" : "";
    add("plate pairs", fmt::format("round plates of {} and {} diameter, to {} and {} or {} deep", length(2 * small), length(2 * large), load(small), load(large), length(1.5 * sinkage)),
        points, 1, fmt::format("pressures under the wheels {}, sinkage to {}; both plates at each point, order alternated, three diameters apart{}", units::print_interval(pressure_lo, pressure_hi, units::Dimension::pressure, u), length(sinkage), reaction));
    std::string stresses;
    for (const double f : {0.15, 0.4, 0.8, 1.2}) stresses += (stresses.empty() ? "" : ", ") + pressure(f * normal_hi);
    add("shear ring", fmt::format("normal stresses {} (own weight counted), turned to a mean travel of {}", stresses, length(1.2 * travel)), std::max<std::size_t>(4, points / 2), 4,
        fmt::format("normal stress under the wheels to {}, shear travel to {}", pressure(normal_hi), length(travel)));
    add("density and moisture", "ring samples at " + length(0.05) + " and " + length(0.15), 3, 2, "validity range of the soil; Reece's relation and side wall need the density");
    add("cone", fmt::format("to {}, about {}", length(std::max(0.3, 3 * sinkage)), u == units::OutputUnits::si ? "30 mm/s" : "1.2 in/s"), points, static_cast<std::size_t>(c.repeats), "layers and crusts between the points");
    add("tow runs", "both ways on a level lane, slips from 3 % to past the working slip", 1, 6, "without them the answer reads not validated; the run is the unit of scatter");
    add("rut sheets", "loaded and after rebound, passes 1, 2, 5", 1, 3, "sinkage against prediction");
    if (conditions_of[zone] > 1) {
      out.not_tested.push_back(ground + ": this zone is asked for under several conditions and records do not name theirs; make one zone of each, or count none of them as tested.");
    }
  }
  detail::plan_tries(c, out);
  return out;
}

io::Json plan_json(const Plan& p) {
  io::Json j = io::Json::object();
  io::Json rows = io::Json::array();
  for (const PlanRow& r : p.rows) {
    io::Json k = io::Json::object();
    k.set("zone", r.zone).set("condition", r.condition).set("test", r.test).set("setting", r.setting).set("points", r.points).set("repeats", r.repeats).set("why", r.why);
    k.set("recorded", r.recorded).set("still_needed", r.still_needed);
    rows.push(k);
  }
  j.set("rows", rows).set("not_tested", p.not_tested).set("assumptions", p.assumptions);
  return j;
}

}  // namespace hardpan::service
