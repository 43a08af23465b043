// SPDX-License-Identifier: Apache-2.0
#include "performance/possible_runs.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include "math/draws.hpp"

namespace hardpan::performance {

soil::DrawSettings draw_settings(const vehicle::Vehicle& vehicle, const Ground& ground, const DrawPlan& plan) {
  soil::DrawSettings draws{.seed = plan.seed, .count = plan.count, .stream = ground.zone,
                           .soil_part = plan.soil_part, .instrument_part = plan.instrument_part,
                           .model_form_part = plan.model_form_part};
  for (const vehicle::Axle& a : vehicle.axles) {
    draws.widths_in_use_m.push_back(a.wheel.contact_width_m.value_or(a.wheel.width_m));
  }
  draws.widths_in_use_m.insert(draws.widths_in_use_m.end(), plan.widths_also_m.begin(), plan.widths_also_m.end());
  return draws;
}

std::optional<Placed> place_vehicle(const vehicle::Vehicle& vehicle, const Ground& ground,
                                    const DrawPlan& plan, const base::Place& place,
                                    base::Problems& problems) {
  const soil::SlipSinkage rule = ground.loose ? ground.slip_sinkage : soil::SlipSinkage::none;
  soil::Soil centre = ground.centre;
  // The exponent rule needs n1; where neither soil nor form gives one there is nothing to sink by.
  if (!centre.slip_exponent) centre.slip_exponent = plan.form.slip_exponent_mean;
  auto on_centre = on_soil(vehicle, centre, plan.gravity_m_s2, rule, place, problems, ground.rut);
  if (!on_centre) return std::nullopt;
  if (ground.disturbed) disturb_following(*on_centre, about(*ground.disturbed, ground.centre, centre));
  Placed out{.vehicle = vehicle.id, .zone = ground.zone, .centre = *on_centre, .plan = plan};
  if (!ground.distribution) {
    out.reason_without = ground.textbook ? "textbook soil, not your ground: no scatter is known"
                                         : "the soil states no scatter";
    return out;
  }
  const soil::PossibleSoils soils = soil::possible_soils(*ground.distribution, plan.form, draw_settings(vehicle, ground, plan));
  out.population = soils.population;
  out.redrawn = soils.redrawn;
  out.points = static_cast<std::size_t>(ground.distribution->bearing_dof) + 1;
  out.reason_without = soils.reason_without;
  const auto prepare = [&](const std::vector<soil::Soil>& from, std::vector<OnSoil>& to) {
    to.reserve(from.size());
    for (soil::Soil s : from) {
      if (!s.slip_exponent) s.slip_exponent = plan.form.slip_exponent_mean;
      auto on = on_soil(vehicle, s, plan.gravity_m_s2, rule, place, problems, ground.rut);
      if (!on) return false;
      if (ground.disturbed) disturb_following(*on, about(*ground.disturbed, ground.centre, s));
      to.push_back(*on);
    }
    return true;
  };
  if (!prepare(soils.average, out.average) || !prepare(soils.next_point, out.next_point)) return std::nullopt;
  return out;
}

double share_of(const Outcome& outcome, LimitingFactor factor) {
  if (outcome.next_factor.empty()) return 0;
  return static_cast<double>(std::count(outcome.next_factor.begin(), outcome.next_factor.end(), factor)) /
         static_cast<double>(outcome.next_factor.size());
}

std::vector<std::pair<LimitingFactor, double>> factors(const Outcome& outcome) {
  std::map<LimitingFactor, std::size_t> counts;
  for (const LimitingFactor f : outcome.next_factor) ++counts[f];
  std::vector<std::pair<LimitingFactor, double>> out;
  for (const auto& [factor, n] : counts) {
    out.emplace_back(factor, static_cast<double>(n) / static_cast<double>(outcome.next_factor.size()));
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

namespace {

// Central interval by order statistics; an infinite value (immobilised) keeps its place in the tail, a
// NaN (no numerical answer) is left out and counted by the caller.
std::optional<math::Interval> central(std::vector<double> values, double level) {
  std::erase_if(values, [](double v) { return std::isnan(v); });
  if (values.size() < math::kFewestDrawsForInterval) return std::nullopt;
  std::sort(values.begin(), values.end());
  const double last = static_cast<double>(values.size() - 1);
  const double tail = 0.5 * (1 - level);
  return math::Interval{values[static_cast<std::size_t>(std::floor(tail * last))],
                        values[static_cast<std::size_t>(std::ceil((1 - tail) * last))]};
}

}  // namespace

math::Estimate estimate_of_outcome(const Outcome& o, const Placed& placed) {
  if (o.next_point.empty()) return math::estimate_without_interval(o.centre, placed.reason_without, placed.points);
  math::Estimate e;
  e.value = o.centre;
  e.n = placed.points;
  e.average_ground = central(o.average, e.level);
  e.next_point = central(o.next_point, e.level);
  // A point lies about its average; where few draws tell its ends further in, the average's hold.
  if (e.next_point && e.average_ground) e.next_point = math::Interval{std::min(e.next_point->lo, e.average_ground->lo), std::max(e.next_point->hi, e.average_ground->hi)};
  e.status = math::kStatusOk;
  const auto immobile = std::count_if(o.next_point.begin(), o.next_point.end(), [](double v) { return std::isinf(v); });
  if (o.not_converged > 0) e.status = std::to_string(o.not_converged) + " of the possible soils gave no numerical answer";
  if (immobile > 0) e.status = std::to_string(immobile) + " of " + std::to_string(o.next_point.size()) +
                               " next points: immobilised";
  return e;
}

Outcome outcome(const Placed& placed, const ChunkQuestion& question) {
  Outcome out;
  {
    Workspace space;
    space.target = placed.plan.target;
    DrawAnswer answer;
    question({&placed.centre, 1}, {&answer, 1}, space);
    out.centre = answer.value;
    out.centre_factor = answer.factor;
    out.centre_state = answer.state;
  }
  const auto run = [&](const std::vector<OnSoil>& soils, std::vector<double>& values,
                       std::vector<LimitingFactor>* why) {
    values.assign(soils.size(), std::numeric_limits<double>::quiet_NaN());
    if (why) why->assign(soils.size(), LimitingFactor::none);
    base::ThreadPool(placed.plan.threads)
        .for_chunks(soils.size(), base::kDrawsPerChunk, {}, [&](std::size_t begin, std::size_t end) {
          thread_local Workspace space;
          thread_local std::vector<DrawAnswer> answers;
          space.target = placed.plan.target;
          answers.assign(end - begin, DrawAnswer{});
          question({soils.data() + begin, end - begin}, answers, space);
          for (std::size_t i = begin; i < end; ++i) {
            values[i] = answers[i - begin].value;
            if (why) (*why)[i] = answers[i - begin].factor;
          }
        });
  };
  run(placed.average, out.average, nullptr);
  run(placed.next_point, out.next_point, &out.next_factor);
  for (const double v : out.next_point) out.not_converged += std::isnan(v) ? 1 : 0;
  out.estimate = estimate_of_outcome(out, placed);
  return out;
}

namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();


ChunkQuestion gradients(const std::function<void(std::span<const OnSoil>, std::span<Gradient>, Workspace&)>& search,
                        double sign) {
  return [search, sign](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<Gradient> g(on.size());
    search(on, g, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      const bool lost = g[i].factor == LimitingFactor::not_converged;
      // A vehicle whose brakes hold nothing descends no slope at all.
      const double value = sign < 0 && g[i].gradient_rad == kNoGradient ? 0 : sign * g[i].gradient_rad;
      out[i] = {lost ? kNaN : value, g[i].factor, g[i].state};
    }
  };
}

// A question answered by the state at one slip and gradient; not balanced is the stated value.
ChunkQuestion states(double slip, double gradient, double otherwise, const std::function<double(const OnSoil&, const State&)>& read) {
  return [=](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<State> s(on.size());
    states_within_torque(on, slip, gradient, s, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      LimitingFactor factor = s[i].slip_ratio < slip ? LimitingFactor::torque : LimitingFactor::traction;
      double value = otherwise;
      switch (s[i].status) {
        case StateStatus::balanced: value = read(on[i], s[i]); break;
        case StateStatus::bogs_down: factor = LimitingFactor::bogs_down; break;
        case StateStatus::belly_contact: factor = LimitingFactor::belly_contact; break;
        case StateStatus::tips_rearward: factor = LimitingFactor::tip_over_rearward; break;
        case StateStatus::tips_forward: factor = LimitingFactor::tip_over_forward; break;
        case StateStatus::beyond_wheel_data: factor = LimitingFactor::wheel_data; value = kNaN; break;
        case StateStatus::wheel_spins:
        case StateStatus::not_converged: factor = LimitingFactor::not_converged; value = kNaN; break;
      }
      out[i] = {value, factor, s[i]};
    }
  };
}

}  // namespace

Outcome gradient_outcome(const Placed& placed, double slip_ratio) {
  return outcome(placed, gradients([slip_ratio](std::span<const OnSoil> on, std::span<Gradient> out, Workspace& w) {
                   gradients_at_slip(on, slip_ratio, out, w);
                 }, 1));
}
Outcome maximum_gradient_outcome(const Placed& placed) { return outcome(placed, gradients(maximum_gradients, 1)); }
Outcome descent_outcome(const Placed& placed) { return outcome(placed, gradients(maximum_descents, -1)); }

Placed without_torque_limit(const Placed& placed) {
  Placed out = placed;
  const auto lift = [](OnSoil& on) {
    for (Machine* m : {&on.plain, on.sinking ? &*on.sinking : nullptr}) {
      for (std::size_t k = 0; m && k < m->axles; ++k) m->axle[k].peak_torque_n_m = kInfinity;
    }
  };
  lift(out.centre);
  for (auto* soils : {&out.average, &out.next_point}) std::for_each(soils->begin(), soils->end(), lift);
  return out;
}

Outcome pull_coefficient_outcome(const Placed& placed, double slip_ratio, double gradient_rad) {
  // Not balanced: no pull at all, as if the resistance were the whole weight.
  return outcome(placed, states(slip_ratio, gradient_rad, -1, [gradient_rad](const OnSoil& on, const State& s) {
                   return s.net_force_n / (on.plain.weight_n * std::cos(gradient_rad));
                 }));
}
Outcome drawbar_pull_outcome(const Placed& placed, double slip_ratio, double gradient_rad) {
  return outcome(placed, states(slip_ratio, gradient_rad, -placed.centre.plain.weight_n,
                                [](const OnSoil&, const State& s) { return s.hitch_pull_n; }));
}

Outcome sinkage_at_slip_outcome(const Placed& placed, double slip_ratio, double gradient_rad) {
  return outcome(placed, states(slip_ratio, gradient_rad, kInfinity, [](const OnSoil&, const State& s) { return s.deepest_m(); }));
}
Outcome torque_at_slip_outcome(const Placed& placed, double slip_ratio, double gradient_rad) {
  return outcome(placed, states(slip_ratio, gradient_rad, kInfinity, [](const OnSoil& on, const State& s) {
                   double most = 0;
                   for (std::size_t k = 0; k < s.axles; ++k) {
                     if (on.plain.axle[k].driven) most = std::max(most, std::abs(s.wheel[k].torque_n_m));
                   }
                   return most;
                 }));
}

Outcome towed_resistance_outcome(const Placed& placed) {
  return outcome(placed, [](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<double> rho(on.size());
    towed_resistance_coefficients(on, rho, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      out[i] = {std::isnan(rho[i]) ? kInfinity : rho[i],
                std::isnan(rho[i]) ? LimitingFactor::bogs_down : LimitingFactor::none, {}};
    }
  });
}

Outcome travel_outcome(const Placed& placed, TravelQuantity quantity, double gradient_rad) {
  return outcome(placed, [=](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<Travel> t(on.size());
    travels(on, gradient_rad, 0, t, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      double value = 0;
      switch (quantity) {
        case TravelQuantity::slip: value = t[i].goes ? t[i].slip_ratio : 1; break;
        case TravelQuantity::sinkage: value = t[i].goes ? t[i].sinkage_m : kInfinity; break;
        case TravelQuantity::torque: value = t[i].goes || t[i].factor == LimitingFactor::torque ? std::abs(t[i].torque_n_m) : kInfinity; break;
        case TravelQuantity::energy_per_metre: value = t[i].goes ? t[i].energy_j_per_m : kInfinity; break;
        case TravelQuantity::speed: value = t[i].goes ? t[i].speed_m_s : 0; break;
      }
      if (t[i].factor == LimitingFactor::not_converged) value = kNaN;
      out[i] = {value, t[i].factor, t[i].state};
    }
  });
}

}  // namespace hardpan::performance
