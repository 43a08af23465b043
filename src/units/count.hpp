// SPDX-License-Identifier: Apache-2.0
// A count with its noun, as people read it: "1 run", "2 runs", "0 runs".
//
//   print_count(windows.size(), "window")  "1 window"
//   print_count(2, "push", "pushes")       "2 pushes"
//
// For values with a unit use print.hpp.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace hardpan::units {

// `many` where the plural is not the noun and an s.
[[nodiscard]] std::string print_count(std::size_t count, std::string_view noun, std::string_view many = {});

}  // namespace hardpan::units
