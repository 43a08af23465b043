// SPDX-License-Identifier: Apache-2.0
#include "performance/wheels_on_ground.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "math/rising_search.hpp"

namespace hardpan::performance {

using contact::WheelAnswer;
using contact::WheelStatus;

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

double rim_depth(const WheelAnswer& strip) { return strip.sinkage_m + strip.deflection_m; }

double guess_from(double radius_m, double sinkage_m) { return sinkage_m > 0 ? std::acos(std::max(0.0, 1 - sinkage_m / radius_m)) : 0; }

// Both strips as one wheel. `in_rut` absent: it carries nothing.
WheelAnswer both(const WheelAnswer& beside, const WheelAnswer* in_rut, double load_n) {
  WheelAnswer w = beside;
  w.load_n = load_n;
  if (!in_rut) return w;
  const WheelAnswer& r = *in_rut;
  if (w.carried() && (!r.carried() || r.status == WheelStatus::traction_lost_hard_ground)) w.status = r.status;
  w.solve.residual = std::max(std::abs(w.solve.residual), std::abs(r.solve.residual));
  w.pull_n += r.pull_n;
  w.torque_n_m += r.torque_n_m;
  w.side_force_n += r.side_force_n;
  w.flexing_resistance_n += r.flexing_resistance_n;
  w.contact_length_m = std::max(w.contact_length_m, r.contact_length_m);
  w.ground_pressure_pa = std::max(w.ground_pressure_pa, r.ground_pressure_pa);
  w.max_normal_stress_pa = std::max(w.max_normal_stress_pa, r.max_normal_stress_pa);
  w.max_shear_travel_m = std::max(w.max_shear_travel_m, r.max_shear_travel_m);
  w.flags |= r.flags;
  return w;
}

}  // namespace

void WheelBatch::clear() {
  contacts.clear();
  load_n.clear();
  slip_ratio.clear();
  guess_rad.clear();
  owner.clear();
}

void WheelBatch::add(const contact::Contact& contact, double load, double slip, double guess, std::size_t by) {
  contacts.push_back(contact);
  load_n.push_back(load);
  slip_ratio.push_back(slip);
  guess_rad.push_back(guess);
  owner.push_back(by);
}

void WheelBatch::roll(contact::SimdTarget target) {
  answers.resize(contacts.size());
  slip_angle_rad.assign(contacts.size(), 0.0);
  contact::wheels_at_load(contacts, load_n, slip_ratio, slip_angle_rad, guess_rad, answers, target);
}

contact::Contact strip_of(const contact::Contact& wheel, double share) {
  contact::Contact out = wheel;
  out.width_m *= share;
  out.stiffness_n_per_m *= share;
  for (std::size_t i = 0; i < out.deflection_rows; ++i) out.deflection_load_n[i] *= share;
  return out;
}

void wheels_on_strips(std::span<const StripCase> cases, std::span<StripAnswer> out, WheelBatch& space, contact::SimdTarget target) {
  using End = math::RisingSearch::End;
  struct Search {
    math::RisingSearch share;
    double beside_guess = 0, rut_guess = 0;
    int evaluations = 0;
  };
  thread_local std::vector<Search> searches;
  searches.clear();
  for (const StripCase& c : cases) {
    const double first = std::clamp(c.guess_share, 0.0, 1.0);
    searches.push_back({.share = math::RisingSearch({.least = 0, .most = 1, .first = first, .second = first + 0.01, .stride = 0.02, .growth = 4, .closest = 1e-14})});
  }
  for (;;) {
    space.clear();
    for (std::size_t i = 0; i < cases.size(); ++i) {
      const Search& q = searches[i];
      if (q.share.end() != End::none) continue;
      const double share = q.share.at();
      if (share < 1) space.add(cases[i].strips->beside, (1 - share) * cases[i].load_n, cases[i].slip_ratio, q.beside_guess, 2 * i);
      if (share > 0) space.add(cases[i].strips->in_rut, share * cases[i].load_n, cases[i].slip_ratio, q.rut_guess, 2 * i + 1);
    }
    if (space.owner.empty()) return;
    space.roll(target);
    for (std::size_t j = 0; j < space.owner.size();) {
      const std::size_t i = space.owner[j] / 2;
      Search& q = searches[i];
      const StripCase& c = cases[i];
      const WheelAnswer* beside = space.owner[j] % 2 == 0 ? &space.answers[j++] : nullptr;
      const WheelAnswer* in_rut = j < space.owner.size() && space.owner[j] == 2 * i + 1 ? &space.answers[j++] : nullptr;
      const double share = q.share.at();
      double miss = c.strips->floor_m;
      for (const WheelAnswer* w : {beside, in_rut}) q.evaluations += w ? w->solve.evaluations : 0;
      // A strip that is not carried asks the other to carry more.
      if (in_rut) miss = in_rut->carried() ? miss + rim_depth(*in_rut) : kInfinity;
      if (beside) miss = beside->carried() ? miss - rim_depth(*beside) : -kInfinity;
      if (beside && beside->carried()) q.beside_guess = guess_from(c.strips->beside.radius_m, beside->sinkage_m);
      if (in_rut && in_rut->carried()) q.rut_guess = guess_from(c.strips->in_rut.radius_m, in_rut->sinkage_m);
      q.share.feed(miss, 1e-11 * c.strips->beside.radius_m);
      StripAnswer& a = out[i];
      a.share_in_rut = share;
      a.wheel = beside ? both(*beside, in_rut, c.load_n) : *in_rut;
      a.wheel.solve.evaluations = q.evaluations;
      const bool ended = q.share.end() == End::found || q.share.end() == End::below_least || (q.share.end() == End::stalled && std::isfinite(miss));
      if (q.share.end() != End::none && !ended && a.wheel.carried()) a.wheel.status = WheelStatus::not_converged;
    }
  }
}

