// SPDX-License-Identifier: Apache-2.0
// The way is walked in advances of a share of a wheel radius. Between two poses the same wheels must stand on the same pieces of ground; where
// they do not, the change is found by halving and both sides of it are solved: the least friction jumps there, and the larger side counts
// (contacts that go on, METHODS 4.6). Within a stretch of one contact set the friction is smooth; its largest sample is refined by golden section.
#include "performance/crossing.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "performance/detail/chain_walk.hpp"
#include "performance/detail/rolling.hpp"
#include "performance/detail/tally.hpp"

namespace hardpan::performance {
namespace {

using detail::Rolling;

constexpr double kChangeWidth = 1e-10;      // of the vehicle's length: to which a change of contacts is found
constexpr double kMostTurn_rad = 0.03;      // pitch between neighbouring poses of one stretch
constexpr double kRiseAllowed = 1e-7;       // of the length: a pose this much higher at one travel is no turn downhill

struct Next {
  Pose pose;
  bool follows = false;    // the same wheels on the same pieces of ground, pitch near
};

class Walk {
 public:
  Walk(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings)
      : rolling_(vehicle, profile), vehicle_(&vehicle), settings_(&settings) {}

  // `at` is called with every pose that is solved, in order of travel, and ends the walk by returning false.
  template <class At>
  void go(const At& at);

  enum class End { arrived, stopped, falls, rises };   // falls: no pose below; rises: only poses above
  [[nodiscard]] End end() const { return end_; }
  [[nodiscard]] double end_m() const { return end_m_; }
  [[nodiscard]] int drops() const { return drops_; }
  [[nodiscard]] double deepest_drop_m() const { return deepest_; }
  [[nodiscard]] const Pose& last() const { return last_; }
  [[nodiscard]] const Rolling& rolling() const { return rolling_; }

 private:
  [[nodiscard]] static bool same_contacts(const Pose& a, const Pose& b);
  [[nodiscard]] std::optional<Next> advance(const Pose& from, double travel, double turned) const;
  [[nodiscard]] Forces solve(const Pose& pose) const;
  void drop(const Pose& from, const Pose& to);

  Rolling rolling_;
  const ProfileVehicle* vehicle_;
  const CrossingSettings* settings_;
  Pose last_;
  End end_ = End::arrived;
  double end_m_ = std::numeric_limits<double>::quiet_NaN(), deepest_ = 0;
  int drops_ = 0;
};

bool Walk::same_contacts(const Pose& a, const Pose& b) {
  for (std::size_t k = 0; k < a.axles; ++k) {
    if (a.wheel[k].carries != b.wheel[k].carries) return false;
    if (a.wheel[k].carries && a.wheel[k].feature != b.wheel[k].feature) return false;
  }
  return true;
}

// The pose at a travel a little further. Where the way the body stood does not go on, it is let go and turns downhill.
std::optional<Next> Walk::advance(const Pose& from, double travel, double turned) const {
  auto near = rolling_.pose_of_pair(travel, from.pair, from.pitch_rad, 2 * std::abs(turned), kMostTurn_rad);
  if (!near) near = rolling_.pose_near(travel, from.pitch_rad, 2 * std::abs(turned), kMostTurn_rad);
  if (!near) near = rolling_.let_go(travel, from.pitch_rad);
  if (!near) return std::nullopt;
  return Next{*near, same_contacts(from, *near) && std::abs(near->pitch_rad - from.pitch_rad) < kMostTurn_rad};
}

Forces Walk::solve(const Pose& pose) const { return least_friction(*vehicle_, pose, settings_->split, settings_->most_friction); }

void Walk::drop(const Pose& from, const Pose& to) {
  ++drops_;
  deepest_ = std::max(deepest_, from.cg.z_m - to.cg.z_m);
}

template <class At>
void Walk::go(const At& at) {
  const double size = rolling_.size_m(), lead = 0.5 * size + 2 * rolling_.largest_radius_m();
  const double first = rolling_.ground().first_x() - lead, last = rolling_.ground().last_x() + lead;
  const double stride = settings_->step_share * rolling_.smallest_radius_m();
  const auto& points = rolling_.ground().points();
  const double slope = std::atan2(points[1].z_m - points[0].z_m, points[1].x_m - points[0].x_m);
  // On the first straight piece all wheels stand: the pose nearest to its slope.
  auto start = rolling_.pose_near(first, slope, 1e-6, kSteepestPitch_rad);
  if (!start) {
    end_ = End::falls;
    end_m_ = first;
    return;
  }
  Pose here = *start;
  double turned = 1e-6;
  if (!at(here, solve(here))) return;
  while (here.travel_m < last) {
    double target = std::min(here.travel_m + stride, last);
    std::optional<Next> next = advance(here, target, turned);
    bool changed = false;
    if (!next || !next->follows) {
      // The change lies between: the last pose of this stretch and the first beyond it.
      changed = true;
      double low = here.travel_m, high = target;
      while (high - low > kChangeWidth * size) {
        const double middle = 0.5 * (low + high);
        auto m = advance(here, middle, turned);
        if (m && m->follows) {
          turned = m->pose.pitch_rad - here.pitch_rad;
          here = m->pose;
          low = middle;
        } else {
          next = m;
          high = middle;
        }
      }
      if (here.travel_m == low && !at(here, solve(here))) {
        end_ = End::stopped;
        end_m_ = here.travel_m;
        return;
      }
      if (!next) {
        end_ = End::falls;
        end_m_ = high;
        last_ = here;
        return;
      }
    }
    Pose there = next->pose;
    if (changed) {
      if (there.cg.z_m > here.cg.z_m + kRiseAllowed * size) {   // nothing lifts it there
        end_ = End::rises;
        end_m_ = there.travel_m;
        last_ = here;
        return;
      }
      if (there.cg.z_m < here.cg.z_m - kRiseAllowed * size) drop(here, there);
    }
    // A pose that nothing holds is left for the next one that the wheel which stays allows; one that only friction keeps from turning
    // downhill is left for the pose below where that asks less.
    Forces forces = solve(there);
    const int turns = rolling_.turns(there);
    if (turns != 0 || forces.solve.status == base::SolveStatus::no_solution) {
      const double held_with = forces.solve.converged() ? forces.friction : std::numeric_limits<double>::infinity();
      double least = held_with;
      std::optional<Pose> best;
      bool anything = false;
      const auto consider = [&](const std::optional<Pose>& pose) {
        if (!pose) return;
        anything = true;
        const Forces f = solve(*pose);
        if (!f.solve.converged() || f.friction >= least) return;
        least = f.friction;
        best = pose;
        forces = f;
      };
      if (turns != 0) consider(rolling_.let_go(there.travel_m, there.pitch_rad + 1e-7 * turns));
      if (std::isinf(held_with)) {
        for (const int direction : {-1, 1}) consider(rolling_.next_pose(there, direction));
        if (!anything) {
          end_ = End::falls;
          end_m_ = there.travel_m;
          last_ = there;
          return;
        }
      }
      if (best && !(same_contacts(there, *best) && std::abs(best->pitch_rad - there.pitch_rad) < 1e-6)) {
        drop(there, *best);
        there = *best;
      }
    }
    turned = changed ? 1e-6 : there.pitch_rad - here.pitch_rad;
    here = there;
    if (!at(here, forces)) {
      end_ = End::stopped;
      end_m_ = here.travel_m;
      return;
    }
  }
}

// The poses of one kind as they come: the hardest, and the last two for refining a peak inside a stretch of one contact set.
class Peak {
 public:
  Peak(const Rolling& rolling, const CrossingSettings& settings) : rolling_(&rolling), settings_(&settings) { hardest_.friction = 0; }

