// SPDX-License-Identifier: Apache-2.0
#include "math/exponential_integral.hpp"

#include <boost/math/special_functions/expint.hpp>

#include "base/assertion.hpp"

namespace hardpan::math {

namespace {
// Beyond this the value is below the smallest double.
constexpr double kVanishes = 740;
}  // namespace

double exponential_integral_1(double x) {
  HARDPAN_ASSERT(x > 0);
  return x > kVanishes ? 0 : boost::math::expint(1u, x);
}
double exponential_integral_2(double x) {
  HARDPAN_ASSERT(x > 0);
  return x > kVanishes ? 0 : boost::math::expint(2u, x);
}

}  // namespace hardpan::math
