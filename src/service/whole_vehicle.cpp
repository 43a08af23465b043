// SPDX-License-Identifier: Apache-2.0
#include "service/whole_vehicle.hpp"

namespace hardpan::service {

void answer_vehicles(campaign::Results& results) {
  for (const vehicle::Vehicle& v : results.campaign.vehicles) {
    campaign::VehicleResult r{.vehicle = v.id};
    results.vehicles.push_back(std::move(r));
  }
}

}  // namespace hardpan::service
