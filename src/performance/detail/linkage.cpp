// SPDX-License-Identifier: Apache-2.0
// Newton on the energy. First with the wheels that pressed before held to the ground both ways (a wheel in the air is then pulled down to it in one
// step); where that ends in no minimum, downhill on softened wheels that are stiffened by tens, which follows a fall to where it ends.
#include "performance/detail/linkage.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"

namespace hardpan::performance::detail {
namespace {

constexpr double kBalance = 1e-7;        // of the weight (times length): forces left over. Places are told to 1e-16 of 10 m, stiffness 1e6 W / r
constexpr double kLongestTurn = 0.15;    // rad, of one step
constexpr double kLongestFall = 0.15;    // of the size, of one step
constexpr int kMostSteps = 14;           // observed 2 to 6 where nothing falls
constexpr int kMostFallSteps = 400;

using Matrix = std::array<std::array<double, kMostUnknowns>, kMostUnknowns>;

// Lower triangle with l l^T = m; false where m is not positive.
bool factor(Matrix& m, std::size_t n) {
  for (std::size_t j = 0; j < n; ++j) {
    const double was = m[j][j];
    for (std::size_t k = 0; k < j; ++k) m[j][j] -= m[j][k] * m[j][k];
    if (!(m[j][j] > 1e-13 * std::abs(was) && m[j][j] > 0)) return false;
    m[j][j] = std::sqrt(m[j][j]);
    for (std::size_t i = j + 1; i < n; ++i) {
      for (std::size_t k = 0; k < j; ++k) m[i][j] -= m[i][k] * m[j][k];
      m[i][j] /= m[j][j];
    }
  }
  return true;
}

void solve(const Matrix& l, std::size_t n, Unknowns& b) {
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < i; ++k) b[i] -= l[i][k] * b[k];
    b[i] /= l[i][i];
  }
  for (std::size_t i = n; i-- > 0;) {
    for (std::size_t k = i + 1; k < n; ++k) b[i] -= l[k][i] * b[k];
    b[i] /= l[i][i];
  }
}

struct Turned {
  double s = 0, c = 1;
  [[nodiscard]] ProfilePoint of(const ProfilePoint& w) const { return {w.x_m * c - w.z_m * s, w.x_m * s + w.z_m * c}; }
};

}  // namespace

struct Linkage::Energy {
  double value = 0;
  Unknowns gradient{}, with_travel{};   // dE/du, d2E/du dtravel
  Matrix curve{};
  std::array<Press, kMostAxles> wheel{};
  std::array<bool, kMostAxles> pulls{};
  std::array<double, kMostBodies - 1> moment{}, stiffness{};
};

Linkage::Linkage(const ProfileVehicle& vehicle, const Profile& profile) : vehicle_(vehicle), ground_(profile) {
  if (vehicle_.bodies.empty()) {
    vehicle_.bodies = {{.cg_x_m = vehicle.cg_x_m, .cg_z_m = vehicle.cg_z_m, .weight_n = vehicle.weight_n, .underbody = vehicle.underbody}};
  }
  bodies_ = vehicle_.bodies.size();
  const auto& axles = vehicle_.axles;
  HARDPAN_ASSERT(axles.size() >= 2 && axles.size() <= kMostAxles && bodies_ <= kMostBodies && vehicle_.joints.size() + 1 == bodies_ && vehicle.weight_n > 0);
  smallest_radius_ = std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < axles.size(); ++k) {
    HARDPAN_ASSERT(axles[k].radius_m > 0 && axles[k].body < bodies_);
    largest_radius_ = std::max(largest_radius_, axles[k].radius_m);
    smallest_radius_ = std::min(smallest_radius_, axles[k].radius_m);
    soft_[k] = axles[k].deflection_load.size() >= 2;
    rigid_ = rigid_ && !soft_[k];
    law_[k] = soft_[k] ? Law(axles[k].deflection_load) : Law(vehicle_.weight_n * axles[k].wheels / (kSettled * axles[k].radius_m));
  }
  length_ = axles.back().x_m - axles.front().x_m;
  size_ = length_ + 2 * largest_radius_;
  middle_ = {0.5 * (axles.front().x_m + axles.back().x_m), 0.5 * (axles.front().centre_height_m + axles.back().centre_height_m)};
  for (std::size_t k = 0; k < axles.size(); ++k) axle_[k] = arms_of(axles[k].body, axles[k].x_m, axles[k].centre_height_m);
  const Arms rear = axle_[0], front = axle_[axles.size() - 1];
  const auto from_middle = [&](Arms arms) {
    for (std::size_t j = 0; j < bodies_; ++j) {
      arms.arm[j].x_m -= 0.5 * (rear.arm[j].x_m + front.arm[j].x_m);
      arms.arm[j].z_m -= 0.5 * (rear.arm[j].z_m + front.arm[j].z_m);
    }
    return arms;
  };
  for (std::size_t k = 0; k < axles.size(); ++k) axle_[k] = from_middle(axle_[k]);
  for (std::size_t b = 0; b < bodies_; ++b) {
    cg_[b] = from_middle(arms_of(b, vehicle_.bodies[b].cg_x_m, vehicle_.bodies[b].cg_z_m));
    origin_[b] = from_middle(arms_of(b, 0, 0));
  }
}

