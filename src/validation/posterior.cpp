// SPDX-License-Identifier: Apache-2.0
// Normal prior, normal errors with run effects: y = h(theta) + level_r + tilt_r l + e [Laird1982]; most probable
// theta by least squares on whitened residuals; gain and covariance from h made linear there.
// Draws are carried over by conditioning [Chiles2012, chapter 7]. Notation: P prior covariance, J Jacobian, C
// covariance of the readings about the model, block by run; A = P^-1 + J' C^-1 J, gain = A^-1 J' C^-1.
#include "validation/posterior.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "fitting/fit.hpp"
#include "math/distributions.hpp"
#include "math/matrix.hpp"
#include "math/statistics.hpp"

namespace hardpan::validation {
namespace {

// Readings of one quantity in one run.
struct Block {
  std::size_t quantity = 0;
  std::vector<std::size_t> members;
  bool tilted = false;              // enough readings over enough lever to tell a tilt from a level
  std::vector<double> root;         // lower Cholesky factor of the block of C
};

constexpr double kLeverForTilt = 0.5;      // a quarter of the slips that teach
constexpr double kGroundCountsAtMost = 5;  // runs; a stated choice: the ground's own scatter is a guess for runs
constexpr int kRounds = 5;
constexpr double kSettled = 0.05;
constexpr std::uint64_t kNoiseSlots = 1u << 20;  // random numbers kept apart for one draw

std::vector<Block> blocks_of(const std::vector<Observation>& readings) {
  std::map<std::pair<std::size_t, std::string>, Block> by;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    Block& b = by[{readings[i].quantity, readings[i].run}];
    b.quantity = readings[i].quantity;
    b.members.push_back(i);
  }
  std::vector<Block> out;
  for (auto& [key, b] : by) {
    double lo = 2, hi = -2;
    for (const std::size_t i : b.members) {
      lo = std::min(lo, readings[i].lever);
      hi = std::max(hi, readings[i].lever);
    }
    b.tilted = b.members.size() >= 3 && hi - lo > kLeverForTilt;
    out.push_back(std::move(b));
  }
  return out;
}

// Least-squares weights that read level (at lever 0) and tilt from the values of a block, [2][members].
std::vector<std::vector<double>> level_and_tilt(const Block& b, const std::vector<Observation>& readings) {
  const std::size_t n = b.members.size();
  const double count = static_cast<double>(n);
  if (!b.tilted) return {std::vector<double>(n, 1 / count)};
  double mean = 0, square = 0;
  for (const std::size_t i : b.members) mean += readings[i].lever / count;
  for (const std::size_t i : b.members) square += (readings[i].lever - mean) * (readings[i].lever - mean);
  std::vector<std::vector<double>> w(2, std::vector<double>(n));
  for (std::size_t m = 0; m < n; ++m) {
    w[1][m] = (readings[b.members[m]].lever - mean) / square;
    w[0][m] = 1 / count - mean * w[1][m];
  }
  return w;
}

double combined(const std::vector<double>& weights, const Block& b, std::span<const double> values) {
  double sum = 0;
  for (std::size_t m = 0; m < weights.size(); ++m) sum += weights[m] * values[b.members[m]];
  return sum;
}

// Variance of a weighted sum under the ground's own scatter, w' J B J' w.
double under_ground(const std::vector<double>& weights, const Block& b, const Linearised& at, const Prior& prior) {
  const std::size_t p = prior.parameters.size();
  if (prior.between.empty()) return 0;
  std::vector<double> slope(p);
  for (std::size_t m = 0; m < weights.size(); ++m) {
    for (std::size_t k = 0; k < p; ++k) slope[k] += weights[m] * at.jacobian[b.members[m] * p + k];
  }
  double sum = 0;
  for (std::size_t j = 0; j < p; ++j) {
    for (std::size_t k = 0; k < p; ++k) sum += slope[j] * prior.between[j * p + k] * slope[k];
  }
  return sum;
}

struct Pooled {
  double variance = 0, dof = 0;
};
// Scatter between runs from the runs themselves and from the ground, weighted by degrees of freedom; never below
// what the runs show.
Pooled pool(std::span<const double> values, double error_variance, double ground_variance, double ground_dof) {
  const double m = static_cast<double>(values.size());
  const double shown = m >= 2 ? std::max(0.0, math::variance(values) - error_variance) : 0;
  const double dof = ground_dof + std::max(0.0, m - 1);
  if (!(dof > 0)) return {};
  return {std::max(shown, (ground_dof * ground_variance + std::max(0.0, m - 1) * shown) / dof), dof};
}

RunScatter scatter_of(std::size_t quantity, const std::vector<Block>& blocks, const std::vector<Observation>& readings,
                      std::span<const double> residuals, const Linearised& at_centre, const Prior& prior) {
  RunScatter out;
  double squares = 0, errors = 0, dof = 0;
  for (const Block& b : blocks) {
    if (b.quantity != quantity) continue;
    ++out.runs;
    out.readings += b.members.size();
    const auto w = level_and_tilt(b, readings);
    const double level = combined(w[0], b, residuals), tilt = b.tilted ? combined(w[1], b, residuals) : 0;
    for (const std::size_t i : b.members) {
      const double e = residuals[i] - level - tilt * readings[i].lever;
      squares += e * e;
      errors += readings[i].standard_error * readings[i].standard_error;
    }
    dof += static_cast<double>(b.members.size() - w.size());
  }
  if (dof >= 2) out.window_sd = std::sqrt(std::max(0.0, squares / dof - errors / static_cast<double>(out.readings)));

  std::vector<double> levels, tilts, level_errors;
  double level_error = 0, tilt_error = 0, level_ground = 0, tilt_ground = 0;
  for (const Block& b : blocks) {
    if (b.quantity != quantity) continue;
    const auto w = level_and_tilt(b, readings);
    const auto own_error = [&](const std::vector<double>& weights) {
      double sum = 0;
      for (std::size_t m = 0; m < weights.size(); ++m) {
        const double se = readings[b.members[m]].standard_error;
        sum += weights[m] * weights[m] * (se * se + out.window_sd * out.window_sd);
      }
      return sum;
    };
    levels.push_back(combined(w[0], b, residuals));
    level_errors.push_back(own_error(w[0]));
    level_error += level_errors.back();
    level_ground += under_ground(w[0], b, at_centre, prior);
    if (!b.tilted) continue;
    tilts.push_back(combined(w[1], b, residuals));
    tilt_error += own_error(w[1]);
    tilt_ground += under_ground(w[1], b, at_centre, prior);
  }
  const double ground_dof = std::min(prior.between_dof, kGroundCountsAtMost);
  const auto mean_of = [](double sum, std::size_t n) { return n > 0 ? sum / static_cast<double>(n) : 0; };
  const Pooled level = pool(levels, mean_of(level_error, levels.size()), mean_of(level_ground, levels.size()), ground_dof);
  const Pooled tilt = pool(tilts, mean_of(tilt_error, tilts.size()), mean_of(tilt_ground, tilts.size()), ground_dof);
  out.level_sd = std::sqrt(level.variance);
  out.tilt_sd = std::sqrt(tilt.variance);
  out.level_from_ground_sd = std::sqrt(mean_of(level_ground, levels.size()));
  out.dof = level.dof;
  double weight = 0, square = 0;
  for (const double e : level_errors) {
    const double w = 1 / (level.variance + e);
    weight += w;
    square += w * w;
  }
  out.effective_runs = weight * weight / square;
  return out;
}

// Cholesky factors of the blocks of C. False where one is not positive definite.
bool factor(std::vector<Block>& blocks, const std::vector<Observation>& readings, const std::vector<RunScatter>& scatter) {
  for (Block& b : blocks) {
    const std::size_t n = b.members.size();
    const RunScatter& s = scatter[b.quantity];
    std::vector<double> c(n * n);
    for (std::size_t i = 0; i < n; ++i) {
      const Observation& a = readings[b.members[i]];
      for (std::size_t j = 0; j < n; ++j) {
        const Observation& o = readings[b.members[j]];
        c[i * n + j] = s.level_sd * s.level_sd + s.tilt_sd * s.tilt_sd * a.lever * o.lever;
      }
      c[i * n + i] += a.standard_error * a.standard_error + s.window_sd * s.window_sd;
    }
    auto root = math::cholesky(c, n);
    if (!root) return false;
    b.root = std::move(*root);
  }
  return true;
}

// x := L^-1 x for every block of a vector over the readings.
template <class T>
void whiten(const std::vector<Block>& blocks, std::span<const T> in, std::span<T> out) {
  for (const Block& b : blocks) {
    const std::size_t n = b.members.size();
    for (std::size_t i = 0; i < n; ++i) {
      T sum = in[b.members[i]];
      for (std::size_t j = 0; j < i; ++j) sum -= b.root[i * n + j] * out[b.members[j]];
      out[b.members[i]] = sum / b.root[i * n + i];
    }
  }
}

// The transposed solve, x := L'^-1 x.
void whiten_back(const std::vector<Block>& blocks, std::span<double> x) {
  for (const Block& b : blocks) {
    const std::size_t n = b.members.size();
    for (std::size_t i = n; i-- > 0;) {
      double sum = x[b.members[i]];
      for (std::size_t j = i + 1; j < n; ++j) sum -= b.root[j * n + i] * x[b.members[j]];
      x[b.members[i]] = sum / b.root[i * n + i];
    }
  }
}

// The model asked once a point, however many passes of derivatives the fit makes there.
class Asked {
 public:
  Asked(const Model& model, std::size_t parameters) : model_(model), at_(parameters, std::nan("")) {}
  const Linearised& operator()(std::span<const double> parameters, bool with_jacobian) {
    const bool same = std::equal(parameters.begin(), parameters.end(), at_.begin());
    if (!same || (with_jacobian && last_.jacobian.empty())) {
      last_ = model_(parameters, with_jacobian);
      at_.assign(parameters.begin(), parameters.end());
    }
    return last_;
  }

