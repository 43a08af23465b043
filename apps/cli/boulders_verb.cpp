// SPDX-License-Identifier: Apache-2.0
// Quick answer: how often a straight run over a boulder field is stopped.
#include <fmt/core.h>

#include <cmath>

#include "print.hpp"
#include "print_parts.hpp"
#include "service/boulders.hpp"
#include "way_verbs.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using units::Dimension;

std::string boulders_text(const service::BouldersRequest& q, const service::BouldersResult& r, bool length_stated, const units::Unit& need_unit) {
  std::string out = fmt::format("{}: {:.2f} m wide, climbs {:.3f} m{}, clears {}\n", r.vehicle, r.swath.width_m(), r.swath.step_m, r.highest_step ? fmt::format(" (computed at friction {:g}, {})", *q.friction, base::name(r.highest_step->solve.status)) : "",
                                std::isfinite(r.swath.clearance_m) ? fmt::format("{:.3f} m", r.swath.clearance_m) : "anything: the file states no clearance");
  if (!std::isfinite(r.hits_per_m)) return out + "  Every rock stops it, down to none: give the smallest that counts, --smallest '0.1 m'\n";
  const bool rare = r.hits_per_m > 0 && r.hits_per_m < 0.001;
  const double per = rare ? 1000 : 1;
  const char* length = rare ? "a kilometre" : "a metre";
  out += fmt::format("  Stopped {} times {}; mean free path {}; a straight run of {:g} m is clear with probability {}; every second run gets {}\n", number(per * r.hits_per_m), length, r.hits_per_m > 0 ? number(1 / r.hits_per_m, 4) + " m" : "without end",
                     q.length_m, r.clear_probability < 1e-4 ? "below 0.0001" : number(r.clear_probability), std::isfinite(r.half_clear_m) ? number(r.half_clear_m, 4) + " m" : "any length");
  if (r.hits_per_m > 0) out += fmt::format("  Stopped mostly by {}: {:.0f} % of the rocks that stop it stop a wheel, the others the body\n", r.stopped_mostly_by(), 100 * r.wheel_hits_per_m / r.hits_per_m);
  if (q.needed_ratio) out += "  Chance of a clear run: " + margin_words(service::boulders_margin(q, r), *q.needed_ratio, need_unit, r.stopped_mostly_by()) + ".\n";
  if (!r.sizes.empty()) {
    std::vector<std::vector<std::string>> rows{{"rocks from (m)", "high (m)", "number a hectare", "cover (%)", "stop it over (m)"}};
    for (const auto& s : r.sizes) rows.push_back({fmt::format("{:.2f}", s.diameter_m), fmt::format("{:.2f}", s.diameter_m * q.shape.height_ratio), number(1e4 * s.number_per_m2), s.area_ratio ? number(100 * *s.area_ratio) : "-", fmt::format("{:.2f}", s.stopping_width_m)});
    out += table(rows);
  }
  if (r.field) {
    const p::MappedField& f = *r.field;
    out += fmt::format("  Map: {} rocks over {} m^2{}, {} % covered, {} of them stop it; 95 % interval {} to {} times {}\n", f.rocks, number(r.plot.area_m2(), 4), r.plot_assumed ? " (the box round them; --plot states what was surveyed)" : "",
                       number(100 * f.coverage_ratio), f.stopping, number(per * f.hits_per_m_interval.lo), number(per * f.hits_per_m_interval.hi), length);
    if (f.lanes > 0) out += fmt::format("  {} of {} lanes of {:g} m side by side along x are clear: {:.0f} to {:.0f} %, 95 % interval\n", f.clear_lanes, f.lanes, q.length_m, 100 * f.clear_interval.lo, 100 * f.clear_interval.hi);
    if (q.run) {
      std::vector<std::vector<std::string>> rows{{"row", "after (m)", "to the left (m)", "diameter (m)", "height (m)", "the vehicle"}};
      for (const p::Met& x : r.met) rows.push_back({std::to_string(x.rock + 1), fmt::format("{:.1f}", x.along_m), fmt::format("{:.2f}", x.across_m), fmt::format("{:.2f}", r.rocks[x.rock].diameter_m), fmt::format("{:.2f}", x.height_m), p::name(x.meeting)});
      out += r.met.empty() ? "  The run meets no rock.\n" : table(rows);
    }
  }
  if (!length_stated) out += fmt::format("  The length of the run, {:g} m, is assumed; --length states it.\n", q.length_m);
  out += fmt::format("  Rocks are {:g} of their diameter high{}, placed at random without regard to each other. Nobody steers round them here.\n", q.shape.height_ratio, q.shape.height_ratio == 0.5 ? " (common practice, no source)" : "");
  if (q.coverage_ratio) out += "  Law: Golombek and Rapp 1997, Mars sites; for coverages of 5 to 40 %. Other ground needs its own (--law, --map).\n";
  return out;
}

