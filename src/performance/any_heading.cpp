// SPDX-License-Identifier: Apache-2.0
#include "performance/any_heading.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "performance/detail/slope_lanes.hpp"
#include "performance/tip_over_joints.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kRung = 2.5 * kDeg, kBracket = 0.01 * kDeg;

double largest_slip(const TurnState& s) {
  double most = 0;
  for (const WheelInTurn& w : s.wheels) {
    if (w.load_n > 0) most = std::max(most, std::isfinite(w.answer.slip_ratio) ? std::abs(w.answer.slip_ratio) : 1);  // none told: the rim runs against its travel
  }
  return most;
}

HeadingFactor factor_of(const TurnState& s, double heading_rad) {
  switch (limit_of(s)) {
    case TurnLimit::none: return HeadingFactor::none;
    case TurnLimit::ground: return detail::ground_gives_out(heading_rad);
    case TurnLimit::torque:
    case TurnLimit::power: return HeadingFactor::torque;
    case TurnLimit::steering:
    case TurnLimit::follower: return HeadingFactor::steering;
    case TurnLimit::carrying: return HeadingFactor::carrying;
    case TurnLimit::tips_over: return HeadingFactor::tips_over;
    case TurnLimit::not_converged: return HeadingFactor::not_converged;
  }
  return HeadingFactor::not_converged;
}

}  // namespace

namespace detail {

HeadingBounds working_bounds(const HeadingQuestion& q) { return {q.working_slip, q.working_drift_rad, HeadingFactor::drift, q.steepest_rad}; }
HeadingBounds largest_bounds(const HeadingQuestion& q) { return {1, std::numbers::pi / 4, HeadingFactor::side_slip, q.steepest_rad}; }

HeadingBounds before_it_tips(HeadingBounds bounds, double tips_rad) {
  if (tips_rad < bounds.steepest_rad) {
    bounds.steepest_rad = tips_rad;
    bounds.beyond_steepest = HeadingFactor::tips_over;
  }
  return bounds;
}

HeadingFactor ground_gives_out(double heading_rad) {
  // A tie, at 45 deg, goes one way on every quarter of the circle.
  if (std::abs(std::sin(heading_rad)) > std::abs(std::cos(heading_rad)) + 1e-9) return HeadingFactor::side_slip;
  return std::cos(heading_rad) > 0 ? HeadingFactor::traction : HeadingFactor::run_away;
}

namespace {

HeadingFactor factor_within(const TurnState& s, double heading_rad, const HeadingBounds& bounds) {
  const HeadingFactor f = factor_of(s, heading_rad);
  if (f != HeadingFactor::none) return f;
  if (std::abs(s.drift_rad) > bounds.drift_rad) return bounds.beyond_drift;
  return largest_slip(s) > bounds.slip ? HeadingFactor::working_slip : HeadingFactor::none;
}

void not_even_level(HeadingReach& out, HeadingFactor factor) {
  out.factor = factor;
  out.drift_rad = out.largest_slip = contact::kNoNumber;
  out.solve.status = factor == HeadingFactor::not_converged ? base::SolveStatus::out_of_steps : base::SolveStatus::no_solution;
}

}  // namespace

OnLevel on_level(const TurningMachine& machine, std::span<const HeadingBounds> bounds) {
  StraightWay way(machine, 0);
  const TurnState state = way.at(0);
  OnLevel out{.z = way.z};
  for (const HeadingBounds& b : bounds) {
    HeadingReach r{.factor = factor_within(state, 0, b), .solve = {.residual_unit = "rad", .evaluations = 1}};
    if (r.factor != HeadingFactor::none) not_even_level(r, r.factor);
    out.otherwise.push_back(r);
  }
  return out;
}

// Steps up from the last slope travelled. One that is balanced beyond a bound shows where the bound lies; where no balance is found, one may all the
// same exist, missed from afar, and steps only get shorter. What is found from afar may be another balance than that of the way: what ends it must do
// so from next to it.
KnownLimit search_limit(const TurningMachine& machine, double heading_rad, const HeadingBounds& bounds) {
  KnownLimit known{.reach = {.solve = {.tolerance = kBracket, .residual_unit = "rad"}}};
  HeadingReach& out = known.reach;
  StraightWay way(machine, heading_rad);
  TurnState state;
  const auto travels = [&](double gradient) {
    ++out.solve.evaluations;
    state = way.at(gradient);
    out.factor = factor_within(state, heading_rad, bounds);
    if (out.factor != HeadingFactor::none) {
      way.z = known.z;
      return false;
    }
    out.gradient_rad = gradient;
    out.drift_rad = state.drift_rad;
    out.largest_slip = largest_slip(state);
    known.z = way.z;
    return true;
  };
  known.z = way.z;
  if (!travels(0)) {
    not_even_level(out, out.factor);
    return known;
  }
  known.travels = true;
  for (double step = kRung; out.gradient_rad < bounds.steepest_rad;) {
    const double next = std::min(out.gradient_rad + step, bounds.steepest_rad);
    ++out.solve.steps;
    if (travels(next)) {
      step = std::min(1.5 * step, kRung);
    } else {
      out.solve.residual = next - out.gradient_rad;
      if (out.solve.residual <= kBracket) break;
      step = 0.5 * out.solve.residual;
    }
  }
  // Missed from next to it too: it has met another one and both have ended, the ground gives out.
  const bool lost = state.solve.status == base::SolveStatus::stalled || state.solve.status == base::SolveStatus::out_of_steps;
  if (out.factor == HeadingFactor::not_converged && lost) out.factor = ground_gives_out(heading_rad);
  if (out.factor == HeadingFactor::none) out.factor = bounds.beyond_steepest;
  out.solve.status = out.factor == HeadingFactor::none ? base::SolveStatus::out_of_range : out.factor == HeadingFactor::not_converged ? base::SolveStatus::out_of_steps : base::SolveStatus::converged;
  return known;
}

}  // namespace detail

