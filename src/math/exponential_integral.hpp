// SPDX-License-Identifier: Apache-2.0
// Exponential integrals E1 and E2 of a positive argument: En(x) = integral from 1 to infinity of exp(-x t) / t^n dt
// (Abramowitz and Stegun 1964, 5.1.4). To a few roundings (Boost.Math).
#pragma once

namespace hardpan::math {

[[nodiscard]] double exponential_integral_1(double x);   // x > 0
[[nodiscard]] double exponential_integral_2(double x);   // x > 0

}  // namespace hardpan::math
