// SPDX-License-Identifier: Apache-2.0
// Zip archives (PKWARE APPNOTE 6.3.3 with the zip64 records where sizes need them): files in the
// order given, each with CRC-32, names in UTF-8, one fixed date, so the same content gives the
// same bytes. The archive is read back and every checksum compared before it is put in place.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::io {

struct ArchiveEntry {
  std::string name;         // relative, '/' between parts, no ".."
  std::string bytes;        // the content, when source_path is empty
  std::string source_path;  // or a file, read in pieces
};

struct ArchiveOptions {
  bool deflate = true;  // false: stored
  bool always_zip64 = false;  // write zip64 records even where they are not needed (for tests)
};

// Throws EnvironmentError when it cannot be written, InputError when a source cannot be read or a
// name is not allowed or given twice.
void write_zip(const std::string& path, const std::vector<ArchiveEntry>& entries, const ArchiveOptions& options);

struct ArchiveListing {
  std::string name;
  std::uint64_t bytes = 0;
  std::uint32_t crc32 = 0;
};
// Reads the directory, unpacks every entry and compares sizes and checksums; what does not agree is a
// refusal. Understands what write_zip writes (stored, deflate, zip64; no encryption).
[[nodiscard]] std::vector<ArchiveListing> verify_zip(const std::string& path, base::Problems& problems);

}  // namespace hardpan::io
