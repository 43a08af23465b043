// SPDX-License-Identifier: Apache-2.0
#include "io/csv_columns.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <bit>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <vector>

#include "io/csv_table.hpp"

namespace hardpan::io {
namespace {

class CsvColumnsTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("hardpan-csv-" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string write(const std::string& bytes) {
    const std::string path = (folder_ / "log.csv").string();
    std::ofstream(path, std::ios::binary) << bytes;
    return path;
  }
  CsvColumns read(const std::string& bytes, const CsvReadOptions& options = {}, const CsvGiven& given = {}) {
    path_ = write(bytes);
    auto found = sniff_csv(path_, given, problems_);
    EXPECT_TRUE(found) << base::InputError(problems_).what();
    if (!found) return {};
    layout_ = *found;
    wanted_.clear();
    for (std::size_t c = 0; c < layout_.columns; ++c) wanted_.push_back({c});
    return read_csv_columns(path_, layout_, wanted_, options, problems_);
  }
  std::filesystem::path folder_;
  std::string path_;
  CsvLayout layout_;
  std::vector<WantedColumn> wanted_;
  base::Problems problems_;
};

std::string states(const CsvColumn& column) {
  std::string out;
  for (std::size_t i = 0; i < column.values.size(); ++i) out += "nmxfra"[static_cast<int>(column.status_of(i))];
  return out;
}

bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::isnan(a[i]) != std::isnan(b[i])) return false;
    if (!std::isnan(a[i]) && std::bit_cast<std::uint64_t>(a[i]) != std::bit_cast<std::uint64_t>(b[i])) return false;
  }
  return true;
}

TEST_F(CsvColumnsTest, ReadsNumbersWithTheirLines) {
  const CsvColumns d = read("time;load\ns;kN\n0,0;+1,5\n\n0,1; -2,5e1 \n# pause\n0,2;3\n");
  ASSERT_EQ(d.summary.rows, 3u);
  EXPECT_TRUE(d.summary.complete);
  EXPECT_EQ(d.columns[0].values, (std::vector<double>{0, 0.1, 0.2}));
  EXPECT_EQ(d.columns[1].values, (std::vector<double>{1.5, -25, 3}));
  EXPECT_TRUE(d.columns[0].status.empty());
  EXPECT_EQ(d.lines.line_of(0), 3u);
  EXPECT_EQ(d.lines.line_of(1), 5u);
  EXPECT_EQ(d.lines.line_of(2), 7u);
  EXPECT_EQ(d.summary.blank_lines, 1u);
  EXPECT_EQ(d.summary.comment_lines, 1u);
  EXPECT_EQ(d.summary.lines, 7u);
  EXPECT_FALSE(d.summary.last_line_unterminated);
}

TEST_F(CsvColumnsTest, NamesEveryCellThatIsNoNumberWithItsLine) {
  const CsvColumns d = read(
      "t,p\n0,1.5\n1,\n2,nan\n3,broken\n4,1e999\n5,-1.#IND\n6,#N/A\n7,\"2.5\"\n8\n9,1,2\n10,3.5,\n11,4.5");
  EXPECT_EQ(d.summary.rows, 12u);
  EXPECT_EQ(states(d.columns[1]), "nmfxrffnaann");
  EXPECT_EQ(states(d.columns[0]), "nnnnnnnnaann");
  EXPECT_EQ(d.columns[1].values[7], 2.5);
  EXPECT_EQ(d.summary.cells[1][static_cast<std::size_t>(CellStatus::non_finite)], 3u);
  EXPECT_EQ(d.summary.cells[1][static_cast<std::size_t>(CellStatus::number)], 4u);
  EXPECT_EQ(d.summary.short_rows, 1u);
  EXPECT_EQ(d.summary.long_rows, 1u);
  EXPECT_TRUE(d.summary.last_line_unterminated);
  report_csv_faults("log.csv", layout_, wanted_, d.summary, problems_);
  std::vector<std::string> said;
  for (const auto& p : problems_.list()) said.push_back(p.text());
  const std::vector<std::string> expected = {
      "log.csv:10: a row with too few cells is set aside, line 10; accepted: 2 cells a row",
      "log.csv:11: a row with too many cells is set aside, line 11; accepted: 2 cells a row",
      "log.csv:3: column 2 (p): cell is missing, line 3",
      "log.csv:5: column 2 (p): cell is not a number, line 5 (found \"broken\")",
      "log.csv:4: column 2 (p): cell is not finite, lines 4, 7, 8 (found \"nan\") [3 times]",
      "log.csv:6: column 2 (p): cell is out of range, line 6 (found \"1e999\")",
      "log.csv:13: the file ends without a line end: its last row may be cut"};
  EXPECT_EQ(said, expected);
}

