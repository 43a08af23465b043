// SPDX-License-Identifier: Apache-2.0
#include "contact/detail/load_curve.hpp"

#include <algorithm>
#include <cmath>

#include "contact/detail/plain_number.hpp"

namespace hardpan::contact::plain {

using detail::Direction;
using detail::Frame;
using detail::Plan;
using detail::Rule;
using detail::Sums;

#include "contact/detail/wheel_kernel.ipp"

// Picks the instance of the kernel that a wheel needs.
template <bool kAll, class T>
Sums<T> sums(const Frame<double>& frame, const Plan& plan, const T& undeflected, const Rule& rule) {
  const auto with = [&]<Direction kDirection>() {
    return plan.switches ? sums_over_arc<kDirection, true, kAll>(frame, plan, undeflected, rule)
                         : sums_over_arc<kDirection, false, kAll>(frame, plan, undeflected, rule);
  };
  switch (plan.direction) {
    case Direction::forward: return with.template operator()<Direction::forward>();
    case Direction::reversing: return with.template operator()<Direction::reversing>();
    case Direction::oblique: return with.template operator()<Direction::oblique>();
    case Direction::sliding: break;
  }
  return with.template operator()<Direction::sliding>();
}

}  // namespace hardpan::contact::plain

namespace hardpan::contact::detail {

double LoadCurve::load_n(double undeflected, const Rule& rule) const {
  const Sums<double> s = plain::sums<false>(frame, plan, undeflected, rule);
  return width_m * s.radius * s.load;
}

LoadAndRate LoadCurve::load_and_rate(double undeflected, const Rule& rule) const {
  const auto s = plain::sums<false>(frame, plan, plain::Rate<double>{undeflected, 1.0}, rule);
  const auto load = s.radius * s.load;
  return {width_m * load.v, width_m * load.d};
}

Sums<double> LoadCurve::sums(double undeflected, const Rule& rule) const {
  return plain::sums<true>(frame, plan, undeflected, rule);
}

Shape shape_of(const LoadCurve& curve, double undeflected) {
  const auto arc = plain::arc_of(curve.frame, curve.plan, undeflected);
  return {arc.radius, arc.entry, arc.exit, arc.peak, arc.depth};
}

namespace {

// Upper bound of the shear travel over K on the contact: it sets how thin the layer behind the entry is in
// which the shear stress rises, and by that the nodes.
double travel_bound(const LoadCurve& curve, double undeflected) {
  const Frame<double>& f = curve.frame;
  double entry = undeflected, radius = f.radius;
  if (curve.plan.flexible) {
    const Shape shape = shape_of(curve, undeflected);
    entry = shape.entry_rad;
    radius = shape.radius_m;
  }
  const double behind = curve.plan.rebounds ? 1 : f.exit_ratio;
  const double turned = entry * (1 + behind);
  const double gap = entry * entry * entry / 6;
  const double along = std::fabs(f.travel_a - f.travel_b) * turned + f.travel_b * gap * (1 + behind * behind * behind);
  return (radius + f.grouser) * f.inverse_k * std::hypot(along, f.travel_side * turned);
}

}  // namespace

// Measured over 30,000 random wheels with n from 0.3 to 1.6, each integral relative to the integral of its
// absolute value (docs/theory/contact.md, table 1): largest error 7e-9, 99 of 100 below 4e-9.
int rule_count(const LoadCurve& curve, double undeflected) {
  const double y = travel_bound(curve, undeflected);
  const int count = y < 5.6 ? 12 : y < 11 ? 14 : y < 16 ? 16 : y < 32 ? 18 : y < 90 ? 20 : y < 700 ? 24 : 28;
  return curve.plan.direction == Direction::oblique ? std::max(count, y < 8 ? 18 : y < 60 ? 20 : 24) : count;
}

double largest_travel_m(const LoadCurve& curve, const Sums<double>& at) {
  const Frame<double>& f = curve.frame;
  const double scale = (at.radius + f.grouser) / f.travel_a;
  if (!std::isfinite(scale)) return std::numeric_limits<double>::infinity();
  const auto entry = plain::turn_of(at.entry);
  const auto travel = [&](double th) {
    const double jx = plain::travel_of(f, at.entry - th, entry.gap - plain::turn_of(th).gap);
    return std::hypot(jx, f.travel_side * (at.entry - th)) * scale;
  };
  double most = travel(at.exit);
  if (f.reversal < at.entry) most = std::max(most, travel(f.reversal));
  return most;
}

namespace {

constexpr double kLoadTolerance = 1e-10;  // of the load: a hundredth of the 1e-8 asked of the answer
constexpr int kMostSteps = 60;

// Power-law estimate for small angles and no friction (theory page, eq. 20), then Newton does the rest.
double first_guess(const LoadCurve& curve, double load_n) {
  const Frame<double>& f = curve.frame;
  const double n = f.n, m = f.peak_ratio, w = 1 - m;
  const double rear = (m + f.exit_ratio) / w;
  const double shape = (1 + rear) * w * std::pow(w * (2 - w * (n + 1) / (n + 2)), n) / (n + 1);
  // width k z^n (sqrt(2 r (z + f)) + sqrt(2 r f)) shape = load, in ln z
  const double target = std::log(load_n / (curve.width_m * f.k * shape));
  const double r2 = 2 * f.radius, carcass = std::sqrt(r2 * f.deflection);
  double ln_z = (target - 0.5 * std::log(r2)) / (n + 0.5);
  if (f.deflection > 0) {
    ln_z = std::min(ln_z, (target - std::log(2 * carcass)) / n);
    for (int i = 0; i < 4; ++i) {
      const double z = std::exp(ln_z), front = std::sqrt(r2 * (z + f.deflection));
      const double value = n * ln_z + std::log(front + carcass) - target;
      ln_z -= value / (n + r2 * z / (2 * front * (front + carcass)));
    }
  }
  const double z = std::exp(ln_z);
  return std::sqrt(2 * z / f.radius);
}

struct Search {
  const LoadCurve& curve;
  double load;
  int steps = 0, evaluations = 0;

