// SPDX-License-Identifier: Apache-2.0
// Products and quotients of allow-listed names: kN/m^3, lbf/in2, N s/m, mV/V, (N m)/deg. Exponents
// are whole numbers. A multiplication after a slash is refused unless brackets say what is meant.
#pragma once

#include <string_view>

#include "units/unit.hpp"

namespace hardpan::units::detail {

// Empty error and no unit: some name in it is not on the list, try elsewhere.
[[nodiscard]] UnitLookup read_compound(std::string_view plain);

}  // namespace hardpan::units::detail