// From the origin of the rearmost body: from joint to joint, then to the point.
Arms Linkage::arms_of(std::size_t body, double x, double z) const {
  Arms out{.body = body};
  ProfilePoint behind{};
  for (std::size_t j = 0; j < body; ++j) {
    out.arm[j] = {vehicle_.joints[j].x_m - behind.x_m, vehicle_.joints[j].z_m - behind.z_m};
    behind = {vehicle_.joints[j].x_m, vehicle_.joints[j].z_m};
  }
  out.arm[body] = {x - behind.x_m, z - behind.z_m};
  return out;
}

ProfilePoint Linkage::place(const Arms& arms, double travel, const Unknowns& u) const {
  ProfilePoint out{travel, u[0]};
  for (std::size_t j = 0; j < bodies_; ++j) {
    const ProfilePoint w = Turned{std::sin(u[1 + j]), std::cos(u[1 + j])}.of(arms.arm[j]);
    out.x_m += w.x_m;
    out.z_m += w.z_m;
  }
  return out;
}

double Linkage::stiffness_n_per_m(std::size_t k, const Stand& stand) const {
  if (!soft_[k]) return vehicle_.weight_n * vehicle_.axles[k].wheels / (kSettled * vehicle_.axles[k].radius_m);
  const Press& w = stand.wheel[k];
  return std::max(w.nx * w.nx * w.kxx + 2 * w.nx * w.nz * w.kxz + w.nz * w.nz * w.kzz, 1e-3 * law_[k].at(0).slope);
}

Unknowns Linkage::straight_on(double slope, double travel) const {
  Unknowns u{};
  for (std::size_t b = 0; b < bodies_; ++b) u[1 + b] = slope;
  u[0] = -std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < axles(); ++k) {
    const ProfilePoint c = place(axle_[k], travel, Unknowns{0, slope, slope, slope, slope, slope, slope});
    u[0] = std::max(u[0], ground_.centre_height_m(c.x_m, vehicle_.axles[k].radius_m) - c.z_m);
  }
  return u;
}

