// SPDX-License-Identifier: Apache-2.0
#include "performance/study.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

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
  }
  return {};
}

bool check(const std::vector<Variation>& variations, const StudySettings& settings, const base::Place& place, base::Problems& problems) {
  bool good = true;
  const auto refuse = [&](std::size_t k, const char* what, std::string value, std::string bound) {
    base::Place at = place;
    if (k > 0) at.key += (at.key.empty() ? "" : ".") + fmt::format("vary[{}]", k);
    problems.refuse({.place = at, .what = what, .value = std::move(value), .bound = std::move(bound)});
    good = false;
  };
  if (variations.empty() || variations.size() > 2) refuse(0, "a study varies one or two parameters", std::to_string(variations.size()), "1 or 2");
  if (variations.size() == 2 && variations[0].what == variations[1].what) refuse(2, "varied twice", name(variations[1].what), "two different parameters");
  for (std::size_t k = 0; k < variations.size(); ++k) {
    const Variation& v = variations[k];
    const Range r = range_of(v.what);
    if (!(v.from >= r.least && v.to <= r.most && v.from < v.to)) refuse(k + 1, "not a range to vary over", fmt::format("{} {:g} to {:g} {}", name(v.what), v.from, v.to, unit(v.what)), fmt::format("rising, within {:g} to {:g} {}", r.least, r.most, unit(v.what)));
    if (v.steps < 2 || v.steps > 41) refuse(k + 1, "not a number of values", std::to_string(v.steps), "2 to 41");
  }
  if (!(settings.slip_ratio > 0 && settings.slip_ratio <= 0.95)) refuse(0, "not a slip", fmt::format("{:g}", settings.slip_ratio), "above 0 to 0.95");
  return good;
}

Outcome answer(const Placed& p, Studied quantity, double slip) {
  switch (quantity) {
    case Studied::gradient_at_slip: return gradient_outcome(p, slip);
    case Studied::gradient_maximum: return maximum_gradient_outcome(p);
    case Studied::pull_at_slip: return pull_coefficient_outcome(p, slip);
  }
  return {};
}

std::string first_refusal(const base::Problems& problems) {
  for (const base::Problem& p : problems.list()) {
    if (p.severity == base::Severity::refusal) return p.text();
  }
  return "";
}

}  // namespace

const char* name(Varied what) {
  switch (what) {
    case Varied::wheel_diameter: return "wheel diameter";
    case Varied::wheel_width: return "wheel width";
    case Varied::wheel_stiffness: return "wheel stiffness";
    case Varied::mass: return "mass";
    case Varied::slip: return "slip";
  }
  return "";
}

const char* unit(Varied what) {
  switch (what) {
    case Varied::wheel_diameter:
    case Varied::wheel_width: return "m";
    case Varied::wheel_stiffness: return "N/m";
    case Varied::mass: return "kg";
    case Varied::slip: return "1";
  }
  return "";
}

std::optional<Varied> varied_by_name(std::string_view text) {
  for (const Varied v : kVaried) {
    if (text == name(v)) return v;
  }
  return std::nullopt;
}

const char* name(Studied quantity) {
  switch (quantity) {
    case Studied::gradient_at_slip: return "maximum gradient at the working slip";
    case Studied::gradient_maximum: return "maximum gradient over slip";
    case Studied::pull_at_slip: return "pull coefficient at the working slip";
  }
  return "";
}

const char* unit(Studied quantity) { return quantity == Studied::pull_at_slip ? "1" : "rad"; }

