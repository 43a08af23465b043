// SPDX-License-Identifier: Apache-2.0
// Gauss-Newton with step halving on weights that stand still within a step and follow the fit between
// steps (the variance of a reading depends on the fitted pressure, not on the measured one: measured
// ones bias the level downward). The normal equations have the shape of an arrow: each push's offset and
// each point's level are eliminated in closed form, which leaves at most two unknowns. The number
// of blocks is that of the campaign, so the general solver of the fitting module, whose unknowns
// are counted when it is compiled, is not used here; a test compares the two on one point.
#include "records/detail/plate_joint.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "math/statistics.hpp"

namespace hardpan::records::detail {
namespace {

struct Shape {
  double f = 0;                  // ln f
  std::array<double, 2> d{};     // by shape parameters
  double by_z = 0;               // d ln f / d z
};

std::size_t shape_count(const JointProblem& problem) {
  switch (problem.law) {
    case soil::PressureLaw::bekker:
    case soil::PressureLaw::reece: return problem.contrast ? 2 : 1;
    case soil::PressureLaw::single_plate:
    case soil::PressureLaw::muskeg: return 1;
  }
  return 1;
}

// s = (n, d): the exponent first, so that a problem without contrast simply has one parameter less.
Shape shape_at(const JointProblem& q, const std::array<double, 2>& s, double b, double z) {
  Shape out;
  if (q.law == soil::PressureLaw::muskeg) {
    // p / kp = z + 4 (mm/kp) z^2 / Dh, Dh = 2 b.
    const double stretch = 2 * z * z / b;
    const double sum = z + s[0] * stretch;
    out.f = std::log(sum);
    out.d[0] = stretch / sum;
    out.by_z = (1 + 4 * s[0] * z / b) / sum;
    return out;
  }
  const double ln_z = std::log(z / q.z0);
  out.f = s[0] * ln_z;
  out.d[0] = ln_z;
  out.by_z = s[0] / z;
  if (shape_count(q) < 2) return out;
  if (q.law == soil::PressureLaw::bekker) {
    // kc/b + kphi is linear in 1/b.
    const double t = (1 / q.b1 - 1 / b) / (1 / q.b1 - 1 / q.b2);
    const double e = std::exp(s[1]), at = 1 + (e - 1) * t;
    out.f += std::log(at);
    out.d[1] = e * t / at;
  } else {
    // (c k1 + gamma k2 b) b^-n: the bracket is linear in b.
    const double u = (b - q.b1) / (q.b2 - q.b1), lift = std::log(q.b2 / q.b1);
    const double e = std::exp(s[1] + s[0] * lift), at = 1 + (e - 1) * u;
    out.f += std::log(at) - s[0] * std::log(b / q.b1);
    out.d[0] += e * lift * u / at - std::log(b / q.b1);
    out.d[1] = e * u / at;
  }
  return out;
}

struct State {
  std::array<double, 2> s{};
  std::vector<double> level;   // by group
  std::vector<double> offset;  // by push
};

struct PushTerms {  // normal equations of one push: shape (2), level, after the offset is eliminated
  std::array<std::array<double, 3>, 3> a{};
  std::array<double, 3> b{};
  std::array<double, 3> c{};  // coupling with the offset
  double d = 0, rhs = 0;      // of the offset
};

class Solver {
 public:
  Solver(std::span<const Push> pushes, const std::vector<char>& use, const JointProblem& problem)
      : pushes_(pushes), use_(use), problem_(problem), groups_(use.size()) {
    share_.assign(pushes.size(), 0);
    std::vector<double> sizes;
    for (std::size_t k = 0; k < pushes.size(); ++k) {
      if (!used(k)) continue;
      double total = 0;
      for (const Reading& r : pushes[k].readings) total += r.robust;
      if (!(total > 0)) continue;
      std::size_t same = 0;  // repeats of one width at one point share one weight
      for (std::size_t m = 0; m < pushes.size(); ++m) {
        if (pushes[m].point == pushes[k].point && pushes[m].b == pushes[k].b) ++same;
      }
      share_[k] = 1 / (total * static_cast<double>(same));
      sizes.push_back(total);
    }
    // A push counts as many readings as a typical one has, whether it was written by hand or by a logger.
    const double typical = sizes.empty() ? 1 : std::min(20.0, math::median(sizes));
    for (double& share : share_) share *= typical;
  }

