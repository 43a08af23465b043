// SPDX-License-Identifier: Apache-2.0
// Small pieces that the JSON of answers shares.
#pragma once

#include <cmath>

#include "base/solve.hpp"
#include "io/json.hpp"

namespace hardpan::service::detail {

// JSON has no infinity and no NaN: null, with the reason beside it.
[[nodiscard]] inline io::Json number_or_null(double v) { return std::isfinite(v) ? io::Json(v) : io::Json(); }

}  // namespace hardpan::service::detail
