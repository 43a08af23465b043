// SPDX-License-Identifier: Apache-2.0
#include "units/dimension.hpp"

#include "base/assertion.hpp"

namespace hardpan::units {
namespace {

struct Row {
  Dimension dimension;
  std::string_view article;
  std::string_view si_unit;
  std::string_view example;
  Powers powers;
};

constexpr Row kRows[] = {
    {Dimension::none, "a ratio", "1", "'0.2' or '20 %'", {}},
    {Dimension::length, "a length", "m", "'85 mm' or '3 1/4 in'", {.m = 1}},
    {Dimension::mass, "a mass", "kg", "'420 kg' or '926 lb'", {.kg = 1}},
    {Dimension::time, "a time", "s", "'12 s' or '3 min'", {.s = 1}},
    {Dimension::force, "a force", "N", "'1.2 kN' or '270 lbf'", {.kg = 1, .m = 1, .s = -2}},
    {Dimension::pressure, "a pressure", "Pa", "'12.5 kPa' or '1.8 psi'", {.kg = 1, .m = -1, .s = -2}},
    {Dimension::angle, "an angle", "rad", "'14 deg' or '25 % grade'", {.rad = 1}},
    {Dimension::angular_speed, "an angular speed", "rad/s", "'30 rpm' or '3.1 rad/s'", {.s = -1, .rad = 1}},
    {Dimension::speed, "a speed", "m/s", "'1.5 m/s', '5 km/h' or '3 mph'", {.m = 1, .s = -1}},
    {Dimension::torque, "a torque", "N m", "'140 N m' or '103 lbf ft'", {.kg = 1, .m = 2, .s = -2}},
    {Dimension::power, "a power", "W", "'2.4 kW' or '3.2 hp'", {.kg = 1, .m = 2, .s = -3}},
    {Dimension::energy, "an energy", "J", "'5 kWh' or '18 MJ'", {.kg = 1, .m = 2, .s = -2}},
    {Dimension::charge, "a charge", "A s", "'80 Ah'", {.s = 1, .a = 1}},
    {Dimension::current, "a current", "A", "'35 A'", {.a = 1}},
    {Dimension::voltage, "a voltage", "V", "'48 V'", {.kg = 1, .m = 2, .s = -3, .a = -1}},
    {Dimension::stiffness, "a stiffness", "N/m", "'250 N/mm' or '1400 lbf/in'", {.kg = 1, .s = -2}},
    {Dimension::torsional_stiffness, "a torsional stiffness", "N m/rad", "'900 N m/deg'",
     {.kg = 1, .m = 2, .s = -2, .rad = -1}},
    {Dimension::density, "a density", "kg/m^3", "'1650 kg/m^3' or '103 lb/ft^3'", {.kg = 1, .m = -3}},
    {Dimension::unit_weight, "a unit weight", "N/m^3", "'18 kN/m^3' or '115 lbf/ft^3'",
     {.kg = 1, .m = -2, .s = -2}},
    {Dimension::pressure_gradient, "a pressure gradient", "Pa/m", "'4 MPa/m' or '15 psi/in'",
     {.kg = 1, .m = -2, .s = -2}},
    {Dimension::frequency, "a frequency", "Hz", "'50 Hz'", {.s = -1}},
    {Dimension::area, "an area", "m^2", "'300 cm^2' or '0.5 in^2'", {.m = 2}},
    {Dimension::volume, "a volume", "m^3", "'100 cm^3' or '5 L'", {.m = 3}},
    {Dimension::acceleration, "an acceleration", "m/s^2", "'9.81 m/s^2' or '1 g0'", {.m = 1, .s = -2}},
    {Dimension::temperature, "a temperature", "K", "'18 degC' or '64 degF'", {.k = 1}},
    {Dimension::moment_of_inertia, "a moment of inertia", "kg m^2", "'60 kg m^2'", {.kg = 1, .m = 2}},
    {Dimension::energy_per_distance, "an energy per distance", "J/m", "'80 Wh/km' or '290 J/m'",
     {.kg = 1, .m = 1, .s = -2}},
};
static_assert(std::size(kRows) == kDimensions.size());

const Row& row(Dimension dimension) {
  const auto index = static_cast<std::size_t>(dimension);
  HARDPAN_ASSERT(index < std::size(kRows) && kRows[index].dimension == dimension);
  return kRows[index];
}

}  // namespace

std::string_view name(Dimension dimension) {
  const std::string_view text = row(dimension).article;
  return text.substr(text.find(' ') + 1);
}
std::string_view with_article(Dimension dimension) { return row(dimension).article; }
std::string_view si_unit(Dimension dimension) { return row(dimension).si_unit; }
std::string_view example(Dimension dimension) { return row(dimension).example; }
Powers powers(Dimension dimension) { return row(dimension).powers; }

}  // namespace hardpan::units
