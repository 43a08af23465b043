// SPDX-License-Identifier: Apache-2.0
// Notation: q unknowns (h; slopes of body 0; pitch and roll of every joint, nose down and left side down), every one but h turning what lies ahead of its
// pivot about it, e the direction in which that carries a point above the pivot; N = k (D q - r) load of a wheel that settles by D q, r how much deeper its
// ground lies; L what that load does against each unknown, its grip t N with it. Virtual work, for every unknown i:
//   f_i + sum_k G_ik q_k - sum N L_i - joint_i = 0,   G_ik = e_i.e_k (sum weight (z - z_m) + sum N z_m) over all ahead of m, the more forward of i and k.
// N in G makes it quadratic: Newton's method with D and the lifted wheels fixed, then one change of the set a round. Where wheels roll, t of those that hold is one
// unknown more, and that their t N and what rolls push the weight's share along one equation more.
// It holds where the determinant is positive: the grip makes the matrix unsymmetric, but a lifted wheel and a small step of tilting change the sign of one way to fall
// at a time, and that does not depend on which end counts as the first. Where no step before has stood, what is left without grip must hold every way too.
#include "performance/detail/chain_stand.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <optional>
#include <utility>
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

}  // namespace

struct TiltedChain::Standing {
  std::vector<bool> lifted;
  Held ties;
  Row q{};
  double grip = 0;
};

namespace {

class Chain {
 public:
  Chain(const Stance& s, std::span<const double> lower_m, double slope, double fall);
  void start_from(const TiltedChain::Standing& before);
  ChainStand stand(std::span<double> load_n);
  [[nodiscard]] TiltedChain::Standing standing() const;

