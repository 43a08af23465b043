// SPDX-License-Identifier: Apache-2.0
#include "contact/detail/wheel_frame.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/assertion.hpp"

namespace hardpan::contact::detail {
namespace {

// Sinkage at which c + sigma tan phi and the interface line cross; negative when they do not for sigma > 0.
double crossing_depth_m(const Contact& contact, const soil::DepthLaw& law) {
  const double pressure = (contact.cohesion_pa - contact.interface_cohesion_pa) /
                          (contact.interface_tan - contact.tan_phi);
  if (!(pressure > 0) || !std::isfinite(pressure)) return -1;
  return law.depth_m(pressure);
}

// With slip sinkage in. Both rules keep the law continuous at its break; on the floor of a rut the exponent grows below the break
// only, where the ground is untouched, and the break moves to where the reloading line meets it.
soil::DepthLaw law_at_slip(const Contact& contact, double size) {
  soil::DepthLaw law = contact.law;
  if (contact.slip_sinkage == soil::SlipSinkage::exponent) {  // Ding et al. 2011
    const double more = contact.slip_exponent * size;
    if (!law.breaks()) {
      law.n += more;
    } else if (law.floor_m == 0) {
      law.n += more;
      law.n_below += more;
    } else {
      law.n_below += more;
      double low = 0, high = law.break_m;  // at the floor the line lies below, at the old break above
      for (int i = 0; i < 60; ++i) {
        const double y = 0.5 * (low + high), z = y + law.floor_m;
        (law.k * y > law.k_below * std::pow(z, law.n_below) + law.quadratic_below * z * z ? high : low) = y;
      }
      law.break_m = 0.5 * (low + high);
    }
  }
  if (contact.slip_sinkage == soil::SlipSinkage::stretch) {  // Lyasko
    const double stretch = (1 + size) / (1 - 0.5 * size);
    law.k /= std::pow(stretch, law.n);
    law.quadratic /= stretch * stretch;
    if (law.breaks()) {
      law.k_below /= std::pow(stretch, law.n_below);
      law.quadratic_below /= stretch * stretch;
      law.break_m *= stretch;
      law.floor_m *= stretch;
    }
  }
  return law;
}

}  // namespace

namespace {

// Zeros of the Legendre polynomial by Newton from the usual cosine estimate (Abramowitz and Stegun 1964,
// 25.4.29 and 22.7.10).
Rule make_rule(int count) {
  Rule rule;
  rule.count = count;
  for (int i = 0; i < count; ++i) {
    double x = std::cos(std::numbers::pi * (i + 0.75) / (count + 0.5)), slope = 1;
    for (int step = 0; step < 8; ++step) {
      double before = 1, here = x;
      for (int k = 2; k <= count; ++k) {
        const double next = ((2 * k - 1) * x * here - (k - 1) * before) / k;
        before = here;
        here = next;
      }
      slope = count * (x * here - before) / (x * x - 1);
      x -= here / slope;
    }
    const auto place = static_cast<std::size_t>(i);
    rule.node[place] = 0.5 * (1 - x);
    rule.power[place] = std::pow(rule.node[place], 3);
    rule.weight[place] = 1 / ((1 - x * x) * slope * slope);
  }
  return rule;
}

}  // namespace

const Rule& rule_for(int count) {
  static const std::array<Rule, 15> rules = [] {
    std::array<Rule, 15> out;
    for (int i = 0; i < 15; ++i) out[static_cast<std::size_t>(i)] = make_rule(4 + 2 * i);
    return out;
  }();
  HARDPAN_ASSERT(count >= 4 && count <= 32 && count % 2 == 0);
  return rules[static_cast<std::size_t>(count / 2 - 2)];
}

Frame<double> make_frame(const Contact& contact, double slip_ratio, double slip_angle_rad, double deflection_m) {
  Frame<double> frame{};
  const double s = slip_ratio, size = std::fabs(s);
  frame.radius = contact.radius_m;
  frame.grouser = contact.grouser_height_m;
  frame.deflection = deflection_m;

  const soil::DepthLaw law = law_at_slip(contact, size);
  frame.k = law.k;
  frame.n = law.n;
  frame.quadratic = law.quadratic;
  frame.k_below = law.k_below;
  frame.n_below = law.n_below;
  frame.quadratic_below = law.quadratic_below;
  frame.break_depth = law.break_m;
  frame.floor = law.floor_m;

  frame.cohesion = contact.cohesion_pa;
  frame.tan_phi = contact.tan_phi;
  frame.other_cohesion = contact.interface_acts ? contact.interface_cohesion_pa : contact.cohesion_pa;
  frame.other_tan = contact.interface_acts ? contact.interface_tan : contact.tan_phi;
  frame.switch_depth = contact.interface_acts ? crossing_depth_m(contact, law) : -1;
  frame.m0 = contact.mobilised_m0;
  frame.m1 = contact.mobilised_m1;
  frame.m2 = contact.mobilised_m2;

  const bool braking = s < 0;
  frame.travel_a = braking ? 1 + s : 1;
  frame.travel_b = braking ? 1 : 1 - s;
  frame.travel_side = slip_angle_rad == 0 ? 0.0 : frame.travel_b * std::fabs(std::tan(slip_angle_rad));
  frame.inverse_k = std::min(1 / (contact.shear_modulus_m * frame.travel_a), 1e300);
  frame.reversal = braking ? std::acos(1 + s) : 4.0;

  const double c1 = braking ? contact.c1_braking : contact.c1, c2 = braking ? contact.c2_braking : contact.c2;
  frame.peak_ratio = std::min(c1 + c2 * size, kPeakRatioLimit);
  frame.exit_ratio = contact.exit_ratio;
  frame.rebound_k0 = contact.rebound_k0_pa_per_m;
  frame.rebound_au = contact.rebound_au_pa_per_m2;
  frame.unit_weight = contact.unit_weight_n_m3;
  return frame;
}

Plan make_plan(const Contact& contact, double slip_ratio, double slip_angle_rad) {
  Plan plan;
  plan.direction = slip_angle_rad != 0 ? Direction::oblique
                   : slip_ratio < 0    ? Direction::reversing
                                       : Direction::forward;
  plan.flexible = contact.flexible;
  plan.rebounds = contact.rebounds;
  plan.switches = contact.interface_acts;
  plan.breaks = contact.law.breaks();
  plan.exit_behind = contact.rebounds || contact.exit_ratio > 0;
  plan.saturating = contact.mobilised_m0 == 1 && contact.mobilised_m1 == 0 && contact.mobilised_m2 == 0;
  plan.shape = contact.rebounds || !plan.saturating              ? Shape::unknown
               : slip_ratio >= 0 && contact.exit_ratio == 0 ? Shape::rises
                                                            : Shape::bounded;
  return plan;
}

}  // namespace hardpan::contact::detail
