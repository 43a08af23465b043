// SPDX-License-Identifier: Apache-2.0
// The allow-list: names the trade writes, each with its factor; and the names that are refused
// because people and tables disagree on what they mean.
#pragma once

#include <span>
#include <string_view>

#include "units/dimension.hpp"

namespace hardpan::units::detail {

// What a factor of a product is made of; decides between dimensions with equal base units.
enum class Flavour { plain, force, energy, pressure };

struct UnitName {
  std::string_view spelling;   // how we write it; also accepted as input
  std::string_view others;     // further spellings, separated by '|'
  bool any_case = false;       // spelling and others are read in any case (two letters or more)
  double factor = 1.0;
  double offset = 0.0;
  Dimension dimension = Dimension::none;
  Flavour flavour = Flavour::plain;
  bool atom = true;            // may stand in a product such as kN/m^3
  bool percent_grade = false;
};

struct RefusedName {
  std::string_view names;  // separated by '|', exact case
  bool any_case = false;
  std::string_view why;
  std::string_view remedy;
  bool word = false;  // also an ordinary word, so a heading that ends in it need not mean a unit
};

[[nodiscard]] std::span<const UnitName> unit_names();
// text: plain, without blanks around. nullptr when not on the list.
[[nodiscard]] const UnitName* find_name(std::string_view text);
[[nodiscard]] const RefusedName* find_refused(std::string_view text);

}  // namespace hardpan::units::detail
