// SPDX-License-Identifier: Apache-2.0
#include "records/bracket.hpp"

#include <cmath>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace hardpan::records {
namespace {

constexpr TrialBound kPassed = TrialBound::at_least, kFailed = TrialBound::below;
const BracketWords kWords{"over", "not over", "no try failed", "no try got over"};
std::string metres(double m) { return std::to_string(std::lround(1000 * m)) + " mm"; }

TEST(Bracket, LargestPassedAndSmallestFailedBoundTheLimit) {
  const SizeBracket b = bracket_of({{0.08, kPassed}, {0.12, kPassed}, {0.16, kFailed}, {0.20, kFailed}}, Harder::larger);
  EXPECT_EQ(*b.passed, 0.12);
  EXPECT_EQ(*b.failed, 0.16);
  EXPECT_FALSE(b.overlap);
  EXPECT_EQ(bracket_text(b, Harder::larger, kWords, metres), "between 120 mm (over) and 160 mm (not over)");
  EXPECT_EQ(where_the_limit_is(b, Harder::larger), (math::Interval{0.12, 0.16}));
}

// A turn is the harder the smaller its radius.
TEST(Bracket, SmallerIsHarderMirrorsTheRule) {
  const SizeBracket b = bracket_of({{6, kPassed}, {4, kPassed}, {3, kFailed}, {2, kFailed}}, Harder::smaller);
  EXPECT_EQ(*b.passed, 4);
  EXPECT_EQ(*b.failed, 3);
  EXPECT_EQ(where_the_limit_is(b, Harder::smaller), (math::Interval{3, 4}));
  EXPECT_EQ(bracket_text(bracket_of({{6, kPassed}}, Harder::smaller), Harder::smaller, kWords, metres), "at most 6000 mm: no try failed");
  EXPECT_EQ(bracket_text(bracket_of({{6, kFailed}}, Harder::smaller), Harder::smaller, kWords, metres), "above 6000 mm: no try got over");
}

TEST(Bracket, RepeatsThatDisagreeOverlapAndLeaveTheWholeRange) {
  const SizeBracket b = bracket_of({{0.10, kPassed}, {0.14, kFailed}, {0.14, kPassed}, {0.16, kPassed}, {0.18, kFailed}}, Harder::larger);
  EXPECT_TRUE(b.overlap);
  EXPECT_EQ(*b.passed, 0.10);
  EXPECT_EQ(where_the_limit_is(b, Harder::larger), (math::Interval{0.14, 0.16}));
  EXPECT_EQ(bracket_text(b, Harder::larger, kWords, metres), "outcomes overlap: not over already at 140 mm, over still at 160 mm");
}

TEST(Bracket, OneSidedAndUndecidedTrialsBoundNoMoreThanTheyShow) {
  const math::Interval open = where_the_limit_is(bracket_of({{0.1, kPassed}, {0.2, TrialBound::either}, {0.05, TrialBound::set_aside}}, Harder::larger), Harder::larger);
  EXPECT_EQ(open.lo, 0.1);
  EXPECT_TRUE(std::isinf(open.hi));
  const SizeBracket none = bracket_of({{0.2, TrialBound::either}}, Harder::larger);
  EXPECT_EQ(bracket_text(none, Harder::larger, kWords, metres), "nothing was decided");
  EXPECT_TRUE(std::isinf(where_the_limit_is(none, Harder::smaller).lo) && std::isinf(where_the_limit_is(none, Harder::smaller).hi));
}

// Clopper and Pearson: 0 of 3 and 3 of 3 have the closed forms 1 - 0.025^(1/3) and 0.025^(1/3).
TEST(Bracket, SizesOfOneClassCountTogetherAndSetAsideTrialsDoNotCount) {
  const auto sizes = tested_sizes({{0.101, kPassed}, {0.100, kPassed}, {0.1015, kPassed}, {0.15, kFailed}, {0.15, kFailed}, {0.15, kFailed}, {0.15, TrialBound::either}, {0.12, TrialBound::set_aside}}, 0.02);
  ASSERT_EQ(sizes.size(), 2u);
  EXPECT_NEAR(sizes[0].value, (0.101 + 0.100 + 0.1015) / 3, 1e-15);
  EXPECT_EQ(sizes[0].passed, 3u);
  EXPECT_NEAR(sizes[0].chance_of_passing->lo, std::cbrt(0.025), 1e-9);
  EXPECT_EQ(sizes[1].failed, 3u);
  EXPECT_EQ(sizes[1].undecided, 1u);
  EXPECT_NEAR(sizes[1].chance_of_passing->hi, 1 - std::cbrt(0.025), 1e-9);
}

// A vehicle with one true limit never overlaps, and the limit lies in what its trials leave, whatever their order.
RC_GTEST_PROP(Bracket, TheTrueLimitLiesInWhatIsLeft, (std::vector<unsigned char> sizes)) {
  const double limit = 100.5;
  std::vector<BoundedTrial> up, down;
  for (const unsigned char s : sizes) {
    up.push_back({static_cast<double>(s), s < limit ? kPassed : kFailed});
    down.push_back({static_cast<double>(s), s > limit ? kPassed : kFailed});
  }
  const SizeBracket a = bracket_of(up, Harder::larger), b = bracket_of(down, Harder::smaller);
  RC_ASSERT(!a.overlap && !b.overlap);
  RC_ASSERT(where_the_limit_is(a, Harder::larger).contains(limit));
  RC_ASSERT(where_the_limit_is(b, Harder::smaller).contains(limit));
}

}  // namespace
}  // namespace hardpan::records
