// SPDX-License-Identifier: Apache-2.0
// The limit of a lane is where the worst of its bounds is just used up, on the rising part of its way; where the way turns down before, its
// highest place. Both are found with the slope as one unknown more and one equation more: share of a bound = target, or place along the way = target.
// A lane that is led starts at the known limit with the slopes there; one that walks takes steps along its way from the level.
#include "performance/detail/slope_lanes.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

namespace hardpan::performance::detail {
namespace {

constexpr double kTopWithin = 2e-4;    // rad: the parabola through three places no longer promises more (0.01 deg)
constexpr double kOnBound = 2e-4;      // of a bound
constexpr double kFirstStep = 0.05, kLongestStep = 0.25, kShortestStep = 1e-5, kKinkStep = 2e-3;   // of a walk, in the unknowns and the gradient together
constexpr int kMostRounds = 80;        // of a walk; observed 15 to 30

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
  double step = 0, start = 0, share_of_way = 1;   // start: along the way, where nothing is known yet; share: of the way to the vertex, less after failures
  LaneSlopes slopes{};          // of the last place found
};
void climb_together(std::span<SlopeLane* const> lanes, std::span<Top> tops, Together& roll) {
  std::vector<Aim> aims;
  std::vector<std::size_t> index;
  for (int round = 0; round < 14; ++round) {
    aims.clear(), index.clear();
    for (std::size_t i = 0; i < lanes.size(); ++i) {
      Top& t = tops[i];
      if (t.done) continue;
      double next = t.start;
      SlopeLane& lane = *lanes[i];
      if (t.have == 0) t.step = std::max(0.05, 0.15 * t.start);
      else if (t.have == 1) next = t.middle.along - t.step, lane.x = t.middle.x;
      else if (t.have == 2) next = t.middle.along + t.step, lane.x = t.middle.x;
      else if (t.right.gradient > t.middle.gradient) {
        if (t.middle.share > 1 || t.right.share > 1) {  // its bounds end it on the rising part
          t.done = t.beyond = true;
          lane.x = t.middle.share > 1 ? t.middle.x : t.right.x;
          continue;
        }
        t.step *= 1.5;
        next = t.right.along + t.step, lane.x = t.right.x;
      } else if (t.left.gradient > t.middle.gradient) {
        t.step *= 1.5;
        next = t.left.along - t.step, lane.x = t.left.x;
      } else {
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
        next = t.middle.along + std::clamp(vertex, 0.9 * l, 0.9 * r) * t.share_of_way, lane.x = t.middle.x;
      }
      if (!(next > 0.005)) next = 0.5 * (next - t.step > 0 ? next : t.left.along);
      aims.push_back({&lane, Equation::along, next});
      index.push_back(i);
    }
    if (aims.empty()) return;
    solve_together(aims, roll);
    for (std::size_t k = 0; k < aims.size(); ++k) {
      SlopeLane& lane = *aims[k].lane;
      Top& t = tops[index[k]];
      if (!lane.good) {
        // Too far ahead or back: a smaller step; twice in vain, lost.
        t.step *= 0.4;
        t.share_of_way *= 0.4;
        if (t.have > 0) lane.slopes = t.slopes;
        if (t.have == 0 || ++t.tries > 3) t.done = true;
        continue;
      }
      const Place p = place_of(lane);
      t.slopes = lane.slopes;
      t.share_of_way = 1;
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

// Brings lanes to an end and writes it down.
class Ends {
 public:
  Ends(Lanes lanes, std::span<LaneLimit> out, double heading_rad, Together& roll) : lanes_(lanes), out_(out), heading_rad_(heading_rad), roll_(roll) {
    for (const auto& lane : lanes) before_.push_back(lane->evaluations);
  }

  void conclude(const SlopeLane& lane, const Place& p, double gradient, HeadingFactor factor) {
    const auto i = static_cast<std::size_t>(std::find_if(lanes_.begin(), lanes_.end(), [&](const auto& l) { return l.get() == &lane; }) - lanes_.begin());
    HeadingReach r{.gradient_rad = gradient, .factor = factor, .drift_rad = std::atan(p.x[0]), .largest_slip = p.slip,
                   .solve = {.status = factor == HeadingFactor::none ? base::SolveStatus::out_of_range : base::SolveStatus::converged, .residual = kTopWithin, .tolerance = kLaneAccuracy_rad,
                             .residual_unit = "rad", .evaluations = lane.evaluations - before_[i]}};
    if (gradient < 0) {  // it would have to go the other way: not even the level
      r.gradient_rad = 0;
      r.drift_rad = r.largest_slip = contact::kNoNumber;
      r.solve.status = base::SolveStatus::no_solution;
    }
    out_[i] = {true, r, {}};
    std::copy_n(p.x.begin(), kUnknowns, out_[i].z.begin());
  }

  // Where the worst bound is used up, provided that the slope still rises up to there; the others go to `turned`.
  void at_bounds(std::vector<SlopeLane*>& lanes, std::vector<SlopeLane*>* turned) {
    std::vector<Aim> aims;
    for (SlopeLane* lane : lanes) aims.push_back({lane, Equation::bound, 1});
    solve_together(aims, roll_);
    std::vector<Aim> below;
    std::vector<Place> at;
    for (SlopeLane* lane : lanes) {
      if (!lane->good) continue;
      below.push_back({lane, Equation::bound, 0.96});
      at.push_back(place_of(*lane));
    }
    solve_together(below, roll_);
    for (std::size_t k = 0; k < below.size(); ++k) {
      SlopeLane& lane = *below[k].lane;
      if (!lane.good) continue;
      if (lane.x[kUnknowns] < at[k].gradient) conclude(lane, at[k], at[k].gradient, at[k].most);
      else if (turned) turned->push_back(&lane);
    }
  }

  // Highest places, and bounds that lie before them.
  void at_tops(std::vector<SlopeLane*>& lanes, std::span<Top> tops) {
    climb_together(lanes, tops, roll_);
    std::vector<SlopeLane*> bounded;
    for (std::size_t i = 0; i < lanes.size(); ++i) {
      if (tops[i].beyond) bounded.push_back(lanes[i]);
      else if (tops[i].gradient != 0) conclude(*lanes[i], tops[i].middle, tops[i].gradient, ground_gives_out(heading_rad_));
    }
    at_bounds(bounded, nullptr);
  }

 private:
  Lanes lanes_;
  std::span<LaneLimit> out_;
  double heading_rad_;
  Together& roll_;
  std::vector<int> before_;
};

bool is_not_carried(TurnStatus trouble) { return trouble == TurnStatus::bogs_down || trouble == TurnStatus::belly_contact || trouble == TurnStatus::beyond_wheel_data; }

double length(const LaneUnknown& from, const LaneUnknown& to) {
  double square = 0;
  for (std::size_t k = 0; k < kLaneUnknowns; ++k) square += (to[k] - from[k]) * (to[k] - from[k]);
  return std::sqrt(square);
}

// One lane's walk: the last two places, and the step it takes next.
struct Walk {
  SlopeLane* lane;
  Place before, now;
  LaneUnknown direction{};
  LaneSlopes slopes{};       // at now
  double step = kFirstStep;
  bool walks = true, near_bound = false, looked_ahead = false;

  void towards(const LaneUnknown& x) {
    const double far = length(now.x, x);
    for (std::size_t k = 0; k < kLaneUnknowns; ++k) direction[k] = (x[k] - now.x[k]) / far;
  }
  void go_on(const Place& p) {
    const double went = length(now.x, p.x);
    // Straight on, no further than its bound lies once it has been beyond.
    step = std::min(1.4 * step, kLongestStep * std::max({1.0, std::abs(p.x[1]), std::abs(p.x[2])}));  // rim speeds grow without bound
    if (near_bound && p.share > now.share) step = std::min(step, went * (1 - p.share) / (p.share - now.share));
    before = now;
    now = p;
    for (std::size_t k = 0; k < kLaneUnknowns; ++k) direction[k] = (now.x[k] - before.x[k]) / went;
    slopes = lane->slopes;
    looked_ahead = false;
  }
  // The way falls from now to p: to the vertex of the parabola through the last three places; false where that promises nothing more.
  bool turn_to_top(const Place& p, double& more) {
    const double l = -length(before.x, now.x), r = length(now.x, p.x), dl = before.gradient - now.gradient, dr = p.gradient - now.gradient;
    const double curve = (dr / r - dl / l) / (r - l), slope = dl / l - curve * l, vertex = std::clamp(-0.5 * slope / curve, 0.9 * l, 0.9 * r);
    more = std::max(0.0, slope * vertex + curve * vertex * vertex);
    if (!(more > kTopWithin)) return false;
    step = vertex;
    if (vertex < 0) {
      const LaneUnknown top = now.x;
      step = vertex - l;
      now = before;
      towards(top);
    }
    return true;
  }
};

}  // namespace

void follow_limits(const KnownLimit& known, const TurningMachine& centre, double heading_rad, const HeadingBounds& bounds, Lanes lanes, std::span<LaneLimit> out, contact::SimdTarget target) {
  std::fill(out.begin(), out.end(), LaneLimit{});
  if (!known.travels || known.reach.factor == HeadingFactor::carrying || known.reach.factor == HeadingFactor::not_converged) return;
  Together roll(bounds, target);
  SlopeLane guide(centre, heading_rad);
  std::copy(known.z.begin(), known.z.end(), guide.x.begin());
  guide.x[kUnknowns] = known.reach.gradient_rad;
  SlopeLane* const one[] = {&guide};
  roll(one);
  if (centre.vehicle.control == vehicle::DriveControl::common_speed && guide.balance.common_skid() > kMostSkid) {  // back to just before the kink
    const bool sides = centre.vehicle.steering.kind == vehicle::SteeringKind::skid || centre.vehicle.steering.kind == vehicle::SteeringKind::crab;
    for (std::size_t k = 1; k <= (sides ? 2u : 1u); ++k) guide.x[k] = std::max(guide.x[k], 1 - kMostSkid);
  }
  measure_slopes(one, roll);
  if (!guide.good) return;
  roll(one);

  Ends ends(lanes, out, heading_rad, roll);
  std::vector<SlopeLane*> bounded, climbing;
  for (const auto& lane : lanes) {
    lane->turn.heading_rad = heading_rad;
    lane->x = guide.x;
    lane->slopes = guide.slopes;
    (guide.share > 0.98 ? bounded : climbing).push_back(lane.get());
  }
  ends.at_bounds(bounded, &climbing);
  std::vector<Top> tops(climbing.size(), Top{.start = guide.along});
  ends.at_tops(climbing, tops);
}

void walk_to_limits(std::span<const OnLevel> level, std::size_t bound, double heading_rad, const HeadingBounds& bounds, Lanes lanes, std::span<LaneLimit> out, contact::SimdTarget target) {
  Together roll(bounds, target);
  Ends ends(lanes, out, heading_rad, roll);
  std::vector<SlopeLane*> starting;
  for (std::size_t i = 0; i < lanes.size(); ++i) {
    if (out[i].found || !level[i].travels(bound)) continue;
    SlopeLane& lane = *lanes[i];
    lane.turn.heading_rad = heading_rad;
    lane.x = {};
    std::copy(level[i].z.begin(), level[i].z.end(), lane.x.begin());
    starting.push_back(&lane);
  }
  if (starting.empty()) return;
  measure_slopes(starting, roll);
  roll(starting);
  std::vector<Walk> walks;
  for (SlopeLane* lane : starting) {
    if (!lane->good) continue;
    Walk w{.lane = lane, .before = place_of(*lane), .now = place_of(*lane), .slopes = lane->slopes};
    w.direction[kUnknowns] = 1;
    walks.push_back(w);
  }
  std::vector<Aim> aims;
  std::vector<Walk*> walking;
  for (int round = 0; round < kMostRounds; ++round) {
    aims.clear(), walking.clear();
    for (Walk& w : walks) {
      if (!w.walks) continue;
      for (std::size_t k = 0; k < kLaneUnknowns; ++k) w.lane->x[k] = w.now.x[k] + w.step * w.direction[k];
      aims.push_back({w.lane, Equation::ahead, w.step, w.direction, w.now.x});
      walking.push_back(&w);
    }
    if (aims.empty()) return;
    solve_together(aims, roll);
    for (Walk* w : walking) {
      SlopeLane& lane = *w->lane;
      const auto end = [&](const Place& at, double gradient, HeadingFactor factor) {
        w->walks = false;
        ends.conclude(lane, at, gradient, factor);
      };
      if (!lane.good) {
        const TurnStatus trouble = lane.balance.trouble();
        lane.slopes = w->slopes;
        w->step *= 0.4;
        if (w->step < kKinkStep && !w->looked_ahead) {  // perhaps a kink, as where a wheel locks: the slopes beyond it
          w->looked_ahead = true;
          for (std::size_t k = 0; k < kLaneUnknowns; ++k) lane.x[k] = w->now.x[k] + w->step * w->direction[k];
          SlopeLane* const one[] = {&lane};
          measure_slopes(one, roll);
          if (lane.good) w->slopes = lane.slopes;
        }
        if (w->step > kShortestStep) continue;
        w->walks = false;
        if (is_not_carried(trouble)) end(w->now, w->now.gradient, HeadingFactor::carrying);
        if (trouble == TurnStatus::tips_over) end(w->now, w->now.gradient, HeadingFactor::tips_over);
        // Where a wheel locks the way may turn down in a kink.
        if (trouble == TurnStatus::balanced && w->now.slip > kMostSkid) end(w->now, w->now.gradient, ground_gives_out(heading_rad));
        continue;
      }
      const Place p = place_of(lane);
      double more = 0;
      if (p.gradient < w->now.gradient) {
        if (!w->turn_to_top(p, more)) end(w->now, w->now.gradient + more, ground_gives_out(heading_rad));
      } else if (std::abs(p.share - 1) <= kOnBound) {
        end(p, p.gradient, p.most);
      } else if (p.share > 1) {
        w->near_bound = true;
        w->step *= std::clamp((1 - w->now.share) / (p.share - w->now.share), 0.1, 0.999);
        if (w->step < kShortestStep) end(w->now, w->now.gradient, p.most);
      } else {
        w->go_on(p);
      }
    }
  }
}

KnownLimit find_limit(const TurningMachine& machine, const OnLevel& level, std::size_t bound, double heading_rad, const HeadingBounds& bounds, contact::SimdTarget target) {
  if (!level.travels(bound)) return {.reach = level.otherwise[bound]};
  std::vector<std::unique_ptr<SlopeLane>> lane;
  lane.push_back(std::make_unique<SlopeLane>(machine, heading_rad));
  LaneLimit limit;
  walk_to_limits({&level, 1}, bound, heading_rad, bounds, lane, {&limit, 1}, target);
  return limit.found ? KnownLimit{limit.reach, limit.z, true} : search_limit(machine, heading_rad, bounds);
}

}  // namespace hardpan::performance::detail
