// SPDX-License-Identifier: Apache-2.0
#include "io/csv_number.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>

#include "io/detail/decimal.hpp"

namespace hardpan::io {
namespace {

struct Row {
  const char* text;
  char decimal;
  CellStatus status;
  double value;
};

TEST(CsvNumber, NamesEveryCellThatIsNoNumber) {
  const double inf = HUGE_VAL;
  const Row rows[] = {
      {"12.5", '.', CellStatus::number, 12.5},
      {" +12,5 ", ',', CellStatus::number, 12.5},
      {"-.5", '.', CellStatus::number, -0.5},
      {"5.", '.', CellStatus::number, 5},
      {"1e3", '.', CellStatus::number, 1000},
      {"1,5E-2", ',', CellStatus::number, 0.015},
      {"\xE2\x88\x92" "3,25", ',', CellStatus::number, -3.25},   // U+2212 minus
      {"\xC2\xA0" "7\xC2\xA0", '.', CellStatus::number, 7},      // no-break spaces
      {"4.9406564584124654e-324", '.', CellStatus::number, 4.9406564584124654e-324},  // smallest denormal
      {"1.7976931348623157e308", '.', CellStatus::number, 1.7976931348623157e308},
      {"", '.', CellStatus::missing, inf},
      {"   ", '.', CellStatus::missing, inf},
      {"1,5", '.', CellStatus::not_a_number, inf},
      {"1.5", ',', CellStatus::not_a_number, inf},
      {"1,234.5", '.', CellStatus::not_a_number, inf},
      {"1.2.3", '.', CellStatus::not_a_number, inf},
      {"0x1F", '.', CellStatus::not_a_number, inf},
      {"12 kPa", '.', CellStatus::not_a_number, inf},
      {"1 000", '.', CellStatus::not_a_number, inf},
      {"-", '.', CellStatus::not_a_number, inf},
      {"--5", '.', CellStatus::not_a_number, inf},
      {"1e", '.', CellStatus::not_a_number, inf},
      {"e5", '.', CellStatus::not_a_number, inf},
      {".", '.', CellStatus::not_a_number, inf},
      {"1d5", '.', CellStatus::not_a_number, inf},
      {"nano", '.', CellStatus::not_a_number, inf},
      {"NaN", '.', CellStatus::non_finite, inf},
      {"-nan(ind)", '.', CellStatus::non_finite, inf},
      {"-1.#IND", '.', CellStatus::non_finite, inf},
      {"1.#INF00", '.', CellStatus::non_finite, inf},
      {"1,#QNAN0", ',', CellStatus::non_finite, inf},
      {"#N/A", '.', CellStatus::non_finite, inf},
      {"#DIV/0!", '.', CellStatus::non_finite, inf},
      {"Infinity", '.', CellStatus::non_finite, inf},
      {"n/a", '.', CellStatus::non_finite, inf},
      {"1e400", '.', CellStatus::out_of_range, inf},
      {"-1e400", '.', CellStatus::out_of_range, inf},
      {"1e-400", '.', CellStatus::out_of_range, inf},
      {"0e-400", '.', CellStatus::number, 0},
  };
  for (const Row& row : rows) {
    const NumberCell cell = parse_number_cell(row.text, row.decimal);
    EXPECT_EQ(cell.status, row.status) << '"' << row.text << "\": " << name(cell.status);
    if (row.status == CellStatus::number) EXPECT_EQ(cell.value, row.value) << row.text;
    else EXPECT_TRUE(std::isnan(cell.value)) << row.text;
  }
}

TEST(CsvNumber, ReadsADenormalAndALongMantissaExactly) {
  const std::string many_digits = "0." + std::string(300, '0') + "123456789012345678901234567890e305";
  EXPECT_EQ(parse_number_cell(many_digits).value, std::strtod(many_digits.c_str(), nullptr));
  EXPECT_EQ(parse_number_cell("5e-324").value, 4.9406564584124654e-324);
}

// The reference is the C library's strtod, an independent reader that rounds to nearest.
TEST(CsvNumber, FastAndPlainReadersGiveTheBitsOfStrtod) {
  std::mt19937_64 random(20240607);
  char text[64];
  std::size_t fast_hits = 0;
  for (int i = 0; i < 300000; ++i) {
    const int form = static_cast<int>(random() % 5);
    if (form == 0) std::snprintf(text, sizeof text, "%.17g", std::bit_cast<double>(random()));
    else if (form == 1) std::snprintf(text, sizeof text, "%.*f", static_cast<int>(random() % 10), static_cast<double>(static_cast<std::int64_t>(random())) / 1e12);
    else if (form == 2) std::snprintf(text, sizeof text, "%llue%d", static_cast<unsigned long long>(random() % 100000000000000000u), static_cast<int>(random() % 60) - 30);
    else if (form == 3) std::snprintf(text, sizeof text, "%d.%03d", static_cast<int>(random() % 100000), static_cast<int>(random() % 1000));
    else std::snprintf(text, sizeof text, "%.*e", static_cast<int>(random() % 20), std::ldexp(static_cast<double>(random()), static_cast<int>(random() % 200) - 160));
    const double expected = std::strtod(text, nullptr);
    const NumberCell cell = parse_number_cell(text);
    if (!std::isfinite(expected)) {
      EXPECT_NE(cell.status, CellStatus::number) << text;
      continue;
    }
    ASSERT_EQ(cell.status, CellStatus::number) << text;
    ASSERT_EQ(std::bit_cast<std::uint64_t>(cell.value), std::bit_cast<std::uint64_t>(expected)) << text;
    double fast = 0;
    std::string line = std::string(text) + "\n";
    if (const char* end = detail::fast_decimal(line.data(), '.', fast)) {
      ++fast_hits;
      ASSERT_EQ(end, line.data() + line.size() - 1) << text;
      ASSERT_EQ(std::bit_cast<std::uint64_t>(fast), std::bit_cast<std::uint64_t>(expected)) << text;
    }
  }
  EXPECT_GT(fast_hits, 100000u);
}

// Seconds after 1970 from GNU date: date -u -d '2024-02-29 12:30:15.25 UTC' +%s.%N, and so on.
TEST(CsvNumber, ReadsClockAndCalendar) {
  EXPECT_EQ(parse_clock_cell("12:30").value, 45000.0);
  EXPECT_EQ(parse_clock_cell("00:00:01.25").value, 1.25);
  EXPECT_EQ(parse_clock_cell("7:05:00,5", ',').value, 25500.5);
  EXPECT_EQ(parse_date_time_cell("2024-02-29 12:30:15.25").value, 1709209815.25);
  EXPECT_EQ(parse_date_time_cell("2024-02-29T14:30:15.25+02:00").value, 1709209815.25);
  EXPECT_EQ(parse_date_time_cell("2024-02-29T12:30:15.25Z").value, 1709209815.25);
  EXPECT_EQ(parse_date_time_cell("29.02.2024 12:30:15.25").value, 1709209815.25);
  EXPECT_EQ(parse_date_time_cell("1970-01-01").value, 0.0);
  EXPECT_EQ(parse_date_time_cell("1969-12-31 23:59:59").value, -1.0);
  EXPECT_EQ(parse_date_time_cell("2100-03-01").value, 4107542400.0);  // 2100 is no leap year
  for (const char* bad : {"24:00", "12:60", "12:3", "12:30:60", "12.30", "12:30pm", "x"}) {
    EXPECT_EQ(parse_clock_cell(bad).status, CellStatus::not_a_number) << bad;
  }
  for (const char* bad : {"2023-02-29", "2024-13-01", "03/04/2024", "2024-02-29 25:00", "2024-02-29 12:00 ", "24-02-29"}) {
    const auto status = parse_date_time_cell(bad).status;
    EXPECT_EQ(status, std::string(bad).ends_with(' ') ? CellStatus::number : CellStatus::not_a_number) << bad;
  }
  EXPECT_EQ(parse_date_time_cell("").status, CellStatus::missing);
}

}  // namespace
}  // namespace hardpan::io
