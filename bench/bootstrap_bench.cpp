// SPDX-License-Identifier: Apache-2.0
// How often 95 % intervals of the average ground hold the truth when there are few points: the Student interval, the bootstrap over
// whole points (corrected and as plain percentiles) and the wild bootstrap of the reduction, for 3, 5 and 10 points.
// Usage: bootstrap_bench [first seed] [campaigns]. All data invented. Nothing here is timed; it is the record of what the
// intervals are worth. Cameron, Gelbach and Miller (2008) found the same of few clusters.
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "fitting/bootstrap.hpp"
#include "math/distributions.hpp"
#include "math/estimate.hpp"
#include "math/random.hpp"
#include "math/statistics.hpp"
#include "records/ground_test_campaign.hpp"

namespace {

using namespace hardpan;

constexpr std::array<std::size_t, 3> kPoints{3, 5, 10};

struct Tally {
  std::size_t hits = 0, tried = 0;
  void add(const std::optional<math::Interval>& interval, double truth) {
    if (!interval) return;
    ++tried;
    hits += interval->contains(truth) ? 1 : 0;
  }
  [[nodiscard]] std::string text() const {
    if (tried == 0) return fmt::format("{:>22}", "none given");
    const math::Interval i = math::clopper_pearson(hits, tried);
    return fmt::format("{:>6.1f} % ({:.1f} to {:.1f})", 100.0 * static_cast<double>(hits) / static_cast<double>(tried), 100 * i.lo, 100 * i.hi);
  }
};

// Mean of G points that scatter normally or with a long upper tail; percentiles are those of the same replicates.
void means(std::uint64_t first_seed, std::size_t campaigns) {
  fmt::print("mean of G points, {} campaigns from seed {}; coverage of 95 % with its own 95 % limits\n", campaigns, first_seed);
  fmt::print("{:<22}{:>3}  {:>22}  {:>26}  {:>26}\n", "scatter of points", "G", "Student t(G-1)", "bootstrap, corrected", "bootstrap, percentiles");
  struct Scatter {
    std::string name;
    double truth;
    std::function<double(double)> value;
  };
  const std::vector<Scatter> scatters{{"normal", 0, [](double z) { return z; }},
                                      {"lognormal, sd 0.5", std::exp(0.125), [](double z) { return std::exp(0.5 * z); }}};
  for (const auto& [name, truth, value] : scatters) {
    for (const std::size_t g : kPoints) {
      Tally student, corrected, percentiles;
      for (std::size_t k = 0; k < campaigns; ++k) {
        const std::uint64_t seed = first_seed + k;
        const math::Stream s(seed, math::stream_id("points of " + name));
        std::vector<double> points;
        for (std::size_t i = 0; i < g; ++i) points.push_back(value(s.normal(i)));
        student.add(math::estimate_from_points(points).average_ground, truth);
        const fitting::Bootstrap b = fitting::bootstrap_groups(
            {.groups = g, .replicates = 499, .seed = seed}, [&](std::span<const std::size_t> chosen) {
              double sum = 0;
              for (const std::size_t i : chosen) sum += points[i];
              return std::optional(std::vector{sum / static_cast<double>(chosen.size())});
            });
        if (!b.ok()) continue;
        corrected.add(b.parameters[0].interval, truth);
        const std::vector<double>& r = b.parameters[0].replicates;
        percentiles.add(math::Interval{math::quantile(r, 0.025), math::quantile(r, 0.975)}, truth);
      }
      fmt::print("{:<22}{:>3}  {:>22}  {:>26}  {:>26}\n", name, g, student.text(), corrected.text(), percentiles.text());
    }
  }
}

// The whole reduction of plates and rings, per printed parameter: Student interval and wild bootstrap over points, without instruments.
void reductions(std::uint64_t first_seed, std::size_t campaigns) {
  fmt::print("\nreduced plates and rings, {} campaigns from seed {}, no calibration error\n", campaigns, first_seed);
  fmt::print("{:<22}{:>3}  {:>22}  {:>26}\n", "parameter", "G", "Student t(G-1)", "wild bootstrap");
  const records::testing::Truth truth;
  for (const std::size_t g : kPoints) {
    std::map<std::string, std::pair<Tally, Tally>> tallies;
    for (std::size_t k = 0; k < campaigns; ++k) {
      base::Problems problems;
      const records::GroundResult result = records::reduce_ground(
          records::testing::simulate(truth, {.points = g, .seed = first_seed + k}), {.bootstrap_count = 999}, problems);
      const records::ZoneGround& zone = result.zones.at(0);
      const auto see = [&](const std::string& what, const records::Parameter& p, double true_value) {
        auto& [student, bootstrap] = tallies[what];
        student.add(p.average_soil_only, true_value);
        bootstrap.add(p.bootstrap, true_value);
      };
      if (zone.plates) {
        bool first = true;
        for (const records::Parameter& p : zone.plates->parameters) {
          if (p.key == "n") see("n", p, truth.n);
          if (p.key == "p" && first) see("p, first depth", p, truth.pressure(*p.at_width_m, *p.at_depth_m)), first = false;
        }
      }
      if (zone.shear) {
        for (const records::Parameter& p : zone.shear->parameters) {
          if (p.key == "c") see("c", p, truth.c);
          if (p.key == "tan_phi") see("tan phi", p, truth.tan_phi);
          if (p.key == "K") see("K", p, truth.k);
        }
      }
    }
    for (const auto& [what, tally] : tallies) fmt::print("{:<22}{:>3}  {:>22}  {:>26}\n", what, g, tally.first.text(), tally.second.text());
  }
}

}  // namespace

int main(int count, char** words) {
  const std::uint64_t seed = count > 1 ? std::strtoull(words[1], nullptr, 10) : 1;
  const std::size_t campaigns = count > 2 ? std::strtoull(words[2], nullptr, 10) : 1000;
  if (campaigns == 0) {
    fmt::print(stderr, "usage: bootstrap_bench [first seed] [campaigns]\n");
    return 2;
  }
  means(seed, campaigns);
  reductions(seed, std::max<std::size_t>(1, campaigns / 4));
}
