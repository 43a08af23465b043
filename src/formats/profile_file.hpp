// SPDX-License-Identifier: Apache-2.0
// Ground in side view from a sheet: columns "x" and "z" (or "distance" and "height") with units, in the order of travel.
#pragma once

#include <optional>
#include <string>

#include "performance/profile.hpp"

namespace hardpan::formats {

// Refuses what the sheet reader and Profile::from_points refuse, with the line of the point.
[[nodiscard]] std::optional<performance::Profile> read_profile(const std::string& path, const std::string& name_for_messages, base::Problems& problems);

}  // namespace hardpan::formats