TEST_F(CsvColumnsTest, ReadsClockAndCalendarColumns) {
  path_ = write("when;clock;p\n2024-02-29 12:30:15,25;12:30;1,5\n2024-02-29 12:30:16,25;x;2,5\n");
  const auto layout = sniff_csv(path_, {}, problems_);
  ASSERT_TRUE(layout);
  const std::vector<WantedColumn> wanted = {{2}, {1, CellKind::clock}, {0, CellKind::date_time}, {2}};
  const CsvColumns d = read_csv_columns(path_, *layout, wanted, {}, problems_);
  EXPECT_EQ(d.columns[2].values, (std::vector<double>{1709209815.25, 1709209816.25}));
  EXPECT_EQ(d.columns[1].values[0], 45000.0);
  EXPECT_EQ(states(d.columns[1]), "nx");
  EXPECT_EQ(d.columns[0].values, (std::vector<double>{1.5, 2.5}));
  EXPECT_EQ(d.columns[3].values, d.columns[0].values) << "a column wanted twice is read twice";
}

// A file with every kind of oddness, from a fixed seed.
std::string odd_file(std::uint64_t seed, const char* line_end, char separator, char decimal, std::size_t rows) {
  std::mt19937_64 random(seed);
  const auto number = [&] {
    std::string s = std::to_string(static_cast<int>(random() % 2000) - 1000) + "." + std::to_string(random() % 1000);
    for (char& c : s) c = c == '.' ? decimal : c;
    return s;
  };
  std::string out = std::string("a") + separator + "b" + separator + "c" + line_end;
  for (std::size_t i = 0; i < rows; ++i) {
    std::string cells[3] = {number(), number(), number()};
    const auto dice = random() % 40;
    if (i > 10 && dice == 0) out += line_end;
    if (i > 10 && dice == 1) out += std::string("# \"note\" with ; and ,") + line_end;
    if (i > 10 && dice == 2) cells[1] = "nan";
    if (i > 10 && dice == 3) cells[2] = separator == '\t' ? "\"x\ty\"" : std::string("\"x") + separator + "y" + line_end + "z\"";
    if (i > 10 && dice == 4) cells[0] = "\"" + cells[0] + "\"";
    if (i > 10 && dice == 5) cells[0] = "8\" plate";
    if (i > 10 && dice == 6) cells[1] = "\"";
    if (i > 10 && dice == 7) cells[1].clear();
    if (i > 10 && dice == 8) cells[2] = "said \"\"";
    if (i > 10 && dice == 9) cells[2] = "\"two \"\" quotes \"\"\"";
    out += cells[0] + separator + cells[1];
    if (dice != 10 || i < 10) out += separator + cells[2];
    if (dice == 11 && i > 10) out += separator;
    if (dice == 12 && i > 10) out += std::string(1, separator) + "more";
    out += line_end;
  }
  return out;
}

