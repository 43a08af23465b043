// SPDX-License-Identifier: Apache-2.0
// Notation: s arc length along the path, L look-ahead, e lateral error (left positive), psi heading, kappa curvature.
#include "driving/path_following.hpp"

#include <algorithm>
#include <cmath>
#include <deque>
#include <limits>
#include <numbers>

#include "base/assertion.hpp"
#include "math/random.hpp"

namespace hardpan::driving {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kLost = 5;            // look-aheads off the path: no driver follows it any more
constexpr double kLongest = 20;        // times the ideal duration: turned back
constexpr double kLargestCurvature = 1e3;  // per metre: a turn on the spot

struct Pose {
  double x = 0, y = 0, heading = 0;
};

// Nearest place on the path, searched from a segment onward so that a path may come back near itself.
struct Place {
  std::size_t segment = 0;
  double along = 0;    // share of the segment
  double error = 0;    // left positive
};

struct Segment {
  PathPoint from;
  double dx = 0, dy = 0, length = 0, square = 0;
};
// A path with what every look at it needs.
struct Course {
  explicit Course(const Path& path) {
    for (std::size_t i = 0; i + 1 < path.size(); ++i) {
      const double dx = path[i + 1].x_m - path[i].x_m, dy = path[i + 1].y_m - path[i].y_m;
      segments.push_back({path[i], dx, dy, std::hypot(dx, dy), dx * dx + dy * dy});
      length += segments.back().length;
    }
  }
  [[nodiscard]] bool last(std::size_t i) const { return i + 1 == segments.size(); }
  std::vector<Segment> segments;
  double length = 0;
};

Place nearest(const Course& course, double x, double y, std::size_t from, double reach) {
  Place best;
  double best_square = kInfinity, walked = 0;
  for (std::size_t i = from; i < course.segments.size() && walked <= reach; ++i) {
    const Segment& s = course.segments[i];
    const double upper = course.last(i) ? kInfinity : 1.0;  // the last segment goes on
    const double t = std::clamp(((x - s.from.x_m) * s.dx + (y - s.from.y_m) * s.dy) / s.square, 0.0, upper);
    const double px = x - s.from.x_m - t * s.dx, py = y - s.from.y_m - t * s.dy, square = px * px + py * py;
    if (square < best_square) {
      best_square = square;
      best = {i, t, std::copysign(std::sqrt(square), s.dx * py - s.dy * px)};
    }
    walked += s.length;
  }
  return best;
}

// The path's point a distance ahead of a place; beyond the end the last segment goes on.
PathPoint ahead_of(const Course& course, const Place& at, double distance) {
  std::size_t i = at.segment;
  double t = at.along;
  while (true) {
    const Segment& s = course.segments[i];
    const double left = (1 - t) * s.length;
    if (distance <= left || course.last(i)) {
      const double u = t + distance / s.length;
      return {s.from.x_m + u * s.dx, s.from.y_m + u * s.dy};
    }
    distance -= left;
    ++i;
    t = 0;
  }
}

struct Arriving {
  double at_s = 0, sent_s = 0;
  Pose pose;              // of an image
  double curvature = 0;   // of a command
};

void advance(Pose& p, double curvature, double drift, double distance) {
  const double direction = p.heading + drift + 0.5 * curvature * distance;  // middle of the step: second order
  p.x += distance * std::cos(direction);
  p.y += distance * std::sin(direction);
  p.heading += curvature * distance;
}

// Curvature of the arc from a pose to the point one look-ahead down the path: 2 sin(angle to it) / distance to it.
double aim(const Course& course, const Pose& pose, std::size_t& segment, double look_ahead, double limit) {
  const Place at = nearest(course, pose.x, pose.y, segment, 4 * look_ahead);
  segment = std::max(segment, at.segment);
  const PathPoint target = ahead_of(course, at, look_ahead);
  const double dx = target.x_m - pose.x, dy = target.y_m - pose.y, distance2 = dx * dx + dy * dy;
  if (!(distance2 > 0)) return 0;
  const double left = -std::sin(pose.heading) * dx + std::cos(pose.heading) * dy;
  return std::clamp(2 * left / distance2, -limit, limit);
}

}  // namespace

Path straight(double length_m) { return {{0, 0}, {length_m, 0}}; }

