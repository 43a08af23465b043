// SPDX-License-Identifier: Apache-2.0
// Which build of the program this is: the linker's own digest of it. Part of what makes a computed result stale.
#pragma once

#include <string>

namespace hardpan::base {

// Hexadecimal GNU build identifier of the running program; empty where it was linked without one.
[[nodiscard]] std::string build_id();

}  // namespace hardpan::base
