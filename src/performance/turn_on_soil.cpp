// SPDX-License-Identifier: Apache-2.0
// Equations (7) to (13) of docs/theory/turning.md. Notation: L wheelbase, V and O speed of the reference point and yaw rate with
// V^2 + (O L)^2 = 1, so that straight travel and turning on the spot are both regular; q rim speed, u and w the wheel centre's
// velocity along and across its plane.
#include "performance/turn_on_soil.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/assertion.hpp"
#include "math/roots.hpp"

namespace hardpan::performance {
namespace {

using contact::WheelAnswer;
using contact::WheelStatus;
using vehicle::DriveControl;
using vehicle::SteeringKind;
constexpr double kTolerance = 1e-8;    // of the weight, on each balance: a hundred times the wheels' own 1e-10
constexpr int kMostSteps = 30;         // observed 3 to 8 from a neighbour
constexpr double kRightAngle = std::numbers::pi / 2;
constexpr double kMostRim = 20;        // of a driven wheel's own travel, as 95 % slip: the limit that gradients are sought to as well
constexpr double kNoFront = 0.05;      // of the sideways speed: a wheel that moves square to its plane within 3 deg has neither front nor back (chosen by us)

double slip_radius(const contact::Contact& c) { return c.torque_radius_m > 0 ? c.torque_radius_m : c.shearing_radius_m; }

struct Rolled {
  WheelAnswer answer;
  bool backward = false;
  double along = 0, across = 0, torque = 0, rim = 0;
};

// One wheel that moves along or against its plane. (9): slip and slip angle as seen along its own travel; a rim that runs against the
// travel shears fully.
Rolled roll_ahead(const contact::Contact& c, double load, double u, double w, double q, double guess) {
  Rolled out{.rim = q};
  const double seen = u < 0 || (u == 0 && q < 0) ? -1 : 1, v = seen * u, rim = seen * q, left = seen * w;
  out.backward = seen < 0;
  if (v == 0 && rim == 0 && left == 0) {  // the wheel on the turning centre, at rest: it asks for nothing
    out.answer = contact::wheel_at_load(c, load, 0, 0, guess);
    return out;
  }
  if (rim < 0 || (v == 0 && rim == 0)) {
    out.answer = contact::wheel_at_velocities(c, load, u, w, q / slip_radius(c));
    out.along = out.answer.pull_n;
    out.across = out.answer.side_force_n;
    out.torque = out.answer.torque_n_m;
    return out;
  }
  const double slip = (rim - v) / std::max(rim, v), least = 1e-9 * std::max(rim, std::abs(left));
  out.answer = contact::wheel_at_load(c, load, slip, std::atan2(left, std::max(v, least)), guess);
  out.along = seen * out.answer.pull_n;
  out.across = seen * out.answer.side_force_n;
  out.torque = seen * out.answer.torque_n_m;
  return out;
}

// One wheel in any motion. The pressed soil stands before the wheel or behind it; where it slides square to its plane the one goes
// over into the other, so that the forces stay continuous.
Rolled roll(const contact::Contact& c, double load, double u, double w, double q, double guess) {
  const double edge = kNoFront * std::abs(w);
  if (!(std::abs(u) < edge)) return roll_ahead(c, load, u, w, q, guess);
  Rolled ahead = roll_ahead(c, load, edge, w, q, guess);
  const Rolled back = roll_ahead(c, load, -edge, w, q, guess);
  if (!back.answer.carried()) return back;
  const double share = 0.5 * (1 - u / edge);
  ahead.along += share * (back.along - ahead.along);
  ahead.across += share * (back.across - ahead.across);
  ahead.torque += share * (back.torque - ahead.torque);
  return ahead;
}

// The rim speed at which a wheel takes this torque: free wheels and wheels that share a torque.
Rolled roll_at_torque(const contact::Contact& c, double load, double u, double w, double torque, double guess) {
  const double size = std::abs(u), side = u < 0 ? -1 : 1;
  if (size == 0) return roll(c, load, u, w, 0, guess);
  constexpr double kMost = 0.95;
  Rolled last;
  const auto miss = [&](double s) {
    last = roll(c, load, u, w, side * (s >= 0 ? size / (1 - s) : size * (1 + s)), guess);
    return side * (last.torque - torque);
  };
  const math::Root root = math::find_root_no_derivative(miss, -kMost, kMost, {.residual_tolerance = 1e-9 * load * c.radius_m, .residual_unit = "N m"});
  if (root.report.converged()) {
    (void)miss(root.x);
    return last;
  }
  last.along = last.across = last.torque = std::numeric_limits<double>::quiet_NaN();
  if (last.answer.carried()) last.answer.status = WheelStatus::not_converged;
  return last;
}

// Unknowns: drift (speed to the left of the centre of gravity over the reference speed scale), then skid: left and right rim speed or torque; steered: rim speed
// or torque and steering curvature times wheelbase. Torques in weight times radius.
using Unknown = std::array<double, 3>;
struct Motion {
  double v = 1, o = 0;   // (7)
};

class Balance {
 public:
  Balance(const TurningMachine& m, const TurnCase& c)
      : m_(m), c_(c), skid_(m.vehicle.steering.kind == SteeringKind::skid), torque_(m.vehicle.control == DriveControl::shared_torque),
        length_(vehicle::wheelbase_m(m.vehicle)), guess_(m.stance.supports.size(), 0) {}

