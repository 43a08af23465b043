// SPDX-License-Identifier: Apache-2.0
// Equations (7) to (13) of docs/theory/turning.md. Notation: L wheelbase, V and O speed of the reference point and yaw rate with
// V^2 + (O L)^2 = 1, so that straight travel and turning on the spot are both regular; q rim speed, u and w the wheel centre's
// velocity along and across its plane.
#include "performance/detail/turn_balance.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "base/assertion.hpp"
#include "math/rising_search.hpp"
#include "performance/detail/bent_stance.hpp"
#include "performance/travel.hpp"

namespace hardpan::performance::detail {
namespace {

using contact::SimdTarget;
using contact::WheelAnswer;
using contact::WheelStatus;
using vehicle::DriveControl;
using vehicle::SteeringKind;
constexpr double kTolerance = 1e-8;    // of the weight, on each balance: a hundred times the wheels' own 1e-10
constexpr int kMostSteps = 30;         // observed 3 to 8 from a neighbour
constexpr double kRightAngle = std::numbers::pi / 2;
constexpr double kLocked = 0.02;       // of the travel: a rim that runs back no faster is still as good as locked (chosen by us)
constexpr double kNoFront = 0.05;      // of the sideways speed: a wheel that moves square to its plane within 3 deg has neither front nor back (chosen by us)

double slip_radius(const contact::Contact& c) { return c.torque_radius_m > 0 ? c.torque_radius_m : c.shearing_radius_m; }

// Part of the way from one roll to another: forces and torque.
void mix(Rolled& from, const Rolled& to, double share) {
  from.along += share * (to.along - from.along);
  from.across += share * (to.across - from.across);
  from.torque += share * (to.torque - from.torque);
}

// One wheel that moves along or against its plane. (9): slip and slip angle as seen along its own travel. A rim that runs against the travel shears
// fully, which a locked one need not do: the one goes over into the other, so that a wheel passes from braked to driven backward.
Rolled roll_ahead(const contact::Contact& c, double load, double u, double w, double q, double guess, SimdTarget target) {
  Rolled out{.rim = q};
  const double seen = u < 0 || (u == 0 && q < 0) ? -1 : 1, v = seen * u, rim = seen * q, left = seen * w;
  out.backward = seen < 0;
  if (v == 0 && rim == 0 && left == 0) {  // the wheel on the turning centre, at rest: it asks for nothing
    out.answer = contact::wheel_at_load(c, load, 0, 0, guess);
    return out;
  }
  const auto sliding = [&] {
    Rolled r{.backward = out.backward, .rim = q};
    r.answer = contact::wheel_at_velocities(c, load, u, w, q / slip_radius(c), guess, target);
    r.along = r.answer.pull_n;
    r.across = r.answer.side_force_n;
    r.torque = r.answer.torque_n_m;
    return r;
  };
  const double locked = kLocked * std::hypot(v, left);
  if (rim <= -locked || (v == 0 && rim <= 0)) return sliding();
  const double slip = (std::max(rim, 0.0) - v) / std::max(rim, v), least = 1e-9 * std::max(rim, std::abs(left));
  out.answer = contact::wheel_at_load(c, load, slip, std::atan2(left, std::max(v, least)), guess);
  out.along = seen * out.answer.pull_n;
  out.across = seen * out.answer.side_force_n;
  out.torque = seen * out.answer.torque_n_m;
  if (rim < 0 && out.answer.carried()) mix(out, sliding(), -rim / locked);
  return out;
}

// One wheel in any motion. The pressed soil stands before the wheel or behind it; where it slides square to its plane the one goes
// over into the other, so that the forces stay continuous.
Rolled roll_any(const contact::Contact& c, double load, double u, double w, double q, double guess, SimdTarget target) {
  const double edge = kNoFront * std::abs(w);
  if (!(std::abs(u) < edge)) return roll_ahead(c, load, u, w, q, guess, target);
  Rolled ahead = roll_ahead(c, load, edge, w, q, guess, target);
  const Rolled back = roll_ahead(c, load, -edge, w, q, guess, target);
  if (!back.answer.carried()) return back;
  mix(ahead, back, 0.5 * (1 - u / edge));
  return ahead;
}

// The rim speed at which a wheel takes this torque: free wheels and wheels that share a torque.
Rolled roll_at_torque(const contact::Contact& c, double load, double u, double w, double torque, double guess, SimdTarget target) {
  const double size = std::abs(u), side = u < 0 ? -1 : 1;
  if (size == 0) return roll_any(c, load, u, w, 0, guess, target);
  // Outward from rolling freely: far out a wheel may sink away that carries its load where it takes the torque.
  math::RisingSearch slip({.least = -0.95, .most = 0.95, .first = -0.05, .second = 0.05, .stride = 0.15});
  Rolled last;
  WheelStatus sinks = WheelStatus::carried;
  while (slip.end() == math::RisingSearch::End::none) {
    const double s = slip.at();
    last = roll_any(c, load, u, w, side * (s >= 0 ? size / (1 - s) : size * (1 + s)), guess, target);
    if (!last.answer.carried()) {
      sinks = last.answer.status;
      if (!slip.has_low()) break;
    }
    slip.feed(last.answer.carried() ? side * (last.torque - torque) : std::numeric_limits<double>::infinity(), 1e-9 * load * c.radius_m);
  }
  if (slip.end() == math::RisingSearch::End::found) return last;
  last.along = last.across = last.torque = std::numeric_limits<double>::quiet_NaN();
  last.answer.status = sinks != WheelStatus::carried ? sinks : WheelStatus::not_converged;
  return last;
}

double edge_of(double w) { return kNoFront * std::abs(w); }

// What keeps a vehicle from straight travel on the level, as a turn tells it; balanced where the drives are too weak, which the balance does not mind.
TurnStatus trouble_of(LimitingFactor factor) {
  switch (factor) {
    case LimitingFactor::none:
    case LimitingFactor::torque:
    case LimitingFactor::power: return TurnStatus::balanced;
    case LimitingFactor::traction:
    case LimitingFactor::run_away: return TurnStatus::no_balance;
    case LimitingFactor::bogs_down: return TurnStatus::bogs_down;
    case LimitingFactor::belly_contact: return TurnStatus::belly_contact;
    case LimitingFactor::wheel_data: return TurnStatus::beyond_wheel_data;
    case LimitingFactor::tip_over_rearward:
    case LimitingFactor::tip_over_forward: return TurnStatus::tips_over;
    case LimitingFactor::not_converged: return TurnStatus::not_converged;
  }
  return TurnStatus::not_converged;
}

}  // namespace

Balance::Balance(const TurningMachine& m, const TurnCase& c)
    : m_(m), c_(c), skid_(m.vehicle.steering.kind == SteeringKind::skid || m.vehicle.steering.kind == SteeringKind::crab), torque_(m.vehicle.control == DriveControl::shared_torque),
      length_(vehicle::wheelbase_m(m.vehicle)), line_(turning_line_x_m(m.vehicle)), bends_at_(steered_joint(m.vehicle)), stance_(m.stance), guess_(m.stance.supports.size(), 0), ground_(m.stance.supports.size(), 0), lower_(ground_), settled_(m.stance.supports.size()) {}

void Balance::set_radius(double radius) {
  radius_ = radius;
  const double side = std::signbit(radius) ? -1 : 1;
  motion_ = std::isinf(radius) ? Motion{} : Motion{std::abs(radius) / std::hypot(radius, length_), side / std::hypot(radius, length_)};
  if (skid_) place(0);
}

// Straight travel on the level as travel.hpp has it: a wheel that sinks deep has its most pull at a slip of a few per cent, beyond which there are other
// balances. Where that does not go, from 9 % slip.
Unknown Balance::start() {
  const OnSoil on{.plain = m_.machine, .sinking = std::nullopt};
  Workspace space;
  Travel level;
  travels({&on, 1}, 0, 0, {&level, 1}, space);
  level_ = trouble_of(level.factor);
  const State& s = level.state;
  const AxleOnSoil& a = m_.machine.axle[reference()];
  const double slip = level.goes ? s.slip_ratio : 1 - 1 / 1.1;
  double drive = slip >= 0 ? 1 / (1 - slip) : 1 + slip;
  if (torque_) drive = level.goes ? s.wheel[reference()].torque_n_m / (m_.machine.weight_n * a.contact.radius_m) : 0.08 / driven_wheels();
  return {0, drive, skid_ ? drive : 0};
}

Unknown Balance::start_on_the_spot() const {
  const double drive = std::copysign(torque_ ? 0.4 / driven_wheels() : 1.0, radius_);
  return {0, -drive, drive};
}

Unknown Balance::operator()(const Unknown& z) {
  if (ask(z)) {
    do {
      for (std::size_t i = 0; i < places_.size(); ++i) {
        if (!stands(i)) continue;
        roll(i);
        if (!rolled_[i].answer.carried()) break;
      }
    } while (settles_anew());
  }
  return tell();
}

bool Balance::ask(const Unknown& z) {
  z_ = z;
  trouble_ = TurnStatus::balanced;
  settlings_ = 0;
  if (!skid_) place(z[2] / length_);
  load(z[3] * length_, z[4] * length_);
  if (loads_.empty()) {
    trouble_ = TurnStatus::tips_over;
    return false;
  }
  rolled_.assign(places_.size(), {});
  asked_.assign(places_.size(), {});
  for (std::size_t i = 0; i < places_.size(); ++i) {
    const WheelPlace& p = places_[i];
    const AxleOnSoil& a = m_.machine.axle[p.axle];
    const double vx = motion_.v - motion_.o * p.y_m, vy = z[0] + motion_.o * (p.x_m - line_);  // (8)
    const double c = std::cos(p.steer_rad), s = std::sin(p.steer_rad);
    const double drive = skid_ ? (p.y_m > 0 ? z[1] : p.y_m < 0 ? z[2] : 0.5 * (z[1] + z[2])) : z[1];
    asked_[i] = {vx * c + vy * s, vy * c - vx * s,
                 torque_ ? drive * m_.machine.weight_n * a.contact.radius_m : drive * slip_radius(a.contact) / slip_radius(m_.machine.axle[reference()].contact)};
  }
  return true;
}

bool Balance::plain(std::size_t i, Ask& out) const {
  const AxleOnSoil& a = m_.machine.axle[places_[i].axle];
  const Asked& k = asked_[i];
  if (!a.driven || torque_ || !(k.u > 0) || !(k.drive > 0) || k.u < edge_of(k.w)) return false;
  // As roll_ahead.
  out = {&a.contact, loads_[i], (k.drive - k.u) / std::max(k.drive, k.u), std::atan2(k.w, std::max(k.u, 1e-9 * std::max(k.drive, std::abs(k.w)))), guess_[i]};
  return true;
}

void Balance::answer(std::size_t i, const WheelAnswer& answer) {
  rolled_[i] = {answer, false, answer.pull_n, answer.side_force_n, answer.torque_n_m, asked_[i].drive};
  ++evaluations_;
}

void Balance::roll(std::size_t i) {
  const AxleOnSoil& a = m_.machine.axle[places_[i].axle];
  const Asked& k = asked_[i];
  Rolled& r = rolled_[i];
  if (!a.driven) r = roll_at_torque(a.contact, loads_[i], k.u, k.w, 0, guess_[i], target_);
  else if (torque_) r = roll_at_torque(a.contact, loads_[i], k.u, k.w, k.drive, guess_[i], target_);
  else r = roll_any(a.contact, loads_[i], k.u, k.w, k.drive, guess_[i], target_);
  ++evaluations_;
}

Unknown Balance::tell() {
  constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
  constexpr Unknown kNone{kNan, kNan, kNan, kNan, kNan};
  if (trouble_ != TurnStatus::balanced) return kNone;
  const double weight = m_.machine.weight_n;
  Unknown sum{push_x_ / weight, push_y_ / weight, (push_y_ * (cg_.x_m - line_) - push_x_ * cg_.y_m) / (weight * length_),
              z_[3] * normal_ / weight, z_[4] * normal_ / weight};
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (!stands(i)) continue;
    const WheelPlace& p = places_[i];
    const AxleOnSoil& a = m_.machine.axle[p.axle];
    const Rolled& r = rolled_[i];
    const double travel = std::hypot(asked_[i].u, asked_[i].w);
    if (a.driven && ((torque_ && r.answer.status == WheelStatus::not_converged) || (travel > 0 && std::abs(r.rim) > most_rim_ * travel))) {
      trouble_ = TurnStatus::no_balance;
      spins_ = true;
      return kNone;
    }
    if (!r.answer.carried()) {
      trouble_ = r.answer.status == WheelStatus::bogs_down ? TurnStatus::bogs_down : r.answer.status == WheelStatus::belly_contact ? TurnStatus::belly_contact
                 : r.answer.status == WheelStatus::beyond_deflection_table ? TurnStatus::beyond_wheel_data : TurnStatus::not_converged;
      return kNone;
    }
    guess_[i] = std::acos(std::max(0.0, 1 - r.answer.sinkage_m / a.contact.radius_m));
    const double c = std::cos(p.steer_rad), s = std::sin(p.steer_rad), fx = r.along * c - r.across * s, fy = r.along * s + r.across * c;
    sum[0] += fx / weight;  // (10) to (12)
    sum[1] += fy / weight;
    sum[2] += (fy * (p.x_m - line_) - fx * p.y_m) / (weight * length_);
    const double moment = r.torque - r.along * a.arm_m;  // (12a): about the axle, against the wheel's own direction
    sum[3] += moment * c / (weight * length_);
    sum[4] += moment * s / (weight * length_);
  }
  return sum;
}

