// SPDX-License-Identifier: Apache-2.0
// Poses from the curve of wheel centres: the ground widened by the wheel's radius (a morphological dilation by a disc), so that a round wheel becomes a
// point on a curve. The lowest height of the body at a pitch is the largest of what its wheels ask; a pose with two wheels on the ground is a
// pitch at which the wheel that asks most changes. A vertical face makes the curve jump: the change then lies at the jump, and the wheel stands
// somewhere on the face. docs/theory/obstacles.md eqs. 1 to 5.
#include "performance/crossing_pose.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "performance/detail/rolling.hpp"

namespace hardpan::performance {
namespace detail {
namespace {

constexpr double kTouching = 1e-8;     // gap, share of the vehicle's length, below which a wheel touches: events are found to 1e-10 of it
constexpr double kStaying = 1e-6;      // rate of a gap per metre rolled below which a contact goes on
constexpr double kPitchTolerance = 2e-15;

// Where a bracket is looked at next: by the secant, every third time in the middle so that no end creeps.
double look_between(int step, double low, double high, double at_low, double at_high) {
  if (step % 3 != 2 && at_low > 0 && at_high < 0) {
    const double secant = (low * at_high - high * at_low) / (at_high - at_low);
    if (secant > low && secant < high) return secant;
  }
  return 0.5 * (low + high);
}

}  // namespace

Ground::Ground(const Profile& profile) : points_(profile.points()) {
  for (std::size_t i = 0; i + 1 < points_.size(); ++i) {
    const double dx = points_[i + 1].x_m - points_[i].x_m, dz = points_[i + 1].z_m - points_[i].z_m, length = std::hypot(dx, dz);
    pieces_.push_back({dx == 0, -dz / length, dx / length, dx == 0 ? 0 : dz / dx, length});
  }
  convex_.assign(points_.size(), 0);
  for (std::size_t i = 1; i + 1 < points_.size(); ++i) {
    const ProfilePoint &a = points_[i - 1], &b = points_[i], &c = points_[i + 1];
    convex_[i] = (b.x_m - a.x_m) * (c.z_m - b.z_m) - (b.z_m - a.z_m) * (c.x_m - b.x_m) < 0;
  }
}

std::pair<std::size_t, std::size_t> Ground::pieces(double from, double to) const {
  const auto first = std::lower_bound(points_.begin(), points_.end(), from, [](const ProfilePoint& p, double x) { return p.x_m < x; });
  const auto last = std::upper_bound(first, points_.end(), to, [](double x, const ProfilePoint& p) { return x < p.x_m; });
  const std::size_t a = static_cast<std::size_t>(first - points_.begin()), b = static_cast<std::size_t>(last - points_.begin());
  return {std::min(a == 0 ? 0 : a - 1, pieces_.size() - 1), std::clamp<std::size_t>(b, 1, pieces_.size())};
}

double Ground::centre_height_m(double x, double radius) const {  // eq. 1
  const auto [begin, end] = pieces(x - radius, x + radius);
  double height = -std::numeric_limits<double>::infinity();
  for (std::size_t i = begin; i < end; ++i) {
    const Piece& p = pieces_[i];
    const ProfilePoint &a = points_[i], &b = points_[i + 1];
    if (!p.vertical) {
      const double along = x - radius * p.nx;   // x of the ground point whose offset lies over x
      if ((i == 0 || along >= a.x_m) && (i + 1 == pieces_.size() || along <= b.x_m)) {
        height = std::max(height, a.z_m + (along - a.x_m) * p.rise + radius * p.nz);
      }
    }
    if (convex_[i]) {
      const double across = x - a.x_m, under = radius * radius - across * across;
      if (under >= 0) height = std::max(height, a.z_m + std::sqrt(under));
    }
    if (i + 1 == end && convex_[i + 1]) {
      const double across = x - b.x_m, under = radius * radius - across * across;
      if (under >= 0) height = std::max(height, b.z_m + std::sqrt(under));
    }
  }
  return height;
}

double Ground::height_m(double x) const {
  const auto beyond = std::upper_bound(points_.begin(), points_.end(), x, [](double at, const ProfilePoint& p) { return at < p.x_m; });
  const std::size_t b = std::clamp<std::size_t>(static_cast<std::size_t>(beyond - points_.begin()), 1, points_.size() - 1);
  const ProfilePoint &p = points_[b - 1], &q = points_[b];
  double z = p.z_m + (x - p.x_m) * (q.z_m - p.z_m) / (q.x_m - p.x_m);
  for (std::size_t i = b; i-- > 0 && points_[i].x_m == x;) z = std::max(z, points_[i].z_m);   // the top of a vertical face
  return z;
}

Ground::Nearest Ground::nearest(const ProfilePoint& centre, double reach) const {
  Nearest best{std::numeric_limits<double>::infinity(), {}, -1};
  const auto [begin, end] = pieces(centre.x_m - reach, centre.x_m + reach);
  for (std::size_t i = begin; i < end; ++i) {
    const ProfilePoint &a = points_[i], &b = points_[i + 1];
    const double dx = b.x_m - a.x_m, dz = b.z_m - a.z_m;
    double share = ((centre.x_m - a.x_m) * dx + (centre.z_m - a.z_m) * dz) / (dx * dx + dz * dz);
    int feature = 2 * static_cast<int>(i) + 1;
    if (share <= 0 && i > 0) {
      share = 0;
      feature = 2 * static_cast<int>(i);
    } else if (share >= 1 && i + 1 < pieces_.size()) {
      share = 1;
      feature = 2 * static_cast<int>(i) + 2;
    }
    const ProfilePoint p{a.x_m + share * dx, a.z_m + share * dz};
    const double distance = std::sqrt((centre.x_m - p.x_m) * (centre.x_m - p.x_m) + (centre.z_m - p.z_m) * (centre.z_m - p.z_m));
    // A corner is met from both its pieces with the same bits of the corner itself.
    if (distance < best.distance) best = {distance, p, feature};
  }
  return best;
}

Rolling::Rolling(const ProfileVehicle& vehicle, const Profile& profile) : vehicle_(&vehicle), ground_(profile) {
  const auto& axles = vehicle.axles;
  HARDPAN_ASSERT(axles.size() >= 2 && axles.size() <= kMostAxles && vehicle.weight_n > 0);
  middle_x_ = 0.5 * (axles.front().x_m + axles.back().x_m);
  middle_z_ = 0.5 * (axles.front().centre_height_m + axles.back().centre_height_m);
  smallest_radius_ = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < axles.size(); ++k) {
    HARDPAN_ASSERT(axles[k].radius_m > 0 && (k == 0 || axles[k].x_m > axles[k - 1].x_m));
    ahead_[k] = axles[k].x_m - middle_x_;
    above_[k] = axles[k].centre_height_m - middle_z_;
    largest_radius_ = std::max(largest_radius_, axles[k].radius_m);
    smallest_radius_ = std::min(smallest_radius_, axles[k].radius_m);
  }
  cg_ahead_ = vehicle.cg_x_m - middle_x_;
  cg_above_ = vehicle.cg_z_m - middle_z_;
  size_ = axles.back().x_m - axles.front().x_m + 2 * largest_radius_;
}

ProfilePoint Rolling::arm(std::size_t k, double pitch) const {
  const double s = std::sin(pitch), c = std::cos(pitch);
  return {ahead_[k] * c - above_[k] * s, ahead_[k] * s + above_[k] * c};
}

double Rolling::cg_rise(double pitch) const { return cg_ahead_ * std::sin(pitch) + cg_above_ * std::cos(pitch); }

double Rolling::needed(std::size_t k, double travel, double s, double c) const {
  return ground_.centre_height_m(travel + ahead_[k] * c - above_[k] * s, vehicle_->axles[k].radius_m) - (ahead_[k] * s + above_[k] * c);
}

Rolling::Held Rolling::held(double travel, double pitch) const {  // eq. 2
  const double s = std::sin(pitch), c = std::cos(pitch);
  Held best{-std::numeric_limits<double>::infinity(), 0};
  for (std::size_t k = 0; k < vehicle_->axles.size(); ++k) {
    const double height = needed(k, travel, s, c);
    if (height > best.height) best = {height, k};
  }
  return best;
}

// Regula falsi (Illinois) on the difference of what the two wheels ask, halved when it does not shrink: a jump of the curve is found
// as well as a crossing. Observed: 5 to 9 evaluations on smooth ground, up to 52 at a face.
Pose Rolling::pose_between(double travel, double low, double high, double near) const {
  Held a = held(travel, low), b = held(travel, high);
  HARDPAN_ASSERT(a.wheel != b.wheel && low < high);
  const auto difference = [&](double pitch, std::size_t of, std::size_t from) {
    const double s = std::sin(pitch), c = std::cos(pitch);
    return needed(of, travel, s, c) - needed(from, travel, s, c);
  };
  double at_low = difference(low, a.wheel, b.wheel), at_high = difference(high, a.wheel, b.wheel);   // >= 0, <= 0
  int side = 0;
  for (int step = 0; step < 200 && high - low > kPitchTolerance; ++step) {
    const double middle = look_between(step, low, high, at_low, at_high);
    if (middle <= low || middle >= high) break;
    const Held m = held(travel, middle);
    // A third wheel holds in between: go on with the change nearer to where the body was.
    const bool to_low = m.wheel == a.wheel || (m.wheel != b.wheel && near > middle);
    const bool third = m.wheel != a.wheel && m.wheel != b.wheel;
    (to_low ? low : high) = middle;
    (to_low ? a : b) = m;
    if (third) {
      at_low = difference(low, a.wheel, b.wheel);
      at_high = difference(high, a.wheel, b.wheel);
      side = 0;
    } else {
      const double d = difference(middle, a.wheel, b.wheel);
      (to_low ? at_low : at_high) = d;
      if (std::abs(d) <= 1e-15 * size_) {   // there, to rounding
        low = high = middle;
        a.height = b.height = m.height;
        break;
      }
      if (side == (to_low ? -1 : 1)) (to_low ? at_high : at_low) *= 0.5;
      side = to_low ? -1 : 1;
    }
  }
  // The lower of the two heights: at a jump the wheel that jumps stands on the face.
  const bool take_low = a.height <= b.height;
  return place(travel, take_low ? a.height : b.height, take_low ? low : high, a.wheel, b.wheel);
}

std::optional<Pose> Rolling::pose_of_pair(double travel, const std::array<std::size_t, 2>& pair, double pitch, double guess, double most) const {
  struct Ask {
    double low = 0, high = 0;   // height the two wheels ask
    [[nodiscard]] double difference() const { return low - high; }
  };
  const auto ask = [&](double at) {
    const double s = std::sin(at), c = std::cos(at);
    return Ask{needed(pair[0], travel, s, c), needed(pair[1], travel, s, c)};
  };
  double low = pitch, high = pitch;
  Ask a = ask(pitch), b = a;
  const bool downward = a.difference() < 0;   // the lower wheel asks too little: lower the nose
  double reach = std::clamp(guess, 1e-9, most);
  while (downward ? a.difference() < 0 : b.difference() > 0) {
    if (downward) {
      b = a;
      high = low;
      low = std::max(pitch - reach, -kSteepestPitch_rad);
      a = ask(low);
    } else {
      a = b;
      low = high;
      high = std::min(pitch + reach, kSteepestPitch_rad);
      b = ask(high);
    }
    if (reach >= most) break;
    reach = std::min(4 * reach, most);
  }
  if (!(a.difference() >= 0 && b.difference() <= 0)) return std::nullopt;
  int side = 0;
  double at_low = a.difference(), at_high = b.difference();
  for (int step = 0; step < 200 && high - low > kPitchTolerance; ++step) {
    const double middle = look_between(step, low, high, at_low, at_high);
    if (middle <= low || middle >= high) break;
    const Ask m = ask(middle);
    const double d = m.difference();
    if (d >= 0) {
      low = middle;
      a = m;
      at_low = d;
      if (side == -1) at_high *= 0.5;
      side = -1;
    } else {
      high = middle;
      b = m;
      at_high = d;
      if (side == 1) at_low *= 0.5;
      side = 1;
    }
    if (std::abs(d) <= 1e-15 * size_) {
      low = high = middle;
      a = b = m;
      break;
    }
  }
  // At a jump the wheel that jumps stands on the face: the height is what the other asks.
  const double height_low = std::max(a.low, a.high), height_high = std::max(b.low, b.high);
  const bool take_low = height_low <= height_high;
  const double height = take_low ? height_low : height_high, at = take_low ? low : high;
  const double s = std::sin(at), c = std::cos(at);
  for (std::size_t k = 0; k < vehicle_->axles.size(); ++k) {
    if (k != pair[0] && k != pair[1] && needed(k, travel, s, c) > height + 1e-12 * size_) return std::nullopt;
  }
  return place(travel, height, at, pair[0], pair[1]);
}

std::optional<Pose> Rolling::next_pose(const Pose& pose, int direction) const {
  constexpr double kLook = 0.25 * 3.14159265358979323846 / 180;
  double from = pose.pitch_rad + direction * 1e-9;
  const std::size_t wheel = pose.pair[direction > 0 ? 1 : 0];   // the one that goes on holding
  while (std::abs(from) < kSteepestPitch_rad) {
    const double to = from + direction * kLook;
    if (held(pose.travel_m, to).wheel != wheel) {
      const std::size_t here = held(pose.travel_m, from).wheel;
      if (here != wheel) return std::nullopt;   // nearer than arithmetic can tell
      return pose_between(pose.travel_m, std::min(from, to), std::max(from, to), from);
    }
    from = to;
  }
  return std::nullopt;
}

std::optional<Pose> Rolling::pose_near(double travel, double pitch, double guess, double most) const {
  const std::size_t here = held(travel, pitch).wheel;
  double inner_low = pitch, inner_high = pitch;
  for (double reach = std::clamp(guess, 1e-9, most);; reach = std::min(4 * reach, most)) {
    const double low = std::max(pitch - reach, -kSteepestPitch_rad), high = std::min(pitch + reach, kSteepestPitch_rad);
    const bool at_low = low < inner_low && held(travel, low).wheel != here, at_high = high > inner_high && held(travel, high).wheel != here;
    if (at_low && at_high) {
      const Pose down = pose_between(travel, low, inner_low, pitch), up = pose_between(travel, inner_high, high, pitch);
      return pitch - down.pitch_rad < up.pitch_rad - pitch ? down : up;
    }
    if (at_low) return pose_between(travel, low, inner_low, pitch);
    if (at_high) return pose_between(travel, inner_high, high, pitch);
    if (reach >= most) return std::nullopt;
    inner_low = low;
    inner_high = high;
  }
}

// By the slope of the height of the centre of gravity while one of the two wheels alone holds the body (eq. 3). Not by a small turn:
// just behind a change of contacts the third wheel is nearer than any turn that arithmetic can tell.
int Rolling::turns(const Pose& pose) const {
  const double s = std::sin(pose.pitch_rad), c = std::cos(pose.pitch_rad), slack = -1e-9 * size_;   // neutral counts as turning
  const double cg = cg_ahead_ * c - cg_above_ * s;
  const auto rate = [&](std::size_t k) {
    const ProfilePoint at = arm(k, pose.pitch_rad);
    return cg - at.x_m - std::tan(pose.wheel[k].slope_rad) * at.z_m;
  };
  if (rate(pose.pair[0]) > slack) return -1;
  return rate(pose.pair[1]) < -slack ? 1 : 0;
}

std::optional<Pose> Rolling::let_go(double travel, double pitch) const {
  constexpr double kLook = 0.25 * 3.14159265358979323846 / 180;
  const double up = cg_height(travel, pitch + 1e-6), down = cg_height(travel, pitch - 1e-6);
  const double direction = down < up ? -1 : 1;
  double from = pitch;
  Held held_from = held(travel, from);
  while (std::abs(from) < kSteepestPitch_rad) {
    const double to = from + direction * kLook;
    const Held held_to = held(travel, to);
    if (held_to.wheel != held_from.wheel) {
      const Pose pose = pose_between(travel, std::min(from, to), std::max(from, to), from);
      // The pose lies between; it is a rest when the body does not turn on in the same direction.
      if (turns(pose) * direction <= 0) return pose;
      from = pose.pitch_rad + direction * 1e-9;
      held_from = held(travel, from);
      if (direction > 0 ? from >= to : from <= to) continue;
    }
    from = to;
    held_from = held_to;
  }
  return std::nullopt;
}

Pose Rolling::place(double travel, double height, double pitch, std::size_t low, std::size_t high) const {
  Pose out;
  out.travel_m = travel;
  out.height_m = height;
  out.pitch_rad = pitch;
  const double s = std::sin(pitch), c = std::cos(pitch);
  out.cg = {travel + cg_ahead_ * c - cg_above_ * s, height + cg_rise(pitch)};
  out.body[0] = {{travel - middle_x_ * c + middle_z_ * s, height - middle_x_ * s - middle_z_ * c}, pitch};
  out.axles = vehicle_->axles.size();
  out.pair = {low, high};
  struct Row {
    double x = 0, z = 0, turn = 0;    // change of a gap with the body's own motion (eq. 4)
  };
  std::array<Row, kMostAxles> rows{};
  std::array<Row, kMostAxles> rolls{};
  for (std::size_t k = 0; k < out.axles; ++k) {
    WheelContact& w = out.wheel[k];
    const ProfilePoint at = arm(k, pitch);
    const double radius = vehicle_->axles[k].radius_m;
    w.centre = {travel + at.x_m, height + at.z_m};
    const Ground::Nearest n = ground_.nearest(w.centre, 2 * radius);
    w.point = n.point;
    w.gap_m = n.distance - radius;
    w.feature = n.feature;
    const double nx = (w.centre.x_m - n.point.x_m) / n.distance, nz = (w.centre.z_m - n.point.z_m) / n.distance;
    w.slope_rad = std::atan2(-nx, nz);
    rows[k] = {nx, nz, -nx * at.z_m + nz * at.x_m};
    rolls[k] = {nz, -nx, -nz * at.z_m - nx * at.x_m};
  }
  // The motion that keeps both wheels on the ground (eq. 5), one metre rolled, the wheels' sum forward.
  const Row &a = rows[low], &b = rows[high];
  Row v{a.z * b.turn - a.turn * b.z, a.turn * b.x - a.x * b.turn, a.x * b.z - a.z * b.x};
  const auto along = [&v](const Row& r) { return r.x * v.x + r.z * v.z + r.turn * v.turn; };
  const double roll_low = along(rolls[low]), roll_high = along(rolls[high]), rolled = 0.5 * (std::abs(roll_low) + std::abs(roll_high));
  const double scale = rolled > 0 ? (roll_low + roll_high < 0 ? -1 : 1) / rolled : 0;
  v = {v.x * scale, v.z * scale, v.turn * scale};
  out.motion = {v.x, v.z, v.turn};
  out.climb_ratio = v.z + v.turn * (cg_ahead_ * c - cg_above_ * s);
  for (std::size_t k = 0; k < out.axles; ++k) {
    out.wheel[k].carries = k == low || k == high || (out.wheel[k].gap_m <= kTouching * size_ && std::abs(along(rows[k])) <= kStaying);
  }
  meet_underbody(out, out.body[0], vehicle_->underbody, ground_);
  return out;
}

void meet_underbody(Pose& pose, const BodyPose& body, const std::vector<ProfilePoint>& underbody, const Ground& ground) {
  const auto deeper = [&pose](double depth, double x) {
    if (depth > pose.belly_depth_m) {
      pose.belly_depth_m = depth;
      pose.belly_x_m = x;
    }
  };
  for (std::size_t i = 0; i < underbody.size(); ++i) {
    const ProfilePoint p = body.at(underbody[i].x_m, underbody[i].z_m);
    deeper(ground.height_m(p.x_m) - p.z_m, p.x_m);
    if (i + 1 == underbody.size()) break;
    const ProfilePoint q = body.at(underbody[i + 1].x_m, underbody[i + 1].z_m);
    if (!(q.x_m > p.x_m)) continue;   // past vertical: its corners are checked
    const auto& points = ground.points();
    auto corner = std::lower_bound(points.begin(), points.end(), p.x_m, [](const ProfilePoint& g, double x) { return g.x_m < x; });
    for (; corner != points.end() && corner->x_m <= q.x_m; ++corner) {
      deeper(corner->z_m - (p.z_m + (corner->x_m - p.x_m) * (q.z_m - p.z_m) / (q.x_m - p.x_m)), corner->x_m);
    }
  }
}

}  // namespace detail

