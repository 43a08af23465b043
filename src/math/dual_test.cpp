// SPDX-License-Identifier: Apache-2.0
#include "math/dual.hpp"

#include <gtest/gtest.h>

#include <functional>
#include <limits>

namespace hardpan::math {
namespace {

using D = Dual<2>;

struct Unary {
  const char* name;
  std::function<double(double)> f;
  std::function<D(const D&)> dual;
};

template <class F>
Unary make_case(const char* name, F f) {
  return {name, [f](double x) { return f(x); }, [f](const D& x) { return f(x); }};
}

// Central differences with step h have a relative error of about (eps / h + h^2): 1e-9 at h = 1e-5.
TEST(Dual, EveryFunctionAgreesWithCentralDifferences) {
#define HARDPAN_CASE(text, expression)                                                        \
  make_case(text, [](const auto& x) {                                                         \
    using std::exp, std::expm1, std::log, std::log1p, std::sqrt, std::sin, std::cos, std::tan; \
    using std::asin, std::acos, std::atan, std::atan2, std::tanh, std::abs, std::pow, std::hypot; \
    return expression;                                                                        \
  })
  const Unary cases[] = {
      HARDPAN_CASE("exp", exp(x)),
      HARDPAN_CASE("expm1", expm1(x)),
      HARDPAN_CASE("log", log(x)),
      HARDPAN_CASE("log1p", log1p(x)),
      HARDPAN_CASE("sqrt", sqrt(x)),
      HARDPAN_CASE("sin", sin(x)),
      HARDPAN_CASE("cos", cos(x)),
      HARDPAN_CASE("tan", tan(x)),
      HARDPAN_CASE("asin", asin(x)),
      HARDPAN_CASE("acos", acos(x)),
      HARDPAN_CASE("atan", atan(x)),
      HARDPAN_CASE("tanh", tanh(x)),
      HARDPAN_CASE("abs of a negative", abs(x - 2.0)),
      HARDPAN_CASE("pow, constant exponent", pow(x, 0.83)),
      HARDPAN_CASE("pow, constant base", pow(1.7, x)),
      HARDPAN_CASE("pow, both", pow(x, x)),
      HARDPAN_CASE("hypot", hypot(x, 2.0 * x * x)),
      HARDPAN_CASE("atan2", atan2(x * x, x - 3.0)),
      HARDPAN_CASE("sums and differences", 3.0 - (x + 1.0) - (2.0 + x - x * x) + (-x)),
      HARDPAN_CASE("products and quotients", (2.0 * x) * (x * 3.0) / (x + 1.0) / 7.0 + 5.0 / x),
  };
#undef HARDPAN_CASE
  for (const Unary& c : cases) {
    for (const double x : {0.2, 0.55, 0.9}) {
      const double h = 1e-5, expected = (c.f(x + h) - c.f(x - h)) / (2 * h);
      const D y = c.dual(D::variable(x, 1));
      EXPECT_DOUBLE_EQ(y.v, c.f(x)) << c.name << " at " << x;
      EXPECT_NEAR(y.d[1], expected, 1e-8 * std::max(1.0, std::abs(expected))) << c.name << " at " << x;
      EXPECT_EQ(y.d[0], 0) << c.name;
    }
  }
}

TEST(Dual, PartialDerivativesStandInTheirOwnPlaces) {
  const D x = D::variable(3, 0), y = D::variable(4, 1);
  const D h = hypot(x, y);
  EXPECT_DOUBLE_EQ(h.d[0], 0.6);
  EXPECT_DOUBLE_EQ(h.d[1], 0.8);
  const D p = pow(x, y);  // y x^(y-1) = 108, x^y ln x
  EXPECT_DOUBLE_EQ(p.d[0], 108);
  EXPECT_DOUBLE_EQ(p.d[1], 81 * std::log(3.0));
  const D q = x / y;
  EXPECT_DOUBLE_EQ(q.d[0], 0.25);
  EXPECT_DOUBLE_EQ(q.d[1], -3.0 / 16);
  D sum = x;
  sum += y;
  sum *= x;
  sum -= 1.0;
  sum /= y;  // ((x + y) x - 1) / y
  EXPECT_DOUBLE_EQ(sum.v, 5);
  EXPECT_DOUBLE_EQ(sum.d[0], 10.0 / 4);
  EXPECT_DOUBLE_EQ(sum.d[1], 3.0 / 4 - 5.0 / 4);
}

TEST(Dual, SmallerAndLargerCarryTheSideTaken) {
  const D x = D::variable(1, 0), y = D::variable(2, 1);
  EXPECT_EQ(min(x, y).d[0], 1);
  EXPECT_EQ(max(x, y).d[1], 1);
  EXPECT_EQ(max(x, 1.5).v, 1.5);
  EXPECT_EQ(max(x, 1.5).d[0], 0);
  EXPECT_EQ(min(1.5, y).d[1], 0);
  EXPECT_TRUE(x < y && x <= 1.0 && 3.0 > y && x != y && y == 2.0);
}

TEST(Dual, PowersAtZeroHaveTheirOneSidedDerivatives) {
  const D zero = D::variable(0, 0);
  EXPECT_EQ(pow(zero, 2.5).d[0], 0);
  EXPECT_EQ(pow(zero, 1.0).d[0], 1);
  EXPECT_EQ(pow(zero, 0.0).d[0], 0);
  EXPECT_EQ(pow(zero, 0.5).d[0], std::numeric_limits<double>::infinity());
  EXPECT_EQ(pow(zero, D::variable(1.5, 1)).d[1], 0);
  EXPECT_FALSE(isfinite(sqrt(zero)));
  EXPECT_FALSE(isfinite(hypot(zero, zero)));
  EXPECT_TRUE(isfinite(exp(zero)));
}

}  // namespace
}  // namespace hardpan::math