 private:
  const Model& model_;
  std::vector<double> at_;
  Linearised last_;
};

// Residuals over u = (theta - centre) / sd: readings whitened, then the prior whitened.
fitting::FitProblem problem_of(const Prior& prior, const std::vector<double>& prior_root, const std::vector<double>& sd,
                               const std::vector<double>& start, const std::vector<Block>& blocks,
                               const std::vector<Observation>& readings, Asked& asked) {
  const std::size_t p = prior.parameters.size(), n = readings.size();
  fitting::FitProblem out;
  for (std::size_t k = 0; k < p; ++k) {
    const PriorParameter& q = prior.parameters[k];
    out.parameters.push_back({.name = q.name, .start = (start[k] - q.centre) / sd[k], .lower = (q.lower - q.centre) / sd[k],
                              .upper = (q.upper - q.centre) / sd[k]});
  }
  out.unit_variance = true;
  out.residuals = fitting::Residuals::all(n + p, [&, p, n]<class T>(std::span<const T> u, std::span<T> r) {
    std::vector<double> theta(p);
    for (std::size_t k = 0; k < p; ++k) theta[k] = prior.parameters[k].centre + sd[k] * math::value(u[k]);
    const bool with_jacobian = !std::is_same_v<T, double>;
    const Linearised& h = asked(theta, with_jacobian);
    std::vector<T> e(n);
    for (std::size_t i = 0; i < n; ++i) {
      e[i] = T(readings[i].value - h.values[i]);
      if (!with_jacobian) continue;
      for (std::size_t k = 0; k < p; ++k) e[i] -= h.jacobian[i * p + k] * sd[k] * (u[k] - T(math::value(u[k])));
    }
    whiten<T>(blocks, e, r.first(n));
    for (std::size_t i = 0; i < p; ++i) {
      T sum = u[i] * T(sd[i]);
      for (std::size_t j = 0; j < i; ++j) sum -= prior_root[i * p + j] * r[n + j];
      r[n + i] = sum / prior_root[i * p + i];
    }
  });
  return out;
}

bool finite(std::span<const double> v) {
  return std::all_of(v.begin(), v.end(), [](double x) { return std::isfinite(x); });
}

// Against all the scatter there is: a part near 0 may flicker without moving anything.
bool settled(const std::vector<RunScatter>& a, const std::vector<RunScatter>& b) {
  for (std::size_t q = 0; q < a.size(); ++q) {
    const double all = std::hypot(a[q].level_sd, a[q].tilt_sd, a[q].window_sd);
    const double moved = std::hypot(a[q].level_sd - b[q].level_sd, a[q].tilt_sd - b[q].tilt_sd, a[q].window_sd - b[q].window_sd);
    if (moved > kSettled * all) return false;
  }
  return true;
}

// Covariance and gain at the mode.
bool linear_part(Posterior& out, const std::vector<double>& prior_inverse, const std::vector<Block>& blocks,
                 std::size_t p, std::size_t n) {
  std::vector<double> white(p * n);  // rows: C^-1/2 J e_k
  std::vector<double> column(n);
  for (std::size_t k = 0; k < p; ++k) {
    for (std::size_t i = 0; i < n; ++i) column[i] = out.at_mode.jacobian[i * p + k];
    whiten<double>(blocks, column, std::span(white).subspan(k * n, n));
  }
  std::vector<double> a = prior_inverse;
  for (std::size_t j = 0; j < p; ++j) {
    for (std::size_t k = 0; k < p; ++k) {
      for (std::size_t i = 0; i < n; ++i) a[j * p + k] += white[j * n + i] * white[k * n + i];
    }
  }
  const auto covariance = math::invert_symmetric(a, p);
  if (!covariance) return false;
  out.covariance = *covariance;
  for (std::size_t k = 0; k < p; ++k) whiten_back(blocks, std::span(white).subspan(k * n, n));  // C^-1 J
  out.gain.assign(p * n, 0);
  for (std::size_t j = 0; j < p; ++j) {
    for (std::size_t k = 0; k < p; ++k) {
      for (std::size_t i = 0; i < n; ++i) out.gain[j * n + i] += out.covariance[j * p + k] * white[k * n + i];
    }
  }
  out.directions_taught = 0;
  for (std::size_t j = 0; j < p; ++j) {
    for (std::size_t i = 0; i < n; ++i) out.directions_taught += out.gain[j * n + i] * out.at_mode.jacobian[i * p + j];
  }
  return true;
}

}  // namespace

