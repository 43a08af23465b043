// SPDX-License-Identifier: Apache-2.0
#include "io/csv_table.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace hardpan::io {
namespace {

using Cells = std::vector<std::string>;

struct Read {
  std::optional<CsvTable> table;
  base::Problems problems;
};

Read read(const std::string& bytes, const CsvTableOptions& options = {}) {
  Read r;
  r.table = read_csv_table_bytes(bytes, "sheet.csv", options, r.problems);
  return r;
}

TEST(CsvTable, KeepsEveryRowWithItsLine) {
  const Read r = read("point;load [kN];remark\nA;1,5;\n\n# a pause\nB;2,5;\"crust; then\nsoft\"\nC;3,5;\"said \"\"no\"\"\"\n");
  ASSERT_TRUE(r.table);
  ASSERT_EQ(r.table->rows.size(), 3u);
  EXPECT_EQ(r.table->rows[0].cells, (Cells{"A", "1,5", ""}));
  EXPECT_EQ(r.table->rows[0].line, 2u);
  EXPECT_EQ(r.table->rows[1].cells, (Cells{"B", "2,5", "crust; then\nsoft"}));
  EXPECT_EQ(r.table->rows[1].line, 5u);
  EXPECT_EQ(r.table->rows[2].cells, (Cells{"C", "3,5", "said \"no\""}));
  EXPECT_EQ(r.table->rows[2].line, 7u);  // the quoted cell took two lines
  EXPECT_EQ(r.table->blank_lines, 1u);
  EXPECT_EQ(r.table->comment_lines, 1u);
  EXPECT_TRUE(r.problems.list().empty());
}

TEST(CsvTable, ReportsRaggedRowsWithTheirLine) {
  const Read r = read("a,b,c\n1,2.5,3\n1,2.5\n1,2.5,3,,\n1,2.5,3,4\n1,2.5,3\n1,2.5,3\n1,2.5,3\n");
  ASSERT_TRUE(r.table);
  ASSERT_EQ(r.table->rows.size(), 7u);
  EXPECT_FALSE(r.table->rows[2].ragged) << "blank cells beyond the last column part nothing";
  EXPECT_EQ(r.table->rows[2].cells.size(), 3u);
  EXPECT_TRUE(r.table->rows[1].ragged);
  EXPECT_TRUE(r.table->rows[3].ragged);
  ASSERT_EQ(r.problems.list().size(), 2u);
  EXPECT_EQ(r.problems.list()[0].text(), "sheet.csv:3: the row has 2 cells; accepted: 3");
  EXPECT_EQ(r.problems.list()[1].text(), "sheet.csv:5: the row has 4 cells; accepted: 3");
}

TEST(CsvTable, TakesInchMarksAndDittoMarksAsText) {
  const Read r = read("plate;point;load\n8\" plate;A;1.5\n\";A;2.5\n\";B;3.5\n\"12\"\" plate\";B;4.5\n");
  ASSERT_TRUE(r.table) << base::InputError(r.problems).what();
  ASSERT_EQ(r.table->rows.size(), 4u);
  EXPECT_EQ(r.table->rows[0].cells[0], "8\" plate");
  EXPECT_EQ(r.table->rows[1].cells, (Cells{"\"", "A", "2.5"}));
  EXPECT_EQ(r.table->rows[3].cells[0], "12\" plate");
}

TEST(CsvTable, RefusesAQuoteThatIsNeverClosed) {
  const Read r = read("a;b\n1;2.5\n2;\"soft\n3;3.5\n4;1.5\n5;1.5\n6;1.5\n");
  EXPECT_FALSE(r.table);
  EXPECT_STREQ(base::InputError(r.problems).what(),
               "sheet.csv:3: a quote opens in this line and is never closed; close it, or remove it if it is an "
               "inch mark or a ditto mark");
}

TEST(CsvTable, RemarksOnTextBehindAClosingQuote) {
  const Read r = read("a;b\n\"x\" y;2.5\nz;3.5\n");
  ASSERT_TRUE(r.table);
  EXPECT_EQ(r.table->rows[0].cells[0], "xy");
  ASSERT_EQ(r.problems.list().size(), 1u);
  EXPECT_EQ(r.problems.list()[0].place.line, 2u);
}

TEST(CsvTable, GivesUtf8ForLatin1Cells) {
  const Read r = read("a;b\nsch\xF6n;2.5\n\x80 5;3.5\n");
  ASSERT_TRUE(r.table);
  EXPECT_EQ(r.table->rows[0].cells[0], "sch\xC3\xB6n");
  EXPECT_EQ(r.table->rows[1].cells[0], "\xE2\x82\xAC 5");  // 0x80 is the euro sign in Windows-1252
}

TEST(CsvTable, RefusesAFileThatIsTooLargeForASheet) {
  base::Problems problems;
  EXPECT_FALSE(read_csv_table(HARDPAN_SOURCE_DIR "/tests/data/lab_robot_slip_head.csv", {.max_bytes = 100}, problems));
  EXPECT_NE(std::string(base::InputError(problems).what()).find("too long"), std::string::npos);
}

TEST(CsvTable, ReadsEveryLineEnd) {
  const Read r = read("a;b\r\n1;1.5\r2;2.5\n3;3.5");
  ASSERT_TRUE(r.table);
  ASSERT_EQ(r.table->rows.size(), 3u);
  EXPECT_EQ(r.table->rows[2].line, 4u);
  EXPECT_STREQ(name(r.table->layout.line_end), "mixed");
}

}  // namespace
}  // namespace hardpan::io
