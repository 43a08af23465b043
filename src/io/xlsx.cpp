// SPDX-License-Identifier: Apache-2.0
// The library writes to a file in memory, so that a full disk is met only by write_file, which
// leaves the old workbook as it was.
#include "io/xlsx.hpp"

#include <sys/mman.h>
#include <unistd.h>
#include <xlsxwriter.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <memory>

#include "base/assertion.hpp"
#include "base/problems.hpp"
#include "io/atomic_files.hpp"
#include "io/detail/file_handle.hpp"
#include "io/detail/utf8.hpp"
#include "io/files.hpp"

namespace hardpan::io {
namespace {

constexpr std::size_t kRowsPerSheet = 1048575;  // 1,048,576 less the heading row
constexpr std::size_t kCellCharacters = 32767;
constexpr std::size_t kNameCharacters = 31;

void check(lxw_error error, const std::string& path) {
  if (error == LXW_NO_ERROR) return;
  throw base::EnvironmentError("cannot write " + path + ": " + lxw_strerror(error) +
                               "; free some space in the temporary folder and run again");
}

// At most `most` UTF-16 units, as spreadsheet programs count.
std::string cut(std::string_view text, std::size_t most) {
  std::size_t units = 0;
  std::size_t i = 0;
  while (i < text.size()) {
    const std::size_t bytes = std::max<std::size_t>(1, detail::utf8_length(text.substr(i, 4)));
    const std::size_t more = bytes == 4 ? 2 : 1;
    if (units + more > most) break;
    units += more;
    i += bytes;
  }
  return std::string(text.substr(0, i));
}

// XML cannot hold control characters or broken UTF-8.
std::string clean(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t n = detail::utf8_length(text.substr(i, 4));
    const auto c = static_cast<unsigned char>(text[i]);
    if (n == 0 || (c < 0x20 && c != '\n' && c != '\t')) {
      out += "\xEF\xBF\xBD";
      ++i;
    } else {
      out += text.substr(i, n);
      i += n;
    }
  }
  return out;
}

std::string cell_text(std::string_view text) {
  std::string out = clean(text);
  const std::string fitting = cut(out, kCellCharacters);
  if (fitting.size() == out.size()) return out;
  return cut(out, kCellCharacters - 6) + " [cut]";
}

std::string lower(std::string text) {
  for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return text;
}

void write_sheet(lxw_worksheet* sheet, lxw_format* bold, const Table& table, std::size_t begin, std::size_t end,
                 const std::string& path) {
  for (std::size_t c = 0; c < table.columns.size(); ++c) {
    const auto column = static_cast<lxw_col_t>(c);
    std::size_t widest = table.columns[c].text().size();
    check(worksheet_write_string(sheet, 0, column, cell_text(table.columns[c].text()).c_str(), bold), path);
    for (std::size_t r = begin; r < end; ++r) {
      const auto row = static_cast<lxw_row_t>(r - begin + 1);
      const TableCell& cell = table.rows[r][c];
      if (const auto* number = std::get_if<double>(&cell)) {
        check(std::isfinite(*number) ? worksheet_write_number(sheet, row, column, *number, nullptr)
                                     : worksheet_write_string(sheet, row, column, "not finite", nullptr), path);
      } else if (const auto* text = std::get_if<std::string>(&cell); text != nullptr && !text->empty()) {
        widest = std::max(widest, text->size());
        check(worksheet_write_string(sheet, row, column, cell_text(*text).c_str(), nullptr), path);
      }
    }
    const double width = static_cast<double>(std::clamp<std::size_t>(widest + 2, 10, 50));
    check(worksheet_set_column(sheet, column, column, width, nullptr), path);
  }
  worksheet_freeze_panes(sheet, 1, 0);
}

std::string read_back(int handle, const std::string& path) {
  std::string bytes;
  const off_t size = ::lseek(handle, 0, SEEK_END);
  if (size < 0) throw environment_error("write", path, errno);
  bytes.resize(static_cast<std::size_t>(size));
  for (std::size_t done = 0; done < bytes.size();) {
    const ssize_t got = ::pread(handle, bytes.data() + done, bytes.size() - done, static_cast<off_t>(done));
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) throw environment_error("write", path, got < 0 ? errno : EIO);
    done += static_cast<std::size_t>(got);
  }
  return bytes;
}

}  // namespace

std::string sheet_name(std::string_view wanted, const std::vector<std::string>& taken) {
  std::string base = clean(wanted);
  for (char& c : base) {
    if (std::string_view("[]:*?/\\\n\t").find(c) != std::string_view::npos) c = '-';
  }
  base = cut(base, kNameCharacters);
  while (!base.empty() && (base.front() == '\'' || base.front() == ' ')) base.erase(0, 1);
  while (!base.empty() && (base.back() == '\'' || base.back() == ' ')) base.pop_back();
  if (base.empty()) base = "Sheet";
  if (lower(base) == "history") base += "-";
  const auto is_taken = [&](const std::string& name) {
    return std::any_of(taken.begin(), taken.end(), [&](const std::string& t) { return lower(t) == lower(name); });
  };
  std::string name = base;
  for (int n = 2; is_taken(name); ++n) {
    const std::string tail = " (" + std::to_string(n) + ")";
    name = cut(base, kNameCharacters - tail.size()) + tail;
  }
  return name;
}

void write_xlsx(const std::string& path, const std::vector<Table>& tables, const WorkbookOptions& options) {
  HARDPAN_ASSERT(!tables.empty());
  const detail::FileHandle memory(::memfd_create("workbook", MFD_CLOEXEC));
  if (!memory.ok()) throw environment_error("write", path, errno);
  const std::string memory_path = "/proc/self/fd/" + std::to_string(memory.get());

  lxw_workbook* book = workbook_new(memory_path.c_str());
  if (book == nullptr) throw base::EnvironmentError("cannot write " + path + ": there is not enough memory");
  // workbook_close also frees, so it must run exactly once.
  struct Closer {
    lxw_workbook* book;
    ~Closer() {
      if (book != nullptr) lxw_workbook_free(book);
    }
  } closer{book};

  std::string title = cut(clean(options.title), 255);
  lxw_doc_properties properties{};
  properties.title = title.data();
  properties.created = static_cast<time_t>(options.created_unix_s);
  // The library takes 0 for "now": one second later keeps the bytes the same.
  if (properties.created == 0) properties.created = 1;
  check(workbook_set_properties(book, &properties), path);
  lxw_format* bold = workbook_add_format(book);
  format_set_bold(bold);
  format_set_text_wrap(bold);

  std::vector<std::string> taken;
  for (const Table& table : tables) {
    for (const auto& row : table.rows) HARDPAN_ASSERT(row.size() == table.columns.size());
    std::size_t begin = 0;
    do {
      const std::size_t end = std::min(table.rows.size(), begin + kRowsPerSheet);
      taken.push_back(sheet_name(table.name, taken));
      lxw_worksheet* sheet = workbook_add_worksheet(book, taken.back().c_str());
      if (sheet == nullptr) throw base::EnvironmentError("cannot write " + path + ": there is not enough memory");
      write_sheet(sheet, bold, table, begin, end, path);
      begin = end;
    } while (begin < table.rows.size());
  }
  closer.book = nullptr;
  check(workbook_close(book), path);
  write_file(path, read_back(memory.get(), path));
}

}  // namespace hardpan::io
