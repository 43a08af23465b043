// SPDX-License-Identifier: Apache-2.0
// SHA-256 (FIPS 180-4) of bytes, as 64 lower-case hexadecimal digits.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace hardpan::base {

// Accumulates blocks of any size: the digest does not depend on how the bytes were cut.
class Sha256 {
 public:
  void add(std::string_view bytes);
  [[nodiscard]] std::string finish();  // call once

 private:
  void block(const unsigned char* p);
  std::array<std::uint32_t, 8> state_{0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                      0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  std::array<unsigned char, 64> rest_{};
  std::size_t rest_size_ = 0;
  std::uint64_t total_bytes_ = 0;
};

[[nodiscard]] std::string sha256(std::string_view bytes);

}  // namespace hardpan::base
