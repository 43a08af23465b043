// SPDX-License-Identifier: Apache-2.0
// Notation: W weight, a gradient (nose up), N axle load, DP and T pull and torque of one wheel, r
// height of the axle, L wheelbase, P hitch pull along the slope, g line angle, hp hitch height.
// Moments about the ground point under the rearmost axle, docs/theory/performance.md eq. (1) to (4).
#include "performance/equilibrium.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "performance/detail/axle_loads.hpp"

namespace hardpan::performance {

using contact::WheelAnswer;
using contact::WheelStatus;
using detail::Demand;
using detail::demand;
using detail::own_moment;
using detail::share;

const char* name(StateStatus status) {
  switch (status) {
    case StateStatus::balanced: return "balanced";
    case StateStatus::bogs_down: return "bogs down";
    case StateStatus::belly_contact: return "belly contact";
    case StateStatus::tips_rearward: return "tips over rearward";
    case StateStatus::tips_forward: return "tips over forward";
    case StateStatus::beyond_wheel_data: return "beyond the wheel's load-deflection rows";
    case StateStatus::wheel_spins: return "a wheel spins or locks";
    case StateStatus::not_converged: return "not converged";
  }
  return "";
}

double State::deepest_m() const {
  double deepest = 0;
  for (std::size_t k = 0; k < axles; ++k) deepest = std::max(deepest, depth_m(k));
  return deepest;
}

double State::largest_slip(const Machine& machine) const {
  double largest = slip_ratio;
  for (std::size_t k = 0; k < axles; ++k) {
    const bool held = machine.axle[k].driven || (slip_ratio < 0 && machine.axle[k].brake);
    if (held && std::abs(wheel[k].slip_ratio) > std::abs(largest)) largest = wheel[k].slip_ratio;
  }
  return largest;
}

namespace {

// Loads settle by about a digit a pass (the soil's moment moves 5 to 14 % of an axle load); observed
// 10 to 30 passes for more than two axles. With one or two, whose loads follow from the gradient or pull and the
// soil's moment alone, accelerate() takes 4 to 7. Beyond 80 the answer is "not converged".
constexpr int kMaxPasses = 80, kMostRelaxed = 400;

// Passes that may lift an axle and are gone part of the way instead; another one means that the vehicle tips. Each halves the part that every later
// pass of the lane goes, to an eighth: next to tipping, where little load is left on an axle, whole passes would swing past it for ever.
constexpr int kMostCuts = 12;
constexpr double kLeastPart = 0.125;

// s of a wheel of radius r when the reference wheel of radius r_ref has slip s_ref, same angular
// speed: q = r omega / v, q2 = q1 r2 / r1; s = 1 - 1/q for q >= 1, q - 1 below.
double slip_of(double reference_slip, double radius_ratio) {
  if (radius_ratio == 1) return reference_slip;
  const double q = (reference_slip >= 0 ? 1 / (1 - reference_slip) : 1 + reference_slip) * radius_ratio;
  return q >= 1 ? 1 - 1 / q : q - 1;
}

double slip_radius(const contact::Contact& c) { return c.torque_radius_m > 0 ? c.torque_radius_m : c.shearing_radius_m; }

std::size_t reference_axle(const Machine& m) {
  for (std::size_t k = 0; k < m.axles; ++k) {
    if (m.axle[k].driven) return k;
  }
  return 0;
}

// Where torque is shared the wheels ahead may wait for the reference wheel behind them: floors then come from the last pass.
bool floors_lag(const Machine& m) { return m.control == vehicle::DriveControl::shared_torque; }

// How many wheels must be known before this one: those whose path it runs in.
std::size_t stage_of(const Machine& m, std::size_t axle) {
  std::size_t stage = 0;
  if (floors_lag(m)) return stage;
  for (std::size_t k = axle; m.axle[k].path_of != kOwnPath; k = m.axle[k].path_of) ++stage;
  return stage;
}

std::size_t stages_of(const Machine& m) {
  std::size_t most = 0;
  for (std::size_t k = 0; k < m.axles; ++k) most = std::max(most, stage_of(m, k));
  return most + 1;
}

// Lyasko's factor of sinkage at a slip: the law of a contact holds before it.
double stretch_of(const contact::Contact& c, double slip) {
  return c.slip_sinkage == soil::SlipSinkage::stretch ? (1 + std::abs(slip)) / (1 - 0.5 * std::abs(slip)) : 1;
}

bool is_towed(const Case& c, std::size_t k) { return c.towed || (!c.machine->axle[k].driven && !(c.slip_ratio < 0 && c.machine->axle[k].brake)); }

// Not held at the common speed: towed, or sharing the torque of the reference wheel.
bool is_free(const Case& c, std::size_t k) {
  return is_towed(c, k) || (c.machine->control == vehicle::DriveControl::shared_torque && k != reference_axle(*c.machine));
}

// Slip of a wheel in this pass, as far as it is known before it is solved.
double wheel_slip(const Case& c, const Workspace::Lane& lane, std::size_t k) {
  const Machine& m = *c.machine;
  if (lane.passes > 0 && is_free(c, k)) return lane.free_slip[k];
  return slip_of(c.slip_ratio, slip_radius(m.axle[k].contact) / slip_radius(m.axle[reference_axle(m)].contact));
}

// The contact of a wheel in this pass: of a following wheel the one on its floor.
const contact::Contact& contact_of(const Workspace& w, const Machine& m, std::size_t lane, std::size_t axle) {
  return m.axle[axle].path_of == kOwnPath ? m.axle[axle].contact : w.on_floor[lane * kMaxAxles + axle];
}

// The part of a wheel in the rut, where another strength was stated for it.
contact::Contact in_path(contact::Contact c, const AxleOnSoil& a) {
  c.cohesion_pa = a.path_cohesion_pa.value_or(c.cohesion_pa);
  c.tan_phi = a.path_tan_phi.value_or(c.tan_phi);
  c.shear_modulus_m = a.path_shear_modulus_m.value_or(c.shear_modulus_m);
  return c;
}

// Lies with a part of its width on the floor of a rut, in this pass.
bool partly_in_rut(const Case& c, const Workspace::Lane& lane, std::size_t k) { return c.machine->axle[k].path_share < 1 && lane.floor_m[k] > 0; }

// Puts the following wheels of a stage on the floor that the wheels ahead left in this pass, in whole or in part.
void lay_floors(std::span<const Case> cases, std::span<State> states, Workspace& w, std::size_t stage) {
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const Machine& m = *cases[i].machine;
    Workspace::Lane& lane = w.lanes[i];
    if (!lane.active || !m.rut) continue;
    State& s = states[i];
    for (std::size_t k = 0; k < m.axles; ++k) {
      const AxleOnSoil& a = m.axle[k];
      if (a.path_of == kOwnPath || stage_of(m, k) != stage) continue;
      double deepest = 0;
      if (!floors_lag(m) || lane.passes > 0)
        for (std::size_t ahead = a.path_of; ahead != kOwnPath; ahead = m.axle[ahead].path_of) deepest = std::max(deepest, s.depth_m(ahead));
      contact::Contact& c = w.on_floor[i * kMaxAxles + k];
      c = a.contact;
      const double before = lane.floor_m[k];
      s.rut_floor_m[k] = lane.floor_m[k] = 0;
      if (!(deepest > 0)) continue;  // the wheel ahead is not carried: the lane ends there
      const double stretch = stretch_of(c, wheel_slip(cases[i], lane, k));
      c.law = *soil::rut_floor(c.law, deepest / stretch, m.rut);
      const double floor = lane.floor_m[k] = c.law.floor_m * stretch;
      c.largest_sinkage_m = std::max(c.largest_sinkage_m - floor, 0.0);
      if (floors_lag(m)) lane.floor_change = std::max(lane.floor_change, std::abs(floor - before) / c.radius_m);
      if (a.path_share < 1) w.strips[i * kMaxAxles + k] = {strip_of(a.contact, 1 - a.path_share), strip_of(in_path(c, a), a.path_share), floor};
      else s.rut_floor_m[k] = floor;
    }
  }
}

// The end axle that lifts where the vehicle stands on hard ground of this gradient, still or settled (tip_over_joints.hpp); m.axles: none.
std::size_t tips_at_rest(const Machine& m, double gradient) {
  if (m.axles < 2) return m.axles;
  if (gradient > m.tips_up_rad) return m.axles - 1;
  if (gradient < -m.tips_down_rad) return 0;
  const double moment = m.weight_n * (std::cos(gradient) * m.cg_x_m - std::sin(gradient) * m.cg_z_m);
  return moment < 0 ? m.axles - 1 : moment > m.weight_n * std::cos(gradient) * m.last_x_m() ? 0 : m.axles;
}

// Two axles of one body: moments alone tell the loads.
bool by_moments(const Machine& m) { return m.axles <= 2 && m.chain.bodies == 1; }

StateStatus status_of(const WheelAnswer& w) {
  switch (w.status) {
    case WheelStatus::carried:
    case WheelStatus::traction_lost_hard_ground: return StateStatus::balanced;
    case WheelStatus::bogs_down: return StateStatus::bogs_down;
    case WheelStatus::belly_contact: return StateStatus::belly_contact;
    case WheelStatus::beyond_deflection_table: return StateStatus::beyond_wheel_data;
    case WheelStatus::not_converged: return StateStatus::not_converged;
  }
  return StateStatus::not_converged;
}

void start(const Case& c, State& s, Workspace::Lane& lane) {
  const Machine& m = *c.machine;
  s.status = StateStatus::not_converged;  // field by field: the wheels, most of a State, are all written by the first pass
  s.solve = {};
  s.slip_ratio = c.slip_ratio;
  s.gradient_rad = s.hitch_pull_n = s.net_force_n = 0;
  s.axles = m.axles;
  s.deciding_axle = 0;
  s.rut_floor_m = {};
  lane = {};
  lane.active = true;
  lane.gradient_rad = c.question == Question::pull ? c.gradient_rad : 0;
  lane.pull_n = c.question == Question::gradient ? c.hitch_pull_n : 0;
  const Demand want = demand(m, c, lane.gradient_rad, lane.pull_n, 0);
  for (std::size_t k = 0; k < m.axles; ++k) lane.load_n[k] = want.load_n / static_cast<double>(m.axles);
  std::array<double, kMaxAxles> first = lane.load_n;
  for (std::size_t b = 0; b < m.chain.bodies; ++b) lane.pitch_rad[b] = m.part[b].level_pitch_rad;
  if (share(m, c, lane.gradient_rad, lane.pull_n, 0, nullptr, first, lane.pitch_rad) == m.axles) lane.load_n = first;
  if (!c.near || !c.near->balanced()) return;
  const State& near = *c.near;
  for (std::size_t k = 0; k < m.axles; ++k) first[k] = near.wheel[k].load_n * m.axle[k].wheels;
  const double gradient = c.question == Question::gradient ? near.gradient_rad : lane.gradient_rad;
  const double pull = c.question == Question::pull ? near.hitch_pull_n : lane.pull_n;
  const double moment = own_moment(m, near, gradient, first);
  if (share(m, c, gradient, pull, moment, &near, first, lane.pitch_rad) != m.axles) return;
  lane.load_n = first;
  lane.gradient_rad = gradient;
  lane.pull_n = pull;
  lane.own_moment_n_m = moment;
}

void stop(State& s, Workspace::Lane& lane, StateStatus status, std::size_t axle, base::SolveStatus solve) {
  s.status = status;
  s.deciding_axle = axle;
  s.solve.status = solve;
  s.solve.steps = lane.passes;
  s.solve.evaluations = lane.evaluations;
  lane.active = false;
}

// A wheel on two strips, as State tells it: its sinkage counts from the floor, unless that does not reach it.
void take_strips(State& s, Workspace::Lane& lane, std::size_t k, const WheelAnswer& wheel, double share) {
  s.wheel[k] = wheel;
  lane.share_in_rut[k] = share;
  s.rut_floor_m[k] = share > 0 ? lane.floor_m[k] : 0;
  s.wheel[k].sinkage_m -= s.rut_floor_m[k];
}

// Wheels partly in the rut that are held at the common speed.
void settle_partly_in_rut(std::span<const Case> cases, std::span<State> states, Workspace& w, std::size_t stage) {
  w.strip_cases.clear();
  w.strip_owner.clear();
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const Machine& m = *cases[i].machine;
    for (std::size_t k = 0; w.lanes[i].active && k < m.axles; ++k) {
      if (stage_of(m, k) != stage || !partly_in_rut(cases[i], w.lanes[i], k) || is_free(cases[i], k)) continue;
      w.strip_cases.push_back({&w.strips[i * kMaxAxles + k], w.lanes[i].load_n[k] / m.axle[k].wheels, wheel_slip(cases[i], w.lanes[i], k), w.lanes[i].passes > 0 ? w.lanes[i].share_in_rut[k] : 0.5 * m.axle[k].path_share});
      w.strip_owner.push_back(i * kMaxAxles + k);
    }
  }
  if (w.strip_cases.empty()) return;
  w.strip_answers.resize(w.strip_cases.size());
  wheels_on_strips(w.strip_cases, w.strip_answers, w.searched.strips, w.target);
  for (std::size_t j = 0; j < w.strip_owner.size(); ++j) {
    const std::size_t i = w.strip_owner[j] / kMaxAxles, k = w.strip_owner[j] % kMaxAxles;
    take_strips(states[i], w.lanes[i], k, w.strip_answers[j].wheel, w.strip_answers[j].share_in_rut);
  }
}