struct BouldersVerb {
  static constexpr bool kTellsFaults = true;
  std::string vehicle_file, gravity, friction, step, coverage, law, map, height_ratio, smallest, length, heading, need;
  std::vector<std::string> start, plot;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--friction", friction, "coefficient of wheels on rock, for the highest step: 0.6; or");
    v.add_option("--step", step, "the highest step it climbs: '0.15 m'");
    v.add_option("--coverage", coverage, "share of the ground covered by rocks (law of Golombek and Rapp): '10 %'; or");
    v.add_option("--law", law, "sheet of a law of one's own, columns diameter and ground per rock; or");
    v.add_option("--map", map, "sheet of mapped rocks, columns x, y, diameter and height where measured");
    v.add_option("--height-ratio", height_ratio, "height of rocks over their diameter; 0.5 where not given");
    v.add_option("--smallest", smallest, "rocks under this diameter do not count: '0.1 m'");
    v.add_option("--length", length, "of a straight run: '100 m'");
    v.add_option("--need", need, "chance needed that the run is clear, to tell the margin: '90 %'");
    v.add_option("--start", start, "of one run through the map: x and y, '2 m' '5 m'")->expected(2);
    v.add_option("--heading", heading, "of that run, from x towards y: '30 deg'");
    v.add_option("--plot", plot, "corners of the surveyed plot: '0 m' '0 m' '40 m' '30 m'")->expected(4);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    val.needs("heading", !heading.empty(), "start", !start.empty());
    service::BouldersRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0), .friction = val.get("friction", friction, Dimension::none),
                               .step_m = val.get("step", step, Dimension::length), .coverage_ratio = val.get("coverage", coverage, Dimension::none)};
    if (!law.empty()) q.law_file = law;
    if (!map.empty()) q.map_file = map;
    q.shape.height_ratio = val.get("height-ratio", height_ratio, Dimension::none).value_or(0.5);
    q.shape.smallest_m = val.get("smallest", smallest, Dimension::length).value_or(0);
    q.length_m = val.get("length", length, Dimension::length).value_or(100);
    q.needed_ratio = val.get("need", need, Dimension::none);
    if (start.size() == 2) q.run = p::Run{val.get("start", start[0], Dimension::length).value_or(0), val.get("start", start[1], Dimension::length).value_or(0), val.get("heading", heading, Dimension::angle).value_or(0), q.length_m};
    if (plot.size() == 4) {
      double c[4];
      for (std::size_t i = 0; i < 4; ++i) c[i] = val.get("plot", plot[i], Dimension::length).value_or(static_cast<double>(i));
      q.plot = p::Plot{c[0], c[1], c[2], c[3]};
    }
    const auto r = val.answer([&] { return service::boulders(q); });
    line.put_answer(problems, r.remarks, [&] { return service::boulders_json(q, r); }, [&] { return boulders_text(q, r, !length.empty(), Values::unit_or_si(need, Dimension::none)); });
    return r.highest_step && !r.highest_step->solve.converged() && r.highest_step->solve.status != base::SolveStatus::out_of_range ? 3 : 0;
  }
};

}  // namespace

void add_boulders_verb(CommandLine& line) { line.add_verb<BouldersVerb>("boulders"); }

}  // namespace hardpan::cli
