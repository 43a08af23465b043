// SPDX-License-Identifier: Apache-2.0
// The version of the program, written into every result's provenance.
#pragma once

namespace hardpan::base {

inline constexpr const char* kVersion = HARDPAN_VERSION;

}  // namespace hardpan::base
