// SPDX-License-Identifier: Apache-2.0
// What the vector path offers the plain search, and its own exp and log, laid open for their accuracy test.
#pragma once

#include <span>

#include "contact/detail/load_curve.hpp"

namespace hardpan::contact::detail {

// out[i] = exp(in[i]), arguments below -700 counting as -700; log(in[i]) of normal positive numbers. Equal sizes.
void vector_exponential(std::span<const double> in, std::span<double> out);
void vector_logarithm(std::span<const double> in, std::span<double> out);

// curve.load_n at many angles side by side, within 1e-11 of it. False where the vector path has no kernel for this
// wheel or this processor has no vectors: nothing is written then. Equal sizes.
[[nodiscard]] bool vector_loads(const LoadCurve& curve, std::span<const double> undeflected, const Rule& rule, std::span<double> load_n);

}  // namespace hardpan::contact::detail
