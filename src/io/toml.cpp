// SPDX-License-Identifier: Apache-2.0
#include "io/toml.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"
#include "io/detail/toml_node.hpp"
#include "io/files.hpp"
#include "io/json.hpp"

namespace hardpan::io {
namespace {

using Kind = TomlValue::Kind;
using detail::TomlNode;

const char* name(Kind kind) {
  switch (kind) {
    case Kind::text: return "a text in quotes";
    case Kind::integer: return "a whole number";
    case Kind::number: return "a number";
    case Kind::boolean: return "true or false";
    case Kind::date: return "a date or time";
    case Kind::array: return "a list in brackets";
    case Kind::table: return "a table";
  }
  return "";
}

std::string shown(const TomlNode& node) {
  switch (node.kind) {
    case Kind::text:
    case Kind::date: return node.text.size() <= 60 ? node.text : node.text.substr(0, 60) + "...";
    case Kind::integer: return std::to_string(node.integer);
    case Kind::number: return std::isfinite(node.number) ? json_number(node.number) : std::isnan(node.number) ? "nan" : "inf";
    case Kind::boolean: return node.boolean ? "true" : "false";
    case Kind::array: {
      std::string out;
      for (const auto& item : node.children) out += (out.empty() ? "" : ", ") + (item->kind == Kind::text ? "\"" + shown(*item) + "\"" : shown(*item));
      return out.size() <= 60 ? "[" + out + "]" : "[" + out.substr(0, 60) + "...]";
    }
    case Kind::table: return "{...}";
  }
  return "";
}

base::Place node_place(const detail::TomlState& state, const TomlNode& node) {
  return {.file = state.file, .line = node.line, .column = 0, .key = node.path};
}

// Optimal string alignment distance: Damerau (1964), with no part edited twice.
std::size_t distance(const std::string& a, const std::string& b) {
  std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
  for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  }
  return d[a.size()][b.size()];
}

std::string folded(std::string_view word) {
  std::string out;
  for (const char c : word) {
    if (c == '-' || c == '_' || c == ' ') continue;
    out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return out;
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& w : words) out += (out.empty() ? "" : ", ") + w;
  return out;
}

void report_below(const detail::TomlState& state, const TomlNode& node) {
  if (node.kind == Kind::table && !node.all_asked) {
    std::vector<std::string> known(node.asked.begin(), node.asked.end());
    for (const auto& child : node.children) {
      if (node.asked.contains(child->key)) continue;
      const auto near = nearest_word(child->key, known);
      std::string remedy = near ? "did you mean " + *near + "?" : std::string("remove it");
      state.problems->refuse({.place = node_place(state, *child), .what = "this key is not known here",
                              .value = child->key, .bound = joined(known), .remedy = std::move(remedy)});
    }
  }
  for (const auto& child : node.children) {
    const bool asked = node.kind == Kind::array || node.all_asked || node.asked.contains(child->key);
    // A list or table that was read whole through items() or members() marks itself.
    if (asked) report_below(state, *child);
  }
}

}  // namespace

std::optional<std::string> nearest_word(std::string_view word, const std::vector<std::string>& candidates) {
  const std::string wanted = folded(word);
  std::optional<std::string> best;
  std::size_t best_distance = 0;
  if (wanted.empty() || wanted.size() > 100) return best;
  for (const std::string& candidate : candidates) {
    const std::string other = folded(candidate);
    if (other.size() > 100) continue;
    const std::size_t allowed = std::max<std::size_t>(1, std::max(wanted.size(), other.size()) / 3);
    const std::size_t d = distance(wanted, other);
    if (d > allowed || d == std::max(wanted.size(), other.size())) continue;
    if (!best || d < best_distance) {
      best = candidate;
      best_distance = d;
    }
  }
  return best;
}

// --- TomlValue ---

Kind TomlValue::kind() const { return node_->kind; }
base::Place TomlValue::place() const { return node_place(*state_, *node_); }
std::string TomlValue::as_typed() const { return shown(*node_); }

