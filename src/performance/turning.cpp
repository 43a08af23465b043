// SPDX-License-Identifier: Apache-2.0
// Plane trigonometry; equations (1) to (6) of docs/theory/turning.md. Notation: R radius, k = 1/R curvature, x_c line of the
// turning centre, d steering angle, p pivot width, a and b distance of the joint from the rear and from the front half's axles,
// g angle between the halves.
#include "performance/turning.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

namespace hardpan::performance {
namespace {

using vehicle::SteeringKind;
using vehicle::Vehicle;
constexpr double kInfinite = std::numeric_limits<double>::infinity();

bool steered(const Vehicle& v, const vehicle::Axle& axle) {
  if (v.steering.kind == SteeringKind::crab) return true;
  const auto& names = v.steering.steered_axles;
  return v.steering.kind == SteeringKind::ackermann && std::find(names.begin(), names.end(), axle.name) != names.end();
}

// Mean place of the axles that `takes` accepts.
template <class Takes>
double mean_x(const Vehicle& v, double otherwise, const Takes& takes) {
  double sum = 0, count = 0;
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    if (!takes(i)) continue;
    sum += v.axles[i].position_x_m;
    ++count;
  }
  return count > 0 ? sum / count : otherwise;
}

// Distances of the joint from the halves' axles.
struct Joint {
  double x = 0, a = 0, b = 0;
};
Joint joint_of(const Vehicle& v) {
  const double x = *v.steering.joint_x_m;
  const auto front = [&](std::size_t i) { return in_front_half(v, i); };
  return {x, x - mean_x(v, 0, [&](std::size_t i) { return !front(i); }), mean_x(v, 0, front) - x};
}

// How far the wheel's plane stands outside its pivot, and where the pivot stands.
double scrub_m(const Vehicle& v, const vehicle::Axle& axle) {
  return axle.wheels > 1 && v.steering.pivot_width_m ? 0.5 * (axle.track_width_m - *v.steering.pivot_width_m) : 0;
}

double side(double y) { return y > 0 ? 1 : y < 0 ? -1 : 0; }

WheelPlace turned_wheel(const Vehicle& v, std::size_t axle, double y, double angle) {
  const double out = side(y) * scrub_m(v, v.axles[axle]);
  return {axle, v.axles[axle].position_x_m - out * std::sin(angle), y - out + out * std::cos(angle), angle};
}

// (4): angle between the halves at a curvature; a quarter turn where none does.
double frame_angle(const Joint& j, double curvature) {
  const double k = std::abs(curvature), reach = j.b * k / std::hypot(1, j.a * k);
  const double angle = std::atan2(j.a * k, 1) + (reach < 1 ? std::asin(reach) : std::numbers::pi / 2);
  return std::copysign(angle, curvature);
}

std::array<Foot, 4> outline(const Vehicle& v, const WheelPlace& w) {
  const vehicle::Wheel& wheel = v.axles[w.axle].wheel;
  const double r = vehicle::shearing_radius_m(wheel), b = 0.5 * wheel.width_m, c = std::cos(w.steer_rad), s = std::sin(w.steer_rad);
  std::array<Foot, 4> out;
  for (std::size_t i = 0; i < 4; ++i) {
    const double along = i < 2 ? r : -r, across = i % 2 == 0 ? b : -b;
    out[i] = {w.x_m + along * c - across * s, w.y_m + along * s + across * c};
  }
  return out;
}

double distance_to_piece(const Foot& p, const Foot& q, const Foot& from) {
  const double x = q.x_m - p.x_m, y = q.y_m - p.y_m, fx = from.x_m - p.x_m, fy = from.y_m - p.y_m;
  const double at = std::clamp((fx * x + fy * y) / (x * x + y * y), 0.0, 1.0);
  return std::hypot(fx - at * x, fy - at * y);
}

// Nearest point of the convex hull of the corners: on a line between two of them, or the place itself inside.
double nearest(const std::vector<Foot>& corners, const Foot& from) {
  std::vector<double> bearing;
  double least = kInfinite;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    bearing.push_back(std::atan2(corners[i].y_m - from.y_m, corners[i].x_m - from.x_m));
    for (std::size_t k = 0; k < i; ++k) least = std::min(least, distance_to_piece(corners[k], corners[i], from));
  }
  std::sort(bearing.begin(), bearing.end());
  double widest = 2 * std::numbers::pi + bearing.front() - bearing.back();
  for (std::size_t i = 1; i < bearing.size(); ++i) widest = std::max(widest, bearing[i] - bearing[i - 1]);
  return widest < std::numbers::pi ? 0 : least;
}

