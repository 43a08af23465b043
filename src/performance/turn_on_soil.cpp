// SPDX-License-Identifier: Apache-2.0
// The ways along which solutions are followed; the balances themselves are in detail/turn_balance.cpp.
#include "performance/turn_on_soil.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "performance/detail/turn_balance.hpp"
#include "performance/detail/turn_scan.hpp"
#include "performance/wheels_on_ground.hpp"

namespace hardpan::performance {
namespace {

using contact::WheelAnswer;
using vehicle::SteeringKind;
using detail::Balance;
using detail::take_at;
using detail::Unknown;
constexpr double kRightAngle = std::numbers::pi / 2;
constexpr double kSmallestStep = 1e-4;   // of bearing, at a radius of one wheelbase 2e-4 of it; of gradient

// The way from straight ahead (bearing 0) to turning on the spot (a right angle): tan(bearing) = L / radius.
class Way {
 public:
  Way(const TurningMachine& m, const TurnCase& c, double smallest_step = kSmallestStep)
      : m_(m), turn_(c), length_(vehicle::wheelbase_m(m.vehicle)), smallest_step_(smallest_step), balance_(m, turn_), z_(balance_.start()) {
    goes_ = take(0, z_, state_);
    if (!goes_ && c.gradient_rad > 0 && state_.status != TurnStatus::tips_over) tilt_to(c.gradient_rad);
    if (!goes_) failed_ = state_;
  }
  Way(const Way&) = delete;  // the balance looks at turn_
  Way& operator=(const Way&) = delete;

  [[nodiscard]] double radius_at(double bearing) const {
    const double size = bearing <= 0 ? std::numeric_limits<double>::infinity() : bearing >= kRightAngle ? 0 : length_ / std::tan(bearing);
    return std::copysign(size, turn_.radius_m);
  }
  [[nodiscard]] double bearing_of(double radius) const { return std::isinf(radius) ? 0 : std::atan2(length_, std::abs(radius)); }

  [[nodiscard]] bool goes() const { return goes_; }             // straight travel, and every step since
  [[nodiscard]] double bearing() const { return bearing_; }
  [[nodiscard]] const TurnState& state() const { return state_; }
  [[nodiscard]] const TurnState& failed() const { return failed_; }
  [[nodiscard]] const Unknown& unknown() const { return z_; }

  // One solution from a guess, off the way.
  bool take(double bearing, Unknown& z, TurnState& out) { return take_at(balance_, radius_at(bearing), m_.machine.weight_n, z, out); }
  Unknown start_on_the_spot() {
    balance_.set_radius(std::copysign(0.0, turn_.radius_m));
    return balance_.start_on_the_spot();
  }

  // Goes to a bearing in steps that shrink where one does not converge; false: stuck before it, and failed() says how.
  bool go_to(double bearing) {
    double step = bearing - bearing_;
    while (goes_ && bearing_ < bearing) {
      const bool whole = bearing - bearing_ <= step * (1 + 1e-12);
      const double next = whole ? bearing : bearing_ + step;
      Unknown z = z_;
      TurnState there;
      if (take(next, z, there)) {
        bearing_ = next;
        z_ = z;
        state_ = std::move(there);
        step *= 2;
        continue;
      }
      failed_ = std::move(there);
      step *= 0.5;
      if (step < smallest_step_) {
        goes_ = false;
        call_ended(failed_);
      }
    }
    return goes_;
  }

 private:
  // Straight travel from the level to a gradient, in steps that shrink.
  void tilt_to(double gradient) {
    double at = 0, step = 0.25 * gradient;
    z_ = balance_.start();
    turn_.gradient_rad = 0;
    if (take(0, z_, state_)) {
      while (at < gradient && step >= kSmallestStep) {
        turn_.gradient_rad = std::min(at + step, gradient);
        Unknown z = z_;
        if (take(0, z, state_)) {
          at = turn_.gradient_rad;
          z_ = z;
          step *= 2;
        } else {
          step *= 0.5;
        }
      }
      goes_ = at >= gradient;
      if (!goes_) call_ended(state_);
    }
    turn_.gradient_rad = gradient;
  }

