// SPDX-License-Identifier: Apache-2.0
// Quick answer: where batteries and payload should sit.
#include <fmt/core.h>

#include <numbers>

#include "command_line.hpp"
#include "print.hpp"
#include "print_parts.hpp"
#include "service/weights.hpp"
#include "units/print.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;

std::string weights_text(const service::WeightsResult& r, units::OutputUnits u) {
  const bool us = u == units::OutputUnits::us;
  const units::Unit length = *units::find_unit(us ? "in" : "m"), force = *units::find_unit(us ? "lbf" : "N");
  std::string out = r.vehicle.name;
  if (r.soil) out += fmt::format(" on {}{}", r.soil->id == "given" ? "soil from the command line, not your ground's tests" : r.soil->name, r.soil->textbook && r.soil->id != "given" ? ": textbook soil, not your ground" : "");
  out += "\n";
  std::vector<std::vector<std::string>> rows{{"placement"}};
  for (const p::Placed3& at : r.trade.rows.front().places) rows[0].push_back(r.vehicle.payload[at.payload].name + ": ahead, left, high (" + length.spelling + ")");
  for (const char* heading : {"least wheel (", "largest wheel ("}) rows[0].push_back(heading + force.spelling + ")");
  rows[0].push_back("largest over mean");
  if (r.soil) rows[0].insert(rows[0].end(), {"gradient (deg)", "stopped by"});
  rows[0].push_back("tips at (deg)");
  for (const p::Placement& row : r.trade.rows) {
    std::vector<std::string> cells{row.name};
    for (const p::Placed3& at : row.places) {
      const auto place = [&](double m) { return fixed(units::from_si(m, length), us ? 2 : 3); };
      cells.push_back(place(at.x_m) + ", " + place(at.y_m) + ", " + place(at.z_m));
    }
    const auto [least, largest] = std::minmax_element(row.wheel_load_n.begin(), row.wheel_load_n.end());
    cells.insert(cells.end(), {number(units::from_si(*least, force), 4), number(units::from_si(*largest, force), 4), fixed(row.largest_share, 3)});
    if (row.gradient_rad) cells.insert(cells.end(), {degrees(*row.gradient_rad), p::name(row.factor)});
    cells.push_back(fmt::format("{:.1f}", row.tips_rad * kDeg));
    rows.push_back(cells);
  }
  out += table(rows);
  if (r.soil) out += fmt::format("  Gradient: straight up at {:.0f} % slip or less, best-estimate soil, no interval. ", 100 * r.working_slip_ratio);
  else out += "  With --soil the placement that climbs steepest is found too. ";
  out += "Wheel loads: standing level on hard ground. Tips: static, the least over eight directions of the fall line.\n"
         "  Secure what was moved, weigh again and put the new places into the file; batteries are heavy and live: lift and connect them as their maker says.\n";
  return out;
}

struct WeightsVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  UnitsOption units_out;
  std::string vehicle_file, gravity, slip;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file with movable payload: allowed_ahead, allowed_left, allowed_height")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--slip", slip, "working slip; the vehicle's own where not given");
    units_out.add_to(v);
    soil.add_to(v);
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems);
    service::WeightsRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0), .slip_sinkage = soil.rule(), .slip_ratio = val.get("slip", slip, Dimension::none)};
    if (!soil.soil.empty() || soil.whole()) q.soil = soil.request(val);
    const auto r = val.answer([&] { return service::weights(q); });
    line.put_answer(problems, r.remarks, [&] { return service::weights_json(r); }, [&] { return weights_text(r, units_out.units()); });
    return 0;
  }
};

}  // namespace

void add_weights_verb(CommandLine& line) { line.add_verb<WeightsVerb>("weights"); }

}  // namespace hardpan::cli
