// SPDX-License-Identifier: Apache-2.0
// Quick answer: which slopes a vehicle travels on a soil, on every heading.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "command_line.hpp"
#include "print.hpp"
#include "print_parts.hpp"
#include "service/slope.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;

std::string one_decimal(double rad) { return std::isfinite(rad) ? units::print_fixed(rad * kDeg, 1) : std::string("-"); }

// Of the heading that lacks most; one without a number counts as lacking all.
std::string least_margin(const service::SlopeRequest& q, const service::SlopeResult& r, const units::Unit& unit) {
  const auto margins = r.margins(q);
  if (margins.empty()) return "";
  const auto by = [](const auto& a, const auto& b) { return a.margin_rad.value_or(-10) < b.margin_rad.value_or(-10); };
  const auto& least = *std::min_element(margins.begin(), margins.end(), by);
  return fmt::format("  Least on heading {:.4g} deg: {}.\n", least.heading_rad * kDeg, margin_words(least.margin_rad, *q.needed_rad, unit, least.limited_by));
}

std::string slope_text(const service::SlopeRequest& q, const service::SlopeResult& r, const units::Unit& need_unit) {
  std::string out = fmt::format("{} on {}{}\n", r.vehicle, r.soil.id == "given" ? "soil from the command line, not your ground's tests" : r.soil.name,
                                r.soil.textbook && r.soil.id != "given" ? ": textbook soil, not your ground" : "");
  std::vector<std::vector<std::string>> rows{{"heading\n(deg)", "gradient\n(deg)", "stopped by", "drift\n(deg)", "any slip\n(deg)", "stopped by", "tips at\n(deg)", "working tip\nlimit (deg)", "tips to"}};
  const auto stopped_by = [](p::HeadingFactor f) { return wrapped(p::name(f), 16); };
  const p::HeadingLimit* least = nullptr;
  bool beyond = false;
  for (const p::HeadingLimit& l : r.lines) {
    const bool here = l.working.gradient_rad > l.tips_working_rad;
    beyond = beyond || here;
    rows.push_back({fmt::format("{:.4g}", l.heading_rad * kDeg), one_decimal(l.working.gradient_rad), stopped_by(l.working.factor), one_decimal(l.working.drift_rad), one_decimal(l.largest.gradient_rad),
                    stopped_by(l.largest.factor), one_decimal(l.tips_rad), one_decimal(l.tips_working_rad) + (here ? " !" : ""), p::name(l.tips_about)});
    if (!least || l.working.gradient_rad < least->working.gradient_rad) least = &l;
  }
  out += table(rows);
  if (least) {
    out += fmt::format("  Every one of these headings goes up to {:.1f} deg; the first to stop is {:.4g} deg, by {}.\n", least->working.gradient_rad * kDeg, least->heading_rad * kDeg, p::name(least->working.factor));
  }
  out += least_margin(q, r, need_unit);
  if (beyond) out += "  !: it travels on slopes steeper than its working tip limit, which is the lower one there.\n";
  for (const service::SlopeResult::SecondWay& s : r.second) {
    if (s.apart()) out += fmt::format("  Straight {} a second method ('hardpan climb') finds {:.1f} deg where {:.1f} is told with any slip.\n  They should agree to 2 deg or a tenth: count on the lower, on other headings too, and test before you trust either.\n", s.heading_rad == 0 ? "up" : "down", s.climb_rad * kDeg, s.here_rad * kDeg);
  }
  if (r.jointed) out += "  Several bodies: loads by their joints, those that yaw held straight or as steered; it tips as the first body does ('hardpan tipover').\n";
  out += fmt::format("  Heading from straight uphill to the left: 90 has the downhill side on the left, 180 goes straight down. Gradient: slope of the ground, up to {:.0f} % slip of any wheel and {:.0f} deg of\n",
                     100 * r.working_slip_ratio, r.working_drift_rad * kDeg);
  out += "  drift; with any slip: up to 45 deg of drift. Drift: direction of travel beside the heading, left positive. Steady and straight, every wheel on untouched ground, loads in balance.\n"
         "  The working tip limit is 0.6 of the lower of the static one on hard ground and the one with wheels and springs settled (common practice, no source); a low-side rut or a stone tips earlier ('hardpan tipover').\n"
         "  A prediction is no permission to drive: never turn across a slope near these limits.\n";
  return out;
}

struct SlopeVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  UnitsOption units_out;
  std::string vehicle_file, gravity, slip, drift, need, picture;
  int headings = 16;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--headings", headings, "how many, evenly round from straight uphill to the left")->capture_default_str();
    v.add_option("--slip", slip, "working slip; the vehicle's own where not given");
    v.add_option("--drift", drift, "largest drift a path is held with; 10 deg where not given (common practice, no source)");
    v.add_option("--need", need, "slope needed on every heading, to tell margins: '12 deg'");
    v.add_option("--picture", picture, "file for the polar picture: slopes.svg");
    units_out.add_to(v, "SI or US; degrees, all that is told here, are the same in both");
    soil.add_to(v);
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems);
    service::SlopeRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0), .slip_sinkage = soil.rule(),
                            .working_slip_ratio = val.get("slip", slip, Dimension::none), .working_drift_rad = val.get("drift", drift, Dimension::angle), .headings = headings,
                            .needed_rad = val.get("need", need, Dimension::angle)};
    const auto r = val.answer([&] { return service::slope(q); });
    if (!picture.empty()) service::write_slope_picture(r, picture);
    line.put_answer(problems, r.remarks, [&] { return service::slope_json(q, r); }, [&] { return slope_text(q, r, Values::unit_or_si(need, Dimension::angle)); });
    return r.unsolved() ? 3 : 0;
  }
};

}  // namespace

void add_slope_verb(CommandLine& line) { line.add_verb<SlopeVerb>("slope"); }

}  // namespace hardpan::cli
