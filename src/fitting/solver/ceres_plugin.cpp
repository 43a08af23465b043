// SPDX-License-Identifier: Apache-2.0
// The solver plug-in: the only file that names Ceres. It moves the parameters downhill and says why
// it stopped; whether that is a converged fit is judged by fit.cpp with its own test, because the
// library also reports "convergence" when its trust region has shrunk to nothing.
#include <ceres/ceres.h>
#include <glog/logging.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <vector>

#include "fitting/detail/plugin.hpp"

namespace hardpan::fitting::detail {
namespace {

// All residuals in one block: plain squares.
class WholeCost final : public ceres::CostFunction {
 public:
  explicit WholeCost(const SolverTask& task) : task_(task) {
    set_num_residuals(task.residuals);
    mutable_parameter_block_sizes()->push_back(task.parameters);
  }
  bool Evaluate(const double* const* x, double* residuals, double** jacobians) const override {
    return task_.evaluate(task_.context, x[0], residuals, jacobians == nullptr ? nullptr : jacobians[0]);
  }

 private:
  const SolverTask& task_;
};

// A loss acts on one residual block, so each residual is a block of its own; all of them are
// computed together before the blocks are asked.
class SharedEvaluation final : public ceres::EvaluationCallback {
 public:
  SharedEvaluation(const SolverTask& task, const double* x)
      : task_(task), x_(x), residuals_(static_cast<std::size_t>(task.residuals)),
        jacobian_(residuals_.size() * static_cast<std::size_t>(task.parameters)) {}

  void PrepareForEvaluation(bool jacobians, bool new_point) override {
    if (!new_point && (has_jacobian_ || !jacobians)) return;
    valid_ = task_.evaluate(task_.context, x_, residuals_.data(), jacobians ? jacobian_.data() : nullptr);
    has_jacobian_ = jacobians;
  }
  bool read(std::size_t row, double* residual, double* jacobian) const {
    if (!valid_) return false;
    *residual = residuals_[row];
    if (jacobian != nullptr) {
      const auto width = static_cast<std::size_t>(task_.parameters);
      for (std::size_t j = 0; j < width; ++j) jacobian[j] = jacobian_[row * width + j];
    }
    return true;
  }

 private:
  const SolverTask& task_;
  const double* x_;
  std::vector<double> residuals_, jacobian_;
  bool valid_ = false, has_jacobian_ = false;
};

class RowCost final : public ceres::CostFunction {
 public:
  RowCost(const SharedEvaluation& shared, std::size_t row, int parameters) : shared_(shared), row_(row) {
    set_num_residuals(1);
    mutable_parameter_block_sizes()->push_back(parameters);
  }
  bool Evaluate(const double* const*, double* residuals, double** jacobians) const override {
    return shared_.read(row_, residuals, jacobians == nullptr ? nullptr : jacobians[0]);
  }

 private:
  const SharedEvaluation& shared_;
  std::size_t row_;
};

class TaskLoss final : public ceres::LossFunction {
 public:
  explicit TaskLoss(const SolverTask& task) : task_(task) {}
  void Evaluate(double s, double rho[3]) const override { task_.loss(task_.loss_context, s, rho); }

 private:
  const SolverTask& task_;
};

// 0 when the start has no finite values; the solver then says so itself.
double largest_squared_column(const SolverTask& task, const double* x) {
  const auto n = static_cast<std::size_t>(task.residuals), q = static_cast<std::size_t>(task.parameters);
  std::vector<double> residuals(n), jacobian(n * q), sum(q);
  if (!task.evaluate(task.context, x, residuals.data(), jacobian.data())) return 0;
  for (std::size_t k = 0; k < n * q; ++k) sum[k % q] += jacobian[k] * jacobian[k];
  return *std::max_element(sum.begin(), sum.end());
}

void solve(const SolverTask& task, double* x, SolverAnswer& answer) {
  ceres::Problem::Options ownership;
  ownership.loss_function_ownership = ceres::DO_NOT_TAKE_OWNERSHIP;
  const TaskLoss loss(task);
  SharedEvaluation shared(task, x);
  if (task.loss != nullptr) ownership.evaluation_callback = &shared;
  ceres::Problem problem(ownership);
  if (task.loss == nullptr) {
    problem.AddResidualBlock(new WholeCost(task), nullptr, x);
  } else {
    for (int i = 0; i < task.residuals; ++i) {
      problem.AddResidualBlock(new RowCost(shared, static_cast<std::size_t>(i), task.parameters),
                               const_cast<TaskLoss*>(&loss), x);
    }
  }
  for (int j = 0; j < task.parameters; ++j) {
    if (std::isfinite(task.lower[j])) problem.SetParameterLowerBound(x, j, task.lower[j]);
    if (std::isfinite(task.upper[j])) problem.SetParameterUpperBound(x, j, task.upper[j]);
  }

  ceres::Solver::Options options;
  options.minimizer_type = ceres::TRUST_REGION;
  options.trust_region_strategy_type = ceres::LEVENBERG_MARQUARDT;
  options.linear_solver_type = ceres::DENSE_QR;
  options.dense_linear_algebra_library_type = ceres::EIGEN;  // the same bits with any installed LAPACK
  options.logging_type = ceres::SILENT;
  options.num_threads = 1;
  options.max_num_iterations = task.max_steps;
  if (task.cautious) {
    // Steps along the slope in units of the parameters' own sizes, first one short: damping by a
    // multiple of the unit matrix, at first the largest squared column ([Madsen2004],
    // section 3.2), instead of by each column's own.
    options.jacobi_scaling = false;
    const double largest = largest_squared_column(task, x);
    options.min_lm_diagonal = options.max_lm_diagonal = largest > 0 ? largest : 1;
    options.initial_trust_region_radius = 1;
  }
  // Models of soils have no value on part of the space (a power of a negative number): each refused
  // step divides the trust radius by 2, 4, 8, ..., so a dozen reach any feasible neighbourhood.
  options.max_num_consecutive_invalid_steps = 20;
  // The caller's own test decides what is converged. The gradient test depends on the units of the
  // residuals, so it is off.
  options.function_tolerance = task.cost_tolerance;
  options.parameter_tolerance = 1e-15;
  options.gradient_tolerance = 0;
  ceres::Solver::Summary summary;
  ceres::Solve(options, &problem, &summary);

  answer.steps = summary.num_successful_steps + summary.num_unsuccessful_steps;
  switch (summary.termination_type) {
    case ceres::CONVERGENCE:
    case ceres::USER_SUCCESS: answer.end = SolverEnd::stopped_moving; break;
    case ceres::NO_CONVERGENCE: answer.end = SolverEnd::out_of_steps; break;
    case ceres::FAILURE:
    case ceres::USER_FAILURE: answer.end = SolverEnd::failed; break;
  }
}

}  // namespace
}  // namespace hardpan::fitting::detail

extern "C" __attribute__((visibility("default"))) const hardpan::fitting::detail::Plugin*
hardpan_fitting_plugin() {
  FLAGS_minloglevel = google::GLOG_FATAL;  // the library's own remarks would reach the user's terminal
  static const hardpan::fitting::detail::Plugin plugin{hardpan::fitting::detail::kPluginVersion,
                                                       hardpan::fitting::detail::solve};
  return &plugin;
}
