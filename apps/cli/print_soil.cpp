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

namespace {

std::string soil_heading(const soil::NamedSoil& s) {
  if (s.id == "given") return "Soil from the command line, not your ground's tests\n";
  return fmt::format("{}{}\n{}; {}\n", s.name, s.textbook ? ": textbook soil, not your ground" : "", s.source, s.read_in_source ? "read in the source" : "from memory, not checked against the source");
}

std::string slip_text(double slip_ratio) { return fmt::format("{:.0f} %", 100 * slip_ratio); }

// An answer of `wheel` with the words that tell it from the others of the same table.
struct Told {
  const service::WheelLine* line;
  const char* grousers;             // "", "clean" or "packed"
  std::string where;                // opens what is said of it alone
};

std::vector<Told> in_order(const service::WheelResult& r) {
  std::vector<Told> out;
  const bool several = r.lines.size() > 1;
  const auto add = [&](const service::WheelLine& l, const char* grousers) {
    std::string where = several ? "at " + slip_text(l.lead().slip_ratio) + " slip" : "";
    if (*grousers) where += std::string(several ? ", grousers " : "grousers ") + grousers;
    out.push_back({&l, grousers, where.empty() ? "" : where + ": "});
  };
  for (std::size_t i = 0; i < r.lines.size(); ++i) {
    add(r.lines[i], r.packed.empty() ? "" : "clean");
    if (!r.packed.empty()) add(r.packed[i], "packed");
  }
  return out;
}

// Lower pull first, by name, and the higher one beside it.
std::string wheel_table(const service::WheelRequest& q, const std::vector<Told>& answers, OutputUnits u) {
  const bool packed = *answers.front().grousers, sinking = q.slip_sinkage != soil::SlipSinkage::none;
  std::vector<std::string> head{"slip"};
  if (packed) head.push_back("grousers");
  head.insert(head.end(), {"status", sinking ? "lower pull" : "pull", "torque", "sinkage", "pull / load"});
  if (sinking) head.insert(head.end(), {"slip sinkage", "higher pull", "its sinkage", "slip sinkage"});
  std::vector<std::vector<std::string>> rows{head};
  for (const Told& t : answers) {
    const contact::WheelAnswer &a = t.line->lead(), &b = t.line->beside();
    const auto force = [&](const contact::WheelAnswer& x) { return x.carried() ? units::print_quantity(x.pull_n, Dimension::force, u) : "-"; };
    const auto depth = [&](const contact::WheelAnswer& x) { return std::isfinite(x.sinkage_m) ? units::print_quantity(x.sinkage_m, Dimension::length, u) : "-"; };
    std::vector<std::string> row{slip_text(a.slip_ratio)};
    if (packed) row.emplace_back(t.grousers);
    row.insert(row.end(), {contact::name(a.status), force(a), a.carried() ? units::print_quantity(a.torque_n_m, Dimension::torque, u) : "-", depth(a), a.carried() ? number(a.pull_n / q.load_n) : "-"});
    // Which of the two leads says nothing where there is no pull.
    const char* with = "with";
    const char* without = "without";
    if (sinking) row.insert(row.end(), {!a.carried() ? "-" : t.line->with_leads() ? with : without, force(b), depth(b), !b.carried() ? "-" : t.line->with_leads() ? without : with});
    rows.push_back(row);
  }
  std::string out = table(rows);
  if (sinking) out += fmt::format("  Each is computed without slip sinkage and with it: {}. The less favourable leads: the lower pull, braking the lower hold.\n", soil::name(q.slip_sinkage));
  return out;
}

// Each sentence once, with the answers it holds for where it does not hold for all.
std::string flags_text(const std::vector<Told>& answers, bool several) {
  std::vector<std::pair<std::string, std::vector<std::string>>> known;
  const std::string by_column = contact::sentences(contact::Flag::slip_sinkage_on).front();  // stands in a column of the table
  for (const Told& t : answers) {
    std::string label = several ? slip_text(t.line->lead().slip_ratio) : t.grousers;
    if (several && *t.grousers) label += fmt::format(" ({})", t.grousers);
    for (const std::string& sentence : contact::sentences(t.line->lead().flags)) {
      if (sentence == by_column) continue;
      auto it = std::find_if(known.begin(), known.end(), [&](const auto& f) { return f.first == sentence; });
      if (it == known.end()) it = known.insert(known.end(), {sentence, {}});
      it->second.push_back(label);
    }
  }
  std::string out;
  for (const auto& [sentence, labels] : known) {
    if (labels.size() == answers.size()) out += "  " + sentence + "\n";
    else out += fmt::format("  {} {}: {}\n", several ? "At slip" : "With grousers", fmt::join(labels, ", "), sentence);
  }
  return out;
}

constexpr const char* kPackedWords =
    "  Clean: ground that falls out from between the grousers, dry and loose. Packed: moist or sticky ground stays between them and makes a smooth wheel of the outer radius.\n"
    "  Look at the wheels after a few turns; where that is not known, take the lower pull (common practice, no source).\n";

}  // namespace

