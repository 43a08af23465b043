// SPDX-License-Identifier: Apache-2.0
// Advances of a tenth of a wheel radius; every pose begins from the one before, carried on along its way. Where the pose leaps the place is found by
// halving. Where a wheel's push turns further between two poses than rolling over an edge would turn it (it meets a face, leaves the flat), and at peaks
// between poses, the largest friction is looked for by golden section: roughly first, finely where it comes near the largest so far.
#include "performance/detail/chain_walk.hpp"

#include <algorithm>
#include <cmath>

#include "performance/detail/chain_statics.hpp"
#include "performance/detail/linkage.hpp"
#include "performance/detail/tally.hpp"

namespace hardpan::performance::detail {
namespace {

constexpr double kStrides = 5;              // advance, in step_share of the smallest radius
constexpr double kChangeWidth = 1e-5;       // of the smallest radius: leaps, and peaks near the largest
constexpr double kRoughWidth = 4e-3;        // of the smallest radius: other peaks
constexpr double kNearLargest = 0.9;        // of the largest so far
constexpr double kSurely = 1.25;
constexpr double kMostTurn_rad = 0.08;      // of a body between two poses that follow each other
constexpr double kFallSeen = 1e-3;          // of the size: the centre of gravity drops further in a leap
constexpr double kDeep = 0.05;              // of the size: a fall that ends a crossing where no rest follows
constexpr double kSamePose = 2e-4;          // of the size: what the tractions found would still move the pose
constexpr int kMostRounds = 4;
constexpr int kMostLeaps = 20;              // one after another within a stride: a chain that never comes to rest cannot be followed


// A pose with what is needed to go on from it.
struct Sample {
  double travel = 0;
  Stand stand;
  Unknowns load{};
  Pose pose;
  Forces forces;
};

class ChainWalk {
 public:
  ChainWalk(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings)
      : linkage_(vehicle, profile), settings_(&settings),
        tally_(settings, linkage_.size_m(), [this](std::size_t i, const Frame&, double friction) { return statics_[i].least_torque(friction); }) {}
  [[nodiscard]] Crossing go();

 private:
  [[nodiscard]] bool sample(double travel, const Sample& from, Sample& out) const;
  [[nodiscard]] bool leaps(const Sample& a, const Sample& b) const;
  [[nodiscard]] bool between(const Sample& s) const;
  [[nodiscard]] bool turns(const Sample& a, const Sample& b) const;
  [[nodiscard]] bool matters(const Sample& a, const Sample& b) const;
  bool meet(const Sample& s);
  void consider(const Sample& s);
  bool refine(const Sample& low, const Sample& high);
  void search(const Sample& from, double a, double b, double at_a, double at_b, bool climbing);
  [[nodiscard]] double value(const Sample& s) const { return s.forces.solve.converged() ? s.forces.friction : 2 * settings_->most_friction; }
  void peak(const Sample& before, const Sample& here, const Sample& next);
  void drop(const Sample& from, const Sample& to);

