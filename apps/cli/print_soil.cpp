// SPDX-License-Identifier: Apache-2.0
// The quick answers on a soil as text: wheel, climb, the built-in soils.
#include <fmt/core.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "print.hpp"
#include "print_parts.hpp"

namespace hardpan::cli {

using units::Dimension;
using units::OutputUnits;

std::string wheel_text(const service::WheelRequest& q, const service::WheelResult& r, bool us_units) {
  const OutputUnits u = us_units ? OutputUnits::us : OutputUnits::si;
  std::string out = r.soil.id == "given" ? std::string("Soil from the command line, not your ground's tests\n") : fmt::format("{}{}\n{}; {}\n", r.soil.name, r.soil.textbook ? ": textbook soil, not your ground" : "", r.soil.source,
                                r.soil.read_in_source ? "read in the source" : "from memory, not checked against the source");
  std::vector<std::vector<std::string>> rows{{"slip", "status", "pull", "torque", "sinkage", "pull / load", "pull without slip sinkage"}};
  for (const service::WheelLine& l : r.lines) {
    const contact::WheelAnswer& a = l.lead();
    rows.push_back({fmt::format("{:.0f} %", 100 * a.slip_ratio), contact::name(a.status), a.carried() ? units::print_quantity(a.pull_n, Dimension::force, u) : "-",
                    a.carried() ? units::print_quantity(a.torque_n_m, Dimension::torque, u) : "-", std::isfinite(a.sinkage_m) ? units::print_quantity(a.sinkage_m, Dimension::length, u) : "-",
                    a.carried() ? number(a.pull_n / q.load_n) : "-", l.without.carried() ? units::print_quantity(l.without.pull_n, Dimension::force, u) : "-"});
  }
  out += table(rows);
  const auto slip_text = [](double slip_ratio) { return fmt::format("{:.0f} %", 100 * slip_ratio); };
  const bool several = r.lines.size() > 1;
  std::vector<std::pair<std::string, std::vector<std::string>>> flags;  // a sentence, and the slips it holds at
  for (const service::WheelLine& l : r.lines) {
    const contact::WheelAnswer& a = l.lead();
    const std::string at = several ? "at " + slip_text(a.slip_ratio) + " slip: " : "";
    if (a.carried()) {
      out += fmt::format("  {}contact {} long, {} on it; largest normal stress {}; entry angle {:.1f} deg\n", at, units::print_quantity(a.contact_length_m, Dimension::length, u),
                         units::print_quantity(a.ground_pressure_pa, Dimension::pressure, u), units::print_quantity(a.max_normal_stress_pa, Dimension::pressure, u), a.entry_angle_rad * kDeg);
      if (q.slip_angle_rad != 0) out += fmt::format("  {}side force {}\n", at, units::print_quantity(a.side_force_n, Dimension::force, u));
    } else if (std::isfinite(a.largest_load_n)) {
      out += fmt::format("  {}the largest load this ground carries under the wheel is {}\n", at, units::print_quantity(a.largest_load_n, Dimension::force, u));
    }
    for (const std::string& sentence : contact::sentences(a.flags)) {
      auto known = std::find_if(flags.begin(), flags.end(), [&](const auto& f) { return f.first == sentence; });
      if (known == flags.end()) known = flags.insert(flags.end(), {sentence, {}});
      known->second.push_back(slip_text(a.slip_ratio));
    }
  }
  // Both are computed at the first slip.
  const std::string first = several ? " at " + slip_text(r.lines.front().lead().slip_ratio) + " slip" : "";
  for (const auto& s : r.sanity) out += fmt::format("  for comparison: {} {} ({})\n", s.name, with_unit(s.value_si, s.unit, u), s.note);
  if (r.front_bulldozing_n) out += fmt::format("  for comparison: bulldozing resistance{} about {} (not in the model)\n", first, units::print_quantity(*r.front_bulldozing_n, Dimension::force, u));
  if (r.rigid && r.rigid->carried()) out += fmt::format("  as a rigid wheel{}: pull {}, sinkage {}\n", first, units::print_quantity(r.rigid->pull_n, Dimension::force, u), units::print_quantity(r.rigid->sinkage_m, Dimension::length, u));
  for (const auto& [sentence, slips] : flags) out += slips.size() == r.lines.size() ? "  " + sentence + "\n" : fmt::format("  At {} slip: {}\n", fmt::join(slips, ", "), sentence);
  if (!r.kilonewton_doubt.empty()) out += "Remark: " + r.kilonewton_doubt + "\n";
  return out;
}

std::string climb_text(const service::ClimbResult& r, bool us_units, const std::string& gradient) {
  const OutputUnits u = us_units ? OutputUnits::us : OutputUnits::si;
  std::string out = fmt::format("{} on {}{}\n", r.vehicle.name, r.soil.id == "given" ? "soil from the command line, not your ground's tests" : r.soil.name, r.soil.textbook ? ": textbook soil, not your ground" : "");
  std::vector<std::vector<std::string>> rows{{"gradient", "deg", "at slip", "limiting factor"}};
  const auto add = [&](const std::string& what, const performance::Gradient& g) {
    rows.push_back({what, degrees(g.gradient_rad), fmt::format("{:.0f} %", 100 * g.slip_ratio), performance::name(g.factor)});
  };
  add("at 20 % slip", r.at_20);
  add(fmt::format("at working slip {:.0f} %", 100 * r.working_slip), r.at_working);
  add("largest over slip", r.at_maximum);
  add("steepest descent held", r.descent);
  out += table(rows);
  out += fmt::format("  towed resistance coefficient {}\n", number(r.towed_resistance));
  for (const auto& s : r.sanity) out += fmt::format("  for comparison: {} {} ({})\n", s.name, with_unit(s.value_si, s.unit, u), s.note);
  if (r.travel) {
    const performance::Travel& t = *r.travel;
    out += t.goes ? fmt::format("  on {}: slip {:.1f} %, sinkage {}, torque {} per wheel, energy {}\n", gradient, 100 * t.slip_ratio, units::print_quantity(t.sinkage_m, Dimension::length, u),
                                units::print_quantity(t.torque_n_m, Dimension::torque, u), units::print_quantity(t.energy_j_per_m, Dimension::energy_per_distance, u))
                  : fmt::format("  on {}: immobilised, {}\n", gradient, performance::name(t.factor));
  }
  if (!r.kilonewton_doubt.empty()) out += "Remark: " + r.kilonewton_doubt + "\n";
  out += "  Computed on virgin soil for every wheel; tip limits are static. A prediction is no permission to drive.\n";
  return out;
}

std::string soils_text() {
  std::vector<std::vector<std::string>> rows{{"id", "n", "kc kN/m^(n+1)", "kphi kN/m^(n+2)", "c kPa", "phi deg", "K mm", "known", "name"}};
  for (const soil::NamedSoil& s : service::known_soils()) {
    rows.push_back({s.id, number(s.soil.bearing->n), number(s.soil.bearing->first_modulus / 1e3, "{:.4g}"), number(s.soil.bearing->second_modulus / 1e3, "{:.6g}"),
                    number(s.soil.shear->cohesion_pa / 1e3), number(std::atan(s.soil.shear->tan_phi) * kDeg), s.soil.shear->shear_modulus_m ? number(*s.soil.shear->shear_modulus_m * 1e3) : "-",
                    s.read_in_source ? "source read" : "from memory", s.name});
  }
  return "Textbook soils, not your ground. Sources stand in data/soils.csv and beside each answer.\n" + table(rows);
}

}  // namespace hardpan::cli
