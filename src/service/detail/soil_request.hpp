// SPDX-License-Identifier: Apache-2.0
// What quick answers share about the soil they are asked for.
#pragma once

#include "base/problems.hpp"
#include "io/json.hpp"
#include "service/quick.hpp"
#include "soil/textbook.hpp"

namespace hardpan::service::detail {

// The soil of the table or of a file with the values given in place of its own; refuses what is unknown or impossible.
[[nodiscard]] soil::NamedSoil resolve(const SoilRequest& request, base::Problems& problems);
[[nodiscard]] io::Json soil_json(const soil::NamedSoil& soil);

// A slope that is needed, as --need gives it: above 0, below 90 deg.
void check_needed_slope(const std::optional<double>& needed_rad, base::Problems& problems);

}  // namespace hardpan::service::detail