// eq. 17 and its derivatives. Held wheels that are clear of the ground are pulled to the nearest of it.
void Linkage::evaluate(double travel, const Unknowns& u, const Unknowns& load, double soften, std::span<const bool> held, Energy& e) const {
  const std::size_t n = unknowns();
  e = {};
  std::array<Turned, kMostBodies> turned;
  for (std::size_t b = 0; b < bodies_; ++b) turned[b] = {std::sin(u[1 + b]), std::cos(u[1 + b])};
  const auto at = [&](const Arms& arms, std::array<ProfilePoint, kMostBodies>& w) {
    ProfilePoint p{travel, u[0]};
    for (std::size_t j = 0; j < bodies_; ++j) {
      w[j] = turned[j].of(arms.arm[j]);
      p.x_m += w[j].x_m;
      p.z_m += w[j].z_m;
    }
    return p;
  };
  std::array<ProfilePoint, kMostBodies> w;
  for (std::size_t b = 0; b < bodies_; ++b) {
    const double weight = vehicle_.bodies[b].weight_n;
    e.value += weight * at(cg_[b], w).z_m;
    e.gradient[0] += weight;
    for (std::size_t j = 0; j < bodies_; ++j) {
      e.gradient[1 + j] += weight * w[j].x_m;
      e.curve[1 + j][1 + j] -= weight * w[j].z_m;
    }
  }
  for (std::size_t k = 0; k < axles(); ++k) {
    const ProfilePoint c = at(axle_[k], w);
    const double r = vehicle_.axles[k].radius_m;
    Press p = pressed(ground_, c, r, law_[k]);
    if (!(p.area_m2 > 0)) {
      e.wheel[k] = p;
      if (held.empty() || !held[k]) continue;
      const Ground::Nearest near = ground_.nearest(c, 3 * r + size_);
      const double gap = near.distance - r, stiff = law_[k].at(0).slope;
      p.nx = (c.x_m - near.point.x_m) / near.distance;
      p.nz = (c.z_m - near.point.z_m) / near.distance;
      p.work_n_m = 0.5 * stiff * gap * gap;
      p.fx_n = -stiff * gap * p.nx;
      p.fz_n = -stiff * gap * p.nz;
      p.kxx = stiff * p.nx * p.nx;
      p.kxz = stiff * p.nx * p.nz;
      p.kzz = stiff * p.nz * p.nz;
      e.pulls[k] = gap > 0;
    } else {
      e.wheel[k] = p;
    }
    const double s = soften;
    double pushed = s;   // share of the turning of forces that counts
    const double force = std::sqrt(p.fx_n * p.fx_n + p.fz_n * p.fz_n);
    if (!held.empty() && force > 2 * vehicle_.weight_n) {
      // Far from balance the forces of a stiff wheel are thousands of weights, and their turning would drown what holds the rest.
      const double share = 2 * vehicle_.weight_n / force, normal = p.nx * p.nx * p.kxx + 2 * p.nx * p.nz * p.kxz + p.nz * p.nz * p.kzz;
      p.kxx = share * p.kxx + (1 - share) * normal * p.nx * p.nx;
      p.kxz = share * p.kxz + (1 - share) * normal * p.nx * p.nz;
      p.kzz = share * p.kzz + (1 - share) * normal * p.nz * p.nz;
      pushed *= share;
    }
    e.value += s * p.work_n_m;
    // d(centre)/d(height) = (0, 1); d(centre)/d(pitch j) = (-w.z, w.x).
    e.gradient[0] -= s * p.fz_n;
    e.curve[0][0] += s * p.kzz;
    e.with_travel[0] += s * p.kxz;
    for (std::size_t j = 0; j < bodies_; ++j) {
      const double ax = -w[j].z_m, az = w[j].x_m;
      e.gradient[1 + j] -= s * (p.fx_n * ax + p.fz_n * az);
      e.with_travel[1 + j] += s * (p.kxx * ax + p.kxz * az);
      e.curve[1 + j][0] += s * (p.kxz * ax + p.kzz * az);
      for (std::size_t i = 0; i <= j; ++i) {
        const double bx = -w[i].z_m, bz = w[i].x_m;
        e.curve[1 + j][1 + i] += s * (ax * (p.kxx * bx + p.kxz * bz) + az * (p.kxz * bx + p.kzz * bz));
      }
      e.curve[1 + j][1 + j] += pushed * (p.fx_n * w[j].x_m + p.fz_n * w[j].z_m);
    }
  }
  const double stop = vehicle_.weight_n * length_ / kStopTurn_rad;
  for (std::size_t j = 0; j + 1 < bodies_; ++j) {
    const ProfileJoint& joint = vehicle_.joints[j];
    const double angle = u[2 + j] - u[1 + j], beyond = angle > joint.highest_rad ? angle - joint.highest_rad : angle < joint.lowest_rad ? angle - joint.lowest_rad : 0;
    double moment = joint.stiffness_n_m_per_rad * angle, stiff = joint.stiffness_n_m_per_rad;
    e.value += 0.5 * moment * angle;
    if (beyond != 0) {
      e.value += 0.5 * stop * beyond * beyond;
      moment += stop * beyond;
      stiff += stop;
    }
    e.moment[j] = -moment;
    e.stiffness[j] = stiff;
    e.gradient[2 + j] += moment;
    e.gradient[1 + j] -= moment;
    e.curve[2 + j][2 + j] += stiff;
    e.curve[1 + j][1 + j] += stiff;
    e.curve[2 + j][1 + j] -= stiff;
  }
  for (std::size_t i = 0; i < n; ++i) {
    e.value -= load[i] * u[i];
    e.gradient[i] -= load[i];
  }
}

