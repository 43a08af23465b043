// SPDX-License-Identifier: Apache-2.0
// Runs to a strength line. Scatter is taken between points where each carries a line of its own, else
// between runs; never between readings.
#include "records/shear_zone.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/core.h>

#include "math/statistics.hpp"
#include "records/detail/intervals.hpp"
#include "records/detail/shear_line.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

namespace hardpan::records {
namespace {

// Another law is taken where it leaves less than this share of the exponential law's misfit.
constexpr double kBetterMisfit = 0.8;

using detail::LineResult;
using detail::strength_line;
using detail::Units;
using detail::units_of;

struct Gains {
  double effort = 0, load = 0, travel = 0;  // relative variances
};

Gains gains_of(const std::vector<const ShearCurve*>& curves, const std::vector<Instrument>& instruments,
               bool metal, std::vector<std::string>& remarks) {
  Gains out;
  std::vector<std::string> ids;
  double count = 0;
  for (const ShearCurve* curve : curves) {
    if (curve->smooth_metal != metal) continue;
    count += 1;
    if (std::find(ids.begin(), ids.end(), curve->source.instrument) == ids.end()) ids.push_back(curve->source.instrument);
  }
  for (const std::string& id : ids) {
    double share = 0;
    bool ring = false;
    for (const ShearCurve* curve : curves) {
      if (curve->smooth_metal != metal || curve->source.instrument != id) continue;
      share += 1 / count;
      ring = ring || curve->tool == ShearTool::ring;
    }
    const auto found =
        std::find_if(instruments.begin(), instruments.end(), [&](const Instrument& i) { return i.id == id; });
    if (found == instruments.end()) {
      remarks.push_back(
          id.empty()
              ? "shear records name no instrument: its part of the intervals is taken as none"
              : fmt::format("instrument \"{}\" is not described: its part of the intervals is taken as none", id));
      continue;
    }
    const ChannelTrust& effort = ring ? found->torque : found->load;
    if (!effort.gain_stated) {
      remarks.push_back(fmt::format(
          "instrument \"{}\" states no uncertainty of its {} calibration: its part of the intervals is taken as none",
          id, ring ? "torque" : "force"));
    }
    const auto square = [](double x) { return x * x; };
    out.effort += square(share * effort.gain_relative_sd);
    out.load += square(share * found->load.gain_relative_sd);
    out.travel += square(share * (ring ? found->angle : found->depth).gain_relative_sd);
  }
  return out;
}

void add_instrument(StrengthLine& line, const Gains& gains) {
  const double c = line.cohesion_pa, t = line.tan_phi;
  line.instrument = {
      {{c * c * gains.effort, c * t * gains.effort}, {c * t * gains.effort, t * t * (gains.effort + gains.load)}}};
}

ShearRun reduce_run(const ShearCurve& curve) {
  ShearRun run{.test = curve.source.id, .point = curve.source.point, .normal_stress_pa = curve.normal_stress_pa};
  run.fits.push_back(fit_exponential(curve));
  if (shows_a_peak(curve)) {
    run.fits.push_back(fit_peak_residual(curve));
    run.fits.push_back(fit_hump(curve));
  }
  const ShearRunFit* best = &run.fits.front();
  for (const ShearRunFit& fit : run.fits) {
    if (fit.ok() && (!best->ok() || fit.rms_pa < kBetterMisfit * best->rms_pa)) best = &fit;
  }
  run.better = best->law;
  run.strength_pa = best->ok() ? best->tau_max_pa : 0;
  if (!best->ok()) run.reason = best->status;
  return run;
}

const ShearRunFit* fit_of(const ShearRun& run, soil::ShearLaw law) {
  for (const ShearRunFit& fit : run.fits) {
    if (fit.law == law && fit.ok()) return &fit;
  }
  return nullptr;
}

void flag_runs(std::vector<ShearRun>& runs, const StrengthLine& line) {
  if (!line.ok() || runs.size() < 6) return;
  std::vector<double> residual;
  for (const ShearRun& run : runs) {
    if (run.strength_pa > 0)
      residual.push_back(std::log(run.strength_pa / (line.cohesion_pa + line.tan_phi * run.normal_stress_pa)));
  }
  if (residual.size() < 6) return;
  const double middle = math::median(residual), scale = std::max(math::robust_scale(residual), 0.03);
  for (ShearRun& run : runs) {
    if (!(run.strength_pa > 0)) continue;
    const double r = std::log(run.strength_pa / (line.cohesion_pa + line.tan_phi * run.normal_stress_pa)) - middle;
    if (std::abs(r) > 3.5 * scale) {
      run.flagged = true;
      run.reason = fmt::format("strength is {:.2f} times the line ({:.1f} robust standard deviations)", std::exp(r),
                               std::abs(r) / scale);
    }
  }
}

detail::Spread spread_from(const StrengthLine& line, std::size_t index) {
  detail::Spread s{.sampling = line.covariance[index][index],
                   .between = line.between_points[index][index],
                   .instrument = line.instrument[index][index],
                   .dof = line.dof,
                   .n = line.points > 0 ? line.points : line.runs,
                   .reason = {}};
  if (!(s.dof > 0)) s.reason = "too few runs for the scatter about a line";
  return s;
}

void add_line_parameters(std::vector<Parameter>& out, const LineResult& result, const std::string& basis, bool metal, units::OutputUnits u) {
  using detail::Scale;
  const StrengthLine& line = result.line;
  const detail::Spread sc = spread_from(line, 0), st = spread_from(line, 1);
  Parameter c{.key = metal ? "ca" : "c", .meaning = metal ? "adhesion to smooth metal" : "cohesion", .unit = "Pa",
              .estimate = detail::estimate_from_spread(line.cohesion_pa, sc, Scale::linear),
              .average_soil_only = detail::soil_only(line.cohesion_pa, sc, Scale::linear), .bootstrap = std::nullopt,
              .instrument_sd = std::sqrt(sc.instrument), .basis = basis};
  if (line.cohesion_at_zero) {
    c.estimate.average_ground.reset();
    c.estimate.next_point.reset();
    c.average_soil_only.reset();
    if (result.unbounded_c_half) {
      c.estimate.average_ground = math::Interval{0, std::max(0.0, *result.unbounded_c + *result.unbounded_c_half)};
    }
    c.estimate.status = "at its bound 0: without the bound the line gives " + units::print_quantity(*result.unbounded_c, units::Dimension::pressure, u);
  } else {
    for (auto* interval : {&c.estimate.average_ground, &c.estimate.next_point, &c.average_soil_only}) {
      if (*interval && (*interval)->lo < 0) (*interval)->lo = 0;
    }
  }
  out.push_back(std::move(c));
  out.push_back({.key = metal ? "tan_delta" : "tan_phi",
                 .meaning = metal ? "friction on smooth metal" : "friction",
                 .unit = "1",
                 .estimate = detail::estimate_from_spread(line.tan_phi, st, Scale::linear),
                 .average_soil_only = detail::soil_only(line.tan_phi, st, Scale::linear),
                 .bootstrap = std::nullopt,
                 .instrument_sd = std::sqrt(st.instrument),
                 .basis = basis});
  Parameter angle = out.back();
  angle.key = metal ? "delta" : "phi";
  angle.meaning = metal ? "angle of friction on smooth metal" : "angle of internal friction";
  angle.unit = "rad";
  angle.estimate.value = std::atan(angle.estimate.value);
  for (auto* interval : {&angle.estimate.average_ground, &angle.estimate.next_point, &angle.average_soil_only}) {
    if (*interval) *interval = math::Interval{std::atan((*interval)->lo), std::atan((*interval)->hi)};
  }
  angle.instrument_sd = *angle.instrument_sd / (1 + line.tan_phi * line.tan_phi);
  out.push_back(std::move(angle));
}

}  // namespace

ShearZone reduce_shears(const std::vector<const ShearCurve*>& curves, const std::vector<Instrument>& instruments,
                        const GroundSettings& settings) {
  ShearZone zone;
  std::vector<std::string> points;
  for (const ShearCurve* curve : curves) {
    if (std::find(points.begin(), points.end(), curve->source.point) == points.end()) points.push_back(curve->source.point);
    if (curve->status != math::kStatusOk) {
      zone.remarks.push_back(fmt::format("{}: {}", curve->source.id, curve->status));
      continue;
    }
    (curve->smooth_metal ? zone.metal_runs : zone.runs).push_back(reduce_run(*curve));
  }
  zone.points = points.size();
  if (zone.runs.empty() && zone.metal_runs.empty()) {
    zone.status = "no run can be used";
    return zone;
  }
  // One law for the zone: that of most runs; its strength and K enter from every run that has it.
  std::size_t peaked = 0, humped = 0;
  for (const ShearRun& run : zone.runs) {
    peaked += run.better == soil::ShearLaw::peak_residual;
    humped += run.better == soil::ShearLaw::hump;
  }
  if (2 * peaked > zone.runs.size()) zone.law = soil::ShearLaw::peak_residual;
  if (2 * humped > zone.runs.size()) zone.law = soil::ShearLaw::hump;
  if (peaked + humped > 0) {
    zone.remarks.push_back(fmt::format("{} of {} {} a peak; the zone is described by the {} law",
                                       peaked + humped, units::print_count(zone.runs.size(), "run"), peaked + humped == 1 ? "shows" : "show",
                                       soil::name(zone.law)));
  }
  std::vector<const ShearRun*> usable;
  std::vector<double> ratios;
  for (ShearRun& run : zone.runs) {
    const ShearRunFit* fit = fit_of(run, zone.law);
    if (fit == nullptr) {
      run.strength_pa = 0;
      if (run.reason.empty()) run.reason = fmt::format("the {} law could not be fitted", soil::name(zone.law));
      zone.remarks.push_back(fmt::format("{}: {}", run.test, run.reason));
      continue;
    }
    run.strength_pa = fit->tau_max_pa;
    ratios.push_back(fit->residual_ratio);
    if (fit->k_not_bracketed) {
      zone.remarks.push_back(fmt::format(
          "{}: the record ends at {}, before the stress has levelled off (K = {}): its strength is "
          "partly extrapolated; shear farther",
          run.test, units::print_quantity(fit->to_m, units::Dimension::length, settings.output_units),
          units::print_quantity(fit->shear_modulus_m, units::Dimension::length, settings.output_units)));
    }
    usable.push_back(&run);
  }
  if (zone.law == soil::ShearLaw::peak_residual && !ratios.empty()) zone.residual_ratio = math::mean(ratios);

  const Gains gains = gains_of(curves, instruments, false, zone.remarks);
  LineResult result = strength_line(usable);
  add_instrument(result.line, gains);
  zone.soil_line = result.line;
  flag_runs(zone.runs, zone.soil_line);
  const auto words = [&](const StrengthLine& line, soil::ShearLaw law) {
    return fmt::format("{}, {}, normal stress {}, {}{}", soil::name(law), line.method,
                       units::print_interval(line.stress_from_pa, line.stress_to_pa, units::Dimension::pressure, settings.output_units),
                       units::print_count(line.runs, "run"),
                       line.points > 0 ? " at " + units::print_count(line.points, "point") : "");
  };
  if (zone.soil_line.ok()) {
    add_line_parameters(zone.parameters, result, words(zone.soil_line, zone.law), false, settings.output_units);
    if (!(zone.soil_line.dof > 0))
      zone.not_identified.push_back("scatter of c and phi: two runs make a line and leave nothing over; add runs");
  } else if (!usable.empty()) {
    zone.not_identified.push_back(fmt::format(
        "c and phi: {}; run at least three normal stresses, from the wheel's pressures down to the tool's own weight",
        zone.soil_line.status));
  }

  // K: mean of ln K, points (or runs) as units.
  const Units units = usable.empty() ? Units{} : units_of(usable);
  std::vector<double> ln_k;
  for (const auto& group : units.groups) {
    std::vector<double> of_group;
    for (const ShearRun* run : group) of_group.push_back(std::log(fit_of(*run, zone.law)->shear_modulus_m));
    ln_k.push_back(math::mean(of_group));
  }
  if (!ln_k.empty()) {
    const double centre = math::mean(ln_k);
    zone.shear_modulus_m = std::exp(centre);
    detail::Spread spread = detail::spread_of(ln_k, gains.travel);
    zone.ln_k_sampling_var = spread.sampling;
    zone.ln_k_between_var = spread.between;
    zone.ln_k_instrument_var = gains.travel;
    zone.ln_k_dof = spread.dof;
    if (spread.reason.find("point") != std::string::npos && !units.by_point)
      spread.reason = "one run: no scatter between runs";
    Parameter k{.key = zone.law == soil::ShearLaw::exponential ? "K" : "Kw",
                .meaning = "shear displacement modulus, geometric mean",
                .unit = "m",
                .estimate = detail::estimate_from_spread(centre, spread, detail::Scale::logarithmic),
                .average_soil_only = detail::soil_only(centre, spread, detail::Scale::logarithmic),
                .bootstrap = std::nullopt,
                .instrument_sd = *zone.shear_modulus_m * std::sqrt(gains.travel),
                .basis = fmt::format("{}, {}{}", soil::name(zone.law), hardpan::units::print_count(usable.size(), "run"),
                                     units.by_point ? " at " + hardpan::units::print_count(units.groups.size(), "point") : "")};
    if (const auto half = detail::bootstrap_half_width(ln_k, settings.seed, "K", settings.bootstrap_count)) {
      k.bootstrap = math::Interval{std::exp(centre - *half), std::exp(centre + *half)};
    }
    zone.parameters.push_back(std::move(k));
    if (result.columns.c.size() == ln_k.size() && zone.soil_line.dof > 0) {
      const double g = static_cast<double>(ln_k.size());
      const std::array<const std::vector<double>*, 2> column = {&result.columns.c, &result.columns.slope};
      for (std::size_t i = 0; i < 2; ++i) {
        double sum = 0;
        for (std::size_t m = 0; m < ln_k.size(); ++m)
          sum += ((*column[i])[m] - math::mean(*column[i])) * (ln_k[m] - centre);
        zone.between_strength_ln_k[i] = sum / zone.soil_line.dof;
        zone.cov_strength_ln_k[i] = zone.between_strength_ln_k[i] / g;
      }
    }
  }
  for (Parameter& p : zone.parameters) {  // bootstrap beside c and tan phi where points carry them
    const bool c = p.key == "c", t = p.key == "tan_phi";
    if ((!c && !t) || result.columns.c.empty() || (c && zone.soil_line.cohesion_at_zero)) continue;
    if (const auto half = detail::bootstrap_half_width(c ? result.columns.c : result.columns.slope, settings.seed,
                                                       p.key, settings.bootstrap_count)) {
      p.bootstrap = math::Interval{p.estimate.value - *half, p.estimate.value + *half};
      if (c && p.bootstrap->lo < 0) p.bootstrap->lo = 0;
    }
  }

  if (!zone.metal_runs.empty()) {
    std::vector<const ShearRun*> metal;
    for (const ShearRun& run : zone.metal_runs) {
      if (run.strength_pa > 0) metal.push_back(&run);
    }
    LineResult on_metal = strength_line(metal);
    add_instrument(on_metal.line, gains_of(curves, instruments, true, zone.remarks));
    zone.metal_line = on_metal.line;
    if (on_metal.line.ok())
      add_line_parameters(zone.parameters, on_metal,
                          "smooth metal on soil: " + words(on_metal.line, soil::ShearLaw::exponential), true, settings.output_units);
    else zone.not_identified.push_back(fmt::format("adhesion and delta on smooth metal: {}", on_metal.line.status));
  }
  zone.status = zone.soil_line.ok() ? std::string(math::kStatusOk)
                : zone.runs.empty() ? "no run of soil on soil"
                                    : zone.soil_line.status;
  return zone;
}

}  // namespace hardpan::records
