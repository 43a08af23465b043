// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/as_typed.hpp"

#include <algorithm>
#include <cmath>

#include "units/unit_text.hpp"

namespace hardpan::formats::detail {

bool same_value(const io::TomlValue& typed, const std::string& shown) {
  if (typed.kind() == io::TomlValue::Kind::array || typed.kind() == io::TomlValue::Kind::table) return false;
  const std::string text = typed.as_typed();
  return std::any_of(units::kDimensions.begin(), units::kDimensions.end(), [&](units::Dimension d) {
    const units::QuantityText in_file = units::parse_quantity(text, d);
    if (!in_file.ok()) return false;
    const auto equal = [&](const units::QuantityText& q) { return q.ok() && std::abs(q.si - in_file.si) <= 1e-3 * std::abs(in_file.si); };  // four digits are shown
    return equal(units::parse_quantity(shown, d)) || equal(units::parse_quantity(shown, units::Dimension::none));
  });
}

}  // namespace hardpan::formats::detail