Posterior posterior(const Prior& prior, const std::vector<Observation>& readings, const Model& model) {
  const std::size_t p = prior.parameters.size(), n = readings.size();
  Posterior out;
  for (const PriorParameter& q : prior.parameters) out.mode.push_back(q.centre);
  out.covariance = prior.covariance;
  const auto without = [&](std::string reason) {
    out.reason_without = std::move(reason);
    return out;
  };
  const auto root = math::cholesky(prior.covariance, p);
  const auto inverse = root ? math::invert_symmetric(prior.covariance, p) : std::nullopt;
  if (!inverse) return without("the covariance of the prior is singular");
  if (n == 0) {  // nothing taught: the prior as it is
    out.report = {.status = base::SolveStatus::converged, .residual = 0, .tolerance = 0, .residual_unit = "standard errors"};
    out.scatter_settled = true;
    return out;
  }
  const std::vector<double> sd = math::standard_deviations(prior.covariance, p);
  std::vector<Block> blocks = blocks_of(readings);
  std::size_t quantities = 0;
  for (const Block& b : blocks) quantities = std::max(quantities, b.quantity + 1);

  Asked asked(model, p);
  const Linearised at_centre = asked(out.mode, true);
  if (!finite(at_centre.values) || !finite(at_centre.jacobian)) return without("the model has no answer on the centre of the prior");
  Linearised at = at_centre;
  const auto find_scatter = [&] {
    std::vector<double> residuals(n);
    for (std::size_t i = 0; i < n; ++i) residuals[i] = readings[i].value - at.values[i];
    std::vector<RunScatter> found;
    for (std::size_t q = 0; q < quantities; ++q) found.push_back(scatter_of(q, blocks, readings, residuals, at_centre, prior));
    return found;
  };
  out.scatter = find_scatter();
  for (const RunScatter& s : out.scatter) {
    if (s.runs == 1 && !(s.dof > 0)) return without("one run, and nothing is known of how far runs lie apart");
  }
  // A thousandth of a standard error: derivatives by differences reach no further.
  const fitting::FitSettings settings{.relative_offset_tolerance = 1e-3, .max_steps = 60};
  for (out.rounds = 1;; ++out.rounds) {
    if (!factor(blocks, readings, out.scatter)) return without("the covariance of the readings is singular");
    const fitting::FitResult fit = fitting::fit(problem_of(prior, *root, sd, out.mode, blocks, readings, asked), settings);
    out.report = fit.report;
    out.report.residual_unit = "standard errors";
    if (!fit.converged()) return without(std::string("the fit did not converge: ") + base::name(fit.report.status));
    for (std::size_t k = 0; k < p; ++k) out.mode[k] = prior.parameters[k].centre + sd[k] * fit.parameters[k].value;
    out.at_bound.clear();
    for (std::size_t k = 0; k < p; ++k) {
      const fitting::ParameterState state = fit.parameters[k].state;
      if (state == fitting::ParameterState::at_lower_bound || state == fitting::ParameterState::at_upper_bound) out.at_bound.push_back(k);
    }
    out.distance_squared = 0;
    for (std::size_t k = n; k < n + p; ++k) out.distance_squared += fit.residuals[k] * fit.residuals[k];
    at = asked(out.mode, true);
    const std::vector<RunScatter> next = find_scatter();
    out.scatter_settled = settled(out.scatter, next);
    if (out.scatter_settled || out.rounds == kRounds) break;
    out.scatter = next;
  }
  out.at_mode = at;
  if (!finite(at.jacobian)) return without("the model has no derivatives at its answer");
  if (!linear_part(out, *inverse, blocks, p, n)) return without("the posterior is singular");
  if (out.directions_taught > 0) out.disagreement = 1 - math::chi_square_cdf(out.distance_squared, out.directions_taught);
  return out;
}

