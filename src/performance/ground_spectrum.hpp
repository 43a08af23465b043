// SPDX-License-Identifier: Apache-2.0
// How rough ground is, as the spectrum of its heights along a wheel path: power per cycle a metre, one-sided.
//
// By class of ISO 8608 (from memory): G(n) = G(n0) (n / n0)^-2 at n0 = 0.1 cycles/m, with the middle values of classes A to H in steps of four; or of a
// surveyed profile, by its own periodogram. Roads gave those classes: untouched ground may fall off otherwise.
//
//   const GroundSpectrum d = class_spectrum('D');
//   const auto own = profile_spectrum(points, place, problems);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "performance/profile.hpp"

namespace hardpan::performance {

struct GroundSpectrum {
  std::string name;
  // Power law g0 (n / n0)^-exponent between the two ends ...
  double g0_m3 = 0, n0_per_m = 0.1, exponent = 2;
  double lowest_per_m = 0.011, highest_per_m = 2.83;   // ISO 8608, from memory
  // ... or lines of their own: spatial frequency [cycles/m] and variance [m^2] each; the law is not used then.
  struct Line {
    double n_per_m = 0, variance_m2 = 0;
  };
  std::vector<Line> lines;
  [[nodiscard]] double density_m3(double n_per_m) const;   // of the law; 0 outside its ends
};

// 'A' (smoothest) to 'H'; nothing for another letter. Between two classes give g0 yourself.
[[nodiscard]] std::optional<GroundSpectrum> class_spectrum(char letter);
inline constexpr double kClassAMiddle_m3 = 16e-6;         // ISO 8608, from memory; each next class four times that

// Own spectrum of a surveyed profile: evenly spaced by linear interpolation at the mean spacing (at most 2,048 pieces), its line of best fit taken
// off, a Hann window, one line a frequency up to half the sampling. Waves longer than a quarter of the profile are left out: one or two of them tell no
// r.m.s. Refused: fewer than 32 points, faces and overhangs (x not rising), numbers that are not finite.
[[nodiscard]] std::optional<GroundSpectrum> profile_spectrum(const std::vector<ProfilePoint>& points, const base::Place& place, base::Problems& problems);

// Root of the mean square of heights in it.
[[nodiscard]] double rms_height_m(const GroundSpectrum& spectrum);

}  // namespace hardpan::performance
