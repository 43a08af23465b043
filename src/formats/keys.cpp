// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/keys.hpp"

#include <fmt/core.h>

#include <chrono>
#include <cstdio>

namespace hardpan::formats::detail {

namespace {

// "09:40" or "9:40", with seconds and their fraction or without, with a zone or without.
bool is_clock(const std::string& text) {
  int hour = 0, minute = 0, used = 0;
  double second = 0;
  if (std::sscanf(text.c_str(), "%2d:%2d%n", &hour, &minute, &used) != 2 || hour < 0 || hour > 23 || minute < 0 || minute > 59) return false;
  std::string rest = text.substr(static_cast<std::size_t>(used));
  if (!rest.empty() && rest.front() == ':') {
    if (std::sscanf(rest.c_str(), ":%lf%n", &second, &used) != 1 || !(second >= 0 && second < 61)) return false;
    rest = rest.substr(static_cast<std::size_t>(used));
  }
  int zone_hour = 0, zone_minute = 0;
  return rest.empty() || rest == "Z" || std::sscanf(rest.c_str(), "%*1[+-]%2d:%2d", &zone_hour, &zone_minute) == 2;
}

}  // namespace

bool is_date_or_clock(const std::string& text) {
  int year = 0, month = 0, day = 0, used = 0;
  if (std::sscanf(text.c_str(), "%4d-%2d-%2d%n", &year, &month, &day, &used) != 3) return is_clock(text);
  const std::chrono::year_month_day date{std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)}, std::chrono::day{static_cast<unsigned>(day)}};
  const std::string rest = text.substr(static_cast<std::size_t>(used));
  return used == 10 && date.ok() && (rest.empty() || ((rest.front() == 'T' || rest.front() == ' ') && is_clock(rest.substr(1))));
}

std::optional<units::QuantityText> Keys::quantity_text(const std::string& key, units::Dimension dimension,
                                                       const units::UnitRules& rules) {
  const auto value = table_.value(key);
  if (!value) return std::nullopt;
  std::string typed;
  if (const auto text = value->text()) {
    typed = *text;
  } else if (const auto number = value->number()) {
    typed = fmt::format("{}", *number);  // a bare number: refused by parse_quantity where a unit is needed
  } else {
    table_.refuse(key, "a value with a unit is expected, as text", std::string(units::example(dimension)));
    return std::nullopt;
  }
  units::QuantityText q = units::parse_quantity(typed, dimension, rules);
  if (!q.ok()) {
    problems_.refuse(units::refusal(q, typed, table_.place_of(key)));
    return std::nullopt;
  }
  return q;
}

std::optional<double> Keys::quantity(const std::string& key, units::Dimension dimension, const units::UnitRules& rules) {
  const auto q = quantity_text(key, dimension, rules);
  if (!q) return std::nullopt;
  return q->si;
}

std::optional<double> Keys::require_quantity(const std::string& key, units::Dimension dimension) {
  if (!table_.require_value(key)) return std::nullopt;
  return quantity(key, dimension);
}

std::optional<double> Keys::positive(const std::string& key, units::Dimension dimension, const units::UnitRules& rules) {
  const auto q = quantity(key, dimension, rules);
  if (!q || *q > 0) return q;
  table_.refuse(key, "is not positive", "above 0", "check value and sign, or leave the key out");
  return std::nullopt;
}
std::optional<double> Keys::not_negative(const std::string& key, units::Dimension dimension, const units::UnitRules& rules) {
  const auto q = quantity(key, dimension, rules);
  if (!q || *q >= 0) return q;
  table_.refuse(key, "is negative", "0 or more", "check value and sign, or leave the key out");
  return std::nullopt;
}

std::string Keys::text(const std::string& key, std::string otherwise) {
  const auto t = table_.text(key);
  return t ? t->value : std::move(otherwise);
}
std::string Keys::require_text(const std::string& key) {
  const auto t = table_.require_text(key);
  if (t && t->value.empty()) table_.refuse(key, "is empty", "a name", "fill it in");
  return t ? t->value : std::string();
}
bool Keys::boolean(const std::string& key, bool otherwise) {
  const auto b = table_.boolean(key);
  return b ? b->value : otherwise;
}
std::optional<double> Keys::number(const std::string& key) {
  const auto n = table_.number(key);
  if (!n) return std::nullopt;
  return n->value;
}
std::optional<std::int64_t> Keys::integer(const std::string& key) {
  const auto n = table_.integer(key);
  if (!n) return std::nullopt;
  return n->value;
}
std::string Keys::date(const std::string& key) {
  const auto d = table_.date(key);
  if (!d || d->value.empty()) return {};
  if (is_date_or_clock(d->value)) return d->value;
  table_.refuse(key, "not a date or time that exists", "2026-04-12, 2026-04-12T09:40 or 09:40", "write year, month and day in this order");
  return {};
}
std::optional<std::pair<double, double>> Keys::pair(const std::string& key, units::Dimension dimension, const char* example) {
  const auto listed = table_.value(key);
  if (!listed) return std::nullopt;
  const std::vector<io::TomlValue> items = listed->items();
  std::vector<double> values;
  for (const io::TomlValue& item : items) {
    const auto text = item.text();
    const auto parsed = text ? std::optional(units::parse_quantity(*text, dimension)) : std::nullopt;
    if (!parsed || !parsed->ok()) {
      table_.refuse(key, parsed ? parsed->error : "each of the two is a value with its unit", example, parsed ? parsed->remedy : "");
      return std::nullopt;
    }
    values.push_back(parsed->si);
  }
  if (values.size() != 2) {
    table_.refuse(key, "these are not two values", example);
    return std::nullopt;
  }
  if (!(values[0] <= values[1])) {
    table_.refuse(key, "the lower of the two does not stand first", example, "change their order, or check their signs");
    return std::nullopt;
  }
  return std::pair{values[0], values[1]};
}

std::vector<std::string> Keys::texts(const std::string& key) {
  const auto value = table_.value(key);
  if (!value) return {};
  if (const auto one = value->text()) return {*one};
  const auto list = table_.texts(key);
  return list ? list->value : std::vector<std::string>{};
}

}  // namespace hardpan::formats::detail
