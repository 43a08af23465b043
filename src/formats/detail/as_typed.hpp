// SPDX-License-Identifier: Apache-2.0
// Values in refusals as the file has them. Checks below the readers see numbers in SI: "-36" where "-36 kg" was typed.
#pragma once

#include <string>

#include "io/toml.hpp"

namespace hardpan::formats::detail {

// Whether `shown`, a number with or without its unit, is the value that stands in the file, to the digits shown.
[[nodiscard]] bool same_value(const io::TomlValue& typed, const std::string& shown);

}  // namespace hardpan::formats::detail
