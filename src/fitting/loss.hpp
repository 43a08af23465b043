// SPDX-License-Identifier: Apache-2.0
// How strongly a residual counts in a fit: plain squares, or a robust loss against stones and roots.
//
// The fit minimises 1/2 sum rho(r^2). `tuning` is where the loss leaves the square, in units of the
// residual scale; the default of each kind keeps 95 % efficiency on normal residuals (Holland and
// Welsch 1977). The scale is either known beforehand (1 where residuals are divided by their standard
// deviation) or, absent, found from the residuals themselves by their median absolute deviation.
//
//   problem.loss = {.kind = LossKind::huber};                       // scale from the residuals
//   problem.loss = {.kind = LossKind::cauchy, .residual_scale = 1};  // residuals in standard deviations
#pragma once

#include <optional>

namespace hardpan::fitting {

enum class LossKind {
  none,    // rho = s
  huber,   // square inside, linear outside: one minimum, bounded pull
  cauchy,  // a^2 ln(1 + s / a^2): far readings lose their pull
  tukey    // biweight: beyond a no pull at all; may have several minima, so start from a good point
};
[[nodiscard]] const char* name(LossKind kind);

struct Loss {
  LossKind kind = LossKind::none;
  std::optional<double> tuning = std::nullopt;          // absent: default_tuning(kind); > 0
  std::optional<double> residual_scale = std::nullopt;  // absent: from the residuals; > 0, unit of the residuals
};
[[nodiscard]] double default_tuning(LossKind kind);  // 1.345, 2.385, 4.685; infinite for none

// At one residual r, a = tuning * scale: psi = d/dr (rho / 2) = weight * r.
struct LossValue {
  double rho;         // of r^2
  double weight;      // psi / r, 1 for small r, in [0, 1]
  double psi_slope;   // d psi / dr; negative where a far reading pulls less the farther it is
};
[[nodiscard]] LossValue loss_value(LossKind kind, double a, double residual);

}  // namespace hardpan::fitting
