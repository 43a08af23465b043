// SPDX-License-Identifier: Apache-2.0
// One number as people and loggers type it: 12, -0.5, 1.2e3, 3 1/4, 3-1/4, 3/8, and with a decimal
// comma where that is declared or cannot be anything else. What could be two numbers is refused
// with a remedy: 1,250 and 1 250 and 1.250,5; also readings like ~5, <3 or 5?.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace hardpan::units {

enum class DecimalSign {
  point,
  comma,
  either  // hand sheets and typed values: 12,5 and 0,125 are read, 1,250 is refused
};

enum class NumberKind {
  number,
  absent,      // empty, "-", "n/a": nothing was measured
  not_finite,  // "NaN", "inf": the logger says the reading failed
  refused
};

struct NumberText {
  NumberKind kind = NumberKind::absent;
  double value = 0.0;  // only when kind is number
  std::string error;   // only when refused
  std::string remedy;

  [[nodiscard]] bool is_number() const { return kind == NumberKind::number; }
};

[[nodiscard]] NumberText parse_number(std::string_view text, DecimalSign sign);

}  // namespace hardpan::units
