// SPDX-License-Identifier: Apache-2.0
// Notation: x along and z up (side), x along and y left (plan), in metres; px = offset + scale * metre, the front at the right.
#include "report/vehicle_drawing.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "performance/clearance.hpp"
#include "report/detail/figure_ink.hpp"
#include "report/detail/values.hpp"

namespace hardpan::report {
namespace {

using detail::kForce;
using detail::kLength;
using vehicle::Axle;
using vehicle::Vehicle;

constexpr double kWidth_px = 720, kMargin_px = 46, kText_px = 12, kLine_px = 15;

class Drawing {
 public:
  void line(double x0, double y0, double x1, double y1, const char* css) { out_ += fmt::format("<line class=\"{}\" x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\"/>\n", css, x0, y0, x1, y1); }
  void circle(double x, double y, double r, const char* css) { out_ += fmt::format("<circle class=\"{}\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\"/>\n", css, x, y, r); }
  void box(double x, double y, double w, double h, const char* css) { out_ += fmt::format("<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>\n", css, x, y, w, h); }
  void path(const std::string& d, const char* css) { out_ += fmt::format("<path class=\"{}\" d=\"{}\"/>\n", css, d); }
  void text(double x, double y, const std::string& words, const char* anchor = "middle", const char* css = "t") {
    out_ += fmt::format("<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n", css, x, y, anchor, detail::escape(words));
  }
  // A length between two places with its value, arrow heads inside; the text beside it where there is no room.
  void dimension(double x0, double x1, double y, const std::string& words) {
    line(x0, y, x1, y, "d");
    for (const auto& [x, way] : {std::pair{x0, 1.0}, std::pair{x1, -1.0}}) path(fmt::format("M{:.1f} {:.1f}l{:.1f} -3l0 6z", x, y, 7 * way), "f");
    text(0.5 * (x0 + x1), y - 4, words);
  }
  // The sign of a centre of gravity: a circle in quarters.
  void centre_of_gravity(double x, double y, double r) {
    circle(x, y, r, "w");
    path(fmt::format("M{0:.1f} {1:.1f}L{0:.1f} {2:.1f}A{3:.1f} {3:.1f} 0 0 1 {4:.1f} {1:.1f}ZM{0:.1f} {1:.1f}L{0:.1f} {5:.1f}A{3:.1f} {3:.1f} 0 0 1 {6:.1f} {1:.1f}Z", x, y, y - r, r, x + r, y + r, x - r), "f");
  }
  [[nodiscard]] std::string take() { return std::move(out_); }

