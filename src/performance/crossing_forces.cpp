// SPDX-License-Identifier: Apache-2.0
// Balance in units of weight and vehicle length. The least friction is a generalised fractional program, the least over all balances of the
// largest |T| / N: solved by a sequence of linear programs, each the least t with |T| - mu N <= t N' at fixed mu, mu then taken as the largest ratio of
// its answer [Dinkelbach1967; Crouzeix1985]; N' are the normal forces of the answer before, without which the sequence was seen to need 56 programs
// at a face. A bracket keeps it safe: after 12 programs its middle is tried too. Observed: 1 to 9 programs.
#include "performance/crossing_forces.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/assertion.hpp"
#include "performance/detail/small_program.hpp"

namespace hardpan::performance {
namespace {

using detail::ProgramAnswer;
using detail::ProgramStatus;
using detail::SmallProgram;
using Kind = SmallProgram::Kind;

constexpr double kBalanceTolerance = 1e-9;     // share of the weight: what a program may leave unbalanced, and by which t may miss 0
constexpr double kNoTraction = 1e-7;            // share of the weight: a pose that needs no more counts as needing no friction
constexpr double kFrictionTolerance = 1e-10;   // width of the bracket on mu
// A wheel counts as staying while its gap opens by less than 1e-6 of the way (crossing_pose.cpp): one between two others until the slope under an end is some
// times that (2.04 for a middle axle in the middle, where 2e-6 was seen to be too little). Such a slope is a pivot that no program survives.
constexpr double kPi = 3.14159265358979323846, kSameSlope_rad = 1e-5;
constexpr int kMostPrograms = 60;
constexpr int kProgramsBeforeHalving = 12;
// Two wheels that push against each other could press as hard as they like, and a pose would seem to hold with forces without bound. The normal
// forces together stay below ten weights (chosen by us); t not below minus one weight, where it means nothing any more.
constexpr double kMostPress = 10, kLowestExcess = -1;

// Places of the columns: a normal force each (or, beyond two contacts, two settlements), tractions, then t.
struct Contact {
  std::size_t axle = 0;
  double slope = 0;
  double nx = 0, nz = 0, normal_moment = 0;        // of a unit normal force, moment over the length about the centre of gravity
  double tx = 0, tz = 0, traction_moment = 0;
  double radius = 0;                               // over the vehicle's length
  std::array<double, 2> settles{};                 // normal force by equal stiffness, per unit of the two settlements
  bool driven = true;
  bool lifted = false;                             // touches, but is taken not to carry
};

struct Statics {
  std::array<Contact, kMostAxles> contact{};
  std::size_t count = 0;
  double length = 1, weight = 1;
  TorqueSplit split = TorqueSplit::best;