void Balance::report(const Unknown& z, TurnState& out) const {
  out.radius_m = radius_;
  out.largest_torque_n_m = out.torque_share = out.power_share = 0;
  out.centre_x_m = motion_.o != 0 ? line_ - z[0] / motion_.o : std::numeric_limits<double>::quiet_NaN();
  out.drift_rad = std::atan2(z[0] + motion_.o * (cg_.x_m - line_), motion_.v - motion_.o * cg_.y_m);
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
  const double vx = motion_.v - motion_.o * cg_.y_m, vy = z[0] + motion_.o * (cg_.x_m - line_);
  out.work_j_per_m = power / motion_.v;
  out.work_j_per_rad = power / std::abs(motion_.o);
  out.slope_work_j_per_m = c_.gradient_rad == 0 ? 0 : -(slope_x_ * vx + slope_y_ * vy) / motion_.v;
}

// Of a rim that runs against its travel no slip is told: it shears fully, as a locked one.
double Balance::slip_of(std::size_t i) const {
  const double slip = rolled_[i].answer.slip_ratio;
  return std::isfinite(slip) ? slip : -1;
}

double Balance::largest_slip() const {
  double most = 0;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (stands(i)) most = std::max(most, std::abs(slip_of(i)));
  }
  return most;
}

// Of a rim that runs backward faster than the wheel travels, as of one driven ahead.
double Balance::largest_drive_slip() const {
  double most = 0;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (!stands(i)) continue;
    const double travel = std::hypot(asked_[i].u, asked_[i].w), rim = std::abs(rolled_[i].rim);
    most = std::max({most, slip_of(i), rolled_[i].rim * asked_[i].u < 0 && rim > travel ? 1 - travel / rim : 0});
  }
  return most;
}

