// SPDX-License-Identifier: Apache-2.0
// Quick answer: what a vehicle would do with another wheel, spring, mass, slip or speed.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "campaign/no_travel.hpp"
#include "print.hpp"
#include "print_parts.hpp"
#include "rough_options.hpp"
#include "service/study.hpp"
#include "way_verbs.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using units::Dimension;

// Where --units is not given, what is varied stands in the unit it was typed in.
struct StudyUnits {
  units::OutputUnits units = units::OutputUnits::si;
  bool given = false;
};

std::string value_of(const p::Variation& v, double si, const StudyUnits& u) {
  if (v.what == p::Varied::slip) return units::print_percent(si);
  if (u.given) return as_typed(si, units::output_unit(v.to, p::dimension(v.what), u.units), 4);
  const auto unit = v.typed_unit.empty() ? std::nullopt : units::find_unit(v.typed_unit);
  return unit ? as_typed(si, *unit, 4) : with_unit(si, p::unit(v.what), units::OutputUnits::si);
}

// In the unit of the heading.
std::string number_of(const p::Study& s, double si, const StudyUnits& u) {
  switch (s.quantity) {
    case p::Studied::gradient_at_slip:
    case p::Studied::gradient_maximum: return fixed(si * kDeg, 1);
    case p::Studied::pull_at_slip: return fixed(si, 3);
    case p::Studied::energy_level: return number(units::from_si(si, column_unit(Dimension::energy_per_distance, u.units)));
    case p::Studied::ride_margin: return fixed(si, 2);
  }
  return "";
}

// The value that stands for a vehicle that does not travel.
bool no_travel(const p::Study& s, double v) { return v == p::kNoGradient || (s.quantity == p::Studied::pull_at_slip && v <= campaign::kNoPull + campaign::kAtNoTravel); }

std::string answer_of(const p::Study& s, const p::StudyCell& c, const StudyUnits& u) {
  const double v = c.outcome.centre;
  if (!c.why_not.empty() || std::isnan(v)) return "-";
  if (no_travel(s, v) || std::isinf(v)) return c.outcome.centre_factor == p::LimitingFactor::power ? "not driven" : "immobilised";
  return number_of(s, v, u);
}

std::string margin_of(const p::Study& s, const p::StudyCell& c, const StudyUnits& u) {
  const auto m = c.why_not.empty() ? s.margin(c.outcome.centre) : std::nullopt;
  if (!m || std::isnan(*m)) return "-";
  const bool none = std::isinf(*m) || no_travel(s, c.outcome.centre);
  return none ? "missed" : (*m > 0 ? "+" : "") + number_of(s, *m, u);
}

std::string heading_of(p::Studied quantity, const StudyUnits& u) {
  switch (quantity) {
    case p::Studied::gradient_at_slip:
    case p::Studied::gradient_maximum: return " (deg)";
    case p::Studied::energy_level: return " (" + column_unit(Dimension::energy_per_distance, u.units).spelling + ")";
    case p::Studied::pull_at_slip:
    case p::Studied::ride_margin: return "";
  }
  return "";
}

