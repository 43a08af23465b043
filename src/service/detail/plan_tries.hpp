// SPDX-License-Identifier: Apache-2.0
// The part of a test matrix that shows steps, gaps and turns by tries.
#pragma once

#include "service/plan.hpp"

namespace hardpan::service::detail {

// One row a requirement on a highest step, a widest gap or a turning radius whose method is test or demonstration, with the tries that count already: those its
// judgement counts (validation/finding.hpp), as many needed as it asks for. Needs vehicles and requirements; zones may be empty.
void plan_tries(const campaign::Campaign& campaign, Plan& plan);

}  // namespace hardpan::service::detail
