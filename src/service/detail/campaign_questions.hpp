// SPDX-License-Identifier: Apache-2.0
// Questions of a campaign one by one; questions.hpp asks them all.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "campaign/results.hpp"
#include "io/json.hpp"
#include "service/job.hpp"

namespace hardpan::service::detail {

struct Asked {
  campaign::Results& results;
  const ComputeOptions& options;
  const std::vector<performance::Placed>& placed;           // of results.pairs, in their order
  performance::DrawPlan plan;
  std::function<std::optional<performance::Ground>(const std::string&)> ground;   // as predictions take a zone's soil; nothing where it is not complete
  std::function<void(const std::string&)> say;
};
// The first refusal as a sentence.
[[nodiscard]] std::string first_refusal(const base::Problems& problems);
// Top speed of the drives on firm ground; nothing where none states one.
[[nodiscard]] std::optional<double> top_speed_m_s(const vehicle::Vehicle& vehicle);

void answer_rides(const Asked& asked);
void answer_other_gravity(const Asked& asked);
void answer_endurance(const Asked& asked);
void answer_boulders(const Asked& asked);
void answer_turns(const Asked& asked);
void answer_speeds(const Asked& asked);                      // after rides and remote driving
[[nodiscard]] io::Json rides_json(const campaign::Answers& answers);
[[nodiscard]] io::Json endurance_answers_json(const campaign::Answers& answers);
[[nodiscard]] io::Json boulder_answers_json(const campaign::Answers& answers);
[[nodiscard]] io::Json turns_json(const campaign::Answers& answers);
[[nodiscard]] io::Json other_gravity_json(const campaign::Answers& answers);
[[nodiscard]] io::Json speeds_json(const campaign::Answers& answers);

}  // namespace hardpan::service::detail
