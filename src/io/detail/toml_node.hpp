// SPDX-License-Identifier: Apache-2.0
// The tree behind toml.hpp: our own nodes, so that no third-party type leaves toml_parse.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "base/problems.hpp"
#include "io/toml.hpp"

namespace hardpan::io::detail {

struct TomlNode {
  TomlValue::Kind kind = TomlValue::Kind::table;
  std::string key;   // in the table above; empty for list items and the root
  std::string path;  // "record[2].unit"
  std::size_t line = 0;
  std::size_t column = 0;
  std::string text;  // text, date
  double number = 0;
  std::int64_t integer = 0;
  bool boolean = false;
  std::vector<std::unique_ptr<TomlNode>> children;  // array items, table members in file order
  // What was asked of a table; written by const getters, on the reading thread only.
  mutable std::set<std::string, std::less<>> asked;
  mutable bool all_asked = false;

  [[nodiscard]] const TomlNode* find(std::string_view wanted) const {
    for (const auto& child : children) {
      if (child->key == wanted) return child.get();
    }
    return nullptr;
  }
};

struct TomlState {
  std::string file;
  TomlNode root;
  bool readable = false;
  base::Problems* problems = nullptr;
};

// Fills state.root, or appends the refusal and leaves readable false.
void parse_toml_into(std::string_view text, TomlState& state);

}  // namespace hardpan::io::detail