vehicle::Vehicle with(vehicle::Vehicle v, Varied what, double x) {
  switch (what) {
    case Varied::wheel_diameter: {
      // The body is lifted by the change at its axles: the mean where wheels differed.
      double lift = 0;
      for (const vehicle::Axle& a : v.axles) lift += (0.5 * x - a.wheel.radius_m) / static_cast<double>(v.axles.size());
      for (vehicle::Axle& a : v.axles) {
        a.wheel.radius_m = 0.5 * x;
        a.wheel.rolling_radius_m.reset();   // measured on another wheel
        a.wheel.loaded_radius_m.reset();
      }
      for (vehicle::Body& b : v.bodies) {
        b.cg_z_m += lift;
        if (b.clearance_m) *b.clearance_m += lift;
        for (vehicle::UnderbodyPoint& p : b.underbody) p.z_m += lift;
      }
      for (vehicle::Joint& j : v.joints) j.z_m += lift;
      for (vehicle::Payload& p : v.payload) p.z_m += lift;
      if (v.hitch) v.hitch->height_m += lift;
      break;
    }
    case Varied::wheel_width:
      for (vehicle::Axle& a : v.axles) {
        a.wheel.width_m = x;
        a.wheel.contact_width_m.reset();
      }
      break;
    case Varied::wheel_stiffness:
      for (vehicle::Axle& a : v.axles) {
        vehicle::Flex flex = a.wheel.flex.value_or(vehicle::Flex{});
        flex.load_deflection.clear();
        flex.stiffness_n_per_m = x;
        a.wheel.flex = flex;
        a.wheel.rolling_radius_m.reset();
        a.wheel.loaded_radius_m.reset();
      }
      break;
    case Varied::mass: {
      const double ratio = x / vehicle::mass_kg(v);
      for (vehicle::Body& b : v.bodies) {
        b.mass_kg *= ratio;
        if (b.pitch_inertia_kg_m2) *b.pitch_inertia_kg_m2 *= ratio;
      }
      for (vehicle::Payload& p : v.payload) p.mass_kg *= ratio;
      break;
    }
    case Varied::slip: break;
  }
  v.scales.clear();                          // of the vehicle as it was weighed
  v.tilted.reset();
  return v;
}

std::optional<double> present_value(const vehicle::Vehicle& v, Varied what, double working_slip) {
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
    case Varied::slip: return working_slip;
  }
  return std::nullopt;
}

std::string why_no_study(const std::vector<Variation>& variations) {
  base::Problems problems;
  return check(variations, {}, {}, problems) ? std::string() : problems.list().front().what;
}

std::optional<Study> study(const vehicle::Vehicle& vehicle, const Ground& ground, DrawPlan plan, const std::vector<Variation>& variations, const StudySettings& settings, const base::Place& place, base::Problems& problems) {
  if (!check(variations, settings, place, problems)) return std::nullopt;
  Study out{.vehicle = vehicle.id, .zone = ground.zone, .variations = variations, .quantity = settings.quantity, .slip_ratio = settings.slip_ratio};
  for (const Variation& v : variations) {
    out.present.push_back(present_value(vehicle, v.what, settings.slip_ratio));
    // Every cell meets the same possible soils: feasible at every width of the sweep.
    for (std::size_t k = 0; v.what == Varied::wheel_width && k < v.steps; ++k) plan.widths_also_m.push_back(v.value(k));
  }
  for (const vehicle::Axle& a : vehicle.axles) plan.widths_also_m.push_back(a.wheel.contact_width_m.value_or(a.wheel.width_m));
  const std::size_t inner = variations.size() == 2 ? variations[1].steps : 1;
  for (std::size_t i = 0; i < variations[0].steps; ++i) {
    for (std::size_t j = 0; j < inner; ++j) {
      StudyCell cell{.values = {variations[0].value(i)}};
      if (variations.size() == 2) cell.values.push_back(variations[1].value(j));
      vehicle::Vehicle variant = vehicle;
      double slip = settings.slip_ratio;
      for (std::size_t k = 0; k < variations.size(); ++k) {
        variant = with(std::move(variant), variations[k].what, cell.values[k]);
        if (variations[k].what == Varied::slip) slip = cell.values[k];
      }
      base::Problems found;
      vehicle::check_vehicle(variant, plan.gravity_m_s2, {}, found);
      std::optional<Placed> placed;
      if (!found.refused()) placed = place_vehicle(variant, ground, plan, {}, found);
      cell.why_not = first_refusal(found);
      if (placed) {
        cell.outcome = answer(*placed, settings.quantity, slip);
        out.reason_without = placed->reason_without;
      }
      out.cells.push_back(std::move(cell));
    }
  }
  return out;
}

}  // namespace hardpan::performance
