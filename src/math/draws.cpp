// SPDX-License-Identifier: Apache-2.0
// [Kotz2004] S. Kotz, S. Nadarajah, Multivariate t distributions and their applications, 2004,
// section 1.2 (a normal vector over the root of one chi-square number divided by its dof).
#include "math/draws.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "math/matrix.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"

namespace hardpan::math {
namespace {

// Where the random numbers of try t of draw k start: 256 numbers a try, 65,536 tries a draw.
constexpr std::uint64_t kNumbersPerTry = 256;
constexpr std::uint64_t kTriesPerDraw = 65536;
std::uint64_t first_number(std::size_t draw, std::size_t attempt) {
  return (draw * kTriesPerDraw + attempt) * kNumbersPerTry;
}

class Sampler {
 public:
  Sampler(const MultivariateT& distribution, std::vector<double> lower, std::uint64_t seed,
          std::uint64_t stream)
      : distribution_(distribution), lower_(std::move(lower)), stream_(seed, stream),
        z_(distribution.location.size()) {}

  void sample(std::size_t draw, std::size_t attempt, std::span<double> out) {
    const std::size_t p = z_.size();
    const std::uint64_t first = first_number(draw, attempt);
    stream_.fill_normal(first, z_);
    const double dof = distribution_.dof;
    const double stretch =
        std::isinf(dof) ? 1 : std::sqrt(dof / stream_.chi_square(first + kNumbersPerTry - 1, dof));
    for (std::size_t i = 0; i < p; ++i) {
      double sum = 0;
      for (std::size_t j = 0; j <= i; ++j) sum += lower_[i * p + j] * z_[j];
      out[i] = distribution_.location[i] + stretch * sum;
    }
  }

 private:
  const MultivariateT& distribution_;
  std::vector<double> lower_;
  Stream stream_;
  std::vector<double> z_;
};

Draws nothing(const MultivariateT& distribution, std::string reason) {
  Draws out;
  out.names = distribution.names;
  out.status = std::move(reason);
  return out;
}

}  // namespace

std::span<const double> Draws::column(std::size_t j) const {
  HARDPAN_ASSERT(j < names.size());
  return std::span(values).subspan(j * count, count);
}

std::optional<std::span<const double>> Draws::column(std::string_view name) const {
  const auto found = std::ranges::find(names, name);
  if (found == names.end()) return std::nullopt;
  return column(static_cast<std::size_t>(found - names.begin()));
}

double Draws::infeasible_share() const {
  const std::size_t samples = count + infeasible;
  return samples == 0 ? 0 : static_cast<double>(infeasible) / static_cast<double>(samples);
}

Draws draw(const MultivariateT& distribution, std::uint64_t seed, std::uint64_t stream, std::size_t n) {
  return draw_feasible(distribution, seed, stream, n, [](std::span<const double>) { return true; }, 1);
}

Draws draw_feasible(const MultivariateT& distribution, std::uint64_t seed, std::uint64_t stream,
                    std::size_t n, const Feasible& feasible, std::size_t max_tries) {
  const std::size_t p = distribution.location.size();
  HARDPAN_ASSERT(distribution.names.size() == p && distribution.scale.size() == p * p);
  HARDPAN_ASSERT(p < kNumbersPerTry && max_tries >= 1 && max_tries <= kTriesPerDraw);
  if (!(distribution.dof > 0)) {
    return nothing(distribution, "no draws: no degrees of freedom for the scatter (one point or none)");
  }
  if (!std::ranges::all_of(distribution.location, [](double v) { return std::isfinite(v); })) {
    return nothing(distribution, "no draws: a location is not a finite number");
  }
  auto lower = cholesky_semidefinite(distribution.scale, p);
  if (!lower) return nothing(distribution, "no draws: the scale matrix is not positive semidefinite");

  Sampler sampler(distribution, std::move(*lower), seed, stream);
  Draws out;
  out.names = distribution.names;
  out.values.resize(p * n);
  std::vector<double> row(p);
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t attempt = 0;
    sampler.sample(k, attempt, row);
    while (!feasible(row)) {
      ++out.infeasible;
      if (++attempt == max_tries) {
        Draws none = nothing(distribution, fmt::format("no draws: draw {} stayed infeasible after {} tries",
                                                       k + 1, max_tries));
        none.infeasible = out.infeasible;
        return none;
      }
      sampler.sample(k, attempt, row);
    }
    for (std::size_t j = 0; j < p; ++j) out.values[j * n + k] = row[j];
  }
  out.count = n;
  out.status = kStatusOk;
  return out;
}

DrawSummary summarise(std::span<const double> draws, double level) {
  HARDPAN_ASSERT(level > 0 && level < 1);
  std::vector<double> sorted;
  sorted.reserve(draws.size());
  std::ranges::copy_if(draws, std::back_inserter(sorted), [](double v) { return std::isfinite(v); });
  std::ranges::sort(sorted);
  DrawSummary out{.count = draws.size(), .finite = sorted.size()};
  if (sorted.empty()) return out;
  out.mean = mean(sorted);
  out.median = quantile_of_sorted(sorted, 0.5);
  if (sorted.size() >= 2) out.standard_deviation = std::sqrt(variance(sorted));
  if (sorted.size() >= kFewestDrawsForInterval) {
    out.central = Interval{quantile_of_sorted(sorted, (1 - level) / 2),
                           quantile_of_sorted(sorted, (1 + level) / 2)};
  }
  return out;
}

}  // namespace hardpan::math
