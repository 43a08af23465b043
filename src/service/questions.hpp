// SPDX-License-Identifier: Apache-2.0
// The predict step's answers to what a campaign asks beyond its requirements (campaign/questions.hpp).
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "campaign/results.hpp"
#include "io/json.hpp"
#include "service/job.hpp"

namespace hardpan::service {

// placed: of results.pairs, in their order. ground: the soil of a zone as predictions take it, nothing where it is not complete.
void answer_questions(campaign::Results& results, const std::vector<performance::Placed>& placed, const ComputeOptions& options, const std::function<std::optional<performance::Ground>(const std::string&)>& ground,
                      const std::function<void(const std::string&)>& say);
[[nodiscard]] io::Json questions_json(const campaign::Answers& answers);
[[nodiscard]] io::Json study_json(const performance::Study& study);

}  // namespace hardpan::service