  void set_radius(double radius) {
    radius_ = radius;
    const double side = std::signbit(radius) ? -1 : 1;
    motion_ = std::isinf(radius) ? Motion{} : Motion{std::abs(radius) / std::hypot(radius, length_), side / std::hypot(radius, length_)};
    if (skid_) place(0);
  }
  [[nodiscard]] Unknown start() const {
    const double drive = torque_ ? 0.08 / driven_wheels() : 1.1;  // near straight travel on the level
    return {0, drive, skid_ ? drive : 0};
  }
  // Near turning on the spot, left side back, right side ahead.
  [[nodiscard]] Unknown start_on_the_spot() const {
    const double drive = std::copysign(torque_ ? 0.4 / driven_wheels() : 1.0, radius_);
    return {0, -drive, drive};
  }
  void begin() { spins_ = false; }
  // Some try since begin() asked a driven wheel for more than the ground gives it below 95 % slip.
  [[nodiscard]] bool spins() const { return spins_; }
  [[nodiscard]] TurnStatus trouble() const { return trouble_; }
  [[nodiscard]] int evaluations() const { return evaluations_; }

  // Unbalanced forces over the weight; NaN where a wheel has no answer.
  Unknown operator()(const Unknown& z) {
    constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
    trouble_ = TurnStatus::balanced;
    if (!skid_) place(z[2] / length_);
    if (loads_.empty()) {
      trouble_ = TurnStatus::tips_over;
      return {kNan, kNan, kNan};
    }
    const double line = turning_line_x_m(m_.vehicle), weight = m_.machine.weight_n;
    Unknown sum{push_x_ / weight, push_y_ / weight, (push_y_ * (cg_.x_m - line) - push_x_ * cg_.y_m) / (weight * length_)};
    rolled_.assign(places_.size(), {});
    for (std::size_t i = 0; i < places_.size(); ++i) {
      const WheelPlace& p = places_[i];
      const AxleOnSoil& a = m_.machine.axle[p.axle];
      if (!(loads_[i] > 0)) continue;
      const double vx = motion_.v - motion_.o * p.y_m, vy = z[0] + motion_.o * (p.x_m - line);  // (8)
      const double c = std::cos(p.steer_rad), s = std::sin(p.steer_rad), u = vx * c + vy * s, w = vy * c - vx * s;
      const double drive = skid_ ? (p.y_m > 0 ? z[1] : p.y_m < 0 ? z[2] : 0.5 * (z[1] + z[2])) : z[1];
      Rolled& r = rolled_[i];
      if (!a.driven) r = roll_at_torque(a.contact, loads_[i], u, w, 0, guess_[i]);
      else if (torque_) r = roll_at_torque(a.contact, loads_[i], u, w, drive * weight * a.contact.radius_m, guess_[i]);
      else r = roll(a.contact, loads_[i], u, w, drive * slip_radius(a.contact) / slip_radius(m_.machine.axle[reference()].contact), guess_[i]);
      ++evaluations_;
      const double travel = std::hypot(u, w);
      if (a.driven && ((torque_ && r.answer.status == WheelStatus::not_converged) || (travel > 0 && std::abs(r.rim) > kMostRim * travel))) {
        trouble_ = TurnStatus::no_balance;
        spins_ = true;
        return {kNan, kNan, kNan};
      }
      if (!r.answer.carried()) {
        trouble_ = r.answer.status == WheelStatus::bogs_down ? TurnStatus::bogs_down : r.answer.status == WheelStatus::belly_contact ? TurnStatus::belly_contact
                   : r.answer.status == WheelStatus::beyond_deflection_table ? TurnStatus::beyond_wheel_data : TurnStatus::not_converged;
        return {kNan, kNan, kNan};
      }
      guess_[i] = std::acos(std::max(0.0, 1 - r.answer.sinkage_m / a.contact.radius_m));
      const double fx = r.along * c - r.across * s, fy = r.along * s + r.across * c;
      sum[0] += fx / weight;  // (10) to (12)
      sum[1] += fy / weight;
      sum[2] += (fy * (p.x_m - line) - fx * p.y_m) / (weight * length_);
    }
    return sum;
  }