  void add(const Pose& pose, const Forces& forces) {
    if (!forces.solve.converged()) {   // beyond most_friction: nothing to refine
      if (std::isfinite(hardest_.friction)) hardest_ = {std::numeric_limits<double>::quiet_NaN(), pose.travel_m, pose, forces};
      seen_ = 0;
      return;
    }
    if (!(hardest_.friction >= forces.friction)) consider(pose, forces);
    // A level stretch is no peak, whatever rounding makes of it.
    if (seen_ >= 2 && friction_[1] >= friction_[0] && friction_[1] > forces.friction + 1e-9 && friction_[1] >= 0.9 * hardest_.friction &&
        alike(pose_[0], pose_[1]) && alike(pose_[1], pose)) {
      refine(pose_[0].travel_m, pose.travel_m);
    }
    pose_[0] = pose_[1];
    friction_[0] = friction_[1];
    pose_[1] = pose;
    friction_[1] = forces.friction;
    seen_ = std::min(seen_ + 1, 2);
  }
  void interrupt() { seen_ = 0; }
  [[nodiscard]] const Hardest& hardest() const { return hardest_; }

 private:
  static bool alike(const Pose& a, const Pose& b) {
    for (std::size_t k = 0; k < a.axles; ++k) {
      if (a.wheel[k].carries != b.wheel[k].carries || (a.wheel[k].carries && a.wheel[k].feature != b.wheel[k].feature)) return false;
    }
    return true;
  }
  void consider(const Pose& pose, const Forces& forces) {
    if (std::isnan(hardest_.friction)) return;
    if (forces.friction > hardest_.friction || !(hardest_.pose.axles > 0)) hardest_ = {forces.friction, pose.travel_m, pose, forces};
  }
  // Golden section on the travel, to 1e-8 of the friction where the peak is smooth.
  void refine(double low, double high) {
    constexpr double kGolden = 0.6180339887498949;
    const auto friction_at = [&](double travel) {
      const auto pose = rolling_->pose_near(travel, pose_[1].pitch_rad, 1e-4, kMostTurn_rad);
      if (!pose || !alike(*pose, pose_[1])) return -1.0;
      const Forces f = least_friction(rolling_->vehicle(), *pose, settings_->split, settings_->most_friction);
      if (!f.solve.converged()) return -1.0;
      consider(*pose, f);
      return f.friction;
    };
    double a = high - kGolden * (high - low), b = low + kGolden * (high - low), at_a = friction_at(a), at_b = friction_at(b);
    while (high - low > 1e-6 * rolling_->smallest_radius_m()) {
      if (at_a >= at_b) {
        high = b;
        b = a;
        at_b = at_a;
        a = high - kGolden * (high - low);
        at_a = friction_at(a);
      } else {
        low = a;
        a = b;
        at_a = at_b;
        b = low + kGolden * (high - low);
        at_b = friction_at(b);
      }
    }
  }

