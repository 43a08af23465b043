// SPDX-License-Identifier: Apache-2.0
#include "math/random.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "math/statistics.hpp"

namespace hardpan::math {
namespace {

// Known-answer vectors published with the generator (Salmon et al. 2011, file kat_vectors).
TEST(Philox, GivesThePublishedKnownAnswers) {
  using Words = std::array<std::uint32_t, 4>;
  EXPECT_EQ(philox_block({0, 0, 0, 0}, {0, 0}), (Words{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}));
  EXPECT_EQ(philox_block({0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff}, {0xffffffff, 0xffffffff}),
            (Words{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}));
}

// FNV-1a 64 test vectors of its authors: offset basis for the empty string, and "a", "foobar".
TEST(StreamId, IsTheFnvHashOfTheName) {
  static_assert(stream_id("") == 0xcbf29ce484222325u);
  static_assert(stream_id("a") == 0xaf63dc4c8601ec8cu);
  static_assert(stream_id("foobar") == 0x85944171f73967e8u);
  EXPECT_NE(stream_id("soil"), stream_id("instrument"));
}

TEST(Stream, FirstBitsAreTheFirstWordsOfTheBlock) {
  const Stream s(0, 0);
  EXPECT_EQ(s.bits(0), 0xe169c58d6627e8d5u);
  EXPECT_EQ(s.bits(1), 0x9b00dbd8bc57ac4cu);
}

TEST(Stream, SeedStreamAndIndexEachChangeTheNumber) {
  std::set<std::uint64_t> seen;
  for (std::uint64_t seed : {1u, 2u}) {
    for (std::uint64_t stream : {7u, 8u}) {
      for (std::uint64_t index : {0u, 1u, 2u, 3u}) seen.insert(Stream(seed, stream).bits(index));
    }
  }
  EXPECT_EQ(seen.size(), 16u);
}

TEST(Stream, FillingGivesTheSameNumbersAsAskingOneByOne) {
  const Stream s(42, stream_id("fill"));
  for (std::uint64_t first : {0u, 1u, 6u}) {
    for (std::size_t n : {0u, 1u, 2u, 5u, 8u}) {
      std::vector<double> u(n), z(n);
      s.fill_uniform(first, u);
      s.fill_normal(first, z);
      for (std::size_t i = 0; i < n; ++i) {
        EXPECT_EQ(u[i], s.uniform(first + i));
        EXPECT_EQ(z[i], s.normal(first + i));
      }
    }
  }
}

// Largest distance between the sample's distribution and F; 1.63 / sqrt(n) is passed by 99 % of
// true samples (Kolmogorov's limit distribution). The numbers are seeded, so this never flickers.
template <class F>
double distance_from(std::vector<double> x, F&& cdf) {
  std::ranges::sort(x);
  double worst = 0;
  const auto n = static_cast<double>(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double f = cdf(x[i]), below = static_cast<double>(i) / n, above = static_cast<double>(i + 1) / n;
    worst = std::max({worst, f - below, above - f});
  }
  return worst * std::sqrt(n);
}

TEST(Stream, NumbersFollowTheirDistributions) {
  const Stream s(20240229, stream_id("distribution"));
  constexpr std::size_t kN = 20000;
  std::vector<double> u(kN), z(kN), chi(kN), gamma(kN);
  for (std::size_t i = 0; i < kN; ++i) {
    u[i] = s.uniform(i);
    z[i] = s.normal(i + kN);
    chi[i] = s.chi_square(i + 2 * kN, 3.5);
    gamma[i] = s.gamma(i + 3 * kN, 1, 2.5);
  }
  EXPECT_LT(distance_from(u, [](double x) { return x; }), 1.63);
  EXPECT_LT(distance_from(z, normal_cdf), 1.63);
  EXPECT_LT(distance_from(chi, [](double x) { return chi_square_cdf(x, 3.5); }), 1.63);
  // Gamma of shape 1 is the exponential distribution.
  EXPECT_LT(distance_from(gamma, [](double x) { return -std::expm1(-x / 2.5); }), 1.63);
  // and lag-1 correlation within 2.6 / sqrt(n)
  EXPECT_LT(std::abs(autocorrelation(z, 1)), 2.6 / std::sqrt(static_cast<double>(kN)));
}

TEST(Stream, BelowReachesEveryNumberAboutEquallyOften) {
  const Stream s(5, 5);
  std::array<int, 7> count{};
  for (std::uint64_t i = 0; i < 70000; ++i) ++count[s.below(i, 7)];
  double chi_square = 0;
  for (const int c : count) chi_square += (c - 10000.0) * (c - 10000.0) / 10000.0;
  EXPECT_LT(chi_square, chi_square_quantile(0.99, 6));
  EXPECT_EQ(s.below(3, 1), 0u);
  // The high half of the product, against 128-bit arithmetic.
  __extension__ using Wide = unsigned __int128;
  for (const std::uint64_t n : {std::uint64_t{3}, std::uint64_t{0x123456789abcdef}, ~std::uint64_t{0}}) {
    for (std::uint64_t i = 0; i < 50; ++i) {
      EXPECT_EQ(s.below(i, n), static_cast<std::uint64_t>((Wide{s.bits(i)} * n) >> 64));
    }
  }
}

}  // namespace
}  // namespace hardpan::math