  [[nodiscard]] std::size_t standing() const {
    std::size_t n = 0;
    for (std::size_t i = 0; i < count; ++i) n += contact[i].lifted ? 0 : 1;
    return n;
  }
};

Statics statics_of(const ProfileVehicle& vehicle, const Pose& pose, TorqueSplit split) {
  Statics s;
  s.split = split;
  s.length = vehicle.axles.back().x_m - vehicle.axles.front().x_m;
  s.weight = vehicle.weight_n;
  for (std::size_t k = 0; k < pose.axles; ++k) {
    const WheelContact& w = pose.wheel[k];
    if (!w.carries) continue;
    Contact& c = s.contact[s.count++];
    c.axle = k;
    // Slopes that differ by rounding, or by how near a change of contacts is told, are one slope: their difference would be a pivot.
    c.slope = w.slope_rad;
    for (const double same : {0.0, 0.5 * kPi, -0.5 * kPi}) c.slope = std::abs(c.slope - same) < kSameSlope_rad ? same : c.slope;
    for (std::size_t i = 0; i + 1 < s.count; ++i) {
      if (std::abs(c.slope - s.contact[i].slope) < kSameSlope_rad) c.slope = s.contact[i].slope;
    }
    c.nx = -std::sin(c.slope);
    c.nz = std::abs(c.slope) == 0.5 * kPi ? 0 : std::cos(c.slope);
    c.tx = c.nz;
    c.tz = -c.nx;
    const double x = (w.point.x_m - pose.cg.x_m) / s.length, z = (w.point.z_m - pose.cg.z_m) / s.length;
    c.normal_moment = x * c.nz - z * c.nx;
    c.traction_moment = x * c.tz - z * c.tx;
    c.radius = vehicle.axles[k].radius_m / s.length;
    c.driven = vehicle.axles[k].driven;
  }
  if (s.count <= 2) return s;
  // The body settles across its way forward only (moving along it presses on no contact that goes on): two directions square to the motion, in
  // metres and turns times the length.
  const double x = pose.motion[0], z = pose.motion[1], turn = pose.motion[2] * s.length, size = std::sqrt(x * x + z * z + turn * turn);
  const std::array<double, 3> along{x / size, z / size, turn / size};
  // First: the axis the way has least of, less its part along the way; second: square to both.
  std::size_t least = 0;
  for (std::size_t i = 1; i < 3; ++i) least = std::abs(along[i]) < std::abs(along[least]) ? i : least;
  std::array<double, 3> first{}, second{};
  for (std::size_t i = 0; i < 3; ++i) first[i] = (i == least ? 1 : 0) - along[least] * along[i];
  const double first_size = std::sqrt(first[0] * first[0] + first[1] * first[1] + first[2] * first[2]);
  for (double& f : first) f /= first_size;
  for (std::size_t i = 0; i < 3; ++i) second[i] = along[(i + 1) % 3] * first[(i + 2) % 3] - along[(i + 2) % 3] * first[(i + 1) % 3];
  for (std::size_t i = 0; i < s.count; ++i) {
    Contact& c = s.contact[i];
    // A settlement presses a contact by its part along the normal there; of the middle, so the lever is the wheel centre's.
    const WheelContact& w = pose.wheel[c.axle];
    const double lever = ((w.centre.x_m - pose.travel_m) * c.nz - (w.centre.z_m - pose.height_m) * c.nx) / s.length;
    const double share = vehicle.axles[c.axle].wheels;
    c.settles = {share * (c.nx * first[0] + c.nz * first[1] + lever * first[2]), share * (c.nx * second[0] + c.nz * second[1] + lever * second[2])};
  }
  return s;
}

// Columns of a program over the statics.
struct Columns {
  bool settled = false;                            // normals through two settlements (eq. 9)
  std::array<std::size_t, kMostAxles> normal{}, traction{};
  std::array<double, kMostAxles> traction_per{};   // traction per unit of its column
  std::size_t excess = 0;
};

// Adds `factor` times the normal force of contact i to a row: its own column, or stiffness times the settlement there.
void add_normal(SmallProgram& p, std::size_t row, const Statics& s, const Columns& columns, std::size_t i, double factor) {
  const Contact& c = s.contact[i];
  if (!columns.settled) {
    p.coefficient(row, columns.normal[i]) += factor;
    return;
  }
  const double f = factor;
  p.coefficient(row, 0) += f * c.settles[0];
  p.coefficient(row, 1) += f * c.settles[1];
}

bool takes_torque(const Contact& c, bool all_driven) { return !c.lifted && (c.driven || all_driven); }

// Balance of forces and moments, signs of the normal forces (eqs. 6 to 9).
Columns balance(SmallProgram& p, const Statics& s, bool all_driven) {
  Columns columns;
  columns.settled = s.count > 2;
  std::size_t next = columns.settled ? 2 : 0;
  for (std::size_t i = 0; i < s.count; ++i) {
    if (!columns.settled) columns.normal[i] = next++;
  }
  const std::size_t shared = next;
  bool any = false;
  for (std::size_t i = 0; i < s.count; ++i) {
    if (!takes_torque(s.contact[i], all_driven)) continue;
    const bool equal = s.split == TorqueSplit::equal && !all_driven;
    columns.traction[i] = equal ? shared : next;
    columns.traction_per[i] = equal ? 1 / s.contact[i].radius : 1;
    if (!equal || !any) ++next;
    any = true;
  }
  columns.excess = next++;
  p.reset(next);
  for (std::size_t j = columns.settled ? 0 : shared; j < next; ++j) p.is_free[j] = true;
  const std::size_t fx = p.add_row(Kind::equal, 0), fz = p.add_row(Kind::equal, 1), moment = p.add_row(Kind::equal, 0);
  for (std::size_t i = 0; i < s.count; ++i) {
    const Contact& c = s.contact[i];
    if (!c.lifted) {
      add_normal(p, fx, s, columns, i, c.nx);
      add_normal(p, fz, s, columns, i, c.nz);
      add_normal(p, moment, s, columns, i, c.normal_moment);
    }
    if (takes_torque(c, all_driven)) {
      const double per = columns.traction_per[i];
      p.coefficient(fx, columns.traction[i]) += per * c.tx;
      p.coefficient(fz, columns.traction[i]) += per * c.tz;
      p.coefficient(moment, columns.traction[i]) += per * c.traction_moment;
    }
    if (columns.settled) {
      // A standing wheel does not pull, a lifted one is clear of the ground.
      const std::size_t sign = p.add_row(Kind::at_most, 0);
      add_normal(p, sign, s, columns, i, c.lifted ? 1 : -1);
    }
  }
  const std::size_t press = p.add_row(Kind::at_most, kMostPress);
  for (std::size_t i = 0; i < s.count; ++i) {
    if (!s.contact[i].lifted) add_normal(p, press, s, columns, i, 1);
  }
  return columns;
}

// |T| - mu N <= t w for every driven wheel that stands (eqs. 8 and 11), w one weight a contact.
using Weights = std::array<double, kMostAxles>;
void within_friction(SmallProgram& p, const Statics& s, const Columns& columns, double friction, const Weights& weights) {
  for (std::size_t i = 0; i < s.count; ++i) {
    if (!takes_torque(s.contact[i], false)) continue;
    for (const double sign : {1.0, -1.0}) {
      const std::size_t row = p.add_row(Kind::at_most, 0);
      p.coefficient(row, columns.traction[i]) += sign * columns.traction_per[i];
      add_normal(p, row, s, columns, i, -friction);
      p.coefficient(row, columns.excess) -= weights[i];
    }
  }
}

double normal_of(const Statics& s, const Columns& columns, const ProgramAnswer& a, std::size_t i) {
  const Contact& c = s.contact[i];
  if (c.lifted) return 0;
  if (!columns.settled) return a.x[columns.normal[i]];
  return a.x[0] * c.settles[0] + a.x[1] * c.settles[1];
}
double traction_of(const Statics& s, const Columns& columns, const ProgramAnswer& a, std::size_t i) {
  return takes_torque(s.contact[i], false) ? a.x[columns.traction[i]] * columns.traction_per[i] : 0;
}

double largest_ratio(const Statics& s, const Columns& columns, const ProgramAnswer& a) {
  double out = 0;
  for (std::size_t i = 0; i < s.count; ++i) {
    const double n = normal_of(s, columns, a, i), t = std::abs(traction_of(s, columns, a, i));
    if (t > 1e-13) out = std::max(out, n > 0 ? t / n : std::numeric_limits<double>::infinity());
  }
  return out;
}

// The answer in newtons, with what it leaves unbalanced.
void tell(Forces& out, const ProfileVehicle& vehicle, const Statics& s, const Columns& columns, const ProgramAnswer& a) {
  double x = 0, z = -1, moment = 0;
  out.friction = out.torque_n_m = out.torque_share = 0;
  for (std::size_t i = 0; i < s.count; ++i) {
    const Contact& c = s.contact[i];
    const double n = normal_of(s, columns, a, i), t = traction_of(s, columns, a, i);
    x += n * c.nx + t * c.tx;
    z += n * c.nz + t * c.tz;
    moment += n * c.normal_moment + t * c.traction_moment;
    const ProfileAxle& axle = vehicle.axles[c.axle];
    const double torque = t * s.weight * axle.radius_m;
    out.axle[c.axle] = {n * s.weight, t * s.weight, torque};
    out.torque_n_m = std::max(out.torque_n_m, std::abs(torque));
    if (axle.torque_limit_n_m) out.torque_share = std::max(out.torque_share, std::abs(torque) / *axle.torque_limit_n_m);
  }
  out.friction = largest_ratio(s, columns, a);
  out.solve.residual = s.weight * std::max({std::abs(x), std::abs(z), std::abs(moment)});
}

Forces unsolved(const Statics& s) {
  Forces out;
  out.solve.tolerance = kBalanceTolerance * s.weight;
  out.solve.residual_unit = "N";
  return out;
}

// Could any traction on all its wheels balance it?
bool balances_somehow(const Statics& s) {
  SmallProgram p;
  balance(p, s, true);
  return p.solve().status != ProgramStatus::infeasible;
}

// For one choice of the wheels that stand.
Forces friction_of(const ProfileVehicle& vehicle, const Statics& s, double most) {
  Forces out = unsolved(s);
  SmallProgram p;
  std::optional<ProgramAnswer> best;
  Columns columns;
  Weights weights;
  weights.fill(1);
  const auto excess_at = [&](double friction) {
    columns = balance(p, s, false);
    within_friction(p, s, columns, friction, weights);
    p.coefficient(p.add_row(Kind::at_most, -kLowestExcess), columns.excess) = -1;
    p.cost[columns.excess] = 1;
    ++out.solve.steps;
    ProgramAnswer a = p.solve();
    out.solve.evaluations += a.steps;
    return a;
  };
  const auto holds = [](const ProgramAnswer& a) { return a.status == ProgramStatus::optimal && a.value <= kBalanceTolerance; };
  // Excess counted in the normal forces of the best answer so far: near the end t is then the change of mu itself.
  const auto weigh = [&](const ProgramAnswer& answer) {
    for (std::size_t i = 0; i < s.count; ++i) weights[i] = std::max(normal_of(s, columns, answer, i), 1e-3);
  };
  double low = 0, high = most;
  ProgramAnswer a = excess_at(0);
  if (a.status == ProgramStatus::optimal && a.value <= kNoTraction) {
    low = high = 0;
    best = a;
  } else if (a.status == ProgramStatus::optimal) {
    a = excess_at(most);
    if (holds(a)) best = a;
  }
  if (!best) {
    out.solve.status = a.status == ProgramStatus::optimal ? base::SolveStatus::no_solution : status_of(a.status);
    return out;
  }
  if (high > 0) high = std::min(high, largest_ratio(s, columns, a));
  while (high - low > kFrictionTolerance && out.solve.steps < kMostPrograms) {
    weigh(*best);
    a = excess_at(high);
    if (a.status != ProgramStatus::optimal) break;
    if (!(a.value < -1e-12)) {   // no balance with less: the ratio is the least
      if (holds(a)) best = a;
      low = high;
      break;
    }
    best = a;
    const double next = std::min(high, largest_ratio(s, columns, a)), fell = high - next;
    high = next;
    if (out.solve.steps < kProgramsBeforeHalving || fell >= 0.1 * (high - low)) continue;
    const double middle = 0.5 * (low + high);
    a = excess_at(middle);
    if (holds(a)) {
      best = a;
      high = std::min(middle, largest_ratio(s, columns, a));
    } else if (a.status == ProgramStatus::optimal) {
      low = middle;
    } else {
      break;
    }
  }
  tell(out, vehicle, s, columns, *best);
  out.friction = std::max(high, 0.0);
  const bool closed = high - low <= kFrictionTolerance;
  out.solve.status = closed && out.solve.residual <= out.solve.tolerance ? base::SolveStatus::converged
                     : closed ? base::SolveStatus::stalled : base::SolveStatus::out_of_steps;
  return out;
}

Forces torque_of(const ProfileVehicle& vehicle, const Statics& s, double friction) {
  Forces out = unsolved(s);
  SmallProgram p;
  const Columns columns = balance(p, s, false);
  within_friction(p, s, columns, friction, {});
  bool limited = false;
  for (const ProfileAxle& a : vehicle.axles) limited = limited || (a.driven && a.torque_limit_n_m);
  for (std::size_t i = 0; i < s.count; ++i) {
    const Contact& c = s.contact[i];
    if (!takes_torque(c, false)) continue;
    const ProfileAxle& axle = vehicle.axles[c.axle];
    if (limited && !axle.torque_limit_n_m) continue;
    const double unit = limited ? *axle.torque_limit_n_m / (s.weight * s.length) : 1;
    for (const double sign : {1.0, -1.0}) {   // |T| r <= t unit (eq. 12)
      const std::size_t row = p.add_row(Kind::at_most, 0);
      p.coefficient(row, columns.traction[i]) += sign * columns.traction_per[i] * c.radius;
      p.coefficient(row, columns.excess) = -unit;
    }
  }
  p.coefficient(p.add_row(Kind::at_most, 0), columns.excess) = -1;   // t at least 0
  p.cost[columns.excess] = 1;
  const ProgramAnswer a = p.solve();
  out.solve.steps = 1;
  out.solve.evaluations = a.steps;
  out.solve.status = status_of(a.status);
  if (a.status != ProgramStatus::optimal) return out;
  tell(out, vehicle, s, columns, a);
  if (!(out.solve.residual <= out.solve.tolerance)) out.solve.status = base::SolveStatus::stalled;
  return out;
}

// All that touch stand; where that has no balance, wheels are lifted one at a time, then two, ...; of equally many the answer that
// asks least. Two contacts have nothing to lift.
template <class Solve, class Better>
Forces over_standing(Statics s, const Solve& solve, const Better& better) {
  Forces best = solve(s);
  const auto final_word = [&](Forces f) {
    if (f.solve.status == base::SolveStatus::no_solution) {
      bool somehow = false;
      for (unsigned mask = 0; mask < (1U << s.count) && !somehow; ++mask) {
        for (std::size_t i = 0; i < s.count; ++i) s.contact[i].lifted = (mask >> i) & 1U;
        somehow = s.standing() >= 2 && balances_somehow(s);
      }
      f.tips = !somehow;
    }
    return f;
  };
  for (std::size_t lifted = 1; best.solve.status == base::SolveStatus::no_solution && lifted + 2 <= s.count; ++lifted) {
    for (unsigned mask = 0; mask < (1U << s.count); ++mask) {
      std::size_t bits = 0;
      for (std::size_t i = 0; i < s.count; ++i) {
        s.contact[i].lifted = (mask >> i) & 1U;
        bits += s.contact[i].lifted ? 1 : 0;
      }
      if (bits != lifted) continue;
      const Forces f = solve(s);
      if (f.solve.converged() && (!best.solve.converged() || better(f, best))) best = f;
    }
  }
  return final_word(best);
}

}  // namespace

const char* name(TorqueSplit split) { return split == TorqueSplit::best ? "best split" : "equal torques"; }

Forces least_friction(const ProfileVehicle& vehicle, const Pose& pose, TorqueSplit split, double most_friction) {
  HARDPAN_ASSERT(most_friction > 0 && pose.axles == vehicle.axles.size());
  return over_standing(statics_of(vehicle, pose, split), [&](const Statics& s) { return friction_of(vehicle, s, most_friction); },
                       [](const Forces& a, const Forces& b) { return a.friction < b.friction; });
}

Forces least_torque(const ProfileVehicle& vehicle, const Pose& pose, TorqueSplit split, double friction) {
  HARDPAN_ASSERT(friction >= 0 && pose.axles == vehicle.axles.size());
  return over_standing(statics_of(vehicle, pose, split), [&](const Statics& s) { return torque_of(vehicle, s, friction); },
                       [](const Forces& a, const Forces& b) { return a.torque_share + a.torque_n_m < b.torque_share + b.torque_n_m; });
}

}  // namespace hardpan::performance
