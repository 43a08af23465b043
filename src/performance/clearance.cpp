// SPDX-License-Identifier: Apache-2.0
// Notation: u, w place of a point ahead of and above a wheel's centre, R its distance, r the wheel's radius. The tangent from the point under
// the wheel rises from the ground at a = atan2(w, u) + asin(r / R): the ramp that wheel and point just touch together.
#include "performance/clearance.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace hardpan::performance {
namespace {

using vehicle::UnderbodyPoint;

struct Standing {
  double x_m = 0, centre_m = 0, radius_m = 0;
  std::size_t body = 0;
  double deflection_m = 0;
};

std::vector<Standing> wheels_of(const vehicle::Vehicle& v, double gravity_m_s2) {
  const std::vector<double> loads = vehicle::level_axle_loads_n(v, gravity_m_s2);
  std::vector<Standing> out;
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const vehicle::Axle& a = v.axles[i];
    const double f = a.wheel.flex ? vehicle::deflection_m(*a.wheel.flex, loads[i] / a.wheels).value_or(0) : 0;
    const double outer = vehicle::shearing_radius_m(a.wheel);
    out.push_back({a.position_x_m, outer - f, outer, a.body, f});
  }
  return out;
}

// Outline of a body as it stands, with points between the corners.
std::vector<UnderbodyPoint> outline(const vehicle::Vehicle& v, std::size_t body, double lower_m) {
  constexpr int kPieces = 200;
  std::vector<UnderbodyPoint> out;
  for (const UnderbodyPoint& p : vehicle::underbody(v, body)) {
    const UnderbodyPoint to{p.x_m, p.z_m - lower_m};
    if (!out.empty()) {
      const UnderbodyPoint from = out.back();
      for (int i = 1; i < kPieces; ++i) out.push_back({from.x_m + (to.x_m - from.x_m) * i / kPieces, from.z_m + (to.z_m - from.z_m) * i / kPieces});
    }
    out.push_back(to);
  }
  return out;
}

// The ramp from under a wheel through a point `ahead_m` ahead of its centre; nothing for a point beside the wheel or behind it.
std::optional<double> ramp(const Standing& wheel, double ahead_m, double z_m) {
  const double w = z_m - wheel.centre_m, distance = std::hypot(ahead_m, w);
  if (!(ahead_m > 0) || !(distance > wheel.radius_m)) return std::nullopt;
  return std::atan2(w, ahead_m) + std::asin(wheel.radius_m / distance);
}

void take_least(std::optional<ClearanceAngle>& least, std::optional<double> angle, const UnderbodyPoint& at) {
  if (angle && (!least || *angle < least->angle_rad)) least = ClearanceAngle{*angle, at.x_m, at.z_m};
}

}  // namespace

Clearances clearances(const vehicle::Vehicle& v, double gravity_m_s2) {
  Clearances out;
  out.articulated = vehicle::pitches_within(v);
  const std::vector<Standing> wheels = wheels_of(v, gravity_m_s2);
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    double lower = 0, count = 0;
    for (const Standing& w : wheels) {
      if (w.body != b) continue;
      lower += w.deflection_m;
      ++count;
    }
    lower = count > 0 ? lower / count : 0;
    for (const UnderbodyPoint& p : outline(v, b, lower)) {
      take_least(out.approach, ramp(wheels.back(), p.x_m - wheels.back().x_m, p.z_m), p);
      take_least(out.departure, ramp(wheels.front(), wheels.front().x_m - p.x_m, p.z_m), p);
      for (std::size_t i = 1; i < wheels.size(); ++i) {
        const auto behind = ramp(wheels[i - 1], p.x_m - wheels[i - 1].x_m, p.z_m), ahead = ramp(wheels[i], wheels[i].x_m - p.x_m, p.z_m);
        if (behind && ahead) take_least(out.break_over, *behind + *ahead, p);
      }
      if (!out.belly || p.z_m < out.belly->at_z_m) {
        out.belly = ClearanceAngle{0, p.x_m, p.z_m};
        out.settled_m = lower;
      }
    }
  }
  return out;
}

}  // namespace hardpan::performance
