// SPDX-License-Identifier: Apache-2.0
// Notation: q unknowns (h; slopes of body 0; pitch and roll of every joint, nose down and left side down), every one but h turning what lies ahead of its
// pivot about it, e the direction in which that carries a point above the pivot; N = k (D q - r) load of a wheel that settles by D q, r how much deeper its
// ground lies; L what that load does against each unknown, its grip t N with it. Virtual work, for every unknown i:
//   f_i + sum_k G_ik q_k - sum N L_i - joint_i = 0,   G_ik = e_i.e_k (sum weight (z - z_m) + sum N z_m) over all ahead of m, the more forward of i and k.
// N in G makes it quadratic: Newton's method with D and the lifted wheels fixed, then one change of the set a round.
#include "performance/detail/chain_stand.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "base/assertion.hpp"

namespace hardpan::performance::detail {
namespace {

using vehicle::Freedom;
using vehicle::kMostBodies;
constexpr std::size_t kMost = 1 + 2 * kMostBodies;
constexpr std::size_t kFirstJoint = 3;   // unknown of the first joint
using Row = std::array<double, kMost>;
using Square = std::array<Row, kMost>;
constexpr double kRigid_m = 1e-7;        // settlement of a rigid wheel under the whole weight; equal where all are: any one stiffness gives the same loads
constexpr double kNoStop = std::numeric_limits<double>::infinity();

// What an unknown turns, and what holds it.
struct Turning {
  double x = 0, y = 0, z = 0, ex = 0, ey = 0;
  std::size_t body = 0;            // this one and all ahead of it
  bool rigid = false;
  double stiffness = 0, least = -kNoStop, most = kNoStop;
};

struct Wheel {
  Row down{}, left{};              // D and L
  Row along{};                     // what of L a newton of load does against each unknown, for every newton that it is pushed ahead
  double stiffness = 0, lower = 0, load = 0;
  std::size_t body = 0;
  bool lifted = false, holds = true;
  double grip = 0;                 // force ahead over the load
};

// Held now: rigid axes, and others on a stop.
struct Held {
  std::array<bool, kMost> held{}, on_stop{};
  Row at{};
};

class Chain {
 public:
  Chain(const Stance& s, std::span<const double> lower_m, double slope, double fall);
  ChainStand stand(std::span<double> load_n);

 private:
  [[nodiscard]] Row down_row(std::size_t body, double x, double y) const;
  void force(std::size_t body, double x, double y, double z, double fx, double fy, double down);
  [[nodiscard]] double dot(std::size_t i, std::size_t k) const { return turn_[i].ex * turn_[k].ex + turn_[i].ey * turn_[k].ey; }
  [[nodiscard]] Row levers(const Row& loads_of_bodies) const;
  bool settle(Row& q);
  [[nodiscard]] double grip_together();
  bool fold(Row& q);
  [[nodiscard]] Row pressed(const Row& q) const;
  [[nodiscard]] std::size_t beyond_stop(const Row& q) const;
  [[nodiscard]] std::size_t leaves_stop(const Row& q) const;
  [[nodiscard]] bool wheels_lifted_about(std::size_t unknown) const;
  [[nodiscard]] double settlement(const Wheel& w, const Row& q) const;   // against its own ground
  [[nodiscard]] Wheel* comes_down(const Row& q);
  void hold(std::size_t unknown, const Row& q);
  void tell(const Row& q, ChainStand& out) const;