// Wheels that are not held at the common speed: towed axles, and all but the reference under shared torque. Solved
// for all active lanes at once, from the slip of the last pass.
void settle_free_wheels(std::span<const Case> cases, std::span<State> states, Workspace& w, std::size_t stage) {
  w.free_wheels.clear();
  w.free_owner.clear();
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const Workspace::Lane& lane = w.lanes[i];
    if (!lane.active) continue;
    const Machine& m = *cases[i].machine;
    const std::size_t ref = reference_axle(m);
    for (std::size_t k = 0; k < m.axles; ++k) {
      if (!is_free(cases[i], k) || stage_of(m, k) != stage) continue;
      const bool towed = is_towed(cases[i], k), shared = !towed;
      if (shared && !states[i].wheel[ref].carried()) continue;  // the lane ends here
      const bool warm = lane.passes > 0;
      const bool partly = partly_in_rut(cases[i], lane, k);
      w.free_wheels.push_back({.contact = partly ? nullptr : &contact_of(w, m, i, k), .strips = partly ? &w.strips[i * kMaxAxles + k] : nullptr, .load_n = lane.load_n[k] / m.axle[k].wheels,
                               .torque_n_m = towed ? 0 : states[i].wheel[ref].torque_n_m,
                               .guess_slip = warm ? lane.free_slip[k] : towed ? -0.05 : states[i].slip_ratio,
                               .reach = warm ? 0.002 : 0.05, .guess_share = warm ? lane.share_in_rut[k] : 0.5 * m.axle[k].path_share});
      w.free_owner.push_back(i * kMaxAxles + k);
    }
  }
  if (w.free_wheels.empty()) return;
  w.free_answers.resize(w.free_wheels.size());
  wheels_at_torque(w.free_wheels, w.free_answers, w.searched, w.target);
  for (std::size_t j = 0; j < w.free_owner.size(); ++j) {
    const std::size_t i = w.free_owner[j] / kMaxAxles, k = w.free_owner[j] % kMaxAxles;
    if (partly_in_rut(cases[i], w.lanes[i], k)) take_strips(states[i], w.lanes[i], k, w.free_answers[j].wheel, w.free_answers[j].share_in_rut);
    else states[i].wheel[k] = w.free_answers[j].wheel;
    // Spinning as fast as is looked at, with the torque it then takes: with the loads of a later pass it may take what it should.
    if (w.free_answers[j].solve.status == base::SolveStatus::not_bracketed && !is_towed(cases[i], k)) {
      w.lanes[i].spins = true;
      states[i].wheel[k].status = WheelStatus::carried;
    }
    w.lanes[i].free_slip[k] = std::clamp(w.free_answers[j].wheel.slip_ratio, -0.9, 0.9);
  }
}

