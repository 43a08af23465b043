// SPDX-License-Identifier: Apache-2.0
// What a point in parameter space tells once the solver has stopped: is it stationary, which
// parameters do the data determine, and how well.
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fitting/loss.hpp"

namespace hardpan::fitting::detail {

// Residuals and their derivatives by the free parameters, n rows of q columns, row-major.
struct Linearised {
  std::size_t n = 0, q = 0;
  std::vector<double> residuals;  // n
  std::vector<double> jacobian;   // n x q
  std::vector<LossValue> loss;    // n
};

struct Stationarity {
  double relative_offset = std::numeric_limits<double>::quiet_NaN();  // [BatesWatts1981]
  std::vector<double> step;          // q: the Gauss-Newton step that is left
  std::size_t rank = 0;
  double condition = std::numeric_limits<double>::quiet_NaN();
  std::vector<bool> identified;      // q: not touched by a direction the data leave free
};
[[nodiscard]] Stationarity stationarity(const Linearised& at);

// Singular values below this share of the largest, columns scaled to length 1, count as zero. Derivatives are
// exact to rounding, so what is left of a true zero is about 1e-15 times the root of n.
inline constexpr double kRankTolerance = 1e-11;
// From here on estimates are printed with a warning: half the digits of the data are lost.
inline constexpr double kPoorCondition = 1e6;

struct Covariances {
  double residual_sd = std::numeric_limits<double>::quiet_NaN();
  std::vector<double> independent;  // q x q; empty without degrees of freedom
  std::vector<double> grouped;      // q x q; empty without groups
  std::vector<std::string> messages;
};
// `groups` holds labels 0 ... group_count - 1, or is empty.
[[nodiscard]] Covariances covariances(const Linearised& at, std::size_t rank, bool unit_variance,
                                      std::span<const std::size_t> groups, std::size_t group_count);

}  // namespace hardpan::fitting::detail