  // A solution that ends within so small a step has met another one: the ground gives no more. Newton's steps then stop getting anywhere, or shrink
  // beyond their number.
  static void call_ended(TurnState& s) {
    const bool lost = s.solve.status == base::SolveStatus::stalled || s.solve.status == base::SolveStatus::out_of_steps;
    if (s.status == TurnStatus::not_converged && lost) s.status = TurnStatus::no_balance;
  }

  const TurningMachine& m_;
  TurnCase turn_;
  double length_, smallest_step_;
  Balance balance_;
  Unknown z_;
  double bearing_ = 0;
  bool goes_ = false;
  TurnState state_, failed_;
};

}  // namespace

const char* name(TurnStatus status) {
  switch (status) {
    case TurnStatus::balanced: return "balanced";
    case TurnStatus::no_balance: return "the ground gives out";
    case TurnStatus::bogs_down: return "bogs down";
    case TurnStatus::belly_contact: return "belly contact";
    case TurnStatus::beyond_wheel_data: return "beyond the wheel's load-deflection rows";
    case TurnStatus::tips_over: return "tips over";
    case TurnStatus::not_converged: return "not converged";
  }
  return "";
}

const char* name(TurnLimit limit) {
  switch (limit) {
    case TurnLimit::none: return "none";
    case TurnLimit::ground: return "the ground gives out";
    case TurnLimit::torque: return "peak torque";
    case TurnLimit::power: return "peak power";
    case TurnLimit::steering: return "largest steering angle";
    case TurnLimit::follower: return "what follows folds up or meets a stop";
    case TurnLimit::carrying: return "a wheel is not carried";
    case TurnLimit::tips_over: return "tips over";
    case TurnLimit::not_converged: return "not converged";
  }
  return "";
}

TurnLimit limit_of(const TurnState& s) {
  switch (s.status) {
    case TurnStatus::balanced: break;
    case TurnStatus::no_balance: return TurnLimit::ground;
    case TurnStatus::bogs_down:
    case TurnStatus::belly_contact:
    case TurnStatus::beyond_wheel_data: return TurnLimit::carrying;
    case TurnStatus::tips_over: return TurnLimit::tips_over;
    case TurnStatus::not_converged: return TurnLimit::not_converged;
  }
  if (s.goes()) return TurnLimit::none;
  return s.share_of_largest_angle > 1 + 1e-9 ? TurnLimit::steering : s.torque_share > 1 ? TurnLimit::torque : TurnLimit::power;
}

std::optional<TurningMachine> make_turning_machine(const vehicle::Vehicle& v, const soil::Soil& soil, double gravity_m_s2, soil::SlipSinkage slip_sinkage,
                                                   const base::Place& place, base::Problems& problems) {
  auto out = make_straight_machine(v, soil, gravity_m_s2, slip_sinkage, place, problems);
  if (v.steering.kind == SteeringKind::crab) {
    problems.refuse({.place = place, .what = "crab steering does not turn", .value = vehicle::name(v.steering.kind), .bound = "skid, ackermann or frame", .remedy = "describe wheels that steer to opposite sides as ackermann with all axles named"});
    return std::nullopt;
  }
  return out;
}

std::optional<TurningMachine> make_straight_machine(const vehicle::Vehicle& v, const soil::Soil& soil, double gravity_m_s2, soil::SlipSinkage slip_sinkage,
                                                    const base::Place& place, base::Problems& problems) {
  const auto machine = make_machine(v, soil, gravity_m_s2, slip_sinkage, place, problems);
  if (!machine) return std::nullopt;
  return turning_machine(v, *machine, gravity_m_s2);
}

TurningMachine turning_machine(const vehicle::Vehicle& v, const Machine& machine, double gravity_m_s2) {
  TurningMachine out{v, machine, stance_of(v, gravity_m_s2), gravity_m_s2};
  out.stance.holding = Holding::drives;
  TorqueSpace space;
  // The ground yields under the wheels: its slope at the level load, without slip, stands in series with tyre and suspension.
  const auto loads = vehicle::level_axle_loads_n(v, gravity_m_s2);
  std::size_t i = 0;
  for (std::size_t k = 0; k < v.axles.size(); ++k) {
    const contact::Contact& c = machine.axle[k].contact;
    const double load = loads[k] / v.axles[k].wheels;
    double yields = 0, rolling = 0;
    if (load > 0 && !machine.axle[k].driven && v.bodies.size() > 1) {
      const TorqueCase free{.contact = &c, .load_n = load, .torque_n_m = 0, .guess_slip = -0.05, .reach = 0.05};
      TorqueSlip rolls;
      wheels_at_torque({&free, 1}, {&rolls, 1}, space, contact::SimdTarget::plain);
      if (rolls.wheel.carried()) rolling = rolls.wheel.pull_n / load;
    }
    if (load > 0) {
      const WheelAnswer less = contact::wheel_at_load(c, 0.99 * load, 0), more = contact::wheel_at_load(c, 1.01 * load, 0);
      if (less.carried() && more.carried()) yields = std::max(0.0, more.sinkage_m - less.sinkage_m) / (0.02 * load);
    }
    for (int w = 0; w < v.axles[k].wheels; ++w, ++i) {
      out.stance.supports[i].rolling_ratio = rolling;
      double& stiffness = out.stance.supports[i].stiffness_n_per_m;
      if (yields > 0) stiffness = 1 / (1 / stiffness + yields);
    }
  }
  return out;
}

std::vector<TurnState> turns_on_soil(const TurningMachine& m, const TurnCase& turn, const std::vector<double>& radii_m) {
  std::vector<TurnState> out(radii_m.size());
  Way way(m, turn);
  std::vector<std::size_t> order(radii_m.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return way.bearing_of(radii_m[a]) < way.bearing_of(radii_m[b]); });
  for (const std::size_t i : order) {
    const double bearing = way.bearing_of(radii_m[i]);
    if (way.go_to(bearing)) {
      out[i] = way.state();
      continue;
    }
    // The way from straight ahead has ended: perhaps it goes on behind a gap, as on the spot where no side drags the other along.
    Unknown z = way.unknown(), spot = way.start_on_the_spot();
    if (way.take(bearing, z, out[i])) continue;
    if (m.vehicle.steering.kind == SteeringKind::skid && way.take(bearing, spot, out[i])) continue;
    out[i] = way.failed();
    out[i].radius_m = way.radius_at(bearing);
  }
  return out;
}

