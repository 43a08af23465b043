// SPDX-License-Identifier: Apache-2.0
// Notation: q = (h, t[0], t[1] ...) heave and pitches; settlement of a support s = a . q with a its row; K = sum a a^T / c + joints.
#include "vehicle/chain.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/assertion.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::vehicle {
namespace {

constexpr std::size_t kMost = kMostBodies + 1;
using Row = std::array<double, kMost>;

// How far a point of a body goes down with each motion.
Row down_row(const Chain& chain, std::size_t body, double x_m) {
  Row a{};
  a[0] = 1;
  double behind = 0;
  for (std::size_t b = 0; b < body; ++b) {
    a[1 + b] = chain.joint[b].x_m - behind;
    behind = chain.joint[b].x_m;
  }
  a[1 + body] = x_m - behind;
  return a;
}

// And forward: nose down carries what lies above the pivot forward. Body 0 turns about the ground.
Row forward_row(const Chain& chain, std::size_t body, double z_m) {
  Row a{};
  double behind = 0;
  for (std::size_t b = 0; b < body; ++b) {
    a[1 + b] = chain.joint[b].z_m - behind;
    behind = chain.joint[b].z_m;
  }
  a[1 + body] = z_m - behind;
  return a;
}

// Joints held now: rigid ones, and free or elastic ones on a stop. A held joint ties the pitch of the body ahead to the one behind.
struct Ties {
  std::array<bool, kMostBodies - 1> held{}, on_stop{};
  std::array<double, kMostBodies - 1> at_rad{};  // nose down

  void hold(std::size_t joint, double nose_down_rad) {
    held[joint] = on_stop[joint] = true;
    at_rad[joint] = nose_down_rad;
  }
};

// Gauss with row pivots on the tied unknowns; false where they do not settle the chain.
bool solve(std::array<Row, kMost>& k, Row& b, std::size_t n) {
  double scale = 0;
  for (std::size_t i = 0; i < n; ++i) scale = std::max(scale, std::abs(k[i][i]));
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t best = c;
    for (std::size_t r = c + 1; r < n; ++r) {
      if (std::abs(k[r][c]) > std::abs(k[best][c])) best = r;
    }
    // 1e-12 of the stiffest: a motion that nothing holds leaves rounding only.
    if (!(std::abs(k[best][c]) > 1e-12 * scale)) return false;
    std::swap(k[c], k[best]);
    std::swap(b[c], b[best]);
    for (std::size_t r = c + 1; r < n; ++r) {
      const double f = k[r][c] / k[c][c];
      for (std::size_t j = c; j < n; ++j) k[r][j] -= f * k[c][j];
      b[r] -= f * b[c];
    }
  }
  for (std::size_t c = n; c-- > 0;) {
    for (std::size_t j = c + 1; j < n; ++j) b[c] -= k[c][j] * b[j];
    b[c] /= k[c][c];
  }
  return true;
}

