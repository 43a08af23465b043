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

// Far less than once a metre is told a kilometre.
struct Along {
  const char* word;
  double m;
};
Along per_length(bool rare, units::OutputUnits u) {
  if (u == units::OutputUnits::us) return rare ? Along{"a mile", units::to_si(1, *units::find_unit("mi"))} : Along{"a foot", units::to_si(1, *units::find_unit("ft"))};
  return rare ? Along{"a kilometre", 1000} : Along{"a metre", 1};
}

std::string boulders_text(const service::BouldersRequest& q, const service::BouldersResult& r, units::OutputUnits u, bool length_stated, const units::Unit& need_unit) {
  const bool us = u == units::OutputUnits::us;
  const units::Unit length_unit = column_unit(Dimension::length, u), field_unit = *units::find_unit(us ? "acre" : "ha"), area_unit = *units::find_unit(us ? "ft^2" : "m^2");
  const auto in = [&](double m, int decimals) { return fixed(units::from_si(m, length_unit), decimals); };
  const auto length = [&](double m, int decimals) { return in(m, decimals) + " " + length_unit.spelling; };
  const auto about = [&](double m) { return number(units::from_si(m, length_unit), 4) + " " + length_unit.spelling; };
  const std::string run = us ? about(q.length_m) : fmt::format("{:g} m", q.length_m);
  std::string out = fmt::format("{}: {} wide, climbs {}{}, clears {}\n", r.vehicle, length(r.swath.width_m(), 2), length(r.swath.step_m, 3), r.highest_step ? fmt::format(" (computed at friction {:g}, {})", *q.friction, base::name(r.highest_step->solve.status)) : "",
                                std::isfinite(r.swath.clearance_m) ? length(r.swath.clearance_m, 3) : "anything: the file states no clearance");
  const auto heading = [&](const char* what) { return fmt::format("{} ({})", what, length_unit.spelling); };
  if (!std::isfinite(r.hits_per_m)) return out + "  Every rock stops it, down to none: give the smallest that counts, --smallest " + (us ? "'4 in'" : "'0.1 m'") + "\n";
  const bool rare = r.hits_per_m > 0 && r.hits_per_m < 0.001;
  const Along per = per_length(rare, u);
  out += fmt::format("  Stopped {} times {}; mean free path {}; a straight run of {} is clear with probability {}; every second run gets {}\n", number(per.m * r.hits_per_m), per.word, r.hits_per_m > 0 ? about(1 / r.hits_per_m) : "without end",
                     run, r.clear_probability < 1e-4 ? "below 0.0001" : number(r.clear_probability), std::isfinite(r.half_clear_m) ? about(r.half_clear_m) : "any length");
  if (const auto clear = r.clear_interval(); clear && !r.field) {
    out += fmt::format("  95 %, of the coverage stated: {} to {} times {}; clear with probability {} to {}\n", number(per.m * r.hits_per_m_interval->lo), number(per.m * r.hits_per_m_interval->hi), per.word, number(clear->lo), number(clear->hi));
  }
  if (r.hits_per_m > 0) out += fmt::format("  Stopped mostly by {}: {:.0f} % of the rocks that stop it stop a wheel, the others the body\n", r.stopped_mostly_by(), 100 * r.wheel_hits_per_m / r.hits_per_m);
  if (q.needed_ratio) out += "  Chance of a clear run: " + margin_words(service::boulders_margin(q, r), *q.needed_ratio, need_unit, r.stopped_mostly_by()) + ".\n";
  if (const auto clear = r.clear_interval(); clear && q.needed_ratio) out += "  At the lower end of the 95 %: " + margin_words(clear->lo - *q.needed_ratio, *q.needed_ratio, need_unit, r.stopped_mostly_by()) + ".\n";
  if (!r.sizes.empty()) {
    std::vector<std::vector<std::string>> rows{{heading("rocks from"), heading("high"), us ? "number an acre" : "number a hectare", "cover (%)", heading("stop it over")}};
    for (const auto& s : r.sizes) rows.push_back({in(s.diameter_m, 2), in(s.diameter_m * q.shape.height_ratio, 2), number(units::to_si(1, field_unit) * s.number_per_m2), s.area_ratio ? number(100 * *s.area_ratio) : "-", in(s.stopping_width_m, 2)});
    out += table(rows);
  }
  if (r.field) {
    const p::MappedField& f = *r.field;
    out += fmt::format("  Map: {} rocks over {} {}{}, {} % covered, {} of them stop it; 95 % interval {} to {} times {}\n", f.rocks, number(units::from_si(r.plot.area_m2(), area_unit), 4), area_unit.spelling, r.plot_assumed ? " (the box round them; --plot states what was surveyed)" : "",
                       number(100 * f.coverage_ratio), f.stopping, number(per.m * f.hits_per_m_interval.lo), number(per.m * f.hits_per_m_interval.hi), per.word);
    if (f.lanes > 0) out += fmt::format("  {} of {} lanes of {} side by side along x are clear: {:.0f} to {:.0f} %, 95 % interval\n", f.clear_lanes, f.lanes, run, 100 * f.clear_interval.lo, 100 * f.clear_interval.hi);
    if (q.run) {
      std::vector<std::vector<std::string>> rows{{"row", heading("after"), heading("to the left"), heading("diameter"), heading("height"), "the vehicle"}};
      for (const p::Met& x : r.met) rows.push_back({std::to_string(x.rock + 1), in(x.along_m, 1), in(x.across_m, 2), in(r.rocks[x.rock].diameter_m, 2), in(x.height_m, 2), p::name(x.meeting)});
      out += r.met.empty() ? "  The run meets no rock.\n" : table(rows);
    }
  }
  if (!length_stated) out += fmt::format("  The length of the run, {}, is assumed; --length states it.\n", run);
  out += fmt::format("  Rocks are {:g} of their diameter high{}, placed at random without regard to each other. Nobody steers round them here.\n", q.shape.height_ratio, q.shape.height_ratio == 0.5 ? " (common practice, no source)" : "");
  if (q.coverage_ratio) out += "  Law: Golombek and Rapp 1997, Mars sites; for coverages of 5 to 40 %. Other ground needs its own (--law, --map).\n";
  return out;
}