  std::size_t bodies_, unknowns_;
  double weight_, hold_ = 0;         // hold: what the wheels push ahead, all together
  bool rolls_ = false;             // some wheel holds nothing along
  std::array<Turning, kMost> turn_{};
  Row force_{}, weight_lever_{};
  std::array<Row, kMostBodies> body_force_{};
  std::vector<Wheel> wheel_;
  Held ties_;
};

// Gauss without exchange; false where a pivot is not above rounding: what is left of the chain does not hold.
bool solve(Square& a, Row& b, std::size_t n) {
  double scale = 0;
  for (std::size_t i = 0; i < n; ++i) scale = std::max(scale, std::abs(a[i][i]));
  for (std::size_t c = 0; c < n; ++c) {
    if (!(a[c][c] > 1e-12 * scale)) return false;   // a motion that nothing holds leaves rounding only
    for (std::size_t r = c + 1; r < n; ++r) {
      const double f = a[r][c] / a[c][c];
      for (std::size_t j = c; j < n; ++j) a[r][j] -= f * a[c][j];
      b[r] -= f * b[c];
    }
  }
  for (std::size_t c = n; c-- > 0;) {
    for (std::size_t j = c + 1; j < n; ++j) b[c] -= a[c][j] * b[j];
    b[c] /= a[c][c];
  }
  return true;
}

// Of the whole system the unknowns that move; the others keep what they are held at.
bool solve_moving(const Square& a, const Row& b, const Held& ties, std::size_t n, Row& q) {
  std::array<std::size_t, kMost> of{};
  std::size_t moving = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (!ties.held[i]) of[moving++] = i;
  }
  Square m{};
  Row x{};
  for (std::size_t r = 0; r < moving; ++r) {
    x[r] = b[of[r]];
    for (std::size_t c = 0; c < moving; ++c) m[r][c] = a[of[r]][of[c]];
    for (std::size_t i = 0; i < n; ++i) {
      if (ties.held[i]) x[r] -= a[of[r]][i] * ties.at[i];
    }
  }
  if (!solve(m, x, moving)) return false;
  for (std::size_t i = 0; i < n; ++i) q[i] = ties.at[i];
  for (std::size_t r = 0; r < moving; ++r) q[of[r]] = x[r];
  return true;
}

Turning axis_of(const StandingJoint& j, std::size_t ahead, const vehicle::JointAxis& a, bool roll) {
  const double c = std::cos(j.turned_rad), s = std::sin(j.turned_rad);
  // The file counts nose up and left side up.
  return {.x = j.x_m, .y = j.y_m, .z = j.z_m, .ex = roll ? -s : c, .ey = roll ? c : s, .body = ahead, .rigid = a.freedom == Freedom::rigid,
          .stiffness = a.freedom == Freedom::elastic ? a.stiffness_n_m_per_rad : 0, .least = a.highest_rad ? -*a.highest_rad : -kNoStop, .most = a.lowest_rad ? -*a.lowest_rad : kNoStop};
}

Chain::Chain(const Stance& s, std::span<const double> lower_m, double slope, double fall) : bodies_(s.bodies.size()), unknowns_(1 + 2 * s.bodies.size()), weight_(s.weight_n) {
  turn_[1] = {.ex = 1};
  turn_[2] = {.ey = 1};
  for (std::size_t j = 0; j + 1 < bodies_; ++j) {
    turn_[kFirstJoint + 2 * j] = axis_of(s.joints[j], j + 1, s.joints[j].pitch, false);
    turn_[kFirstJoint + 2 * j + 1] = axis_of(s.joints[j], j + 1, s.joints[j].roll, true);
  }
  for (std::size_t i = kFirstJoint; i < unknowns_; ++i) ties_.held[i] = turn_[i].rigid;

  const double normal = weight_ * std::cos(slope), along = weight_ * std::sin(slope) * std::cos(fall), across = weight_ * std::sin(slope) * std::sin(fall);
  for (std::size_t b = 0; b < bodies_; ++b) {
    const StandingBody& body = s.bodies[b];
    force(b, body.cg_x_m, body.cg_y_m, body.cg_z_m, body.weight_ratio * along, body.weight_ratio * across, body.weight_ratio * normal);
    for (std::size_t i = 1; i < unknowns_; ++i) {
      if (turn_[i].body <= b) weight_lever_[i] += body.weight_ratio * normal * (body.cg_z_m - turn_[i].z);
    }
  }
  double pull = 0, line = 0;
  if (s.hitch) {
    pull = s.hitch->pull_n;
    line = pull * std::tan(s.hitch->line_angle_rad);
    double last = -kNoStop;
    for (const Support& p : s.supports) last = std::max(last, p.x_m);
    force(s.hitch->x_m > last ? bodies_ - 1 : 0, s.hitch->x_m, 0, s.hitch->height_m, -pull, 0, line);
  }
  const double tx = -(along - pull) / (normal + line), ty = -across / (normal + line);
  hold_ = -(along - pull);
  double soft = kNoStop;
  for (const Support& p : s.supports) soft = std::min(soft, p.stiffness_n_per_m);
  const double rigid = std::max(weight_ / kRigid_m, std::isinf(soft) ? 0 : 1e3 * soft);
  wheel_.resize(s.supports.size());
  for (std::size_t w = 0; w < wheel_.size(); ++w) {
    const Support& p = s.supports[w];
    wheel_[w] = {.down = down_row(p.body, p.x_m, p.y_m), .left = down_row(p.body, p.x_m, p.y_m), .stiffness = std::min(p.stiffness_n_per_m, rigid), .lower = lower_m[w], .body = p.body, .holds = holds(s, w)};
    rolls_ = rolls_ || !wheel_[w].holds;
    wheel_[w].grip = wheel_[w].holds ? tx : p.rolling_ratio;
    Row& left = wheel_[w].left;
    left[1] -= s.foot_x_m;
    left[2] -= s.foot_y_m;
    for (std::size_t i = kFirstJoint; i < unknowns_; ++i) {
      const Turning& t = turn_[i];
      if (t.body > p.body) continue;
      wheel_[w].along[i] = t.ex * t.z;
      left[i] += wheel_[w].grip * wheel_[w].along[i] + ty * t.ey * t.z - s.foot_x_m * t.ex - s.foot_y_m * t.ey;
    }
  }
}

Row Chain::down_row(std::size_t body, double x, double y) const {
  Row a{};
  a[0] = 1;
  for (std::size_t i = 1; i < unknowns_; ++i) {
    const Turning& t = turn_[i];
    if (t.body <= body) a[i] = t.ex * (x - t.x) + t.ey * (y - t.y);
  }
  return a;
}

void Chain::force(std::size_t body, double x, double y, double z, double fx, double fy, double down) {
  const Row a = down_row(body, x, y);
  Row of{down};
  for (std::size_t i = 1; i < unknowns_; ++i) {
    const Turning& t = turn_[i];
    if (t.body <= body) of[i] = down * a[i] + (fx * t.ex + fy * t.ey) * (z - t.z);
  }
  for (std::size_t i = 0; i < unknowns_; ++i) {
    force_[i] += of[i];
    body_force_[body][i] += of[i];
  }
}

// For every unknown the lever of weights and feet ahead of it, as G has it.
Row Chain::levers(const Row& loads_of_bodies) const {
  Row out = weight_lever_;
  for (std::size_t i = kFirstJoint; i < unknowns_; ++i) {
    for (std::size_t b = turn_[i].body; b < bodies_; ++b) out[i] += loads_of_bodies[b] * turn_[i].z;
  }
  return out;
}

// Wheels that hold push together what those that roll do not, each in proportion to its load: by how much that changes the grip, over what it was.
double Chain::grip_together() {
  double holding = 0, left_over = hold_;
  for (const Wheel& w : wheel_) {
    if (w.lifted) continue;
    if (w.holds) holding += w.load;
    else left_over -= w.grip * w.load;
  }
  if (!(holding > 1e-6 * weight_)) return 0;   // nothing left that holds: it stays as it was, and falls or not by that
  const double grip = left_over / holding;
  double change = 0;
  for (Wheel& w : wheel_) {
    if (!w.holds) continue;
    change = std::abs(grip - w.grip);
    for (std::size_t i = kFirstJoint; i < unknowns_; ++i) w.left[i] += (grip - w.grip) * w.along[i];
    w.grip = grip;
  }
  return change;
}

// Motions and loads with the wheels that stand and the joints that are held now; false where that does not hold.
bool Chain::settle(Row& q) {
  const int kMostSteps = rolls_ ? 80 : 16;   // observed 2 to 5, and 5 to 20 where the grip is sought as well
  constexpr double kSettled = 1e-9, kNearly = 1e-6;   // m and rad; the step after it is its square, or rounding
  double before = std::numeric_limits<double>::infinity();
  for (int step = 0; step < kMostSteps; ++step) {
    Row body_load{};
    for (const Wheel& w : wheel_) {
      if (!w.lifted) body_load[w.body] += w.load;
    }
    const Row lever = step == 0 ? Row{} : levers(body_load);   // first without: what the joints bear, which leans bodies too, is not known yet
    Square a{};
    Row b = force_;
    for (std::size_t i = 1; i < unknowns_; ++i) {
      for (std::size_t k = 1; k < unknowns_; ++k) a[i][k] = -dot(i, k) * lever[std::max(i, k)];
      if (!ties_.held[i]) a[i][i] += turn_[i].stiffness;
    }
    for (const Wheel& w : wheel_) {
      if (w.lifted) continue;
      Row there = w.left;                 // with the foot where the lean has carried it
      if (step > 0) {
        for (std::size_t i = 1; i < unknowns_; ++i) {
          if (turn_[i].body > w.body) continue;
          double moved = 0;
          for (std::size_t k = 1; k < unknowns_; ++k) {
            if (turn_[k].body <= w.body) moved += dot(i, k) * turn_[std::max(i, k)].z * q[k];
          }
          there[i] -= moved;
          b[i] -= w.load * moved;
        }
      }
      for (std::size_t i = 0; i < unknowns_; ++i) {
        b[i] += w.stiffness * w.lower * there[i];
        for (std::size_t k = 0; k < unknowns_; ++k) a[i][k] += w.stiffness * there[i] * w.down[k];
      }
    }
    Row next{};
    if (!solve_moving(a, b, ties_, unknowns_, next)) return false;
    double change = 0;
    for (std::size_t i = 0; i < unknowns_; ++i) change = std::max(change, std::abs(next[i] - q[i]));
    q = next;
    for (Wheel& w : wheel_) w.load = w.stiffness * settlement(w, q);
    if (rolls_ && grip_together() > 1e-10) {
      before = std::numeric_limits<double>::infinity();
      continue;
    }
    if (step > 0 && (change <= kSettled || (change <= kNearly && change >= before))) return true;
    before = change;
  }
  return false;
}

// Where a chain goes from these motions that does not hold: pressed by what is out of balance there, held by next to nothing (100 rad under the weight at 1 m).
// Without the levers, which only drive it further.
bool Chain::fold(Row& q) {
  for (Wheel& w : wheel_) w.load = w.stiffness * settlement(w, q);
  const Row b = pressed(q);
  Square a{};
  for (std::size_t i = 1; i < unknowns_; ++i) a[i][i] = turn_[i].stiffness + 0.01 * weight_;
  for (const Wheel& w : wheel_) {
    if (w.lifted) continue;
    for (std::size_t i = 0; i < unknowns_; ++i) {
      for (std::size_t k = 0; k < unknowns_; ++k) a[i][k] += w.stiffness * w.left[i] * w.down[k];
    }
  }
  Held still = ties_;
  still.at = {};
  Row further{};
  if (!solve_moving(a, b, still, unknowns_, further)) return false;
  for (std::size_t i = 0; i < unknowns_; ++i) q[i] += further[i];
  return true;
}

// What presses on each unknown and no wheel and no spring takes: the moments of held joints.
Row Chain::pressed(const Row& q) const {
  Row out = force_, body_load{};
  for (const Wheel& w : wheel_) {
    if (!w.lifted) body_load[w.body] += w.load;
  }
  const Row lever = levers(body_load);
  for (std::size_t i = 1; i < unknowns_; ++i) {
    for (std::size_t k = 1; k < unknowns_; ++k) out[i] += dot(i, k) * lever[std::max(i, k)] * q[k];
  }
  for (const Wheel& w : wheel_) {
    if (w.lifted) continue;
    for (std::size_t i = 0; i < unknowns_; ++i) out[i] -= w.load * w.left[i];
  }
  for (std::size_t i = kFirstJoint; i < unknowns_; ++i) out[i] -= turn_[i].stiffness * q[i];
  return out;
}

// The moving unknown farthest beyond a stop of its joint; none: unknowns_.
std::size_t Chain::beyond_stop(const Row& q) const {
  double worst = 1e-12;
  std::size_t out = unknowns_;
  for (std::size_t i = kFirstJoint; i < unknowns_; ++i) {
    if (ties_.held[i]) continue;
    const double beyond = std::max(q[i] - turn_[i].most, turn_[i].least - q[i]);
    if (beyond > worst) worst = beyond, out = i;
  }
  return out;
}

std::size_t Chain::leaves_stop(const Row& q) const {
  const Row press = pressed(q);
  for (std::size_t i = kFirstJoint; i < unknowns_; ++i) {
    if (ties_.on_stop[i] && (ties_.at[i] == turn_[i].most ? press[i] < 0 : press[i] > 0)) return i;
  }
  return unknowns_;
}

// On either of the two bodies of the joint.
bool Chain::wheels_lifted_about(std::size_t unknown) const {
  const std::size_t ahead = turn_[unknown].body;
  return std::any_of(wheel_.begin(), wheel_.end(), [&](const Wheel& w) { return w.lifted && (w.body == ahead || w.body + 1 == ahead); });
}

// The lifted wheel that these motions press deepest into its ground.
Wheel* Chain::comes_down(const Row& q) {
  double deepest = 0;
  Wheel* out = nullptr;
  for (Wheel& w : wheel_) {
    const double settled = w.lifted ? settlement(w, q) : 0;
    if (settled > deepest) deepest = settled, out = &w;
  }
  return out;
}

double Chain::settlement(const Wheel& w, const Row& q) const {
  double out = -w.lower;
  for (std::size_t i = 0; i < unknowns_; ++i) out += w.down[i] * q[i];
  return out;
}

void Chain::hold(std::size_t unknown, const Row& q) {
  ties_.held[unknown] = ties_.on_stop[unknown] = true;
  ties_.at[unknown] = q[unknown] > turn_[unknown].most ? turn_[unknown].most : turn_[unknown].least;
}

void Chain::tell(const Row& q, ChainStand& out) const {
  for (std::size_t b = 0; b < bodies_; ++b) {
    out.lean_x[b] = out.lean_y[b] = 0;
    out.work[b] = 0;
    Row left = body_force_[b];
    for (const Wheel& w : wheel_) {
      if (w.body != b || w.lifted) continue;
      const double load = w.stiffness * settlement(w, q);
      for (std::size_t i = 0; i < unknowns_; ++i) left[i] -= load * w.left[i];
    }
    for (std::size_t i = 0; i < unknowns_; ++i) out.work[b] += left[i] * q[i];
    for (std::size_t i = 1; i < unknowns_; ++i) {
      if (turn_[i].body > b) continue;
      out.lean_x[b] += turn_[i].ex * q[i];
      out.lean_y[b] += turn_[i].ey * q[i];
    }
  }
}

ChainStand Chain::stand(std::span<double> load_n) {
  ChainStand out;
  Row q{};
  const std::size_t most_rounds = 4 * (wheel_.size() + 2 * bodies_);
  for (std::size_t round = 0; round < most_rounds; ++round) {
    const Row before = q;
    if (!settle(q)) {
      q = before;
      for (std::size_t i = kFirstJoint; i < unknowns_; ++i) q[i] = ties_.held[i] ? ties_.at[i] : q[i];
      if (!fold(q)) return out;
      if (Wheel* down = comes_down(q)) {   // it does not fall, the wrong wheel was lifted
        down->lifted = false;
        continue;
      }
      // All its wheels on the ground, a body lies on its stop; one whose wheels have lifted tips, whether or not a stop would catch it.
      const std::size_t joint = beyond_stop(q);
      if (joint == unknowns_ || wheels_lifted_about(joint)) {
        tell(q, out);
        return out;
      }
      hold(joint, q);
      continue;
    }
    double worst = 1e-12 * weight_;
    Wheel* wrong = nullptr;               // a standing one that would pull, a lifted one that would push
    for (Wheel& w : wheel_) {
      const double by = w.lifted ? w.load : -w.load;
      if (by > worst) worst = by, wrong = &w;
    }
    if (wrong) {
      wrong->lifted = !wrong->lifted;
    } else if (const std::size_t joint = beyond_stop(q); joint < unknowns_) {
      hold(joint, q);
    } else if (const std::size_t off = leaves_stop(q); off < unknowns_) {
      ties_.held[off] = ties_.on_stop[off] = false;
      ties_.at[off] = 0;
    } else {
      for (std::size_t w = 0; w < wheel_.size(); ++w) load_n[w] = wheel_[w].lifted ? 0 : std::max(wheel_[w].load, 0.0);
      tell(q, out);
      out.stands = true;
      return out;
    }
  }
  return out;
}

}  // namespace

