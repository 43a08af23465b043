// SPDX-License-Identifier: Apache-2.0
// An ordered JSON value: built by our own code, written as text, read back.
//
// Object members keep the order they were set in, so the same value gives the same bytes.
// Doubles are written with the fewest digits that read back to the same bits; a number that is
// not finite is written as null (say why beside it). Keys are set once.
//
//   Json result = Json::object();
//   result.set("pull_n", 812.5).set("status", "converged");
//   result.set("average_ground", Json::array({790.0, 835.0}));
//   std::string text = result.dump();
#pragma once

#include <cstddef>
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::io {

class Json {
 public:
  enum class Kind { null, boolean, number, text, array, object };
  using Array = std::vector<Json>;
  using Member = std::pair<std::string, Json>;
  using Object = std::vector<Member>;

  Json() = default;
  Json(std::nullptr_t) {}
  Json(double number) : value_(number) {}
  Json(std::string text) : value_(std::move(text)) {}
  Json(std::string_view text) : value_(std::string(text)) {}
  Json(const char* text) : value_(std::string(text)) {}
  template <class T>
    requires std::is_integral_v<T>
  Json(T v) {
    if constexpr (std::is_same_v<T, bool>) value_ = v;
    else if constexpr (std::is_signed_v<T>) value_ = static_cast<std::int64_t>(v);
    else value_ = static_cast<std::uint64_t>(v);
  }
  template <class T>
  Json(const std::optional<T>& v) {
    if (v) *this = Json(*v);
  }
  template <class T>
  Json(const std::vector<T>& items) : value_(Array(items.begin(), items.end())) {}

  [[nodiscard]] static Json object() { return with(Object{}); }
  [[nodiscard]] static Json array() { return with(Array{}); }
  [[nodiscard]] static Json array(std::initializer_list<Json> items) { return with(Array(items)); }

  // Appends a member; the key must be new (asserted). A null value becomes an object first.
  Json& set(std::string key, Json value);
  // Replaces the member in place, or appends it.
  Json& put(std::string key, Json value);
  // Appends to an array. A null value becomes an array first.
  Json& push(Json value);

  [[nodiscard]] Kind kind() const;
  [[nodiscard]] bool is_null() const { return kind() == Kind::null; }
  [[nodiscard]] bool is_object() const { return kind() == Kind::object; }
  [[nodiscard]] bool is_array() const { return kind() == Kind::array; }
  // nullopt, nullptr or an empty list when the value is of another kind.
  [[nodiscard]] std::optional<bool> boolean() const;
  [[nodiscard]] std::optional<double> number() const;
  [[nodiscard]] std::optional<std::int64_t> integer() const;  // whole numbers in range only
  [[nodiscard]] std::optional<std::string> text() const;
  [[nodiscard]] const Array& items() const;
  [[nodiscard]] const Object& members() const;
  [[nodiscard]] const Json* find(std::string_view key) const;
  // Follows keys parted by '/', list positions as numbers from 0: "result/points/0/id".
  [[nodiscard]] const Json* find_path(std::string_view path) const;

  // indent 0: one line. Lists of plain values stay on one line. Text that is not UTF-8 has its
  // bad bytes replaced by U+FFFD.
  [[nodiscard]] std::string dump(int indent = 2) const;

  bool operator==(const Json&) const = default;

 private:
  template <class T>
  static Json with(T value) {
    Json j;
    j.value_ = std::move(value);
    return j;
  }
  void write(std::string& out, int indent, int depth) const;
  std::variant<std::monostate, bool, std::int64_t, std::uint64_t, double, std::string, Array, Object> value_;
};

// The shortest text that reads back to the same double ("12.5", "1e-07", "100000"); "null" when
// not finite.
[[nodiscard]] std::string json_number(double value);
[[nodiscard]] std::string json_text(std::string_view text);  // quoted and escaped

// Refuses syntax errors with file:line:column, keys given twice, and nesting beyond 200.
[[nodiscard]] std::optional<Json> parse_json(std::string_view text, const std::string& file,
                                             base::Problems& problems);
[[nodiscard]] std::optional<Json> load_json(const std::string& path, base::Problems& problems);

}  // namespace hardpan::io
