// SPDX-License-Identifier: Apache-2.0
// Quick answer: what a vehicle would do with another wheel, spring, mass or slip.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "print.hpp"
#include "print_parts.hpp"
#include "service/study.hpp"
#include "way_verbs.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using units::Dimension;

std::string value_of(p::Varied what, double si) {
  if (what == p::Varied::slip) return fmt::format("{:.3g} %", 100 * si);
  return with_unit(si, p::unit(what), units::OutputUnits::si);
}

std::string answer_of(const p::Study& s, const p::StudyCell& c) {
  if (!c.why_not.empty() || std::isnan(c.outcome.centre)) return "-";
  if (c.outcome.centre == p::kNoGradient || std::isinf(c.outcome.centre)) return "immobilised";
  return s.quantity == p::Studied::pull_at_slip ? fmt::format("{:.3f}", c.outcome.centre) : fmt::format("{:.1f}", c.outcome.centre * kDeg);
}

std::string study_text(const service::StudyResult& r) {
  const p::Study& s = r.study;
  std::string out = fmt::format("{} on {}{}: {}{}\n", r.vehicle, r.soil.id == "given" ? "soil from the command line, not your ground's tests" : r.soil.name, r.soil.textbook && r.soil.id != "given" ? ": textbook soil, not your ground" : "",
                                p::name(s.quantity), s.quantity == p::Studied::pull_at_slip ? "" : " (deg)");
  for (std::size_t k = 0; k < s.variations.size(); ++k) {
    if (s.present[k]) out += fmt::format("  as it is: {} {}\n", p::name(s.variations[k].what), value_of(s.variations[k].what, *s.present[k]));
  }
  std::vector<std::vector<std::string>> rows{{p::name(s.variations[0].what)}};
  const bool two = s.variations.size() == 2;
  if (two) {
    for (std::size_t j = 0; j < s.variations[1].steps; ++j) rows[0].push_back(fmt::format("{} {}", p::name(s.variations[1].what), value_of(s.variations[1].what, s.variations[1].value(j))));
  } else {
    rows[0].insert(rows[0].end(), {"value", "limited by"});
  }
  std::vector<std::string> whys;
  for (std::size_t i = 0; i < s.variations[0].steps; ++i) {
    rows.push_back({value_of(s.variations[0].what, s.variations[0].value(i))});
    for (std::size_t j = 0; j < (two ? s.variations[1].steps : 1); ++j) {
      const p::StudyCell& c = s.at(i, j);
      rows.back().push_back(answer_of(s, c));
      if (!two) rows.back().push_back(c.why_not.empty() ? p::name(c.outcome.centre_factor) : c.why_not);
      else if (!c.why_not.empty() && std::find(whys.begin(), whys.end(), c.why_not) == whys.end()) whys.push_back(c.why_not);
    }
  }
  out += table(rows);
  for (const std::string& why : whys) out += "  No value where: " + why + "\n";
  out += "  Only what is named changes: a larger wheel is not made heavier, the body is lifted with it. One soil, no interval.\n";
  return out;
}

struct StudyVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  std::string vehicle_file, gravity, slip, quantity = "maximum gradient";
  std::vector<std::string> vary;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--vary", vary, "parameter and range: 'wheel diameter: 0.4 m to 1.0 m in 7'; twice for a map")->required();
    v.add_option("--quantity", quantity, "maximum gradient (at the working slip), maximum gradient over slip, pull coefficient")->transform(one_of({"maximum gradient", "maximum gradient over slip", "pull coefficient"}))->capture_default_str();
    v.add_option("--slip", slip, "working slip; the vehicle's own where not given");
    soil.add_to(v);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    service::StudyRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0), .vary = vary,
                            .slip_ratio = val.get("slip", slip, Dimension::none), .slip_sinkage = soil.rule()};
    if (quantity == "maximum gradient over slip") q.quantity = p::Studied::gradient_maximum;
    if (quantity == "pull coefficient") q.quantity = p::Studied::pull_at_slip;
    const auto r = val.answer([&] { return service::study(q); });
    if (line.json) line.put_json(problems, service::study_answer_json(r));
    else put(study_text(r));
    return std::any_of(r.study.cells.begin(), r.study.cells.end(), [](const p::StudyCell& c) { return c.why_not.empty() && std::isnan(c.outcome.centre); }) ? 3 : 0;
  }
};

}  // namespace

void add_study_verb(CommandLine& line) { line.add_verb<StudyVerb>("study"); }

}  // namespace hardpan::cli
