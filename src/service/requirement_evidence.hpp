// SPDX-License-Identifier: Apache-2.0
// What a requirement on the whole vehicle is judged by, besides the ground: the obstacle as its vehicle meets it, trials and how these agree with predictions, and
// what the campaign's other questions answer.
#pragma once

#include <optional>
#include <vector>

#include "campaign/results.hpp"

namespace hardpan::service {

// Of a campaign's questions those that requirements are judged by.
[[nodiscard]] campaign::Questions required_of(const campaign::Questions& all, const std::vector<validation::Requirement>& requirements);

// Runs recorded over the way that a requirement names, and how many of them count; nothing where the requirement names no such way.
[[nodiscard]] std::optional<validation::WayRuns> way_runs(const campaign::Campaign& campaign, const records::TrialResult& reduced, const validation::Requirement& requirement);

// Fills evidence.trials, friction, compared, answered, runs and why_not. Returned: the profile for evidence.obstacle, which the caller keeps.
[[nodiscard]] std::optional<performance::Profile> whole_vehicle_evidence(validation::Evidence& evidence, const campaign::Results& results, const validation::Requirement& requirement);

}  // namespace hardpan::service
