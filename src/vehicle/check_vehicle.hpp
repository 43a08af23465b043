// SPDX-License-Identifier: Apache-2.0
// check_vehicle of vehicle.hpp with its messages in the units of a campaign: scale weights were read in pounds there. Bounds that
// only catch a wrong unit (a wheel of 5 m radius) stay in SI.
#pragma once

#include "units/print.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::vehicle {

void check_vehicle_in(units::OutputUnits units, const Vehicle& vehicle, double gravity_m_s2, const base::Place& place,
                      base::Problems& problems);

}  // namespace hardpan::vehicle
