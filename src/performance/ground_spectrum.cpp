// SPDX-License-Identifier: Apache-2.0
// Classes: [ISO8608], from memory. Periodogram: the sum of its lines is the variance of the windowed heights divided by the mean square of the window.
#include "performance/ground_spectrum.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

namespace hardpan::performance {
namespace {

constexpr std::size_t kFewest = 32, kMostPieces = 2048;

// Heights less their line of best fit, evenly spaced.
std::vector<double> even_heights(const std::vector<ProfilePoint>& p, std::size_t count, double spacing_m) {
  std::vector<double> z(count);
  std::size_t k = 1;
  for (std::size_t i = 0; i < count; ++i) {
    const double x = p.front().x_m + spacing_m * static_cast<double>(i);
    while (k + 1 < p.size() && p[k].x_m < x) ++k;
    const double share = std::clamp((x - p[k - 1].x_m) / (p[k].x_m - p[k - 1].x_m), 0.0, 1.0);
    z[i] = p[k - 1].z_m + share * (p[k].z_m - p[k - 1].z_m);
  }
  const double middle = 0.5 * static_cast<double>(count - 1);
  double mean = 0, moment = 0, square = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double u = static_cast<double>(i) - middle;
    mean += z[i] / static_cast<double>(count);
    moment += u * z[i];
    square += u * u;
  }
  for (std::size_t i = 0; i < count; ++i) z[i] -= mean + moment / square * (static_cast<double>(i) - middle);
  return z;
}

}  // namespace

double GroundSpectrum::density_m3(double n_per_m) const {
  if (!(n_per_m >= lowest_per_m && n_per_m <= highest_per_m)) return 0;
  return g0_m3 * std::pow(n_per_m / n0_per_m, -exponent);
}

std::optional<GroundSpectrum> class_spectrum(char letter) {
  if (letter >= 'a' && letter <= 'h') letter = static_cast<char>(letter - 'a' + 'A');
  if (letter < 'A' || letter > 'H') return std::nullopt;
  return GroundSpectrum{.name = fmt::format("class {} of ISO 8608", letter), .g0_m3 = kClassAMiddle_m3 * std::pow(4.0, letter - 'A')};
}

std::optional<GroundSpectrum> profile_spectrum(const std::vector<ProfilePoint>& points, const base::Place& place, base::Problems& problems) {
  const auto refuse = [&](std::size_t k, const char* what, std::string value, const char* remedy) {
    base::Place at = place;
    if (k > 0) at.key += (at.key.empty() ? "" : ".") + fmt::format("point[{}]", k);
    problems.refuse({.place = at, .what = what, .value = std::move(value), .remedy = remedy});
    return std::nullopt;
  };
  if (points.size() < kFewest) return refuse(0, "too few points for a spectrum", std::to_string(points.size()), "survey 32 or more, several to the shortest wave that matters");
  for (std::size_t k = 0; k < points.size(); ++k) {
    if (!std::isfinite(points[k].x_m) || !std::isfinite(points[k].z_m)) return refuse(k + 1, "not a finite number", "", "correct or leave out the point");
    if (k > 0 && !(points[k].x_m > points[k - 1].x_m)) return refuse(k + 1, "x does not rise: a spectrum needs one height at each place", fmt::format("{:g} m", points[k].x_m), "answer faces and ledges with 'hardpan obstacle'");
  }
  const std::size_t pieces = std::min(points.size() - 1, kMostPieces), count = pieces + 1;
  const double length_m = points.back().x_m - points.front().x_m, spacing_m = length_m / static_cast<double>(pieces);
  std::vector<double> z = even_heights(points, count, spacing_m);
  double window_square = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double w = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * (static_cast<double>(i) + 0.5) / static_cast<double>(count));
    z[i] *= w;
    window_square += w * w;
  }
  GroundSpectrum out{.name = fmt::format("own spectrum of {} points over {:.4g} m", points.size(), length_m)};
  const double n_step = 1 / (spacing_m * static_cast<double>(count));
  for (std::size_t k = 4; 2 * k < count; ++k) {
    std::complex<double> sum = 0;
    // Turned step by step with a fresh start every 64, so that rounding does not pile up.
    const std::complex<double> turn = std::polar(1.0, -2 * std::numbers::pi * static_cast<double>(k) / static_cast<double>(count));
    std::complex<double> e = 1;
    for (std::size_t i = 0; i < count; ++i) {
      if (i % 64 == 0) e = std::polar(1.0, -2 * std::numbers::pi * static_cast<double>((k * i) % count) / static_cast<double>(count));
      sum += z[i] * e;
      e *= turn;
    }
    out.lines.push_back({n_step * static_cast<double>(k), 2 * std::norm(sum) / (static_cast<double>(count) * window_square)});
  }
  out.lowest_per_m = out.lines.front().n_per_m;
  out.highest_per_m = out.lines.back().n_per_m;
  return out;
}

double rms_height_m(const GroundSpectrum& s) {
  if (!s.lines.empty()) {
    double sum = 0;
    for (const GroundSpectrum::Line& l : s.lines) sum += l.variance_m2;
    return std::sqrt(sum);
  }
  const double w = s.exponent, a = s.lowest_per_m, b = s.highest_per_m;
  const double scale = s.g0_m3 * std::pow(s.n0_per_m, w);
  return std::sqrt(w == 1 ? scale * std::log(b / a) : scale * (std::pow(a, 1 - w) - std::pow(b, 1 - w)) / (w - 1));
}

}  // namespace hardpan::performance
