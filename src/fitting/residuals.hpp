// SPDX-License-Identifier: Apache-2.0
// The residuals of a fit, written once over the number type.
//
// Give one callable that works for T = double and T = Number (values with derivatives): with
// `using std::exp;` and unqualified calls nothing else is needed. A model that has no answer at the parameters
// it is given leaves NaN; the solver then takes a shorter step.
//
//   Residuals power_law = Residuals::each(z_m.size(), [&]<class T>(std::size_t i, std::span<const T> p) {
//     using std::pow;
//     return (p[0] * pow(z_m[i], p[1]) - p_pa[i]) / sd_pa[i];
//   });
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <utility>

#include "math/dual.hpp"

namespace hardpan::fitting {

// Eight derivatives at a time: problems of more parameters are evaluated in several passes.
inline constexpr int kDerivativesPerPass = 8;
using Number = math::Dual<kDerivativesPerPass>;

class Residuals {
 public:
  // f(std::span<const T> parameters, std::span<T> out): fills all `count` residuals.
  template <class F>
  [[nodiscard]] static Residuals all(std::size_t count, F f) {
    Residuals out;
    out.count_ = count;
    out.plain_ = [f](std::span<const double> p, std::span<double> r) { f(p, r); };
    out.dual_ = [f = std::move(f)](std::span<const Number> p, std::span<Number> r) { f(p, r); };
    return out;
  }
  // f(std::size_t i, std::span<const T> parameters) -> T: residual i.
  template <class F>
  [[nodiscard]] static Residuals each(std::size_t count, F f) {
    return all(count, [f = std::move(f)]<class T>(std::span<const T> p, std::span<T> r) {
      for (std::size_t i = 0; i < r.size(); ++i) r[i] = f(i, p);
    });
  }

  [[nodiscard]] std::size_t count() const { return count_; }
  void operator()(std::span<const double> p, std::span<double> r) const { plain_(p, r); }
  void operator()(std::span<const Number> p, std::span<Number> r) const { dual_(p, r); }

 private:
  std::size_t count_ = 0;
  std::function<void(std::span<const double>, std::span<double>)> plain_;
  std::function<void(std::span<const Number>, std::span<Number>)> dual_;
};

}  // namespace hardpan::fitting
