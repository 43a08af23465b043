// SPDX-License-Identifier: Apache-2.0
#include "io/json.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

#include "base/assertion.hpp"
#include "io/detail/utf8.hpp"

namespace hardpan::io {
namespace {

template <class T>
void append_integer(std::string& out, T value) {
  char buffer[24];
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value).ptr;
  out.append(buffer, end);
}

}  // namespace

std::string json_number(double value) {
  if (!std::isfinite(value)) return "null";
  char buffer[40];
  // Whole numbers below 1e15 read better without an exponent; to_chars would print 1e+05.
  if (value == std::floor(value) && std::abs(value) < 1e15) {
    if (value == 0) return std::signbit(value) ? "-0.0" : "0";
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, static_cast<std::int64_t>(value)).ptr;
    return std::string(buffer, end);
  }
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value).ptr;
  return std::string(buffer, end);
}

std::string json_text(std::string_view text) {
  std::string out;
  out.reserve(text.size() + 2);
  out += '"';
  for (std::size_t i = 0; i < text.size();) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c >= 0x80) {
      const std::size_t length = detail::utf8_length(text.substr(i));
      if (length == 0) {
        out += "\xEF\xBF\xBD";
        ++i;
      } else {
        out += text.substr(i, length);
        i += length;
      }
      continue;
    }
    ++i;
    switch (c) {
      case '"': out += "\\\""; break;
      case '\\': out += "\\\\"; break;
      case '\n': out += "\\n"; break;
      case '\r': out += "\\r"; break;
      case '\t': out += "\\t"; break;
      default:
        if (c < 0x20 || c == 0x7f) {
          out += "\\u00";
          out += "0123456789abcdef"[c >> 4];
          out += "0123456789abcdef"[c & 15];
        } else {
          out += static_cast<char>(c);
        }
    }
  }
  out += '"';
  return out;
}

Json& Json::set(std::string key, Json value) {
  if (is_null()) value_ = Object{};
  HARDPAN_ASSERT(is_object());
  HARDPAN_ASSERT(find(key) == nullptr);
  std::get<Object>(value_).emplace_back(std::move(key), std::move(value));
  return *this;
}

Json& Json::put(std::string key, Json value) {
  if (is_null()) value_ = Object{};
  HARDPAN_ASSERT(is_object());
  for (Member& member : std::get<Object>(value_)) {
    if (member.first == key) {
      member.second = std::move(value);
      return *this;
    }
  }
  return set(std::move(key), std::move(value));
}

Json& Json::push(Json value) {
  if (is_null()) value_ = Array{};
  HARDPAN_ASSERT(is_array());
  std::get<Array>(value_).push_back(std::move(value));
  return *this;
}

Json::Kind Json::kind() const {
  switch (value_.index()) {
    case 0: return Kind::null;
    case 1: return Kind::boolean;
    case 2: case 3: case 4: return Kind::number;
    case 5: return Kind::text;
    case 6: return Kind::array;
    default: return Kind::object;
  }
}

std::optional<bool> Json::boolean() const {
  if (const auto* v = std::get_if<bool>(&value_)) return *v;
  return std::nullopt;
}

std::optional<double> Json::number() const {
  if (const auto* v = std::get_if<double>(&value_)) return *v;
  if (const auto* v = std::get_if<std::int64_t>(&value_)) return static_cast<double>(*v);
  if (const auto* v = std::get_if<std::uint64_t>(&value_)) return static_cast<double>(*v);
  return std::nullopt;
}

std::optional<std::int64_t> Json::integer() const {
  if (const auto* v = std::get_if<std::int64_t>(&value_)) return *v;
  if (const auto* v = std::get_if<std::uint64_t>(&value_)) {
    if (*v <= static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max())) return static_cast<std::int64_t>(*v);
  }
  if (const auto* v = std::get_if<double>(&value_)) {
    // 2^53: beyond it a double no longer tells neighbouring integers apart.
    if (*v == std::floor(*v) && std::abs(*v) <= 9007199254740992.0) return static_cast<std::int64_t>(*v);
  }
  return std::nullopt;
}

std::optional<std::string> Json::text() const {
  if (const auto* v = std::get_if<std::string>(&value_)) return *v;
  return std::nullopt;
}

const Json::Array& Json::items() const {
  static const Array none;
  const auto* v = std::get_if<Array>(&value_);
  return v ? *v : none;
}

const Json::Object& Json::members() const {
  static const Object none;
  const auto* v = std::get_if<Object>(&value_);
  return v ? *v : none;
}

const Json* Json::find(std::string_view key) const {
  for (const Member& member : members()) {
    if (member.first == key) return &member.second;
  }
  return nullptr;
}

const Json* Json::find_path(std::string_view path) const {
  const Json* at = this;
  while (at != nullptr && !path.empty()) {
    const std::string_view part = path.substr(0, path.find('/'));
    path.remove_prefix(std::min(path.size(), part.size() + 1));
    if (at->is_array()) {
      std::size_t i = 0;
      const auto [end, error] = std::from_chars(part.data(), part.data() + part.size(), i);
      const bool whole = error == std::errc{} && end == part.data() + part.size();
      at = whole && i < at->items().size() ? &at->items()[i] : nullptr;
    } else {
      at = at->find(part);
    }
  }
  return at;
}

void Json::write(std::string& out, int indent, int depth) const {
  const auto line = [&](int d) {
    if (indent == 0) return;
    out += '\n';
    out.append(static_cast<std::size_t>(indent * d), ' ');
  };
  switch (kind()) {
    case Kind::null: out += "null"; return;
    case Kind::boolean: out += *boolean() ? "true" : "false"; return;
    case Kind::text: out += json_text(std::get<std::string>(value_)); return;
    case Kind::number:
      if (const auto* i = std::get_if<std::int64_t>(&value_)) append_integer(out, *i);
      else if (const auto* u = std::get_if<std::uint64_t>(&value_)) append_integer(out, *u);
      else out += json_number(std::get<double>(value_));
      return;
    case Kind::array: {
      const bool plain = std::none_of(items().begin(), items().end(),
                                      [](const Json& j) { return j.is_array() || j.is_object(); });
      out += '[';
      bool first = true;
      for (const Json& item : items()) {
        if (!first) out += plain && indent != 0 ? ", " : ",";
        if (!plain) line(depth + 1);
        item.write(out, indent, depth + 1);
        first = false;
      }
      if (!plain) line(depth);
      out += ']';
      return;
    }
    case Kind::object: {
      out += '{';
      bool first = true;
      for (const auto& [key, value] : members()) {
        if (!first) out += ',';
        line(depth + 1);
        out += json_text(key);
        out += indent == 0 ? ":" : ": ";
        value.write(out, indent, depth + 1);
        first = false;
      }
      if (!first) line(depth);
      out += '}';
      return;
    }
  }
}

std::string Json::dump(int indent) const {
  std::string out;
  write(out, indent, 0);
  if (indent != 0) out += '\n';
  return out;
}

}  // namespace hardpan::io