 private:
  std::string out_;
};

// To the millimetre, however long: the digits behind one drawing's lengths are the same.
std::string length_text(const detail::Printer& print, double m) {
  const units::Unit unit = print.unit(m, kLength);
  const int decimals = unit.spelling == "mm" ? 0 : unit.spelling == "in" ? 1 : unit.spelling == "ft" ? 2 : 3;
  return units::print_fixed(units::from_si(m, unit), decimals) + " " + unit.spelling;
}

// "pitch rigid" is not told: what moves, and how.
std::string motions(const vehicle::Joint& j) {
  std::string out;
  for (const auto& [name, axis] : {std::pair{"pitch", &j.pitch}, {"roll", &j.roll}, {"yaw", &j.yaw}}) {
    if (axis->freedom != vehicle::Freedom::rigid) out += (out.empty() ? "" : ", ") + std::string(name) + " " + vehicle::name(axis->freedom);
  }
  return out.empty() ? "rigid" : out;
}

struct Extent {
  double rear = 0, front = 0, top = 0, half = 0;
};

Extent extent_of(const Vehicle& v) {
  Extent e{1e9, -1e9, 0, 0};
  const auto along = [&](double x) { e.rear = std::min(e.rear, x), e.front = std::max(e.front, x); };
  for (const Axle& a : v.axles) {
    const double r = vehicle::shearing_radius_m(a.wheel);
    along(a.position_x_m - r);
    along(a.position_x_m + r);
    e.top = std::max(e.top, 2 * r);
    e.half = std::max(e.half, 0.5 * (a.wheels > 1 ? a.track_width_m : 0) + 0.5 * a.wheel.width_m);
  }
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    for (const auto& p : vehicle::underbody(v, b)) along(p.x_m), e.top = std::max(e.top, p.z_m);
    along(v.bodies[b].cg_x_m);
    e.top = std::max(e.top, v.bodies[b].cg_z_m);
  }
  for (const auto& p : v.payload) along(p.x_m), e.top = std::max(e.top, p.z_m), e.half = std::max(e.half, std::abs(p.y_m));
  if (v.hitch) along(v.hitch->x_m), e.top = std::max(e.top, v.hitch->height_m);
  return e;
}

// What the scales said of an axle with payload; nothing where it was not weighed so.
std::string weighed_words(const Vehicle& v, const Axle& a, const detail::Printer& print) {
  double whole = 0, left = 0, right = 0;
  int wholes = 0, lefts = 0, rights = 0;
  for (const vehicle::ScaleWeight& s : v.scales) {
    if (s.axle != a.name || (!v.payload.empty() && !s.with_payload)) continue;
    double& sum = s.side == vehicle::Side::both ? whole : s.side == vehicle::Side::left ? left : right;
    int& count = s.side == vehicle::Side::both ? wholes : s.side == vehicle::Side::left ? lefts : rights;
    sum += s.load_n;
    ++count;
  }
  if (wholes > 0) return "scales " + print.value(whole / wholes, kForce, 4);
  if (lefts > 0 && rights > 0) return "scales " + print.value(left / lefts + right / rights, kForce, 4);
  return "not weighed";
}

struct View {
  double scale = 1, x0 = 0, y0 = 0;   // px of x = 0 and of z (or y) = 0
  [[nodiscard]] double x(double m) const { return x0 + scale * m; }
  [[nodiscard]] double y(double m) const { return y0 - scale * m; }
};

void side_view(Drawing& d, const Vehicle& v, const View& at, const Extent& e, double gravity_m_s2, const detail::Printer& print) {
  const std::vector<double> loads = vehicle::level_axle_loads_n(v, gravity_m_s2);
  d.line(at.x(e.rear) - 14, at.y0, at.x(e.front) + 14, at.y0, "g");
  for (const Axle& a : v.axles) {
    const double r = vehicle::shearing_radius_m(a.wheel);
    if (a.wheel.grouser_height_m > 0) d.circle(at.x(a.position_x_m), at.y(r), at.scale * r, "dash");
    d.circle(at.x(a.position_x_m), at.y(r), at.scale * a.wheel.radius_m, "wheel");
    d.circle(at.x(a.position_x_m), at.y(r), 2, "f");
  }
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    const auto points = vehicle::underbody(v, b);
    std::string path;
    for (const auto& p : points) path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : "L", at.x(p.x_m), at.y(p.z_m));
    if (points.size() == 1) path = fmt::format("M{:.1f} {:.1f}l24 0", at.x(points[0].x_m) - 12, at.y(points[0].z_m));
    if (!path.empty()) d.path(path, "body");
  }
  for (std::size_t k = 0; k < v.joints.size(); ++k) {
    const vehicle::Joint& j = v.joints[k];
    for (const std::size_t b : {k, k + 1}) d.line(at.x(v.bodies[b].cg_x_m), at.y(v.bodies[b].cg_z_m), at.x(j.x_m), at.y(j.z_m), "thin");  // which bodies it joins
    d.path(fmt::format("M{:.1f} {:.1f}l7 7l-7 7l-7 -7z", at.x(j.x_m), at.y(j.z_m) - 7), "w");
    d.text(at.x(j.x_m), at.y(j.z_m) - 12, motions(j));
  }
  if (v.hitch) {
    d.path(fmt::format("M{:.1f} {:.1f}l-6 10l12 0z", at.x(v.hitch->x_m), at.y(v.hitch->height_m)), "w");
    d.text(at.x(v.hitch->x_m), at.y(v.hitch->height_m) - 5, "hitch");
  }
  const vehicle::Body all = vehicle::loaded_body(v);
  for (const vehicle::Payload& p : v.payload) {
    d.box(at.x(p.x_m) - 4, at.y(p.z_m) - 4, 8, 8, "w");
    d.text(at.x(p.x_m) - 8, at.y(p.z_m) + 4, p.name, "end");
  }
  if (v.bodies.size() > 1) {
    for (const vehicle::Body& b : v.bodies) d.centre_of_gravity(at.x(b.cg_x_m), at.y(b.cg_z_m), 5);
  }
  d.line(at.x(all.cg_x_m), at.y(all.cg_z_m), at.x(all.cg_x_m), at.y0, "dash");
  d.centre_of_gravity(at.x(all.cg_x_m), at.y(all.cg_z_m), 8);
  d.text(at.x(all.cg_x_m) + 12, at.y(all.cg_z_m) - 6, length_text(print, all.cg_z_m) + " high", "start");
  const performance::Clearances c = performance::clearances(v, gravity_m_s2);
  if (c.belly) {
    // The outline is drawn unloaded, as the file states it: up to there, with the height on loaded tyres beside.
    const double unloaded_m = c.belly->at_z_m + c.settled_m;
    d.line(at.x(c.belly->at_x_m), at.y(unloaded_m), at.x(c.belly->at_x_m), at.y0, "d");
    const bool left_half = at.x(c.belly->at_x_m) < 0.5 * kWidth_px;   // the words go towards the middle
    const double x = at.x(c.belly->at_x_m) + (left_half ? 4 : -4), middle = 0.5 * (at.y(unloaded_m) + at.y0) + 4;
    const char* side = left_half ? "start" : "end";
    d.text(x, c.settled_m > 0 ? middle - 0.5 * kLine_px : middle, length_text(print, unloaded_m) + (c.settled_m > 0 ? " unloaded" : ""), side);
    if (c.settled_m > 0) d.text(x, middle + 0.5 * kLine_px, length_text(print, c.belly->at_z_m) + " loaded", side);
  }
  // Loads under the axles, their arrows to one scale: the whole weight is as long as the longest arrow may be.
  double most = 0;
  for (const double load : loads) most = std::max(most, load);
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const double x = at.x(v.axles[i].position_x_m), length = 30 * loads[i] / most;
    d.line(x, at.y0 + 5, x, at.y0 + 5 + length, "load");
    d.path(fmt::format("M{:.1f} {:.1f}l-4 8l8 0z", x, at.y0 + 2), "f");
    d.text(x, at.y0 + 50, v.axles[i].name);
    d.text(x, at.y0 + 50 + kLine_px, "file " + print.value(loads[i], kForce, 4));
    d.text(x, at.y0 + 50 + 2 * kLine_px, weighed_words(v, v.axles[i], print));
  }
}

