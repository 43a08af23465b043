// SPDX-License-Identifier: Apache-2.0
// Results of the ground tests, zone by zone.
#include <cmath>

#include <fmt/core.h>

#include "report/detail/parts.hpp"

namespace hardpan::report::detail {
namespace {

using records::Parameter;

// A modulus carries a unit that its own n implies; everything else has a unit of its dimension.
Printed printed(const Printer& print, const Parameter& p, double n) {
  const bool first = p.key == "kc", second = p.key == "kphi" || p.key == "k";
  if ((first || second) && std::isfinite(n)) {
    const auto kind = first ? units::ModulusKind::cohesion : units::ModulusKind::friction;
    return Printer::estimate_in(p.estimate, units::Unit{.factor = units::modulus_factor(n, kind, print.units()), .spelling = units::modulus_unit(n, kind, print.units())}, kNumber);
  }
  const Measure m = measure_of_unit(p.unit);
  if (m.dimension != units::Dimension::none || p.unit == "1" || p.unit.empty()) return print.estimate(p.estimate, m);
  return Printer::estimate_in(p.estimate, units::Unit{.spelling = p.unit}, kNumber);
}

// Depth and width of a pressure in the units of the document.
std::string meaning(const Printer& print, const Parameter& p) {
  if (!p.at_depth_m || !p.at_width_m) return p.meaning;
  return "pressure at " + print.value(*p.at_depth_m, kLength) + " on b = " + print.value(*p.at_width_m, kLength);
}

// A stiffness a length, or a length and once more a length: no dimension that Printer knows.
std::string per_depth(const Printer& print, double si, int lengths) {
  const bool us = print.units() == units::OutputUnits::us;
  const double inch_m = 0.0254;  // exact
  const double shown = us ? units::from_si(si, units::output_unit(1e5, units::Dimension::pressure, units::OutputUnits::us)) * std::pow(inch_m, lengths) : si * 1e-6;
  return units::print_number(shown) + (us ? " psi/in" : " MPa/m") + (lengths > 1 ? "^2" : "");
}

std::string half_width(const Parameter& p) {
  if (!p.instrument_sd || !std::isfinite(*p.instrument_sd) || !(std::abs(p.estimate.value) > 0)) return "-";
  return *p.instrument_sd == 0 ? "none" : fmt::format("{:.2g} %", 100 * std::abs(*p.instrument_sd / p.estimate.value));
}

void parameters(Sheet& s, const std::string& caption, const std::vector<Parameter>& all, double n) {
  Grid g{.caption = caption, .columns = {"Parameter", "Meaning", "Value", "95 % average ground", "95 % next point", "Points or runs", "Instrument, one s.d."}, .right = "llrrrrr"};
  std::vector<std::string> bases;
  for (const Parameter& p : all) {
    const Printed v = printed(s.print, p, n);
    const bool missing = !p.estimate.average_ground && !p.estimate.next_point && !p.estimate.status.empty() && p.estimate.status != math::kStatusOk;
    g.rows.push_back({p.key, meaning(s.print, p), v.value, missing ? p.estimate.status : v.average_ground, v.next_point, std::to_string(p.estimate.n), half_width(p)});
    if (!p.basis.empty() && (bases.empty() || bases.back() != p.basis)) {
      bool known = false;
      for (const std::string& b : bases) known = known || b == p.basis;
      if (!known) bases.push_back(p.basis);
    }
  }
  g.note = joined(bases, ". ") + (bases.empty() ? "" : ".");
  s.page.table(g);
}

void fits(Sheet& s, const records::PlateZone& z) {
  Grid g{.caption = "Estimators side by side", .columns = {"Estimator", "Relation", "n", "First modulus", "Second modulus", "Window", "Readings", "Misfit of p", "Verdict"}, .right = "llrrrrrrl"};
  for (const records::PlateFit& f : z.fits) {
    const double n = f.bearing.n;
    std::string first = "-", second = "-";
    if (f.ok() && f.law == soil::PressureLaw::bekker) {
      first = units::print_modulus(f.bearing.first_modulus, n, units::ModulusKind::cohesion, s.print.units());
      second = units::print_modulus(f.bearing.second_modulus, n, units::ModulusKind::friction, s.print.units());
    } else if (f.ok() && f.law == soil::PressureLaw::single_plate) {
      first = units::print_modulus(f.bearing.first_modulus, n, units::ModulusKind::friction, s.print.units());
    } else if (f.ok() && f.law == soil::PressureLaw::reece) {
      first = s.print.value(f.bearing.first_modulus, kPressure);
      second = s.print.value(f.bearing.second_modulus, Measure{units::Dimension::unit_weight});
    } else if (f.ok()) {
      first = s.print.value(f.bearing.first_modulus, Measure{units::Dimension::unit_weight});
      second = s.print.value(f.bearing.second_modulus, Measure{units::Dimension::unit_weight});
    }
    g.rows.push_back({records::name(f.estimator), soil::name(f.law), f.ok() && f.law != soil::PressureLaw::muskeg ? units::print_fixed(n, 3) : "-", first, second,
                      f.ok() ? s.print.interval(f.window_from_m, f.window_to_m, kLength) : "-", std::to_string(f.readings), f.ok() ? s.print.value(f.rms_pa, kPressure, 2) : "-",
                      f.ok() ? (f.estimator == z.chosen.estimator ? "used" : "not used") : f.status});
  }
  g.note = "Moduli with different n carry different units: compare pressures, not moduli. b is the radius of a circular plate, the smaller side of a rectangle.";
  s.page.table(g);
}

void relations(Sheet& s, const records::PlateZone& z) {
  Grid g{.caption = "Relations, each tried on points it had not seen", .columns = {"Relation", "Error of ln p at a point left out", "Mean square above the best", "Standard error of that", "Remark"}, .right = "lrrr"};
  for (const records::LawScore& k : z.choice.scores) {
    if (!k.offered) {
      g.rows.push_back({soil::name(k.law), "-", "-", "-", k.reason_without});
      continue;
    }
    g.rows.push_back({soil::name(k.law), units::print_number(k.rms_ln_p, 2), units::print_number(k.worse_than_best, 2), units::print_number(k.standard_error, 2), k.law == z.choice.law ? "used" : ""});
  }
  g.note = sentence(z.choice.statement);
  s.page.table(g);
}

void odd_points(Sheet& s, const records::PlateZone& z) {
  Grid g{.caption = "Each point by itself", .columns = {"Point", "Tests", "Readings", "n", "Pressure, narrow plate", "Pressure, wide plate", "Remark"}, .right = "lrrrrrl"};
  for (const records::PlatePoint& p : z.each_point) {
    g.rows.push_back({p.point, std::to_string(p.tests), std::to_string(p.readings), units::print_number(p.n), p.has_first ? s.print.value(std::exp(p.ln_p_first), kPressure) : "-",
                      p.has_second && z.widths_m.size() > 1 ? s.print.value(std::exp(p.ln_p_second), kPressure) : "-", p.flagged ? "outlying: " + p.reason : ""});
  }
  if (z.chosen.ok()) g.note = "Pressures at " + s.print.value(z.chosen.reference_depth_m, kLength) + " sinkage.";
  s.page.table(g);
}

void plates(Sheet& s, const records::PlateZone& z, const std::string& zone) {
  s.page.heading(4, "Plate sinkage");
  if (z.status != math::kStatusOk && !z.status.empty()) s.page.paragraph("No law: " + z.status + ".", "missing");
  parameters(s, "Pressure-sinkage parameters, " + zone, z.parameters, z.chosen.bearing.n);
  fits(s, z);
  relations(s, z);
  odd_points(s, z);
  s.page.paragraph(sentence(z.layers.statement));
  if (z.layers.crust_strength_pa) {
    s.page.terms({{"Crust strength", s.print.with_next_point(*z.layers.crust_strength_pa, kPressure)},
                  {"Depth of its peak", z.layers.crust_depth_m ? s.print.with_next_point(*z.layers.crust_depth_m, kLength) : ""}});
  }
  if (z.layers.layered) {
    s.page.terms({{"Depth of the break", s.print.with_next_point(*z.layers.break_depth_m, kLength)},
                  {"Exponent below it", s.print.with_next_point(*z.layers.exponent_below, kNumber)}});
  }
  if (z.reload) {
    s.page.paragraph("Unloading and reloading: stiffness " + per_depth(s.print, z.reload->k0_pa_per_m, 1) + " at the surface, growing with depth by " +
                     per_depth(s.print, z.reload->au_pa_per_m2, 2) + " (Wong 1980).");
  }
  s.page.list(sentences(z.residuals));
  if (!z.not_identified.empty()) {
    s.page.paragraph("Not identified by these tests:");
    s.page.list(sentences(z.not_identified));
  }
}

void shear(Sheet& s, const records::ShearZone& z, const std::string& zone) {
  s.page.heading(4, "Shear");
  if (z.status != math::kStatusOk && !z.status.empty()) s.page.paragraph("Not complete: " + z.status + ".", "missing");
  parameters(s, "Shear parameters, " + zone + " (" + soil::name(z.law) + ")", z.parameters, std::nan(""));
  if (z.soil_line.ok()) {
    s.page.paragraph(fmt::format("Strength line: {}; normal stresses {}{}.{}", z.soil_line.method, s.print.interval(z.soil_line.stress_from_pa, z.soil_line.stress_to_pa, kPressure),
                                 z.soil_line.residual_relative > 0 ? fmt::format("; scatter of runs about it {:.2g} %", 100 * z.soil_line.residual_relative) : std::string(),
                                 z.soil_line.cohesion_at_zero ? " Cohesion is held at its bound, zero." : ""));
  }
  Grid g{.caption = "Shear runs, " + zone, .columns = {"Run", "Point", "Normal stress", "Strength", "K", "Relation", "Misfit", "Remark"}, .right = "llrrrlr"};
  const auto add = [&](const records::ShearRun& run, const char* what) {
    const records::ShearRunFit* fit = nullptr;
    for (const auto& f : run.fits) {
      if (f.law == run.better) fit = &f;
    }
    std::string remark = what;
    if (run.flagged) remark += (remark.empty() ? "" : "; ") + std::string("flagged: ") + run.reason;
    if (fit && fit->k_not_bracketed) remark += (remark.empty() ? "" : "; ") + std::string("K not bracketed by the record");
    g.rows.push_back({run.test, run.point, s.print.value(run.normal_stress_pa, kPressure), s.print.value(run.strength_pa, kPressure),
                      fit && fit->ok() ? s.print.value(fit->shear_modulus_m, kLength) : "-", soil::name(run.better), fit && fit->ok() ? s.print.value(fit->rms_pa, kPressure, 2) : "-", remark});
  };
  for (const auto& run : z.runs) add(run, "");
  for (const auto& run : z.metal_runs) add(run, "on smooth metal");
  s.page.table(g);
  s.page.list(sentences(z.remarks));
  if (!z.not_identified.empty()) {
    s.page.paragraph("Not identified by these runs:");
    s.page.list(sentences(z.not_identified));
  }
}

void cones(Sheet& s, const std::vector<records::ConeZone>& all, const std::string& zone) {
  s.page.heading(4, "Cone penetrometer");
  for (const records::ConeZone& c : all) {
    Grid g{.caption = "Cone index by layer, " + zone + (c.population.empty() ? "" : ", " + c.population) + (all.size() > 1 ? ", cone base " + s.print.value(c.base_area_m2, Measure{units::Dimension::area}) : ""), .columns = {"Layer", "Cone index", "95 % average ground", "95 % next point", "Points", "Rating cone index"}, .right = "lrrrrr"};
    for (const records::ConeZoneLayer& layer : c.layers) {
      const Printed v = s.print.estimate(layer.cone_index.estimate, kPressure);
      g.rows.push_back({s.print.interval(layer.from_m, layer.to_m, kLength), v.value, v.average_ground, v.next_point, std::to_string(layer.cone_index.estimate.n),
                        layer.rating_cone_index ? s.print.value(layer.rating_cone_index->estimate.value, kPressure) : "remoulding index not measured"});
    }
    g.note = joined(c.remarks, ". ") + (c.remarks.empty() ? "" : ".");
    s.page.table(g);
  }
}

void bulk(Sheet& s, const records::BulkZone& b, const std::string& zone) {
  s.page.heading(4, "Repose, density, moisture");
  s.page.paragraph("The angle of a poured pile, of a slip face and the angle that starts a slide are three different angles; none stands for another, and none is the friction angle of the shear test.");
  parameters(s, "Repose, density and moisture, " + zone, b.parameters, std::nan(""));
  if (b.moisture_range) s.page.paragraph("Moisture found: " + s.print.interval(*b.moisture_range, kShare) + " by mass of dry soil. The soil holds for this range.");
  s.page.list(sentences(b.remarks));
}

std::string used_or_missing(const records::ZoneGround& z) {
  if (z.reason_without.empty()) return "";
  return z.soil ? "What this soil lacks: " + z.reason_without + "." : "No soil for predictions: " + z.reason_without + ".";
}

}  // namespace

void soil_results(Sheet& s) {
  s.page.heading(3, "Ground tests", "results-ground");
  if (s.results.ground.zones.empty()) s.page.paragraph("No ground test was reduced.", "missing");
  for (const records::ZoneGround& z : s.results.ground.zones) {
    const std::string zone = z.zone.empty() ? "ground without a zone name" : z.zone;
    s.page.heading(3, "Zone " + zone_name(s.results, z.zone));
    s.page.paragraph(used_or_missing(z), "missing");
    if (z.plates) plates(s, *z.plates, zone);
    if (z.shear) shear(s, *z.shear, zone);
    if (!z.cones.empty()) cones(s, z.cones, zone);
    if (z.bulk) bulk(s, *z.bulk, zone);
    std::vector<std::string> advice;
    for (const records::Advice& a : z.advice) advice.push_back(a.statement);
    if (!advice.empty()) {
      s.page.heading(4, "What more points would bring");
      s.page.list(sentences(advice));
    }
  }
  s.page.paragraph(sentence(s.results.ground.cone_consistency.statement));
  for (const char* id : {"pressure-sinkage", "shear-strength", "cone-index", "reference-point"}) s.slot(id);
}

}  // namespace hardpan::report::detail