std::optional<std::string> TomlValue::text() const {
  return node_->kind == Kind::text ? std::optional(node_->text) : std::nullopt;
}
std::optional<std::string> TomlValue::date() const {
  return node_->kind == Kind::date ? std::optional(node_->text) : std::nullopt;
}
std::optional<std::int64_t> TomlValue::integer() const {
  return node_->kind == Kind::integer ? std::optional(node_->integer) : std::nullopt;
}
std::optional<double> TomlValue::number() const {
  const bool number = node_->kind == Kind::integer || node_->kind == Kind::number;
  return number && std::isfinite(node_->number) ? std::optional(node_->number) : std::nullopt;
}
std::optional<bool> TomlValue::boolean() const {
  return node_->kind == Kind::boolean ? std::optional(node_->boolean) : std::nullopt;
}
std::vector<TomlValue> TomlValue::items() const {
  std::vector<TomlValue> out;
  if (node_->kind != Kind::array) return out;
  for (const auto& child : node_->children) out.push_back(TomlValue(state_, child.get()));
  return out;
}
std::optional<TomlTable> TomlValue::table() const {
  return node_->kind == Kind::table ? std::optional(TomlTable(state_, node_)) : std::nullopt;
}

// --- TomlTable ---

base::Place TomlTable::place() const { return node_place(*state_, *node_); }

base::Place TomlTable::place_of(std::string_view key) const {
  if (const TomlNode* child = node_->find(key)) return node_place(*state_, *child);
  base::Place place = this->place();
  place.key += (place.key.empty() ? "" : ".") + std::string(key);
  return place;
}

const TomlNode* TomlTable::ask(std::string_view key) const {
  if (!node_->asked.contains(key)) node_->asked.emplace(key);
  return node_->find(key);
}

bool TomlTable::has(std::string_view key) const { return ask(key) != nullptr; }

const TomlNode* TomlTable::wrong(const TomlNode* node, const char* wanted) const {
  state_->problems->refuse({.place = node_place(*state_, *node), .what = std::string("this is ") + name(node->kind),
                            .value = shown(*node), .bound = wanted});
  return nullptr;
}

std::optional<Placed<std::string>> TomlTable::text(std::string_view key) const {
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::text) node = wrong(node, name(Kind::text));
  if (node == nullptr) return std::nullopt;
  return Placed<std::string>{node->text, node_place(*state_, *node)};
}

std::optional<Placed<std::string>> TomlTable::date(std::string_view key) const {
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::text && node->kind != Kind::date) node = wrong(node, name(Kind::date));
  if (node == nullptr) return std::nullopt;
  return Placed<std::string>{node->text, node_place(*state_, *node)};
}

std::optional<Placed<std::int64_t>> TomlTable::integer(std::string_view key) const {
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::integer) node = wrong(node, name(Kind::integer));
  if (node == nullptr) return std::nullopt;
  return Placed<std::int64_t>{node->integer, node_place(*state_, *node)};
}

std::optional<Placed<double>> TomlTable::number(std::string_view key) const {
  const TomlNode* node = ask(key);
  const bool number = node != nullptr && (node->kind == Kind::integer || node->kind == Kind::number);
  if (node != nullptr && !(number && std::isfinite(node->number))) node = wrong(node, "a finite number");
  if (node == nullptr) return std::nullopt;
  return Placed<double>{node->number, node_place(*state_, *node)};
}

std::optional<Placed<bool>> TomlTable::boolean(std::string_view key) const {
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::boolean) node = wrong(node, name(Kind::boolean));
  if (node == nullptr) return std::nullopt;
  return Placed<bool>{node->boolean, node_place(*state_, *node)};
}

std::optional<Placed<std::vector<std::string>>> TomlTable::texts(std::string_view key) const {
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::array) node = wrong(node, "a list of texts, such as [\"a\", \"b\"]");
  if (node == nullptr) return std::nullopt;
  Placed<std::vector<std::string>> out{{}, node_place(*state_, *node)};
  for (const auto& child : node->children) {
    if (child->kind != Kind::text) {
      wrong(child.get(), name(Kind::text));
      return std::nullopt;
    }
    out.value.push_back(child->text);
  }
  return out;
}

std::optional<Placed<std::vector<double>>> TomlTable::numbers(std::string_view key) const {
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::array) node = wrong(node, "a list of numbers, such as [1, 2.5]");
  if (node == nullptr) return std::nullopt;
  Placed<std::vector<double>> out{{}, node_place(*state_, *node)};
  for (const auto& child : node->children) {
    const bool number = child->kind == Kind::integer || child->kind == Kind::number;
    if (!number || !std::isfinite(child->number)) {
      wrong(child.get(), "a finite number");
      return std::nullopt;
    }
    out.value.push_back(child->number);
  }
  return out;
}

