// SPDX-License-Identifier: Apache-2.0
#include "performance/prediction.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include <fmt/core.h>

namespace hardpan::performance {
namespace {

using math::Estimate;

double deepest(const State& s) {
  double z = 0;
  for (std::size_t k = 0; k < s.axles; ++k) z = std::max(z, s.wheel[k].sinkage_m);
  return z;
}

double largest_torque(const OnSoil& on, const State& s) {
  double t = 0;
  for (std::size_t k = 0; k < s.axles; ++k) {
    if (on.plain.axle[k].driven) t = std::max(t, std::abs(s.wheel[k].torque_n_m));
  }
  return t;
}

// Pull power over power at the axles: P v / sum(T omega); level ground.
double efficiency(const OnSoil& on, const State& s) {
  double input = 0;
  for (std::size_t k = 0; k < s.axles; ++k) {
    const auto& w = s.wheel[k];
    if (!on.plain.axle[k].driven || !(w.torque_n_m > 0)) continue;
    input += on.plain.axle[k].wheels * w.torque_n_m /
             (w.torque_radius_m * (w.slip_ratio >= 0 ? 1 - w.slip_ratio : 1 / (1 + w.slip_ratio)));
  }
  return input > 0 ? s.net_force_n / input : 0;
}

// All four curve quantities come from one solve a draw: outcome() carries one value, so the others
// are written aside by draw index (chunks know where they begin by address).
SlipPoint slip_point(const Placed& placed, double slip) {
  struct Aside {
    std::vector<double> sinkage, torque, efficiency;
  };
  const auto index_in = [](const std::vector<OnSoil>& all, const OnSoil* p) -> std::optional<std::size_t> {
    if (all.empty() || p < all.data() || p >= all.data() + all.size()) return std::nullopt;
    return static_cast<std::size_t>(p - all.data());
  };
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  Aside average, next, centre;
  for (Aside* a : {&average, &next, &centre}) {
    const std::size_t n = a == &centre ? 1 : a == &average ? placed.average.size() : placed.next_point.size();
    a->sinkage.assign(n, nan);
    a->torque.assign(n, nan);
    a->efficiency.assign(n, nan);
  }
  const Outcome pull = outcome(placed, [&](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<State> s(on.size());
    states_at_slip(on, slip, 0, s, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      Aside* aside = &centre;
      std::size_t k = 0;
      if (const auto a = index_in(placed.average, &on[i])) {
        aside = &average;
        k = *a;
      } else if (const auto b = index_in(placed.next_point, &on[i])) {
        aside = &next;
        k = *b;
      }
      const bool ok = s[i].balanced(), lost = s[i].status == StateStatus::not_converged;
      aside->sinkage[k] = ok ? deepest(s[i]) : lost ? nan : inf;
      aside->torque[k] = ok ? largest_torque(on[i], s[i]) : lost ? nan : inf;
      aside->efficiency[k] = ok ? efficiency(on[i], s[i]) : lost ? nan : 0;
      out[i] = {ok ? s[i].net_force_n / on[i].plain.weight_n : lost ? nan : -1.0, LimitingFactor::none, s[i]};
    }
  });
  const auto as_estimate = [&](const std::vector<double>& c, std::vector<double> a, std::vector<double> n) {
    Outcome o;
    o.centre = c[0];
    o.average = std::move(a);
    o.next_point = std::move(n);
    return estimate_of_outcome(o, placed);
  };
  return {.slip_ratio = slip, .pull_coefficient = pull.estimate,
          .sinkage_m = as_estimate(centre.sinkage, average.sinkage, next.sinkage),
          .torque_n_m = as_estimate(centre.torque, average.torque, next.torque),
          .efficiency = as_estimate(centre.efficiency, average.efficiency, next.efficiency)};
}

UsedRange used_range(const Placed& placed, double slip) {
  Workspace space;
  State s;
  states_at_slip({&placed.centre, 1}, slip, 0, {&s, 1}, space);
  UsedRange u;
  u.slip_ratio = slip;
  const auto widen = [](math::Interval& i, double v) {
    i.lo = std::isnan(i.lo) ? v : std::min(i.lo, v);
    i.hi = std::isnan(i.hi) ? v : std::max(i.hi, v);
  };
  for (std::size_t k = 0; s.balanced() && k < s.axles; ++k) {
    const auto& w = s.wheel[k];
    widen(u.pressure_pa, w.ground_pressure_pa);
    widen(u.pressure_pa, placed.centre.plain.axle[k].contact.law.pressure_pa(w.sinkage_m));
    widen(u.sinkage_m, w.sinkage_m);
    widen(u.normal_stress_pa, w.max_normal_stress_pa);
    widen(u.shear_travel_m, w.max_shear_travel_m);
    widen(u.width_m, placed.centre.plain.axle[k].contact.pressure_width_m);
  }
  return u;
}

std::vector<SanityValue> sanity_values(const Placed& placed, const vehicle::Vehicle& vehicle,
                                       const Ground& ground, const Prediction& p) {
  std::vector<SanityValue> out;
  const Machine& m = placed.centre.plain;
  double area = 0, footprint = 0;
  for (std::size_t k = 0; k < m.axles; ++k) {
    area += m.axle[k].wheels * m.axle[k].contact.width_m * m.axle[k].contact.radius_m;
  }
  out.push_back({"nominal ground pressure", m.weight_n / area, "Pa", "W / (n b r)"});
  Workspace space;
  State s;
  states_at_slip({&placed.centre, 1}, p.working_slip, 0, {&s, 1}, space);
  if (s.balanced()) {
    for (std::size_t k = 0; k < s.axles; ++k) {
      footprint += m.axle[k].wheels * m.axle[k].contact.width_m * s.wheel[k].contact_length_m;
    }
    out.push_back({"mean contact pressure at the working slip", m.weight_n / footprint, "Pa", "W over the predicted contact patches"});
    if (ground.centre.shear) {
      out.push_back({"soil strength under the contact patches",
                     m.weight_n * ground.centre.shear->tan_phi + ground.centre.shear->cohesion_pa * footprint, "N",
                     "W tan phi + c A: no vehicle of this weight pulls more"});
    }
  }
  for (const vehicle::Axle& a : vehicle.axles) {
    if (a.wheel.flex && a.wheel.flex->inflation_pa) {
      out.push_back({"inflation pressure, axle " + a.name, *a.wheel.flex->inflation_pa, "Pa",
                     "contact pressure of a soft tyre is near it; common practice, no source"});
      break;
    }
  }
  const double rho = p.towed_resistance.centre;
  if (ground.centre.shear && std::isfinite(rho)) {
    out.push_back({"gradient bound", std::atan(ground.centre.shear->tan_phi - rho), "rad",
                   "atan(tan phi - rho) with the predicted towed resistance coefficient rho; cohesion left out"});
  }
  for (const EnergyPoint& e : p.energy) {
    if (e.gradient_rad != 0 || !std::isfinite(rho)) continue;
    double eta = 1;
    for (std::size_t k = 0; k < m.axles; ++k) eta = std::min(eta, m.axle[k].efficiency);
    out.push_back({"energy floor, level", m.weight_n * rho / eta, "J/m", "W rho / eta, without slip and idle loads"});
  }
  return out;
}

std::vector<std::string> notes_of(const Placed& placed, const Prediction& p) {
  std::vector<std::string> out;
  out.push_back("Following wheels are computed on virgin soil: the effect of the rut is not in these numbers.");
  if (!p.working_slip_stated) out.push_back("No working slip is declared: 20 % is used.");
  std::set<std::string> seen;
  for (std::size_t k = 0; k < placed.centre.plain.axles; ++k) {
    const contact::Flag all = placed.centre.plain.axle[k].contact.notes |
                              (k < p.gradient_working.centre_state.axles ? p.gradient_working.centre_state.wheel[k].flags
                                                                         : contact::Flag::none);
    for (std::string& s : contact::sentences(all)) {
      if (seen.insert(s).second) out.push_back(std::move(s));
    }
  }
  if (p.gradient_maximum.centre_state.balanced() && p.gradient_maximum.centre_state.slip_ratio > 0.5) {
    out.push_back(fmt::format("The largest gradient is reached at {:.0f} % slip: that means digging in, not travelling.",
                              100 * p.gradient_maximum.centre_state.slip_ratio));
  }
  if (p.gradient_maximum.centre_state.balanced() && p.gradient_maximum.centre_state.slip_ratio < 0.1 && placed.centre.sinking) {
    out.push_back("The pull peaks below 10 % slip on loose ground: a flag on the model, not a finding.");
  }
  return out;
}

}  // namespace

Prediction predict(const Placed& placed, const vehicle::Vehicle& vehicle, const Ground& ground,
                   const PredictionSettings& settings) {
  Prediction p;
  p.vehicle = placed.vehicle;
  p.zone = placed.zone;
  p.textbook = ground.textbook;
  if (ground.textbook) p.heading = "textbook soil, not your ground";
  p.population = placed.population;
  p.reason_without = placed.reason_without;
  p.draws = placed.next_point.size();
  p.redrawn = placed.redrawn;
  p.working_slip = settings.working_slip;
  p.working_slip_stated = settings.working_slip_stated;
  p.slip_sinkage = ground.loose ? std::string("without and with; ") + soil::name(ground.slip_sinkage) + "; the lower pull leads"
                                : "without slip sinkage";
  for (const double s : settings.slips) p.curve.push_back(slip_point(placed, s));
  p.gradient_20 = gradient_outcome(placed, 0.2);
  p.gradient_working = settings.working_slip == 0.2 ? p.gradient_20 : gradient_outcome(placed, settings.working_slip);
  p.gradient_maximum = maximum_gradient_outcome(placed);
  p.descent = descent_outcome(placed);
  p.pull_20 = pull_coefficient_outcome(placed, 0.2);
  p.towed_resistance = towed_resistance_outcome(placed);
  for (const double a : settings.gradients_rad) {
    const Outcome slip = travel_outcome(placed, TravelQuantity::slip, a);
    const double stuck = slip.next_factor.empty() ? 0 : 1 - share_of(slip, LimitingFactor::none);
    p.slip_on_gradient.push_back({a, slip.estimate, stuck});
  }
  for (const double a : settings.energy_gradients_rad) {
    p.energy.push_back({a, travel_outcome(placed, TravelQuantity::energy_per_metre, a).estimate,
                        travel_outcome(placed, TravelQuantity::speed, a).estimate,
                        travel_outcome(placed, TravelQuantity::torque, a).estimate,
                        travel_outcome(placed, TravelQuantity::sinkage, a).estimate,
                        travel_outcome(placed, TravelQuantity::slip, a).estimate});
  }
  p.used = used_range(placed, settings.working_slip);
  if (settings.sensitivity && ground.distribution) {
    p.sensitivity = sensitivity_bars(vehicle, ground, placed.plan, settings.working_slip);
  }
  p.sanity = sanity_values(placed, vehicle, ground, p);
  p.notes = notes_of(placed, p);
  return p;
}

std::vector<SensitivityBar> sensitivity_bars(const vehicle::Vehicle& vehicle, const Ground& ground,
                                             const DrawPlan& plan, double working_slip) {
  std::vector<SensitivityBar> out;
  struct Part {
    const char* name;
    bool soil, instrument, form;
  };
  for (const Part part : {Part{"soil", true, false, false}, Part{"instrument", false, true, false},
                          Part{"model form", false, false, true}}) {
    DrawPlan only = plan;
    only.soil_part = part.soil;
    only.instrument_part = part.instrument;
    only.model_form_part = part.form;
    base::Problems problems;
    const auto placed = place_vehicle(vehicle, ground, only, {}, problems);
    if (!placed) continue;
    const Outcome g = gradient_outcome(*placed, working_slip);
    const Outcome c = pull_coefficient_outcome(*placed, working_slip);
    out.push_back({"maximum gradient at the working slip", part.name, g.centre, g.estimate.next_point});
    out.push_back({"pull coefficient at the working slip", part.name, c.centre, c.estimate.next_point});
  }
  return out;
}

}  // namespace hardpan::performance
