// SPDX-License-Identifier: Apache-2.0
// Advances of a tenth of a wheel radius; every pose begins from the one before, carried on along its way. Where the pose leaps the place is found by
// halving. Where a wheel's push turns further between two poses than rolling over an edge would turn it (it meets a face, leaves the flat), the largest
// friction is looked for by golden section: roughly first, finely where it comes near the largest so far. When all poses are met the largest friction is closed in
// on: between poses where it may reach more, carried on as it changes beside them (a way of standing may end between two poses, its friction rising to the end), and
// from the left of the pose that asks most (a stride may have led to another way of standing than the one that small steps follow).
#include "performance/detail/chain_walk.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

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
constexpr double kSamePose = 1e-6;          // of the size: what the tractions found would still move the pose. 2e-4 missed ends of ways of standing by a tenth of the friction
constexpr double kSameRigidPose = 2e-5;     // the same where no wheel settles: poses then hardly answer to tractions
constexpr int kMostRounds = 24;             // observed: 1 to 3 nearly always; in 3 of 10,000 poses all, and the last is taken
constexpr double kClosed = 2e-4;            // of the largest friction: what may be missed between poses
constexpr double kSameFriction = 1e-3;      // of the friction: a pose reached from nearer by is the same
constexpr double kCloseWidth = 2e-4;        // of the smallest radius: poses nearer than this are not parted
constexpr double kMostShift = 1e-4;         // of the size: two poses side by side are one way of standing
constexpr int kSmallSteps = 8;
constexpr int kMostCloser = 400;            // poses added to close in
constexpr int kMostLeaps = 20;              // one after another within a stride: a chain that never comes to rest cannot be followed

bool known(const std::vector<double>& list, double travel) { return std::find(list.begin(), list.end(), travel) != list.end(); }

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
  // A balance, or that there is none: with an answer either way.
  [[nodiscard]] static bool solved(const Sample& s) { return s.forces.solve.converged() || s.forces.solve.status == base::SolveStatus::no_solution; }
  [[nodiscard]] double value(const Sample& s) const { return s.forces.solve.converged() ? s.forces.friction : 2 * settings_->most_friction; }
  void drop(const Sample& from, const Sample& to);
  void go_slowly(const Sample& from, Sample& to) const;
  void walk();
  void close_in();
  [[nodiscard]] bool counts(const Sample& s) const { return settings_->descents_held || climbs(s.pose); }
  [[nodiscard]] double rate_beside(std::size_t at, int way, double width) const;
  [[nodiscard]] bool sample_between(std::size_t at);
  [[nodiscard]] bool confirm(std::size_t at);
  [[nodiscard]] bool goes_on(const Sample& a, const Sample& b) const;

  Linkage linkage_;
  const CrossingSettings* settings_;
  Tally tally_;
  Hardest climbing_, holding_;
  std::vector<ChainStatics> statics_;       // of every pose met, for the torques
  std::vector<Sample> trail_;               // every pose met, in order of travel
  std::vector<Sample> between_;
  std::vector<double> given_up_;            // travels behind which no pose is looked for any more
  std::optional<Sample> unsolved_;          // the pose without an answer, with which the way ends
  std::optional<double> ended_at_;          // no pose leads on
  base::SolveStatus lost_ = base::SolveStatus::converged;   // else: why it could not be followed to the end
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
    if (linkage_.moves_m(out.stand, change) <= (linkage_.rigid_wheels() ? kSameRigidPose : kSamePose) * linkage_.size_m()) break;
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

