// SPDX-License-Identifier: Apache-2.0
#include "performance/friction_needed.hpp"

#include <algorithm>
#include <cmath>

#include "performance/obstacle_view.hpp"

namespace hardpan::performance {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kLeast = 1e-4;              // a crossing is judged with a friction above 0; also how finely torque's share is looked for
constexpr int kSizes = 16;

template <class ProfileOfSize>
FrictionNeeded for_sizes(const ProfileVehicle& vehicle, double up_to_m, const ProfileOfSize& profile) {
  FrictionNeeded worst{.friction = 0, .solve = {.status = base::SolveStatus::converged}};
  for (int i = kSizes; i >= 1 && std::isfinite(worst.friction); --i) {
    const FrictionNeeded n = friction_needed(vehicle, profile(up_to_m * i / kSizes));
    if (std::isnan(n.friction)) return n;
    if (n.friction > worst.friction) worst = n;
  }
  return worst;
}

}  // namespace

FrictionNeeded friction_needed(const ProfileVehicle& vehicle, const Profile& profile) {
  const auto judged = [&](std::optional<double> friction) { return cross(vehicle, profile, {.friction = friction, .most_friction = kMostFriction}); };
  const Crossing free = judged(std::nullopt);
  FrictionNeeded out{.solve = free.solve};
  if (!free.solve.converged()) return out;
  const bool helped_by_none = free.stopped_by && *free.stopped_by != Obstruction::friction && *free.stopped_by != Obstruction::torque;
  if (helped_by_none || !std::isfinite(free.least_friction)) {
    out.friction = kInfinity;
    out.stopped_by = free.stopped_by;
    return out;
  }
  double fails = free.least_friction;
  const Crossing at_least = judged(std::max(kLeast, fails * (1 + 1e-6) + 1e-9));
  out.solve = at_least.solve;
  if (!at_least.solve.converged()) return out;
  if (at_least.passes) {
    out.friction = fails;
    if (fails > kLeast) out.stopped_by = Obstruction::friction;
    return out;
  }
  out.stopped_by = at_least.stopped_by;
  const Crossing most = judged(kMostFriction);
  out.solve = most.solve;
  if (!most.solve.converged()) return out;
  if (!most.passes) {
    out.friction = kInfinity;
    out.stopped_by = most.stopped_by;
    return out;
  }
  double passes = kMostFriction;
  while (passes - fails > kLeast) {
    const double middle = 0.5 * (passes + fails);
    const Crossing c = judged(middle);
    if (!c.solve.converged()) {
      out.solve = c.solve;
      return out;
    }
    (c.passes ? passes : fails) = middle;
  }
  out.friction = passes;
  return out;
}

FrictionNeeded friction_needed_for_steps(const ProfileVehicle& vehicle, double up_to_m) { return for_sizes(vehicle, up_to_m, [](double size) { return Profile::step(size); }); }

FrictionNeeded friction_needed_for_gaps(const ProfileVehicle& vehicle, double up_to_m) {
  return for_sizes(vehicle, up_to_m, [&](double size) { return Profile::gap(size, std::max(no_bottom_m(vehicle), 4 * up_to_m)); });
}

}  // namespace hardpan::performance
