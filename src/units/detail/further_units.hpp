// SPDX-License-Identifier: Apache-2.0
// Units beyond the allow-list, from the UDUNITS-2 tables, which are read on the first call.
//
// Left alone that library reads "mph" as milli-phot, "PS" as petasiemens, "mat" as a thousandth of
// a technical atmosphere and "kPa/m^0.9" as 9 kPa. So it is only asked for text made of whole names
// that it lists itself (three letters or more, no prefix glued to a symbol) or of our own, which are
// handed over as numbers of SI units, with whole exponents and no other number. Its answer is used
// only when it is linear and of a dimension this program knows.
#pragma once

#include <optional>
#include <string_view>

#include "units/unit.hpp"

namespace hardpan::units::detail {

struct FurtherUnit {
  std::optional<Unit> unit;
  bool tables_missing = false;  // libudunits2-data is not installed
};
[[nodiscard]] FurtherUnit find_further_unit(std::string_view plain);
[[nodiscard]] bool further_units_loaded();  // for the test that nothing is read too early

}  // namespace hardpan::units::detail
