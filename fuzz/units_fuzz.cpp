// SPDX-License-Identifier: Apache-2.0
// Bytes as a typed value, a heading, a cell and a unit. Aborts when a text is neither read nor
// refused with a reason and a remedy, when a value is not finite, or when what was read once is read
// differently after it is written out by its canonical unit.
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

#include "units/print.hpp"
#include "units/unit_text.hpp"

namespace {

using namespace hardpan::units;

void require(bool condition, const char* what, std::string_view text) {
  if (condition) return;
  std::fprintf(stderr, "units_fuzz: %s: \"%.*s\"\n", what, static_cast<int>(text.size()), text.data());
  std::abort();
}

void check_quantity(std::string_view text, Dimension expected, const UnitRules& rules) {
  const QuantityText q = parse_quantity(text, expected, rules);
  require(q.ok() == std::isfinite(q.si), "value and error disagree", text);
  require(q.ok() == q.remedy.empty(), "a refusal without remedy", text);
  require(!q.plus_minus_si || (std::isfinite(*q.plus_minus_si) && *q.plus_minus_si >= 0.0), "half-width", text);
  if (!q.ok()) return;
  const std::string printed = print_quantity(q.si, expected, OutputUnits::si, 17);
  const QuantityText again = parse_quantity(printed, expected);
  require(again.ok(), "printed value is refused", printed);
  const double size = std::abs(q.si) + (expected == Dimension::temperature ? 300.0 : 0.0);
  require(std::abs(again.si - q.si) <= 1e-14 * size + 1e-300, "printed value differs", printed);
}

void check_unit(std::string_view text) {
  const UnitLookup found = look_up_unit(text);
  require(found.unit.has_value() == found.error.empty(), "unit and error disagree", text);
  if (!found.unit) return;
  require(found.unit->factor > 0.0 && std::isfinite(found.unit->factor), "factor", text);
  const auto again = find_unit(found.unit->spelling);
  require(again.has_value(), "canonical spelling is refused", found.unit->spelling);
  require(again->dimension == found.unit->dimension, "canonical spelling changes the dimension", text);
  require(std::abs(again->factor / found.unit->factor - 1.0) < 1e-12, "canonical spelling changes the factor", text);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const Dimension expected = kDimensions[data[0] % kDimensions.size()];
  const UnitRules rules{.mass_units_mean_standard_force = data[0] >= 128};
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  check_quantity(text, expected, rules);
  check_unit(text);
  const Heading heading = read_heading(text);
  require(!heading.unit || heading.unit_text, "a unit without its text", text);
  const UnitLookup column = accept_heading(heading, expected, rules);
  require(column.unit.has_value() != !column.error.empty(), "column unit and error disagree", text);
  for (const DecimalSign sign : {DecimalSign::point, DecimalSign::comma, DecimalSign::either}) {
    const NumberText number = parse_number(text, sign);
    require((number.kind == NumberKind::refused) == !number.error.empty(), "cell and error disagree", text);
    require(!number.is_number() || std::isfinite(number.value), "cell not finite", text);
  }
  return 0;
}
