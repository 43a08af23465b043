// SPDX-License-Identifier: Apache-2.0
#include "validation/finding.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "validation/detail/judging.hpp"

namespace hardpan::validation {

using math::Interval;
using detail::eased_by_pull;
using detail::heed_trials;
using detail::judge_by_trials;
using detail::judge_over_draws;
using detail::measured_against;
using detail::unfavourable_difference;
using detail::working_slip;

const char* name(Verdict verdict) {
  switch (verdict) {
    case Verdict::met: return "met";
    case Verdict::not_met: return "not met";
    case Verdict::not_shown: return "not shown";
  }
  return "";
}
const char* name(GuardLevel level) {
  switch (level) {
    case GuardLevel::inside: return "inside";
    case GuardLevel::up_to_twice: return "up to 2x outside";
    case GuardLevel::beyond: return "beyond";
    case GuardLevel::not_tested: return "not tested";
  }
  return "";
}

namespace {

void judge_by_inspection(Finding& f, const Requirement& r, const Evidence& e) {
  if (r.quantity != Quantity::nominal_ground_pressure) {
    f.reasons.push_back("This quantity cannot be judged by inspection.");
    return;
  }
  double area = 0;
  for (const vehicle::Axle& a : e.vehicle->axles) area += a.wheels * a.wheel.width_m * a.wheel.radius_m;
  f.value = math::estimate_without_interval(vehicle::mass_kg(*e.vehicle) * e.gravity_m_s2 / area, "from the vehicle file");
  f.margin_si = (r.sense == Sense::at_least ? 1 : -1) * (f.value.value - r.threshold_si);
  f.margin_known = true;
  // Scale weights within 3 % of the file are accepted at reading: the guard band of an inspection.
  const double guard = 0.03 * std::abs(f.value.value);
  f.verdict = f.margin_si >= guard ? Verdict::met : f.margin_si <= -guard ? Verdict::not_met : Verdict::not_shown;
  f.guard = GuardLevel::inside;
  f.limiting_factor = "none";
  f.rule = "at least 3 % of the value on the good side of the threshold: scale weights within 3 % of the file are accepted";
  f.population = "this vehicle as its file describes it";
  f.reasons.push_back("W / (n b r) of the vehicle file, with a guard band of 3 % for weight.");
  f.records.push_back("vehicle " + e.vehicle->id);
}

void name_records(Finding& f, const Evidence& e) {
  const auto name_each = [&](const std::vector<std::string>& files, const char* what) {
    for (const std::string& file : files) f.records.push_back(file + what);
  };
  if (e.ground) {
    name_each(e.ground->plate_files, " (plate tests)");
    name_each(e.ground->shear_files, " (shear tests)");
  }
  std::set<std::string> towed, climbed;
  for (const ComparedReading& r : e.pull ? e.pull->readings : std::vector<ComparedReading>{}) towed.insert(r.file);
  for (const records::SlopeLimits* s : detail::slopes_of(f.requirement, e)) {
    for (const records::TrialReading& t : s->trials) {
      if (t.bound != records::TrialBound::set_aside) climbed.insert(t.file);
    }
  }
  name_each({towed.begin(), towed.end()}, " (tow tests)");
  name_each({climbed.begin(), climbed.end()}, " (slope trials)");
}

// The tightest turn is one of high slips, whatever the working slip; so is a wheel across a slope.
bool pulls_less_anywhere(const Evidence& e) {
  if (!e.pull) return false;
  return (e.pull->bias_claimed && e.pull->bias.value < 0) || std::any_of(e.pull->bands.begin(), e.pull->bands.end(), [](const SlipBand& b) { return b.claimed && b.difference.value < 0; });
}

void name_what_would_change(Finding& f, const Evidence& e) {
  if (f.verdict == Verdict::met || !e.prediction) return;
  const performance::SensitivityBar* widest = nullptr;
  for (const auto& b : e.prediction->sensitivity) {
    if (b.quantity != "maximum gradient at the working slip" || !b.next_point) continue;
    if (!widest || b.next_point->width() > widest->next_point->width()) widest = &b;
  }
  if (widest) {
    f.would_change.push_back(widest->part == "model form"   ? (e.pull && !e.pull->readings.empty() && !e.learning
                                                                    ? "some of the tow runs let update the soil ([learning] in campaign.toml, the others held out): the spread of the wheel-soil model widens the interval most"
                                                                    : "tow tests of this vehicle on this ground: the spread of the wheel-soil model widens the interval most")
                             : widest->part == "instrument" ? "a better calibration of the ground instruments: its error widens the interval most"
                                                            : "more test points in this zone: the scatter of the soil widens the interval most");
  }
  if (e.ground && widest && widest->part == "soil") {
    for (const records::Advice& a : e.ground->advice) {
      f.would_change.push_back(a.statement);
      if (f.would_change.size() >= 3) break;
    }
  }
}

}  // namespace

Finding judge(const Requirement& requirement, const Evidence& evidence) {
  Finding f;
  f.requirement = requirement;
  f.rule = fmt::format("share of next points at least {:.0f} % with {:.0f} % confidence", 100 * requirement.probability,
                       100 * requirement.confidence);
  if (!evidence.vehicle) {
    f.reasons.push_back("No vehicle of that name.");
    return f;
  }
  if (requirement.method == Method::inspection || requirement.quantity == Quantity::nominal_ground_pressure) {
    judge_by_inspection(f, requirement, evidence);
    return f;
  }
  if (of_answers(requirement.quantity)) {
    if (requirement.method != Method::analysis) {
      detail::judge_by_runs(f, requirement, evidence);
      return f;
    }
    f.compared = evidence.compared;
    detail::judge_answered(f, requirement, evidence);
    detail::heed_runs(f, requirement, evidence);
    return f;
  }
  if (requirement.method != Method::analysis) {
    judge_by_trials(f, requirement, evidence);
    f.guard = GuardLevel::inside;  // the tests themselves; nothing is extrapolated
    return f;
  }
  f.compared = evidence.compared;
  if (of_obstacles(requirement.quantity) && evidence.friction) {  // stated: no soil has a part in it
    detail::judge_obstacle(f, requirement, evidence);
    detail::heed_tries(f, requirement, evidence);
    return f;
  }
  if (!evidence.placed || !evidence.prediction) {
    f.reasons.push_back("No soil is known for this zone: nothing could be predicted.");
    f.would_change.push_back("plate and shear tests in this zone");
    return f;
  }
  if (of_obstacles(requirement.quantity)) detail::judge_obstacle(f, requirement, evidence);
  else if (requirement.quantity == Quantity::turning_radius) detail::judge_turn(f, requirement, evidence);
  else if (requirement.quantity == Quantity::gradient_on_heading) detail::judge_heading(f, requirement, evidence);
  else judge_over_draws(f, requirement, evidence);
  name_records(f, evidence);
  std::optional<Interval> slips;
  const Comparison* towed = evidence.learning ? evidence.pull_that_taught : evidence.pull;
  if (towed && !towed->readings.empty()) {
    slips = Interval{1, 0};
    for (const auto& r : towed->readings) {
      slips->lo = std::min(slips->lo, r.slip_ratio);
      slips->hi = std::max(slips->hi, r.slip_ratio);
    }
  }
  std::vector<GuardRow> guard;
  if (evidence.ground) guard = extrapolation_guard(evidence.prediction->used, evidence.ground->tested, slips);
  f.guard = evidence.ground ? worst(guard) : GuardLevel::not_tested;
  if (f.verdict == Verdict::met && f.guard >= GuardLevel::beyond) {
    f.verdict = Verdict::not_shown;
    std::string quantities;
    for (const GuardRow& row : guard) {
      if (row.level >= GuardLevel::beyond) quantities += (quantities.empty() ? "" : ", ") + row.quantity;
    }
    f.reasons.insert(f.reasons.begin(), (evidence.ground && evidence.ground->tested.law_starts_below_layer ? "Under the wheels the soil is asked for what was not tested, on a crust or above the depth where its law begins: no plain go"
                         : f.guard == GuardLevel::beyond ? "Under the wheels the soil is asked for more than twice what was tested: no plain go"
                                                       : "Part of what the wheels ask of the soil was not tested: no plain go") +
                        (quantities.empty() ? "." : " (" + quantities + ")."));
    f.would_change.push_back("tests that reach what the wheels ask of the soil" + (quantities.empty() ? "" : ": " + quantities));
  }
  if (of_obstacles(requirement.quantity)) detail::heed_tries(f, requirement, evidence);
  else if (requirement.quantity == Quantity::turning_radius) detail::heed_turns(f, requirement, evidence);
  else heed_trials(f, requirement, evidence);
  const double friction_rad = std::atan(evidence.placed->centre.plain.axle[0].contact.tan_phi);
  if (f.verdict == Verdict::met && requirement.quantity == Quantity::maximum_gradient_down && requirement.threshold_si > friction_rad) {
    f.verdict = Verdict::not_shown;
    f.reasons.insert(f.reasons.begin(), fmt::format("The slope asked for is steeper than the ground's own angle of friction ({:.1f} deg): whether the ground stands there, with the vehicle on it, is not predicted.",
                                                    friction_rad * 180 / std::numbers::pi));
    f.would_change.push_back("the slope at which this ground starts to slide, and its cohesion over the depth of a slide");
  }
  if (f.verdict == Verdict::met && eased_by_pull(requirement.quantity) && !f.value_without_measured_difference &&
      (requirement.quantity == Quantity::turning_radius || requirement.quantity == Quantity::gradient_on_heading ? pulls_less_anywhere(evidence) : unfavourable_difference(evidence, working_slip(requirement, evidence)).has_value())) {
    f.verdict = Verdict::not_shown;
    f.reasons.push_back("The tow tests lie below the predicted pull, so the vehicle slips more than predicted; what that does to this quantity was not measured.");
    f.would_change.push_back(std::string("a measurement of the ") + name(requirement.quantity) + " while towing or climbing");
  }
  if (f.verdict == Verdict::met && evidence.learning && measured_against(requirement, evidence)) {
    f.verdict = Verdict::not_shown;
    f.reasons.push_back("Before the soil was updated the tests of this vehicle lay on the bad side of the prediction of this quantity; whether the update mends that was not tested.");
  }
  if (evidence.learning) {
    f.reasons.push_back(evidence.learning->statement);
    // Too few runs may teach to show what all runs together do.
    if (evidence.learning->shape.shown) f.reasons.push_back(evidence.learning->shape.statement);
    else if (towed && towed->shape.shown) f.reasons.push_back("All runs together, not those that taught alone, show it: " + towed->shape.statement);
    for (const std::string& r : evidence.learning->records) f.records.push_back("record " + r + ", which updated the soil");
  } else if (!evidence.pull || evidence.pull->readings.empty()) {
    f.reasons.push_back("Not validated: this vehicle was not towed on this ground, the stated default spreads of the model form apply.");
  }
  if (evidence.pull && evidence.pull->shape.shown) f.reasons.push_back(evidence.pull->shape.statement);
  name_what_would_change(f, evidence);
  return f;
}

Finding judge_after_learning(const Requirement& requirement, const Evidence& before, const Evidence& after) {
  Finding known = judge(requirement, before);
  if (requirement.method != Method::analysis || requirement.quantity == Quantity::nominal_ground_pressure) return known;
  const Learning& l = *after.learning;
  if (!l.validated) {
    known.reasons.push_back(l.contradicted ? "Vehicle tests updated the soil, but held-out runs contradict the update: the answer without it stands."
                                           : "Vehicle tests updated the soil, but the update is not validated by held-out tests: the answer without it stands.");
    known.would_change.push_back(l.contradicted ? "a model that holds what the tow tests show, or tests that tell which of them is wrong" : "tow runs held out from the update");
    return known;
  }
  Finding f = judge(requirement, after);
  f.value_before_learning = known.value;
  f.verdict_before_learning = known.verdict;
  f.reasons.push_back(fmt::format("Before the soil was updated by vehicle tests the finding was {}.", name(known.verdict)));
  return f;
}

}  // namespace hardpan::validation