bool yaws_by_itself(const Vehicle& v, std::size_t joint) { return v.joints[joint].yaw.freedom != vehicle::Freedom::rigid && steered_joint(v) != joint; }

// Bodies from this one forward tow the others.
std::size_t first_towing(const Vehicle& v) {
  for (std::size_t j = v.joints.size(); j-- > 0;) {
    if (yaws_by_itself(v, j)) return j + 1;
  }
  return 0;
}

// They alone, at their places in the vehicle.
Vehicle towing_part(const Vehicle& v) {
  const std::size_t first = first_towing(v);
  Vehicle out = v;
  const auto by = static_cast<std::ptrdiff_t>(first);
  out.bodies.erase(out.bodies.begin(), out.bodies.begin() + by);
  out.joints.erase(out.joints.begin(), out.joints.begin() + by);
  std::erase_if(out.axles, [&](const vehicle::Axle& a) { return a.body < first; });
  std::erase_if(out.payload, [&](const vehicle::Payload& p) { return p.body < first; });
  for (vehicle::Axle& a : out.axles) a.body -= first;
  for (vehicle::Payload& p : out.payload) p.body -= first;
  return out;
}

// Bodies that follow together behind a joint, and where the middle of their axles stands.
struct Behind {
  std::size_t joint = 0, first = 0;
  double axles_x = 0;
  [[nodiscard]] bool has(std::size_t body) const { return body >= first && body <= joint; }
};
std::vector<Behind> all_behind(const Vehicle& v) {
  std::vector<Behind> out;
  for (std::size_t towing = first_towing(v); towing > 0; towing = out.back().first) {
    Behind b{.joint = towing - 1, .first = towing - 1};
    while (b.first > 0 && !yaws_by_itself(v, b.first - 1)) --b.first;
    b.axles_x = mean_x(v, kInfinite, [&](std::size_t i) { return b.has(v.axles[i].body); });
    out.push_back(b);
  }
  return out;
}

// A body in plan, standing straight before it turned about its joint.
struct Placed {
  Foot joint;
  double joint_x = 0, heading = 0;
  [[nodiscard]] Foot at(double x, double y) const {
    const double c = std::cos(heading), s = std::sin(heading);
    return {joint.x_m + (x - joint_x) * c - y * s, joint.y_m + (x - joint_x) * s + y * c};
  }
};

// (5a) From the towing bodies backward; their wheels and, weighed, their centres of gravity.
void follow(const Vehicle& v, Turn& out, Foot& mass_times_place) {
  const bool straight = std::isinf(out.radius_m);
  const double side_of = std::copysign(1.0, out.radius_m);
  Placed ahead;
  for (const Behind& b : all_behind(v)) {
    const vehicle::Joint& joint = v.joints[b.joint];
    Placed here{.joint = ahead.at(joint.x_m, 0), .joint_x = joint.x_m};
    Follower follower{.joint = b.joint, .radius_m = kInfinite};
    if (!straight) {
      const double x = here.joint.x_m - out.centre_x_m, y = here.joint.y_m - out.radius_m, length = joint.x_m - b.axles_x, reach = std::hypot(x, y);
      if (!(reach > length)) {
        out.followed = false;
        return;
      }
      follower.radius_m = std::sqrt((reach - length) * (reach + length));
      const double bearing = std::atan2(y, x) - side_of * std::atan2(length, follower.radius_m);
      here.heading = std::atan2(side_of * std::cos(bearing), -side_of * std::sin(bearing));
      follower.angle_rad = std::remainder(ahead.heading - here.heading, 2 * std::numbers::pi);
      const auto beyond = [&](const std::optional<double>& stop, double sign) { return stop && sign * (follower.angle_rad - *stop) > 1e-12; };
      out.followed = out.followed && !beyond(joint.yaw.lowest_rad, -1) && !beyond(joint.yaw.highest_rad, 1);
    }
    out.followers.push_back(follower);
    for (std::size_t i = 0; i < v.axles.size(); ++i) {
      for (const double wheel_y : b.has(v.axles[i].body) ? vehicle::wheel_offsets_m(v.axles[i]) : std::vector<double>{}) {
        const Foot f = here.at(v.axles[i].position_x_m, wheel_y);
        out.wheels.push_back({i, f.x_m, f.y_m, here.heading});
      }
    }
    for (std::size_t body = b.first; body <= b.joint; ++body) {
      const vehicle::Body part = vehicle::loaded_body(v, body);
      const Foot f = here.at(part.cg_x_m, part.cg_y_m);
      mass_times_place.x_m += part.mass_kg * f.x_m;
      mass_times_place.y_m += part.mass_kg * f.y_m;
    }
    ahead = here;
  }
}

}  // namespace

