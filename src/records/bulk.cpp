// SPDX-License-Identifier: Apache-2.0
#include "records/bulk.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/core.h>

#include "math/statistics.hpp"
#include "units/count.hpp"

namespace hardpan::records {

const char* name(ReposeKind kind) {
  switch (kind) {
    case ReposeKind::poured_pile: return "angle of a poured pile";
    case ReposeKind::slip_face: return "angle of a slip face";
    case ReposeKind::slide_start: return "angle that starts a slide";
  }
  return "unknown";
}

BulkValue repose_angle(const ReposeTest& test) {
  BulkValue out{.test = test.source.id, .point = test.source.point, .value = test.angle_rad, .sd = test.angle_sd_rad};
  if (test.kind == ReposeKind::poured_pile && test.height_m && test.base_diameter_m) {
    out.value = std::atan2(2 * *test.height_m, *test.base_diameter_m);  // tan phi_r = 2 h / d
  }
  out.usable = out.value > 0 && out.value < std::numbers::pi / 2;
  out.status = out.usable ? math::kStatusOk : "not an angle between level and upright";
  return out;
}

BulkValue bulk_density(const DensityTest& test) {
  BulkValue out{.test = test.source.id,
                .point = test.source.point,
                .value = test.mass_kg / test.volume_m3,
                .sd = std::nullopt,
                .depth_m = test.depth_m};
  out.usable = test.mass_kg > 0 && test.volume_m3 > 0;
  out.status = out.usable ? math::kStatusOk : "mass or volume is not positive";
  if (out.usable && (test.mass_sd_kg || test.volume_sd_m3)) {
    out.sd = out.value *
             std::hypot(test.mass_sd_kg.value_or(0) / test.mass_kg, test.volume_sd_m3.value_or(0) / test.volume_m3);
  }
  return out;
}

BulkValue gravimetric_moisture(const MoistureTest& test) {
  const double water = test.wet_kg - test.dry_kg, solid = test.dry_kg - test.tare_kg;
  BulkValue out{.test = test.source.id,
                .point = test.source.point,
                .value = water / solid,
                .sd = std::nullopt,
                .depth_m = test.depth_m};
  out.usable = solid > 0 && water >= 0;
  out.status = out.usable  ? math::kStatusOk
               : solid > 0 ? "dry weighs more than wet"
                           : "dry soil does not weigh more than its tin";
  if (out.usable && test.scale_sd_kg) {
    // w = (m_w - m_d) / (m_d - m_t): derivatives 1/s, -(1 + w)/s, w/s with s the dry soil.
    out.sd = *test.scale_sd_kg / solid * std::sqrt(1 + (1 + out.value) * (1 + out.value) + out.value * out.value);
  }
  return out;
}

namespace {

// Means at points, then over points; the reading errors are inside the scatter already.
std::optional<Parameter> over_points(const std::vector<BulkValue>& values, const char* key, const char* meaning,
                                     const char* unit) {
  std::vector<std::string> points;
  std::vector<double> means, sd;
  std::size_t tests = 0;
  for (const BulkValue& v : values) {
    const std::string where = v.point.empty() ? v.test : v.point;
    if (v.usable && std::find(points.begin(), points.end(), where) == points.end()) points.push_back(where);
  }
  for (const std::string& where : points) {
    std::vector<double> here;
    for (const BulkValue& v : values) {
      if (!v.usable || (v.point.empty() ? v.test : v.point) != where) continue;
      here.push_back(v.value);
      ++tests;
      if (v.sd) sd.push_back(*v.sd);
    }
    means.push_back(math::mean(here));
  }
  if (means.empty()) return std::nullopt;
  Parameter p;
  p.key = key;
  p.meaning = meaning;
  p.unit = unit;
  p.estimate = math::estimate_from_points(means);
  p.average_soil_only = p.estimate.average_ground;
  p.basis = fmt::format("mean over points, {} at {}", units::print_count(tests, "test"), units::print_count(means.size(), "point"));
  if (!sd.empty()) p.basis += fmt::format("; reading errors of one test, propagated: {:.3g} {}", math::median(sd), unit);
  return p;
}

}  // namespace

BulkZone reduce_bulk(const std::vector<const ReposeTest*>& reposes, const std::vector<const DensityTest*>& densities,
                     const std::vector<const MoistureTest*>& moistures) {
  BulkZone zone;
  const auto take = [&](std::vector<BulkValue>& into, BulkValue value) {
    if (!value.usable) zone.remarks.push_back(fmt::format("{}: {}", value.test, value.status));
    into.push_back(std::move(value));
  };
  for (const ReposeTest* test : reposes) {
    std::vector<BulkValue>& into = test->kind == ReposeKind::poured_pile ? zone.poured_pile
                                   : test->kind == ReposeKind::slip_face ? zone.slip_face
                                                                         : zone.slide_start;
    take(into, repose_angle(*test));
  }
  for (const DensityTest* test : densities) take(zone.density, bulk_density(*test));
  for (const MoistureTest* test : moistures) take(zone.moisture, gravimetric_moisture(*test));
  const auto add = [&](const std::vector<BulkValue>& values, const char* key, const char* meaning, const char* unit) {
    std::optional<Parameter> p = over_points(values, key, meaning, unit);
    if (p) zone.parameters.push_back(*p);
    return p;
  };
  add(zone.poured_pile, "poured pile", name(ReposeKind::poured_pile), "rad");
  add(zone.slip_face, "slip face", name(ReposeKind::slip_face), "rad");
  add(zone.slide_start, "slide start", name(ReposeKind::slide_start), "rad");
  if (const auto p = add(zone.density, "bulk density", "bulk density, moist", "kg/m^3"))
    zone.density_kg_m3 = p->estimate.value;
  if (const auto p = add(zone.moisture, "moisture", "water over dry soil, by mass", "1")) {
    zone.moisture_ratio = p->estimate.value;
    math::Interval range{1e9, -1e9};
    for (const BulkValue& v : zone.moisture) {
      if (v.usable) range = {std::min(range.lo, v.value), std::max(range.hi, v.value)};
    }
    zone.moisture_range = range;
  }
  return zone;
}

}  // namespace hardpan::records
