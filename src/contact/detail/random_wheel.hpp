// SPDX-License-Identifier: Apache-2.0
// For tests: invented wheels and soils from light robot to truck, from one seed.
#pragma once

#include <cmath>
#include <cstdint>

#include "contact/wheel_soil.hpp"

namespace hardpan::contact::detail {

// A small reproducible generator (splitmix64, Steele et al. 2014), the same on every machine.
class Chance {
 public:
  explicit Chance(std::uint64_t seed) : state_(seed) {}
  double between(double a, double b) { return a + (b - a) * unit(); }
  double log_between(double a, double b) { return std::exp(between(std::log(a), std::log(b))); }
  bool happens(double probability) { return unit() < probability; }

 private:
  double unit() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return static_cast<double>((z ^ (z >> 31)) >> 11) * 0x1p-53;
  }
  std::uint64_t state_;
};

struct RandomWheel {
  vehicle::Wheel wheel;
  soil::Soil soil;
  double pressure_at_tenth_pa = 0;  // at a depth of r / 10
};

inline RandomWheel random_wheel(Chance& chance, double least_n = 0.3, double most_n = 1.6) {
  RandomWheel out;
  const double r = out.wheel.radius_m = chance.log_between(0.1, 0.9);
  out.wheel.width_m = r * chance.between(0.3, 1.0);
  if (chance.happens(0.4)) {
    out.wheel.grouser_height_m = r * chance.between(0.02, 0.1);
    out.wheel.grouser_count = 24;
  }
  const double n = chance.between(least_n, most_n);
  out.pressure_at_tenth_pa = chance.log_between(5e3, 500e3);
  out.soil.bearing = soil::single_plate(n, out.pressure_at_tenth_pa / std::pow(0.1 * r, n));
  out.soil.shear = soil::Shear{.cohesion_pa = chance.happens(0.4) ? 0 : chance.log_between(100, 2e4),
                               .tan_phi = chance.between(0.1, 0.9),
                               .shear_modulus_m = chance.log_between(0.005, 0.05)};
  out.soil.c1 = chance.between(0, 0.5);
  out.soil.c2 = chance.between(0, 0.45);
  out.soil.c1_braking = chance.between(0, 0.4);
  out.soil.c2_braking = chance.between(0, 0.4);
  out.soil.density_kg_m3 = chance.between(1200, 2000);
  return out;
}

inline Contact contact_of(const RandomWheel& random, const ContactOptions& options = {.gravity_m_s2 = 9.81}) {
  base::Problems problems;
  return make_contact(random.wheel, random.soil, options, {.key = "random"}, problems).value();
}

}  // namespace hardpan::contact::detail