std::vector<double> carried_over(const Posterior& posterior, const std::vector<Observation>& readings,
                                 std::span<const double> prior_draw, const math::Stream& noise, std::uint64_t draw) {
  std::vector<double> out(prior_draw.begin(), prior_draw.end());
  const std::size_t p = out.size(), n = readings.size();
  if (n == 0) return out;
  std::uint64_t at = draw * kNoiseSlots;
  // One factor a draw and quantity for a scatter between runs that was itself found from few.
  std::vector<double> spread;
  for (const RunScatter& s : posterior.scatter) spread.push_back(s.dof > 0 ? std::sqrt(s.dof / noise.chi_square(at++, s.dof)) : 1);
  std::map<std::pair<std::size_t, std::string>, std::pair<double, double>> effects;
  for (std::size_t i = 0; i < n; ++i) {
    const Observation& o = readings[i];
    const RunScatter& s = posterior.scatter[o.quantity];
    auto it = effects.find({o.quantity, o.run});
    if (it == effects.end()) {
      const double level = spread[o.quantity] * s.level_sd * noise.normal(at), tilt = spread[o.quantity] * s.tilt_sd * noise.normal(at + 1);
      at += 2;
      it = effects.emplace(std::pair(o.quantity, o.run), std::pair(level, tilt)).first;
    }
    double model = posterior.at_mode.values[i];
    for (std::size_t k = 0; k < p; ++k) model += posterior.at_mode.jacobian[i * p + k] * (prior_draw[k] - posterior.mode[k]);
    const double drawn = o.value + it->second.first + it->second.second * o.lever +
                         std::hypot(o.standard_error, s.window_sd) * noise.normal(at++);
    for (std::size_t k = 0; k < p; ++k) out[k] += posterior.gain[k * n + i] * (drawn - model);
  }
  return out;
}

}  // namespace hardpan::validation
