// SPDX-License-Identifier: Apache-2.0
// From toml++ nodes to ours. toml++ sorts members by key; the source position puts them back in
// the order of the file.
#include <algorithm>
#include <sstream>
#include <toml++/toml.h>

#include "io/detail/toml_node.hpp"

namespace hardpan::io::detail {
namespace {

using Kind = TomlValue::Kind;

template <class T>
std::string iso_text(const T& value) {
  std::ostringstream out;
  out << value;
  return out.str();
}

std::string member_path(const std::string& above, const std::string& key) {
  const bool bare = !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
  });
  const std::string part = bare ? key : "\"" + key + "\"";
  return above.empty() ? part : above + "." + part;
}

void convert(const toml::node& from, TomlNode& to) {
  to.line = from.source().begin.line;
  to.column = from.source().begin.column;
  if (const auto* table = from.as_table()) {
    to.kind = Kind::table;
    for (const auto& [key, value] : *table) {
      auto child = std::make_unique<TomlNode>();
      child->key = std::string(key.str());
      child->path = member_path(to.path, child->key);
      convert(value, *child);
      // Values are placed at their key, tables at their heading.
      if (!value.is_table() && !value.is_array_of_tables() && key.source().begin.line != 0) {
        child->line = key.source().begin.line;
        child->column = key.source().begin.column;
      }
      to.children.push_back(std::move(child));
    }
    std::stable_sort(to.children.begin(), to.children.end(), [](const auto& a, const auto& b) {
      return a->line != b->line ? a->line < b->line : a->column < b->column;
    });
  } else if (const auto* array = from.as_array()) {
    to.kind = Kind::array;
    for (const toml::node& item : *array) {
      auto child = std::make_unique<TomlNode>();
      child->path = to.path + "[" + std::to_string(to.children.size() + 1) + "]";
      convert(item, *child);
      to.children.push_back(std::move(child));
    }
  } else if (const auto* text = from.as_string()) {
    to.kind = Kind::text;
    to.text = text->get();
  } else if (const auto* integer = from.as_integer()) {
    to.kind = Kind::integer;
    to.integer = integer->get();
    to.number = static_cast<double>(integer->get());
  } else if (const auto* number = from.as_floating_point()) {
    to.kind = Kind::number;
    to.number = number->get();
  } else if (const auto* boolean = from.as_boolean()) {
    to.kind = Kind::boolean;
    to.boolean = boolean->get();
  } else {
    to.kind = Kind::date;
    if (const auto* date = from.as_date()) to.text = iso_text(date->get());
    else if (const auto* time = from.as_time()) to.text = iso_text(time->get());
    else if (const auto* both = from.as_date_time()) to.text = iso_text(both->get());
  }
}

}  // namespace

namespace {

// What to do about the line at which the parser gave up.
std::string remedy_for(std::string_view text, std::size_t line) {
  for (std::size_t k = 1; k < line && !text.empty(); ++k) text.remove_prefix(std::min(text.find('\n'), text.size() - 1) + 1);
  text = text.substr(0, text.find('\n'));
  const auto trimmed = [](std::string_view s) {
    const std::size_t from = s.find_first_not_of(" \t\r"), to = s.find_last_not_of(" \t\r");
    return from == std::string_view::npos ? std::string_view() : s.substr(from, to - from + 1);
  };
  const std::size_t sign = text.find('=');
  const std::string_view key = trimmed(text.substr(0, sign)), value = sign == std::string_view::npos ? std::string_view() : trimmed(text.substr(sign + 1, text.find('#', sign) - sign - 1));
  if (key.empty() || value.empty() || value.find_first_of("\"'[]{}") != std::string_view::npos) return "look in this line and the one above for a quote, bracket or comma that is missing or too many";
  if (value.find_first_not_of("+-0123456789,") == std::string_view::npos) return "write numbers with a decimal point and without separators of thousands";
  return "texts and values with units stand in quotes: " + std::string(key) + " = \"" + std::string(value) + "\"";
}

}  // namespace

void parse_toml_into(std::string_view text, TomlState& state) {
  const auto refuse = [&](std::size_t line, std::size_t column, std::string what, std::string remedy) {
    state.problems->refuse({.place = {.file = state.file, .line = line, .column = column}, .what = std::move(what), .remedy = std::move(remedy)});
  };
  // The parser takes a NUL for white space in places.
  if (const std::size_t nul = text.find('\0'); nul != std::string_view::npos) {
    refuse(static_cast<std::size_t>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(nul), '\n')) + 1,
           0, "the file holds NUL bytes: it is not text, or it is UTF-16", "save it as UTF-8 text");
    return;
  }
  try {
    const toml::table table = toml::parse(text);
    convert(table, state.root);
    state.root.line = state.root.column = 0;
    state.readable = true;
  } catch (const toml::parse_error& error) {
    const bool twice = error.description().find("redefin") != std::string_view::npos;
    refuse(error.source().begin.line, error.source().begin.column, "this is not TOML: " + std::string(error.description()),
           twice ? "leave one of the two out" : remedy_for(text, error.source().begin.line));
  }
}

}  // namespace hardpan::io::detail
