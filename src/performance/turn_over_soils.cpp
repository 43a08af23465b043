// SPDX-License-Identifier: Apache-2.0
#include "performance/turn_over_soils.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "performance/detail/turn_scan.hpp"

namespace hardpan::performance {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t kSoilsPerChunk = 2;      // each takes milliseconds

const TurnState& lead(const TurnState& without, const TurnState& with) {
  if (!without.balanced()) return without;
  if (!with.balanced()) return with;
  return with.work_j_per_rad >= without.work_j_per_rad ? with : without;
}

// One soil: the smallest radius and every radius asked, of both rules.
struct OnOne {
  SmallestTurn smallest;               // of a draw: goes_m and limit alone
  std::vector<TurnState> states;
};

OnOne by_rule(const TurningMachine& m, const TurnQuestion& q, bool fine) {
  if (fine) return {smallest_turn(m, q.turn), turns_on_soil(m, q.turn, q.radii_m)};
  detail::TurnScan scan = detail::scan_turns(m, q.turn, q.radii_m);
  return {{.goes_m = scan.goes_m, .limit = scan.limit}, std::move(scan.states)};
}

OnOne on_one(const vehicle::Vehicle& v, const OnSoil& on, double gravity_m_s2, const TurnQuestion& q, bool fine) {
  OnOne out = by_rule(turning_machine(v, on.plain, gravity_m_s2), q, fine);
  if (!on.sinking) return out;
  OnOne deep = by_rule(turning_machine(v, *on.sinking, gravity_m_s2), q, fine);
  if (std::abs(deep.smallest.goes_m) >= std::abs(out.smallest.goes_m)) out.smallest = std::move(deep.smallest);
  for (std::size_t k = 0; k < deep.states.size(); ++k) out.states[k] = lead(out.states[k], deep.states[k]);
  return out;
}

// Beyond what already stopped it at a larger radius, a search that found nothing is no surprise.
TurnLimit limit_at(const OnOne& one, std::size_t k) {
  const TurnLimit limit = limit_of(one.states[k]);
  const bool beyond = std::abs(one.states[k].radius_m) < std::abs(one.smallest.goes_m);
  return limit == TurnLimit::not_converged && beyond ? one.smallest.limit : limit;
}

double size_of(const SmallestTurn& s) { return s.limit == TurnLimit::not_converged ? kNaN : std::abs(s.goes_m); }

math::Estimate spread(double centre, std::vector<double> next, const Placed& placed) {
  Outcome o{.centre = centre, .next_point = std::move(next)};
  for (const double v : o.next_point) o.not_converged += std::isnan(v) ? 1 : 0;
  return estimate_of_outcome(o, placed);
}

std::vector<std::pair<TurnLimit, double>> by_share(const std::map<TurnLimit, std::size_t>& counts, std::size_t draws) {
  std::vector<std::pair<TurnLimit, double>> out;
  for (const auto& [limit, n] : counts) out.emplace_back(limit, static_cast<double>(n) / static_cast<double>(draws));
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

TurnRadius radius_of(std::size_t k, const OnOne& centre, const std::vector<OnOne>& draws, const Placed& placed) {
  TurnRadius r{.radius_m = centre.states[k].radius_m, .centre = centre.states[k], .limit = limit_at(centre, k)};
  std::vector<double> torque, per_m, per_rad;
  std::map<TurnLimit, std::size_t> counts;
  std::size_t goes = 0;
  // What no torque turns takes torque without end; what was not solved is not known.
  const auto told = [](const TurnState& s, TurnLimit limit, double value) { return s.balanced() ? value : limit == TurnLimit::not_converged ? kNaN : std::numeric_limits<double>::infinity(); };
  for (const OnOne& one : draws) {
    const TurnState& s = one.states[k];
    const TurnLimit limit = limit_at(one, k);
    ++counts[s.goes() ? TurnLimit::none : limit];
    goes += s.goes() ? 1 : 0;
    r.not_converged += limit == TurnLimit::not_converged ? 1 : 0;
    torque.push_back(told(s, limit, s.largest_torque_n_m));
    per_m.push_back(told(s, limit, s.work_j_per_m));
    per_rad.push_back(told(s, limit, s.work_j_per_rad));
  }
  r.limits = by_share(counts, draws.size());
  r.goes_ratio = draws.empty() ? (r.centre.goes() ? 1 : 0) : static_cast<double>(goes) / static_cast<double>(draws.size());
  const auto here = [&](double value) { return told(r.centre, r.limit, value); };
  r.torque_n_m = spread(here(r.centre.largest_torque_n_m), std::move(torque), placed);
  r.work_j_per_m = r.radius_m == 0 ? math::estimate_without_interval(kNaN, "on the spot no distance is driven") : spread(here(r.centre.work_j_per_m), std::move(per_m), placed);
  r.work_j_per_rad = spread(here(r.centre.work_j_per_rad), std::move(per_rad), placed);
  return r;
}

}  // namespace

TurnOverSoils turn_over_soils(const vehicle::Vehicle& v, const Placed& placed, const TurnQuestion& question, std::size_t most_draws) {
  TurnQuestion q = question;
  const double side = std::copysign(1.0, q.turn.radius_m);
  for (double& radius : q.radii_m) radius = std::copysign(radius, side);
  const double g = placed.plan.gravity_m_s2;
  const OnOne centre = on_one(v, placed.centre, g, q, true);
  std::vector<OnOne> draws(std::min(most_draws, placed.next_point.size()));
  base::ThreadPool(placed.plan.threads).for_chunks(draws.size(), kSoilsPerChunk, {}, [&](std::size_t begin, std::size_t end) {
    for (std::size_t k = begin; k < end; ++k) draws[k] = on_one(v, placed.next_point[k], g, q, false);
  });
  TurnOverSoils out{.centre = centre.smallest, .draws = draws.size(), .reason_without = placed.reason_without};
  std::vector<double> sizes;
  std::map<TurnLimit, std::size_t> counts;
  for (const OnOne& one : draws) {
    sizes.push_back(size_of(one.smallest));
    ++counts[one.smallest.limit];
    out.not_converged += one.smallest.limit == TurnLimit::not_converged ? 1 : 0;
  }
  out.smallest_m = spread(size_of(centre.smallest), sizes, placed);
  out.limits = by_share(counts, draws.size());
  for (std::size_t k = 0; k < q.radii_m.size(); ++k) out.radii.push_back(radius_of(k, centre, draws, placed));
  return out;
}

SmallestOverSoils smallest_turn_over_soils(const vehicle::Vehicle& v, const Placed& placed, const std::vector<TurnCase>& cases, std::size_t most_draws) {
  const double g = placed.plan.gravity_m_s2;
  SmallestOverSoils out;
  // A case without a numerical answer leaves the soil without one.
  const auto worst = [&](const OnSoil& on, bool fine, TurnLimit* limit) {
    double size = 0;
    for (const TurnCase& turn : cases) {
      const SmallestTurn s = on_one(v, on, g, {.turn = turn}, fine).smallest;
      const double here = size_of(s);
      if (!std::isnan(size) && !(here < size)) {
        size = here;
        if (limit) *limit = s.limit;
      }
    }
    return size;
  };
  Outcome& o = out.radius_m;
  o.centre = worst(placed.centre, true, &out.limit);
  const auto over = [&](const std::vector<OnSoil>& soils, std::vector<double>& to) {
    to.resize(std::min(most_draws, soils.size()));
    base::ThreadPool(placed.plan.threads).for_chunks(to.size(), kSoilsPerChunk, {}, [&](std::size_t begin, std::size_t end) {
      for (std::size_t k = begin; k < end; ++k) to[k] = worst(soils[k], false, nullptr);
    });
  };
  over(placed.average, o.average);
  over(placed.next_point, o.next_point);
  for (const double r : o.next_point) o.not_converged += std::isnan(r) ? 1 : 0;
  o.estimate = estimate_of_outcome(o, placed);
  return out;
}

}  // namespace hardpan::performance
