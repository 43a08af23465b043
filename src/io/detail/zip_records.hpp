// SPDX-License-Identifier: Apache-2.0
// Source: PKWARE, "APPNOTE.TXT - .ZIP File Format Specification", version 6.3.3 (2012), sections
// 4.3.7 (local header), 4.3.12 (directory), 4.3.14 to 4.3.16 (ends), 4.5.3 (zip64 extra field).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace hardpan::io::detail {

inline constexpr std::uint32_t kLocalSignature = 0x04034b50;
inline constexpr std::uint32_t kDirectorySignature = 0x02014b50;
inline constexpr std::uint32_t kEndSignature = 0x06054b50;
inline constexpr std::uint32_t kEnd64Signature = 0x06064b50;
inline constexpr std::uint32_t kLocator64Signature = 0x07064b50;
inline constexpr std::uint32_t kMax32 = 0xffffffffu;
inline constexpr std::uint16_t kMax16 = 0xffffu;
inline constexpr std::uint16_t kStored = 0;
inline constexpr std::uint16_t kDeflated = 8;
inline constexpr std::uint16_t kUtf8Names = 1u << 11;
// 1980-01-01 00:00, the earliest date the format knows.
inline constexpr std::uint16_t kFixedDate = (0u << 9) | (1u << 5) | 1u;

// Little-endian bytes.
inline void put(std::string& out, std::uint64_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) out += static_cast<char>((value >> (8 * i)) & 0xff);
}

inline std::uint64_t get(std::string_view s, std::size_t at, int bytes) {
  std::uint64_t value = 0;
  for (int i = bytes - 1; i >= 0; --i) value = value << 8 | static_cast<unsigned char>(s[at + static_cast<std::size_t>(i)]);
  return value;
}

struct ZipEntryRecord {
  std::string name;
  std::uint16_t method = kStored;
  std::uint32_t crc = 0;
  std::uint64_t packed_bytes = 0;
  std::uint64_t bytes = 0;
  std::uint64_t offset = 0;
};

}  // namespace hardpan::io::detail
