// SPDX-License-Identifier: Apache-2.0
// The strength line tau = c + sigma tan phi through runs, with the scatter of points or of runs.
// docs/theory/ground.md (22) to (24).
#pragma once

#include <optional>
#include <vector>

#include "records/shear_zone.hpp"

namespace hardpan::records::detail {

struct Units {  // what scatters: points, or runs
  std::vector<std::vector<const ShearRun*>> groups;
  bool by_point = false;
  bool own_lines = false;
};

[[nodiscard]] Units units_of(const std::vector<const ShearRun*>& runs);

struct Columns {
  std::vector<double> c, slope;  // pseudo-values, one a unit
};

struct LineResult {
  StrengthLine line;
  std::optional<double> unbounded_c, unbounded_c_half;  // where the bound is active
  Columns columns;
  Units units;
};

[[nodiscard]] LineResult strength_line(const std::vector<const ShearRun*>& runs);

}  // namespace hardpan::records::detail
