// SPDX-License-Identifier: Apache-2.0
#include "vehicle/detail/joint_room.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace hardpan::vehicle::detail {
namespace {

constexpr double kStride = std::numbers::pi / 360;   // 0.5 deg

struct Point {
  double x = 0, y = 0;
};
Point turned(Point p, Point about, double rad) {
  const double c = std::cos(rad), s = std::sin(rad);
  return {about.x + c * (p.x - about.x) - s * (p.y - about.y), about.y + s * (p.x - about.x) + c * (p.y - about.y)};
}

// A wheel seen from above: its middle, half its diameter along `yaw_rad`, half its width across.
struct Footprint {
  Point middle;
  double half_length_m = 0, half_width_m = 0, yaw_rad = 0;
};
// Whether an axis of `a` parts them.
bool parted(const Footprint& a, const Footprint& b) {
  const double between = b.yaw_rad - a.yaw_rad, c = std::abs(std::cos(between)), s = std::abs(std::sin(between));
  const Point d = turned({b.middle.x - a.middle.x, b.middle.y - a.middle.y}, {}, -a.yaw_rad);
  return std::abs(d.x) >= a.half_length_m + c * b.half_length_m + s * b.half_width_m || std::abs(d.y) >= a.half_width_m + s * b.half_length_m + c * b.half_width_m;
}

struct Pair {
  const Axle *behind, *ahead;
  double behind_y_m, ahead_y_m;
};

bool meet_yawed(const Joint& j, const Pair& p, double rad) {
  const Footprint behind{{p.behind->position_x_m, p.behind_y_m}, p.behind->wheel.radius_m, 0.5 * p.behind->wheel.width_m, 0};
  const Footprint ahead{turned({p.ahead->position_x_m, p.ahead_y_m}, {j.x_m, 0}, rad), p.ahead->wheel.radius_m, 0.5 * p.ahead->wheel.width_m, rad};
  return !parted(behind, ahead) && !parted(ahead, behind);
}

bool meet_pitched(const Joint& j, const Pair& p, double rad) {
  if (std::abs(p.behind_y_m - p.ahead_y_m) >= 0.5 * (p.behind->wheel.width_m + p.ahead->wheel.width_m)) return false;
  const Point ahead = turned({p.ahead->position_x_m, p.ahead->wheel.radius_m}, {j.x_m, j.z_m}, rad);
  return std::hypot(ahead.x - p.behind->position_x_m, ahead.y - p.behind->wheel.radius_m) < p.behind->wheel.radius_m + p.ahead->wheel.radius_m;
}

}  // namespace

std::optional<JointMeeting> wheels_meet(const Vehicle& v, std::size_t joint, JointTurn turn) {
  const Joint& j = v.joints[joint];
  const JointAxis& axis = turn == JointTurn::yaw ? j.yaw : j.pitch;
  std::vector<std::optional<double>> stops{axis.lowest_rad, axis.highest_rad};
  const bool steered = turn == JointTurn::yaw && v.steering.kind == SteeringKind::frame && v.steering.joint_x_m && std::abs(*v.steering.joint_x_m - j.x_m) < 1e-3;
  if (steered) stops.insert(stops.end(), {-v.steering.largest_angle_rad, v.steering.largest_angle_rad});
  for (const std::optional<double>& stop : stops) {
    if (!stop) continue;
    const int steps = static_cast<int>(std::ceil(std::abs(*stop) / kStride));
    for (int k = 0; k <= steps; ++k) {
      const double rad = *stop * k / std::max(1, steps);
      for (std::size_t b = 0; b < v.axles.size(); ++b) {
        for (std::size_t a = 0; a < v.axles.size(); ++a) {
          if (v.axles[b].body != joint || v.axles[a].body != joint + 1) continue;
          for (const double behind_y : wheel_offsets_m(v.axles[b])) {
            for (const double ahead_y : wheel_offsets_m(v.axles[a])) {
              const Pair pair{&v.axles[b], &v.axles[a], behind_y, ahead_y};
              if (turn == JointTurn::yaw ? meet_yawed(j, pair, rad) : meet_pitched(j, pair, rad)) return JointMeeting{rad, *stop, b, a};
            }
          }
        }
      }
    }
  }
  return std::nullopt;
}

}  // namespace hardpan::vehicle::detail
