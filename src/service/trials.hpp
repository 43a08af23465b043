// SPDX-License-Identifier: Apache-2.0
// Vehicle trials of a campaign: obstacles, turns, remote runs, ruts by pass, two vehicles in turn. Reduced with the vehicle tests, compared with the predictions.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "base/problems.hpp"
#include "campaign/results.hpp"
#include "io/json.hpp"
#include "performance/possible_runs.hpp"

namespace hardpan::service {

void reduce_trials(campaign::Results& results, base::Problems& problems);

// `placed` belongs to results.pairs in their order; `ground_of` gives the ground of a zone, or nothing.
void compare_trials(campaign::Results& results, const std::vector<performance::Placed>& placed,
                    const std::function<std::optional<performance::Ground>(const std::string&)>& ground_of, const performance::DrawPlan& plan);

// Speeds predicted through a delay for a vehicle on a zone, delays rising; empty where none were.
using RemotePredictions = std::function<std::vector<validation::PredictedSpeed>(const std::string& vehicle, const std::string& zone)>;
void compare_remote_runs(campaign::Results& results, const RemotePredictions& predicted);

// Runs over drive profiles, among rocks and over rough ground with what the campaign's questions answered for them.
void compare_way_runs(campaign::Results& results);

[[nodiscard]] io::Json trials_json(const campaign::Results& results);              // reduced
[[nodiscard]] io::Json compared_trials_json(const campaign::Results& results);

}  // namespace hardpan::service