bool follows(const Vehicle& v) { return first_towing(v) > 0; }

const char* why_not_followed(const Vehicle& v) {
  const std::size_t first = first_towing(v);
  if (first == 0) return "";
  const auto behind = [&](const vehicle::Axle& a) { return a.body < first; };
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    if (yaws_by_itself(v, j) && v.joints[j].yaw.freedom == vehicle::Freedom::elastic) return "a joint yaws against a spring: the path of what follows is not computed";
  }
  const bool steers_behind = std::any_of(v.axles.begin(), v.axles.end(), [&](const vehicle::Axle& a) { return behind(a) && v.steering.kind == SteeringKind::ackermann && steered(v, a); });
  const auto bent = steered_joint(v);
  if (steers_behind || (bent && *bent < first)) return "it steers behind a joint that yaws freely: the path of bodies pushed ahead is not computed";
  if (v.steering.kind == SteeringKind::skid && std::none_of(v.axles.begin(), v.axles.end(), [&](const vehicle::Axle& a) { return !behind(a) && a.wheels > 1 && a.drive.driven; })) return "no driven wheels stand left and right of the towing bodies, so that their speeds cannot steer";
  if (v.steering.kind != SteeringKind::frame && std::count_if(v.axles.begin(), v.axles.end(), behind) + 2 > static_cast<std::ptrdiff_t>(v.axles.size())) return "the towing bodies have one axle only: the path of what follows is not computed";
  for (const Behind& b : all_behind(v)) {
    if (!(b.axles_x < v.joints[b.joint].x_m)) return "the wheels of what follows do not stand behind its joint: its path is not computed";
  }
  return "";
}

std::optional<std::size_t> steered_joint(const Vehicle& v) {
  if (v.steering.kind != SteeringKind::frame || !v.steering.joint_x_m) return std::nullopt;
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    if (std::abs(v.joints[j].x_m - *v.steering.joint_x_m) < 1e-3) return j;  // as check_vehicle has it
  }
  return std::nullopt;
}

bool in_front_half(const Vehicle& v, std::size_t axle) {
  if (const auto joint = steered_joint(v)) return v.axles[axle].body > *joint;
  return v.steering.joint_x_m && v.axles[axle].position_x_m > *v.steering.joint_x_m;
}

double turning_line_x_m(const Vehicle& v) {
  switch (v.steering.kind) {
    case SteeringKind::skid:
    case SteeringKind::crab: return vehicle::loaded_body(v).cg_x_m;
    case SteeringKind::frame: return mean_x(v, 0, [&](std::size_t i) { return !in_front_half(v, i); });
    case SteeringKind::ackermann: break;
  }
  return mean_x(v, 0.5 * (v.axles.front().position_x_m + v.axles.back().position_x_m), [&](std::size_t i) { return !steered(v, v.axles[i]); });
}

std::vector<WheelPlace> wheel_places(const Vehicle& v, double curvature) {
  std::vector<WheelPlace> out;
  const SteeringKind kind = v.steering.kind;
  const double line = turning_line_x_m(v);
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const vehicle::Axle& axle = v.axles[i];
    for (const double y : vehicle::wheel_offsets_m(axle)) {
      double angle = 0;
      if (kind == SteeringKind::ackermann && steered(v, axle)) {
        const double pivot = y - side(y) * scrub_m(v, axle);
        angle = std::atan2((axle.position_x_m - line) * curvature, 1 - pivot * curvature);  // (1)
      }
      out.push_back(turned_wheel(v, i, y, angle));
    }
  }
  if (kind == SteeringKind::frame) {
    const Joint j = joint_of(v);
    const double g = frame_angle(j, curvature), c = std::cos(g), s = std::sin(g);
    for (WheelPlace& w : out) {
      if (!in_front_half(v, w.axle)) continue;
      const double x = w.x_m - j.x, y = w.y_m;
      w = {w.axle, j.x + x * c - y * s, x * s + y * c, g};
    }
  }
  return out;
}

