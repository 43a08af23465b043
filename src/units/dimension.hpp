// SPDX-License-Identifier: Apache-2.0
// What kind of quantity a number is. Finer than powers of base units: a torque is not an energy,
// an angle not a ratio, a unit weight not a pressure gradient, though their base units agree.
#pragma once

#include <array>
#include <string_view>

namespace hardpan::units {

enum class Dimension {
  none,  // a ratio: slip, efficiency, moisture content
  length,
  mass,
  time,
  force,
  pressure,
  angle,
  angular_speed,
  speed,
  torque,
  power,
  energy,
  charge,
  current,
  voltage,
  stiffness,            // N/m
  torsional_stiffness,  // N m/rad
  density,              // kg/m^3
  unit_weight,          // N/m^3
  pressure_gradient,    // Pa/m: cone index or subgrade reaction against depth
  frequency,            // 1/s
  area,
  volume,
  acceleration,
  temperature,
  moment_of_inertia,    // kg m^2
  energy_per_distance,  // J/m
};
inline constexpr std::array kDimensions{
    Dimension::none, Dimension::length, Dimension::mass, Dimension::time, Dimension::force,
    Dimension::pressure, Dimension::angle, Dimension::angular_speed, Dimension::speed,
    Dimension::torque, Dimension::power, Dimension::energy, Dimension::charge, Dimension::current,
    Dimension::voltage, Dimension::stiffness, Dimension::torsional_stiffness, Dimension::density,
    Dimension::unit_weight, Dimension::pressure_gradient, Dimension::frequency, Dimension::area,
    Dimension::volume, Dimension::acceleration, Dimension::temperature,
    Dimension::moment_of_inertia, Dimension::energy_per_distance};

// Powers of kilogram, metre, second, ampere, kelvin and radian. The radian is kept apart so that
// rad/s is not Hz and an angle not a ratio.
struct Powers {
  int kg = 0, m = 0, s = 0, a = 0, k = 0, rad = 0;
  bool operator==(const Powers&) const = default;
};

[[nodiscard]] std::string_view name(Dimension dimension);       // "unit weight", with spaces
[[nodiscard]] std::string_view with_article(Dimension dimension);  // "a unit weight"
[[nodiscard]] std::string_view si_unit(Dimension dimension);    // "N/m^3"; "1" for none
[[nodiscard]] std::string_view example(Dimension dimension);    // "'18 kN/m^3' or '115 lbf/ft^3'"
[[nodiscard]] Powers powers(Dimension dimension);

}  // namespace hardpan::units
