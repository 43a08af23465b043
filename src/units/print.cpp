// SPDX-License-Identifier: Apache-2.0
#include "units/print.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "base/assertion.hpp"
#include "units/constants.hpp"

namespace hardpan::units {
namespace {

// Print in `unit` when the size in SI is below `below`; the last row of a dimension has no bound.
struct Choice {
  Dimension dimension;
  double below_si;  // 0: always
  const char* si;
  const char* us;
};
constexpr Choice kChoices[] = {
    {Dimension::length, 1.0, "mm", "in"}, {Dimension::length, 3000.0, "m", "ft"}, {Dimension::length, 0, "km", "mi"},
    {Dimension::mass, 1.0, "g", "lb"}, {Dimension::mass, 1e4, "kg", "lb"}, {Dimension::mass, 0, "t", "lb"},
    {Dimension::time, 600.0, "s", "s"}, {Dimension::time, 36000.0, "min", "min"}, {Dimension::time, 0, "h", "h"},
    {Dimension::force, 1e3, "N", "lbf"}, {Dimension::force, 0, "kN", "lbf"},
    {Dimension::pressure, 1e2, "Pa", "psi"}, {Dimension::pressure, 1e6, "kPa", "psi"}, {Dimension::pressure, 0, "MPa", "psi"},
    {Dimension::angle, 0, "deg", "deg"},
    {Dimension::angular_speed, 0, "rpm", "rpm"},
    {Dimension::speed, 0, "m/s", "mph"},
    {Dimension::torque, 1e4, "N m", "lbf ft"}, {Dimension::torque, 0, "kN m", "lbf ft"},
    {Dimension::power, 1e3, "W", "W"}, {Dimension::power, 0, "kW", "hp"},
    {Dimension::energy, 3600.0, "J", "J"}, {Dimension::energy, 3.6e6, "Wh", "Wh"}, {Dimension::energy, 0, "kWh", "kWh"},
    {Dimension::charge, 0, "Ah", "Ah"},
    {Dimension::current, 0, "A", "A"},
    {Dimension::voltage, 1.0, "mV", "mV"}, {Dimension::voltage, 0, "V", "V"},
    {Dimension::stiffness, 0, "N/mm", "lbf/in"},
    {Dimension::torsional_stiffness, 0, "N m/deg", "lbf ft/deg"},
    {Dimension::density, 0, "kg/m^3", "lb/ft^3"},
    {Dimension::unit_weight, 0, "kN/m^3", "lbf/ft^3"},
    {Dimension::pressure_gradient, 1e6, "kPa/m", "psi/in"}, {Dimension::pressure_gradient, 0, "MPa/m", "psi/in"},
    {Dimension::frequency, 0, "Hz", "Hz"},
    {Dimension::area, 1.0, "cm^2", "in^2"}, {Dimension::area, 0, "m^2", "ft^2"},
    {Dimension::volume, 0.01, "cm^3", "in^3"}, {Dimension::volume, 0, "m^3", "ft^3"},
    {Dimension::acceleration, 0, "m/s^2", "ft/s^2"},
    {Dimension::temperature, 0, "degC", "degF"},
    {Dimension::moment_of_inertia, 0, "kg m^2", "slug ft^2"},
    {Dimension::energy_per_distance, 0, "Wh/km", "Wh/mi"},
};

Unit read_unit(const char* text) {
  const auto unit = find_unit(text);
  HARDPAN_ASSERT(unit.has_value());
  return *unit;
}

constexpr double kNothing = 1e-12;  // of the unit printed: what rounding leaves of a zero
constexpr int kMaxDigits = 17;    // enough for any double to come back exactly
constexpr int kMaxDecimals = 21;  // 17 digits behind three zeros

std::string spelt(const Unit& unit) { return unit.spelling == "1" ? "" : " " + unit.spelling; }

// Decimals that show a width with two significant digits.
int decimals_for(double width) {
  if (!(width > 0.0) || !std::isfinite(width)) return 3;
  // 1e-9: a width of 0.1 that rounding left at 0.0999999999999 is still 0.1.
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(width * (1.0 + 1e-9)))), 0, 12);
}

double width_in(double low_si, double high_si, const Unit& unit) { return std::abs(from_si(high_si, unit) - from_si(low_si, unit)); }

}  // namespace

std::string print_fixed(double value, int decimals) {
  if (!std::isfinite(value)) return kNoValue;
  std::string text = fmt::format("{:.{}f}", value, std::clamp(decimals, 0, kMaxDecimals));
  if (text.front() == '-' && text.find_first_not_of("-0.") == std::string::npos) text.erase(0, 1);
  return text;
}