ProfilePoint BodyPose::at(double x_m, double z_m) const {
  const double s = std::sin(pitch_rad), c = std::cos(pitch_rad);
  return {origin.x_m + x_m * c - z_m * s, origin.z_m + x_m * s + z_m * c};
}

namespace {

// Load over deflection of a whole axle.
std::vector<std::pair<double, double>> deflection_load(const vehicle::Axle& axle, double weight_n) {
  std::vector<std::pair<double, double>> out;
  if (!axle.wheel.flex) return out;
  const vehicle::Flex& flex = *axle.wheel.flex;
  if (flex.stiffness_n_per_m) {
    out = {{0, 0}, {weight_n / (*flex.stiffness_n_per_m * axle.wheels), weight_n}};
  } else {
    for (const auto& [load, deflection] : flex.load_deflection) out.emplace_back(deflection, load * axle.wheels);
    if (out.size() < 2) out.clear();
  }
  return out;
}

}  // namespace

std::optional<ProfileVehicle> profile_vehicle(const vehicle::Vehicle& v, double gravity_m_s2) {
  if (v.axles.size() > kMostAxles) return std::nullopt;
  const vehicle::Body whole = vehicle::loaded_body(v);
  ProfileVehicle out{.cg_x_m = whole.cg_x_m, .cg_z_m = whole.cg_z_m, .weight_n = whole.mass_kg * gravity_m_s2};
  std::vector<std::size_t> place(v.bodies.size());   // of each body among those that rigid joints leave apart
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    if (b == 0 || v.joints[b - 1].pitch.freedom != vehicle::Freedom::rigid) {
      if (b > 0) {
        const vehicle::Joint& j = v.joints[b - 1];
        ProfileJoint joint{.x_m = j.x_m, .z_m = j.z_m};
        if (j.pitch.freedom == vehicle::Freedom::elastic) joint.stiffness_n_m_per_rad = j.pitch.stiffness_n_m_per_rad;
        if (j.pitch.lowest_rad) joint.lowest_rad = *j.pitch.lowest_rad;
        if (j.pitch.highest_rad) joint.highest_rad = *j.pitch.highest_rad;
        out.joints.push_back(joint);
      }
      out.bodies.emplace_back();
    }
    place[b] = out.bodies.size() - 1;
    ProfileBody& to = out.bodies.back();
    const vehicle::Body from = vehicle::loaded_body(v, b);
    const double weight = from.mass_kg * gravity_m_s2, sum = to.weight_n + weight;
    if (sum > 0) {
      to.cg_x_m = (to.weight_n * to.cg_x_m + weight * from.cg_x_m) / sum;
      to.cg_z_m = (to.weight_n * to.cg_z_m + weight * from.cg_z_m) / sum;
    }
    to.weight_n = sum;
    for (const vehicle::UnderbodyPoint& p : vehicle::underbody(v, b)) to.underbody.push_back({p.x_m, p.z_m});
  }
  if (out.bodies.size() == 1) {
    out.underbody = std::move(out.bodies.front().underbody);
    out.bodies.clear();
  }
  const std::vector<double> standing = vehicle::level_axle_loads_n(v, gravity_m_s2);
  for (const vehicle::Axle& a : v.axles) {
    const double radius = vehicle::shearing_radius_m(a.wheel);
    ProfileAxle axle{.x_m = a.position_x_m, .radius_m = radius, .centre_height_m = radius, .driven = a.drive.driven, .wheels = a.wheels, .body = place[a.body]};
    if (a.drive.driven && a.drive.peak_torque_n_m) axle.torque_limit_n_m = *a.drive.peak_torque_n_m * a.wheels;
    axle.deflection_load = deflection_load(a, out.weight_n);
    // Heights in the file are those of the vehicle as it stands, its wheels flattened by their loads.
    if (!axle.deflection_load.empty()) axle.centre_height_m -= vehicle::deflection_m(*a.wheel.flex, standing[out.axles.size()] / a.wheels).value_or(0);
    out.axles.push_back(std::move(axle));
  }
  return out;
}

