// SPDX-License-Identifier: Apache-2.0
// [Bekker1956], [Bekker1969], [Janosi1961]
#include "contact/textbook_estimates.hpp"

#include <cmath>
#include <numbers>

#include "base/assertion.hpp"

namespace hardpan::contact {
namespace {

double compaction_n(const soil::DepthLaw& law, double width_m, double z) {
  // Work of pressing the ground down per unit of travel, Int b p dz.
  const auto work = [](double k, double n, double quadratic, double depth) { return k * std::pow(depth, n + 1) / (n + 1) + quadratic * depth * depth * depth / 3; };
  if (!(z > law.break_m)) return width_m * work(law.k, law.n, law.quadratic, z);
  const double upper = work(law.k, law.n, law.quadratic, law.break_m);
  const auto below = [&](double depth) { return work(law.k_below, law.n_below, law.quadratic_below, depth + law.floor_m); };
  return width_m * (upper + below(z) - below(law.break_m));
}

// factor b k sqrt(D) z^(n + 1/2) = W
TowedWheelEstimate wheel_with_factor(const soil::DepthLaw& law, double width_m, double diameter_m, double load_n,
                                     double factor) {
  TowedWheelEstimate out;
  out.sinkage_m = std::pow(load_n / (factor * width_m * law.k * std::sqrt(diameter_m)), 2 / (2 * law.n + 1));
  out.resistance_n = compaction_n(law, width_m, out.sinkage_m);
  return out;
}

}  // namespace

std::optional<TowedWheelEstimate> bekker_towed_wheel(const soil::DepthLaw& law, double width_m, double diameter_m,
                                                     double load_n) {
  if (!(law.n < 3) || law.quadratic != 0 || law.breaks()) return std::nullopt;
  return wheel_with_factor(law, width_m, diameter_m, load_n, (3 - law.n) / 3);
}

TowedWheelEstimate small_sinkage_wheel(const soil::DepthLaw& law, double width_m, double diameter_m, double load_n) {
  const double factor = 0.5 * std::sqrt(std::numbers::pi) * std::tgamma(law.n + 1) / std::tgamma(law.n + 1.5);
  return wheel_with_factor(law, width_m, diameter_m, load_n, factor);
}

double uniform_track_thrust_n(const soil::Shear& shear, double area_m2, double length_m, double load_n, double slip_ratio) {
  HARDPAN_ASSERT(shear.shear_modulus_m.has_value() && slip_ratio >= 0);
  if (slip_ratio == 0) return 0;
  const double y = slip_ratio * length_m / *shear.shear_modulus_m;
  return (area_m2 * shear.cohesion_pa + load_n * shear.tan_phi) * (1 + std::expm1(-y) / y);
}

TowedWheelEstimate uniform_track(const soil::DepthLaw& law, double width_m, double pressure_pa) {
  TowedWheelEstimate out;
  out.sinkage_m = law.depth_m(pressure_pa);
  out.resistance_n = compaction_n(law, width_m, out.sinkage_m);
  return out;
}

}  // namespace hardpan::contact