detail::TurnScan detail::scan_turns(const TurningMachine& m, const TurnCase& turn, const std::vector<double>& radii_m) {
  constexpr int kLooks = 24;             // steps of 3.75 deg of bearing
  constexpr double kStep = 5e-3;         // of bearing: what does not go on by so little has ended
  TurnScan out{.states = std::vector<TurnState>(radii_m.size())};
  Way way(m, turn, kStep);
  std::vector<std::pair<double, std::size_t>> stops;   // bearing, and which radius was asked there
  for (int i = 1; i <= kLooks; ++i) stops.emplace_back(i == kLooks ? kRightAngle : kRightAngle * i / kLooks, radii_m.size());
  for (std::size_t k = 0; k < radii_m.size(); ++k) stops.emplace_back(way.bearing_of(radii_m[k]), k);
  std::sort(stops.begin(), stops.end());
  double good = 0, bad = kRightAngle;
  Unknown z = way.unknown();
  bool searching = way.goes() && way.state().goes();   // for the end of what goes
  if (!searching) {
    out.limit = limit_of(way.goes() ? way.state() : way.failed());
    good = -1;
  }
  for (const auto& [bearing, asked] : stops) {
    const bool reached = way.go_to(bearing);
    if (searching && way.state().goes()) {
      good = way.bearing();
      z = way.unknown();
    }
    if (searching && !(reached && way.state().goes())) {
      searching = false;
      const bool ended = way.state().goes();   // the way itself, not a limit of drives or steering
      bad = ended ? way.bearing_of(way.failed().radius_m) : way.bearing();
      out.limit = limit_of(ended ? way.failed() : way.state());
    }
    if (asked == radii_m.size()) continue;
    out.states[asked] = reached ? way.state() : way.failed();
    out.states[asked].radius_m = way.radius_at(bearing);
    if (reached || bearing < kRightAngle || m.vehicle.steering.kind != SteeringKind::skid) continue;
    Unknown spot = way.start_on_the_spot();
    TurnState there;
    if (way.take(bearing, spot, there)) out.states[asked] = std::move(there);
  }
  while (out.limit != TurnLimit::none && good >= 0 && bad - good > kStep) {
    const double middle = 0.5 * (good + bad);
    Unknown at = z;
    TurnState there;
    (void)way.take(middle, at, there);
    if (there.goes()) {
      good = middle;
      z = at;
    } else {
      bad = middle;
      if (limit_of(there) != TurnLimit::not_converged) out.limit = limit_of(there);
    }
  }
  out.goes_m = good < 0 ? std::copysign(std::numeric_limits<double>::infinity(), turn.radius_m) : way.radius_at(good);
  return out;
}

