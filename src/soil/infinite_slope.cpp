// SPDX-License-Identifier: Apache-2.0
// Infinite-slope analysis (Taylor 1948, Fundamentals of Soil Mechanics; from memory, it stands in every soil mechanics text),
// total stresses, no water. docs/theory/soil.md, equations (17) and (18).
// Notation: a slope [rad], z vertical and d normal depth of the sheet [m], gamma unit weight [N/m3], c [Pa].
#include "soil/infinite_slope.hpp"

#include <fmt/core.h>

#include <cmath>
#include <numbers>

namespace hardpan::soil {

const char* name(LayerDepth depth) {
  switch (depth) {
    case LayerDepth::vertical: return "vertical";
    case LayerDepth::normal_to_slope: return "normal to the slope";
  }
  return "";
}

namespace {

bool acceptable(const Shear& shear, const SlopeLayer& layer, const base::Place& place, base::Problems& problems) {
  bool good = true;
  const auto check = [&](bool holds, const char* key, const char* what, double value, const char* bound) {
    if (holds) return;  // comparisons are written so that NaN fails
    good = false;
    base::Place at = place;
    at.key += (at.key.empty() ? "" : ".") + std::string(key);
    problems.refuse({.place = at, .what = what, .value = fmt::format("{:g}", value), .bound = bound});
  };
  check(layer.slope_rad > 0 && layer.slope_rad < std::numbers::pi / 2, "slope", "the slope is no slope that can slide",
        layer.slope_rad, "above 0, below 1.5708 rad (90 degrees)");
  check(layer.depth_m > 0 && std::isfinite(layer.depth_m), "depth", "the sliding sheet has no depth", layer.depth_m,
        "above 0 m");
  check(layer.unit_weight_n_m3 > 0 && std::isfinite(layer.unit_weight_n_m3), "unit_weight", "the ground has no weight",
        layer.unit_weight_n_m3, "above 0 N/m3: density times gravity");
  check(shear.cohesion_pa >= 0 && std::isfinite(shear.cohesion_pa), "cohesion", "the cohesion is negative or not a number",
        shear.cohesion_pa, "0 Pa or more");
  check(shear.tan_phi >= 0 && std::isfinite(shear.tan_phi), "tan_phi", "tan phi is negative or not a number",
        shear.tan_phi, "0 or more");
  return good;
}

}  // namespace

std::optional<SlopeStability> infinite_slope(const Shear& shear, const SlopeLayer& layer, const base::Place& place,
                                             base::Problems& problems) {
  if (!acceptable(shear, layer, place, problems)) return std::nullopt;
  const double sin_a = std::sin(layer.slope_rad), cos_a = std::cos(layer.slope_rad);
  // d = z cos a
  const double normal_depth = layer.depth == LayerDepth::vertical ? layer.depth_m * cos_a : layer.depth_m;
  // (17) FS = (c + gamma d cos a tan phi) / (gamma d sin a), which is (c + gamma z cos^2 a tan phi) / (gamma z sin a cos a)
  const double normal_stress = layer.unit_weight_n_m3 * normal_depth * cos_a;
  const double shear_stress = layer.unit_weight_n_m3 * normal_depth * sin_a;
  SlopeStability out{.safety_factor = strength_pa(shear, normal_stress) / shear_stress};
  const double excess = sin_a - cos_a * shear.tan_phi;
  if (excess > 0) {  // (18) d_c = c / (gamma (sin a - cos a tan phi))
    const double normal = shear.cohesion_pa / (layer.unit_weight_n_m3 * excess);
    out.critical_depth_m = layer.depth == LayerDepth::vertical ? normal / cos_a : normal;
  }
  return out;
}

}  // namespace hardpan::soil