std::string print_number(double value, int digits) {
  if (!std::isfinite(value)) return kNoValue;
  const int wanted = std::clamp(digits, 1, kMaxDigits);
  if (std::abs(value) < kNothing) return "0";
  // The exponent after rounding: 999.7 with three digits is 1.00e+03.
  const std::string scientific = fmt::format("{:.{}e}", value, wanted - 1);
  const auto e = scientific.find('e');
  const int exponent = std::stoi(scientific.substr(e + 1));
  if (exponent < -4 || exponent >= 7) return scientific.substr(0, e + 1) + std::to_string(exponent);
  if (exponent < wanted) return print_fixed(value, wanted - 1 - exponent);
  // More places before the point than digits: round there, keep the zeros.
  const double step = std::pow(10.0, exponent - wanted + 1);
  return print_fixed(std::round(value / step) * step, 0);
}

Unit output_unit(double value_si, Dimension dimension, OutputUnits units) {
  const double size = std::abs(value_si);
  for (const Choice& choice : kChoices) {
    if (choice.dimension != dimension) continue;
    if (choice.below_si != 0.0 && !(size < choice.below_si)) continue;
    return read_unit(units == OutputUnits::si ? choice.si : choice.us);
  }
  return si(dimension);
}

std::string print_in(double value_si, const Unit& unit, int digits) {
  if (!std::isfinite(value_si)) return kNoValue;
  return print_number(from_si(value_si, unit), digits) + spelt(unit);
}

std::string print_quantity(double value_si, Dimension dimension, OutputUnits units, int digits) {
  return print_in(value_si, output_unit(value_si, dimension, units), digits);
}

std::string print_interval(double low_si, double high_si, Dimension dimension, OutputUnits units) {
  if (!std::isfinite(low_si) || !std::isfinite(high_si)) return kNoValue;
  const double size = std::max(std::abs(low_si), std::abs(high_si));
  const Unit unit = output_unit(size, dimension, units);
  if (std::abs(high_si - low_si) <= 1e-9 * size) return print_in(low_si, unit);  // no width
  const int decimals = decimals_for(width_in(low_si, high_si, unit));
  return print_fixed(from_si(low_si, unit), decimals) + " to " + print_fixed(from_si(high_si, unit), decimals) + spelt(unit);
}

std::string print_with_interval(double value_si, double low_si, double high_si, Dimension dimension, OutputUnits units) {
  if (!std::isfinite(value_si)) return kNoValue;
  const Unit unit = output_unit(value_si, dimension, units);
  if (!std::isfinite(low_si) || !std::isfinite(high_si)) return print_in(value_si, unit) + " (no interval)";
  const int decimals = decimals_for(width_in(low_si, high_si, unit));
  return print_fixed(from_si(value_si, unit), decimals) + spelt(unit) + " (" + print_fixed(from_si(low_si, unit), decimals) + " to " +
         print_fixed(from_si(high_si, unit), decimals) + ")";
}

std::string print_plus_minus(double value_si, double half_width_si, Dimension dimension, OutputUnits units) {
  if (!std::isfinite(value_si) || !std::isfinite(half_width_si)) return kNoValue;
  const Unit unit = output_unit(value_si, dimension, units);
  const double half = 0.5 * width_in(value_si - half_width_si, value_si + half_width_si, unit);
  const int decimals = decimals_for(half);
  return print_fixed(from_si(value_si, unit), decimals) + " +/- " + print_fixed(half, decimals) + spelt(unit);
}

std::string print_percent(double ratio, int digits) {
  if (!std::isfinite(ratio)) return kNoValue;
  return print_number(100.0 * ratio, digits) + " %";
}

double modulus_factor(double exponent_n, ModulusKind kind, OutputUnits units) {
  const double lengths = exponent_n + (kind == ModulusKind::cohesion ? 1.0 : 2.0);
  return units == OutputUnits::si ? 1e3 : kPoundForce_n / std::pow(kInch_m, lengths);
}

std::string modulus_unit(double exponent_n, ModulusKind kind, OutputUnits units) {
  const double lengths = exponent_n + (kind == ModulusKind::cohesion ? 1.0 : 2.0);
  std::string power = print_fixed(lengths, 3);
  while (power.ends_with('0')) power.pop_back();
  if (power.ends_with('.')) power.pop_back();
  return (units == OutputUnits::si ? "kN/m^" : "lbf/in^") + power;
}

std::string print_modulus(double value_si, double exponent_n, ModulusKind kind, OutputUnits units, int digits) {
  if (!std::isfinite(value_si) || !std::isfinite(exponent_n)) return kNoValue;
  return print_number(value_si / modulus_factor(exponent_n, kind, units), digits) + " " + modulus_unit(exponent_n, kind, units);
}

}  // namespace hardpan::units