struct BouldersVerb {
  static constexpr bool kTellsFaults = true;
  UnitsOption units_out;
  std::string vehicle_file, gravity, friction, step, coverage, law, map, height_ratio, smallest, length, heading, need;
  std::vector<std::string> start, plot, between;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--friction", friction, "coefficient of wheels on rock, for the highest step: 0.6; or");
    v.add_option("--step", step, "the highest step it climbs: '0.15 m'");
    v.add_option("--coverage", coverage, "share of the ground covered by rocks (law of Golombek and Rapp): '10 %'; or");
    v.add_option("--coverage-between", between, "95 % range of the coverage, as counted on several plots: '7 %' '14 %'")->expected(2);
    v.add_option("--law", law, "sheet of a law of one's own, columns diameter and ground per rock; or");
    v.add_option("--map", map, "sheet of mapped rocks, columns x, y, diameter and height where measured");
    v.add_option("--height-ratio", height_ratio, "height of rocks over their diameter; 0.5 where not given");
    v.add_option("--smallest", smallest, "rocks under this diameter do not count: '0.1 m'");
    v.add_option("--length", length, "of a straight run: '100 m'");
    v.add_option("--need", need, "chance needed that the run is clear, to tell the margin: '90 %'");
    v.add_option("--start", start, "of one run through the map: x and y, '2 m' '5 m'")->expected(2);
    v.add_option("--heading", heading, "of that run, from x towards y: '30 deg'");
    v.add_option("--plot", plot, "corners of the surveyed plot: '0 m' '0 m' '40 m' '30 m'")->expected(4);
    units_out.add_to(v);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    val.needs("heading", !heading.empty(), "start", !start.empty());
    service::BouldersRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0), .friction = val.get("friction", friction, Dimension::none),
                               .step_m = val.get("step", step, Dimension::length), .coverage_ratio = val.get("coverage", coverage, Dimension::none)};
    if (between.size() == 2) q.coverage_between = math::Interval{val.get("coverage-between", between[0], Dimension::none).value_or(0), val.get("coverage-between", between[1], Dimension::none).value_or(0)};
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
    line.put_answer(problems, r.remarks, [&] { return service::boulders_json(q, r); }, [&] { return boulders_text(q, r, units_out.units(), !length.empty(), Values::unit_or_si(need, Dimension::none)); });
    return r.highest_step && !r.highest_step->solve.converged() && r.highest_step->solve.status != base::SolveStatus::out_of_range ? 3 : 0;
  }
};

}  // namespace

void add_boulders_verb(CommandLine& line) { line.add_verb<BouldersVerb>("boulders"); }

}  // namespace hardpan::cli
