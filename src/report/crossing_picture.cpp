// SPDX-License-Identifier: Apache-2.0
// Notation: x forward and z up in metres; px = offset + scale * metre, the front at the right.
#include "report/crossing_picture.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "report/detail/figure_ink.hpp"

namespace hardpan::report {
namespace {

namespace p = performance;

constexpr double kStrip_px = 720, kPanelsAcross = 3, kGap_px = 8, kHead_px = 24, kCaption_px = 36, kFrameWide_px = 960, kFrameHigh_px = 420;

// What a picture shows: metres along and up, and how many px a metre has.
struct Window {
  double left_m = 0, bottom_m = 0, wide_m = 1, high_m = 1, scale = 1;
  [[nodiscard]] double x(double m) const { return scale * (m - left_m); }
  [[nodiscard]] double y(double m) const { return scale * (bottom_m + high_m - m); }
};

struct Extent {
  double length_m = 0, below_m = 0, above_m = 0;   // of the vehicle standing straight; below and above the middle of its axles
};
Extent extent_of(const p::ProfileVehicle& v) {
  double rear = 1e9, front = -1e9, top = v.cg_z_m, height = 0;
  const auto along = [&](double x) { rear = std::min(rear, x), front = std::max(front, x); };
  for (const p::ProfileAxle& a : v.axles) {
    along(a.x_m - a.radius_m);
    along(a.x_m + a.radius_m);
    top = std::max(top, a.centre_height_m + a.radius_m);
  }
  const auto line = [&](const std::vector<p::ProfilePoint>& points) {
    for (const p::ProfilePoint& q : points) along(q.x_m), top = std::max(top, q.z_m);
  };
  line(v.underbody);
  for (const p::ProfileBody& b : v.bodies) line(b.underbody), top = std::max(top, b.cg_z_m);
  height = 0.5 * (v.axles.front().centre_height_m + v.axles.back().centre_height_m);
  return {front - rear, height, top - height};
}

std::string line(const Window& w, p::ProfilePoint a, p::ProfilePoint b, const char* css) {
  return fmt::format("<line class=\"{}\" x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\"/>", css, w.x(a.x_m), w.y(a.z_m), w.x(b.x_m), w.y(b.z_m));
}

// Ground in the window: its points, and the rays at its ends as far as the window goes.
std::string ground_in(const Window& w, const p::Profile& ground) {
  const auto& points = ground.points();
  const auto beyond = [](const p::ProfilePoint& from, const p::ProfilePoint& end, double x) { return end.z_m + (end.z_m - from.z_m) / (end.x_m - from.x_m) * (x - end.x_m); };
  const double left = w.left_m - 1, right = w.left_m + w.wide_m + 1;
  std::string path;
  const auto to = [&](double x, double z) { path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : "L", w.x(x), w.y(z)); };
  if (points.front().x_m > left) to(left, beyond(points[1], points.front(), left));
  for (const p::ProfilePoint& q : points) to(q.x_m, q.z_m);
  if (points.back().x_m < right) to(right, beyond(points[points.size() - 2], points.back(), right));
  const double last = std::max(right, points.back().x_m), first = std::min(left, points.front().x_m), low = w.scale * w.high_m + 20;
  return fmt::format("<path class=\"o-ground\" d=\"{}L{:.1f} {:.1f}L{:.1f} {:.1f}Z\"/>\n", path, w.x(last), low, w.x(first), low);
}

std::string centre_of_gravity(const Window& w, p::ProfilePoint at, double r) {
  const double x = w.x(at.x_m), y = w.y(at.z_m);
  return fmt::format("<circle class=\"o-white\" cx=\"{0:.1f}\" cy=\"{1:.1f}\" r=\"{3:.1f}\"/><path class=\"o-black\" d=\"M{0:.1f} {1:.1f}V{2:.1f}A{3:.1f} {3:.1f} 0 0 1 {4:.1f} {1:.1f}ZM{0:.1f} {1:.1f}V{5:.1f}A{3:.1f} {3:.1f} 0 0 1 {6:.1f} {1:.1f}Z\"/>\n",
                     x, y, y - r, r, x + r, y + r, x - r);
}

std::string body_in(const Window& w, const p::BodyPose& pose, const std::vector<p::ProfilePoint>& underbody) {
  std::string path;
  for (const p::ProfilePoint& q : underbody) {
    const p::ProfilePoint at = pose.at(q.x_m, q.z_m);
    path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : "L", w.x(at.x_m), w.y(at.z_m));
  }
  return underbody.size() > 1 ? fmt::format("<path class=\"o-body\" d=\"{}\"/>\n", path) : std::string();
}