double share_of_largest_angle(const Vehicle& v, const std::vector<WheelPlace>& places) {
  if (v.steering.kind == SteeringKind::skid) return 0;
  double most = 0;
  for (const WheelPlace& w : places) most = std::max(most, std::abs(w.steer_rad));
  return most / v.steering.largest_angle_rad;
}

Foot centre_of_gravity(const Vehicle& v, const std::vector<WheelPlace>& places) {
  const vehicle::Body body = vehicle::loaded_body(v);
  if (v.steering.kind != SteeringKind::frame) return {body.cg_x_m, body.cg_y_m};
  double g = 0, front = 0, front_x = 0, rear_x = 0;
  for (const WheelPlace& w : places) {
    if (in_front_half(v, w.axle)) g = w.steer_rad;
  }
  if (const auto joint = steered_joint(v)) {
    Foot sum;
    for (std::size_t b = 0; b < v.bodies.size(); ++b) {
      const vehicle::Body part = vehicle::loaded_body(v, b);
      const double angle = b > *joint ? g : 0, x = part.cg_x_m - *v.steering.joint_x_m;
      sum.x_m += part.mass_kg / body.mass_kg * (*v.steering.joint_x_m + x * std::cos(angle) - part.cg_y_m * std::sin(angle));
      sum.y_m += part.mass_kg / body.mass_kg * (x * std::sin(angle) + part.cg_y_m * std::cos(angle));
    }
    return sum;
  }
  const std::vector<double> loads = vehicle::level_axle_loads_n(v, 1);
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    (in_front_half(v, i) ? front_x : rear_x) += loads[i] * v.axles[i].position_x_m;
    if (in_front_half(v, i)) front += loads[i];
  }
  const double all = body.mass_kg, x = front_x - front * *v.steering.joint_x_m, y = front * body.cg_y_m;
  return {(rear_x + front * *v.steering.joint_x_m + x * std::cos(g) - y * std::sin(g)) / all,
          ((all - front) * body.cg_y_m + x * std::sin(g) + y * std::cos(g)) / all};
}

namespace {

// Wheels, angles and whether they are allowed.
Turn steered_for(const Vehicle& v, double radius) {
  Turn out{.radius_m = radius, .centre_x_m = turning_line_x_m(v)};
  out.wheels = wheel_places(v, v.steering.kind == SteeringKind::skid ? 0 : 1 / radius);  // skid takes no notice
  const bool straight = std::isinf(radius);
  // A hair of rounding at the stop itself.
  out.steerable = v.steering.kind == SteeringKind::crab ? straight : share_of_largest_angle(v, out.wheels) <= 1 + 1e-12;
  if (v.steering.kind == SteeringKind::frame && !straight) {
    const Joint j = joint_of(v);
    out.steerable = out.steerable && j.b <= std::hypot(radius, j.a);
  }
  std::size_t most = 0;
  for (std::size_t i = 0; i < out.wheels.size(); ++i) {
    if (std::abs(out.wheels[i].steer_rad) > std::abs(out.wheels[most].steer_rad)) most = i;
  }
  out.inner_angle_rad = out.outer_angle_rad = std::abs(out.wheels[most].steer_rad);
  for (const WheelPlace& w : out.wheels) {
    if (w.axle == out.wheels[most].axle) out.outer_angle_rad = std::min(out.outer_angle_rad, std::abs(w.steer_rad));
  }
  return out;
}

// (5) Radii and width of the ring that all its wheels sweep.
void measure(const Vehicle& v, const Foot& cg, Turn& out) {
  if (std::isinf(out.radius_m)) {
    double left = -kInfinite, right = kInfinite;
    for (const WheelPlace& w : out.wheels) {
      for (const Foot& f : outline(v, w)) {
        left = std::max(left, f.y_m);
        right = std::min(right, f.y_m);
      }
    }
    out.swept_width_m = left - right;
    out.cg_radius_m = out.outer_wheel_radius_m = out.inner_wheel_radius_m = out.outermost_m = kInfinite;
    return;
  }
  const Foot centre{out.centre_x_m, out.radius_m};
  const auto from_centre = [&](double x, double y) { return std::hypot(x - centre.x_m, y - centre.y_m); };
  out.cg_radius_m = from_centre(cg.x_m, cg.y_m);
  out.inner_wheel_radius_m = kInfinite;
  // What turns as one in plan has a hull of its own: the halves of a frame, and each that follows.
  const std::vector<Behind> behind = all_behind(v);
  std::vector<std::vector<Foot>> corners(2 + behind.size());
  for (const WheelPlace& w : out.wheels) {
    const double r = from_centre(w.x_m, w.y_m);
    out.outer_wheel_radius_m = std::max(out.outer_wheel_radius_m, r);
    out.inner_wheel_radius_m = std::min(out.inner_wheel_radius_m, r);
    const auto of = std::find_if(behind.begin(), behind.end(), [&](const Behind& b) { return b.has(v.axles[w.axle].body); });
    const std::size_t one = of != behind.end() ? 2 + static_cast<std::size_t>(of - behind.begin()) : in_front_half(v, w.axle) ? 1 : 0;
    for (const Foot& f : outline(v, w)) {
      out.outermost_m = std::max(out.outermost_m, from_centre(f.x_m, f.y_m));
      corners[one].push_back(f);
    }
  }
  double inner = kInfinite;
  for (const std::vector<Foot>& one : corners) {
    if (!one.empty()) inner = std::min(inner, nearest(one, centre));
  }
  out.swept_width_m = out.outermost_m - inner;
}

}  // namespace

