// SPDX-License-Identifier: Apache-2.0
// The local header is written with room for zip64 sizes where the source may need it and filled in
// after the content has passed, so that every file is read once.
#include "io/archive.hpp"

#include <fcntl.h>
#include <unistd.h>
#include <zlib.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <functional>
#include <memory>
#include <set>

#include "base/assertion.hpp"
#include "io/atomic_files.hpp"
#include "io/detail/file_handle.hpp"
#include "io/detail/utf8.hpp"
#include "io/detail/zip_records.hpp"
#include "io/files.hpp"

namespace hardpan::io {
namespace {

using detail::put;
using detail::ZipEntryRecord;

constexpr std::size_t kPiece = 1u << 18;

// The temporary file, with the number of bytes written so far.
class Output {
 public:
  Output(const std::string& written, const std::string& named)
      : file_(::open(written.c_str(), O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0666)), named_(named) {
    if (!file_.ok()) throw environment_error("write", named_, errno);
  }
  void write(std::string_view bytes) {
    write_at(bytes, at_);
    at_ += bytes.size();
  }
  void write_at(std::string_view bytes, std::uint64_t offset) {
    while (!bytes.empty()) {
      const ssize_t n = ::pwrite(file_.get(), bytes.data(), bytes.size(), static_cast<off_t>(offset));
      if (n < 0 && errno == EINTR) continue;
      if (n < 0) throw environment_error("write", named_, errno);
      bytes.remove_prefix(static_cast<std::size_t>(n));
      offset += static_cast<std::uint64_t>(n);
    }
  }
  [[nodiscard]] std::uint64_t at() const { return at_; }
  void close() {
    if (!file_.close()) throw environment_error("write", named_, errno);
  }

