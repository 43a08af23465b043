// SPDX-License-Identifier: Apache-2.0
// requirements.toml to requirements; docs/guide/campaign-files.md describes the keys.
#pragma once

#include <string>
#include <vector>

#include "base/problems.hpp"
#include "validation/requirement.hpp"

namespace hardpan::formats {

[[nodiscard]] std::vector<validation::Requirement> read_requirements(const std::string& path,
                                                                     const std::string& name_for_messages,
                                                                     base::Problems& problems);

}  // namespace hardpan::formats