// True where the forces balance in a minimum. `descend`: energy falls with every step (damped); else plain steps, cut where long.
bool Linkage::newton(double travel, Unknowns& u, const Unknowns& load, double soften, std::span<const bool> held, bool descend, Energy& e, int& steps) const {
  const std::size_t n = unknowns();
  const double weight = vehicle_.weight_n;
  evaluate(travel, u, load, soften, held, e);
  Energy next;
  double damping = 0;
  for (int step = 0; step < (descend ? kMostFallSteps : kMostSteps); ++step, ++steps) {
    double left = std::abs(e.gradient[0]) / weight;
    for (std::size_t i = 1; i < n; ++i) left = std::max(left, std::abs(e.gradient[i]) / (weight * size_));
    Matrix l = e.curve;
    if (left <= kBalance) {
      if (factor(l, n)) return true;
      if (!descend) return false;
    }
    for (std::size_t b = 0; b < bodies_; ++b) {
      if (!(std::abs(u[1 + b]) <= kSteepestPitch_rad)) return false;
    }
    Unknowns d{};
    double longest = 0;
    for (int tries = 0; tries < 40; ++tries) {
      l = e.curve;
      for (std::size_t i = 0; i < n; ++i) l[i][i] += damping * weight * (i == 0 ? 1 / size_ : size_);
      if (factor(l, n)) {
        for (std::size_t i = 0; i < n; ++i) d[i] = -e.gradient[i];
        solve(l, n, d);
        longest = std::abs(d[0]) / (kLongestFall * size_);
        for (std::size_t i = 1; i < n; ++i) longest = std::max(longest, std::abs(d[i]) / kLongestTurn);
        break;
      }
      if (!descend) return false;
      damping = std::max(4 * damping, 1e-3);
    }
    double share = longest > 1 ? 1 / longest : 1;
    if (!descend) {
      for (std::size_t i = 0; i < n; ++i) u[i] += share * d[i];
      evaluate(travel, u, load, soften, held, e);
      continue;
    }
    double slope = 0;
    for (std::size_t i = 0; i < n; ++i) slope += e.gradient[i] * d[i];
    bool lower = false;
    for (int cut = 0; cut < 40 && !lower; ++cut, share *= 0.5) {
      Unknowns v = u;
      for (std::size_t i = 0; i < n; ++i) v[i] += share * d[i];
      evaluate(travel, v, load, soften, held, next);
      // At the end energies differ by less than they can be told.
      lower = next.value <= e.value + 1e-4 * share * slope || (std::abs(slope) < 1e-12 * weight * size_ && next.value <= e.value + 1e-13 * weight * size_);
      if (lower) {
        u = v;
        e = next;
      }
    }
    if (!lower) return false;
    damping *= 0.1;
    if (damping < 1e-6) damping = 0;
  }
  return false;
}

Stand Linkage::stand(double travel, const Unknowns& guess, const Unknowns& load) const {
  Stand out;
  const std::size_t n = unknowns();
  Energy e;
  std::array<bool, kMostAxles> held{};
  const auto within = [&](const Unknowns& u) {
    for (std::size_t b = 0; b < bodies_; ++b) {
      if (!(std::abs(u[1 + b]) <= kSteepestPitch_rad)) return false;
    }
    return true;
  };
  // Wheels held: those near the ground at the guess.
  Unknowns u = guess;
  for (std::size_t k = 0; k < axles(); ++k) {
    const ProfilePoint c = place(axle_[k], travel, u);
    held[k] = ground_.nearest(c, 2 * vehicle_.axles[k].radius_m).distance < 1.02 * vehicle_.axles[k].radius_m;
  }
  bool good = false;
  // Wheels that flatten push from the guess on: downhill at once.
  for (int round = 0; rigid_ && round < 6 && !good; ++round) {
    if (!newton(travel, u, load, 1, {held.data(), axles()}, false, e, out.steps) || !within(u)) break;
    // A held wheel that pulls is let go; the one that pulls most first.
    std::size_t worst = axles();
    double most = 1e-9 * vehicle_.weight_n;
    for (std::size_t k = 0; k < axles(); ++k) {
      if (!e.pulls[k]) continue;
      const ProfilePoint c = place(axle_[k], travel, u);
      const double pull = law_[k].at(0).slope * (ground_.nearest(c, 3 * vehicle_.axles[k].radius_m).distance - vehicle_.axles[k].radius_m);
      if (pull > most) {
        most = pull;
        worst = k;
      }
    }
    good = worst == axles();
    if (!good) held[worst] = false;
  }
  if (!good) {
    u = guess;
    good = true;
    for (const double soften : {1e-4, 1e-3, 1e-2, 1e-1, 1.0}) {
      if (good && (rigid_ || soften == 1)) good = newton(travel, u, load, soften, {}, true, e, out.steps) && within(u);
    }
    out.fell = !good && !within(u);
    if (!out.fell && !good) {
      double lowest = 0;
      for (std::size_t k = 0; k < axles(); ++k) lowest = std::max(lowest, place(axle_[k], travel, u).z_m - ground_.height_m(place(axle_[k], travel, u).x_m));
      out.fell = lowest > size_;
    }
  }
  out.u = u;
  out.stands = good;
  out.wheel = e.wheel;
  out.joint_moment = e.moment;
  out.joint_stiffness = e.stiffness;
  if (good) {
    Matrix l = e.curve;
    if (factor(l, n)) {
      for (std::size_t i = 0; i < n; ++i) out.per_travel[i] = -e.with_travel[i];
      solve(l, n, out.per_travel);
      out.factor = l;
    }
  }
  return out;
}

