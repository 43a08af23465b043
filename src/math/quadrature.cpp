// SPDX-License-Identifier: Apache-2.0
#include "math/quadrature.hpp"

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>

#include "base/assertion.hpp"

namespace hardpan::math {

AdaptiveIntegral integrate_adaptive(const std::function<double(double)>& f, double a, double b,
                                    double tolerance) {
  HARDPAN_ASSERT(tolerance > 0);
  AdaptiveIntegral out;
  int evaluations = 0;
  bool finite = true;
  const auto counted = [&](double x) {
    ++evaluations;
    const double y = f(x);
    if (!std::isfinite(y)) {
      finite = false;
      return 0.0;  // the library throws on infinities; the report says not finite
    }
    return y;
  };
  double error = 0, absolute = 0;
  const double value = boost::math::quadrature::gauss_kronrod<double, 15>::integrate(
      counted, a, b, 15, tolerance, &error, &absolute);
  out.report.evaluations = evaluations;
  out.report.tolerance = tolerance * absolute;
  if (!finite || !std::isfinite(value)) {
    out.report.status = base::SolveStatus::not_finite;
    return out;
  }
  out.value = value;
  out.report.residual = error;
  // Where the integral of |f| is zero the error is zero as well.
  out.report.status = error <= out.report.tolerance ? base::SolveStatus::converged : base::SolveStatus::stalled;
  return out;
}

}  // namespace hardpan::math