 private:
  [[nodiscard]] Row down_row(std::size_t body, double x, double y) const;
  void force(std::size_t body, double x, double y, double z, double fx, double fy, double down);
  [[nodiscard]] double dot(std::size_t i, std::size_t k) const { return turn_[i].ex * turn_[k].ex + turn_[i].ey * turn_[k].ey; }
  [[nodiscard]] Row levers() const;
  double press_wheels(const Row& q);
  // dt = more - by_motion dq.
  struct Gripped {
    Row by_motion{};
    double more = 0;
  };
  [[nodiscard]] std::optional<Gripped> put_grip(Square& a, Row& b) const;
  bool settle(Row& q);
  struct Pushed {
    double holding = 0, missing = 0;   // load of the wheels that hold; force along that wheels do not give yet
  };
  [[nodiscard]] Pushed pushed() const;
  [[nodiscard]] bool slides() const;
  [[nodiscard]] bool holds_without_grip() const;
  void grip_more(double along_over_load);
  bool fold(Row& q);
  [[nodiscard]] Row pressed(const Row& q, const Row& lever) const;
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
  bool started_ = false;           // from motions and loads that are near
  Row q_{};
};

// What a Gauss elimination with row exchange tells; a pivot of no more than rounding is a motion that nothing holds.
struct Elimination {
  bool regular = false, positive = false;   // the determinant
};
Elimination solve(Square a, Row& b, std::size_t n) {
  Elimination out{.positive = true};
  double scale = 0;
  for (std::size_t i = 0; i < n; ++i) scale = std::max(scale, std::abs(a[i][i]));
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t best = c;
    for (std::size_t r = c + 1; r < n; ++r) {
      if (std::abs(a[r][c]) > std::abs(a[best][c])) best = r;
    }
    if (!(std::abs(a[best][c]) > 1e-12 * scale)) return out;
    if (best != c) {
      std::swap(a[best], a[c]);
      std::swap(b[best], b[c]);
      out.positive = !out.positive;
    }
    out.positive = out.positive == (a[c][c] > 0);
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
  out.regular = true;
  return out;
}

// Of a symmetric matrix, by Sylvester's law: the signs of the pivots of any elimination by squares.
bool all_positive(Square m, std::size_t n) {
  for (std::size_t c = 0; c < n; ++c) {
    if (!(m[c][c] > 0)) return false;
    for (std::size_t r = c + 1; r < n; ++r) {
      for (std::size_t j = n; j-- > c;) m[r][j] -= m[r][c] / m[c][c] * m[c][j];
    }
  }
  return true;
}

// The unknowns that are not held.
struct Moving {
  Moving(const Held& ties, std::size_t n) {
    for (std::size_t i = 0; i < n; ++i) {
      if (!ties.held[i]) of[count++] = i;
    }
  }
  [[nodiscard]] Square part(const Square& a) const {
    Square m{};
    for (std::size_t r = 0; r < count; ++r) {
      for (std::size_t c = 0; c < count; ++c) m[r][c] = a[of[r]][of[c]];
    }
    return m;
  }
  std::array<std::size_t, kMost> of{};
  std::size_t count = 0;
};

// How they move further.
Elimination solve_moving(const Square& a, const Row& b, const Held& ties, std::size_t n, Row& further) {
  const Moving moving(ties, n);
  Row x{};
  for (std::size_t r = 0; r < moving.count; ++r) x[r] = b[moving.of[r]];
  const Elimination by = solve(moving.part(a), x, moving.count);
  for (std::size_t r = 0; by.regular && r < moving.count; ++r) further[moving.of[r]] = x[r];
  return by;
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
Row Chain::levers() const {
  Row out = weight_lever_, body_load{};
  for (const Wheel& w : wheel_) {
    if (!w.lifted) body_load[w.body] += w.load;
  }
  for (std::size_t i = kFirstJoint; i < unknowns_; ++i) {
    for (std::size_t b = turn_[i].body; b < bodies_; ++b) out[i] += body_load[b] * turn_[i].z;
  }
  return out;
}

// Loads of all wheels by their settlement; the largest change of one that stands [N].
double Chain::press_wheels(const Row& q) {
  double out = 0;
  for (Wheel& w : wheel_) {
    const double load = w.stiffness * settlement(w, q);
    if (!w.lifted) out = std::max(out, std::abs(load - w.load));
    w.load = load;
  }
  return out;
}

Chain::Pushed Chain::pushed() const {
  Pushed out{.missing = hold_};
  for (const Wheel& w : wheel_) {
    if (w.lifted) continue;
    if (w.holds) out.holding += w.load;
    out.missing -= w.grip * w.load;
  }
  return out;
}

void Chain::grip_more(double along_over_load) {
  for (Wheel& w : wheel_) {
    if (!w.holds) continue;
    for (std::size_t i = kFirstJoint; i < unknowns_; ++i) w.left[i] += along_over_load * w.along[i];
    w.grip += along_over_load;
  }
}

// With nothing left on the ground that holds.
bool Chain::slides() const { return rolls_ && std::abs(pushed().missing) > 1e-6 * weight_; }

// Springs and levers alone, as they are now.
bool Chain::holds_without_grip() const {
  const Row lever = levers();
  Square a{};
  for (std::size_t i = 1; i < unknowns_; ++i) {
    for (std::size_t k = 1; k < unknowns_; ++k) a[i][k] = -dot(i, k) * lever[std::max(i, k)];
    a[i][i] += turn_[i].stiffness;
  }
  for (const Wheel& w : wheel_) {
    for (std::size_t i = 0; !w.lifted && i < unknowns_; ++i) {
      for (std::size_t k = 0; k < unknowns_; ++k) a[i][k] += w.stiffness * w.down[i] * w.down[k];
    }
  }
  const Moving moving(ties_, unknowns_);
  return all_positive(moving.part(a), moving.count);
}

// The grip of the wheels that hold as one unknown more, put out of the system by its own equation, of which what tells it from the motions then is left:
//   sum over those (N dt + t dN) + sum over what rolls (r dN) = force along - (sum t N + sum r N),   dN = k D dq.
// None where next to nothing stands that holds.
std::optional<Chain::Gripped> Chain::put_grip(Square& a, Row& b) const {
  const Pushed now = pushed();
  if (!(now.holding > 1e-6 * weight_)) return std::nullopt;
  Gripped out{.more = now.missing / now.holding};
  Row by_grip{};   // what a newton for a newton more of it does against each unknown
  for (const Wheel& w : wheel_) {
    if (w.lifted) continue;
    for (std::size_t k = 0; k < unknowns_; ++k) out.by_motion[k] += w.grip * w.stiffness * w.down[k] / now.holding;
    for (std::size_t i = 0; w.holds && i < unknowns_; ++i) by_grip[i] += w.load * w.along[i];
  }
  for (std::size_t i = 0; i < unknowns_; ++i) {
    b[i] -= by_grip[i] * out.more;
    for (std::size_t k = 0; k < unknowns_; ++k) a[i][k] -= by_grip[i] * out.by_motion[k];
  }
  return out;
}

// Motions and loads with the wheels that stand and the joints that are held now; false where that does not hold.
bool Chain::settle(Row& q) {
  constexpr int kMostSteps = 30;   // observed 2 to 8, more only next to falling
  constexpr double kSettled = 1e-9, kNearly = 1e-6;   // m, rad and of the weight; the step after it is its square, or rounding
  for (std::size_t i = 0; i < unknowns_; ++i) {
    if (ties_.held[i] || !started_) q[i] = ties_.at[i];
  }
  press_wheels(q);
  double before = std::numeric_limits<double>::infinity();
  for (int step = 0; step < kMostSteps; ++step) {
    const bool first = step == 0;
    const Row lever = first ? Row{} : levers();   // without: it must stand, not hang by its own lever
    Square a{};
    for (std::size_t i = 1; i < unknowns_; ++i) {
      for (std::size_t k = 1; k < unknowns_; ++k) a[i][k] = -dot(i, k) * lever[std::max(i, k)];
      if (!ties_.held[i]) a[i][i] += turn_[i].stiffness;
    }
    for (const Wheel& w : wheel_) {
      if (w.lifted) continue;
      Row there = w.left;                 // with the foot where the lean has carried it
      for (std::size_t i = 1; !first && i < unknowns_; ++i) {
        if (turn_[i].body > w.body) continue;
        for (std::size_t k = 1; k < unknowns_; ++k) {
          if (turn_[k].body <= w.body) there[i] -= dot(i, k) * turn_[std::max(i, k)].z * q[k];
        }
      }
      for (std::size_t i = 0; i < unknowns_; ++i) {
        for (std::size_t k = 0; k < unknowns_; ++k) a[i][k] += w.stiffness * there[i] * w.down[k];
      }
    }
    Row b = pressed(q, lever);
    const std::optional<Gripped> grip = rolls_ ? put_grip(a, b) : std::nullopt;
    Row further{};
    const Elimination by = solve_moving(a, b, ties_, unknowns_, further);
    if (!by.regular) return false;
    if (first && started_) continue;   // what it starts from is nearer
    double change = 0;
    for (std::size_t i = 0; i < unknowns_; ++i) {
      q[i] += further[i];
      change = std::max(change, std::abs(further[i]));
    }
    change = std::max(change, press_wheels(q) / weight_);
    if (grip) {
      double more = grip->more;
      for (std::size_t k = 0; k < unknowns_; ++k) more -= grip->by_motion[k] * further[k];
      change = std::max(change, std::abs(more));
      grip_more(more);
    }
    if (!first && (change <= kSettled || (change <= kNearly && change >= before))) return by.positive && (started_ || holds_without_grip()) && (grip || !slides());
    before = change;
  }
  return false;
}

// Where a chain goes from these motions that does not hold: pressed by what is out of balance there, held by next to nothing (100 rad under the weight at 1 m).
// Without the levers, which only drive it further.
bool Chain::fold(Row& q) {
  press_wheels(q);
  const Row b = pressed(q, levers());
  Square a{};
  for (std::size_t i = 1; i < unknowns_; ++i) a[i][i] = turn_[i].stiffness + 0.01 * weight_;
  for (const Wheel& w : wheel_) {
    if (w.lifted) continue;
    for (std::size_t i = 0; i < unknowns_; ++i) {
      for (std::size_t k = 0; k < unknowns_; ++k) a[i][k] += w.stiffness * w.left[i] * w.down[k];
    }
  }
  Row further{};
  if (!solve_moving(a, b, ties_, unknowns_, further).regular) return false;
  for (std::size_t i = 0; i < unknowns_; ++i) q[i] += further[i];
  return true;
}

// What presses on each unknown and no wheel and no spring takes: the moments of held joints.
Row Chain::pressed(const Row& q, const Row& lever) const {
  Row out = force_;
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
  const Row press = pressed(q, levers());
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

void Chain::start_from(const TiltedChain::Standing& before) {
  started_ = true;
  q_ = before.q;
  ties_ = before.ties;
  if (rolls_) {
    const auto one = std::find_if(wheel_.begin(), wheel_.end(), [](const Wheel& w) { return w.holds; });
    grip_more(before.grip - one->grip);
  }
  for (std::size_t w = 0; w < wheel_.size(); ++w) wheel_[w].lifted = before.lifted[w];
}

TiltedChain::Standing Chain::standing() const {
  TiltedChain::Standing out{.ties = ties_, .q = q_};
  for (const Wheel& w : wheel_) {
    out.lifted.push_back(w.lifted);
    if (w.holds) out.grip = w.grip;
  }
  return out;
}

ChainStand Chain::stand(std::span<double> load_n) {
  ChainStand out;
  Row& q = q_;
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

TiltedChain::TiltedChain(const Stance& s, std::span<const double> lower_m, double fall_rad) : stance_(s), lower_(lower_m), fall_(fall_rad) {
  HARDPAN_ASSERT(s.bodies.size() > 1 && s.bodies.size() <= kMostBodies && s.joints.size() + 1 == s.bodies.size());
}

TiltedChain::~TiltedChain() = default;

ChainStand TiltedChain::at(double slope_rad, std::span<double> load_n) {
  Chain chain(stance_, lower_, slope_rad, fall_);
  if (last_) chain.start_from(*last_);
  const ChainStand out = chain.stand(load_n);
  if (out.stands) last_ = std::make_unique<Standing>(chain.standing());
  return out;
}

}  // namespace hardpan::performance::detail
