// SPDX-License-Identifier: Apache-2.0
// Do 95 % intervals hold the truth 95 % of the time? An invented campaign is repeated with 200 seeds.
// The truth is that of ground_test_campaign.hpp. Binomial 99 % limits of 200 trials at 0.95 are 181 and 197: fewer than 181 or
// more than 197 have a probability under 0.005 each.
#include <gtest/gtest.h>

#include <map>

#include "math/distributions.hpp"
#include "records/ground_test_campaign.hpp"

namespace hardpan::records {
namespace {

constexpr int kSeeds = 200;

std::pair<int, int> limits(int trials) {
  int lo = 0, hi = trials;
  while (math::binomial_cdf(static_cast<std::uint64_t>(lo), static_cast<std::uint64_t>(trials), 0.95) < 0.005) ++lo;
  while (1 - math::binomial_cdf(static_cast<std::uint64_t>(hi - 1), static_cast<std::uint64_t>(trials), 0.95) < 0.005) --hi;
  return {lo, hi};
}

struct Count {
  int average = 0, next = 0, tried = 0;
};

std::map<std::string, Count> study(const testing::Truth& truth, testing::CampaignSettings campaign) {
  std::map<std::string, Count> counts;
  for (int seed = 1; seed <= kSeeds; ++seed) {
    campaign.seed = static_cast<std::uint64_t>(seed);
    base::Problems problems;
    const GroundResult result = reduce_ground(testing::simulate(truth, campaign), {.bootstrap_count = 0}, problems);
    // A point that was not measured, of the same ground.
    const testing::PointTruth other =
        testing::draw_point(truth, math::Stream(campaign.seed, math::stream_id("points")), 1000);
    const auto see = [&](const std::string& what, const Parameter& p, double average, double next) {
      Count& count = counts[what];
      ++count.tried;
      count.average += p.estimate.average_ground && p.estimate.average_ground->contains(average);
      count.next += p.estimate.next_point && p.estimate.next_point->contains(next);
    };
    const ZoneGround& zone = result.zones.at(0);
    int k = 0;
    for (const Parameter& p : zone.plates->parameters) {
      if (p.key == "n") see("n", p, truth.n, other.n);
      if (p.key != "p") continue;
      const double level = *p.at_width_m == truth.b1 ? other.ln_p1 : other.ln_p2;
      see("p " + std::to_string(k++), p, truth.pressure(*p.at_width_m, *p.at_depth_m),
          std::exp(level + other.n * std::log(*p.at_depth_m / truth.z0)));
    }
    if (!zone.shear) continue;
    for (const Parameter& p : zone.shear->parameters) {
      if (p.key == "c") see("c", p, truth.c, other.c);
      if (p.key == "tan_phi") see("tan phi", p, truth.tan_phi, other.tan_phi);
      if (p.key == "K") see("K", p, truth.k, other.k);
    }
  }
  return counts;
}

void judge(const std::map<std::string, Count>& counts, std::size_t expected) {
  EXPECT_EQ(counts.size(), expected);
  const auto [lo, hi] = limits(kSeeds);
  for (const auto& [what, count] : counts) {
    EXPECT_EQ(count.tried, kSeeds) << what;
    EXPECT_GE(count.average, lo) << what << " (average ground)";
    EXPECT_LE(count.average, hi) << what << " (average ground)";
    EXPECT_GE(count.next, lo) << what << " (next point)";
    EXPECT_LE(count.next, hi) << what << " (next point)";
    ::testing::Test::RecordProperty(what, count.average);
    std::printf("  %-8s average ground %d, next point %d of %d\n", what.c_str(), count.average, count.next, count.tried);
  }
}

TEST(GroundCoverage, EightPairedPointsHoldTheTruthAtTheStatedRate) {
  judge(study({.gain = 0.02}, {.points = 8}), 6 + 1 + 3);
}

TEST(GroundCoverage, FivePointsHoldTheTruthAtTheStatedRate) {
  judge(study({.gain = 0.0}, {.points = 5}), 6 + 1 + 3);
}

TEST(GroundCoverage, UnpairedPlatesAreWiderAndStillHoldTheTruth) {
  judge(study({.gain = 0.0}, {.points = 12, .shears = false, .paired = false}), 6 + 1);
}

// A calibration of 3 % stops the half-width at 1.96 x 3 % however many points there are.
TEST(GroundCoverage, ThreePerCentInstrumentErrorStopsTheIntervalsShrinking) {
  std::map<std::size_t, double> sd;
  for (const std::size_t points : {5u, 20u, 150u}) {
    base::Problems problems;
    const GroundResult result = reduce_ground(testing::simulate({.gain = 0.03}, {.points = points, .shears = false}),
                                              {.bootstrap_count = 0}, problems);
    for (const Parameter& p : result.zones.at(0).plates->parameters) {
      if (p.key != "p" || sd.count(points)) continue;
      sd[points] = std::log(p.estimate.average_ground->hi / p.estimate.average_ground->lo) / (2 * 1.96);
    }
  }
  EXPECT_GT(sd[5], sd[20]);
  EXPECT_GT(sd[20], sd[150]);
  // At 150 points the soil leaves 0.2/sqrt(150) = 1.6 %, together with 3 % in squares 3.4 %.
  EXPECT_GT(sd[150], 0.030);
  EXPECT_LT(sd[150], 0.037);
}

}  // namespace
}  // namespace hardpan::records
