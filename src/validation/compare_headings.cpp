// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_headings.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace hardpan::validation {
namespace {

namespace p = performance;
using records::HeadingEnd;

constexpr double kDeg = 180 / std::numbers::pi;
constexpr double kFar = std::numeric_limits<double>::infinity();

math::Interval left_of_the_limit(const records::AngleBracket& b) {
  if (b.overlap && b.no_go_rad && b.steepest_go_rad) return {*b.no_go_rad, *b.steepest_go_rad};
  const double lo = std::max(b.go_rad.value_or(-kFar), b.at_least_rad.value_or(-kFar)), hi = b.no_go_rad.value_or(kFar);
  return {std::min(lo, hi), hi};
}

// On the best-estimate soil, with slip sinkage on loose ground.
std::optional<double> drift_on(const vehicle::Vehicle& vehicle, const p::Placed& placed, double heading_rad, double slope_rad) {
  const auto machine = p::turning_machine(vehicle, placed.centre.sinking ? *placed.centre.sinking : placed.centre.plain, placed.plan.gravity_m_s2);
  const p::TurnState s = p::StraightOnSlopes(machine, heading_rad).at(slope_rad);
  return s.balanced() ? std::optional(std::abs(s.drift_rad)) : std::nullopt;
}

std::string predicted_words(const HeadingComparison& c) {
  std::string out = fmt::format("Predicted on the best-estimate soil, {}: up to {:.1f} deg", c.by_drift ? "up to the working slip and drift" : "whatever the slip", c.predicted_rad * kDeg);
  if (c.next_point_rad) out += fmt::format(" ({:.1f} to {:.1f} deg at the next point)", c.next_point_rad->lo * kDeg, c.next_point_rad->hi * kDeg);
  return out + (c.factor == p::HeadingFactor::none ? "" : fmt::format(", then {}", p::name(c.factor)));
}

HeadingComparison compare_one(const records::SlopeLimits& k, const vehicle::Vehicle& vehicle, const p::Placed& placed, double working_slip) {
  HeadingComparison c{.vehicle = k.vehicle, .zone = k.zone, .heading_rad = *k.heading_rad, .bracket = k.bracket, .measured_rad = left_of_the_limit(k.bracket), .predicted_rad = std::nan("")};
  const std::string head = "Heading " + records::heading_words(c.heading_rad) + ": " + k.bracket.text + ". ";
  c.bracketed = k.bracket.no_go_rad && (k.bracket.go_rad || k.bracket.overlap);
  c.by_drift = k.ended.size() == 1 && k.ended.front().first == HeadingEnd::drift;
  if (vehicle::wheel_count(vehicle) < 3) {
    c.statement = head + "Nothing is judged: slopes on any heading need a vehicle on three or more wheels.";
    return c;
  }
  const p::SlopesOverSoils s = p::slopes_over_soils(vehicle, placed, {.headings_rad = {c.heading_rad}, .working_slip = working_slip}, kHeadingSoils);
  const p::HeadingSpread& h = s.headings.front();
  const p::HeadingReach& reach = c.by_drift ? h.limit.working : h.limit.largest;
  const p::SlopeSpread& spread = c.by_drift ? h.working : h.largest;
  c.soils = spread.draws_rad.size() - std::min(spread.draws_rad.size(), spread.not_converged);
  c.tips_working_rad = h.limit.tips_working_rad;
  c.factor = reach.factor;
  if (reach.factor != p::HeadingFactor::not_converged) c.predicted_rad = reach.gradient_rad;
  c.next_point_rad = spread.next_point;
  const records::TrialReading* most = nullptr;
  for (const records::TrialReading& t : k.trials) {
    if (t.bound != records::TrialBound::set_aside && t.outcome == records::TrialOutcome::go && t.drift_rad && (!most || *t.drift_rad > *most->drift_rad)) most = &t;
  }
  if (most) {
    c.drift_measured_rad = most->drift_rad;
    c.drift_at_rad = most->angle_rad;
    c.drift_predicted_rad = drift_on(vehicle, placed, c.heading_rad, most->angle_rad);
  }
  if (std::isnan(c.predicted_rad)) {
    c.statement = head + "The prediction has no numerical answer; nothing is judged.";
    return c;
  }
  c.judged = std::isfinite(c.measured_rad.lo) || std::isfinite(c.measured_rad.hi);
  const double lo = c.next_point_rad ? c.next_point_rad->lo : c.predicted_rad, hi = c.next_point_rad ? c.next_point_rad->hi : c.predicted_rad;
  c.consistent = c.judged && lo <= c.measured_rad.hi && hi >= c.measured_rad.lo;
  c.statement = head + predicted_words(c) + ": " + (!c.judged ? "nothing to compare with, no trial bounds the limit" : c.consistent ? "consistent with the trials" : "contradicted by the trials");
  c.statement += c.judged && !c.bracketed ? ", which bound it from one side only." : ".";
  if (c.drift_measured_rad) {
    c.statement += fmt::format(" At {:.1f} deg the vehicle drifted {:.1f} deg", *c.drift_at_rad * kDeg, *c.drift_measured_rad * kDeg);
    c.statement += c.drift_predicted_rad ? fmt::format("; {:.1f} deg are computed there.", *c.drift_predicted_rad * kDeg) : "; there the computation finds no balance.";
  }
  const bool caution = std::any_of(k.ended.begin(), k.ended.end(), [](const auto& e) { return e.first == HeadingEnd::tip_over; });
  if (caution) c.statement += fmt::format(" Runs stopped for fear of tipping bound nothing above; the working tip limit on this heading is {:.1f} deg on hard ground.", c.tips_working_rad * kDeg);
  return c;
}

}  // namespace

std::vector<HeadingComparison> compare_headings(const vehicle::Vehicle& vehicle, const p::Placed& placed, double working_slip, const records::DrawbarResult& drawbar) {
  std::vector<HeadingComparison> out;
  for (const records::SlopeLimits& k : drawbar.slopes) {
    if (k.heading_rad && k.vehicle == placed.vehicle && k.zone == placed.zone) out.push_back(compare_one(k, vehicle, placed, working_slip));
  }
  return out;
}

}  // namespace hardpan::validation