// The plain reader of hand sheets is an independent way to the same cells.
TEST_F(CsvColumnsTest, AgreesWithThePlainReaderOnOddFiles) {
  for (std::uint64_t seed = 1; seed <= 24; ++seed) {
    const char* line_end = seed % 3 == 0 ? "\r" : seed % 3 == 1 ? "\n" : "\r\n";
    const bool comma = seed % 2 == 0;
    const std::string bytes = odd_file(seed, line_end, comma ? ';' : ',', comma ? ',' : '.', 400);
    const CsvColumns d = read(bytes, {.threads = 2, .piece_bytes = 700});
    base::Problems ignored;
    const auto table = read_csv_table_bytes(bytes, "log.csv", {}, ignored);
    ASSERT_TRUE(table);
    ASSERT_EQ(table->rows.size(), d.summary.rows) << "seed " << seed;
    for (std::size_t r = 0; r < d.summary.rows; ++r) {
      const CsvRow& row = table->rows[r];
      ASSERT_EQ(row.line, d.lines.line_of(r)) << "seed " << seed << " row " << r;
      for (std::size_t c = 0; c < 3; ++c) {
        const CellStatus status = d.columns[c].status_of(r);
        if (row.ragged) {
          ASSERT_EQ(status, CellStatus::set_aside) << "seed " << seed << " line " << row.line;
          continue;
        }
        const NumberCell cell = parse_number_cell(row.cells[c], layout_.decimal);
        ASSERT_EQ(status, cell.status) << "seed " << seed << " line " << row.line << " \"" << row.cells[c] << '"';
        if (status == CellStatus::number) { ASSERT_EQ(cell.value, d.columns[c].values[r]); }
      }
    }
  }
}

TEST_F(CsvColumnsTest, GivesTheSameForEveryThreadCountPieceAndBlockSize) {
  for (const char separator : {';', '\t'}) {
    const std::string bytes = odd_file(77, "\n", separator, ',', 3000);
    const CsvColumns whole = read(bytes, {.threads = 1});
    EXPECT_GT(whole.summary.long_rows, 0u);
    EXPECT_GT(whole.summary.comment_lines, 0u);
    for (const std::size_t threads : {1u, 2u, 3u, 7u}) {
      for (const std::size_t piece : {64u, 101u, 1000u, 65536u}) {
        const CsvReadOptions options{.threads = threads, .piece_bytes = piece};
        const CsvColumns other = read_csv_columns(path_, layout_, wanted_, options, problems_);
        for (std::size_t c = 0; c < 3; ++c) {
          ASSERT_TRUE(same_bits(other.columns[c].values, whole.columns[c].values)) << threads << " threads, pieces of " << piece;
          ASSERT_EQ(other.columns[c].status, whole.columns[c].status);
          ASSERT_EQ(other.summary.cells[c], whole.summary.cells[c]);
        }
        ASSERT_EQ(other.summary.lines, whole.summary.lines);
        ASSERT_EQ(other.summary.comment_examples, whole.summary.comment_examples);
        ASSERT_EQ(other.summary.row_examples.size(), whole.summary.row_examples.size());
        for (std::size_t i = 0; i < other.summary.row_examples.size(); ++i) {
          ASSERT_EQ(other.summary.row_examples[i].line, whole.summary.row_examples[i].line);
        }
        std::size_t listed = 0;
        for (const auto& a : other.summary.cell_examples) {
          for (const auto& b : whole.summary.cell_examples) listed += a.line == b.line && a.wanted == b.wanted && a.text == b.text;
        }
        ASSERT_EQ(listed, whole.summary.cell_examples.size());
      }
      for (const std::size_t rows : {1u, 7u, 1000u, 100000u}) {
        std::vector<CsvColumn> joined(3);
        LineMap lines;
        std::size_t next = 0;
        const CsvSummary s = for_csv_blocks(path_, layout_, wanted_, rows, {.threads = threads, .piece_bytes = 500}, problems_, [&](const CsvBlock& b) {
          ASSERT_EQ(b.first_row, next);
          ASSERT_TRUE(b.rows == rows || next + b.rows == whole.summary.rows);
          for (std::size_t c = 0; c < 3; ++c) {
            ASSERT_EQ(b.columns[c].values.size(), b.rows);
            for (std::size_t i = 0; i < b.rows; ++i) {
              joined[c].values.push_back(b.columns[c].values[i]);
              joined[c].status.push_back(b.columns[c].status_of(i));
            }
          }
          for (std::size_t i = 0; i < b.rows; ++i) ASSERT_EQ(b.lines.line_of(next + i), whole.lines.line_of(next + i));
          next += b.rows;
        });
        ASSERT_EQ(next, whole.summary.rows);
        ASSERT_TRUE(s.complete);
        for (std::size_t c = 0; c < 3; ++c) {
          ASSERT_TRUE(same_bits(joined[c].values, whole.columns[c].values));
          ASSERT_EQ(joined[c].status, whole.columns[c].status);
        }
      }
    }
  }
}

