// SPDX-License-Identifier: Apache-2.0
// Notation: N wheel loads, (tx, ty) grip for each newton of load, F and M force and moment of a joint on the body ahead of it. For each body, about the origin:
//   sum N (tx, ty, 1) + weight + hitch + joints = 0 along x, y, z and about x and y. What turns it about z the wheels hold.
// Lengths over the vehicle's own, forces over its weight, as small_program.hpp asks.
#include "performance/tip_over_joints.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "math/distributions.hpp"
#include "performance/detail/small_program.hpp"
#include "vehicle/chain.hpp"

namespace hardpan::performance {
namespace {

using detail::SmallProgram;
using vehicle::Freedom;

struct Wheel {
  std::size_t body = 0;
  double x = 0, y = 0;
  bool holds = true;               // along the vehicle
};

struct Linked {
  double x = 0, z = 0;
  bool rolls = false, pitches = false;
};

struct Model {
  struct Part {
    double weight = 0, x = 0, y = 0, z = 0;
  };
  std::vector<Part> part;
  std::vector<Wheel> wheel;
  std::vector<Linked> joint;
  std::vector<double> held;          // share of the force along that wheels of a body hold, by their loads on the level; empty: every wheel holds, in proportion to its load
  std::optional<HitchForce> hitch;   // scaled
  std::size_t hitched = 0;           // body it is on
};

// What of a stance tells which wheels hold: it need not stand.
Stance wheels_of(const vehicle::Vehicle& v, Holding holding) {
  Stance out{.holding = holding};
  for (const vehicle::Axle& a : v.axles) {
    for (int i = 0; i < a.wheels; ++i) out.supports.push_back({.driven = a.drive.driven, .braked = a.drive.brake});
  }
  out.bodies.resize(v.bodies.size());
  return out;
}

Model model_of(const vehicle::Vehicle& v, double gravity_m_s2, const std::optional<HitchForce>& hitch, Holding holding) {
  const double weight = vehicle::mass_kg(v) * gravity_m_s2, length = vehicle::wheelbase_m(v);
  Model m;
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    const vehicle::Body body = vehicle::loaded_body(v, b);
    m.part.push_back({body.mass_kg * gravity_m_s2 / weight, body.cg_x_m / length, body.cg_y_m / length, body.cg_z_m / length});
  }
  for (const vehicle::Axle& a : v.axles) {
    for (const double y : vehicle::wheel_offsets_m(a)) m.wheel.push_back({a.body, a.position_x_m / length, y / length});
  }
  const vehicle::ChainShare level = vehicle::level_share(v, gravity_m_s2);
  const Stance stance = wheels_of(v, holding);
  for (std::size_t w = 0; w < m.wheel.size(); ++w) m.wheel[w].holds = holds(stance, w);
  if (std::any_of(m.wheel.begin(), m.wheel.end(), [](const Wheel& w) { return !w.holds; })) {
    m.held.resize(v.bodies.size());
    double all = 0;
    std::size_t w = 0;
    for (std::size_t k = 0; k < v.axles.size(); w += static_cast<std::size_t>(v.axles[k].wheels), ++k) {
      if (!m.wheel[w].holds) continue;
      m.held[v.axles[k].body] += level.load_n[k];
      all += level.load_n[k];
    }
    for (double& share : m.held) share = all > 0 ? share / all : 0;
    if (!(all > 0)) m.held.clear();   // what would hold hangs in the air: as if all did
  }
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    const vehicle::Joint& joint = v.joints[j];
    m.joint.push_back({joint.x_m / length, joint.z_m / length, joint.roll.freedom == Freedom::free, joint.pitch.freedom == Freedom::free && !level.on_stop[j]});
  }
  if (hitch) {
    m.hitch = hitch;
    m.hitch->x_m /= length;
    m.hitch->height_m /= length;
    m.hitch->pull_n /= weight;
    m.hitched = hitch->x_m > v.axles.back().position_x_m ? v.bodies.size() - 1 : 0;
  }
  return m;
}

