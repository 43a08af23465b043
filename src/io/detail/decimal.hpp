// SPDX-License-Identifier: Apache-2.0
// The common short decimal number, straight from the buffer: an exact fast path.
//
// Source: Clinger, W. D. (1990), "How to read floating point numbers accurately", PLDI, section 3:
// a decimal w * 10^q with w <= 2^53 and |q| <= 22 is rounded correctly by one double multiplication
// or division, because w and 10^|q| are exact. Everything else goes to std::from_chars.
#pragma once

#include <cstdint>
#include <cstring>

namespace hardpan::io::detail {

inline constexpr double kExactPowersOf10[23] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

inline bool is_digit(char c) { return static_cast<unsigned char>(c - '0') < 10; }

// Reads [-+]digits[decimal digits][e[-+]digits] at p. Returns the first byte behind the number, or
// nullptr when the text is anything else or the fast path does not hold for it. Reads no further than the
// first byte that cannot belong to a number: the buffer must hold such a byte (a line end does).
inline const char* fast_decimal(const char* p, char decimal, double& value) {
  const bool negative = *p == '-';
  if (negative || *p == '+') ++p;
  std::uint64_t w = 0;
  const char* const first = p;
  for (unsigned d = 0; (d = static_cast<unsigned char>(*p - '0')) < 10; ++p) w = w * 10 + d;
  std::int64_t digits = p - first;
  std::int64_t exponent = 0;
  if (*p == decimal) {
    const char* const behind = ++p;
    for (unsigned d = 0; (d = static_cast<unsigned char>(*p - '0')) < 10; ++p) w = w * 10 + d;
    exponent = -(p - behind);
    digits -= exponent;
  }
  // 19 digits always fit 64 bits; leading zeros count too, which only costs speed.
  if (digits == 0 || digits > 19) return nullptr;
  if ((*p | 0x20) == 'e') {
    const char* q = p + 1;
    const bool down = *q == '-';
    if (down || *q == '+') ++q;
    const char* const exponent_first = q;
    std::int64_t e = 0;
    for (; is_digit(*q); ++q) {
      if (q - exponent_first >= 4) return nullptr;
      e = e * 10 + (*q - '0');
    }
    if (q == exponent_first) return nullptr;
    exponent += down ? -e : e;
    p = q;
  }
  if (w > (std::uint64_t{1} << 53)) return nullptr;
  double v = static_cast<double>(w);
  if (exponent < 0) {
    if (exponent < -22) return nullptr;
    v /= kExactPowersOf10[-exponent];
  } else if (exponent > 0) {
    if (exponent > 22) return nullptr;
    v *= kExactPowersOf10[exponent];
  }
  value = negative ? -v : v;
  return p;
}

}  // namespace hardpan::io::detail
