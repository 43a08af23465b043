// SPDX-License-Identifier: Apache-2.0
// Results of each vehicle that no soil enters.
#include "report/detail/parts.hpp"

namespace hardpan::report::detail {

void whole_vehicle_part(Sheet& s) {
  for (const campaign::VehicleResult& v : s.results.vehicles) {
    s.page.heading(3, vehicle_name(s.results, v.vehicle) + " by itself", "vehicle-" + v.vehicle);
  }
}

}  // namespace hardpan::report::detail