constexpr std::size_t kEquations = 5, kForces = 3;
constexpr std::size_t kNoBody = static_cast<std::size_t>(-1);

std::size_t columns_of(const Model& m) { return m.wheel.size() + m.joint.size() * kEquations + 2; }

// Loads that hold every body on this slope, wheels first, if there are any; `helped` may take any moment from outside.
detail::ProgramAnswer loads_at(const Model& m, double slope, double fall, std::size_t helped) {
  const double down = std::sin(slope), normal = std::cos(slope);
  const double pull = m.hitch ? m.hitch->pull_n : 0, line = m.hitch ? pull * std::tan(m.hitch->line_angle_rad) : 0;
  const double total = normal + line;
  if (!(total > 0)) return {};
  const double tx = -(down * std::cos(fall) - pull) / total, ty = -down * std::sin(fall) / total;
  SmallProgram p;
  p.reset(columns_of(m));
  for (std::size_t b = 0; b < m.part.size(); ++b) {
    const Model::Part& part = m.part[b];
    // Forces on the body as (x, y, z) and moments about x and y: (y fz - z fy, z fx - x fz).
    std::array<double, kEquations> outer{part.weight * down * std::cos(fall), part.weight * down * std::sin(fall), -part.weight * normal, 0, 0};
    outer[3] = part.y * outer[2] - part.z * outer[1];
    outer[4] = part.z * outer[0] - part.x * outer[2];
    if (m.hitch && m.hitched == b) {
      outer[0] -= pull;
      outer[2] -= line;
      outer[4] += m.hitch->height_m * -pull - m.hitch->x_m * -line;
    }
    // In the plane of the ground: no moment.
    if (!m.held.empty()) outer[0] += -m.held[b] * (down * std::cos(fall) - pull);
    std::array<std::size_t, kEquations> row{};
    for (std::size_t e = 0; e < kEquations; ++e) row[e] = p.add_row(SmallProgram::Kind::equal, -outer[e]);
    for (std::size_t w = 0; w < m.wheel.size(); ++w) {
      if (m.wheel[w].body != b) continue;
      p.coefficient(row[0], w) = m.held.empty() ? tx : 0;
      p.coefficient(row[1], w) = ty;
      p.coefficient(row[2], w) = 1;
      p.coefficient(row[3], w) = m.wheel[w].y;
      p.coefficient(row[4], w) = -m.wheel[w].x;
    }
    for (std::size_t j = 0; j < m.joint.size(); ++j) {
      if (b != j && b != j + 1) continue;
      const double sign = b == j + 1 ? 1 : -1;
      const std::size_t at = m.wheel.size() + j * kEquations;
      for (std::size_t i = 0; i < kForces; ++i) p.coefficient(row[i], at + i) = sign;
      p.coefficient(row[3], at + 1) = -sign * m.joint[j].z;
      p.coefficient(row[4], at + 0) = sign * m.joint[j].z;
      p.coefficient(row[4], at + 2) = -sign * m.joint[j].x;
      if (!m.joint[j].rolls) p.coefficient(row[3], at + 3) = sign;
      if (!m.joint[j].pitches) p.coefficient(row[4], at + 4) = sign;
    }
    if (b == helped) {
      p.coefficient(row[3], columns_of(m) - 2) = 1;
      p.coefficient(row[4], columns_of(m) - 1) = 1;
    }
  }
  for (std::size_t c = m.wheel.size(); c < columns_of(m); ++c) p.is_free[c] = true;
  return p.solve();
}
bool stands(const Model& m, double slope, double fall, std::size_t helped) { return loads_at(m, slope, fall, helped).status == detail::ProgramStatus::optimal; }

