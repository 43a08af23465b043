// SPDX-License-Identifier: Apache-2.0
#include "io/csv_layout.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace hardpan::io {
namespace {

using Cells = std::vector<std::string>;

std::string refusal(const std::string& bytes, const CsvGiven& given = {}) {
  base::Problems problems;
  const auto layout = sniff_csv_bytes(bytes, true, "a.csv", given, problems);
  EXPECT_EQ(!layout, problems.refused());
  return problems.refused() ? base::InputError(problems).what() : "";
}

CsvLayout layout_of(const std::string& bytes, const CsvGiven& given = {}) {
  base::Problems problems;
  const auto layout = sniff_csv_bytes(bytes, true, "a.csv", given, problems);
  EXPECT_TRUE(layout) << base::InputError(problems).what() << "\nin:\n" << bytes;
  return layout.value_or(CsvLayout{});
}

struct Case {
  const char* what;
  std::string bytes;
  CsvSeparator separator;
  char decimal;
  std::size_t columns, headers, comments, preamble, first_data_line;
};

// One row a layout that loggers, spreadsheets and people produce.
const std::vector<Case> kCases = {
    {"plain", "time,load\n0,1.5\n1,2.5\n", CsvSeparator::comma, '.', 2, 1, 0, 0, 2},
    {"semicolon and decimal comma", "time;load\n0,0;1,5\n0,1;2,5\n", CsvSeparator::semicolon, ',', 2, 1, 0, 0, 2},
    {"semicolon and point", "time;load\n0.0;1.5\n0.1;2.5\n", CsvSeparator::semicolon, '.', 2, 1, 0, 0, 2},
    {"tab", "time\tload\n0\t1.5\n", CsvSeparator::tab, '.', 2, 1, 0, 0, 2},
    {"bar", "time|load\n0|1.5\n", CsvSeparator::bar, '.', 2, 1, 0, 0, 2},
    {"blanks", "time  load\n0.0   1.5\n  0.1   2.5\n", CsvSeparator::blanks, '.', 2, 1, 0, 0, 2},
    {"blanks and decimal comma", "t p\n1,5 2,5\n3,5 4,5\n", CsvSeparator::blanks, ',', 2, 1, 0, 0, 2},
    {"comma and blanks around", "t, p\n1.5, 2.5\n3.5, 4.5\n", CsvSeparator::comma, '.', 2, 1, 0, 0, 2},
    {"one column", "pull\n12.5\n13.5\n", CsvSeparator::none, '.', 1, 1, 0, 0, 2},
    {"one column, decimal comma, heading without comma", "pull\n12,5\n13,7\n", CsvSeparator::none, ',', 1, 1, 0, 0, 2},
    {"three heading lines", "Time;Load;Depth\ns;kN;mm\nt;F1;z1\n0;1,25;2,5\n1;1,75;3,5\n", CsvSeparator::semicolon, ',', 3, 3, 0, 0, 4},
    {"no heading", "0;1.5\n1;2.5\n2;3.5\n", CsvSeparator::semicolon, '.', 2, 0, 0, 0, 1},
    {"comments above", "# field 3\n// operator B\n% wet\ntime;load\n0;1.5\n", CsvSeparator::semicolon, '.', 2, 1, 3, 0, 5},
    {"headings in the last comment", "# made by logger\n# time, load\n0,1.5\n1,2.5\n", CsvSeparator::comma, '.', 2, 1, 1, 0, 3},
    {"title line", "Plate test of 12 May\n\npoint;load;sinkage\nA;1.5;2\nA;2.5;4\n", CsvSeparator::semicolon, '.', 3, 1, 0, 1, 4},
    {"key and value lines above", "Logger;X7\nRate;100\nDate;2024-05-12\ntime;load;torque\n0;1.5;2\n1;2.5;3\n2;2.5;3\n3;2.5;3\n4;1.0;1\n", CsvSeparator::semicolon, '.', 3, 1, 0, 3, 5},
    {"trailing separators", "time;load;\n0;1.5;\n1;2.5;\n", CsvSeparator::semicolon, '.', 2, 1, 0, 0, 2},
    {"trailing separators in rows only", "time;load\n0;1.5;\n1;2.5;\n", CsvSeparator::semicolon, '.', 2, 1, 0, 0, 2},
    {"quoted cells", "\"point, a\",\"load\"\n\"A\",1.5\n\"B\",2.5\n", CsvSeparator::comma, '.', 2, 1, 0, 0, 2},
    {"quoted decimal commas", "\"t\",\"p\"\n\"0,5\",\"1,5\"\n\"1,5\",\"2,5\"\n", CsvSeparator::comma, ',', 2, 1, 0, 0, 2},
    {"quoted line end in a heading", "\"time\nin s\",load\n0,1.5\n1,2.5\n", CsvSeparator::comma, '.', 2, 1, 0, 0, 3},
    {"stated on the first line", "sep=;\na;b\n1,5;2\n", CsvSeparator::semicolon, ',', 2, 1, 0, 0, 3},
    {"CR line ends", "time;load\r0;1.5\r1;2.5\r", CsvSeparator::semicolon, '.', 2, 1, 0, 0, 2},
    {"text rows", "point,remark\nA,firm\nB,crust\n", CsvSeparator::comma, '.', 2, 1, 0, 0, 2},
    {"missing cells in the first row", "time;load;slip\n0;;\n1;2.5;0.1\n2;2.5;0.2\n", CsvSeparator::semicolon, '.', 3, 1, 0, 0, 2},
    {"a semicolon in every remark", "id,c,phi,remark\nA,1.5,30,dry; loose\nB,2.5,31,dry; firm\nC,3.5,32,wet; firm\n", CsvSeparator::comma, '.', 4, 1, 0, 0, 2},
    {"clock times", "time;load\n12:00:00;1.5\n12:00:01;2.5\n", CsvSeparator::semicolon, '.', 2, 1, 0, 0, 2},
    {"dates and blanks with commas", "time,load\n2024-05-12 12:00:00,1.5\n2024-05-12 12:00:01,2.5\n", CsvSeparator::comma, '.', 2, 1, 0, 0, 2},
    {"row labels with #", "test;load\n#1;1.5\n#2;2.5\n#3;3.5\n", CsvSeparator::semicolon, '.', 2, 1, 0, 0, 2},
    {"a heading that is the bare sign", "#;load;slip\n1;1.5;2\n2;2.5;3\n", CsvSeparator::semicolon, '.', 3, 1, 0, 0, 2},
    {"a unit that is the bare sign", "slip;load\n%;kN\n10;1.5\n20;2.5\n", CsvSeparator::semicolon, '.', 2, 2, 0, 0, 3},
    {"one slip of the pen", "t;p\n1.5;2.5\n1.5;2.5\n1.5;2.5\n1.5;2.5\n1.5;2.5\n1.5;2,5\n", CsvSeparator::semicolon, '.', 2, 1, 0, 0, 2},
    {"three decimals after a bare zero", "t;p\n0,125;2,250\n1,125;2,375\n", CsvSeparator::semicolon, ',', 2, 1, 0, 0, 2},
};

TEST(CsvLayout, IsFoundForEveryKindOfFile) {
  for (const Case& c : kCases) {
    SCOPED_TRACE(c.what);
    const CsvLayout l = layout_of(c.bytes);
    EXPECT_STREQ(name(l.separator), name(c.separator));
    EXPECT_EQ(l.decimal, c.decimal);
    EXPECT_EQ(l.columns, c.columns);
    EXPECT_EQ(l.headers.size(), c.headers);
    EXPECT_EQ(l.comments.size(), c.comments);
    EXPECT_EQ(l.preamble.size(), c.preamble);
    EXPECT_EQ(l.first_data_line, c.first_data_line);
    EXPECT_FALSE(l.reasons.empty());
    for (const Cells& h : l.headers) EXPECT_EQ(h.size(), c.columns);
  }
}

TEST(CsvLayout, IsTheSameWithCarriageReturnsAndAByteOrderMark) {
  for (const Case& c : kCases) {
    if (c.bytes.find('\r') != std::string::npos) continue;
    SCOPED_TRACE(c.what);
    std::string bytes = "\xEF\xBB\xBF";
    for (const char ch : c.bytes) bytes += ch == '\n' ? std::string("\r\n") : std::string(1, ch);
    const CsvLayout l = layout_of(bytes);
    EXPECT_TRUE(l.bom);
    EXPECT_STREQ(name(l.line_end), "CRLF");
    EXPECT_STREQ(name(l.separator), name(c.separator));
    EXPECT_EQ(l.decimal, c.decimal);
    EXPECT_EQ(l.columns, c.columns);
    EXPECT_EQ(l.headers.size(), c.headers);
    EXPECT_EQ(l.first_data_line, c.first_data_line);
  }
}

TEST(CsvLayout, KeepsTheHeadingsOfEveryLine) {
  const CsvLayout l = layout_of("\"Load, cell\" ;Depth\r\nkN;mm\r\n1,25;2\r\n1,75;3\r\n");
  ASSERT_EQ(l.headers.size(), 2u);
  EXPECT_EQ(l.headers[0], (Cells{"Load, cell", "Depth"}));
  EXPECT_EQ(l.headers[1], (Cells{"kN", "mm"}));
  EXPECT_EQ(l.header_line_numbers, (std::vector<std::size_t>{1, 2}));
  EXPECT_EQ(l.data_offset, std::string("\"Load, cell\" ;Depth\r\nkN;mm\r\n").size());
}

TEST(CsvLayout, StripsTheSignFromACommentedHeading) {
  const CsvLayout l = layout_of("# time; load [kN]\n0;1.5\n1;2.5\n");
  ASSERT_EQ(l.headers.size(), 1u);
  EXPECT_EQ(l.headers[0], (Cells{"time", "load [kN]"}));
}

TEST(CsvLayout, ReadsLatin1HeadingsAndSaysSo) {
  base::Problems problems;
  const auto l = sniff_csv_bytes("slope \xB0;p \xB5m\n1;2.5\n2;3.5\n", true, "a.csv", {}, problems);
  ASSERT_TRUE(l);
  EXPECT_EQ(l->headers[0], (Cells{"slope \xC2\xB0", "p \xC2\xB5m"}));
  EXPECT_STREQ(name(l->encoding), "Windows-1252");
  ASSERT_EQ(problems.list().size(), 1u);
  EXPECT_NE(problems.list()[0].text().find("byte 0xB0"), std::string::npos) << problems.list()[0].text();
}

struct Refused {
  const char* what;
  std::string bytes;
  const char* says;
};

TEST(CsvLayout, RefusesByName) {
  const std::vector<Refused> cases = {
      {"empty", "", "the file is empty"},
      {"blank lines", "\n \r\n\t\n", "blank lines only"},
      {"only a mark", "\xEF\xBB\xBF", "no data line"},
      {"headings only", "time;load\n", "no data line"},
      {"comments only", "# a\n# b\n", ""},
      {"UTF-16", std::string("\xFF\xFEt\0i\0", 6), "UTF-16"},
      {"NUL bytes", std::string("t;p\n1;2\n\0\0\0", 11), "a.csv:3: the file holds NUL bytes"},
      {"workbook", "PK\x03\x04....", "save the sheet as CSV"},
      {"two integers or a decimal comma", "1,5\n2,7\n3,9\n", "two columns of whole numbers or one column with decimal comma"},
      {"comma in both roles", "time,load\n0,5,1,5\n1,5,2,5\n", "both separator and decimal sign"},
      {"mixed decimal signs", "t;p\n1,5;2.5\n3.5;4,5\n", "mixed"},
      {"thousands or decimals", "t;p\n1,250;2,500\n1,750;3,500\n", "thousands"},
      {"more headings than cells", "a;b;c;d\n1;2;3\n1;2;3\n1;2;3\n1;2;3\n", "the heading line has 4 cells"},
      {"blanks inside headings", "load cell depth\n1.5 2.5\n3.5 4.5\n5.5 6.5\n7.5 8.5\n1.5 2.5\n", "one word"},
      {"semicolon or tab", "a;b\tc\n1;2\t3\n4;5\t6\n", "the separator is not clear"},
  };
  for (const Refused& c : cases) {
    const std::string said = refusal(c.bytes);
    EXPECT_FALSE(said.empty() && *c.says != '\0') << c.what;
    EXPECT_NE(said.find(c.says), std::string::npos) << c.what << ": " << said;
  }
}

TEST(CsvLayout, RefusesOneHugeLine) {
  const std::string said = refusal(std::string(3u << 20, '1'));
  EXPECT_NE(said.find("a.csv:1: the line is too long"), std::string::npos) << said;
}

TEST(CsvLayout, AStatedLayoutSettlesWhatIsRefusedOtherwise) {
  const CsvLayout two = layout_of("1,5\n2,7\n", {.separator = CsvSeparator::comma});
  EXPECT_EQ(two.columns, 2u);
  const CsvLayout one = layout_of("1,5\n2,7\n", {.separator = CsvSeparator::none, .decimal = ','});
  EXPECT_EQ(one.columns, 1u);
  EXPECT_EQ(one.decimal, ',');
  const CsvLayout decimal = layout_of("t;p\n1,250;2,500\n", {.decimal = ','});
  EXPECT_EQ(decimal.decimal, ',');
  // Depths as headings: numbers above numbers cannot be told from data.
  const std::string depths = "point;5;10;15\nA;320;410;500\nB;300;420;510\n";
  EXPECT_EQ(layout_of(depths).headers.size(), 0u);
  const CsvLayout stated = layout_of(depths, {.header_lines = 1});
  ASSERT_EQ(stated.headers.size(), 1u);
  EXPECT_EQ(stated.headers[0], (Cells{"point", "5", "10", "15"}));
  EXPECT_EQ(stated.first_data_line, 2u);
}

// BrOleg5/research-wheel-slippage, Apache-2.0; see tests/data/CREDITS.md.
TEST(CsvLayout, FindsTheThreeHeadingLinesOfARealLogger) {
  base::Problems problems;
  const auto l = sniff_csv(HARDPAN_SOURCE_DIR "/tests/data/lab_robot_slip_head.csv", {}, problems);
  ASSERT_TRUE(l) << base::InputError(problems).what();
  EXPECT_STREQ(name(l->separator), "semicolon");
  ASSERT_EQ(l->headers.size(), 3u);
  EXPECT_EQ(l->headers[0][0], "Time");
  EXPECT_EQ(l->headers[1][0], "ms");
  EXPECT_EQ(l->headers[2][0], "t");
  EXPECT_EQ(l->first_data_line, 4u);
}

TEST(CsvLayout, NamesAFileThatIsNotThere) {
  base::Problems problems;
  EXPECT_FALSE(sniff_csv("/nowhere/a.csv", {}, problems));
  EXPECT_STREQ(base::InputError(problems).what(),
               "/nowhere/a.csv: there is no such file; check the name and the folder; letter case counts");
}

}  // namespace
}  // namespace hardpan::io