// Broyden's method ("good" update; Broyden 1965) on place = (gradient or pull / W, own moment / (W x_front)), which
// a pass maps to a new place: miss = new place - place is driven to zero. Starts as the plain repetition, and
// falls back to it where the update is degenerate or reaches too far. Returns the next place.
std::array<double, 2> accelerate(const std::array<double, 2>& place, const std::array<double, 2>& miss, Workspace::Lane& lane) {
  auto& b = lane.inverse;
  const auto times = [&](const std::array<double, 2>& v) {
    return std::array<double, 2>{b[0] * v[0] + b[1] * v[1], b[2] * v[0] + b[3] * v[1]};
  };
  const std::array<double, 2> moved{place[0] - lane.place[0], place[1] - lane.place[1]};
  const std::array<double, 2> change{miss[0] - lane.miss[0], miss[1] - lane.miss[1]};
  const std::array<double, 2> by = times(change);
  const std::array<double, 2> back{moved[0] * b[0] + moved[1] * b[2], moved[0] * b[1] + moved[1] * b[3]};
  const double scale = moved[0] * by[0] + moved[1] * by[1];
  const double size = moved[0] * moved[0] + moved[1] * moved[1];
  if (lane.passes > 1 && std::abs(scale) > 0.05 * size) {
    const std::array<double, 2> left{(moved[0] - by[0]) / scale, (moved[1] - by[1]) / scale};
    b = {b[0] + left[0] * back[0], b[1] + left[0] * back[1], b[2] + left[1] * back[0], b[3] + left[1] * back[1]};
  } else {
    b = {-1, 0, 0, -1};
  }
  lane.place = place;
  lane.miss = miss;
  std::array<double, 2> step = times(miss);
  const double reach = std::hypot(step[0], step[1]), plain = std::hypot(miss[0], miss[1]);
  if (!(reach <= 3 * plain)) {
    b = {-1, 0, 0, -1};
    step = times(miss);
  }
  return {place[0] - step[0], place[1] - step[1]};
}

