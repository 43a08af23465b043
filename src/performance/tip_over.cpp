// SPDX-License-Identifier: Apache-2.0
// Everything is told by the zero-moment point: where the line of the resultant force meets the ground plane. The vehicle
// stands while it lies inside the convex hull of the supports.
#include "performance/tip_over.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "performance/detail/body_stand.hpp"
#include "performance/detail/chain_stand.hpp"

namespace hardpan::performance {
namespace {

constexpr double kRightAngle = std::numbers::pi / 2;

struct Point {
  double x = 0, y = 0;
};

double cross(const Point& o, const Point& a, const Point& b) { return (a.x - o.x) * (b.y - o.y) - (a.y - o.y) * (b.x - o.x); }

// Counter-clockwise convex hull (Andrew's monotone chain), points on an edge left out.
std::vector<Point> hull_of(const std::vector<Support>& supports) {
  std::vector<Point> p;
  for (const Support& s : supports) p.push_back({s.x_m, s.y_m});
  std::sort(p.begin(), p.end(), [](const Point& a, const Point& b) { return a.x < b.x || (a.x == b.x && a.y < b.y); });
  std::vector<Point> out(2 * p.size());
  std::size_t k = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    while (k >= 2 && cross(out[k - 2], out[k - 1], p[i]) <= 0) --k;
    out[k++] = p[i];
  }
  for (std::size_t i = p.size() - 1, low = k + 1; i-- > 0;) {
    while (k >= low && cross(out[k - 2], out[k - 1], p[i]) <= 0) --k;
    out[k++] = p[i];
  }
  out.resize(k > 1 ? k - 1 : k);
  return out;
}

// Distance of a point inside the nearest edge (negative outside), and which.
struct Inside {
  double distance = 0;
  Point outward;   // unit normal of that edge
};
Inside inside(const std::vector<Point>& hull, const Point& p) {
  Inside best{std::numeric_limits<double>::infinity(), {}};
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const Point &a = hull[i], &b = hull[(i + 1) % hull.size()];
    const double length = std::hypot(b.x - a.x, b.y - a.y), distance = cross(a, b, p) / length;
    if (distance < best.distance) best = {distance, {(b.y - a.y) / length, -(b.x - a.x) / length}};
  }
  return best;
}

TipEdge edge_of(const Point& outward) {
  if (std::abs(outward.x) >= std::abs(outward.y)) return outward.x > 0 ? TipEdge::forward : TipEdge::rearward;
  return outward.y > 0 ? TipEdge::left : TipEdge::right;
}

using detail::Demand;
Point place(const Demand& d) { return {d.moment_x / d.load, d.moment_y / d.load}; }
Demand demand(const Stance& s, double slope, double fall, double shift_x, double shift_y) {
  const double normal = s.weight_n * std::cos(slope), down = s.weight_n * std::sin(slope);
  Demand d{normal, normal * (s.cg_x_m + shift_x) + down * std::cos(fall) * s.cg_z_m, normal * (s.cg_y_m + shift_y) + down * std::sin(fall) * s.cg_z_m};
  if (s.hitch) {
    const double vertical = s.hitch->pull_n * std::tan(s.hitch->line_angle_rad);
    d.load += vertical;
    d.moment_x += vertical * s.hitch->x_m - s.hitch->pull_n * s.hitch->height_m;
  }
  return d;
}

void assert_stance(const Stance& s) {
  HARDPAN_ASSERT(s.supports.size() >= 3 && s.cg_z_m > 0 && s.weight_n > 0);
}

// First slope at which `stands` fails, to 1e-10; pi/2 and no_solution when it never does.
struct Failure {
  double slope_rad = kRightAngle;
  base::SolveReport solve;
};

template <class Stands>
Failure first_failure(const Stands& stands) {
  constexpr double kBracket = 1e-10;
  Failure out{.solve = {.tolerance = kBracket, .residual_unit = "rad", .evaluations = 1}};
  if (!stands(0.0)) {
    out.slope_rad = out.solve.residual = 0;
    out.solve.status = base::SolveStatus::converged;
    return out;
  }
  // Lean and pull make the margin no straight line: looked at every half degree, then halved. What stands only where it is tilted to it slowly is looked at again
  // from as near as that.
  constexpr int kLooks = 180;
  double good = 0, bad = kRightAngle;
  for (int i = 1; i <= kLooks; ++i) {
    bad = kRightAngle * i / kLooks * (1 - 1e-9);
    const double look = bad;
    const auto stands_at = [&](double slope) {
      ++out.solve.evaluations;
      return stands(slope);
    };
    if (!stands_at(look)) {
      while (bad - good > kBracket) {
        const double middle = 0.5 * (good + bad);
        (stands_at(middle) ? good : bad) = middle;
        ++out.solve.steps;
      }
      if (bad < look || !stands_at(look)) break;
    }
    good = look;
    if (i == kLooks) {
      out.solve.status = base::SolveStatus::no_solution;
      return out;
    }
  }
  out.slope_rad = good;
  out.solve.residual = bad - good;
  out.solve.status = base::SolveStatus::converged;
  return out;
}

