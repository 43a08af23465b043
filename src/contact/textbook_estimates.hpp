// SPDX-License-Identifier: Apache-2.0
// Closed-form estimates as textbooks print them, each under its author's name, to set beside an answer. None of
// them is used as a check of wheel_soil.hpp: where they differ from the integrals, the integrals hold.
#pragma once

#include <limits>
#include <optional>

#include "soil/soil.hpp"

namespace hardpan::contact {

// Towed rigid wheel after Bekker (1956, 1969): z = [3 W / ((3 - n) b k sqrt(D))]^(2/(2n+1)) and
// R = b k z^(n+1) / (n+1). Its factor (3 - n)/3 stands for sqrt(pi) Gamma(n+1) / (2 Gamma(n+3/2)): exact
// for n = 0 and 1 only, sinkage 6 % low at n = 0.5 and 11 % high at n = 1.6. No shear, small sinkage.
struct TowedWheelEstimate {
  double sinkage_m = std::numeric_limits<double>::quiet_NaN();
  double resistance_n = std::numeric_limits<double>::quiet_NaN();
};
// Nothing for n >= 3, a law with a quadratic term or of two layers.
[[nodiscard]] std::optional<TowedWheelEstimate> bekker_towed_wheel(const soil::DepthLaw& law, double width_m,
                                                                   double diameter_m, double load_n);

// The same wheel with the exact small-sinkage factor; the limit z/D -> 0 of the shear-free integrals.
[[nodiscard]] TowedWheelEstimate small_sinkage_wheel(const soil::DepthLaw& law, double width_m, double diameter_m,
                                                     double load_n);

// Thrust of a track (or of any flat contact) with uniform pressure, all area counted once (Bekker 1956, Janosi and
// Hanamoto 1961): F = (A c + W tan phi) (1 - K / (i l) (1 - exp(-i l / K))). Zero at slip 0.
[[nodiscard]] double uniform_track_thrust_n(const soil::Shear& shear, double area_m2, double length_m, double load_n,
                                            double slip_ratio);
// Sinkage and compaction resistance of one track with uniform pressure: p = k z^n, R = b k z^(n+1) / (n+1).
[[nodiscard]] TowedWheelEstimate uniform_track(const soil::DepthLaw& law, double width_m, double pressure_pa);

}  // namespace hardpan::contact
