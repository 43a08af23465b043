// SPDX-License-Identifier: Apache-2.0
#include "io/csv_number.hpp"

#include <charconv>
#include <cmath>
#include <limits>
#include <optional>
#include <string>

#include "io/detail/decimal.hpp"

namespace hardpan::io {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
using detail::is_digit;

std::string_view trimmed(std::string_view s) {
  const auto front = [&]() -> std::size_t {
    if (s.empty()) return 0;
    if (s[0] == ' ' || s[0] == '\t') return 1;
    return s.starts_with("\xC2\xA0") ? 2 : 0;  // no-break space
  };
  const auto back = [&]() -> std::size_t {
    if (s.empty()) return 0;
    if (s.back() == ' ' || s.back() == '\t') return 1;
    return s.ends_with("\xC2\xA0") ? 2 : 0;
  };
  while (const std::size_t n = front()) s.remove_prefix(n);
  while (const std::size_t n = back()) s.remove_suffix(n);
  return s;
}

// Words by which instruments, spreadsheets and C libraries write "no number".
bool is_non_finite_word(std::string_view s) {
  static constexpr std::string_view kWords[] = {
      "nan", "nan(ind)", "nan(snan)", "inf", "infinity", "1.#ind", "1.#inf", "1.#qnan", "1.#snan", "1.#nan",
      "na", "n/a", "#n/a", "#na", "#div/0!", "#value!", "#ref!", "#num!", "#name?", "#null!", "null"};
  if (!s.empty() && (s[0] == '-' || s[0] == '+')) s.remove_prefix(1);
  if (s.size() < 2 || s.size() > 12) return false;
  std::string low;
  for (const char c : s) low += c == ',' ? '.' : c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  // C runtime libraries pad 1.#IND to the digits asked for: 1.#IND00.
  while (low.starts_with("1.#") && low.back() == '0') low.pop_back();
  for (const std::string_view word : kWords) {
    if (low == word) return true;
  }
  return false;
}

NumberCell not_a(CellStatus status) { return {status, kNaN}; }

// text: sign and digits as std::from_chars takes them, grammar already checked.
NumberCell convert(const char* begin, const char* end, bool any_nonzero_digit) {
  double value = 0;
  const auto [stop, error] = std::from_chars(begin, end, value);
  if (error == std::errc::result_out_of_range) return not_a(CellStatus::out_of_range);
  if (error != std::errc{} || stop != end) return not_a(CellStatus::not_a_number);
  if (!std::isfinite(value) || (value == 0 && any_nonzero_digit)) return not_a(CellStatus::out_of_range);
  return {CellStatus::number, value};
}

// Reads up to max_digits digits; nullopt without at least min_digits.
std::optional<int> take_int(std::string_view& s, std::size_t min_digits, std::size_t max_digits) {
  std::size_t n = 0;
  int value = 0;
  while (n < s.size() && n < max_digits && is_digit(s[n])) value = value * 10 + (s[n++] - '0');
  if (n < min_digits) return std::nullopt;
  s.remove_prefix(n);
  return value;
}

bool take(std::string_view& s, char c) {
  if (s.empty() || s[0] != c) return false;
  s.remove_prefix(1);
  return true;
}

std::optional<double> take_clock(std::string_view& s, char decimal) {
  const auto hour = take_int(s, 1, 2);
  if (!hour || *hour > 23 || !take(s, ':')) return std::nullopt;
  const auto minute = take_int(s, 2, 2);
  if (!minute || *minute > 59) return std::nullopt;
  double second = 0;
  if (take(s, ':')) {
    const auto whole = take_int(s, 2, 2);
    if (!whole || *whole > 59) return std::nullopt;
    second = *whole;
    if (!s.empty() && (s[0] == decimal || s[0] == '.')) {
      // Read seconds and fraction together: one rounding.
      std::string text = std::to_string(*whole) + '.';
      s.remove_prefix(1);
      while (!s.empty() && is_digit(s[0])) {
        text += s[0];
        s.remove_prefix(1);
      }
      if (text.back() == '.') return std::nullopt;
      std::from_chars(text.data(), text.data() + text.size(), second);
    }
  }
  return *hour * 3600.0 + *minute * 60.0 + second;
}

// Days from 1970-01-01 in the Gregorian calendar, counted in years that begin in March.
std::optional<std::int64_t> days_of(int year, int month, int day) {
  static constexpr int kDays[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  if (year < 1 || month < 1 || month > 12 || day < 1) return std::nullopt;
  if (day > kDays[month - 1] + (month == 2 && leap ? 1 : 0)) return std::nullopt;
  const auto days_before_year = [](std::int64_t y) { return 365 * (y - 1) + (y - 1) / 4 - (y - 1) / 100 + (y - 1) / 400; };
  std::int64_t days = days_before_year(year) - days_before_year(1970) + day - 1;
  for (int m = 1; m < month; ++m) days += kDays[m - 1] + (m == 2 && leap ? 1 : 0);
  return days;
}

std::optional<std::int64_t> take_date(std::string_view& s) {
  const std::string_view before = s;
  if (const auto year = take_int(s, 4, 4); year && take(s, '-')) {
    const auto month = take_int(s, 2, 2);
    if (!month || !take(s, '-')) return std::nullopt;
    const auto day = take_int(s, 2, 2);
    return day ? days_of(*year, *month, *day) : std::nullopt;
  }
  s = before;
  const auto day = take_int(s, 1, 2);
  if (!day || !take(s, '.')) return std::nullopt;
  const auto month = take_int(s, 1, 2);
  if (!month || !take(s, '.')) return std::nullopt;
  const auto year = take_int(s, 4, 4);
  return year ? days_of(*year, *month, *day) : std::nullopt;
}

// Z or +HH:MM or +HHMM or +HH; seconds to take off to reach UTC.
std::optional<double> take_zone(std::string_view& s) {
  if (s.empty() || take(s, 'Z')) return 0.0;
  const bool minus = take(s, '-');
  if (!minus && !take(s, '+')) return std::nullopt;
  const auto hour = take_int(s, 2, 2);
  if (!hour || *hour > 14) return std::nullopt;
  take(s, ':');
  const auto minute = take_int(s, 2, 2);
  if (minute && *minute > 59) return std::nullopt;
  return (minus ? -1.0 : 1.0) * (*hour * 3600.0 + minute.value_or(0) * 60.0);
}

NumberCell empty_or_word(std::string_view s) {
  if (s.empty()) return not_a(CellStatus::missing);
  return not_a(is_non_finite_word(s) ? CellStatus::non_finite : CellStatus::not_a_number);
}

}  // namespace

const char* name(CellStatus status) {
  switch (status) {
    case CellStatus::number: return "number";
    case CellStatus::missing: return "missing";
    case CellStatus::not_a_number: return "not a number";
    case CellStatus::non_finite: return "not finite";
    case CellStatus::out_of_range: return "out of range";
    case CellStatus::set_aside: return "row set aside";
  }
  return "";
}

NumberCell parse_number_cell(std::string_view text, char decimal) {
  const std::string_view cell = trimmed(text);
  std::string_view s = cell;
  bool negative = false;
  if (s.starts_with("\xE2\x88\x92")) {  // U+2212
    negative = true;
    s.remove_prefix(3);
  } else if (!s.empty() && (s[0] == '-' || s[0] == '+')) {
    negative = s[0] == '-';
    s.remove_prefix(1);
  }
  // Check the grammar while copying into what from_chars reads: point, no plus sign.
  char small[64];
  std::string large;
  char* out = small;
  if (s.size() + 2 > sizeof small) {
    large.resize(s.size() + 2);
    out = large.data();
  }
  char* const begin = out;
  if (negative) *out++ = '-';
  std::size_t digits = 0, i = 0;
  bool nonzero = false;
  const auto copy_digits = [&] {
    std::size_t n = 0;
    for (; i < s.size() && is_digit(s[i]); ++i, ++n) {
      nonzero = nonzero || s[i] != '0';
      *out++ = s[i];
    }
    return n;
  };
  digits += copy_digits();
  if (i < s.size() && s[i] == decimal) {
    *out++ = '.';
    ++i;
    digits += copy_digits();
  }
  if (digits == 0) return empty_or_word(cell);
  const bool mantissa_nonzero = nonzero;
  if (i < s.size() && (s[i] == 'e' || s[i] == 'E')) {
    *out++ = 'e';
    ++i;
    if (i < s.size() && (s[i] == '-' || s[i] == '+')) {
      if (s[i] == '-') *out++ = '-';
      ++i;
    }
    if (copy_digits() == 0) return empty_or_word(cell);
  }
  if (i != s.size()) return empty_or_word(cell);
  return convert(begin, out, mantissa_nonzero);
}

NumberCell parse_clock_cell(std::string_view text, char decimal) {
  const std::string_view cell = trimmed(text);
  std::string_view s = cell;
  const auto seconds = take_clock(s, decimal);
  if (!seconds || !s.empty()) return empty_or_word(cell);
  return {CellStatus::number, *seconds};
}

NumberCell parse_date_time_cell(std::string_view text, char decimal) {
  const std::string_view cell = trimmed(text);
  std::string_view s = cell;
  const auto days = take_date(s);
  if (!days) return empty_or_word(cell);
  double clock = 0;
  if (!s.empty()) {
    if (!take(s, ' ') && !take(s, 'T')) return empty_or_word(cell);
    const auto seconds = take_clock(s, decimal);
    if (!seconds) return empty_or_word(cell);
    const auto zone = take_zone(s);
    if (!zone || !s.empty()) return empty_or_word(cell);
    clock = *seconds - *zone;
  }
  return {CellStatus::number, static_cast<double>(*days) * 86400.0 + clock};
}

}  // namespace hardpan::io
