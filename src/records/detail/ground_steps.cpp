// SPDX-License-Identifier: Apache-2.0
#include "records/detail/ground_steps.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>
#include <fmt/ranges.h>

namespace hardpan::records::detail {
namespace {

constexpr double kLargestShareSetAside = 0.2;
constexpr double kLargestPlate_m2 = 2;  // no hand-operated press pushes more

base::Place place_of(const TestSource& source, std::size_t line = 0) {
  return {.file = source.file, .line = line, .key = source.file.empty() ? source.id : std::string()};
}

void refuse(base::Problems& problems, const TestSource& source, std::string what, double value, const char* bound,
            const char* remedy) {
  problems.refuse({.place = place_of(source),
                   .what = fmt::format("{}: {}", source.id, what),
                   .value = fmt::format("{:g}", value),
                   .bound = bound,
                   .remedy = remedy});
}

template <class Test>
void same_length(const Test& test, std::size_t a, std::size_t b, base::Problems& problems) {
  if (a != b)
    refuse(problems, test.source, "columns of different length", static_cast<double>(b),
           units::print_count(a, "row").c_str(), "check the file");
}

std::string line_list(const std::vector<std::size_t>& lines) {
  constexpr std::size_t kMost = 12;
  if (lines.size() == 1) return "";  // its place tells it
  if (lines.size() <= kMost) return fmt::format("lines {}", fmt::join(lines, ", "));
  return fmt::format("lines {} ... {}", fmt::join(lines.begin(), lines.begin() + kMost, ", "), lines.back());
}

void report_set_aside(const TestSource& source, const std::vector<SetAside>& parts, std::size_t rows,
                      base::Problems& problems) {
  std::size_t lost = 0;
  for (const SetAside& part : parts) {
    lost += part.lines.size();
    problems.remark({.place = place_of(source, part.lines.front()), .what = fmt::format("{}: {}", source.id, part.reason),
                     .value = line_list(part.lines), .count = part.lines.size()});
  }
  if (rows > 0 && static_cast<double>(lost) > kLargestShareSetAside * static_cast<double>(rows)) {
    problems.refuse({.place = place_of(source), .what = fmt::format("{}: too many rows had to be set aside", source.id),
                     .value = fmt::format("{} of {}", lost, rows), .bound = "a fifth of the record",
                     .remedy = "repeat the test, or exclude the record by an amendment"});
  }
}

void remark(base::Problems& problems, const std::string& zone, const std::string& text) {
  problems.remark({.place = {.key = zone.empty() ? "zone not named" : "zone " + zone}, .what = text});
}

// A plate of impossible size is told once, not once a push.
void check_plates(const std::vector<PlateTest>& plates, units::OutputUnits u, base::Problems& problems) {
  const auto area = [&](double m2) { return units::print_quantity(m2, units::Dimension::area, u); };
  std::vector<std::pair<const PlateTest*, std::size_t>> impossible;
  for (const PlateTest& test : plates) {
    if (test.plate.area_m2() > 0 && test.plate.area_m2() < kLargestPlate_m2) continue;
    const auto same = [&](const auto& seen) { return seen.first->plate == test.plate; };
    if (const auto at = std::find_if(impossible.begin(), impossible.end(), same); at != impossible.end()) ++at->second;
    else impossible.emplace_back(&test, 1);
  }
  for (const auto& [test, pushes] : impossible) {
    const bool none = !(test->plate.area_m2() > 0);
    problems.refuse({.place = place_of(test->source),
                     .what = fmt::format("{}plate{} {}", pushes == 1 ? test->source.id + ": " : std::string(),
                                         test->plate.id.empty() ? "" : " \"" + test->plate.id + "\"", none ? "has no area" : "is impossibly large"),
                     .value = area(test->plate.area_m2()),
                     .bound = none ? "over 0" : "under " + area(kLargestPlate_m2),
                     .remedy = none ? "give the plate's radius or sides" : "check the unit of the plate's size",
                     .count = pushes});
  }
}

}  // namespace

void check_records(const GroundRecords& records, units::OutputUnits u, base::Problems& problems) {
  check_plates(records.plates, u, problems);
  for (const PlateTest& test : records.plates) {
    same_length(test, test.sinkage_m.size(), test.load_n.size(), problems);
  }
  for (const ShearTest& test : records.shears) {
    same_length(test, test.travel.size(), test.effort.size(), problems);
    if (!(test.vertical_load_n > 0)) {
      refuse(problems, test.source, "vertical load", test.vertical_load_n, "> 0",
             "give the load with the tool's own weight");
    }
  }
  for (const ConeTest& test : records.cones) {
    same_length(test, test.depth_m.size(), test.resistance_pa.size(), problems);
    if (!(test.base_area_m2 > 0))
      refuse(problems, test.source, "cone base area", test.base_area_m2, "> 0",
             "give the cone's base, for example 323 mm2");
    if (test.remoulding_index && !(*test.remoulding_index > 0 && *test.remoulding_index < 5)) {
      refuse(problems, test.source, "remoulding index", *test.remoulding_index, "0 to 5",
             "it is cone index after remoulding over before");
    }
  }
}

void note_sources(const GroundRecords& records, const std::string& zone, ZoneGround& out) {
  std::string first, last;
  std::vector<std::pair<std::string, std::string>> used;  // instrument, date
  std::vector<std::pair<std::string, std::size_t>> downgraded;  // why, tests
  const auto see = [&](const TestSource& source) {
    if (source.zone != zone) return;
    const std::string day = source.time.substr(0, 10);
    if (!day.empty()) {
      if (first.empty() || day < first) first = day;
      if (last.empty() || day > last) last = day;
    }
    for (const std::string& downgrade : source.downgrades) {
      const auto known = std::find_if(downgraded.begin(), downgraded.end(), [&](const auto& d) { return d.first == downgrade; });
      if (known == downgraded.end()) downgraded.emplace_back(downgrade, 1);
      else ++known->second;
    }
    if (!source.instrument.empty() &&
        std::find(used.begin(), used.end(), std::pair(source.instrument, day)) == used.end()) {
      used.emplace_back(source.instrument, day);
    }
  };
  const auto note = [&](std::vector<std::string>& files, const TestSource& source) {
    if (source.zone == zone && std::find(files.begin(), files.end(), source.file) == files.end()) files.push_back(source.file);
  };
  for (const auto& test : records.plates) note(out.plate_files, test.source);
  for (const auto& test : records.shears) note(out.shear_files, test.source);
  for (const auto& test : records.plates) see(test.source);
  for (const auto& test : records.shears) see(test.source);
  for (const auto& test : records.cones) see(test.source);
  for (const auto& test : records.reposes) see(test.source);
  for (const auto& test : records.densities) see(test.source);
  for (const auto& test : records.moistures) see(test.source);
  for (const auto& [id, day] : used) {
    for (const Instrument& instrument : records.instruments) {
      if (instrument.id != id) continue;
      for (std::string& text : instrument_downgrades(instrument, day)) {
        const auto known = std::find_if(downgraded.begin(), downgraded.end(), [&](const auto& d) { return d.first == text; });
        if (known == downgraded.end()) downgraded.emplace_back(std::move(text), 0);
      }
    }
  }
  for (const auto& [text, tests] : downgraded) {
    out.downgrades.push_back(tests == 0 ? text : fmt::format("{} ({} {})", text, tests, tests == 1 ? "test" : "tests"));
  }
  if (!first.empty()) out.dates = first == last ? first : first + " to " + last;
}

// With both layers described, the pushes were tested to their ends.
void reach_below_the_break(const GroundResult& result, const std::string& zone, TestedRange& tested) {
  for (const PlateCurve& curve : result.plate_curves) {
    if (curve.source.zone != zone) continue;
    for (std::size_t i = 0; i < curve.mark.size(); ++i) {
      if (curve.mark[i] != Mark::kept && curve.mark[i] != Mark::outside_window) continue;
      tested.sinkage_m->hi = std::max(tested.sinkage_m->hi, curve.depth_m[i]);
      tested.pressure_pa->hi = std::max(tested.pressure_pa->hi, curve.pressure_pa[i]);
    }
  }
}

void note_tested_range(const GroundResult& result, const GroundSettings& settings, const std::string& zone, ZoneGround& out) {
  if (out.plates && out.plates->chosen.ok()) {
    const PlateFit& fit = out.plates->chosen;
    out.tested.pressure_pa = math::Interval{fit.pressure_from_pa, fit.pressure_to_pa};
    out.tested.sinkage_m = math::Interval{fit.window_from_m, fit.window_to_m};
    out.tested.plate_width_m = math::Interval{out.plates->widths_m.front(), out.plates->widths_m.back()};
    out.tested.law_starts_below_layer =
        out.plates->layers.window_from_m && settings.layer != LayerChoice::refuse;
    if (fit.bearing.below) reach_below_the_break(result, zone, out.tested);
  }
  for (std::size_t i = 0; out.plates && out.plates->layers.crust && i < result.plate_layers.size(); ++i) {
    if (result.plate_curves[i].source.zone != zone || !result.plate_layers[i].crust) continue;
    const double strength = result.plate_layers[i].crust->strength_pa;
    out.tested.weakest_crust_pa = std::min(out.tested.weakest_crust_pa.value_or(strength), strength);
  }
  for (const ShearCurve& curve : result.shear_curves) {
    if (curve.source.zone != zone || curve.status != math::kStatusOk || curve.smooth_metal) continue;
    double reached = 0;
    for (std::size_t i = 0; i < curve.mark.size(); ++i) {
      if (curve.mark[i] == ShearMark::kept) reached = std::max(reached, curve.displacement_m[i]);
    }
    const double sigma = curve.normal_stress_pa;
    if (!out.tested.normal_stress_pa) {
      out.tested.normal_stress_pa = math::Interval{sigma, sigma};
      out.tested.shear_travel_m = math::Interval{0, reached};
    }
    out.tested.normal_stress_pa->lo = std::min(out.tested.normal_stress_pa->lo, sigma);
    out.tested.normal_stress_pa->hi = std::max(out.tested.normal_stress_pa->hi, sigma);
    out.tested.shear_travel_m->hi = std::max(out.tested.shear_travel_m->hi, reached);
  }
}

void make_soil(const GroundRecords& records, const GroundSettings&, ZoneGround& out) {
  std::vector<std::string> lacking;
  soil::SoilDistribution soil;
  bool any = false;
  const auto put = [](soil::Covariance& into, std::size_t i, std::size_t j, double value) {
    into[i][j] = into[j][i] = value;
  };
  if (out.plates && out.plates->status == math::kStatusOk) {
    const PlateZone& plates = *out.plates;
    any = true;
    soil.centre.bearing = plates.chosen.bearing;
    soil.centre.reload = plates.reload;
    soil.first_width_m = plates.chosen.first_width_m;
    const bool one_width = plates.chosen.law == soil::PressureLaw::single_plate;
    soil.second_width_m = plates.chosen.second_width_m > plates.chosen.first_width_m ? plates.chosen.second_width_m
                                                                                     : 2 * plates.chosen.first_width_m;
    soil.reference_depth_m = plates.chosen.reference_depth_m;
    soil.bearing_dof = plates.dof;
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) {
        if (one_width && (i == 1 || j == 1)) continue;  // one modulus: the second coordinate is not varied
        soil.sampling[i][j] = plates.sampling[i][j];
        soil.between_points[i][j] = plates.between_points[i][j];
        soil.instrument[i][j] = plates.instrument[i][j];
      }
    }
    if (!(plates.dof > 0)) lacking.push_back("no interval of the pressure-sinkage part: one point");
  } else {
    lacking.push_back(out.plates ? "no pressure-sinkage law: " + out.plates->status
                                 : "no pressure-sinkage law: no plate records");
  }
  if (out.shear && out.shear->status == math::kStatusOk) {
    const ShearZone& shear = *out.shear;
    const StrengthLine& line = shear.soil_line;
    any = true;
    soil.centre.shear = soil::Shear{.law = shear.law, .cohesion_pa = line.cohesion_pa, .tan_phi = line.tan_phi,
                                    .shear_modulus_m = shear.shear_modulus_m, .residual_ratio = shear.residual_ratio};
    for (std::size_t i = 0; i < 2; ++i) {
      for (std::size_t j = 0; j < 2; ++j) {
        soil.sampling[3 + i][3 + j] = line.covariance[i][j];
        soil.between_points[3 + i][3 + j] = line.between_points[i][j];
        soil.instrument[3 + i][3 + j] = line.instrument[i][j];
      }
      put(soil.sampling, 3 + i, 5, shear.cov_strength_ln_k[i]);
      put(soil.between_points, 3 + i, 5, shear.between_strength_ln_k[i]);
    }
    soil.sampling[5][5] = shear.ln_k_sampling_var;
    soil.between_points[5][5] = shear.ln_k_between_var;
    soil.instrument[5][5] = shear.ln_k_instrument_var;
    soil.shear_dof = std::min(line.dof, shear.ln_k_dof);
    if (!(soil.shear_dof > 0)) lacking.push_back("no interval of the shear part: too few runs");
    if (shear.metal_line && shear.metal_line->ok()) {
      soil.centre.smooth_metal =
          soil::InterfaceStrength{.adhesion_pa = shear.metal_line->cohesion_pa, .tan_delta = shear.metal_line->tan_phi};
    }
  } else {
    lacking.push_back(out.shear ? "no shear strength: " + out.shear->status : "no shear strength: no shear records");
  }
  // One instrument for both kinds: its load gain moves ln p and, the other way, tan phi.
  if (soil.centre.bearing && soil.centre.shear) {
    std::vector<std::string> ids;
    const auto note = [&](const TestSource& source) {
      if (source.zone == out.zone && std::find(ids.begin(), ids.end(), source.instrument) == ids.end())
        ids.push_back(source.instrument);
    };
    for (const PlateTest& test : records.plates) note(test.source);
    for (const ShearTest& test : records.shears) note(test.source);
    if (ids.size() == 1) {
      for (const Instrument& instrument : records.instruments) {
        if (instrument.id != ids.front()) continue;
        const double shared =
            -soil.centre.shear->tan_phi * instrument.load.gain_relative_sd * instrument.load.gain_relative_sd;
        put(soil.instrument, 0, 4, shared);
        if (soil.centre.bearing->law != soil::PressureLaw::single_plate) put(soil.instrument, 1, 4, shared);
      }
    }
  }
  if (out.bulk && out.bulk->density_kg_m3) soil.centre.density_kg_m3 = out.bulk->density_kg_m3;
  soil.population = fmt::format("points of {}{}{}", out.zone.empty() ? "the ground tested" : "zone " + out.zone,
                                out.dates.empty() ? "" : ", ", out.dates);
  if (out.plates && !out.plates->layers.statement.empty() && (out.plates->layers.crust || out.plates->layers.layered)) {
    soil.population += "; " + out.plates->layers.statement;
  }
  out.reason_without = fmt::format("{}", fmt::join(lacking, "; "));
  if (!any) return;
  base::Problems impossible;
  soil::check_soil(soil.centre, {.key = "zone " + out.zone}, impossible);
  if (impossible.refused()) {
    for (const base::Problem& problem : impossible.list()) lacking.push_back(problem.text());
    out.reason_without = fmt::format("{}", fmt::join(lacking, "; "));
    return;
  }
  out.soil = std::move(soil);
}

