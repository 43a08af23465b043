// SPDX-License-Identifier: Apache-2.0
// What readings of several runs teach about parameters whose prior is known: the most probable values, a
// covariance about them, and draws of the prior carried over to the posterior one by one.
//
// Readings of one run are not independent: besides its own error a reading shares a level and a tilt (along a
// lever, -1 to 1) with the other readings of its run. How far runs lie apart comes from the readings
// and from `between`, the covariance of one place about the average, through the model; never below what
// the readings show. Prior and readings are taken as normal about a model made linear at the answer; a
// heavier tail of the prior lives on in its draws. docs/theory/validation.md, "Learning".
//
//   const Posterior p = posterior(prior, readings, model);
//   if (p.report.converged()) use(p.mode, p.covariance, carried_over(p, readings, draw, noise, k));
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include "base/solve.hpp"
#include "math/random.hpp"

namespace hardpan::validation {

struct PriorParameter {
  std::string name;
  double centre = 0;
  double lower = -std::numeric_limits<double>::infinity();
  double upper = std::numeric_limits<double>::infinity();
};

struct Prior {
  std::vector<PriorParameter> parameters;
  std::vector<double> covariance;   // p x p, positive definite
  std::vector<double> between;      // p x p, of one place about the average; may be singular or empty (none)
  double between_dof = 0;           // readings of this kind behind `between`; 0: nothing is known of it
};

struct Observation {
  std::size_t quantity = 0;         // 0, 1, 2 ...: scatter of runs is found for each by itself
  std::string run;
  double lever = 0;                 // place along the slips that teach, -1 the lowest, 1 the highest
  double value = 0;
  double standard_error = 0;        // of this reading alone, above 0
};

struct Linearised {
  std::vector<double> values;       // n
  std::vector<double> jacobian;     // n x p row-major; empty when not asked for
};
// The model at these parameters; NaN where it has no answer.
using Model = std::function<Linearised(std::span<const double> parameters, bool with_jacobian)>;

struct RunScatter {
  std::size_t runs = 0, readings = 0;
  double level_sd = 0, tilt_sd = 0; // between runs
  double window_sd = 0;             // within a run, beyond the readings' own errors
  double level_from_ground_sd = 0;  // what `between` lets expect for the level
  double dof = 0;                   // behind level_sd
  double effective_runs = 0;        // (sum w)^2 / sum w^2 over runs, w = 1 / variance of a run's level
};

struct Posterior {
  base::SolveReport report;         // of the last fit; residual in standard errors
  int rounds = 0;                   // fits, each with the run scatter of the one before
  bool scatter_settled = false;     // the last round moved the scatter by less than 5 % of all of it
  std::vector<double> mode;
  std::vector<double> covariance;   // p x p
  std::vector<double> gain;         // p x n: what a difference of a reading moves
  Linearised at_mode;
  std::vector<RunScatter> scatter;  // by quantity
  double directions_taught = 0;     // trace of gain times jacobian: 0 nothing, p everything
  // Squared distance of the mode from the prior's centre in prior standard deviations; over many agreeing cases its mean is
  // directions_taught. disagreement: the chance of one as large where prior and readings agree (chi-square).
  double distance_squared = 0;
  double disagreement = 1;
  std::vector<std::size_t> at_bound;  // parameters the readings push beyond their bounds
  std::string reason_without;       // not empty: no posterior, and why

  [[nodiscard]] bool usable() const { return reason_without.empty(); }
};

[[nodiscard]] Posterior posterior(const Prior& prior, const std::vector<Observation>& readings, const Model& model);

// One prior draw carried over: draw + gain (readings + their errors drawn - model at the draw), the model
// made linear at the mode. Exact for a linear model with normal prior and errors (Matheron's rule); without readings the draw itself.
[[nodiscard]] std::vector<double> carried_over(const Posterior& posterior, const std::vector<Observation>& readings,
                                               std::span<const double> prior_draw, const math::Stream& noise,
                                               std::uint64_t draw);

}  // namespace hardpan::validation