  [[nodiscard]] bool used(std::size_t k) const { return use_[pushes_[k].point] != 0; }
  [[nodiscard]] std::size_t group(std::size_t k) const { return pushes_[k].point; }

  State start() const {
    State state;
    state.level.assign(groups_, std::numeric_limits<double>::quiet_NaN());
    state.offset.assign(pushes_.size(), 0);
    std::vector<double> slopes, first, second;
    for (std::size_t k = 0; k < pushes_.size(); ++k) {
      if (!used(k) || share_[k] == 0) continue;
      slopes.push_back(pushes_[k].own_n);
      if (pushes_[k].b == problem_.b1) first.push_back(pushes_[k].own_ln_p);
      if (pushes_[k].b == problem_.b2) second.push_back(pushes_[k].own_ln_p);
    }
    if (slopes.empty()) return state;
    const double n = std::clamp(math::median(slopes), 0.05, 2.5);
    if (problem_.law == soil::PressureLaw::muskeg) {
      state.s[0] = n > 1 ? (n - 1) * problem_.b1 / (2 * problem_.z0 * std::max(0.05, 2 - n)) : 0;
    } else {
      state.s[0] = n;
      if (shape_count(problem_) == 2 && !first.empty() && !second.empty()) {
        state.s[1] = math::median(second) - math::median(first);
      }
    }
    for (std::size_t g = 0; g < groups_; ++g) {
      std::vector<double> levels;
      for (std::size_t k = 0; k < pushes_.size(); ++k) {
        if (!used(k) || share_[k] == 0 || group(k) != g) continue;
        levels.push_back(pushes_[k].own_ln_p - shape_at(problem_, state.s, pushes_[k].b, problem_.z0).f);
      }
      if (!levels.empty()) state.level[g] = math::median(levels);
    }
    return state;
  }

  // Weights 1 / variance from the fitted pressure of `at`.
  void set_weights(const State& at) {
    weight_.resize(pushes_.size());
    for (std::size_t k = 0; k < pushes_.size(); ++k) {
      const Push& push = pushes_[k];
      weight_[k].assign(push.readings.size(), 0);
      if (!used(k) || share_[k] == 0) continue;
      for (std::size_t i = 0; i < push.readings.size(); ++i) {
        const double m = fitted(at, k, push.readings[i].z);
        const double sd = std::hypot(problem_.relative_error * m, push.noise_pa);
        weight_[k][i] = push.readings[i].robust * share_[k] / (sd * sd);
      }
    }
  }

  [[nodiscard]] double fitted(const State& at, std::size_t k, double z) const {
    return std::exp(at.level[group(k)] + shape_at(problem_, at.s, pushes_[k].b, z - at.offset[k]).f);
  }

  [[nodiscard]] double merit(const State& at) const {
    double sum = 0;
    for (std::size_t k = 0; k < pushes_.size(); ++k) {
      if (!used(k) || share_[k] == 0) continue;
      for (std::size_t i = 0; i < pushes_[k].readings.size(); ++i) {
        const Reading& r = pushes_[k].readings[i];
        if (!(r.z - at.offset[k] > 0)) return std::numeric_limits<double>::infinity();
        const double e = r.p - fitted(at, k, r.z);
        sum += weight_[k][i] * e * e;
      }
      if (pushes_[k].fit_offset) sum += at.offset[k] * at.offset[k] / square(problem_.offset_sd_m);
    }
    return std::isfinite(sum) ? sum : std::numeric_limits<double>::infinity();
  }