void give_advice(const GroundSettings& settings, ZoneGround& out) {
  if (out.plates && out.plates->dof > 0) {
    const PlateZone& plates = *out.plates;
    const std::size_t lost = plates.points - static_cast<std::size_t>(std::lround(plates.dof));
    for (std::size_t w = 0; w < 2; ++w) {
      const double width = w == 0 ? plates.chosen.first_width_m : plates.chosen.second_width_m;
      if (w == 1 && plates.chosen.second_width_m == plates.chosen.first_width_m) continue;
      out.advice.push_back(advise({.quantity = fmt::format("pressure at {} on b = {}",
                                                           units::print_quantity(plates.chosen.reference_depth_m, units::Dimension::length, settings.output_units),
                                                           units::print_quantity(width, units::Dimension::length, settings.output_units)),
                                   .value = 1,
                                   .point_sd = std::sqrt(plates.between_points[w][w]),
                                   .instrument_sd = std::sqrt(plates.instrument[w][w]),
                                   .have = plates.points,
                                   .lost = lost,
                                   .target_relative = settings.advice_target_relative}));
    }
    out.advice.push_back(advise({.quantity = "exponent n",
                                 .value = plates.chosen.n,
                                 .point_sd = std::sqrt(plates.between_points[2][2]),
                                 .instrument_sd = 0,
                                 .have = plates.points,
                                 .lost = lost,
                                 .target_relative = settings.advice_target_relative}));
  }
  if (out.shear && out.shear->soil_line.ok() && out.shear->soil_line.dof > 0) {
    const StrengthLine& line = out.shear->soil_line;
    const std::size_t have = line.points > 0 ? line.points : line.runs;
    const std::string unit = line.points > 0 ? "points" : "runs";
    const std::size_t lost = have - static_cast<std::size_t>(std::lround(line.dof));
    // What a unit contributes: sampling variance times their number.
    const auto unit_sd = [&](std::size_t i) { return std::sqrt(line.covariance[i][i] * static_cast<double>(have)); };
    if (!line.cohesion_at_zero && line.cohesion_pa > 0) {
      out.advice.push_back(advise({.quantity = "cohesion",
                                   .value = line.cohesion_pa,
                                   .point_sd = unit_sd(0),
                                   .instrument_sd = std::sqrt(line.instrument[0][0]),
                                   .have = have,
                                   .lost = lost,
                                   .target_relative = settings.advice_target_relative,
                                   .unit_of_count = unit}));
    }
    if (line.tan_phi > 0) {
      out.advice.push_back(advise({.quantity = "tan phi",
                                   .value = line.tan_phi,
                                   .point_sd = unit_sd(1),
                                   .instrument_sd = std::sqrt(line.instrument[1][1]),
                                   .have = have,
                                   .lost = lost,
                                   .target_relative = settings.advice_target_relative,
                                   .unit_of_count = unit}));
    }
    if (out.shear->ln_k_dof > 0) {
      const auto have_k = static_cast<std::size_t>(std::lround(out.shear->ln_k_dof)) + 1;
      out.advice.push_back(advise({.quantity = "K", .value = 1, .point_sd = std::sqrt(out.shear->ln_k_between_var),
                                   .instrument_sd = std::sqrt(out.shear->ln_k_instrument_var), .have = have_k, .lost = 1,
                                   .target_relative = settings.advice_target_relative, .unit_of_count = unit}));
    }
  }
}

