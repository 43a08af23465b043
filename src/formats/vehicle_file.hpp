// SPDX-License-Identifier: Apache-2.0
// vehicles/NAME.toml to a checked vehicle; docs/guide/campaign-files.md describes the keys.
#pragma once

#include <optional>
#include <string>

#include "base/problems.hpp"
#include "units/print.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::formats {

// gravity: for the check of scale weights. Nothing when the file cannot be read at all; a vehicle with
// refusals in `problems` must not be used.
[[nodiscard]] std::optional<vehicle::Vehicle> read_vehicle(const std::string& path, const std::string& name_for_messages,
                                                           double gravity_m_s2, base::Problems& problems,
                                                           units::OutputUnits message_units = units::OutputUnits::si);

// What the file calls a key of the vehicle checks: "axle[2].position_x" is "axle[2].ahead_of_rear_axle".
[[nodiscard]] std::string vehicle_key_of_file(std::string key);

}  // namespace hardpan::formats
