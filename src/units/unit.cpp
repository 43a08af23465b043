// SPDX-License-Identifier: Apache-2.0
#include "units/unit.hpp"

#include <cmath>

#include "units/constants.hpp"
#include "units/detail/compound.hpp"
#include "units/detail/further_units.hpp"
#include "units/detail/plain_text.hpp"
#include "units/detail/unit_names.hpp"

namespace hardpan::units {
namespace {

constexpr std::size_t kMaxText = 64;  // no unit is longer; keeps messages readable

Unit from_name(const detail::UnitName& name) {
  return {.factor = name.factor, .offset = name.offset, .dimension = name.dimension,
          .percent_grade = name.percent_grade, .spelling = std::string(name.spelling)};
}

std::string quoted(std::string_view text) {
  return "'" + std::string(text.substr(0, kMaxText)) + (text.size() > kMaxText ? "...'" : "'");
}

UnitLookup fail(std::string error, std::string remedy) {
  return {.unit = {}, .error = std::move(error), .remedy = std::move(remedy)};
}

}  // namespace

double to_si(double number, const Unit& unit) {
  if (unit.percent_grade) return std::atan(number / 100.0);
  return unit.factor * number + unit.offset;
}

double from_si(double value_si, const Unit& unit) {
  if (unit.percent_grade) return 100.0 * std::tan(value_si);
  return (value_si - unit.offset) / unit.factor;
}

Unit si(Dimension dimension) {
  return {.dimension = dimension, .spelling = std::string(si_unit(dimension))};
}

UnitLookup look_up_unit(std::string_view text) {
  const std::string plain = detail::plain_text(text);
  if (plain.empty()) return fail("there is no unit", "write one");
  if (plain.size() > kMaxText) return fail(quoted(plain) + " is too long for a unit", "write the unit by its symbol");
  if (const auto* name = detail::find_name(plain)) return {.unit = from_name(*name), .error = {}, .remedy = {}};
  if (const auto* refused = detail::find_refused(plain))
    return fail(quoted(plain) + " " + std::string(refused->why), std::string(refused->remedy));
  // An abbreviation point: in., lb., sec.
  if (plain.size() > 2 && plain.back() == '.') {
    const std::string_view body = std::string_view(plain).substr(0, plain.size() - 1);
    if (const auto* name = detail::find_name(body)) return {.unit = from_name(*name), .error = {}, .remedy = {}};
    if (const auto* refused = detail::find_refused(body))
      return fail(quoted(plain) + " " + std::string(refused->why), std::string(refused->remedy));
  }
  if (plain.find("10^") != std::string::npos || plain.starts_with("x1") || plain.starts_with("*1"))
    return fail(quoted(plain) + " multiplies a unit by a number", "write the unit the numbers are in, for example kN");
  UnitLookup compound = detail::read_compound(plain);
  if (compound.unit) {
    const auto* refused = detail::find_refused(compound.unit->spelling);   // "ft. in" is "ft in"
    return refused ? fail(quoted(plain) + " " + std::string(refused->why), std::string(refused->remedy)) : compound;
  }
  if (!compound.error.empty()) return fail(quoted(plain) + " " + compound.error, compound.remedy);
  if (plain.find('#') != std::string::npos)
    return fail(quoted(plain) + " uses # for pounds, of force or of mass", "write lbf, lb, psi or lbf/in");
  detail::FurtherUnit further = detail::find_further_unit(plain);
  if (further.unit) return {.unit = std::move(further.unit), .error = {}, .remedy = {}};
  return fail(quoted(plain) + " is not a unit this program reads",
              further.tables_missing ? "the tables of further units could not be read: install libudunits2-data, or write an SI unit"
                                     : "check the spelling, or write an SI unit");
}

std::optional<Unit> find_unit(std::string_view text) { return look_up_unit(text).unit; }

UnitLookup accept_unit(const Unit& unit, Dimension expected, const UnitRules& rules) {
  const auto is = [&](Dimension given, Dimension asked) { return unit.dimension == given && expected == asked; };
  // N m = J, and N/m^3 = Pa/m; the reverse would lose the distinction for nothing.
  if (unit.dimension == expected || is(Dimension::torque, Dimension::energy) ||
      is(Dimension::unit_weight, Dimension::pressure_gradient)) {
    return {.unit = unit, .error = {}, .remedy = {}};
  }
  const bool as_force = is(Dimension::mass, Dimension::force) || is(Dimension::density, Dimension::unit_weight);
  if (as_force && rules.mass_units_mean_standard_force) {
    Unit force = unit;
    force.factor *= kStandardGravity_mps2;
    force.dimension = expected;
    force.spelling += " (standard force)";
    return {.unit = force, .error = {}, .remedy = {}};
  }
  const std::string error = quoted(unit.spelling) + " is " + std::string(with_article(unit.dimension)) + ", " +
                            std::string(with_article(expected)) + " is expected";
  const std::string write = "write for example " + std::string(example(expected));
  if (is(Dimension::mass, Dimension::force))
    return fail(error, "write lbf, kgf or tf for the force standard gravity gives that mass, N or kN otherwise");
  if (is(Dimension::density, Dimension::unit_weight))
    return fail(error, "write kN/m^3 or lbf/ft^3");
  if (is(Dimension::force, Dimension::mass)) return fail(error, "give the mass, in kg, lb or t: a weight in lbf is that number of lb only under standard gravity");
  if (is(Dimension::none, Dimension::angle))
    return fail(error, "write '% grade' for 100 times rise over level distance (25 % grade is 14.04 deg), or deg");
  if (is(Dimension::angle, Dimension::none) && unit.percent_grade) return fail(error, "write % for a ratio");
  if (is(Dimension::mass, Dimension::acceleration)) return fail(error, "write g0 for standard gravity, or m/s^2");
  if (is(Dimension::frequency, Dimension::angular_speed)) return fail(error, "write rev/s, rpm or rad/s");
  return fail(error, write);
}

std::vector<std::string> allowed_spellings(Dimension dimension) {
  std::vector<std::string> out;
  for (const detail::UnitName& name : detail::unit_names())
    if (name.dimension == dimension) out.emplace_back(name.spelling);
  return out;
}

}  // namespace hardpan::units