// The ground's push on an axle, the whole weight as long as 0.6 of the vehicle's height.
std::string push(const Window& w, const p::WheelContact& c, const p::AxleForce& f, double m_per_n) {
  const double x = (-f.normal_n * std::sin(c.slope_rad) + f.traction_n * std::cos(c.slope_rad)) * m_per_n, z = (f.normal_n * std::cos(c.slope_rad) + f.traction_n * std::sin(c.slope_rad)) * m_per_n;
  const double length = w.scale * std::hypot(x, z);
  if (!(length > 4)) return "";
  const double ux = w.scale * x / length, uy = -w.scale * z / length, tip_x = w.x(c.point.x_m + x), tip_y = w.y(c.point.z_m + z);
  return fmt::format("<line class=\"o-push\" x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\"/><path class=\"o-black\" d=\"M{:.1f} {:.1f}L{:.1f} {:.1f}L{:.1f} {:.1f}Z\"/>\n", w.x(c.point.x_m), w.y(c.point.z_m), tip_x - 5 * ux,
                     tip_y - 5 * uy, tip_x, tip_y, tip_x - 8 * ux - 3.5 * uy, tip_y - 8 * uy + 3.5 * ux, tip_x - 8 * ux + 3.5 * uy, tip_y - 8 * uy - 3.5 * ux);
}

std::string scene(const Window& w, const p::ProfileVehicle& v, const p::Profile& ground, const p::Frame& f, double vehicle_high_m) {
  std::string out;
  const bool chain = !v.bodies.empty();
  for (std::size_t k = 0; k < v.axles.size(); ++k) {
    const p::WheelContact& c = f.pose.wheel[k];
    const double r = v.axles[k].radius_m, turned = f.pose.travel_m / r;
    out += fmt::format("<circle class=\"{}\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\"/>", v.axles[k].driven ? "o-wheel" : "o-idle", w.x(c.centre.x_m), w.y(c.centre.z_m), w.scale * r);
    out += line(w, c.centre, {c.centre.x_m + 0.8 * r * std::sin(turned), c.centre.z_m + 0.8 * r * std::cos(turned)}, "o-thin") + "\n";
  }
  out += ground_in(w, ground);
  // Which wheels a body carries and which bodies a joint holds together.
  for (std::size_t k = 0; k < v.axles.size(); ++k) {
    const p::ProfilePoint hub = f.pose.wheel[k].centre;
    const p::BodyPose& pose = f.pose.body[chain ? v.axles[k].body : 0];
    out += line(w, hub, chain ? pose.at(v.bodies[v.axles[k].body].cg_x_m, v.bodies[v.axles[k].body].cg_z_m) : f.pose.cg, "o-thin");
    out += fmt::format("<circle class=\"o-black\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"1.8\"/>\n", w.x(hub.x_m), w.y(hub.z_m));
  }
  for (std::size_t j = 0; chain && j < v.joints.size(); ++j) {
    const p::ProfilePoint at = f.pose.body[j].at(v.joints[j].x_m, v.joints[j].z_m);
    for (const std::size_t b : {j, j + 1}) out += line(w, f.pose.body[b].at(v.bodies[b].cg_x_m, v.bodies[b].cg_z_m), at, "o-thin");
    out += fmt::format("<path class=\"o-white\" d=\"M{:.1f} {:.1f}l4.5 4.5l-4.5 4.5l-4.5 -4.5z\"/>\n", w.x(at.x_m), w.y(at.z_m) - 4.5);
  }
  if (!chain) out += body_in(w, f.pose.body[0], v.underbody);
  for (std::size_t b = 0; chain && b < v.bodies.size(); ++b) {
    out += body_in(w, f.pose.body[b], v.bodies[b].underbody);
    out += centre_of_gravity(w, f.pose.body[b].at(v.bodies[b].cg_x_m, v.bodies[b].cg_z_m), 3);
  }
  out += centre_of_gravity(w, f.pose.cg, 5);
  for (std::size_t k = 0; k < v.axles.size() && f.forces.solve.converged(); ++k) {
    if (f.pose.wheel[k].carries) out += push(w, f.pose.wheel[k], f.forces.axle[k], 0.6 * vehicle_high_m / v.weight_n);
  }
  return out;
}