double Balance::common_skid() const {
  double least = 1;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (stands(i) && m_.machine.axle[places_[i].axle].driven) least = std::min(least, -slip_of(i));
  }
  return std::max(0.0, least);
}

double Balance::torque_share() const {
  double most = 0;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    const AxleOnSoil& a = m_.machine.axle[places_[i].axle];
    if (stands(i) && a.driven) most = std::max(most, std::abs(rolled_[i].torque) / a.peak_torque_n_m);
  }
  return most;
}

std::size_t Balance::reference() const {
  for (std::size_t k = 0; k < m_.machine.axles; ++k) {
    if (m_.machine.axle[k].driven) return k;
  }
  return 0;
}

double Balance::driven_wheels() const {
  double count = 0;
  for (std::size_t k = 0; k < m_.machine.axles; ++k) count += m_.machine.axle[k].driven ? m_.machine.axle[k].wheels : 0;
  return count;
}

// Places at a steering curvature.
void Balance::place(double curvature) {
  places_ = wheel_places(m_.vehicle, curvature);
  cg_ = centre_of_gravity(m_.vehicle, places_);
  for (std::size_t i = 0; i < places_.size(); ++i) {
    stance_.supports[i].x_m = places_[i].x_m;
    stance_.supports[i].y_m = places_[i].y_m;
  }
  if (bends_at_) bend(m_.stance, *bends_at_, places_.back().steer_rad, stance_);  // the last wheel belongs to the front half
  if (c_.crest) {
    for (std::size_t i = 0; i < places_.size(); ++i) {
      const double away = (places_[i].y_m - cg_.y_m) * std::cos(c_.crest->line_rad) - (places_[i].x_m - cg_.x_m) * std::sin(c_.crest->line_rad);
      const double ground = std::abs(away) * std::tan(c_.crest->fall_rad);
      lower_[i] += ground - ground_[i];
      ground_[i] = ground;
    }
  }
}