struct Settled {
  std::vector<double> load;
  double lean_x = 0, lean_y = 0;       // of several bodies the one that leans most, and where it falls the one that pulls the others along
  bool stands = false;
  std::optional<std::size_t> body;     // which, where not all lean alike
};

// One body or several, tilted slowly.
class Tilted {
 public:
  Tilted(const Stance& s, const std::vector<double>& lower_m, double fall) : stance_(s), lower_(lower_m), fall_(fall) {
    if (!s.bodies.empty()) chain_.emplace(s, lower_, fall);
  }
  [[nodiscard]] Settled at(double slope) {
    Settled out{.load = std::vector<double>(stance_.supports.size(), 0)};
    if (!chain_) {
      const auto lean = detail::stand_body(stance_.supports, demand(stance_, slope, fall_, 0, 0), stance_.weight_n * std::cos(slope) * stance_.cg_z_m, lower_, out.load);
      out.stands = lean.has_value();
      if (lean) out.lean_x = lean->x, out.lean_y = lean->y;
      return out;
    }
    const detail::ChainStand at = chain_->at(slope, out.load);
    const std::size_t bodies = stance_.bodies.size(), most = at.stands ? at.leans_most(bodies) : at.drives(bodies);
    out.lean_x = at.lean_x[most];
    out.lean_y = at.lean_y[most];
    out.stands = at.stands;
    if (!at.lean_alike(bodies)) out.body = most;
    return out;
  }

 private:
  const Stance& stance_;
  const std::vector<double>& lower_;
  double fall_;
  std::optional<detail::TiltedChain> chain_;
};

}  // namespace

const char* name(TipEdge edge) {
  switch (edge) {
    case TipEdge::none: return "none";
    case TipEdge::forward: return "forward";
    case TipEdge::rearward: return "rearward";
    case TipEdge::left: return "to the left";
    case TipEdge::right: return "to the right";
  }
  return "";
}

bool holds(const Stance& s, std::size_t support) {
  const auto by = [&](Holding holding, const Support& p) { return p.driven || (holding == Holding::brakes && p.braked); };
  for (const Holding holding : {s.holding, Holding::brakes}) {
    if (std::any_of(s.supports.begin(), s.supports.end(), [&](const Support& p) { return by(holding, p); })) return by(holding, s.supports[support]);
  }
  return true;
}

bool holds_otherwise_driving(const Stance& s) {
  Stance driving = s;
  driving.holding = Holding::drives;
  for (std::size_t i = 0; s.bodies.size() > 1 && i < s.supports.size(); ++i) {
    if (holds(s, i) != holds(driving, i)) return true;
  }
  return false;
}

Stance stance_of(const vehicle::Vehicle& v, double gravity_m_s2) {
  const vehicle::Body body = vehicle::loaded_body(v);
  Stance out{.cg_x_m = body.cg_x_m, .cg_y_m = body.cg_y_m, .cg_z_m = body.cg_z_m, .weight_n = body.mass_kg * gravity_m_s2};
  const auto loads = vehicle::level_axle_loads_n(v, gravity_m_s2);
  for (std::size_t k = 0; k < v.axles.size(); ++k) {
    const vehicle::Axle& a = v.axles[k];
    double compliance = a.suspension_n_per_m ? 1 / *a.suspension_n_per_m : 0;
    if (a.wheel.flex) {
      const double load = loads[k] / a.wheels;
      // The slope of the load-deflection line at the level load, by a difference of 1 % either side.
      const auto less = vehicle::deflection_m(*a.wheel.flex, 0.99 * load), more = vehicle::deflection_m(*a.wheel.flex, 1.01 * load);
      if (less && more && load > 0) compliance += (*more - *less) / (0.02 * load);
    }
    for (const double y : vehicle::wheel_offsets_m(a)) {
      out.supports.push_back({a.position_x_m, y, compliance > 0 ? 1 / compliance : std::numeric_limits<double>::infinity(), a.body, a.drive.driven, a.drive.brake});
    }
  }
  if (v.bodies.size() == 1) return out;
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    const vehicle::Body part = vehicle::loaded_body(v, b);
    out.bodies.push_back({part.mass_kg / body.mass_kg, part.cg_x_m, part.cg_y_m, part.cg_z_m});
  }
  for (const vehicle::Joint& j : v.joints) out.joints.push_back({.x_m = j.x_m, .z_m = j.z_m, .pitch = j.pitch, .roll = j.roll});
  return out;
}

