// SPDX-License-Identifier: Apache-2.0
// The operations the wheel kernel asks of its number type, for double and for math::Dual.
#pragma once

#include <cmath>

#include "math/dual.hpp"

namespace hardpan::contact::plain {

inline double exponential(double x) { return std::exp(x); }
inline double logarithm(double x) { return std::log(x); }
inline double square_root(double x) { return std::sqrt(x); }
inline double arc_tangent(double x) { return std::atan(x); }
inline double smaller(double a, double b) { return b < a ? b : a; }
inline double larger(double a, double b) { return b > a ? b : a; }
inline double magnitude(double a) { return std::fabs(a); }
inline double multiply_add(double a, double b, double c) { return a * b + c; }
inline double choose(bool first, double a, double b) { return first ? a : b; }
inline double with_sign_of(double size, double sign) { return std::copysign(size, sign); }
inline bool both(bool a, bool b) { return a && b; }
inline bool any_positive(double a) { return a > 0; }

template <int N>
using Dual = math::Dual<N>;
template <int N>
Dual<N> exponential(const Dual<N>& x) { return exp(x); }
template <int N>
Dual<N> logarithm(const Dual<N>& x) { return log(x); }
template <int N>
Dual<N> square_root(const Dual<N>& x) { return sqrt(x); }
template <int N>
Dual<N> arc_tangent(const Dual<N>& x) { return atan(x); }
template <int N>
Dual<N> smaller(const Dual<N>& a, const Dual<N>& b) { return min(a, b); }
template <int N>
Dual<N> larger(const Dual<N>& a, const Dual<N>& b) { return max(a, b); }
template <int N>
Dual<N> magnitude(const Dual<N>& a) { return abs(a); }
template <int N>
Dual<N> multiply_add(const Dual<N>& a, const Dual<N>& b, const Dual<N>& c) { return a * b + c; }
template <int N>
Dual<N> choose(bool first, const Dual<N>& a, const Dual<N>& b) { return first ? a : b; }
template <int N>
Dual<N> with_sign_of(const Dual<N>& size, const Dual<N>& sign) { return sign < 0 ? -abs(size) : abs(size); }
template <int N>
bool any_positive(const Dual<N>& a) { return a > 0; }

}  // namespace hardpan::contact::plain
