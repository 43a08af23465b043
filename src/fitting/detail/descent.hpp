// SPDX-License-Identifier: Apache-2.0
// From one start to one stationary point: the residuals and their derivatives, the solver, the list
// of parameters at a bound, the last Gauss-Newton steps, the verdict.
#pragma once

#include <cstddef>
#include <limits>
#include <vector>

#include "base/solve.hpp"
#include "fitting/detail/analysis.hpp"
#include "fitting/fit.hpp"

namespace hardpan::fitting::detail {

using Values = std::vector<double>;

// Residuals, derivatives and cost of a problem under one loss, counting evaluations.
class Evaluator {
 public:
  explicit Evaluator(const FitProblem& problem);

  void set_loss(LossKind kind, double a) { kind_ = kind, a_ = a; }
  [[nodiscard]] LossKind kind() const { return kind_; }
  [[nodiscard]] double a() const { return a_; }
  [[nodiscard]] int evaluations() const { return evaluations_; }

  // Residuals at x; false when one is not finite.
  bool residuals(const Values& x, Values& out);
  // Residuals and row-major derivatives by x[free[...]]; false when one is not finite.
  bool linearise(const Values& x, const std::vector<std::size_t>& free, Values& r, Values& jacobian);
  [[nodiscard]] double cost(const Values& r) const;

 private:
  const FitProblem& problem_;
  std::vector<Number> dual_;
  std::vector<Number> dual_parameters_;
  LossKind kind_ = LossKind::none;
  double a_ = 1;
  int evaluations_ = 0;
};

struct Run {
  base::SolveStatus status = base::SolveStatus::not_finite;
  Values x;
  double cost = std::numeric_limits<double>::infinity();
  int steps = 0;
  std::vector<std::size_t> free;  // neither held nor at a bound
  std::vector<ParameterState> state;
  Linearised at;
  Stationarity test;
  bool cautious = false;  // short first steps
  bool by_step = false;   // the step test decided, not the offset
  double largest_step = std::numeric_limits<double>::quiet_NaN();  // of its parameter
};

// Two runs reached one minimum: costs within this share.
inline constexpr double kSameMinimum = 1e-6;

class Descent {
 public:
  Descent(const FitProblem& problem, const FitSettings& settings)
      : problem_(problem), settings_(settings), evaluator_(problem) {}

  Evaluator& evaluator() { return evaluator_; }

  // The quick way first; where it does not end in a minimum that determines every parameter it may have run
  // off to where the model no longer moves, and short first steps from the same start are tried as well.
  [[nodiscard]] Run run(const Values& start);

 private:
  Run run_once(const Values& start, bool cautious);
  bool settle(Run& run, double cost_tolerance);
  bool descend(Run& run, double cost_tolerance);
  Values gradient(const Values& x);
  bool update_bounds(Run& run);
  bool linearise(Run& run);
  void refine(Run& run);
  void judge(Run& run, bool out_of_steps) const;

  const FitProblem& problem_;
  const FitSettings& settings_;
  Evaluator evaluator_;
};

}  // namespace hardpan::fitting::detail
