// SPDX-License-Identifier: Apache-2.0
// The built-in table of published soils: complete rows (n, kc, kphi, c, phi) only. Each row tells its
// source and whether it was read there or recalled from memory. None of them is the user's ground:
// an answer on one is headed "textbook soil, not your ground" and never says go.
#pragma once

#include <string_view>
#include <vector>

#include "soil/soil.hpp"

namespace hardpan::soil {

[[nodiscard]] const std::vector<NamedSoil>& textbook_soils();
// By id, exactly; nullptr when there is none.
[[nodiscard]] const NamedSoil* find_textbook_soil(std::string_view id);

}  // namespace hardpan::soil
