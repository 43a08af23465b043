// SPDX-License-Identifier: Apache-2.0
#include "performance/gravity_over_soils.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace hardpan::performance {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

// The vehicle on one soil in the three states that tests and target are told by.
struct Three {
  OnSoil tested, test, target;
};

struct Weights {
  double test_n = 0, target_n = 0;   // equal but for the last bit
};

std::optional<Three> on_both(const vehicle::Vehicle& v, const soil::Soil& s, soil::SlipSinkage rule, const TransferQuestion& q, const Weights& w, base::Problems& problems) {
  const auto there = soil_at_gravity(s, q.change, q.share_of_kphi, {}, problems);
  if (!there) return std::nullopt;
  const auto here = on_soil(v, s, q.change.from_m_s2, rule, {}, problems), target = on_soil(v, there->soil, q.change.to_m_s2, rule, {}, problems);
  if (!here || !target) return std::nullopt;
  return Three{*here, with_weight(*here, w.test_n), with_weight(*target, w.target_n)};
}

Outcome climbed(const Placed& placed, double slip) {
  return outcome(placed, [slip](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<Rung> r(on.size());
    rungs(on, slip, r, space);
    for (std::size_t i = 0; i < on.size(); ++i) out[i].value = r[i].lost ? kNaN : r[i].balanced ? r[i].gradient_rad : kNoGradient;
  });
}

std::vector<double> less(const std::vector<double>& a, const std::vector<double>& b) {
  std::vector<double> out(std::min(a.size(), b.size()));
  for (std::size_t k = 0; k < out.size(); ++k) out[k] = a[k] - b[k];
  return out;
}

}  // namespace

std::optional<GravityOverSoils> gravity_over_soils(const vehicle::Vehicle& v, const Ground& ground, const DrawPlan& plan, const TransferQuestion& question, const base::Place& place, base::Problems& problems) {
  TransferQuestion q = question;
  q.slip_sinkage = ground.loose ? ground.slip_sinkage : soil::SlipSinkage::none;
  const auto known = [&plan](soil::Soil s) {
    if (!s.slip_exponent) s.slip_exponent = plan.form.slip_exponent_mean;
    return s;
  };
  const auto centre = gravity_transfer(v, known(ground.centre), q, place, problems);
  if (!centre) return std::nullopt;
  const Weights w{centre->of(GravityTrial::equal_weight_test).weight_n, centre->of(GravityTrial::target).weight_n};
  const auto best = on_both(v, known(ground.centre), q.slip_sinkage, q, w, problems);
  if (!best) return std::nullopt;

  GravityOverSoils out{.centre = *centre};
  Placed tested{.vehicle = v.id, .zone = ground.zone, .centre = best->tested, .plan = plan}, test = tested, target = tested;
  test.centre = best->test;
  target.centre = best->target;
  std::string reason = ground.textbook ? "textbook soil, not your ground: no scatter is known" : "the soil states no scatter";
  if (ground.distribution) {
    const soil::PossibleSoils soils = soil::possible_soils(*ground.distribution, plan.form, draw_settings(v, ground, plan));
    reason = soils.reason_without;
    const auto place_all = [&](const std::vector<soil::Soil>& from, std::vector<OnSoil> Placed::* to) {
      for (const soil::Soil& s : from) {
        base::Problems refused;
        const auto three = on_both(v, known(s), q.slip_sinkage, q, w, refused);
        if (!three) {
          ++out.left_out;
          continue;
        }
        (tested.*to).push_back(three->tested);
        (test.*to).push_back(three->test);
        (target.*to).push_back(three->target);
      }
    };
    place_all(soils.average, &Placed::average);
    place_all(soils.next_point, &Placed::next_point);
    for (Placed* p : {&tested, &test, &target}) p->points = static_cast<std::size_t>(ground.distribution->bearing_dof) + 1;
  }
  for (Placed* p : {&tested, &test, &target}) p->reason_without = reason;
  out.reason_without = reason;
  out.draws = test.next_point.size();

  for (const double slip : q.slips) out.over_slip.push_back({slip, climbed(tested, slip).estimate, climbed(test, slip).estimate, climbed(target, slip).estimate});
  const Outcome as_tested = gradient_outcome(tested, q.working_slip), shown = gradient_outcome(test, q.working_slip), there = gradient_outcome(target, q.working_slip);
  out.as_tested = as_tested.estimate;
  out.equal_weight_test = shown.estimate;
  out.target = there.estimate;
  out.test_factor = shown.centre_factor;
  out.target_factor = there.centre_factor;
  Outcome difference{.centre = shown.centre - there.centre, .average = less(shown.average, there.average), .next_point = less(shown.next_point, there.next_point)};
  double steeper = 0;
  std::size_t both = 0;
  for (const double d : difference.next_point) {
    if (std::isnan(d)) {
      ++difference.not_converged;
      continue;
    }
    ++both;
    steeper += d == 0 ? 0.5 : d > 0 ? 1 : 0;
  }
  out.optimism = estimate_of_outcome(difference, test);
  if (both > 0) out.optimistic_ratio = steeper / static_cast<double>(both);
  return out;
}

}  // namespace hardpan::performance
