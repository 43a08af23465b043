// SPDX-License-Identifier: Apache-2.0
// Quick answer: what changes with gravity, of a mass alone or of a vehicle on a soil. The verbs about the way are listed at the end.
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "command_line.hpp"
#include "print.hpp"
#include "print_parts.hpp"
#include "service/gravity.hpp"
#include "way_verbs.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using units::Dimension;

std::string gradient_text(const p::Gradient& g) {
  if (g.factor == p::LimitingFactor::not_converged) return "no numerical answer";
  return wrapped(fmt::format("{} ({})", degrees(g.gradient_rad), p::name(g.factor)), 24);
}

// The three values of a line, in one unit.
std::vector<std::string> values_text(const p::TransferLine& l, units::OutputUnits u) {
  const std::array<double, 3> values{l.as_tested, l.equal_weight, l.target};
  std::vector<std::string> out;
  double most = 0;
  for (const double v : values) {
    if (std::isfinite(v)) most = std::max(most, std::abs(v));
  }
  const Dimension dimension = l.unit == "N" ? Dimension::force : l.unit == "Pa" ? Dimension::pressure : l.unit == "m" ? Dimension::length : l.unit == "kg" ? Dimension::mass : Dimension::none;
  for (const double v : values) {
    if (!std::isfinite(v)) out.emplace_back("-");
    else if (l.unit == "rad") out.push_back(v == p::kNoGradient ? degrees(v) : degrees(v) + " deg");
    else if (dimension == Dimension::none) out.push_back(number(v) + (l.unit == "1" ? "" : " " + l.unit));
    else out.push_back(units::print_in(v, units::output_unit(most, dimension, u)));
  }
  return out;
}

std::string transfer_text(const service::GravityTransferRequest& q, const service::GravityTransferResult& r, units::OutputUnits u, const units::Unit& need_unit) {
  const p::GravityTransfer& t = r.transfer;
  const bool us = u == units::OutputUnits::us;
  const units::Unit g = column_unit(Dimension::acceleration, u), mass = column_unit(Dimension::mass, u), force = column_unit(Dimension::force, u), depth = *units::find_unit(us ? "in" : "mm");
  const auto in = [](double si, const units::Unit& unit) { return number(units::from_si(si, unit), 4); };
  std::string out = fmt::format("{} on {}{}, from {:.4g} to {:.4g} {}\n", r.vehicle, r.soil.id == "given" ? "soil from the command line, not your ground's tests" : r.soil.name,
                                r.soil.textbook && r.soil.id != "given" ? ": textbook soil, not your ground" : "", units::from_si(q.from_m_s2, g), units::from_si(q.to_m_s2, g), g.spelling);
  out += fmt::format("  weighs the same there with {0} {4}: room for {1} {4} of payload; to stand for its true mass of {2} {4} there, test {3} {4} here\n", in(t.equal_weight_mass_kg, mass), in(t.payload_kg, mass),
                     in(t.of(p::GravityTrial::target).mass_kg, mass), in(t.test_mass_kg, mass), mass.spelling);
  out += fmt::format("  Ground: {}{}\n", p::name(t.there.known), t.there.known == p::SelfWeight::by_relation || t.there.known == p::SelfWeight::stated_share ? fmt::format("; its frictional modulus there is {:.3g} of that here", t.there.frictional_modulus_ratio) : "");
  std::vector<std::vector<std::string>> states{{"state", fmt::format("mass\n({})", mass.spelling), fmt::format("weight\n({})", force.spelling), fmt::format("gradient at\n{:.0f} % slip (deg)", 100 * r.working_slip), "largest over\nslip (deg)", "towed\nresistance"}};
  for (const p::TransferCurve& c : t.curves) {
    states.push_back({wrapped(p::name(c.trial), 24), in(c.mass_kg, mass), in(c.weight_n, force), gradient_text(c.at_working), gradient_text(c.at_maximum), number(c.towed_resistance)});
  }
  out += table(states) + "\n";
  std::vector<std::vector<std::string>> curve{{"slip (%)", "pull/weight,\nequal-weight test", "\ntarget", fmt::format("sinkage ({}),\nequal-weight test", depth.spelling), "\ntarget"}};
  const auto &test = t.of(p::GravityTrial::equal_weight_test).points, &target = t.of(p::GravityTrial::target).points;
  for (std::size_t k = 0; k < test.size(); ++k) {
    curve.push_back({fmt::format("{:.0f}", 100 * test[k].slip_ratio), fixed(test[k].pull_coefficient, 3), fixed(target[k].pull_coefficient, 3), fixed(units::from_si(test[k].sinkage_m, depth), us ? 2 : 1),
                     fixed(units::from_si(target[k].sinkage_m, depth), us ? 2 : 1)});
  }
  out += table(curve);
  if (std::isfinite(t.optimism_at_maximum_rad)) {
    out += fmt::format("  The equal-weight test shows {:.1f} deg {} than the target at the largest over slip{}.\n", std::abs(t.optimism_at_maximum_rad) * kDeg, t.optimism_at_maximum_rad >= 0 ? "more" : "less",
                       std::isfinite(t.optimism_at_working_rad) ? fmt::format(", {:.1f} deg {} at the working slip", std::abs(t.optimism_at_working_rad) * kDeg, t.optimism_at_working_rad >= 0 ? "more" : "less") : "");
  }
  if (q.needed_rad) {
    out += fmt::format("  Target, true mass, at {:.0f} % slip: {}.\n", 100 * r.working_slip, margin_words(r.margin_rad(q), *q.needed_rad, need_unit, p::name(t.of(p::GravityTrial::target).at_working.factor)));
  }
  std::vector<std::vector<std::string>> lines{{"quantity", "as tested", "equal weight\nthere", "true mass\nthere"}}, reasons{{"quantity", "carries\nover", "why"}};
  for (const p::TransferLine& l : t.lines) {
    lines.push_back({wrapped(l.quantity, 64)});
    for (const std::string& value : values_text(l, u)) lines.back().push_back(value);
    reasons.push_back({wrapped(l.quantity, 40), l.carries_over ? "yes" : "no", wrapped(l.why, 56)});
  }
  out += table(lines) + "\n" + table(reasons);
  out += "  Friction angle, cohesion, exponent and K are held as measured. An equal-weight test stands for standing loads only.\n";
  return out;
}

