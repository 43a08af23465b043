// SPDX-License-Identifier: Apache-2.0
// TOML documents as a tree of values that know where they stand and whether they were asked for.
//
// Every getter takes the key it wants: a wrong type is refused with file, line and key path; an
// absent key gives nullopt (the require_ getters refuse it). Keys nobody asked for are refused at
// the end by report_unread, with the nearest known key. Key paths count lists from 1:
// "record[2].unit" is the unit of the second [[record]].
//
//   base::Problems problems;
//   TomlDocument doc = load_toml("campaign.toml", problems);   // problems must outlive doc
//   for (TomlTable record : doc.root().tables("record"))
//     if (auto file = record.require_text("file")) use(file->value, file->place);
//   doc.report_unread();
//   problems.throw_if_refused();
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::io {

namespace detail {
struct TomlNode;
struct TomlState;
}  // namespace detail

template <class T>
struct Placed {
  T value;
  base::Place place;
};

class TomlTable;

// One value of any kind.
class TomlValue {
 public:
  enum class Kind { text, integer, number, boolean, date, array, table };
  [[nodiscard]] Kind kind() const;
  [[nodiscard]] base::Place place() const;
  // The value when it is of that kind, else nullopt (no problem is recorded).
  [[nodiscard]] std::optional<std::string> text() const;       // text only
  [[nodiscard]] std::optional<std::string> date() const;       // date, time or both, as ISO 8601 text
  [[nodiscard]] std::optional<std::int64_t> integer() const;
  [[nodiscard]] std::optional<double> number() const;          // integer or number, finite
  [[nodiscard]] std::optional<bool> boolean() const;
  [[nodiscard]] std::vector<TomlValue> items() const;          // array
  [[nodiscard]] std::optional<TomlTable> table() const;
  [[nodiscard]] std::string as_typed() const;                  // short text for messages

 private:
  friend class TomlTable;
  TomlValue(std::shared_ptr<detail::TomlState> state, const detail::TomlNode* node)
      : state_(std::move(state)), node_(node) {}
  std::shared_ptr<detail::TomlState> state_;
  const detail::TomlNode* node_;
};

class TomlTable {
 public:
  [[nodiscard]] base::Place place() const;                     // of the table
  [[nodiscard]] base::Place place_of(std::string_view key) const;  // of the key, or where it should be
  [[nodiscard]] bool has(std::string_view key) const;

  [[nodiscard]] std::optional<Placed<std::string>> text(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<std::string>> date(std::string_view key) const;  // date or text
  [[nodiscard]] std::optional<Placed<std::int64_t>> integer(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<double>> number(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<bool>> boolean(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<std::vector<std::string>>> texts(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<std::vector<double>>> numbers(std::string_view key) const;
  [[nodiscard]] std::optional<TomlValue> value(std::string_view key) const;           // any kind
  [[nodiscard]] std::optional<TomlTable> table(std::string_view key) const;
  [[nodiscard]] std::vector<TomlTable> tables(std::string_view key) const;            // [[key]]
  // All members in the order of the file; all count as asked for (tables of free keys).
  [[nodiscard]] std::vector<std::pair<std::string, TomlValue>> members() const;

  [[nodiscard]] std::optional<Placed<std::string>> require_text(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<std::string>> require_date(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<std::int64_t>> require_integer(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<double>> require_number(std::string_view key) const;
  [[nodiscard]] std::optional<Placed<bool>> require_boolean(std::string_view key) const;
  [[nodiscard]] std::optional<TomlValue> require_value(std::string_view key) const;
  [[nodiscard]] std::optional<TomlTable> require_table(std::string_view key) const;

  // For a check of the caller's own on a value of this table.
  void refuse(std::string_view key, std::string what, std::string bound = {}, std::string remedy = {}) const;

 private:
  friend class TomlDocument;
  friend class TomlValue;
  TomlTable(std::shared_ptr<detail::TomlState> state, const detail::TomlNode* node)
      : state_(std::move(state)), node_(node) {}
  const detail::TomlNode* ask(std::string_view key) const;
  const detail::TomlNode* wrong(const detail::TomlNode* node, const char* wanted) const;
  template <class T>
  std::optional<T> required(std::optional<T> got, std::string_view key, const char* wanted) const;
  std::shared_ptr<detail::TomlState> state_;
  const detail::TomlNode* node_;
};

class TomlDocument {
 public:
  [[nodiscard]] TomlTable root() const;
  [[nodiscard]] bool readable() const;  // false: refused, the root is empty
  // Refuses every key that no getter asked for. Does nothing when the document was unreadable.
  void report_unread() const;

 private:
  friend TomlDocument parse_toml(std::string_view text, const std::string& file, base::Problems& problems);
  friend TomlDocument load_toml(const std::string& path, base::Problems& problems);
  std::shared_ptr<detail::TomlState> state_;
};

[[nodiscard]] TomlDocument load_toml(const std::string& path, base::Problems& problems);
[[nodiscard]] TomlDocument parse_toml(std::string_view text, const std::string& file,
                                      base::Problems& problems);

// The candidate nearest to word by insertions, deletions, replacements and swaps of neighbours,
// when at most a third of the letters (and at least one) differ; else nullopt. Letter case, '-'
// and '_' do not count.
[[nodiscard]] std::optional<std::string> nearest_word(std::string_view word,
                                                      const std::vector<std::string>& candidates);

}  // namespace hardpan::io
