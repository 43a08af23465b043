// SPDX-License-Identifier: Apache-2.0
// Does a vehicle get over an obstacle in profile, at which place is it hardest, what stops it, and how high a step or wide a gap it takes.
//
// The vehicle goes forward pose by pose, so slowly that every pose is in balance. Where the centre of gravity rises, lack of friction or torque stops
// it; where it falls, lack of friction lets it slip down by itself: the two are told apart, and `descents_held` says whether the second counts as
// failure. Where no balance is possible at all the vehicle turns or drops into the next pose below, which is counted. Ranges, limits and what is left
// out: crossing_pose.hpp, crossing_forces.hpp. One rigid body on rigid wheels is followed exactly (friction to 1e-7); chains of bodies, and wheels
// that flatten, by least energy with the tractions as loads (friction to about 1e-3: rigid wheels then bite 2e-4 of their radius into an edge). Hard
// ground: the edge of a step or gap in soil breaks, which is not computed. docs/theory/obstacles.md.
//
//   const Crossing c = cross(v, Profile::step(0.12), {.friction = 0.7});
//   if (!c.passes) say(name(*c.stopped_by), c.stopped_at_m);
//   const ObstacleLimit h = highest_step(v, {.friction = 0.7}, {});
#pragma once

#include <array>
#include <limits>
#include <optional>
#include <vector>

#include "base/solve.hpp"
#include "performance/crossing_forces.hpp"
#include "performance/crossing_pose.hpp"

namespace hardpan::performance {

enum class Obstruction {
  friction,   // more friction would do, up to most_friction
  torque,     // friction would do, the torque limits do not
  hang_up,    // ground stands above the underbody line
  tip_over,   // no friction would hold it and it does not come to rest on other wheels
  no_ground   // a wheel falls into a hole, or no pose leads on (a path with a wheel rolling back is not looked for)
};
[[nodiscard]] const char* name(Obstruction reason);

struct CrossingSettings {
  std::optional<double> friction;             // coefficient at the place, above 0; absent: only what is needed is told
  TorqueSplit split = TorqueSplit::best;      // the verdict's
  bool descents_held = true;                  // slipping down out of control is a failure
  double most_friction = 5;                   // looked for up to here; above 1.2 hardly any ground gives it (common practice, no source)
  double step_share = 0.02;                   // largest advance from pose to pose, of the smallest wheel radius; five times that for chains and soft wheels
  double frames_every_m = 0;                  // keep a frame about every so much travel; 0: none
};

// A pose on the way with the forces of the least friction there (no forces where there is no balance).
struct Frame {
  Pose pose;
  Forces forces;
};

// The hardest place of one kind.
struct Hardest {
  double friction = 0;                        // least that holds every pose of this kind (one-sided limits at corners included)
  double travel_m = std::numeric_limits<double>::quiet_NaN();
  Pose pose;                                  // at that travel
  Forces forces;                              // of the least-friction answer there
};

struct Crossing {
  bool passes = false;                        // judged with `friction` where one was given, else with most_friction
  std::optional<Obstruction> stopped_by;      // what no friction helps against first (no_ground, tip_over, hang_up), then friction, then torque
  double stopped_at_m = std::numeric_limits<double>::quiet_NaN();   // first travel of that reason
  Hardest climbing, holding;                  // going up / going down, for `split`; friction NaN where most_friction would not do
  double least_friction = std::numeric_limits<double>::quiet_NaN(); // of both, or of climbing alone when descents are not held
  double critical_m = std::numeric_limits<double>::quiet_NaN();     // where it is needed
  double largest_torque_n_m = std::numeric_limits<double>::quiet_NaN();  // of an axle, least possible at `friction` (else at least_friction), over all poses
  double largest_torque_share = std::numeric_limits<double>::quiet_NaN();// the same over the torque limits
  double torque_at_m = std::numeric_limits<double>::quiet_NaN();
  std::array<double, kMostAxles> axle_torque_n_m{};   // largest of each axle in those answers, which share out one way of several; 0 where there are none
  int drops = 0;                              // turns or falls into a lower pose
  double deepest_drop_m = 0;                  // fall of the centre of gravity in one of them
  // converged: every pose was solved (residual: largest imbalance, N). Else the status of the first pose that was not, and no verdict.
  base::SolveReport solve;
  int poses = 0;                              // at which forces were solved
  std::vector<Frame> frames;                  // in order of travel, as asked for
  double largest_deflection_m = 0;            // of a wheel that flattens, all poses
  bool beyond_table = false;                  // a wheel was pressed deeper than its table of loads goes
};
[[nodiscard]] Crossing cross(const ProfileVehicle& vehicle, const Profile& profile, const CrossingSettings& settings);

struct SearchSettings {
  double tolerance_m = 1e-4;                  // width of the bracket left
  double largest_m = 0;                       // looked up to here; 0: twice the largest wheel diameter (step), the vehicle's length (gap)
  int ladder = 16;                            // sizes tried from below before halving: the smallest size that stops it is wanted
};
struct ObstacleLimit {
  double passes_m = 0;                        // this size and the ladder's below it are crossed
  double fails_m = std::numeric_limits<double>::quiet_NaN();   // this size is not
  std::optional<Obstruction> stopped_by;      // at fails_m
  double stopped_at_m = std::numeric_limits<double>::quiet_NaN();
  // converged: residual fails_m - passes_m within tolerance_m. out_of_range: even largest_m is crossed, passes_m is that. Else of the crossing that failed.
  base::SolveReport solve;
};
// A vertical step up; a slot with vertical faces and no ground within reach. `settings.friction` must be given.
[[nodiscard]] ObstacleLimit highest_step(const ProfileVehicle& vehicle, const CrossingSettings& settings, const SearchSettings& search);
[[nodiscard]] ObstacleLimit widest_gap(const ProfileVehicle& vehicle, const CrossingSettings& settings, const SearchSettings& search);

}  // namespace hardpan::performance
