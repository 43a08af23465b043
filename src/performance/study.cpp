// SPDX-License-Identifier: Apache-2.0
#include "performance/study.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "performance/at_speed.hpp"
#include "units/print.hpp"

namespace hardpan::performance {
namespace {

struct Range {
  double least = 0, most = 0;
};
Range range_of(Varied what) {
  switch (what) {
    case Varied::wheel_diameter: return {0.02, 20};
    case Varied::wheel_width: return {0.005, 10};
    case Varied::wheel_stiffness: return {10, 1e9};
    case Varied::mass: return {0.1, 1e6};
    case Varied::slip: return {0.01, 0.95};
    case Varied::speed: return {0.01, 100};
  }
  return {};
}

// The quantity of one variant, and in words what limits it.
struct Answer {
  Outcome outcome;
  std::string limited_by;
};

Answer answer(const Placed& p, Studied quantity, double slip, std::optional<double> speed_m_s) {
  Outcome o;
  switch (quantity) {
    case Studied::gradient_at_slip: o = speed_m_s ? gradient_at_speed_outcome(p, slip, *speed_m_s) : gradient_outcome(p, slip); break;
    case Studied::gradient_maximum: o = speed_m_s ? gradient_at_speed_outcome(p, std::nullopt, *speed_m_s) : maximum_gradient_outcome(p); break;
    case Studied::pull_at_slip: o = pull_coefficient_outcome(p, slip); break;
    case Studied::energy_level: o = energy_at_speed_outcome(p, speed_m_s); break;
    case Studied::ride_margin: break;   // not on a soil: ride_answer
  }
  std::string by = speed_limited_by(p, o);
  if (quantity == Studied::energy_level && o.centre_factor == LimitingFactor::none) by = speed_m_s ? "goes" : "goes, as fast as it can";
  return {std::move(o), std::move(by)};
}

// What is left of the bound that is nearest, over all grounds.
std::optional<Answer> ride_answer(const vehicle::Vehicle& v, const std::vector<RideOver>& over, double gravity_m_s2, double speed_m_s, base::Problems& problems) {
  Answer out;
  out.outcome.centre = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < over.size(); ++i) {
    const RideOver& o = over[i];
    const auto model = make_ride_vehicle(v, gravity_m_s2, o.settings, {}, problems);
    if (!model) return std::nullopt;
    const RidePoint at = ride_at(*model, o.ground, o.question, speed_m_s);
    const auto count = [&](RideLimit kind, double use) {
      if (!(1 - use < out.outcome.centre)) return;
      out.outcome.centre = 1 - use;
      out.limited_by = name(kind);
      if (kind == RideLimit::wheels_leave_ground) out.limited_by += fmt::format(", axle {} from the rear", at.axle + 1);
      if (over.size() > 1) out.limited_by += fmt::format(", ground {} of {}", i + 1, over.size());
    };
    count(RideLimit::wheels_leave_ground, at.load_share);
    if (o.question.shock_m_s2) count(RideLimit::shock, at.peak_m_s2 / *o.question.shock_m_s2);
    if (o.question.ride_m_s2) count(RideLimit::ride, at.weighted_rms_m_s2 / *o.question.ride_m_s2);
    if (o.question.absorbed_power_w) count(RideLimit::absorbed_power, at.absorbed_power_w / *o.question.absorbed_power_w);
  }
  out.outcome.estimate = math::estimate_without_interval(out.outcome.centre, "rough ground is taken as hard: no soil enters", 0);
  return out;
}

std::string first_refusal(const base::Problems& problems, const StudySettings& settings) {
  for (base::Problem p : problems.list()) {
    if (p.severity != base::Severity::refusal) continue;
    if (settings.key_in_file) p.place.key = settings.key_in_file(p.place.key);
    return p.text();
  }
  return "";
}

// Nothing where wheels differ or are rigid, or no speed is stated.
std::optional<double> present_value(const vehicle::Vehicle& v, Varied what, const StudySettings& settings) {
  const auto same = [&](auto&& of) -> std::optional<double> {
    const std::optional<double> first = of(v.axles.front().wheel);
    for (const vehicle::Axle& a : v.axles) {
      if (of(a.wheel) != first) return std::nullopt;
    }
    return first;
  };
  switch (what) {
    case Varied::wheel_diameter: return same([](const vehicle::Wheel& w) { return std::optional(2 * w.radius_m); });
    case Varied::wheel_width: return same([](const vehicle::Wheel& w) { return std::optional(w.width_m); });
    case Varied::wheel_stiffness: return same([](const vehicle::Wheel& w) { return w.flex ? w.flex->stiffness_n_per_m : std::nullopt; });
    case Varied::mass: return vehicle::mass_kg(v);
    case Varied::slip: return settings.slip_ratio;
    case Varied::speed: return settings.speed_m_s;
  }
  return std::nullopt;
}

// A value as it was typed: in the unit of the variation.
std::string as_typed(const Variation& v, double si) {
  const auto u = v.typed_unit.empty() ? std::nullopt : units::find_unit(v.typed_unit);
  return u ? units::print_in(si, *u, 4) : fmt::format("{:g}{}", si, v.what == Varied::slip ? "" : std::string(" ") + unit(v.what));
}

}  // namespace

