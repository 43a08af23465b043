// SPDX-License-Identifier: Apache-2.0
// What the kinds of findings have in common: over possible soils, by trials. finding.cpp chooses among them.
#pragma once

#include <optional>
#include <string>

#include "validation/finding.hpp"

namespace hardpan::validation::detail {

[[nodiscard]] double working_slip(const Requirement& requirement, const Evidence& evidence);

// The measured difference of pull at the working slip, where it is shown and against the vehicle: of the slips about it, else of all
// slips tested unless those about it deny it.
struct PullDifference {
  double value = 0;
  std::string where;
};
[[nodiscard]] std::optional<PullDifference> unfavourable_difference(const Evidence& evidence, double slip);
// A claimed bias of the required quantity itself, where it goes against the vehicle.
[[nodiscard]] std::optional<math::Estimate> measured_against(const Requirement& requirement, const Evidence& evidence);
// Pull decides these too, but not by a difference that could be added: a prediction known to pull too much shows nothing.
[[nodiscard]] bool eased_by_pull(Quantity quantity);

void judge_over_draws(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void judge_by_trials(Finding& finding, const Requirement& requirement, const Evidence& evidence);
// A slope that was driven, or that stopped the vehicle, outweighs a prediction whose interval does not reach it.
void heed_trials(Finding& finding, const Requirement& requirement, const Evidence& evidence);

}  // namespace hardpan::validation::detail
