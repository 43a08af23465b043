// SPDX-License-Identifier: Apache-2.0
#include "performance/profile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"

namespace hardpan::performance {
namespace {

// A point nearer than this share of the extent to the line through its neighbours does not bend the ground.
constexpr double kStraight = 1e-12;

double distance_from_line(const ProfilePoint& a, const ProfilePoint& p, const ProfilePoint& b) {
  const double dx = b.x_m - a.x_m, dz = b.z_m - a.z_m;
  return std::abs(dx * (p.z_m - a.z_m) - dz * (p.x_m - a.x_m)) / std::hypot(dx, dz);
}

// Repeated points and points inside a straight piece left out.
std::vector<ProfilePoint> bends(const std::vector<ProfilePoint>& points) {
  double lowest = points.front().z_m, highest = lowest;
  for (const ProfilePoint& p : points) {
    lowest = std::min(lowest, p.z_m);
    highest = std::max(highest, p.z_m);
  }
  const double tolerance = kStraight * std::max(points.back().x_m - points.front().x_m, highest - lowest);
  std::vector<ProfilePoint> out;
  for (const ProfilePoint& p : points) {
    if (!out.empty() && p == out.back()) continue;
    while (out.size() >= 2 && distance_from_line(out[out.size() - 2], out.back(), p) <= tolerance) out.pop_back();
    out.push_back(p);
  }
  return out;
}

}  // namespace

Profile::Profile(std::vector<ProfilePoint> points) : points_(bends(points)) {}

std::optional<Profile> Profile::from_points(const std::vector<ProfilePoint>& points, const base::Place& place,
                                            base::Problems& problems) {
  bool good = true;
  const auto refuse = [&](std::size_t index, std::string what, std::string value, std::string bound, std::string remedy) {
    base::Place where = place;
    where.key += fmt::format("{}point[{}]", where.key.empty() ? "" : ".", index + 1);
    problems.refuse({.place = where, .what = std::move(what), .value = std::move(value), .bound = std::move(bound), .remedy = std::move(remedy)});
    good = false;
  };
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!(std::isfinite(points[i].x_m) && std::isfinite(points[i].z_m))) {
      refuse(i, "a profile point is not a finite number", fmt::format("({}, {}) m", points[i].x_m, points[i].z_m), "finite numbers",
             "measure the point again or leave it out");
    }
  }
  if (!good) return std::nullopt;
  std::vector<ProfilePoint> distinct;
  std::vector<std::size_t> index;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!distinct.empty() && points[i] == distinct.back()) continue;
    distinct.push_back(points[i]);
    index.push_back(i);
  }
  if (distinct.size() < 2) {
    refuse(0, "a profile needs at least two different points", fmt::format("{}", distinct.size()), "2 or more",
           "give the ground before and behind the obstacle");
    return std::nullopt;
  }
  for (std::size_t i = 1; i < distinct.size(); ++i) {
    const ProfilePoint &a = distinct[i - 1], &b = distinct[i];
    if (!(b.x_m >= a.x_m)) {
      refuse(index[i], "the profile runs backward: overhanging ground is not supported, and a line that crosses itself is no ground",
             fmt::format("x = {} m after {} m", b.x_m, a.x_m), "x not below the point before",
             "order the points along the way; replace an overhang by a vertical face");
    } else if (i >= 2 && b.x_m == a.x_m && distinct[i - 2].x_m == a.x_m && (b.z_m > a.z_m) != (a.z_m > distinct[i - 2].z_m)) {
      refuse(index[i], "a vertical face turns back on itself", fmt::format("z = {} m after {} m at x = {} m", b.z_m, a.z_m, b.x_m),
             "one direction up or down a face", "leave the middle point out, or give the post a width");
    }
  }
  if (!good) return std::nullopt;
  const std::size_t n = distinct.size();
  if (distinct[0].x_m == distinct[1].x_m) {
    refuse(index[0], "the first piece of the profile is vertical", fmt::format("x = {} m twice", distinct[0].x_m), "x rising",
           "add a point of the ground before the obstacle");
  } else if (distinct[n - 2].x_m == distinct[n - 1].x_m) {
    refuse(index[n - 1], "the last piece of the profile is vertical", fmt::format("x = {} m twice", distinct[n - 1].x_m), "x rising",
           "add a point of the ground behind the obstacle");
  }
  if (!good) return std::nullopt;
  return Profile(std::move(distinct));
}

Profile Profile::step(double height_m) {
  HARDPAN_ASSERT(std::isfinite(height_m));
  return Profile({{-1, 0}, {0, 0}, {0, height_m}, {1, height_m}});
}

Profile Profile::gap(double width_m, double depth_m) {
  HARDPAN_ASSERT(width_m > 0 && depth_m > 0 && std::isfinite(width_m) && std::isfinite(depth_m));
  return Profile({{-1, 0}, {0, 0}, {0, -depth_m}, {width_m, -depth_m}, {width_m, 0}, {width_m + 1, 0}});
}

double Profile::height_m(double x_m) const {
  // First point beyond x; the pieces at the ends go on straight.
  const auto beyond = std::upper_bound(points_.begin(), points_.end(), x_m, [](double x, const ProfilePoint& p) { return x < p.x_m; });
  std::size_t b = static_cast<std::size_t>(beyond - points_.begin());
  b = std::clamp<std::size_t>(b, 1, points_.size() - 1);
  const ProfilePoint &p = points_[b - 1], &q = points_[b];
  double z = p.z_m + (x_m - p.x_m) * (q.z_m - p.z_m) / (q.x_m - p.x_m);
  // On a vertical face: the higher of its ends.
  for (std::size_t i = b; i-- > 0 && points_[i].x_m == x_m;) z = std::max(z, points_[i].z_m);
  return z;
}

Profile Profile::mirrored() const {
  std::vector<ProfilePoint> out(points_.rbegin(), points_.rend());
  for (ProfilePoint& p : out) p.x_m = -p.x_m;
  return Profile(std::move(out));
}

}  // namespace hardpan::performance
