// SPDX-License-Identifier: Apache-2.0
// Integrals: fixed Gauss-Legendre rules for inner loops, an adaptive rule as slow reference.
//
// integrate_fixed<N> is exact for polynomials up to degree 2 N - 1; it tells nothing about its own
// error, which the caller measures against integrate_adaptive once for a kind of integrand. Kinks
// must stand at the ends of pieces; an end where f goes like x^n, n < 1, wants a substitution first.
//
//   double load = integrate_fixed<16>([&](double t) { return stress(t) * cos(t); }, 0.0, entry_rad);
#pragma once

#include <cstddef>
#include <functional>
#include <limits>

#include "base/solve.hpp"
#include "math/gauss_legendre_table.hpp"

namespace hardpan::math {

// f may return double or a dual number; a and b likewise. Summed from the ends inwards, in pairs,
// so that a mirrored integrand gives the same bits.
template <int N, class F, class T>
[[nodiscard]] constexpr auto integrate_fixed(F&& f, const T& a, const T& b) {
  const T centre = 0.5 * (a + b), half = 0.5 * (b - a);
  using Rule = GaussLegendre<N>;
  auto sum = Rule::weight[0] * (f(centre + half * Rule::node[0]) + f(centre + half * Rule::node[N - 1]));
  for (std::size_t i = 1; i < N / 2; ++i) {
    sum = sum + Rule::weight[i] *
                    (f(centre + half * Rule::node[i]) + f(centre + half * Rule::node[N - 1 - i]));
  }
  return half * sum;
}

struct AdaptiveIntegral {
  double value = std::numeric_limits<double>::quiet_NaN();
  base::SolveReport report;  // residual = the rule's own estimate of the absolute error; unit of the integral
};

// Gauss-Kronrod with 15 and 7 points, halved up to 15 times. `tolerance` is relative to the integral
// of |f|; converged only if the error estimate is within it. The estimate is of the worst kind:
// the true error is usually far smaller. An infinite limit is accepted.
[[nodiscard]] AdaptiveIntegral integrate_adaptive(const std::function<double(double)>& f, double a,
                                                  double b, double tolerance = 1e-12);

}  // namespace hardpan::math