// Three axles and more share by how deep each sinks at the slip it has, as straight travel has it (axle_loads.cpp): driven wheels dig in and hang those between them.
// A step of Newton's for all wheels, the compliance of each by its last two loads; what is found stays for the next balance.
bool Balance::settles_anew() {
  constexpr double kSettled = 1e-9, kMoved = 1e-6;   // of the weight
  constexpr int kMostSettlings = 40;     // observed 2 to 6
  if (m_.machine.axles < 3 || loads_.empty()) return false;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (stands(i) && !rolled_[i].answer.carried()) return false;
  }
  for (std::size_t i = 0; i < places_.size(); ++i) {
    const AxleOnSoil& a = m_.machine.axle[places_[i].axle];
    Support& s = stance_.supports[i];
    s.stiffness_n_per_m = m_.stance.supports[i].stiffness_n_per_m;
    lower_[i] = ground_[i];
    if (!stands(i)) {
      settled_[i].load = 0;
      continue;
    }
    const double load = loads_[i], sinks = rolled_[i].answer.sinkage_m + rolled_[i].answer.deflection_m;
    const double by_law = 2 / (2 * a.contact.law.n + 1) * sinks / load;
    Settled& last = settled_[i];
    if (settlings_ > 0 && last.load > 0 && std::abs(load - last.load) > kMoved * m_.machine.weight_n) last.yields = std::clamp((sinks - last.sinks) / (load - last.load) / by_law, 0.3, 3.0);
    last = {load, sinks, last.yields};
    const double compliance = std::max(last.yields * by_law + a.compliance_m_per_n, 1e-12);
    s.stiffness_n_per_m = 1 / compliance;
    lower_[i] += sinks + load * (a.compliance_m_per_n - compliance);
  }
  auto next = standing_loads_n(stance_, load_slope_, load_fall_, lower_);
  if (!next) {
    trouble_ = TurnStatus::tips_over;
    loads_.clear();
    return false;
  }
  double change = 0;
  for (std::size_t i = 0; i < places_.size(); ++i) change = std::max(change, std::abs((*next)[i] - loads_[i]));
  loads_ = std::move(*next);
  if (change <= kSettled * m_.machine.weight_n) return false;
  if (++settlings_ < kMostSettlings) return true;
  trouble_ = TurnStatus::not_converged;
  return false;
}