TEST_F(CsvColumnsTest, ReadsBlanksAsSeparatorTheSameWay) {
  const CsvColumns d = read("t  p\n  0.5   1.5  \n1.5\t2.5\n 2.5 nan\n3.5\n4.5 5.5 6.5\n5.5 1.5\n6.5 1.5\n7.5 1.5\n8.5 1.5\n9.5 2.5\n1.5 2.5\n");
  EXPECT_EQ(states(d.columns[1]), "nnfaannnnnn");
  EXPECT_EQ(d.columns[0].values[1], 1.5);
  EXPECT_EQ(d.columns[1].values[1], 2.5);
}

TEST_F(CsvColumnsTest, SetsRowsWithNulBytesAside) {
  std::string head = "t;p\n";
  for (int i = 0; i < 40000; ++i) head += std::to_string(i) + ";1.5\n";  // beyond what the layout search reads
  ASSERT_GT(head.size(), 256u << 10);
  while (head.size() < (1u << 20) + 100) head += "1;1.5\n";
  const std::string bytes = head + "7;2.5\n" + std::string(3u << 20, '\0') + "8;3.5\n9;4.5\n";
  for (const std::size_t piece : {std::size_t{65536}, std::size_t{8} << 20}) {
    const CsvColumns d = read(bytes, {.threads = 2, .piece_bytes = piece});
    EXPECT_TRUE(d.summary.complete);
    EXPECT_EQ(d.summary.nul_rows, 1u) << "the row behind the NUL bytes starts among them";
    EXPECT_EQ(d.columns[1].values.back(), 4.5);
    const auto n = d.summary.rows;
    EXPECT_EQ(d.columns[1].status_of(n - 2), CellStatus::set_aside);
    EXPECT_EQ(d.columns[1].values[n - 3], 2.5);
  }
}

TEST_F(CsvColumnsTest, RefusesALineWithoutEndWithItsNumber) {
  const std::string bytes = "t;p\n1;2.5\n2;3.5\n" + std::string(3u << 20, '1') + "\n4;5.5\n";
  for (const std::size_t piece : {std::size_t{65536}, std::size_t{16} << 20}) {
    problems_ = {};
    const CsvColumns d = read(bytes, {.threads = 2, .piece_bytes = piece});
    EXPECT_FALSE(d.summary.complete);
    EXPECT_EQ(d.summary.rows, 2u);
    ASSERT_EQ(problems_.list().size(), 1u);
    EXPECT_EQ(problems_.list()[0].place.line, 4u) << problems_.list()[0].text();
  }
}

TEST_F(CsvColumnsTest, RefusesAnUnclosedQuoteWithItsLine) {
  std::string bytes = "t;p\n1;2.5\n2;3.5\n3;\"open\n";
  for (int i = 0; i < 300000; ++i) bytes += "4;5.5\n";
  problems_ = {};
  path_ = write(bytes);
  const auto layout = sniff_csv(path_, {.separator = CsvSeparator::semicolon, .decimal = '.', .header_lines = 1}, problems_);
  ASSERT_TRUE(layout);
  const CsvColumns d = read_csv_columns(path_, *layout, {{0}, {1}}, {.threads = 2}, problems_);
  EXPECT_FALSE(d.summary.complete);
  EXPECT_EQ(d.summary.rows, 2u);
  ASSERT_EQ(problems_.list().size(), 1u);
  EXPECT_EQ(problems_.list()[0].place.line, 4u) << problems_.list()[0].text();
}

