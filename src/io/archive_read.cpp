// SPDX-License-Identifier: Apache-2.0
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <optional>

#include "io/archive.hpp"
#include "io/detail/file_handle.hpp"
#include "io/detail/zip_records.hpp"

namespace hardpan::io {
namespace {

using detail::get;
using detail::ZipEntryRecord;

constexpr std::size_t kPiece = 1u << 18;

class Reader {
 public:
  Reader(const std::string& path, base::Problems& problems)
      : path_(path), problems_(problems), file_(::open(path.c_str(), O_RDONLY | O_CLOEXEC)) {
    struct stat info {};
    if (!file_.ok() || ::fstat(file_.get(), &info) != 0 || !S_ISREG(info.st_mode)) {
      refuse("the archive cannot be read");
      return;
    }
    size_ = static_cast<std::uint64_t>(info.st_size);
  }

  void refuse(const std::string& what, const std::string& value = {}) {
    problems_.refuse({.place = {.file = path_}, .what = what, .value = value,
                      .remedy = "the archive is damaged: make it again or fetch it again"});
  }

  std::optional<std::string> bytes(std::uint64_t offset, std::uint64_t count) {
    if (offset > size_ || count > size_ - offset) return std::nullopt;
    std::string out(static_cast<std::size_t>(count), '\0');
    for (std::size_t done = 0; done < out.size();) {
      const ssize_t n = ::pread(file_.get(), out.data() + done, out.size() - done, static_cast<off_t>(offset + done));
      if (n < 0 && errno == EINTR) continue;
      if (n <= 0) return std::nullopt;
      done += static_cast<std::size_t>(n);
    }
    return out;
  }

  // Where the directory lies and how many entries it has; without an archive comment, as written.
  bool find_directory(std::uint64_t& offset, std::uint64_t& size, std::uint64_t& entries) {
    const auto end = size_ >= 22 ? bytes(size_ - 22, 22) : std::nullopt;
    if (!end || get(*end, 0, 4) != detail::kEndSignature) return false;
    entries = get(*end, 10, 2);
    size = get(*end, 12, 4);
    offset = get(*end, 16, 4);
    if (entries != detail::kMax16 && size != detail::kMax32 && offset != detail::kMax32) return true;
    const auto locator = size_ >= 42 ? bytes(size_ - 42, 20) : std::nullopt;
    if (!locator || get(*locator, 0, 4) != detail::kLocator64Signature) return false;
    const auto end64 = bytes(get(*locator, 8, 8), 56);
    if (!end64 || get(*end64, 0, 4) != detail::kEnd64Signature) return false;
    entries = get(*end64, 32, 8);
    size = get(*end64, 40, 8);
    offset = get(*end64, 48, 8);
    return true;
  }

  bool check_content(const ZipEntryRecord& e) {
    const auto local = bytes(e.offset, 30);
    if (!local || get(*local, 0, 4) != detail::kLocalSignature) return false;
    const std::uint64_t name_bytes = get(*local, 26, 2);
    const auto name = bytes(e.offset + 30, name_bytes);
    if (!name || *name != e.name || get(*local, 14, 4) != e.crc) return false;
    std::uint64_t at = e.offset + 30 + name_bytes + get(*local, 28, 2);
    std::uint64_t left = e.packed_bytes;

    uLong crc = ::crc32(0, nullptr, 0);
    std::uint64_t total = 0;
    const auto count = [&](const char* data, std::size_t n) {
      crc = ::crc32(crc, reinterpret_cast<const Bytef*>(data), static_cast<uInt>(n));
      total += n;
    };
    z_stream stream{};
    const bool packed = e.method == detail::kDeflated;
    if (packed && inflateInit2(&stream, -15) != Z_OK) return false;
    std::string unpacked(packed ? kPiece : 0, '\0');
    int code = Z_OK;
    bool good = packed || e.method == detail::kStored;
    while (good && left > 0) {
      const auto piece = bytes(at, std::min<std::uint64_t>(left, kPiece));
      if (!piece) {
        good = false;
        break;
      }
      at += piece->size();
      left -= piece->size();
      if (!packed) {
        count(piece->data(), piece->size());
        continue;
      }
      stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(piece->data()));
      stream.avail_in = static_cast<uInt>(piece->size());
      do {
        stream.next_out = reinterpret_cast<Bytef*>(unpacked.data());
        stream.avail_out = static_cast<uInt>(unpacked.size());
        code = ::inflate(&stream, Z_NO_FLUSH);
        good = code == Z_OK || code == Z_STREAM_END || code == Z_BUF_ERROR;
        count(unpacked.data(), unpacked.size() - stream.avail_out);
        good = good && total <= e.bytes;
      } while (good && stream.avail_out == 0);
    }
    if (packed) {
      good = good && code == Z_STREAM_END;
      inflateEnd(&stream);
    }
    return good && total == e.bytes && static_cast<std::uint32_t>(crc) == e.crc;
  }

