// SPDX-License-Identifier: Apache-2.0
// Reads as: check the problem; for each start, alternate between the solver and a list of
// parameters resting on a bound until the list is right; refine; judge; then errors.
#include "fitting/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <map>

#include "base/assertion.hpp"
#include "fitting/detail/analysis.hpp"
#include "fitting/detail/plugin.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting {
namespace {

using base::SolveStatus;
using Values = std::vector<double>;

constexpr int kMaxRefinements = 20;  // Gauss-Newton steps after the solver; 0 to 3 seen on smooth problems
constexpr int kMaxScaleRounds = 60;  // fits while the loss scale settles; 6 to 15 seen
// Of the scale, between two rounds. The scale itself is known to about 1 / sqrt(n), and estimates depend on it weakly.
constexpr double kScaleTolerance = 1e-5;
constexpr double kSameMinimum = 1e-6;     // of the cost: two starts reached one minimum

// The problem at one list of free parameters, in scaled units y = x / scale so that the solver's
// own tests see numbers of size one.
class Evaluator {
 public:
  explicit Evaluator(const FitProblem& problem)
      : problem_(problem), residuals_(problem.residuals.count()), dual_(residuals_.size()),
        dual_parameters_(problem.parameters.size()) {}

  void set_loss(LossKind kind, double a) { kind_ = kind, a_ = a; }
  [[nodiscard]] LossKind kind() const { return kind_; }
  [[nodiscard]] double a() const { return a_; }
  [[nodiscard]] int evaluations() const { return evaluations_; }

  // Residuals at x; false when one is not finite.
  bool residuals(const Values& x, Values& out) {
    ++evaluations_;
    out.assign(residuals_.size(), std::numeric_limits<double>::quiet_NaN());
    problem_.residuals(x, std::span(out));
    return std::ranges::all_of(out, [](double r) { return std::isfinite(r); });
  }

  // Residuals and row-major derivatives by x[free[...]].
  bool linearise(const Values& x, const std::vector<std::size_t>& free, Values& r, Values& jacobian) {
    const std::size_t n = residuals_.size(), q = free.size();
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

  [[nodiscard]] double cost(const Values& r) const {
    double sum = 0;
    for (const double v : r) sum += 0.5 * loss_value(kind_, a_, v).rho;
    return sum;
  }

 private:
  const FitProblem& problem_;
  Values residuals_;
  std::vector<Number> dual_;
  std::vector<Number> dual_parameters_;
  LossKind kind_ = LossKind::none;
  double a_ = 1;
  int evaluations_ = 0;
};

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

struct Run {
  SolveStatus status = SolveStatus::not_finite;
  Values x;
  double cost = std::numeric_limits<double>::infinity();
  int steps = 0;
  std::vector<std::size_t> free;           // neither held nor at a bound
  std::vector<ParameterState> state;
  detail::Linearised at;
  detail::Stationarity test;
  bool cautious = false; // short first steps
  bool by_step = false;  // the step test decided, not the offset
  double largest_step = std::numeric_limits<double>::quiet_NaN();  // relative
};

bool at_bound(double x, double bound, double scale) { return std::abs(x - bound) <= 1e-12 * scale; }

class Fitter {
 public:
  Fitter(const FitProblem& problem, const FitSettings& settings)
      : problem_(problem), settings_(settings), evaluator_(problem) {}

  Evaluator& evaluator() { return evaluator_; }