namespace {

std::size_t most_of(const std::array<double, kMostBodies>& v, std::size_t bodies) {
  std::size_t most = 0;
  for (std::size_t b = 1; b < bodies; ++b) {
    if (v[b] > v[most] + 1e-9 * std::abs(v[most])) most = b;
  }
  return most;
}

}  // namespace

std::size_t ChainStand::leans_most(std::size_t bodies) const {
  std::array<double, kMostBodies> lean{};
  for (std::size_t b = 0; b < bodies; ++b) lean[b] = std::hypot(lean_x[b], lean_y[b]);
  return most_of(lean, bodies);
}

std::size_t ChainStand::drives(std::size_t bodies) const { return most_of(work, bodies); }

bool ChainStand::lean_alike(std::size_t bodies) const {
  const std::size_t most = leans_most(bodies);
  for (std::size_t b = 0; b < bodies; ++b) {
    if (std::hypot(lean_x[b] - lean_x[most], lean_y[b] - lean_y[most]) > 0.01 * std::hypot(lean_x[most], lean_y[most])) return false;
  }
  return true;
}

ChainStand stand_chain(const Stance& s, std::span<const double> lower_m, double slope_rad, double fall_rad, std::span<double> load_n) {
  HARDPAN_ASSERT(s.bodies.size() > 1 && s.bodies.size() <= kMostBodies && s.joints.size() + 1 == s.bodies.size());
  return Chain(s, lower_m, slope_rad, fall_rad).stand(load_n);
}

}  // namespace hardpan::performance::detail
