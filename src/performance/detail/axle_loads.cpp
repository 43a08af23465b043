// SPDX-License-Identifier: Apache-2.0
// Notation as in equilibrium.cpp.
#include "performance/detail/axle_loads.hpp"

#include <algorithm>
#include <cmath>

namespace hardpan::performance::detail {
namespace {

using contact::WheelAnswer;

// dz/dN of one wheel on its soil, from z ~ N^(2 / (2 n + 1)) (Bekker): the slope of a Newton step only.
double soil_compliance(const WheelAnswer& w, double n) {
  return w.load_n > 0 ? 2 / (2 * n + 1) * (w.sinkage_m + w.deflection_m) / w.load_n : 0;
}

// An axle that the ground does not reach goes on as a wheel that barely rests: its forces do not count, its answer stays one.
constexpr double kBarelyRests = 1e-7;   // of the weight, an axle
void rest_lifted_axles(const Machine& m, std::array<double, kMaxAxles>& load) {
  for (std::size_t k = 0; k < m.axles; ++k) load[k] = std::max(load[k], kBarelyRests * m.weight_n);
}

double settlement_of(const Machine& m, const State& s, std::size_t k, double load_n) {
  return s.depth_m(k) + s.wheel[k].deflection_m + load_n / m.axle[k].wheels * m.axle[k].compliance_m_per_n;
}

// New axle loads for a demand; `last` holds the last wheel states (none on the first pass).
// Returns the axle that lifted, or m.axles.
std::size_t share_loads(const Machine& m, const Demand& want, const State* last, std::array<double, kMaxAxles>& load) {
  if (m.axles == 1) {
    load[0] = want.load_n;
    return load[0] > 0 ? 1 : 0;
  }
  if (m.axles == 2) {
    load[1] = want.moment_n_m / (m.axle[1].x_m - m.axle[0].x_m);
    load[0] = want.load_n - load[1];
    if (!(load[1] > 0)) return 1;
    if (!(load[0] > 0)) return 0;
    return 2;
  }
  // Least potential energy of a rigid body on nonlinear supports: one Newton step for heave h and
  // pitch t such that settlement_k = h + t x_k, lifted axles left out and tried again.
  std::array<double, kMaxAxles> compliance{}, settlement{};
  for (std::size_t k = 0; k < m.axles; ++k) {
    const AxleOnSoil& a = m.axle[k];
    const double share = load[k] / a.wheels;
    if (!last) {
      compliance[k] = 1;
      settlement[k] = share;
    } else {
      settlement[k] = settlement_of(m, *last, k, load[k]);
      compliance[k] = std::max(soil_compliance(last->wheel[k], a.contact.law.n) + a.compliance_m_per_n, 1e-12);
    }
    compliance[k] /= a.wheels;  // per axle load
  }
  std::array<bool, kMaxAxles> lifted{};
  for (std::size_t round = 0; round < m.axles; ++round) {
    // Sum over k of N_k + (h + t x_k - settlement_k) / compliance_k = want, and the same times x_k.
    double s0 = 0, s1 = 0, s2 = 0, b0 = want.load_n, b1 = want.moment_n_m;
    std::size_t standing = 0;
    for (std::size_t k = 0; k < m.axles; ++k) {
      if (lifted[k]) continue;
      ++standing;
      const double stiff = 1 / compliance[k], x = m.axle[k].x_m;
      s0 += stiff;
      s1 += stiff * x;
      s2 += stiff * x * x;
      const double fixed = load[k] - settlement[k] * stiff;
      b0 -= fixed;
      b1 -= fixed * x;
    }
    const double det = s0 * s2 - s1 * s1;
    if (standing < 2 || !(det > 0)) break;
    const double h = (b0 * s2 - b1 * s1) / det, t = (b1 * s0 - b0 * s1) / det;
    bool any = false;
    std::array<double, kMaxAxles> next{};
    for (std::size_t k = 0; k < m.axles; ++k) {
      if (lifted[k]) continue;
      next[k] = load[k] + (h + t * m.axle[k].x_m - settlement[k]) / compliance[k];
      if (!(next[k] > 0)) lifted[k] = any = true;
    }
    if (!any) {
      load = next;
      rest_lifted_axles(m, load);
      return m.axles;
    }
  }
  return want.moment_n_m > 0.5 * want.load_n * m.last_x_m() ? 0 : m.axles - 1;
}

// A chain whose bodies lean: how far each of their points goes ahead with the pitches, and the joints with them.
struct Leaning {
  const Machine& m;
  vehicle::Chain chain;
  std::array<double, vehicle::kMostBodies> lean{}, joint_ahead{};

