// SPDX-License-Identifier: Apache-2.0
// What quick answers share about the files they read: the remarks that go with the answer.
#pragma once

#include "base/problems.hpp"

namespace hardpan::service::detail {

// The remarks among `found`, each once: the same wheel is prepared several times.
[[nodiscard]] base::Problems remarks_of(const base::Problems& found);

}  // namespace hardpan::service::detail
