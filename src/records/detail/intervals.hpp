// SPDX-License-Identifier: Apache-2.0
// From pseudo-values (one a point) and an instrument's share to the two kinds of interval.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "math/estimate.hpp"

namespace hardpan::records::detail {

// Variances on the scale where the quantity is scattered evenly (its logarithm for pressures and K).
struct Spread {
  double sampling = 0;    // of the mean
  double between = 0;     // of one point about the mean
  double instrument = 0;  // shared by all
  double dof = 0;
  std::size_t n = 0;
  std::string reason;     // why there is no interval, when dof <= 0
};

enum class Scale { linear, logarithmic };

// centre is on the scattered scale; logarithmic results come back exponentiated. Half-widths of the two parts
// are added in squares: h^2 = (t s)^2 + (z g)^2.
[[nodiscard]] math::Estimate estimate_from_spread(double centre, const Spread& spread, Scale scale);
[[nodiscard]] std::optional<math::Interval> soil_only(double centre, const Spread& spread, Scale scale);

// Pseudo-values of the jackknife (Tukey 1958): G x_all - (G - 1) x_without_g.
[[nodiscard]] std::vector<double> pseudo_values(double all, std::span<const double> without);
[[nodiscard]] Spread spread_of(std::span<const double> pseudo, double instrument_variance, std::size_t lost = 1);

// Wild bootstrap-t over points with six-point weights (Webb 2013; Cameron, Gelbach and Miller 2008 for
// the studentised form with few groups). Half-width on the scattered scale; absent below four points.
[[nodiscard]] std::optional<double> bootstrap_half_width(std::span<const double> pseudo, std::uint64_t seed,
                                                         std::string_view stream, std::size_t count);

}  // namespace hardpan::records::detail