  const Rolling* rolling_;
  const CrossingSettings* settings_;
  Hardest hardest_;
  std::array<Pose, 2> pose_{};
  std::array<double, 2> friction_{};
  int seen_ = 0;
};

}  // namespace

const char* name(Obstruction reason) {
  switch (reason) {
    case Obstruction::friction: return "friction";
    case Obstruction::torque: return "torque";
    case Obstruction::hang_up: return "hang-up";
    case Obstruction::tip_over: return "tip-over";
    case Obstruction::no_ground: return "a wheel does not reach the ground";
  }
  return "";
}

namespace {

// One rigid body on rigid wheels.
Crossing cross_rigid(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings) {
  Walk walk(vehicle, profile, settings);
  detail::Tally tally(settings, walk.rolling().size_m(), [&](std::size_t, const Frame& f, double friction) { return least_torque(vehicle, f.pose, settings.split, friction); });
  Peak climbing(walk.rolling(), settings), holding(walk.rolling(), settings);
  walk.go([&](const Pose& pose, const Forces& f) {
    if (!tally.meet(pose, f)) return false;
    const bool climbs = detail::climbs(pose);
    (climbs ? climbing : holding).add(pose, f);
    (climbs ? holding : climbing).interrupt();
    return true;
  });
  tally.fell(walk.drops(), walk.deepest_drop_m());
  if (walk.end() == Walk::End::rises) tally.met(Obstruction::no_ground, walk.end_m());
  if (walk.end() == Walk::End::falls) tally.ended(walk.last(), walk.rolling().ground(), walk.end_m());
  return tally.conclude(climbing.hardest(), holding.hardest());
}

}  // namespace

Crossing cross(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings) {
  HARDPAN_ASSERT(settings.most_friction > 0 && settings.step_share > 0 && (!settings.friction || *settings.friction > 0));
  return bends(vehicle) || flattens(vehicle) ? detail::cross_chain(vehicle, profile, settings) : cross_rigid(vehicle, profile, settings);
}

namespace {

template <class ProfileOf>
ObstacleLimit largest(const ProfileVehicle& vehicle, const CrossingSettings& settings, const SearchSettings& search, double most,
                      const ProfileOf& profile_of) {
  HARDPAN_ASSERT(settings.friction && search.tolerance_m > 0 && search.ladder > 0 && most > 0);
  ObstacleLimit out;
  out.solve = {.tolerance = search.tolerance_m, .residual_unit = "m"};
  // True: goes on. False: found a size that is not crossed, or one that could not be solved.
  const auto try_size = [&](double size) {
    const Crossing c = cross(vehicle, profile_of(size), settings);
    ++out.solve.steps;
    out.solve.evaluations += c.poses;
    if (!c.solve.converged()) {
      out.solve.status = c.solve.status;
      return std::optional<bool>();
    }
    if (c.passes) {
      out.passes_m = size;
    } else {
      out.fails_m = size;
      out.stopped_by = c.stopped_by;
      out.stopped_at_m = c.stopped_at_m;
    }
    return std::optional<bool>(c.passes);
  };
  for (int i = 1; i <= search.ladder && std::isnan(out.fails_m); ++i) {
    if (!try_size(most * i / search.ladder)) return out;
  }
  if (std::isnan(out.fails_m)) {
    out.solve.status = base::SolveStatus::out_of_range;
    return out;
  }
  while (out.fails_m - out.passes_m > search.tolerance_m) {
    if (!try_size(0.5 * (out.passes_m + out.fails_m))) return out;
  }
  out.solve.residual = out.fails_m - out.passes_m;
  out.solve.status = base::SolveStatus::converged;
  return out;
}

}  // namespace

ObstacleLimit highest_step(const ProfileVehicle& vehicle, const CrossingSettings& settings, const SearchSettings& search) {
  double radius = 0;
  for (const ProfileAxle& a : vehicle.axles) radius = std::max(radius, a.radius_m);
  return largest(vehicle, settings, search, search.largest_m > 0 ? search.largest_m : 4 * radius,
                 [](double height) { return Profile::step(height); });
}

ObstacleLimit widest_gap(const ProfileVehicle& vehicle, const CrossingSettings& settings, const SearchSettings& search) {
  double radius = 0;
  for (const ProfileAxle& a : vehicle.axles) radius = std::max(radius, a.radius_m);
  const double length = vehicle.axles.back().x_m - vehicle.axles.front().x_m + 2 * radius;
  return largest(vehicle, settings, search, search.largest_m > 0 ? search.largest_m : length,
                 [length](double width) { return Profile::gap(width, 4 * length); });
}

}  // namespace hardpan::performance
