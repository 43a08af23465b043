// SPDX-License-Identifier: Apache-2.0
// One soil as plain numbers: how it yields under pressure and how it shears.
//
// A Soil is small and copyable so that thousands of possible soils can be computed with. Build one
// from numbers and pass it through check_soil before use; what has passed is not checked again.
// Names, sources and dates live in NamedSoil; scatter lives in SoilDistribution (possible_soils.hpp).
//
//   Soil s;                                       // everything absent
//   s.bearing = bekker(/*n*/ 1.1, /*kc*/ 990.0, /*kphi*/ 1528430.0);   // SI: N/m^(n+1), N/m^(n+2)
//   s.shear = Shear{.cohesion_pa = 1040.0, .tan_phi = std::tan(0.4887), .shear_modulus_m = 0.025};
//   const DepthLaw law = *depth_law(s.bearing, /*width_m*/ 0.2);        // p(z) = k z^n at this width
//
// Conventions: the pressure-sinkage width b is the smaller side of a rectangular plate or contact
// patch and the RADIUS of a circular plate. Pressures in Pa, lengths in m.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::soil {

// Pressure-sinkage relations, named by author.
enum class PressureLaw {
  bekker,        // p = (kc/b + kphi) z^n            Bekker 1956, 1969
  reece,         // p = (c k1 + gamma b k2) (z/b)^n  Reece 1965
  single_plate,  // p = k z^n, any width             Bernstein 1913, Goriatchkin 1937
  muskeg         // p = kp z + 4 mm z^2 / Dh         Wong 1980 (organic mat), Dh = 2 b: exact for a disc of
                 //                                  radius b and for a long strip of width b
};
[[nodiscard]] const char* name(PressureLaw law);

// The moduli belong to the exponent: kc and kphi of two soils with different n must not be compared
// or averaged; compare pressures at one depth and width instead.
// Ground of two layers: from a depth on the pressure rises with another exponent, p = p(depth) (z / depth)^n_below, as a break of
// the log-log slope shows it. A crust that breaks through (a pressure that falls) is not described by it.
struct SecondLayer {
  double depth_m = 0;
  double n_below = 1;
  bool operator==(const SecondLayer&) const = default;
};

struct Bearing {
  PressureLaw law = PressureLaw::bekker;
  double n = 1.0;             // exponent; not used by muskeg
  double first_modulus = 0;   // bekker kc [N/m^(n+1)]; reece c k1 [Pa]; single k [N/m^(n+2)]; muskeg kp [N/m^3]
  double second_modulus = 0;  // bekker kphi [N/m^(n+2)]; reece gamma k2 [N/m^3]; single 0; muskeg mm [N/m^3]
  std::optional<SecondLayer> below;
  bool operator==(const Bearing&) const = default;
};
[[nodiscard]] Bearing bekker(double n, double kc, double kphi);
[[nodiscard]] Bearing reece(double n, double cohesive_pa, double frictional_n_m3);
[[nodiscard]] Bearing single_plate(double n, double k);
[[nodiscard]] Bearing muskeg(double kp_n_m3, double mm_n_m3);

// p(z) for one width: k z^n, or linear z + quadratic z^2 (muskeg); from break_m on the same form with the other numbers, in the
// depth z + floor_m. Depth counts from where a wheel meets the ground: the surface, or the floor of a rut (rut_floor).
struct DepthLaw {
  double k = 0;             // [Pa/m^n], or [Pa/m] where quadratic is not 0
  double n = 1;
  double quadratic = 0;     // [Pa/m^2], muskeg only
  double break_m = kNoBreak;
  double k_below = 0, n_below = 1, quadratic_below = 0;
  double floor_m = 0;       // depth of the floor below the surface

  static constexpr double kNoBreak = 1e300;
  [[nodiscard]] bool breaks() const { return break_m < kNoBreak; }
  [[nodiscard]] double pressure_pa(double depth_m) const;         // 0 for depth <= 0
  [[nodiscard]] double slope_pa_per_m(double depth_m) const;      // dp/dz; at 0 from the right (n < 1: infinite)
  [[nodiscard]] double depth_m(double pressure_pa) const;         // inverse; 0 for pressure <= 0
};
// Nothing when the modulus at this width is not positive (kc/b + kphi <= 0) or the width is not.
[[nodiscard]] std::optional<DepthLaw> depth_law(const Bearing& bearing, double width_m);

// Unloading and reloading p = pu - ku (zu - z), ku = k0 + Au zu (Wong 1980; 2008).
struct Reload {
  double k0_pa_per_m = 0;
  double au_pa_per_m2 = 0;
  bool operator==(const Reload&) const = default;
};