std::string wheel_text(const service::WheelRequest& q, const service::WheelResult& r, OutputUnits u) {
  const auto length = [&](double m) { return units::print_quantity(m, Dimension::length, u); };
  const auto force = [&](double n) { return units::print_quantity(n, Dimension::force, u); };
  const std::vector<Told> answers = in_order(r);
  std::string out = soil_heading(r.soil) + wheel_table(q, answers, u);
  if (!r.packed.empty()) {
    out += kPackedWords;
    if (r.soil.soil.smooth_metal) out += "  The strength against metal is taken all round the packed wheel, though there soil meets packed soil: a lower bound.\n";
  }
  for (const Told& t : answers) {
    const contact::WheelAnswer& a = t.line->lead();
    if (a.carried()) {
      out += fmt::format("  {}contact {} long, {} on it; largest normal stress {}; entry angle {:.1f} deg\n", t.where, length(a.contact_length_m), units::print_quantity(a.ground_pressure_pa, Dimension::pressure, u),
                         units::print_quantity(a.max_normal_stress_pa, Dimension::pressure, u), a.entry_angle_rad * kDeg);
      if (q.wheel.flex) out += fmt::format("  {}deflection {}; slip and torque refer to the rolling radius {}\n", t.where, length(a.deflection_m), length(a.torque_radius_m));
      if (q.slip_angle_rad != 0) out += fmt::format("  {}side force {}\n", t.where, force(a.side_force_n));
      if (t.line->front_bulldozing_n) out += fmt::format("  {}for comparison: resistance of the soil pushed up ahead about {} (Hegedus 1960, from memory; not in the model)\n", t.where, force(*t.line->front_bulldozing_n));
    } else if (std::isfinite(a.largest_load_n)) {
      out += fmt::format("  {}the largest load this ground carries under the wheel is {}\n", t.where, force(a.largest_load_n));
    }
  }
  if (q.wheel.rolling_radius_m) out += fmt::format("  Rolling radius measured: zero slip {}.\n", vehicle::name(q.wheel.rolling_radius_condition));
  else if (!q.wheel.flex) out += fmt::format("  Slip and torque refer to the radius {}{}.\n", length(vehicle::shearing_radius_m(q.wheel)), r.packed.empty() ? "" : " over the grousers");
  if (!r.bulldozing_lacks.empty()) out += fmt::format("  No estimate of the resistance of the soil pushed up ahead stands beside: it needs {}.\n", r.bulldozing_lacks);
  // These are of the first answer.
  const std::string& first = answers.front().where;
  for (const auto& s : r.sanity) out += fmt::format("  {}for comparison: {} {} ({})\n", first, s.name, with_unit(s.value_si, s.unit, u), s.note);
  if (r.rigid && r.rigid->carried()) out += fmt::format("  {}as a rigid wheel: pull {}, sinkage {}\n", first, force(r.rigid->pull_n), length(r.rigid->sinkage_m));
  out += flags_text(answers, r.lines.size() > 1);
  if (!r.kilonewton_doubt.empty()) out += "Remark: " + r.kilonewton_doubt + "\n";
  return out;
}

