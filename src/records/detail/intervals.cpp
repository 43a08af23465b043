// SPDX-License-Identifier: Apache-2.0
#include "records/detail/intervals.hpp"

#include <array>
#include <cmath>

#include "math/distributions.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::records::detail {
namespace {

constexpr double kUpperTail = 0.5 + 0.5 * math::kIntervalLevel;

double half(double soil_variance, double instrument_variance, double dof) {
  const double t = math::student_t_quantile(kUpperTail, dof);
  const double z = math::normal_quantile(kUpperTail);
  return std::sqrt(t * t * soil_variance + z * z * instrument_variance);
}

math::Interval around(double centre, double half_width, Scale scale) {
  math::Interval out{centre - half_width, centre + half_width};
  if (scale == Scale::logarithmic) out = {std::exp(out.lo), std::exp(out.hi)};
  return out;
}

}  // namespace

math::Estimate estimate_from_spread(double centre, const Spread& spread, Scale scale) {
  const double value = scale == Scale::logarithmic ? std::exp(centre) : centre;
  if (!(spread.dof > 0)) {
    return math::estimate_without_interval(
        value, spread.reason.empty() ? "one point: no scatter between points" : spread.reason, spread.n);
  }
  math::Estimate out;
  out.value = value;
  out.n = spread.n;
  out.average_ground = around(centre, half(spread.sampling, spread.instrument, spread.dof), scale);
  out.next_point = around(centre, half(spread.sampling + spread.between, spread.instrument, spread.dof), scale);
  out.status = math::kStatusOk;
  return out;
}

std::optional<math::Interval> soil_only(double centre, const Spread& spread, Scale scale) {
  if (!(spread.dof > 0)) return std::nullopt;
  return around(centre, half(spread.sampling, 0, spread.dof), scale);
}

std::vector<double> pseudo_values(double all, std::span<const double> without) {
  const auto g = static_cast<double>(without.size());
  std::vector<double> out;
  for (const double x : without) out.push_back(g * all - (g - 1) * x);
  return out;
}

Spread spread_of(std::span<const double> pseudo, double instrument_variance, std::size_t lost) {
  Spread out{.instrument = instrument_variance, .n = pseudo.size()};
  if (pseudo.size() <= lost || pseudo.size() < 2) {
    out.reason = pseudo.size() <= 1 ? "one point: no scatter between points" : "too few points for the parameters fitted";
    return out;
  }
  const double n = static_cast<double>(pseudo.size());
  // The scatter is taken over the degrees of freedom that are left.
  out.between = math::variance(pseudo) * (n - 1) / (n - static_cast<double>(lost));
  out.sampling = out.between / n;
  out.dof = n - static_cast<double>(lost);
  return out;
}

std::optional<double> bootstrap_half_width(std::span<const double> pseudo, std::uint64_t seed,
                                           std::string_view stream, std::size_t count) {
  const std::size_t g = pseudo.size();
  if (g < 4 || count < 100) return std::nullopt;
  const double n = static_cast<double>(g);
  const double centre = math::mean(pseudo);
  const double standard_error = std::sqrt(math::variance(pseudo) / n);
  if (!(standard_error > 0)) return std::nullopt;
  const std::array<double, 6> webb = {-std::sqrt(1.5), -1, -std::sqrt(0.5), std::sqrt(0.5), 1, std::sqrt(1.5)};
  const math::Stream random(seed, math::stream_id(stream));
  std::vector<double> t;
  t.reserve(count);
  std::vector<double> resampled(g);
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t k = 0; k < g; ++k) {
      resampled[k] = webb[random.below(i * g + k, 6)] * (pseudo[k] - centre);
    }
    const double se = std::sqrt(math::variance(resampled) / n);
    if (se > 0) t.push_back(std::abs(math::mean(resampled)) / se);
  }
  if (t.size() < count / 2) return std::nullopt;
  return math::quantile(t, math::kIntervalLevel) * standard_error;
}

}  // namespace hardpan::records::detail
