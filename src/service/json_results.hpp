// SPDX-License-Identifier: Apache-2.0
// Results as JSON: SI with the unit in every key, quantities as {value, average_ground, next_point,
// level, n, status}; no number that is not finite. One schema for every verb.
#pragma once

#include <string>

#include "base/problems.hpp"
#include "campaign/results.hpp"
#include "io/json.hpp"
#include "service/job.hpp"

namespace hardpan::service {

inline constexpr const char* kSchema = "hardpan-result-1";

[[nodiscard]] io::Json estimate_json(const math::Estimate& estimate);
// Null, with "immobilised" for its status, where a value or an end is the one that stands for a vehicle that does not travel (campaign/no_travel.hpp).
[[nodiscard]] io::Json estimate_json(const math::Estimate& estimate, double stands_for_no_travel);
[[nodiscard]] io::Json problems_json(const base::Problems& problems);
// {schema, version, verb, status, problems, provenance, result}.
[[nodiscard]] io::Json envelope(const std::string& verb, const std::string& status, const base::Problems& problems,
                                const campaign::Provenance& provenance, io::Json result);
// What was computed up to a step.
[[nodiscard]] io::Json results_json(const campaign::Results& results, Step until);

}  // namespace hardpan::service
