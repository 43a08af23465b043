// SPDX-License-Identifier: Apache-2.0
// Notation: p pressure [Pa], z depth [m], b width [m], n exponent, k modulus at one width, j shear
// displacement [m], K shear displacement modulus [m], Kr residual ratio, A as in peak_displacement_m.
#include "soil/soil.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/assertion.hpp"

namespace hardpan::soil {

const char* name(PressureLaw law) {
  switch (law) {
    case PressureLaw::bekker: return "Bekker";
    case PressureLaw::reece: return "Reece";
    case PressureLaw::single_plate: return "single plate (Bernstein-Goriatchkin)";
    case PressureLaw::muskeg: return "organic mat (Wong)";
  }
  return "";
}
const char* name(ShearLaw law) {
  switch (law) {
    case ShearLaw::exponential: return "exponential (Janosi-Hanamoto)";
    case ShearLaw::peak_residual: return "peak and residual (Wong)";
    case ShearLaw::hump: return "hump (Wong, organic mat)";
  }
  return "";
}
const char* name(SlipSinkage rule) {
  switch (rule) {
    case SlipSinkage::none: return "without slip sinkage";
    case SlipSinkage::exponent: return "slip sinkage by exponent (Ding)";
    case SlipSinkage::stretch: return "slip sinkage by stretched depth (Lyasko)";
  }
  return "";
}

Bearing bekker(double n, double kc, double kphi) { return {PressureLaw::bekker, n, kc, kphi}; }
Bearing reece(double n, double cohesive_pa, double frictional_n_m3) {
  return {PressureLaw::reece, n, cohesive_pa, frictional_n_m3};
}
Bearing single_plate(double n, double k) { return {PressureLaw::single_plate, n, k, 0}; }
Bearing muskeg(double kp_n_m3, double mm_n_m3) { return {PressureLaw::muskeg, 1, kp_n_m3, mm_n_m3}; }

std::optional<DepthLaw> depth_law(const Bearing& bearing, double width_m) {
  if (!(width_m > 0) || !std::isfinite(width_m)) return std::nullopt;
  DepthLaw law;
  law.n = bearing.n;
  switch (bearing.law) {
    case PressureLaw::bekker:  // [Bekker1969]
      law.k = bearing.first_modulus / width_m + bearing.second_modulus;
      break;
    case PressureLaw::reece:  // [Reece1965]
      law.k = (bearing.first_modulus + bearing.second_modulus * width_m) / std::pow(width_m, bearing.n);
      break;
    case PressureLaw::single_plate:
      law.k = bearing.first_modulus;
      break;
    case PressureLaw::muskeg:  // hydraulic diameter 4 area / perimeter = 2 b for a disc of radius b
      law.n = 1;
      law.k = bearing.first_modulus;
      law.quadratic = 4 * bearing.second_modulus / (2 * width_m);
      break;
  }
  if (!(law.k > 0) || !std::isfinite(law.k) || !(law.quadratic >= 0) || !(law.n > 0)) return std::nullopt;
  if (bearing.below) {
    const double h = bearing.below->depth_m, m = bearing.below->n_below;
    if (!(h > 0) || !(m > 0)) return std::nullopt;
    law.k_below = law.pressure_pa(h) / std::pow(h, m);
    law.n_below = m;
    law.break_m = h;
  }
  return law;
}

namespace {

double pressure_of(double k, double n, double quadratic, double z) { return quadratic == 0 ? k * std::pow(z, n) : z * (k + quadratic * z); }
double slope_of(double k, double n, double quadratic, double z) { return quadratic == 0 ? n * k * std::pow(z, n - 1) : k + 2 * quadratic * z; }
double depth_of(double k, double n, double quadratic, double p) {
  if (quadratic == 0) return std::pow(p / k, 1 / n);
  return 2 * p / (k + std::sqrt(k * k + 4 * quadratic * p));  // the stable root
}

}  // namespace

double DepthLaw::pressure_pa(double z) const {
  if (z <= 0) return 0;  // NaN passes through
  return z > break_m ? pressure_of(k_below, n_below, quadratic_below, z + floor_m) : pressure_of(k, n, quadratic, z);
}
double DepthLaw::slope_pa_per_m(double z) const {
  if (z < 0) return 0;
  return z > break_m ? slope_of(k_below, n_below, quadratic_below, z + floor_m) : slope_of(k, n, quadratic, z);
}
double DepthLaw::depth_m(double p) const {
  if (p <= 0) return 0;
  const double z = depth_of(k, n, quadratic, p);
  return z > break_m ? std::max(depth_of(k_below, n_below, quadratic_below, p) - floor_m, break_m) : z;
}

std::optional<DepthLaw> rut_floor(const DepthLaw& untouched, double deepest_m, const std::optional<Reload>& reload) {
  HARDPAN_ASSERT(deepest_m > 0 && untouched.floor_m == 0);
  const double zu = deepest_m, pu = untouched.pressure_pa(zu);
  const bool below = zu > untouched.break_m;
  if (untouched.breaks() && !below) return std::nullopt;
  const double measured = reload ? reload->k0_pa_per_m + reload->au_pa_per_m2 * zu : 0;
  DepthLaw out;
  out.n = 1;
  out.k = std::max({measured, pu / zu, untouched.slope_pa_per_m(zu)});
  out.break_m = pu / out.k;
  out.floor_m = zu - out.break_m;
  out.k_below = below ? untouched.k_below : untouched.k;
  out.n_below = below ? untouched.n_below : untouched.n;
  out.quadratic_below = below ? untouched.quadratic_below : untouched.quadratic;
  return out;
}

double strength_pa(const Shear& shear, double normal_stress_pa) {
  return shear.cohesion_pa + normal_stress_pa * shear.tan_phi;
}

double shear_stress_pa(const Shear& shear, double normal_stress_pa, double j) {
  HARDPAN_ASSERT(shear.shear_modulus_m.has_value());
  const double t = j / *shear.shear_modulus_m;
  const double top = strength_pa(shear, normal_stress_pa);
  switch (shear.law) {
    case ShearLaw::exponential: return -top * std::expm1(-t);
    case ShearLaw::hump: return top * t * std::exp(1 - t);
    case ShearLaw::peak_residual: {  // [Wong1983]
      const double kr = shear.residual_ratio;
      const double over = 1 / (kr * (1 - 1 / std::numbers::e)) - 1;
      return -top * kr * (1 + over * std::exp(1 - t)) * std::expm1(-t);
    }
  }
  return 0;
}

double peak_displacement_m(const Shear& shear) {
  HARDPAN_ASSERT(shear.shear_modulus_m.has_value());
  if (shear.law == ShearLaw::hump) return *shear.shear_modulus_m;
  if (shear.law == ShearLaw::exponential) return std::numeric_limits<double>::infinity();
  const double a = std::numbers::e * (1 / (shear.residual_ratio * (1 - 1 / std::numbers::e)) - 1);
  // Stationary where 2 A e^-t = A - 1; without A > 1 the curve rises to its residual for ever.
  if (!(a > 1)) return std::numeric_limits<double>::infinity();
  return -*shear.shear_modulus_m * std::log((a - 1) / (2 * a));
}

namespace {

enum class End { closed, open };

class Checker {
 public:
  Checker(const base::Place& place, base::Problems& problems) : place_(place), problems_(problems) {}
  // Written so that NaN fails.
  void range(const char* key, double value, double low, double high, const char* bound,
             End low_end = End::closed, End high_end = End::closed) {
    const bool above = low_end == End::open ? value > low : value >= low;
    const bool below = high_end == End::open ? value < high : value <= high;
    if (above && below) return;
    refuse(key, std::string(key) + " is outside what a soil can have", fmt::format("{:g}", value), bound,
           "check the number and its unit");
  }
  void range(const char* key, const std::optional<double>& value, double low, double high, const char* bound,
             End low_end = End::closed, End high_end = End::closed) {
    if (value) range(key, *value, low, high, bound, low_end, high_end);
  }
  void refuse(const char* key, std::string what, std::string value, std::string bound, std::string remedy) {
    base::Place at = place_;
    at.key += (at.key.empty() ? "" : ".") + std::string(key);
    problems_.refuse({.place = at, .what = std::move(what), .value = std::move(value),
                      .bound = std::move(bound), .remedy = std::move(remedy)});
  }