void plan_view(Drawing& d, const Vehicle& v, const View& at, const Extent& e, const detail::Printer& print) {
  d.line(at.x(e.rear) - 14, at.y0, at.x(e.front) + 14, at.y0, "axis");
  for (const Axle& a : v.axles) {
    const double r = vehicle::shearing_radius_m(a.wheel);
    const std::vector<double> offsets = vehicle::wheel_offsets_m(a);
    if (offsets.size() > 1) d.line(at.x(a.position_x_m), at.y(offsets.front()), at.x(a.position_x_m), at.y(offsets.back()), "thin");
    for (const double y : offsets) d.box(at.x(a.position_x_m - r), at.y(y + 0.5 * a.wheel.width_m), 2 * r * at.scale, a.wheel.width_m * at.scale, a.drive.driven ? "wheel" : "idle");
  }
  for (const vehicle::Joint& j : v.joints) d.path(fmt::format("M{:.1f} {:.1f}l7 7l-7 7l-7 -7z", at.x(j.x_m), at.y0 - 7), "w");
  for (const vehicle::Payload& p : v.payload) {
    if (p.x_allowed || p.y_allowed) {
      const vehicle::Span x = p.x_allowed.value_or(vehicle::Span{p.x_m, p.x_m}), y = p.y_allowed.value_or(vehicle::Span{p.y_m, p.y_m});
      d.box(at.x(x.lo_m) - 4, at.y(y.hi_m) - 4, at.scale * (x.hi_m - x.lo_m) + 8, at.scale * (y.hi_m - y.lo_m) + 8, "dashed");
    }
    d.box(at.x(p.x_m) - 4, at.y(p.y_m) - 4, 8, 8, "w");
  }
  const vehicle::Body all = vehicle::loaded_body(v);
  d.centre_of_gravity(at.x(all.cg_x_m), at.y(all.cg_y_m), 8);
  // Places from the rearmost axle, and the widest track.
  const double below = at.y(-e.half) + 24;
  for (std::size_t i = 1; i < v.axles.size(); ++i) {
    const double x0 = at.x(v.axles[i - 1].position_x_m), x1 = at.x(v.axles[i].position_x_m);
    for (const double x : {x0, x1}) d.line(x, at.y(-e.half) + 4, x, below + 5, "thin");
    d.dimension(x0, x1, below, length_text(print, v.axles[i].position_x_m - v.axles[i - 1].position_x_m));
  }
  d.line(at.x(all.cg_x_m), at.y(all.cg_y_m), at.x(all.cg_x_m), below + 27, "dash");
  d.dimension(at.x(0), at.x(all.cg_x_m), below + 24, length_text(print, all.cg_x_m));
  d.line(at.x(0), below, at.x(0), below + 29, "thin");
  for (const Axle& a : v.axles) {
    if (a.wheels > 1 && &a == &v.axles.back()) d.text(at.x(a.position_x_m) + 5, at.y(0) - 5, "track width " + length_text(print, a.track_width_m), "start");
  }
}

}  // namespace

