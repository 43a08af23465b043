// SPDX-License-Identifier: Apache-2.0
// SI values as text in a unit people read, with three or four significant digits: "12.3 kPa",
// "1.78 psi". What is printed here, unit_text.hpp reads back. Not for JSON or CSV, which carry SI
// values in full.
//
//   print_quantity(12.3e3, Dimension::pressure, OutputUnits::us)          "1.78 psi"
//   print_interval(11.9e3, 13.1e3, Dimension::pressure, OutputUnits::si)  "11.9 to 13.1 kPa"
//   print_modulus(820e3, 1.1, ModulusKind::friction, OutputUnits::si)     "820 kN/m^3.1"
#pragma once

#include <string>

#include "units/unit.hpp"

namespace hardpan::units {

enum class OutputUnits { si, us };

// Shown for a value that is not finite.
inline constexpr const char* kNoValue = "no value";

// `digits` significant digits, 1 to 17, trailing zeros kept; powers of ten outside 1e-4 ... 1e7.
[[nodiscard]] std::string print_number(double value, int digits = 3);
// `decimals` digits after the point, 0 to 21; "-0.0" becomes "0.0".
[[nodiscard]] std::string print_fixed(double value, int decimals);

// The unit in which a value of this size is printed.
[[nodiscard]] Unit output_unit(double value_si, Dimension dimension, OutputUnits units);

[[nodiscard]] std::string print_quantity(double value_si, Dimension dimension, OutputUnits units, int digits = 3);
[[nodiscard]] std::string print_in(double value_si, const Unit& unit, int digits = 3);

// "11.9 to 13.1 kPa": one unit for both ends, decimals so that the width has two significant digits.
[[nodiscard]] std::string print_interval(double low_si, double high_si, Dimension dimension, OutputUnits units);
// "12.5 kPa (11.9 to 13.1)"
[[nodiscard]] std::string print_with_interval(double value_si, double low_si, double high_si, Dimension dimension, OutputUnits units);
// "12.50 +/- 0.60 kPa", read back by parse_quantity
[[nodiscard]] std::string print_plus_minus(double value_si, double half_width_si, Dimension dimension, OutputUnits units);
// "18.4 %"
[[nodiscard]] std::string print_percent(double ratio, int digits = 3);

// Moduli of the pressure-sinkage power law p = (kc / b + kphi) z^n, whose unit depends on the
// fitted n: kc in N/m^(n+1), kphi in N/m^(n+2). Printed in kN and m, or lbf and in.
enum class ModulusKind { cohesion, friction };
// SI value = factor * number in those units.
[[nodiscard]] double modulus_factor(double exponent_n, ModulusKind kind, OutputUnits units);
[[nodiscard]] std::string modulus_unit(double exponent_n, ModulusKind kind, OutputUnits units);  // "kN/m^2.1"
[[nodiscard]] std::string print_modulus(double value_si, double exponent_n, ModulusKind kind, OutputUnits units, int digits = 3);

}  // namespace hardpan::units
