// SPDX-License-Identifier: Apache-2.0
// From the level up a ladder of slopes until one is not travelled, then halving: the first slope that stops the vehicle is wanted, not a
// steeper one that happens to balance.
#include "performance/any_heading.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

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

// Where no balance is left, the larger part of the weight's pull along the slope names what is missing.
HeadingFactor ground_gives_out(double heading_rad) {
  if (std::abs(std::sin(heading_rad)) > std::abs(std::cos(heading_rad))) return HeadingFactor::side_slip;
  return std::cos(heading_rad) > 0 ? HeadingFactor::traction : HeadingFactor::run_away;
}

HeadingFactor factor_of(const TurnState& s, double heading_rad) {
  switch (limit_of(s)) {
    case TurnLimit::none: return HeadingFactor::none;
    case TurnLimit::ground: return ground_gives_out(heading_rad);
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

HeadingReach reach(const std::function<Tried(double)>& at, double steepest_rad, HeadingFactor ground) {
  HeadingReach out{.solve = {.tolerance = kBracket, .residual_unit = "rad"}};
  double low = 0, high = 0;
  const auto keep = [&](double gradient, const Tried& t) {
    low = out.gradient_rad = gradient;
    out.drift_rad = t.state.drift_rad;
    out.largest_slip = largest_slip(t.state);
  };
  Tried t = at(0);
  out.solve.evaluations = 1;
  out.factor = t.factor;
  if (t.factor != HeadingFactor::none) {
    out.drift_rad = out.largest_slip = contact::kNoNumber;
    out.solve.status = t.factor == HeadingFactor::not_converged ? base::SolveStatus::out_of_steps : base::SolveStatus::no_solution;
    return out;
  }
  keep(0, t);
  for (;;) {
    while (out.factor == HeadingFactor::none) {
      if (low >= steepest_rad) {
        out.solve.status = base::SolveStatus::out_of_range;
        return out;
      }
      high = std::min(low + kRung, steepest_rad);
      t = at(high);
      ++out.solve.evaluations;
      out.factor = t.factor;
      if (t.factor == HeadingFactor::none) keep(high, t);
    }
    while (high - low > kBracket) {
      const double middle = 0.5 * (low + high);
      t = at(middle);
      ++out.solve.evaluations;
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
    ++out.solve.evaluations;
    out.factor = t.factor;
    if (t.factor == HeadingFactor::none) {
      keep(high, t);
      continue;
    }
    if (t.factor == HeadingFactor::not_converged && t.state.solve.status == base::SolveStatus::stalled) out.factor = ground;
    break;
  }
  out.solve.residual = high - low;
  out.solve.status = out.factor == HeadingFactor::not_converged ? base::SolveStatus::out_of_steps : base::SolveStatus::converged;
  return out;
}

}  // namespace

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
    const auto limit = [&](double slip, double drift, HeadingFactor beyond_drift) {
      StraightOnSlopes way(machine, heading);
      return reach([&](double gradient) {
        Tried t{.state = way.at(gradient)};
        t.factor = factor_of(t.state, heading);
        if (t.factor == HeadingFactor::none && std::abs(t.state.drift_rad) > drift) t.factor = beyond_drift;
        if (t.factor == HeadingFactor::none && largest_slip(t.state) > slip) t.factor = HeadingFactor::working_slip;
        return t;
      }, question.steepest_rad, ground_gives_out(heading));
    };
    HeadingLimit h{.heading_rad = heading, .working = limit(question.working_slip, question.working_drift_rad, HeadingFactor::drift),
                   .largest = limit(1, std::numbers::pi / 4, HeadingFactor::side_slip)};
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