Path slalom(double length_m, double amplitude_m, double wave_length_m) {
  Path out{{-0.5 * wave_length_m, 0}};
  const int steps = std::max(1, static_cast<int>(std::ceil(length_m / wave_length_m * 48)));
  for (int i = 0; i <= steps; ++i) {
    const double x = length_m * i / steps;
    out.push_back({x, amplitude_m * std::sin(2 * std::numbers::pi * x / wave_length_m)});
  }
  return out;
}

namespace {

// Given up, not arrived, once it is further off than `give_up_m`.
Followed follow(const Course& course, const SteeringRule& rule, std::uint64_t seed, double give_up_m) {
  HARDPAN_ASSERT(rule.speed_m_s > 0 && rule.look_ahead_m > 0 && rule.link.image_interval_s > 0);
  HARDPAN_ASSERT(rule.link.image_loss_ratio >= 0 && rule.link.image_loss_ratio < 1);
  const math::Stream down(seed, math::stream_id("driving/downlink")), up(seed, math::stream_id("driving/uplink")),
      lost(seed, math::stream_id("driving/lost images"));
  const double limit = rule.smallest_radius_m > 0 ? 1 / rule.smallest_radius_m : kLargestCurvature;
  const double v = rule.speed_m_s, length = course.length;
  // A fiftieth of the look-ahead and a twentieth of the loop's delay, but no less than a two-thousandth of the look-ahead: a slow vehicle hardly moves
  // in a delay. The observed order of the error is 2 (tested).
  const double delay = rule.link.delay.total_s();
  const double step_s = std::min({rule.look_ahead_m / v / 50, rule.link.image_interval_s, delay > 0 ? std::max(delay / 20, rule.look_ahead_m / v / 2000) : kInfinity});

  const Segment& first = course.segments.front();
  Pose pose{first.from.x_m - rule.start_error_m * first.dy / first.length, first.from.y_m + rule.start_error_m * first.dx / first.length, std::atan2(first.dy, first.dx) - rule.drift_angle_rad};
  std::deque<Arriving> images, commands;   // by time of arrival; what is older than the newest arrived is dropped
  std::deque<Arriving> under_way;          // commands sent, for a driver who allows for them
  const auto arrive_in_order = [](std::deque<Arriving>& queue, const Arriving& a) {
    queue.insert(std::upper_bound(queue.begin(), queue.end(), a, [](const Arriving& p, const Arriving& q) { return p.at_s < q.at_s; }), a);
  };
  Followed out;
  double curvature = 0, wanted = 0, seen_s = -kInfinity, obeyed_s = -kInfinity, next_image_s = 0, sum_square = 0, driven = 0, tail = 0;
  std::size_t seen_segment = 0, segment = 0, image = 0, samples = 0;
  for (std::uint64_t k = 0;; ++k) {
    const double now = static_cast<double>(k) * step_s;
    if (now >= next_image_s) {
      if (!(rule.link.image_loss_ratio > 0 && lost.uniform(image) < rule.link.image_loss_ratio)) {
        const double late = rule.link.jitter_s > 0 ? std::abs(down.normal(image)) * rule.link.jitter_s : 0;
        arrive_in_order(images, {.at_s = now + rule.link.delay.downlink_s + late, .sent_s = now, .pose = pose});
      }
      ++image;
      next_image_s += rule.link.image_interval_s;
    }
    // An image that has arrived is answered after the reaction; one older than the last one answered is not looked at.
    while (!images.empty() && images.front().at_s <= now) {
      const Arriving a = images.front();
      images.pop_front();
      if (a.sent_s <= seen_s) continue;
      seen_s = a.sent_s;
      Pose expected = a.pose;
      if (rule.anticipation_ratio > 0) {
        // Where the vehicle will be when this command acts, by the commands sent since: each acts from then on.
        const double ahead_s = rule.anticipation_ratio * (now - a.sent_s + rule.link.delay.reaction_s + rule.link.delay.uplink_s);
        double from_s = a.sent_s, acting = 0;
        for (const Arriving& c : under_way) {
          const double acts_s = c.sent_s + rule.link.delay.uplink_s;
          if (acts_s >= a.sent_s + ahead_s) break;
          if (acts_s > from_s) {
            advance(expected, acting, 0, v * (acts_s - from_s));
            from_s = acts_s;
          }
          acting = c.curvature;
        }
        advance(expected, acting, 0, v * (a.sent_s + ahead_s - from_s));
      }
      const double command = aim(course, expected, seen_segment, rule.look_ahead_m, limit);
      const double sent = now + rule.link.delay.reaction_s;
      const double late = rule.link.jitter_s > 0 ? std::abs(up.normal(image)) * rule.link.jitter_s : 0;
      arrive_in_order(commands, {.at_s = sent + rule.link.delay.uplink_s + late, .sent_s = sent, .curvature = command});
      if (rule.anticipation_ratio > 0) {
        under_way.push_back({.sent_s = sent, .curvature = command});
        while (under_way.size() > 2 && under_way[1].sent_s + rule.link.delay.uplink_s < seen_s) under_way.pop_front();
      }
    }
    while (!commands.empty() && commands.front().at_s <= now) {
      if (commands.front().sent_s > obeyed_s) {
        obeyed_s = commands.front().sent_s;
        wanted = commands.front().curvature;
      }
      commands.pop_front();
    }
    const double change = rule.curvature_rate_per_m_s > 0 ? rule.curvature_rate_per_m_s * step_s : kInfinity;
    curvature += std::clamp(wanted - curvature, -change, change);
    advance(pose, curvature, rule.drift_angle_rad, v * step_s);
    driven += v * step_s;

    const Place at = nearest(course, pose.x, pose.y, segment, 4 * rule.look_ahead_m);
    segment = std::max(segment, at.segment);
    const double error = std::abs(at.error);
    if (driven > rule.look_ahead_m) out.largest_error_m = std::max(out.largest_error_m, error);
    if (driven > 0.8 * length) tail = std::max(tail, error);
    sum_square += error * error;
    ++samples;
    out.time_s = now + step_s;
    const bool end = course.last(at.segment) && at.along >= 1;
    if (end || error > kLost * rule.look_ahead_m || driven > kLongest * length || out.largest_error_m > give_up_m) {
      out.arrived = end && error <= kLost * rule.look_ahead_m && out.largest_error_m <= give_up_m;
      break;
    }
  }
  out.rms_error_m = std::sqrt(sum_square / static_cast<double>(samples));
  out.final_error_m = tail;
  return out;
}

}  // namespace

