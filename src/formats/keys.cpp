// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/keys.hpp"

#include <fmt/core.h>

namespace hardpan::formats::detail {

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
  return d ? d->value : std::string();
}
std::vector<std::string> Keys::texts(const std::string& key) {
  const auto value = table_.value(key);
  if (!value) return {};
  if (const auto one = value->text()) return {*one};
  const auto list = table_.texts(key);
  return list ? list->value : std::vector<std::string>{};
}

}  // namespace hardpan::formats::detail
