// SPDX-License-Identifier: Apache-2.0
// Findings on obstacles: friction there against the friction that crossing needs. What is needed does not hang on the soil, and sizes rise with friction: shares of soils are counted
// in friction, sizes told at its quantiles.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "performance/friction_needed.hpp"
#include "performance/obstacle_friction.hpp"
#include "units/print.hpp"
#include "validation/detail/judging.hpp"

namespace hardpan::validation::detail {
namespace {

namespace p = performance;
using math::Interval;
using records::ObstacleKind;

std::string length(double m, const Evidence& e) { return units::print_quantity(m, units::Dimension::length, e.output_units); }

// Largest size that is crossed with a friction; 0 without any, NaN without a numerical answer.
struct Size {
  double m = 0;
  std::optional<p::Obstruction> stopped_by;
  bool at_end = false;   // even the largest size looked at is crossed
};
Size size_at(const p::ProfileVehicle& side, const Requirement& r, double friction) {
  if (!(friction > 0)) return {std::isnan(friction) ? friction : 0, p::Obstruction::friction};
  const p::CrossingSettings s{.friction = friction};
  const bool step = r.quantity == Quantity::highest_step;
  p::ObstacleLimit l = step ? p::highest_step(side, s, {}) : p::widest_gap(side, s, {});
  if (l.solve.status == base::SolveStatus::out_of_range && l.passes_m < r.threshold_si) {
    l = step ? p::highest_step(side, s, {.largest_m = r.threshold_si}) : p::widest_gap(side, s, {.largest_m = r.threshold_si});
  }
  const bool at_end = l.solve.status == base::SolveStatus::out_of_range;
  return {l.solve.converged() || at_end ? l.passes_m : std::nan(""), l.stopped_by, at_end};
}

// The estimate of friction as one of sizes: these never fall with more friction.
math::Estimate sizes_of(const math::Estimate& friction, const p::ProfileVehicle& side, const Requirement& r) {
  math::Estimate e = friction;
  e.value = size_at(side, r, friction.value).m;
  for (auto* i : {&e.average_ground, &e.next_point}) {
    if (*i) *i = Interval{size_at(side, r, (*i)->lo).m, size_at(side, r, (*i)->hi).m};
  }
  return e;
}

math::Estimate less(math::Estimate e, double needed) {
  e.value -= needed;
  for (auto* i : {&e.average_ground, &e.next_point}) {
    if (*i) *i = Interval{(*i)->lo - needed, (*i)->hi - needed};
  }
  return e;
}

p::FrictionNeeded needed_for(const p::ProfileVehicle& side, const Requirement& r, const Evidence& e) {
  if (r.quantity == Quantity::highest_step) return p::friction_needed_for_steps(side, r.threshold_si);
  if (r.quantity == Quantity::widest_gap) return p::friction_needed_for_gaps(side, r.threshold_si);
  return p::friction_needed(side, *e.obstacle);
}

// Friction of the ground, with the measured difference of pull where it is against the vehicle: it is a pull coefficient itself.
p::Outcome friction_there(Finding& f, const Evidence& e) {
  if (e.friction) {
    p::Outcome o{.centre = *e.friction};
    o.estimate = math::estimate_without_interval(*e.friction, "the friction is stated as one number");
    return o;
  }
  p::Outcome o = p::obstacle_friction_outcome(*e.placed);
  f.population = e.placed->population;
  if (const auto d = unfavourable_difference(e, o.centre_state.slip_ratio)) {
    o.centre += d->value;
    for (auto* draws : {&o.average, &o.next_point}) {
      for (double& mu : *draws) mu += d->value;
    }
    o.estimate = p::estimate_of_outcome(o, *e.placed);
    f.reasons.push_back(fmt::format("The tow tests lie {:.3f} below the predicted pull coefficient {}; the friction of the ground is taken lower by that.", -d->value, d->where));
  }
  return o;
}

// What a try says of a slow crossing forward: motion only helps against too little friction or torque, so what stops at speed stops slowly too; how else it ends at speed says nothing.
bool says_of_slow(const records::ObstacleLimits& k, const records::ObstacleReading& t) { return !k.rolling_start || (t.bound == records::TrialBound::below && t.outcome == records::ObstacleOutcome::stopped); }

bool tried_here(const records::ObstacleLimits& k, const Requirement& r, const Evidence& e) { return k.vehicle == r.vehicle && !k.backward && at_file_weight(e, k.weight_n); }

// Tries at the obstacle that the requirement names: a margin of friction contradicts those that got over without any, or did not with some to spare.
void heed_tries_at(Finding& f, const Requirement& r, const Evidence& e, const Interval& margin) {
  for (const records::ObstacleLimits& k : e.trials ? e.trials->obstacles : std::vector<records::ObstacleLimits>{}) {
    if (!tried_here(k, r, e)) continue;
    std::size_t over = 0, failed = 0;
    std::optional<Interval> friction;
    for (const records::ObstacleReading& t : k.tries) {
      if (t.named != r.obstacle || !says_of_slow(k, t)) continue;
      over += t.bound == records::TrialBound::at_least ? 1 : 0;
      failed += t.bound == records::TrialBound::below ? 1 : 0;
      if (t.friction_ratio) friction = friction ? Interval{std::min(friction->lo, *t.friction_ratio), std::max(friction->hi, *t.friction_ratio)} : Interval{*t.friction_ratio, *t.friction_ratio};
      const std::string file = t.file + " (obstacle trials)";
      if (std::find(f.records.begin(), f.records.end(), file) == f.records.end()) f.records.push_back(file);
    }
    if (over > 0 && failed == 0 && margin.hi >= 0 && f.verdict == Verdict::not_met) {
      contradicted(f, true, fmt::format("Contradicted by the tries: {} got over it and none failed{}.", over, friction ? fmt::format(", at a friction of {:.2f} to {:.2f} measured on them", friction->lo, friction->hi) : ""));
    }
    if (over > 0 && margin.hi < 0) {
      contradicted(f, true, fmt::format("Contradicted by the tries: {} got over it, {}.", over, std::isinf(margin.hi) ? "the answer is that no friction would do" : fmt::format("the answer lacks a friction of {:.2f} at least", -margin.hi)));
    }
    if (failed > 0 && margin.lo > 0) contradicted(f, false, fmt::format("Contradicted by the tries: {} did not get over it, the answer has a friction of {:.2f} to spare at least.", failed, margin.lo));
  }
}

bool kind_of(const Requirement& r, ObstacleKind kind) { return kind == (r.quantity == Quantity::widest_gap ? ObstacleKind::gap : ObstacleKind::step_up); }

// Tries forward at this kind of obstacle.
std::vector<const records::ObstacleLimits*> tries_of(const Requirement& r, const Evidence& e) {
  std::vector<const records::ObstacleLimits*> out;
  if (!e.trials || r.quantity == Quantity::friction_margin) return out;
  for (const records::ObstacleLimits& k : e.trials->obstacles) {
    if (tried_here(k, r, e) && (r.zone.empty() || k.zone == r.zone) && kind_of(r, k.obstacle)) out.push_back(&k);
  }
  return out;
}

}  // namespace

void judge_obstacle(Finding& f, const Requirement& r, const Evidence& e) {
  const auto side = p::profile_vehicle(*e.vehicle, e.gravity_m_s2);
  if (!side || side->axles.size() < 2 || (r.quantity == Quantity::friction_margin && !e.obstacle)) {
    f.reasons.push_back(fmt::format("A vehicle of fewer than 2 or more than {} axles is not crossed with.", p::kMostAxles));
    return;
  }
  const p::Outcome mu = friction_there(f, e);
  const p::FrictionNeeded needed = needed_for(*side, r, e);
  const bool margin = r.quantity == Quantity::friction_margin;
  if (std::isnan(needed.friction) || std::isnan(mu.centre)) {
    f.reasons.push_back(std::isnan(mu.centre) ? "The friction of this ground has no numerical answer." : "The crossing has no numerical answer.");
    return;
  }
  const Size there = margin ? Size{} : size_at(*side, r, mu.centre);
  f.value = margin ? less(mu.estimate, needed.friction) : sizes_of(mu.estimate, *side, r);
  if (margin && std::isinf(needed.friction)) f.value = math::estimate_without_interval(std::nan(""), "no friction gets the vehicle over");
  if (there.at_end) f.value.status = "more than was looked for";
  const auto limit = margin ? needed.stopped_by : there.stopped_by;
  f.limiting_factor = limit ? p::name(*limit) : "none";
  f.reasons.push_back("Slowly, on ground that does not break or give way at the edge, with the torque shared as it serves best.");
  const std::string what = margin ? "The obstacle" : std::string(r.quantity == Quantity::widest_gap ? "A gap of " : "A step of ") + length(r.threshold_si, e);
  if (std::isinf(needed.friction)) f.reasons.push_back(fmt::format("{} is not crossed with any friction up to {:.0f}: {}.", what, p::kMostFriction, needed.stopped_by ? p::name(*needed.stopped_by) : "unknown"));
  else f.reasons.push_back(fmt::format("{} takes a friction of {:.2f}; there is {:.2f} ({}).", what, needed.friction, mu.centre, e.friction ? "stated" : "best estimate of the ground, a measured difference counted"));
  const double threshold = needed.friction + (margin ? r.threshold_si : 0);
  double at = mu.centre;
  if (e.friction) {
    f.rule = "a stated friction has no scatter: a margin without a probability";
    f.population = "";
    if (std::isinf(needed.friction)) f.verdict = Verdict::not_met;
    f.reasons.push_back(std::isinf(needed.friction) ? "No probability is needed: no friction would do." : "No probability: the friction is stated as one number.");
    f.would_change.push_back(std::isinf(needed.friction) ? "another vehicle: wheels, clearance or torque" : margin ? "an obstacle whose friction is that of a zone's ground, or tries at it" : "tries at such an obstacle, or the ground of a zone in place of the number");
  } else {
    at = judge_share(f, r, mu, threshold, e.placed->reason_without);
  }
  f.margin_si = margin ? at - threshold : size_at(*side, r, at).m - r.threshold_si;
  f.margin_known = std::isfinite(f.margin_si);
}

void judge_by_tries(Finding& f, const Requirement& r, const Evidence& e) {
  if (r.quantity == Quantity::friction_margin) {
    f.reasons.push_back("A try shows whether the vehicle gets over, not how much friction is left: judge the margin by analysis, which tries at the obstacle can contradict.");
    return;
  }
  constexpr double kSameFriction = 0.05;
  std::vector<DecidedTrial> decided;
  bool other_friction = false;
  for (const records::ObstacleLimits* k : tries_of(r, e)) {
    for (const records::ObstacleReading& t : k->tries) {
      const bool over = t.bound == records::TrialBound::at_least;
      if (!says_of_slow(*k, t)) continue;
      if (!(over || t.bound == records::TrialBound::below) || !in_condition(r, t.condition)) continue;
      // With more friction than is asked for it is no feat to get over, with less none to fail.
      const double more = r.friction_ratio && t.friction_ratio ? *t.friction_ratio / *r.friction_ratio - 1 : 0;
      if (over ? more > kSameFriction : more < -kSameFriction) {
        other_friction = true;
        continue;
      }
      decided.push_back({t.size_m, over, fmt::format("{}:{}", t.file, t.line)});
    }
  }
  if (other_friction) f.reasons.push_back(fmt::format("Tries at another friction than the {:.2f} asked for do not count: over it those that went, under it those that failed.", *r.friction_ratio));
  f.population = "slow tries of this vehicle at such obstacles";
  f.limiting_factor = "not told by the tests";
  const std::string size = length(r.threshold_si, e);
  demonstrate_by(f, r, decided, r.threshold_si, size, size + (r.quantity == Quantity::widest_gap ? " or wider, or failed below it," : " or higher, or failed below it,"), [&](double m) { return length(m, e); });
}

void heed_tries(Finding& f, const Requirement& r, const Evidence& e) {
  if (r.quantity == Quantity::friction_margin && std::isnan(f.value.value) && f.verdict == Verdict::not_met) {
    constexpr double kNever = -std::numeric_limits<double>::infinity();
    return heed_tries_at(f, r, e, {kNever, kNever});
  }
  if (std::isnan(f.value.value)) return;
  const Interval predicted = f.value.next_point.value_or(Interval{f.value.value, f.value.value});
  if (r.quantity == Quantity::friction_margin) return heed_tries_at(f, r, e, predicted);
  for (const records::ObstacleLimits* k : tries_of(r, e)) {
    double crossed = 0, stopped = std::numeric_limits<double>::infinity();
    for (const records::ObstacleReading& t : k->tries) {
      if (!says_of_slow(*k, t)) continue;
      if (t.bound == records::TrialBound::at_least) crossed = std::max(crossed, t.size_m);
      if (t.bound == records::TrialBound::below) stopped = std::min(stopped, t.size_m);
      const std::string file = t.file + " (obstacle trials)";
      if (std::find(f.records.begin(), f.records.end(), file) == f.records.end()) f.records.push_back(file);
    }
    if (crossed > predicted.hi * 1.02) {
      contradicted(f, true, fmt::format("Contradicted by the tries: {} was crossed, the answer reaches {} at most.", length(crossed, e), length(predicted.hi, e)));
    } else if (stopped < predicted.lo * 0.98) {
      contradicted(f, false, fmt::format("Contradicted by the tries: not over {}{}, the answer is {} at least.", length(stopped, e), k->rolling_start ? " at speed" : "", length(predicted.lo, e)));
    }
  }
}

}  // namespace hardpan::validation::detail
