// SPDX-License-Identifier: Apache-2.0
// The limit of a lane is where the worst of its bounds is just used up, on the rising part of its way; where the way turns down before, its
// highest place. Both are found with the slope as one unknown more and one equation more: share of a bound = target, or place along the way = target.
// J is inverted once, at the known limit, and kept up to date by Broyden (1965) in every lane.
#include "performance/detail/slope_lanes.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

namespace hardpan::performance::detail {
namespace {

constexpr double kBalance = 2e-6;      // of the weight: 1e-4 deg of slope
constexpr double kOnTarget = 1e-4;     // of a bound: 0.002 % of slip
constexpr double kMostSlip = 0.949;    // driving: just within what a balance looks at
constexpr double kMostSkid = 0.9995;   // of all wheels: just before they lock, after which steeper slopes find nothing more
constexpr int kMostSteps = 14;         // observed 3 to 7
constexpr double kTopWithin = 2e-4;    // rad: the parabola through three places no longer promises more (0.01 deg)

enum class Equation { bound, along };

// Balances of all lanes at their x, wheels together.
class Together {
 public:
  Together(const HeadingBounds& bounds, contact::SimdTarget target) : bounds_(bounds), target_(target) {}

  void operator()(std::span<SlopeLane* const> lanes) {
    contacts_.clear(), load_.clear(), slip_.clear(), angle_.clear(), guess_.clear(), owner_.clear();
    for (std::size_t i = 0; i < lanes.size(); ++i) {
      SlopeLane& lane = *lanes[i];
      ++lane.evaluations;
      lane.turn.gradient_rad = lane.x[kUnknowns];
      Unknown z{};
      std::copy_n(lane.x.begin(), kUnknowns, z.begin());
      if (!lane.balance.ask(z)) continue;
      for (std::size_t w = 0; w < lane.balance.wheels(); ++w) {
        if (!lane.balance.stands(w)) continue;
        Balance::Ask ask;
        if (!lane.balance.plain(w, ask)) {
          lane.balance.roll(w);
          continue;
        }
        contacts_.push_back(*ask.contact);
        load_.push_back(ask.load_n);
        slip_.push_back(ask.slip_ratio);
        angle_.push_back(ask.slip_angle_rad);
        guess_.push_back(ask.guess_rad);
        owner_.push_back({i, w});
      }
    }
    answers_.resize(contacts_.size());
    contact::wheels_at_load(contacts_, load_, slip_, angle_, guess_, answers_, target_);
    for (std::size_t k = 0; k < owner_.size(); ++k) lanes[owner_[k].first]->balance.answer(owner_[k].second, answers_[k]);
    for (SlopeLane* lane : lanes) tell(*lane);
  }

 private:
  void tell(SlopeLane& lane) const {
    lane.unbalanced = lane.balance.tell();
    lane.slip = lane.balance.largest_slip();
    lane.along = lane.slip + std::abs(lane.x[0]);
    lane.share = 0;
    const auto use = [&](double share, HeadingFactor factor) {
      if (share > lane.share) lane.share = share, lane.most = factor;
    };
    const HeadingFactor gives_out = ground_gives_out(lane.turn.heading_rad);
    use(lane.balance.largest_drive_slip() / kMostSlip, gives_out);
    use(lane.balance.common_skid() / kMostSkid, gives_out);
    if (bounds_.slip < 1) use(lane.slip / bounds_.slip, HeadingFactor::working_slip);
    use(std::abs(std::atan(lane.x[0])) / bounds_.drift_rad, bounds_.beyond_drift);
    use(lane.balance.torque_share(), HeadingFactor::torque);
    use(lane.balance.steering_share(), HeadingFactor::steering);
    use(lane.x[kUnknowns] / lane.balance.tip_rad(), HeadingFactor::tips_over);
  }

