// SPDX-License-Identifier: Apache-2.0
// Slopes on any heading for one vehicle on one ground, and their JSON.
#pragma once

#include "campaign/results.hpp"
#include "io/json.hpp"

namespace hardpan::service {

// Twelve headings; the first 20 possible soils at most.
[[nodiscard]] campaign::SlopesResult slopes_of_pair(const vehicle::Vehicle& vehicle, const performance::Placed& placed, const performance::Ground& ground, double working_slip);
[[nodiscard]] io::Json slopes_json(const campaign::SlopesResult& slopes);
[[nodiscard]] io::Json reach_json(const performance::HeadingReach& reach);

}  // namespace hardpan::service
