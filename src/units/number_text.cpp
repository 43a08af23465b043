// SPDX-License-Identifier: Apache-2.0
#include "units/number_text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "units/detail/number_scan.hpp"
#include "units/detail/plain_text.hpp"

namespace hardpan::units {
namespace {

using detail::is_digit;
using detail::is_letter;
using detail::NumberScan;

constexpr std::size_t kMaxText = 256;     // longer is no number anybody typed
constexpr std::size_t kMaxFractionDigits = 4;  // 1/64 on a tape, 1/1000 at most

NumberText refuse(std::string error, std::string remedy) {
  return {.kind = NumberKind::refused, .value = 0.0, .error = std::move(error), .remedy = std::move(remedy)};
}
NumberScan refused(std::string error, std::string remedy) { return {.number = refuse(std::move(error), std::move(remedy)), .used = 0}; }

char at(std::string_view text, std::size_t i) { return i < text.size() ? text[i] : '\0'; }

std::size_t digits_from(std::string_view text, std::size_t i) {
  std::size_t n = 0;
  while (is_digit(at(text, i + n))) ++n;
  return n;
}

// Digits in groups of three after the first one to three, with one kind of separator.
bool looks_grouped(std::string_view body, char separator) {
  const std::size_t first = body.find(separator);
  if (first == 0 || first == std::string_view::npos || first > 3 || body[0] == '0') return false;
  for (std::size_t i = first; i < body.size(); i += 4) {
    if (body[i] != separator || digits_from(body, i + 1) < 3) return false;
    if (i + 4 < body.size() && body[i + 4] != separator) return false;
  }
  return true;
}

const char* const kNoGroups = "write the digits without separators between thousands";

// The run of digits, points and commas with a point as decimal sign, or why not.
NumberText decimal(std::string_view body, DecimalSign sign, std::string& out) {
  const auto points = std::count(body.begin(), body.end(), '.');
  const auto commas = std::count(body.begin(), body.end(), ',');
  const std::string shown = "'" + std::string(body) + "'";
  if (points > 0 && commas > 0) return refuse(shown + " has both a point and a comma", kNoGroups);
  if (points > 1 || commas > 1) {
    const bool grouped = looks_grouped(body, points > 1 ? '.' : ',');
    return refuse(shown + (grouped ? " has separators between thousands" : " has more than one decimal sign"), grouped ? kNoGroups : "write one number");
  }
  out = body;
  if (commas == 1) {
    const bool grouped = looks_grouped(body, ',');
    if (sign == DecimalSign::point) {
      return grouped ? refuse(shown + " has a separator between thousands", kNoGroups)
                     : refuse(shown + " has a decimal comma where the decimal sign is a point",
                              "write a point, or declare the decimal comma for the whole file");
    }
    if (sign == DecimalSign::either && grouped)
      return refuse(shown + " may be a thousand or a decimal fraction",
                    "write it without a separator between thousands, or with a decimal point");
    std::replace(out.begin(), out.end(), ',', '.');
  } else if (points == 1 && sign == DecimalSign::comma) {
    return looks_grouped(body, '.') ? refuse(shown + " has a separator between thousands", kNoGroups)
                                    : refuse(shown + " has a decimal point where the decimal sign is a comma",
                                             "write a comma, or declare the decimal point for the whole file");
  }
  return {.kind = NumberKind::number, .value = 0.0, .error = {}, .remedy = {}};
}

// "1/4" at i: fills top, bottom and the length; length 0 when there is none.
struct Fraction {
  double value = 0.0;
  std::size_t length = 0;
  bool proper = false;
};
Fraction fraction_at(std::string_view text, std::size_t i) {
  const std::size_t top = digits_from(text, i);
  if (top == 0 || at(text, i + top) != '/') return {};
  const std::size_t bottom = digits_from(text, i + top + 1);
  if (bottom == 0) return {};
  Fraction out{.length = top + 1 + bottom};
  if (top > kMaxFractionDigits || bottom > kMaxFractionDigits) return out;
  double a = 0.0, b = 0.0;
  std::from_chars(text.data() + i, text.data() + i + top, a);
  std::from_chars(text.data() + i + top + 1, text.data() + i + out.length, b);
  out.proper = a < b && a > 0.0;
  if (out.proper) out.value = a / b;
  return out;
}

NumberScan bad_fraction(std::string_view text) {
  return refused("'" + std::string(text) + "' is no proper fraction (it may be a date)", "write 3 1/4, 3/8 or a decimal number");
}

}  // namespace

namespace detail {

NumberScan scan_number(std::string_view text, DecimalSign sign) {
  if (text.size() > kMaxText) return refused("the text is too long for a number", "write one number");
  std::size_t i = 0;
  const bool negative = at(text, 0) == '-';
  if (negative || at(text, 0) == '+') ++i;
  const std::size_t start = i;
  while (is_digit(at(text, i)) || ((at(text, i) == '.' || at(text, i) == ',') && (is_digit(at(text, i + 1)) || (at(text, i) == '.' && i > start && is_digit(text[i - 1])))))
    ++i;
  if (i == start) return refused("there is no number", "write a number");
  const std::string_view body = text.substr(start, i - start);
  const bool whole = std::all_of(body.begin(), body.end(), is_digit);
  if (at(text, i) == '\'' && digits_from(text, i + 1) == 3)
    return refused("'" + std::string(text.substr(start, i + 4 - start)) + "' has a separator between thousands", kNoGroups);

  const auto done = [&](double value, std::size_t end) {
    NumberScan out{.number = {.kind = NumberKind::number, .value = negative ? -value : value, .error = {}, .remedy = {}}, .used = end};
    return out;
  };

  // Fractions: "3/8", "3 1/4", "3-1/4". "5 1/min" is a number and a unit.
  if (whole) {
    if (const Fraction f = fraction_at(text, start); f.length != 0) {
      if (!f.proper) return bad_fraction(text.substr(start, f.length));
      return done(f.value, start + f.length);
    }
    if (at(text, i) == ' ' || at(text, i) == '-') {
      if (const Fraction f = fraction_at(text, i + 1); f.length != 0) {
        if (!f.proper || body.size() > 9) return bad_fraction(text.substr(start, i + 1 + f.length - start));
        double value = 0.0;
        std::from_chars(body.data(), body.data() + body.size(), value);
        return done(value + f.value, i + 1 + f.length);
      }
    }
  }
  if (at(text, i) == ' ') {
    const std::size_t next = digits_from(text, i + 1);
    const char after = at(text, i + 1 + next);
    const bool unit_follows = next == 1 && text[i + 1] == '1' && after == '/';
    if (next == 3 && body.size() <= 3 && whole)
      return refused("'" + std::string(text.substr(start, i + 4 - start)) + "' has a blank between thousands or is two numbers", kNoGroups);
    if (next > 0 && !unit_follows)
      return refused("'" + std::string(text.substr(0, i + 1 + next)) + "' is two numbers", "write one number");
  }

  std::string digits;
  NumberText verdict = decimal(body, sign, digits);
  if (!verdict.is_number()) return {.number = verdict, .used = 0};
  // Exponent: 1.2e3, or 1.2 x 10^3 (the raised dot and the cross arrive as '*').
  std::size_t end = i;
  if (at(text, i) == 'e' || at(text, i) == 'E') {
    const std::size_t signed_at = at(text, i + 1) == '-' || at(text, i + 1) == '+' ? i + 2 : i + 1;
    if (const std::size_t n = digits_from(text, signed_at); n > 0) {
      end = signed_at + n;
      digits += "e";
      digits += text.substr(at(text, i + 1) == '+' ? i + 2 : i + 1, end - (at(text, i + 1) == '+' ? i + 2 : i + 1));
    }
  } else {
    std::size_t k = i;
    if (at(text, k) == ' ') ++k;
    if (at(text, k) == 'x' || at(text, k) == 'X' || at(text, k) == '*') {
      ++k;
      if (at(text, k) == ' ') ++k;
      if (text.substr(std::min(k, text.size()), 3) == "10^") {
        const std::size_t signed_at = at(text, k + 3) == '-' || at(text, k + 3) == '+' ? k + 4 : k + 3;
        if (const std::size_t n = digits_from(text, signed_at); n > 0) {
          end = signed_at + n;
          digits += "e";
          digits += text.substr(at(text, k + 3) == '+' ? k + 4 : k + 3, end - (at(text, k + 3) == '+' ? k + 4 : k + 3));
        }
      }
    }
  }
  double value = 0.0;
  const auto [stop, code] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (code == std::errc::result_out_of_range) return refused("'" + std::string(text.substr(0, end)) + "' is outside the range of numbers", "check the exponent");
  if (code != std::errc() || stop != digits.data() + digits.size()) return refused("'" + std::string(text.substr(0, end)) + "' is not a number", "write one number");
  return done(value, end);
}

}  // namespace detail

NumberText parse_number(std::string_view text, DecimalSign sign) {
  // The common cell: digits, at most one point, perhaps an exponent.
  const std::size_t first = at(text, 0) == '-' ? 1 : 0;
  if (sign != DecimalSign::comma && (is_digit(at(text, first)) || (at(text, first) == '.' && is_digit(at(text, first + 1))))) {
    double value = 0.0;
    const auto [stop, code] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (code == std::errc() && stop == text.data() + text.size())
      return {.kind = NumberKind::number, .value = value, .error = {}, .remedy = {}};
  }
  const std::string plain = detail::plain_text(text);
  const std::string small = detail::lower(plain);
  for (const char* mark : {"", "-", "--", "---", "n/a", "na", "n.a.", "none", "not measured", "missing"})
    if (small == mark) return {};
  for (const char* mark : {"nan", "-nan", "+nan", "inf", "-inf", "+inf", "infinity", "-infinity", "1.#inf", "-1.#inf", "1.#qnan", "-1.#ind", "nan(ind)", "-nan(ind)"})
    if (small == mark) return {.kind = NumberKind::not_finite, .value = 0.0, .error = {}, .remedy = {}};
  const std::string shown = "'" + plain.substr(0, 40) + "'";
  if (const char mark = plain.front(); mark == '~' || mark == '<' || mark == '>' || mark == '=')
    return refuse(shown + " is an estimate or a bound, not a reading", "write the reading, or leave the cell empty and write a remark");
  const NumberScan scan = detail::scan_number(plain, sign);
  if (!scan.number.is_number()) {
    if (scan.used == 0 && scan.number.error == "there is no number")
      return refuse(shown + " is not a number", "write one number, or leave the cell empty");
    return scan.number;
  }
  if (scan.used == plain.size()) return scan.number;
  const std::string rest = plain.substr(scan.used);
  if (rest.find('?') != std::string::npos) return refuse(shown + " is marked as doubtful", "write the reading, or leave the cell empty and write a remark");
  if (rest.find("+/-") != std::string::npos) return refuse(shown + " carries its own uncertainty", "write the reading alone");
  return refuse(shown + " has something after the number", "write the number alone; the unit belongs in the heading");
}

}  // namespace hardpan::units
