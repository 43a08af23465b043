// SPDX-License-Identifier: Apache-2.0
// From the level up a ladder of slopes until one is not travelled, then halving: the first slope that stops the vehicle is wanted, not a
// steeper one that happens to balance.
#include "performance/any_heading.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "performance/detail/slope_lanes.hpp"

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kRung = 2.5 * kDeg, kBracket = 0.01 * kDeg;

double largest_slip(const TurnState& s) {
  double most = 0;
  for (const WheelInTurn& w : s.wheels) {
    if (w.load_n > 0 && std::isfinite(w.answer.slip_ratio)) most = std::max(most, std::abs(w.answer.slip_ratio));
  }
  return most;
}

HeadingFactor factor_of(const TurnState& s, double heading_rad) {
  switch (limit_of(s)) {
    case TurnLimit::none: return HeadingFactor::none;
    case TurnLimit::ground: return detail::ground_gives_out(heading_rad);
    case TurnLimit::torque:
    case TurnLimit::power: return HeadingFactor::torque;
    case TurnLimit::steering: return HeadingFactor::steering;
    case TurnLimit::carrying: return HeadingFactor::carrying;
    case TurnLimit::tips_over: return HeadingFactor::tips_over;
    case TurnLimit::not_converged: return HeadingFactor::not_converged;
  }
  return HeadingFactor::not_converged;
}

struct Tried {
  TurnState state;
  HeadingFactor factor = HeadingFactor::none;
};

}  // namespace

namespace detail {

HeadingBounds working_bounds(const HeadingQuestion& q) { return {q.working_slip, q.working_drift_rad, HeadingFactor::drift}; }
HeadingBounds largest_bounds() { return {1, std::numbers::pi / 4, HeadingFactor::side_slip}; }

HeadingFactor ground_gives_out(double heading_rad) {
  // A tie, at 45 deg, goes one way on every quarter of the circle.
  if (std::abs(std::sin(heading_rad)) > std::abs(std::cos(heading_rad)) + 1e-9) return HeadingFactor::side_slip;
  return std::cos(heading_rad) > 0 ? HeadingFactor::traction : HeadingFactor::run_away;
}

namespace {

Tried tried(StraightWay& way, double gradient, double heading_rad, const HeadingBounds& bounds) {
  Tried t{.state = way.at(gradient)};
  t.factor = factor_of(t.state, heading_rad);
  if (t.factor == HeadingFactor::none && std::abs(t.state.drift_rad) > bounds.drift_rad) t.factor = bounds.beyond_drift;
  if (t.factor == HeadingFactor::none && largest_slip(t.state) > bounds.slip) t.factor = HeadingFactor::working_slip;
  return t;
}

void not_even_level(HeadingReach& out, HeadingFactor factor) {
  out.factor = factor;
  out.drift_rad = out.largest_slip = contact::kNoNumber;
  out.solve.status = factor == HeadingFactor::not_converged ? base::SolveStatus::out_of_steps : base::SolveStatus::no_solution;
}

}  // namespace

OnLevel on_level(const TurningMachine& machine, const HeadingBounds& bounds) {
  StraightWay way(machine, 0);
  const Tried t = tried(way, 0, 0, bounds);
  OnLevel out{.travels = t.factor == HeadingFactor::none};
  out.otherwise.solve = {.residual_unit = "rad", .evaluations = 1};
  if (!out.travels) not_even_level(out.otherwise, t.factor);
  return out;
}

KnownLimit search_limit(const TurningMachine& machine, double heading_rad, const HeadingBounds& bounds, double steepest_rad, double bracket_rad) {
  KnownLimit known{.reach = {.solve = {.tolerance = bracket_rad, .residual_unit = "rad"}}};
  HeadingReach& out = known.reach;
  StraightWay way(machine, heading_rad);
  const auto at = [&](double gradient) {
    ++out.solve.evaluations;
    return tried(way, gradient, heading_rad, bounds);
  };
  double low = 0, high = 0;
  const auto keep = [&](double gradient, const Tried& t) {
    low = out.gradient_rad = gradient;
    out.drift_rad = t.state.drift_rad;
    out.largest_slip = largest_slip(t.state);
    known.z = way.z;
  };
  Tried t = at(0);
  out.factor = t.factor;
  if (t.factor != HeadingFactor::none) {
    not_even_level(out, t.factor);
    return known;
  }
  known.travels = true;
  keep(0, t);
  for (;;) {
    while (out.factor == HeadingFactor::none) {
      if (low >= steepest_rad) {
        out.solve.status = base::SolveStatus::out_of_range;
        return known;
      }
      high = std::min(low + kRung, steepest_rad);
      t = at(high);
      out.factor = t.factor;
      if (t.factor == HeadingFactor::none) keep(high, t);
    }
    while (high - low > bracket_rad) {
      const double middle = 0.5 * (low + high);
      t = at(middle);
      ++out.solve.steps;
      if (t.factor == HeadingFactor::none) keep(middle, t);
      else {
        high = middle;
        out.factor = t.factor;
      }
    }
    if (out.factor != HeadingFactor::not_converged) break;
    // Looked for from far away a balance can be missed: once more from next to it. Missed from there too, it has met another one and both
    // have ended: the ground gives out.
    t = at(high);
    out.factor = t.factor;
    if (t.factor == HeadingFactor::none) {
      keep(high, t);
      continue;
    }
    if (t.factor == HeadingFactor::not_converged && t.state.solve.status == base::SolveStatus::stalled) out.factor = ground_gives_out(heading_rad);
    break;
  }
  out.solve.residual = high - low;
  out.solve.status = out.factor == HeadingFactor::not_converged ? base::SolveStatus::out_of_steps : base::SolveStatus::converged;
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
  std::vector<HeadingLimit> out;
  for (const double heading : question.headings_rad) {
    const auto limit = [&](const detail::HeadingBounds& bounds) { return detail::search_limit(machine, heading, bounds, question.steepest_rad, kBracket).reach; };
    HeadingLimit h{.heading_rad = heading, .working = limit(detail::working_bounds(question)), .largest = limit(detail::largest_bounds())};
    const TipOver tip = tip_over(machine.stance, std::numbers::pi - heading);  // the fall line, seen from the vehicle
    h.tips_rad = tip.angle_rad;
    h.tips_about = tip.about;
    out.push_back(h);
  }
  return out;
}

std::vector<double> evenly_round(std::size_t count) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(2 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(count));
  return out;
}

}  // namespace hardpan::performance
