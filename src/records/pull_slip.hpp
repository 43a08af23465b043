// SPDX-License-Identifier: Apache-2.0
// Pull coefficient against slip: a curve through windows, with the run as the unit of scatter.
//
// Three closed relations, each linear in all but one parameter, so that the fit is a one-dimensional
// search with an exact inner solution and cannot stop at a false minimum. For relations of another
// kind use the fitting module.
//   exponential        a (1 - exp(-(s - s0) / k))
//   hyperbolic         a (s - s0) / (k + s - s0)
//   exponential_fall   a (1 - exp(-(s - s0) / k)) - d (s - s0)     for ground that loses strength
// Valid inside the tested slips only: nothing here is evaluated outside them without saying so.
//
//   PullSlipCurve curve = fit_pull_slip(points, {.relation = PullSlipRelation::exponential});
//   double mu = curve.at(0.2);
#pragma once

#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "base/solve.hpp"
#include "math/estimate.hpp"

namespace hardpan::records {

enum class PullSlipRelation { exponential, hyperbolic, exponential_fall };
[[nodiscard]] const char* name(PullSlipRelation relation);

struct PullSlipPoint {
  double slip_ratio = 0, slip_se = 0;
  double coefficient = 0, coefficient_se = 0;
  std::string run;                     // points of one run are not independent
};

struct PullSlipParameters {
  PullSlipRelation relation = PullSlipRelation::exponential;
  // As in the relations above; NaN where the curve has no such form (it never crosses zero, or does not rise).
  double a = std::numeric_limits<double>::quiet_NaN();   // asymptote
  double s0 = std::numeric_limits<double>::quiet_NaN();  // slip at zero coefficient: the self-propelled point
  double k = std::numeric_limits<double>::quiet_NaN();   // slip constant
  double d = 0;                                          // fall per unit slip
  // The same curve about the least tested slip, always defined: base + rise g(h) - d h, h = s - reference_slip,
  // g = 1 - exp(-h / scale) or h / (scale + h).
  double reference_slip = 0, base = std::numeric_limits<double>::quiet_NaN(), rise = 0, scale = 1;
  [[nodiscard]] double at(double slip_ratio) const;
  [[nodiscard]] double slope_at(double slip_ratio) const;
};

struct PullSlipSettings {
  // Absent: the relation with the smallest error on a run left out (needs 3 runs), else exponential.
  std::optional<PullSlipRelation> relation;
  int resamples = 1000;                // bootstrap over whole runs
  std::uint64_t seed = 1;
  double level = math::kIntervalLevel;
  double working_slip = 0.2;
  double gain_relative_sd = 0;         // of the load cell, shared by all points: the instrument part
  int band_points = 41;                // of the band over the tested slips
  double scale_lo = 0.003, scale_hi = 3;  // range of k searched; an end of it is reported, not hidden
};

struct BandPoint {
  double slip_ratio = 0;
  math::Estimate coefficient;
};

// One relation tried: how it fits and how it predicts a run it has not seen.
struct PullSlipTrial {
  PullSlipRelation relation = PullSlipRelation::exponential;
  PullSlipParameters parameters;
  base::SolveReport solve;
  double residual_sd = 0;                       // of the coefficient
  std::optional<double> left_out_rms;           // root mean square over runs left out in turn
  std::string note;                             // "k at the upper end of the search", "no fit: 2 points"
};

struct PullSlipCurve {
  PullSlipRelation relation_used = PullSlipRelation::exponential;
  std::string why_this_relation;
  std::vector<PullSlipTrial> trials;            // all relations, side by side
  PullSlipParameters parameters;                // of the relation used
  base::SolveReport solve;
  std::size_t points = 0, runs = 0;
  double slip_lo = 0, slip_hi = 0;              // tested
  double scatter_sd = 0;                        // beyond the points' own errors, in coefficient
  double between_runs_sd = 0;                   // of run means about the curve
  std::optional<math::Estimate> a, s0, k;       // average_ground: over runs; next_point: the next run
                                                // s0 outside the tested slips says so in its status
  std::optional<math::Estimate> at_20_percent;  // absent when 0.2 was not tested
  std::optional<math::Estimate> at_working_slip;
  std::optional<math::Estimate> peak;           // largest inside the tested slips
  double peak_slip_ratio = 0;
  bool peak_at_end_of_range = false;            // still rising: the peak was not reached
  std::optional<math::Estimate> at_zero_slip;   // negative: minus the resistance at zero slip; absent if not tested
  double gain_relative_sd = 0;                  // instrument part, not in the intervals above
  std::vector<BandPoint> band;
  int resamples_used = 0, resamples_failed = 0;
  std::string interval_method;                  // in words, for the report
  std::vector<std::string> remarks;

  // A curve that may be read inside the tested slips. solve may still say out_of_range: then a and k are not identified.
  [[nodiscard]] bool usable() const { return std::isfinite(parameters.base); }
  [[nodiscard]] double at(double slip_ratio) const { return parameters.at(slip_ratio); }
};

// Needs 4 points and a range of slip over 0.02; otherwise solve.status says why and nothing is fitted.
[[nodiscard]] PullSlipCurve fit_pull_slip(const std::vector<PullSlipPoint>& points,
                                          const PullSlipSettings& settings);

}  // namespace hardpan::records