std::optional<TomlValue> TomlTable::value(std::string_view key) const {
  const TomlNode* node = ask(key);
  return node != nullptr ? std::optional(TomlValue(state_, node)) : std::nullopt;
}

std::optional<TomlTable> TomlTable::table(std::string_view key) const {
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::table) node = wrong(node, "a table with one pair of brackets");
  return node != nullptr ? std::optional(TomlTable(state_, node)) : std::nullopt;
}

std::vector<TomlTable> TomlTable::tables(std::string_view key) const {
  std::vector<TomlTable> out;
  const TomlNode* node = ask(key);
  if (node != nullptr && node->kind != Kind::array) node = wrong(node, "tables with two pairs of brackets");
  if (node == nullptr) return out;
  for (const auto& child : node->children) {
    if (child->kind == Kind::table) out.push_back(TomlTable(state_, child.get()));
    else wrong(child.get(), name(Kind::table));
  }
  return out;
}

std::vector<std::pair<std::string, TomlValue>> TomlTable::members() const {
  node_->all_asked = true;
  std::vector<std::pair<std::string, TomlValue>> out;
  for (const auto& child : node_->children) out.emplace_back(child->key, TomlValue(state_, child.get()));
  return out;
}

template <class T>
std::optional<T> TomlTable::required(std::optional<T> got, std::string_view key, const char* wanted) const {
  if (!got && node_->find(key) == nullptr && state_->readable) {
    state_->problems->refuse({.place = place_of(key), .what = "this key is missing", .bound = wanted});
  }
  return got;
}

std::optional<Placed<std::string>> TomlTable::require_text(std::string_view key) const {
  return required(text(key), key, name(Kind::text));
}
std::optional<Placed<std::string>> TomlTable::require_date(std::string_view key) const {
  return required(date(key), key, name(Kind::date));
}
std::optional<Placed<std::int64_t>> TomlTable::require_integer(std::string_view key) const {
  return required(integer(key), key, name(Kind::integer));
}
std::optional<Placed<double>> TomlTable::require_number(std::string_view key) const {
  return required(number(key), key, name(Kind::number));
}
std::optional<Placed<bool>> TomlTable::require_boolean(std::string_view key) const {
  return required(boolean(key), key, name(Kind::boolean));
}
std::optional<TomlValue> TomlTable::require_value(std::string_view key) const {
  return required(value(key), key, "a value");
}
std::optional<TomlTable> TomlTable::require_table(std::string_view key) const {
  return required(table(key), key, name(Kind::table));
}

void TomlTable::refuse(std::string_view key, std::string what, std::string bound, std::string remedy) const {
  const TomlNode* node = node_->find(key);
  state_->problems->refuse({.place = place_of(key), .what = std::move(what),
                            .value = node != nullptr ? shown(*node) : std::string(),
                            .bound = std::move(bound), .remedy = std::move(remedy)});
}

// --- TomlDocument ---

TomlTable TomlDocument::root() const { return TomlTable(state_, &state_->root); }
bool TomlDocument::readable() const { return state_->readable; }

void TomlDocument::report_unread() const {
  if (state_->readable) report_below(*state_, state_->root);
}

TomlDocument parse_toml(std::string_view text, const std::string& file, base::Problems& problems) {
  TomlDocument document;
  document.state_ = std::make_shared<detail::TomlState>();
  document.state_->file = file;
  document.state_->problems = &problems;
  detail::parse_toml_into(text, *document.state_);
  return document;
}

TomlDocument load_toml(const std::string& path, base::Problems& problems) {
  constexpr std::size_t kMostBytes = 16u << 20;  // typed by hand: larger is not a settings file
  const auto text = read_file(path, problems, kMostBytes);
  if (text) return parse_toml(*text, path, problems);
  TomlDocument document;
  document.state_ = std::make_shared<detail::TomlState>();
  document.state_->file = path;
  document.state_->problems = &problems;
  return document;
}

}  // namespace hardpan::io