// Loads, with the foot moved by the soil's own moment; pushes: weight down the slope and centrifugal force, in the plane. Slope and
// centrifugal force together load the wheels as one steeper slope under a larger weight.
void Balance::load(double shift_x_m, double shift_y_m) {
  const double weight = m_.machine.weight_n, down = weight * std::sin(c_.gradient_rad);
  normal_ = weight * std::cos(c_.gradient_rad);
  slope_x_ = -down * std::cos(c_.heading_rad);
  slope_y_ = down * std::sin(c_.heading_rad);
  const double outward = radius_ == 0 || std::isinf(radius_) ? 0 : weight / m_.gravity_m_s2 * c_.speed_m_s * c_.speed_m_s / radius_;
  push_x_ = slope_x_;
  push_y_ = slope_y_ - outward;
  stance_.cg_x_m = cg_.x_m + shift_x_m;
  stance_.cg_y_m = cg_.y_m + shift_y_m;
  stance_.foot_x_m = shift_x_m;
  stance_.foot_y_m = shift_y_m;
  const double push = std::hypot(push_x_, push_y_), fall = std::atan2(push_y_, push_x_);
  stance_.weight_n = std::hypot(normal_, push);
  double slope = std::atan2(push, normal_);
  if (holds_at_tip_) {
    tip_rad_ = tip_over(stance_, std::numbers::pi - c_.heading_rad).angle_rad;
    slope = std::min(slope, std::max(0.0, tip_rad_ - 1e-7));
  }
  load_slope_ = slope;
  load_fall_ = fall;
  auto loads = standing_loads_n(stance_, slope, fall, lower_);
  if (!loads && m_.machine.axles > 2) {  // by what was settled last it tips: from its own stiffness
    for (std::size_t i = 0; i < places_.size(); ++i) stance_.supports[i].stiffness_n_per_m = m_.stance.supports[i].stiffness_n_per_m, lower_[i] = ground_[i];
    loads = standing_loads_n(stance_, slope, fall, lower_);
  }
  loads_ = std::move(loads).value_or(std::vector<double>{});
}