  // One Gauss-Newton step from `at`; absent when the shape is not determined.
  [[nodiscard]] std::optional<State> step(const State& at, const std::array<bool, 2>& held) const {
    std::vector<PushTerms> terms(pushes_.size());
    std::vector<std::array<std::array<double, 3>, 3>> a(groups_);
    std::vector<std::array<double, 3>> b(groups_);
    for (std::size_t k = 0; k < pushes_.size(); ++k) {
      if (!used(k) || share_[k] == 0) continue;
      terms[k] = push_terms(at, k, held);
      for (std::size_t i = 0; i < 3; ++i) {
        b[group(k)][i] += terms[k].b[i];
        for (std::size_t j = 0; j < 3; ++j) a[group(k)][i][j] += terms[k].a[i][j];
      }
    }
    // Levels out, shape left.
    std::array<std::array<double, 2>, 2> m{};
    std::array<double, 2> r{};
    for (std::size_t g = 0; g < groups_; ++g) {
      if (!(a[g][2][2] > 0)) continue;
      for (std::size_t i = 0; i < 2; ++i) {
        r[i] += b[g][i] - a[g][i][2] * b[g][2] / a[g][2][2];
        for (std::size_t j = 0; j < 2; ++j) m[i][j] += a[g][i][j] - a[g][i][2] * a[g][2][j] / a[g][2][2];
      }
    }
    std::array<double, 2> ds{};
    if (shape_count(problem_) == 1 || held[1]) {
      if (!held[0]) {
        if (!(m[0][0] > 0)) return std::nullopt;
        ds[0] = r[0] / m[0][0];
      }
    } else {
      const double det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
      if (!(det > 1e-12 * m[0][0] * m[1][1])) return std::nullopt;
      ds[0] = (r[0] * m[1][1] - m[0][1] * r[1]) / det;
      ds[1] = (m[0][0] * r[1] - m[1][0] * r[0]) / det;
    }
    State out = at;
    for (std::size_t i = 0; i < 2; ++i) out.s[i] += ds[i];
    for (std::size_t g = 0; g < groups_; ++g) {
      if (!(a[g][2][2] > 0)) continue;
      out.level[g] += (b[g][2] - a[g][2][0] * ds[0] - a[g][2][1] * ds[1]) / a[g][2][2];
    }
    for (std::size_t k = 0; k < pushes_.size(); ++k) {
      if (!(terms[k].d > 0) || !pushes_[k].fit_offset) continue;
      const double dl = out.level[group(k)] - at.level[group(k)];
      out.offset[k] += (terms[k].rhs - terms[k].c[0] * ds[0] - terms[k].c[1] * ds[1] - terms[k].c[2] * dl) / terms[k].d;
    }
    return out;
  }

 private:
  static double square(double x) { return x * x; }

  PushTerms push_terms(const State& at, std::size_t k, const std::array<bool, 2>& held) const {
    PushTerms t;
    const Push& push = pushes_[k];
    for (std::size_t i = 0; i < push.readings.size(); ++i) {
      const Reading& reading = push.readings[i];
      const Shape shape = shape_at(problem_, at.s, push.b, reading.z - at.offset[k]);
      const double m = std::exp(at.level[group(k)] + shape.f);
      const double w = weight_[k][i], e = reading.p - m;
      const std::array<double, 3> j{held[0] ? 0 : m * shape.d[0], held[1] ? 0 : m * shape.d[1], m};
      for (std::size_t u = 0; u < 3; ++u) {
        t.b[u] += w * j[u] * e;
        for (std::size_t v = 0; v < 3; ++v) t.a[u][v] += w * j[u] * j[v];
      }
      if (push.fit_offset) {
        const double jz = -m * shape.by_z;
        t.d += w * jz * jz;
        t.rhs += w * jz * e;
        for (std::size_t u = 0; u < 3; ++u) t.c[u] += w * j[u] * jz;
      }
    }
    if (push.fit_offset) {
      t.d += 1 / square(problem_.offset_sd_m);
      t.rhs -= at.offset[k] / square(problem_.offset_sd_m);
      for (std::size_t u = 0; u < 3; ++u) {
        t.b[u] -= t.c[u] * t.rhs / t.d;
        for (std::size_t v = 0; v < 3; ++v) t.a[u][v] -= t.c[u] * t.c[v] / t.d;
      }
    }
    return t;
  }

