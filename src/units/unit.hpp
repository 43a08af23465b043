// SPDX-License-Identifier: Apache-2.0
// Units as they are written: an allow-list of the names the trade uses, products and quotients of
// them, and behind it the UDUNITS-2 tables for the rest. What a careless table would misread is
// refused with a reason: "oz" is a mass or a volume, "mPa" hardly ever means millipascal, "ton" is
// three masses, kPa/m^0.9 belongs to a power law whose exponent was fitted.
//
// One-letter names are case-sensitive (m is not M, s is not S). Longer ones are read in any case as
// long as no other unit is spelt that way (PSI, Psi, KPA; but mW and MW are two units).
//
//   const std::optional<Unit> unit = find_unit("lbf/in2");   // pressure, 6894.757 Pa
//   const double p_pa = to_si(1.8, *unit);
//
// The UDUNITS tables are read on the first name the allow-list does not hold, never before.
// All functions may be called from several threads.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "units/dimension.hpp"

namespace hardpan::units {

struct Unit {
  double factor = 1.0;  // SI value = factor * number + offset
  double offset = 0.0;  // kelvin; not zero for degC and degF only
  Dimension dimension = Dimension::none;
  bool percent_grade = false;  // angle = atan(number / 100): not linear, factor is unused
  std::string spelling = "1";  // how this program writes it, in ASCII; find_unit reads it back

  bool operator==(const Unit&) const = default;
};

[[nodiscard]] double to_si(double number, const Unit& unit);
[[nodiscard]] double from_si(double value_si, const Unit& unit);

// The SI unit of a dimension, factor 1.
[[nodiscard]] Unit si(Dimension dimension);

struct UnitLookup {
  std::optional<Unit> unit;
  std::string error;   // why there is none: "'oz' may be a mass or a volume"
  std::string remedy;  // "write ozf for a force ..."
};
[[nodiscard]] UnitLookup look_up_unit(std::string_view text);
[[nodiscard]] std::optional<Unit> find_unit(std::string_view text);

struct UnitRules {
  // lb, kg and t stand for the force that standard gravity gives them, where a force is expected
  // (and lb/ft^3, kg/m^3 for a unit weight). Only when the record says so in words.
  bool mass_units_mean_standard_force = false;
};

// Whether a number in this unit may stand where `expected` is asked for; `unit` is the one to use,
// which differs from the one given only under UnitRules.
[[nodiscard]] UnitLookup accept_unit(const Unit& unit, Dimension expected, const UnitRules& rules = {});

// Canonical spellings in the allow-list, for help texts and tests.
[[nodiscard]] std::vector<std::string> allowed_spellings(Dimension dimension);

}  // namespace hardpan::units