// Motions q for supports that stand and joints as tied; false where the chain is a mechanism. `hold`: stiffness that every moving joint gets besides its own.
bool settle(const Chain& chain, const ChainForce& force, std::span<const ChainSupport> supports, std::span<const bool> lifted, const Ties& ties, double hold, Row& q) {
  const std::size_t n = chain.bodies + 1;
  // q = first + T u, u the unknowns left: heave and one pitch for each group of tied bodies.
  std::array<std::size_t, kMost> group{};
  Row first{};
  std::size_t unknowns = 2;
  group[1] = 1;
  for (std::size_t b = 1; b < chain.bodies; ++b) {
    if (ties.held[b - 1]) {
      group[1 + b] = group[b];
      first[1 + b] = first[b] + ties.at_rad[b - 1];
    } else {
      group[1 + b] = unknowns++;
    }
  }
  std::array<Row, kMost> k{};
  Row rhs{};
  const auto add = [&](const Row& a, double stiff, double fixed) {  // a spring along a that pushes fixed + stiff * (a . q)
    Row in_u{};
    double at = fixed;
    for (std::size_t i = 0; i < n; ++i) {
      in_u[group[i]] += a[i];
      at += stiff * a[i] * first[i];
    }
    for (std::size_t i = 0; i < unknowns; ++i) {
      for (std::size_t j = 0; j < unknowns; ++j) k[i][j] += stiff * in_u[i] * in_u[j];
      rhs[i] -= in_u[i] * at;
    }
  };
  for (std::size_t i = 0; i < n; ++i) rhs[group[i]] += force.of[i];
  for (std::size_t s = 0; s < supports.size(); ++s) {
    if (lifted[s]) continue;
    const double stiff = 1 / supports[s].compliance_m_per_n;
    add(down_row(chain, supports[s].body, supports[s].x_m), stiff, supports[s].load_n - supports[s].settlement_m * stiff);
  }
  for (std::size_t j = 0; j + 1 < chain.bodies; ++j) {
    if (ties.held[j] || !(chain.joint[j].stiffness_n_m_per_rad + hold > 0)) continue;
    Row a{};
    a[1 + j] = -1;
    a[2 + j] = 1;
    add(a, chain.joint[j].stiffness_n_m_per_rad + hold, 0);
  }
  if (!solve(k, rhs, unknowns)) return false;
  for (std::size_t i = 0; i < n; ++i) q[i] = first[i] + rhs[group[i]];
  return true;
}

// A joint held on a stop that it would leave by itself; chain.bodies where there is none.
std::size_t leaves_stop(const Chain& chain, const ChainForce& force, std::span<const ChainSupport> supports, const std::array<double, kMostSupports>& load_n, const Row& q, const Ties& ties) {
  Row left = force.of;  // what no wheel and no spring takes: the moments of held joints
  for (std::size_t s = 0; s < supports.size(); ++s) {
    const Row a = down_row(chain, supports[s].body, supports[s].x_m);
    for (std::size_t i = 0; i <= chain.bodies; ++i) left[i] -= a[i] * load_n[s];
  }
  for (std::size_t j = 0; j + 1 < chain.bodies; ++j) {
    if (ties.held[j]) continue;
    const double moment = chain.joint[j].stiffness_n_m_per_rad * (q[2 + j] - q[1 + j]);
    left[2 + j] -= moment;
    left[1 + j] += moment;
  }
  for (std::size_t j = 0; j + 1 < chain.bodies; ++j) {
    if (!ties.on_stop[j]) continue;
    double nose_down = 0;  // pressed on the stop by the bodies tied on ahead of it
    for (std::size_t b = j + 1; b < chain.bodies && (b == j + 1 || ties.held[b - 1]); ++b) nose_down += left[1 + b];
    const bool at_highest = ties.at_rad[j] == -chain.joint[j].highest_rad;
    if (at_highest ? nose_down > 0 : nose_down < 0) return j;
  }
  return chain.bodies;
}

}  // namespace

Chain chain_of(const Vehicle& vehicle) {
  HARDPAN_ASSERT(vehicle.bodies.size() <= kMostBodies);
  Chain c;
  c.bodies = vehicle.bodies.size();
  constexpr double kNoStop = std::numeric_limits<double>::infinity();
  for (std::size_t j = 0; j + 1 < c.bodies; ++j) {
    const Joint& from = vehicle.joints[j];
    c.joint[j] = {.x_m = from.x_m, .z_m = from.z_m, .rigid = from.pitch.freedom == Freedom::rigid,
                  .stiffness_n_m_per_rad = from.pitch.freedom == Freedom::elastic ? from.pitch.stiffness_n_m_per_rad : 0,
                  .lowest_rad = from.pitch.lowest_rad.value_or(-kNoStop), .highest_rad = from.pitch.highest_rad.value_or(kNoStop)};
  }
  return c;
}

