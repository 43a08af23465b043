// SPDX-License-Identifier: Apache-2.0
// The test matrix that a set of requirements needs: plate sizes and loads that bracket the pressures
// under the wheels, normal stresses of the ring, points and repeats, and what will read "not tested"; tries at steps, gaps and turns, those made counted.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "campaign/campaign.hpp"
#include "io/json.hpp"
#include "io/table.hpp"

namespace hardpan::service {

struct PlanRow {
  std::string zone, condition, test, setting, why;  // condition: empty where requirements name none
  std::size_t points = 0, repeats = 0;
  std::optional<std::uint64_t> recorded, still_needed;   // of steps, gaps and turns: tries that count already, and how many more without a failure
};

struct Plan {
  std::vector<PlanRow> rows;
  std::vector<std::string> not_tested;   // cells of the matrix without a record, in sentences
  std::vector<std::string> assumptions;
};

// soil_guesses: for the wheel pressures, each an id of the built-in table or a soil file; "marsh=..." for one zone, the
// one without a zone for all others. Throws InputError.
[[nodiscard]] Plan plan(const campaign::Campaign& campaign, const std::vector<std::string>& soil_guesses);
[[nodiscard]] io::Json plan_json(const Plan& plan);

}  // namespace hardpan::service
