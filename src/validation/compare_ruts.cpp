// SPDX-License-Identifier: Apache-2.0
// At most 200 possible soils of each kind enter, as in compare.cpp.
#include "validation/compare_ruts.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "math/statistics.hpp"
#include "performance/passes.hpp"
#include "records/slip.hpp"
#include "units/count.hpp"
#include "validation/detail/judge_comparison.hpp"

namespace hardpan::validation {
namespace {

using math::Interval;
using performance::OnSoil;
using performance::PassDepth;

constexpr std::size_t kDrawsCompared = 200;

// What the rut is computed with besides the soils.
struct Rut {
  soil::Reload reload;
  std::optional<performance::DisturbedStrength> disturbed;  // as stated
  const OnSoil* centre = nullptr;

  // To each possible soil what it is to the best estimate, as performance::about has it; the foremost wheel runs on untouched ground and tells both.
  [[nodiscard]] std::optional<performance::DisturbedStrength> disturbed_on(const OnSoil& on) const {
    if (!disturbed) return std::nullopt;
    const contact::Contact &here = on.plain.axle[on.plain.axles - 1].contact, &best = centre->plain.axle[centre->plain.axles - 1].contact;
    performance::DisturbedStrength out = *disturbed;
    const auto scale = [](std::optional<double>& v, double a, double b) {
      if (v && b > 0) *v *= a / b;
    };
    scale(out.cohesion_pa, here.cohesion_pa, best.cohesion_pa);
    scale(out.tan_phi, here.tan_phi, best.tan_phi);
    scale(out.shear_modulus_m, here.shear_modulus_m, best.shear_modulus_m);
    return out;
  }
};

// Depths of every pass for each soil given.
std::vector<std::vector<PassDepth>> depths(const std::vector<OnSoil>& soils, double weight_factor, double slip, double gradient, const Rut& rut,
                                           const performance::Paths& paths, std::size_t passes, contact::SimdTarget target) {
  std::vector<OnSoil> on(soils.begin(), soils.begin() + static_cast<std::ptrdiff_t>(std::min(soils.size(), kDrawsCompared)));
  for (OnSoil& o : on) {
    o.plain.weight_n *= weight_factor;
    if (o.sinking) o.sinking->weight_n *= weight_factor;
  }
  performance::Workspace space;
  space.target = target;
  std::vector<performance::State> states(on.size());
  performance::states_at_slip(on, slip, gradient, states, space);
  std::vector<std::vector<PassDepth>> out(on.size(), std::vector<PassDepth>(passes));
  for (std::size_t i = 0; i < on.size(); ++i) performance::depth_by_pass(performance::machine_of(on[i], states[i]), states[i], rut.reload, paths, out[i], rut.disturbed_on(on[i]));
  return out;
}

// A soil that does not carry the vehicle in this pass has a rut without a bottom.
math::Estimate estimate(double centre, std::vector<double> average, std::vector<double> next, const performance::Placed& placed) {
  for (auto* values : {&average, &next}) std::replace_if(values->begin(), values->end(), [](double v) { return std::isnan(v); }, std::numeric_limits<double>::infinity());
  if (average.empty()) return math::estimate_without_interval(centre, placed.reason_without, placed.points);
  math::Estimate e{.value = centre, .average_ground = detail::central_interval(average), .next_point = detail::central_interval(next), .n = placed.points, .status = math::kStatusOk};
  if (e.next_point && e.average_ground) e.next_point = Interval{std::min(e.next_point->lo, e.average_ground->lo), std::max(e.next_point->hi, e.average_ground->hi)};
  return e;
}

std::optional<bool> consistent(const std::optional<math::Estimate>& measured, const math::Estimate& predicted) {
  if (!measured || !std::isfinite(measured->value) || !std::isfinite(predicted.value)) return std::nullopt;
  const Interval m = measured->average_ground.value_or(Interval{measured->value, measured->value});
  const Interval p = predicted.next_point.value_or(Interval{predicted.value, predicted.value});
  return m.lo <= p.hi && p.lo <= m.hi;
}

struct Group {
  std::string wheel_path;
  std::vector<const records::RutGroup*> passes;
};

std::vector<Group> groups_of(const performance::Placed& placed, const records::RutResult& ruts) {
  std::vector<Group> out;
  for (const records::RutGroup& g : ruts.groups) {
    if (g.vehicle != placed.vehicle || g.zone != placed.zone) continue;
    auto it = std::find_if(out.begin(), out.end(), [&](const Group& x) { return x.wheel_path == g.wheel_path; });
    if (it == out.end()) it = out.insert(out.end(), {g.wheel_path, {}});
    it->passes.push_back(&g);
  }
  return out;
}

void find_slip(RutByPass& r, const performance::Placed& placed, const records::RutResult& ruts, double gradient) {
  const double radius = detail::model_radius(placed);
  std::vector<double> slips;
  for (const records::SinkagePoint& p : ruts.sinkage) {
    if (p.vehicle != r.vehicle || p.zone != r.zone || p.wheel_path != r.wheel_path) continue;
    slips.push_back(p.rolling_radius_m ? records::slip_with_radius(p.slip_ratio, *p.rolling_radius_m, radius) : p.slip_ratio);
  }
  r.slip_measured = !slips.empty();
  if (r.slip_measured) r.slip_ratio = math::mean(slips);
  else r.slip_ratio = performance::travel_outcome(placed, performance::TravelQuantity::slip, gradient).centre;
}

void find_growth(RutByPass& r, const records::RutResult& ruts) {
  for (const records::PassGrowth& g : ruts.growth) {
    if (g.vehicle != r.vehicle || g.zone != r.zone || g.wheel_path != r.wheel_path) continue;
    r.growth_measured = g.exponent;
    r.growth_depth = g.depth_used;
  }
  if (!r.growth_measured) return;
  std::vector<double> x, y;
  for (const RutPass& p : r.passes) {
    const double depth = r.growth_depth == "loaded" ? p.predicted_loaded_m.value : p.predicted_after_m.value;
    if (!(depth > 0)) continue;
    x.push_back(std::log(p.pass));
    y.push_back(std::log(depth));
  }
  if (x.size() < 2) return;
  r.growth_predicted = math::fit_line(x, y).slope;
  const auto& interval = r.growth_measured->average_ground;
  r.grows_more = interval && interval->lo > *r.growth_predicted;
  r.grows_less = interval && interval->hi < *r.growth_predicted;
}

std::string statement_of(const RutByPass& r, units::OutputUnits u) {
  const auto length = [&](double m) { return units::print_quantity(m, units::Dimension::length, u); };
  const std::string path = r.wheel_path.empty() ? "Rut" : "Rut of the " + r.wheel_path + " path";
  if (!r.why_not.empty()) return fmt::format("{}: nothing is compared by pass: {}.", path, r.why_not);
  std::string out = fmt::format("{}: {} of {} {} with the predicted next point at a slip of {:.0f} % ({}).", path, r.consistent, units::print_count(r.judged, "mean depth"),
                                r.consistent == 1 ? "agrees" : "agree", 100 * r.slip_ratio, r.slip_measured ? "as told on the sheet" : "predicted, self-propelled; the sheet tells none");
  const RutPass &first = r.passes.front(), &last = r.passes.back();
  const bool loaded = first.measured_loaded_m && last.measured_loaded_m;
  const auto pair = [&](const RutPass& p) {
    const math::Estimate& m = loaded ? *p.measured_loaded_m : p.measured_after_m.value_or(math::Estimate{});
    return fmt::format("{} against {}", length(m.value), length(loaded ? p.predicted_loaded_m.value : p.predicted_after_m.value));
  };
  if (loaded || (first.measured_after_m && last.measured_after_m)) {
    out += fmt::format(" Pass {}, {}: {} predicted", first.pass, loaded ? "under the wheel" : "after the wheel", pair(first));
    if (&first != &last) out += fmt::format("; pass {}: {}", last.pass, pair(last));
    out += ".";
  }
  if (r.growth_measured && r.growth_predicted) {
    out += fmt::format(" Depth grows as pass to the power {:.2f}", r.growth_measured->value);
    if (r.growth_measured->average_ground) out += fmt::format(" (95 %: {:.2f} to {:.2f})", r.growth_measured->average_ground->lo, r.growth_measured->average_ground->hi);
    out += fmt::format(", predicted {:.2f}", *r.growth_predicted);
    out += r.grows_more ? ": ruts deepen more than computed, and later passes are predicted too shallow. The unloading stiffness decides this most: the ground may stay down more than under the plate."
           : r.grows_less ? ": ruts deepen less than computed, and later passes are predicted too deep. The unloading stiffness decides this most: the ground may spring back more than under the plate."
                          : ".";
  }
  if (r.disturbed) out += " Wheels in the rut have the strength stated for disturbed ground.";
  if (r.passes_left_out > 0) out += fmt::format(" Passes beyond {} are not compared.", kMostPasses);
  return out;
}

RutByPass compare_path(const Group& g, const performance::Paths& paths, const performance::Placed& placed, const std::optional<soil::Reload>& reload,
                       const std::optional<performance::DisturbedStrength>& disturbed, const records::RutResult& ruts, units::OutputUnits u) {
  RutByPass r{.vehicle = placed.vehicle, .zone = placed.zone, .wheel_path = g.wheel_path, .disturbed = disturbed.has_value()};
  double gradient = 0;
  int most = 0;
  for (const records::RutGroup* p : g.passes) {
    r.weight_n += p->weight_n / static_cast<double>(g.passes.size());
    gradient += p->gradient_rad / static_cast<double>(g.passes.size());
    if (p->pass > kMostPasses) {
      ++r.passes_left_out;
      continue;
    }
    most = std::max(most, p->pass);
    r.passes.push_back({.pass = p->pass, .measured_loaded_m = p->depth_loaded_m, .measured_after_m = p->depth_after_m});
  }
  const auto refuse = [&](const char* why) {
    r.why_not = why;
    r.statement = statement_of(r, u);
    return r;
  };
  if (r.passes.empty()) return refuse("no pass is early enough");
  if (!reload) return refuse("no plate was unloaded in this zone, so the floor between passes is not known");
  if (placed.centre.plain.axle[0].contact.law.breaks()) return refuse("the ground has a second layer, where the floor of a rut is not computed");
  find_slip(r, placed, ruts, gradient);
  if (!(std::abs(r.slip_ratio) < 0.95)) return refuse("the best-estimate soil does not carry the vehicle");
  if (!(r.weight_n > 0)) r.weight_n = placed.centre.plain.weight_n;
  const double factor = r.weight_n / placed.centre.plain.weight_n;
  const Rut rut{*reload, disturbed, &placed.centre};
  const auto all = [&](const std::vector<OnSoil>& soils) { return depths(soils, factor, r.slip_ratio, gradient, rut, paths, static_cast<std::size_t>(most), placed.plan.target); };
  const auto centre = all({placed.centre}), average = all(placed.average), next = all(placed.next_point);
  for (RutPass& p : r.passes) {
    const std::size_t k = static_cast<std::size_t>(p.pass - 1);
    const auto column = [&](const std::vector<std::vector<PassDepth>>& soils, double PassDepth::*depth) {
      std::vector<double> out;
      for (const auto& passes : soils) out.push_back(passes[k].*depth);
      return out;
    };
    for (const bool loaded : {true, false}) {
      const auto depth = loaded ? &PassDepth::loaded_m : &PassDepth::after_m;
      const math::Estimate e = estimate(centre.front()[k].*depth, column(average, depth), column(next, depth), placed);
      (loaded ? p.predicted_loaded_m : p.predicted_after_m) = e;
      auto& verdict = loaded ? p.consistent_loaded : p.consistent_after;
      verdict = consistent(loaded ? p.measured_loaded_m : p.measured_after_m, e);
      r.judged += verdict.has_value();
      r.consistent += verdict.value_or(false);
    }
  }
  if (r.judged == 0) return refuse("the best-estimate soil does not carry the vehicle");
  find_growth(r, ruts);
  r.statement = statement_of(r, u);
  return r;
}

}  // namespace

std::vector<RutByPass> compare_ruts(const vehicle::Vehicle& vehicle, const performance::Placed& placed, const std::optional<soil::Reload>& reload,
                                    const records::DrawbarResult& drawbar, units::OutputUnits units, const std::optional<performance::DisturbedStrength>& disturbed) {
  std::vector<RutByPass> out;
  const performance::Paths paths = performance::paths_of(vehicle);
  for (const Group& g : groups_of(placed, drawbar.ruts)) out.push_back(compare_path(g, paths, placed, reload, disturbed, drawbar.ruts, units));
  return out;
}

}  // namespace hardpan::validation