const char* name(HeadingFactor factor) {
  switch (factor) {
    case HeadingFactor::none: return "nothing up to the steepest slope looked at";
    case HeadingFactor::traction: return "traction";
    case HeadingFactor::run_away: return "run-away";
    case HeadingFactor::side_slip: return "side slip";
    case HeadingFactor::working_slip: return "working slip";
    case HeadingFactor::drift: return "drift";
    case HeadingFactor::torque: return "torque";
    case HeadingFactor::steering: return "steering stop";
    case HeadingFactor::carrying: return "a wheel is not carried";
    case HeadingFactor::tips_over: return "tip-over";
    case HeadingFactor::not_converged: return "no numerical answer";
  }
  return "";
}

std::vector<HeadingLimit> slopes_by_heading(const TurningMachine& machine, const HeadingQuestion& question) {
  const std::array<detail::HeadingBounds, 2> bounds{detail::working_bounds(question), detail::largest_bounds(question)};
  const detail::OnLevel level = detail::on_level(machine, bounds);
  std::vector<HeadingLimit> out;
  for (const double heading : question.headings_rad) {
    const double fall = std::numbers::pi - heading;  // seen from the vehicle
    const TipOver tip = still_tip(machine.vehicle, machine.stance, machine.gravity_m_s2, fall).tip;
    const double tips_rad = standing_tip_rad(machine.vehicle, machine.gravity_m_s2, fall);
    const auto limit = [&](std::size_t bound) {
      return detail::find_limit(machine, level, bound, heading, detail::before_it_tips(bounds[bound], tips_rad), contact::SimdTarget::plain).reach;
    };
    out.push_back({.heading_rad = heading, .working = limit(0), .largest = limit(1), .tips_rad = tip.angle_rad,
                   .tips_working_rad = working_tip_rad(machine.vehicle, machine.gravity_m_s2, fall), .tips_about = tip.about});
  }
  return out;
}

double standing_tip_rad(const vehicle::Vehicle& v, double gravity_m_s2, double fall_rad) {
  const Stance stance = stance_of(v, gravity_m_s2);
  return std::min(still_tip(v, stance, gravity_m_s2, fall_rad).tip.angle_rad, settled_tip_over(stance, fall_rad, {}).tip.angle_rad);
}

double working_tip_rad(const vehicle::Vehicle& v, double gravity_m_s2, double fall_rad) { return kWorkingShare * standing_tip_rad(v, gravity_m_s2, fall_rad); }

std::vector<double> evenly_round(std::size_t count) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(2 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(count));
  return out;
}

}  // namespace hardpan::performance
