// SPDX-License-Identifier: Apache-2.0
// Thresholds (common practice, no source): a crust is a drop of 15 % below the peak, and of five noises;
// a break is two lines in logarithms that halve the misfit of one, whose slopes differ by 0.4.
#include "records/plate_layers.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/core.h>

#include "math/statistics.hpp"
#include "records/detail/plate_joint.hpp"
#include "units/count.hpp"

namespace hardpan::records {
namespace {

constexpr double kDropShare = 0.15;
constexpr double kDropNoises = 5;
constexpr double kSlopeDifference = 0.4;
constexpr double kMisfitRatio = 0.5;
constexpr double kLeastMisfit = 0.06;  // rms of ln p: below it one line is good enough whatever two would give
constexpr double kMatShare = 1.3;      // a mat that misfits no more than this times two lines is no break
constexpr double kLeastSpanDecades = 0.15;

struct Profile {
  std::vector<double> z, p;
};

// Virgin readings, averaged in equal steps of depth where there are many.
Profile virgin_profile(const PlateCurve& curve, std::size_t steps) {
  Profile all;
  for (std::size_t i = 0; i < curve.mark.size(); ++i) {
    const bool virgin = curve.mark[i] == Mark::kept || curve.mark[i] == Mark::outside_window;
    if (virgin && curve.depth_m[i] > 0 && curve.pressure_pa[i] > 0) {
      all.z.push_back(curve.depth_m[i]);
      all.p.push_back(curve.pressure_pa[i]);
    }
  }
  if (all.z.size() <= steps) return all;
  const double deepest = *std::max_element(all.z.begin(), all.z.end());
  Profile out;
  std::vector<double> z(steps, 0), p(steps, 0), n(steps, 0);
  for (std::size_t i = 0; i < all.z.size(); ++i) {
    const std::size_t k = std::min(steps - 1, static_cast<std::size_t>(all.z[i] / deepest * static_cast<double>(steps)));
    z[k] += all.z[i];
    p[k] += all.p[i];
    n[k] += 1;
  }
  for (std::size_t k = 0; k < steps; ++k) {
    if (n[k] > 0) {
      out.z.push_back(z[k] / n[k]);
      out.p.push_back(p[k] / n[k]);
    }
  }
  return out;
}

std::optional<Crust> find_crust(const Profile& profile, double noise_pa) {
  std::size_t peak = 0;
  for (std::size_t i = 1; i < profile.p.size(); ++i) {
    if (profile.p[i] >= profile.p[peak]) {
      peak = i;
      continue;
    }
    const double drop = profile.p[peak] - profile.p[i];
    if (drop < std::max(kDropShare * profile.p[peak], kDropNoises * noise_pa)) continue;
    Crust crust{.depth_m = profile.z[peak], .strength_pa = profile.p[peak], .residual_pa = profile.p[i],
                .lowest_depth_m = profile.z[i], .recovered_depth_m = profile.z.back()};
    for (std::size_t k = i; k < profile.p.size(); ++k) {
      if (profile.p[k] < crust.residual_pa) {
        crust.residual_pa = profile.p[k];
        crust.lowest_depth_m = profile.z[k];
      }
      if (profile.p[k] >= crust.strength_pa) {
        crust.recovered_depth_m = profile.z[k];
        break;
      }
    }
    return crust;
  }
  return std::nullopt;
}

std::optional<SlopeBreak> find_break(const std::vector<detail::Reading>& readings) {
  std::vector<double> x, y;
  for (const detail::Reading& r : readings) {
    x.push_back(std::log(r.z));
    y.push_back(std::log(r.p));
  }
  const std::size_t n = x.size();
  const std::size_t side = n >= 20 ? 5 : 3;  // readings each line must rest on
  if (n < 2 * side + 1) return std::nullopt;
  const math::LineFit one = math::fit_line(x, y);
  if (one.status != math::kStatusOk) return std::nullopt;
  const auto rms = [&](std::span<const double> residuals) {
    double sum = 0;
    for (const double r : residuals) sum += r * r;
    return std::sqrt(sum / static_cast<double>(n));
  };
  std::vector<double> straight;
  for (std::size_t i = 0; i < n; ++i) straight.push_back(y[i] - one.intercept - one.slope * x[i]);
  SlopeBreak best{.misfit_one = rms(straight)};
  if (best.misfit_one < kLeastMisfit) return std::nullopt;
  best.misfit_two = best.misfit_one;
  std::vector<double> sorted = x;
  std::sort(sorted.begin(), sorted.end());
  const double span = kLeastSpanDecades * std::log(10.0);
  bool found = false;
  for (std::size_t at = side; at + side < n; ++at) {
    const double knee = sorted[at];
    if (knee - sorted.front() < span || sorted.back() - knee < span) continue;
    std::vector<double> design;
    for (const double xi : x) design.insert(design.end(), {1.0, xi, std::max(0.0, xi - knee)});
    const math::LinearFit two = math::linear_regression(design, 3, y);
    if (two.coefficients.size() != 3) continue;
    const double misfit = rms(two.residuals);
    if (misfit < best.misfit_two) {
      best.misfit_two = misfit;
      best.depth_m = std::exp(knee);
      best.slope_above = two.coefficients[1];
      best.slope_below = two.coefficients[1] + two.coefficients[2];
      found = true;
    }
  }
  // An organic mat bends the same way without a layer: p = kp z + q z^2 over the whole depth.
  std::vector<double> stiffness, depth, weight;
  for (const detail::Reading& r : readings) {
    depth.push_back(r.z);
    stiffness.push_back(r.p / r.z);
    weight.push_back(r.z * r.z / (r.p * r.p));
  }
  const math::LineFit mat = math::fit_line(depth, stiffness, weight);
  if (mat.intercept > 0 && mat.slope > 0) {
    std::vector<double> bent;
    for (const detail::Reading& r : readings) bent.push_back(std::log(r.p / (r.z * (mat.intercept + mat.slope * r.z))));
    if (rms(bent) <= kMatShare * best.misfit_two) return std::nullopt;
  }
  if (!found || best.misfit_two > kMisfitRatio * best.misfit_one ||
      std::abs(best.slope_below - best.slope_above) < kSlopeDifference) {
    return std::nullopt;
  }
  return best;
}

}  // namespace

PushLayers find_layers(const PlateCurve& curve) {
  PushLayers out;
  const Profile profile = virgin_profile(curve, 60);
  if (profile.z.size() < 4) return out;
  out.crust = find_crust(profile, curve.noise_pa);
  if (!out.crust) out.slope_break = find_break(detail::condense(curve));
  return out;
}

ZoneLayers zone_layers(const std::vector<const PlateCurve*>& curves, const std::vector<PushLayers>& layers, LayerChoice choice, units::OutputUnits units) {
  const auto length = [&](double m) { return units::print_quantity(m, units::Dimension::length, units); };
  const auto pressure = [&](double pa) { return units::print_quantity(pa, units::Dimension::pressure, units); };
  ZoneLayers out;
  out.pushes = curves.size();
  std::set<std::string> points, crusted, broken;
  std::vector<double> strength, crust_depth, lowest, break_depth, slope_below;
  std::size_t firmer = 0;
  for (std::size_t i = 0; i < curves.size(); ++i) {
    points.insert(curves[i]->source.point);
    if (layers[i].crust) {
      ++out.with_crust;
      crusted.insert(curves[i]->source.point);
      strength.push_back(layers[i].crust->strength_pa);
      crust_depth.push_back(layers[i].crust->depth_m);
      lowest.push_back(layers[i].crust->lowest_depth_m);
    }
    if (layers[i].slope_break) {
      ++out.with_break;
      broken.insert(curves[i]->source.point);
      break_depth.push_back(layers[i].slope_break->depth_m);
      slope_below.push_back(layers[i].slope_break->slope_below);
      if (layers[i].slope_break->firmer_below()) ++firmer;
    }
  }
  if (out.pushes == 0) return out;
  out.crust = 2 * out.with_crust >= out.pushes && 2 * crusted.size() >= points.size() && out.with_crust > 0;
  out.layered = !out.crust && 2 * out.with_break >= out.pushes && 2 * broken.size() >= points.size() && out.with_break > 0;
  out.firmer_below = 2 * firmer >= out.with_break && out.with_break > 0;
  if (!strength.empty()) {
    out.crust_strength_pa = math::estimate_from_points(strength);
    out.crust_depth_m = math::estimate_from_points(crust_depth);
  }
  if (!break_depth.empty()) {
    out.break_depth_m = math::estimate_from_points(break_depth);
    out.exponent_below = math::estimate_from_points(slope_below);
  }
  const std::string pushes = units::print_count(out.pushes, "push", "pushes");
  if (out.crust) {
    out.window_from_m = *std::max_element(lowest.begin(), lowest.end());
    out.statement = fmt::format(
        "crust in {} of {}: it carries {} (smallest {}) and breaks at {}; one law is "
        "not fitted across it, the law holds below {} after the crust has broken",
        out.with_crust, pushes, pressure(out.crust_strength_pa->value), pressure(*std::min_element(strength.begin(), strength.end())),
        length(out.crust_depth_m->value), length(*out.window_from_m));
  } else if (out.layered && choice == LayerChoice::both && out.exponent_below->value > 0) {
    out.below = soil::SecondLayer{.depth_m = out.break_depth_m->value, .n_below = out.exponent_below->value};
    out.window_to_m = math::quantile(break_depth, 0.25);
    out.statement = fmt::format(
        "two layers in {} of {}: the law is fitted above {}; below {} the pressure rises with the exponent {}{}. Depth and exponent of the layer "
        "below are held at these values in all possible soils",
        out.with_break, pushes, length(*out.window_to_m), length(out.below->depth_m), units::print_number(out.below->n_below, 3),
        out.exponent_below->next_point ? fmt::format(" ({} to {} at the next point)", units::print_number(out.exponent_below->next_point->lo, 3), units::print_number(out.exponent_below->next_point->hi, 3)) : "");
  } else if (out.layered) {
    // A quarter of the pushes may have their break on the wrong side of the window's end.
    if (out.firmer_below) {
      out.window_to_m = math::quantile(break_depth, 0.25);
      out.statement = fmt::format(
          "ground stiffens below {} in {} of {} (slope of ln p rises: a firmer layer, or soil that one "
          "power law does not describe); one law is not fitted across the break, it holds above {}",
          length(out.break_depth_m->value), out.with_break, pushes, length(*out.window_to_m));
    } else {
      out.window_from_m = math::quantile(break_depth, 0.75);
      out.statement = fmt::format(
          "ground yields more easily below {} in {} of {} (slope of ln p falls); one law is not "
          "fitted across the break, the law holds below {}",
          length(out.break_depth_m->value), out.with_break, pushes, length(*out.window_from_m));
    }
  } else if (out.with_crust + out.with_break > 0) {
    out.statement = fmt::format(
        "a crust in {} and a break of slope in {} of {}: fewer than half, the zone is taken as one layer",
        out.with_crust, out.with_break, pushes);
  }
  return out;
}

}  // namespace hardpan::records