void ChainForce::add_force(const Chain& chain, std::size_t body, double x_m, double z_m, double forward_n, double down_n) {
  const Row down = down_row(chain, body, x_m), forward = forward_row(chain, body, z_m);
  for (std::size_t i = 0; i <= chain.bodies; ++i) of[i] += down_n * down[i] + forward_n * forward[i];
}

ChainShare share_along(const Chain& chain, const ChainForce& force, std::span<const ChainSupport> supports) {
  HARDPAN_ASSERT(supports.size() <= kMostSupports && chain.bodies >= 1 && chain.bodies <= kMostBodies);
  ChainShare out;
  std::array<bool, kMostSupports> lifted{};
  std::size_t first = kMostSupports;  // to lift in the course of it
  Ties ties;
  for (std::size_t j = 0; j + 1 < chain.bodies; ++j) ties.held[j] = chain.joint[j].rigid;
  // The energy is convex, so the set of standing wheels and held stops that is consistent is the answer; one change a round, the worst first.
  const std::size_t most_rounds = 4 * (supports.size() + chain.bodies);
  for (std::size_t round = 0; round < most_rounds; ++round) {
    Row q{};
    const bool holds = settle(chain, force, supports, {lifted.data(), supports.size()}, ties, 0, q);
    if (!holds) {
      // A mechanism: held by next to nothing (100 rad under the weight at 1 m) it shows which way it folds, and which stop it comes to.
      const double next_to_nothing = 0.01 * std::abs(force.of[0]);
      if (!settle(chain, force, supports, {lifted.data(), supports.size()}, ties, next_to_nothing, q)) break;
    }
    double worst = 1e-12 * std::abs(force.of[0]);
    std::size_t support = supports.size(), joint = chain.bodies;
    for (std::size_t s = 0; holds && s < supports.size(); ++s) {
      const Row a = down_row(chain, supports[s].body, supports[s].x_m);
      double settled = 0;
      for (std::size_t i = 0; i <= chain.bodies; ++i) settled += a[i] * q[i];
      const double load = supports[s].load_n + (settled - supports[s].settlement_m) / supports[s].compliance_m_per_n;
      out.load_n[s] = lifted[s] ? 0 : std::max(load, 0.0);
      const double wrong = lifted[s] ? load : -load;  // a lifted wheel that would push, a standing one that would pull
      if (wrong > worst) {
        worst = wrong;
        support = s;
      }
    }
    double worst_angle = 1e-12;
    for (std::size_t j = 0; j + 1 < chain.bodies; ++j) {
      if (ties.held[j]) continue;
      const double nose_up = -(q[2 + j] - q[1 + j]);
      const double beyond = std::max(nose_up - chain.joint[j].highest_rad, chain.joint[j].lowest_rad - nose_up);
      if (beyond > worst_angle) {
        worst_angle = beyond;
        joint = j;
      }
    }
    if (support < supports.size()) {
      lifted[support] = !lifted[support];
      if (first == kMostSupports) first = support;
    } else if (joint < chain.bodies) {
      const double nose_up = -(q[2 + joint] - q[1 + joint]);
      ties.hold(joint, nose_up > chain.joint[joint].highest_rad ? -chain.joint[joint].highest_rad : -chain.joint[joint].lowest_rad);
    } else if (!holds) {
      break;
    } else if (const std::size_t off = leaves_stop(chain, force, supports, out.load_n, q, ties); off < chain.bodies) {
      ties.held[off] = ties.on_stop[off] = false;
    } else {
      out.stands = true;
      out.on_stop = ties.on_stop;
      for (std::size_t b = 0; b < chain.bodies; ++b) out.pitch_rad[b] = q[1 + b];
      break;
    }
  }
  for (std::size_t s = supports.size(); s-- > 0;) {
    if (lifted[s]) out.first_lifted = s;
  }
  if (first < kMostSupports && lifted[first]) out.first_lifted = first;
  return out;
}

}  // namespace hardpan::vehicle
