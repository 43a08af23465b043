// SPDX-License-Identifier: Apache-2.0
// For tests: the wheel's integrals by adaptive quadrature to 1e-12, in the angle itself and with the library's
// functions, sharing nothing with the kernel but the numbers of a Contact. Rigid and flexible, any slip.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "contact/wheel_soil.hpp"
#include "math/quadrature.hpp"

namespace hardpan::contact::detail {

struct Integrals {
  double load = 0, pull = 0, shear = 0, side = 0;                  // per width and radius
  double load_size = 0, pull_size = 0, shear_size = 0;             // of the absolute values
  double dissipated = 0;  // shear along and across times sliding velocity plus normal stress times sinking velocity, v = 1
};

class AdaptiveWheel {
 public:
  AdaptiveWheel(const Contact& contact, double sinkage_m, double deflection_m, double slip_ratio, double slip_angle_rad)
      : c_(contact), s_(slip_ratio), tan_d_(std::fabs(std::tan(slip_angle_rad))) {
    const double r = contact.radius_m, z = sinkage_m, f = deflection_m;
    radius = r;
    if (contact.flexible) {
      const double length = std::sqrt(2 * r * (z + f) - (z + f) * (z + f)) + std::sqrt(2 * r * f - f * f);
      radius = 0.5 * (z + length * length / z);
    }
    entry = std::acos(1 - z / radius);
    law_ = contact.law;
    if (contact.slip_sinkage == soil::SlipSinkage::exponent) {
      law_.n += contact.slip_exponent * std::fabs(s_);
      law_.n_below += contact.slip_exponent * std::fabs(s_);
    }
    stretch_ = contact.slip_sinkage == soil::SlipSinkage::stretch ? (1 + std::fabs(s_)) / (1 - 0.5 * std::fabs(s_)) : 1;
    const double c1 = s_ < 0 ? contact.c1_braking : contact.c1, c2 = s_ < 0 ? contact.c2_braking : contact.c2;
    peak = std::min(c1 + c2 * std::fabs(s_), 0.8) * entry;
    exit = -contact.exit_ratio * entry;
  }

  double radius, entry, peak, exit;

  [[nodiscard]] double pressure(double z) const {
    return law_.pressure_pa(z / stretch_);
  }
  [[nodiscard]] double v_over_rim() const { return s_ >= 0 ? 1 - s_ : 1 / (1 + s_); }  // v / (rs omega)

  struct Stress {
    double normal, along, across;
  };
  [[nodiscard]] Stress at(double th) const {
    const double mirrored = th >= peak ? th : entry - (th - exit) / (peak - exit) * (entry - peak);
    const double sigma = pressure(2 * radius * std::sin(0.5 * (entry + mirrored)) * std::sin(0.5 * (entry - mirrored)));
    double top = c_.cohesion_pa + sigma * c_.tan_phi;
    if (c_.interface_acts) top = std::min(top, c_.interface_cohesion_pa + sigma * c_.interface_tan);
    const double arm = radius + c_.grouser_height_m, v = v_over_rim();
    const double jx = arm * ((entry - th) - v * (std::sin(entry) - std::sin(th))), jy = arm * v * tan_d_ * (entry - th);
    const double j = std::hypot(jx, jy);
    if (!(j > 0)) return {sigma, 0, 0};
    const double tau = top * -std::expm1(-j / c_.shear_modulus_m);
    return {sigma, tau * jx / j, tau * jy / j};
  }

  [[nodiscard]] Integrals integrate() const {
    Integrals out;
    out.load = over([](double th, const Stress& t) { return t.normal * std::cos(th) + t.along * std::sin(th); });
    out.pull = over([](double th, const Stress& t) { return t.along * std::cos(th) - t.normal * std::sin(th); });
    out.shear = over([](double, const Stress& t) { return t.along; });
    out.side = over([](double, const Stress& t) { return t.across; });
    out.load_size = over([](double th, const Stress& t) { return t.normal * std::cos(th) + std::fabs(t.along * std::sin(th)); }, 1e-5);
    out.pull_size = over([](double th, const Stress& t) { return std::fabs(t.along) * std::cos(th) + t.normal * std::fabs(std::sin(th)); }, 1e-5);
    out.shear_size = over([](double, const Stress& t) { return std::hypot(t.along, t.across); }, 1e-5);
    const double rim = 1 / v_over_rim();
    out.dissipated = over([&](double th, const Stress& t) {
      return t.along * (rim - std::cos(th)) + t.normal * std::sin(th) + t.across * tan_d_;
    }, 1e-9);
    return out;
  }

 private:
  // Kinks stand at the ends of pieces: thm, the zeros of jx, the switch of strength with its mirror image.
  [[nodiscard]] std::vector<double> cuts() const {
    std::vector<double> out{exit, peak, entry};
    const auto add = [&](double th) {
      if (th > exit && th < entry) out.push_back(th);
    };
    if (s_ < 0 && s_ > -1) {
      const double turn = std::acos(1 + s_);
      const auto jx = [&](double th) { return (1 + s_) * (entry - th) - (std::sin(entry) - std::sin(th)); };
      const auto bisect = [&](double a, double b) {
        if (!(a < b) || (jx(a) > 0) == (jx(b) > 0)) return;
        const bool up = jx(b) > 0;
        for (int i = 0; i < 200; ++i) ((jx(0.5 * (a + b)) > 0) == up ? b : a) = 0.5 * (a + b);
        add(0.5 * (a + b));
      };
      bisect(std::max(-turn, exit), std::min(turn, entry));
      bisect(exit, -turn);
    }
    if (c_.interface_acts) {
      const double sigma = (c_.cohesion_pa - c_.interface_cohesion_pa) / (c_.interface_tan - c_.tan_phi);
      double low = peak, high = entry;
      if (sigma > 0 && sigma < at(peak).normal) {
        for (int i = 0; i < 200; ++i) (at(0.5 * (low + high)).normal > sigma ? low : high) = 0.5 * (low + high);
        add(low);
        add(exit + (entry - low) * (peak - exit) / (entry - peak));
      }
    }
    if (law_.breaks()) {
      const double height = 1 - std::cos(entry) - law_.break_m * stretch_ / radius;
      if (height > 1 - std::cos(peak)) {
        const double th = std::acos(1 - height);
        add(th);
        add(exit + (entry - th) * (peak - exit) / (entry - peak));
      }
    }
    std::sort(out.begin(), out.end());
    return out;
  }

  // Both ends of a piece may carry z^n: th runs as w^4 from either end to the middle.
  template <class F>
  [[nodiscard]] double over(F f, double tolerance = 1e-12) const {
    const std::vector<double> ends = cuts();
    double sum = 0;
    for (std::size_t i = 0; i + 1 < ends.size(); ++i) {
      const double a = ends[i], b = ends[i + 1], half = 0.5 * (b - a);
      if (!(half > 0)) continue;
      const auto from_end = [&](double end, double sign) {
        return math::integrate_adaptive(
                   [&](double w) {
                     const double th = end + sign * half * w * w * w * w;
                     return f(th, at(th)) * 4 * half * w * w * w;
                   },
                   0, 1, tolerance).value;
      };
      sum += from_end(a, 1) + from_end(b, -1);
    }
    return sum;
  }

  Contact c_;
  soil::DepthLaw law_;
  double s_, tan_d_, stretch_;
};

}  // namespace hardpan::contact::detail
