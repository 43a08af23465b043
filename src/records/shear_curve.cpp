// SPDX-License-Identifier: Apache-2.0
#include "records/shear_curve.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/core.h>

#include "math/statistics.hpp"
#include "units/print.hpp"

namespace hardpan::records {

double ring_stress_pa(double torque_n_m, double inner_radius_m, double outer_radius_m) {
  return 3 * torque_n_m / (2 * std::numbers::pi * (std::pow(outer_radius_m, 3) - std::pow(inner_radius_m, 3)));
}

double ring_area_m2(double inner_radius_m, double outer_radius_m) {
  return std::numbers::pi * (outer_radius_m * outer_radius_m - inner_radius_m * inner_radius_m);
}

double ring_shear_radius_m(double ri, double ro) {
  return 0.75 * (std::pow(ro, 4) - std::pow(ri, 4)) / (std::pow(ro, 3) - std::pow(ri, 3));
}

double ring_unit_torque_m3(double angle_rad, double k_m, double ri, double ro) {
  const double k = angle_rad / k_m;
  double integral = 0;  // of r^2 (1 - e^(-k r)) from ri to ro
  if (k * ro < 0.5) {
    // Below, the closed form loses digits like (k ro)^-3: the series of 1 - e^(-k r) instead, whose
    // thirteenth term is below 1e-14 of the first.
    double power = 1, sign = 1;
    for (int m = 1; m <= 14; ++m) {
      power *= k / m;
      integral += sign * power * (std::pow(ro, m + 3) - std::pow(ri, m + 3)) / (m + 3);
      sign = -sign;
    }
  } else {
    const auto tail = [k](double r) { return std::exp(-k * r) * (r * r / k + 2 * r / (k * k) + 2 / (k * k * k)); };
    integral = (std::pow(ro, 3) - std::pow(ri, 3)) / 3 + tail(ro) - tail(ri);
  }
  return 2 * std::numbers::pi * integral;
}

const char* name(ShearMark mark) {
  switch (mark) {
    case ShearMark::kept: return "kept";
    case ShearMark::before_contact: return "before the tool takes hold";
    case ShearMark::reversed: return "turned back";
    case ShearMark::not_finite: return "not a number";
    case ShearMark::outside_window: return "outside the window";
  }
  return "unknown";
}

namespace {

struct Geometry {
  double stress_per_effort = 0;  // [1/m3] for a torque, [1/m2] for a force
  double travel_factor = 0;      // displacement over travel
  double area_m2 = 0;
};

std::optional<Geometry> geometry_of(const ShearTest& test, const Instrument* instrument, units::OutputUnits u, ShearCurve& curve) {
  const auto both = [&](double a_m, const char* between, double b_m) {
    const units::Unit unit = units::output_unit(std::min(a_m, b_m), units::Dimension::length, u);
    return fmt::format("{:.4g}{}{:.4g} {}", units::from_si(a_m, unit), between, units::from_si(b_m, unit), unit.spelling);
  };
  const auto or_instrument = [&](const std::optional<double>& own, std::optional<double> Instrument::*member) {
    return own ? own : instrument ? instrument->*member : std::optional<double>();
  };
  Geometry out;
  if (test.tool == ShearTool::ring) {
    const auto ri = or_instrument(test.inner_radius_m, &Instrument::ring_inner_radius_m);
    const auto ro = or_instrument(test.outer_radius_m, &Instrument::ring_outer_radius_m);
    if (!ri || !ro || !(*ri >= 0) || !(*ro > *ri)) {
      curve.status = "the ring's inner and outer radius are not known";
      return std::nullopt;
    }
    curve.inner_radius_m = *ri;
    curve.outer_radius_m = *ro;
    out.stress_per_effort = ring_stress_pa(1, *ri, *ro);
    out.travel_factor = ring_shear_radius_m(*ri, *ro);
    out.area_m2 = ring_area_m2(*ri, *ro);
    curve.geometry = fmt::format("ring {}, displacement at the torque-weighted radius {}", both(*ri, " to ", *ro),
                                 units::print_quantity(out.travel_factor, units::Dimension::length, u, 4));
    return out;
  }
  const auto length = or_instrument(test.length_m, &Instrument::shear_length_m);
  const auto width = or_instrument(test.width_m, &Instrument::shear_width_m);
  if (!length || !width || !(*length > 0) || !(*width > 0)) {
    curve.status = "length and width of the shear plate or box are not known";
    return std::nullopt;
  }
  out.area_m2 = *length * *width;
  out.stress_per_effort = 1 / out.area_m2;
  out.travel_factor = 1;
  curve.geometry = fmt::format("{} {}, area at the start", test.tool == ShearTool::box ? "box" : "plate", both(*length, " by ", *width));
  return out;
}

}  // namespace

ShearCurve clean_shear(const ShearTest& test, const Instrument* instrument, const GroundSettings& settings) {
  ShearCurve curve;
  curve.source = test.source;
  curve.tool = test.tool;
  curve.smooth_metal = test.smooth_metal;
  const std::size_t n = std::min(test.travel.size(), test.effort.size());
  curve.line = test.line;
  curve.line.resize(n, 0);
  curve.mark.assign(n, ShearMark::kept);
  curve.displacement_m.assign(n, 0);
  curve.stress_pa.assign(n, 0);
  const std::optional<Geometry> geometry = geometry_of(test, instrument, settings.output_units, curve);
  if (!geometry) return curve;
  curve.normal_stress_pa = test.vertical_load_n / geometry->area_m2;
  SetAside broken{"cell is not a number", {}}, back{"turned back behind the largest displacement", {}};
  double farthest = 0;
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < n; ++i) {
    if (!std::isfinite(test.travel[i]) || !std::isfinite(test.effort[i])) {
      curve.mark[i] = ShearMark::not_finite;
      broken.lines.push_back(curve.line[i]);
      continue;
    }
    curve.displacement_m[i] = geometry->travel_factor * test.travel[i];
    curve.stress_pa[i] = geometry->stress_per_effort * test.effort[i];
    rows.push_back(i);
    farthest = std::max(farthest, curve.displacement_m[i]);
  }
  if (settings.cleaning && rows.size() >= 3) {
    // Leading rows without stress: slack of the drive. The last of them is displacement zero.
    double largest = 0;
    for (const std::size_t i : rows) largest = std::max(largest, curve.stress_pa[i]);
    std::size_t k = 0;
    while (k < rows.size() && curve.stress_pa[rows[k]] <= 0.01 * largest) ++k;
    if (k > 1 && k < rows.size()) {
      const double zero = curve.displacement_m[rows[k - 1]];
      for (const std::size_t i : rows) curve.displacement_m[i] -= zero;
      for (std::size_t m = 0; m + 1 < k; ++m) curve.mark[rows[m]] = ShearMark::before_contact;
      farthest -= zero;
    }
    // Turned back by more than a hundredth of the whole travel.
    double reached = -std::numeric_limits<double>::infinity();
    for (const std::size_t i : rows) {
      if (curve.displacement_m[i] < reached - 0.01 * farthest) {
        curve.mark[i] = ShearMark::reversed;
        back.lines.push_back(curve.line[i]);
      }
      reached = std::max(reached, curve.displacement_m[i]);
    }
  }
  for (const std::size_t i : rows) {
    if (curve.mark[i] != ShearMark::kept) continue;
    if (curve.displacement_m[i] < 0) curve.mark[i] = ShearMark::before_contact;
    if (settings.shear_window_to_m && curve.displacement_m[i] > *settings.shear_window_to_m * (1 + 1e-12)) {
      curve.mark[i] = ShearMark::outside_window;
    }
  }
  if (!broken.lines.empty()) curve.set_aside.push_back(std::move(broken));
  if (!back.lines.empty()) curve.set_aside.push_back(std::move(back));
  const auto kept = std::count(curve.mark.begin(), curve.mark.end(), ShearMark::kept);
  curve.status = kept >= 3 ? math::kStatusOk : "fewer than three readings left";
  if (!(curve.normal_stress_pa > 0)) curve.status = "the vertical load is not known";
  return curve;
}

}  // namespace hardpan::records