// False: the pose was not solved, and the way ends with it.
bool ChainWalk::meet(const Sample& s) {
  if (!solved(s)) {
    unsolved_ = s;
    return false;
  }
  trail_.push_back(s);
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
    const Sample* near = &from;   // from the nearest pose behind: from further away another way of standing may be found
    for (const Sample& known : between_) {
      if (known.travel < travel && known.travel > near->travel) near = &known;
    }
    Sample s;
    if (!sample(travel, *near, s)) return -1.0;
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

void ChainWalk::drop(const Sample& from, const Sample& to) {
  const double fall = from.pose.cg.z_m - to.pose.cg.z_m;
  if (fall <= kFallSeen * linkage_.size_m()) return;
  ++drops_;
  deepest_ = std::max(deepest_, fall);
}

// A stride that asks much more friction all of a sudden may have led to another way of standing: gone again in small steps, which count where they ask less.
void ChainWalk::go_slowly(const Sample& from, Sample& to) const {
  const double hardest = (climbs(to.pose) ? climbing_ : holding_).friction;
  if (!(value(to) > value(from) + 0.1 && value(to) > 0.9 * hardest)) return;
  Sample at = from;
  for (int k = 1; k <= kSmallSteps; ++k) {
    Sample s;
    if (!sample(from.travel + (to.travel - from.travel) * k / kSmallSteps, at, s) || !solved(s) || leaps(at, s)) return;
    at = s;
  }
  if (value(at) < value(to)) to = at;
}

// How the friction changes with travel behind (way -1) or ahead (1) of a pose, over a neighbour far enough away to tell; 0 where none on the same branch does.
double ChainWalk::rate_beside(std::size_t at, int way, double width) const {
  const Sample& here = trail_[at];
  const double apart = std::min(0.25 * width, 1e-3 * linkage_.smallest_radius_m()), far = 3 * std::max(width, 0.1 * linkage_.smallest_radius_m());
  for (std::size_t i = at; way < 0 ? i > 0 : i + 1 < trail_.size();) {
    i = way < 0 ? i - 1 : i + 1;
    const Sample& there = trail_[i];
    const double gone = std::abs(there.travel - here.travel);
    if (gone < apart) continue;
    const bool same = gone < far && there.forces.solve.converged() && !(way < 0 ? leaps(there, here) : leaps(here, there));
    return same ? (there.forces.friction - here.forces.friction) / (there.travel - here.travel) : 0;
  }
  return 0;
}

// A pose about the middle of one and the next, from the one before it; not where a rigid wheel is on its way from one piece of ground to another. False where there is none.
bool ChainWalk::sample_between(std::size_t at) {
  Sample m;
  bool there = false;
  for (const double share : {0.5, 0.43, 0.57}) {
    there = sample(trail_[at].travel + share * (trail_[at + 1].travel - trail_[at].travel), trail_[at], m);
    if (!there || !between(m)) break;
  }
  if (!there || !solved(m) || between(m)) return false;
  trail_.insert(trail_.begin() + static_cast<std::ptrdiff_t>(at) + 1, m);
  return true;
}

bool ChainWalk::goes_on(const Sample& a, const Sample& b) const {
  const double most = 2 * (b.travel - a.travel) + kMostShift * linkage_.size_m();
  for (std::size_t i = 0; i < linkage_.unknowns(); ++i) {
    if (std::abs(a.stand.u[i] - b.stand.u[i]) * (i == 0 ? 1 : linkage_.size_m()) > most) return false;
  }
  return true;
}

// Is the pose what nearer ones behind it lead to? Replaced where it is not. True: there is nothing left to ask.
bool ChainWalk::confirm(std::size_t at) {
  const double close = kCloseWidth * linkage_.smallest_radius_m();
  if (at == 0 || !trail_[at].forces.solve.converged()) return true;
  if (!(trail_[at].travel - trail_[at - 1].travel > close)) {
    // Two ways of standing may begin at one place, of which the wheels choose by their torques: the one that asks less counts, where it goes on from the pose behind.
    for (const std::size_t beside : {at - 1, at + 1}) {
      if (beside >= trail_.size()) continue;
      Sample again;
      if (!sample(trail_[at].travel, trail_[beside], again) || !solved(again) || !(value(again) < (1 - kSameFriction) * value(trail_[at])) || !goes_on(trail_[at - 1], again)) continue;
      trail_[at] = again;
      return false;
    }
    if (!between(trail_[at]) || at + 1 == trail_.size()) return true;
    given_up_.push_back(trail_[at - 1].travel);
    trail_.erase(trail_.begin() + static_cast<std::ptrdiff_t>(at));   // tells neither side's friction; both stand beside it
    return false;
  }
  if (known(given_up_, trail_[at - 1].travel) || !sample_between(at - 1)) return true;
  Sample again;
  const bool stands = sample(trail_[at + 1].travel, trail_[at], again) && solved(again);
  const double was = value(trail_[at + 1]), between = value(trail_[at]);
  if (!stands || std::abs(value(again) - was) <= kSameFriction * was) return std::abs(between - was) <= 0.1 * was && std::abs(between - value(trail_[at - 1])) <= 0.1 * was;
  trail_[at + 1] = again;
  return false;
}

void ChainWalk::close_in() {
  std::vector<double> confirmed;   // travels
  for (int added = 0; added < kMostCloser; ++added) {
    double hardest = 0, may = 0;
    std::size_t at = 0, hole = trail_.size();
    for (std::size_t i = 0; i < trail_.size(); ++i) {
      if (counts(trail_[i]) && value(trail_[i]) > hardest) hardest = value(trail_[i]), at = i;
    }
    if (hardest > 0 && !known(confirmed, trail_[at].travel)) {
      const double travel = trail_[at].travel;
      if (confirm(at)) confirmed.push_back(travel);
      continue;
    }
    for (std::size_t i = 0; i + 1 < trail_.size(); ++i) {
      const Sample &a = trail_[i], &b = trail_[i + 1];
      const double width = b.travel - a.travel;
      if (!(width > kCloseWidth * linkage_.smallest_radius_m()) || !(counts(a) || counts(b)) || known(given_up_, a.travel)) continue;
      double reach = 0;
      if (a.forces.solve.converged()) reach = std::max(reach, a.forces.friction + width * std::max(0.0, rate_beside(i, -1, width)));
      if (b.forces.solve.converged()) reach = std::max(reach, b.forces.friction - width * std::min(0.0, rate_beside(i + 1, 1, width)));
      if (reach > may) may = reach, hole = i;
    }
    if (!(may > (1 + kClosed) * std::max(hardest, 0.01))) return;
    if (!sample_between(hole)) given_up_.push_back(trail_[hole].travel);
  }
  lost_ = base::SolveStatus::out_of_steps;   // not observed
}

// From one end to the other, as far as it goes.
void ChainWalk::walk() {
  const auto& points = linkage_.ground().points();
  const double lead = 0.5 * linkage_.size_m() + 2 * linkage_.largest_radius_m(), radius = linkage_.smallest_radius_m();
  const double first = points.front().x_m - lead, last = points.back().x_m + lead, stride = kStrides * settings_->step_share * radius;
  Sample here, nothing;
  nothing.travel = first;
  nothing.stand.u = linkage_.straight_on(std::atan2(points[1].z_m - points[0].z_m, points[1].x_m - points[0].x_m), first);
  climbing_.friction = holding_.friction = 0;
  int leaps_here = 0;
  double last_leap = first;
  if (!sample(first, nothing, here)) {
    tally_.met(Obstruction::tip_over, first);
    return;
  }
  if (!meet(here)) return;
  while (here.travel < last) {
    Sample next;
    double high = std::min(here.travel + stride, last);
    bool there = sample(high, here, next);
    // Not to end a stride where a rigid wheel is on its way from one piece of ground to another: the friction there tells neither side's.
    for (int tries = 0; tries < 4 && there && between(next); ++tries) there = sample(high = std::min(high + 0.07 * stride, last + stride), here, next);
    if (there && !leaps(here, next)) go_slowly(here, next);
    if (!there || leaps(here, next)) {
      while (high - here.travel > kChangeWidth * radius) {
        const double middle = 0.5 * (here.travel + high);
        Sample m;
        const bool stands = sample(middle, here, m);
        if (stands && !leaps(here, m)) {
          if (!meet(m)) return;
          here = m;
        } else {
          there = stands;
          next = m;
          high = middle;
        }
      }
      if (!there) {
        ended_at_ = high;
        return;
      }
      // What only falls or turns steeply is followed in small steps; that is no leap.
      if (leaps(here, next)) {
        drop(here, next);
        leaps_here = next.travel - last_leap < stride ? leaps_here + 1 : 0;
        last_leap = next.travel;
      }
      if (leaps_here > kMostLeaps) {
        // One body that has fallen deep tumbles; of several it is not known what they do.
        if (linkage_.bodies() == 1 && deepest_ > kDeep * linkage_.size_m()) ended_at_ = last_leap;
        lost_ = base::SolveStatus::out_of_steps;
        return;
      }
    } else if (turns(here, next) && matters(here, next)) {
      if (!refine(here, next)) return;
    }
    if (!meet(next)) return;
    here = next;
  }
}

Crossing ChainWalk::go() {
  walk();
  if (!trail_.empty()) close_in();
  climbing_ = holding_ = {};
  climbing_.friction = holding_.friction = 0;
  statics_.reserve(trail_.size());
  for (const Sample& s : trail_) {
    if (!tally_.meet(s.pose, s.forces)) break;
    statics_.emplace_back(linkage_, s.stand, settings_->split);
    for (std::size_t k = 0; k < linkage_.axles(); ++k) {
      const auto& table = linkage_.vehicle().axles[k].deflection_load;
      if (table.size() > 2 && s.stand.wheel[k].deflection_m > table.back().first) tally_.out().beyond_table = true;
    }
    consider(s);
  }
  if (unsolved_) static_cast<void>(tally_.meet(unsolved_->pose, unsolved_->forces));
  if (ended_at_) tally_.ended(trail_.back().pose, linkage_.ground(), *ended_at_);
  if (lost_ != base::SolveStatus::converged) tally_.lost(lost_);
  tally_.fell(drops_, deepest_);
  return tally_.conclude(climbing_, holding_);
}

}  // namespace

Crossing cross_chain(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings) { return ChainWalk(vehicle, profile, settings).go(); }

}  // namespace hardpan::performance::detail