  // The quick way first; where it does not end in a minimum that determines every parameter it may have run off
  // to where the model no longer moves, and short first steps from the same start are tried as well.
  Run run(const Values& start) {
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

 private:
  Run run_once(const Values& start, bool cautious) {
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
  bool settle(Run& out, double cost_tolerance) {
    bool out_of_steps = false;
    // Each round moves at least one parameter on to or off its bound; 2 p + 2 rounds leave room for all.
    const std::size_t rounds = 2 * out.x.size() + 2;
    for (std::size_t round = 0; round < rounds; ++round) {
      out.free.clear();
      for (std::size_t j = 0; j < out.x.size(); ++j) {
        if (out.state[j] == ParameterState::estimated) out.free.push_back(j);
      }
      out_of_steps = !descend(out, cost_tolerance) || out_of_steps;
      if (!update_bounds(out)) break;
    }
    return out_of_steps;
  }

  // False when the step limit ended it.
  bool descend(Run& run, double cost_tolerance) {
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
    detail::SolverTask task{.parameters = static_cast<int>(q),
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
    detail::SolverAnswer answer;
    detail::plugin().solve(task, y.data(), answer);
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
    return answer.end != detail::SolverEnd::out_of_steps;
  }

  // Slope of the cost by every parameter that is not held.
  Values gradient(const Values& x) {
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
  bool update_bounds(Run& run) {
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

  bool linearise(Run& run) {
    run.at.n = problem_.residuals.count();
    run.at.q = run.free.size();
    if (!evaluator_.linearise(run.x, run.free, run.at.residuals, run.at.jacobian)) return false;
    run.cost = evaluator_.cost(run.at.residuals);
    run.at.loss.clear();
    for (const double r : run.at.residuals) {
      run.at.loss.push_back(loss_value(evaluator_.kind(), evaluator_.a(), r));
    }
    if (run.at.q > 0) run.test = detail::stationarity(run.at);
    return true;
  }

  double largest_relative_step(const Run& run) const {
    double largest = 0;
    for (std::size_t c = 0; c < run.free.size(); ++c) {
      const double size = std::abs(run.x[run.free[c]]);
      const double step = std::abs(run.test.step[c]);
      largest = std::max(largest, size > 0 ? step / size : step);
    }
    return largest;
  }

  // Gauss-Newton steps by orthogonal decomposition, taken while they shrink what is left: the
  // solver's damped steps leave digits behind when the columns are nearly collinear.
  void refine(Run& run) {
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

  void judge(Run& run, bool out_of_steps) const {
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

  const FitProblem& problem_;
  const FitSettings& settings_;
  Evaluator evaluator_;
};

// Why the problem cannot be fitted at all; empty when it can.
std::string refusal(const FitProblem& problem) {
  std::size_t free = 0;
  for (const Parameter& p : problem.parameters) {
    if (!std::isfinite(p.start)) return fmt::format("no start value for {}", p.name);
    if (!(p.start >= p.lower && p.start <= p.upper)) {
      return fmt::format("the start value {:g} of {} lies outside its bounds {:g} ... {:g}", p.start, p.name, p.lower,
                         p.upper);
    }
    if (!p.held) ++free;
  }
  if (free == 0) return "no parameter is left to fit";
  if (problem.residuals.count() < free) {
    return fmt::format("{} residuals cannot determine {} parameters", problem.residuals.count(), free);
  }
  return {};
}

Values drawn_start(const FitProblem& problem, const MultiStart& starts, int number) {
  const math::Stream stream(starts.seed, math::stream_id("multi-start"));
  const std::size_t p = problem.parameters.size();
  Values x(p);
  for (std::size_t j = 0; j < p; ++j) {
    const Parameter& parameter = problem.parameters[j];
    x[j] = parameter.start;
    if (parameter.held) continue;
    const std::uint64_t first = (static_cast<std::uint64_t>(number) * p + j) * 128;
    if (std::isfinite(parameter.lower) && std::isfinite(parameter.upper)) {
      const double u = stream.uniform(first);
      const bool wide = parameter.lower > 0 && parameter.upper >= 10 * parameter.lower;
      x[j] = wide ? parameter.lower * std::pow(parameter.upper / parameter.lower, u)
                  : parameter.lower + u * (parameter.upper - parameter.lower);
      continue;
    }
    for (std::uint64_t attempt = 0; attempt < 100; ++attempt) {
      const double z = starts.spread * stream.normal(first + attempt);
      const double drawn = parameter.start != 0 ? parameter.start * std::exp(z) : z;
      if (drawn >= parameter.lower && drawn <= parameter.upper) {
        x[j] = drawn;
        break;
      }
    }
  }
  return x;
}

// Consistent with a normal standard deviation, about zero: residuals of a fit have no other centre.
double scale_about_zero(const Values& residuals) {
  Values size(residuals.size());
  std::ranges::transform(residuals, size.begin(), [](double r) { return std::abs(r); });
  return math::median(size) / math::normal_quantile(0.75);
}

// Fits while the scale of the loss settles. Tukey's loss starts from the scale and point of a Huber fit,
// because it has several minima.
Run run_with_loss(Fitter& fitter, const FitProblem& problem, const Values& start, FitResult& result) {
  const Loss& loss = problem.loss;
  Evaluator& evaluator = fitter.evaluator();
  if (loss.kind == LossKind::none) return fitter.run(start);
  const double tuning = loss.tuning.value_or(default_tuning(loss.kind));
  if (loss.residual_scale) {
    result.loss_scale = loss.residual_scale;
    if (loss.kind == LossKind::tukey) {
      evaluator.set_loss(LossKind::huber, default_tuning(LossKind::huber) * *loss.residual_scale);
      const Run huber = fitter.run(start);
      evaluator.set_loss(loss.kind, tuning * *loss.residual_scale);
      return fitter.run(huber.status == SolveStatus::converged ? huber.x : start);
    }
    evaluator.set_loss(loss.kind, tuning * *loss.residual_scale);
    return fitter.run(start);
  }

  evaluator.set_loss(LossKind::none, 1);
  Run run = fitter.run(start);
  if (run.status == SolveStatus::not_finite) return run;
  const bool two_stage = loss.kind == LossKind::tukey;
  double scale = scale_about_zero(run.at.residuals);
  bool settled = false;
  for (int round = 0; round < kMaxScaleRounds && !settled; ++round) {
    if (!(scale > 0)) {
      result.messages.emplace_back("the loss is without effect: more than half the residuals are zero");
      evaluator.set_loss(LossKind::none, 1);
      result.loss_used = LossKind::none;
      return fitter.run(start);
    }
    evaluator.set_loss(two_stage ? LossKind::huber : loss.kind,
                       (two_stage ? default_tuning(LossKind::huber) : tuning) * scale);
    const int steps = run.steps;
    run = fitter.run(run.x);
    run.steps += steps;
    if (run.status == SolveStatus::not_finite) return run;
    const double next = scale_about_zero(run.at.residuals);
    settled = std::abs(next - scale) <= kScaleTolerance * scale;
    if (!settled) scale = next;
  }
  if (!settled) {
    result.messages.push_back(fmt::format("the scale of the loss did not settle in {} rounds; it is held at {:g}",
                                          kMaxScaleRounds, scale));
  }
  if (two_stage || !settled) {
    evaluator.set_loss(loss.kind, tuning * scale);
    const int steps = run.steps;
    run = fitter.run(run.x);
    run.steps += steps;
  }
  result.loss_scale = scale;
  return run;
}

// Labels 0 ... G - 1 in order of first appearance.
std::vector<std::size_t> relabelled(const std::vector<std::size_t>& groups, std::size_t& count) {
  std::map<std::size_t, std::size_t> place;
  std::vector<std::size_t> out;
  for (const std::size_t g : groups) out.push_back(place.emplace(g, place.size()).first->second);
  count = place.size();
  return out;
}

void describe_parameters(const FitProblem& problem, const Run& run, FitResult& result) {
  for (std::size_t j = 0; j < problem.parameters.size(); ++j) {
    const Parameter& parameter = problem.parameters[j];
    FittedParameter& out = result.parameters[j];
    out.state = run.state[j];
    if (result.converged()) out.value = run.x[j];
    switch (out.state) {
      case ParameterState::held: out.status = "held"; break;
      case ParameterState::at_lower_bound:
        out.status = fmt::format("not estimable: at its lower bound {:g}", parameter.lower);
        break;
      case ParameterState::at_upper_bound:
        out.status = fmt::format("not estimable: at its upper bound {:g}", parameter.upper);
        break;
      case ParameterState::estimated:
      case ParameterState::not_identified: out.status = math::kStatusOk; break;
    }
  }
  for (std::size_t c = 0; c < run.free.size(); ++c) {
    if (run.test.identified[c]) {
      result.estimable.push_back(run.free[c]);
    } else {
      FittedParameter& out = result.parameters[run.free[c]];
      out.state = ParameterState::not_identified;
      out.status = "not estimable: the readings do not separate it from other parameters";
    }
  }
}

// Rows and columns of the estimable parameters out of those of the free ones.
std::vector<double> estimable_part(const Run& run, const std::vector<double>& full) {
  std::vector<double> out;
  if (full.empty()) return out;
  const std::size_t q = run.free.size();
  for (std::size_t a = 0; a < q; ++a) {
    for (std::size_t b = 0; b < q; ++b) {
      if (run.test.identified[a] && run.test.identified[b]) out.push_back(full[a * q + b]);
    }
  }
  return out;
}

void describe_errors(const FitProblem& problem, const Run& run, FitResult& result) {
  const std::vector<std::size_t> groups = relabelled(problem.groups, result.group_count);
  if (run.free.empty()) return;
  const detail::Covariances errors =
      detail::covariances(run.at, result.rank, problem.unit_variance, groups, result.group_count);
  result.residual_sd = errors.residual_sd;
  result.messages.insert(result.messages.end(), errors.messages.begin(), errors.messages.end());
  result.covariance = estimable_part(run, errors.independent);
  result.group_covariance = estimable_part(run, errors.grouped);
  const std::size_t k = result.estimable.size();
  for (std::size_t a = 0; a < k; ++a) {
    FittedParameter& out = result.parameters[result.estimable[a]];
    if (!result.covariance.empty()) out.standard_error = std::sqrt(result.covariance[a * k + a]);
    if (!result.group_covariance.empty()) out.group_standard_error = std::sqrt(result.group_covariance[a * k + a]);
  }
  if (result.covariance.empty()) return;
  result.correlation.resize(k * k);
  for (std::size_t a = 0; a < k; ++a) {
    for (std::size_t b = 0; b < k; ++b) {
      const double root = std::sqrt(result.covariance[a * k + a]) * std::sqrt(result.covariance[b * k + b]);
      result.correlation[a * k + b] = a == b ? 1 : (root > 0 ? result.covariance[a * k + b] / root : 0);
    }
  }
}

void describe_identification(const Run& run, FitResult& result) {
  if (result.rank < run.free.size()) {
    result.messages.push_back(fmt::format("the readings determine {} of {} parameters", result.rank, run.free.size()));
  } else if (result.condition > detail::kPoorCondition) {
    std::string worst;
    double largest = 0;
    const std::size_t k = result.estimable.size();
    for (std::size_t a = 0; a < k && !result.correlation.empty(); ++a) {
      for (std::size_t b = a + 1; b < k; ++b) {
        if (std::abs(result.correlation[a * k + b]) > largest) {
          largest = std::abs(result.correlation[a * k + b]);
          worst = fmt::format(", most of all {} from {}", result.parameters[result.estimable[a]].name,
                              result.parameters[result.estimable[b]].name);
        }
      }
    }
    result.messages.push_back(fmt::format("the readings hardly separate the parameters (condition {:.1e}){}",
                                          result.condition, worst));
  }
}

}  // namespace

FitResult fit(const FitProblem& problem, const FitSettings& settings) {
  HARDPAN_ASSERT(problem.groups.empty() || problem.groups.size() == problem.residuals.count());
  HARDPAN_ASSERT(!problem.unit_variance || problem.loss.kind == LossKind::none);
  HARDPAN_ASSERT(settings.starts.count >= 1);
  FitResult result;
  result.method = "Levenberg-Marquardt, dense QR";
  result.loss_used = problem.loss.kind;
  for (const Parameter& parameter : problem.parameters) {
    result.parameters.push_back({.name = parameter.name});
  }
  if (const std::string reason = refusal(problem); !reason.empty()) {
    result.report.status = SolveStatus::no_solution;
    for (FittedParameter& parameter : result.parameters) parameter.status = "not fitted: " + reason;
    result.messages.push_back(reason);
    return result;
  }

  Fitter fitter(problem, settings);
  Values given;
  for (const Parameter& parameter : problem.parameters) given.push_back(parameter.start);
  Run best;
  std::vector<double> costs;
  result.starts_tried = settings.starts.count;
  int steps = 0;
  for (int s = 0; s < settings.starts.count; ++s) {
    FitResult attempt;
    attempt.loss_used = problem.loss.kind;
    Run run = run_with_loss(fitter, problem, s == 0 ? given : drawn_start(problem, settings.starts, s), attempt);
    steps += run.steps;
    const bool converged = run.status == SolveStatus::converged;
    if (converged) costs.push_back(run.cost);
    const bool better = s == 0 || (converged && best.status != SolveStatus::converged) ||
                        (converged == (best.status == SolveStatus::converged) && run.cost < best.cost);
    if (!better) continue;
    best = std::move(run);
    result.loss_used = attempt.loss_used;
    result.loss_scale = attempt.loss_scale;
    result.messages = attempt.messages;
  }
  result.starts_converged = static_cast<int>(costs.size());
  result.starts_at_best = static_cast<int>(std::ranges::count_if(
      costs, [&](double cost) { return cost <= best.cost * (1 + kSameMinimum); }));

  result.report = {.status = best.status,
                   .residual = best.by_step ? best.largest_step : best.test.relative_offset,
                   .tolerance = best.by_step ? settings.step_tolerance : settings.relative_offset_tolerance,
                   .residual_unit = best.by_step ? "of a parameter" : "of a standard error",
                   .steps = steps,
                   .evaluations = fitter.evaluator().evaluations()};
  result.best_point = best.x;
  if (best.cautious) {
    result.method += ", short first steps";
    result.messages.emplace_back("the solver ran off from the start with full steps; short first steps were used");
  }
  if (best.status == SolveStatus::not_finite) {
    result.messages.emplace_back("the model has no finite value at the start");
    for (FittedParameter& parameter : result.parameters) parameter.status = "not fitted: no finite value at the start";
    return result;
  }
  result.cost = best.cost;
  result.rank = best.test.rank;
  result.condition = best.test.condition;
  result.degrees_of_freedom = problem.residuals.count() - best.test.rank;
  result.residuals = best.at.residuals;
  for (const LossValue& value : best.at.loss) result.weights.push_back(value.weight);
  if (best.free.empty()) best.test.identified.clear();
  describe_parameters(problem, best, result);
  if (result.converged()) {
    describe_errors(problem, best, result);
    describe_identification(best, result);
  } else {
    result.estimable.clear();
    result.messages.push_back(fmt::format("{}: {:.2g} {} left, {:.0e} asked, after {} steps", name(best.status),
                                          result.report.residual, result.report.residual_unit, result.report.tolerance,
                                          steps));
    for (FittedParameter& parameter : result.parameters) parameter.status = "not fitted: did not converge";
  }
  return result;
}

std::optional<double> variance_of(const FitResult& result, std::span<const double> gradient, ErrorKind kind) {
  HARDPAN_ASSERT(gradient.size() == result.parameters.size());
  const std::vector<double>& covariance =
      kind == ErrorKind::independent ? result.covariance : result.group_covariance;
  if (!result.converged() || covariance.empty()) return std::nullopt;
  for (std::size_t j = 0; j < gradient.size(); ++j) {
    const ParameterState state = result.parameters[j].state;
    if (gradient[j] != 0 && state != ParameterState::estimated && state != ParameterState::held) return std::nullopt;
  }
  const std::size_t k = result.estimable.size();
  double sum = 0;
  for (std::size_t a = 0; a < k; ++a) {
    for (std::size_t b = 0; b < k; ++b) {
      sum += gradient[result.estimable[a]] * covariance[a * k + b] * gradient[result.estimable[b]];
    }
  }
  return std::max(sum, 0.0);  // a sum of squares up to rounding
}

std::optional<math::Interval> interval_of(const FitResult& result, std::size_t parameter, ErrorKind kind,
                                          double level) {
  HARDPAN_ASSERT(parameter < result.parameters.size());
  const FittedParameter& p = result.parameters[parameter];
  const std::optional<double>& error = kind == ErrorKind::independent ? p.standard_error : p.group_standard_error;
  if (!error) return std::nullopt;
  const auto dof = static_cast<double>(kind == ErrorKind::independent ? result.degrees_of_freedom : result.group_count - 1);
  if (!(dof > 0)) return std::nullopt;
  const double half = math::student_t_quantile(0.5 + level / 2, dof) * *error;
  return math::Interval{p.value - half, p.value + half};
}

}  // namespace hardpan::fitting