// One pass over an active lane whose wheels have just been solved at lane.load_n.
void advance(const Case& c, State& s, Workspace::Lane& lane) {
  const Machine& m = *c.machine;
  ++lane.passes;
  double force = 0;
  const bool spins = std::exchange(lane.spins, false);
  for (std::size_t k = 0; k < m.axles; ++k) {
    lane.evaluations += s.wheel[k].solve.evaluations;
    const StateStatus status = status_of(s.wheel[k]);
    if (status != StateStatus::balanced) {
      return stop(s, lane, status, k, status == StateStatus::not_converged ? base::SolveStatus::out_of_steps
                                                                        : base::SolveStatus::no_solution);
    }
    force += m.axle[k].wheels * s.wheel[k].pull_n;
  }
  s.net_force_n = force;
  double gradient = lane.gradient_rad, pull = lane.pull_n;
  if (c.question == Question::pull) {
    pull = force - m.weight_n * std::sin(gradient);
  } else {
    // With the pull coefficient nearly independent of load, tan a = (force - P) / (W cos a) repeats itself.
    gradient = std::atan((force - pull) / (m.weight_n * std::cos(gradient)));
  }
  double moment = own_moment(m, s, gradient, lane.load_n);
  const double arm = m.weight_n * std::max(m.last_x_m(), 1e-3);
  const bool by_pull = c.question == Question::pull;
  const auto place_of = [&](double a, double p, double own) {
    return std::array<double, 2>{by_pull ? p / m.weight_n : a, own / arm};
  };
  const std::array<double, 2> from = place_of(lane.gradient_rad, lane.pull_n, lane.own_moment_n_m);
  const double relaxed = lane.part;
  const auto part_of = [](double stood, double wanted, double part) { return part < 1 ? stood + part * (wanted - stood) : wanted; };
  gradient = part_of(lane.gradient_rad, gradient, relaxed);
  pull = part_of(lane.pull_n, pull, relaxed);
  moment = part_of(lane.own_moment_n_m, moment, relaxed);
  std::array<double, kMaxAxles> load = lane.load_n;
  detail::Pitches pitch = lane.pitch_rad;
  std::size_t lifted = share(m, c, gradient, pull, moment, &s, load, pitch);
  for (std::size_t k = 0; relaxed < 1 && lifted == m.axles && k < m.axles; ++k) load[k] = part_of(lane.load_n[k], load[k], relaxed);
  for (std::size_t b = 0; relaxed < 1 && b < m.chain.bodies; ++b) pitch[b] = part_of(lane.pitch_rad[b], pitch[b], relaxed);
  const bool cut = lifted != m.axles && lane.cuts < kMostCuts;
  if (cut) {  // too far at once, perhaps: part of the way from the loads that stood
    ++lane.cuts;
    lane.part = std::max(0.5 * relaxed, kLeastPart);
    for (double part = 0.5; lifted != m.axles && part > 0.05; part *= 0.5) {
      const auto between = [&](double stood, double wanted) { return stood + part * (wanted - stood); };
      load = lane.load_n;
      pitch = lane.pitch_rad;
      lifted = share(m, c, between(lane.gradient_rad, gradient), between(lane.pull_n, pull), between(lane.own_moment_n_m, moment), &s, load, pitch);
      if (lifted != m.axles) continue;
      gradient = between(lane.gradient_rad, gradient);
      pull = between(lane.pull_n, pull);
      moment = between(lane.own_moment_n_m, moment);
    }
  }
  s.gradient_rad = gradient;
  s.hitch_pull_n = pull;
  if (lifted != m.axles) {
    const bool inner = lifted > 0 && lifted + 1 < m.axles;
    return stop(s, lane, inner ? (gradient < 0 ? StateStatus::tips_forward : StateStatus::tips_rearward) : lifted == 0 ? StateStatus::tips_forward : StateStatus::tips_rearward, lifted,
                base::SolveStatus::no_solution);
  }
  double change = std::max(std::abs(gradient - lane.gradient_rad), lane.floor_change) * m.weight_n;
  lane.floor_change = 0;
  for (std::size_t k = 0; k < m.axles; ++k) change = std::max(change, std::abs(load[k] - lane.load_n[k]));
  lane.load_n = load;
  lane.pitch_rad = pitch;
  lane.gradient_rad = gradient;
  lane.pull_n = pull;
  lane.own_moment_n_m = moment;
  change /= relaxed;
  s.solve.residual = change;
  s.solve.tolerance = c.load_tolerance * m.weight_n;
  s.solve.residual_unit = "N";
  if (!std::isfinite(change)) return stop(s, lane, StateStatus::not_converged, 0, base::SolveStatus::not_finite);
  if (cut) return;
  if (change <= s.solve.tolerance) {
    if (spins) return stop(s, lane, StateStatus::wheel_spins, 0, base::SolveStatus::no_solution);
    const std::size_t tips = tips_at_rest(m, gradient);
    if (tips == m.axles) return stop(s, lane, StateStatus::balanced, 0, base::SolveStatus::converged);
    return stop(s, lane, tips == 0 ? StateStatus::tips_forward : StateStatus::tips_rearward, tips, base::SolveStatus::no_solution);
  }
  if (lane.passes >= (relaxed < 1 ? kMostRelaxed : kMaxPasses)) return stop(s, lane, StateStatus::not_converged, 0, base::SolveStatus::out_of_steps);
  if (!by_moments(m)) return;
  const std::array<double, 2> to = place_of(gradient, pull, moment);
  const std::array<double, 2> next = accelerate(from, {to[0] - from[0], to[1] - from[1]}, lane);
  const double next_gradient = by_pull ? gradient : next[0], next_pull = by_pull ? next[0] * m.weight_n : pull;
  std::array<double, kMaxAxles> next_load = load;
  if (!(std::abs(next_gradient) < 1.5) ||
      share(m, c, next_gradient, next_pull, next[1] * arm, &s, next_load, pitch) != m.axles) {
    return;  // the plain pass stands
  }
  lane.load_n = next_load;
  lane.gradient_rad = next_gradient;
  lane.pull_n = next_pull;
  lane.own_moment_n_m = next[1] * arm;
}

