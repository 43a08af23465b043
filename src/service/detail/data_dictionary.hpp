// SPDX-License-Identifier: Apache-2.0
// The data dictionary of a sealed campaign: name, unit and meaning of every column of its tables, then the keys of results.json.
#pragma once

#include <string>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::service::detail {

// Of the tables and traces among `files` (relative to the folder), as their heading lines stand; empty where there are none.
[[nodiscard]] std::string dictionary_of_tables(const std::string& folder, const std::vector<std::string>& files, base::Problems& problems);

}  // namespace hardpan::service::detail