// Of the bodies that a moment from outside would keep from falling the first whose wheels have lifted, or else the first.
std::size_t falls(const Model& m, double last_standing, double beyond, double fall) {
  constexpr double kLifted = 1e-5;   // of the weight
  const detail::ProgramAnswer at = loads_at(m, last_standing, fall, kNoBody);
  std::size_t first = m.part.size();
  for (std::size_t b = 0; b < m.part.size(); ++b) {
    if (!stands(m, beyond, fall, b)) continue;
    if (first == m.part.size()) first = b;
    for (std::size_t w = 0; at.status == detail::ProgramStatus::optimal && w < m.wheel.size(); ++w) {
      if (m.wheel[w].body == b && at.x[w] < kLifted) return b;
    }
  }
  return std::min(first, m.part.size() - 1);
}

}  // namespace

namespace {

std::optional<TipOverOfBodies> as_held(const vehicle::Vehicle& v, double gravity_m_s2, double fall_rad, const std::optional<HitchForce>& hitch, Holding holding) {
  const Model m = model_of(v, gravity_m_s2, hitch, holding);
  if (columns_of(m) > detail::kMostColumns || m.part.size() * kEquations > detail::kMostRows) return std::nullopt;
  constexpr double kRightAngle = std::numbers::pi / 2;
  constexpr int kLooks = 90;  // every degree, then halved
  constexpr double kBracket = 1e-6;
  base::SolveReport solve{.tolerance = kBracket, .residual_unit = "rad", .evaluations = 1};
  double good = 0, bad = kRightAngle;
  if (!stands(m, 0, fall_rad, kNoBody)) {
    bad = 0;
  } else {
    for (int i = 1; i < kLooks; ++i) {
      const double slope = kRightAngle * i / kLooks;
      ++solve.evaluations;
      if (!stands(m, slope, fall_rad, kNoBody)) {
        bad = slope;
        break;
      }
      good = slope;
    }
    while (bad - good > kBracket) {
      const double middle = 0.5 * (good + bad);
      (stands(m, middle, fall_rad, kNoBody) ? good : bad) = middle;
      ++solve.steps;
      ++solve.evaluations;
    }
  }
  solve.residual = bad - good;
  solve.status = base::SolveStatus::converged;
  TipOverOfBodies out{.tip = {.angle_rad = good, .solve = solve}};
  out.body = falls(m, good, std::min(bad + 1e-4, kRightAngle - 1e-6), fall_rad);
  const double ahead = std::cos(fall_rad), left = std::sin(fall_rad);
  // Between two, as at 135 and 225 deg, the one along the vehicle: the digits of the angle do not decide, and mirrored fall lines agree.
  constexpr double kAlike = 1e-9;
  out.tip.about = std::abs(ahead) >= std::abs(left) - kAlike ? (ahead > 0 ? TipEdge::forward : TipEdge::rearward) : left > 0 ? TipEdge::left : TipEdge::right;
  return out;
}

}  // namespace

std::optional<TipOverOfBodies> tip_over_of_bodies(const vehicle::Vehicle& v, double gravity_m_s2, double fall_rad, const std::optional<HitchForce>& hitch) {
  bool loose = false;
  for (const vehicle::Joint& j : v.joints) loose |= j.roll.freedom == Freedom::free || j.pitch.freedom == Freedom::free;
  if (!loose) return std::nullopt;
  const auto parked = as_held(v, gravity_m_s2, fall_rad, hitch, Holding::brakes);
  if (!parked || !holds_otherwise_driving(wheels_of(v, Holding::brakes))) return parked;
  const auto driving = as_held(v, gravity_m_s2, fall_rad, hitch, Holding::drives);
  return driving->tip.angle_rad < parked->tip.angle_rad ? driving : parked;
}

double tips_as_held_rad(const vehicle::Vehicle& v, double gravity_m_s2, double fall_rad, Holding holding) {
  Stance stance = stance_of(v, gravity_m_s2);
  stance.holding = holding;
  double out = tip_over(stance, fall_rad).angle_rad;
  if (const auto parts = as_held(v, gravity_m_s2, fall_rad, std::nullopt, holding)) out = std::min(out, parts->tip.angle_rad);
  const SettledTipOver settled = settled_as_held(stance, fall_rad, {});
  return settled.stands_settled ? std::min(out, settled.tip.angle_rad) : out;
}

