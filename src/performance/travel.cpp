// SPDX-License-Identifier: Apache-2.0
// Searches over slip on top of solve_cases, all lanes in lockstep.
#include "performance/travel.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include "performance/detail/top_speed.hpp"

namespace hardpan::performance {

const char* name(LimitingFactor factor) {
  switch (factor) {
    case LimitingFactor::none: return "none";
    case LimitingFactor::traction: return "traction";
    case LimitingFactor::torque: return "torque";
    case LimitingFactor::power: return "power";
    case LimitingFactor::bogs_down: return "bogs down";
    case LimitingFactor::belly_contact: return "belly contact";
    case LimitingFactor::tip_over_rearward: return "tip-over rearward";
    case LimitingFactor::tip_over_forward: return "tip-over forward";
    case LimitingFactor::run_away: return "run-away";
    case LimitingFactor::wheel_data: return "load beyond the wheel's load-deflection rows";
    case LimitingFactor::not_converged: return "no numerical answer";
  }
  return "";
}

std::optional<OnSoil> on_soil(const vehicle::Vehicle& vehicle, const soil::Soil& soil, double gravity_m_s2,
                              soil::SlipSinkage slip_sinkage, const base::Place& place,
                              base::Problems& problems, const std::optional<soil::Reload>& rut) {
  auto plain = make_machine(vehicle, soil, gravity_m_s2, soil::SlipSinkage::none, place, problems, rut);
  if (!plain) return std::nullopt;
  OnSoil out{.plain = *plain, .sinking = std::nullopt};
  if (slip_sinkage != soil::SlipSinkage::none) {
    out.sinking = make_machine(vehicle, soil, gravity_m_s2, slip_sinkage, place, problems, rut);
    if (!out.sinking) return std::nullopt;
  }
  return out;
}

double torque_use(const Machine& m, const State& s) {
  double use = 0;
  for (std::size_t k = 0; k < s.axles; ++k) {
    if (!m.axle[k].driven || !std::isfinite(m.axle[k].peak_torque_n_m)) continue;
    use = std::max(use, std::abs(s.wheel[k].torque_n_m) / m.axle[k].peak_torque_n_m);
  }
  return use;
}

namespace {

// omega / v from the definition of slip, section "slip" of docs/conventions.md.
double turn_per_m(const contact::WheelAnswer& w) { return w.slip_ratio >= 0 ? 1 / (w.torque_radius_m * (1 - w.slip_ratio)) : (1 + w.slip_ratio) / w.torque_radius_m; }

}  // namespace

TopSpeed top_speed(const Machine& m, const State& s) {
  constexpr double kNoLimit = std::numeric_limits<double>::infinity();
  TopSpeed out{kNoLimit, kNoLimit};
  for (std::size_t k = 0; k < s.axles; ++k) {
    const contact::WheelAnswer& w = s.wheel[k];
    const AxleOnSoil& a = m.axle[k];
    const double turns = turn_per_m(w);
    if (!a.driven || !(turns > 0)) continue;
    out.drives_m_s = std::min(out.drives_m_s, a.max_speed_rad_per_s / turns);
    if (w.torque_n_m > 0) out.power_m_s = std::min(out.power_m_s, a.peak_power_w / w.torque_n_m / turns);
  }
  return out;
}

namespace {

LimitingFactor factor_of(StateStatus status) {
  switch (status) {
    case StateStatus::balanced: return LimitingFactor::none;
    case StateStatus::bogs_down: return LimitingFactor::bogs_down;
    case StateStatus::belly_contact: return LimitingFactor::belly_contact;
    case StateStatus::tips_rearward: return LimitingFactor::tip_over_rearward;
    case StateStatus::tips_forward: return LimitingFactor::tip_over_forward;
    case StateStatus::beyond_wheel_data: return LimitingFactor::wheel_data;
    case StateStatus::wheel_spins: return LimitingFactor::traction;
    case StateStatus::not_converged: return LimitingFactor::not_converged;
  }
  return LimitingFactor::not_converged;
}

// The less favourable of two states: driving the one that pulls less, braking the one that holds back less. A state without balance is the least favourable.
const State& lead(const State& a, const State& b, Question question, double slip) {
  // Tipping before the slip is used up, it goes steeper than the other.
  const StateStatus over = slip >= 0 ? StateStatus::tips_rearward : StateStatus::tips_forward;
  if (question == Question::gradient && a.balanced() && b.status == over) return a;
  if (question == Question::gradient && b.balanced() && a.status == over) return b;
  if (!a.balanced()) return a;
  if (!b.balanced()) return b;
  const bool less = question == Question::gradient ? b.gradient_rad < a.gradient_rad : b.net_force_n < a.net_force_n;
  return less == (slip >= 0) ? b : a;
}

// A question for one lane; answered without and with slip sinkage, the less favourable leading.
struct Ask {
  const OnSoil* on = nullptr;
  double slip = 0;
  Question question = Question::pull;
  double gradient = 0;
  double pull = 0;
  double tolerance = 1e-10;     // as Case::load_tolerance
  const State* near = nullptr;  // as Case::near
};
// Enough to find where to look; what is kept is solved again to the full tolerance.
constexpr double kLooking = 1e-6;

void solve_lead(std::span<const Ask> asks, std::span<State> out, Workspace& space) {
  thread_local std::vector<Case> cases;
  thread_local std::vector<State> states;
  cases.clear();
  for (const Ask& a : asks) {
    const Case c{.machine = &a.on->plain, .slip_ratio = a.slip, .question = a.question,
                 .gradient_rad = a.gradient, .hitch_pull_n = a.pull, .load_tolerance = a.tolerance, .near = a.near};
    cases.push_back(c);
    if (a.on->sinking) {
      cases.push_back(c);
      cases.back().machine = &*a.on->sinking;
    }
  }
  states.resize(cases.size());
  solve_cases(cases, states, space);
  std::size_t j = 0;
  for (std::size_t i = 0; i < asks.size(); ++i) {
    if (!asks[i].on->sinking) {
      out[i] = states[j++];
      continue;
    }
    out[i] = lead(states[j], states[j + 1], asks[i].question, asks[i].slip);
    j += 2;
  }
}

// The slip is used up no further: more of it climbs, or holds back, beyond where the vehicle tips.
bool tips(const State& s) { return s.status == StateStatus::tips_rearward || s.status == StateStatus::tips_forward; }

// Past the peak torque of a drive, past the slip allowed to any wheel, or with a wheel that spins.
bool beyond(const Machine& m, const State& s, double most_slip) {
  if (s.status == StateStatus::wheel_spins) return true;
  return s.balanced() && (torque_use(m, s) > 1 || std::abs(s.largest_slip(m)) > std::abs(most_slip) * (1 + 1e-9));
}

// Search for the best gradient over a rising grid of slips of the reference wheel, whose last is allowed to any wheel; see
// gradients_at_slip. `sign` +1 for climbing, -1 for descending (best = most negative gradient). Looks with kLooking, then solves the slip found in full.
void best_gradient(std::span<const OnSoil> on, std::span<const double> grid, double sign,
                   LimitingFactor end_factor, std::span<Gradient> out, Workspace& space) {
  const double most_slip = grid.back();
  const auto within = [&](std::size_t i, const State& s) { return s.balanced() && !beyond(on[i].plain, s, most_slip); };
  const auto cut_by = [&](std::size_t i, const State& s) { return tips(s) ? factor_of(s.status) : s.balanced() && torque_use(on[i].plain, s) > 1 ? LimitingFactor::torque : end_factor; };
  const std::size_t lanes = on.size(), points = grid.size();
  thread_local std::vector<Ask> asks;
  thread_local std::vector<State> states, some;  // megabytes: kept between calls
  std::vector<std::size_t> owner(lanes);
  states.resize(lanes * points);
  // In two parts: where a wheel bogs down or the vehicle tips in the first, more slip only makes it worse.
  for (std::size_t i = 0; i < lanes; ++i) owner[i] = i;
  const std::size_t middle = points / 2;
  for (const auto& [first, last] : {std::pair{std::size_t{0}, middle}, std::pair{middle, points}}) {
    asks.clear();
    for (const std::size_t i : owner) {
      for (std::size_t j = first; j < last; ++j) asks.push_back({&on[i], grid[j], Question::gradient, 0, 0, kLooking, nullptr});
    }
    some.resize(asks.size());
    solve_lead(asks, some, space);
    std::size_t n = 0;
    for (const std::size_t i : owner) {
      for (std::size_t j = first; j < last; ++j) states[i * points + j] = some[n++];
    }
    const auto ended = [&](std::size_t i) {
      const State& s = states[i * points + last - 1];
      if (s.balanced() || s.status == StateStatus::not_converged) return false;
      for (std::size_t j = last; j < points; ++j) states[i * points + j].status = s.status;
      return true;
    };
    if (last < points) std::erase_if(owner, ended);
  }

  // Best point that is balanced and within torque, and what lies on either side of it.
  struct Search {
    double lo = 0, hi = 0;       // slips around the best
    double left = 0, right = 0;  // slips looked at inside, with their gradients times sign
    double at_left = 0, at_right = 0;
    bool by_cut = false, by_peak = false;
    bool below = false;          // the least slip looked at sinks too deep: less slip may not, and counts where it climbs, or holds a descent
    int rounds = 12;             // halvings of a cut
    bool upper_cut = false;      // in the last round: left has to be looked at anew, else right
  };
  constexpr int kTipRounds = 26;  // on firm ground a gradient hangs on very little slip
  std::vector<Search> search(lanes);
  for (std::size_t i = 0; i < lanes; ++i) {
    Gradient& g = out[i];
    g = Gradient{};
    std::optional<std::size_t> best;
    for (std::size_t j = 0; j < points; ++j) {
      const State& s = states[i * points + j];
      // Braking goes from little slip to more: what stops it on the way is not braked through, though a balance lies beyond.
      if (sign < 0 && best && !s.balanced()) break;
      if (!within(i, s)) continue;
      if (!best || sign * s.gradient_rad > sign * states[i * points + *best].gradient_rad) best = j;
    }
    if (!best) {
      const State& first = states[i * points];
      g.state = first;
      const bool looks_below = tips(first) || beyond(on[i].plain, first, most_slip);
      g.factor = looks_below ? cut_by(i, first) : factor_of(first.status);
      if (looks_below) search[i] = {.lo = 0, .hi = grid[0], .by_cut = true, .rounds = tips(first) ? kTipRounds : 12};
      if (first.status == StateStatus::bogs_down || first.status == StateStatus::belly_contact) search[i] = {.lo = 0, .hi = grid[0], .by_peak = true, .below = true};
      continue;
    }
    const State& s = states[i * points + *best];
    g.state = s;
    g.gradient_rad = s.gradient_rad;
    g.factor = end_factor;
    if (*best + 1 < points) {
      const State& next = states[i * points + *best + 1];
      if (tips(next) || beyond(on[i].plain, next, most_slip)) {
        search[i] = {.lo = grid[*best], .hi = grid[*best + 1], .by_cut = true, .rounds = tips(next) ? kTipRounds : 12};
        g.factor = cut_by(i, next);
      } else {
        search[i] = {.lo = *best > 0 ? grid[*best - 1] : 0.0, .hi = grid[*best + 1], .by_peak = true};
        if (!next.balanced() && next.status != StateStatus::not_converged) g.factor = factor_of(next.status);
      }
    }
  }

  // Cuts: bisection in slip, 12 halvings (slip to 1e-4 of the interval), 26 where it tips, keeping the feasible side.
  // Interior maxima: golden section, one new slip a round after the first, 10 rounds (interval of 0.15 to 0.0012); the
  // gradient is flat there.
  constexpr double kGolden = 0.6180339887498949;
  constexpr int kPeakRounds = 10;
  for (int round = 0; round < kTipRounds; ++round) {
    owner.clear();
    asks.clear();
    const auto ask = [&](std::size_t i, double slip) { asks.push_back({&on[i], slip, Question::gradient, 0, 0, kLooking, &out[i].state}); };
    for (std::size_t i = 0; i < lanes; ++i) {
      Search& q = search[i];
      if (q.by_cut && round < q.rounds) {
        ask(i, 0.5 * (q.lo + q.hi));
      } else if (q.by_peak && round < kPeakRounds) {
        if (round == 0 || q.upper_cut) ask(i, q.left = q.hi - kGolden * (q.hi - q.lo));
        if (round == 0 || !q.upper_cut) ask(i, q.right = q.lo + kGolden * (q.hi - q.lo));
      } else {
        continue;
      }
      owner.push_back(i);
    }
    if (owner.empty()) break;
    states.resize(asks.size());
    solve_lead(asks, states, space);
    std::size_t j = 0;
    for (const std::size_t i : owner) {
      Search& q = search[i];
      const auto keep = [&](const State& s) {
        if (within(i, s) && !(q.below && sign * s.gradient_rad < 0) && (out[i].gradient_rad == kNoGradient || sign * s.gradient_rad > sign * out[i].gradient_rad)) {
          out[i].state = s;
          out[i].gradient_rad = s.gradient_rad;
        }
      };
      if (q.by_cut) {
        keep(states[j]);
        (within(i, states[j]) ? q.lo : q.hi) = asks[j].slip;
        ++j;
        continue;
      }
      for (const bool left : {true, false}) {
        if (round > 0 && left != q.upper_cut) continue;
        keep(states[j]);
        (left ? q.at_left : q.at_right) = states[j].balanced() ? sign * states[j].gradient_rad : -10.0;
        ++j;
      }
      q.upper_cut = q.at_left >= q.at_right;
      if (q.upper_cut) {
        q.hi = q.right;
        q.right = q.left;
        q.at_right = q.at_left;
      } else {
        q.lo = q.left;
        q.left = q.right;
        q.at_left = q.at_right;
      }
    }
  }

  // Several bodies, and one on three axles and more, settle next to tipping from next to the answer only: a halving that was not met there may have ended too early, and slip goes on from the last.
  for (std::size_t i = 0; i < lanes; ++i) {
    if ((on[i].plain.chain.bodies < 2 && on[i].plain.axles < 3) || search[i].rounds != kTipRounds || !out[i].state.balanced()) continue;
    constexpr int kMostSteps = 60;
    double step = 0.02;
    for (int n = 0; n < kMostSteps && step > 1e-4; ++n) {
      const Ask further{&on[i], out[i].state.slip_ratio * (1 + step), Question::gradient, 0, 0, kLooking, &out[i].state};
      State s;
      solve_lead({&further, 1}, {&s, 1}, space);
      const bool steeper = within(i, s) && sign * s.gradient_rad > sign * out[i].gradient_rad;
      if (steeper) out[i].state = s, out[i].gradient_rad = s.gradient_rad;
      step *= steeper ? 1.5 : 0.5;
    }
  }

  owner.clear();
  asks.clear();
  for (std::size_t i = 0; i < lanes; ++i) {
    if (!out[i].state.balanced()) continue;
    asks.push_back({.on = &on[i], .slip = out[i].state.slip_ratio, .question = Question::gradient, .near = &out[i].state});
    owner.push_back(i);
  }
  states.resize(asks.size());
  solve_lead(asks, states, space);
  for (std::size_t n = 0; n < owner.size(); ++n) {
    if (!states[n].balanced()) continue;  // on the edge of balance: the state looked at stands, its report says how well
    Gradient& g = out[owner[n]];
    g.state = states[n];
    if (g.gradient_rad != kNoGradient) g.gradient_rad = states[n].gradient_rad;
  }
  // A deep wheel climbs without slip, and may sink too far where it is held back as the level asks: a gradient that is not reached from there does not count.
  for (std::size_t i = 0; i < lanes; ++i) {
    Gradient& g = out[i];
    const bool sinks = g.factor == LimitingFactor::bogs_down || g.factor == LimitingFactor::belly_contact;
    if (sign < 0 || !sinks || !(g.gradient_rad > 0) || g.state.slip_ratio >= grid.front()) continue;
    Travel level;
    travels(on.subspan(i, 1), 0, 0, {&level, 1}, space);
    if (level.factor != LimitingFactor::bogs_down && level.factor != LimitingFactor::belly_contact) continue;
    g = {.gradient_rad = kNoGradient, .factor = level.factor, .state = level.state};
  }
  for (std::size_t i = 0; i < lanes; ++i) out[i].slip_ratio = out[i].state.balanced() ? out[i].state.largest_slip(on[i].plain) : out[i].state.slip_ratio;
}

}  // namespace

void gradients_at_slip(std::span<const OnSoil> on, double slip_ratio, std::span<Gradient> out, Workspace& space) {
  const std::array<double, 3> grid{0.3 * slip_ratio, 0.6 * slip_ratio, slip_ratio};
  best_gradient(on, grid, 1, LimitingFactor::traction, out, space);
}

void maximum_gradients(std::span<const OnSoil> on, std::span<Gradient> out, Workspace& space) {
  static constexpr std::array<double, 10> kGrid{0.03, 0.07, 0.12, 0.2, 0.3, 0.45, 0.6, 0.75, 0.88, 0.95};
  best_gradient(on, kGrid, 1, LimitingFactor::traction, out, space);
}

void maximum_descents(std::span<const OnSoil> on, std::span<Gradient> out, Workspace& space) {
  static constexpr std::array<double, 9> kGrid{-0.02, -0.05, -0.1, -0.2, -0.35, -0.5, -0.65, -0.8, -0.95};
  best_gradient(on, kGrid, -1, LimitingFactor::run_away, out, space);
}

void states_at_slip(std::span<const OnSoil> on, double slip_ratio, double gradient_rad, std::span<State> out,
                    Workspace& space) {
  std::vector<Ask> asks;
  asks.reserve(on.size());
  for (const OnSoil& o : on) asks.push_back({.on = &o, .slip = slip_ratio, .question = Question::pull, .gradient = gradient_rad});
  solve_lead(asks, out, space);
}

void states_within_torque(std::span<const OnSoil> on, double slip_ratio, double gradient_rad, std::span<State> out,
                          Workspace& space) {
  states_at_slip(on, slip_ratio, gradient_rad, out, space);
  if (!(slip_ratio > 0)) return;
  struct Search {
    std::size_t lane;
    double lo, hi;
  };
  std::vector<Search> search;
  for (std::size_t i = 0; i < on.size(); ++i) {
    if (out[i].status == StateStatus::wheel_spins || (out[i].balanced() && torque_use(on[i].plain, out[i]) > 1)) search.push_back({i, 0, slip_ratio});
  }
  std::vector<Ask> asks;
  std::vector<State> states(search.size());
  for (int round = 0; round < 20 && !search.empty(); ++round) {  // 20 halvings: 1e-6 of the slip
    asks.clear();
    for (const Search& q : search) {
      asks.push_back({.on = &on[q.lane], .slip = 0.5 * (q.lo + q.hi), .question = Question::pull, .gradient = gradient_rad, .near = &out[q.lane]});
    }
    solve_lead(asks, states, space);
    for (std::size_t n = 0; n < search.size(); ++n) {
      Search& q = search[n];
      const bool over = !states[n].balanced() || torque_use(on[q.lane].plain, states[n]) > 1;
      (over ? q.hi : q.lo) = asks[n].slip;
      // The last feasible state, or while there is none the balanced one with the least torque.
      if (states[n].balanced() && (!over || q.lo == 0)) out[q.lane] = states[n];
    }
  }
}

namespace {

// Slips at which the demand is looked for, driving from 0 upward and braking from 0 downward.
constexpr std::array<double, 12> kDriving{0, 0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.42, 0.55, 0.7, 0.85, 0.95};
constexpr std::array<double, 9> kBraking{0, -0.02, -0.05, -0.1, -0.2, -0.35, -0.55, -0.75, -0.95};

void finish(const OnSoil& on, Travel& t) {
  const Machine& m = on.plain;
  const State& s = t.state;
  t.slip_ratio = s.slip_ratio;
  const TopSpeed top = top_speed(m, s);
  t.speed_m_s = std::min(top.drives_m_s, top.power_m_s);
  double work_per_m = 0;  // battery work per metre without idle loads
  for (std::size_t k = 0; k < s.axles; ++k) {
    const contact::WheelAnswer& w = s.wheel[k];
    const AxleOnSoil& a = m.axle[k];
    t.sinkage_m = std::max(t.sinkage_m, s.depth_m(k));
    if (!a.driven) continue;
    if (std::abs(w.torque_n_m) > std::abs(t.torque_n_m)) t.torque_n_m = w.torque_n_m;
    const double at_axle = a.wheels * w.torque_n_m * turn_per_m(w);
    work_per_m += at_axle >= 0 ? at_axle / a.efficiency : at_axle * a.regeneration;
  }
  t.energy_j_per_m = work_per_m + (std::isfinite(t.speed_m_s) && t.speed_m_s > 0 ? m.idle_power_w / t.speed_m_s : 0);
  const double use = torque_use(m, s);
  t.goes = use <= 1;
  t.factor = t.goes ? LimitingFactor::none : LimitingFactor::torque;
}

// On hard ground of known friction a wheel at rest takes any traction up to the friction, and slides with all of it: the pull leaps at some slip. Between the
// two sides of the leap the wheels hold without sliding further, each with the same share of what it could. False: no such leap, or a side without an answer.
bool between_sides(const OnSoil& on, double lo, double hi, double gradient_rad, double hitch_pull_n, State& out, Workspace& space) {
  const std::array<Ask, 2> sides{Ask{.on = &on, .slip = lo, .question = Question::pull, .gradient = gradient_rad}, Ask{.on = &on, .slip = hi, .question = Question::pull, .gradient = gradient_rad}};
  std::array<State, 2> s;
  solve_lead(sides, s, space);
  if (!s[0].balanced() || !s[1].balanced()) return false;
  bool slides = false;
  for (std::size_t k = 0; k < s[1].axles; ++k) slides = slides || has(s[0].wheel[k].flags | s[1].wheel[k].flags, contact::Flag::hard_ground_friction_used);
  const double share = (hitch_pull_n - s[0].hitch_pull_n) / (s[1].hitch_pull_n - s[0].hitch_pull_n);
  if (!slides || !(share >= 0 && share <= 1)) return false;
  out = s[1];
  out.hitch_pull_n = hitch_pull_n;
  const auto mix = [&](double& value, double from) { value = from + share * (value - from); };
  mix(out.net_force_n, s[0].net_force_n);
  for (std::size_t k = 0; k < out.axles; ++k) {
    contact::WheelAnswer& w = out.wheel[k];
    mix(w.load_n, s[0].wheel[k].load_n);
    mix(w.pull_n, s[0].wheel[k].pull_n);
    mix(w.torque_n_m, s[0].wheel[k].torque_n_m);
  }
  return true;
}

// Between a balanced state and one of more slip at which another wheel spins: the last balanced one before, to 1e-4 of the slip between. `spinning` where there is none.
State last_before_spinning(const OnSoil& on, const State& balanced, const State& spinning, double gradient_rad, Workspace& space) {
  double lo = balanced.slip_ratio, hi = spinning.slip_ratio;
  State last = spinning, s;
  for (int halving = 0; halving < 14; ++halving) {
    const Ask ask{.on = &on, .slip = 0.5 * (lo + hi), .question = Question::pull, .gradient = gradient_rad};
    solve_lead({&ask, 1}, {&s, 1}, space);
    (s.balanced() ? lo : hi) = ask.slip;
    if (s.balanced()) last = s;
  }
  return last;
}

// Slip after slip as steep as it takes the vehicle, up to the gradient asked for. Where a pull at the hitch that stands for what is still missing would tip
// it, as on firm ground that a little slip climbs steeply, or press an axle in to the belly, travel is looked for so. False: it tips before, or there is no such slip.
bool by_steepness(const OnSoil& on, double gradient_rad, double hitch_pull_n, State& out, Workspace& space) {
  constexpr int kHalvings = 60;
  State s, last;                  // the last that was balanced: near to tipping the way there decides
  const auto steeper = [&](double slip) {  // than asked for
    const Ask ask{.on = &on, .slip = slip, .question = Question::gradient, .pull = hitch_pull_n, .near = &last};
    solve_lead({&ask, 1}, {&s, 1}, space);
    if (s.balanced()) last = s;
    return s.balanced() && s.gradient_rad >= gradient_rad;
  };
  const bool braking = steeper(0);
  if (!s.balanced()) return false;
  // On the far side of the gradient asked for, or with a slip too large to balance at all.
  const auto beyond_it = [&](bool more) { return !s.balanced() || (braking ? !more : more); };
  double before = 0, beyond = 0;  // on either side of the gradient asked for
  bool found = false;
  for (const double slip : braking ? std::span<const double>(kBraking) : std::span<const double>(kDriving)) {
    if (beyond_it(steeper(slip))) {
      beyond = slip;
      found = true;
      break;
    }
    before = slip;
  }
  if (!found) return false;
  bool any = false;
  for (int i = 0; i < kHalvings && std::abs(beyond - before) > 1e-14; ++i) {
    const double slip = 0.5 * (before + beyond);
    const bool is_beyond = beyond_it(steeper(slip));
    if (s.balanced() && (!any || std::abs(s.gradient_rad - gradient_rad) < std::abs(out.gradient_rad - gradient_rad))) out = s, any = true;
    (is_beyond ? beyond : before) = slip;
    if (any && std::abs(out.gradient_rad - gradient_rad) < 1e-10) break;
  }
  // Known as closely as slip can be told; beyond it lies the slope at which it tips.
  constexpr double kMet = 1e-6;
  if (!any || std::abs(out.gradient_rad - gradient_rad) > kMet) return false;
  const Ask ask{.on = &on, .slip = out.slip_ratio, .question = Question::pull, .gradient = gradient_rad, .near = &out};
  solve_lead({&ask, 1}, {&s, 1}, space);
  if (s.balanced()) out = s;
  return true;
}

}  // namespace

void travels(std::span<const OnSoil> on, double gradient_rad, double hitch_pull_n, std::span<Travel> out,
             Workspace& space) {
  const std::size_t lanes = on.size();
  std::vector<Ask> asks;
  std::vector<State> states;
  struct Search {
    double lo = 0, hi = 0, f_lo = 0, f_hi = 0;  // slip and pull left over; f_lo < 0 <= f_hi
    bool active = false;
    bool braking = false;
  };
  std::vector<Search> search(lanes);
  const auto over = [&](const State& s) { return s.hitch_pull_n - hitch_pull_n; };

  // Which side of zero slip: is the demand met by a wheel at s = 0?
  states.resize(lanes);
  states_at_slip(on, 0, gradient_rad, states, space);
  std::vector<State> at_zero = states;
  std::vector<std::size_t> owner;
  owner.reserve(lanes);
  asks.reserve(lanes * std::max(std::size(kDriving), std::size(kBraking)));
  for (const bool braking : {false, true}) {
    const std::span<const double> grid = braking ? std::span<const double>(kBraking) : std::span<const double>(kDriving);
    owner.clear();
    asks.clear();
    for (std::size_t i = 0; i < lanes; ++i) {
      const bool needs_brake = at_zero[i].balanced() && over(at_zero[i]) > 0;
      if (needs_brake != braking) continue;
      owner.push_back(i);
      for (std::size_t j = 1; j < grid.size(); ++j) asks.push_back({&on[i], grid[j], Question::pull, gradient_rad, 0, kLooking, nullptr});
    }
    if (owner.empty()) continue;
    states.resize(asks.size());
    solve_lead(asks, states, space);
    for (std::size_t n = 0; n < owner.size(); ++n) {
      const std::size_t i = owner[n];
      Travel& t = out[i];
      t = Travel{};
      t.largest_pull_n = -std::numeric_limits<double>::infinity();
      State before = at_zero[i];
      bool found = false, ended = !before.balanced();   // ended: by what no balance is left for
      double best = -std::numeric_limits<double>::infinity();
      t.state = before;
      t.factor = before.balanced() ? (braking ? LimitingFactor::run_away : LimitingFactor::traction) : factor_of(before.status);
      for (std::size_t j = 1; j < grid.size() && !found; ++j) {
        State s = states[n * (grid.size() - 1) + j - 1];
        if (s.status == StateStatus::wheel_spins && before.balanced()) s = last_before_spinning(on[i], before, s, gradient_rad, space);
        if (!s.balanced()) {
          // Deeper with slip: what stops it here decides when nothing before met the demand.
          if (before.balanced() && s.status != StateStatus::not_converged) t.factor = factor_of(s.status);
          ended = true;
          break;
        }
        if (over(s) > best) {
          best = over(s);
          t.state = s;
        }
        const bool crossed = braking ? over(s) < 0 : before.balanced() && over(before) < 0 && over(s) >= 0;
        if (crossed) {
          search[i] = braking ? Search{s.slip_ratio, before.slip_ratio, over(s), over(before), true, true}
                              : Search{before.slip_ratio, s.slip_ratio, over(before), over(s), true, false};
          found = true;
        }
        before = s;
      }
      t.largest_pull_n = best + hitch_pull_n;
      t.slip_ratio = t.state.slip_ratio;
      if (found || !ended) continue;
      if (State there; by_steepness(on[i], gradient_rad, hitch_pull_n, there, space)) {
        t.state = there;
        t.largest_pull_n = std::max(t.largest_pull_n, hitch_pull_n);
        finish(on[i], t);
      }
    }
  }
  // Refine with the Illinois form of the secant method; observed 5 to 8 rounds to 1e-9 of the weight.
  std::vector<int> side(lanes, 0);
  for (int round = 0; round < 40; ++round) {
    owner.clear();
    asks.clear();
    for (std::size_t i = 0; i < lanes; ++i) {
      const Search& q = search[i];
      if (!q.active) continue;
      asks.push_back({.on = &on[i], .slip = (q.lo * q.f_hi - q.hi * q.f_lo) / (q.f_hi - q.f_lo), .question = Question::pull,
                      .gradient = gradient_rad, .near = &out[i].state});
      owner.push_back(i);
    }
    if (owner.empty()) break;
    states.resize(asks.size());
    solve_lead(asks, states, space);
    for (std::size_t n = 0; n < owner.size(); ++n) {
      const std::size_t i = owner[n];
      Search& q = search[i];
      const double tolerance = 1e-8 * on[i].plain.weight_n;
      const double f = states[n].balanced() ? over(states[n]) : -std::abs(q.f_lo);
      if (states[n].balanced() && (std::abs(f) <= tolerance || q.hi - q.lo < 1e-12)) {
        out[i].state = states[n];
        // A pull this far off at the end of the bracket is no rounding: the pull leaps there.
        const bool leaps = std::abs(f) > 1e3 * tolerance;
        if (!leaps || between_sides(on[i], q.lo, q.hi, gradient_rad, hitch_pull_n, out[i].state, space)) finish(on[i], out[i]);
        else out[i].factor = LimitingFactor::not_converged;
        q.active = false;
        continue;
      }
      if (f < 0) {
        q.lo = asks[n].slip;
        q.f_lo = f;
        if (side[i] == -1) q.f_hi *= 0.5;
        side[i] = -1;
      } else {
        q.hi = asks[n].slip;
        q.f_hi = f;
        if (side[i] == 1) q.f_lo *= 0.5;
        side[i] = 1;
      }
      if (round == 39) {
        out[i].factor = LimitingFactor::not_converged;
        q.active = false;
      }
    }
  }
}

void climbs(std::span<const OnSoil> on, std::span<const double> slip_ratio, std::span<State> out, Workspace& space) {
  std::vector<Ask> asks;
  asks.reserve(on.size());
  for (std::size_t i = 0; i < on.size(); ++i) asks.push_back({.on = &on[i], .slip = slip_ratio[i], .question = Question::gradient});
  solve_lead(asks, out, space);
}

void rungs(std::span<const OnSoil> on, double slip_ratio, std::span<Rung> out, Workspace& space) {
  std::vector<Ask> asks;
  asks.reserve(on.size());
  for (const OnSoil& o : on) asks.push_back({.on = &o, .slip = slip_ratio, .question = Question::gradient});
  std::vector<State> states(on.size());
  solve_lead(asks, states, space);
  for (std::size_t i = 0; i < on.size(); ++i) {
    out[i] = {};
    out[i].lost = states[i].status == StateStatus::not_converged;
    if (!states[i].balanced()) continue;
    Travel t;
    t.state = states[i];
    finish(on[i], t);
    out[i] = {true, false, states[i].gradient_rad, t.sinkage_m, t.torque_n_m, t.energy_j_per_m, t.speed_m_s, torque_use(on[i].plain, states[i])};
  }
}

void towed_resistance_coefficients(std::span<const OnSoil> on, std::span<double> out, Workspace& space) {
  std::vector<Case> cases;
  for (const OnSoil& o : on) cases.push_back({.machine = &o.plain, .question = Question::pull, .towed = true});
  std::vector<State> states(on.size());
  solve_cases(cases, states, space);
  for (std::size_t i = 0; i < on.size(); ++i) {
    out[i] = states[i].balanced() ? -states[i].net_force_n / on[i].plain.weight_n : std::numeric_limits<double>::quiet_NaN();
  }
}

}  // namespace hardpan::performance
