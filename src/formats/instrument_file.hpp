// SPDX-License-Identifier: Apache-2.0
// instruments.toml to instruments; docs/guide/campaign-files.md describes the keys.
#pragma once

#include <string>
#include <vector>

#include "base/problems.hpp"
#include "records/instrument.hpp"

namespace hardpan::formats {

[[nodiscard]] std::vector<records::Instrument> read_instruments(const std::string& path, const std::string& name_for_messages,
                                                                base::Problems& problems);

}  // namespace hardpan::formats
