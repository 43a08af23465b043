// SPDX-License-Identifier: Apache-2.0
#include "io/files.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <string_view>
#include <vector>

#include "base/checksum.hpp"
#include "io/detail/file_handle.hpp"

namespace hardpan::io {
namespace {

// Opens a plain file for reading; a refusal when it is not there or is no plain file.
std::optional<detail::FileHandle> open_input(const std::string& path, base::Problems& problems,
                                             std::size_t& size) {
  detail::FileHandle file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (!file.ok()) {
    const int error = errno;
    base::Problem p{.place = {.file = path}, .what = "the file cannot be read: " + std::string(std::strerror(error))};
    if (error == ENOENT) {
      p.what = "there is no such file";
      p.remedy = "check the name and the folder; letter case counts";
    } else if (error == EACCES) {
      p.remedy = "give yourself the right to read it";
    }
    problems.refuse(std::move(p));
    return std::nullopt;
  }
  struct stat info {};
  if (::fstat(file.get(), &info) != 0 || !S_ISREG(info.st_mode)) {
    problems.refuse({.place = {.file = path},
                     .what = S_ISDIR(info.st_mode) ? "this is a folder, not a file" : "this is not a plain file"});
    return std::nullopt;
  }
  size = static_cast<std::size_t>(info.st_size);
  return file;
}

void refuse_read(const std::string& path, int error, base::Problems& problems) {
  problems.refuse({.place = {.file = path},
                   .what = "reading the file failed: " + std::string(std::strerror(error)),
                   .remedy = "check the disk or the network share and try again"});
}

}  // namespace

base::EnvironmentError environment_error(const std::string& action, const std::string& path, int error_number) {
  std::string text = "cannot " + action + " " + path + ": ";
  switch (error_number) {
    case ENOSPC:
      text += "the disk is full; free some space and run again";
      break;
    case EDQUOT:
      text += "your disk quota is used up; free some space and run again";
      break;
    case EROFS:
      text += "the disk is read-only; copy the folder to a place that can be written";
      break;
    case EACCES:
    case EPERM:
      text += "permission is denied; give yourself the right to write there or use another folder";
      break;
    case ENOENT:
      text += "the folder does not exist";
      break;
    case ENOTDIR:
      text += "a part of the path is not a folder";
      break;
    case EISDIR:
      text += "a folder stands in its place; move it away";
      break;
    case EMFILE:
    case ENFILE:
      text += "too many files are open; close other programs and run again";
      break;
    case EFBIG:
      text += "the file would be larger than is allowed here";
      break;
    case EIO:
      text += "the disk reports a fault; check it before you go on";
      break;
    default:
      text += std::strerror(error_number);
  }
  return base::EnvironmentError(text);
}

std::optional<std::string> read_file(const std::string& path, base::Problems& problems, std::size_t max_bytes) {
  std::size_t size = 0;
  const auto file = open_input(path, problems, size);
  if (!file) return std::nullopt;
  const auto refuse_size = [&](std::size_t found) {
    problems.refuse({.place = {.file = path}, .what = "the file is too long to be read here",
                     .value = std::to_string(found) + " bytes", .bound = std::to_string(max_bytes) + " bytes or fewer"});
  };
  if (size > max_bytes) {
    refuse_size(size);
    return std::nullopt;
  }
  std::string bytes;
  // The size is a hint only: files under /proc say 0, and a file may grow while it is read.
  std::size_t filled = 0;
  while (true) {
    bytes.resize(std::max(filled + 65536, size + 1));
    const ssize_t got = ::read(file->get(), bytes.data() + filled, bytes.size() - filled);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) {
      refuse_read(path, errno, problems);
      return std::nullopt;
    }
    if (got == 0) break;
    filled += static_cast<std::size_t>(got);
    if (filled > max_bytes) {
      refuse_size(filled);
      return std::nullopt;
    }
  }
  bytes.resize(filled);
  return bytes;
}

std::optional<FileDigest> digest_file(const std::string& path, base::Problems& problems) {
  std::size_t size = 0;
  const auto file = open_input(path, problems, size);
  if (!file) return std::nullopt;
  base::Sha256 sum;
  FileDigest digest;
  std::vector<char> buffer(1u << 18);
  while (true) {
    const ssize_t got = ::read(file->get(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) {
      refuse_read(path, errno, problems);
      return std::nullopt;
    }
    if (got == 0) break;
    sum.add({buffer.data(), static_cast<std::size_t>(got)});
    digest.bytes += static_cast<std::size_t>(got);
  }
  digest.sha256 = sum.finish();
  return digest;
}

}  // namespace hardpan::io