std::optional<double> Study::margin(double value) const {
  if (quantity == Studied::ride_margin) return value;
  if (!needed) return std::nullopt;
  return more_is_better(quantity) ? value - *needed : *needed - value;
}
std::optional<double> Study::margin_low(const StudyCell& cell) const {
  const auto& next = cell.outcome.estimate.next_point;
  return next ? margin(more_is_better(quantity) ? next->lo : next->hi) : std::nullopt;
}

bool check_study(const std::vector<Variation>& variations, const StudySettings& settings, const base::Place& place, base::Problems& problems) {
  bool good = true;
  constexpr std::size_t kAll = std::numeric_limits<std::size_t>::max();   // the list itself; 0: not one of it
  const auto refuse = [&](std::size_t k, std::string what, std::string value, std::string bound, std::string remedy = "") {
    base::Place at = place;
    if (k > 0) at.key += (at.key.empty() ? "" : ".") + (k == kAll ? "vary" : fmt::format("vary[{}]", k));
    problems.refuse({.place = at, .what = std::move(what), .value = std::move(value), .bound = std::move(bound), .remedy = std::move(remedy)});
    good = false;
  };
  if (variations.empty() || variations.size() > 2) refuse(kAll, "a study varies one or two parameters", std::to_string(variations.size()), "1 or 2");
  if (variations.size() == 2 && variations[0].what == variations[1].what) refuse(2, "varied twice", name(variations[1].what), "two different parameters");
  bool slip_varies = false, speed_varies = false;
  for (std::size_t k = 0; k < variations.size(); ++k) {
    const Variation& v = variations[k];
    const Range r = range_of(v.what);
    slip_varies = slip_varies || v.what == Varied::slip;
    speed_varies = speed_varies || v.what == Varied::speed;
    if (!depends(settings.quantity, v.what)) refuse(k + 1, fmt::format("the {} does not depend on the {}", name(settings.quantity), name(v.what)), name(v.what), "", v.what == Varied::speed ? "ask for the maximum gradient, the energy or the ride" : "vary another parameter, or ask for another quantity");
    if (!(v.from >= r.least && v.to <= r.most && v.from < v.to)) refuse(k + 1, "not a range to vary over", fmt::format("{} {} to {}", name(v.what), as_typed(v, v.from), as_typed(v, v.to)), fmt::format("rising, within {} to {}", as_typed(v, r.least), as_typed(v, r.most)));
    if (v.steps < 2 || v.steps > 41) refuse(k + 1, "not a number of values", std::to_string(v.steps), "2 to 41");
  }
  if (!slip_varies && !(settings.slip_ratio > 0 && settings.slip_ratio <= 0.95)) refuse(0, "not a slip", fmt::format("{:g}", settings.slip_ratio), "above 0 to 0.95");
  if (settings.speed_m_s && !(*settings.speed_m_s >= 0.01 && *settings.speed_m_s <= 100)) refuse(0, "not a speed to drive at", fmt::format("{:g} m/s", *settings.speed_m_s), "0.01 to 100 m/s");
  if (settings.speed_m_s && settings.quantity == Studied::pull_at_slip) refuse(0, "the pull coefficient does not depend on the speed", fmt::format("{:g} m/s", *settings.speed_m_s), "", "leave the speed out");
  if (settings.quantity == Studied::ride_margin && !speed_varies && !settings.speed_m_s) refuse(0, "a ride margin needs a speed", "none", "", "vary the speed, or state it");
  if (settings.needed && settings.quantity == Studied::ride_margin) refuse(0, "a ride margin needs no threshold: it is a margin already", fmt::format("{:g}", *settings.needed), "", "leave out what is needed; bounds belong to the rough ground");
  if (settings.needed && !std::isfinite(*settings.needed)) refuse(0, "what is needed is not a number", fmt::format("{:g}", *settings.needed), "");
  return good;
}