struct GravityVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  UnitsOption units_out;
  std::string mass, from, to, target, vehicle_file, share, payload_height, slip, need;
  double length_ratio = 1, mass_ratio = 1;

  void add_to(CLI::App& v) {
    v.add_option("--mass", mass, "mass of the tested vehicle: '420 kg'; or");
    v.add_option("--vehicle", vehicle_file, "vehicle file, with a soil: what carries over, and predictions at both gravities");
    v.add_option("--from", from, "gravity of the tests: '9.81 m/s^2'")->required();
    v.add_option("--to", to, "gravity it is meant for: '1.62 m/s^2'")->required();
    v.add_option("--target-mass", target, "true mass of the vehicle meant for there; with --vehicle the file's own where not given");
    v.add_option("--length-ratio", length_ratio, "granular scaling: length there over length here")->capture_default_str();
    v.add_option("--mass-ratio", mass_ratio, "granular scaling: mass there over mass here")->capture_default_str();
    v.add_option("--self-weight-share", share, "assumed share of kphi (or k of a single plate) that comes from the ground's own weight: '60 %'");
    v.add_option("--payload-height", payload_height, "height of the payload that equal weight leaves room for: '0.9 m'");
    v.add_option("--slip", slip, "working slip; the vehicle's own where not given");
    v.add_option("--need", need, "gradient that the vehicle of --vehicle has to climb there at the working slip, to tell the margin: '12 deg'");
    units_out.add_to(v, "SI or US; not given: SI, with --mass in the unit it was typed in");
    soil.add_to(v);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    if (mass.empty() == vehicle_file.empty()) problems.refuse({.place = {.key = mass.empty() ? "--mass" : "--vehicle"}, .what = mass.empty() ? "neither a mass nor a vehicle is given" : "a mass and a vehicle file are given", .remedy = "give --mass '420 kg', or --vehicle FILE with a soil"});
    if (!vehicle_file.empty()) return transfer(line, problems, val);
    for (const auto& [option, text] : {std::pair{"--self-weight-share", &share}, {"--payload-height", &payload_height}, {"--slip", &slip}, {"--need", &need}, {"--soil", &soil.soil}}) {
      if (!text->empty()) problems.refuse({.place = {.key = option}, .what = "says nothing without a vehicle", .value = *text, .remedy = "give --vehicle FILE, or leave it out"});
    }
    service::GravityRequest q{.mass_kg = val.get("mass", mass, Dimension::mass).value_or(0), .from_m_s2 = val.get("from", from, Dimension::acceleration).value_or(0),
                              .to_m_s2 = val.get("to", to, Dimension::acceleration).value_or(0), .target_mass_kg = val.get("target-mass", target, Dimension::mass),
                              .length_ratio = length_ratio, .mass_ratio = mass_ratio};
    if (mass.empty()) val.spoken_for("--mass");
    const auto r = val.answer([&] { return service::gravity(q); });
    line.put_answer(problems, {}, [&] { return service::gravity_json(q, r); }, [&] { return gravity_text(q, r, units_out.told_in(mass, Dimension::mass).unit, units_out.units()); });
    return 0;
  }

  int transfer(const CommandLine& line, base::Problems& problems, Values& val) const {
    service::GravityTransferRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .from_m_s2 = val.get("from", from, Dimension::acceleration).value_or(0),
                                      .to_m_s2 = val.get("to", to, Dimension::acceleration).value_or(0), .target_mass_kg = val.get("target-mass", target, Dimension::mass),
                                      .self_weight_share = val.get("self-weight-share", share, Dimension::none), .payload_height_m = val.get("payload-height", payload_height, Dimension::length),
                                      .slip_ratio = val.get("slip", slip, Dimension::none), .slip_sinkage = soil.rule(), .needed_rad = val.get("need", need, Dimension::angle)};
    if (length_ratio != 1 || mass_ratio != 1) problems.refuse({.place = {.key = "--length-ratio"}, .what = "granular scaling is for masses alone", .remedy = "give --mass instead of --vehicle"});
    const auto r = val.answer([&] { return service::gravity_transfer(q); });
    line.put_answer(problems, r.remarks, [&] { return service::gravity_transfer_json(q, r); }, [&] { return transfer_text(q, r, units_out.units(), Values::unit_or_si(need, Dimension::angle)); });
    const auto& curves = r.transfer.curves;
    return std::any_of(curves.begin(), curves.end(), [](const p::TransferCurve& c) { return c.at_working.factor == p::LimitingFactor::not_converged; }) ? 3 : 0;
  }
};

}  // namespace

void add_way_verbs(CommandLine& line) {
  line.add_verb<GravityVerb>("gravity");
  add_ride_verb(line);
  add_boulders_verb(line);
  add_endurance_verb(line);
  add_study_verb(line);
}

}  // namespace hardpan::cli
