// SPDX-License-Identifier: Apache-2.0
#include "io/csv_out.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "io/csv_table.hpp"

namespace hardpan::io {
namespace {

Table sample() {
  Table t{.name = "points", .title = "Plate tests", .columns = {{"point", ""}, {"pressure", "kPa"}, {"remark", ""}}};
  t.rows.push_back({std::string("A1"), 12.5, std::string("firm, \"dry\"")});
  t.rows.push_back({std::string("A2"), std::monostate{}, std::string("two\nlines")});
  t.rows.push_back({std::string(" A3"), std::nan(""), std::string()});
  return t;
}

TEST(CsvOut, FollowsRfc4180) {
  EXPECT_EQ(csv_text(sample()),
            "point,pressure [kPa],remark\r\nA1,12.5,\"firm, \"\"dry\"\"\"\r\nA2,,\"two\nlines\"\r\n\" A3\",not finite,\r\n");
}

TEST(CsvOut, IsReadBackByOurReader) {
  base::Problems problems;
  const auto back = read_csv_table_bytes(csv_text(sample()), "t.csv", {}, problems);
  ASSERT_TRUE(back);
  ASSERT_EQ(back->rows.size(), 3u);
  EXPECT_EQ(back->rows[0].cells[2], "firm, \"dry\"");
  EXPECT_EQ(back->rows[1].cells[2], "two\nlines");
}

TEST(CsvOut, ARowOfAnotherLengthIsAMistakeOfOurs) {
  Table t = sample();
  t.rows.push_back({1.0});
  EXPECT_THROW((void)csv_text(t), std::logic_error);
}

}  // namespace
}  // namespace hardpan::io