  double value(double t, const Rule& rule) {
    ++evaluations;
    return curve.load_n(t, rule);
  }

  // Newton in ln load over ln angle, held between `low` (load below) and `high` (load above or the end
  // of the range). False: no rising root was met there.
  bool refine(double t, double low, double high, bool high_known, Root& root) {
    const double first_low = low, first_high = high;
    const bool first_known = high_known;
    bool fine = false;
    for (int step = 0; step < kMostSteps; ++step) {
      ++steps;
      ++evaluations;
      const int count = rule_count(curve, t);
      const Rule& rule = rule_for(fine ? count : count / 4 * 2 + 2);
      const LoadAndRate at = curve.load_and_rate(t, rule);
      if (!std::isfinite(at.load_n) || !std::isfinite(at.rate_n_per_rad)) {
        root.report.status = base::SolveStatus::not_finite;
        return false;
      }
      const double miss = at.load_n / load - 1;
      if (!fine && std::fabs(miss) < 1e-2) {
        // From here by the full rule. The coarse one may be off by 1e-3, so its bracket is let go.
        fine = true;
        low = first_low;
        high = first_high;
        high_known = first_known;
      }
      if (miss < 0) low = std::max(low, t);
      else { high = std::min(high, t); high_known = true; }
      const bool rising = at.load_n > 0 && at.rate_n_per_rad > 0;
      double next;
      if (rising) {
        next = t * std::exp(std::clamp(-std::log1p(miss) * at.load_n / (t * at.rate_n_per_rad), -1.5, 1.5));
      } else {
        next = high_known ? 0.5 * (low + high) : 2 * t;
        if (!high_known && at.load_n > 0) return false;  // over a crest below the load
      }
      if (!(next > low && next < high)) {
        if (!high_known) {  // past the end of the range: is the end high enough?
          if (value(high, rule) < load) return false;
          high_known = true;
        }
        next = 0.5 * (low + high);
      }
      if (fine && rising && std::fabs(miss) < 1e-4) {
        // One more Newton step lands within 1e-8 or better: take it and see by the whole evaluation.
        const Rule& full = rule_for(rule_count(curve, next));
        ++evaluations;
        const Sums<double> sums = curve.sums(next, full);
        const double carried = curve.width_m * sums.radius * sums.load;
        const double left = carried - load;
        if (std::fabs(left) <= kLoadTolerance * load) {
          root.undeflected = next;
          root.sums = sums;
          root.report.status = base::SolveStatus::converged;
          root.report.residual = left;
          return true;
        }
      }
      if (std::fabs(next - t) <= 1e-15 * t || high - low <= 1e-15 * high) {
        root.report.status = base::SolveStatus::stalled;
        return false;
      }
      t = next;
    }
    root.report.status = base::SolveStatus::out_of_steps;
    return false;
  }
};

// First point of a grid over (0, end] at which the load is reached, and the best point when none is.
struct Scan {
  double before = 0, at = kNoNumber;
  double best = 0, best_load = -std::numeric_limits<double>::infinity(), spacing = 0;
};
Scan scan(Search& search, double end, int points) {
  const Rule& coarse = rule_for(rule_count(search.curve, end) / 4 * 2 + 2);
  Scan out;
  out.spacing = end / points;
  for (int i = 1; i <= points; ++i) {
    const double t = end * i / points;
    const double load = search.value(t, coarse);
    if (load > out.best_load) {
      out.best_load = load;
      out.best = t;
    }
    if (load >= search.load) {
      out.at = t;
      return out;
    }
    out.before = t;
  }
  return out;
}

// Largest load near the best grid point, by golden section with the full rule.
void climb(Search& search, const Scan& scanned, double end, Root& root) {
  const double ratio = 0.6180339887498949;
  const Rule& rule = rule_for(32);
  double a = std::max(scanned.best - scanned.spacing, 1e-6 * end), b = std::min(scanned.best + scanned.spacing, end);
  double x = b - ratio * (b - a), y = a + ratio * (b - a);
  double fx = search.value(x, rule), fy = search.value(y, rule);
  for (int i = 0; i < 40; ++i) {
    if (fx < fy) {
      a = x; x = y; fx = fy;
      y = a + ratio * (b - a);
      fy = search.value(y, rule);
    } else {
      b = y; y = x; fy = fx;
      x = b - ratio * (b - a);
      fx = search.value(x, rule);
    }
  }
  const double ending = search.value(b, rule);
  root.angle_at_largest = fx > fy ? x : y;
  root.largest_load_n = std::max(fx, fy);
  if (ending > root.largest_load_n) {
    root.largest_load_n = ending;
    root.angle_at_largest = b;
  }
}

}  // namespace

Root find_root(const LoadCurve& curve, double load_n, double guess) {
  Root root;
  Search search{curve, load_n};
  const double end = curve.largest_angle;
  double start = guess > 0 ? guess : first_guess(curve, load_n);
  if (!(start < 0.95 * end)) start = 0.95 * end;
  const auto finish = [&](base::SolveStatus status) {
    root.report.status = status;
    root.report.tolerance = kLoadTolerance * load_n;
    root.report.residual_unit = "N";
    root.report.steps = search.steps;
    root.report.evaluations = search.evaluations;
    return root;
  };

  const bool found = search.refine(start, 0, end, false, root);
  if (found && curve.plan.rises && root.undeflected <= kRisesUpTo) return finish(base::SolveStatus::converged);

  // Is there a smaller root, or any? The load must stay below on a grid up to the root.
  const Scan scanned = scan(search, found ? root.undeflected * (1 - 1e-6) : end, found ? 12 : 64);
  if (std::isnan(scanned.at)) {
    if (found) return finish(base::SolveStatus::converged);
    climb(search, scanned, end, root);
    if (!(root.largest_load_n >= load_n)) return finish(base::SolveStatus::no_solution);
  }
  const double low = std::isnan(scanned.at) ? scanned.best - scanned.spacing : scanned.before;
  const double high = std::isnan(scanned.at) ? root.angle_at_largest : scanned.at;
  root.report.status = base::SolveStatus::not_bracketed;
  const bool again = search.refine(0.5 * (low + high), low, high, true, root);
  return finish(again ? base::SolveStatus::converged : root.report.status);
}

}  // namespace hardpan::contact::detail