Turn turn_at(const Vehicle& v, double radius) {
  const std::size_t first = first_towing(v);
  const Vehicle towing = first > 0 ? towing_part(v) : v;
  Turn out = steered_for(towing, radius);
  const Foot of_towing = centre_of_gravity(towing, out.wheels);
  if (first == 0) {
    measure(v, of_towing, out);
    return out;
  }
  const std::size_t axles_behind = v.axles.size() - towing.axles.size();
  for (WheelPlace& w : out.wheels) w.axle += axles_behind;
  const double mass = vehicle::mass_kg(towing), all = vehicle::mass_kg(v);
  Foot sum{mass * of_towing.x_m, mass * of_towing.y_m};
  follow(v, out, sum);
  out.steerable = out.steerable && out.followed;
  std::stable_sort(out.wheels.begin(), out.wheels.end(), [](const WheelPlace& a, const WheelPlace& b) { return a.axle < b.axle; });
  measure(v, {sum.x_m / all, sum.y_m / all}, out);
  return out;
}

namespace {

double smallest_alone_m(const Vehicle& v) {
  const double largest = v.steering.largest_angle_rad;
  switch (v.steering.kind) {
    case SteeringKind::skid: return 0;
    case SteeringKind::crab: return kInfinite;
    case SteeringKind::frame: {
      const Joint j = joint_of(v);
      return (j.b + j.a * std::cos(largest)) / std::sin(largest);  // (3)
    }
    case SteeringKind::ackermann: break;
  }
  double radius = 0;
  const double line = turning_line_x_m(v);
  for (const vehicle::Axle& axle : v.axles) {
    if (!steered(v, axle)) continue;
    const double pivot = vehicle::wheel_offsets_m(axle).front() - scrub_m(v, axle);
    radius = std::max(radius, std::abs(axle.position_x_m - line) / std::tan(largest) + pivot);  // (2)
  }
  return radius;
}

}  // namespace

double smallest_radius_m(const Vehicle& v) {
  if (!follows(v)) return smallest_alone_m(v);
  double fails = smallest_alone_m(towing_part(v));
  if (turn_at(v, fails).steerable) return fails;
  constexpr double kWidest_m = 1e4;
  double goes = std::max(2 * fails, vehicle::wheelbase_m(v));
  while (goes < kWidest_m && !turn_at(v, goes).steerable) fails = goes, goes *= 2;
  if (!turn_at(v, goes).steerable) return kInfinite;
  while (goes - fails > 1e-9 * goes) {
    const double middle = 0.5 * (goes + fails);
    (turn_at(v, middle).steerable ? goes : fails) = middle;
  }
  return goes;
}

CrabTravel crab_travel(const Vehicle& v, double angle) {
  CrabTravel out{.angle_rad = angle, .sideways_per_m = std::tan(angle)};
  out.steerable = v.steering.kind == SteeringKind::crab && std::abs(angle) <= v.steering.largest_angle_rad * (1 + 1e-12);
  double left = -kInfinite, right = kInfinite;
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    for (const double y : vehicle::wheel_offsets_m(v.axles[i])) {
      for (const Foot& f : outline(v, turned_wheel(v, i, y, angle))) {
        const double across = f.y_m * std::cos(angle) - f.x_m * std::sin(angle);  // (6)
        left = std::max(left, across);
        right = std::min(right, across);
      }
    }
  }
  out.swept_width_m = left - right;
  return out;
}

}  // namespace hardpan::performance
