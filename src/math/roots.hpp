// SPDX-License-Identifier: Apache-2.0
// Roots and maxima of functions of one variable. Templates: no allocation, no virtual call.
//
//   find_root                  value and slope known; safeguarded Newton, the one for inner loops
//   find_root_no_derivative    value only; bracket and inverse quadratic interpolation
//   first_bracket              scans for the first sign change
//   maximise                   largest value inside an interval, one hump; maximise_scan for several
//
// "Converged" means that the test named in the settings passed. When a root is wanted where f jumps
// over zero, the bracket closes without the residual test passing and the status is "stalled".
//
//   const auto entry = find_root([&](double t) { return ValueSlope{load(t) - w, dload(t)}; },
//                                0.0, 1.5, 0.3, {.residual_tolerance = 1e-8 * w, .residual_unit = "N"});
//   if (!entry.report.converged()) return refuse(entry.report);
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "base/solve.hpp"

namespace hardpan::math {

struct ValueSlope {
  double value;
  double slope;
};

struct RootSettings {
  // Passed when |f| <= residual_tolerance. 0: the test is on x alone, below.
  double residual_tolerance = 0;
  // With a residual test: the bracket width below which no further step is tried ("stalled"). Without:
  // passed when a bracket with a sign change is not wider. 0 means 4 roundings of |x|.
  double x_tolerance = 0;
  // The bracket is halved at least once in three steps, and 52 halvings close it to the last digit.
  int max_steps = 200;
  const char* residual_unit = "";  // unit of f, or of x when the test is on x
};

struct Root {
  // NaN unless the report says converged.
  double x = std::numeric_limits<double>::quiet_NaN();
  base::SolveReport report;
  // Best point reached, for messages and for warm starts; never a result by itself.
  double best_x = std::numeric_limits<double>::quiet_NaN();
  // Last bracket with a sign change; NaN when none was needed or found.
  double lo = std::numeric_limits<double>::quiet_NaN();
  double hi = std::numeric_limits<double>::quiet_NaN();
};

namespace detail {

// Signs are compared, never multiplied: a product of small values underflows to zero.
inline bool opposite_signs(double a, double b) { return (a < 0 && b > 0) || (a > 0 && b < 0); }

inline double closest_width(const RootSettings& settings, double x) {
  return settings.x_tolerance > 0 ? settings.x_tolerance
                                  : 4 * std::numeric_limits<double>::epsilon() * std::abs(x);
}

inline Root finished(Root out, base::SolveStatus status, double x, double residual,
                     const RootSettings& settings, double tolerance) {
  out.report.status = status;
  out.report.residual = residual;
  out.report.tolerance = tolerance;
  out.report.residual_unit = settings.residual_unit;
  out.best_x = x;
  if (status == base::SolveStatus::converged) out.x = x;
  return out;
}

}  // namespace detail

// f(x) -> ValueSlope on [lo, hi], guess inside (a guess outside is moved to the middle). Newton steps
// are taken as long as each at least halves |f| and stays inside; only when one does not are the ends evaluated
// and the sign change kept bracketed from then on. From a good guess: 2 to 4 evaluations, none at the ends.
template <class F>
[[nodiscard]] Root find_root(F&& f, double lo, double hi, double guess, const RootSettings& settings);

// f(x) -> double; f(lo) and f(hi) of opposite signs or zero. [Chandrupatla1997]
template <class F>
[[nodiscard]] Root find_root_no_derivative(F&& f, double lo, double hi, const RootSettings& settings);

struct Bracket {
  double lo;
  double hi;
};
// The first of `pieces` equal parts of [lo, hi] over which f changes sign or at whose end it is zero;
// values that are not finite are skipped. Absent: no change seen at this spacing.
template <class F>
[[nodiscard]] std::optional<Bracket> first_bracket(F&& f, double lo, double hi, int pieces);

struct MaximumSettings {
  // Passed when the maximum is known to lie within this distance of x; unit of x; > 0. Below about 1e-8 of the
  // interval the values of f cannot tell points apart (half the digits of double).
  double x_tolerance;
  int max_steps = 200;
  const char* x_unit = "";
};
struct Maximum {
  double x = std::numeric_limits<double>::quiet_NaN();      // NaN unless converged, as is value
  double value = std::numeric_limits<double>::quiet_NaN();
  bool at_lower_end = false;  // within the tolerance of an end of the interval: perhaps no maximum
  bool at_upper_end = false;  // at all but still rising there
  base::SolveReport report;   // residual and tolerance are on x
};
// [Brent1973], section 5: golden section with parabolic steps. Finds a local maximum; it is the
// largest value only when f has one hump in [lo, hi].
template <class F>
[[nodiscard]] Maximum maximise(F&& f, double lo, double hi, const MaximumSettings& settings);
// Evaluates f at pieces + 1 equally spaced points, then refines around the largest: finds the highest hump
// that is wider than the spacing.
template <class F>
[[nodiscard]] Maximum maximise_scan(F&& f, double lo, double hi, int pieces, const MaximumSettings& settings);

// ---------------------------------------------------------------------------------------------

template <class F>
Root find_root(F&& f, double lo, double hi, double guess, const RootSettings& settings) {
  using base::SolveStatus;
  Root out;
  const bool on_residual = settings.residual_tolerance > 0;
  const auto evaluate = [&](double at) {
    ++out.report.evaluations;
    return ValueSlope(f(at));
  };
  const auto passed = [&](const ValueSlope& v) {
    return on_residual ? std::abs(v.value) <= settings.residual_tolerance : v.value == 0;
  };
  const auto done = [&](SolveStatus status, double x, double residual) {
    const double tolerance = on_residual ? settings.residual_tolerance : detail::closest_width(settings, x);
    return detail::finished(out, status, x, residual, settings, tolerance);
  };
  if (!(lo <= hi)) return done(SolveStatus::not_finite, guess, std::numeric_limits<double>::quiet_NaN());

  // Newton from the guess, without a bracket, while it goes well.
  double x = guess > lo && guess < hi ? guess : lo + 0.5 * (hi - lo);
  ValueSlope at_x = evaluate(x);
  while (std::isfinite(at_x.value) && out.report.steps < settings.max_steps) {
    if (passed(at_x)) return done(SolveStatus::converged, x, on_residual ? std::abs(at_x.value) : 0.0);
    const double next = x - at_x.value / at_x.slope;
    if (!(next > lo && next < hi)) break;
    // Without a bracket a step on x alone proves nothing: the bracketed phase decides.
    if (!on_residual && std::abs(next - x) <= detail::closest_width(settings, x)) break;
    const ValueSlope at_next = evaluate(next);
    ++out.report.steps;
    const bool good = std::abs(at_next.value) <= 0.5 * std::abs(at_x.value);
    if (good || std::abs(at_next.value) < std::abs(at_x.value)) {
      x = next;
      at_x = at_next;
    }
    if (!good) break;
  }

  // Bracketed: keep opposite signs at the ends, bisect when Newton leaves or does not halve the bracket
  // in two steps.
  double a = lo, b = hi;
  const ValueSlope at_a = evaluate(a);
  if (passed(at_a)) return done(SolveStatus::converged, a, std::abs(at_a.value));
  const ValueSlope at_b = evaluate(b);
  if (passed(at_b)) return done(SolveStatus::converged, b, std::abs(at_b.value));
  if (!std::isfinite(at_a.value) || !std::isfinite(at_b.value)) {
    return done(SolveStatus::not_finite, x, std::numeric_limits<double>::quiet_NaN());
  }
  if (!detail::opposite_signs(at_a.value, at_b.value)) {
    const double least = std::min({std::abs(at_a.value), std::abs(at_b.value),
                                   std::isfinite(at_x.value) ? std::abs(at_x.value) : std::abs(at_a.value)});
    return done(SolveStatus::not_bracketed, x, least);
  }
  double width_two_ago = 2 * (b - a), width_before = b - a;
  if (!std::isfinite(at_x.value)) {
    x = a + 0.5 * (b - a);
    at_x = evaluate(x);
  }
  while (true) {
    if (!std::isfinite(at_x.value)) {
      return done(SolveStatus::not_finite, x, std::numeric_limits<double>::quiet_NaN());
    }
    (detail::opposite_signs(at_x.value, at_a.value) ? b : a) = x;
    out.lo = a;
    out.hi = b;
    if (passed(at_x)) return done(SolveStatus::converged, x, on_residual ? std::abs(at_x.value) : 0.0);
    const double width = b - a, closest = detail::closest_width(settings, x);
    if (width <= closest) {
      if (!on_residual) return done(SolveStatus::converged, x, width);
      return done(SolveStatus::stalled, x, std::abs(at_x.value));
    }
    if (out.report.steps >= settings.max_steps) {
      return done(SolveStatus::out_of_steps, x, on_residual ? std::abs(at_x.value) : width);
    }
    double next = x - at_x.value / at_x.slope;
    if (!(next > a && next < b) || width > 0.5 * width_two_ago) {
      next = a + 0.5 * width;
    } else if (!on_residual && std::abs(next - x) < closest) {
      // Step over the root by the tolerance, so that the bracket closes from the other side.
      next = x == a ? std::min(x + 0.9 * closest, a + 0.5 * width) : std::max(x - 0.9 * closest, a + 0.5 * width);
    }
    if (next == x || next <= a || next >= b) next = a + 0.5 * width;
    if (next <= a || next >= b) return done(SolveStatus::stalled, x, on_residual ? std::abs(at_x.value) : width);
    width_two_ago = width_before;
    width_before = width;
    x = next;
    at_x = evaluate(x);
    ++out.report.steps;
  }
}

template <class F>
Root find_root_no_derivative(F&& f, double lo, double hi, const RootSettings& settings) {
  // [Chandrupatla1997]: T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149. x1 is the newest point, x2 the end of
  // the bracket opposite to it, x3 the point before; t is where in (x1, x2) the next one goes.
  using base::SolveStatus;
  Root out;
  const bool on_residual = settings.residual_tolerance > 0;
  const auto evaluate = [&](double at) {
    ++out.report.evaluations;
    return static_cast<double>(f(at));
  };
  const auto passed = [&](double v) {
    return on_residual ? std::abs(v) <= settings.residual_tolerance : v == 0;
  };
  const auto done = [&](SolveStatus status, double x, double residual) {
    const double tolerance = on_residual ? settings.residual_tolerance : detail::closest_width(settings, x);
    return detail::finished(out, status, x, residual, settings, tolerance);
  };
  double x1 = hi, x2 = lo, f1 = evaluate(hi), f2 = evaluate(lo);
  if (passed(f2)) return done(SolveStatus::converged, x2, std::abs(f2));
  if (passed(f1)) return done(SolveStatus::converged, x1, std::abs(f1));
  if (!std::isfinite(f1) || !std::isfinite(f2)) {
    return done(SolveStatus::not_finite, lo, std::numeric_limits<double>::quiet_NaN());
  }
  if (!detail::opposite_signs(f1, f2)) {
    return done(SolveStatus::not_bracketed, std::abs(f1) < std::abs(f2) ? x1 : x2,
                std::min(std::abs(f1), std::abs(f2)));
  }
  double x3 = x1, f3 = f1, t = 0.5;
  while (true) {
    const double x = x1 + t * (x2 - x1), fx = evaluate(x);
    ++out.report.steps;
    if (!std::isfinite(fx)) return done(SolveStatus::not_finite, x, std::numeric_limits<double>::quiet_NaN());
    if (detail::opposite_signs(fx, f1)) {
      x3 = x2, f3 = f2, x2 = x1, f2 = f1;
    } else {
      x3 = x1, f3 = f1;
    }
    x1 = x, f1 = fx;
    const bool first_is_best = std::abs(f1) < std::abs(f2);
    const double best = first_is_best ? x1 : x2, f_best = first_is_best ? f1 : f2;
    out.lo = std::min(x1, x2);
    out.hi = std::max(x1, x2);
    const double width = std::abs(x2 - x1), closest = detail::closest_width(settings, best);
    if (passed(f_best)) return done(SolveStatus::converged, best, on_residual ? std::abs(f_best) : 0.0);
    if (width <= closest) {
      if (!on_residual) return done(SolveStatus::converged, best, width);
      return done(SolveStatus::stalled, best, std::abs(f_best));
    }
    if (out.report.steps >= settings.max_steps) {
      return done(SolveStatus::out_of_steps, best, on_residual ? std::abs(f_best) : width);
    }
    const double xi = (x1 - x2) / (x3 - x2), phi = (f1 - f2) / (f3 - f2);
    t = 0.5;
    if (phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi) {  // inverse quadratic stays inside
      t = (f1 / (f2 - f1)) * (f3 / (f2 - f3)) +
          ((x3 - x1) / (x2 - x1)) * (f1 / (f3 - f1)) * (f2 / (f3 - f2));
    }
    const double edge = 0.5 * closest / width;
    t = std::clamp(t, std::min(edge, 0.5), std::max(1 - edge, 0.5));
  }
}

template <class F>
std::optional<Bracket> first_bracket(F&& f, double lo, double hi, int pieces) {
  std::optional<double> before_x, before_f;
  for (int i = 0; i <= pieces; ++i) {
    const double x = i == pieces ? hi : lo + (hi - lo) * i / pieces, fx = f(x);
    if (!std::isfinite(fx)) {
      before_x.reset();
      continue;
    }
    if (before_x && (detail::opposite_signs(*before_f, fx) || *before_f == 0 || fx == 0)) {
      return Bracket{*before_x, x};
    }
    before_x = x;
    before_f = fx;
  }
  return std::nullopt;
}

template <class F>
Maximum maximise(F&& f, double lo, double hi, const MaximumSettings& settings) {
  using base::SolveStatus;
  constexpr double kGolden = 0.3819660112501051;  // (3 - sqrt 5) / 2
  Maximum out;
  out.report.tolerance = settings.x_tolerance;
  out.report.residual_unit = settings.x_unit;
  double a = lo, b = hi;
  double x = a + kGolden * (b - a), w = x, v = x;  // best, second best, the one before
  double fx = -f(x), fw = fx, fv = fx;
  double step = 0, step_before = 0;
  out.report.evaluations = 1;
  while (true) {
    const double middle = a + 0.5 * (b - a);
    const double tol = std::max(0.5 * settings.x_tolerance, 2 * std::numeric_limits<double>::epsilon() * std::abs(x));
    out.report.residual = std::max(x - a, b - x);
    if (!std::isfinite(fx)) {
      out.report.status = SolveStatus::not_finite;
      return out;
    }
    if (out.report.residual <= 2 * tol) {
      if (out.report.residual <= settings.x_tolerance) break;
      out.report.status = SolveStatus::stalled;
      return out;
    }
    if (out.report.steps >= settings.max_steps) {
      out.report.status = SolveStatus::out_of_steps;
      return out;
    }
    bool parabola = false;
    if (std::abs(step_before) > tol) {
      const double r = (x - w) * (fx - fv), q0 = (x - v) * (fx - fw);
      double p = (x - v) * q0 - (x - w) * r, q = 2 * (q0 - r);
      (q > 0 ? p : q) *= -1;
      if (std::abs(p) < std::abs(0.5 * q * step_before) && p > q * (a - x) && p < q * (b - x)) {
        step_before = step;
        step = p / q;
        const double u = x + step;
        if (u - a < 2 * tol || b - u < 2 * tol) step = x < middle ? tol : -tol;
        parabola = true;
      }
    }
    if (!parabola) {
      step_before = x < middle ? b - x : a - x;
      step = kGolden * step_before;
    }
    const double u = x + (std::abs(step) >= tol ? step : (step > 0 ? tol : -tol));
    const double fu = -f(u);
    ++out.report.evaluations;
    ++out.report.steps;
    if (!std::isfinite(fu)) {
      out.report.status = SolveStatus::not_finite;
      return out;
    }
    if (fu <= fx) {
      (u < x ? b : a) = x;
      v = w, fv = fw, w = x, fw = fx, x = u, fx = fu;
    } else {
      (u < x ? a : b) = u;
      if (fu <= fw || w == x) {
        v = w, fv = fw, w = u, fw = fu;
      } else if (fu <= fv || v == x || v == w) {
        v = u, fv = fu;
      }
    }
  }
  // The search never evaluates the ends; a function that rises to one has its maximum there.
  const double f_lo = -f(lo), f_hi = -f(hi);
  out.report.evaluations += 2;
  out.at_lower_end = x - lo <= settings.x_tolerance;
  out.at_upper_end = hi - x <= settings.x_tolerance;
  if (out.at_lower_end && f_lo <= fx) x = lo, fx = f_lo;
  if (out.at_upper_end && f_hi <= fx) x = hi, fx = f_hi;
  out.report.status = SolveStatus::converged;
  out.x = x;
  out.value = -fx;
  return out;
}

template <class F>
Maximum maximise_scan(F&& f, double lo, double hi, int pieces, const MaximumSettings& settings) {
  int best = -1;
  double largest = -std::numeric_limits<double>::infinity();
  const auto place = [&](int i) { return i == pieces ? hi : lo + (hi - lo) * i / pieces; };
  for (int i = 0; i <= pieces; ++i) {
    const double fx = f(place(i));
    if (std::isfinite(fx) && fx > largest) {
      largest = fx;
      best = i;
    }
  }
  if (best < 0) {
    Maximum out;
    out.report.evaluations = pieces + 1;
    return out;  // status: not finite
  }
  Maximum out = maximise(f, place(std::max(best - 1, 0)), place(std::min(best + 1, pieces)), settings);
  out.report.evaluations += pieces + 1;
  // An end of the refined piece is an end of the interval only if it stands there.
  out.at_lower_end = out.at_lower_end && best <= 1 && out.x - lo <= settings.x_tolerance;
  out.at_upper_end = out.at_upper_end && best >= pieces - 1 && hi - out.x <= settings.x_tolerance;
  return out;
}

}  // namespace hardpan::math