namespace {

std::string deep_text(const service::ClimbResult& r, OutputUnits u) {
  std::string out;
  bool lacks = false;
  for (const service::DeepWheels& d : r.deep) {
    out += fmt::format("  {}, {} of {} wheels sink more than a tenth of their diameter: resistance is underrated", d.at, d.wheels, d.of_wheels);
    out += d.bulldozing_n ? fmt::format("; for the soil pushed up ahead about {}, {:.1f} % of the weight (Hegedus 1960, from memory; not in the model)\n", units::print_quantity(*d.bulldozing_n, Dimension::force, u), 100 * d.weight_share_ratio)
                          : "\n";
    lacks = lacks || !d.bulldozing_n;
  }
  if (lacks) out += "  No estimate of the resistance of the soil pushed up ahead stands beside: it needs --density '1600 kg/m^3'.\n";
  return out;
}

std::string factor_text(double factor) { return factor > 100 ? "over 100" : fmt::format("{:.2f}", factor); }

// Whether the ground itself lies still there.
std::string slopes_text(const service::ClimbResult& r, OutputUnits u) {
  std::string out;
  const std::string phi = degrees(r.friction_rad) + " deg";
  bool lacks = false;
  for (const service::SlopeStand& s : r.slopes) {
    out += fmt::format("  ground on {} deg ({}): ", degrees(s.slope_rad), s.at);
    if (!s.computed) {
      lacks = lacks || s.steeper_than_friction;
      out += s.steeper_than_friction ? fmt::format("steeper than the angle of friction ({}), and only cohesion can hold it\n", phi) : fmt::format("no steeper than the angle of friction ({}): no sheet of it slides, however deep\n", phi);
      continue;
    }
    if (r.cohesionless) {
      out += fmt::format("factor of safety against sliding {} at any depth (no cohesion)\n", factor_text(s.sheets.front().safety_factor_ratio));
      continue;
    }
    std::vector<std::string> sheets;
    for (const auto& sheet : s.sheets) sheets.push_back(fmt::format("{} for a sheet {} deep", factor_text(sheet.safety_factor_ratio), units::print_quantity(sheet.vertical_depth_m, Dimension::length, u)));
    out += fmt::format("factor of safety against sliding {}", fmt::join(sheets, ", "));
    out += s.critical_depth_m ? fmt::format("; sheets deeper than {} slide\n", units::print_quantity(*s.critical_depth_m, Dimension::length, u)) : "; no sheet slides, however deep\n";
  }
  if (lacks) out += "  The factor of safety of that slope needs the density of the ground: give --density '1600 kg/m^3'.\n";
  if (r.cohesionless) {
    bool over = false;
    for (const service::SlopeStand& s : r.slopes) over = over || s.no_steady_climb;
    out += fmt::format("  Ground without cohesion: at {} and steeper, its angle of friction, {}. Getting up for a moment by digging is outside this steady model.\n", phi,
                       over ? "no steady climb exists, so none on this gradient" : "no steady climb exists");
  }
  if (!r.slopes.empty()) out += "  Factors hold for a long, dry, even slope at rest (infinite slope; depths vertical): a vehicle, water, shaking or a cut at the foot lower them.\n";
  return out;
}

// Whether a tip limit is among what is told.
bool any_tips(const service::ClimbResult& r) {
  using performance::LimitingFactor;
  const auto tips = [](LimitingFactor f) { return f == LimitingFactor::tip_over_forward || f == LimitingFactor::tip_over_rearward; };
  return tips(r.at_20.factor) || tips(r.at_working.factor) || tips(r.at_maximum.factor) || tips(r.descent.factor) || (r.packed && (tips(r.packed->at_working.factor) || tips(r.packed->at_maximum.factor))) ||
         (r.travel && tips(r.travel->factor));
}

// A gradient that no loose ground has is a limit of the wheels.
std::string beyond_friction_text(const service::ClimbResult& r) {
  const bool up = r.at_maximum.gradient_rad > r.friction_rad;
  const bool down = r.descent.gradient_rad > performance::kNoGradient && -r.descent.gradient_rad > r.friction_rad;
  if (!up && !down) return "";
  return fmt::format("  {} steeper than the soil's angle of friction ({} deg): ground that steep slides of itself where it has no cohesion. The value is then a limit of the wheels, not of the ground.\n",
                     up && down ? "The largest gradient and the steepest descent held are" : up ? "The largest gradient is" : "The steepest descent held is", degrees(r.friction_rad));
}

}  // namespace

