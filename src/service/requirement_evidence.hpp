// SPDX-License-Identifier: Apache-2.0
// What a requirement on obstacles or turning is judged by, besides the ground: the obstacle as its vehicle meets it, its trials, and how these agree with predictions.
#pragma once

#include <optional>

#include "campaign/results.hpp"

namespace hardpan::service {

// Fills evidence.trials, friction, compared and why_not. Returned: the profile for evidence.obstacle, which the caller keeps.
[[nodiscard]] std::optional<performance::Profile> whole_vehicle_evidence(validation::Evidence& evidence, const campaign::Results& results, const validation::Requirement& requirement);

}  // namespace hardpan::service
