// SPDX-License-Identifier: Apache-2.0
// Reading one TOML table: values with units, choices among words, all problems named by key.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/problems.hpp"
#include "io/toml.hpp"
#include "units/unit_text.hpp"

namespace hardpan::formats::detail {

// An ISO date that exists, with or without time, or a clock time.
[[nodiscard]] bool is_date_or_clock(const std::string& text);

class Keys {
 public:
  Keys(io::TomlTable table, base::Problems& problems) : table_(std::move(table)), problems_(problems) {}

  [[nodiscard]] const io::TomlTable& table() const { return table_; }
  [[nodiscard]] base::Place place(const std::string& key) const { return table_.place_of(key); }

  // "12.5 kPa"; a bare number is accepted for ratios only. Refuses wrong dimensions.
  std::optional<double> quantity(const std::string& key, units::Dimension dimension,
                                 const units::UnitRules& rules = {});
  // The same with its +/- part.
  std::optional<units::QuantityText> quantity_text(const std::string& key, units::Dimension dimension,
                                                   const units::UnitRules& rules = {});
  std::optional<double> require_quantity(const std::string& key, units::Dimension dimension);
  // A quantity that is above zero, or not below it, where it is given; refused otherwise.
  std::optional<double> positive(const std::string& key, units::Dimension dimension, const units::UnitRules& rules = {});
  std::optional<double> not_negative(const std::string& key, units::Dimension dimension, const units::UnitRules& rules = {});
  // Two values, the lower first: ["0.2 m", "0.9 m"]. `example` is told with a refusal.
  std::optional<std::pair<double, double>> pair(const std::string& key, units::Dimension dimension, const char* example);
  std::string text(const std::string& key, std::string otherwise = {});
  std::string require_text(const std::string& key);
  bool boolean(const std::string& key, bool otherwise);
  std::optional<double> number(const std::string& key);
  std::optional<std::int64_t> integer(const std::string& key);
  std::string date(const std::string& key);  // an ISO date with or without time, or a clock time; refused otherwise
  std::vector<std::string> texts(const std::string& key);  // one text or a list

  // One of the words, else a refusal that lists them.
  template <class T>
  T choice(const std::string& key, T otherwise, const std::vector<std::pair<std::string, T>>& words) {
    const auto found = table_.text(key);
    if (!found) return otherwise;
    std::string list;
    for (const auto& [word, value] : words) {
      if (word == found->value) return value;
      list += (list.empty() ? "\"" : ", \"") + word + "\"";
    }
    table_.refuse(key, "not one of the words this key takes", list, "use one of them");
    return otherwise;
  }

 private:
  io::TomlTable table_;
  base::Problems& problems_;
};

}  // namespace hardpan::formats::detail