  Leaning(const Machine& machine, const Pitches& pitch) : m(machine), chain(machine.chain) {
    for (std::size_t b = 0; b < chain.bodies; ++b) lean[b] = pitch[b] - m.part[b].level_pitch_rad;
    for (std::size_t j = 0; j + 1 < chain.bodies; ++j) chain.joint[j].x_m += joint_ahead[j] = ahead(j, chain.joint[j].z_m);
  }
  [[nodiscard]] double ahead(std::size_t body, double z_m) const {
    return body == 0 ? z_m * lean[0] : joint_ahead[body - 1] + (z_m - chain.joint[body - 1].z_m) * lean[body];
  }
};

// What the wheels of the last pass lack to hold the vehicle on this gradient under this pull, over the load of those that hold: none once it is in balance. Part of
// the way there, with all of their pull, joints would pass on forces that no wheel takes.
double lacking(const Machine& m, const Case& c, double gradient, double pull, const State& last, const std::array<double, kMaxAxles>& load, std::array<bool, kMaxAxles>& holds) {
  double force = 0, on = 0;
  bool any = false;
  for (std::size_t k = 0; k < m.axles; ++k) {
    holds[k] = m.axle[k].driven || (c.slip_ratio < 0 && m.axle[k].brake);
    any = any || holds[k];
  }
  for (std::size_t k = 0; k < m.axles; ++k) {
    holds[k] = holds[k] || !any;
    force += m.axle[k].wheels * last.wheel[k].pull_n;
    if (holds[k]) on += load[k];
  }
  return on > 0 ? (m.weight_n * std::sin(gradient) + pull - force) / on : 0;
}

// The same along a chain of bodies: wheels push and drive their own body, joints pass on what is left.
std::size_t share_chain(const Machine& m, const Case& c, double gradient, double pull, const State* last, std::array<double, kMaxAxles>& load, Pitches& pitch) {
  vehicle::ChainForce force;
  const Leaning leaning(m, pitch);
  for (std::size_t b = 0; b < m.chain.bodies; ++b) {
    const Machine::Part& p = m.part[b];
    force.add_force(leaning.chain, b, p.cg_x_m + leaning.ahead(b, p.cg_z_m), p.cg_z_m, -p.weight_n * std::sin(gradient), p.weight_n * std::cos(gradient));
  }
  const std::size_t hitched = m.hitch_x_m > m.last_x_m() ? m.chain.bodies - 1 : 0;
  force.add_force(m.chain, hitched, m.hitch_x_m, m.hitch_height_m, -pull, pull * std::tan(c.line_angle_rad));
  std::array<vehicle::ChainSupport, kMaxAxles> support{};
  std::array<bool, kMaxAxles> holds{};
  const double more = last ? lacking(m, c, gradient, pull, *last, load, holds) : 0;
  for (std::size_t k = 0; k < m.axles; ++k) {
    const AxleOnSoil& a = m.axle[k];
    support[k] = {.x_m = a.x_m, .body = a.body, .load_n = load[k]};
    if (last) {
      const WheelAnswer& w = last->wheel[k];
      const double added = holds[k] ? more * load[k] : 0;
      force.add_force(m.chain, a.body, a.x_m, a.arm_m, a.wheels * w.pull_n + added, 0);
      force.add_moment(a.body, -a.wheels * w.torque_n_m - added * a.arm_m);
      // Its load acts where the leaning body has taken it; share_along knows the place it had.
      force.add_force(leaning.chain, a.body, a.x_m + leaning.ahead(a.body, a.arm_m), 0, 0, -load[k]);
      force.add_force(m.chain, a.body, a.x_m, 0, 0, load[k]);
      support[k].settlement_m = settlement_of(m, *last, k, load[k]);
      support[k].compliance_m_per_n = std::max(soil_compliance(w, a.contact.law.n) + a.compliance_m_per_n, 1e-12) / a.wheels;
    } else {  // on firm ground, equally stiff
      support[k].compliance_m_per_n = vehicle::kRigidSettlement_m / (m.weight_n * a.wheels);
      support[k].settlement_m = load[k] * support[k].compliance_m_per_n;
    }
  }
  const vehicle::ChainShare out = vehicle::share_along(m.chain, force, {support.data(), m.axles});
  if (!out.stands) return out.first_lifted < m.axles ? out.first_lifted : gradient >= 0 ? m.axles - 1 : 0;
  for (std::size_t k = 0; k < m.axles; ++k) load[k] = out.load_n[k];
  if (last) pitch = out.pitch_rad;
  // A joint that came to its stop after wheels about it had lifted: the stop would catch the body, and is not counted on (as tip_over_joints.hpp).
  for (std::size_t j = 0; j + 1 < m.chain.bodies; ++j) {
    if (!out.on_stop[j] || m.level_on_stop[j]) continue;
    for (std::size_t k = 0; k < m.axles; ++k) {
      const std::size_t b = m.axle[k].body;
      if ((b == j || b == j + 1) && !(load[k] > 0)) return gradient >= 0 ? m.axles - 1 : 0;
    }
  }
  rest_lifted_axles(m, load);
  return m.axles;
}

// How far one body leans nose down beyond what it does on hard level ground, where its centre of gravity is told.
double lean_of(const Machine& m, const State& s, const std::array<double, kMaxAxles>& load) {
  if (m.axles < 2) return 0;
  std::size_t first = 0, last = m.axles - 1;  // of those that stand
  while (first + 1 < last && load[first] <= 2 * kBarelyRests * m.weight_n) ++first;
  while (last > first + 1 && load[last] <= 2 * kBarelyRests * m.weight_n) --last;
  return (settlement_of(m, s, last, load[last]) - settlement_of(m, s, first, load[first])) / (m.axle[last].x_m - m.axle[first].x_m) - m.part[0].level_pitch_rad;
}

}  // namespace

Demand demand(const Machine& m, const Case& c, double gradient, double pull, double own_moment) {
  const double down = pull * std::tan(c.line_angle_rad);  // vertical part of the line's pull
  return {m.weight_n * std::cos(gradient) + down,
          m.weight_n * (std::cos(gradient) * m.cg_x_m - std::sin(gradient) * m.cg_z_m) -
              pull * m.hitch_height_m + down * m.hitch_x_m - own_moment};
}

// What one body's wheels and its lean add to the moment about the rear, nose up: the soil's own moment, less the weight that goes ahead against
// the wheels, which lean with it.
double own_moment(const Machine& m, const State& s, double gradient, const std::array<double, kMaxAxles>& load) {
  double soil = 0, wheels = 0;
  for (std::size_t k = 0; k < m.axles; ++k) {
    const AxleOnSoil& a = m.axle[k];
    soil += a.wheels * (s.wheel[k].torque_n_m - s.wheel[k].pull_n * a.arm_m);
    wheels += load[k] * a.arm_m;
  }
  return soil - lean_of(m, s, load) * (m.weight_n * std::cos(gradient) * m.cg_z_m - wheels);
}

std::size_t share(const Machine& m, const Case& c, double gradient, double pull, double own_moment, const State* last, std::array<double, kMaxAxles>& load, Pitches& pitch) {
  if (m.chain.bodies > 1) return share_chain(m, c, gradient, pull, last, load, pitch);
  return share_loads(m, demand(m, c, gradient, pull, own_moment), last, load);
}

}  // namespace hardpan::performance::detail