std::string study_text(const service::StudyResult& r, const StudyUnits& u) {
  const p::Study& s = r.study;
  const std::string on = !r.ground.si.empty() ? "over " + r.ground.words(u.units) : r.soil.id == "given" ? "on soil from the command line, not your ground's tests" : "on " + r.soil.name + (r.soil.textbook ? ": textbook soil, not your ground" : "");
  std::string out = fmt::format("{} {}: {}{}\n", r.vehicle, on, p::name(s.quantity), heading_of(s.quantity, u));
  const bool two = s.variations.size() == 2, margins = s.needed.has_value();
  std::string as_it_is;
  for (std::size_t k = 0; k < s.variations.size(); ++k) as_it_is += fmt::format("{}{} {}", k > 0 ? ", " : "", p::name(s.variations[k].what), s.present[k] ? value_of(s.variations[k], *s.present[k], u) : s.variations[k].what == p::Varied::speed ? "not stated" : "not one");
  const bool told = s.as_it_is.why_not.empty();
  out += fmt::format("  as it is: {}: {}\n", as_it_is, told ? answer_of(s, s.as_it_is, u) + (margins ? " (margin " + margin_of(s, s.as_it_is, u) + ")" : "") + ", " + s.as_it_is.limited_by : s.as_it_is.why_not);
  if (s.speed_m_s && std::none_of(s.variations.begin(), s.variations.end(), [](const p::Variation& v) { return v.what == p::Varied::speed; })) out += fmt::format("  at {}\n", with_unit(*s.speed_m_s, "m/s", u.units));
  if (margins) out += fmt::format("  needed: {}{}\n", number_of(s, *s.needed, u), s.quantity == p::Studied::energy_level ? " or less" : "");
  std::vector<std::vector<std::string>> rows{{p::name(s.variations[0].what)}};
  if (two) {
    for (std::size_t j = 0; j < s.variations[1].steps; ++j) rows[0].push_back(fmt::format("{} {}", p::name(s.variations[1].what), value_of(s.variations[1], s.variations[1].value(j), u)));
  } else {
    rows[0].push_back("value");
    if (margins) rows[0].push_back("margin");
    rows[0].push_back("limited by");
  }
  std::vector<std::string> whys;
  for (std::size_t i = 0; i < s.variations[0].steps; ++i) {
    rows.push_back({value_of(s.variations[0], s.variations[0].value(i), u)});
    for (std::size_t j = 0; j < (two ? s.variations[1].steps : 1); ++j) {
      const p::StudyCell& c = s.at(i, j);
      if (two) {
        rows.back().push_back(c.why_not.empty() ? answer_of(s, c, u) + (margins ? " (" + margin_of(s, c, u) + ")" : "") + ", " + c.limited_by : "-");
        if (!c.why_not.empty() && std::find(whys.begin(), whys.end(), c.why_not) == whys.end()) whys.push_back(c.why_not);
        continue;
      }
      rows.back().push_back(answer_of(s, c, u));
      if (margins) rows.back().push_back(margin_of(s, c, u));
      rows.back().push_back(c.why_not.empty() ? c.limited_by : c.why_not);
    }
  }
  out += two ? table_in_blocks(rows) : table(rows);
  if (two && margins) out += "  In brackets the margin to what is needed.\n";
  for (const std::string& why : whys) out += "  No value where: " + why + "\n";
  if (s.quantity == p::Studied::ride_margin) out += "  Margin: what is left of the bound that is nearest; 0 where wheels begin to leave the ground or a bound is reached. Linear, on ground that does not yield.\n";
  out += fmt::format("  Only what is named changes: a larger wheel is not made heavier, the body is lifted with it.{}\n", r.ground.si.empty() ? " One soil, no interval." : "");
  return out;
}

struct StudyVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  RoughOptions rough;
  UnitsOption units_out;
  std::string vehicle_file, gravity, slip, speed, need, quantity = "maximum gradient";
  std::vector<std::string> vary;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--vary", vary, "parameter and range: 'wheel diameter: 0.4 m to 1.0 m in 7', 'speed: 0.5 m/s to 3 m/s'; twice for a map")->required();
    v.add_option("--quantity", quantity, "maximum gradient (at the working slip), maximum gradient over slip, pull coefficient, energy (per distance, on the level), ride (margin on rough ground)")
        ->transform(one_of({"maximum gradient", "maximum gradient over slip", "pull coefficient", "energy", "ride"}))->capture_default_str();
    v.add_option("--slip", slip, "working slip; the vehicle's own where not given");
    v.add_option("--speed", speed, "driven at, where it is not varied: '1 m/s'");
    v.add_option("--need", need, "of the quantity, to tell margins: '15 deg', '0.3', '100 Wh/km'");
    soil.add_to(v);
    rough.add_to(v);
    units_out.add_to(v);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    service::StudyRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0), .vary = vary,
                            .slip_ratio = val.get("slip", slip, Dimension::none), .speed_m_s = val.get("speed", speed, Dimension::speed), .slip_sinkage = soil.rule()};
    if (quantity == "maximum gradient over slip") q.quantity = p::Studied::gradient_maximum;
    if (quantity == "pull coefficient") q.quantity = p::Studied::pull_at_slip;
    if (quantity == "energy") q.quantity = p::Studied::energy_level;
    if (quantity == "ride") q.quantity = p::Studied::ride_margin;
    q.needed = val.get("need", need, p::dimension(q.quantity));
    if (rough.given()) q.rough = rough.request(val);
    if (q.quantity != p::Studied::ride_margin) q.soil = soil.request(val);
    const auto r = val.answer([&] { return service::study(q); });
    line.put_answer(problems, r.remarks, [&] { return service::study_answer_json(r); }, [&] { return study_text(r, {units_out.units(), units_out.given()}); });
    return std::any_of(r.study.cells.begin(), r.study.cells.end(), [](const p::StudyCell& c) { return c.why_not.empty() && std::isnan(c.outcome.centre); }) ? 3 : 0;
  }
};

}  // namespace

void add_study_verb(CommandLine& line) { line.add_verb<StudyVerb>("study"); }

}  // namespace hardpan::cli
