// SPDX-License-Identifier: Apache-2.0
#include "base/assertion.hpp"

#include <stdexcept>
#include <string>

namespace hardpan::base {

void assertion_failed(const char* text, const char* file, int line) {
  throw std::logic_error(std::string("fault in the program: ") + text + " at " + file + ":" +
                         std::to_string(line));
}

}  // namespace hardpan::base
