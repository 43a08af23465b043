// SPDX-License-Identifier: Apache-2.0
// The number at the start of a text, and how far it reaches.
#pragma once

#include "units/number_text.hpp"

namespace hardpan::units::detail {

struct NumberScan {
  NumberText number;     // number or refused
  std::size_t used = 0;  // characters of the text that belong to it, when it is a number
};
// plain: as from plain_text().
[[nodiscard]] NumberScan scan_number(std::string_view plain, DecimalSign sign);

}  // namespace hardpan::units::detail
