// SPDX-License-Identifier: Apache-2.0
// Units of weight and length. The least friction as in crossing_forces.cpp: a generalised fractional program by a sequence of linear ones
// [Dinkelbach1967; Crouzeix1985], begun from the friction of the pose before. Observed: 2 to 5 programs.
#include "performance/detail/chain_statics.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/assertion.hpp"

namespace hardpan::performance::detail {
namespace {

using Kind = SmallProgram::Kind;

constexpr double kBalanceTolerance = 1e-9;    // share of the weight, as in crossing_forces.cpp
constexpr double kPoseTolerance = 2e-6;       // share of the weight by which the joints' moments of the pose may miss
constexpr double kNoTraction = 1e-6;          // share of the weight: needs no friction
constexpr double kFrictionTolerance = 1e-9, kLastFall = 1e-6;
constexpr int kMostPrograms = 60, kProgramsBeforeHalving = 12;
constexpr double kMostPress = 10;             // normal forces together, in weights: wedged wheels hold nothing without bound (chosen by us)
constexpr double kIndependent = 1e-5;         // a settlement direction with less of its own is none

using Row = std::array<double, kMostUnknowns + 1>;

double dot(const Row& a, const Row& b) {
  double s = 0;
  for (std::size_t i = 0; i < a.size(); ++i) s += a[i] * b[i];
  return s;
}
// What of a is square to the first `count` of the basis, as a unit vector; false where less than the share is left.
bool orthonormal(Row a, const std::array<Row, kMostUnknowns + 1>& basis, std::size_t count, double share, Row& out) {
  const double was = std::sqrt(dot(a, a));
  for (int twice = 0; twice < 2; ++twice) {
    for (std::size_t b = 0; b < count; ++b) {
      const double part = dot(a, basis[b]);
      for (std::size_t i = 0; i < a.size(); ++i) a[i] -= part * basis[b][i];
    }
  }
  const double left = std::sqrt(dot(a, a));
  if (!(left > share * was)) return false;
  for (double& x : a) x /= left;
  out = a;
  return true;
}

}  // namespace

ChainStatics::ChainStatics(const Linkage& linkage, const Stand& stand, TorqueSplit split) : linkage_(&linkage), split_(split) {
  const ProfileVehicle& vehicle = linkage.vehicle();
  length_ = vehicle.axles.back().x_m - vehicle.axles.front().x_m;
  rows_ = linkage.bodies() + 2;
  const double weight = vehicle.weight_n;
  std::array<double, kMostBodies> sine{}, cosine{};
  for (std::size_t b = 0; b < linkage.bodies(); ++b) {
    sine[b] = std::sin(stand.u[1 + b]);
    cosine[b] = std::cos(stand.u[1 + b]);
  }
  const auto turned = [&](const Arms& arms, std::size_t j) {
    const ProfilePoint& w = arms.arm[j];
    return ProfilePoint{w.x_m * cosine[j] - w.z_m * sine[j], w.x_m * sine[j] + w.z_m * cosine[j]};
  };
  fixed_[1] = -1;
  for (std::size_t b = 0; b < linkage.bodies(); ++b) {
    for (std::size_t j = 0; j < linkage.bodies(); ++j) fixed_[2 + j] -= linkage.body(b).weight_n / weight * turned(linkage.body_cg(b), j).x_m / length_;
  }
  for (std::size_t j = 0; j + 1 < linkage.bodies(); ++j) {
    fixed_[3 + j] += stand.joint_moment[j] / (weight * length_);
    fixed_[2 + j] -= stand.joint_moment[j] / (weight * length_);
    const ProfileJoint& joint = vehicle.joints[j];
    if (stand.joint_stiffness[j] > joint.stiffness_n_m_per_rad) {
      // What the stop pushes beside the spring.
      const double push = (stand.joint_moment[j] + joint.stiffness_n_m_per_rad * (stand.u[2 + j] - stand.u[1 + j])) / (weight * length_);
      stop_[j].rests = true;
      stop_[j].sign = push < 0 ? -1 : 1;
      stop_[j].at_rest = push;
    }
  }
  for (std::size_t k = 0; k < linkage.axles(); ++k) {
    const Press& w = stand.wheel[k];
    if (!(w.area_m2 > 0)) continue;
    Contact& c = contact_[count_++];
    c.axle = k;
    c.driven = vehicle.axles[k].driven;
    c.arm = w.arm_m / length_;
    c.stiffness = linkage.stiffness_n_per_m(k, stand);
    c.pressed = w.normal_n;
    c.at_rest = linkage.rigid_wheels() ? 0 : w.normal_n / weight;
    c.normal = {w.nx, w.nz};
    c.traction = {w.nz, -w.nx};
    for (std::size_t j = 0; j < linkage.bodies(); ++j) {
      const ProfilePoint a = turned(linkage.axle(k), j);   // d(centre)/d(pitch) = (-z, x)
      c.normal[2 + j] = (w.nz * a.x_m - w.nx * a.z_m) / length_;
      c.traction[2 + j] = (-w.nx * a.x_m - w.nz * a.z_m) / length_ + (j == vehicle.axles[k].body ? c.arm : 0);
    }
  }
  find_columns(stand);
}

void ChainStatics::find_columns(const Stand& stand) {
  std::array<Row, kMostUnknowns + 1> basis{};
  Row way{1, stand.per_travel[0]};
  for (std::size_t b = 0; b < linkage_->bodies(); ++b) way[2 + b] = stand.per_travel[1 + b] * length_;
  std::size_t size = orthonormal(way, basis, 0, 0, basis[0]) ? 1 : 0;
  for (std::size_t i = 0; i < count_; ++i) {
    if (size < rows_ && orthonormal(contact_[i].normal, basis, size, kIndependent, basis[size])) ++size;
  }
  const std::size_t pressing = size;   // directions 1 to here press on wheels
  for (std::size_t axis = 0; axis < rows_; ++axis) {
    Row unit{};
    unit[axis] = 1;
    if (size < rows_ && orthonormal(unit, basis, size, 1e-3, basis[size])) ++size;
  }
  double stiffest = 0, stiffest_joint = 0;
  for (std::size_t i = 0; i < count_; ++i) stiffest = std::max(stiffest, contact_[i].stiffness);
  for (std::size_t j = 0; j + 1 < linkage_->bodies(); ++j) stiffest_joint = std::max(stiffest_joint, stand.joint_stiffness[j]);
  const bool rigid = linkage_->rigid_wheels();
  for (std::size_t d = 1; d < size; ++d) {
    const bool presses = d < pressing;
    if (!presses && !(stiffest_joint > 0) && rigid) continue;
    const std::size_t column = settlements_;
    double largest = 0;
    for (std::size_t i = 0; i < count_; ++i) {
      const double s = presses ? -contact_[i].stiffness / stiffest * dot(contact_[i].normal, basis[d]) : 0;
      contact_[i].settles[column] = s;
      largest = std::max(largest, std::abs(s));
    }
    for (std::size_t r = 0; r < rows_; ++r) joint_[r][column] = 0;
    for (std::size_t j = 0; j + 1 < linkage_->bodies(); ++j) {
      if (presses && rigid) continue;   // a rigid wheel settles by nothing, and the joint does not turn
      const double turn = basis[d][3 + j] - basis[d][2 + j];
      const double m = presses ? -stand.joint_stiffness[j] / (stiffest * length_ * length_) * turn : -stand.joint_stiffness[j] / stiffest_joint * turn;
      stop_[j].per[column] = m;
      joint_[3 + j][column] += m;
      joint_[2 + j][column] -= m;
      largest = std::max(largest, std::abs(m));
    }
    if (largest > 1e-9) ++settlements_;
  }
}

void ChainStatics::balance(SmallProgram& p, bool all_driven) {
  std::size_t next = settlements_;
  const std::size_t shared = next;
  bool any = false;
  const bool equal = split_ == TorqueSplit::equal && !all_driven;
  for (std::size_t i = 0; i < count_; ++i) {
    if (!takes_torque(i, all_driven)) continue;
    column_[i] = equal ? shared : next;
    per_[i] = equal ? 1 / contact_[i].arm : 1;
    if (!equal || !any) ++next;
    any = true;
  }
  excess_ = next++;
  p.reset(next);
  for (std::size_t j = 0; j + 1 < next; ++j) p.is_free[j] = true;
  for (std::size_t r = 0; r < rows_; ++r) {
    double bound = -fixed_[r];
    const std::size_t row = p.add_row(Kind::equal, 0);
    for (std::size_t j = 0; j < settlements_; ++j) p.coefficient(row, j) += joint_[r][j];
    for (std::size_t i = 0; i < count_; ++i) {
      const Contact& c = contact_[i];
      if (!c.lifted) {
        bound -= c.normal[r] * c.at_rest;
        for (std::size_t j = 0; j < settlements_; ++j) p.coefficient(row, j) += c.normal[r] * c.settles[j];
      }
      if (takes_torque(i, all_driven)) p.coefficient(row, column_[i]) += per_[i] * c.traction[r];
    }
    p.set_bound(row, bound);
  }
  double press_left = kMostPress;
  std::array<double, kMostUnknowns> pressed{};
  for (std::size_t i = 0; i < count_; ++i) {
    const Contact& c = contact_[i];
    // A standing wheel does not pull (the friction it has says so where it is driven), a lifted one is clear of the ground.
    if (!c.lifted) {
      press_left -= c.at_rest;
      for (std::size_t j = 0; j < settlements_; ++j) pressed[j] += c.settles[j];
    }
    if (takes_torque(i, false) && !all_driven) continue;
    const std::size_t row = p.add_row(Kind::at_most, c.lifted ? -c.at_rest : c.at_rest);
    for (std::size_t j = 0; j < settlements_; ++j) p.coefficient(row, j) = c.lifted ? c.settles[j] : -c.settles[j];
  }
  for (std::size_t k = 0; k + 1 < linkage_->bodies(); ++k) {
    if (!stop_[k].rests) continue;
    const std::size_t row = p.add_row(Kind::at_most, stop_[k].sign * stop_[k].at_rest);
    for (std::size_t j = 0; j < settlements_; ++j) p.coefficient(row, j) = -stop_[k].sign * stop_[k].per[j];
  }
  const std::size_t press = p.add_row(Kind::at_most, press_left);
  for (std::size_t j = 0; j < settlements_; ++j) p.coefficient(press, j) = pressed[j];
}

// |T| - mu N <= t w, the column holding t + 1 at least 0; weights of 0: no excess.
void ChainStatics::within(SmallProgram& p, double friction, const std::array<double, kMostAxles>& weights) {
  for (std::size_t i = 0; i < count_; ++i) {
    if (!takes_torque(i, false)) continue;
    const Contact& c = contact_[i];
    for (const double sign : {1.0, -1.0}) {
      const std::size_t row = p.add_row(Kind::at_most, friction * c.at_rest - weights[i]);
      for (std::size_t j = 0; j < settlements_; ++j) p.coefficient(row, j) -= friction * c.settles[j];
      p.coefficient(row, column_[i]) += sign * per_[i];
      p.coefficient(row, excess_) -= weights[i];
    }
  }
}

double ChainStatics::normal_of(const ProgramAnswer& a, std::size_t i) const {
  const Contact& c = contact_[i];
  if (c.lifted) return 0;
  double n = c.at_rest;
  for (std::size_t j = 0; j < settlements_; ++j) n += c.settles[j] * a.x[j];
  return n;
}
double ChainStatics::traction_of(const ProgramAnswer& a, std::size_t i) const { return takes_torque(i, false) ? a.x[column_[i]] * per_[i] : 0; }

double ChainStatics::largest_ratio(const ProgramAnswer& a) const {
  double out = 0;
  for (std::size_t i = 0; i < count_; ++i) {
    const double n = normal_of(a, i), t = std::abs(traction_of(a, i));
    if (t > 1e-13) out = std::max(out, n > 0 ? t / n : std::numeric_limits<double>::infinity());
  }
  return out;
}

void ChainStatics::tell(Forces& out, const ProgramAnswer& a) const {
  Row left = fixed_;
  out.friction = out.torque_n_m = out.torque_share = 0;
  const double weight = linkage_->weight_n();
  for (std::size_t r = 0; r < rows_; ++r) {
    for (std::size_t j = 0; j < settlements_; ++j) left[r] += joint_[r][j] * a.x[j];
  }
  for (std::size_t i = 0; i < count_; ++i) {
    const Contact& c = contact_[i];
    const double n = normal_of(a, i), t = traction_of(a, i), torque = t * weight * c.arm * length_;
    for (std::size_t r = 0; r < rows_; ++r) left[r] += n * c.normal[r] + t * c.traction[r];
    out.axle[c.axle] = {n * weight, t * weight, torque};
    out.torque_n_m = std::max(out.torque_n_m, std::abs(torque));
    if (const auto& limit = linkage_->vehicle().axles[c.axle].torque_limit_n_m) out.torque_share = std::max(out.torque_share, std::abs(torque) / *limit);
  }
  out.friction = largest_ratio(a);
  double worst = 0;
  for (std::size_t r = 0; r < rows_; ++r) worst = std::max(worst, std::abs(left[r]));
  out.solve.residual = weight * worst;
}

Unknowns ChainStatics::load(const Forces& forces) const {
  Unknowns out{};
  for (std::size_t i = 0; i < count_; ++i) {
    const Contact& c = contact_[i];
    const double t = forces.axle[c.axle].traction_n;
    out[0] += t * c.traction[1];
    for (std::size_t b = 0; b < linkage_->bodies(); ++b) out[1 + b] += t * c.traction[2 + b] * length_;
  }
  return out;
}

// The friction mobilised evenly that keeps it from running off, whatever the wheels can do: normal forces as they stand.
Unknowns ChainStatics::even_load() const {
  double push = 0, hold = 0;
  for (std::size_t i = 0; i < count_; ++i) {
    push += contact_[i].pressed * contact_[i].normal[0];
    hold += contact_[i].pressed * contact_[i].traction[0];
  }
  Forces even;
  const double share = hold > 0 ? -push / hold : 0;
  for (std::size_t i = 0; i < count_; ++i) even.axle[contact_[i].axle].traction_n = share * contact_[i].pressed;
  return load(even);
}

SmallProgram ChainStatics::program(double friction) {
  SmallProgram p;
  std::array<double, kMostAxles> weights;
  weights.fill(1);
  balance(p, false);
  within(p, friction, weights);
  p.cost[excess_] = 1;
  return p;
}

Forces ChainStatics::friction_as_lifted(double most, double guess) {
  Forces out;
  out.solve.tolerance = kPoseTolerance * linkage_->weight_n();
  out.solve.residual_unit = "N";
  SmallProgram p;
  balance(p, false);
  const Reduction balanced(p);
  const std::size_t rows = p.rows();
  std::optional<ProgramAnswer> best;
  std::array<double, kMostAxles> weights;
  weights.fill(1);
  p.cost[excess_] = 1;
  const auto excess_at = [&](double friction) {
    p.keep_rows(rows);
    within(p, friction, weights);
    ++out.solve.steps;
    ProgramAnswer a = balanced.solve(p);
    a.value -= 1;
    out.solve.evaluations += a.steps;
    return a;
  };
  const auto holds = [](const ProgramAnswer& a) { return a.status == ProgramStatus::optimal && a.value <= kBalanceTolerance; };
  double low = 0, high = most;
  ProgramAnswer a = excess_at(guess > 0 ? std::min(guess, most) : 0);
  if (a.status == ProgramStatus::optimal && guess <= 0 && a.value <= kNoTraction) {
    low = high = 0;
    best = a;
  } else if (guess > 0 && holds(a)) {
    best = a;
    high = std::min(guess, most);
  } else if (a.status == ProgramStatus::optimal) {
    if (guess > 0) low = std::min(guess, most);
    a = excess_at(most);
    if (holds(a)) best = a;
  }
  if (!best) {
    out.solve.status = a.status == ProgramStatus::optimal ? base::SolveStatus::no_solution : status_of(a.status);
    return out;
  }
  if (high > 0) high = std::max(low, std::min(high, largest_ratio(a)));
  while (high - low > kFrictionTolerance && out.solve.steps < kMostPrograms) {
    // Excess counted in the normal forces of the best answer so far: near the end t is then the change of mu itself.
    for (std::size_t i = 0; i < count_; ++i) weights[i] = std::max(normal_of(*best, i), 1e-3);
    a = excess_at(high);
    if (a.status != ProgramStatus::optimal) break;
    if (!(a.value < -1e-10)) {   // no balance with less: the ratio is the least
      if (holds(a)) best = a;
      low = high;
      break;
    }
    best = a;
    const double next = std::max(low, std::min(high, largest_ratio(a))), fell = high - next;
    high = next;
    if (high <= kNoTraction) {
      low = high = 0;
      break;
    }
    if (fell <= kLastFall) {   // what is left is its square
      low = high;
      break;
    }
    if (out.solve.steps < kProgramsBeforeHalving || fell >= 0.1 * (high - low)) continue;
    const double middle = 0.5 * (low + high);
    a = excess_at(middle);
    if (holds(a)) {
      best = a;
      high = std::min(middle, largest_ratio(a));
    } else if (a.status == ProgramStatus::optimal) {
      low = middle;
    } else {
      break;
    }
  }
  tell(out, *best);
  out.friction = std::max(high, 0.0);
  const bool closed = high - low <= kFrictionTolerance;
  out.solve.status = closed && out.solve.residual <= out.solve.tolerance ? base::SolveStatus::converged : closed ? base::SolveStatus::stalled : base::SolveStatus::out_of_steps;
  return out;
}

Forces ChainStatics::torque_as_lifted(double friction) {
  Forces out;
  out.solve.tolerance = kPoseTolerance * linkage_->weight_n();
  out.solve.residual_unit = "N";
  SmallProgram p;
  balance(p, false);
  within(p, friction, {});
  bool limited = false;
  for (const ProfileAxle& a : linkage_->vehicle().axles) limited = limited || (a.driven && a.torque_limit_n_m);
  for (std::size_t i = 0; i < count_; ++i) {
    if (!takes_torque(i, false)) continue;
    const auto& limit = linkage_->vehicle().axles[contact_[i].axle].torque_limit_n_m;
    if (limited && !limit) continue;
    const double unit = limited ? *limit / (linkage_->weight_n() * length_) : 1;
    for (const double sign : {1.0, -1.0}) {
      const std::size_t row = p.add_row(Kind::at_most, 0);
      p.coefficient(row, column_[i]) += sign * per_[i] * contact_[i].arm;
      p.coefficient(row, excess_) = -unit;
    }
  }
  p.cost[excess_] = 1;
  const ProgramAnswer a = Reduction(p).solve(p);
  out.solve.steps = 1;
  out.solve.evaluations = a.steps;
  out.solve.status = status_of(a.status);
  if (a.status != ProgramStatus::optimal) return out;
  tell(out, a);
  if (!(out.solve.residual <= out.solve.tolerance)) out.solve.status = base::SolveStatus::stalled;
  return out;
}

bool ChainStatics::balances_somehow() {
  SmallProgram p;
  balance(p, true);
  return Reduction(p).solve(p).status != ProgramStatus::infeasible;
}

// All that touch stand; where that has no balance, one wheel is lifted, then two; of equally many the answer that asks least.
template <class Solve, class Better>
Forces ChainStatics::over_lifted(const Solve& solve, const Better& better) {
  const auto lift = [&](unsigned mask) {
    for (std::size_t i = 0; i < count_; ++i) contact_[i].lifted = (mask >> i) & 1U;
  };
  lift(0);
  Forces best = solve();
  bool somehow = best.solve.status != base::SolveStatus::no_solution || balances_somehow();
  for (int lifted = 1; best.solve.status == base::SolveStatus::no_solution && lifted <= 2 && static_cast<std::size_t>(lifted) + 2 <= count_; ++lifted) {
    for (unsigned mask = 0; mask < (1U << count_); ++mask) {
      if (__builtin_popcount(mask) != lifted) continue;
      lift(mask);
      const Forces f = solve();
      somehow = somehow || balances_somehow();
      if (f.solve.converged() && (!best.solve.converged() || better(f, best))) best = f;
    }
  }
  lift(0);
  if (best.solve.status == base::SolveStatus::no_solution) best.tips = !somehow;
  return best;
}

Forces ChainStatics::least_friction(double most, double guess) {
  HARDPAN_ASSERT(most > 0);
  return over_lifted([&] { return friction_as_lifted(most, guess); }, [](const Forces& a, const Forces& b) { return a.friction < b.friction; });
}

Forces ChainStatics::least_torque(double friction) {
  HARDPAN_ASSERT(friction >= 0);
  return over_lifted([&] { return torque_as_lifted(friction); },
                     [](const Forces& a, const Forces& b) { return a.torque_share + a.torque_n_m < b.torque_share + b.torque_n_m; });
}

}  // namespace hardpan::performance::detail