  const HeadingBounds& bounds_;
  contact::SimdTarget target_;
  std::vector<contact::Contact> contacts_;
  std::vector<double> load_, slip_, angle_, guess_;
  std::vector<std::pair<std::size_t, std::size_t>> owner_;
  std::vector<contact::WheelAnswer> answers_;
};

LaneUnknown residual(const SlopeLane& lane, Equation equation, double target) {
  LaneUnknown r{};
  std::copy(lane.unbalanced.begin(), lane.unbalanced.end(), r.begin());
  r[kUnknowns] = (equation == Equation::bound ? lane.share : lane.along) - target;
  return r;
}

bool finite(const LaneUnknown& r) {
  return std::all_of(r.begin(), r.end(), [](double v) { return std::isfinite(v); });
}

bool arrived(const LaneUnknown& r) {
  for (std::size_t k = 0; k < kUnknowns; ++k) {
    if (!(std::abs(r[k]) <= kBalance)) return false;
  }
  return std::abs(r[kUnknowns]) <= kOnTarget;
}

std::optional<LaneMatrix> inverted(LaneMatrix m) {  // Gauss and Jordan with pivots
  LaneMatrix out{};
  for (std::size_t i = 0; i < kLaneUnknowns; ++i) out[i][i] = 1;
  for (std::size_t i = 0; i < kLaneUnknowns; ++i) {
    std::size_t pivot = i;
    for (std::size_t r = i + 1; r < kLaneUnknowns; ++r) {
      if (std::abs(m[r][i]) > std::abs(m[pivot][i])) pivot = r;
    }
    if (!(std::abs(m[pivot][i]) > 1e-12)) return std::nullopt;
    std::swap(m[i], m[pivot]);
    std::swap(out[i], out[pivot]);
    const double by = 1 / m[i][i];
    for (std::size_t c = 0; c < kLaneUnknowns; ++c) m[i][c] *= by, out[i][c] *= by;
    for (std::size_t r = 0; r < kLaneUnknowns; ++r) {
      if (r == i) continue;
      const double f = m[r][i];
      for (std::size_t c = 0; c < kLaneUnknowns; ++c) m[r][c] -= f * m[i][c], out[r][c] -= f * out[i][c];
    }
  }
  return out;
}

// Inverse slopes at x by differences, for both equations.
struct Slopes {
  std::optional<LaneMatrix> bound, along;
};
Slopes slopes_at(SlopeLane& lane, Together& roll) {
  SlopeLane* const one[] = {&lane};
  const LaneUnknown x = lane.x;
  roll(one);
  const LaneUnknown bound = residual(lane, Equation::bound, 0), along = residual(lane, Equation::along, 0);
  LaneMatrix a{}, b{};
  for (std::size_t k = 0; k < kLaneUnknowns; ++k) {
    // Backward for the gradient and where forward is beyond the ground: a limit is an edge.
    double by = (k == kUnknowns ? -1e-5 : 1e-5) * std::max(1.0, std::abs(x[k]));
    for (int side = 0; side < 2; ++side, by = -by) {
      lane.x = x;
      lane.x[k] += by;
      roll(one);
      if (finite(residual(lane, Equation::bound, 0))) break;
    }
    const LaneUnknown at = residual(lane, Equation::bound, 0), at_along = residual(lane, Equation::along, 0);
    const double moved = lane.x[k] - x[k];
    for (std::size_t r = 0; r < kLaneUnknowns; ++r) {
      a[r][k] = (at[r] - bound[r]) / moved;
      b[r][k] = (at_along[r] - along[r]) / moved;
    }
  }
  lane.x = x;
  const auto whole = [](const LaneMatrix& m) { return std::all_of(m.begin(), m.end(), finite); };
  return {whole(a) ? inverted(a) : std::nullopt, whole(b) ? inverted(b) : std::nullopt};
}

LaneUnknown times(const LaneMatrix& m, const LaneUnknown& v) {
  LaneUnknown out{};
  for (std::size_t r = 0; r < kLaneUnknowns; ++r) {
    for (std::size_t c = 0; c < kLaneUnknowns; ++c) out[r] += m[r][c] * v[c];
  }
  return out;
}

void update(LaneMatrix& h, const LaneUnknown& dx, const LaneUnknown& dr) {  // Broyden's good formula, in the inverse
  const LaneUnknown hdr = times(h, dr);
  LaneUnknown row{};
  double under = 0;
  for (std::size_t c = 0; c < kLaneUnknowns; ++c) {
    for (std::size_t r = 0; r < kLaneUnknowns; ++r) row[c] += dx[r] * h[r][c];
    under += dx[c] * hdr[c];
  }
  if (!(std::abs(under) > 1e-14)) return;
  for (std::size_t r = 0; r < kLaneUnknowns; ++r) {
    for (std::size_t c = 0; c < kLaneUnknowns; ++c) h[r][c] += (dx[r] - hdr[r]) * row[c] / under;
  }
}

// Every lane from its x to its target; good says which arrived.
struct Aim {
  SlopeLane* lane;
  double target;
};
void solve_together(std::span<const Aim> aims, Equation equation, Together& roll) {
  struct Step {
    LaneUnknown from{}, by{}, residual{};
    double worst = 0;
    int halvings = 0, steps = 0;
    bool active = true, begun = false;
  };
  std::vector<Step> steps(aims.size());
  std::vector<SlopeLane*> active;
  std::vector<std::size_t> index;
  for (;;) {
    active.clear(), index.clear();
    for (std::size_t i = 0; i < aims.size(); ++i) {
      if (steps[i].active) active.push_back(aims[i].lane), index.push_back(i);
    }
    if (active.empty()) return;
    roll(active);
    for (const std::size_t i : index) {
      SlopeLane& lane = *aims[i].lane;
      Step& s = steps[i];
      const LaneUnknown r = residual(lane, equation, aims[i].target);
      const auto end = [&](bool good) { lane.good = good, s.active = false; };
      if (!finite(r)) {
        if (!s.begun || ++s.halvings > 6) {
          end(false);
          continue;
        }
        for (std::size_t k = 0; k < kLaneUnknowns; ++k) s.by[k] *= 0.5, lane.x[k] = s.from[k] + s.by[k];
        continue;
      }
      if (arrived(r)) {
        end(true);
        continue;
      }
      if (++s.steps > kMostSteps) {
        end(false);
        continue;
      }
      if (s.begun) {
        LaneUnknown dr{};
        for (std::size_t k = 0; k < kLaneUnknowns; ++k) dr[k] = r[k] - s.residual[k];
        update(lane.inverse, s.by, dr);
      }
      s.begun = true;
      s.halvings = 0;
      s.from = lane.x;
      s.residual = r;
      s.by = times(lane.inverse, r);
      double share = 1;
      for (std::size_t k = 0; k < kLaneUnknowns; ++k) {
        const double most = k == kUnknowns ? 0.15 : 0.3 * std::max(1.0, std::abs(lane.x[k]));
        share = std::min(share, most / std::max(std::abs(s.by[k]), 1e-300));
      }
      for (std::size_t k = 0; k < kLaneUnknowns; ++k) s.by[k] *= -share, lane.x[k] += s.by[k];
    }
  }
}

struct Place {  // on the way of one lane
  double along = 0, gradient = 0, share = 0, slip = 0;
  HeadingFactor most = HeadingFactor::none;
  LaneUnknown x{};
};
Place place_of(const SlopeLane& lane) { return {lane.along, lane.x[kUnknowns], lane.share, lane.slip, lane.most, lane.x}; }

// The highest place of the way of every lane from where it stands, or the first beyond its bounds. Lanes that lose their way end with good = false.
struct Top {
  Place left, middle, right;
  int have = 0, tries = 0;
  bool done = false, beyond = false;
  double gradient = 0;
  double step = 0;
};
void climb_together(std::span<SlopeLane* const> lanes, std::span<Top> tops, double start, Together& roll) {
  std::vector<Aim> aims;
  std::vector<std::size_t> index;
  for (int round = 0; round < 14; ++round) {
    aims.clear(), index.clear();
    for (std::size_t i = 0; i < lanes.size(); ++i) {
      Top& t = tops[i];
      if (t.done) continue;
      double next = start;
      SlopeLane& lane = *lanes[i];
      if (t.have == 0) t.step = std::max(0.05, 0.15 * start);
      else if (t.have == 1) next = t.middle.along - t.step, lane.x = t.middle.x;
      else if (t.have == 2) next = t.middle.along + t.step, lane.x = t.middle.x;
      else if (t.right.gradient > t.middle.gradient) {
        if (t.middle.share > 1 || t.right.share > 1) {  // its bounds end it on the rising part
          t.done = t.beyond = true;
          lane.x = t.middle.share > 1 ? t.middle.x : t.right.x;
          continue;
        }
        next = t.right.along + 1.5 * t.step, lane.x = t.right.x;
      } else if (t.left.gradient > t.middle.gradient) next = t.left.along - t.step, lane.x = t.left.x;
      else {
        // Vertex of the parabola through the three.
        const double l = t.left.along - t.middle.along, r = t.right.along - t.middle.along, dl = t.left.gradient - t.middle.gradient, dr = t.right.gradient - t.middle.gradient;
        const double curve = (dr / r - dl / l) / (r - l), slope = dl / l - curve * l, vertex = curve < 0 ? -0.5 * slope / curve : 0;
        const double more = slope * vertex + curve * vertex * vertex;
        if (!(more > kTopWithin)) {
          t.done = true;
          t.gradient = t.middle.gradient + std::max(0.0, more);
          lane.x = t.middle.x;
          t.beyond = t.middle.share > 1;
          continue;
        }
        next = t.middle.along + std::clamp(vertex, 0.9 * l, 0.9 * r), lane.x = t.middle.x;
      }
      if (!(next > 0.005)) next = 0.5 * (next - t.step > 0 ? next : t.left.along);
      aims.push_back({&lane, next});
      index.push_back(i);
    }
    if (aims.empty()) return;
    solve_together(aims, Equation::along, roll);
    for (std::size_t k = 0; k < aims.size(); ++k) {
      SlopeLane& lane = *aims[k].lane;
      Top& t = tops[index[k]];
      if (!lane.good) {
        // Too far ahead or back: a smaller step; twice in vain, lost.
        t.step *= 0.4;
        if (t.have == 0 || ++t.tries > 3) t.done = true;
        continue;
      }
      const Place p = place_of(lane);
      if (t.have == 0) t.middle = p;
      else if (t.have == 1) t.left = p;
      else if (t.have == 2) t.right = p;
      else if (p.along > t.right.along) t.left = t.middle, t.middle = t.right, t.right = p;
      else if (p.along < t.left.along) t.right = t.middle, t.middle = t.left, t.left = p;
      else if (p.gradient > t.middle.gradient) (p.along > t.middle.along ? t.left : t.right) = t.middle, t.middle = p;
      else (p.along > t.middle.along ? t.right : t.left) = p;
      t.have = std::min(t.have + 1, 3);
    }
  }
  for (std::size_t i = 0; i < lanes.size(); ++i) {
    if (!tops[i].done) lanes[i]->good = false, tops[i].done = true;
  }
}

}  // namespace

SlopeLane::SlopeLane(const TurningMachine& m) : machine(&m), balance(m, turn) {
  balance.hold_at_tip(true);
  balance.set_most_slip(0.98);
  balance.set_radius(std::numeric_limits<double>::infinity());
}

void follow_limits(const KnownLimit& known, const TurningMachine& centre, double heading_rad, const HeadingBounds& bounds, std::span<const std::unique_ptr<SlopeLane>> lanes,
                   std::span<LaneLimit> out, contact::SimdTarget target) {
  std::fill(out.begin(), out.end(), LaneLimit{});
  if (!known.travels || known.reach.factor == HeadingFactor::carrying || known.reach.factor == HeadingFactor::none || known.reach.factor == HeadingFactor::not_converged) return;
  Together roll(bounds, target);
  SlopeLane guide(centre);
  guide.turn.heading_rad = heading_rad;
  std::copy(known.z.begin(), known.z.end(), guide.x.begin());
  guide.x[kUnknowns] = known.reach.gradient_rad;
  SlopeLane* const one[] = {&guide};
  roll(one);
  if (centre.vehicle.control == vehicle::DriveControl::common_speed && guide.balance.common_skid() > kMostSkid) {  // back to just before the kink
    const bool sides = centre.vehicle.steering.kind == vehicle::SteeringKind::skid || centre.vehicle.steering.kind == vehicle::SteeringKind::crab;
    for (std::size_t k = 1; k <= (sides ? 2u : 1u); ++k) guide.x[k] = std::max(guide.x[k], 1 - kMostSkid);
  }
  const Slopes slopes = slopes_at(guide, roll);
  roll(one);
  const bool by_bound = guide.share > 0.98;
  const double start = guide.along;
  if (by_bound ? !slopes.bound : !slopes.along) return;

  std::vector<SlopeLane*> climbing;
  std::vector<Aim> bounded;
  std::vector<std::size_t> owner(lanes.size());
  const auto index_of = [&](const SlopeLane* lane) { return static_cast<std::size_t>(std::find_if(lanes.begin(), lanes.end(), [&](const auto& l) { return l.get() == lane; }) - lanes.begin()); };
  std::vector<int> evaluations(lanes.size());
  for (std::size_t i = 0; i < lanes.size(); ++i) {
    SlopeLane& lane = *lanes[i];
    evaluations[i] = lane.evaluations;
    lane.turn.heading_rad = heading_rad;
    lane.x = guide.x;
    if (by_bound) lane.inverse = *slopes.bound, bounded.push_back({&lane, 1.0});
    else lane.inverse = *slopes.along, climbing.push_back(&lane);
  }
  const auto conclude = [&](const Place& p, double gradient, HeadingFactor factor, const SlopeLane& lane) {
    const std::size_t i = index_of(&lane);
    HeadingReach r{.gradient_rad = gradient, .factor = factor, .drift_rad = std::atan(p.x[0]), .largest_slip = p.slip,
                   .solve = {.status = base::SolveStatus::converged, .residual = kTopWithin, .tolerance = kLaneAccuracy_rad, .residual_unit = "rad", .evaluations = lane.evaluations - evaluations[i]}};
    if (gradient < 0) {  // it would have to go the other way: not even the level
      r.gradient_rad = 0;
      r.drift_rad = r.largest_slip = contact::kNoNumber;
      r.solve.status = base::SolveStatus::no_solution;
    }
    out[i] = {true, r};
  };
  // Where the worst bound is used up, provided that the slope still rises up to there.
  const auto by_bounds = [&](std::vector<Aim>& aims, std::vector<SlopeLane*>* turned) {
    solve_together(aims, Equation::bound, roll);
    std::vector<Aim> before;
    std::vector<Place> at;
    for (const Aim& a : aims) {
      if (!a.lane->good) continue;
      before.push_back({a.lane, 0.96});
      at.push_back(place_of(*a.lane));
    }
    solve_together(before, Equation::bound, roll);
    for (std::size_t k = 0; k < before.size(); ++k) {
      SlopeLane& lane = *before[k].lane;
      if (!lane.good) continue;
      if (lane.x[kUnknowns] < at[k].gradient) conclude(at[k], at[k].gradient, at[k].most, lane);
      else if (turned) turned->push_back(&lane);
    }
  };
  if (by_bound) {
    by_bounds(bounded, &climbing);
    if (!slopes.along) return;
    for (SlopeLane* lane : climbing) lane->inverse = *slopes.along;
  }
  std::vector<Top> tops(climbing.size());
  climb_together(climbing, tops, start, roll);
  bounded.clear();
  for (std::size_t i = 0; i < climbing.size(); ++i) {
    SlopeLane& lane = *climbing[i];
    if (tops[i].beyond && slopes.bound) {
      lane.inverse = *slopes.bound;
      bounded.push_back({&lane, 1.0});
    } else if (tops[i].gradient != 0 && !tops[i].beyond) {
      conclude(tops[i].middle, tops[i].gradient, ground_gives_out(heading_rad), lane);
    }
  }
  by_bounds(bounded, nullptr);
}

}  // namespace hardpan::performance::detail
