// SPDX-License-Identifier: Apache-2.0
#include "io/csv_layout.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#include "io/detail/csv_guess.hpp"
#include "io/detail/csv_records.hpp"
#include "io/detail/file_handle.hpp"
#include "io/detail/utf8.hpp"
#include "io/files.hpp"

namespace hardpan::io {
namespace {

constexpr std::size_t kSampleBytes = 256u << 10;

std::size_t line_of(std::string_view bytes, std::size_t offset) {
  std::size_t line = 1, at = 0;
  while (at < offset) {
    (void)detail::read_line(bytes, at);
    if (at <= offset && at < bytes.size()) ++line;
  }
  return line;
}

// Files that only pretend to be text, by their first bytes.
const char* binary_kind(std::string_view bytes) {
  if (bytes.starts_with("PK\x03\x04")) return "a workbook or zip archive; save the sheet as CSV";
  if (bytes.starts_with("\xD0\xCF\x11\xE0")) return "a workbook in the old binary format; save the sheet as CSV";
  if (bytes.starts_with("%PDF")) return "a PDF document; export the table as CSV";
  if (bytes.starts_with("\x1F\x8B")) return "a compressed file; unpack it first";
  if (bytes.starts_with("{\\rtf")) return "a word-processor document; save the table as CSV";
  const std::string_view utf32_le("\xFF\xFE\0\0", 4), utf32_be("\0\0\xFE\xFF", 4);
  if (bytes.starts_with(utf32_le) || bytes.starts_with(utf32_be)) return "text in UTF-32; save it as UTF-8";
  if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF")) return "text in UTF-16; save it as UTF-8";
  return nullptr;
}

bool refuse_bytes(std::string_view bytes, const std::string& file, base::Problems& problems) {
  if (const char* kind = binary_kind(bytes)) {
    problems.refuse({.place = {.file = file}, .what = std::string("this is ") + kind});
    return true;
  }
  if (const std::size_t nul = bytes.find('\0'); nul != std::string_view::npos) {
    problems.refuse({.place = {.file = file, .line = line_of(bytes, nul)},
                     .what = "the file holds NUL bytes: it is not text, it is UTF-16 without a mark, or a logger lost "
                             "power while writing",
                     .remedy = "save it as UTF-8 text, or cut the damaged end off"});
    return true;
  }
  const bool only_blank = std::all_of(bytes.begin(), bytes.end(),
                                      [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; });
  if (only_blank) {
    problems.refuse({.place = {.file = file}, .what = bytes.empty() ? "the file is empty" : "the file holds blank lines only"});
    return true;
  }
  return false;
}

CsvLineEnd line_end_of(std::string_view bytes) {
  std::size_t lf = 0, cr = 0, crlf = 0;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    if (bytes[i] == '\n') ++lf;
    if (bytes[i] != '\r') continue;
    if (i + 1 < bytes.size() && bytes[i + 1] == '\n') {
      ++crlf;
      ++i;
    } else {
      ++cr;
    }
  }
  const int kinds = (lf > 0) + (cr > 0) + (crlf > 0);
  if (kinds == 0) return CsvLineEnd::none;
  if (kinds > 1) return CsvLineEnd::mixed;
  return lf > 0 ? CsvLineEnd::lf : cr > 0 ? CsvLineEnd::cr : CsvLineEnd::crlf;
}

// "sep=;" as spreadsheet programs write it on the first line.
std::optional<CsvSeparator> separator_line(std::string_view line) {
  if (line.size() != 5 || !line.starts_with("sep=")) return std::nullopt;
  switch (line[4]) {
    case ',': return CsvSeparator::comma;
    case ';': return CsvSeparator::semicolon;
    case '\t': return CsvSeparator::tab;
    case '|': return CsvSeparator::bar;
    case ' ': return CsvSeparator::blanks;
    default: return std::nullopt;
  }
}

std::string utf8(const std::string& text, CsvEncoding encoding) {
  return encoding == CsvEncoding::latin1 ? detail::from_windows_1252(text) : text;
}

// A heading behind a comment sign, cut like the data.
std::vector<std::string> cells_behind_sign(const std::string& line, CsvSeparator separator) {
  std::string_view text = detail::trim_blanks(line);
  text.remove_prefix(text.starts_with("//") ? 2 : 1);
  detail::Record record;
  std::size_t at = 0;
  if (!text.empty()) detail::read_record(text, at, separator, record);
  return record.cells;
}

class Finder {
 public:
  Finder(std::string_view bytes, const std::string& file, const CsvGiven& given, base::Problems& problems)
      : bytes_(bytes), file_(file), given_(given), problems_(problems) {}