// Collects the wheels of a stage of all active lanes into one batch.
void gather(std::span<const Case> cases, std::span<const State> states, Workspace& w, std::size_t stage) {
  w.wheels.clear();
  for (std::size_t i = 0; i < cases.size(); ++i) {
    if (!w.lanes[i].active) continue;
    const Machine& m = *cases[i].machine;
    const double r_ref = slip_radius(m.axle[reference_axle(m)].contact);
    for (std::size_t k = 0; k < m.axles; ++k) {
      if (stage_of(m, k) != stage || partly_in_rut(cases[i], w.lanes[i], k)) continue;
      // Warm from the last pass or from the state near by: the rigid entry angle of that sinkage.
      const State* warm = w.lanes[i].passes > 0 ? &states[i] : cases[i].near;
      const double last = warm && (w.lanes[i].passes > 0 || warm->balanced()) ? warm->wheel[k].sinkage_m : 0;
      w.wheels.add(contact_of(w, m, i, k), w.lanes[i].load_n[k] / m.axle[k].wheels, slip_of(cases[i].slip_ratio, slip_radius(m.axle[k].contact) / r_ref),
                   last > 0 ? std::acos(std::max(0.0, 1 - last / m.axle[k].contact.radius_m)) : 0, i * kMaxAxles + k);
    }
  }
}

}  // namespace