std::string vehicle_drawing(const Vehicle& v, double gravity_m_s2, campaign::OutputUnits units) {
  const detail::Printer print(units);
  const Extent e = extent_of(v);
  const double length = e.front - e.rear;
  // Common scale: the width of the sheet, but no view higher than 260 px.
  const double scale = std::min({(kWidth_px - 2 * kMargin_px) / length, 260 / e.top, 260 / (2 * e.half)});
  View side{.scale = scale, .x0 = 0.5 * (kWidth_px - scale * length) - scale * e.rear, .y0 = 40 + scale * e.top};
  View plan = side;
  plan.y0 = side.y0 + 120 + scale * e.half;
  const double height = plan.y0 + scale * e.half + 108;

  Drawing d;
  d.text(8, 18, v.name + ": side view, front at the right", "start", "h");
  side_view(d, v, side, e, gravity_m_s2, print);
  d.text(8, plan.y0 - scale * e.half - 14, "Plan, left side above", "start", "h");
  plan_view(d, v, plan, e, print);
  // A scale bar of a round length.
  double bar = std::pow(10, std::floor(std::log10(0.5 * length)));
  if (5 * bar <= 0.5 * length) bar *= 5;
  else if (2 * bar <= 0.5 * length) bar *= 2;
  const bool us = units == campaign::OutputUnits::us;
  if (us) bar = 0.3048 * std::max(1.0, std::round(bar / 0.3048));
  d.line(12, height - 30, 12 + scale * bar, height - 30, "load");
  d.text(12, height - 36, print.value(bar, kLength, 2), "start");
  std::string signs = "quartered circle: centre of gravity";
  if (!v.payload.empty()) signs += "; square: payload or battery";
  if (!v.joints.empty()) signs += "; diamond: joint, with what it lets move";
  if (std::any_of(v.payload.begin(), v.payload.end(), [](const auto& p) { return p.x_allowed || p.y_allowed; })) signs += "; dashed: allowed places";
  d.text(12, height - 8, signs, "start");

  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" height=\"{1:.0f}\" role=\"img\">\n<title>{2}, drawn to scale from its file</title>\n"
      "<style>.t{{font:{3}px sans-serif;fill:#1f2933;stroke:#fff;stroke-width:3px;stroke-linejoin:round;paint-order:stroke}}.h{{font:600 {3}px sans-serif;fill:#1f2933}}.g{{stroke:#1f2933;stroke-width:2}}.d{{stroke:#4b5661;stroke-width:.8}}.thin{{stroke:#7b8794;stroke-width:.8}}"
      ".axis{{stroke:#7b8794;stroke-width:.8;stroke-dasharray:12 3 2 3}}.dash{{stroke:#4b5661;stroke-width:.8;stroke-dasharray:4 3;fill:none}}.dashed{{stroke:#4b5661;stroke-dasharray:3 2;fill:none}}"
      ".wheel{{fill:#d5dae0;stroke:#1f2933;stroke-width:1.3}}.idle{{fill:#fff;stroke:#1f2933;stroke-width:1.3}}.body{{fill:none;stroke:#1f2933;stroke-width:3;stroke-linejoin:round}}"
      ".w{{fill:#fff;stroke:#1f2933;stroke-width:1.2}}.f{{fill:#1f2933;stroke:none}}.load{{stroke:#1f2933;stroke-width:2.4}}</style>\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{4}</svg>\n",
      kWidth_px, height, detail::escape(v.name), kText_px, d.take());
}

}  // namespace hardpan::report