std::optional<Study> study(const vehicle::Vehicle& vehicle, const Ground& ground, DrawPlan plan, const std::vector<Variation>& variations, const StudySettings& settings, const base::Place& place, base::Problems& problems) {
  bool good = check_study(variations, settings, place, problems);
  const auto refuse = [&](std::string what, std::string remedy) {
    problems.refuse({.place = place, .what = std::move(what), .remedy = std::move(remedy)});
    good = false;
  };
  const bool on_speed = settings.speed_m_s || std::any_of(variations.begin(), variations.end(), [](const Variation& v) { return v.what == Varied::speed; });
  const bool gradient = settings.quantity == Studied::gradient_at_slip || settings.quantity == Studied::gradient_maximum;
  if (on_speed && gradient && !speed_limits_gradient(vehicle)) refuse("no gradient of this vehicle depends on the speed: its drives state neither peak power nor a speed limit", "state peak_power or max_speed of the drives in the vehicle file");
  if (on_speed && settings.quantity == Studied::energy_level && !speed_changes_energy(vehicle)) refuse("the energy of this vehicle does not depend on the speed: it states no idle loads, and its drives neither peak power nor a speed limit", "state idle_power of the vehicle, or peak_power or max_speed of its drives, in the vehicle file");
  if (settings.quantity == Studied::ride_margin && settings.over.empty()) refuse("a ride margin needs rough ground", "state a wave, a class of roughness or a profile");
  if (!good) return std::nullopt;
  Study out{.vehicle = vehicle.id, .zone = ground.zone, .variations = variations, .quantity = settings.quantity, .slip_ratio = settings.slip_ratio, .speed_m_s = settings.speed_m_s, .needed = settings.needed};
  for (const Variation& v : variations) {
    out.present.push_back(present_value(vehicle, v.what, settings));
    // Every cell meets the same possible soils: feasible at every width of the sweep.
    for (std::size_t k = 0; v.what == Varied::wheel_width && k < v.steps; ++k) plan.widths_also_m.push_back(v.value(k));
  }
  for (const vehicle::Axle& a : vehicle.axles) plan.widths_also_m.push_back(a.wheel.contact_width_m.value_or(a.wheel.width_m));
  // The vehicle as it is placed once: slip and speed change nothing of it.
  std::optional<Placed> unchanged;
  const auto cell_of = [&](const vehicle::Vehicle& variant, bool changed, double slip, std::optional<double> speed_m_s) {
    StudyCell cell;
    base::Problems found;
    std::optional<Answer> a;
    if (changed) vehicle::check_vehicle(variant, plan.gravity_m_s2, {}, found);
    if (found.refused()) {
    } else if (settings.quantity == Studied::ride_margin) {
      if (speed_m_s) a = ride_answer(variant, settings.over, plan.gravity_m_s2, *speed_m_s, found);
      else cell.why_not = "no speed is stated";
    } else {
      std::optional<Placed> own;
      if (changed) own = place_vehicle(variant, ground, plan, {}, found);
      else if (!unchanged) unchanged = place_vehicle(variant, ground, plan, {}, found);
      if (const auto& placed = changed ? own : unchanged) {
        a = answer(*placed, settings.quantity, slip, speed_m_s);
        out.reason_without = placed->reason_without;
      }
    }
    if (a) {
      cell.outcome = std::move(a->outcome);
      cell.limited_by = std::move(a->limited_by);
    } else if (cell.why_not.empty()) {
      cell.why_not = first_refusal(found, settings);
    }
    return cell;
  };
  out.as_it_is = cell_of(vehicle, false, settings.slip_ratio, settings.speed_m_s);
  for (const std::optional<double>& v : out.present) out.as_it_is.values.push_back(v.value_or(std::numeric_limits<double>::quiet_NaN()));
  const std::size_t inner = variations.size() == 2 ? variations[1].steps : 1;
  for (std::size_t i = 0; i < variations[0].steps; ++i) {
    for (std::size_t j = 0; j < inner; ++j) {
      std::vector<double> values{variations[0].value(i)};
      if (variations.size() == 2) values.push_back(variations[1].value(j));
      vehicle::Vehicle variant = vehicle;
      double slip = settings.slip_ratio;
      std::optional<double> speed_m_s = settings.speed_m_s;
      bool changed = false;
      for (std::size_t k = 0; k < variations.size(); ++k) {
        if (variations[k].what == Varied::slip) slip = values[k];
        else if (variations[k].what == Varied::speed) speed_m_s = values[k];
        else variant = with(std::move(variant), variations[k].what, values[k]), changed = true;
      }
      StudyCell cell = cell_of(variant, changed, slip, speed_m_s);
      cell.values = std::move(values);
      out.cells.push_back(std::move(cell));
    }
  }
  if (settings.quantity == Studied::ride_margin) out.reason_without = "rough ground is taken as hard: no soil enters";
  return out;
}

}  // namespace hardpan::performance
