// SPDX-License-Identifier: Apache-2.0
#include "print.hpp"

#include <fmt/core.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "campaign/flattening.hpp"
#include "campaign/no_travel.hpp"
#include "campaign/tips_to.hpp"
#include "print_parts.hpp"
#include "units/print.hpp"

namespace hardpan::cli {

using units::Dimension;
using units::OutputUnits;

namespace {

std::string interval_degrees(const std::optional<math::Interval>& i) {
  return i ? degrees(i->lo) + " to " + degrees(i->hi) : "-";
}
std::string interval(const std::optional<math::Interval>& i) {
  return i ? number(i->lo) + " to " + number(i->hi) : "-";
}

OutputUnits units_of(const campaign::Campaign& c) {
  return c.output_units == campaign::OutputUnits::us ? OutputUnits::us : OutputUnits::si;
}

Dimension dimension_of(validation::Quantity q) {
  using validation::Quantity;
  switch (q) {
    case Quantity::maximum_gradient:
    case Quantity::gradient_on_heading:
    case Quantity::tip_angle:
    case Quantity::maximum_gradient_down: return Dimension::angle;
    case Quantity::drawbar_pull: return Dimension::force;
    case Quantity::highest_step:
    case Quantity::widest_gap:
    case Quantity::turning_radius:
    case Quantity::trip_distance:
    case Quantity::sinkage: return Dimension::length;
    case Quantity::torque_per_wheel: return Dimension::torque;
    case Quantity::energy_per_metre: return Dimension::energy_per_distance;
    case Quantity::remote_speed:
    case Quantity::rough_ground_speed:
    case Quantity::speed: return Dimension::speed;
    case Quantity::nominal_ground_pressure: return Dimension::pressure;
    default: return Dimension::none;
  }
}

std::string value_of(double v, validation::Quantity q, OutputUnits u) {
  if (std::isnan(v)) return "none";
  if (std::isinf(v)) return v > 0 ? "immobilised" : "none";
  if (q == validation::Quantity::maximum_gradient && v <= performance::kNoGradient + campaign::kAtNoTravel) return "none";
  if (q == validation::Quantity::maximum_gradient_down && v == campaign::kNoDescent) return "none";
  if (q == validation::Quantity::pull_coefficient && v <= campaign::kNoPull + campaign::kAtNoTravel) return "none";
  return units::print_quantity(v, dimension_of(q), u);
}

std::string counted(std::size_t n, const std::string& one) { return fmt::format("{} {}{}", n, one, n == 1 ? "" : "s"); }

// An interval in one unit; an end that is no number of that unit stays a word.
std::string interval_of(const std::optional<math::Interval>& i, validation::Quantity q, OutputUnits u) {
  if (!i) return "-";
  const std::string lo = value_of(i->lo, q, u), hi = value_of(i->hi, q, u);
  const auto is_number = [](const std::string& text) { return text != "none" && text != "immobilised"; };
  return is_number(lo) && is_number(hi) && dimension_of(q) != Dimension::none ? units::print_interval(i->lo, i->hi, dimension_of(q), u) : lo + " to " + hi;
}

// In the unit of the threshold where it is 0, whose own would be the smallest there is. None of a vehicle that climbs nothing.
std::string margin_of(const validation::Finding& f, OutputUnits u) {
  const auto& q = f.requirement;
  if (!f.margin_known) return "-";
  if (campaign::margin_from_no_travel(f)) return "none";
  return f.margin_si == 0 ? units::print_in(0, units::output_unit(q.threshold_si, dimension_of(q.quantity), u)) : value_of(f.margin_si, q.quantity, u);
}

// "2 of 2 trials, 22 needed"; empty where no trials judged.
std::string trials_of(const validation::Finding& f) {
  if (!f.trials) return "";
  const auto& t = *f.trials;
  const std::uint64_t failed = t.made - t.went;
  return fmt::format("{} of {} trials, {} needed", t.went, t.made, failed == 0 ? std::to_string(t.needed) : fmt::format("{} of {}", t.needed - failed, t.needed));
}

std::string percent(const std::optional<double>& share) { return share ? fmt::format("{:.0f} %", 100 * *share) : "-"; }

std::string short_records(const campaign::RecordSummary& s) {
  return fmt::format("{}, {}{}", counted(s.tests, "test"), counted(s.rows, "row"), s.rows_set_aside ? fmt::format(", {} excluded", s.rows_set_aside) : "");
}

}  // namespace

std::string problems_text(const base::Problems& problems) {
  std::string out;
  for (const base::Severity severity : {base::Severity::refusal, base::Severity::remark}) {
    const std::size_t n = problems.count(severity);
    if (n == 0) continue;
    out += severity == base::Severity::refusal ? fmt::format("Refused ({}):\n", n) : fmt::format("Remarks ({}):\n", n);
    for (const base::Problem& p : problems.list()) {
      if (p.severity == severity) out += "  " + p.text() + "\n";
    }
  }
  return out;
}

std::string check_text(const campaign::Campaign& c) {
  std::string out = fmt::format("{}{}: {}, {}, {}, {}, {}\n", c.name, c.where.empty() ? "" : ", " + c.where, counted(c.points.size(), "point"), counted(c.zones.size(), "zone"),
                                counted(c.instruments.size(), "instrument"), counted(c.vehicles.size(), "vehicle"), counted(c.requirements.size(), "requirement"));
  std::vector<std::vector<std::string>> rows{{"record", "kind", "what was read", "file"}};
  for (const auto& s : c.record_summaries) rows.push_back({s.id, s.kind, short_records(s), s.file});
  if (rows.size() > 1) out += table(rows);
  std::vector<std::string> said;
  for (const auto& s : c.record_summaries) {
    for (const std::string& d : s.downgrades) {
      const std::string line = "  " + s.id + ": " + d + "\n";
      if (std::find(said.begin(), said.end(), line) == said.end()) said.push_back(line);
    }
  }
  if (!said.empty()) out += "Limitations of records:\n";
  for (const std::string& line : said) out += line;
  for (const auto& v : c.vehicles) {
    std::string loads;
    const auto n = vehicle::level_axle_loads_n(v, c.gravity_m_s2);
    for (std::size_t k = 0; k < n.size(); ++k) loads += (k ? ", " : "") + v.axles[k].name + " " + units::print_quantity(n[k], Dimension::force, units_of(c));
    out += fmt::format("Vehicle {}: {} level; axle loads {}\n", v.id, units::print_quantity(vehicle::mass_kg(v) * c.gravity_m_s2, Dimension::force, units_of(c)), loads);
  }
  return out;
}

namespace {

std::string numbered(std::vector<std::string>& seen, const std::string& text) {
  if (text.empty()) return "";
  auto at = std::find(seen.begin(), seen.end(), text);
  if (at == seen.end()) at = seen.insert(seen.end(), text);
  return fmt::format("({})", at - seen.begin() + 1);
}

}  // namespace

// How a parameter of the ground is printed: a modulus in the unit its exponent implies, the rest by dimension.
struct ParameterUnit {
  Dimension dimension = Dimension::none;
  units::Unit own;  // of a modulus, or of what has no dimension here
  OutputUnits units;

