// SPDX-License-Identifier: Apache-2.0
// The predict step's answers about vehicles that no soil enters: one VehicleResult a vehicle of the campaign.
#pragma once

#include "campaign/results.hpp"

namespace hardpan::service {

void answer_vehicles(campaign::Results& results);

}  // namespace hardpan::service
