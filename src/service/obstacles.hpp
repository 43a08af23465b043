// SPDX-License-Identifier: Apache-2.0
// The predict step's answers to the obstacles of a campaign (campaign/obstacle_question.hpp).
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "campaign/results.hpp"
#include "io/json.hpp"
#include "performance/possible_runs.hpp"
#include "service/job.hpp"

namespace hardpan::service {

// ground: the soil of a zone as predictions take it, nothing where it is not complete.
[[nodiscard]] std::vector<campaign::ObstacleAnswer> answer_obstacles(const campaign::Results& results, const ComputeOptions& options, const performance::DrawPlan& plan,
                                                                     const std::function<std::optional<performance::Ground>(const std::string&)>& ground,
                                                                     const std::function<void(const std::string&)>& say);
// The ground of an obstacle as this vehicle meets it: gaps are deeper than its wheels reach.
[[nodiscard]] std::optional<performance::Profile> profile_of(const campaign::ObstacleQuestion& obstacle, const performance::ProfileVehicle& vehicle);
[[nodiscard]] io::Json obstacles_json(const std::vector<campaign::ObstacleAnswer>& answers);

// Of one crossing and one limit, as the quick answer tells them too.
[[nodiscard]] io::Json crossing_json(const performance::ProfileVehicle& vehicle, const performance::Crossing& crossing);
[[nodiscard]] io::Json obstacle_limit_json(const performance::ObstacleLimit& limit);

}  // namespace hardpan::service