TipOver tip_over(const Stance& s, double fall) {
  assert_stance(s);
  const std::vector<Point> hull = hull_of(s.supports);
  HARDPAN_ASSERT(hull.size() >= 3);
  const auto where = [&](double slope) {
    const Demand d = demand(s, slope, fall, 0, 0);
    return d.load > 0 ? inside(hull, place(d)) : Inside{-std::numeric_limits<double>::infinity(), {}};
  };
  if (!s.hitch) {
    // The zero-moment point runs down the fall line by h tan(slope): the edge it meets first.
    const Inside level = where(0);
    if (level.distance < 0) return {0, edge_of(level.outward), {}};
    TipOver best{kRightAngle, TipEdge::none, {}};
    for (std::size_t i = 0; i < hull.size(); ++i) {
      const Point &a = hull[i], &b = hull[(i + 1) % hull.size()];
      const double length = std::hypot(b.x - a.x, b.y - a.y);
      const Point out{(b.y - a.y) / length, -(b.x - a.x) / length};
      const double towards = out.x * std::cos(fall) + out.y * std::sin(fall), gap = cross(a, b, {s.cg_x_m, s.cg_y_m}) / length;
      if (!(towards > 1e-12)) continue;
      const double angle = std::atan2(gap, s.cg_z_m * towards);
      if (angle < best.angle_rad) best = {angle, edge_of(out), {}};
    }
    return best;
  }
  const Failure at = first_failure([&](double slope) { return where(slope).distance >= 0; });
  if (at.slope_rad >= kRightAngle) return {kRightAngle, TipEdge::none, at.solve};
  return {at.slope_rad, edge_of(where(at.slope_rad + 1e-9).outward), at.solve};
}

SettledTipOver settled_as_held(const Stance& s, double fall, const Settling& settling) {
  assert_stance(s);
  const std::vector<Point> hull = hull_of(s.supports);
  double middle = 0;
  for (const Support& p : s.supports) middle += (p.x_m * std::cos(fall) + p.y_m * std::sin(fall)) / static_cast<double>(s.supports.size());
  std::vector<double> rut;
  for (const Support& p : s.supports) rut.push_back(p.x_m * std::cos(fall) + p.y_m * std::sin(fall) > middle + 1e-9 ? settling.low_side_rut_m : 0);
  Tilted tilted(s, rut, fall);
  const auto stands = [&](double slope) { return tilted.at(slope).stands; };
  SettledTipOver out;
  out.stands_settled = stands(0);
  const Failure first = first_failure(stands);
  out.tip.angle_rad = first.slope_rad;
  out.tip.solve = first.solve;
  if (out.tip.angle_rad >= kRightAngle) {
    out.tip.about = TipEdge::none;
    return out;
  }
  const Settled at = tilted.at(std::max(0.0, out.tip.angle_rad - 1e-9));
  out.lean_at_tip_rad = std::atan(std::hypot(at.lean_x, at.lean_y));
  if (!s.bodies.empty()) {
    // Far enough beyond that the way it goes is more than what springs give.
    const Settled falls = tilted.at(std::min(out.tip.angle_rad + 1e-4, kRightAngle - 1e-6));
    out.tip.about = edge_of({falls.lean_x, falls.lean_y});
    out.body = falls.body;
    return out;
  }
  const Demand d = demand(s, out.tip.angle_rad, fall, s.cg_z_m * at.lean_x, s.cg_z_m * at.lean_y);
  out.tip.about = edge_of(inside(hull, place(d)).outward);
  return out;
}

SettledTipOver settled_tip_over(const Stance& s, double fall, const Settling& settling) {
  const SettledTipOver out = settled_as_held(s, fall, settling);
  if (s.holding == Holding::drives || !holds_otherwise_driving(s)) return out;
  Stance driving = s;
  driving.holding = Holding::drives;
  const SettledTipOver other = settled_as_held(driving, fall, settling);
  return other.tip.angle_rad < out.tip.angle_rad ? other : out;
}

std::optional<std::vector<double>> standing_loads_n(const Stance& s, double slope, double fall) {
  return standing_loads_n(s, slope, fall, std::vector<double>(s.supports.size(), 0));
}

std::optional<std::vector<double>> standing_loads_n(const Stance& s, double slope, double fall, const std::vector<double>& lower_m) {
  assert_stance(s);
  HARDPAN_ASSERT(lower_m.size() == s.supports.size());
  Tilted tilted(s, lower_m, fall);
  Settled at = tilted.at(slope);
  // What tilting at once does not find, tilting by degrees may.
  constexpr double kDegree = std::numbers::pi / 180;
  if (!at.stands && !s.bodies.empty()) {
    Tilted by_degrees(s, lower_m, fall);
    for (double on = 0; on < slope; on += kDegree) {
      if (!by_degrees.at(on).stands) return std::nullopt;
    }
    at = by_degrees.at(slope);
  }
  if (!at.stands) return std::nullopt;
  return std::move(at.load);
}

}  // namespace hardpan::performance
