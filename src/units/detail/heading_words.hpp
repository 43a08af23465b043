// SPDX-License-Identifier: Apache-2.0
// Which quantity the words or the symbol of a heading speak of.
#pragma once

#include <string_view>
#include <vector>

#include "units/dimension.hpp"

namespace hardpan::units::detail {

struct Hints {
  std::vector<Dimension> words;    // "Drawbar pull": force
  std::vector<Dimension> symbols;  // "z": length; "Fx": force
};
[[nodiscard]] Hints hints(std::string_view name);
[[nodiscard]] bool contains(const std::vector<Dimension>& list, Dimension dimension);

}  // namespace hardpan::units::detail
