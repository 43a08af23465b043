// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/thinner.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace hardpan::formats::detail {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

struct Rows {
  std::vector<std::size_t> line;
  std::vector<double> time;
  std::vector<std::vector<double>> channels;
  std::vector<char> keep;
  void add(double t, std::vector<double> values, bool kept = true) {
    if (channels.empty()) channels.resize(values.size());
    line.push_back(line.size() + 2);
    time.push_back(t);
    for (std::size_t c = 0; c < values.size(); ++c) channels[c].push_back(values[c]);
    keep.push_back(kept ? 1 : 0);
  }
};

ThinRows thinned(const Rows& rows, const std::vector<ThinChannel>& channels, std::size_t limit, std::size_t block) {
  Thinner thinner(channels, {.limit = limit});
  for (std::size_t i = 0; i < rows.line.size(); i += block) {
    const std::size_t n = std::min(block, rows.line.size() - i);
    std::vector<std::span<const double>> parts;
    for (const auto& c : rows.channels) parts.push_back(std::span(c).subspan(i, n));
    thinner.add(std::span(rows.line).subspan(i, n), std::span(rows.time).subspan(i, n), parts, std::span(rows.keep).subspan(i, n));
  }
  return thinner.finish();
}

bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
  return a.size() == b.size() && std::equal(a.begin(), a.end(), b.begin(), [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); });
}

// Small whole numbers in steps of 1/64: means of up to 64 of them are exact, whatever the order of adding.
Rows exact_log(std::size_t count, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_int_distribution<int> value(-500, 500), percent(0, 99);
  Rows rows;
  double t = 0;
  for (std::size_t i = 0; i < count; ++i) {
    t += percent(random) == 0 ? 8 : 1;  // now and then a gap
    const auto reading = [&] { return percent(random) < 4 ? kNone : 64.0 * value(random); };
    rows.add(64 * t, {reading(), reading(), reading()}, percent(random) > 2);
  }
  return rows;
}
const std::vector<ThinChannel> kThree{{.averaging = Averaging::needed, .range = 31000}, {.averaging = Averaging::own_cells, .range = std::nullopt},
                                      {.averaging = Averaging::every_cell, .range = std::nullopt}};

TEST(Thinner, KeepsRowsAsTheyAreUpToTheLimit) {
  const Rows rows = exact_log(1000, 3);
  const auto kept = static_cast<std::size_t>(std::count(rows.keep.begin(), rows.keep.end(), 1));
  for (const std::size_t block : {1u, 7u, 1000u}) {
    const ThinRows out = thinned(rows, kThree, kept, block);
    EXPECT_EQ(out.averaged, 1u);
    ASSERT_EQ(out.line.size(), kept);
    std::size_t k = 0;
    for (std::size_t i = 0; i < rows.line.size(); ++i) {
      if (!rows.keep[i]) continue;
      EXPECT_EQ(out.line[k], rows.line[i]);
      EXPECT_EQ(out.time_s[k], rows.time[i]);
      for (std::size_t c = 0; c < 3; ++c) EXPECT_TRUE(same_bits({out.channels[c][k]}, {rows.channels[c][i]}));
      ++k;
    }
  }
}

TEST(Thinner, GivesTheMeansOfEveryKRowsBetweenGapsHoweverOftenKDoubled) {
  const Rows rows = exact_log(9000, 5);
  const ThinRows out = thinned(rows, kThree, 800, 1);
  ASSERT_GE(out.averaged, 8u);  // three doublings at least
  EXPECT_FALSE(out.gap_raised);
  EXPECT_EQ(out.row_interval_s, 64);
  EXPECT_EQ(out.gap_s, 5 * 64);
  // Straight from the definition, with the k that came out.
  std::size_t at = 0, good = 0, i = 0;
  const auto useful = [&](std::size_t r) { return rows.keep[r] && std::isfinite(rows.channels[0][r]); };
  std::size_t range_end = 0, range_end_kept = 0;
  for (std::size_t r = 0; r < rows.line.size(); ++r) range_end += useful(r) && std::abs(rows.channels[0][r]) >= 0.999 * 31000;
  while (i < rows.line.size()) {
    std::vector<std::size_t> members;
    for (; i < rows.line.size() && members.size() < out.averaged; ++i) {
      if (!useful(i)) continue;
      if (!members.empty() && rows.time[i] - rows.time[members.back()] > out.gap_s) break;
      members.push_back(i);
    }
    if (members.empty()) break;
    good += members.size();
    ASSERT_LT(at, out.line.size());
    EXPECT_EQ(out.line[at], rows.line[members.front()]);
    const auto mean = [&](const std::vector<double>& x, bool own) {
      double sum = 0, n = 0;
      for (const std::size_t r : members) {
        if (own && std::isnan(x[r])) continue;
        sum += x[r], ++n;
      }
      return sum / n;
    };
    const auto near = [](double a, double b) { return (std::isnan(a) && std::isnan(b)) || std::abs(a - b) <= 1e-9 * (1 + std::abs(b)); };
    EXPECT_PRED2(near, out.time_s[at], mean(rows.time, false));
    EXPECT_PRED2(near, out.channels[0][at], mean(rows.channels[0], false));
    EXPECT_PRED2(near, out.channels[1][at], mean(rows.channels[1], true)) << "over its own cells";
    EXPECT_PRED2(near, out.channels[2][at], mean(rows.channels[2], false)) << "none where one is missing";
    range_end_kept += out.at_range_end[at];
    ++at;
  }
  EXPECT_EQ(at, out.line.size());
  EXPECT_EQ(out.good, good);
  EXPECT_GT(range_end, 20u);
  EXPECT_EQ(range_end_kept, range_end);
}