double Linkage::moves_m(const Stand& stand, const Unknowns& load_change) const {
  Unknowns d = load_change;
  solve(stand.factor, unknowns(), d);
  double out = std::abs(d[0]);
  for (std::size_t i = 1; i < unknowns(); ++i) out = std::max(out, std::abs(d[i]) * size_);
  return out;
}

Pose Linkage::pose(double travel, const Stand& stand) const {
  Pose out;
  const Unknowns& u = stand.u;
  out.travel_m = travel;
  out.height_m = u[0];
  out.pitch_rad = u[1];
  out.axles = axles();
  out.bodies = bodies_;
  for (std::size_t b = 0; b < bodies_; ++b) {
    out.body[b] = {place(origin_[b], travel, u), u[1 + b]};
    const ProfilePoint g = place(cg_[b], travel, u);
    out.cg.x_m += g.x_m * vehicle_.bodies[b].weight_n / vehicle_.weight_n;
    out.cg.z_m += g.z_m * vehicle_.bodies[b].weight_n / vehicle_.weight_n;
    meet_underbody(out, out.body[b], vehicle_.bodies[b].underbody, ground_);
  }
  double rolled = 0, rise = 0;
  int touching = 0;
  const auto rate = [&](const Arms& arms) {
    ProfilePoint v{1, stand.per_travel[0]};
    for (std::size_t j = 0; j < bodies_; ++j) {
      const ProfilePoint w = Turned{std::sin(u[1 + j]), std::cos(u[1 + j])}.of(arms.arm[j]);
      v.x_m -= w.z_m * stand.per_travel[1 + j];
      v.z_m += w.x_m * stand.per_travel[1 + j];
    }
    return v;
  };
  for (std::size_t k = 0; k < axles(); ++k) {
    WheelContact& c = out.wheel[k];
    const Press& p = stand.wheel[k];
    const double r = vehicle_.axles[k].radius_m;
    c.centre = place(axle_[k], travel, u);
    c.carries = p.area_m2 > 0;
    if (c.carries) {
      c.point = {c.centre.x_m - p.arm_m * p.nx, c.centre.z_m - p.arm_m * p.nz};
      c.slope_rad = std::atan2(-p.nx, p.nz);
      c.feature = p.feature;
      c.deflection_m = soft_[k] ? p.deflection_m : 0;
      const ProfilePoint v = rate(axle_[k]);
      rolled += std::hypot(v.x_m, v.z_m);
      ++touching;
    } else {
      const Ground::Nearest near = ground_.nearest(c.centre, 2 * r);
      c.point = near.point;
      c.gap_m = near.distance - r;
      c.slope_rad = std::atan2(near.point.x_m - c.centre.x_m, c.centre.z_m - near.point.z_m);
      c.feature = near.feature;
    }
  }
  for (std::size_t b = 0; b < bodies_; ++b) rise += rate(cg_[b]).z_m * vehicle_.bodies[b].weight_n / vehicle_.weight_n;
  if (rolled > 0) {
    out.climb_ratio = rise * touching / rolled;
    out.motion = {touching / rolled, stand.per_travel[0] * touching / rolled, stand.per_travel[1] * touching / rolled};
  }
  return out;
}

}  // namespace hardpan::performance::detail
