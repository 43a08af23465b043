// SPDX-License-Identifier: Apache-2.0
// The numerical heart of the plate reduction: all pushes of a zone, any subset of its points, any of
// the four relations, as weighted nonlinear least squares with the point as a block.
//
// Model of a reading: p = exp(L_g) f(b, z - dz_k; s), g the point, k the push,
// f = 1 at the first width and the reference depth for the power laws. docs/theory/ground.md (10) to (13).
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/solve.hpp"
#include "records/ground_settings.hpp"
#include "records/plate_curve.hpp"

namespace hardpan::records::detail {

struct Reading {
  double z = 0, p = 0;
  double robust = 1;  // 0..1
};

struct Push {
  std::size_t curve = 0;  // index of the curve it came from
  std::size_t point = 0;  // index of the point
  double b = 0;
  double noise_pa = 0;
  bool fit_offset = false;
  double own_ln_p = 0, own_n = 0, own_scale = 0;  // its own robust line: ln p at the reference depth, slope, scatter
  double own_bend = 0;             // [m], -n dz of its own contact offset
  std::vector<Reading> readings;
};

// Kept rows of a curve; more than `most` are averaged inside equal steps of ln z.
[[nodiscard]] std::vector<Reading> condense(const PlateCurve& curve, std::size_t most = 40);

// Tukey's bisquare weights about the push's own straight line in logarithms (with its contact offset);
// fills robust, own_ln_p, own_n. The scale is the robust scale of the residuals, not below the relative error of a reading.
void weigh_readings(Push& push, double reference_depth_m, double relative_error, double offset_sd_m);
// ln p of the push's own curve.
[[nodiscard]] double own_curve(const Push& push, double reference_depth_m, double z);

struct JointProblem {
  soil::PressureLaw law = soil::PressureLaw::bekker;
  double b1 = 0, b2 = 0, z0 = 0;
  double relative_error = 0.05, offset_sd_m = 0.0003;
  bool contrast = true;     // false: levels stand for the width of their own point, nothing is told apart inside
};

struct JointFit {
  bool ok = false;
  double ln_p_first = 0, ln_p_second = 0, n = 0;  // at z0; n is the local exponent for muskeg
  std::array<double, 2> shape{};                  // (n, contrast d), (n, -), (mm / kp, -)
  bool shape_at_bound = false;
  std::vector<double> level;    // one a point; NaN for a point left out
  std::vector<double> offset_m; // one a push
  double rms_ln_p = 0;          // weighted, about the fit with each point's own level
  base::SolveReport report;
};

// `use[g]` tells which points take part.
[[nodiscard]] JointFit solve_joint(std::span<const Push> pushes, const std::vector<char>& use,
                                   const JointProblem& problem);

inline constexpr double kBisquare = 4.685;  // 95 % efficiency for normal errors (Beaton and Tukey 1974)
[[nodiscard]] inline double bisquare(double residual, double scale) {
  const double u = residual / (kBisquare * scale);
  return u > -1 && u < 1 ? (1 - u * u) * (1 - u * u) : 0;
}

// ln f at a width and depth.
[[nodiscard]] double ln_shape(const JointProblem& problem, const std::array<double, 2>& shape, double b, double z);

}  // namespace hardpan::records::detail
