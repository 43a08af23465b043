// SPDX-License-Identifier: Apache-2.0
#include "units/unit_text.hpp"

#include <cmath>

#include "units/constants.hpp"
#include "units/detail/number_scan.hpp"
#include "units/detail/plain_text.hpp"

namespace hardpan::units {
namespace {

using detail::NumberScan;
using detail::trim;

constexpr std::size_t kMaxText = 256;

QuantityText fail(std::string error, std::string remedy) {
  QuantityText out;
  out.error = std::move(error);
  out.remedy = std::move(remedy);
  return out;
}

std::string write_example(Dimension expected) { return "write for example " + std::string(example(expected)); }

// A number and what follows it.
struct Part {
  double number = 0.0;
  std::string_view rest;
};

std::optional<Part> read_part(std::string_view text, QuantityText& failure) {
  const NumberScan scan = detail::scan_number(text, DecimalSign::either);
  if (!scan.number.is_number()) {
    failure = fail(scan.number.error, scan.number.remedy);
    return std::nullopt;
  }
  return Part{scan.number.value, trim(text.substr(scan.used))};
}

// "4" after "1 in" or "1:": the horizontal run of a gradient with rise 1.
std::optional<double> gradient_run(std::string_view rest) {
  if (rest.starts_with("in ")) rest = trim(rest.substr(3));
  else if (rest.starts_with(":")) rest = trim(rest.substr(1));
  else return std::nullopt;
  const NumberScan run = detail::scan_number(rest, DecimalSign::either);
  if (!run.number.is_number() || run.used != rest.size() || !(run.number.value > 0.0)) return std::nullopt;
  return run.number.value;
}

// "ft 6 in" after a number of feet: the inches.
std::optional<double> inches_after_feet(std::string_view rest) {
  for (const std::string_view feet : {"feet", "foot", "ft.", "ft", "'"}) {
    if (!rest.starts_with(feet)) continue;
    const std::string_view more = trim(rest.substr(feet.size()));
    const NumberScan inches = detail::scan_number(more, DecimalSign::either);
    if (!inches.number.is_number() || !(inches.number.value >= 0.0 && inches.number.value < 12.0)) return std::nullopt;
    const std::string_view unit = trim(more.substr(inches.used));
    for (const std::string_view name : {"in", "in.", "inch", "inches", "\"", "''"})
      if (unit == name) return inches.number.value;
    return std::nullopt;
  }
  return std::nullopt;
}

// Half the SI distance between number - half_width and number + half_width: right for degF and for
// percent of grade, which is not linear.
double half_width_si(double number, double half_width, const Unit& unit) {
  return 0.5 * (to_si(number + half_width, unit) - to_si(number - half_width, unit));
}

std::optional<Unit> usable_unit(std::string_view text, Dimension expected, const UnitRules& rules, QuantityText& failure) {
  UnitLookup found = look_up_unit(text);
  if (found.unit) found = accept_unit(*found.unit, expected, rules);
  if (!found.unit) failure = fail(found.error, found.remedy);
  return found.unit;
}

struct Sides {
  std::string_view left, right;  // of "+/-"; right is empty without one
  std::string_view shared_unit;  // after "( ... )"
  bool several = false;
};

Sides split_plus_minus(std::string_view text) {
  Sides out;
  std::string_view body = text;
  if (body.starts_with('(')) {
    if (const auto close = body.rfind(')'); close != std::string_view::npos && body.find("+/-") < close) {
      out.shared_unit = trim(body.substr(close + 1));
      body = trim(body.substr(1, close - 1));
    }
  }
  auto sign = body.find("+/-");
  std::size_t length = 3;
  if (sign == std::string_view::npos) sign = body.find("+-"), length = 2;
  if (sign == std::string_view::npos) {
    out.left = body;
    return out;
  }
  out.left = trim(body.substr(0, sign));
  out.right = trim(body.substr(sign + length));
  out.several = out.right.empty() || out.right.find("+/-") != std::string_view::npos || out.right.find("+-") != std::string_view::npos;
  return out;
}

}  // namespace

QuantityText parse_quantity(std::string_view text, Dimension expected, const UnitRules& rules) {
  if (text.size() > kMaxText) return fail("the text is too long for a value with a unit", write_example(expected));
  const std::string plain = detail::plain_text(text);
  if (plain.empty()) return fail("there is no value", write_example(expected));
  if (plain[0] == '~' || plain[0] == '<' || plain[0] == '>')
    return fail("an estimate or a bound is not a value", "write the value, and its uncertainty after +/-");
  const Sides sides = split_plus_minus(plain);
  if (sides.several) return fail("the part after +/- is not one number", "write for example '8 in +/- 0.1 in'");

  QuantityText failure;
  const std::optional<Part> value = read_part(sides.left, failure);
  if (!value) return failure;
  std::optional<Part> spread;
  if (!sides.right.empty()) {
    spread = read_part(sides.right, failure);
    if (!spread) return failure;
    if (!(spread->number >= 0.0)) return fail("the part after +/- is negative", "write its size");
  }

  QuantityText out;
  if (expected == Dimension::angle && !spread && sides.shared_unit.empty()) {
    if (const auto run = gradient_run(value->rest)) {
      out.si = std::atan2(value->number, *run);
      return out;
    }
  }
  if (expected == Dimension::length && !spread) {
    if (const auto inches = inches_after_feet(value->rest)) {
      const double feet = value->number;
      if (feet != std::floor(feet)) return fail("feet with a fraction and inches", "write whole feet and inches");
      out.si = feet * kFoot_m + (std::signbit(feet) ? -1.0 : 1.0) * *inches * kInch_m;
      return out;
    }
  }

  // Which unit text belongs to which number.
  std::string_view value_unit = value->rest;
  std::string_view spread_unit = spread ? spread->rest : std::string_view();
  const bool relative = spread && spread_unit == "%" && !value_unit.empty() && value_unit != "%" && sides.shared_unit.empty();
  if (!sides.shared_unit.empty()) {
    if (!value_unit.empty() || !spread_unit.empty()) return fail("units inside and behind the brackets", "write '(8 +/- 0.1) in'");
    value_unit = spread_unit = sides.shared_unit;
  } else if (spread && value_unit.empty()) {
    value_unit = spread_unit;  // "8 +/- 0.1 in"
  } else if (spread && spread_unit.empty()) {
    return fail("the number after +/- has no unit", "write it again, for example '8 in +/- 0.1 in'");
  }

  Unit unit;
  if (value_unit.empty()) {
    if (expected != Dimension::none) return fail("the number has no unit", write_example(expected));
  } else {
    const auto found = usable_unit(value_unit, expected, rules, failure);
    if (!found) return failure;
    unit = *found;
    out.unit = unit;
  }
  out.si = to_si(value->number, unit);
  if (spread && relative) {
    out.plus_minus_si = std::abs(half_width_si(value->number, value->number * spread->number / 100.0, unit));
  } else if (spread) {
    Unit other = unit;
    if (!spread_unit.empty() && spread_unit != value_unit) {
      const auto found = usable_unit(spread_unit, expected, rules, failure);
      if (!found) return failure;
      other = *found;
    }
    // In another unit the half-width is taken around the same value.
    const double number = other == unit ? value->number : from_si(out.si, other);
    out.plus_minus_si = half_width_si(number, spread->number, other);
  }
  if (!std::isfinite(out.si) || (out.plus_minus_si && !std::isfinite(*out.plus_minus_si)))
    return fail("the value is outside the range of numbers", "check the exponent and the unit");
  return out;
}

base::Problem refusal(const QuantityText& quantity, std::string_view text, base::Place place) {
  return {.severity = base::Severity::refusal, .place = std::move(place), .what = quantity.error,
          .value = std::string(text.substr(0, kMaxText)), .bound = {}, .remedy = quantity.remedy};
}

}  // namespace hardpan::units
