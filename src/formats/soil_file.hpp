// SPDX-License-Identifier: Apache-2.0
// soils/NAME.toml to a checked soil with its source; docs/guide/campaign-files.md describes the keys.
#pragma once

#include <optional>
#include <string>

#include "base/problems.hpp"
#include "soil/soil.hpp"

namespace hardpan::formats {

[[nodiscard]] std::optional<soil::NamedSoil> read_soil(const std::string& path, const std::string& name_for_messages,
                                                       base::Problems& problems);
// "textbook:ID" or a path relative to `folder`.
[[nodiscard]] std::optional<soil::NamedSoil> find_soil(const std::string& reference, const std::string& folder,
                                                       const base::Place& place, base::Problems& problems);

}  // namespace hardpan::formats
