// SPDX-License-Identifier: Apache-2.0
#include "validation/counted_trials.hpp"

#include <gtest/gtest.h>

#include "math/distributions.hpp"
#include "math/random.hpp"

namespace hardpan::validation {
namespace {

std::vector<DecidedTrial> trials(std::initializer_list<std::tuple<double, int, int>> at) {
  std::vector<DecidedTrial> out;
  for (const auto& [hardness, went, failed] : at) {
    for (int k = 0; k < went + failed; ++k) out.push_back({hardness, k < went, "x"});
  }
  return out;
}

TEST(CountedTrials, PassesBeyondAFailureAreLeftOutWithTheFailures) {
  const CountedTrials c = count_trials(trials({{5.5, 22, 66}}), 5);
  EXPECT_EQ(c.went, 0u);
  EXPECT_EQ(c.failed, 0u);
  EXPECT_EQ(*c.left_out_from, 5.5);
}

TEST(CountedTrials, HarderPassesCountUpToTheFirstFailureAndEasierFailuresAlways) {
  const CountedTrials c = count_trials(trials({{4, 3, 1}, {5, 6, 2}, {6, 4, 0}, {7, 1, 1}, {8, 5, 0}}), 5);
  EXPECT_EQ(c.went, 10u);     // of 5 and 6
  EXPECT_EQ(c.failed, 3u);    // of 4 and 5
  EXPECT_EQ(c.places.size(), 13u);
  EXPECT_EQ(*c.left_out_from, 7);
  EXPECT_FALSE(count_trials(trials({{5, 2, 0}, {7, 0, 1}}), 5).left_out_from);   // nothing was left out
}

// Limits of tries scatter normally about 6 with 1; sizes lie anywhere from 2 to 9. At 5 a share of 0.84 goes over, too few for 0.9: with 90 % confidence it may be called shown in a
// tenth of the campaigns at most. Passes counted beyond failures were shown in nearly all of them.
TEST(CountedTrials, CallATooSmallShareShownInNoMoreThanATenthOfCampaigns) {
  const math::Stream stream(20261129, math::stream_id("tries of all sizes"));
  std::uint64_t at = 0;
  int shown = 0;
  constexpr int kCampaigns = 1000;
  for (int campaign = 0; campaign < kCampaigns; ++campaign) {
    std::vector<DecidedTrial> all;
    for (int k = 0; k < 60; ++k) {
      const double size = 2 + 7 * stream.uniform(at++), limit = 6 + stream.normal(at++);
      all.push_back({size, limit > size, "x"});
    }
    const CountedTrials c = count_trials(all, 5);
    if (c.went + c.failed > 0 && math::demonstrated_confidence(0.9, c.went + c.failed, c.failed) >= 0.9) ++shown;
  }
  EXPECT_LE(shown, 0.1 * kCampaigns);
}

}  // namespace
}  // namespace hardpan::validation
