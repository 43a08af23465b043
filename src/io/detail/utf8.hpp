// SPDX-License-Identifier: Apache-2.0
// UTF-8 (RFC 3629): length of the sequence at the start of a text, and the way from Windows-1252.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace hardpan::io::detail {

// 1 to 4, or 0 when the bytes are no valid sequence (too long forms, surrogates, cut).
inline std::size_t utf8_length(std::string_view s) {
  const auto byte = [&](std::size_t i) { return i < s.size() ? static_cast<unsigned char>(s[i]) : 0u; };
  const auto tail = [&](std::size_t i) { return (byte(i) & 0xC0u) == 0x80u; };
  const unsigned c = byte(0);
  if (s.empty()) return 0;
  if (c < 0x80) return 1;
  if (c >= 0xC2 && c <= 0xDF) return tail(1) ? 2 : 0;
  if (c >= 0xE0 && c <= 0xEF) {
    if (!tail(1) || !tail(2)) return 0;
    if (c == 0xE0 && byte(1) < 0xA0) return 0;
    if (c == 0xED && byte(1) >= 0xA0) return 0;
    return 3;
  }
  if (c >= 0xF0 && c <= 0xF4) {
    if (!tail(1) || !tail(2) || !tail(3)) return 0;
    if (c == 0xF0 && byte(1) < 0x90) return 0;
    if (c == 0xF4 && byte(1) >= 0x90) return 0;
    return 4;
  }
  return 0;
}

inline bool is_ascii(std::string_view s) {
  for (const char c : s) {
    if (static_cast<unsigned char>(c) >= 0x80) return false;
  }
  return true;
}

// Byte of the first fault, or npos.
inline std::size_t first_bad_utf8(std::string_view s) {
  for (std::size_t i = 0; i < s.size();) {
    const std::size_t n = utf8_length(s.substr(i, 4));
    if (n == 0) return i;
    i += n;
  }
  return std::string_view::npos;
}

inline void append_utf8(std::string& out, char32_t c) {
  if (c < 0x80) {
    out += static_cast<char>(c);
  } else if (c < 0x800) {
    out += static_cast<char>(0xC0 | (c >> 6));
    out += static_cast<char>(0x80 | (c & 0x3F));
  } else if (c < 0x10000) {
    out += static_cast<char>(0xE0 | (c >> 12));
    out += static_cast<char>(0x80 | ((c >> 6) & 0x3F));
    out += static_cast<char>(0x80 | (c & 0x3F));
  } else {
    out += static_cast<char>(0xF0 | (c >> 18));
    out += static_cast<char>(0x80 | ((c >> 12) & 0x3F));
    out += static_cast<char>(0x80 | ((c >> 6) & 0x3F));
    out += static_cast<char>(0x80 | (c & 0x3F));
  }
}

// Windows-1252: as Latin-1 but for 0x80 to 0x9F (Microsoft code page 1252 table); the five
// unassigned bytes become U+FFFD.
inline std::string from_windows_1252(std::string_view s) {
  static constexpr char32_t kHigh[32] = {
      0x20AC, 0xFFFD, 0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160,
      0x2039, 0x0152, 0xFFFD, 0x017D, 0xFFFD, 0xFFFD, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022,
      0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0xFFFD, 0x017E, 0x0178};
  std::string out;
  out.reserve(s.size() + 8);
  for (const char ch : s) {
    const auto c = static_cast<unsigned char>(ch);
    append_utf8(out, c >= 0x80 && c < 0xA0 ? kHigh[c - 0x80] : static_cast<char32_t>(c));
  }
  return out;
}

}  // namespace hardpan::io::detail