  // What the last evaluation at the solution says.
  void report(const Unknown& z, TurnState& out) const {
    const double line = turning_line_x_m(m_.vehicle);
    out.radius_m = radius_;
    out.largest_torque_n_m = out.torque_share = out.power_share = 0;
    out.centre_x_m = motion_.o != 0 ? line - z[0] / motion_.o : std::numeric_limits<double>::quiet_NaN();
    out.drift_rad = std::atan2(z[0] + motion_.o * (cg_.x_m - line), motion_.v - motion_.o * cg_.y_m);
    out.steering_radius_m = skid_ || z[2] == 0 ? std::numeric_limits<double>::infinity() : length_ / z[2];
    out.share_of_largest_angle = share_of_largest_angle(m_.vehicle, places_);
    std::size_t most = 0;
    double power = 0;
    for (std::size_t i = 0; i < places_.size(); ++i) {
      const Rolled& r = rolled_[i];
      const AxleOnSoil& a = m_.machine.axle[places_[i].axle];
      if (std::abs(places_[i].steer_rad) > std::abs(places_[most].steer_rad)) most = i;
      WheelInTurn w{.place = places_[i], .load_n = loads_[i]};
      if (w.load_n > 0) {
        w.answer = r.answer;
        w.backward = r.backward;
        w.along_n = r.along;
        w.across_n = r.across;
        w.torque_n_m = r.torque;
        const double turning = r.rim / (std::isfinite(r.answer.torque_radius_m) ? r.answer.torque_radius_m : slip_radius(a.contact));
        w.rad_per_m = turning / motion_.v;
        w.rad_per_rad = turning / std::abs(motion_.o);
        out.flags |= r.answer.flags;
        out.largest_torque_n_m = std::max(out.largest_torque_n_m, std::abs(r.torque));
        power += r.torque * turning;
        if (a.driven) {
          out.torque_share = std::max(out.torque_share, std::abs(r.torque) / a.peak_torque_n_m);
          if (c_.speed_m_s > 0 && motion_.v > 0) out.power_share = std::max(out.power_share, r.torque * turning * c_.speed_m_s / motion_.v / a.peak_power_w);
        }
      }
      out.wheels.push_back(w);
    }
    out.inner_angle_rad = out.outer_angle_rad = std::abs(places_[most].steer_rad);
    for (const WheelPlace& p : places_) {
      if (p.axle == places_[most].axle) out.outer_angle_rad = std::min(out.outer_angle_rad, std::abs(p.steer_rad));
    }
    // (13): the slope's share is the weight along the path of its own foot.
    const double vx = motion_.v - motion_.o * cg_.y_m, vy = z[0] + motion_.o * (cg_.x_m - line);
    out.work_j_per_m = power / motion_.v;
    out.work_j_per_rad = power / std::abs(motion_.o);
    out.slope_work_j_per_m = c_.gradient_rad == 0 ? 0 : -(slope_x_ * vx + slope_y_ * vy) / motion_.v;
  }

 private:
  [[nodiscard]] std::size_t reference() const {
    for (std::size_t k = 0; k < m_.machine.axles; ++k) {
      if (m_.machine.axle[k].driven) return k;
    }
    return 0;
  }

  [[nodiscard]] double driven_wheels() const {
    double count = 0;
    for (std::size_t k = 0; k < m_.machine.axles; ++k) count += m_.machine.axle[k].driven ? m_.machine.axle[k].wheels : 0;
    return count;
  }