ProfileVehicle on_rigid_wheels(ProfileVehicle vehicle) {
  for (ProfileAxle& a : vehicle.axles) a.deflection_load.clear();
  return vehicle;
}

bool bends(const ProfileVehicle& vehicle) { return vehicle.bodies.size() > 1; }

bool flattens(const ProfileVehicle& vehicle) {
  return std::any_of(vehicle.axles.begin(), vehicle.axles.end(), [](const ProfileAxle& a) { return !a.deflection_load.empty(); });
}

ProfileVehicle mirrored(const ProfileVehicle& v) {
  ProfileVehicle out = v;
  const double from = v.axles.back().x_m;
  const auto turn_line = [from](std::vector<ProfilePoint>& line) {
    std::reverse(line.begin(), line.end());
    for (ProfilePoint& p : line) p.x_m = from - p.x_m;
  };
  std::reverse(out.axles.begin(), out.axles.end());
  for (ProfileAxle& a : out.axles) {
    a.x_m = from - a.x_m;
    if (!v.bodies.empty()) a.body = v.bodies.size() - 1 - a.body;
  }
  out.cg_x_m = from - v.cg_x_m;
  turn_line(out.underbody);
  std::reverse(out.bodies.begin(), out.bodies.end());
  for (ProfileBody& b : out.bodies) {
    b.cg_x_m = from - b.cg_x_m;
    turn_line(b.underbody);
  }
  std::reverse(out.joints.begin(), out.joints.end());
  // What lay ahead lies behind, and nose up is nose down: the angle keeps its sign.
  for (ProfileJoint& j : out.joints) j.x_m = from - j.x_m;
  return out;
}

std::vector<Pose> resting_poses(const ProfileVehicle& vehicle, const Profile& profile, double travel_m) {
  constexpr double kLook = 0.5 * 3.14159265358979323846 / 180;
  const detail::Rolling rolling(vehicle, profile);
  std::vector<Pose> out;
  double low = -kSteepestPitch_rad;
  std::size_t wheel = rolling.held(travel_m, low).wheel;
  while (low < kSteepestPitch_rad) {
    const double high = std::min(low + kLook, kSteepestPitch_rad);
    const std::size_t next = rolling.held(travel_m, high).wheel;
    if (next != wheel) out.push_back(rolling.pose_between(travel_m, low, high, low));
    low = high;
    wheel = next;
  }
  return out;
}

}  // namespace hardpan::performance
