// SPDX-License-Identifier: Apache-2.0
// [[obstacle]] of campaign.toml; docs/guide/campaign-files.md describes the keys.
#pragma once

#include <vector>

#include "campaign/campaign.hpp"
#include "io/toml.hpp"

namespace hardpan::formats {

// Reads the profile sheets too. Refuses values out of range and names that the campaign, read so far, does not have.
[[nodiscard]] std::vector<campaign::ObstacleQuestion> read_obstacles(const campaign::Campaign& campaign, const io::TomlTable& root, base::Problems& problems);

}  // namespace hardpan::formats
