// SPDX-License-Identifier: Apache-2.0
#include "units/number_text.hpp"

#include <gtest/gtest.h>

#include <ostream>

namespace hardpan::units {
namespace {

constexpr auto kPoint = DecimalSign::point;
constexpr auto kComma = DecimalSign::comma;
constexpr auto kEither = DecimalSign::either;

struct Cell {
  const char* text;
  DecimalSign sign;
  double value;
};
void PrintTo(const Cell& row, std::ostream* out) { *out << '"' << row.text << '"'; }

class CellWithANumber : public testing::TestWithParam<Cell> {};
TEST_P(CellWithANumber, IsReadExactly) {
  const NumberText number = parse_number(GetParam().text, GetParam().sign);
  ASSERT_TRUE(number.is_number()) << number.error;
  EXPECT_EQ(number.value, GetParam().value);  // the nearest double of the decimal or dyadic number
}
INSTANTIATE_TEST_SUITE_P(
    NumberText, CellWithANumber,
    testing::Values(Cell{"12", kEither, 12}, Cell{" 12 ", kPoint, 12}, Cell{"3 1/4", kEither, 3.25}, Cell{"3-1/4", kEither, 3.25},
                    Cell{"3/8", kPoint, 0.375}, Cell{"-3 1/4", kEither, -3.25}, Cell{"1 63/64", kEither, 1.984375},
                    Cell{"\u00bd", kEither, 0.5}, Cell{"2\u00be", kEither, 2.75}, Cell{"12.5", kPoint, 12.5}, Cell{"12,5", kComma, 12.5},
                    Cell{"12,5", kEither, 12.5}, Cell{"0,125", kEither, 0.125}, Cell{"0,125", kComma, 0.125},
                    Cell{"1,250", kComma, 1.25}, Cell{"1.250", kPoint, 1.25}, Cell{"1.250", kEither, 1.25},
                    Cell{"12,50", kEither, 12.5}, Cell{"1234,567", kEither, 1234.567}, Cell{".5", kPoint, 0.5}, Cell{"-.5", kPoint, -0.5},
                    Cell{",5", kComma, 0.5}, Cell{"5.", kPoint, 5}, Cell{"+7", kPoint, 7}, Cell{"\u22127.25", kPoint, -7.25},
                    Cell{"1e3", kPoint, 1000}, Cell{"1.5E-02", kPoint, 0.015}, Cell{"1,5E+02", kComma, 150}, Cell{"-0", kPoint, 0},
                    Cell{"9007199254740993", kPoint, 9007199254740992.0}, Cell{"1e-320", kPoint, 1e-320}));

struct BadCell {
  const char* text;
  DecimalSign sign;
  const char* error_has;
};
void PrintTo(const BadCell& row, std::ostream* out) { *out << '"' << row.text << '"'; }

class CellThatMayMeanTwoThings : public testing::TestWithParam<BadCell> {};
TEST_P(CellThatMayMeanTwoThings, IsRefusedWithARemedy) {
  const NumberText number = parse_number(GetParam().text, GetParam().sign);
  EXPECT_EQ(number.kind, NumberKind::refused) << number.value;
  EXPECT_NE(number.error.find(GetParam().error_has), std::string::npos) << number.error;
  EXPECT_FALSE(number.remedy.empty());
}
INSTANTIATE_TEST_SUITE_P(
    NumberText, CellThatMayMeanTwoThings,
    testing::Values(BadCell{"1,250", kEither, "a thousand"}, BadCell{"1,250", kPoint, "between thousands"},
                    BadCell{"1.250", kComma, "between thousands"}, BadCell{"12,5", kPoint, "decimal comma"},
                    BadCell{"12.5", kComma, "decimal point"}, BadCell{"1,250.5", kEither, "both"}, BadCell{"1.250,5", kComma, "both"},
                    BadCell{"1,250,000", kPoint, "between thousands"}, BadCell{"1.2.3", kPoint, "more than one decimal"},
                    BadCell{"1 250", kPoint, "blank between thousands"}, BadCell{"12 13", kPoint, "two numbers"},
                    BadCell{"1'250", kPoint, "between thousands"}, BadCell{"~5", kEither, "estimate"}, BadCell{"<3", kEither, "bound"},
                    BadCell{"5?", kEither, "doubtful"}, BadCell{"5 ?", kEither, "doubtful"}, BadCell{"?", kEither, "not a number"},
                    BadCell{"12/5", kEither, "may be a date"}, BadCell{"3/0", kEither, "may be a date"}, BadCell{"1/2/3", kEither, "after the number"},
                    BadCell{"12 in", kEither, "after the number"}, BadCell{"5 +/- 1", kEither, "uncertainty"}, BadCell{"abc", kPoint, "not a number"},
                    BadCell{"1e999", kPoint, "range"}, BadCell{"--5", kPoint, "not a number"}, BadCell{"- 5", kPoint, "not a number"},
                    BadCell{"5-6", kPoint, "after the number"}, BadCell{"1e", kPoint, "after the number"}, BadCell{"l2", kPoint, "not a number"},
                    BadCell{"12:30", kPoint, "after the number"}, BadCell{"stone", kEither, "not a number"}));

TEST(NumberText, AnEmptyOrStruckOutCellIsAbsent) {
  for (const char* text : {"", "  ", "-", "--", "\u2013", "\u2014", "n/a", "N/A", "NA", "n.a.", "none"})
    EXPECT_EQ(parse_number(text, kEither).kind, NumberKind::absent) << text;
}

TEST(NumberText, AFailedReadingIsNeitherAbsentNorANumber) {
  for (const char* text : {"NaN", "nan", "-nan", "inf", "-Inf", "1.#QNAN", "-1.#IND"})
    EXPECT_EQ(parse_number(text, kPoint).kind, NumberKind::not_finite) << text;
}

}  // namespace
}  // namespace hardpan::units
