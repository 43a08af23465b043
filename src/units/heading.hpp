// SPDX-License-Identifier: Apache-2.0
// Column headings with a unit: "Load (lbf)", "Sinkage [mm]", "Drawbar pull, kN", "pressure_kPa",
// "Depth/mm", "Weg in mm", "Torque N m". Brackets may hold any unit; outside them only names that
// are no words are taken, and a single letter (or a name such as "in", "min", "bar") only where the
// rest of the heading speaks of that quantity: "load_N" has a unit, "Load cell A" and "T_min" have
// none. Where in doubt there is no unit, and the reader asks for one; a guess would be worse.
//
//   const Heading heading = read_heading("Drawbar pull, kN");
//   const UnitLookup unit = accept_heading(heading, Dimension::force);
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "units/unit.hpp"

namespace hardpan::units {

struct Heading {
  std::string name;                      // without the unit: "Drawbar pull"
  std::optional<std::string> unit_text;  // as typed (plain ASCII): "kN"
  std::optional<Unit> unit;              // absent when there is no unit text or it is refused
  std::string error;                     // why unit_text is not a unit, or which two units compete
  std::string remedy;
};

[[nodiscard]] Heading read_heading(std::string_view text);

// The unit of a column in which `expected` is asked for, or why it is refused. A heading without
// unit is refused, for ratios too: 0.2 and 20 % look alike in a column.
[[nodiscard]] UnitLookup accept_heading(const Heading& heading, Dimension expected, const UnitRules& rules = {});

}  // namespace hardpan::units
