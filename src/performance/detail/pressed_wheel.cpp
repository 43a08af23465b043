// SPDX-License-Identifier: Apache-2.0
// Area by Green's theorem over each run of ground inside the circle: circular segment over the run's chord plus the polygon between chord and
// ground, both told relative to the chord so that nothing cancels for a patch of 1e-7 of the radius.
#include "performance/detail/pressed_wheel.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"

namespace hardpan::performance::detail {
namespace {

// theta - sin(theta).
double arc_less_sine(double theta) {
  if (theta < 0.3) {
    const double t2 = theta * theta;
    return theta * t2 / 6 * (1 - t2 / 20 * (1 - t2 / 42 * (1 - t2 / 72 * (1 - t2 / 110))));
  }
  return theta - std::sin(theta);
}

// Angle whose segment has the area a r^2 / 2: theta - sin(theta) = a. Newton from the small-angle answer; 2 to 4 steps were seen.
double segment_angle(double a) {
  double theta = std::cbrt(6 * a);
  if (theta > 3.0) theta = 3.0;
  for (int i = 0; i < 30; ++i) {
    const double half = std::sin(0.5 * theta), slope = 2 * half * half, step = (arc_less_sine(theta) - a) / slope;
    theta = std::clamp(theta - step, 0.25 * theta, 6.2);
    if (std::abs(step) <= 1e-14 * theta) break;
  }
  return theta;
}

struct Point {
  double x = 0, z = 0;   // from the wheel's centre
};
double cross(const Point& a, const Point& b) { return a.x * b.z - a.z * b.x; }

// What moves with the centre where a circle meets a piece: d(end) = e (end . dc) / (end . e), the ground standing still.
struct Slide {
  double xx = 0, xz = 0, zx = 0, zz = 0;
};
Slide slide(const Point& end, const Point& e, double radius) {
  // A circle that grazes has no end to speak of; the pressure is then nothing either.
  double along = end.x * e.x + end.z * e.z;
  const double least = 1e-9 * radius;
  if (std::abs(along) < least) along = along < 0 ? -least : least;
  return {e.x * end.x / along, e.x * end.z / along, e.z * end.x / along, e.z * end.z / along};
}

}  // namespace

Law::Law(const std::vector<std::pair<double, double>>& deflection_load) {
  HARDPAN_ASSERT(deflection_load.size() >= 2);
  // Longer tables keep their first knees and every so many of the rest: no table of a wheel has that many.
  count_ = std::min(deflection_load.size(), kMostKnees);
  for (std::size_t i = 0; i < count_; ++i) {
    const auto& [f, load] = deflection_load[i * (deflection_load.size() - 1) / (count_ - 1)];
    f_[i] = f;
    load_[i] = load;
    work_[i] = i == 0 ? 0 : work_[i - 1] + 0.5 * (load + load_[i - 1]) * (f - f_[i - 1]);
  }
}

Law::At Law::at(double f) const {
  std::size_t i = 0;
  while (i + 2 < count_ && f > f_[i + 1]) ++i;
  const double slope = (load_[i + 1] - load_[i]) / (f_[i + 1] - f_[i]), beyond = f - f_[i], load = load_[i] + slope * beyond;
  return {load, slope, work_[i] + 0.5 * (load_[i] + load) * beyond};
}

double Law::deflection_m(double load) const {
  std::size_t i = 0;
  while (i + 2 < count_ && load > load_[i + 1]) ++i;
  return f_[i] + (load - load_[i]) * (f_[i + 1] - f_[i]) / (load_[i + 1] - load_[i]);
}

Press pressed(const Ground& ground, const ProfilePoint& centre, double r, const Law& law) {
  const auto& points = ground.points();
  const auto [begin, end] = ground.pieces(centre.x_m - r, centre.x_m + r);
  const std::size_t last = points.size() - 2;
  Press out;
  double area = 0, fan = 0, deepest = r * r;
  Point chord;
  Slide turns;   // of the chords with the centre
  bool inside = false;
  Point first, at;
  Slide first_slide;
  double above = 0;   // twice the area between the run so far and the lines from its first point: positive where the ground stands over the chord
  int runs = 0;
  const auto finish = [&](const Point& b, const Slide& b_slide) {
    ++runs;
    const Point c{b.x - first.x, b.z - first.z};
    const double half = std::min(1.0, std::sqrt(c.x * c.x + c.z * c.z) / (2 * r)), small = 2 * std::asin(half);
    const double theta = cross(first, b) >= 0 ? small : 2 * 3.14159265358979323846 - small;
    area += 0.5 * r * r * arc_less_sine(theta) + 0.5 * above;
    chord.x += c.x;
    chord.z += c.z;
    turns.xx += b_slide.xx - first_slide.xx;
    turns.xz += b_slide.xz - first_slide.xz;
    turns.zx += b_slide.zx - first_slide.zx;
    turns.zz += b_slide.zz - first_slide.zz;
    inside = false;
  };
  for (std::size_t i = begin; i < end; ++i) {
    const Point a{points[i].x_m - centre.x_m, points[i].z_m - centre.z_m};
    const Ground::Piece& piece = ground.all_pieces()[i];
    const double length = piece.length;
    const Point e{piece.nz, -piece.nx};
    const double away = cross(e, a);   // of the line from the centre, signed
    const double under = (r - std::abs(away)) * (r + std::abs(away));
    if (!(under > 0)) {
      if (inside) finish(at, slide(at, e, r));
      continue;
    }
    const double half = std::sqrt(under), foot = -(a.x * e.x + a.z * e.z);
    double from = foot - half, to = foot + half;
    const bool enters = from > 0 || i == 0, leaves = to < length || i == last;
    if (!enters) from = 0;
    if (!leaves) to = length;
    if (!(to > from)) {
      if (inside) finish(at, slide(at, e, r));
      continue;
    }
    const Point p{a.x + from * e.x, a.z + from * e.z}, q{a.x + to * e.x, a.z + to * e.z};
    out.between = out.between || (inside && !enters && !ground.sticks_out(i));
    if (enters || !inside) {
      if (inside) finish(at, slide(at, e, r));
      inside = true;
      first = p;
      first_slide = slide(p, e, r);
      above = 0;
    }
    const Point fp{p.x - first.x, p.z - first.z}, fq{q.x - first.x, q.z - first.z};
    above -= cross(fp, fq);
    fan += 0.5 * cross(p, q);
    const double near = std::clamp(foot, from, to), x = a.x + near * e.x, z = a.z + near * e.z;
    if (x * x + z * z < deepest) {
      deepest = x * x + z * z;
      out.feature = near <= 0 ? 2 * static_cast<int>(i) : near >= length ? 2 * static_cast<int>(i) + 2 : 2 * static_cast<int>(i) + 1;
    }
    at = q;
    if (leaves) finish(q, slide(q, e, r));
  }
  if (inside) finish(at, {});
  const double width = std::sqrt(chord.x * chord.x + chord.z * chord.z);
  if (!(area > 0 && width > 0)) return out;
  const double theta = segment_angle(2 * area / (r * r)), sine = std::sin(0.5 * theta), cosine = std::cos(0.5 * theta);
  const double f = 2 * r * std::pow(std::sin(0.25 * theta), 2), flat = 2 * r * sine;
  const Law::At l = law.at(f);
  const double pressure = l.load / flat;                                              // eq. 14
  const double stiffer = (l.slope - l.load * 2 * cosine / (sine * flat)) / (flat * flat);   // dp/dA
  out.between = out.between || runs > 1;
  out.area_m2 = area;
  out.deflection_m = f;
  out.work_n_m = l.work;
  out.nx = -chord.z / width;
  out.nz = chord.x / width;
  out.fx_n = -pressure * chord.z;
  out.fz_n = pressure * chord.x;
  out.normal_n = pressure * width;
  out.arm_m = 2 * fan / width;
  // Force = p (-Cz, Cx); dA/dc = (Cz, -Cx); K = -dF/dc, made symmetric (it is, to rounding).
  out.kxx = stiffer * chord.z * chord.z + pressure * turns.zx;
  out.kzz = stiffer * chord.x * chord.x - pressure * turns.xz;
  out.kxz = -stiffer * chord.x * chord.z + 0.5 * pressure * (turns.zz - turns.xx);
  return out;
}

}  // namespace hardpan::performance::detail