 private:
  const base::Place& place_;
  base::Problems& problems_;
};

void check_bearing(const Bearing& b, Checker& check) {
  check.range("n", b.n, 0, 3, "above 0, at most 3", End::open);
  const std::string moduli = fmt::format("{:g}, {:g}", b.first_modulus, b.second_modulus);
  if (!std::isfinite(b.first_modulus) || !std::isfinite(b.second_modulus)) {
    check.refuse("moduli", "a bearing modulus is not a finite number", moduli, "finite numbers",
                 "check the moduli");
    return;
  }
  if (b.below) {
    check.range("second_layer_depth", b.below->depth_m, 0, 5, "above 0 m, at most 5 m", End::open);
    check.range("second_layer_n", b.below->n_below, 0, 20, "above 0, at most 20 (very firm)", End::open);
  }
  switch (b.law) {
    case PressureLaw::bekker:
    case PressureLaw::reece:  // some width has a positive modulus when either part is positive
      if (!(b.first_modulus > 0) && !(b.second_modulus > 0)) {
        check.refuse("moduli", "the bearing moduli give no positive pressure at any width", moduli,
                     "at least one modulus above 0", "check the moduli and their signs");
      }
      break;
    case PressureLaw::single_plate:
      if (!(b.first_modulus > 0)) {
        check.refuse("moduli", "the modulus gives no positive pressure", moduli, "above 0",
                     "check the modulus and its sign");
      }
      break;
    case PressureLaw::muskeg:
      if (!(b.first_modulus > 0) || !(b.second_modulus >= 0)) {
        check.refuse("moduli", "the moduli of an organic mat give no pressure that rises with depth", moduli,
                     "kp above 0, mm 0 or more", "check the moduli and their signs");
      }
      break;
  }
}

void check_shear(const Shear& shear, Checker& check) {
  check.range("cohesion", shear.cohesion_pa, 0, 1e7, "0 Pa to 10 MPa");
  check.range("tan_phi", shear.tan_phi, 0, 2, "0 to 2 (63 deg)");
  check.range("shear_modulus", shear.shear_modulus_m, 0, 1, "above 0 m, at most 1 m", End::open);
  check.range("residual_ratio", shear.residual_ratio, 0, 1, "above 0, at most 1", End::open);
}

void check_stress_peak(const char* key, double c1, double c2, Checker& check) {
  if (c1 + c2 <= 1) return;
  check.refuse(key, "the largest normal stress would lie ahead of the entry at full slip",
               fmt::format("c1 + c2 = {:g}", c1 + c2), "c1 + c2 at most 1",
               "check both; where only one is given the other is assumed");
}

}  // namespace

void check_soil(const Soil& soil, const base::Place& place, base::Problems& problems) {
  Checker check(place, problems);
  const double inf = std::numeric_limits<double>::infinity();
  if (soil.bearing) check_bearing(*soil.bearing, check);
  if (soil.shear) check_shear(*soil.shear, check);
  check.range("density", soil.density_kg_m3, 100, 5000, "100 to 5000 kg/m3");
  check.range("c1", soil.c1, 0, 1, "0 to 1");
  check.range("c2", soil.c2, 0, 1, "0 to 1");
  check.range("c1_braking", soil.c1_braking, 0, 1, "0 to 1");
  check.range("c2_braking", soil.c2_braking, 0, 1, "0 to 1");
  const double c1 = soil.c1.value_or(kAssumedC1), c2 = soil.c2.value_or(kAssumedC2);
  check_stress_peak("c1", c1, c2, check);
  if (soil.c1_braking || soil.c2_braking) {
    check_stress_peak("c1_braking", soil.c1_braking.value_or(c1), soil.c2_braking.value_or(c2), check);
  }
  check.range("exit_ratio", soil.exit_ratio, 0, 1, "0 or more, below 1", End::closed, End::open);
  check.range("slip_exponent", soil.slip_exponent, 0, 3, "0 to 3");
  check.range("surface_friction", soil.surface_friction, 0, 2, "0 to 2");
  check.range("wheel_k_ratio", soil.wheel_k_ratio, 0, 100, "above 0, at most 100", End::open);
  if (soil.reload) {
    check.range("k0", soil.reload->k0_pa_per_m, 0, inf, "0 Pa/m or more, finite", End::closed, End::open);
    check.range("au", soil.reload->au_pa_per_m2, -inf, inf, "a finite number", End::open, End::open);
  }
  if (soil.smooth_metal) {
    check.range("adhesion", soil.smooth_metal->adhesion_pa, 0, 1e7, "0 Pa to 10 MPa");
    check.range("tan_delta", soil.smooth_metal->tan_delta, 0, 2, "0 to 2");
  }
}

}  // namespace hardpan::soil
