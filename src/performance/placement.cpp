// SPDX-License-Identifier: Apache-2.0
#include "performance/placement.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "performance/tip_over_joints.hpp"
#include "vehicle/chain.hpp"

namespace hardpan::performance {
namespace {

using vehicle::Vehicle;

constexpr double kPlaceTolerance_m = 1e-4;
constexpr int kMostSweeps = 40;

// One coordinate that may be changed.
struct Coordinate {
  std::size_t payload = 0;
  double vehicle::Payload::* at = nullptr;
  vehicle::Span allowed;
};

std::vector<Coordinate> coordinates_of(const Vehicle& v) {
  std::vector<Coordinate> out;
  for (std::size_t i = 0; i < v.payload.size(); ++i) {
    const vehicle::Payload& p = v.payload[i];
    if (p.x_allowed) out.push_back({i, &vehicle::Payload::x_m, *p.x_allowed});
    if (p.y_allowed) out.push_back({i, &vehicle::Payload::y_m, *p.y_allowed});
    if (p.z_allowed) out.push_back({i, &vehicle::Payload::z_m, *p.z_allowed});
  }
  return out;
}

bool stands(const Vehicle& v, double gravity_m_s2) {
  const vehicle::Body all = vehicle::loaded_body(v);
  if (!(all.cg_x_m > 0 && all.cg_x_m < v.axles.back().position_x_m)) return false;
  const vehicle::ChainShare share = vehicle::level_share(v, gravity_m_s2);
  return share.stands && share.first_lifted == vehicle::kMostSupports;
}

std::vector<double> wheel_loads_n(const Vehicle& v, double gravity_m_s2) {
  if (v.bodies.size() == 1 && vehicle::wheel_count(v) >= 3) {
    if (auto loads = standing_loads_n(stance_of(v, gravity_m_s2), 0, 0)) return *loads;
  }
  std::vector<double> out;
  const std::vector<double> axles = vehicle::level_axle_loads_n(v, gravity_m_s2);
  for (std::size_t i = 0; i < axles.size(); ++i) out.insert(out.end(), static_cast<std::size_t>(v.axles[i].wheels), axles[i] / v.axles[i].wheels);
  return out;
}

class Search {
 public:
  Search(const Vehicle& v, double gravity_m_s2, const std::optional<ClimbOn>& climb, base::Problems& problems)
      : today_(v), gravity_(gravity_m_s2), climb_(climb), problems_(problems), coordinates_(coordinates_of(v)) {}

  [[nodiscard]] const std::vector<Coordinate>& coordinates() const { return coordinates_; }
  [[nodiscard]] int evaluations() const { return evaluations_; }

  [[nodiscard]] double unevenness(const Vehicle& v) {
    ++evaluations_;
    if (!stands(v, gravity_)) return std::numeric_limits<double>::infinity();
    double sum = 0, squares = 0, count = 0;
    for (const double n : wheel_loads_n(v, gravity_)) sum += n, squares += n * n, ++count;
    return squares * count / (sum * sum) - 1;
  }
  [[nodiscard]] Gradient gradient(const Vehicle& v) {
    ++evaluations_;
    Gradient g;
    if (!stands(v, gravity_)) return g;
    const auto on = on_soil(v, climb_->soil, gravity_, climb_->slip_sinkage, {.key = v.id}, problems_);
    if (!on) return g;
    gradients_at_slip({&*on, 1}, climb_->slip_ratio, {&g, 1}, space_);
    return g;
  }

  // Coordinate by coordinate: a look at seven places of the span, then golden section about the best; a change must be a gain.
  [[nodiscard]] std::pair<Vehicle, base::SolveReport> least(const std::function<double(const Vehicle&)>& cost, double gain_that_counts) {
    Vehicle v = today_;
    const int before_search = evaluations_;
    base::SolveReport solve{.status = base::SolveStatus::out_of_steps, .tolerance = kPlaceTolerance_m, .residual_unit = "m"};
    double best = cost(v);
    while (solve.steps < kMostSweeps && solve.status == base::SolveStatus::out_of_steps) {
      double moved = 0;
      for (const Coordinate& c : coordinates_) {
        double& at = v.payload[c.payload].*(c.at);
        const double before = at;
        const auto value = [&](double place) { return at = place, cost(v); };
        const auto [place, found] = least_within(c.allowed, value);
        const bool gain = found < best - gain_that_counts;
        at = gain ? place : before;
        if (!gain) continue;
        best = found;
        moved = std::max(moved, std::abs(at - before));
      }
      ++solve.steps;
      solve.residual = moved;
      if (moved <= kPlaceTolerance_m) solve.status = base::SolveStatus::converged;
    }
    solve.evaluations = evaluations_ - before_search;
    return {v, solve};
  }

