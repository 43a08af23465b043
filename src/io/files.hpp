// SPDX-License-Identifier: Apache-2.0
// Reading whole files, and one wording for what the operating system refuses. For files that
// must appear whole or not at all see atomic_files.hpp.
#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "base/problems.hpp"

namespace hardpan::io {

// Refuses a path that is missing, a folder, not readable, or longer than max_bytes.
[[nodiscard]] std::optional<std::string> read_file(const std::string& path, base::Problems& problems,
                                                   std::size_t max_bytes = 1u << 30);

// "cannot write out/report.html: the disk is full; free some space and run again". action is a
// verb ("write", "rename"); error_number is errno.
[[nodiscard]] base::EnvironmentError environment_error(const std::string& action, const std::string& path,
                                                       int error_number);

// SHA-256 of a file read in pieces, and its size. A refusal when it cannot be read.
struct FileDigest {
  std::string sha256;
  std::size_t bytes = 0;
};
[[nodiscard]] std::optional<FileDigest> digest_file(const std::string& path, base::Problems& problems);

}  // namespace hardpan::io