  std::optional<CsvLayout> find() {
    encoding();
    std::size_t start = layout_.bom ? 3 : 0;
    std::size_t first_line = 1;
    std::size_t behind = start;
    if (const auto stated = separator_line(detail::read_line(bytes_, behind)); stated && !given_.separator) {
      given_.separator = stated;
      layout_.reasons.push_back("the first line states the separator");
      start = behind;
      ++first_line;
    }
    const std::string_view body = bytes_.substr(start);
    layout_.line_end = line_end_of(bytes_);
    layout_.comment_signs = detail::active_comment_signs(body, 2000);
    if (layout_.comment_signs.size() < 3) {
      layout_.reasons.push_back("at least half of the lines start with #, % or //: that is a row label here, no comment");
    }
    auto cut = detail::choose_separator(body, first_line, layout_.comment_signs, file_, given_, layout_.reasons, problems_);
    if (!cut) return std::nullopt;
    layout_.separator = cut->separator;
    layout_.quotes = cut->quoted;
    layout_.columns = cut->columns;
    const auto decimal = detail::choose_decimal(*cut, file_, given_, layout_.reasons, problems_);
    if (!decimal) return std::nullopt;
    layout_.decimal = *decimal;
    if (!head(*cut, start)) return std::nullopt;
    return std::move(layout_);
  }

 private:
  void encoding() {
    layout_.bom = bytes_.starts_with("\xEF\xBB\xBF");
    const std::size_t bad = detail::first_bad_utf8(bytes_);
    if (bad == std::string_view::npos) {
      layout_.encoding = detail::is_ascii(bytes_) ? CsvEncoding::ascii : CsvEncoding::utf8;
      return;
    }
    layout_.encoding = CsvEncoding::latin1;
    constexpr char kHex[] = "0123456789ABCDEF";
    const auto byte = static_cast<unsigned char>(bytes_[bad]);
    problems_.remark({.place = {.file = file_, .line = line_of(bytes_, bad)},
                      .what = "the text is not UTF-8: read as Windows-1252 (Latin-1)",
                      .value = std::string("byte 0x") + kHex[byte >> 4] + kHex[byte & 15],
                      .remedy = "save as UTF-8 if letters look wrong"});
  }

  bool head(const detail::Cut& cut, std::size_t start) {
    const detail::Head found = detail::find_head(cut, given_);
    const auto text = [&](std::size_t i) {
      const auto& r = cut.records[i];
      std::size_t at = start + r.offset;
      return utf8(std::string(detail::read_line(bytes_, at)), layout_.encoding);
    };
    for (const std::size_t i : found.comments) {
      if (i != found.commented_heading) layout_.comments.push_back(text(i));
    }
    for (const std::size_t i : found.preamble) layout_.preamble.push_back(text(i));
    for (const std::size_t i : found.headers) add_header(cut.records[i].cells, cut.records[i].line);
    if (found.commented_heading) {
      const auto& r = cut.records[*found.commented_heading];
      const auto cells = cells_behind_sign(r.cells[0], layout_.separator);
      if (cells.size() == layout_.columns) {
        add_header(cells, r.line);
        layout_.reasons.push_back("the comment in line " + std::to_string(r.line) + " holds the headings: it has as many cells as the rows below");
        if (detail::trim_blanks(r.cells[0])[0] == '%') {
          problems_.remark({.place = {.file = file_, .line = r.line},
                            .what = "the heading line starts with %: taken as a comment sign, not as percent"});
        }
      } else {
        layout_.comments.push_back(text(*found.commented_heading));
      }
    }
    layout_.reasons.push_back(std::to_string(layout_.headers.size()) + " heading lines, " +
                              std::to_string(layout_.preamble.size()) + " lines above them, " +
                              std::to_string(layout_.comments.size()) + " comment lines");
    if (found.first_data == cut.records.size()) {
      problems_.refuse({.place = {.file = file_}, .what = "the file holds no data line",
                        .bound = "at least one line of numbers below the headings"});
      return false;
    }
    layout_.first_data_line = cut.records[found.first_data].line;
    layout_.data_offset = start + cut.records[found.first_data].offset;
    return headings_fit();
  }

  void add_header(const std::vector<std::string>& cells, std::size_t line) {
    std::vector<std::string> out;
    for (const std::string& c : cells) out.push_back(utf8(c, layout_.encoding));
    while (out.size() > layout_.columns && out.back().empty()) out.pop_back();
    out.resize(std::max(out.size(), layout_.columns));
    layout_.headers.push_back(std::move(out));
    layout_.header_line_numbers.push_back(line);
  }