TurnState turn_on_soil(const TurningMachine& m, const TurnCase& turn) { return turns_on_soil(m, turn, {turn.radius_m}).front(); }

struct StraightOnSlopes::Way : detail::StraightWay {
  using StraightWay::StraightWay;
};

StraightOnSlopes::StraightOnSlopes(const TurningMachine& machine, double heading_rad) : way_(std::make_unique<Way>(machine, heading_rad)) {}
StraightOnSlopes::~StraightOnSlopes() = default;
TurnState StraightOnSlopes::at(double gradient_rad) { return way_->at(gradient_rad); }

SmallestTurn smallest_turn(const TurningMachine& m, const TurnCase& turn) {
  constexpr int kLooks = 48;             // steps of 1.9 deg of bearing
  constexpr double kWidth = 1e-3;        // of the radius
  SmallestTurn out;
  out.solve = {.status = base::SolveStatus::no_solution, .residual_unit = "m"};
  Way way(m, turn);
  if (!way.goes() || !way.state().goes()) {
    const TurnState& first = way.goes() ? way.state() : way.failed();
    out.limit = limit_of(first);
    out.fails_m = std::copysign(std::numeric_limits<double>::infinity(), turn.radius_m);
    out.at_limit = first;
    out.solve.evaluations = first.solve.evaluations;
    return out;
  }
  double good = 0, bad = kRightAngle;
  Unknown z = way.unknown();
  out.at_limit = way.state();
  for (int i = 1; i <= kLooks; ++i) {
    ++out.solve.steps;
    const bool reached = way.go_to(i == kLooks ? kRightAngle : kRightAngle * i / kLooks);
    if (way.state().goes()) {
      good = way.bearing();
      z = way.unknown();
      out.at_limit = way.state();
      if (reached) continue;
      bad = way.bearing_of(way.failed().radius_m);
      out.limit = limit_of(way.failed());
    } else {
      bad = way.bearing();
      out.limit = limit_of(way.state());
    }
    break;
  }
  const auto size = [&](double bearing) { return std::abs(way.radius_at(bearing)); };
  while (out.limit != TurnLimit::none && size(good) - size(bad) > kWidth * size(bad)) {
    const double middle = 0.5 * (good + bad);
    if (!(middle > good && middle < bad)) break;
    ++out.solve.steps;
    Unknown at = z;
    TurnState there;
    (void)way.take(middle, at, there);
    if (there.goes()) {
      good = middle;
      z = at;
      out.at_limit = std::move(there);
    } else {
      bad = middle;
      // A single try that finds nothing does not undo what the smaller steps of the way have shown.
      if (limit_of(there) != TurnLimit::not_converged) out.limit = limit_of(there);
    }
  }
  out.goes_m = way.radius_at(good);
  if (out.limit != TurnLimit::none) out.fails_m = way.radius_at(bad);
  out.solve.residual = out.limit == TurnLimit::none ? 0 : size(good) - size(bad);
  out.solve.tolerance = kWidth * size(bad);
  out.solve.status = out.limit == TurnLimit::not_converged ? base::SolveStatus::stalled
                     : out.solve.residual <= out.solve.tolerance || out.limit == TurnLimit::none ? base::SolveStatus::converged : base::SolveStatus::out_of_steps;
  return out;
}

}  // namespace hardpan::performance