  // Places and loads at a steering curvature; pushes: weight down the slope and centrifugal force, in the plane.
  void place(double curvature) {
    places_ = wheel_places(m_.vehicle, curvature);
    cg_ = centre_of_gravity(m_.vehicle, places_);
    const double weight = m_.machine.weight_n, down = weight * std::sin(c_.gradient_rad), normal = weight * std::cos(c_.gradient_rad);
    slope_x_ = -down * std::cos(c_.heading_rad);
    slope_y_ = down * std::sin(c_.heading_rad);
    const double outward = radius_ == 0 || std::isinf(radius_) ? 0 : weight / m_.gravity_m_s2 * c_.speed_m_s * c_.speed_m_s / radius_;
    push_x_ = slope_x_;
    push_y_ = slope_y_ - outward;
    // Slope and centrifugal force together load the wheels as one steeper slope under a larger weight.
    Stance stance = m_.stance;
    for (std::size_t i = 0; i < places_.size(); ++i) {
      stance.supports[i].x_m = places_[i].x_m;
      stance.supports[i].y_m = places_[i].y_m;
    }
    stance.cg_x_m = cg_.x_m;
    stance.cg_y_m = cg_.y_m;
    const double push = std::hypot(push_x_, push_y_);
    stance.weight_n = std::hypot(normal, push);
    std::vector<double> lower(places_.size(), 0);
    if (c_.crest) {
      for (std::size_t i = 0; i < places_.size(); ++i) {
        const double away = (places_[i].y_m - cg_.y_m) * std::cos(c_.crest->line_rad) - (places_[i].x_m - cg_.x_m) * std::sin(c_.crest->line_rad);
        lower[i] = std::abs(away) * std::tan(c_.crest->fall_rad);
      }
    }
    const auto loads = standing_loads_n(stance, std::atan2(push, normal), std::atan2(push_y_, push_x_), lower);
    loads_ = loads.value_or(std::vector<double>{});
  }