double largest(const Unknown& f) {
  double most = 0;
  for (const double v : f) {
    if (!std::isfinite(v)) return std::numeric_limits<double>::infinity();
    most = std::max(most, std::abs(v));
  }
  return most;
}

namespace {

double length_of(const Unknown& f) {
  double sum = 0;
  for (const double v : f) sum += v * v;
  return std::isfinite(sum) ? std::sqrt(sum) : std::numeric_limits<double>::infinity();
}

// Solution of J x = -f by elimination with pivots; nothing where J is singular.
std::optional<Unknown> newton_step(const std::array<Unknown, kUnknowns>& columns, const Unknown& f) {
  std::array<std::array<double, kUnknowns + 1>, kUnknowns> m{};
  for (std::size_t r = 0; r < kUnknowns; ++r) {
    for (std::size_t c = 0; c < kUnknowns; ++c) m[r][c] = columns[c][r];
    m[r][kUnknowns] = -f[r];
  }
  for (std::size_t i = 0; i < kUnknowns; ++i) {
    std::size_t pivot = i;
    for (std::size_t r = i + 1; r < kUnknowns; ++r) {
      if (std::abs(m[r][i]) > std::abs(m[pivot][i])) pivot = r;
    }
    std::swap(m[i], m[pivot]);
    for (std::size_t r = i + 1; r < kUnknowns; ++r) {
      const double by = m[r][i] / m[i][i];
      for (std::size_t c = i; c <= kUnknowns; ++c) m[r][c] -= by * m[i][c];
    }
  }
  Unknown x{};
  for (std::size_t i = kUnknowns; i-- > 0;) {
    x[i] = m[i][kUnknowns];
    for (std::size_t c = i + 1; c < kUnknowns; ++c) x[i] -= m[i][c] * x[c];
    x[i] /= m[i][i];
  }
  if (!std::isfinite(largest(x))) return std::nullopt;
  return x;
}

}  // namespace

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
    std::array<Unknown, kUnknowns> columns{};
    for (std::size_t k = 0; k < kUnknowns; ++k) {
      Unknown near = z;
      const double by = 1e-6 * std::max(k < 3 ? 0.1 : 10, std::abs(z[k]));
      near[k] += by;
      Unknown moved = balance(near);
      double over = by;
      if (!std::isfinite(largest(moved))) {  // on the edge of what the ground carries: look back
        near[k] = z[k] - by;
        moved = balance(near);
        over = -by;
      }
      for (std::size_t i = 0; i < kUnknowns; ++i) columns[k][i] = (moved[i] - f[i]) / over;
    }
    const auto step = newton_step(columns, f);
    if (!step) return end(base::SolveStatus::stalled);
    // No unknown moves by more than half of itself or of the speed at once.
    double share = 1;
    for (std::size_t k = 0; k < kUnknowns; ++k) share = std::min(share, 0.5 * std::max(1.0, std::abs(z[k])) / std::max(std::abs((*step)[k]), 1e-300));
    bool better = false;
    for (int halving = 0; halving < 12 && !better; ++halving, share *= 0.5) {
      Unknown next = z;
      for (std::size_t k = 0; k < kUnknowns; ++k) next[k] += share * (*step)[k];
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
  if (out.status == TurnStatus::not_converged && std::isinf(radius_m) && balance.level()) out.status = *balance.level();
  return false;
}

StraightWay::StraightWay(const TurningMachine& m, double heading_rad) : weight_n(m.machine.weight_n), turn{.heading_rad = heading_rad}, balance(m, turn), z(balance.start()) {}

TurnState StraightWay::at(double gradient_rad) {
  turn.gradient_rad = gradient_rad;
  Unknown there = z;
  TurnState out;
  if (take_at(balance, std::numeric_limits<double>::infinity(), weight_n, there, out)) z = there;
  return out;
}

}  // namespace hardpan::performance::detail
