// SPDX-License-Identifier: Apache-2.0
// Quick answer: what changes with gravity, of a mass alone or of a vehicle on a soil. The verbs about the way are listed at the end.
#include <fmt/core.h>

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
  return fmt::format("{:.1f} ({})", g.gradient_rad * kDeg, p::name(g.factor));
}

std::string value_text(double v, const std::string& unit) {
  if (!std::isfinite(v)) return "-";
  if (unit == "rad") return fmt::format("{:.1f} deg", v * kDeg);
  if (unit == "1") return number(v);
  if (unit == "Hz") return number(v) + " Hz";
  return with_unit(v, unit, units::OutputUnits::si);
}

std::string transfer_text(const service::GravityTransferRequest& q, const service::GravityTransferResult& r) {
  const p::GravityTransfer& t = r.transfer;
  std::string out = fmt::format("{} on {}{}, from {:.4g} to {:.4g} m/s^2\n", r.vehicle, r.soil.id == "given" ? "soil from the command line, not your ground's tests" : r.soil.name,
                                r.soil.textbook && r.soil.id != "given" ? ": textbook soil, not your ground" : "", q.from_m_s2, q.to_m_s2);
  out += fmt::format("  weighs the same there with {:.4g} kg: room for {:.4g} kg of payload; to stand for its true mass of {:.4g} kg there, test {:.4g} kg here\n", t.equal_weight_mass_kg, t.payload_kg,
                     t.of(p::GravityTrial::target).mass_kg, t.test_mass_kg);
  out += fmt::format("  Ground: {}{}\n", p::name(t.there.known), t.there.known == p::SelfWeight::by_relation || t.there.known == p::SelfWeight::stated_share ? fmt::format("; its frictional modulus there is {:.3g} of that here", t.there.frictional_modulus_ratio) : "");
  std::vector<std::vector<std::string>> states{{"state", "mass (kg)", "weight (N)", fmt::format("gradient at {:.0f} % slip (deg)", 100 * r.working_slip), "largest over slip (deg)", "towed resistance"}};
  for (const p::TransferCurve& c : t.curves) {
    states.push_back({p::name(c.trial), number(c.mass_kg, 4), number(c.weight_n, 4), gradient_text(c.at_working), gradient_text(c.at_maximum), number(c.towed_resistance)});
  }
  out += table(states);
  std::vector<std::vector<std::string>> curve{{"slip (%)", "pull/weight, equal-weight test", "target", "sinkage (mm), equal-weight test", "target"}};
  const auto &test = t.of(p::GravityTrial::equal_weight_test).points, &target = t.of(p::GravityTrial::target).points;
  for (std::size_t k = 0; k < test.size(); ++k) {
    curve.push_back({fmt::format("{:.0f}", 100 * test[k].slip_ratio), fixed(test[k].pull_coefficient, 3), fixed(target[k].pull_coefficient, 3), fixed(1000 * test[k].sinkage_m, 1),
                     fixed(1000 * target[k].sinkage_m, 1)});
  }
  out += table(curve);
  if (std::isfinite(t.optimism_at_maximum_rad)) {
    out += fmt::format("  The equal-weight test shows {:.1f} deg {} than the target at the largest over slip{}.\n", std::abs(t.optimism_at_maximum_rad) * kDeg, t.optimism_at_maximum_rad >= 0 ? "more" : "less",
                       std::isfinite(t.optimism_at_working_rad) ? fmt::format(", {:.1f} deg {} at the working slip", std::abs(t.optimism_at_working_rad) * kDeg, t.optimism_at_working_rad >= 0 ? "more" : "less") : "");
  }
  std::vector<std::vector<std::string>> lines{{"quantity", "as tested", "equal weight there", "true mass there", "carries over", "why"}};
  for (const p::TransferLine& l : t.lines) {
    lines.push_back({l.quantity, value_text(l.as_tested, l.unit), value_text(l.equal_weight, l.unit), value_text(l.target, l.unit), l.carries_over ? "yes" : "no", l.why});
  }
  out += table(lines);
  out += "  Friction angle, cohesion, exponent and K are held as measured. An equal-weight test stands for standing loads only.\n";
  return out;
}

struct GravityVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  std::string mass, from, to, target, vehicle_file, share, payload_height, slip;
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
    soil.add_to(v);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    if (mass.empty() == vehicle_file.empty()) problems.refuse({.place = {.key = mass.empty() ? "--mass" : "--vehicle"}, .what = mass.empty() ? "neither a mass nor a vehicle is given" : "a mass and a vehicle file are given", .remedy = "give --mass '420 kg', or --vehicle FILE with a soil"});
    if (!vehicle_file.empty()) return transfer(line, problems, val);
    for (const auto& [option, text] : {std::pair{"--self-weight-share", &share}, {"--payload-height", &payload_height}, {"--slip", &slip}, {"--soil", &soil.soil}}) {
      if (!text->empty()) problems.refuse({.place = {.key = option}, .what = "says nothing without a vehicle", .value = *text, .remedy = "give --vehicle FILE, or leave it out"});
    }
    service::GravityRequest q{.mass_kg = val.get("mass", mass, Dimension::mass).value_or(0), .from_m_s2 = val.get("from", from, Dimension::acceleration).value_or(0),
                              .to_m_s2 = val.get("to", to, Dimension::acceleration).value_or(0), .target_mass_kg = val.get("target-mass", target, Dimension::mass),
                              .length_ratio = length_ratio, .mass_ratio = mass_ratio};
    if (mass.empty()) val.spoken_for("--mass");
    const auto r = val.answer([&] { return service::gravity(q); });
    if (line.json) line.put_json(problems, service::gravity_json(q, r));
    else put(gravity_text(q, r, Values::unit(mass, Dimension::mass).value_or(units::si(Dimension::mass))));
    return 0;
  }

  int transfer(const CommandLine& line, base::Problems& problems, Values& val) const {
    service::GravityTransferRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .from_m_s2 = val.get("from", from, Dimension::acceleration).value_or(0),
                                      .to_m_s2 = val.get("to", to, Dimension::acceleration).value_or(0), .target_mass_kg = val.get("target-mass", target, Dimension::mass),
                                      .self_weight_share = val.get("self-weight-share", share, Dimension::none), .payload_height_m = val.get("payload-height", payload_height, Dimension::length),
                                      .slip_ratio = val.get("slip", slip, Dimension::none), .slip_sinkage = soil.rule()};
    if (length_ratio != 1 || mass_ratio != 1) problems.refuse({.place = {.key = "--length-ratio"}, .what = "granular scaling is for masses alone", .remedy = "give --mass instead of --vehicle"});
    const auto r = val.answer([&] { return service::gravity_transfer(q); });
    line.put_answer(problems, r.remarks, [&] { return service::gravity_transfer_json(r); }, [&] { return transfer_text(q, r); });
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
