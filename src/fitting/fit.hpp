// SPDX-License-Identifier: Apache-2.0
// Nonlinear least squares with bounds, robust loss, and an honest account of what was determined.
//
// For one straight line or a linear model without bounds math/statistics.hpp is enough. Residuals
// should be of size one (divided by their standard deviation) wherever that is known. The solver is
// a plug-in that is loaded on the first fit; base::EnvironmentError when it is not beside the program.
// Good for up to about 60 parameters and 100,000 residuals. Theory: docs/theory/fitting.md.
//
//   FitProblem problem{.parameters = {{.name = "k", .start = 1e5, .lower = 0}, {.name = "n", .start = 1}},
//                      .residuals = Residuals::each(...), .loss = {.kind = LossKind::huber}, .groups = push};
//   const FitResult result = fit(problem);
//   if (!result.converged()) say(result.report, result.messages);
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/solve.hpp"
#include "fitting/loss.hpp"
#include "fitting/residuals.hpp"
#include "math/estimate.hpp"

namespace hardpan::fitting {

struct Parameter {
  std::string name;
  double start = std::numeric_limits<double>::quiet_NaN();  // finite and within the bounds
  double lower = -std::numeric_limits<double>::infinity();  // infinite: no bound
  double upper = std::numeric_limits<double>::infinity();
  bool held = false;  // stays at start, is not estimated
};

struct FitProblem {
  std::vector<Parameter> parameters;
  Residuals residuals;
  Loss loss;
  // Group (push, run, point) of each residual, any labels; empty: no group covariance. Residuals of one
  // group may depend on each other in any way, groups may not.
  std::vector<std::size_t> groups;
  // The residuals are in standard deviations known beforehand: the covariance is then (J'J)^-1, not
  // scaled by the residual variance found. Only without a loss.
  bool unit_variance = false;
};

// Further starting points for problems with several minima. The first start is always the given one; the others
// are drawn inside the bounds where both are finite (in the logarithm where both are positive and a factor 10 apart),
// else as start * exp(spread z), or spread z for a start at 0, drawn again up to 100 times when outside,
// after which that parameter keeps its start.
struct MultiStart {
  int count = 1;
  double spread = 1;
  std::uint64_t seed = 1;
};

struct FitSettings {
  // Passed when the Gauss-Newton step left over is below this share of the parameters' standard errors
  // (relative offset, Bates and Watts 1981): |Q1' r| / sqrt(q) <= tolerance * |Q2' r| / sqrt(n - q).
  // 1e-6 of a standard error is far below anything a reader can see.
  double relative_offset_tolerance = 1e-6;
  // Or, where the residuals vanish and the offset is a ratio of roundings: every component of that step is
  // below this share of its parameter.
  double step_tolerance = 1e-10;
  int max_steps = 500;  // trust-region steps, per start
  MultiStart starts;
};

enum class ParameterState {
  estimated,
  held,           // by the caller
  at_lower_bound, // the data push it beyond: not estimable, left out of the covariance
  at_upper_bound,
  not_identified  // the data do not separate it from others
};

struct FittedParameter {
  std::string name;
  double value = std::numeric_limits<double>::quiet_NaN();  // NaN unless the fit converged
  ParameterState state = ParameterState::estimated;
  std::optional<double> standard_error;        // residuals taken as independent
  std::optional<double> group_standard_error;  // residuals of one group taken as dependent
  std::string status;                          // "ok" or "not estimable: at its lower bound 0"
};

struct FitResult {
  base::SolveReport report;  // residual: the relative offset (or step), see residual_unit
  std::vector<FittedParameter> parameters;
  std::vector<double> best_point;  // where the solver ended, converged or not; for messages and restarts

  // Over the estimable parameters only, whose places in `parameters` stand in `estimable`; row-major.
  std::vector<std::size_t> estimable;
  std::vector<double> covariance;        // residual_sd^2 (J'J)^-1; empty without degrees of freedom
  std::vector<double> correlation;       // of `covariance`
  std::vector<double> group_covariance;  // sandwich over groups times G / (G - 1); empty without groups

  std::size_t rank = 0;  // of the Jacobian over parameters neither held nor at a bound
  double condition = std::numeric_limits<double>::quiet_NaN();  // same, columns scaled to length 1

  double cost = std::numeric_limits<double>::quiet_NaN();         // 1/2 sum rho(r^2)
  double residual_sd = std::numeric_limits<double>::quiet_NaN();  // s of the covariance
  std::size_t degrees_of_freedom = 0;                             // n - rank
  std::size_t group_count = 0;
  std::vector<double> residuals;
  std::vector<double> weights;  // of the loss: 1 counts fully, near 0 the reading was set aside

  LossKind loss_used = LossKind::none;
  std::optional<double> loss_scale;  // residual scale used by the loss
  int starts_tried = 1;
  int starts_at_best = 0;  // converged to this same minimum (cost within 1e-6)
  int starts_converged = 0;
  std::string method;      // "Levenberg-Marquardt, dense QR"
  std::vector<std::string> messages;

  [[nodiscard]] bool converged() const { return report.converged(); }
};

[[nodiscard]] FitResult fit(const FitProblem& problem, const FitSettings& settings = {});

enum class ErrorKind { independent, grouped };

// Variance of a quantity with these derivatives by all parameters (delta method); absent when a
// parameter it depends on is not estimable or there is no covariance of the kind. Held ones add nothing.
[[nodiscard]] std::optional<double> variance_of(const FitResult& result, std::span<const double> gradient,
                                                ErrorKind kind);
// Student interval of one parameter, with n - rank or G - 1 degrees of freedom; absent as above.
[[nodiscard]] std::optional<math::Interval> interval_of(const FitResult& result, std::size_t parameter,
                                                        ErrorKind kind, double level = math::kIntervalLevel);

}  // namespace hardpan::fitting
