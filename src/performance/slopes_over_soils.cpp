// SPDX-License-Identifier: Apache-2.0
#include "performance/slopes_over_soils.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <memory>
#include <numbers>

#include "performance/detail/slope_lanes.hpp"
#include "performance/tip_over_joints.hpp"

namespace hardpan::performance {
namespace {

constexpr double kTurn = 2 * std::numbers::pi;
constexpr std::size_t kTogether = 32;   // soils: as many as fill the vectors, few enough for both cores to have some

bool same_heading(double a, double b) { return std::abs(std::remainder(a - b, kTurn)) < 1e-9; }

HeadingReach mirrored(HeadingReach r) {
  r.drift_rad = -r.drift_rad;
  return r;
}

// What the vehicle is on one soil: without and perhaps with slip sinkage.
struct OnBoth {
  std::vector<TurningMachine> rules;
};
OnBoth on_both(const vehicle::Vehicle& v, const OnSoil& on, double gravity) {
  OnBoth out;
  out.rules.push_back(turning_machine(v, on.plain, gravity));
  if (on.sinking) out.rules.push_back(turning_machine(v, *on.sinking, gravity));
  return out;
}

const HeadingReach& lower(const HeadingReach& a, const HeadingReach& b) { return b.gradient_rad < a.gradient_rad ? b : a; }

void finish(SlopeSpread& s) {
  std::vector<double> sorted;
  for (const double v : s.draws_rad) {
    if (std::isnan(v)) ++s.not_converged;
    else sorted.push_back(v);
  }
  if (sorted.size() < math::kFewestDrawsForInterval) return;
  std::sort(sorted.begin(), sorted.end());
  const double last = static_cast<double>(sorted.size() - 1);
  const auto at = [&](double share, bool up) { return sorted[static_cast<std::size_t>(up ? std::ceil(share * last) : std::floor(share * last))]; };
  s.next_point = math::Interval{at(0.025, false), at(0.975, true)};
  s.median_rad = 0.5 * (at(0.5, false) + at(0.5, true));
}

}  // namespace

std::vector<std::pair<HeadingFactor, double>> shares(const SlopeSpread& spread) {
  std::map<HeadingFactor, std::size_t> counts;
  for (const HeadingFactor f : spread.factor) ++counts[f];
  std::vector<std::pair<HeadingFactor, double>> out;
  for (const auto& [factor, n] : counts) out.emplace_back(factor, static_cast<double>(n) / static_cast<double>(spread.factor.size()));
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

bool same_left_and_right(const vehicle::Vehicle& v) {
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    if (std::abs(vehicle::loaded_body(v, b).cg_y_m) > 1e-9) return false;
  }
  constexpr double kNone = std::numeric_limits<double>::infinity();
  for (const vehicle::Joint& j : v.joints) {
    if (j.roll.lowest_rad.value_or(-kNone) != -j.roll.highest_rad.value_or(kNone)) return false;
  }
  return std::all_of(v.axles.begin(), v.axles.end(), [](const vehicle::Axle& a) {
    const auto y = vehicle::wheel_offsets_m(a);
    return std::all_of(y.begin(), y.end(), [&](double one) { return std::any_of(y.begin(), y.end(), [&](double other) { return std::abs(one + other) < 1e-9; }); });
  });
}

SlopesOverSoils slopes_over_soils(const vehicle::Vehicle& vehicle, const Placed& placed, const HeadingQuestion& question, std::size_t draws) {
  SlopesOverSoils out{.working_slip = question.working_slip, .working_drift_rad = question.working_drift_rad, .draws = std::min(draws, placed.next_point.size()),
                      .reason_without = placed.reason_without};
  const double gravity = placed.plan.gravity_m_s2;
  out.headings.resize(question.headings_rad.size());
  // Headings to be computed, and for the others the one whose mirror image they are.
  std::vector<std::size_t> own, image(question.headings_rad.size());
  const bool same = same_left_and_right(vehicle);
  for (std::size_t i = 0; i < question.headings_rad.size(); ++i) {
    image[i] = i;
    for (const std::size_t k : own) {
      if (same && same_heading(question.headings_rad[i], -question.headings_rad[k])) image[i] = k, out.mirrored = true;
    }
    if (image[i] == i) own.push_back(i);
  }

  const OnBoth centre = on_both(vehicle, placed.centre, gravity);
  const std::array<detail::HeadingBounds, 2> bounds{detail::working_bounds(question), detail::largest_bounds(question)};
  std::vector<TipOver> tips;
  for (const std::size_t h : own) tips.push_back(still_tip(vehicle, centre.rules.front().stance, gravity, std::numbers::pi - question.headings_rad[h]).tip);
  std::vector<double> tips_rad;
  for (const std::size_t h : own) tips_rad.push_back(standing_tip_rad(vehicle, gravity, std::numbers::pi - question.headings_rad[h]));
  const auto bounds_on = [&](std::size_t h, std::size_t b) { return detail::before_it_tips(bounds[b], tips_rad[h]); };
  const std::size_t rules = centre.rules.size();
  std::vector<detail::OnLevel> centre_level;
  for (const TurningMachine& m : centre.rules) centre_level.push_back(detail::on_level(m, bounds));
  std::vector<detail::KnownLimit> known(own.size() * 2 * rules);
  const base::ThreadPool pool(placed.plan.threads);
  pool.for_chunks(known.size(), 1, {}, [&](std::size_t begin, std::size_t end) {
    for (std::size_t k = begin; k < end; ++k) {
      const std::size_t rule = k / 2 % rules;
      const std::size_t h = k / (2 * rules);
      known[k] = detail::find_limit(centre.rules[rule], centre_level[rule], k % 2, question.headings_rad[own[h]], bounds_on(h, k % 2), placed.plan.target);
    }
  });

  struct Found {
    double gradient = 0;
    HeadingFactor factor = HeadingFactor::none;
  };
  std::vector<Found> found(own.size() * 2 * out.draws);   // heading, bounds, draw
  std::vector<std::size_t> by_itself(out.draws / kTogether + 1, 0);
  pool.for_chunks(out.draws, kTogether, {}, [&](std::size_t begin, std::size_t end) {
    std::vector<OnBoth> machines;
    for (std::size_t d = begin; d < end; ++d) machines.push_back(on_both(vehicle, placed.next_point[d], gravity));
    for (std::size_t rule = 0; rule < rules; ++rule) {
      std::vector<std::unique_ptr<detail::SlopeLane>> lanes;
      std::vector<detail::OnLevel> level;
      for (const OnBoth& m : machines) {
        lanes.push_back(std::make_unique<detail::SlopeLane>(m.rules[rule], 0));
        level.push_back(detail::on_level(m.rules[rule], bounds));
      }
      std::vector<detail::LaneLimit> limits(lanes.size());
      for (std::size_t h = 0; h < own.size(); ++h) {
        for (std::size_t b = 0; b < 2; ++b) {
          const double heading = question.headings_rad[own[h]];
          const detail::HeadingBounds on_heading = bounds_on(h, b);
          detail::follow_limits(known[(h * rules + rule) * 2 + b], centre.rules[rule], heading, on_heading, lanes, limits, placed.plan.target);
          detail::walk_to_limits(level, b, heading, on_heading, lanes, limits, placed.plan.target);
          for (std::size_t i = 0; i < lanes.size(); ++i) {
            if (!level[i].travels(b)) {  // downhill its way would otherwise be met again where it brakes
              limits[i].reach = level[i].otherwise[b];
            } else if (!limits[i].found) {
              limits[i].reach = detail::search_limit(machines[i].rules[rule], heading, on_heading).reach;
              ++by_itself[begin / kTogether];
            }
            Found& f = found[(h * 2 + b) * out.draws + begin + i];
            const HeadingReach& r = limits[i].reach;
            const double gradient = r.factor == HeadingFactor::not_converged ? contact::kNoNumber : r.gradient_rad;
            if (rule == 0 || gradient < f.gradient || std::isnan(gradient)) f = {gradient, r.factor};
          }
        }
      }
    }
  });
  out.limits = found.size() * rules;
  for (const std::size_t n : by_itself) out.by_itself += n;

  for (std::size_t h = 0; h < own.size(); ++h) {
    HeadingSpread& s = out.headings[own[h]];
    const auto best = [&](std::size_t b) {
      const HeadingReach& first = known[h * rules * 2 + b].reach;
      return rules == 1 ? first : lower(first, known[(h * rules + 1) * 2 + b].reach);
    };
    s.limit = {.heading_rad = question.headings_rad[own[h]], .working = best(0), .largest = best(1), .tips_rad = tips[h].angle_rad,
               .tips_working_rad = kWorkingShare * tips_rad[h], .tips_about = tips[h].about};
    for (std::size_t b = 0; b < 2; ++b) {
      SlopeSpread& spread = b == 0 ? s.working : s.largest;
      for (std::size_t d = 0; d < out.draws; ++d) {
        spread.draws_rad.push_back(found[(h * 2 + b) * out.draws + d].gradient);
        spread.factor.push_back(found[(h * 2 + b) * out.draws + d].factor);
      }
      finish(spread);
    }
  }
  for (std::size_t i = 0; i < image.size(); ++i) {
    if (image[i] == i) continue;
    HeadingSpread& s = out.headings[i] = out.headings[image[i]];
    s.limit.heading_rad = question.headings_rad[i];
    s.limit.working = mirrored(s.limit.working);
    s.limit.largest = mirrored(s.limit.largest);
    if (s.limit.tips_about == TipEdge::left) s.limit.tips_about = TipEdge::right;
    else if (s.limit.tips_about == TipEdge::right) s.limit.tips_about = TipEdge::left;
  }
  return out;
}

}  // namespace hardpan::performance