void wheels_at_torque(std::span<const TorqueCase> cases, std::span<TorqueSlip> out, TorqueSpace& space, contact::SimdTarget target) {
  constexpr double kFreeSlip = 0.95;  // searched from -0.95 to 0.95
  using End = math::RisingSearch::End;
  struct Search {
    math::RisingSearch slip;
    double guess_rad = 0, share = 0.5;
    WheelStatus sinks = WheelStatus::carried;   // what became of it with more slip, where it is not carried
    bool done = false;
  };
  thread_local std::vector<Search> searches;
  searches.clear();
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const TorqueCase& c = cases[i];
    out[i] = {};
    out[i].solve.tolerance = 1e-10 * c.load_n * (c.strips ? c.strips->beside : *c.contact).radius_m;
    out[i].solve.residual_unit = "N m";
    searches.push_back({.slip = math::RisingSearch({.least = -kFreeSlip, .most = kFreeSlip, .first = c.guess_slip - c.reach, .second = c.guess_slip + c.reach, .stride = 0.15}), .share = c.guess_share});
  }
  const auto take = [&](std::size_t i, const WheelAnswer& wheel) {
    Search& q = searches[i];
    TorqueSlip& a = out[i];
    a.wheel = wheel;
    a.solve.evaluations += wheel.solve.evaluations;
    const auto end = [&](base::SolveStatus status) {
      q.done = true;
      a.solve.status = status;
      if (status != base::SolveStatus::converged && a.wheel.carried()) a.wheel.status = WheelStatus::not_converged;
    };
    a.solve.steps = q.slip.rounds() + 1;
    if (!wheel.carried() && !q.slip.has_low()) return end(base::SolveStatus::no_solution);
    if (!wheel.carried()) {  // with more slip it sinks away: what it can take lies before
      q.sinks = wheel.status;
      q.slip.feed(kInfinity, a.solve.tolerance);
      if (q.slip.end() != End::none) end(base::SolveStatus::no_solution);
      return;
    }
    if (cases[i].contact) q.guess_rad = guess_from(cases[i].contact->radius_m, wheel.sinkage_m);
    a.solve.residual = wheel.torque_n_m - cases[i].torque_n_m;
    q.slip.feed(a.solve.residual, a.solve.tolerance);
    switch (q.slip.end()) {
      case End::none: return;
      case End::found: return end(base::SolveStatus::converged);
      case End::below_least:
      case End::above_most: return end(base::SolveStatus::not_bracketed);
      case End::stalled:
        if (q.sinks != WheelStatus::carried) {
          a.wheel.status = q.sinks;
          return end(base::SolveStatus::no_solution);
        }
        return end(base::SolveStatus::stalled);
      case End::out_of_steps: return end(base::SolveStatus::out_of_steps);
    }
  };
  for (;;) {
    space.wheels.clear();
    space.strip_cases.clear();
    thread_local std::vector<std::size_t> strip_owner;
    strip_owner.clear();
    for (std::size_t i = 0; i < cases.size(); ++i) {
      const Search& q = searches[i];
      if (q.done) continue;
      if (cases[i].strips) {
        space.strip_cases.push_back({cases[i].strips, cases[i].load_n, q.slip.at(), q.share});
        strip_owner.push_back(i);
      } else {
        space.wheels.add(*cases[i].contact, cases[i].load_n, q.slip.at(), q.guess_rad, i);
      }
    }
    if (space.wheels.owner.empty() && strip_owner.empty()) return;
    if (!space.wheels.owner.empty()) {
      space.wheels.roll(target);
      for (std::size_t j = 0; j < space.wheels.owner.size(); ++j) take(space.wheels.owner[j], space.wheels.answers[j]);
    }
    if (strip_owner.empty()) continue;
    space.strip_answers.resize(space.strip_cases.size());
    wheels_on_strips(space.strip_cases, space.strip_answers, space.strips, target);
    for (std::size_t j = 0; j < strip_owner.size(); ++j) {
      searches[strip_owner[j]].share = out[strip_owner[j]].share_in_rut = space.strip_answers[j].share_in_rut;
      take(strip_owner[j], space.strip_answers[j].wheel);
    }
  }
}

}  // namespace hardpan::performance
