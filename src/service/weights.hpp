// SPDX-License-Identifier: Apache-2.0
// Quick answer: where batteries and payload should sit, and what that changes.
#pragma once

#include <optional>
#include <string>

#include "base/problems.hpp"
#include "io/json.hpp"
#include "performance/placement.hpp"
#include "service/quick.hpp"

namespace hardpan::service {

struct WeightsRequest {
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  std::optional<SoilRequest> soil;            // with it the steepest climb too
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  std::optional<double> slip_ratio;           // working slip; that of the vehicle, or 0.2
};
struct WeightsResult {
  vehicle::Vehicle vehicle;
  std::optional<soil::NamedSoil> soil;
  double working_slip_ratio = 0.2;
  performance::Trade trade;
  base::Problems remarks;                     // of the files read
};
// Throws InputError with everything that is missing or impossible; a vehicle without movable payload is refused.
[[nodiscard]] WeightsResult weights(const WeightsRequest& request);
[[nodiscard]] io::Json weights_json(const WeightsResult& result);
[[nodiscard]] io::Json trade_json(const performance::Trade& trade, const vehicle::Vehicle& vehicle);

}  // namespace hardpan::service
