// SPDX-License-Identifier: Apache-2.0
// Repose, bulk density and moisture with propagated errors.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "records/ground_records.hpp"
#include "records/ground_settings.hpp"

namespace hardpan::records {

[[nodiscard]] const char* name(ReposeKind kind);

// One test: the value and the standard deviation its own reading errors give.
struct BulkValue {
  std::string test, point;
  double value = 0;
  std::optional<double> sd;     // propagated; absent when no reading error was stated
  std::optional<double> depth_m;
  bool usable = true;
  std::string status;
};

struct BulkZone {
  std::vector<BulkValue> poured_pile, slip_face, slide_start;  // angles [rad], three different numbers
  std::vector<BulkValue> density, moisture;                    // kg/m3; kg water a kg dry soil
  std::vector<Parameter> parameters;  // one a kind that was measured
  std::optional<double> density_kg_m3;
  std::optional<double> moisture_ratio;
  std::optional<math::Interval> moisture_range;  // least and largest found
  std::vector<std::string> remarks;
};

[[nodiscard]] BulkValue repose_angle(const ReposeTest& test);
[[nodiscard]] BulkValue bulk_density(const DensityTest& test);
[[nodiscard]] BulkValue gravimetric_moisture(const MoistureTest& test);
[[nodiscard]] BulkZone reduce_bulk(const std::vector<const ReposeTest*>& reposes,
                                   const std::vector<const DensityTest*>& densities,
                                   const std::vector<const MoistureTest*>& moistures);

}  // namespace hardpan::records
