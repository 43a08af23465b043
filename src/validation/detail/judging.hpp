// SPDX-License-Identifier: Apache-2.0
// What the kinds of findings have in common: over possible soils, by trials. finding.cpp chooses among them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "validation/counted_trials.hpp"
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

// Whether enough possible soils satisfy the threshold, in the outcome's own unit: probability, confidence and verdict. The outcome at the required probability; the centre without draws.
double judge_share(Finding& finding, const Requirement& requirement, const performance::Outcome& outcome, double threshold, const std::string& reason_without);
// By so many trials that satisfied it and so many that did not. "14.0 deg", "14.0 deg or steeper, or failed below it,".
void demonstrate(Finding& finding, const Requirement& requirement, std::size_t went, std::size_t failed, const std::string& at, const std::string& where);
// Counts the trials that speak for the threshold and judges by them; `size` prints a hardness.
template <class Print>
void demonstrate_by(Finding& finding, const Requirement& requirement, const std::vector<DecidedTrial>& trials, double threshold, const std::string& at, const std::string& where, const Print& size) {
  const CountedTrials counted = count_trials(trials, threshold);
  finding.records.insert(finding.records.end(), counted.places.begin(), counted.places.end());
  demonstrate(finding, requirement, counted.went, counted.failed, at, where);
  if (counted.left_out_from) finding.reasons.push_back("Left out: what went at " + size(*counted.left_out_from) + " or harder, where some failed; counted without these it would say too much.");
}
// Of this vehicle as its file weighs it, within a class of weights (5 %); what was tried at another weight says nothing on it.
[[nodiscard]] bool at_file_weight(const Evidence& evidence, double weight_n);
// Neither told of another condition than the requirement's.
[[nodiscard]] inline bool in_condition(const Requirement& requirement, const std::string& condition) { return requirement.condition.empty() || condition.empty() || condition == requirement.condition; }
// The verdict falls back where trials and answer contradict one another.
void contradicted(Finding& finding, bool went, const std::string& sentence);

// Obstacles (finding_obstacle.cpp) and turning (finding_turn.cpp): by analysis, by trials, and trials that contradict the analysis.
void judge_obstacle(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void judge_by_tries(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void heed_tries(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void judge_turn(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void judge_by_turns(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void heed_turns(Finding& finding, const Requirement& requirement, const Evidence& evidence);

void judge_heading(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void judge_answered(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void judge_by_runs(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void heed_runs(Finding& finding, const Requirement& requirement, const Evidence& evidence);

void judge_over_draws(Finding& finding, const Requirement& requirement, const Evidence& evidence);
void judge_by_trials(Finding& finding, const Requirement& requirement, const Evidence& evidence);
// Slope trials of this vehicle and zone on the way that the requirement asks for: up, down or its heading; none for other quantities.
[[nodiscard]] std::vector<const records::SlopeLimits*> slopes_of(const Requirement& requirement, const Evidence& evidence);
// A slope that was driven, or that stopped the vehicle, outweighs a prediction whose interval does not reach it.
void heed_trials(Finding& finding, const Requirement& requirement, const Evidence& evidence);

}  // namespace hardpan::validation::detail
