// SPDX-License-Identifier: Apache-2.0
// The predict step's answers about vehicles that no soil enters: one VehicleResult a vehicle of the campaign.
#pragma once

#include "campaign/results.hpp"
#include "io/json.hpp"

namespace hardpan::service {

void answer_vehicles(campaign::Results& results);
[[nodiscard]] io::Json vehicle_alone_json(const campaign::VehicleResult& result, const campaign::Campaign& campaign);
[[nodiscard]] io::Json tip_direction_json(const performance::TipDirection& direction, const std::vector<std::string>& bodies);

}  // namespace hardpan::service
