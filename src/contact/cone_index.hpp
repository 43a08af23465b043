// SPDX-License-Identifier: Apache-2.0
// Traction of pneumatic tyres from the cone index alone: empirical estimates to set beside wheel_soil.hpp,
// each with the range it was fitted in. They know no exponent, no K and no gravity other than in the load.
//
// Constants are from memory of the named publications (none was at hand) and are marked so in the output; the
// agreement with worked numbers is tested in cone_index_test.cpp.
//
//   const TyreOnCone tyre{.width_m = 0.467, .diameter_m = 1.65, .section_height_m = 0.33, .deflection_m = 0.066,
//                         .load_n = 20000, .cone_index_pa = 1.2e6};
//   const ConeTraction t = brixius_bias_ply(tyre, 0.2);   // t.net, ratio of the load
#pragma once

#include <limits>
#include <string>
#include <vector>

namespace hardpan::contact {

struct TyreOnCone {
  double width_m = 0;           // unloaded section width b
  double diameter_m = 0;        // unloaded overall diameter d
  double section_height_m = 0;  // h
  double deflection_m = 0;      // delta under the load
  double load_n = 0;
  double cone_index_pa = 0;     // ASABE S313 cone, mean over the depth the method states
};

struct ConeTraction {
  double numeric = std::numeric_limits<double>::quiet_NaN();     // mobility number or wheel numeric used
  double gross = std::numeric_limits<double>::quiet_NaN();       // torque / (rolling radius x load)
  double resistance = std::numeric_limits<double>::quiet_NaN();  // motion resistance / load
  double net = std::numeric_limits<double>::quiet_NaN();         // pull / load
  double efficiency = std::numeric_limits<double>::quiet_NaN();  // net / gross (1 - s), NaN at gross <= 0
  std::vector<std::string> out_of_range;                         // what lies outside the fitted range; empty: inside
};

// CI b d / W.
[[nodiscard]] double wheel_numeric(const TyreOnCone& tyre);
// Bn = (CI b d / W) (1 + 5 delta/h) / (1 + 3 b/d)   Brixius 1987
[[nodiscard]] double mobility_number(const TyreOnCone& tyre);

// Brixius 1987, as in ASABE D497: bias-ply tyres on cohesive-frictional agricultural ground, b/d 0.1 to 0.7,
// delta/h 0.1 to 0.3, slip up to 0.5 (common practice, no source, for the slip limit). Driving slip only.
[[nodiscard]] ConeTraction brixius_bias_ply(const TyreOnCone& tyre, double slip_ratio);
[[nodiscard]] ConeTraction brixius_bias_ply(double mobility_number, double slip_ratio);  // ratios only, no range check

// Wismer and Luth 1974: bias-ply tyres with b/d near 0.3, delta/h near 0.2, rolling radius near 0.475 d.
[[nodiscard]] ConeTraction wismer_luth(const TyreOnCone& tyre, double slip_ratio);
[[nodiscard]] ConeTraction wismer_luth(double wheel_numeric, double slip_ratio);  // ratios only, no range check

// Mobility numerics of the US Army Waterways Experiment Station (Freitag 1965; Turnage 1972), as numbers: the
// fitted pull curves are not reproduced here because their constants could not be verified.
//   sand: G (b d)^(3/2) / W  delta/h, G the gradient of cone resistance with depth [Pa/m]
//   clay: CI b d / W  sqrt(delta/h) / (1 + b / (2 d))
[[nodiscard]] double sand_numeric(const TyreOnCone& tyre, double cone_gradient_pa_per_m);
[[nodiscard]] double clay_numeric(const TyreOnCone& tyre);

}  // namespace hardpan::contact