std::string climb_text(const service::ClimbRequest& q, const service::ClimbResult& r, OutputUnits u, const std::string& gradient, const units::Unit& need_unit) {
  std::string out = fmt::format("{} on {}{}\n", r.vehicle.name, r.soil.id == "given" ? "soil from the command line, not your ground's tests" : r.soil.name, r.soil.textbook ? ": textbook soil, not your ground" : "");
  std::vector<std::vector<std::string>> rows{{"gradient", "deg", "slip", "limiting factor"}};
  const auto add = [&](const std::string& what, const performance::Gradient& g) {
    rows.push_back({what, degrees(g.gradient_rad), fmt::format("{:.0f} %", 100 * g.slip_ratio), performance::name(g.factor)});
  };
  add("up to 20 % slip", r.at_20);
  add(fmt::format("up to working slip {:.0f} %", 100 * r.working_slip), r.at_working);
  add("largest over slip", r.at_maximum);
  if (r.packed) {
    add(fmt::format("up to working slip {:.0f} %, grousers packed", 100 * r.working_slip), r.packed->at_working);
    add("largest over slip, grousers packed", r.packed->at_maximum);
  }
  performance::Gradient down = r.descent;
  if (down.gradient_rad > performance::kNoGradient) down.gradient_rad = -down.gradient_rad;  // the word says downhill
  add("steepest descent held", down);
  out += table(rows);
  out += "  Slip: of the wheel that slips most.\n";
  if (q.needed_rad) out += "  At the working slip: " + margin_words(r.margin_rad(q), *q.needed_rad, need_unit, performance::name(r.at_working.factor)) + ".\n";
  if (r.packed) out += std::string("  Grousers are clean where the table does not say packed.\n") + kPackedWords;
  out += beyond_friction_text(r);
  out += fmt::format("  towed resistance coefficient {} (without slip sinkage)\n", number(r.towed_resistance));
  for (const auto& s : r.sanity) out += fmt::format("  for comparison: {} {} ({})\n", s.name, with_unit(s.value_si, s.unit, u), s.note);
  if (r.travel) {
    const performance::Travel& t = *r.travel;
    out += t.goes ? fmt::format("  on {}: slip {:.1f} %, sinkage {}, torque of the most loaded drive {}{} per wheel, energy {}{}\n", gradient, 100 * t.slip_ratio, units::print_quantity(t.sinkage_m, Dimension::length, u),
                                units::print_quantity(t.torque_n_m, Dimension::torque, u), t.torque_n_m < 0 ? " (brakes)" : "", units::print_quantity(t.energy_j_per_m, Dimension::energy_per_distance, u),
                                std::isfinite(t.speed_m_s) ? fmt::format(" at {}, the most its drives give there", units::print_quantity(t.speed_m_s, Dimension::speed, u)) : "")
                  : fmt::format("  on {}: does not go, {}\n", gradient, performance::name(t.factor));
    if (t.goes && t.slip_ratio < 0 && t.torque_n_m > 0) {
      out += "    The wheels drive here, they do not brake: sunk this deep the relation of the model gives thrust at no slip already, and slip counts from the stated radius.\n";
    }
  }
  out += deep_text(r, u) + slopes_text(r, u);
  if (!r.kilonewton_doubt.empty()) out += "Remark: " + r.kilonewton_doubt + "\n";
  out += fmt::format("  Computed on virgin soil for every wheel{}. A prediction is no permission to drive.\n", any_tips(r) ? "; tip limits are static" : "");
  return out;
}

std::string soils_text() {
  std::vector<std::vector<std::string>> rows{{"id", "n", "kc kN/m^(n+1)", "kphi kN/m^(n+2)", "c kPa", "phi deg", "K mm", "known", "name"}};
  for (const soil::NamedSoil& s : service::known_soils()) {
    rows.push_back({s.id, number(s.soil.bearing->n), number(s.soil.bearing->first_modulus / 1e3, 4), number(s.soil.bearing->second_modulus / 1e3, 6),
                    number(s.soil.shear->cohesion_pa / 1e3), number(std::atan(s.soil.shear->tan_phi) * kDeg), s.soil.shear->shear_modulus_m ? number(*s.soil.shear->shear_modulus_m * 1e3) : "-",
                    s.read_in_source ? "source read" : "from memory", s.name});
  }
  return "Textbook soils, not your ground. Sources stand in data/soils.csv and beside each answer.\n" + table(rows);
}

}  // namespace hardpan::cli
