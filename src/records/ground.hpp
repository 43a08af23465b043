// SPDX-License-Identifier: Apache-2.0
// Ground records to soils with uncertainty: the first arrow of the job.
//
// What is wrong with a record is appended to `problems`: a refusal where nothing can be computed
// from it, a remark where readings were set aside or a parameter cannot be identified. Everything
// that was computed travels in the result with its own verdict. Method: docs/theory/ground.md.
//
//   base::Problems problems;
//   GroundResult ground = reduce_ground(records, {}, problems);
//   for (const ZoneGround& zone : ground.zones)
//     if (zone.soil) use(*zone.soil); else say(zone.reason_without);
#pragma once

#include <string>
#include <vector>

#include "base/problems.hpp"
#include "records/advice.hpp"
#include "records/bulk.hpp"
#include "records/cone.hpp"
#include "records/drift.hpp"
#include "records/ground_records.hpp"
#include "records/ground_settings.hpp"
#include "records/plate_zone.hpp"
#include "records/shear_zone.hpp"
#include "soil/possible_soils.hpp"

namespace hardpan::records {

// What was tested, for the extrapolation guard of every prediction.
struct TestedRange {
  std::optional<math::Interval> pressure_pa, sinkage_m, plate_width_m;   // plates
  std::optional<math::Interval> normal_stress_pa, shear_travel_m;        // shear runs
  // The law holds only below a crust or a layer: the lower ends of pressure and sinkage are bounds, not
  // the first reading of a push that began at zero.
  bool law_starts_below_layer = false;
  std::optional<double> weakest_crust_pa;  // least strength of the crusts of its pushes, where the zone has a crust
};

struct ZoneGround {
  std::string zone;               // "" where records name none
  std::optional<PlateZone> plates;
  std::optional<ShearZone> shear;
  std::vector<ConeZone> cones;    // one a cone population
  std::optional<BulkZone> bulk;
  std::vector<OperatorPair> operators;
  std::vector<Advice> advice;
  TestedRange tested;
  // The zone's soil, whole or in part: centre.bearing or centre.shear may be absent, and a part
  // without scatter (dof 0) has no interval. Absent altogether only with a reason.
  std::optional<soil::SoilDistribution> soil;
  std::string reason_without;     // why there is no soil, or which part it lacks; may stand beside a soil
  std::vector<std::string> downgrades;  // instruments and records to be trusted less, by name
  std::string dates;              // first and last date of its tests
  std::vector<std::string> plate_files, shear_files;  // that its soil was made from
  std::vector<std::string> remarks;
};

struct GroundResult {
  std::vector<ZoneGround> zones;          // in the order zones first appear
  std::vector<PlateCurve> plate_curves;   // one a plate test, in the order of the records
  std::vector<PushLayers> plate_layers;   // beside plate_curves
  std::vector<ShearCurve> shear_curves;
  std::vector<ConeProfile> cone_profiles;
  ConeConsistency cone_consistency;
  Drift drift;
  GroundSettings settings;                // those used
};

[[nodiscard]] GroundResult reduce_ground(const GroundRecords& records, const GroundSettings& settings,
                                         base::Problems& problems);

// Downgrades of an instrument by name: calibration past due on `date` (ISO), a failed span check,
// a calibration that states no uncertainty.
[[nodiscard]] std::vector<std::string> instrument_downgrades(const Instrument& instrument,
                                                             const std::string& date);

}  // namespace hardpan::records
