// SPDX-License-Identifier: Apache-2.0
#include "units/count.hpp"

namespace hardpan::units {

std::string print_count(std::size_t count, std::string_view noun, std::string_view many) {
  std::string out = std::to_string(count) + " ";
  if (count == 1) return out.append(noun);
  return many.empty() ? out.append(noun) + "s" : out.append(many);
}

}  // namespace hardpan::units