void report_problems(const GroundRecords&, const GroundResult& result, base::Problems& problems) {
  for (const PlateCurve& curve : result.plate_curves)
    report_set_aside(curve.source, curve.set_aside, curve.mark.size(), problems);
  for (const ShearCurve& curve : result.shear_curves)
    report_set_aside(curve.source, curve.set_aside, curve.mark.size(), problems);
  for (const ConeProfile& profile : result.cone_profiles)
    report_set_aside(profile.source, profile.set_aside, profile.mark.size(), problems);
  for (const ZoneGround& zone : result.zones) {
    if (zone.plates) {
      for (const std::string& text : zone.plates->not_identified) remark(problems, zone.zone, "not identified: " + text);
      for (const std::string& text : zone.plates->remarks) remark(problems, zone.zone, text);
      if (zone.plates->layers.crust || zone.plates->layers.layered)
        remark(problems, zone.zone, zone.plates->layers.statement);
      for (const PlatePoint& point : zone.plates->each_point) {
        if (point.flagged)
          remark(problems, zone.zone, fmt::format("point {} is far from the others: {}", point.point, point.reason));
      }
    }
    if (zone.shear) {
      for (const std::string& text : zone.shear->not_identified) remark(problems, zone.zone, "not identified: " + text);
      for (const std::string& text : zone.shear->remarks) remark(problems, zone.zone, text);
      for (const ShearRun& run : zone.shear->runs) {
        if (run.flagged) remark(problems, zone.zone, fmt::format("run {} is far from the line: {}", run.test, run.reason));
      }
    }
    if (zone.bulk) {
      for (const std::string& text : zone.bulk->remarks) remark(problems, zone.zone, text);
    }
    for (const ConeZone& cones : zone.cones) {
      for (const std::string& text : cones.remarks) remark(problems, zone.zone, text);
    }
  }
  if (result.cone_consistency.populations.size() > 1 || !result.cone_consistency.inconsistent.empty()) {
    problems.remark({.place = {.key = "cone records"}, .what = result.cone_consistency.statement});
  }
}

}  // namespace hardpan::records::detail