  [[nodiscard]] std::string value(double si) const { return dimension == Dimension::none ? units::print_in(si, own, 4) : units::print_quantity(si, dimension, units); }
  [[nodiscard]] std::string range(const math::Interval& i) const {
    if (dimension != Dimension::none && std::isfinite(i.lo) && std::isfinite(i.hi)) return units::print_interval(i.lo, i.hi, dimension, units);  // one unit for both ends
    const units::Unit bare{.factor = own.factor};
    return units::print_in(i.lo, bare, 4) + " to " + value(i.hi);
  }
};

ParameterUnit unit_of(const records::Parameter& p, double n, OutputUnits u) {
  const bool first = p.key == "kc", second = p.key == "kphi" || p.key == "k";
  if ((first || second) && std::isfinite(n)) {
    const auto kind = first ? units::ModulusKind::cohesion : units::ModulusKind::friction;
    return {.own = {.factor = units::modulus_factor(n, kind, u), .spelling = units::modulus_unit(n, kind, u)}, .units = u};
  }
  for (const Dimension d : units::kDimensions) {
    if (d != Dimension::none && p.unit == units::si_unit(d)) return {.dimension = p.unit == "N m" ? Dimension::torque : d, .units = u};
  }
  return {.own = {.spelling = p.unit.empty() ? "1" : p.unit}, .units = u};
}

std::string ground_text(const campaign::Results& r) {
  std::string out;
  const OutputUnits u = units_of(r.campaign);
  for (const records::ZoneGround& z : r.ground.zones) {
    out += fmt::format("Zone {}{}\n", z.zone.empty() ? "(not named)" : z.zone, z.dates.empty() ? "" : ", " + z.dates);
    std::vector<std::vector<std::string>> rows{{"parameter", "value", "average ground 95 %", "next point 95 %", "from"}};
    std::vector<std::string> bases;  // said once below the table, by number
    const double n = z.plates && z.plates->chosen.ok() ? z.plates->chosen.bearing.n : std::nan("");
    const auto add = [&](const std::vector<records::Parameter>& list) {
      for (const records::Parameter& p : list) {
        const ParameterUnit unit = unit_of(p, n, u);
        const auto range = [&](const std::optional<math::Interval>& i) { return i ? unit.range(*i) : std::string("-"); };
        const std::string meaning = p.at_depth_m && p.at_width_m ? fmt::format("pressure at {} on b = {}", units::print_quantity(*p.at_depth_m, Dimension::length, u), units::print_quantity(*p.at_width_m, Dimension::length, u))
                                  : p.key == "tan_phi" ? std::string("tan of the friction angle") : p.key == "tan_delta" ? std::string("tan of the friction angle on smooth metal") : p.meaning;
        rows.push_back({meaning.empty() ? p.key : meaning, unit.value(p.estimate.value), range(p.estimate.average_ground), range(p.estimate.next_point), numbered(bases, p.basis)});
      }
    };
    if (z.plates) add(z.plates->parameters);
    if (z.shear) add(z.shear->parameters);
    for (const auto& c : z.cones) {
      for (const auto& l : c.layers) {
        records::Parameter index = l.cone_index;
        index.meaning = "cone index " + units::print_interval(l.from_m, l.to_m, Dimension::length, u) + (z.cones.size() > 1 ? ", base " + units::print_quantity(c.base_area_m2, Dimension::area, u) : "");
        add({index});
      }
    }
    if (z.bulk) add(z.bulk->parameters);
    if (rows.size() > 1) out += table(rows);
    for (std::size_t k = 0; k < bases.size(); ++k) out += fmt::format("  ({}) {}\n", k + 1, bases[k]);
    const auto say = [&](const std::vector<std::string>& lines) {
      for (const std::string& line : lines) out += "  - " + line + "\n";
    };
    if (!z.reason_without.empty()) out += "  - " + z.reason_without + "\n";
    if (z.plates) {
      say(z.plates->not_identified);
      say(z.plates->disagreement);
    }
    if (z.shear) say(z.shear->not_identified);
    say(z.remarks);
    for (const auto& a : z.advice) out += "  advice: " + a.statement + "\n";
  }
  if (!r.ground.drift.statement.empty()) out += r.ground.drift.statement + "\n";
  if (!r.ground.cone_consistency.statement.empty()) out += r.ground.cone_consistency.statement + "\n";
  return out;
}

std::string drawbar_text(const campaign::Results& r) {
  std::string out;
  std::vector<std::vector<std::string>> rows{{"vehicle", "zone", "runs", "windows", "slips", "pull coefficient at 20 %", "next run 95 %", "peak"}};
  for (const records::DrawbarGroup& g : r.drawbar.groups) {
    const auto& c = g.curve;
    rows.push_back({g.vehicle, g.zone, std::to_string(c.runs), std::to_string(c.points),
                    c.points > 0 ? fmt::format("{:.0f} to {:.0f} %", 100 * c.slip_lo, 100 * c.slip_hi) : "not tested",
                    c.at_20_percent ? number(c.at_20_percent->value) : "not tested", c.at_20_percent ? interval(c.at_20_percent->next_point) : "-",
                    c.peak ? number(c.peak->value) + fmt::format(" at {:.0f} %{}", 100 * c.peak_slip_ratio, c.peak_at_end_of_range ? ", still rising" : "") : "-"});
  }
  if (rows.size() > 1) out += table(rows);
  // Groups without a curve still have slips: one line a log or sheet.
  rows = {{"file", "windows", "slip, mean of windows", "least to largest"}};
  std::vector<std::string> files;
  for (const auto& w : r.drawbar.windows) {
    if (std::find(files.begin(), files.end(), w.file) == files.end()) files.push_back(w.file);
  }
  for (const std::string& f : files) {
    double sum = 0, lo = 2, hi = -2;
    std::size_t n = 0;
    for (const auto& w : r.drawbar.windows) {
      if (w.file != f || !w.slip_ratio) continue;
      ++n;
      sum += *w.slip_ratio;
      lo = std::min(lo, *w.slip_ratio);
      hi = std::max(hi, *w.slip_ratio);
    }
    if (n > 0) rows.push_back({f, std::to_string(n), fmt::format("{:.1f} %", 100 * sum / static_cast<double>(n)), fmt::format("{:.1f} to {:.1f} %", 100 * lo, 100 * hi)});
  }
  if (rows.size() > 1) out += table(rows);
  rows = {{"vehicle", "zone", "motion resistance", "coefficient", "average 95 %"}};
  for (const auto& m : r.drawbar.resistances) rows.push_back({m.vehicle, m.zone, records::name(m.method), number(m.coefficient.value), interval(m.coefficient.average_ground)});
  if (rows.size() > 1) out += table(rows);
  for (const auto& s : r.drawbar.slopes) out += fmt::format("  {} on {}{}: {}\n", s.vehicle, s.zone, s.heading_rad ? ", " + records::heading_words(*s.heading_rad) : s.downhill ? ", downhill" : "", s.bracket.text);
  for (const auto& g : r.drawbar.ruts.groups) {
    const auto& depth = g.depth_loaded_m ? g.depth_loaded_m : g.depth_after_m;
    if (depth) out += fmt::format("  rut of {} in {}, {} path, pass {}: {} {}\n", g.vehicle, g.zone, g.wheel_path, g.pass, units::print_quantity(depth->value, Dimension::length, units_of(r.campaign)),
                                    g.depth_loaded_m ? "under the wheel" : "after the wheel");
  }
  out += trials_text(r);
  for (const auto& log : r.drawbar.logs) {
    if (log.status != "ok" || log.slip_status != "ok") out += fmt::format("  {}: {}\n", log.file, log.status != "ok" ? log.status : log.slip_status);
  }
  for (const std::string& s : r.drawbar.conventions) out += "  " + s + "\n";
  return out;
}

std::string predict_text(const campaign::Results& r) {
  std::string out;
  for (const campaign::PairResult& pair : r.pairs) {
    const performance::Prediction& p = pair.prediction;
    out += fmt::format("{} on {}{}\n", p.vehicle, p.zone, p.heading.empty() ? "" : ": " + p.heading);
    if (!p.population.empty()) out += "  over " + p.population + " (" + counted(p.draws, "possible soil") + ")\n";
    if (!p.reason_without.empty()) out += "  no intervals: " + p.reason_without + "\n";
    const std::string working = fmt::format("gradient at working slip {:.0f} %", 100 * p.working_slip);
    std::vector<std::vector<std::string>> rows{{"quantity", "value", "average ground 95 %", "next point 95 %", "limiting factor"}};
    const auto gradient = [&](const std::string& what, const performance::Outcome& o) {
      rows.push_back({what + " (deg)", degrees(o.estimate.value), interval_degrees(o.estimate.average_ground), interval_degrees(o.estimate.next_point), performance::name(o.centre_factor)});
    };
    gradient("gradient at 20 % slip", p.gradient_20);
    gradient(working, p.gradient_working);
    gradient("largest gradient over slip", p.gradient_maximum);
    const auto descent = [](double rad) { return rad == campaign::kNoDescent ? std::string("none") : degrees(rad); };
    const auto pull = [](double v) { return v <= campaign::kNoPull + campaign::kAtNoTravel ? std::string("none") : number(v); };
    const auto range_of = [](const std::optional<math::Interval>& i, const auto& word) { return i ? word(i->lo) + " to " + word(i->hi) : std::string("-"); };
    const math::Estimate &down = p.descent.estimate, &pulled = p.pull_20.estimate;
    rows.push_back({"steepest descent held (deg)", descent(down.value), range_of(down.average_ground, descent), range_of(down.next_point, descent), performance::name(p.descent.centre_factor)});
    rows.push_back({"pull coefficient at 20 % slip", pull(pulled.value), range_of(pulled.average_ground, pull), range_of(pulled.next_point, pull), pull(pulled.value) == "none" ? performance::name(p.pull_20.centre_factor) : ""});
    rows.push_back({"towed resistance coefficient", number(p.towed_resistance.estimate.value), interval(p.towed_resistance.estimate.average_ground), interval(p.towed_resistance.estimate.next_point), ""});
    for (const auto& e : p.energy) {
      const auto energy = [&](double v) { return std::isfinite(v) ? units::print_quantity(v, Dimension::energy_per_distance, units_of(r.campaign)) : number(v); };
      const auto range = [&](const std::optional<math::Interval>& i) {
        if (!i) return std::string("-");
        return std::isfinite(i->lo) && std::isfinite(i->hi) ? units::print_interval(i->lo, i->hi, Dimension::energy_per_distance, units_of(r.campaign)) : energy(i->lo) + " to " + energy(i->hi);
      };
      rows.push_back({fmt::format("energy over distance at {:.0f} deg", e.gradient_rad * kDeg), energy(e.energy_j_per_m.value), range(e.energy_j_per_m.average_ground), range(e.energy_j_per_m.next_point), ""});
    }
    out += table(rows);
    for (const auto& s : p.sanity) out += fmt::format("  for comparison: {} {} ({})\n", s.name, with_unit(s.value_si, s.unit, units_of(r.campaign)), s.note);
    for (const auto& g : pair.guard) out += fmt::format("  against what was tested: {} {}\n", g.quantity, validation::name(g.level));
    for (const std::string& n : p.notes) out += "  " + n + "\n";
  }
  return out;
}

std::string validate_text(const campaign::Results& r) {
  std::string out;
  for (const campaign::PairResult& p : r.pairs) {
    if (p.comparisons.empty() && p.gradients.empty() && p.headings.empty()) continue;
    out += fmt::format("{} on {}\n", p.vehicle, p.zone);
    for (const auto& c : p.comparisons) out += "  " + c.statement + "\n";
    for (const auto& g : p.gradients) out += "  " + g.statement + "\n";
    for (const auto& h : p.headings) out += "  " + h.statement + "\n";
  }
  return out + compared_trials_text(r) + findings_text(r);
}

std::string findings_text(const campaign::Results& r) {
  const OutputUnits u = units_of(r.campaign);
  std::vector<std::vector<std::string>> rows{{"id", "requirement", "finding", "value", "95 % (next point)", "margin", "probability", "confidence", "limiting factor"}};
  std::string reasons;
  for (const validation::Finding& f : r.findings) {
    const auto& q = f.requirement;
    const std::string trials = trials_of(f);  // shares of so few say less than their counts
    rows.push_back({q.id, fmt::format("{} {} {}", validation::name(q.quantity), q.sense == validation::Sense::at_least ? "at least" : "at most", value_of(q.threshold_si, q.quantity, u)),
                    validation::name(f.verdict), trials.empty() ? value_of(f.value.value, q.quantity, u) : trials, interval_of(f.value.next_point ? f.value.next_point : f.value.average_ground, q.quantity, u),
                    margin_of(f, u), trials.empty() ? percent(f.probability) : "-", percent(f.confidence), f.limiting_factor.empty() ? "-" : f.limiting_factor});
    if (f.verdict != validation::Verdict::not_shown) continue;
    for (const std::string& why : f.reasons) reasons += "  " + q.id + ": " + why + "\n";
  }
  std::string out = rows.size() > 1 ? table(rows) : "No requirements to judge.\n";
  if (!reasons.empty()) out += "Why not shown:\n" + reasons;
  for (const std::string& m : r.missing) out += m + "\n";
  return out;
}

std::string findings_text(const io::Json& results) {
  std::vector<std::vector<std::string>> rows{{"id", "requirement", "finding"}};
  if (const io::Json* list = results.find_path("result/findings")) {
    for (const io::Json& f : list->items()) {
      const auto text = [&](const char* key) { return f.find(key) ? f.find(key)->text().value_or("") : ""; };
      rows.push_back({text("id"), text("text").empty() ? text("quantity") : text("text"), text("verdict")});
    }
  }
  std::string out = rows.size() > 1 ? table(rows) : "No requirements to judge.\n";
  if (const io::Json* missing = results.find_path("result/missing")) {
    for (const io::Json& m : missing->items()) out += m.text().value_or("") + "\n";
  }
  return out;
}

std::string plan_text(const service::Plan& p) {
  std::vector<std::vector<std::string>> rows{{"zone", "condition", "test", "points", "repeats", "setting"}};
  for (const auto& r : p.rows) rows.push_back({r.zone.empty() ? "any" : r.zone, r.condition.empty() ? "-" : r.condition, r.test, std::to_string(r.points), std::to_string(r.repeats), r.setting});
  std::string out = table(rows);
  for (const auto& r : p.rows) out += fmt::format("  {}, {}: {}\n", r.zone.empty() ? "any ground" : r.zone, r.test, r.why);
  for (const std::string& s : p.assumptions) out += "  " + s + "\n";
  for (const std::string& s : p.not_tested) out += "  " + s + "\n";
  return out;
}

std::string gravity_text(const service::GravityRequest& q, const service::GravityResult& r, const units::Unit& mass_unit, OutputUnits u) {
  const auto mass = [&](double kg) { return units::print_in(kg, mass_unit, 4); };
  const units::Unit force = mass_unit.spelling == "lb" ? *units::find_unit("lbf") : units::si(Dimension::force);
  const units::Unit g = column_unit(Dimension::acceleration, u);
  std::string out = fmt::format("{} weighs {} at {:.4g} {}\n", mass(q.mass_kg), units::print_in(r.weight_n, force, 4), units::from_si(q.from_m_s2, g), g.spelling);
  out += fmt::format("  {} weighs the same at {:.4g} {}: room for {} of payload\n", mass(r.equal_weight_mass_kg), units::from_si(q.to_m_s2, g), g.spelling, mass(r.payload_kg));
  if (r.test_mass_kg) out += fmt::format("  to stand for a vehicle of {} at the target gravity, test one of {} here\n", mass(*q.target_mass_kg), mass(*r.test_mass_kg));
  out += fmt::format("  granular scaling (Slonaker et al. 2017; cohesionless soil, same grains), target over test, length ratio {:g}, mass ratio {:g}:\n", q.length_ratio, q.mass_ratio);
  out += fmt::format("    speed {:.3g}, rotation {:.3g}, time {:.3g}, force {:.3g}, torque {:.3g}, power {:.3g}, width {:.3g}\n", r.speed_ratio, r.rotation_ratio, r.time_ratio, r.force_ratio,
                     r.torque_ratio, r.power_ratio, r.width_ratio);
  out += "  Equal weight carries over wheel loads and ground pressure only: not inertia, braking distance, bounce, the share of cohesion, nor the\n"
         "  ground's own stiffness. In frictional ground an equal-weight test is mostly optimistic at the largest gradient; by how much, and which way\n"
         "  at the working slip, --vehicle and a soil tell.\n";
  return out;
}

std::string stopping_text(const service::StoppingRequest& q, const service::StoppingResult& r, bool us_units, const std::optional<units::Unit>& speed_unit, const units::Unit& need_unit) {
  const OutputUnits u = us_units ? OutputUnits::us : OutputUnits::si;
  const auto speed = [&](double v) { return speed_unit ? units::print_in(v, *speed_unit) : units::print_quantity(v, Dimension::speed, u); };
  const auto length = [&](double v) { return units::print_quantity(v, Dimension::length, u); };
  const units::Unit acceleration = column_unit(Dimension::acceleration, u);
  std::string out;
  if (!(r.deceleration_m_s2 > 0)) {
    out = "The vehicle cannot stop on this slope: the braking coefficient holds less than its weight pulls.\n";
  } else {
    out = fmt::format("Stops within {} at up to {}: {} driven before the brakes act ({:.2f} s of delay), the rest braking at {:.2f} {}\n", length(q.sensing_range_m),
                      speed(r.stop_limited_m_s), length(r.driven_blind_m), q.delay.total_s(), units::from_si(r.deceleration_m_s2, acceleration), acceleration.spelling);
  }
  if (r.remote) {
    const driving::RemoteSpeed& s = *r.remote;
    out += fmt::format("Driven remotely: {}, limited by {}\n", speed(s.speed_m_s), driving::name(s.limited_by));
    out += fmt::format("  corridor held up to {}; moving and waiting gives {}; by the linear limit steering is stable below {}\n", speed(s.steering.speed_m_s), speed(s.move_and_wait_m_s),
                       std::isfinite(s.linear_limit_m_s) ? speed(s.linear_limit_m_s) : "any speed");
  }
  if (q.needed_m_s) out += "  Speed: " + margin_words(r.margin_m_s(q), *q.needed_m_s, need_unit, r.limited_by()) + ".\n";
  if (!r.against_delay.empty()) {
    std::vector<std::vector<std::string>> rows{{"delay", "speed", "limited by", "stopping", "steering", "moving and waiting"}};
    for (const driving::DelayPoint& p : r.against_delay) {
      rows.push_back({fmt::format("{:g} s", p.delay_s), speed(p.speed.speed_m_s), driving::name(p.speed.limited_by), speed(p.speed.stop_limited_m_s), speed(p.speed.steering.speed_m_s),
                      speed(p.speed.move_and_wait_m_s)});
    }
    out += table(rows);
  }
  if (r.remote && r.remote->move_and_wait_m_s > 0) out += "  Moving and waiting: as far as is seen, braked to rest at the end; speeding up again is not counted.\n";
  if (r.remote && q.thinking_s == 0) out += "  No time to think is counted between stretches (--thinking).\n";
  out += "  An upper bound: a kinematic vehicle on a smooth path, a driver who tires of nothing. Fit an independent brake and a stop on loss of link.\n";
  return out;
}

std::string obstacle_text(const service::ObstacleRequest& q, const service::ObstacleResult& r, OutputUnits u) {
  namespace p = performance;
  const bool us = u == OutputUnits::us;
  const auto length = [&](double m) { return us ? units::print_fixed(units::from_si(m, *units::find_unit("in")), 1) + " in" : fmt::format("{:.0f} mm", 1000 * m); };
  const double last_digit_m = us ? 0.00254 : 0.001;
  const auto along = [&](double m) { return us ? units::print_fixed(units::from_si(m, *units::find_unit("ft")), 2) + " ft" : fmt::format("{:.3f} m", m); };
  std::string out;
  if (const auto& c = r.crossing) {
    const std::string judged = q.friction ? fmt::format(" with a friction coefficient of {:g}", *q.friction) : "";
    if (!c->solve.converged()) out += fmt::format("{} and {}: no answer, a pose was not solved ({})\n", r.vehicle, r.obstacle, base::name(c->solve.status));
    else if (c->passes) out += fmt::format("{} crosses {}{}.\n", r.vehicle, r.obstacle, judged);
    else out += fmt::format("{} does not cross {}{}: {}, first with the middle of the axles at x = {}.\n", r.vehicle, r.obstacle, judged, p::name(*c->stopped_by), along(c->stopped_at_m));
    if (std::isfinite(c->least_friction) && !std::isfinite(c->critical_m)) out += "  It needs no friction.\n";
    else if (std::isfinite(c->least_friction)) out += fmt::format("  Least friction coefficient {:.3f}, needed at x = {} ({} torques).\n", c->least_friction, along(c->critical_m), q.equal_torques ? "equal" : "best split of");
    else if (c->solve.converged()) out += "  No friction coefficient up to 5 would do.\n";
    if (const auto margin = r.friction_margin(q)) out += fmt::format("  Margin of friction {:+.3f}{}.\n", *margin, c->passes || *c->stopped_by == p::Obstruction::friction ? "" : ", which is not what stops it");
    if (std::isfinite(c->largest_torque_n_m) && c->largest_torque_n_m > 1e-6) {
      out += fmt::format("  Largest torque of an axle {} at x = {}{}.\n", units::print_quantity(c->largest_torque_n_m, Dimension::torque, u), along(c->torque_at_m),
                         c->largest_torque_share > 0 ? fmt::format(", {:.0f} % of what its drives give", 100 * c->largest_torque_share) : "");
    }
    out += fmt::format("  x is the place of the middle of the axles{}.\n", q.step_m ? ", 0 at the step" : q.gap_m ? ", 0 at the near edge of the gap" : " in the x of the profile");
    if (c->largest_deflection_m > 0) out += fmt::format("  Wheels flatten by up to {}, as on flat ground under the same load.\n", length(c->largest_deflection_m));
    if (const auto flattened = campaign::flattened_ratio(r.side, *c); flattened && *flattened > campaign::kMuchFlattened) {
      out += fmt::format("  That is {:.0f} % of the radius: over a quarter a wheel no longer deflects as its file says (common practice, no source). Do not rely on this crossing; check stiffness, inflation pressure and load.\n", 100 * *flattened);
    }
    if (c->beyond_table) out += "  A wheel is pressed deeper than the table of its deflections in the vehicle file goes: from there its last slope was carried on.\n";
    if (c->drops > 0) out += fmt::format("  On the way it drops or rocks over {} time{}, the deepest by {}: cautiously, or not at all.\n", c->drops, c->drops == 1 ? "" : "s", c->deepest_drop_m < last_digit_m ? "under " + length(last_digit_m) : length(c->deepest_drop_m));
  }
  const auto limit = [&](const char* what, const p::ObstacleLimit& l) {
    if (l.solve.status == base::SolveStatus::out_of_range) return fmt::format("  {}: over {}, looked no further.\n", what, length(l.passes_m));
    if (!l.solve.converged()) return fmt::format("  {}: {}no answer ({}).\n", what, l.passes_m > 0 ? length(l.passes_m) + " at least, beyond it " : "", base::name(l.solve.status));
    return fmt::format("  {}: {}, then {}.\n", what, length(l.passes_m), l.stopped_by ? p::name(*l.stopped_by) : "not known");
  };
  if (r.step) out += fmt::format("{}, friction coefficient {:g}:\n", r.vehicle, *q.friction) + limit("highest step", *r.step);
  if (r.gap) out += limit("widest gap", *r.gap);
  out += "  Slow, hard ground, left and right alike; joints and wheels give way as the vehicle file says. The edge of a gap or step in soil breaks under a wheel: that is not computed. Try it low first, with a spotter.\n";
  if (r.axles > 2) out += "  More than two axles: rigid wheels share the load as equally stiff ones; a rigid body rocks sooner than one with suspension or joints.\n";
  return out;
}

std::string tip_over_text(const service::TipOverRequest& q, const service::TipOverResult& r, OutputUnits u, const units::Unit& need_unit) {
  const bool us_units = u == OutputUnits::us;
  const auto length = [&](double m) { return us_units ? units::print_quantity(m, Dimension::length, u) : fmt::format("{:.3f} m", m + 0.0); };
  const auto deg = [](double rad) { return rad >= std::numbers::pi / 2 ? std::string("never") : fmt::format("{:.1f} deg", rad * kDeg); };
  std::string out = fmt::format("{}: {}, centre of gravity {} ahead of the rear axle, {} left of the middle, {} high\n", r.vehicle,
                                units::print_quantity(r.stance.weight_n, Dimension::force, u, 4), length(r.stance.cg_x_m), length(r.stance.cg_y_m), length(r.stance.cg_z_m));
  std::vector<std::vector<std::string>> rows{{"fall line, from nose to left", "static", "tips", "settled", "tips", "working limit"}};
  if (r.doubt) rows.front().push_back("95 %");
  const auto range = [&](const math::Interval& i) { return fmt::format("{:.1f} to {}", i.lo * kDeg, deg(i.hi)); };
  for (std::size_t i = 0; i < r.lines.size(); ++i) {
    const performance::TipDirection& l = r.lines[i];
    rows.push_back({fmt::format("{:.0f} deg", l.fall_rad * kDeg), deg(l.still.angle_rad), campaign::tips_to(l.still.about, l.fall_rad, l.body ? r.bodies[*l.body] + " alone" : ""), l.settled.stands_settled ? deg(l.settled.tip.angle_rad) : "stands on no slope",
                    campaign::tips_to(l.settled.tip.about, l.fall_rad, l.settled.body ? r.bodies[*l.settled.body] + " first" : ""), deg(l.working_rad)});
    if (r.doubt) rows.back().push_back(range(r.doubt->working_rad[i]));
  }
  out += table(rows);
  const performance::TipDirection& low = r.lines[r.lowest];
  out += fmt::format("  Lowest: {}{} with the fall line at {:.0f} deg. Working limit: {:g} of the lower angle (common practice, no source).\n", deg(low.working_rad), r.doubt ? " (95 %: " + range(r.doubt->least_working_rad) + ")" : "", low.fall_rad * kDeg, performance::kWorkingShare);
  if (q.needed_rad) {
    const bool settled = low.settled.tip.angle_rad < low.still.angle_rad;
    const auto& body = settled ? low.settled.body : low.body;
    const std::string to = campaign::tips_to(settled ? low.settled.tip.about : low.still.about, low.fall_rad, body ? r.bodies[*body] + (settled ? " first" : " alone") : "");
    out += fmt::format("  There: {}.\n", margin_words(low.working_rad - *q.needed_rad, *q.needed_rad, need_unit, "tipping, " + to));
    if (r.doubt) out += fmt::format("  At the lower end of the 95 %: {}.\n", margin_words(r.doubt->least_working_rad.lo - *q.needed_rad, *q.needed_rad, need_unit, "how well the centre of gravity is known"));
  }
  out += r.doubt ? "  95 %: of what the vehicle file says of how well centres of gravity are known; of ground, wheels and springs it knows nothing.\n"
                 : "  No interval: the vehicle file does not say how well its centre of gravity is known (cg_height_sd and its like).\n";
  out += fmt::format("  Settled: leaning on springs and tyres{}. Static, for this load: bumps, braking and turning tip it earlier. Never turn across a slope near the limit.\n",
                     q.low_side_rut_m > 0 ? fmt::format(" and {} deeper on the low side", us_units ? units::print_quantity(q.low_side_rut_m, Dimension::length, u) : fmt::format("{:.0f} mm", 1000 * q.low_side_rut_m)) : "");
  if (!r.bodies.empty()) out += "  Joints: a free one lets a body tip by itself, an elastic or rigid one holds; stops catch a body only after its wheels have left the ground, and are not counted on then. "
                            "No side is told where the body that falls first turns about another edge of its own than the one downhill.\n";
  return out;
}

}  // namespace hardpan::cli
