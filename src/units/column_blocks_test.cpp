// SPDX-License-Identifier: Apache-2.0
#include "units/column_blocks.hpp"

#include <gtest/gtest.h>

#include <random>

namespace hardpan::units {
namespace {

std::vector<std::size_t> columns_of(const std::vector<ColumnBlock>& blocks) {
  std::vector<std::size_t> out;
  for (const ColumnBlock& b : blocks) out.push_back(b.to - b.from);
  return out;
}

TEST(ColumnBlocks, LeavesATableThatFitsInOne) {
  // 8 + 3 (2 + 20) = 74.
  EXPECT_EQ(columns_of(column_blocks({8, 20, 20, 20}, 74)), std::vector<std::size_t>({3}));
  EXPECT_EQ(columns_of(column_blocks({8, 20, 20, 20}, 73)), std::vector<std::size_t>({2, 1}));
  EXPECT_EQ(columns_of(column_blocks({8})), std::vector<std::size_t>({0}));
  EXPECT_TRUE(column_blocks({}).empty());
}

TEST(ColumnBlocks, SpreadsColumnsEvenlyOverAsFewAsFit) {
  // 20 + 4 (2 + 20) = 108: four a block. Six columns are three and three, not four and two; 41 are eleven blocks, which no three a block make.
  EXPECT_EQ(columns_of(column_blocks(std::vector<std::size_t>(42, 20), 110)), std::vector<std::size_t>({4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 1}));
  EXPECT_EQ(columns_of(column_blocks(std::vector<std::size_t>(7, 20), 110)), std::vector<std::size_t>({3, 3}));
}

TEST(ColumnBlocks, TellsAColumnTooWideForAnyBlockByItself) { EXPECT_EQ(columns_of(column_blocks({8, 20, 200, 20}, 60)), std::vector<std::size_t>({1, 1, 1})); }

TEST(ColumnBlocks, TellEveryColumnOnceInOrderAndFit) {
  constexpr unsigned kSeed = 7;
  std::mt19937 random(kSeed);
  for (int n = 0; n < 500; ++n) {
    std::vector<std::size_t> widths(1 + random() % 45);
    for (std::size_t& w : widths) w = random() % 40;
    std::size_t next = 1;
    for (const ColumnBlock& b : column_blocks(widths)) {
      EXPECT_EQ(b.from, next) << "seed " << kSeed << ", table " << n;
      std::size_t width = widths[0];
      for (std::size_t c = b.from; c < b.to; ++c) width += 2 + widths[c];
      EXPECT_LE(width, kReadableWidth) << "seed " << kSeed << ", table " << n;
      next = b.to;
    }
    EXPECT_EQ(next, std::max<std::size_t>(widths.size(), 1)) << "seed " << kSeed << ", table " << n;
  }
}

}  // namespace
}  // namespace hardpan::units
