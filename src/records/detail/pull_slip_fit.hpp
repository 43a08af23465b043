// SPDX-License-Identifier: Apache-2.0
// For the records module alone: one relation through weighted points, without intervals.
#pragma once

#include <span>

#include "records/pull_slip.hpp"

namespace hardpan::records::detail {

struct CurvePoint {
  double slip = 0, value = 0, weight = 1;
};

struct CurveFit {
  PullSlipParameters parameters;
  double weighted_squares = 0;
  base::SolveReport solve;
  bool at_lower_end = false, at_upper_end = false;  // of the scale searched
};

struct SearchEffort {
  int grid = 48;            // scales tried first, evenly in ln(scale)
  double tolerance = 1e-9;  // width of the last bracket in ln(scale)
};
inline constexpr SearchEffort kResampleEffort{.grid = 24, .tolerance = 1e-6};

// Least squares in all but the scale, golden-section search over ln(scale) between scale_lo and scale_hi after a grid.
// Needs 2 distinct slips more than linear parameters, else no_solution. Slips at reference_slip or above.
[[nodiscard]] CurveFit fit_curve(PullSlipRelation relation, std::span<const CurvePoint> points, double reference_slip,
                                 double scale_lo, double scale_hi, SearchEffort effort = {});

// Largest value inside [lo, hi] and where.
struct Peak {
  double slip = 0, value = 0;
  bool at_upper_end = false;
};
[[nodiscard]] Peak peak_inside(const PullSlipParameters& parameters, double lo, double hi);

// t(runs - 1) / z sqrt(runs / (runs - 1)): how much the spread over resampled runs is widened; runs >= 2.
[[nodiscard]] double widening(std::size_t runs, double level);
// Interval of the mean over runs (widened draws about the value) and, with between_sd finite, of the next run.
[[nodiscard]] math::Estimate estimate_over_runs(double value, std::vector<double> draws, double between_sd, std::size_t runs,
                                                double level);

}  // namespace hardpan::records::detail