// Used to end the program: the very first piece was given up before any column was made.
TEST_F(CsvColumnsTest, RefusesAQuoteThatOpensInTheFirstRowAndIsNeverClosed) {
  std::string bytes = "t;p\n1;\"open\n";
  for (int i = 0; i < 300000; ++i) bytes += "4;5.5\n";
  path_ = write(bytes);
  const CsvLayout layout{.separator = CsvSeparator::semicolon, .columns = 2, .first_data_line = 2, .data_offset = 4};
  for (const std::size_t threads : {1u, 2u}) {
    problems_ = {};
    const CsvColumns d = read_csv_columns(path_, layout, {{0}, {1}}, {.threads = threads, .piece_bytes = 65536}, problems_);
    EXPECT_FALSE(d.summary.complete);
    EXPECT_EQ(d.summary.rows, 0u);
    ASSERT_EQ(problems_.list().size(), 1u);
    EXPECT_EQ(problems_.list()[0].place.line, 2u) << problems_.list()[0].text();
  }
}

TEST_F(CsvColumnsTest, RefusesAColumnThatIsNotThere) {
  (void)read("t;p\n1;2.5\n");
  const CsvColumns d = read_csv_columns(path_, layout_, {{2}}, {}, problems_);
  EXPECT_FALSE(d.summary.complete);
  EXPECT_EQ(std::string(base::InputError(problems_).what()), path_ + ": there is no column 3; accepted: 1 to 2");
}

TEST_F(CsvColumnsTest, StopsWhenAsked) {
  std::string bytes = "t;p\n";
  for (int i = 0; i < 20000; ++i) bytes += "4;5.5\n";
  (void)read(bytes);
  std::stop_source source;
  std::size_t blocks = 0;
  const CsvSummary s = for_csv_blocks(path_, layout_, wanted_, 100, {.threads = 3, .piece_bytes = 1000, .stop = source.get_token()},
                                      problems_, [&](const CsvBlock&) {
    if (++blocks == 3) source.request_stop();
  });
  EXPECT_FALSE(s.complete);
  EXPECT_LT(s.rows, 2000u);
}

TEST_F(CsvColumnsTest, RethrowsWhatTheCallbackThrows) {
  std::string bytes = "t;p\n";
  for (int i = 0; i < 20000; ++i) bytes += "4;5.5\n";
  (void)read(bytes);
  EXPECT_THROW(for_csv_blocks(path_, layout_, wanted_, 100, {.threads = 3, .piece_bytes = 1000}, problems_,
                              [&](const CsvBlock& b) { if (b.first_row > 500) throw std::runtime_error("full"); }),
               std::runtime_error);
}

// BrOleg5/research-wheel-slippage, Apache-2.0. Sums by awk over the copied lines:
// awk -F';' 'NR>3 {t+=$1; n++} END {print n, t}' lab_robot_slip_head.csv
TEST_F(CsvColumnsTest, ReadsARealLoggerFile) {
  const std::string path = HARDPAN_SOURCE_DIR "/tests/data/lab_robot_slip_head.csv";
  const auto layout = sniff_csv(path, {}, problems_);
  ASSERT_TRUE(layout);
  const CsvColumns d = read_csv_columns(path, *layout, {{0}}, {}, problems_);
  double sum = 0;
  for (const double v : d.columns[0].values) sum += v;
  EXPECT_EQ(d.summary.rows, 37u);
  EXPECT_EQ(d.summary.cells[0][0], 37u);
  EXPECT_DOUBLE_EQ(sum, 20445.0023);
}

}  // namespace
}  // namespace hardpan::io
