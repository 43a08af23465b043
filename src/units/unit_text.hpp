// SPDX-License-Identifier: Apache-2.0
// Values with units, as typed in campaign files and on the command line: "12.5 kPa",
// "8 in +/- 0.1 in", "(8 +/- 0.1) in", "250 lbf +/- 3 %", "3 1/4 in", "5 ft 6 in", "25 % grade",
// "1 in 4" for a slope. A number without unit is refused where a dimension is expected, and so is a
// unit of another dimension: 25 % is not 25 deg, lb is not a force.
//
//   const QuantityText p = parse_quantity("12.5 kPa", Dimension::pressure);
//   if (!p.ok()) problems.refuse(refusal(p, "12.5 kPa", {.file = file, .key = "soil.cohesion"}));
//
// For cells of a column with a unit in its heading use heading.hpp and number_text.hpp.
#pragma once

#include <limits>
#include <optional>
#include <string>
#include <string_view>

#include "base/problems.hpp"
#include "units/heading.hpp"
#include "units/number_text.hpp"
#include "units/unit.hpp"

namespace hardpan::units {

struct [[nodiscard]] QuantityText {
  double si = std::numeric_limits<double>::quiet_NaN();
  std::optional<double> plus_minus_si;  // as typed: half-width, what it means is the caller's to say
  std::optional<Unit> unit;             // as typed; absent for a bare ratio
  std::string error;                    // empty when read
  std::string remedy;

  [[nodiscard]] bool ok() const { return error.empty(); }
};

QuantityText parse_quantity(std::string_view text, Dimension expected, const UnitRules& rules = {});

// The refusal for a text that was not read; `bound` says what is expected.
[[nodiscard]] base::Problem refusal(const QuantityText& quantity, std::string_view text, base::Place place);

}  // namespace hardpan::units
