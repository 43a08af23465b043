// SPDX-License-Identifier: Apache-2.0
#include "fitting/detail/descent.hpp"

#include <algorithm>
#include <cmath>
#include <exception>

#include "fitting/detail/plugin.hpp"

namespace hardpan::fitting::detail {
namespace {

using base::SolveStatus;

constexpr int kMaxRefinements = 20;  // Gauss-Newton steps after the solver; 0 to 3 seen on smooth problems

// Carries one call of the plug-in; an exception of the model is kept and thrown again outside.
struct Bridge {
  Evaluator& evaluator;
  const std::vector<std::size_t>& free;
  const Values& scale;  // of the free parameters
  Values x;             // full point
  Values r, jacobian;
  std::exception_ptr error;

  static bool evaluate(void* context, const double* y, double* residuals, double* derivatives) {
    auto& self = *static_cast<Bridge*>(context);
    if (self.error) return false;
    try {
      const std::size_t q = self.free.size();
      for (std::size_t c = 0; c < q; ++c) self.x[self.free[c]] = y[c] * self.scale[c];
      const bool ok = derivatives == nullptr ? self.evaluator.residuals(self.x, self.r)
                                             : self.evaluator.linearise(self.x, self.free, self.r, self.jacobian);
      if (!ok) return false;
      std::ranges::copy(self.r, residuals);
      if (derivatives != nullptr) {
        for (std::size_t k = 0; k < self.jacobian.size(); ++k) {
          derivatives[k] = self.jacobian[k] * self.scale[k % q];
        }
      }
      return true;
    } catch (...) {
      self.error = std::current_exception();
      return false;
    }
  }