std::string needs_words(const p::Frame& f) { return f.forces.solve.converged() ? fmt::format("friction needed {:.2f}", f.forces.friction) : std::string("no balance found"); }

std::string text(double x, double y, const std::string& words, const char* css = "o-text", const char* anchor = "start") {
  return fmt::format("<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n", css, x, y, anchor, detail::escape(words));
}

// A bar of a round length, at most `most_m`.
std::string scale_bar(double x, double y, double scale, double most_m, units::OutputUnits units) {
  const double foot = 0.3048, unit = units == units::OutputUnits::us ? foot : 1.0;
  double bar = std::pow(10, std::floor(std::log10(most_m / unit)));
  for (const double times : {5.0, 2.0}) {
    if (times * bar * unit <= most_m) {
      bar *= times;
      break;
    }
  }
  bar *= unit;
  return fmt::format("<line class=\"o-push\" x1=\"{0:.1f}\" y1=\"{1:.1f}\" x2=\"{2:.1f}\" y2=\"{1:.1f}\"/>\n", x, y, x + scale * bar) + text(x + scale * bar + 6, y + 4, units::print_quantity(bar, units::Dimension::length, units, 2));
}

std::string signs(const p::ProfileVehicle& v) {
  return std::string("Arrows: the ground's push on an axle at the least friction. Quartered circle: centre of gravity") + (v.joints.empty() ? "." : "; diamond: joint.");
}

std::string document(double wide, double high, const std::string& title, const std::string& inside) {
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" height=\"{1:.0f}\" role=\"img\">\n<title>{2}</title>\n"
      "<style>.o-text{{font:12px sans-serif;fill:#1f2933}}.o-head{{font:600 12px sans-serif;fill:#1f2933}}.o-ground{{fill:#d9d3c7;stroke:#1f2933;stroke-width:1.4;stroke-linejoin:round}}"
      ".o-wheel{{fill:#c4ccd4;stroke:#1f2933;stroke-width:1.2}}.o-idle{{fill:#fff;stroke:#1f2933;stroke-width:1.2}}.o-body{{fill:none;stroke:#1f2933;stroke-width:2.6;stroke-linejoin:round}}"
      ".o-thin{{stroke:#5b6773;stroke-width:.8}}.o-white{{fill:#fff;stroke:#1f2933;stroke-width:1.1}}.o-black{{fill:#1f2933;stroke:none}}.o-push{{stroke:#1f2933;stroke-width:1.8}}"
      ".o-edge{{fill:none;stroke:#9aa5b1;stroke-width:1}}.o-hard{{fill:none;stroke:#1f2933;stroke-width:3}}</style>\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{3}</svg>\n",
      wide, high, detail::escape(title), inside);
}

}  // namespace

