// SPDX-License-Identifier: Apache-2.0
// What a crossing comes to, pose by pose: first place of every reason, torque, frames. For the module alone.
#pragma once

#include <functional>
#include <vector>

#include "performance/crossing.hpp"
#include "performance/detail/rolling.hpp"

namespace hardpan::performance::detail {

// Going up, or level.
[[nodiscard]] inline bool climbs(const Pose& pose) { return pose.climb_ratio >= -1e-12; }

class Tally {
 public:
  // Least torque at a friction of the frame met as the so-manieth.
  using Torque = std::function<Forces(std::size_t, const Frame&, double)>;
  Tally(const CrossingSettings& settings, double size_m, Torque torque);

  // In order of travel. False: the pose was not solved, and there will be no verdict but where it is blocked already.
  bool meet(const Pose& pose, const Forces& forces);
  // From here on it cannot be followed; no verdict but where it is blocked already.
  void lost(base::SolveStatus status);
  void met(Obstruction reason, double travel);
  void fell(int drops, double deepest_m);
  void ended(const Pose& last, const Ground& ground, double travel);   // no pose leads on
  [[nodiscard]] Crossing conclude(const Hardest& climbing, const Hardest& holding);
  [[nodiscard]] Crossing& out() { return out_; }

 private:
  [[nodiscard]] const std::optional<double>& of(Obstruction reason) const { return first_[static_cast<std::size_t>(reason)]; }
  [[nodiscard]] bool blocked() const { return of(Obstruction::no_ground) || of(Obstruction::tip_over) || of(Obstruction::hang_up); }   // by its shape, whatever the friction
  void torques(double friction, bool judged);

  const CrossingSettings* settings_;
  double size_, allowed_;
  Torque torque_;
  Crossing out_;
  std::vector<Frame> met_;
  std::array<std::optional<double>, 5> first_{};
};

}  // namespace hardpan::performance::detail