  // rho, d rho / ds = weight, d2 rho / ds2 = (psi' - weight) / (2 s), from psi = weight r.
  static void loss(const void* context, double s, double* rho) {
    const auto& evaluator = *static_cast<const Evaluator*>(context);
    const LossValue value = loss_value(evaluator.kind(), evaluator.a(), std::sqrt(s));
    rho[0] = value.rho;
    rho[1] = value.weight;
    rho[2] = s > 0 ? (value.psi_slope - value.weight) / (2 * s) : 0;
  }
};

bool at_bound(double x, double bound, double scale) { return std::abs(x - bound) <= 1e-12 * scale; }

double largest_relative_step(const Run& run) {
  double largest = 0;
  for (std::size_t c = 0; c < run.free.size(); ++c) {
    const double size = std::abs(run.x[run.free[c]]);
    const double step = std::abs(run.test.step[c]);
    largest = std::max(largest, size > 0 ? step / size : step);
  }
  return largest;
}

}  // namespace

Evaluator::Evaluator(const FitProblem& problem)
    : problem_(problem), dual_(problem.residuals.count()), dual_parameters_(problem.parameters.size()) {}

bool Evaluator::residuals(const Values& x, Values& out) {
  ++evaluations_;
  out.assign(dual_.size(), std::numeric_limits<double>::quiet_NaN());
  problem_.residuals(x, std::span(out));
  return std::ranges::all_of(out, [](double r) { return std::isfinite(r); });
}

bool Evaluator::linearise(const Values& x, const std::vector<std::size_t>& free, Values& r, Values& jacobian) {
  const std::size_t n = dual_.size(), q = free.size();
  r.resize(n);
  jacobian.resize(n * q);
  for (std::size_t first = 0; first == 0 || first < q; first += kDerivativesPerPass) {
    ++evaluations_;
    for (std::size_t j = 0; j < x.size(); ++j) dual_parameters_[j] = Number(x[j]);
    const std::size_t last = std::min(q, first + kDerivativesPerPass);
    for (std::size_t c = first; c < last; ++c) {
      dual_parameters_[free[c]] = Number::variable(x[free[c]], static_cast<int>(c - first));
    }
    std::ranges::fill(dual_, Number(std::numeric_limits<double>::quiet_NaN()));
    problem_.residuals(std::span<const Number>(dual_parameters_), std::span(dual_));
    for (std::size_t i = 0; i < n; ++i) {
      if (!isfinite(dual_[i])) return false;
      r[i] = dual_[i].v;
      for (std::size_t c = first; c < last; ++c) jacobian[i * q + c] = dual_[i].d[c - first];
    }
  }
  return true;
}

double Evaluator::cost(const Values& r) const {
  double sum = 0;
  for (const double v : r) sum += 0.5 * loss_value(kind_, a_, v).rho;
  return sum;
}

Run Descent::run(const Values& start) {
  Run quick = run_once(start, false);
  const bool complete = quick.status == SolveStatus::converged && quick.test.rank == quick.free.size();
  if (complete || quick.status == SolveStatus::not_finite) return quick;
  Run careful = run_once(start, true);
  const bool better = careful.status == SolveStatus::converged &&
                      (quick.status != SolveStatus::converged || careful.cost < quick.cost * (1 - kSameMinimum));
  const int steps = quick.steps + careful.steps;
  Run& chosen = better ? careful : quick;
  chosen.steps = steps;
  return std::move(chosen);
}

Run Descent::run_once(const Values& start, bool cautious) {
  Run out;
  out.cautious = cautious;
  out.x = start;
  out.state.assign(start.size(), ParameterState::estimated);
  for (std::size_t j = 0; j < start.size(); ++j) {
    if (problem_.parameters[j].held) out.state[j] = ParameterState::held;
  }
  Values r;
  if (!evaluator_.residuals(out.x, r)) return out;
  // Most fits end here by a few Gauss-Newton steps; only where those do not pass the test does the solver
  // go on until rounding ends its descent.
  for (const double cost_tolerance : {1e-10, 1e-16}) {
    const bool out_of_steps = settle(out, cost_tolerance);
    refine(out);
    judge(out, out_of_steps);
    if (out.status == SolveStatus::converged || out.status == SolveStatus::out_of_steps) break;
  }
  return out;
}

// The solver and the list of parameters at a bound in turn. True when the step limit ended it.
bool Descent::settle(Run& out, double cost_tolerance) {
  bool out_of_steps = false;
  // Each round moves at least one parameter on to or off its bound; 2 p + 2 rounds leave room for all.
  const std::size_t rounds = 2 * out.x.size() + 2;
  const auto list_free = [&out] {
    out.free.clear();
    for (std::size_t j = 0; j < out.x.size(); ++j) {
      if (out.state[j] == ParameterState::estimated) out.free.push_back(j);
    }
  };
  list_free();
  for (std::size_t round = 0; round < rounds; ++round) {
    out_of_steps = !descend(out, cost_tolerance) || out_of_steps;
    if (!update_bounds(out)) break;
    list_free();
  }
  return out_of_steps;
}

// False when the step limit ended it.
bool Descent::descend(Run& run, double cost_tolerance) {
  if (run.free.empty()) return true;
  const std::size_t q = run.free.size();
  Values scale(q), y(q), lower(q), upper(q);
  for (std::size_t c = 0; c < q; ++c) {
    const double x = run.x[run.free[c]];
    scale[c] = x != 0 ? std::abs(x) : 1;
    y[c] = x / scale[c];
    lower[c] = problem_.parameters[run.free[c]].lower / scale[c];
    upper[c] = problem_.parameters[run.free[c]].upper / scale[c];
  }
  Bridge bridge{.evaluator = evaluator_, .free = run.free, .scale = scale, .x = run.x};
  SolverTask task{.parameters = static_cast<int>(q),
                  .residuals = static_cast<int>(problem_.residuals.count()),
                  .lower = lower.data(),
                  .upper = upper.data(),
                  .evaluate = &Bridge::evaluate,
                  .context = &bridge,
                  .max_steps = std::max(1, settings_.max_steps - run.steps),
                  .cost_tolerance = cost_tolerance,
                  .cautious = run.cautious};
  if (evaluator_.kind() != LossKind::none) {
    task.loss = &Bridge::loss;
    task.loss_context = &evaluator_;
  }
  SolverAnswer answer;
  plugin().solve(task, y.data(), answer);
  if (bridge.error) std::rethrow_exception(bridge.error);
  run.steps += answer.steps;
  for (std::size_t c = 0; c < q; ++c) {
    const Parameter& parameter = problem_.parameters[run.free[c]];
    double x = y[c] * scale[c];
    // y * scale may round past a bound that y respects.
    if (y[c] <= lower[c]) x = parameter.lower;
    if (y[c] >= upper[c]) x = parameter.upper;
    run.x[run.free[c]] = x;
  }
  return answer.end != SolverEnd::out_of_steps;
}

// Slope of the cost by every parameter that is not held.
Values Descent::gradient(const Values& x) {
  std::vector<std::size_t> all(x.size());
  for (std::size_t j = 0; j < x.size(); ++j) all[j] = j;
  Values r, jacobian, g(x.size(), std::numeric_limits<double>::quiet_NaN());
  if (!evaluator_.linearise(x, all, r, jacobian)) return g;
  std::ranges::fill(g, 0.0);
  for (std::size_t i = 0; i < r.size(); ++i) {
    const double psi = loss_value(evaluator_.kind(), evaluator_.a(), r[i]).weight * r[i];
    for (std::size_t j = 0; j < x.size(); ++j) g[j] += psi * jacobian[i * x.size() + j];
  }
  return g;
}

// Puts parameters that rest on a bound with the cost falling beyond it on the list, takes those off whose cost
// falls inwards (first-order conditions of Karush, Kuhn and Tucker). True when the list changed.
bool Descent::update_bounds(Run& run) {
  bool any = false;
  for (std::size_t j = 0; j < run.x.size(); ++j) {
    const Parameter& p = problem_.parameters[j];
    any = any || (!p.held && (std::isfinite(p.lower) || std::isfinite(p.upper)));
  }
  if (!any) return false;
  const Values g = gradient(run.x);
  bool changed = false;
  for (std::size_t j = 0; j < run.x.size(); ++j) {
    const Parameter& p = problem_.parameters[j];
    const double size = std::max({std::abs(run.x[j]), std::abs(p.start), 1e-300});
    ParameterState& state = run.state[j];
    if (state == ParameterState::estimated && at_bound(run.x[j], p.lower, size) && g[j] > 0) {
      state = ParameterState::at_lower_bound;
      run.x[j] = p.lower;
      changed = true;
    } else if (state == ParameterState::estimated && at_bound(run.x[j], p.upper, size) && g[j] < 0) {
      state = ParameterState::at_upper_bound;
      run.x[j] = p.upper;
      changed = true;
    } else if ((state == ParameterState::at_lower_bound && g[j] < 0) ||
               (state == ParameterState::at_upper_bound && g[j] > 0)) {
      state = ParameterState::estimated;
      changed = true;
    }
  }
  return changed;
}

bool Descent::linearise(Run& run) {
  run.at.n = problem_.residuals.count();
  run.at.q = run.free.size();
  if (!evaluator_.linearise(run.x, run.free, run.at.residuals, run.at.jacobian)) return false;
  run.cost = evaluator_.cost(run.at.residuals);
  run.at.loss.clear();
  for (const double r : run.at.residuals) {
    run.at.loss.push_back(loss_value(evaluator_.kind(), evaluator_.a(), r));
  }
  if (run.at.q > 0) run.test = stationarity(run.at);
  return true;
}

// Gauss-Newton steps by orthogonal decomposition, taken while they shrink what is left: the
// solver's damped steps leave digits behind when the columns are nearly collinear.
void Descent::refine(Run& run) {
  if (!linearise(run) || run.free.empty()) return;
  for (int k = 0; k < kMaxRefinements; ++k) {
    Run next = run;
    for (std::size_t c = 0; c < run.free.size(); ++c) {
      const Parameter& p = problem_.parameters[run.free[c]];
      const double x = run.x[run.free[c]] + run.test.step[c];
      if (!(x >= p.lower && x <= p.upper)) return;
      next.x[run.free[c]] = x;
    }
    if (!linearise(next)) return;
    // In a flat valley a full step may shrink the rest but climb: never climb by more than rounding. A relative
    // change of 1e-10 in the cost is an offset of about 1e-5; rounding was seen at 1e-12 where residuals are small
    // differences of large readings.
    const bool lower = next.cost <= run.cost * (1 + 1e-10);
    if (!lower || !(largest_relative_step(next) < 0.5 * largest_relative_step(run))) return;
    ++next.steps;
    run = std::move(next);
  }
}

void Descent::judge(Run& run, bool out_of_steps) const {
  if (!std::isfinite(run.cost)) return;  // not finite
  if (run.free.empty()) {
    run.status = SolveStatus::converged;  // nothing left to move
    run.largest_step = 0;
    run.by_step = true;
    return;
  }
  run.largest_step = largest_relative_step(run);
  if (run.test.relative_offset <= settings_.relative_offset_tolerance) {
    run.status = SolveStatus::converged;
  } else if (run.largest_step <= settings_.step_tolerance) {
    run.status = SolveStatus::converged;
    run.by_step = true;
  } else {
    run.status = out_of_steps ? SolveStatus::out_of_steps : SolveStatus::stalled;
  }
}

}  // namespace hardpan::fitting::detail
