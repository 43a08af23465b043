// SPDX-License-Identifier: Apache-2.0
// The vector path's own exp and log, laid open for their accuracy test; with the target in use.
#pragma once

#include <span>

namespace hardpan::contact::detail {

// out[i] = exp(in[i]), arguments below -700 counting as -700; log(in[i]) of normal positive numbers. Equal sizes.
void vector_exponential(std::span<const double> in, std::span<double> out);
void vector_logarithm(std::span<const double> in, std::span<double> out);

}  // namespace hardpan::contact::detail
