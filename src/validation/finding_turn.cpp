// SPDX-License-Identifier: Apache-2.0
// Findings on turning: the smallest steady slow turn over possible soils, and turns that were driven.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "performance/turn_over_soils.hpp"
#include "units/print.hpp"
#include "validation/compare_turns.hpp"
#include "validation/detail/judging.hpp"

namespace hardpan::validation::detail {
namespace {

namespace p = performance;
constexpr double kSameGradient_rad = 0.0175;   // 1 degree, as turns are grouped

std::string length(double m, const Evidence& e) { return units::print_quantity(m, units::Dimension::length, e.output_units); }

// On a gradient a turn meets every heading. A vehicle that is alike on both sides turns alike to both.
std::vector<p::TurnCase> cases_of(const Requirement& r, const vehicle::Vehicle& v) {
  std::vector<p::TurnCase> out;
  const double gradient = std::abs(r.gradient_rad.value_or(0));
  const bool two_sides = gradient == 0 && vehicle::loaded_body(v).cg_y_m != 0;
  for (const double side : {1.0, -1.0}) {
    if (side < 0 && !two_sides) continue;
    for (int quarter = 0; quarter < (gradient > 0 ? 4 : 1); ++quarter) out.push_back({.radius_m = side, .gradient_rad = gradient, .heading_rad = quarter * std::numbers::pi / 2});
  }
  return out;
}

// Radii of the vehicle's centre plane at which it turned, and at which it did not; turns of this vehicle here, on this gradient.
struct Turned {
  double radius_m = 0;
  bool held = false, right = false;
  std::string file;
  std::size_t line = 0;
};
std::vector<Turned> turns_of(const Requirement& r, const Evidence& e) {
  std::vector<Turned> out;
  if (!e.trials) return out;
  for (const records::TurnLimits& k : e.trials->turns) {
    if (k.vehicle != r.vehicle || k.zone != r.zone || !at_file_weight(e, k.weight_n) || std::abs(k.gradient_rad - std::abs(r.gradient_rad.value_or(0))) > kSameGradient_rad) continue;
    for (const records::TurnReading& t : k.turns) {
      const bool held = t.bound == records::TrialBound::at_least;
      if ((held || t.bound == records::TrialBound::below) && in_condition(r, t.condition)) out.push_back({vehicle_radius_m(*e.vehicle, k.path, t.radius_m), held, k.right, t.file, t.line});
    }
  }
  return out;
}

}  // namespace

void judge_turn(Finding& f, const Requirement& r, const Evidence& e) {
  if (!e.why_not.empty()) {
    f.reasons.push_back("Not computed: " + e.why_not + ".");
    f.would_change.push_back("turns of this vehicle on this ground, with method = \"demonstration\"");
    return;
  }
  const p::SmallestOverSoils s = p::smallest_turn_over_soils(*e.vehicle, *e.placed, cases_of(r, *e.vehicle), kTurnSoils);
  f.value = s.radius_m.estimate;
  f.population = e.placed->population;
  f.limiting_factor = s.limit == p::TurnLimit::none ? "none" : p::name(s.limit);
  f.reasons.push_back(fmt::format("A steady slow turn, the radius that of the vehicle's centre{}.", r.gradient_rad && *r.gradient_rad != 0 ? ", on the gradient with every heading, of which four are looked at" : ""));
  if (!s.radius_m.next_point.empty()) f.reasons.push_back(fmt::format("{} possible soils answer: a share is known to {:.1g} % at best.", s.radius_m.next_point.size(), 100.0 / static_cast<double>(s.radius_m.next_point.size())));
  const double at = judge_share(f, r, s.radius_m, r.threshold_si, e.placed->reason_without);
  f.margin_si = r.threshold_si - at;
  f.margin_known = std::isfinite(f.margin_si);
}

void judge_by_turns(Finding& f, const Requirement& r, const Evidence& e) {
  std::vector<DecidedTrial> decided;
  bool left = false, right = false;   // some turn of what is asked for held
  for (const Turned& t : turns_of(r, e)) {
    decided.push_back({-t.radius_m, t.held, fmt::format("{}:{}", t.file, t.line)});
    if (t.held && t.radius_m <= r.threshold_si) (t.right ? right : left) = true;
  }
  f.population = "turns of this vehicle on this ground";
  f.limiting_factor = "not told by the tests";
  const std::string radius = length(r.threshold_si, e);
  demonstrate_by(f, r, decided, -r.threshold_si, radius, radius + " or tighter, or failed above it,", [&](double m) { return length(-m, e); });
  if (left != right) {
    f.reasons.push_back(fmt::format("Turned to the {} only: the other side is not shown.", left ? "left" : "right"));
    f.would_change.push_back(fmt::format("turns to the {}", left ? "right" : "left"));
    if (f.verdict == Verdict::met) f.verdict = Verdict::not_shown;
  }
}

void heed_turns(Finding& f, const Requirement& r, const Evidence& e) {
  for (const Turned& t : turns_of(r, e)) {
    const std::string file = t.file + " (turn trials)";
    if (std::find(f.records.begin(), f.records.end(), file) == f.records.end()) f.records.push_back(file);
  }
  if (std::isnan(f.value.value)) return;
  const math::Interval answer = f.value.next_point.value_or(math::Interval{f.value.value, f.value.value});
  const char* sure = f.value.next_point ? " (95 %)" : "";
  std::optional<double> held, failed;   // tightest and widest
  for (const Turned& t : turns_of(r, e)) {
    if (t.held) held = std::min(held.value_or(t.radius_m), t.radius_m);
    else failed = std::max(failed.value_or(t.radius_m), t.radius_m);
  }
  if (held && *held < answer.lo) contradicted(f, true, fmt::format("Contradicted by the turns: one of {} was held, the answer is {} at least{}.", length(*held, e), length(answer.lo, e), sure));
  if (failed && *failed > answer.hi) contradicted(f, false, fmt::format("Contradicted by the turns: one of {} failed, the answer is {} at most{}.", length(*failed, e), length(answer.hi, e), sure));
}

}  // namespace hardpan::validation::detail