// Ground pressed down to deepest_m (> 0) and unloaded: pu = p(zu), ku = max(k0 + Au zu, pu / zu, dp/dz(zu)), the floor rebounds to
// zr = zu - pu / ku. The law counts from that floor: the reloading line, then the untouched ground. Without a measured
// stiffness the floor of ground with n <= 1 rebounds wholly (zr = 0), which no loose ground does: measure loops.
// Nothing where a second layer lies below deepest_m: three laws in a row are not computed.
[[nodiscard]] std::optional<DepthLaw> rut_floor(const DepthLaw& untouched, double deepest_m, const std::optional<Reload>& reload);

enum class ShearLaw {
  exponential,    // tau = tau_max (1 - exp(-j/K))                        Janosi and Hanamoto 1961
  peak_residual,  // with residual share Kr and displacement Kw           Wong 1983
  hump            // tau = tau_max (j/Kw) exp(1 - j/Kw), organic mats     Wong 1983
};
[[nodiscard]] const char* name(ShearLaw law);

struct Shear {
  ShearLaw law = ShearLaw::exponential;
  double cohesion_pa = 0;
  double tan_phi = 0;
  std::optional<double> shear_modulus_m;  // K (or Kw); there is no default: missing K is refused where needed
  double residual_ratio = 1;              // Kr, peak_residual only
  bool operator==(const Shear&) const = default;
};
// Strength c + sigma tan phi [Pa].
[[nodiscard]] double strength_pa(const Shear& shear, double normal_stress_pa);
// Shear stress at displacement j >= 0; needs shear_modulus_m.
[[nodiscard]] double shear_stress_pa(const Shear& shear, double normal_stress_pa, double displacement_m);
// Displacement of the true peak of the peak_residual law: -Kw ln((A-1)/(2A)), A = e (1/(Kr(1-1/e)) - 1).
[[nodiscard]] double peak_displacement_m(const Shear& shear);

// Soil against smooth metal; the smaller of soil and interface strength governs there.
struct InterfaceStrength {
  double adhesion_pa = 0;
  double tan_delta = 0;
  bool operator==(const InterfaceStrength&) const = default;
};

// How sinkage grows with slip.
enum class SlipSinkage { none, exponent /* n = n0 + n1 |s|, Ding et al. 2011 */, stretch /* Lyasko */ };
[[nodiscard]] const char* name(SlipSinkage rule);

struct Soil {
  std::optional<Bearing> bearing;
  std::optional<Shear> shear;
  std::optional<Reload> reload;
  std::optional<InterfaceStrength> smooth_metal;
  std::optional<double> density_kg_m3;
  // Place of the largest normal stress under a wheel, thm = (c1 + c2 |s|) th1.
  std::optional<double> c1, c2;
  std::optional<double> c1_braking, c2_braking;
  std::optional<double> exit_ratio;              // c3, th2 = -c3 th1 (Ding et al. 2011)
  std::optional<double> slip_exponent;           // n1 of SlipSinkage::exponent
  std::optional<double> surface_friction;        // mu_g of hard ground
  double wheel_k_ratio = 1;                      // K under the wheel over K of the ring (model form)
  bool operator==(const Soil&) const = default;
};

// Values used where a soil does not state its own; always printed as assumed. Loose sand, from
// memory (Wong and Reece 1967).
inline constexpr double kAssumedC1 = 0.18;
inline constexpr double kAssumedC2 = 0.32;

// Appends a refusal for each impossible number (NaN included). Bounds: n in (0, 3], moduli such that
// some width has a positive modulus (single plate: k > 0; organic mat: kp > 0, mm >= 0), cohesion in
// [0, 10] MPa, tan phi in [0, 2], K in (0, 1] m, residual ratio in (0, 1], density in [100, 5000] kg/m3,
// c1, c2 >= 0 and c1 + c2 <= 1 (braking likewise; an absent one counts as assumed), exit ratio in
// [0, 1), slip exponent in [0, 3], surface friction in [0, 2], K ratio in (0, 100], ku finite.
// Keys carry no unit: "cohesion", "shear_modulus", "moduli".
void check_soil(const Soil& soil, const base::Place& place, base::Problems& problems);

// What is known of a soil besides its numbers.
struct NamedSoil {
  std::string id;
  std::string name;
  std::string source;         // author, year, table
  bool read_in_source = false;  // false: recalled from memory
  bool textbook = true;       // "textbook soil, not your ground": never yields a go
  std::optional<double> moisture_percent;
  Soil soil;
};

}  // namespace hardpan::soil