std::string film_strip(const p::ProfileVehicle& v, const p::Profile& ground, const p::Film& film, const std::string& title, units::OutputUnits units) {
  const Extent e = extent_of(v);
  const double across = std::min<double>(kPanelsAcross, static_cast<double>(std::max<std::size_t>(film.frames.size(), 1)));
  const double panel_px = (kStrip_px - (across - 1) * kGap_px) / across;
  Window w{.wide_m = 1.5 * e.length_m};
  w.scale = panel_px / w.wide_m;
  w.high_m = 1.25 * (e.below_m + e.above_m) + 0.45 * e.length_m;
  const double picture_px = w.scale * w.high_m, row_px = picture_px + kCaption_px + kGap_px;
  double farthest_m = 0;
  for (const p::Frame& f : film.frames) farthest_m = std::max(farthest_m, std::abs(f.pose.travel_m));
  const units::Unit along = units::output_unit(farthest_m, units::Dimension::length, units);   // one in all pictures
  std::string out = text(0, 15, title + ", from left to right", "o-head");
  for (std::size_t i = 0; i < film.frames.size(); ++i) {
    const p::Frame& f = film.frames[i];
    const double x = static_cast<double>(i % static_cast<std::size_t>(across)) * (panel_px + kGap_px), y = kHead_px + static_cast<double>(i / static_cast<std::size_t>(across)) * row_px;
    w.left_m = f.pose.travel_m - 0.5 * w.wide_m;
    w.bottom_m = f.pose.height_m - e.below_m - 0.3 * e.length_m;
    out += fmt::format("<svg x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" overflow=\"hidden\">\n", x, y, panel_px, picture_px) + scene(w, v, ground, f, e.below_m + e.above_m) + "</svg>\n";
    out += fmt::format("<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>\n", i == film.critical ? "o-hard" : "o-edge", x + 1, y + 1, panel_px - 2, picture_px - 2);
    out += text(x + 2, y + picture_px + 14, "x = " + units::print_in(f.pose.travel_m, along, 3) + (i == film.critical ? ": the hardest place" : ""), i == film.critical ? "o-head" : "o-text");
    out += text(x + 2, y + picture_px + 29, needs_words(f));
  }
  const double rows = std::ceil(static_cast<double>(film.frames.size()) / across), bottom = kHead_px + rows * row_px + 14;
  out += scale_bar(2, bottom, w.scale, 0.5 * e.length_m, units) + text(kStrip_px - 2, bottom + 4, signs(v), "o-text", "end");
  return document(kStrip_px, bottom + 14, title, out);
}

std::string crossing_frame(const p::ProfileVehicle& v, const p::Profile& ground, const p::Frame& f, std::size_t number, std::size_t count, const std::string& title, units::OutputUnits units) {
  const Extent e = extent_of(v);
  const p::Way way = p::way_over(v, ground);
  const bool stands_still = way.to_m - way.from_m <= 4 * e.length_m;
  Window w{.wide_m = stands_still ? way.to_m - way.from_m + 1.1 * e.length_m : 4 * e.length_m};
  w.scale = kFrameWide_px / w.wide_m;
  w.high_m = kFrameHigh_px / w.scale;
  double low = 1e300, high = -1e300;   // of the ground that a wheel may roll on
  for (double x = way.from_m; x <= way.to_m + 1e-9; x += std::max((way.to_m - way.from_m) / 400, 1e-9)) low = std::min(low, ground.height_m(x)), high = std::max(high, ground.height_m(x));
  low = std::max(low, high - 0.5 * w.high_m);
  w.left_m = stands_still ? way.from_m - 0.55 * e.length_m : f.pose.travel_m - 0.5 * w.wide_m;
  w.bottom_m = stands_still ? 0.5 * (low + high + e.below_m + e.above_m) - 0.5 * w.high_m : f.pose.height_m - 0.5 * w.high_m;
  std::string out = fmt::format("<svg x=\"0\" y=\"{:.0f}\" width=\"{:.0f}\" height=\"{:.0f}\" overflow=\"hidden\">\n", kHead_px, kFrameWide_px, kFrameHigh_px) + scene(w, v, ground, f, e.below_m + e.above_m) + "</svg>\n";
  out += text(4, 16, title, "o-head") + text(kFrameWide_px - 4, 16, fmt::format("{} of {}", number, count), "o-text", "end");
  const double y = kHead_px + kFrameHigh_px + 18;
  out += text(4, y, "x = " + units::print_quantity(f.pose.travel_m, units::Dimension::length, units, 3) + ", " + needs_words(f)) + scale_bar(4, y + 16, w.scale, 0.5 * e.length_m, units) + text(kFrameWide_px - 4, y + 20, signs(v), "o-text", "end");
  return document(kFrameWide_px, y + 30, title, out);
}

}  // namespace hardpan::report
