// SPDX-License-Identifier: Apache-2.0
// [HollandWelsch1977] P. W. Holland, R. E. Welsch, Robust regression using iteratively reweighted
// least-squares, Communications in Statistics A6 (1977) 813-827, table 1 (tuning constants).
#include "fitting/loss.hpp"

#include <cmath>
#include <limits>

#include "base/assertion.hpp"

namespace hardpan::fitting {

const char* name(LossKind kind) {
  switch (kind) {
    case LossKind::none: return "none";
    case LossKind::huber: return "Huber";
    case LossKind::cauchy: return "Cauchy";
    case LossKind::tukey: return "Tukey biweight";
  }
  return "unknown";
}

double default_tuning(LossKind kind) {
  switch (kind) {
    case LossKind::none: break;
    case LossKind::huber: return 1.345;
    case LossKind::cauchy: return 2.385;
    case LossKind::tukey: return 4.685;
  }
  return std::numeric_limits<double>::infinity();
}

LossValue loss_value(LossKind kind, double a, double residual) {
  HARDPAN_ASSERT(kind == LossKind::none || a > 0);
  const double s = residual * residual, u = s / (a * a);
  switch (kind) {
    case LossKind::none: break;
    case LossKind::huber:
      if (u > 1) {
        const double r = std::abs(residual);
        return {.rho = 2 * a * r - a * a, .weight = a / r, .psi_slope = 0};
      }
      break;
    case LossKind::cauchy:
      return {.rho = a * a * std::log1p(u), .weight = 1 / (1 + u), .psi_slope = (1 - u) / ((1 + u) * (1 + u))};
    case LossKind::tukey: {
      if (u >= 1) return {.rho = a * a / 3, .weight = 0, .psi_slope = 0};
      const double v = 1 - u;
      return {.rho = a * a / 3 * (1 - v * v * v), .weight = v * v, .psi_slope = v * (1 - 5 * u)};
    }
  }
  return {.rho = s, .weight = 1, .psi_slope = 1};
}

}  // namespace hardpan::fitting