void solve_cases(std::span<const Case> cases, std::span<State> out, Workspace& space) {
  space.lanes.resize(cases.size());
  std::size_t stages = 1;
  for (std::size_t i = 0; i < cases.size(); ++i) {
    start(cases[i], out[i], space.lanes[i]);
    stages = std::max(stages, stages_of(*cases[i].machine));
    if (cases[i].machine->rut) {
      space.on_floor.resize(cases.size() * kMaxAxles);
      space.strips.resize(cases.size() * kMaxAxles);
    }
  }
  const auto any_active = [&] { return std::any_of(space.lanes.begin(), space.lanes.end(), [](const Workspace::Lane& lane) { return lane.active; }); };
  while (any_active()) {
    for (std::size_t stage = 0; stage < stages; ++stage) {
      lay_floors(cases, out, space, stage);
      gather(cases, out, space, stage);
      space.wheels.roll(space.target);
      for (std::size_t j = 0; j < space.wheels.owner.size(); ++j) out[space.wheels.owner[j] / kMaxAxles].wheel[space.wheels.owner[j] % kMaxAxles] = space.wheels.answers[j];
      settle_partly_in_rut(cases, out, space, stage);
      settle_free_wheels(cases, out, space, stage);
    }
    for (std::size_t i = 0; i < cases.size(); ++i) {
      if (space.lanes[i].active) advance(cases[i], out[i], space.lanes[i]);
    }
  }
}

}  // namespace hardpan::performance