Followed follow(const Path& path, const SteeringRule& rule, std::uint64_t seed) {
  HARDPAN_ASSERT(path.size() >= 2);
  return follow(Course(path), rule, seed, kInfinity);
}

SpeedHeld largest_speed_held(const Path& path, SteeringRule rule, const Corridor& corridor, std::uint64_t seed) {
  HARDPAN_ASSERT(corridor.half_width_m > 0 && corridor.fastest_m_s > 0 && corridor.runs > 0);
  // Nothing random: one run tells it all.
  const std::size_t runs = rule.link.jitter_s > 0 || rule.link.image_loss_ratio > 0 ? corridor.runs : 1;
  const Course course(path);
  const auto error_at = [&](double speed) {
    rule.speed_m_s = speed;
    double largest = 0;
    for (std::size_t r = 0; r < runs && largest <= corridor.half_width_m; ++r) {
      const Followed f = follow(course, rule, seed + r, corridor.half_width_m);
      largest = std::max(largest, f.arrived ? f.largest_error_m : kInfinity);
    }
    return largest;
  };
  SpeedHeld out;
  out.solve = {.status = base::SolveStatus::converged, .residual = 0, .tolerance = 0.02 * corridor.fastest_m_s, .residual_unit = "m/s"};
  double holds = 0, fails = 0;
  for (int i = 0; i <= 12; ++i) {  // 12 steps of sqrt 2 from 1/64 to 1
    const double speed = corridor.fastest_m_s * std::exp2(0.5 * (i - 12));
    const double error = error_at(speed);
    ++out.solve.evaluations;
    if (error > corridor.half_width_m) {
      fails = speed;
      break;
    }
    holds = speed;
    out.largest_error_m = error;
  }
  if (fails == 0) {
    out.speed_m_s = corridor.fastest_m_s;
    out.status = HeldStatus::held_at_fastest;
    return out;
  }
  if (holds == 0) {
    out.solve.status = base::SolveStatus::no_solution;
    return out;
  }
  while (fails - holds > 0.02 * holds) {
    const double speed = 0.5 * (holds + fails), error = error_at(speed);
    ++out.solve.evaluations;
    ++out.solve.steps;
    if (error > corridor.half_width_m) {
      fails = speed;
    } else {
      holds = speed;
      out.largest_error_m = error;
    }
  }
  out.speed_m_s = holds;
  out.status = HeldStatus::found;
  out.solve.residual = fails - holds;
  out.solve.tolerance = 0.02 * holds;
  return out;
}

}  // namespace hardpan::driving
