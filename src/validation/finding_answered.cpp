// SPDX-License-Identifier: Apache-2.0
// Findings on slopes of a heading, and on what the campaign's other questions answer: tip angle, remote speed, rough ground, trips, rocks.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "performance/slopes_over_soils.hpp"
#include "validation/detail/judging.hpp"

namespace hardpan::validation::detail {
namespace p = performance;

namespace {

// What is known of the vehicle file: weight within 3 % of the scales, height of the centre of gravity by weighing it tilted less well (common practice, no source).
constexpr double kTipGuard = 0.05;

// As far as possible soils of both kinds go.
p::Outcome on_heading(const Requirement& r, const Evidence& e, std::string& factor, double& tips_working_rad) {
  const p::HeadingQuestion question{.headings_rad = {*r.heading_rad}, .working_slip = working_slip(r, e)};
  const auto over = [&](const p::Placed& placed) { return p::slopes_over_soils(*e.vehicle, placed, question, placed.next_point.size()).headings.front(); };
  const p::HeadingSpread next = over(*e.placed);
  p::Outcome o{.centre = next.limit.working.gradient_rad, .next_point = next.working.draws_rad};
  if (next.limit.working.solve.status == base::SolveStatus::no_solution) o.centre = 0;
  else if (!next.limit.working.solve.converged() && next.limit.working.factor == p::HeadingFactor::not_converged) o.centre = std::nan("");
  o.not_converged = next.working.not_converged;
  if (!e.placed->average.empty()) {
    p::Placed average = *e.placed;
    average.next_point = average.average;
    o.average = over(average).working.draws_rad;
  }
  o.estimate = p::estimate_of_outcome(o, *e.placed);
  tips_working_rad = next.limit.tips_working_rad;
  factor = p::name(next.limit.working.factor);
  const auto shares = p::shares(next.working);
  if (!shares.empty() && shares.front().second > 0.5) factor = p::name(shares.front().first);
  return o;
}

}  // namespace

void judge_heading(Finding& f, const Requirement& r, const Evidence& e) {
  if (vehicle::wheel_count(*e.vehicle) < 3) {
    f.reasons.push_back("Not computed: slopes on a heading need a vehicle that stands by itself, on three or more wheels.");
    return;
  }
  double tips = 0;
  const p::Outcome o = on_heading(r, e, f.limiting_factor, tips);
  f.value = o.estimate;
  f.population = e.placed->population;
  if (std::isnan(o.centre)) {
    f.reasons.push_back("The slope on this heading has no numerical answer.");
    return;
  }
  f.reasons.push_back("Steady and straight, up to the working slip and 10 deg of drift; the working tip limit is told apart.");
  const double at = judge_share(f, r, o, r.threshold_si, e.placed->reason_without);
  f.margin_si = at - r.threshold_si;
  f.margin_known = std::isfinite(f.margin_si);
  if (f.verdict == Verdict::met && r.threshold_si > tips) {
    f.verdict = Verdict::not_shown;
    f.reasons.insert(f.reasons.begin(), fmt::format("The slope asked for is steeper than the working tip limit on this heading ({:.1f} deg).", tips * 180 / M_PI));
    f.would_change.push_back("a lower or wider vehicle, or trials on such a slope with a rope or a prop that holds it");
  }
}

void judge_answered(Finding& f, const Requirement& r, const Evidence& e) {
  if (!e.answered || !e.answered->why_not.empty()) {
    f.reasons.push_back("Not computed: " + (e.answered ? e.answered->why_not : "nothing was asked of this vehicle and zone") + ".");
    return;
  }
  const Answered& a = *e.answered;
  f.value = a.outcome.estimate;
  f.population = a.population;
  f.limiting_factor = a.limiting_factor;
  f.guard = a.guard;
  f.records = a.records;
  if (!a.reason.empty()) f.reasons.push_back(a.reason);
  if (std::isnan(a.outcome.centre)) {
    f.reasons.push_back("It has no numerical answer.");
    return;
  }
  double at = a.outcome.centre;
  if (!a.outcome.next_point.empty()) {
    at = judge_share(f, r, a.outcome, r.threshold_si, "");
  } else if (r.quantity == Quantity::tip_angle && !a.outcome.estimate.average_ground) {
    const double guard = kTipGuard * at;
    f.rule = "at least 5 % of the value on the good side of the threshold: weights and centre of gravity of the file are known about so well (common practice, no source)";
    f.verdict = at - r.threshold_si >= guard ? Verdict::met : r.threshold_si - at >= guard ? Verdict::not_met : Verdict::not_shown;
    f.reasons.push_back("A guard band of 5 % stands for what is not known of weights and centre of gravity.");
    if (f.verdict == Verdict::not_shown) f.would_change.push_back("the vehicle file saying how well its centre of gravity is known (cg_height_sd and its like), from weighings repeated");
    if (f.verdict != Verdict::met) f.would_change.push_back("a lower centre of gravity, a wider track, or batteries and payload placed otherwise");
  } else if (a.outcome.estimate.average_ground) {
    const math::Interval& i = *a.outcome.estimate.average_ground;
    f.rule = "the whole 95 % interval on the good side of the threshold";
    f.verdict = i.lo >= r.threshold_si ? Verdict::met : i.hi < r.threshold_si ? Verdict::not_met : Verdict::not_shown;
    at = i.lo;
  } else {
    f.rule = "one number without a scatter: a margin without a probability";
    f.reasons.push_back("No probability: " + (a.reason_without.empty() ? "nothing is known of its scatter" : a.reason_without) + ".");
  }
  f.margin_si = at - r.threshold_si;
  f.margin_known = std::isfinite(f.margin_si);
  if (f.verdict != Verdict::met && !a.would_change.empty()) f.would_change.push_back(a.would_change);
  if (f.verdict == Verdict::met && a.upper_bound) {
    const auto print = [&](double v) { return units::print_quantity(v, units::Dimension::speed, e.output_units); };
    const bool shown = a.reached && a.reached->average_ground && a.reached->average_ground->lo >= r.threshold_si;
    if (!a.reached) f.reasons.insert(f.reasons.begin(), "An upper bound shows what is too much, not that drivers reach it: no run at this delay is recorded.");
    else f.reasons.insert(f.reasons.begin(), fmt::format("Drivers reached {}{} at this delay{}.", print(a.reached->value), a.reached->average_ground ? fmt::format(" (95 % mean: {})", units::print_interval(a.reached->average_ground->lo, a.reached->average_ground->hi, units::Dimension::speed, e.output_units)) : "",
                                                         shown ? "" : "; the bound alone does not show what is asked for"));
    if (!shown) {
      f.verdict = Verdict::not_shown;
      f.would_change.push_back("runs by remote control at this delay, of several drivers");
    }
  }
  if (f.verdict != Verdict::met || a.outcome.next_point.empty()) return;
  if (f.guard >= GuardLevel::beyond) {
    f.verdict = Verdict::not_shown;
    f.reasons.insert(f.reasons.begin(), "Under the wheels the soil is asked for more than twice what was tested, or for what was not tested at all: no plain go.");
    f.would_change.push_back("ground tests that reach what the wheels ask of the soil");
  }
  if (a.pulls_less) {
    f.verdict = Verdict::not_shown;
    f.reasons.push_back("The tow tests lie below the predicted pull; what that does to this quantity was not measured.");
  }
}

void judge_by_runs(Finding& f, const Requirement& r, const Evidence& e) {
  if (!e.runs) {
    f.reasons.push_back("No trials of this quantity are recorded: it is judged by analysis.");
    return;
  }
  f.population = "runs of this vehicle over this way";
  f.limiting_factor = "not told by the tests";
  std::size_t went = 0;
  for (const WayRuns::Decided& d : e.runs->decided) {
    went += d.went ? 1 : 0;
    f.records.push_back(d.place);
  }
  Requirement shared = r;
  shared.probability = e.runs->share;
  demonstrate(f, shared, went, e.runs->decided.size() - went, e.runs->at, e.runs->where);
}

void heed_runs(Finding& f, const Requirement& r, const Evidence& e) {
  if (!e.runs || !std::isfinite(f.value.value)) return;
  const auto one = math::Interval{f.value.value, f.value.value};
  const math::Interval answer = f.value.next_point.value_or(f.value.average_ground.value_or(one));
  const units::Dimension d = r.quantity == Quantity::trip_distance ? units::Dimension::length : r.quantity == Quantity::rough_ground_speed ? units::Dimension::speed : units::Dimension::none;
  const auto print = [&](double v) { return r.quantity == Quantity::clear_run ? fmt::format("{:.0f} %", 100 * v) : units::print_quantity(v, d, e.output_units); };
  for (const WayRuns::Decided& run : e.runs->decided) {
    const std::string file = run.place.substr(0, run.place.rfind(':')) + " (runs)";
    if (std::find(f.records.begin(), f.records.end(), file) == f.records.end()) f.records.push_back(file);
  }
  if (e.runs->went_at && *e.runs->went_at > answer.hi) {
    contradicted(f, true, fmt::format("Contradicted by the runs: these reach {}, the answer {} at most.", print(*e.runs->went_at), print(answer.hi)));
  } else if (e.runs->failed_at && *e.runs->failed_at < answer.lo) {
    contradicted(f, false, fmt::format("Contradicted by the runs: these leave {} at most, the answer is {} at least.", print(*e.runs->failed_at), print(answer.lo)));
  }
}

}  // namespace hardpan::validation::detail