 private:
  std::string path_;
  base::Problems& problems_;
  detail::FileHandle file_;
  std::uint64_t size_ = 0;
};

// One directory entry at `at`; false when it does not fit.
bool parse_entry(const std::string& d, std::size_t& at, ZipEntryRecord& e) {
  if (d.size() - at < 46 || get(d, at, 4) != detail::kDirectorySignature) return false;
  e.method = static_cast<std::uint16_t>(get(d, at + 10, 2));
  e.crc = static_cast<std::uint32_t>(get(d, at + 16, 4));
  e.packed_bytes = get(d, at + 20, 4);
  e.bytes = get(d, at + 24, 4);
  e.offset = get(d, at + 42, 4);
  const std::size_t name = get(d, at + 28, 2);
  const std::size_t extra = get(d, at + 30, 2);
  const std::size_t comment = get(d, at + 32, 2);
  if (d.size() - at - 46 < name + extra + comment) return false;
  e.name = d.substr(at + 46, name);
  const std::size_t extra_end = at + 46 + name + extra;
  for (std::size_t x = at + 46 + name; x + 4 <= extra_end;) {
    const std::size_t size = get(d, x + 2, 2);
    if (x + 4 + size > extra_end) return false;
    std::size_t field = x + 4;
    const auto take = [&](std::uint64_t& value) {
      if (value != detail::kMax32) return true;
      if (field + 8 > x + 4 + size) return false;
      value = get(d, field, 8);
      field += 8;
      return true;
    };
    if (get(d, x, 2) == 1 && !(take(e.bytes) && take(e.packed_bytes) && take(e.offset))) return false;
    x += 4 + size;
  }
  at = extra_end + comment;
  return true;
}

}  // namespace

std::vector<ArchiveListing> verify_zip(const std::string& path, base::Problems& problems) {
  std::vector<ArchiveListing> listing;
  base::Problems own;
  Reader reader(path, own);
  std::uint64_t offset = 0, size = 0, entries = 0;
  if (!own.refused()) {
    const bool found = reader.find_directory(offset, size, entries);
    const auto directory = found ? reader.bytes(offset, size) : std::nullopt;
    if (!directory) reader.refuse("the archive has no directory at its end");
    std::size_t at = 0;
    while (directory && at < directory->size() && !own.refused()) {
      ZipEntryRecord e;
      if (!parse_entry(*directory, at, e)) {
        reader.refuse("the archive's directory is damaged");
      } else if (!reader.check_content(e)) {
        reader.refuse("a file of the archive does not agree with its size or checksum", e.name);
      } else {
        listing.push_back({e.name, e.bytes, e.crc});
      }
    }
    if (!own.refused() && listing.size() != entries) reader.refuse("the archive's directory is cut short");
  }
  problems.add(own);
  return listing;
}

}  // namespace hardpan::io
