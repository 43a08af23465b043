// SPDX-License-Identifier: Apache-2.0
#include "performance/comparison.hpp"

#include <algorithm>
#include <cmath>

#include "math/draws.hpp"

namespace hardpan::performance {
namespace {

Outcome outcome_of(const Placed& p, Compared quantity, double working_slip) {
  switch (quantity) {
    case Compared::gradient_working: return gradient_outcome(p, working_slip);
    case Compared::gradient_maximum: return maximum_gradient_outcome(p);
    case Compared::descent: return descent_outcome(p);
    case Compared::pull_20: return pull_coefficient_outcome(p, 0.2);
    case Compared::sinkage_20: return sinkage_at_slip_outcome(p, 0.2, 0);
    case Compared::towed_resistance: return towed_resistance_outcome(p);
    case Compared::energy_level: return travel_outcome(p, TravelQuantity::energy_per_metre, 0);
  }
  return {};
}

// An infinite value (immobilised) keeps its side: infinite less finite is infinite, two alike are a tie.
double less(double a, double b) {
  if (std::isnan(a) || std::isnan(b)) return std::numeric_limits<double>::quiet_NaN();
  return a == b ? 0 : a - b;
}

}  // namespace

const char* name(Compared quantity) {
  switch (quantity) {
    case Compared::gradient_working: return "maximum gradient at the working slip";
    case Compared::gradient_maximum: return "maximum gradient over slip";
    case Compared::descent: return "descent held";
    case Compared::pull_20: return "pull coefficient at 20 % slip";
    case Compared::sinkage_20: return "sinkage at 20 % slip";
    case Compared::towed_resistance: return "towed resistance";
    case Compared::energy_level: return "energy over distance on the level";
  }
  return "";
}

const char* unit(Compared quantity) {
  switch (quantity) {
    case Compared::gradient_working:
    case Compared::gradient_maximum:
    case Compared::descent: return "rad";
    case Compared::pull_20:
    case Compared::towed_resistance: return "1";
    case Compared::sinkage_20: return "m";
    case Compared::energy_level: return "J/m";
  }
  return "";
}

bool more_is_better(Compared quantity) {
  return quantity != Compared::sinkage_20 && quantity != Compared::towed_resistance && quantity != Compared::energy_level;
}

std::optional<PlacedPair> place_pair(const vehicle::Vehicle& a, const vehicle::Vehicle& b, const Ground& ground, DrawPlan plan, const base::Place& place, base::Problems& problems) {
  for (const vehicle::Vehicle* v : {&a, &b}) {
    for (const vehicle::Axle& axle : v->axles) plan.widths_also_m.push_back(axle.wheel.contact_width_m.value_or(axle.wheel.width_m));
  }
  auto on_a = place_vehicle(a, ground, plan, place, problems), on_b = place_vehicle(b, ground, plan, place, problems);
  if (!on_a || !on_b) return std::nullopt;
  return PlacedPair{std::move(*on_a), std::move(*on_b)};
}

Versus compare(const PlacedPair& pair, Compared quantity, const VersusSettings& settings) {
  Versus out{.quantity = quantity, .a = outcome_of(pair.a, quantity, settings.working_slip_a), .b = outcome_of(pair.b, quantity, settings.working_slip_b)};
  Outcome difference{.centre = less(out.a.centre, out.b.centre)};
  const auto pairs = [](const std::vector<double>& a, const std::vector<double>& b) {
    std::vector<double> d(std::min(a.size(), b.size()));
    for (std::size_t k = 0; k < d.size(); ++k) d[k] = less(a[k], b[k]);
    return d;
  };
  difference.average = pairs(out.a.average, out.b.average);
  difference.next_point = pairs(out.a.next_point, out.b.next_point);
  double better = 0;
  for (const double d : difference.next_point) {
    if (std::isnan(d)) {
      ++out.left_out;
      continue;
    }
    ++out.draws;
    better += d == 0 ? 0.5 : (d > 0) == more_is_better(quantity) ? 1 : 0;
  }
  difference.not_converged = out.left_out;
  out.difference = estimate_of_outcome(difference, pair.a);
  if (out.draws > 0) out.a_better_ratio = better / static_cast<double>(out.draws);
  return out;
}

}  // namespace hardpan::performance
