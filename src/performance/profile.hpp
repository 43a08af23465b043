// SPDX-License-Identifier: Apache-2.0
// Ground in side view for crossing obstacles: a checked line of points, x forward, z up, in metres.
//
// x never falls from point to point: a vertical face is two points with the same x; an OVERHANG IS NOT SUPPORTED and refused. Beyond its
// ends the ground goes on straight, in the direction of the first and last piece, so these two may not be vertical. Points on a
// straight piece (within 1e-12 of the extent) and repeated points are dropped: they do not change the ground. Hard ground; soil is not
// this type's business.
//
//   const auto kerb = Profile::step(0.15);               // up; a negative height is a step down
//   const auto ditch = Profile::from_points({{0, 0}, {0.4, -0.3}, {0.9, -0.3}, {1.2, 0}}, place, problems);
//   if (ditch) walk(ditch->points());
#pragma once

#include <optional>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::performance {

struct ProfilePoint {
  double x_m = 0, z_m = 0;
  bool operator==(const ProfilePoint&) const = default;
};

class Profile {
 public:
  // Refused, each with its own line: fewer than 2 different points; a number that is not finite; x falling (overhang); a vertical face that
  // turns back on itself; a first or last piece that is vertical. Problem places are `place` with the key "point[k]", k from 1.
  [[nodiscard]] static std::optional<Profile> from_points(const std::vector<ProfilePoint>& points, const base::Place& place,
                                                          base::Problems& problems);
  // Level ground, a vertical face at x = 0, level ground `height_m` higher (lower where negative). Finite; checked by assertion.
  [[nodiscard]] static Profile step(double height_m);
  // Level ground with a slot from x = 0 to `width_m` > 0, `depth_m` > 0 deep, vertical faces.
  [[nodiscard]] static Profile gap(double width_m, double depth_m);

  // At least two, x not falling, no three on a line. The first and last stand for the rays beyond the ends too.
  [[nodiscard]] const std::vector<ProfilePoint>& points() const { return points_; }
  // Highest ground at x [m] (the top of a vertical face).
  [[nodiscard]] double height_m(double x_m) const;
  // The same ground met from the other side: x -> -x.
  [[nodiscard]] Profile mirrored() const;

 private:
  explicit Profile(std::vector<ProfilePoint> points);
  std::vector<ProfilePoint> points_;
};

}  // namespace hardpan::performance