StillTip still_tip(const vehicle::Vehicle& v, const Stance& stance, double gravity_m_s2, double fall_rad) {
  StillTip out{.tip = tip_over(stance, fall_rad)};
  const auto parts = tip_over_of_bodies(v, gravity_m_s2, fall_rad, stance.hitch);
  if (parts && parts->tip.angle_rad < out.tip.angle_rad - 1e-5) out = {parts->tip, parts->body};
  return out;
}

std::vector<TipDirection> tip_over_round(const vehicle::Vehicle& v, const Stance& stance, double gravity_m_s2, int directions, double low_side_rut_m) {
  std::vector<TipDirection> out;
  for (int i = 0; i < directions; ++i) {
    TipDirection d{.fall_rad = 2 * std::numbers::pi * i / directions};
    const StillTip still = still_tip(v, stance, gravity_m_s2, d.fall_rad);
    d.still = still.tip;
    d.body = still.body;
    d.settled = settled_tip_over(stance, d.fall_rad, {.low_side_rut_m = low_side_rut_m});
    d.working_rad = kWorkingShare * std::min(d.still.angle_rad, d.settled.tip.angle_rad);
    out.push_back(d);
  }
  return out;
}

std::optional<TipDoubt> tip_over_doubt(const vehicle::Vehicle& v, const Stance& stance, double gravity_m_s2, double low_side_rut_m, const std::vector<TipDirection>& lines) {
  // The last of the row is the least of all directions.
  const auto row = [](const std::vector<TipDirection>& round) {
    std::vector<double> out;
    for (const TipDirection& d : round) out.push_back(d.working_rad);
    out.push_back(*std::min_element(out.begin(), out.end()));
    return out;
  };
  const double far = math::normal_quantile(0.975);
  const std::vector<double> stated = row(lines);
  std::vector<double> down(stated.size(), 0), up(stated.size(), 0);
  bool doubted = false;
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    using vehicle::Body;
    for (const auto& [place, sd] : {std::pair{&Body::cg_x_m, v.bodies[b].cg_x_sd_m}, {&Body::cg_y_m, v.bodies[b].cg_y_sd_m}, {&Body::cg_z_m, v.bodies[b].cg_z_sd_m}}) {
      if (!(sd.value_or(0) > 0)) continue;
      doubted = true;
      std::vector<double> least = stated, most = stated;
      for (const double way : {-far, far}) {
        vehicle::Vehicle moved = v;
        moved.bodies[b].*place += way * *sd;
        std::vector<double> there(stated.size(), 0);  // a vehicle that does not stand on the level has no angle left
        if (vehicle::level_share(moved, gravity_m_s2).stands) {
          Stance s = stance_of(moved, gravity_m_s2);
          s.hitch = stance.hitch;
          there = row(tip_over_round(moved, s, gravity_m_s2, static_cast<int>(lines.size()), low_side_rut_m));
        }
        for (std::size_t i = 0; i < there.size(); ++i) least[i] = std::min(least[i], there[i]), most[i] = std::max(most[i], there[i]);
      }
      for (std::size_t i = 0; i < stated.size(); ++i) {
        down[i] += (stated[i] - least[i]) * (stated[i] - least[i]);
        up[i] += (most[i] - stated[i]) * (most[i] - stated[i]);
      }
    }
  }
  if (!doubted) return std::nullopt;
  TipDoubt out;
  for (std::size_t i = 0; i < stated.size(); ++i) out.working_rad.push_back({std::max(stated[i] - std::sqrt(down[i]), 0.0), std::min(stated[i] + std::sqrt(up[i]), kWorkingShare * std::numbers::pi / 2)});
  out.least_working_rad = out.working_rad.back();
  out.working_rad.pop_back();
  return out;
}

}  // namespace hardpan::performance
