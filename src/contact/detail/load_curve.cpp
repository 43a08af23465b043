// SPDX-License-Identifier: Apache-2.0
#include "contact/detail/load_curve.hpp"

#include <algorithm>
#include <cmath>

#include "contact/detail/plain_number.hpp"
#include "contact/detail/vector_functions.hpp"

namespace hardpan::contact::plain {

using detail::Contour;
using detail::Direction;
using detail::Frame;
using detail::Plan;
using detail::Rule;
using detail::Sums;

#define HARDPAN_KERNEL inline
#include "contact/detail/wheel_kernel.ipp"
#undef HARDPAN_KERNEL

// Picks the instance of the kernel that a wheel needs.
template <bool kAll, class T>
Sums<T> sums(const Frame<double>& frame, const Plan& plan, const T& undeflected, const Rule& rule) {
  const auto with = [&]<Direction kDirection>() {
    return plan.saturating ? sums_over_arc<kDirection, true, kAll>(frame, plan, undeflected, rule)
                           : sums_over_arc<kDirection, false, kAll>(frame, plan, undeflected, rule);
  };
  switch (plan.direction) {
    case Direction::forward: return with.template operator()<Direction::forward>();
    case Direction::reversing: return with.template operator()<Direction::reversing>();
    case Direction::oblique: return with.template operator()<Direction::oblique>();
    case Direction::sliding: break;
  }
  return sums_over_arc<Direction::sliding, false, kAll>(frame, plan, undeflected, rule);
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

bool soil_yields_first(const LoadCurve& curve, double load_n) {
  if (!(curve.frame.deflection > 0)) return true;
  const Frame<double>& frame = curve.frame;
  const Plan& plan = curve.plan;
  const double per_width = load_n / curve.width_m;
  const Rule& rule = rule_for(kYieldNodes);
  const auto compare = [&]<Direction kDirection>() {
    return plain::rigid_load_at_firm_pressure<kDirection>(frame, plan, per_width, rule) > per_width;
  };
  switch (plan.direction) {
    case Direction::reversing: return compare.template operator()<Direction::reversing>();
    case Direction::oblique: return compare.template operator()<Direction::oblique>();
    default: return compare.template operator()<Direction::forward>();
  }
}

Contour<double> contour_of(const LoadCurve& curve, double undeflected) {
  return plain::contour_of(curve.frame, curve.plan, undeflected, rule_for(kWallNodes));
}

Circle circle_of(const LoadCurve& curve, double undeflected) {
  const auto arc = plain::arc_of(curve.frame, curve.plan, undeflected);
  return {arc.radius, arc.entry, arc.exit, arc.peak};
}

namespace {

// Upper bound of the shear travel over K on the contact: it sets how thin the layer behind the entry is in
// which the shear stress rises, and by that the nodes.
double travel_bound(const LoadCurve& curve, double undeflected) {
  const Frame<double>& f = curve.frame;
  const double behind = curve.plan.rebounds ? 1 : f.exit_ratio;
  double rolled = undeflected * (f.radius + f.grouser), gap = undeflected * undeflected * rolled / 6;
  if (curve.plan.flexible) {  // R th1 and R th1^3 / 6 from contact length and sinkage, th1 = 2 z / L
    const double z = 0.5 * f.radius * undeflected * undeflected, d = 2 * f.radius;
    const double length = std::sqrt(d * (z + f.deflection)) + std::sqrt(d * f.deflection);
    rolled = 1.1 * length + 2 * z / length * f.grouser;
    gap = rolled * (4 * z * z) / (6 * length * length);
  }
  return f.inverse_k * ((std::fabs(f.travel_a - f.travel_b) + f.travel_side) * rolled * (1 + behind) +
                        f.travel_b * gap * (1 + behind * behind * behind));
}

}  // namespace

// Measured over 30,000 random wheels with n from 0.3 to 1.6, each integral relative to the integral of its
// absolute value (docs/theory/contact.md, table 1): largest error 7e-9, 99 of 100 below 4e-9.
int rule_count(const LoadCurve& curve, double undeflected) {
  const double y = travel_bound(curve, undeflected);
  const int count = y < 5.6 ? 12 : y < 11 ? 14 : y < 16 ? 16 : y < 32 ? 18 : y < 50 ? 20 : y < 700 ? 24 : 28;
  const bool oblique = curve.plan.direction == Direction::oblique;
  return oblique ? std::max(count, y < 60 ? 20 : 24) : count;
}

// A tenth more: the root may lie above the guess.
int starting_rule_count(const LoadCurve& curve, double guess) {
  return rule_count(curve, std::min(1.1 * guess, curve.largest_angle));
}

namespace {

constexpr int kMostSteps = 60;

struct Search {
  const LoadCurve& curve;
  double load;
  int nodes;  // of the full rule
  SimdTarget target = SimdTarget::plain;
  int steps = 0, evaluations = 0;

  double value(double t, const Rule& rule) {
    ++evaluations;
    return curve.load_n(t, rule);
  }
  void values(std::span<const double> t, const Rule& rule, std::span<double> out) {
    evaluations += static_cast<int>(t.size());
    if (target == SimdTarget::best && vector_loads(curve, t, rule, out)) return;
    for (std::size_t i = 0; i < t.size(); ++i) out[i] = curve.load_n(t[i], rule);
  }

  // `fine`: by the full rule from the start. Newton in ln load over ln angle, held between `low` (load below) and `high` (load above or the end
  // of the range). False: no rising root was met there.
  bool refine(double t, double low, double high, bool high_known, bool fine, Root& root) {
    const double first_low = low, first_high = high;
    const bool first_known = high_known;
    for (int step = 0; step < kMostSteps; ++step) {
      ++steps;
      ++evaluations;
      const Rule& rule = rule_for(fine ? nodes : nodes / 4 * 2 + 2);
      const LoadAndRate at = curve.load_and_rate(t, rule);
      if (!std::isfinite(at.load_n) || !std::isfinite(at.rate_n_per_rad)) {
        root.report.status = base::SolveStatus::not_finite;
        return false;
      }
      const double miss = at.load_n / load - 1;
      const bool rough = !fine;
      if (rough && std::fabs(miss) < 3e-2) {
        // From here by the full rule. The coarse one may be off by 5e-3, so its bracket is let go.
        fine = true;
        low = first_low;
        high = first_high;
        high_known = first_known;
      } else if (miss < 0) {
        low = std::max(low, t);
      } else {
        high = std::min(high, t);
        high_known = true;
      }
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
      if (!rough && rising && std::fabs(miss) < 1e-4) {
        // One more Newton step lands within 1e-8 or better: take it and see by the whole evaluation.
        nodes = std::max(nodes, rule_count(curve, next));
        const Rule& full = rule_for(nodes);
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

// Angles looked at together: a vector's worth of the widest target.
constexpr std::size_t kTogether = 8;

// First point of a grid over (0, end] at which the load is reached, and the best point when none is.
struct Scan {
  double before = 0, at = kNoNumber;
  double best = 0, best_load = -std::numeric_limits<double>::infinity(), spacing = 0;
};
Scan scan(Search& search, double start, double end, int points, const Rule& rule) {
  Scan out;
  out.before = start;
  out.spacing = (end - start) / points;
  std::array<double, kTogether> angle, load;
  for (int first = 1; first <= points; first += static_cast<int>(kTogether)) {
    const std::size_t count = std::min<std::size_t>(kTogether, static_cast<std::size_t>(points - first + 1));
    for (std::size_t i = 0; i < count; ++i) angle[i] = start + out.spacing * (first + static_cast<int>(i));
    search.values({angle.data(), count}, rule, {load.data(), count});
    for (std::size_t i = 0; i < count; ++i) {
      if (load[i] > out.best_load) {
        out.best_load = load[i];
        out.best = angle[i];
      }
      if (load[i] >= search.load) {
        out.at = angle[i];
        return out;
      }
      out.before = angle[i];
    }
  }
  return out;
}

Scan scan(Search& search, double start, double end, int points) {
  return scan(search, start, end, points, rule_for(std::max(search.nodes, rule_count(search.curve, end))));
}
// The whole range. With vectors a rule good to 5e-3 looks first: where it stays 2 % below, there is nothing to find.
Scan scan_range(Search& search, double end) {
  if (search.target == SimdTarget::best) {
    const Scan rough = scan(search, 0, end, 64, rule_for(12));
    if (rough.best_load < 0.98 * search.load) return rough;
  }
  return scan(search, 0, end, 64);
}

// Is there no smaller root, by what is known of the curve? Where shear pulls the wheel down by `against`, the
// load less that part rises at least in proportion to the angle, so a smaller root lies above
// angle load / (load + against): only that stretch is looked at.
bool alone(Search& search, const Root& root) {
  const Plan& plan = search.curve.plan;
  if (plan.shape == Shape::unknown || !(root.undeflected <= kKnownUpTo) || !(root.sums.entry <= kKnownUpTo)) return false;
  if (plan.shape == Shape::rises) return true;
  const double against = -search.curve.width_m * root.sums.radius * root.sums.against;
  if (against < 1e-8 * search.load) return true;
  const double start = root.undeflected * search.load / (search.load + against);
  const double last = start + kNearShare * (root.undeflected - start);
  return std::isnan(scan(search, start, last, kNearPoints).at);
}

// Largest load near the best grid point: kTogether places up to the end of the interval, then the two parts around
// the best. Six rounds leave 1 / 4096 of it; the load is flat there and good to 1e-9.
void climb(Search& search, const Scan& scanned, double end, Root& root) {
  const Rule& rule = rule_for(32);
  double a = std::max(scanned.best - scanned.spacing, 1e-6 * end), b = std::min(scanned.best + scanned.spacing, end);
  std::array<double, kTogether> angle, load;
  double best = scanned.best, best_load = -std::numeric_limits<double>::infinity();
  for (int round = 0; round < 6; ++round) {
    const double part = (b - a) / kTogether;
    for (std::size_t i = 0; i < kTogether; ++i) angle[i] = a + part * static_cast<double>(i + 1);
    search.values(angle, rule, load);
    for (std::size_t i = 0; i < kTogether; ++i) {
      if (load[i] > best_load) {
        best_load = load[i];
        best = angle[i];
      }
    }
    a = std::max(a, best - part);
    b = std::min(b, best + part);
  }
  root.angle_at_largest = best;
  root.largest_load_n = search.value(best, rule);
}

}  // namespace

Root find_root(const LoadCurve& curve, double load_n, double guess, SimdTarget target) {
  Root root;
  const double end = curve.largest_angle;
  double start = guess > 0 ? guess : plain::first_guess(curve.frame, curve.plan, load_n / curve.width_m);
  Search search{curve, load_n, starting_rule_count(curve, start), target};
  if (!(start < 0.95 * end)) start = 0.95 * end;
  const auto finish = [&](base::SolveStatus status) {
    root.report.status = status;
    root.report.tolerance = kLoadTolerance * load_n;
    root.report.residual_unit = "N";
    root.report.steps = search.steps;
    root.report.evaluations = search.evaluations;
    return root;
  };

  // With vectors a scan costs little, and what comes here without a guess has been through Newton's method in vain.
  const bool straight = target == SimdTarget::plain || guess > 0;
  bool found = straight && search.refine(start, 0, end, false, guess > 0, root);
  if (found && alone(search, root)) return finish(base::SolveStatus::converged);

  if (!found) {
    const Scan scanned = scan_range(search, end);
    double low = scanned.before, high = scanned.at;
    if (std::isnan(scanned.at)) {
      climb(search, scanned, end, root);
      if (!(root.largest_load_n >= load_n)) return finish(base::SolveStatus::no_solution);
      low = scanned.best - scanned.spacing;
      high = root.angle_at_largest;
    }
    root.report.status = base::SolveStatus::not_bracketed;
    found = search.refine(0.5 * (low + high), low, high, true, true, root);
    if (!found || straight || alone(search, root)) return finish(found ? base::SolveStatus::converged : root.report.status);
  }
  // Is there a smaller root? The load must stay below on a grid up to the one found.
  const Scan below = scan(search, 0, root.undeflected * (1 - 1e-6), 12);
  if (std::isnan(below.at)) return finish(base::SolveStatus::converged);
  root.report.status = base::SolveStatus::not_bracketed;
  const bool again = search.refine(0.5 * (below.before + below.at), below.before, below.at, true, true, root);
  return finish(again ? base::SolveStatus::converged : root.report.status);
}

}  // namespace hardpan::contact::detail
