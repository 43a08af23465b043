// SPDX-License-Identifier: Apache-2.0
// Tables of the report that are wider than a page.
#include "report/detail/page.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace hardpan::report::detail {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::size_t times(const std::string& page, const std::string& text) {
  std::size_t n = 0;
  for (std::size_t at = 0; (at = page.find(text, at)) != std::string::npos; at += text.size()) ++n;
  return n;
}

// 41 columns as a study of two parameters may have; every cell as long as "16.6 (12.1), traction".
Grid wide(std::size_t columns) {
  Grid g{.caption = "Sweep", .columns = {""}, .right = "r", .rows = {{"300 kg"}, {"400 kg"}}, .note = "Note of all blocks.", .in_blocks = true};
  for (std::size_t k = 0; k < columns; ++k) {
    g.columns.push_back("wide " + std::to_string(k + 1) + " mm");
    g.right += 'r';
    for (std::size_t i = 0; i < 2; ++i) g.rows[i].push_back("1" + std::to_string(100 * (i + 1) + k) + " (120.1), traction");
  }
  return g;
}

TEST(WideTables, AreToldInBlocksWithTheHeadsOfTheirRowsBeforeEach) {
  Page page;
  page.table(wide(41));
  page.table(Grid{.caption = "After", .columns = {"a", "b"}, .rows = {{"1", "2"}}});
  const std::string html = page.take();
  // Cells of 22 characters beside heads of 6: 6 + 4 (2 + 22) = 102 of 110, so four a block and eleven blocks.
  EXPECT_EQ(times(html, "<table"), 12u);
  EXPECT_EQ(times(html, ">300 kg</th>"), 11u);
  for (std::size_t k = 0; k < 41; ++k) {
    EXPECT_EQ(times(html, ">wide " + std::to_string(k + 1) + " mm</th>"), 1u) << k;
    EXPECT_EQ(times(html, ">1" + std::to_string(100 + k) + " (120.1), traction</td>"), 1u) << k;
    EXPECT_EQ(times(html, ">1" + std::to_string(200 + k) + " (120.1), traction</td>"), 1u) << k;
  }
  EXPECT_THAT(html, HasSubstr("<b>Table 1.</b> Sweep"));
  EXPECT_THAT(html, HasSubstr("<b>Table 1.</b> Block 11 of 11"));
  EXPECT_THAT(html, HasSubstr("<b>Table 2.</b> After"));   // a table in blocks is one
  EXPECT_EQ(times(html, "Note of all blocks."), 1u);
  EXPECT_EQ(times(html, "id=\"table-1\""), 1u);
  EXPECT_EQ(times(html, "id=\"table-1-2\""), 1u);
}

TEST(WideTables, StayWholeWhereTheyFit) {
  Page page;
  page.table(wide(4));
  const std::string html = page.take();
  EXPECT_EQ(times(html, "<table"), 1u);
  EXPECT_THAT(html, Not(HasSubstr("Block")));
}

}  // namespace
}  // namespace hardpan::report::detail
