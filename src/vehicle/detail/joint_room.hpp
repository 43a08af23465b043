// SPDX-License-Identifier: Apache-2.0
// Whether wheels of two joined bodies run into each other before the joint reaches its stops: yaw seen from above, pitch from the side, one axis at a time with the
// others straight; frame steering turns its joint too. Wheels are cylinders; frames, which the vehicle file does not outline, are not looked at.
#pragma once

#include <cstddef>
#include <optional>

#include "vehicle/vehicle.hpp"

namespace hardpan::vehicle::detail {

enum class JointTurn { pitch, yaw };
struct JointMeeting {
  double angle_rad = 0;                  // at which they meet, within 0.5 deg
  double stop_rad = 0;                   // beyond it
  std::size_t behind = 0, ahead = 0;     // axles
};
// Nothing where no stop is stated or they never meet. The vehicle must have possible numbers.
[[nodiscard]] std::optional<JointMeeting> wheels_meet(const Vehicle& vehicle, std::size_t joint, JointTurn turn);

}  // namespace hardpan::vehicle::detail