  Linkage linkage_;
  const CrossingSettings* settings_;
  Tally tally_;
  Hardest climbing_, holding_;
  std::vector<ChainStatics> statics_;       // of every pose met, for the torques
  std::vector<Sample> between_;
  int drops_ = 0;
  double deepest_ = 0, largest_torque_ = 0;
};

// The pose is found with the tractions of the pose before, the tractions from the pose; both again where they do not agree.
bool ChainWalk::sample(double travel, const Sample& from, Sample& out) const {
  Unknowns guess = from.stand.u;
  for (std::size_t i = 0; i < linkage_.unknowns(); ++i) guess[i] += from.stand.per_travel[i] * (travel - from.travel);
  Unknowns load = from.load;
  double friction = from.forces.solve.converged() ? from.forces.friction : settings_->most_friction;
  out.travel = travel;
  for (int round = 0; round < kMostRounds; ++round) {
    out.stand = linkage_.stand(travel, guess, load);
    out.load = load;
    if (!out.stand.stands) return false;
    ChainStatics statics(linkage_, out.stand, settings_->split);
    out.forces = statics.least_friction(settings_->most_friction, friction > 1e-6 ? friction * 1.01 + 1e-4 : 0);
    const bool held = out.forces.solve.converged();
    if (!held && out.forces.solve.status != base::SolveStatus::no_solution) break;
    if (held) friction = out.forces.friction;
    const Unknowns asked = held ? statics.load(out.forces) : statics.even_load();
    Unknowns change = asked;
    for (std::size_t i = 0; i < linkage_.unknowns(); ++i) change[i] -= load[i];
    load = asked;
    out.load = asked;
    if (linkage_.moves_m(out.stand, change) <= kSamePose * linkage_.size_m()) break;
    guess = out.stand.u;
  }
  out.pose = linkage_.pose(travel, out.stand);
  return true;
}

// The same branch of poses? A fall beyond what the way explains, or a turn no stride gives.
bool ChainWalk::leaps(const Sample& a, const Sample& b) const {
  for (std::size_t i = 1; i < linkage_.unknowns(); ++i) {
    if (std::abs(a.stand.u[i] - b.stand.u[i]) > kMostTurn_rad) return true;
  }
  return a.pose.cg.z_m - b.pose.cg.z_m > kFallSeen * linkage_.size_m() + 2 * (b.travel - a.travel);
}

bool ChainWalk::between(const Sample& s) const {
  if (!linkage_.rigid_wheels()) return false;
  for (std::size_t k = 0; k < linkage_.axles(); ++k) {
    if (s.stand.wheel[k].between) return true;
  }
  return false;
}

// Does some wheel's push turn further than by rolling over an edge, or begin or end? Or does the way itself: a wheel may have met a face and begun to leave it
// again between the two, its push as before.
bool ChainWalk::turns(const Sample& a, const Sample& b) const {
  if (std::abs(a.pose.climb_ratio - b.pose.climb_ratio) > 1.6 * (b.travel - a.travel) / linkage_.smallest_radius_m()) return true;
  for (std::size_t k = 0; k < linkage_.axles(); ++k) {
    const Press &p = a.stand.wheel[k], &q = b.stand.wheel[k];
    if ((p.area_m2 > 0) != (q.area_m2 > 0)) return true;
    if (!(p.area_m2 > 0)) continue;
    if (std::abs(p.nx * q.nz - p.nz * q.nx) > 1.6 * (b.travel - a.travel) / linkage_.vehicle().axles[k].radius_m) return true;
  }
  return false;
}

// Could it ask more friction, or torque, than was met? With all wheels driven as they please the friction is near the mean of the slopes' tangents by
// load (kSurely covers what it may be over); undriven wheels and equal torques ask more, so there every steep place counts.
bool ChainWalk::matters(const Sample& a, const Sample& b) const {
  double pushed = 0, loads = 0, steepest = 0, torque = 0;
  bool all_driven = settings_->split == TorqueSplit::best;
  for (std::size_t k = 0; k < linkage_.axles(); ++k) {
    double load = 0, tangent = 0;
    for (const Sample* s : {&a, &b}) {
      const Press& p = s->stand.wheel[k];
      if (!(p.area_m2 > 0)) continue;
      load = std::max(load, p.normal_n * p.nz);
      tangent = std::max(tangent, std::abs(p.nx) / std::max(p.nz, 1e-3));
      torque = std::max(torque, std::abs(p.nx) * p.normal_n * p.arm_m);
    }
    pushed += load * tangent;
    loads += load;
    steepest = std::max(steepest, tangent);
    all_driven = all_driven && linkage_.vehicle().axles[k].driven;
  }
  const Hardest& hardest = climbs(b.pose) ? climbing_ : holding_;
  const double asks = all_driven ? kSurely * pushed / std::max(loads, 1e-9 * linkage_.weight_n()) - hardest.friction : steepest - 0.5 * hardest.friction - 0.02;
  return asks > 0 || torque > 0.9 * largest_torque_ + 1e-3 * linkage_.weight_n() * linkage_.smallest_radius_m();
}

void ChainWalk::consider(const Sample& s) {
  Hardest& h = climbs(s.pose) ? climbing_ : holding_;
  if (std::isnan(h.friction)) return;
  if (!s.forces.solve.converged()) h = {std::numeric_limits<double>::quiet_NaN(), s.travel, s.pose, s.forces};
  else if (s.forces.friction > h.friction || h.pose.axles == 0) h = {s.forces.friction, s.travel, s.pose, s.forces};
}

bool ChainWalk::meet(const Sample& s) {
  if (!tally_.meet(s.pose, s.forces)) return false;
  statics_.emplace_back(linkage_, s.stand, settings_->split);
  for (std::size_t k = 0; k < linkage_.axles(); ++k) {
    const auto& table = linkage_.vehicle().axles[k].deflection_load;
    if (table.size() > 2 && s.stand.wheel[k].deflection_m > table.back().first) tally_.out().beyond_table = true;
  }
  if (s.forces.solve.converged()) largest_torque_ = std::max(largest_torque_, s.forces.torque_n_m);
  consider(s);
  return true;
}

// The largest friction between two poses, on either side of where climbing and holding change; what was looked at is met in order. False: a pose was
// not solved.
bool ChainWalk::refine(const Sample& low, const Sample& high) {
  between_.clear();
  if (climbs(low.pose) == climbs(high.pose)) {
    search(low, low.travel, high.travel, value(low), value(high), climbs(low.pose));
  } else {
    double a = low.travel, b = high.travel;
    while (b - a > 0.1 * kRoughWidth * linkage_.smallest_radius_m()) {
      Sample s;
      if (!sample(0.5 * (a + b), low, s)) break;
      (climbs(s.pose) == climbs(low.pose) ? a : b) = s.travel;
    }
    search(low, low.travel, 0.5 * (a + b), value(low), 0, climbs(low.pose));
    search(low, 0.5 * (a + b), high.travel, 0, value(high), climbs(high.pose));
  }
  std::sort(between_.begin(), between_.end(), [](const Sample& l, const Sample& r) { return l.travel < r.travel; });
  return std::all_of(between_.begin(), between_.end(), [&](const Sample& s) { return meet(s); });
}

// Golden section that goes to the largest of four places, the ends included: before a wheel meets a face the friction is level, behind it falls.
void ChainWalk::search(const Sample& from, double a, double b, double at_a, double at_b, bool climbing) {
  constexpr double kGolden = 0.6180339887498949;
  const Hardest& hardest = climbing ? climbing_ : holding_;
  double most = std::max(at_a, at_b);
  const auto at = [&](double travel) {
    Sample s;
    if (!sample(travel, from, s)) return -1.0;
    between_.push_back(s);
    if (climbs(s.pose) != climbing) return 0.0;
    const double friction = value(s);
    most = std::max(most, friction);
    return friction;
  };
  double p = b - kGolden * (b - a), q = a + kGolden * (b - a), at_p = at(p), at_q = at(q);
  const double rough = kRoughWidth * linkage_.smallest_radius_m(), fine = kChangeWidth * linkage_.smallest_radius_m();
  while (b - a > rough || (b - a > fine && most > kNearLargest * std::max(hardest.friction, 0.02))) {
    if (std::max(at_a, at_p) >= std::max(at_q, at_b)) {
      b = q;
      at_b = at_q;
      q = p;
      at_q = at_p;
      at_p = at(p = b - kGolden * (b - a));
    } else {
      a = p;
      at_a = at_p;
      p = q;
      at_p = at_q;
      at_q = at(q = a + kGolden * (b - a));
    }
  }
}

// A smooth peak about a pose: two parabolas through three poses.
void ChainWalk::peak(const Sample& before, const Sample& here, const Sample& next) {
  Sample l = before, m = here, r = next;
  for (int i = 0; i < 2; ++i) {
    const double a = m.travel - l.travel, b = r.travel - m.travel, fa = m.forces.friction - l.forces.friction, fb = m.forces.friction - r.forces.friction;
    const double at = m.travel + 0.5 * (fa * b * b - fb * a * a) / (fa * b + fb * a);
    Sample s;
    if (!(at > l.travel && at < r.travel) || at == m.travel || !sample(at, l, s) || !s.forces.solve.converged()) return;
    consider(s);
    if (!(s.forces.friction > m.forces.friction)) return;
    (at > m.travel ? l : r) = m;
    m = s;
  }
}

void ChainWalk::drop(const Sample& from, const Sample& to) {
  const double fall = from.pose.cg.z_m - to.pose.cg.z_m;
  if (fall <= kFallSeen * linkage_.size_m()) return;
  ++drops_;
  deepest_ = std::max(deepest_, fall);
}

Crossing ChainWalk::go() {
  const auto& points = linkage_.ground().points();
  const double lead = 0.5 * linkage_.size_m() + 2 * linkage_.largest_radius_m(), radius = linkage_.smallest_radius_m();
  const double first = points.front().x_m - lead, last = points.back().x_m + lead, stride = kStrides * settings_->step_share * radius;
  Sample here, before, nothing;
  nothing.travel = first;
  nothing.stand.u = linkage_.straight_on(std::atan2(points[1].z_m - points[0].z_m, points[1].x_m - points[0].x_m), first);
  climbing_.friction = holding_.friction = 0;
  bool seen = false;
  int leaps_here = 0;
  double last_leap = first;
  if (!sample(first, nothing, here)) {
    tally_.met(Obstruction::tip_over, first);
    return tally_.conclude(climbing_, holding_);
  }
  if (!meet(here)) return tally_.conclude(climbing_, holding_);
  while (here.travel < last) {
    Sample next;
    double high = std::min(here.travel + stride, last);
    bool there = sample(high, here, next);
    // Not to end a stride where a rigid wheel is on its way from one piece of ground to another: the friction there tells neither side's.
    for (int tries = 0; tries < 4 && there && between(next); ++tries) there = sample(high = std::min(high + 0.07 * stride, last + stride), here, next);
    const bool leapt = !there || leaps(here, next);
    if (leapt) {
      while (high - here.travel > kChangeWidth * radius) {
        const double middle = 0.5 * (here.travel + high);
        Sample m;
        const bool stands = sample(middle, here, m);
        if (stands && !leaps(here, m)) {
          if (!meet(m)) return tally_.conclude(climbing_, holding_);
          here = m;
        } else {
          there = stands;
          next = m;
          high = middle;
        }
      }
      if (!there) {
        tally_.ended(here.pose, linkage_.ground(), high);
        break;
      }
      // What only falls or turns steeply is followed in small steps; that is no leap.
      if (leaps(here, next)) {
        drop(here, next);
        leaps_here = next.travel - last_leap < stride ? leaps_here + 1 : 0;
        last_leap = next.travel;
      }
      if (leaps_here > kMostLeaps) {
        // One body that has fallen deep tumbles; of several it is not known what they do.
        if (linkage_.bodies() == 1 && deepest_ > kDeep * linkage_.size_m()) tally_.ended(here.pose, linkage_.ground(), last_leap);
        tally_.lost(base::SolveStatus::out_of_steps);
        break;
      }
    } else if (turns(here, next) && matters(here, next)) {
      if (!refine(here, next)) return tally_.conclude(climbing_, holding_);
    } else if (seen && here.forces.friction > before.forces.friction && here.forces.friction > next.forces.friction + 1e-6 &&
               here.forces.friction >= 0.97 * (climbs(here.pose) ? climbing_ : holding_).friction) {
      peak(before, here, next);
    }
    if (!meet(next)) return tally_.conclude(climbing_, holding_);
    seen = !leapt;
    before = here;
    here = next;
  }
  tally_.fell(drops_, deepest_);
  return tally_.conclude(climbing_, holding_);
}

}  // namespace

Crossing cross_chain(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings) { return ChainWalk(vehicle, profile, settings).go(); }

}  // namespace hardpan::performance::detail