  std::span<const Push> pushes_;
  const std::vector<char>& use_;
  const JointProblem& problem_;
  std::size_t groups_;
  std::vector<double> share_;
  std::vector<std::vector<double>> weight_;
};

double largest_change(const State& a, const State& b) {
  double out = std::max(std::abs(a.s[0] - b.s[0]), std::abs(a.s[1] - b.s[1]));
  for (std::size_t g = 0; g < a.level.size(); ++g) {
    if (std::isfinite(a.level[g])) out = std::max(out, std::abs(a.level[g] - b.level[g]));
  }
  return out;
}

}  // namespace

std::vector<Reading> condense(const PlateCurve& curve, std::size_t most) {
  const double undrifted = std::exp(-curve.drift_ln_p);
  std::vector<Reading> rows;
  for (std::size_t i = 0; i < curve.mark.size(); ++i) {
    if (curve.mark[i] == Mark::kept && curve.depth_m[i] > 0 && curve.pressure_pa[i] > 0) {
      rows.push_back({curve.depth_m[i], curve.pressure_pa[i] * undrifted, 1});
    }
  }
  if (rows.size() <= most) return rows;
  const auto [least, deepest] =
      std::minmax_element(rows.begin(), rows.end(), [](const Reading& a, const Reading& b) { return a.z < b.z; });
  const double ln_from = std::log(least->z), ln_to = std::log(deepest->z);
  struct Sum {
    double z = 0, p = 0;
    std::size_t n = 0;
  };
  std::vector<Sum> bins(most);
  for (const Reading& r : rows) {
    const double share = (std::log(r.z) - ln_from) / (ln_to - ln_from);
    Sum& bin = bins[std::min(most - 1, static_cast<std::size_t>(share * static_cast<double>(most)))];
    bin.z += r.z;
    bin.p += r.p;
    ++bin.n;
  }
  std::vector<Reading> out;
  for (const Sum& bin : bins) {
    if (bin.n > 0) out.push_back({bin.z / static_cast<double>(bin.n), bin.p / static_cast<double>(bin.n), 1});
  }
  return out;
}

void weigh_readings(Push& push, double reference_depth_m, double relative_error, double offset_sd_m) {
  const std::size_t count = push.readings.size();
  std::vector<double> x, y, w(count, 1.0);
  for (const Reading& r : push.readings) {
    x.push_back(std::log(r.z / reference_depth_m));
    y.push_back(std::log(r.p));
  }
  // ln p = a + n ln z + beta / z, beta = -n dz with its prior as one more row: without it a shallow
  // reading moved by the contact offset would be taken for a stone.
  const bool offset = push.fit_offset && offset_sd_m > 0 && count >= 5;
  double scale = relative_error;
  push.own_scale = scale;
  for (int round = 0; round < 20; ++round) {
    std::vector<double> residual(count);
    if (offset) {
      std::vector<double> design, values = y, weights;
      for (std::size_t i = 0; i < count; ++i) {
        design.insert(design.end(), {1.0, x[i], reference_depth_m / push.readings[i].z});
        weights.push_back(w[i] / (scale * scale));
      }
      const double prior = std::max(std::abs(push.own_n), 0.3) * offset_sd_m / reference_depth_m;
      design.insert(design.end(), {0.0, 0.0, 1.0});
      values.push_back(0);
      weights.push_back(1 / (prior * prior));
      const math::LinearFit line = math::linear_regression(design, 3, values, weights);
      if (line.coefficients.size() != 3) break;
      push.own_ln_p = line.coefficients[0];
      push.own_n = line.coefficients[1];
      push.own_bend = line.coefficients[2] * reference_depth_m;
      residual.assign(line.residuals.begin(), line.residuals.begin() + static_cast<std::ptrdiff_t>(count));
    } else {
      const math::LineFit line = math::fit_line(x, y, w);
      if (!std::isfinite(line.slope)) break;
      push.own_ln_p = line.intercept;
      push.own_n = line.slope;
      for (std::size_t i = 0; i < count; ++i) residual[i] = y[i] - line.intercept - line.slope * x[i];
    }
    if (count < 5) break;  // too few to call one of them odd
    scale = std::max(math::robust_scale(residual), relative_error);
    push.own_scale = scale;
    double change = 0;
    for (std::size_t i = 0; i < count; ++i) {
      const double now = bisquare(residual[i], scale);
      change = std::max(change, std::abs(now - w[i]));
      w[i] = now;
    }
    if (change < 1e-6) break;
  }
  for (std::size_t i = 0; i < count; ++i) push.readings[i].robust = w[i];
}

double own_curve(const Push& push, double reference_depth_m, double z) {
  return push.own_ln_p + push.own_n * std::log(z / reference_depth_m) + push.own_bend / z;
}

JointFit solve_joint(std::span<const Push> pushes, const std::vector<char>& use, const JointProblem& problem) {
  JointFit out;
  Solver solver(pushes, use, problem);
  State state = solver.start();
  const bool mat = problem.law == soil::PressureLaw::muskeg;
  std::array<bool, 2> held{};
  constexpr int kMaxSteps = 60;             // 5 to 9 were seen on demo and Cullinan records
  constexpr double kStepTolerance = 1e-10;  // of ln p and of the shape
  out.report.tolerance = kStepTolerance;
  out.report.residual_unit = "largest step in ln p, n, contrast";
  out.report.status = base::SolveStatus::out_of_steps;
  for (int i = 0; i < kMaxSteps; ++i) {
    out.report.steps = i + 1;
    solver.set_weights(state);
    const std::optional<State> full = solver.step(state, held);
    if (!full) {
      out.report.status = base::SolveStatus::no_solution;
      return out;
    }
    const double before = solver.merit(state);
    State next = *full;
    double share = 1;
    for (int halving = 0; halving < 30; ++halving, ++out.report.evaluations) {
      if (mat && next.s[0] < 0) next.s[0] = 0;  // mm >= 0; reported as a bound below
      if (solver.merit(next) <= before * (1 + 1e-12)) break;
      share /= 2;
      for (std::size_t j = 0; j < 2; ++j) next.s[j] = state.s[j] + share * (full->s[j] - state.s[j]);
      for (std::size_t g = 0; g < state.level.size(); ++g) {
        next.level[g] = state.level[g] + share * (full->level[g] - state.level[g]);
      }
      for (std::size_t k = 0; k < state.offset.size(); ++k) {
        next.offset[k] = state.offset[k] + share * (full->offset[k] - state.offset[k]);
      }
    }
    const double change = largest_change(state, next);
    state = next;
    out.report.residual = change;
    if (!std::isfinite(change)) {
      out.report.status = base::SolveStatus::not_finite;
      return out;
    }
    if (change <= kStepTolerance) {
      out.report.status = base::SolveStatus::converged;
      break;
    }
    if (mat && state.s[0] == 0 && full->s[0] < 0) held[0] = true;
  }
  if (!out.report.converged()) return out;
  out.shape_at_bound = held[0];
  out.shape = state.s;
  out.offset_m = state.offset;
  out.level.assign(use.size(), std::numeric_limits<double>::quiet_NaN());
  double sum = 0, squares = 0, weights = 0;
  std::size_t points = 0;
  for (std::size_t g = 0; g < use.size(); ++g) {
    const double level = state.level[g];
    if (!use[g] || !std::isfinite(level)) continue;
    out.level[g] = level;
    sum += level;
    ++points;
  }
  if (points == 0) return out;
  const double level = sum / static_cast<double>(points);
  for (std::size_t k = 0; k < pushes.size(); ++k) {
    if (!solver.used(k)) continue;
    for (const Reading& r : pushes[k].readings) {
      const double e = std::log(r.p / solver.fitted(state, k, r.z));
      squares += r.robust * e * e;
      weights += r.robust;
    }
  }
  out.rms_ln_p = std::sqrt(squares / weights);
  out.ln_p_first = level + shape_at(problem, state.s, problem.b1, problem.z0).f;
  out.ln_p_second = level + shape_at(problem, state.s, problem.b2, problem.z0).f;
  out.n = mat ? problem.z0 * shape_at(problem, state.s, problem.b1, problem.z0).by_z : state.s[0];
  out.ok = std::isfinite(out.ln_p_first) && std::isfinite(out.n);
  return out;
}

double ln_shape(const JointProblem& problem, const std::array<double, 2>& shape, double b, double z) {
  return shape_at(problem, shape, b, z).f;
}

}  // namespace hardpan::records::detail
