// SPDX-License-Identifier: Apache-2.0
// Reads as: check the problem; for each start, descend while the scale of the loss settles; keep the
// best; say what it determines and how well.
#include "fitting/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/assertion.hpp"
#include "fitting/detail/descent.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::fitting {
namespace {

using base::SolveStatus;
using detail::Descent;
using detail::Run;
using detail::Values;

constexpr int kMaxScaleRounds = 60;  // fits while the loss scale settles; 6 to 15 seen
// Of the scale, between two rounds. The scale itself is known to about 1 / sqrt(n), and estimates depend on it weakly.
constexpr double kScaleTolerance = 1e-5;

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
Run run_with_loss(Descent& descent, const FitProblem& problem, const Values& start, FitResult& result) {
  const Loss& loss = problem.loss;
  detail::Evaluator& evaluator = descent.evaluator();
  if (loss.kind == LossKind::none) return descent.run(start);
  const double tuning = loss.tuning.value_or(default_tuning(loss.kind));
  if (loss.residual_scale) {
    result.loss_scale = loss.residual_scale;
    if (loss.kind == LossKind::tukey) {
      evaluator.set_loss(LossKind::huber, default_tuning(LossKind::huber) * *loss.residual_scale);
      const Run huber = descent.run(start);
      evaluator.set_loss(loss.kind, tuning * *loss.residual_scale);
      return descent.run(huber.status == SolveStatus::converged ? huber.x : start);
    }
    evaluator.set_loss(loss.kind, tuning * *loss.residual_scale);
    return descent.run(start);
  }

  evaluator.set_loss(LossKind::none, 1);
  Run run = descent.run(start);
  if (run.status == SolveStatus::not_finite) return run;
  const bool two_stage = loss.kind == LossKind::tukey;
  double scale = scale_about_zero(run.at.residuals);
  bool settled = false;
  for (int round = 0; round < kMaxScaleRounds && !settled; ++round) {
    if (!(scale > 0)) {
      result.messages.emplace_back("the loss is without effect: more than half the residuals are zero");
      evaluator.set_loss(LossKind::none, 1);
      result.loss_used = LossKind::none;
      return descent.run(start);
    }
    evaluator.set_loss(two_stage ? LossKind::huber : loss.kind,
                       (two_stage ? default_tuning(LossKind::huber) : tuning) * scale);
    const int steps = run.steps;
    run = descent.run(run.x);
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
    run = descent.run(run.x);
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

  Descent descent(problem, settings);
  Values given;
  for (const Parameter& parameter : problem.parameters) given.push_back(parameter.start);
  Run best;
  std::vector<double> costs;
  result.starts_tried = settings.starts.count;
  int steps = 0;
  for (int s = 0; s < settings.starts.count; ++s) {
    FitResult attempt;
    attempt.loss_used = problem.loss.kind;
    Run run = run_with_loss(descent, problem, s == 0 ? given : drawn_start(problem, settings.starts, s), attempt);
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
      costs, [&](double cost) { return cost <= best.cost * (1 + detail::kSameMinimum); }));

  result.report = {.status = best.status,
                   .residual = best.by_step ? best.largest_step : best.test.relative_offset,
                   .tolerance = best.by_step ? settings.step_tolerance : settings.relative_offset_tolerance,
                   .residual_unit = best.by_step ? "of a parameter" : "of a standard error",
                   .steps = steps,
                   .evaluations = descent.evaluator().evaluations()};
  result.best_point = best.x;
  if (best.cautious) {
    result.method += ", short first steps";
    result.messages.emplace_back("the solver ran off from the start with full steps; short first steps were used");
  }
  if (best.status == SolveStatus::not_finite) {
    result.messages.emplace_back("the model has no finite value or slope at the start");
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
