// SPDX-License-Identifier: Apache-2.0
#include "records/ground.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <set>

#include <fmt/core.h>
#include <fmt/ranges.h>

#include "math/statistics.hpp"
#include "records/detail/ground_steps.hpp"
#include "records/detail/plate_joint.hpp"

namespace hardpan::records {
namespace {

const Instrument* instrument_of(const GroundRecords& records, const TestSource& source) {
  for (const Instrument& instrument : records.instruments) {
    if (instrument.id == source.instrument) return &instrument;
  }
  return nullptr;
}

// ln p of a push at a depth by its own robust line.
std::optional<double> level_of(const PlateCurve& curve, double depth_m, double relative_error) {
  detail::Push push;
  push.readings = detail::condense(curve);
  if (push.readings.size() < 2) return std::nullopt;
  detail::weigh_readings(push, depth_m, relative_error, 0);
  return push.own_ln_p;
}

std::optional<double> middle_depth(const std::vector<const PlateCurve*>& curves) {
  std::vector<double> ln_z;
  for (const PlateCurve* curve : curves) {
    double lo = 1e300, hi = 0;
    for (std::size_t i = 0; i < curve->mark.size(); ++i) {
      if (curve->mark[i] != Mark::kept) continue;
      lo = std::min(lo, curve->depth_m[i]);
      hi = std::max(hi, curve->depth_m[i]);
    }
    if (hi > 0) ln_z.push_back(0.5 * (std::log(lo) + std::log(hi)));
  }
  if (ln_z.empty()) return std::nullopt;
  return std::exp(math::median(ln_z));
}

// "2026-04-12 10:40" of seconds since 1970, as TestSource::clock_s counts them.
std::string clock_text(double clock_s) {
  const auto minutes = std::chrono::floor<std::chrono::minutes>(std::chrono::sys_seconds(std::chrono::seconds(std::llround(clock_s))));
  const auto day = std::chrono::floor<std::chrono::days>(minutes);
  const std::chrono::year_month_day date(day);
  const auto of_day = (minutes - day).count();
  return fmt::format("{:04}-{:02}-{:02} {:02}:{:02}", static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                     static_cast<unsigned>(date.day()), of_day / 60, of_day % 60);
}

Drift drift_of(const GroundRecords& records, GroundResult& result, const GroundSettings& settings) {
  std::vector<const PlateCurve*> at_reference;
  std::string zone;
  for (const PlateCurve& curve : result.plate_curves) {
    if (records.reference_point.empty() || curve.source.point != records.reference_point || !curve.source.clock_s) continue;
    at_reference.push_back(&curve);
    zone = curve.source.zone;
  }
  const std::optional<double> depth = middle_depth(at_reference);
  std::vector<ReferenceReading> readings;
  for (const PlateCurve* curve : at_reference) {
    if (const auto level = depth ? level_of(*curve, *depth, settings.relative_error) : std::nullopt) {
      readings.push_back({curve->source.id, *curve->source.clock_s, *level, curve->plate.width_m()});
    }
  }
  Drift drift = find_drift(std::move(readings));
  if (drift.verdict != DriftVerdict::trend || !settings.correct_drift) return drift;
  std::size_t without_time = 0;
  for (PlateCurve& curve : result.plate_curves) {
    if (curve.source.zone != zone) continue;
    if (!curve.source.clock_s) {
      ++without_time;
      continue;
    }
    curve.drift_ln_p = drift.slope_per_hour->value * (*curve.source.clock_s - drift.middle_clock_s) / 3600;
  }
  drift.corrected = true;
  drift.statement += fmt::format("; pushes of zone \"{}\" are brought to {}", zone, clock_text(drift.middle_clock_s));
  if (without_time > 0) drift.statement += fmt::format(" ({} without a time are not)", without_time);
  return drift;
}

std::vector<OperatorPair> operators_of(const std::vector<const PlateCurve*>& curves, const GroundSettings& settings) {
  const std::optional<double> depth = middle_depth(curves);
  std::vector<OperatorReading> readings;
  for (const PlateCurve* curve : curves) {
    if (const auto level = depth ? level_of(*curve, *depth, settings.relative_error) : std::nullopt) {
      readings.push_back({curve->source.operator_name, curve->source.point, *level, curve->plate.width_m()});
    }
  }
  return compare_operators(readings);
}

template <class Tests>
void see_zones(const Tests& tests, std::vector<std::string>& zones) {
  for (const auto& test : tests) {
    if (std::find(zones.begin(), zones.end(), test.source.zone) == zones.end()) zones.push_back(test.source.zone);
  }
}

template <class Test>
std::vector<const Test*> of_zone(const std::vector<Test>& tests, const std::string& zone) {
  std::vector<const Test*> out;
  for (const Test& test : tests) {
    if (test.source.zone == zone) out.push_back(&test);
  }
  return out;
}

ZoneGround reduce_zone(const std::string& zone, const GroundRecords& records, GroundResult& result,
                       const GroundSettings& settings_of_all) {
  GroundSettings settings = settings_of_all;
  if (const auto own = settings.layer_by_zone.find(zone); own != settings.layer_by_zone.end()) settings.layer = own->second;
  ZoneGround out;
  out.zone = zone;
  std::vector<PlateCurve*> plates;
  for (PlateCurve& curve : result.plate_curves) {
    if (curve.source.zone == zone) plates.push_back(&curve);
  }
  if (!plates.empty()) {
    out.plates = reduce_plates(plates, records.instruments, settings);
    out.operators = operators_of({plates.begin(), plates.end()}, settings);
  }
  const std::vector<const ShearCurve*> shears = of_zone(result.shear_curves, zone);
  if (!shears.empty()) out.shear = reduce_shears(shears, records.instruments, settings);
  const std::vector<const ConeProfile*> cones = of_zone(result.cone_profiles, zone);
  if (!cones.empty()) out.cones = reduce_cones(cones, records.instruments, settings);
  const auto reposes = of_zone(records.reposes, zone);
  const auto densities = of_zone(records.densities, zone);
  const auto moistures = of_zone(records.moistures, zone);
  if (!reposes.empty() || !densities.empty() || !moistures.empty()) out.bulk = reduce_bulk(reposes, densities, moistures);
  detail::note_sources(records, zone, out);
  detail::note_tested_range(result, settings, zone, out);
  detail::make_soil(records, settings, out);
  detail::give_advice(settings, out);
  return out;
}

}  // namespace

GroundResult reduce_ground(const GroundRecords& records, const GroundSettings& settings, base::Problems& problems) {
  GroundResult result;
  result.settings = settings;
  detail::check_records(records, settings.output_units, problems);
  for (const PlateTest& test : records.plates) {
    result.plate_curves.push_back(clean_plate(test, instrument_of(records, test.source), settings));
  }
  for (const PlateCurve& curve : result.plate_curves)
    result.plate_layers.push_back(settings.cleaning ? find_layers(curve) : PushLayers{});
  for (const ShearTest& test : records.shears) {
    result.shear_curves.push_back(clean_shear(test, instrument_of(records, test.source), settings));
  }
  std::vector<const ConeTest*> cones;
  for (const ConeTest& test : records.cones) {
    cones.push_back(&test);
    result.cone_profiles.push_back(reduce_cone(test, instrument_of(records, test.source), settings));
  }
  result.cone_consistency = check_drop_cones(cones, records.instruments, settings.output_units);
  result.drift = drift_of(records, result, settings);
  std::vector<std::string> zones;
  see_zones(records.plates, zones);
  see_zones(records.shears, zones);
  see_zones(records.cones, zones);
  see_zones(records.reposes, zones);
  see_zones(records.densities, zones);
  see_zones(records.moistures, zones);
  for (const std::string& zone : zones) result.zones.push_back(reduce_zone(zone, records, result, settings));
  detail::report_problems(records, result, problems);
  return result;
}

}  // namespace hardpan::records
