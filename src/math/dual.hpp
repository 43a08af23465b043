// SPDX-License-Identifier: Apache-2.0
// Dual<N>: a number with its derivatives with respect to N variables, carried forward through every
// operation (forward-mode automatic differentiation, [Griewank2008] chapter 3).
//
// Write a model once as a template over the number type, with `using std::exp;` and unqualified
// calls; `double` gives values, `Dual<N>` values and exact derivatives. Comparisons look at values only, so a
// branch differentiates the side taken. Where a derivative does not exist (sqrt at 0, hypot at the origin) it is infinite
// or NaN, never a made-up number. No allocation.
//
//   const auto x = Dual<2>::variable(3.0, 0), y = Dual<2>::variable(4.0, 1);
//   hypot(x, y).d[0];  // 0.6
#pragma once

#include <array>
#include <cmath>
#include <cstddef>

namespace hardpan::math {

template <int N>
struct Dual {
  double v = 0;
  std::array<double, N> d{};

  constexpr Dual() = default;
  constexpr Dual(double value) : v(value) {}  // NOLINT: a constant is a dual number
  [[nodiscard]] static constexpr Dual variable(double value, int index) {
    Dual out(value);
    out.d[static_cast<std::size_t>(index)] = 1;
    return out;
  }

  constexpr Dual& operator+=(const Dual& b);
  constexpr Dual& operator-=(const Dual& b);
  constexpr Dual& operator*=(const Dual& b);
  constexpr Dual& operator/=(const Dual& b);
};

// The plain number inside, for messages, branches and tables; also for double itself.
[[nodiscard]] constexpr double value(double x) { return x; }
template <int N>
[[nodiscard]] constexpr double value(const Dual<N>& x) {
  return x.v;
}

namespace detail {

// f(x) with f'(x) = slope; f(x, y) with partial slopes (chain rule).
template <int N>
constexpr Dual<N> chain(const Dual<N>& x, double f, double slope) {
  Dual<N> out(f);
  for (std::size_t i = 0; i < N; ++i) out.d[i] = slope * x.d[i];
  return out;
}
template <int N>
constexpr Dual<N> chain(const Dual<N>& x, const Dual<N>& y, double f, double fx, double fy) {
  Dual<N> out(f);
  for (std::size_t i = 0; i < N; ++i) out.d[i] = fx * x.d[i] + fy * y.d[i];
  return out;
}

}  // namespace detail

template <int N>
constexpr Dual<N> operator+(const Dual<N>& a) { return a; }
template <int N>
constexpr Dual<N> operator-(const Dual<N>& a) { return detail::chain(a, -a.v, -1); }

template <int N>
constexpr Dual<N> operator+(const Dual<N>& a, const Dual<N>& b) { return detail::chain(a, b, a.v + b.v, 1, 1); }
template <int N>
constexpr Dual<N> operator+(const Dual<N>& a, double b) { return detail::chain(a, a.v + b, 1); }
template <int N>
constexpr Dual<N> operator+(double a, const Dual<N>& b) { return detail::chain(b, a + b.v, 1); }

template <int N>
constexpr Dual<N> operator-(const Dual<N>& a, const Dual<N>& b) { return detail::chain(a, b, a.v - b.v, 1, -1); }
template <int N>
constexpr Dual<N> operator-(const Dual<N>& a, double b) { return detail::chain(a, a.v - b, 1); }
template <int N>
constexpr Dual<N> operator-(double a, const Dual<N>& b) { return detail::chain(b, a - b.v, -1); }

template <int N>
constexpr Dual<N> operator*(const Dual<N>& a, const Dual<N>& b) { return detail::chain(a, b, a.v * b.v, b.v, a.v); }
template <int N>
constexpr Dual<N> operator*(const Dual<N>& a, double b) { return detail::chain(a, a.v * b, b); }
template <int N>
constexpr Dual<N> operator*(double a, const Dual<N>& b) { return detail::chain(b, a * b.v, a); }

template <int N>
constexpr Dual<N> operator/(const Dual<N>& a, const Dual<N>& b) {
  const double quotient = a.v / b.v;
  return detail::chain(a, b, quotient, 1 / b.v, -quotient / b.v);
}
template <int N>
constexpr Dual<N> operator/(const Dual<N>& a, double b) { return detail::chain(a, a.v / b, 1 / b); }
template <int N>
constexpr Dual<N> operator/(double a, const Dual<N>& b) {
  const double quotient = a / b.v;
  return detail::chain(b, quotient, -quotient / b.v);
}

template <int N>
constexpr Dual<N>& Dual<N>::operator+=(const Dual& b) { return *this = *this + b; }
template <int N>
constexpr Dual<N>& Dual<N>::operator-=(const Dual& b) { return *this = *this - b; }
template <int N>
constexpr Dual<N>& Dual<N>::operator*=(const Dual& b) { return *this = *this * b; }
template <int N>
constexpr Dual<N>& Dual<N>::operator/=(const Dual& b) { return *this = *this / b; }

// Comparisons of values, in every mix with double.
#define HARDPAN_DUAL_COMPARE(op)                                                              \
  template <int N>                                                                            \
  constexpr bool operator op(const Dual<N>& a, const Dual<N>& b) { return a.v op b.v; }       \
  template <int N>                                                                            \
  constexpr bool operator op(const Dual<N>& a, double b) { return a.v op b; }                 \
  template <int N>                                                                            \
  constexpr bool operator op(double a, const Dual<N>& b) { return a op b.v; }
HARDPAN_DUAL_COMPARE(<)
HARDPAN_DUAL_COMPARE(>)
HARDPAN_DUAL_COMPARE(<=)
HARDPAN_DUAL_COMPARE(>=)
HARDPAN_DUAL_COMPARE(==)
HARDPAN_DUAL_COMPARE(!=)
#undef HARDPAN_DUAL_COMPARE

template <int N>
Dual<N> exp(const Dual<N>& x) {
  const double e = std::exp(x.v);
  return detail::chain(x, e, e);
}
template <int N>
Dual<N> expm1(const Dual<N>& x) { return detail::chain(x, std::expm1(x.v), std::exp(x.v)); }
template <int N>
Dual<N> log(const Dual<N>& x) { return detail::chain(x, std::log(x.v), 1 / x.v); }
template <int N>
Dual<N> log1p(const Dual<N>& x) { return detail::chain(x, std::log1p(x.v), 1 / (1 + x.v)); }
template <int N>
Dual<N> sqrt(const Dual<N>& x) {
  const double root = std::sqrt(x.v);
  return detail::chain(x, root, 0.5 / root);
}
template <int N>
Dual<N> sin(const Dual<N>& x) { return detail::chain(x, std::sin(x.v), std::cos(x.v)); }
template <int N>
Dual<N> cos(const Dual<N>& x) { return detail::chain(x, std::cos(x.v), -std::sin(x.v)); }
template <int N>
Dual<N> tan(const Dual<N>& x) {
  const double t = std::tan(x.v);
  return detail::chain(x, t, 1 + t * t);
}
template <int N>
Dual<N> asin(const Dual<N>& x) { return detail::chain(x, std::asin(x.v), 1 / std::sqrt((1 - x.v) * (1 + x.v))); }
template <int N>
Dual<N> acos(const Dual<N>& x) { return detail::chain(x, std::acos(x.v), -1 / std::sqrt((1 - x.v) * (1 + x.v))); }
template <int N>
Dual<N> atan(const Dual<N>& x) { return detail::chain(x, std::atan(x.v), 1 / (1 + x.v * x.v)); }
template <int N>
Dual<N> atan2(const Dual<N>& y, const Dual<N>& x) {
  const double squares = x.v * x.v + y.v * y.v;
  return detail::chain(y, x, std::atan2(y.v, x.v), x.v / squares, -y.v / squares);
}
template <int N>
Dual<N> tanh(const Dual<N>& x) {
  const double t = std::tanh(x.v);
  return detail::chain(x, t, (1 - t) * (1 + t));
}
template <int N>
Dual<N> hypot(const Dual<N>& x, const Dual<N>& y) {
  const double h = std::hypot(x.v, y.v);
  return detail::chain(x, y, h, x.v / h, y.v / h);
}
template <int N>
Dual<N> abs(const Dual<N>& x) { return x.v < 0 ? -x : x; }

// x^p. At x = 0 the derivative is 0 for p > 1, 1 for p = 1 and infinite for p < 1; x^0 = 1 has
// derivative 0 everywhere. A variable exponent asks for x > 0, or x = 0 with p > 0.
template <int N>
Dual<N> pow(const Dual<N>& x, double p) {
  return detail::chain(x, std::pow(x.v, p), p == 0 ? 0 : p * std::pow(x.v, p - 1));
}
template <int N>
Dual<N> pow(double x, const Dual<N>& p) {
  const double f = std::pow(x, p.v);
  return detail::chain(p, f, x == 0 && p.v > 0 ? 0 : f * std::log(x));
}
template <int N>
Dual<N> pow(const Dual<N>& x, const Dual<N>& p) {
  const double f = std::pow(x.v, p.v);
  return detail::chain(x, p, f, p.v == 0 ? 0 : p.v * std::pow(x.v, p.v - 1),
                       x.v == 0 && p.v > 0 ? 0 : f * std::log(x.v));
}

// The smaller, the larger; the first argument where they are equal.
template <int N>
constexpr Dual<N> min(const Dual<N>& a, const Dual<N>& b) { return b.v < a.v ? b : a; }
template <int N>
constexpr Dual<N> min(const Dual<N>& a, double b) { return b < a.v ? Dual<N>(b) : a; }
template <int N>
constexpr Dual<N> min(double a, const Dual<N>& b) { return b.v < a ? b : Dual<N>(a); }
template <int N>
constexpr Dual<N> max(const Dual<N>& a, const Dual<N>& b) { return a.v < b.v ? b : a; }
template <int N>
constexpr Dual<N> max(const Dual<N>& a, double b) { return a.v < b ? Dual<N>(b) : a; }
template <int N>
constexpr Dual<N> max(double a, const Dual<N>& b) { return a < b.v ? b : Dual<N>(a); }

template <int N>
bool isfinite(const Dual<N>& x) {
  for (const double slope : x.d) {
    if (!std::isfinite(slope)) return false;
  }
  return std::isfinite(x.v);
}

}  // namespace hardpan::math
