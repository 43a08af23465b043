// SPDX-License-Identifier: Apache-2.0
// The test matrix that a set of requirements needs: plate sizes and loads that bracket the pressures
// under the wheels, normal stresses of the ring, points and repeats, and what will read "not tested".
#pragma once

#include <string>
#include <vector>

#include "campaign/campaign.hpp"
#include "io/json.hpp"
#include "io/table.hpp"

namespace hardpan::service {

struct PlanRow {
  std::string zone, test, setting, why;
  std::size_t points = 0, repeats = 0;
};

struct Plan {
  std::vector<PlanRow> rows;
  std::vector<std::string> not_tested;   // cells of the matrix without a record, in sentences
  std::vector<std::string> assumptions;
};

// soil_guess: an id of the built-in table or a soil file, for the wheel pressures. Throws InputError.
[[nodiscard]] Plan plan(const campaign::Campaign& campaign, const std::string& soil_guess);
[[nodiscard]] io::Json plan_json(const Plan& plan);

}  // namespace hardpan::service