  bool headings_fit() {
    for (std::size_t i = 0; i < layout_.headers.size(); ++i) {
      auto& cells = layout_.headers[i];
      std::size_t filled = cells.size();
      while (filled > 0 && cells[filled - 1].empty()) --filled;
      const bool too_few = layout_.separator == CsvSeparator::blanks && filled < layout_.columns;
      if (filled > layout_.columns || too_few) {
        problems_.refuse({.place = {.file = file_, .line = layout_.header_line_numbers[i]},
                          .what = "the heading line has " + std::to_string(filled) + " cells, the rows below have " +
                                  std::to_string(layout_.columns),
                          .remedy = too_few || layout_.separator == CsvSeparator::blanks
                                        ? "with blanks as separator a heading must be one word; use commas or semicolons"
                                        : "give every column one heading and every row all its separators"});
        return false;
      }
    }
    return true;
  }

  std::string_view bytes_;
  const std::string& file_;
  CsvGiven given_;
  base::Problems& problems_;
  CsvLayout layout_;
};

}  // namespace

const char* name(CsvSeparator separator) {
  switch (separator) {
    case CsvSeparator::comma: return "comma";
    case CsvSeparator::semicolon: return "semicolon";
    case CsvSeparator::tab: return "tab";
    case CsvSeparator::bar: return "bar";
    case CsvSeparator::blanks: return "blanks";
    case CsvSeparator::none: return "none";
  }
  return "";
}

const char* name(CsvLineEnd line_end) {
  switch (line_end) {
    case CsvLineEnd::lf: return "LF";
    case CsvLineEnd::crlf: return "CRLF";
    case CsvLineEnd::cr: return "CR";
    case CsvLineEnd::mixed: return "mixed";
    case CsvLineEnd::none: return "none";
  }
  return "";
}

const char* name(CsvEncoding encoding) {
  switch (encoding) {
    case CsvEncoding::ascii: return "ASCII";
    case CsvEncoding::utf8: return "UTF-8";
    case CsvEncoding::latin1: return "Windows-1252";
  }
  return "";
}

std::optional<CsvLayout> sniff_csv_bytes(std::string_view bytes, bool whole, const std::string& file,
                                         const CsvGiven& given, base::Problems& problems) {
  if (refuse_bytes(bytes, file, problems)) return std::nullopt;
  std::string_view sample = bytes;
  if (!whole || bytes.size() > kSampleBytes) {
    // Cut behind the last line end within the sample; a longer first line extends it.
    std::size_t end = std::min(bytes.size(), kSampleBytes);
    std::size_t cut = bytes.substr(0, end).find_last_of("\r\n");
    while (cut == std::string_view::npos && end < std::min(bytes.size(), kCsvMaxLineBytes)) {
      end = std::min({bytes.size(), end * 2, kCsvMaxLineBytes});
      cut = bytes.substr(0, end).find_last_of("\r\n");
    }
    if (cut == std::string_view::npos) {
      problems.refuse({.place = {.file = file, .line = 1}, .what = "the line is too long for a table",
                       .bound = std::to_string(kCsvMaxLineBytes) + " bytes or fewer a line",
                       .remedy = "check that this is a text table with line ends"});
      return std::nullopt;
    }
    sample = bytes.substr(0, cut + 1);
  }
  return Finder(sample, file, given, problems).find();
}

std::optional<CsvLayout> sniff_csv(const std::string& path, const CsvGiven& given, base::Problems& problems) {
  const detail::FileHandle file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  struct stat info {};
  if (!file.ok() || ::fstat(file.get(), &info) != 0 || !S_ISREG(info.st_mode)) {
    (void)read_file(path, problems, 0);  // names the reason
    if (!problems.refused()) problems.refuse({.place = {.file = path}, .what = "the file cannot be read"});
    return std::nullopt;
  }
  std::string bytes(kCsvMaxLineBytes, '\0');
  std::size_t filled = 0;
  ssize_t got = 1;
  while (got != 0 && filled < bytes.size()) {
    got = ::pread(file.get(), bytes.data() + filled, bytes.size() - filled, static_cast<off_t>(filled));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) {
      problems.refuse({.place = {.file = path}, .what = "reading the file failed: " + std::string(std::strerror(errno))});
      return std::nullopt;
    }
    filled += static_cast<std::size_t>(got);
  }
  bytes.resize(filled);
  return sniff_csv_bytes(bytes, got == 0 || filled >= static_cast<std::size_t>(info.st_size), path, given, problems);
}

}  // namespace hardpan::io
