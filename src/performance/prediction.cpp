// SPDX-License-Identifier: Apache-2.0
#include "performance/prediction.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include <fmt/core.h>

namespace hardpan::performance {
namespace {

using math::Estimate;

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

// Several numbers a draw from one solve: outcome() carries one value, so each chunk writes its numbers
// aside by draw index (a chunk knows where it begins by address). fields[f] is the centre, the average
// draws or the next-point draws of field f.
struct Aside {
  struct Field {
    std::vector<double> centre, average, next;
  };
  std::vector<Field> fields;
};

template <class Solve>
Aside aside_outcome(const Placed& placed, std::size_t field_count, const Solve& solve) {
  Aside out;
  out.fields.resize(field_count);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (Aside::Field& f : out.fields) {
    f.centre.assign(1, nan);
    f.average.assign(placed.average.size(), nan);
    f.next.assign(placed.next_point.size(), nan);
  }
  const auto index_in = [](const std::vector<OnSoil>& all, const OnSoil* p) -> std::optional<std::size_t> {
    if (all.empty() || p < all.data() || p >= all.data() + all.size()) return std::nullopt;
    return static_cast<std::size_t>(p - all.data());
  };
  static_cast<void>(outcome(placed, [&](std::span<const OnSoil> on, std::span<DrawAnswer>, Workspace& space) {
    solve(on, space, [&](std::size_t i, const std::vector<double>& values) {
      for (std::size_t f = 0; f < field_count; ++f) {
        if (const auto k = index_in(placed.average, &on[i])) out.fields[f].average[*k] = values[f];
        else if (const auto n = index_in(placed.next_point, &on[i])) out.fields[f].next[*n] = values[f];
        else out.fields[f].centre[0] = values[f];
      }
    });
  }));
  return out;
}

Estimate estimate_field(const Placed& placed, const Aside::Field& f) {
  Outcome o;
  o.centre = f.centre[0];
  o.average = f.average;
  o.next_point = f.next;
  for (const double v : o.next_point) o.not_converged += std::isnan(v) ? 1 : 0;
  return estimate_of_outcome(o, placed);
}

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

// Pull, sinkage, torque and efficiency at one slip on the level.
SlipPoint slip_point(const Placed& placed, double slip) {
  const Aside a = aside_outcome(placed, 4, [&](std::span<const OnSoil> on, Workspace& space, const auto& put) {
    std::vector<State> s(on.size());
    states_at_slip(on, slip, 0, s, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      if (s[i].balanced()) put(i, {s[i].net_force_n / on[i].plain.weight_n, s[i].deepest_m(), largest_torque(on[i], s[i]), efficiency(on[i], s[i])});
      else if (s[i].status != StateStatus::not_converged && s[i].status != StateStatus::wheel_spins) put(i, {-1.0, kInfinity, kInfinity, 0.0});
    }
  });
  return {.slip_ratio = slip, .pull_coefficient = estimate_field(placed, a.fields[0]), .sinkage_m = estimate_field(placed, a.fields[1]),
          .torque_n_m = estimate_field(placed, a.fields[2]), .efficiency = estimate_field(placed, a.fields[3])};
}

// The gradient climbed at each slip of a grid (hitch free), with what it takes: read the other way round it
// is slip, energy and speed against gradient, for a tenth of the work of solving each gradient. Linear
// between the grid's slips: moves a slip by less than 0.004 (tested against travels()).
struct Ladder {
  static constexpr std::array<double, 17> kDriving{0, 0.01, 0.02, 0.035, 0.05, 0.075, 0.1, 0.13, 0.16, 0.2, 0.25, 0.3, 0.4, 0.5, 0.65, 0.8, 0.95};
  static constexpr std::array<double, 9> kBraking{-0.02, -0.05, -0.1, -0.2, -0.35, -0.5, -0.65, -0.8, -0.95};
  enum Field : std::size_t { gradient, sinkage, torque, energy, speed, torque_use, field_count };
  std::vector<Aside> driving, braking;  // by slip
};

Ladder ladder(const Placed& placed) {
  const auto rung = [&](double slip) {
    return aside_outcome(placed, Ladder::field_count, [&](std::span<const OnSoil> on, Workspace& space, const auto& put) {
      std::vector<Rung> r(on.size());
      rungs(on, slip, r, space);
      for (std::size_t i = 0; i < on.size(); ++i) {
        if (r[i].balanced) put(i, {r[i].gradient_rad, r[i].sinkage_m, r[i].torque_n_m, r[i].energy_j_per_m, r[i].speed_m_s, r[i].torque_use});
        else put(i, {r[i].lost ? kNaN : -kInfinity, kInfinity, kInfinity, kInfinity, 0.0, kInfinity});
      }
    });
  };
  Ladder out;
  for (const double s : Ladder::kDriving) out.driving.push_back(rung(s));
  for (const double s : Ladder::kBraking) out.braking.push_back(rung(s));
  return out;
}

// One draw of the ladder on one gradient: where between which rungs it travels, if it does.
struct OnGradient {
  bool goes = false, lost = false;
  double slip = 1, sinkage = kInfinity, torque = kInfinity, energy = kInfinity, speed = 0;
};

template <class Get>  // get(rung, field) of one draw
OnGradient read_ladder(const Ladder& l, double gradient, const Get& get) {
  OnGradient out;
  const auto between = [&](const Aside& a, const Aside& b, double sa, double sb) {
    const double ga = get(a, Ladder::gradient), gb = get(b, Ladder::gradient);
    const double t = gb == ga ? 0 : (gradient - ga) / (gb - ga);
    const auto mix = [&](Ladder::Field f) { return get(a, f) + t * (get(b, f) - get(a, f)); };
    out.slip = sa + t * (sb - sa);
    out.sinkage = mix(Ladder::sinkage);
    out.torque = mix(Ladder::torque);
    out.energy = mix(Ladder::energy);
    const double va = get(a, Ladder::speed), vb = get(b, Ladder::speed);
    out.speed = std::isfinite(va) && std::isfinite(vb) ? va + t * (vb - va) : std::min(va, vb);
    out.goes = !(mix(Ladder::torque_use) > 1);
  };
  const double at_zero = get(l.driving[0], Ladder::gradient);
  out.lost = std::isnan(at_zero);
  if (gradient > at_zero) {
    for (std::size_t j = 1; j < l.driving.size(); ++j) {
      const double below = get(l.driving[j - 1], Ladder::gradient), g = get(l.driving[j], Ladder::gradient);
      if (std::isnan(g)) out.lost = true;
      if (!std::isfinite(below) || !std::isfinite(g)) break;
      if (g >= gradient) {
        between(l.driving[j - 1], l.driving[j], Ladder::kDriving[j - 1], Ladder::kDriving[j]);
        break;
      }
    }
  } else if (gradient <= at_zero) {
    const Aside* before = &l.driving[0];
    double slip_before = 0;
    for (std::size_t j = 0; j < l.braking.size(); ++j) {
      const double g = get(l.braking[j], Ladder::gradient);
      if (std::isnan(g)) out.lost = true;
      if (!std::isfinite(g)) break;
      if (g <= gradient) {
        between(*before, l.braking[j], slip_before, Ladder::kBraking[j]);
        break;
      }
      before = &l.braking[j];
      slip_before = Ladder::kBraking[j];
    }
  }
  if (!out.goes) out = {.lost = out.lost};
  return out;
}

// Calls make(value of one draw's OnGradient) into an estimate for every draw.
std::vector<OnGradient> all_on_gradient(const Ladder& l, double gradient, std::size_t count, std::vector<double> Aside::Field::* which) {
  std::vector<OnGradient> out;
  out.reserve(count);
  for (std::size_t k = 0; k < count; ++k) {
    out.push_back(read_ladder(l, gradient, [&](const Aside& rung, Ladder::Field f) { return (rung.fields[f].*which)[k]; }));
  }
  return out;
}

struct GradientDraws {
  std::vector<OnGradient> centre, average, next;
};
GradientDraws on_gradient(const Placed& placed, const Ladder& l, double gradient) {
  return {all_on_gradient(l, gradient, 1, &Aside::Field::centre), all_on_gradient(l, gradient, placed.average.size(), &Aside::Field::average),
          all_on_gradient(l, gradient, placed.next_point.size(), &Aside::Field::next)};
}
Estimate estimate_draws(const Placed& placed, const GradientDraws& d, double OnGradient::* field) {
  Aside::Field f;
  const auto take = [&](const std::vector<OnGradient>& from, std::vector<double>& to) {
    for (const OnGradient& g : from) to.push_back(g.lost && !g.goes ? kNaN : g.*field);
  };
  take(d.centre, f.centre);
  take(d.average, f.average);
  take(d.next, f.next);
  return estimate_field(placed, f);
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
    widen(u.pressure_pa, placed.centre.plain.axle[k].contact.law.pressure_pa(s.depth_m(k)));
    widen(u.sinkage_m, s.depth_m(k));
    widen(u.normal_stress_pa, w.max_normal_stress_pa);
    widen(u.shear_travel_m, w.max_shear_travel_m);
    widen(u.width_m, placed.centre.plain.axle[k].contact.pressure_width_m);
  }
  return u;
}

// The measured motion resistance where there is one, else the predicted.
ResistanceUsed resistance_used(const Ground& ground, const Prediction& p) {
  if (!ground.measured_resistance) return {p.towed_resistance.centre, "the predicted towed resistance (none was measured)"};
  const MeasuredResistance& m = *ground.measured_resistance;
  return {m.coefficient_ratio, fmt::format("the measured motion resistance coefficient {:.3f} ({}; predicted: {:.3f})", m.coefficient_ratio, m.method, p.towed_resistance.centre)};
}

std::vector<SanityValue> sanity_values(const Placed& placed, const vehicle::Vehicle& vehicle,
                                       const Ground& ground, const Prediction& p, const SanityOfTyres& tyres) {
  const Machine& m = placed.centre.plain;
  const ResistanceUsed rho = resistance_used(ground, p);
  std::vector<SanityValue> out = ground_limits(placed.centre, ground.centre, p.working_slip, rho);
  for (const vehicle::Axle& a : vehicle.axles) {
    if (a.wheel.flex && a.wheel.flex->inflation_pa) {
      out.push_back({"inflation pressure, axle " + a.name, *a.wheel.flex->inflation_pa, "Pa",
                     "contact pressure of a soft tyre is near it; common practice, no source"});
      break;
    }
  }
  out.insert(out.end(), tyres.values.begin(), tyres.values.end());
  for (SanityValue& v : usual_ranges(ground.loose, p.pull_20.centre, p.towed_resistance.centre)) out.push_back(std::move(v));
  for (const EnergyPoint& e : p.energy) {
    if (e.gradient_rad != 0 || !std::isfinite(rho.coefficient_ratio)) continue;
    double eta = 1;
    for (std::size_t k = 0; k < m.axles; ++k) eta = std::min(eta, m.axle[k].efficiency);
    const double floor = m.weight_n * rho.coefficient_ratio / eta;
    out.push_back({"energy floor, level", floor, "J/m", "W rho / eta, without slip and idle loads; rho is " + rho.words +
                   (e.energy_j_per_m.value < floor ? ". The predicted energy lies below it: driven wheels are computed to roll more easily here than towed ones; do not plan with less than this" : "")});
  }
  return out;
}

std::string following_words(const Machine& m, bool disturbed) {
  if (!m.rut) return "Following wheels are computed on untouched ground: the effect of the rut is not in these numbers.";
  std::string own, partly;
  for (std::size_t k = 0; k + 1 < m.axles; ++k) {
    const AxleOnSoil& a = m.axle[k];
    if (a.path_of == kOwnPath) own += fmt::format("{}{}", own.empty() ? "" : ", ", k + 1);
    else if (a.path_share < 1) partly += fmt::format("{}{} with {:.0f} % of the width", partly.empty() ? "" : ", ", k + 1, 100 * a.path_share);
  }
  return "Following wheels run on the floor of the rut that the wheels ahead left, by the measured unloading stiffness; " +
         std::string(disturbed ? "the soil's strength there is that stated for disturbed ground. " : "the soil's strength there is taken as untouched. ") +
         "The model is known to give such a wheel less pull than tests mostly show (Wong 2008; Senatore and Sandu 2011)." +
         (partly.empty() ? "" : " Axles that run only partly in the path ahead, counted from the rear; their wheels share one depth between rut and untouched ground: " + partly + ".") +
         (own.empty() ? "" : " Axles in paths of their own, counted from the rear, on untouched ground: " + own + ".");
}

std::vector<std::string> notes_of(const Placed& placed, const Ground& ground, const Prediction& p) {
  std::vector<std::string> out;
  out.push_back(following_words(placed.centre.plain, ground.disturbed.has_value()));
  if (ground.weakest_crust_pa && p.used.pressure_pa.hi < *ground.weakest_crust_pa) {
    out.push_back(fmt::format("The wheels press at most {:.0f} % of what the weakest crust of this zone carried under a plate: such a wheel bears on the crust, and neither "
                              "sinkage nor pull is what the law of the ground below it says.",
                              100 * p.used.pressure_pa.hi / *ground.weakest_crust_pa));
  }
  if (!p.working_slip_stated) out.push_back("No working slip is declared: 20 % is used.");
  if (p.pull_20.centre_factor == LimitingFactor::torque) {
    out.push_back(fmt::format("The drives' peak torque reaches {:.0f} % slip on the level, not 20 %: pulls against slip beyond that are what the ground lets, not what the drives give.",
                              100 * p.pull_20.centre_state.slip_ratio));
  }
  const double friction_rad = std::atan(placed.centre.plain.axle[0].contact.tan_phi);
  if (p.descent.centre > friction_rad) {
    out.push_back(fmt::format("The steepest descent the brakes hold ({:.1f} deg) is steeper than the ground's angle of friction ({:.1f} deg): it is a limit of the wheels alone. Ground without cohesion does not stand so "
                              "steep, and slides with the vehicle on it.",
                              p.descent.centre * 180 / std::numbers::pi, friction_rad * 180 / std::numbers::pi));
  }
  for (const EnergyPoint& e : p.energy) {
    if (e.gradient_rad != 0 || !(e.slip_ratio.value < 0)) continue;
    out.push_back(fmt::format("On the level the vehicle travels at {:.1f} % slip though its wheels drive: sunk this deep the relation gives pull at no slip already. It does not mean braking, and slips so "
                              "near zero depend on the rolling radius they are told with.", 100 * e.slip_ratio.value));
  }
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
  if (p.gradient_maximum.centre_state.balanced() && p.gradient_maximum.centre_state.slip_ratio < 0.1 &&
      p.gradient_maximum.centre_factor == LimitingFactor::traction && placed.centre.sinking) {
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
  p.slip_sinkage = ground.loose ? ground.slip_sinkage : soil::SlipSinkage::none;
  p.used = used_range(placed, settings.working_slip);
  if (settings.headlines_only) return p;
  for (const double s : settings.slips) p.curve.push_back(slip_point(placed, s));
  p.gradient_20 = gradient_outcome(placed, 0.2);
  p.gradient_working = settings.working_slip == 0.2 ? p.gradient_20 : gradient_outcome(placed, settings.working_slip);
  p.gradient_maximum = maximum_gradient_outcome(placed);
  p.descent = descent_outcome(placed);
  p.pull_20 = pull_coefficient_outcome(placed, 0.2);
  p.towed_resistance = towed_resistance_outcome(placed);
  const Ladder steps = ladder(placed);
  for (const double a : settings.gradients_rad) {
    const GradientDraws d = on_gradient(placed, steps, a);
    const auto stuck = std::count_if(d.next.begin(), d.next.end(), [](const OnGradient& g) { return !g.goes && !g.lost; });
    p.slip_on_gradient.push_back({a, estimate_draws(placed, d, &OnGradient::slip),
                                  d.next.empty() ? 0 : static_cast<double>(stuck) / static_cast<double>(d.next.size())});
  }
  for (const double a : settings.energy_gradients_rad) {
    const GradientDraws d = on_gradient(placed, steps, a);
    p.energy.push_back({a, estimate_draws(placed, d, &OnGradient::energy), estimate_draws(placed, d, &OnGradient::speed),
                        estimate_draws(placed, d, &OnGradient::torque), estimate_draws(placed, d, &OnGradient::sinkage),
                        estimate_draws(placed, d, &OnGradient::slip)});
  }
  if (ground.distribution) {
    p.sensitivity = sensitivity_bars(vehicle, ground, placed.plan, settings.working_slip);
  }
  const SanityOfTyres tyres = tyre_values(placed.centre.plain, vehicle, ground.cone_index_pa);
  p.sanity = sanity_values(placed, vehicle, ground, p, tyres);
  p.notes = notes_of(placed, ground, p);
  p.notes.insert(p.notes.end(), tyres.without.begin(), tyres.without.end());
  return p;
}

std::string slip_sinkage_words(const Prediction& prediction) {
  const std::string rule = soil::name(prediction.slip_sinkage);
  if (prediction.slip_sinkage == soil::SlipSinkage::none) return "computed " + rule;
  return "computed without and with " + rule + "; the lower pull counts";
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
