// SPDX-License-Identifier: Apache-2.0
#include "units/detail/plain_text.hpp"

#include <cstdint>

namespace hardpan::units::detail {
namespace {

struct Decoded {
  std::uint32_t code = 0;
  std::size_t bytes = 1;
};

// One character; a byte that is no valid UTF-8 is taken as Windows-1252, which agrees with
// Unicode for the signs we map (0xA0 to 0xBE).
Decoded decode(std::string_view text, std::size_t i) {
  const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(text[k]); };
  const unsigned char first = byte(i);
  std::size_t length = 1;
  std::uint32_t code = first;
  if (first >= 0xC2 && first < 0xE0) length = 2, code = first & 0x1Fu;
  else if (first >= 0xE0 && first < 0xF0) length = 3, code = first & 0x0Fu;
  else if (first >= 0xF0 && first < 0xF5) length = 4, code = first & 0x07u;
  if (length == 1 || i + length > text.size()) return {first, 1};
  for (std::size_t k = i + 1; k < i + length; ++k) {
    if ((byte(k) & 0xC0u) != 0x80u) return {first, 1};
    code = (code << 6) | (byte(k) & 0x3Fu);
  }
  return {code, length};
}

// Superscript digits and minus, as the character they raise; 0 for anything else.
char superscript(std::uint32_t code) {
  switch (code) {
    case 0xB9: return '1';
    case 0xB2: return '2';
    case 0xB3: return '3';
    case 0x2070: return '0';
    case 0x207B: return '-';
    default: return code >= 0x2074 && code <= 0x2079 ? static_cast<char>('0' + (code - 0x2070)) : '\0';
  }
}

// nullptr: keep the character.
const char* replacement(std::uint32_t code) {
  switch (code) {
    case 0xB0: case 0xBA: case 0x2DA: return "deg";
    case 0xB1: return "+/-";
    case 0xB5: case 0x3BC: return "u";
    case 0xB7: case 0x22C5: case 0x2219: case 0x2022: case 0xD7: return "*";
    case 0xBC: return " 1/4";
    case 0xBD: return " 1/2";
    case 0xBE: return " 3/4";
    case 0x2153: return " 1/3";
    case 0x2154: return " 2/3";
    case 0x215B: return " 1/8";
    case 0x215C: return " 3/8";
    case 0x215D: return " 5/8";
    case 0x215E: return " 7/8";
    case 0x2044: case 0x2215: return "/";
    case 0x2010: case 0x2011: case 0x2012: case 0x2013: case 0x2014: case 0x2212: return "-";
    case 0x2018: case 0x2019: case 0x2032: return "'";
    case 0x201C: case 0x201D: case 0x201E: case 0x2033: return "\"";
    case 0x2103: return "degC";
    case 0x2109: return "degF";
    case 0xFEFF: case 0x200B: case 0x2060: return "";
    case 0xA0: case 0x202F: case 0x205F: case 0x3000: case 0x9: case 0xA: case 0xB: case 0xC: case 0xD:
      return " ";
    default: return code >= 0x2000 && code <= 0x200A ? " " : nullptr;
  }
}

}  // namespace

std::string plain_text(std::string_view text) {
  std::string out;
  out.reserve(text.size() + 8);
  bool raised = false;
  for (std::size_t i = 0; i < text.size();) {
    const Decoded c = decode(text, i);
    // UTF-8 read as Windows-1252 and saved again puts a capital A with circumflex before each sign.
    if (c.code == 0xC2 && i + c.bytes < text.size()) {
      const Decoded next = decode(text, i + c.bytes);
      if (next.code >= 0xA0 && next.code <= 0xBE) {
        i += c.bytes;
        continue;
      }
    }
    if (const char up = superscript(c.code); up != '\0') {
      if (!raised) out += '^';
      out += up;
      raised = true;
    } else {
      raised = false;
      if (const char* other = replacement(c.code)) out += other;
      else out.append(text.substr(i, c.bytes));
    }
    i += c.bytes;
  }
  std::string joined;
  for (const char c : out) {
    if (c == ' ' && (joined.empty() || joined.back() == ' ')) continue;
    joined += c;
  }
  if (!joined.empty() && joined.back() == ' ') joined.pop_back();
  return joined;
}

std::string_view trim(std::string_view text) {
  const auto first = text.find_first_not_of(' ');
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(' ') - first + 1);
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

}  // namespace hardpan::units::detail
