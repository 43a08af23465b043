// SPDX-License-Identifier: Apache-2.0
// A mistake in our own program. For bad input use Problems; for a numerical "no" return a status.
// On in every build but Release.
#pragma once

namespace hardpan::base {

[[noreturn]] void assertion_failed(const char* text, const char* file, int line);

}  // namespace hardpan::base

#ifdef HARDPAN_RELEASE
#define HARDPAN_ASSERT(condition) static_cast<void>(0)
#else
#define HARDPAN_ASSERT(condition) \
  ((condition) ? static_cast<void>(0) \
               : ::hardpan::base::assertion_failed(#condition, __FILE__, __LINE__))
#endif