TEST(Thinner, GivesTheSameBitsForEveryBlockSize) {
  std::mt19937 random(11);
  std::normal_distribution<double> noise(0, 1);
  Rows rows;
  double t = 1.7e9;
  for (int i = 0; i < 30000; ++i) {
    t += 0.01 + 0.001 * std::abs(noise(random)) + (i % 4000 == 1234 ? 3 : 0);
    rows.add(t, {noise(random), i % 50 == 0 ? kNone : noise(random), 1e6 + 0.5 * i}, i % 91 != 0);
  }
  const ThinRows one = thinned(rows, kThree, 1000, 1);
  EXPECT_LE(one.line.size(), 1000u);
  EXPECT_GT(one.line.size(), 400u);
  for (const std::size_t block : {std::size_t{7}, std::size_t{1000}, rows.line.size()}) {
    const ThinRows other = thinned(rows, kThree, 1000, block);
    EXPECT_EQ(other.averaged, one.averaged);
    EXPECT_EQ(other.line, one.line);
    EXPECT_TRUE(same_bits(other.time_s, one.time_s));
    for (std::size_t c = 0; c < 3; ++c) EXPECT_TRUE(same_bits(other.channels[c], one.channels[c]));
    EXPECT_EQ(other.at_range_end, one.at_range_end);
  }
}

TEST(Thinner, KeepsTheRateOfACountWhateverRowsAreMissing) {
  // An encoder that turns steadily: 40 counts a second. Rows are missing at random, so averages hold uneven times.
  std::mt19937 random(2);
  Rows rows;
  for (int i = 0; i < 20000; ++i) {
    const double t = 0.001 * i;
    rows.add(t, {random() % 7 == 0 ? kNone : 1.0, 40 * t, 40 * t}, random() % 5 != 0);
  }
  const std::vector<ThinChannel> channels{{}, {}, {.averaging = Averaging::every_cell, .range = std::nullopt}};
  const ThinRows out = thinned(rows, channels, 500, 64);
  ASSERT_GE(out.averaged, 16u);
  for (std::size_t i = 1; i < out.line.size(); ++i) {
    for (const std::size_t c : {1u, 2u}) {
      EXPECT_NEAR((out.channels[c][i] - out.channels[c][i - 1]) / (out.time_s[i] - out.time_s[i - 1]), 40, 1e-6);
    }
  }
}

TEST(Thinner, KeepsAnUnchangingValueToTheLastBit) {
  Rows rows;
  for (int i = 0; i < 5000; ++i) rows.add(0.01 * i, {0.1, 0.7 / 3, 1e-17});
  const ThinRows out = thinned(rows, kThree, 100, 13);
  for (std::size_t i = 0; i < out.line.size(); ++i) {
    EXPECT_EQ(out.channels[0][i], 0.1);
    EXPECT_EQ(out.channels[1][i], 0.7 / 3);
    EXPECT_EQ(out.channels[2][i], 1e-17);
  }
}

TEST(Thinner, StaysWithinItsLimitWhereEveryStepIsAGap) {
  // The first rows come quickly, so their median makes every later step a gap.
  Rows rows;
  double t = 0;
  for (int i = 0; i < 50000; ++i) rows.add(t += i < 1000 ? 0.001 : 10, {1.0 * i, 0, 0});
  const ThinRows out = thinned(rows, kThree, 1000, 77);
  EXPECT_LE(out.line.size(), 1000u);
  EXPECT_TRUE(out.gap_raised);
  EXPECT_GT(out.gap_s, 10);
  EXPECT_EQ(out.good, 50000u);
}

TEST(Thinner, CountsWhatLacksANeededChannelOverTheWholeFile) {
  Rows rows;
  for (int i = 0; i < 3000; ++i) rows.add(i, {i % 10 == 9 ? kNone : 1.0, i % 2 ? kNone : 2.0, 0});
  const ThinRows out = thinned(rows, kThree, 200, 50);
  EXPECT_EQ(out.without_needed, 300u);
  EXPECT_EQ(out.lines_without_needed, (std::vector<std::size_t>{11, 21, 31, 41, 51}));
  EXPECT_EQ(out.good, 2700u);
  EXPECT_EQ(out.without_number, (std::vector<std::size_t>{300, 1500, 0}));
}

}  // namespace
}  // namespace hardpan::formats::detail
