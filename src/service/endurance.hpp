// SPDX-License-Identifier: Apache-2.0
// Quick answer: how far a vehicle gets on a drive profile, one soil a ground, without interval. The campaign answers over possible soils.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "io/json.hpp"
#include "performance/endurance.hpp"
#include "service/quick.hpp"

namespace hardpan::service {

struct EnduranceRequest {
  SoilRequest soil;                              // of rows that name no ground; others name a built-in soil or a soil file
  std::string vehicle_file, trip_file;
  double gravity_m_s2 = 0;
  std::optional<double> battery_j;               // the vehicle's own where absent
  std::optional<double> temperature_k;           // with derating
  std::vector<performance::DeratingRow> derating;
  double reserve_ratio = 0, start_ratio = 1;
  bool and_back = false;                         // the same way back
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
};
struct EnduranceResult {
  std::string vehicle;
  std::vector<performance::TripRow> rows;
  std::vector<soil::NamedSoil> grounds;          // of TripRow::ground
  double battery_j = 0, usable_ratio = 1;        // stated, and the share at the temperature
  performance::TripSettings settings;
  performance::Trip trip;
  base::Problems remarks;
};
// Throws InputError.
[[nodiscard]] EnduranceResult endurance(const EnduranceRequest& request);
[[nodiscard]] io::Json endurance_json(const EnduranceResult& result);
[[nodiscard]] io::Json trip_json(const performance::Trip& trip, const std::vector<performance::TripRow>& rows);

}  // namespace hardpan::service