 private:
  detail::FileHandle file_;
  std::string named_;
  std::uint64_t at_ = 0;
};

bool allowed_name(const std::string& name) {
  if (name.empty() || name.size() >= detail::kMax16 || name.front() == '/' || name.back() == '/') return false;
  if (name.find('\\') != std::string::npos || name.find('\0') != std::string::npos) return false;
  if (detail::first_bad_utf8(name) != std::string_view::npos) return false;
  for (const auto& part : std::filesystem::path(name)) {
    if (part == ".." || part == ".") return false;
  }
  return true;
}

void check_names(const std::string& path, const std::vector<ArchiveEntry>& entries) {
  base::Problems problems;
  std::set<std::string> seen;
  for (const ArchiveEntry& entry : entries) {
    if (!allowed_name(entry.name)) {
      problems.refuse({.place = {.file = path}, .what = "this name cannot stand in an archive", .value = entry.name,
                       .bound = "a relative path with '/' and without '..'"});
    } else if (!seen.insert(entry.name).second) {
      problems.refuse({.place = {.file = path}, .what = "two files of the archive have the same name", .value = entry.name});
    }
  }
  problems.throw_if_refused();
}

// Calls back with the pieces of the entry's content.
void read_pieces(const ArchiveEntry& entry, const std::function<void(std::string_view)>& piece) {
  if (entry.source_path.empty()) {
    for (std::size_t i = 0; i < entry.bytes.size(); i += kPiece) piece(std::string_view(entry.bytes).substr(i, kPiece));
    return;
  }
  const detail::FileHandle file(::open(entry.source_path.c_str(), O_RDONLY | O_CLOEXEC));
  std::string buffer(kPiece, '\0');
  ssize_t got = file.ok() ? 1 : -1;
  while (got > 0) {
    got = ::read(file.get(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) got = 1;
    else if (got > 0) piece({buffer.data(), static_cast<std::size_t>(got)});
  }
  if (got < 0) {
    base::Problems problems;
    (void)read_file(entry.source_path, problems, 0);  // names the reason
    if (!problems.refused()) problems.refuse({.place = {.file = entry.source_path}, .what = "reading the file failed"});
    throw base::InputError(problems);
  }
}

class Deflater {
 public:
  Deflater() {
    // Negative window bits: raw deflate, as the format wants it.
    if (deflateInit2(&stream_, 6, Z_DEFLATED, -15, 8, Z_DEFAULT_STRATEGY) != Z_OK) throw std::bad_alloc();
  }
  Deflater(const Deflater&) = delete;
  Deflater& operator=(const Deflater&) = delete;
  ~Deflater() { deflateEnd(&stream_); }
  void add(std::string_view bytes, bool last, Output& out, std::uint64_t& packed) {
    stream_.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
    stream_.avail_in = static_cast<uInt>(bytes.size());
    int code = Z_OK;
    do {
      stream_.next_out = reinterpret_cast<Bytef*>(buffer_.data());
      stream_.avail_out = static_cast<uInt>(buffer_.size());
      code = ::deflate(&stream_, last ? Z_FINISH : Z_NO_FLUSH);
      HARDPAN_ASSERT(code != Z_STREAM_ERROR);
      const std::size_t made = buffer_.size() - stream_.avail_out;
      out.write({buffer_.data(), made});
      packed += made;
    } while (last ? code != Z_STREAM_END : stream_.avail_out == 0);
  }

 private:
  z_stream stream_{};
  std::string buffer_ = std::string(kPiece, '\0');
};

// zip64 in the local header holds both sizes, in the directory those that do not fit.
std::string local_header(const ZipEntryRecord& e, bool zip64) {
  std::string h;
  put(h, detail::kLocalSignature, 4);
  put(h, zip64 ? 45 : 20, 2);
  put(h, detail::kUtf8Names, 2);
  put(h, e.method, 2);
  put(h, 0, 2);
  put(h, detail::kFixedDate, 2);
  put(h, e.crc, 4);
  put(h, zip64 ? detail::kMax32 : e.packed_bytes, 4);
  put(h, zip64 ? detail::kMax32 : e.bytes, 4);
  put(h, e.name.size(), 2);
  put(h, zip64 ? 20 : 0, 2);
  h += e.name;
  if (zip64) {
    put(h, 1, 2);
    put(h, 16, 2);
    put(h, e.bytes, 8);
    put(h, e.packed_bytes, 8);
  }
  return h;
}

std::string directory_header(const ZipEntryRecord& e, bool always_zip64) {
  const bool zip64 = always_zip64 || e.bytes >= detail::kMax32 || e.packed_bytes >= detail::kMax32 ||
                     e.offset >= detail::kMax32;
  std::string h;
  put(h, detail::kDirectorySignature, 4);
  put(h, (3u << 8) | (zip64 ? 45 : 20), 2);  // made on Unix
  put(h, zip64 ? 45 : 20, 2);
  put(h, detail::kUtf8Names, 2);
  put(h, e.method, 2);
  put(h, 0, 2);
  put(h, detail::kFixedDate, 2);
  put(h, e.crc, 4);
  put(h, zip64 ? detail::kMax32 : e.packed_bytes, 4);
  put(h, zip64 ? detail::kMax32 : e.bytes, 4);
  put(h, e.name.size(), 2);
  put(h, zip64 ? 28 : 0, 2);
  put(h, 0, 2);                      // comment
  put(h, 0, 2);                      // disk
  put(h, 0, 2);                      // internal attributes
  put(h, std::uint32_t{0100644} << 16, 4);  // plain file, rw-r--r--
  put(h, zip64 ? detail::kMax32 : e.offset, 4);
  h += e.name;
  if (zip64) {
    put(h, 1, 2);
    put(h, 24, 2);
    put(h, e.bytes, 8);
    put(h, e.packed_bytes, 8);
    put(h, e.offset, 8);
  }
  return h;
}

std::string end_records(std::size_t entries, std::uint64_t offset, std::uint64_t size, bool always_zip64) {
  std::string h;
  const bool zip64 = always_zip64 || entries >= detail::kMax16 || offset >= detail::kMax32 || size >= detail::kMax32;
  if (zip64) {
    put(h, detail::kEnd64Signature, 4);
    put(h, 44, 8);
    put(h, (3u << 8) | 45u, 2);
    put(h, 45, 2);
    put(h, 0, 4);
    put(h, 0, 4);
    put(h, entries, 8);
    put(h, entries, 8);
    put(h, size, 8);
    put(h, offset, 8);
    put(h, detail::kLocator64Signature, 4);
    put(h, 0, 4);
    put(h, offset + size, 8);
    put(h, 1, 4);
  }
  put(h, detail::kEndSignature, 4);
  put(h, 0, 4);
  put(h, zip64 ? detail::kMax16 : entries, 2);
  put(h, zip64 ? detail::kMax16 : entries, 2);
  put(h, zip64 ? detail::kMax32 : size, 4);
  put(h, zip64 ? detail::kMax32 : offset, 4);
  put(h, 0, 2);
  return h;
}

ZipEntryRecord write_entry(const ArchiveEntry& entry, const ArchiveOptions& options, Output& out) {
  ZipEntryRecord record{.name = entry.name, .method = options.deflate ? detail::kDeflated : detail::kStored, .offset = out.at()};
  std::error_code code;
  const std::uintmax_t expected =
      entry.source_path.empty() ? entry.bytes.size() : std::filesystem::file_size(entry.source_path, code);
  // Deflate grows incompressible content by less than a thousandth (zlib manual, compressBound).
  const bool zip64 = options.always_zip64 || (!code && expected > 0xff000000u);
  out.write(local_header(record, zip64));
  std::unique_ptr<Deflater> deflater = options.deflate ? std::make_unique<Deflater>() : nullptr;
  uLong crc = ::crc32(0, nullptr, 0);
  read_pieces(entry, [&](std::string_view piece) {
    crc = ::crc32(crc, reinterpret_cast<const Bytef*>(piece.data()), static_cast<uInt>(piece.size()));
    record.bytes += piece.size();
    if (deflater) {
      deflater->add(piece, false, out, record.packed_bytes);
    } else {
      out.write(piece);
      record.packed_bytes += piece.size();
    }
  });
  if (deflater) deflater->add({}, true, out, record.packed_bytes);
  record.crc = static_cast<std::uint32_t>(crc);
  if (!zip64 && (record.bytes >= detail::kMax32 || record.packed_bytes >= detail::kMax32)) {
    base::Problems problems;
    problems.refuse({.place = {.file = entry.source_path}, .what = "the file grew while it was read",
                     .remedy = "stop what writes it and run again"});
    throw base::InputError(problems);
  }
  out.write_at(local_header(record, zip64), record.offset);
  return record;
}

}  // namespace

void write_zip(const std::string& path, const std::vector<ArchiveEntry>& entries, const ArchiveOptions& options) {
  check_names(path, entries);
  const std::filesystem::path target(path);
  const std::string part = (target.parent_path() / ("." + target.filename().string() + "." +
                                                    std::to_string(::getpid()) + ".partial")).string();
  struct Remover {
    const std::string& part;
    ~Remover() { ::unlink(part.c_str()); }
  } remover{part};  // after the rename there is nothing left to remove

  Output out(part, path);
  std::string directory;
  for (const ArchiveEntry& entry : entries) {
    directory += directory_header(write_entry(entry, options, out), options.always_zip64);
  }
  const std::uint64_t offset = out.at();
  out.write(directory);
  out.write(end_records(entries.size(), offset, directory.size(), options.always_zip64));
  out.close();

  base::Problems problems;
  const auto listing = verify_zip(part, problems);
  if (problems.refused() || listing.size() != entries.size()) {
    throw base::EnvironmentError("cannot write " + path + ": what was read back differs from what was written; "
                                 "check the disk");
  }
  replace_file(part, path);
}

}  // namespace hardpan::io
