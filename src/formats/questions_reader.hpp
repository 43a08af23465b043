// SPDX-License-Identifier: Apache-2.0
// [remote], [[compare]], [[study]], [[ride]], [other_gravity], [[endurance]], [[boulders]] and [[turn]] of campaign.toml; docs/guide/campaign-files.md describes the keys.
#pragma once

#include <optional>
#include <string>

#include "campaign/campaign.hpp"
#include "io/toml.hpp"

namespace hardpan::formats {

// Refuses values out of range and names that the campaign, read so far but for these, does not have.
[[nodiscard]] campaign::Questions read_questions(const campaign::Campaign& campaign, const io::TomlTable& root, base::Problems& problems);

// "wheel diameter: 0.4 m to 1.0 m in 7": seven values with both ends; 7 where no number is given.
[[nodiscard]] std::optional<performance::Variation> parse_variation(const std::string& text, const base::Place& place, base::Problems& problems);

}  // namespace hardpan::formats