  [[nodiscard]] Placement row(const Vehicle& v, std::string name) {
    Placement p{.name = std::move(name)};
    for (std::size_t i = 0; i < v.payload.size(); ++i) {
      const vehicle::Payload& load = v.payload[i];
      if (load.x_allowed || load.y_allowed || load.z_allowed) p.places.push_back({i, load.x_m, load.y_m, load.z_m});
    }
    p.wheel_load_n = wheel_loads_n(v, gravity_);
    double sum = 0, largest = 0;
    for (const double n : p.wheel_load_n) sum += n, largest = std::max(largest, n);
    p.largest_share = largest * static_cast<double>(p.wheel_load_n.size()) / sum;
    const vehicle::Body all = vehicle::loaded_body(v);
    p.cg_x_m = all.cg_x_m, p.cg_y_m = all.cg_y_m, p.cg_z_m = all.cg_z_m;
    if (climb_) {
      const Gradient g = gradient(v);
      p.gradient_rad = g.gradient_rad;
      p.factor = g.factor;
      p.climb = g.state.solve;
    }
    if (vehicle::wheel_count(v) >= 3) {
      constexpr int kDirections = 8;
      p.tips_rad = std::numeric_limits<double>::infinity();
      for (const TipDirection& t : tip_over_round(v, stance_of(v, gravity_), gravity_, kDirections, 0)) p.tips_rad = std::min(p.tips_rad, t.still.angle_rad);
    }
    return p;
  }

 private:
  static std::pair<double, double> least_within(const vehicle::Span& span, const std::function<double(double)>& value) {
    constexpr int kLooks = 7;
    double best = span.lo_m, found = std::numeric_limits<double>::infinity();
    for (int i = 0; i < kLooks; ++i) {
      const double at = span.lo_m + (span.hi_m - span.lo_m) * i / (kLooks - 1), f = value(at);
      if (f < found) best = at, found = f;
    }
    const double reach = (span.hi_m - span.lo_m) / (kLooks - 1);
    double lo = std::max(span.lo_m, best - reach), hi = std::min(span.hi_m, best + reach);
    constexpr double kGolden = 0.6180339887498949;
    double a = hi - kGolden * (hi - lo), b = lo + kGolden * (hi - lo), fa = value(a), fb = value(b);
    while (hi - lo > 0.1 * kPlaceTolerance_m) {
      if (fa < fb) {
        hi = b, b = a, fb = fa, a = hi - kGolden * (hi - lo), fa = value(a);
      } else {
        lo = a, a = b, fa = fb, b = lo + kGolden * (hi - lo), fb = value(b);
      }
    }
    for (const auto& [at, f] : {std::pair{a, fa}, std::pair{b, fb}}) {
      if (f < found) best = at, found = f;
    }
    return {best, found};
  }

  Vehicle today_;
  double gravity_;
  const std::optional<ClimbOn>& climb_;
  base::Problems& problems_;
  std::vector<Coordinate> coordinates_;
  Workspace space_;
  int evaluations_ = 0;
};

Vehicle between(const Vehicle& a, const Vehicle& b, double share) {
  Vehicle v = a;
  for (std::size_t i = 0; i < v.payload.size(); ++i) {
    for (const auto at : {&vehicle::Payload::x_m, &vehicle::Payload::y_m, &vehicle::Payload::z_m}) v.payload[i].*at = (1 - share) * (a.payload[i].*at) + share * (b.payload[i].*at);
  }
  return v;
}

}  // namespace

Trade placement_trade(const Vehicle& vehicle, double gravity_m_s2, const std::optional<ClimbOn>& climb, base::Problems& problems) {
  Trade out;
  Search search(vehicle, gravity_m_s2, climb, problems);
  out.rows.push_back(search.row(vehicle, "as it stands"));
  if (search.coordinates().empty() || problems.refused()) return out;
  const auto [even, even_solve] = search.least([&](const Vehicle& v) { return search.unevenness(v); }, 1e-12);
  out.rows.push_back(search.row(even, "evens the wheel loads"));
  out.rows.back().search = even_solve;
  if (climb) {
    // 1e-6 rad is what the gradient is solved to within; less is no gain.
    const auto [steep, steep_solve] = search.least([&](const Vehicle& v) { return -search.gradient(v).gradient_rad; }, 1e-6);
    for (const double share : {0.25, 0.5, 0.75}) out.rows.push_back(search.row(between(even, steep, share), fmt::format("between, {:.0f} % of the way", 100 * share)));
    out.rows.push_back(search.row(steep, "climbs steepest"));
    out.rows.back().search = steep_solve;
  }
  out.evaluations = search.evaluations();
  return out;
}

}  // namespace hardpan::performance