  const TurningMachine& m_;
  const TurnCase& c_;
  bool skid_, torque_;
  double length_, radius_ = 0;
  Motion motion_;
  Foot cg_;
  double push_x_ = 0, push_y_ = 0, slope_x_ = 0, slope_y_ = 0;
  std::vector<WheelPlace> places_;
  std::vector<double> loads_, guess_;
  std::vector<Rolled> rolled_;
  TurnStatus trouble_ = TurnStatus::balanced;
  bool spins_ = false;
  int evaluations_ = 0;
};

double largest(const Unknown& f) {
  const double most = std::max({std::abs(f[0]), std::abs(f[1]), std::abs(f[2])});
  return std::isfinite(f[0]) && std::isfinite(f[1]) && std::isfinite(f[2]) ? most : std::numeric_limits<double>::infinity();
}
double length_of(const Unknown& f) { return std::isfinite(largest(f)) ? std::hypot(f[0], f[1], f[2]) : std::numeric_limits<double>::infinity(); }

// Solution of J x = -f by Cramer's rule; nothing where J is singular.
std::optional<Unknown> newton_step(const std::array<Unknown, 3>& columns, const Unknown& f) {
  const auto determinant = [](const Unknown& a, const Unknown& b, const Unknown& c) {
    return a[0] * (b[1] * c[2] - b[2] * c[1]) - b[0] * (a[1] * c[2] - a[2] * c[1]) + c[0] * (a[1] * b[2] - a[2] * b[1]);
  };
  const auto& [a, b, c] = columns;
  const double d = determinant(a, b, c);
  const Unknown x{-determinant(f, b, c) / d, -determinant(a, f, c) / d, -determinant(a, b, f) / d};
  if (!std::isfinite(largest(x))) return std::nullopt;
  return x;
}

// Newton's method with differences, each step halved until the unbalanced forces get smaller.
base::SolveReport solve(Balance& balance, double weight_n, Unknown& z) {
  base::SolveReport report{.tolerance = kTolerance * weight_n, .residual_unit = "N"};
  const int before = balance.evaluations();
  balance.begin();
  Unknown f = balance(z);
  const auto end = [&](base::SolveStatus status) {
    report.status = status;
    report.residual = largest(f) * weight_n;
    report.evaluations = balance.evaluations() - before;
    return report;
  };
  if (!std::isfinite(largest(f))) return end(base::SolveStatus::not_finite);
  for (; report.steps < kMostSteps; ++report.steps) {
    if (largest(f) <= kTolerance) return end(base::SolveStatus::converged);
    std::array<Unknown, 3> columns{};
    for (std::size_t k = 0; k < 3; ++k) {
      Unknown near = z;
      const double by = 1e-6 * std::max(0.1, std::abs(z[k]));
      near[k] += by;
      Unknown moved = balance(near);
      double over = by;
      if (!std::isfinite(largest(moved))) {  // on the edge of what the ground carries: look back
        near[k] = z[k] - by;
        moved = balance(near);
        over = -by;
      }
      for (std::size_t i = 0; i < 3; ++i) columns[k][i] = (moved[i] - f[i]) / over;
    }
    const auto step = newton_step(columns, f);
    if (!step) return end(base::SolveStatus::stalled);
    // No unknown moves by more than half of itself or of the speed at once.
    double share = 1;
    for (std::size_t k = 0; k < 3; ++k) share = std::min(share, 0.5 * std::max(1.0, std::abs(z[k])) / std::max(std::abs((*step)[k]), 1e-300));
    bool better = false;
    for (int halving = 0; halving < 12 && !better; ++halving, share *= 0.5) {
      Unknown next = z;
      for (std::size_t k = 0; k < 3; ++k) next[k] += share * (*step)[k];
      const Unknown at_next = balance(next);
      if (length_of(at_next) < length_of(f) * (1 - 1e-4 * share)) {
        better = true;
        z = next;
        f = at_next;
      }
    }
    if (!better) {
      (void)balance(z);  // leaves the wheels as they are at z
      return end(largest(f) <= kTolerance ? base::SolveStatus::converged : base::SolveStatus::stalled);
    }
  }
  return end(largest(f) <= kTolerance ? base::SolveStatus::converged : base::SolveStatus::out_of_steps);
}

// One solution at a radius from a guess, which it replaces.
bool take_at(Balance& balance, double radius_m, double weight_n, Unknown& z, TurnState& out) {
  out = {};
  balance.set_radius(radius_m);
  out.solve = solve(balance, weight_n, z);
  out.radius_m = radius_m;
  if (out.solve.converged()) {
    out.status = TurnStatus::balanced;
    balance.report(z, out);
    return true;
  }
  const TurnStatus trouble = balance.trouble();
  out.status = trouble == TurnStatus::balanced || trouble == TurnStatus::no_balance ? TurnStatus::not_converged : trouble;
  if (balance.spins()) out.status = TurnStatus::no_balance;
  return false;
}

// The way from straight ahead (bearing 0) to turning on the spot (a right angle): tan(bearing) = L / radius.
class Way {
 public:
  Way(const TurningMachine& m, const TurnCase& c) : m_(m), turn_(c), length_(vehicle::wheelbase_m(m.vehicle)), balance_(m, turn_), z_(balance_.start()) {
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
      if (step < kSmallestStep) {
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

  // A solution that ends within so small a step has met another one: the ground gives no more.
  static void call_ended(TurnState& s) {
    if (s.status == TurnStatus::not_converged && s.solve.status == base::SolveStatus::stalled) s.status = TurnStatus::no_balance;
  }

  static constexpr double kSmallestStep = 1e-4;   // of bearing, at a radius of one wheelbase 2e-4 of it; of gradient
  const TurningMachine& m_;
  TurnCase turn_;
  double length_;
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
  const auto machine = make_machine(v, soil, gravity_m_s2, slip_sinkage, place, problems);
  if (v.steering.kind == SteeringKind::crab) {
    problems.refuse({.place = place, .what = "crab steering does not turn", .value = vehicle::name(v.steering.kind), .bound = "skid, ackermann or frame", .remedy = "describe wheels that steer to opposite sides as ackermann with all axles named"});
    return std::nullopt;
  }
  if (!machine) return std::nullopt;
  TurningMachine out{v, *machine, stance_of(v, gravity_m_s2), gravity_m_s2};
  // The ground yields under the wheels: its slope at the level load, without slip, stands in series with tyre and suspension.
  const auto loads = vehicle::level_axle_loads_n(v, gravity_m_s2);
  std::size_t i = 0;
  for (std::size_t k = 0; k < v.axles.size(); ++k) {
    const contact::Contact& c = machine->axle[k].contact;
    const double load = loads[k] / v.axles[k].wheels;
    double yields = 0;
    if (load > 0) {
      const WheelAnswer less = contact::wheel_at_load(c, 0.99 * load, 0), more = contact::wheel_at_load(c, 1.01 * load, 0);
      if (less.carried() && more.carried()) yields = std::max(0.0, more.sinkage_m - less.sinkage_m) / (0.02 * load);
    }
    for (int w = 0; w < v.axles[k].wheels; ++w, ++i) {
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

TurnState turn_on_soil(const TurningMachine& m, const TurnCase& turn) { return turns_on_soil(m, turn, {turn.radius_m}).front(); }

struct StraightOnSlopes::Way {
  Way(const TurningMachine& m, double heading_rad) : weight_n(m.machine.weight_n), turn{.heading_rad = heading_rad}, balance(m, turn), z(balance.start()) {}
  double weight_n;
  TurnCase turn;       // balance looks at it
  Balance balance;
  Unknown z;
};

StraightOnSlopes::StraightOnSlopes(const TurningMachine& machine, double heading_rad) : way_(std::make_unique<Way>(machine, heading_rad)) {}
StraightOnSlopes::~StraightOnSlopes() = default;

TurnState StraightOnSlopes::at(double gradient_rad) {
  way_->turn.gradient_rad = gradient_rad;
  Unknown z = way_->z;
  TurnState out;
  if (take_at(way_->balance, std::numeric_limits<double>::infinity(), way_->weight_n, z, out)) way_->z = z;
  return out;
}

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
